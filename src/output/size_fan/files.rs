//! JSON and CSV of `size-fan`.

use serde_json::{Value, json};

use super::{first, rating_K, sentence, table};
use crate::output::csv_rows::{rows, text_field};
use crate::output::json::SCHEMA;
use crate::output::json_number::{degC, rounded};
use crate::quantity::System;
use crate::run::{FilterKind, Run};
use crate::study::size_fan::{
    Advice, Candidate, CauseKind, Duty, FlowBy, NoneEnough, Sizing, Split, Standing,
};

fn m3_per_h(flow_m3_per_s: f64) -> f64 {
    flow_m3_per_s * 3600.0
}

fn flow(flow_m3_per_s: f64) -> Value {
    rounded(m3_per_h(flow_m3_per_s), 3)
}

/// The word for what to do.
const fn advice(advice: Advice) -> &'static str {
    match advice {
        Advice::NoFan => "no fan",
        Advice::Take => "take",
        Advice::Marginal => "marginal",
        Advice::ClosedMarginal => "closed is marginal",
        Advice::NoneEnough(why) => match why {
            NoneEnough::NoWindow => "none enough: no flow does both",
            NoneEnough::OutOfReach => "none enough: out of reach",
            NoneEnough::TooStrong => "none enough: too strong",
            NoneEnough::WarmAir => "none enough: air too warm",
            NoneEnough::Unstable => "none enough: unstable",
            NoneEnough::Unsure => "none enough: softens more often than not",
            NoneEnough::OnlyClean => "none enough: only with a clean filter",
            NoneEnough::TooWeak => "none enough: too weak",
        },
        Advice::NoFlow => "no flow",
        Advice::CannotRun => "cannot run",
    }
}

const fn filter(kind: FilterKind) -> Option<&'static str> {
    match kind {
        FilterKind::NotSaid => None,
        FilterKind::None => Some("nothing"),
        FilterKind::Particles => Some("particles"),
        FilterKind::ParticlesAndFumes => Some("particles and fumes"),
    }
}

/// One JSON object. A fan's own numbers are those with a loaded filter, under which it has to
/// hold; those with a clean one stand under `clean`.
#[must_use]
pub fn json(run: &Run, s: &Sizing) -> Value {
    let mut value = json!({
        "schema": SCHEMA,
        "run": run.name,
        "reachable": s.needed_m3_per_s.is_some(),
        "coolest_peak_degC": degC(s.coolest_peak_K),
        "most_margin_K": rounded(s.most_margin_K, 4),
        "needed_flow_m3_per_h": s.needed_m3_per_s.map(flow),
        "at_pressure_Pa": s.pressure_at_needed_Pa.map(|p| rounded(p.1, 3)),
        "at_pressure_clean_Pa": s.pressure_at_needed_Pa.map(|p| rounded(p.0, 3)),
        "takes_Pa": s.split_at_needed.as_ref().map(|p| split(p, 0.0)),
        "most_flow_m3_per_h": s.most_m3_per_s.map(flow),
        "sure_flow_m3_per_h": s.sure_m3_per_s.map(flow),
        "required_chance": s.chances.as_ref().map(|_| rounded(run.requirements.chance, 4)),
        "chance_softens_closed": s.chances.as_ref().map(|c| rounded(c.closed(), 4)),
        "samples": s.chances.as_ref().map(|c| c.sampling.samples),
        "seed": s.chances.as_ref().map(|c| c.sampling.seed),
        "answer": sentence(run, s, System::Si),
        "advice": advice(s.advice),
        "verdict": s.verdict().name(),
        "recommended": s.chosen().map(Candidate::label),
        "smallest_by": ["power", "size", "sound"],
        "catalogue_fans_are_invented": true,
        "instead_of": s.instead_of,
        "as_scheduled": s.as_scheduled,
        "safety_first": first(s, System::Si),
    });
    if let Value::Object(all) = &mut value {
        all.extend(
            [
                ("assumed_filter", assumed(s)),
                ("unreachable", unreachable(s)),
                ("eased", eased(s)),
                ("larger_opening", larger_opening(s)),
                ("thermostat", thermostat(s)),
                ("filter_change", filter_change(s)),
                ("costs", costs(s)),
                ("ask_for", ask_for(s)),
                ("margin_over_flow", margins(s)),
                ("fans", s.candidates.iter().map(fan).collect()),
                (
                    "warnings",
                    s.warnings.iter().map(ToString::to_string).collect(),
                ),
                ("cautions", s.cautions.iter().map(|c| c.text()).collect()),
            ]
            .map(|(key, value): (&str, Value)| (key.to_owned(), value)),
        );
    }
    value
}

fn assumed(s: &Sizing) -> Value {
    s.assumed.map_or(Value::Null, |a| {
        json!({
            "stops": filter(a.filter),
            "clean_Pa": rounded(a.rated_Pa.0, 2),
            "loaded_Pa": rounded(a.rated_Pa.1, 2),
            "at_m3_per_h": flow(a.rated_flow_m3_per_s),
        })
    })
}

fn unreachable(s: &Sizing) -> Value {
    let cause = s.unreachable.as_ref().and_then(|u| u.cause);
    cause.map_or(Value::Null, |cause| {
        json!({
            "cause": match cause.control {
                CauseKind::Thermostat => "thermostat",
                CauseKind::Schedule => "schedule",
                CauseKind::Both => "thermostat and schedule",
            },
            "needed_without_it_m3_per_h": flow(cause.without_m3_per_s),
        })
    })
}

fn eased(s: &Sizing) -> Value {
    s.eased.map_or(Value::Null, |e| {
        json!({
            "add_cm2": rounded(e.add_m2 * 1e4, 1),
            "duct_mm": rounded(e.duct_m * 1e3, 1),
            "filters_side_by_side": e.filters,
            "pressure_Pa": rounded(e.pressure_Pa, 2),
        })
    })
}

fn larger_opening(s: &Sizing) -> Value {
    s.larger_opening.as_ref().map_or(Value::Null, |l| {
        let c = l.candidate.as_ref();
        json!({
            "add_cm2": rounded(l.add_m2 * 1e4, 1),
            "needed_flow_m3_per_h": l.needed_m3_per_s.map(flow),
            "fan": c.map(Candidate::label),
            "power_W": c.and_then(|c| c.power_W).map(|p| rounded(p, 3)),
            "flow_m3_per_h": c.map(|c| flow(c.loaded.flow_m3_per_s)),
            "pressure_Pa": c.map(|c| rounded(c.loaded.pressure_Pa, 3)),
            "margin_K": c.map(|c| rounded(c.loaded.outcome.margin_K, 4)),
            "chance_softens": c.and_then(|c| c.chance_softens).map(|chance| rounded(chance, 4)),
        })
    })
}

fn thermostat(s: &Sizing) -> Value {
    s.thermostat.map_or(Value::Null, |t| {
        json!({
            "on_above_degC": degC(t.on_above_K),
            "off_below_degC": degC(t.off_below_K),
            "running_share": rounded(t.share, 4),
            "starts_a_day": rounded(t.starts_a_day, 2),
            "margin_K": rounded(t.margin_K, 4),
        })
    })
}

fn filter_change(s: &Sizing) -> Value {
    s.filter_change.map_or(Value::Null, |f| {
        json!({
            "at_Pa": rounded(f.at_Pa, 2),
            "new_Pa": rounded(f.new_Pa, 2),
            "after_h": f.after_s.map(|s| rounded(s / 3600.0, 1)),
        })
    })
}

fn costs(s: &Sizing) -> Value {
    s.costs.map_or(Value::Null, |c| {
        json!({
            "fan_J": c.fan_J.map(|e| rounded(e, 1)),
            "heaters_more_J": rounded(c.heaters_J, 1),
            "season_J": c.season_J.map(|e| rounded(e, 1)),
            "season_costs": c.season_J.zip(c.price_per_kWh).map(|(e, p)| rounded(p * e / 3.6e6, 2)),
        })
    })
}

fn ask_for(s: &Sizing) -> Value {
    s.specification.as_ref().map_or(Value::Null, |a| {
        json!({
            "line": super::buying_line(s, a, System::Si),
            "flow_m3_per_h": flow(a.flow_m3_per_s),
            "flow_by": match a.by {
                FlowBy::Chance => "chance",
                FlowBy::Reserve => "reserve",
                FlowBy::Fan => "fan",
            },
            "static_pressure_Pa": rounded(a.pressure_Pa, 2),
            "most_flow_m3_per_h": a.most_m3_per_s.map(flow),
            "air_degC": rounded(a.air_K - 273.15, 2),
            "warmest_air_degC": rounded(a.warmest_K - 273.15, 2),
            "rated_for_degC": rounded(rating_K(a.warmest_K) - 273.15, 1),
            "duct_mm": rounded(a.duct_m * 1e3, 1),
            "power_of_the_invented_fan_W": a.power_W.map(|p| rounded(p, 2)),
            "flap": a.flap,
            "speed_control": a.settable,
            "filter_clean_Pa": rounded(a.filter_Pa.0, 2),
            "filter_loaded_Pa": rounded(a.filter_Pa.1, 2),
        })
    })
}

fn margins(s: &Sizing) -> Value {
    let each = s.samples.iter().map(|sample| {
        let band = s
            .chances
            .as_ref()
            .and_then(|c| c.band_K(sample.flow_m3_per_s));
        json!({
            "flow_m3_per_h": flow(sample.flow_m3_per_s),
            "margin_K": rounded(sample.outcome.margin_K, 4),
            "verdict": sample.outcome.verdict.name(),
            "p05_K": band.map(|b| rounded(b.p05, 3)),
            "p95_K": band.map(|b| rounded(b.p95, 3)),
        })
    });
    each.collect()
}

fn split(p: &Split, damper_Pa: f64) -> Value {
    json!({
        "shell": rounded(p.shell_Pa, 3),
        "grille": rounded(p.grille_Pa, 3),
        "filter": rounded(p.filter_Pa, 3),
        "duct": rounded(p.duct_Pa, 3),
        "wind": rounded(p.wind_Pa, 3),
        "damper": rounded(damper_Pa, 3),
    })
}

fn fan(c: &Candidate) -> Value {
    let mut value = duty(&c.loaded);
    if let Value::Object(m) = &mut value {
        let number = |v: Option<f64>, decimals| v.map_or(Value::Null, |v| rounded(v, decimals));
        m.extend(
            [
                ("fan", json!(c.label())),
                ("power_W", number(c.power_W, 3)),
                ("speed", rounded(c.setup.speed, 3)),
                ("sound_dBA", number(c.sound_dBA, 1)),
                ("size_mm", number(c.fan.size_m.map(|m| m * 1e3), 1)),
                (
                    "air_max_degC",
                    number(c.fan.air_max_K.map(|K| K - 273.15), 1),
                ),
                ("supply", json!(c.fan.supply)),
                ("life_h", number(c.fan.life.map(|l| l.0 / 3600.0), 0)),
                ("settable", json!(c.fan.settable)),
                ("flap", json!(c.fan.flap)),
                ("invented", json!(c.fan.invented)),
                ("chance_softens", number(c.chance_softens, 4)),
                (
                    "standing",
                    json!(match c.standing {
                        Standing::Robust => "robust",
                        Standing::Marginal => "marginal",
                        Standing::Not(_) => "not enough",
                    }),
                ),
                (
                    "lacks",
                    match c.standing {
                        Standing::Not(_) => json!(table::standing(c.standing)),
                        Standing::Robust | Standing::Marginal => Value::Null,
                    },
                ),
                ("chamber_too_cool", json!(c.too_cool)),
                ("clean", duty(&c.clean)),
            ]
            .map(|(key, value)| (key.to_owned(), value)),
        );
    }
    value
}

fn duty(d: &Duty) -> Value {
    json!({
        "flow_m3_per_h": flow(d.flow_m3_per_s),
        "pressure_Pa": rounded(d.pressure_Pa, 3),
        "takes_Pa": split(&d.split, d.damper_Pa),
        "margin_K": rounded(d.outcome.margin_K, 4),
        "peak_degC": degC(d.outcome.peak_K),
        "verdict": d.outcome.verdict.name(),
        "unstable": d.unstable,
        "warmest_air_degC": degC(d.warmest_K),
        "energy_J": d.energy_J.map(|e| rounded(e, 1)),
        "running_share": d.running.map(|r| rounded(r.0, 4)),
        "starts": d.running.map(|r| r.1),
    })
}

/// The columns of the CSV.
pub const COLUMNS: [&str; 12] = [
    "fan",
    "filter",
    "flow_m3_per_h",
    "pressure_Pa",
    "power_W",
    "margin_K",
    "verdict",
    "energy_kWh",
    "chance_softens",
    "standing",
    "speed",
    "sound_dBA",
];

/// CSV of all candidates, one row for each state of the filter.
///
/// # Errors
/// When the CSV writer fails, which it does only for lack of memory.
pub fn csv(s: &Sizing) -> Result<Vec<u8>, csv::Error> {
    let mut w = rows(Vec::new());
    w.write_record(COLUMNS)?;
    for c in &s.candidates {
        for (filter, d) in [("clean", &c.clean), ("loaded", &c.loaded)] {
            let number = |v: Option<f64>, decimals: usize| {
                v.map_or_else(String::new, |v| format!("{v:.decimals$}"))
            };
            // A fan's own chance is that with a loaded filter; with a clean one, that of the flow.
            let chance = match (filter, &s.chances) {
                ("loaded", _) => c.chance_softens,
                (_, Some(chances)) => Some(chances.at(d.flow_m3_per_s)),
                _ => None,
            };
            w.write_record([
                text_field(&c.label()),
                filter.to_owned(),
                format!("{:.3}", m3_per_h(d.flow_m3_per_s)),
                format!("{:.3}", d.pressure_Pa),
                number(c.power_W, 3),
                format!("{:.4}", d.outcome.margin_K),
                d.outcome.verdict.name().to_owned(),
                number(d.energy_J.map(|e| e / 3.6e6), 4),
                number(chance, 4),
                table::standing(c.standing).to_owned(),
                format!("{:.2}", c.setup.speed),
                number(c.sound_dBA, 1),
            ])?;
        }
    }
    w.into_inner().map_err(|e| e.into_error().into())
}

//! Text, JSON, CSV and picture of `size-fan`.

use serde_json::{Value, json};

use super::certainty;
use super::chart::{
    ChartError, Curve, CurveKind, Format, Size, VerticalLine, XyChart, XyPoint, draw_xy,
};
use super::columns::{Column, Columns};
use super::csv_rows::{rows, text_field};
use super::json::{SCHEMA, rounded};
use super::screen::Screen;
use crate::quantity::{
    System, format_difference, format_flow, format_length, format_pressure, format_temperature,
};
use crate::run::{FilterKind, Run};
use crate::study::Verdict;
use crate::study::size_fan::{Candidate, Duty, FanWarning, LargerOpening, Sizing, too_strong};

/// Curves in the picture besides the recommended one: more would hide each other.
const MOST_CURVES: usize = 5;

fn m3_per_h(flow_m3_per_s: f64) -> f64 {
    flow_m3_per_s * 3600.0
}

/// To a tenth, as the least flow is known.
fn fine_flow(flow_m3_per_s: f64, system: System) -> String {
    format!("{:.1} {}", system.flow(flow_m3_per_s), system.flow_unit())
}

/// The sentence that answers the question.
#[must_use]
pub fn sentence(run: &Run, s: &Sizing, system: System) -> String {
    let Some(needed) = s.needed_m3_per_s else {
        return not_reachable(s, system);
    };
    if needed <= 0.0 {
        return match &s.chances {
            None => "no fan is needed: the closed machine keeps the required margin.".to_owned(),
            Some(_) => "no fan is needed by the best estimate: the closed machine keeps the required margin; how likely it softens all the same, `check` says.".to_owned(),
        };
    }
    let needed = fine_flow(needed, system);
    let of_100 = certainty::of_100;
    let chosen = s.recommended.map(|k| &s.candidates[k]);
    match chosen.map(|c| (c, s.chance_softens(c))) {
        Some((c, Some(chance))) => {
            let most = of_100(run.requirements.chance);
            let sure = match s.sure_m3_per_s {
                Some(sure) => format!("{} for {most} to soften at most", fine_flow(sure, system)),
                None => format!("and no flow of these fans brings what softens down to {most}"),
            };
            let smallest = if chance <= run.requirements.chance {
                "the smallest fan that gives them, with a loaded filter too,"
            } else {
                "the smallest fan that is enough by the best estimate, with a loaded filter too,"
            };
            format!(
                "{needed} are needed by the best estimate, {sure}; {smallest} is {}: {}, margin {}, {} soften.",
                c.label(),
                fine_flow(c.loaded.flow_m3_per_s, system),
                format_difference(c.loaded.outcome.margin_K, system),
                of_100(chance)
            )
        }
        Some((c, None)) => format!(
            "{needed} are needed; the smallest fan that gives them, with a loaded filter too, is {}: {}, margin {}.",
            c.label(),
            fine_flow(c.loaded.flow_m3_per_s, system),
            format_difference(c.loaded.outcome.margin_K, system)
        ),
        None if s.candidates.iter().any(too_strong) => format!(
            "{needed} are needed, but fans that give them with a loaded filter move so much with a clean one that a heater can't hold its setpoint: take a smaller fan, one whose speed can be set, or a stronger heater."
        ),
        None => format!(
            "{needed} are needed, and no fan looked at is enough with a loaded filter, alone or as a pair: take a stronger fan, a larger make-up opening, or a wider duct and filter."
        ),
    }
}

fn not_reachable(s: &Sizing, system: System) -> String {
    let Some(u) = &s.unreachable else {
        return "no flow is enough.".to_owned();
    };
    let degrees = |K: f64| format_temperature(K, system);
    if let (false, Some(shortfall)) = (u.runs, &u.shortfall) {
        return format!("cannot run at any flow: {}.", shortfall.text(system));
    }
    let room = degrees(u.room_K);
    let why = if let Some(shortfall) = &u.shortfall {
        format!("with more, {}", shortfall.text(system))
    } else if u.room_K >= u.allowed_K {
        format!("the room itself reaches {room}")
    } else {
        format!(
            "the {} stays that much warmer than the room's {room} whatever blows through the chamber",
            u.station.name()
        )
    };
    format!(
        "not reachable: even {} leaves {} at the {}, and {} is allowed; {why}.",
        format_flow(u.tried_m3_per_s, system),
        degrees(s.coolest_peak_K),
        u.station.name(),
        degrees(u.allowed_K)
    )
}

/// The whole text.
#[must_use]
pub fn text(run: &Run, s: &Sizing, screen: Screen) -> String {
    let system = screen.system;
    let mut out = String::new();
    let o = &mut out;
    screen.paragraph(o, &sentence(run, s, system));
    if let Some(larger) = &s.larger_opening {
        screen.paragraph(o, &opening_sentence(larger, system));
    }
    o.push('\n');
    screen.entry(o, "Run", &run.name);
    let what = format!(
        "{}, {}, required margin {}",
        run.machine.name,
        run.material.name,
        format_difference(run.requirements.margin_K, system)
    );
    screen.entry(o, "", &what);
    if let (Some(q), Some((clean, loaded))) = (s.needed_m3_per_s, s.pressure_at_needed_Pa)
        && q > 0.0
    {
        let text = format!(
            "{}; the system takes {} clean, {} loaded",
            fine_flow(q, system),
            format_pressure(clean, system),
            format_pressure(loaded, system)
        );
        screen.entry(o, "Least flow", &text);
    }
    if let Some(most) = s.most_m3_per_s {
        let text = format!("{}, or the chamber gets too cool", fine_flow(most, system));
        screen.entry(o, "Most flow", &text);
    }
    o.push('\n');
    o.push_str(&table(s, system).text(screen.width));
    if s.recommended.is_some() {
        screen.hanging(o, "  > ", "    ", "the one to take");
    }
    if s.candidates.iter().any(|c| c.too_cool) {
        let text = "with it the chamber falls below the material's lowest useful temperature";
        screen.hanging(o, "  * ", "    ", text);
    }
    if let Some(c) = s.recommended.map(|k| &s.candidates[k]) {
        o.push('\n');
        if let Some((share, starts)) = c.loaded.running {
            let (label, share) = (c.label(), 100.0 * share);
            let text = format!("{label} runs {share:.0} % of the time with {starts} starts.");
            screen.paragraph(o, &text);
        }
        if let Some(e) = c.loaded.energy_J {
            let text = format!("{} uses {:.2} kWh over the run.", c.label(), e / 3.6e6);
            screen.paragraph(o, &text);
        }
    }
    ask(o, s, screen);
    let warnings = warnings(s, system);
    if !warnings.is_empty() {
        o.push_str("\nWarnings\n");
        for w in &warnings {
            screen.bullet(o, w);
        }
    }
    o.push_str("\nCautions\n");
    for c in &s.cautions {
        screen.bullet(o, c.text());
    }
    out
}

/// What a larger opening spares.
fn opening_sentence(larger: &LargerOpening, system: System) -> String {
    let c = &larger.candidate;
    format!(
        "With {} more make-up opening low in the chamber (`machine.vent`) the smaller {} is enough: {} with a loaded filter, margin {}.",
        opening(larger.add_m2, system),
        c.label(),
        fine_flow(c.loaded.flow_m3_per_s, system),
        format_difference(c.loaded.outcome.margin_K, system)
    )
}

/// What to ask a supplier for.
fn ask(o: &mut String, s: &Sizing, screen: Screen) {
    let system = screen.system;
    let Some(spec) = &s.specification else {
        return;
    };
    let pressure = |p: f64| format_pressure(p, system);
    let rated_K = rating_K(spec.warmest_K);
    let mut lines = vec![
        format!(
            "at least {} against {} of static pressure, in air of {}",
            fine_flow(spec.flow_m3_per_s, system),
            pressure(spec.pressure_Pa),
            format_temperature(spec.air_K, system)
        ),
        format!(
            "made for air of {} or more, day and night (it gets up to {})",
            format_temperature(rated_K, system),
            format_temperature(spec.warmest_K, system)
        ),
        match spec.power_W {
            Some(power_W) => {
                format!("its power at that flow; the invented one that does takes {power_W:.0} W")
            }
            None => "its power at that flow".to_owned(),
        },
        format!(
            "its frame or flange, and what joins it to a duct of {}",
            format_length(spec.duct_m, system)
        ),
        "its noise at that flow and pressure, in dB(A) at 1 m: blowing freely it is quieter"
            .to_owned(),
    ];
    let (clean_Pa, loaded_Pa) = spec.filter_Pa;
    let takes = format!(
        "that takes no more than {} clean and {} loaded at that flow",
        pressure(clean_Pa),
        pressure(loaded_Pa)
    );
    lines.push(match spec.filter {
        FilterKind::None => {
            "no filter is counted on: fumes and particles leave with the air".to_owned()
        }
        FilterKind::Particles => format!("a filter for particles {takes}"),
        FilterKind::ParticlesAndFumes => format!("a filter for particles and fumes {takes}"),
    });
    o.push_str("\nWhat to ask a supplier for\n");
    for line in &lines {
        screen.bullet(o, line);
    }
    screen.bullet(
        o,
        "the fans of the built-in catalogue are invented: they stand for sizes, nobody sells them. Put the curve of a real one into a CSV file and try it with `--fan`",
    );
}

/// Ten kelvins in hand, in steps of five.
fn rating_K(warmest_K: f64) -> f64 {
    ((warmest_K - 273.15 + 10.0) / 5.0).ceil() * 5.0 + 273.15
}

fn opening(area_m2: f64, system: System) -> String {
    match system {
        System::Si => format!("{:.0} cm²", area_m2 * 1e4),
        System::Us => format!("{:.1} in²", area_m2 / (0.0254 * 0.0254)),
    }
}

fn table(s: &Sizing, system: System) -> Columns {
    let names = s.candidates.iter().enumerate().map(|(k, c)| {
        let mark = if s.recommended == Some(k) { '>' } else { ' ' };
        let star = if c.too_cool { " *" } else { "" };
        format!("{mark} {}{star}", c.label())
    });
    let powers = s.candidates.iter();
    let powers = powers.map(|c| c.power_W.map_or("-".to_owned(), |p| format!("{p:.1}")));
    let mut columns = vec![Column::numbers(&["power", "W"], 5, powers.collect())];
    // It has to hold with a loaded filter: that half is the last to go.
    columns.extend(half(s, system, "with clean filter", [3, 4, 3], |c| {
        &c.clean
    }));
    columns.extend(half(s, system, "with loaded filter", [1, 2, 0], |c| {
        &c.loaded
    }));
    if s.chances.is_some() {
        let chances = s.candidates.iter().map(|c| match c.loaded.outcome.verdict {
            Verdict::CannotRun => String::new(),
            Verdict::Holds | Verdict::Tight | Verdict::Softens => {
                let chance = s.chance_softens(c);
                chance.map_or_else(String::new, certainty::percent)
            }
        });
        let column = Column::numbers(&["soften", "%"], 0, chances.collect());
        columns.push(column.under("with loaded filter"));
    }
    Columns {
        head: "Fan".to_owned(),
        names: names.collect(),
        columns,
    }
}

/// Flow, pressure, margin and verdict with one state of the filter.
fn half(
    s: &Sizing,
    system: System,
    group: &'static str,
    [flow_rank, pressure_rank, rank]: [u8; 3],
    pick: fn(&Candidate) -> &Duty,
) -> Vec<Column> {
    let cells = |text: &dyn Fn(&Duty) -> String| -> Vec<String> {
        s.candidates.iter().map(|c| text(pick(c))).collect()
    };
    let decimals = match system {
        System::Si => 1,
        System::Us => 3,
    };
    let flow = cells(&|d| format!("{:.1}", system.flow(d.flow_m3_per_s)));
    let pressure = cells(&|d| format!("{:.decimals$}", system.pressure(d.pressure_Pa)));
    let margin = cells(&|d| match d.outcome.verdict {
        // The margin of what can't run means nothing.
        Verdict::CannotRun => String::new(),
        Verdict::Holds | Verdict::Tight | Verdict::Softens => {
            format!("{:.1}", system.difference(d.outcome.margin_K))
        }
    });
    let verdict = cells(&|d| d.outcome.verdict.name().to_owned());
    let columns = [
        Column::numbers(&["flow", system.flow_unit()], flow_rank, flow),
        Column::numbers(&["press", system.pressure_unit()], pressure_rank, pressure),
        Column::numbers(&["margin", system.difference_unit()], rank, margin),
        Column::words(&[""], rank, verdict),
    ];
    columns.map(|c| c.under(group)).into()
}

/// Many fans may share one fault; they get one line.
fn warnings(s: &Sizing, system: System) -> Vec<String> {
    let (mut lines, mut unstable): (Vec<String>, Vec<&str>) = (Vec::new(), Vec::new());
    for w in &s.warnings {
        match w {
            FanWarning::Unstable { fan } => unstable.push(fan),
            other => lines.push(other.text(system)),
        }
    }
    if !unstable.is_empty() {
        let fan = unstable.join(", ");
        lines.push(FanWarning::Unstable { fan }.text(system));
    }
    lines
}

/// One JSON object. A fan's own numbers are those with a loaded filter, under which it has to
/// hold; those with a clean one stand under `clean`.
#[must_use]
pub fn json(run: &Run, s: &Sizing) -> Value {
    let flow = |q: f64| rounded(m3_per_h(q), 3);
    json!({
        "schema": SCHEMA,
        "run": run.name,
        "reachable": s.needed_m3_per_s.is_some(),
        "coolest_peak_degC": rounded(s.coolest_peak_K - 273.15, 4),
        "needed_flow_m3_per_h": s.needed_m3_per_s.map(flow),
        "at_pressure_Pa": s.pressure_at_needed_Pa.map(|p| rounded(p.1, 3)),
        "at_pressure_clean_Pa": s.pressure_at_needed_Pa.map(|p| rounded(p.0, 3)),
        "most_flow_m3_per_h": s.most_m3_per_s.map(flow),
        "sure_flow_m3_per_h": s.sure_m3_per_s.map(flow),
        "required_chance": s.chances.as_ref().map(|_| rounded(run.requirements.chance, 4)),
        "samples": s.chances.as_ref().map(|c| c.sampling.samples),
        "seed": s.chances.as_ref().map(|c| c.sampling.seed),
        "answer": sentence(run, s, System::Si),
        "verdict": s.verdict().name(),
        "larger_opening": s.larger_opening.as_ref().map(|l| json!({
            "add_cm2": rounded(l.add_m2 * 1e4, 1),
            "fan": l.candidate.label(),
            "flow_m3_per_h": flow(l.candidate.loaded.flow_m3_per_s),
            "margin_K": rounded(l.candidate.loaded.outcome.margin_K, 4),
        })),
        "ask_for": s.specification.as_ref().map(|a| json!({
            "flow_m3_per_h": flow(a.flow_m3_per_s),
            "static_pressure_Pa": rounded(a.pressure_Pa, 2),
            "air_degC": rounded(a.air_K - 273.15, 2),
            "warmest_air_degC": rounded(a.warmest_K - 273.15, 2),
            "rated_for_degC": rounded(rating_K(a.warmest_K) - 273.15, 1),
            "duct_mm": rounded(a.duct_m * 1e3, 1),
            "power_of_the_invented_fan_W": a.power_W.map(|p| rounded(p, 2)),
            "filter_clean_Pa": rounded(a.filter_Pa.0, 2),
            "filter_loaded_Pa": rounded(a.filter_Pa.1, 2),
        })),
        "catalogue_fans_are_invented": true,
        "recommended": s.recommended.map(|k| s.candidates[k].label()),
        "fans": s.candidates.iter().map(|c| fan(s, c)).collect::<Vec<_>>(),
        "warnings": s.warnings.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "cautions": s.cautions.iter().map(|c| c.text()).collect::<Vec<_>>(),
    })
}

fn fan(s: &Sizing, c: &Candidate) -> Value {
    let mut value = duty(&c.loaded);
    if let Value::Object(m) = &mut value {
        m.insert("fan".to_owned(), json!(c.label()));
        m.insert(
            "power_W".to_owned(),
            c.power_W.map_or(Value::Null, |p| rounded(p, 3)),
        );
        let chance = s.chance_softens(c);
        m.insert(
            "chance_softens".to_owned(),
            chance.map_or(Value::Null, |chance| rounded(chance, 4)),
        );
        m.insert("chamber_too_cool".to_owned(), json!(c.too_cool));
        m.insert("clean".to_owned(), duty(&c.clean));
    }
    value
}

fn duty(d: &Duty) -> Value {
    json!({
        "flow_m3_per_h": rounded(m3_per_h(d.flow_m3_per_s), 3),
        "pressure_Pa": rounded(d.pressure_Pa, 3),
        "margin_K": rounded(d.outcome.margin_K, 4),
        "peak_degC": rounded(d.outcome.peak_K - 273.15, 4),
        "verdict": d.outcome.verdict.name(),
        "unstable": d.unstable,
        "energy_J": d.energy_J.map(|e| rounded(e, 1)),
        "running_share": d.running.map(|r| rounded(r.0, 4)),
        "starts": d.running.map(|r| r.1),
    })
}

/// The columns of the CSV.
pub const COLUMNS: [&str; 9] = [
    "fan",
    "filter",
    "flow_m3_per_h",
    "pressure_Pa",
    "power_W",
    "margin_K",
    "verdict",
    "energy_kWh",
    "chance_softens",
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
            w.write_record([
                text_field(&c.label()),
                filter.to_owned(),
                format!("{:.3}", m3_per_h(d.flow_m3_per_s)),
                format!("{:.3}", d.pressure_Pa),
                c.power_W.map_or_else(String::new, |p| format!("{p:.3}")),
                format!("{:.4}", d.outcome.margin_K),
                d.outcome.verdict.name().to_owned(),
                d.energy_J
                    .map_or_else(String::new, |e| format!("{:.4}", e / 3.6e6)),
                s.chances.as_ref().map_or_else(String::new, |chances| {
                    format!("{:.4}", chances.at(d.flow_m3_per_s))
                }),
            ])?;
        }
    }
    w.into_inner().map_err(|e| e.into_error().into())
}

/// Draws fan curves and system curves with their crossings and the needed flow.
///
/// # Errors
/// See [`ChartError`].
pub fn draw(
    run: &Run,
    s: &Sizing,
    format: Format,
    size: Size,
    system: System,
) -> Result<Vec<u8>, ChartError> {
    draw_xy(&chart(run, s, system), format, size)
}

pub(super) fn chart(run: &Run, s: &Sizing, system: System) -> XyChart {
    let shown = shown(s);
    let right = shown
        .iter()
        .map(|(_, c)| system.flow(c.clean.flow_m3_per_s))
        .chain(s.needed_m3_per_s.map(|q| system.flow(q)))
        .fold(0.0, f64::max)
        * 1.6;
    // A blower's still-air pressure would press everything else to the bottom: curves run off.
    let top = shown
        .iter()
        .map(|(_, c)| system.pressure(c.loaded.pressure_Pa))
        .fold(system.pressure(1.0), f64::max)
        * 2.2;
    let inside = |p: &(f64, f64)| p.1 <= top && p.0 <= right;
    let system_curve = |pick: fn(&(f64, f64, f64)) -> f64| -> Vec<(f64, f64)> {
        s.system_Pa
            .iter()
            .map(|p| (system.flow(p.0), system.pressure(pick(p))))
            .filter(inside)
            .collect()
    };
    let mut curves = vec![
        Curve {
            label: "system, clean filter".to_owned(),
            kind: CurveKind::Against(0),
            points: system_curve(|p| p.1),
        },
        Curve {
            label: "system, loaded filter".to_owned(),
            kind: CurveKind::Against(1),
            points: system_curve(|p| p.2),
        },
    ];
    let mut points = Vec::new();
    for (place, (k, c)) in shown.iter().enumerate() {
        curves.push(Curve {
            label: c.label(),
            kind: CurveKind::Main(place),
            points: c
                .curve
                .iter()
                .map(|p| (system.flow(p.0), system.pressure(p.1)))
                .filter(inside)
                .collect(),
        });
        let strong = s.recommended == Some(*k);
        for (d, is_loaded) in [(&c.clean, false), (&c.loaded, true)] {
            let flow = system.flow(d.flow_m3_per_s);
            points.push(XyPoint {
                x: flow,
                y: system.pressure(d.pressure_Pa),
                label: if strong && is_loaded {
                    format!(
                        "{}, margin {}",
                        fine_flow(d.flow_m3_per_s, system),
                        format_difference(d.outcome.margin_K, system)
                    )
                } else {
                    String::new()
                },
                strong: strong && is_loaded,
            });
        }
    }
    XyChart {
        title: sentence(run, s, system),
        subtitle: format!(
            "{} · {} · {}",
            run.name, run.machine.name, run.material.name
        ),
        x_label: format!("flow, {}", system.flow_unit()),
        y_label: format!("pressure, {}", system.pressure_unit()),
        curves,
        points,
        vertical: s
            .needed_m3_per_s
            .filter(|q| *q > 0.0)
            .map(|q| VerticalLine {
                x: system.flow(q),
                label: format!("needed: {}", fine_flow(q, system)),
            }),
        note: "Duty points with clean and with loaded filter, in the chamber's warm air. An estimate, not a permit: measure the first run.".to_owned(),
    }
}

/// The recommended one and those nearest to what is needed, in the order of the table.
fn shown(s: &Sizing) -> Vec<(usize, &Candidate)> {
    let wanted = s.needed_m3_per_s.unwrap_or(0.0);
    let mut order: Vec<(usize, &Candidate)> = s.candidates.iter().enumerate().collect();
    order.sort_by(|a, b| {
        let off = |(k, c): &(usize, &Candidate)| {
            if s.recommended == Some(*k) {
                -1.0
            } else {
                (c.loaded.flow_m3_per_s - wanted).abs()
            }
        };
        off(a).total_cmp(&off(b))
    });
    order.truncate(MOST_CURVES);
    order.sort_by_key(|(k, _)| *k);
    order
}

//! Text, JSON, CSV and picture of `size-fan`. All of them tell the one answer that the study found
//! ([`Advice`]).

mod files;
#[cfg(feature = "pictures")]
mod picture;
mod sentence;
mod table;

pub use files::{COLUMNS, csv, json};
#[cfg(feature = "pictures")]
pub(super) use picture::chart;
#[cfg(feature = "pictures")]
pub use picture::draw;
pub use sentence::sentence;
pub(super) use table::{legend, table};

use super::certainty::of_100;
use super::screen::Screen;
use super::words::hours;
use crate::quantity::{
    System, format_count, format_difference, format_flow, format_length, format_pressure,
    format_temperature,
};
use crate::run::{FilterKind, Run};
use crate::study::size_fan::{Advice, Candidate, FanWarning, FlowBy, Sizing, Specification};

/// To a tenth, as the least flow is known.
fn fine_flow(flow_m3_per_s: f64, system: System) -> String {
    format!("{:.1} {}", system.flow(flow_m3_per_s), system.flow_unit())
}

fn opening(area_m2: f64, system: System) -> String {
    match system {
        System::Si => format!("{:.0} cm²", area_m2 * 1e4),
        System::Us => format!("{:.1} in²", area_m2 / (0.0254 * 0.0254)),
    }
}

/// What can hurt somebody, for the first lines.
#[must_use]
pub fn first(s: &Sizing, system: System) -> Vec<String> {
    let first = s.warnings.iter().filter(|w| w.comes_first());
    first
        .map(|w| format!("Safety first: {}", w.text(system)))
        .collect()
}

/// The answer, and what it rests on.
pub(super) fn answer(run: &Run, s: &Sizing, system: System) -> Vec<String> {
    let mut all = vec![sentence(run, s, system)];
    all.extend(s.instead_of.map(sentence::instead_of));
    all.extend(s.as_scheduled.then(|| sentence::as_scheduled().to_owned()));
    let is_needed = s.needed_m3_per_s != Some(0.0);
    let assumed = s.assumed.as_ref().filter(|_| is_needed);
    all.extend(assumed.map(|assumed| sentence::assumed(assumed, system)));
    let larger = s.larger_opening.as_ref();
    all.extend(larger.map(|larger| sentence::larger_opening(s, larger, system)));
    all
}

/// The whole text.
#[must_use]
pub fn text(run: &Run, s: &Sizing, screen: Screen) -> String {
    let system = screen.system;
    let mut out = String::new();
    let o = &mut out;
    for line in first(s, system) {
        screen.hanging(o, "", "  ", &line);
    }
    if !o.is_empty() {
        o.push('\n');
    }
    for line in answer(run, s, system) {
        screen.paragraph(o, &line);
    }
    o.push('\n');
    about(o, run, s, screen);
    o.push('\n');
    o.push_str(&table(s, system).text(screen.width));
    if let Some(by) = chosen_by(s) {
        screen.hanging(o, "  > ", "    ", by);
    }
    for line in legend(s, &of_100(run.requirements.chance), system) {
        screen.hanging(o, "  ", "    ", &line);
    }
    if let Some(c) = s.chosen() {
        o.push('\n');
        for line in chosen(run, s, c, system) {
            screen.paragraph(o, &line);
        }
    }
    if let Some(spec) = &s.specification {
        ask(o, s, spec, screen);
    }
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

/// Why the marked fan is the one.
pub(super) fn chosen_by(s: &Sizing) -> Option<&'static str> {
    s.recommended.as_ref()?;
    Some(match s.advice {
        Advice::Take => {
            "the one to take: the smallest robust one, by power, then by size, then by sound"
        }
        _ => {
            "the smallest that is enough by the best estimate: by power, then by size, then by sound"
        }
    })
}

/// Which run, and what it needs.
pub(super) fn about(o: &mut String, run: &Run, s: &Sizing, screen: Screen) {
    let system = screen.system;
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
    if let Some(returns) = sentence::returns(s, system) {
        screen.entry(o, "More flow", &returns);
    }
}

/// What there is to know of the one to take: how it is run, what it costs, when its filter is due.
pub(super) fn chosen(run: &Run, s: &Sizing, c: &Candidate, system: System) -> Vec<String> {
    let label = c.label();
    let mut lines = Vec::new();
    if let Some((share, starts)) = c.loaded.running {
        let share = 100.0 * share;
        lines.push(format!(
            "{label} runs {share:.0} % of the time with {}.",
            count(starts, "start")
        ));
    }
    if let Some(t) = &s.thermostat {
        let degrees = |K: f64| format_temperature(K, system);
        lines.push(format!(
            "On a thermostat in the air at the top of the chamber that starts it above {} and stops it below {}, it keeps a margin of {}, runs {:.0} % of the time with a loaded filter and starts at most {} a day.",
            degrees(t.on_above_K),
            degrees(t.off_below_K),
            format_difference(t.margin_K, system),
            100.0 * t.share,
            count(t.starts_a_day.ceil() as usize, "time")
        ));
    }
    if let Some(costs) = &s.costs {
        let kWh = |joules: f64| format!("{:.2} kWh", joules / 3.6e6);
        let fan = costs.fan_J.map_or_else(
            || "the fan's power is not known".to_owned(),
            |joules| format!("{label} uses {}", kWh(joules)),
        );
        let mut line = format!(
            "Over the run {fan}, and the machine's heaters draw {} more than closed.",
            kWh(costs.heaters_J.max(0.0))
        );
        if let (Some(joules), Some(season_s)) = (costs.season_J, run.system.season_s) {
            line.push_str(&format!(
                " In {} of a season that is {}",
                hours(season_s / 3600.0),
                kWh(joules)
            ));
            match costs.price_per_kWh {
                Some(price) => line.push_str(&format!(
                    ", or {:.2} in your money.",
                    price * joules / 3.6e6
                )),
                None => line.push('.'),
            }
        }
        lines.push(line);
    }
    if let Some(change) = &s.filter_change {
        let mut line = format!(
            "Change the filter when a gauge across it shows {} (new: {})",
            format_pressure(change.at_Pa, system),
            format_pressure(change.new_Pa, system)
        );
        match change.after_s {
            Some(after_s) => line.push_str(&format!(
                ", after about {} of running.",
                hours(after_s / 3600.0)
            )),
            None => line.push('.'),
        }
        lines.push(line);
    }
    if let Some((life_s, at_K)) = c.fan.life {
        let warmer_K = (c.loaded.warmest_K - at_K).max(0.0);
        let life = format!(
            "Its life is stated as {} in air of {}",
            hours(life_s / 3600.0),
            format_temperature(at_K, system)
        );
        let half = match system {
            System::Si => "10 to 15 K",
            System::Us => "18 to 27 °F",
        };
        lines.push(if warmer_K > 2.0 {
            format!(
                "{life}; here it gets up to {}, and bearings last half as long for every {half} more (common practice).",
                format_temperature(c.loaded.warmest_K, system)
            )
        } else {
            format!("{life}.")
        });
    }
    lines
}

fn count(number: usize, what: &str) -> String {
    match number {
        1 => format!("1 {what}"),
        _ => format!("{} {what}s", format_count(number)),
    }
}

/// The line to send to a supplier.
#[must_use]
fn buying_line(s: &Sizing, spec: &Specification, system: System) -> String {
    let direct = |c: &Candidate| {
        c.fan
            .supply
            .as_ref()
            .is_none_or(|supply| supply.contains("DC"))
    };
    let supply = match s.chosen() {
        Some(c) if !direct(c) => c.fan.supply.clone().unwrap_or_default(),
        _ => "12 or 24 V DC".to_owned(),
    };
    let mut line = format!(
        "at least {} against {} of static pressure, air to {}, continuous duty, {supply}",
        fine_flow(spec.flow_m3_per_s, system),
        format_pressure(spec.pressure_Pa, system),
        format_temperature(rating_K(spec.warmest_K), system)
    );
    if let Some(most) = spec.most_m3_per_s {
        let most = fine_flow(most, system);
        line.push_str(&format!(", no more than {most} with a clean filter"));
    }
    if spec.flap {
        line.push_str(", flap");
    }
    if spec.settable {
        line.push_str(", speed control");
    }
    line
}

/// What to ask a supplier for.
pub(super) fn ask(o: &mut String, s: &Sizing, spec: &Specification, screen: Screen) {
    let system = screen.system;
    let pressure = |p: f64| format_pressure(p, system);
    let why = match spec.by {
        FlowBy::Chance => "that flow is what certainty takes, not the least by the best estimate",
        FlowBy::Reserve => "that flow is the least by the best estimate and a quarter in reserve",
        FlowBy::Fan => "that flow is what the one to take gives, which was found sure enough",
    };
    let against = match s.chances {
        _ if spec.by == FlowBy::Fan => "and that pressure what it gives there",
        Some(_) => "and that pressure what 19 of 20 such systems take at most",
        None => "and that pressure the system's and a gust's of 10 Pa",
    };
    let mut lines = vec![
        buying_line(s, spec, system),
        format!(
            "{why}, {against}, with a loaded filter, in air of {} (it gets up to {})",
            format_temperature(spec.air_K, system),
            format_temperature(spec.warmest_K, system)
        ),
        match spec.power_W {
            Some(power_W) => {
                format!("its power at that flow; the one to take of those looked at needs {power_W:.0} W")
            }
            None => "its power at that flow".to_owned(),
        },
        format!(
            "its frame or flange, and what joins it to a duct of {}",
            format_length(spec.duct_m, system)
        ),
        "its noise at that flow and pressure, in dB(A) at 1 m: what stands in the table is an estimate, blowing freely, and throttled fans are louder"
            .to_owned(),
    ];
    let (clean_Pa, loaded_Pa) = spec.filter_Pa;
    let takes = format!(
        "that takes no more than {} clean and {} loaded at {}",
        pressure(clean_Pa),
        pressure(loaded_Pa),
        format_flow(spec.flow_m3_per_s, system)
    );
    lines.push(match spec.filter {
        FilterKind::None => {
            "no filter is counted on: fumes and particles leave with the air".to_owned()
        }
        FilterKind::Particles => format!("a filter for particles {takes}"),
        FilterKind::ParticlesAndFumes => format!("a filter for particles and fumes {takes}"),
        FilterKind::NotSaid => format!("a filter for particles and fumes, as assumed, {takes}"),
    });
    o.push_str("\nWhat to ask a supplier for\n");
    for line in &lines {
        screen.bullet(o, line);
    }
    if s.candidates.iter().any(|c| c.fan.invented) {
        screen.bullet(
            o,
            "the fans of the built-in catalogue are invented: they stand for sizes, nobody sells them. Put the curve of a real one, and what else its data sheet says, into a CSV file and try it with `--fan`",
        );
    }
}

/// Ten kelvins in hand, in steps of five.
fn rating_K(warmest_K: f64) -> f64 {
    ((warmest_K - 273.15 + 10.0) / 5.0).ceil() * 5.0 + 273.15
}

/// Those that do not stand in the first lines. Many fans may share one fault; they get one line.
pub(super) fn warnings(s: &Sizing, system: System) -> Vec<String> {
    let (mut lines, mut unstable): (Vec<String>, Vec<&str>) = (Vec::new(), Vec::new());
    for w in s.warnings.iter().filter(|w| !w.comes_first()) {
        match w {
            FanWarning::Unstable { fan } => unstable.push(fan),
            other => lines.push(other.text(system)),
        }
    }
    match unstable[..] {
        [] => {}
        [fan] => lines.push(FanWarning::Unstable { fan: fan.to_owned() }.text(system)),
        _ => lines.push(format!(
            "{} work in the unstable parts of their curves: their flow may hunt and hum; take fans with more pressure or lower the system's",
            unstable.join(", ")
        )),
    }
    lines
}

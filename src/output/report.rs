//! Text of `check`: the verdict first, in words.

use super::certainty;
use super::columns::{Column, Columns};
use super::failures;
use super::prose::{columns, padded};
use super::room;
use super::screen::Screen;
use super::shop;
use super::words::{date_and_time, day_and_time, hours};
use crate::chamber::StationKind;
use crate::quantity::{
    ShownMargin, System, format_count, format_difference, format_duration, format_temperature,
};
use crate::run::Run;
use crate::study::check::{NodeFindings, StationFindings};
use crate::study::warnings::Warning;
use crate::study::{Findings, Verdict};

/// The sentence that answers the question, in °C.
#[must_use]
pub fn verdict_sentence(run: &Run, f: &Findings) -> String {
    verdict_sentence_in(run, f, System::Si)
}

/// The sentence that answers the question.
#[must_use]
pub fn verdict_sentence_in(run: &Run, f: &Findings, system: System) -> String {
    let (sure, but) = (
        certainty::sentence(run, f, system),
        failures::but(run, f, system),
    );
    verdict(run, f, system) + &sure + &but + &beyond(f, system)
}

/// Where filament is at a station: "in the drive gear".
pub(super) const fn place(station: StationKind) -> &'static str {
    match station {
        StationKind::Spool => "on the spool",
        StationKind::GuideTube => "in the guide tube",
        StationKind::DriveGear => "in the drive gear",
        StationKind::ColdEnd => "in the cold end",
    }
}

fn verdict(run: &Run, f: &Findings, system: System) -> String {
    let o = &f.outcome;
    let place = place(o.station);
    if let Some(s) = o.shortfalls.first() {
        return format!(
            "{}: on {} {}.",
            o.verdict.name(),
            day_and_time(run.start, s.at_s),
            s.text(system)
        );
    }
    let when = day_and_time(run.start, o.peak_at_s);
    let peak = format!(
        "{}: the filament {place} reaches {} on {when}",
        o.verdict.name(),
        format_temperature(o.peak_K, system)
    );
    let margin = ShownMargin::new(o.margin_K, run.requirements.margin_K, system);
    match o.verdict {
        Verdict::Holds => format!(
            "{peak}, {} below its limit{}.",
            margin.text(),
            certainty::but(run, f)
        ),
        Verdict::Tight => format!(
            "{peak}, only {} below its limit; {} are required. {} of the run lie inside the margin.",
            margin.text(),
            margin.required(),
            hours(f.hours_within_margin_h)
        ),
        Verdict::Softens | Verdict::CannotRun => format!(
            "{peak}, {} above its limit; {} of the run are above.",
            margin.above(),
            hours(f.hours_above_limit_h)
        ),
    }
}

/// What makes the answer worthless, which must not be read without it.
fn beyond(f: &Findings, system: System) -> String {
    let all = f.warnings.iter().filter_map(|w| match w {
        Warning::Beyond(beyond) => Some(format!(" But {}.", beyond.text(system))),
        _ => None,
    });
    all.collect()
}

/// The whole text.
#[must_use]
pub fn check(run: &Run, f: &Findings, screen: Screen) -> String {
    let system = screen.system;
    let mut out = String::new();
    let o = &mut out;
    screen.paragraph(o, &verdict_sentence_in(run, f, system));
    shortfalls(o, f, usize::MAX, screen);
    o.push('\n');
    screen.entry(o, "Run", &run.name);
    let span = format!(
        "{} from {}, {}",
        hours(run.duration_s / 3600.0),
        date_and_time(run.start, 0.0),
        run.arrangement.name()
    );
    screen.entry(o, "", &span);
    screen.entry(o, "Machine", &run.machine.name);
    screen.entry(o, "Material", &material(run, f, system));
    if let Some(words) = room::words(run, system) {
        screen.entry(o, "Room", &words);
    }
    o.push('\n');
    o.push_str(&stations(run, f, screen));
    let stop = format_duration(run.filament.longest_stop_s);
    let standing = format!("standing: once it has stood still for {stop}, the job's longest stop");
    screen.hanging(o, "  ", "  ", &standing);
    o.push('\n');
    if !f.failures.is_empty() {
        failures::table(o, run, f, usize::MAX, screen);
        failures::note(o, screen);
        o.push('\n');
    }
    o.push_str(&chamber_table(f, system).text(screen.width));
    o.push('\n');
    heat(o, run, f, screen);
    if let Some(u) = &f.fan {
        let energy = u
            .energy_J
            .map_or_else(String::new, |e| format!(", {:.2} kWh", e / 3.6e6));
        let text = format!(
            "runs {:.0} % of the time ({}), starts {} times{energy}",
            100.0 * u.share,
            hours(u.running_h),
            format_count(u.all_starts())
        );
        o.push('\n');
        screen.entry(o, "Fan", &text);
    }
    o.push('\n');
    shop::entries(o, run, f, screen);
    if f.alarm.is_some() || f.certainty.is_some() {
        o.push('\n');
    }
    if let Some(a) = &f.alarm {
        let margin = format_difference(run.requirements.margin_K, system);
        let text = format!(
            "act when a thermometer on the {} shows {}: by then the filament at the {} may be within {margin} of its limit",
            a.thermometer.name(),
            format_temperature(a.reading_K, system),
            f.outcome.station.name()
        );
        screen.entry(o, "Alarm", &text);
    }
    if let Some(c) = &f.certainty {
        screen.entry(o, "Doubt", &certainty::basis(c));
    }
    if !f.warnings.is_empty() {
        o.push_str("\nWarnings\n");
        for w in &f.warnings {
            screen.bullet(o, &w.text(system));
        }
    }
    o.push_str("\nCautions\n");
    for c in &f.cautions {
        screen.bullet(o, c.text());
    }
    out
}

/// The stations of the feed path against their limits.
pub(super) fn stations(run: &Run, f: &Findings, screen: Screen) -> String {
    stations_table(run, f, screen.system).text(screen.width)
}

/// The same as a table.
pub(super) fn stations_table(run: &Run, f: &Findings, system: System) -> Columns {
    let all = &f.stations;
    let degrees = |value_K: &dyn Fn(&StationFindings) -> f64| -> Vec<String> {
        let shown = |s| format!("{:.1}", system.temperature(value_K(s)));
        all.iter().map(shown).collect()
    };
    let required_K = run.requirements.margin_K;
    let margins = all
        .iter()
        .map(|s| ShownMargin::new(s.limit_K - s.max_K, required_K, system).number());
    let moments = all.iter().map(|s| date_and_time(run.start, s.max_at_s));
    Columns {
        head: format!("Filament, {}", system.temperature_unit()),
        names: all
            .iter()
            .map(|s| format!("  {}", s.station.name()))
            .collect(),
        columns: vec![
            Column::numbers(&["moving"], 2, degrees(&|s| s.moving_max_K)),
            Column::numbers(&["standing"], 0, degrees(&|s| s.max_K)),
            Column::numbers(&["limit"], 0, degrees(&|s| s.limit_K)),
            Column::numbers(&["margin"], 0, margins.collect()),
            Column::words(&["hottest at"], 1, moments.collect()),
        ],
    }
}

/// The nodes that a thermometer could be held to.
pub(super) fn chamber_table(f: &Findings, system: System) -> Columns {
    let nodes: Vec<_> = f.nodes.iter().filter(|n| shown(&n.name)).collect();
    let degrees = |value_K: &dyn Fn(&NodeFindings) -> f64| -> Vec<String> {
        let shown = |n: &&NodeFindings| format!("{:.1}", system.temperature(value_K(n)));
        nodes.iter().map(shown).collect()
    };
    Columns {
        head: format!("Chamber, {}", system.temperature_unit()),
        names: nodes.iter().map(|n| format!("  {}", n.name)).collect(),
        columns: vec![
            Column::numbers(&["lowest"], 3, degrees(&|n| n.min_K)),
            Column::numbers(&["mean"], 1, degrees(&|n| n.mean_K)),
            Column::numbers(&["highest"], 0, degrees(&|n| n.max_K)),
            Column::numbers(&["at end"], 2, degrees(&|n| n.end_K)),
        ],
    }
}

/// The material with its limit and what that rests on.
pub(super) fn material(run: &Run, f: &Findings, system: System) -> String {
    let m = &run.material;
    let mut basis = m.softening_basis.clone();
    let lower_K = m.softening_limit_K - f.limit_K;
    if lower_K > 0.0 {
        basis = format!(
            "{basis}: {} dry, {} lower for damp filament",
            format_temperature(m.softening_limit_K, system),
            format_difference(lower_K, system)
        );
    }
    format!(
        "{}, softening limit {} ({basis})",
        m.name,
        format_temperature(f.limit_K, system)
    )
}

/// What else is too weak, and what would let the first heaters do it: in words, because nothing of it was
/// simulated.
pub(super) fn shortfalls(o: &mut String, f: &Findings, with_ways_out: usize, screen: Screen) {
    for (k, s) in f.outcome.shortfalls.iter().enumerate() {
        if k > 0 {
            screen.paragraph(o, &format!("And {}.", s.text(screen.system)));
        }
        if k >= with_ways_out {
            continue;
        }
        let head = format!("What would let the {} do it", s.heater.name());
        o.push('\n');
        screen.paragraph(o, &head);
        for way in s.ways_out(screen.system) {
            screen.bullet(o, &way);
        }
    }
}

/// Faces of panels, and layers between the top and the bottom one, go to the CSV; the table shows what a
/// thermometer would be held to.
fn shown(name: &str) -> bool {
    ![
        "lid",
        "walls",
        "door",
        "floor",
        "bed underside",
        "air layer",
    ]
    .iter()
    .any(|p| name.starts_with(p))
}

/// Where heat comes from and goes, side by side where there is room.
fn heat(o: &mut String, run: &Run, f: &Findings, screen: Screen) {
    let mean = |q: f64| q / run.duration_s;
    let total = |side: &[(String, f64)]| mean(side.iter().map(|(_, q)| q).sum());
    let side = |all: &[(String, f64)], sum: (&str, f64)| -> Vec<(String, String)> {
        let mut all: Vec<_> = all.iter().filter(|(_, q)| q.abs() > 0.0).collect();
        all.sort_by(|a, b| b.1.total_cmp(&a.1));
        let rows = all.into_iter().map(|(name, q)| (name.clone(), mean(*q)));
        rows.chain([(sum.0.to_owned(), sum.1)])
            .map(|(name, w)| (format!("  {name}"), format!("{w:.1}")))
            .collect()
    };
    let (into, out) = (total(&f.heat.in_J), total(&f.heat.out_J));
    let into = side(&f.heat.in_J, ("together", into));
    let stored = mean(f.heat.stored_J);
    let out = side(&f.heat.out_J, ("together, and stored", out + stored));
    let table = |head: &str, rows: Vec<(String, String)>| {
        let (names, cells) = rows.into_iter().unzip();
        let columns = vec![Column::numbers(&[], 0, cells)];
        let head = head.to_owned();
        Columns {
            head,
            names,
            columns,
        }
        .text(screen.width)
    };
    let (left, right) = (
        table("Heat in, mean W", into),
        table("Heat out, mean W", out),
    );
    let (left, right): (Vec<&str>, Vec<&str>) = (left.lines().collect(), right.lines().collect());
    let widest = |lines: &[&str]| lines.iter().map(|l| columns(l)).max().unwrap_or(0);
    let at = widest(&left) + 6;
    if at + widest(&right) > screen.width {
        for line in left.iter().chain(&[""]).chain(&right) {
            o.push_str(&format!("{line}\n"));
        }
        return;
    }
    // The sums stand in one line.
    let rows = left.len().max(right.len());
    let line = |side: &[&str], k: usize| -> String {
        let text = match k {
            _ if k + 1 == rows => side.last(),
            _ if k + 1 < side.len() => side.get(k),
            _ => None,
        };
        text.map_or_else(String::new, ToString::to_string)
    };
    for k in 0..rows {
        let text = padded(&line(&left, k), at) + &line(&right, k);
        o.push_str(&format!("{}\n", text.trim_end()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::chamber::IntegratorKind;
    use crate::integrate::Options;

    /// The sentence for a short run in a room of such a temperature.
    fn sentence(room: &str) -> String {
        let text = format!(
            "run = {{ start = \"2026-07-13 07:00\", duration = \"1 h\" }}\n\
            machine.name = \"bench-60\"\nmaterial.name = \"peek\"\npart.mass = \"10 g\"\n\
            job = {{ nozzle = \"400 degC\", bed = \"100 degC\" }}\n\
            room = {{ {room} }}\n"
        );
        let run = crate::runfile::parse(&text, "run.toml", None, &Catalogue::embedded());
        let run = run.expect("valid").run;
        let findings = crate::study::check(&run, IntegratorKind::Rosenbrock, &Options::default());
        verdict_sentence(&run, &findings.expect("runs"))
    }

    #[test]
    fn what_no_shop_has_is_no_ordinary_verdict() {
        let ordinary = sentence("temperature = \"45 degC\"");
        assert!(!ordinary.contains("rely"), "{ordinary}");
        let absurd = sentence("mean = \"58 degC\", swing = \"20 K\", warmest_at = \"07:30\"");
        assert!(
            absurd.contains("But do not rely on this answer: the room"),
            "{absurd}"
        );
    }
}

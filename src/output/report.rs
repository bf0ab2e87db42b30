//! Text of `check`: the verdict first, in words.

use std::fmt::Write;

use super::words::{date_and_time, day_and_time, hours};
use crate::chamber::StationKind;
use crate::quantity::{System, format_difference, format_duration, format_temperature};
use crate::run::Run;
use crate::study::{Findings, Verdict};

/// The sentence that answers the question, in °C.
#[must_use]
pub fn verdict_sentence(run: &Run, f: &Findings) -> String {
    verdict_sentence_in(run, f, System::Si)
}

/// The sentence that answers the question.
#[must_use]
pub fn verdict_sentence_in(run: &Run, f: &Findings, system: System) -> String {
    let o = &f.outcome;
    let place = match o.station {
        StationKind::Spool => "on the spool",
        StationKind::GuideTube => "in the guide tube",
        StationKind::DriveGear => "in the drive gear",
        StationKind::ColdEnd => "in the cold end",
    };
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
    match o.verdict {
        Verdict::Holds => format!(
            "{peak}, {} below its limit.",
            format_difference(o.margin_K, system)
        ),
        Verdict::Tight => format!(
            "{peak}, only {} below its limit; {} are required. {} of the run lie inside the margin.",
            format_difference(o.margin_K, system),
            format_difference(run.requirements.margin_K, system),
            hours(f.hours_within_margin_h)
        ),
        Verdict::Softens | Verdict::CannotRun => format!(
            "{peak}, {} above its limit; {} of the run are above.",
            format_difference(-o.margin_K, system),
            hours(f.hours_above_limit_h)
        ),
    }
}

/// The whole text.
#[must_use]
pub fn check(run: &Run, f: &Findings, system: System) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = write_check(&mut out, run, f, system);
    out
}

fn write_check(o: &mut String, run: &Run, f: &Findings, system: System) -> std::fmt::Result {
    let shown_at = |K: f64| system.temperature(K);
    let unit = system.temperature_unit();
    for line in wrap(&verdict_sentence_in(run, f, system), 80) {
        writeln!(o, "{line}")?;
    }
    write_shortfalls(o, f, system)?;
    writeln!(o)?;
    writeln!(o, "Run          {}", run.name)?;
    writeln!(
        o,
        "             {} from {}, {}",
        hours(run.duration_s / 3600.0),
        date_and_time(run.start, 0.0),
        run.arrangement.name()
    )?;
    writeln!(o, "Machine      {}", run.machine.name)?;
    write_material(o, run, f, system)?;
    writeln!(o)?;
    writeln!(
        o,
        "{:<18}{:>10}{:>10}{:>10}{:>10}  hottest at",
        format!("Filament, {unit}"),
        "moving",
        "standing",
        "limit",
        "margin"
    )?;
    for s in &f.stations {
        writeln!(
            o,
            "  {:<16}{:>10.1}{:>10.1}{:>10.1}{:>10.1}  {}",
            s.station.name(),
            shown_at(s.moving_max_K),
            shown_at(s.max_K),
            shown_at(s.limit_K),
            system.difference(s.limit_K - s.max_K),
            date_and_time(run.start, s.max_at_s)
        )?;
    }
    writeln!(
        o,
        "  standing: once it has stood still for {}, the job's longest stop",
        format_duration(run.filament.longest_stop_s)
    )?;
    writeln!(o)?;
    writeln!(
        o,
        "{:<22}{:>10}{:>10}{:>10}{:>10}",
        format!("Chamber, {unit}"),
        "lowest",
        "mean",
        "highest",
        "at end"
    )?;
    for n in f.nodes.iter().filter(|n| shown(&n.name)) {
        writeln!(
            o,
            "  {:<20}{:>10.1}{:>10.1}{:>10.1}{:>10.1}",
            n.name,
            shown_at(n.min_K),
            shown_at(n.mean_K),
            shown_at(n.max_K),
            shown_at(n.end_K)
        )?;
    }
    writeln!(o)?;
    write_heat(o, run, f)?;
    if let Some(u) = &f.fan {
        let energy = u
            .energy_J
            .map_or_else(String::new, |e| format!(", {:.2} kWh", e / 3.6e6));
        writeln!(
            o,
            "\nFan          runs {:.0} % of the time ({}), starts {} times{energy}",
            100.0 * u.share,
            hours(u.running_h),
            u.starts
        )?;
    }
    if !f.warnings.is_empty() {
        writeln!(o, "\nWarnings")?;
        for w in &f.warnings {
            bullet(o, &w.text(system))?;
        }
    }
    writeln!(o, "\nCautions")?;
    for c in &f.cautions {
        bullet(o, c.text())?;
    }
    Ok(())
}

/// The material with its limit and what that rests on.
fn write_material(o: &mut String, run: &Run, f: &Findings, system: System) -> std::fmt::Result {
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
    let text = format!(
        "{}, softening limit {} ({basis})",
        m.name,
        format_temperature(f.limit_K, system)
    );
    for (k, line) in wrap(&text, 67).into_iter().enumerate() {
        writeln!(o, "{:<13}{line}", if k == 0 { "Material" } else { "" })?;
    }
    Ok(())
}

/// What else is too weak, and what would let the job run: in words, because nothing of it was simulated.
fn write_shortfalls(o: &mut String, f: &Findings, system: System) -> std::fmt::Result {
    for (k, s) in f.outcome.shortfalls.iter().enumerate() {
        if k > 0 {
            let text = s.text(system);
            for line in wrap(&format!("And {text}."), 80) {
                writeln!(o, "{line}")?;
            }
        }
        writeln!(o, "\nWhat would let the {} do it", s.heater.name())?;
        for way in s.ways_out(system) {
            bullet(o, &way)?;
        }
    }
    Ok(())
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

fn write_heat(o: &mut String, run: &Run, f: &Findings) -> std::fmt::Result {
    let mean = |q: f64| q / run.duration_s;
    let sides = f.heat.in_J.iter().filter(|(_, q)| q.abs() > 0.0);
    let mut sources: Vec<_> = sides.collect();
    let mut ways: Vec<_> = f.heat.out_J.iter().filter(|(_, q)| q.abs() > 0.0).collect();
    sources.sort_by(|a, b| b.1.total_cmp(&a.1));
    ways.sort_by(|a, b| b.1.total_cmp(&a.1));
    writeln!(
        o,
        "{:<30}{:>8}    {:<24}{:>8}",
        "Heat in, mean W", "", "Heat out, mean W", ""
    )?;
    for k in 0..sources.len().max(ways.len()) {
        let cell = |side: &[&(String, f64)]| {
            side.get(k)
                .map_or((String::new(), String::new()), |(n, q)| {
                    (n.clone(), format!("{:.1}", mean(*q)))
                })
        };
        let (a, b) = (cell(&sources), cell(&ways));
        let line = format!("  {:<28}{:>8}      {:<22}{:>8}", a.0, a.1, b.0, b.1);
        writeln!(o, "{}", line.trim_end())?;
    }
    let total = |side: &[(String, f64)]| mean(side.iter().map(|(_, q)| q).sum());
    writeln!(
        o,
        "  {:<28}{:>8.1}      {:<22}{:>8.1}",
        "together",
        total(&f.heat.in_J),
        "together, and stored",
        total(&f.heat.out_J) + mean(f.heat.stored_J)
    )
}

pub(super) fn bullet(o: &mut String, text: &str) -> std::fmt::Result {
    for (k, line) in wrap(text, 76).into_iter().enumerate() {
        writeln!(o, "  {} {line}", if k == 0 { "-" } else { " " })?;
    }
    Ok(())
}

/// Breaks text at spaces so that no line is longer than `width` characters, where words allow.
#[must_use]
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        let line = &mut lines[last];
        if line.is_empty() {
            line.push_str(word);
        } else if line.chars().count() + 1 + word.chars().count() <= width {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push(word.to_owned());
        }
    }
    lines
}

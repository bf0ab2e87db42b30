//! The sheet of one run: will it hold, why, and what to look after.

use maud::{Markup, html};

use super::figure::{figure, size};
use super::frame::{Content, LOG_SHEET, starts};
use super::heat_flow::{self, HeatFlows};
use super::prose::{self, capital};
use super::remedies::columns as remedy_columns;
use super::table::table;
use super::{inputs, log_sheet, section};
use crate::output::chart::{self, ChartError};
use crate::output::columns::{Column, Columns};
use crate::output::remedies::{HOLDS, floor_sentence};
use crate::output::report::{chamber_table, material, stations_table, verdict_sentence_in};
use crate::output::words::{date_and_time, hours};
use crate::output::{certainty, failures, remedies as text_of_remedies, room, run_picture};
use crate::quantity::{
    System, format_count, format_difference, format_duration, format_mass, format_temperature,
};
use crate::run::{BedMotion, PhaseKind, Run};
use crate::runfile::Loaded;
use crate::study::remedies::Remedies;
use crate::study::warnings::Warning;
use crate::study::{Findings, Verdict};

/// Rows of a chart's table.
const ROWS: usize = 25;

/// What stands on the sheet of a checked run.
///
/// # Errors
/// When a picture can't be drawn.
pub fn content(
    loaded: &Loaded,
    f: &Findings,
    remedies: Option<&Remedies>,
    system: System,
) -> Result<Content, ChartError> {
    let run = &loaded.run;
    let can_run = f.outcome.verdict != Verdict::CannotRun;
    let mut sections: Vec<(&'static str, Markup)> = Vec::new();
    if !f.warnings.is_empty() {
        let warnings = f.warnings.iter().map(|w| w.text(system));
        sections.push(("Warnings", html! { div.warn { (prose::list(warnings)) } }));
    }
    sections.push(("Temperatures over the run", temperatures(run, f, system)?));
    if can_run {
        sections.push(("Along the filament's way", stations(run, f, system)));
    }
    if let Some(near) = log_sheet::near_the_limit(run, f, system).filter(|_| can_run) {
        sections.push(("When it is near its limit", near));
    }
    sections.push((
        "The chamber at its hottest moment",
        at_hottest(run, f, system)?,
    ));
    sections.push(("Where heat comes from and goes", heat(run, f)?));
    if let Some(found) = remedies.filter(|r| r.before.verdict != Verdict::Holds) {
        sections.push(("What would make it hold", would_hold(run, found, system)));
    }
    if !f.failures.is_empty() {
        let caption = format!(
            "Time left: from the failure to the limit; margin, {}, and verdict: from then on",
            system.difference_unit()
        );
        let columns = failures::columns(run, f, usize::MAX, system);
        sections.push(("If something fails", table(&columns, &caption)));
    }
    sections.push(("How sure that is", sure(f, system)));
    if can_run {
        sections.push((LOG_SHEET, log_sheet::part(run, f, system)));
    }
    sections.push(("Electricity", log_sheet::electricity(f)));
    sections.push(("The run as understood", inputs::typed(loaded, system)));
    let mut cautions = f.cautions.clone();
    if let Some(found) = remedies {
        cautions.extend(text_of_remedies::cautions(run, found));
    }
    cautions.sort_unstable();
    cautions.dedup();
    Ok(Content {
        name: run.name.clone(),
        kind: "will this run hold?",
        block: block(run, f, system),
        verdict: Some(f.outcome.verdict),
        is_qualified: is_qualified(run, f),
        is_about_start: true,
        answer: answer(run, f, system),
        sections,
        cautions,
        appendix: vec![
            ("In numbers", numbers(run, f, system)),
            ("Every value", inputs::all(loaded, system)),
        ],
    })
}

/// What is said beside the verdict of a run that opens what must stay closed.
pub const BARRED: &str = "Not allowed for this run: it opens a machine that must stay closed.";

/// Whether the run opens what must stay closed.
#[must_use]
pub fn is_barred(f: &Findings) -> bool {
    let opens = |w: &Warning| matches!(w, Warning::OpensClosedMachine { .. });
    f.warnings.iter().any(opens)
}

/// Whether a run that holds should not be taken for one that simply does: it is not allowed, too many such runs soften,
/// or a failure asked about spoils it.
#[must_use]
pub fn is_qualified(run: &Run, f: &Findings) -> bool {
    is_barred(f) || certainty::is_doubtful(run, f) || failures::told(f).is_some()
}

/// The answer, and at which reading to act.
pub fn answer(run: &Run, f: &Findings, system: System) -> Vec<String> {
    let mut all = vec![verdict_sentence_in(run, f, system)];
    all.extend(is_barred(f).then(|| BARRED.to_owned()));
    let more = f.outcome.shortfalls.iter().skip(1);
    all.extend(more.map(|s| format!("And {}.", s.text(system))));
    for s in &f.outcome.shortfalls {
        let ways = s.ways_out(system);
        if !ways.is_empty() {
            all.push(format!(
                "What would let the {} do it: {}.",
                s.heater.name(),
                ways.join("; ")
            ));
        }
    }
    if let Some(alarm) = &f.alarm {
        all.push(format!(
            "Act when a thermometer on the {} shows {}: by then the filament at the {} may be within {} of its limit.",
            alarm.thermometer.name(),
            format_temperature(alarm.reading_K, system),
            f.outcome.station.name(),
            format_difference(run.requirements.margin_K, system)
        ));
    }
    all
}

/// The title block of a run.
pub fn block(run: &Run, f: &Findings, system: System) -> Vec<(&'static str, String)> {
    let mut all = vec![
        ("Machine", run.machine.name.clone()),
        ("Material", material(run, f, system)),
        ("Part", format_mass(run.part.mass_kg, system)),
        ("Start", starts(run.start)),
        ("Length", hours(run.duration_s / 3600.0)),
        ("Arrangement", run.arrangement.name().to_owned()),
        (
            "Required margin",
            format_difference(run.requirements.margin_K, system),
        ),
    ];
    if let Some(words) = room::words(run, system) {
        all.push(("Room", words));
    }
    all
}

fn temperatures(run: &Run, f: &Findings, system: System) -> Result<Markup, ChartError> {
    let mut chart = run_picture::chart(run, f, system);
    chart.title = "Filament, air and room".to_owned();
    chart.subtitle = format!("{}, {}", run.machine.name, run.material.name);
    let picture = figure(
        "temperatures",
        (size(1000, 640), size(400, 520)),
        "Between the ends of the shaded band around the deciding line lie nine runs of ten.",
        |size, id| chart::inline(&chart, size, system, id),
    )?;
    Ok(picture)
}

/// The curves in numbers.
fn numbers(run: &Run, f: &Findings, system: System) -> Markup {
    let unit = system.temperature_unit();
    html! {
        details {
            summary { "Temperatures over the run" }
            (table(&over_time(run, f, system), &format!("Temperatures over the run, {unit}")))
        }
        details {
            summary { "Every place in the chamber" }
            (table(&chamber_table(f, system), "Lowest, mean and highest over the run"))
        }
    }
}

/// Temperatures at some even moments, and at the hottest one.
fn over_time(run: &Run, f: &Findings, system: System) -> Columns {
    let s = &f.simulation;
    let mut moments: Vec<f64> = (0..ROWS)
        .map(|k| run.duration_s * k as f64 / (ROWS - 1) as f64)
        .collect();
    moments.push(f.outcome.peak_at_s);
    moments.sort_by(f64::total_cmp);
    moments.dedup_by(|a, b| (*a - *b).abs() < 60.0);
    let degrees = |value_K: &dyn Fn(f64) -> f64| -> Vec<String> {
        let shown = |t: &f64| format!("{:.1}", system.temperature(value_K(*t)));
        moments.iter().map(shown).collect()
    };
    let points = &s.chamber.points;
    let top = points.top();
    let mut columns: Vec<Column> = f
        .stations
        .iter()
        .map(|found| {
            let station = found.station;
            Column::numbers(&[station.name()], 0, degrees(&|t| s.filament_K(station, t)))
                .under("filament")
        })
        .collect();
    columns.push(Column::numbers(
        &["air, top"],
        0,
        degrees(&|t| s.temperature_K(top, t)),
    ));
    columns.push(Column::numbers(
        &["room"],
        0,
        degrees(&|t| s.temperature_K(points.room, t)),
    ));
    Columns {
        head: "moment".to_owned(),
        names: moments
            .iter()
            .map(|t| date_and_time(run.start, *t))
            .collect(),
        columns,
    }
}

fn stations(run: &Run, f: &Findings, system: System) -> Markup {
    let stop = format_duration(run.filament.longest_stop_s);
    let caption = format!(
        "Filament on steady feed (moving) and once it has stood for {stop}, the job's longest stop, against its limit"
    );
    table(&stations_table(run, f, system), &caption)
}

fn at_hottest(run: &Run, f: &Findings, system: System) -> Result<Markup, ChartError> {
    let at_s = f.outcome.peak_at_s;
    let caption = format!(
        "Cut from front (left) to back, on {}{}. Chamber, bed, part, heights and openings are to scale; hotend, motors, gear and spool are symbols at their heights. Beside the filament stands its limit; arrows show air through the shell{}.{}",
        date_and_time(run.start, at_s),
        event(run, at_s),
        match run.arrangement.kind.has_fan() {
            true => ", of a fan what passes the chamber and what it moves in all",
            false => "",
        },
        match run.machine.bed.moves {
            BedMotion::Down => {
                " The bed is drawn where it is then; it is computed at its mean height."
            }
            BedMotion::Stays => "",
        }
    );
    figure(
        "section",
        (size(860, 560), size(400, 720)),
        &caption,
        |size, id| section::section(run, &f.simulation, at_s, system, size, id),
    )
}

/// What is going on at a moment beside printing.
fn event(run: &Run, at_s: f64) -> String {
    let phase = run
        .phases
        .iter()
        .find(|p| p.begin_s <= at_s && at_s < p.end_s);
    let mut all = Vec::new();
    match phase.map(|p| p.kind) {
        Some(PhaseKind::SpoolChange) => all.push("during a spool change"),
        Some(PhaseKind::Pause) => all.push("during a pause"),
        _ => {}
    }
    let scheduled = run
        .schedule
        .iter()
        .find(|s| s.begin_s <= at_s && at_s < s.end_s);
    all.extend(scheduled.map(|s| s.arrangement.name()));
    match &all[..] {
        [] => String::new(),
        all => format!(" ({})", all.join(", ")),
    }
}

fn heat(run: &Run, f: &Findings) -> Result<Markup, ChartError> {
    let flows = HeatFlows::of_run(&f.heat, run.duration_s);
    figure(
        "heat",
        (size(860, 440), size(400, 560)),
        "Means over the whole run; each band is as wide as its heat is strong.",
        |size, id| heat_flow::picture(&flows, "Heat into the chamber and out of it", size, id),
    )
}

fn would_hold(run: &Run, found: &Remedies, system: System) -> Markup {
    let nearest = found.nearest.as_slice();
    html! {
        @if let Some(sentence) = floor_sentence(run, found, system) { p { (sentence) } }
        @if !nearest.is_empty() { (table(&remedy_columns(nearest, system), "Nearest to it")) }
        @if !found.found.is_empty() { (table(&remedy_columns(&found.found, system), HOLDS)) }
        @if !found.not_enough.is_empty() {
            (table(&remedy_columns(&found.not_enough, system), "Not enough alone, as far as each goes"))
        }
        @if found.found.is_empty() && nearest.is_empty() && found.floor.is_none() {
            p { "None of the usual changes makes it hold." }
        }
        p.small { "Each has been simulated over the whole run." }
    }
}

fn sure(f: &Findings, system: System) -> Markup {
    let Some(c) = &f.certainty else {
        return html! { p { "Not asked: the answer is that of the best estimate alone." } };
    };
    let mut facts: Vec<(String, String)> = Vec::new();
    if let Some(band) = c.hottest_K(f.outcome.station) {
        let shown = |K| format_temperature(K, system);
        facts.push((
            format!("Hottest filament, {}", f.outcome.station.name()),
            format!(
                "half of such runs reach {} or more, one of twenty {} or more, one of twenty {} at most",
                shown(band.p50),
                shown(band.p95),
                shown(band.p05)
            ),
        ));
    }
    if let Some(margin) = c.margin_K() {
        let shown = |K| format_difference(K, system);
        facts.push((
            "Margin, wherever it is least".to_owned(),
            format!(
                "half of such runs keep {} or more, one of twenty {} or less; softening limits are in doubt, too",
                shown(margin.p50),
                shown(margin.p05)
            ),
        ));
    }
    facts.push((
        "Soften".to_owned(),
        format!("{} such runs", certainty::of_100(c.chance_softens())),
    ));
    if c.chance_cannot_run() > 0.0 {
        facts.push((
            "Heater too weak".to_owned(),
            format!("in {}", certainty::of_100(c.chance_cannot_run())),
        ));
    }
    facts.push(("Found with".to_owned(), certainty::basis(c)));
    html! {
        (prose::facts(&facts))
        p.small {
            (capital(&format!(
                "{} values are in doubt, each with its spread; which of them matter most, and what to measure, says the program with --sensitivity.",
                format_count(c.doubtful)
            )))
        }
    }
}

//! The pieces of the sheet that change while knobs turn, as HTML and SVG.
//!
//! Every text passes through the template's escaping; only finished SVG of the chart's own writer goes in as it is.

use super::refusal::Refusal;
use super::shop::Looked;
use super::typed::Width;
use crate::chamber::{Chamber, IntegratorKind, Simulation, StationKind};
use crate::integrate::Options;
use crate::output::chart::{self, Line, Mark, MarkKind, Role, Size};
use crate::output::report::verdict_sentence_in;
use crate::output::run_picture;
use crate::output::sheet::check::{BARRED, is_barred, is_qualified};
use crate::output::sheet::frame::Content;
use crate::output::sheet::heat_flow::{self, HeatFlows};
use crate::output::sheet::section::section;
use crate::output::sheet::{figure, prose};
use crate::output::words::{date_and_time, hours};
use crate::quantity::{ShownMargin, System, format_difference, format_temperature};
use crate::run::{Inputs, Run};
use crate::study::{Findings, Verdict};
use maud::{Markup, html};

/// Points along a line that is compared with.
const POINTS: u32 = 480;

/// The verdict's word as part of a class or attribute.
pub const fn word_of(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Holds => "holds",
        Verdict::Tight => "tight",
        Verdict::Softens => "softens",
        Verdict::CannotRun => "cannot-run",
    }
}

/// The sign that goes with a verdict, so that colour is not all that tells.
const fn sign(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Holds => "✓",
        Verdict::Tight => "≈",
        Verdict::Softens => "↑",
        Verdict::CannotRun => "✕",
    }
}

/// The answer, first of all.
pub fn verdict(looked: &Looked, system: System) -> Markup {
    let (run, f) = (&looked.loaded.run, &looked.findings);
    let verdict = f.outcome.verdict;
    let sentence = verdict_sentence_in(run, f, system);
    let rest = sentence.strip_prefix(verdict.name()).unwrap_or(&sentence);
    let rest = rest.trim_start_matches([':', ' ']);
    let is_qualified = verdict == Verdict::Holds && is_qualified(run, f);
    html! {
        div .answer data-verdict=(word_of(verdict)) data-qualified=[is_qualified.then_some("")] {
            p .word {
                span .sign aria-hidden="true" { @if is_qualified { "!" } @else { (sign(verdict)) } }
                " " strong { (verdict.name()) }
                @if is_barred(f) { strong { ", but not allowed" } }
            }
            @if verdict != Verdict::CannotRun {
                p .margin {
                    span .number { (ShownMargin::new(f.outcome.margin_K, run.requirements.margin_K, system).text()) }
                    " margin, " (format_difference(run.requirements.margin_K, system)) " required"
                }
            }
            p .sentence { (capitalised(rest)) }
            @if is_barred(f) { p .sentence { (BARRED) } }
            @if f.certainty.is_none() {
                p .pending { "How sure that is comes once the controls rest." }
            }
        }
    }
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// What holds at a moment: the chamber in section, filament, air, heat.
///
/// # Errors
/// When a picture can't be drawn.
pub fn moment(looked: &Looked, at_s: f64, width: Width, system: System) -> Result<Markup, Refusal> {
    let (run, f) = (&looked.loaded.run, &looked.findings);
    let s = &f.simulation;
    let (drawing, bands) = match width {
        Width::Wide => (figure::size(860, 560), figure::size(860, 400)),
        Width::Narrow => (figure::size(400, 720), figure::size(400, 520)),
    };
    let heat = HeatFlows::at(s, at_s);
    Ok(html! {
        h2 { "At " (date_and_time(run.start, at_s)) ", " (hours(at_s / 3_600.0)) " from the start" }
        figure { (section(run, s, at_s, system, drawing, "section")?) }
        div .tables {
            (stations(run, f, at_s, system))
            (chamber(s, at_s, system))
        }
        h3 { "Where heat comes from and goes then" }
        figure { (heat_flow::picture(&heat, "Heat into the chamber and out of it", bands, "heat")?) }
    })
}

fn degrees(temperature_K: f64, system: System) -> String {
    crate::quantity::format_number(system.temperature(temperature_K), 1)
}

fn stations(run: &Run, f: &Findings, at_s: f64, system: System) -> Markup {
    let required_K = run.requirements.margin_K;
    html! {
        table {
            caption { "Filament, " (system.temperature_unit()) }
            thead { tr {
                th scope="col" { "station" } th .number scope="col" { "now" } th .number scope="col" { "hottest" }
                th .number scope="col" { "limit" } th .number scope="col" { "margin" }
            } }
            tbody {
                @for s in &f.stations {
                    tr {
                        th scope="row" { (s.station.name()) }
                        td .number { (degrees(f.simulation.filament_K(s.station, at_s), system)) }
                        td .number { (degrees(s.max_K, system)) }
                        td .number { (degrees(s.limit_K, system)) }
                        td .number { (ShownMargin::new(s.limit_K - s.max_K, required_K, system).number()) }
                    }
                }
            }
        }
    }
}

fn chamber(s: &Simulation, at_s: f64, system: System) -> Markup {
    let points = &s.chamber.points;
    let mut rows = vec![];
    if let (Some(top), Some(bottom)) = (points.air.last(), points.air.first()) {
        rows.push(("air under the lid", *top));
        rows.push(("air at the floor", *bottom));
    }
    rows.extend([("bed", points.bed), ("room", points.room)]);
    html! {
        table {
            caption { "Chamber, " (system.temperature_unit()) }
            thead { tr { th scope="col" { "where" } th .number scope="col" { "now" } } }
            tbody {
                @for (name, point) in rows {
                    tr { th scope="row" { (name) } td .number { (degrees(s.temperature_K(point, at_s), system)) } }
                }
            }
        }
    }
}

/// What the reader must know and mind.
pub fn notes(looked: &Looked, system: System) -> Markup {
    let f = &looked.findings;
    html! {
        @if !f.warnings.is_empty() || !looked.loaded.warnings.is_empty() {
            h3 { "Warnings" }
            ul {
                @for warning in &looked.loaded.warnings { li { (warning.message) } }
                @for warning in &f.warnings { li { (warning.text(system)) } }
            }
        }
        h3 { "Cautions" }
        ul { @for caution in &f.cautions { li { (caution.text()) } } }
    }
}

/// The temperatures over the run, with those of other runs beside them and the moment that is looked at.
///
/// # Errors
/// When the picture can't be drawn, or another run can't be simulated.
pub fn plot(
    looked: &Looked,
    others: &[(String, Inputs)],
    at_s: Option<f64>,
    width: Width,
    system: System,
) -> Result<Markup, Refusal> {
    let (run, f) = (&looked.loaded.run, &looked.findings);
    let mut chart = run_picture::chart_of(run, f, system, POINTS as usize);
    // The answer above says the rest.
    chart.title = "Temperatures over the run".to_owned();
    for (number, (name, inputs)) in others.iter().enumerate() {
        let line = compared(name, number, inputs, f.outcome.station)?;
        chart.upper.lines.push(line);
    }
    chart.marks.extend(at_s.map(|at_s| Mark {
        begin_s: at_s,
        end_s: at_s,
        label: "moment".to_owned(),
        kind: MarkKind::Pause,
    }));
    Ok(chart::inline(&chart, size(width), system, "over-time")?)
}

/// The room a picture has.
const fn size(width: Width) -> Size {
    match width {
        Width::Wide => figure::size(960, 600),
        Width::Narrow => figure::size(420, 520),
    }
}

/// A study as a calculation sheet has it, without what stands on the page already.
pub fn study(content: &Content) -> Markup {
    html! {
        div .found-answer { @for sentence in &content.answer { p { (prose::words(sentence)) } } }
        @for (heading, body) in content.sections.iter().filter(|(heading, _)| *heading != "The run as understood") {
            h3 { (heading) }
            (body)
        }
        @if !content.cautions.is_empty() {
            h3 { "Cautions" }
            (prose::list(content.cautions.iter().map(|c| c.text())))
        }
    }
}

fn compared(
    name: &str,
    number: usize,
    inputs: &Inputs,
    station: StationKind,
) -> Result<Line, Refusal> {
    let run = inputs.to_run()?;
    let options = Options {
        ledgers: false,
        ..Options::default()
    };
    let chamber = Chamber::new(&run).map_err(|e| Refusal::values(e.to_string()))?;
    let simulation = chamber.simulate(IntegratorKind::Rosenbrock, &options)?;
    let end_s = simulation.trajectory.end_s();
    let at = |k: u32| end_s * f64::from(k) / f64::from(POINTS);
    let points = (0..=POINTS).map(|k| (at(k), simulation.filament_K(station, at(k)) - 273.15));
    Ok(Line {
        label: name.to_owned(),
        tail: String::new(),
        role: Role::Arrangement(number),
        points: points.collect(),
    })
}

/// The hottest moment in a few words, for the live region.
pub fn spoken(looked: &Looked, system: System) -> String {
    let o = &looked.findings.outcome;
    format!(
        "{}: {} at the {}",
        o.verdict.name(),
        format_temperature(o.peak_K, system),
        o.station.name()
    )
}

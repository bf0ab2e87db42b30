//! The pieces of the sheet that change while knobs turn, as HTML and SVG.
//!
//! Every text passes through the template's escaping; only finished SVG of the chart's own writer goes in as it is.

use super::refusal::Refusal;
use super::shop::Looked;
use super::typed::Width;
use crate::chamber::{Chamber, IntegratorKind, Simulation, StationKind};
use crate::integrate::Options;
use crate::network::Direction;
use crate::output::chart::{self, Chart, Format, Line, Role, Size};
use crate::output::report::verdict_sentence_in;
use crate::output::run_picture;
use crate::output::words::{date_and_time, hours};
use crate::quantity::{ShownMargin, System, format_difference, format_temperature};
use crate::run::{Inputs, Run};
use crate::study::{Findings, Verdict};
use maud::{Markup, PreEscaped, html};

/// Points along a line that is compared with.
const POINTS: u32 = 600;
/// Heat flows are means over so long, s: in less a heater's switching hides everything else.
const HEAT_OVER_S: f64 = 600.0;

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
    html! {
        div .answer data-verdict=(word_of(verdict)) {
            p .word { span .sign aria-hidden="true" { (sign(verdict)) } " " strong { (verdict.name()) } }
            @if verdict != Verdict::CannotRun {
                p .margin {
                    span .number { (ShownMargin::new(f.outcome.margin_K, run.requirements.margin_K, system).text()) }
                    " margin, " (format_difference(run.requirements.margin_K, system)) " required"
                }
            }
            p .sentence { (capitalised(rest)) }
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

/// What holds at a moment: filament, air, heat.
pub fn moment(looked: &Looked, at_s: f64, system: System) -> Markup {
    let (run, f) = (&looked.loaded.run, &looked.findings);
    html! {
        h3 { "At " (date_and_time(run.start, at_s)) ", " (hours(at_s / 3_600.0)) " from the start" }
        div .tables {
            (stations(run, f, at_s, system))
            (chamber(&f.simulation, at_s, system))
            (heat(&f.simulation, at_s))
        }
    }
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
                th scope="col" { "station" } th scope="col" { "now" } th scope="col" { "hottest" }
                th scope="col" { "limit" } th scope="col" { "margin" }
            } }
            tbody {
                @for s in &f.stations {
                    tr {
                        th scope="row" { (s.station.name()) }
                        td { (degrees(f.simulation.filament_K(s.station, at_s), system)) }
                        td { (degrees(s.max_K, system)) }
                        td { (degrees(s.limit_K, system)) }
                        td { (ShownMargin::new(s.limit_K - s.max_K, required_K, system).number()) }
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
            thead { tr { th scope="col" { "where" } th scope="col" { "now" } } }
            tbody {
                @for (name, point) in rows {
                    tr { th scope="row" { (name) } td { (degrees(s.temperature_K(point, at_s), system)) } }
                }
            }
        }
    }
}

fn heat(s: &Simulation, at_s: f64) -> Markup {
    let (begin, end) = (s.trajectory.begin_s(), s.trajectory.end_s());
    let from = (at_s - 0.5 * HEAT_OVER_S).clamp(begin, (end - HEAT_OVER_S).max(begin));
    let to = (from + HEAT_OVER_S).min(end);
    let n = s.trajectory.unknowns;
    let ledger = |k: usize, t: f64| {
        let (piece, x) = s.trajectory.locate(t);
        piece.value(n + k, x)
    };
    let mut rows: Vec<(String, f64)> = s
        .chamber
        .network
        .reported()
        .into_iter()
        .map(|(id, entry)| {
            let k = id.position();
            let heat_W = (ledger(k, to) - ledger(k, from)) / (to - from);
            match entry.direction {
                Direction::In => (format!("from {}", entry.name), heat_W),
                Direction::Out => (format!("out by {}", entry.name), -heat_W),
            }
        })
        .filter(|(_, heat_W)| heat_W.abs() >= 0.05)
        .collect();
    rows.sort_by(|a, b| b.1.total_cmp(&a.1));
    html! {
        table {
            caption { "Heat, W" }
            thead { tr { th scope="col" { "way" } th scope="col" { "now" } } }
            tbody {
                @for (name, heat_W) in rows {
                    tr { th scope="row" { (name) } td { (crate::quantity::format_number(heat_W, 1)) } }
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

/// The temperatures over the run, with those of other runs beside them.
///
/// # Errors
/// When the picture can't be drawn, or another run can't be simulated.
pub fn plot(
    looked: &Looked,
    others: &[(String, Inputs)],
    width: Width,
    system: System,
) -> Result<Markup, Refusal> {
    let (run, f) = (&looked.loaded.run, &looked.findings);
    let mut chart = run_picture::chart(run, f, system);
    for (number, (name, inputs)) in others.iter().enumerate() {
        chart
            .upper
            .lines
            .push(compared(name, number, inputs, f.outcome.station)?);
    }
    inline(&chart, width, system)
}

/// A chart as SVG in the page.
fn inline(chart: &Chart, width: Width, system: System) -> Result<Markup, Refusal> {
    let bytes = chart::draw(chart, Format::Svg, size(width), system)?;
    Ok(svg(bytes))
}

/// The room a picture has.
pub const fn size(width: Width) -> Size {
    match width {
        Width::Wide => Size {
            width: 900,
            height: 560,
        },
        Width::Narrow => Size {
            width: 400,
            height: 460,
        },
    }
}

/// A finished picture of this program's own writer.
pub fn svg(bytes: Vec<u8>) -> Markup {
    let text = String::from_utf8(bytes).unwrap_or_default();
    let begin = text.find("<svg").unwrap_or(0);
    PreEscaped(text[begin..].to_owned())
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

//! What the chart of a run will say: lines in the picture's units, names, ranges, small print.

use super::axis;
use super::data::{Chart, ChartError, Line, Role, drawable};
use super::time_axis;
use crate::output::font::Weight;
use crate::quantity::System;

/// Temperatures span at least this much, so that a flat line is not blown up to noise, K or °F.
const LEAST_SPAN_K: f64 = 2.0;
const LEAST_SPAN_W: f64 = 1.0;
/// Beyond so many days nights would be a mere pattern of stripes.
const NIGHTS_UP_TO_S: f64 = 62.0 * 86_400.0;

/// A line in the units of the picture.
pub struct Drawn<'a> {
    pub line: &'a Line,
    pub points: Vec<(f64, f64)>,
    /// Too far up to share a scale with the rest.
    pub off_scale: bool,
}

/// Everything a chart says, checked and ready to be placed.
pub struct Content<'a> {
    pub upper: Vec<Drawn<'a>>,
    pub lower: Vec<Drawn<'a>>,
    /// The limit and the lower end of its margin band.
    pub limit: Option<(f64, f64)>,
    pub names: Names,
    pub nights: Vec<(f64, f64)>,
    pub note: String,
    /// For screen readers.
    pub description: String,
    pub temperature_range: (f64, f64),
    pub flow_range: (f64, f64),
    /// The highest flow, where a short burst leaves the picture at the top.
    pub burst_W: Option<f64>,
}

/// Checks a chart and brings it into the picture's units.
pub fn content(chart: &Chart, units: System) -> Result<Content<'_>, ChartError> {
    check(chart)?;
    let upper = temperatures(chart, units);
    let lower: Vec<Drawn> = chart
        .flows
        .iter()
        .filter(|line| !line.points.is_empty())
        .map(|line| Drawn {
            line,
            points: line.points.clone(),
            off_scale: false,
        })
        .collect();
    if upper.is_empty() && lower.is_empty() {
        return Err(ChartError::NoData);
    }
    let limit = chart.limit.as_ref().map(|limit| {
        let value = units.temperature_of_degC(limit.limit_degC);
        (value, value - units.difference(limit.margin_K))
    });
    let nights = if chart.duration_s <= NIGHTS_UP_TO_S {
        time_axis::nights(chart.start, chart.duration_s)
    } else {
        Vec::new()
    };
    let burst_W = burst(&lower);
    let usual = lower
        .iter()
        .map(|d| usual_highest(&d.points))
        .fold(0.0, f64::max);
    let highest = if burst_W.is_some() {
        1.15 * usual
    } else {
        f64::INFINITY
    };
    let flows: Vec<f64> = values(&lower)
        .map(|v| v.min(highest))
        .chain([0.0])
        .collect();
    Ok(Content {
        limit,
        names: names(chart, &upper, &lower, units),
        note: note(chart, !nights.is_empty()),
        nights,
        description: description(chart),
        temperature_range: temperature_range(&upper, limit),
        flow_range: axis::range(flows.into_iter(), LEAST_SPAN_W).unwrap_or((0.0, 1.0)),
        burst_W,
        upper,
        lower,
    })
}

/// Share of a line's points that a burst may take: the bed's full power while it heats up is over
/// in minutes, and would flatten days of everything else.
const BURST_SHARE: f64 = 0.02;

/// What a line stays below but for its bursts.
fn usual_highest(points: &[(f64, f64)]) -> f64 {
    let mut sorted: Vec<f64> = points.iter().map(|p| p.1).collect();
    sorted.sort_by(f64::total_cmp);
    let kept = (sorted.len() as f64 * (1.0 - BURST_SHARE)) as usize;
    sorted
        .get(kept.min(sorted.len().saturating_sub(1)))
        .copied()
        .unwrap_or(0.0)
}

/// The highest flow, if it is a burst far above what is usual.
fn burst(lines: &[Drawn]) -> Option<f64> {
    let usual = lines
        .iter()
        .map(|d| usual_highest(&d.points))
        .fold(0.0, f64::max);
    let highest = values(lines).fold(0.0, f64::max);
    (usual > 0.0 && highest > 2.0 * usual).then_some(highest)
}

fn check(chart: &Chart) -> Result<(), ChartError> {
    let duration_s = chart.duration_s;
    if !(drawable(duration_s) && duration_s >= 1.0)
        || time_axis::moment(chart.start, duration_s).is_none()
    {
        return Err(ChartError::Duration(duration_s));
    }
    for line in chart.temperatures.iter().chain(&chart.flows) {
        if line.points.iter().any(|p| !drawable(p.0) || !drawable(p.1)) {
            return Err(ChartError::NotFinite(line.label.clone()));
        }
        if line.points.windows(2).any(|pair| pair[1].0 < pair[0].0) {
            return Err(ChartError::OutOfOrder(line.label.clone()));
        }
    }
    if let Some(limit) = &chart.limit {
        if !drawable(limit.limit_degC) || !drawable(limit.margin_K) {
            return Err(ChartError::NotFinite(limit.label.clone()));
        }
        if limit.margin_K < 0.0 {
            return Err(ChartError::Margin(limit.margin_K));
        }
    }
    for mark in &chart.marks {
        if !drawable(mark.begin_s) || !drawable(mark.end_s) {
            return Err(ChartError::NotFinite(mark.label.clone()));
        }
        if mark.end_s < mark.begin_s {
            return Err(ChartError::MarkBackwards(mark.label.clone()));
        }
    }
    match &chart.hottest {
        Some(hottest) if !drawable(hottest.at_s) || !drawable(hottest.degC) => {
            Err(ChartError::NotFinite(hottest.label.clone()))
        }
        _ => Ok(()),
    }
}

/// For screen readers: what the picture shows, in words.
fn description(chart: &Chart) -> String {
    let mut text = format!("{}. Lines over time:", chart.subtitle.trim_end_matches('.'));
    let lines = chart.temperatures.iter().chain(&chart.flows);
    for (position, line) in lines.enumerate() {
        text.push_str(if position == 0 { " " } else { ", " });
        text.push_str(&line.label);
    }
    if let Some(hottest) = &chart.hottest {
        let when = time_axis::moment_text(chart.start, hottest.at_s);
        let degC = axis::number(hottest.degC, 1);
        text.push_str(&format!(". Hottest: {} {degC} °C, {when}", hottest.label));
    }
    text.push('.');
    text
}

fn note(chart: &Chart, nights: bool) -> String {
    let first = chart.start.year();
    let last = time_axis::moment(chart.start, chart.duration_s).map_or(first, |end| end.year());
    let mut note = if first == last {
        format!("Local time, {first}.")
    } else {
        format!("Local time, {first} to {last}.")
    };
    if nights {
        note.push_str(" Shaded: night, 20:00 to 06:00.");
    }
    if !chart.note.is_empty() {
        note.push(' ');
        note.push_str(&chart.note);
    }
    note
}

/// The lines of the upper panel. A nozzle some 200 K above the rest would press them all flat: it is
/// named at the top edge instead.
fn temperatures(chart: &Chart, units: System) -> Vec<Drawn<'_>> {
    let others = axis::range(
        chart
            .temperatures
            .iter()
            .filter(|line| line.role != Role::Nozzle)
            .flat_map(|line| line.points.iter().map(|point| point.1))
            .chain(chart.limit.iter().map(|limit| limit.limit_degC)),
        20.0,
    );
    chart
        .temperatures
        .iter()
        .filter(|line| !line.points.is_empty())
        .map(|line| {
            let highest = line.points.iter().map(|p| p.1).fold(f64::MIN, f64::max);
            Drawn {
                line,
                points: line
                    .points
                    .iter()
                    .map(|&(s, degC)| (s, units.temperature_of_degC(degC)))
                    .collect(),
                off_scale: line.role == Role::Nozzle
                    && others.is_some_and(|(low, high)| highest > high + (high - low)),
            }
        })
        .collect()
}

fn values<'a>(lines: &'a [Drawn<'a>]) -> impl Iterator<Item = f64> + 'a {
    lines
        .iter()
        .filter(|line| !line.off_scale)
        .flat_map(|line| line.points.iter().map(|point| point.1))
}

fn temperature_range(lines: &[Drawn], limit: Option<(f64, f64)>) -> (f64, f64) {
    let limits = limit.into_iter().flat_map(|(value, low)| [value, low]);
    axis::range(values(lines).chain(limits), LEAST_SPAN_K).unwrap_or((0.0, 1.0))
}

/// Everything that will be written at the right edge.
pub struct Names {
    pub upper: Vec<String>,
    pub lower: Vec<String>,
    /// Name of the limit, and of the margin if there is one.
    pub limit: Option<(String, Option<String>)>,
    /// All of them with their weight, to measure the widest.
    pub all: Vec<(String, Weight)>,
}

/// The line that decides is written in bold.
pub fn weight(role: Role) -> Weight {
    if role == Role::DriveGear {
        Weight::Semibold
    } else {
        Weight::Regular
    }
}

fn names(chart: &Chart, upper: &[Drawn], lower: &[Drawn], units: System) -> Names {
    let name = |drawn: &Drawn| {
        if drawn.off_scale {
            let highest = drawn.points.iter().map(|p| p.1).fold(f64::MIN, f64::max);
            let unit = units.temperature_unit();
            format!(
                "{} to {} {unit} ↑",
                drawn.line.label,
                axis::number(highest, 0)
            )
        } else {
            drawn.line.label.clone()
        }
    };
    let limit = chart.limit.as_ref().map(|limit| {
        let value = axis::number(units.temperature_of_degC(limit.limit_degC), 1);
        let margin = axis::number(units.difference(limit.margin_K), 1);
        (
            format!("{} {value} {}", limit.label, units.temperature_unit()),
            (limit.margin_K > 0.0).then(|| format!("margin {margin} {}", units.difference_unit())),
        )
    });
    let upper_names: Vec<String> = upper.iter().map(name).collect();
    let lower_names: Vec<String> = lower.iter().map(name).collect();
    let mut all: Vec<(String, Weight)> = upper
        .iter()
        .zip(&upper_names)
        .chain(lower.iter().zip(&lower_names))
        .map(|(drawn, name)| (name.clone(), weight(drawn.line.role)))
        .collect();
    if let Some((value, margin)) = &limit {
        all.push((value.clone(), Weight::Semibold));
        all.extend(margin.iter().map(|text| (text.clone(), Weight::Regular)));
    }
    Names {
        upper: upper_names,
        lower: lower_names,
        limit,
        all,
    }
}

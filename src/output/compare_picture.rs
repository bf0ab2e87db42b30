//! The picture of a comparison: the hottest filament of every arrangement over time, against the
//! limit.

use super::chart::{Chart, ChartError, Format, Hottest, Limit, Line, Role, Size, draw_comparison};
use super::compare::break_even_sentence;
use super::words::{date_and_time, hours};
use crate::chamber::{Simulation, StationKind};
use crate::quantity::System;
use crate::study::compare::Row;

/// Points along each line; the chart thins them to what its pixels can show.
const POINTS: usize = 1500;

/// Draws a comparison.
///
/// # Errors
/// See [`ChartError`].
pub fn draw(
    rows: &[Row],
    format: Format,
    size: Size,
    system: System,
) -> Result<Vec<u8>, ChartError> {
    let Some(chart) = chart(rows, system) else {
        return Err(ChartError::NoData);
    };
    draw_comparison(&chart, format, size, system)
}

/// The chart; none without rows.
fn chart(rows: &[Row], system: System) -> Option<Chart> {
    let first = rows.first()?;
    // Variants may be longer or have other limits; the axis takes the longest, and a limit is
    // drawn only where all share it.
    let duration_s = rows.iter().map(|r| r.run.duration_s).fold(0.0, f64::max);
    let o = &first.findings.outcome;
    let limit_K = o.limit_K;
    let is_shared = rows.iter().all(|r| {
        r.findings.limit_K == first.findings.limit_K
            && r.run.requirements.margin_K == first.run.requirements.margin_K
    });
    let same_start = rows.iter().all(|r| r.run.start == first.run.start);
    Some(Chart {
        title: break_even_sentence(first, system),
        subtitle: format!(
            "{} · {} · {} · hottest filament along the feed path",
            first.run.name, first.run.machine.name, first.run.material.name
        ),
        start: first.run.start,
        duration_s,
        temperatures: rows
            .iter()
            .enumerate()
            .map(|(k, r)| line(k, r, is_shared.then_some(limit_K)))
            .chain(std::iter::once(room(first)))
            .collect(),
        limit: is_shared.then(|| Limit {
            limit_degC: limit_K - 273.15,
            margin_K: first.run.requirements.margin_K,
            label: "softening limit".to_owned(),
        }),
        flows: Vec::new(),
        marks: Vec::new(),
        hottest: Some(Hottest {
            at_s: o.peak_at_s,
            degC: o.peak_K - 273.15,
            label: format!("{}, {}", first.name, o.station.name()),
        }),
        note: format!(
            "{} from {}{}. An estimate, not a permit: measure the first run.",
            hours(first.run.duration_s / 3600.0),
            date_and_time(first.run.start, 0.0),
            if same_start {
                ""
            } else {
                "; other starts are laid over the first"
            }
        ),
    })
}

/// Values at even steps over a run.
fn points(s: &Simulation, value_K: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let (begin, end) = (s.trajectory.begin_s(), s.trajectory.end_s());
    (0..=POINTS)
        .map(|k| (begin + (end - begin) * k as f64 / POINTS as f64).min(end))
        .map(|t_s| (t_s, value_K(t_s) - 273.15))
        .collect()
}

/// The room of the first row, to read the others against.
fn room(row: &Row) -> Line {
    let s = &row.findings.simulation;
    Line {
        label: "room".to_owned(),
        role: Role::Room,
        points: points(s, |t_s| s.temperature_K(s.chamber.points.room, t_s)),
    }
}

/// The filament that is nearest to its limit, named with what becomes of it. Stations have limits of their own:
/// where one limit is drawn, filament held to another is moved by the difference.
fn line(k: usize, row: &Row, drawn_K: Option<f64>) -> Line {
    let s = &row.findings.simulation;
    let hottest_K = |t_s: f64| {
        StationKind::ALL
            .iter()
            .map(|station| {
                let moved_K = drawn_K.map_or(0.0, |drawn| drawn - station.limit_K(&row.run));
                s.filament_K(*station, t_s) + moved_K
            })
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let mark = if row.is_allowed { "" } else { " (not allowed)" };
    Line {
        label: format!(
            "{}{mark}: {}",
            row.name,
            row.findings.outcome.verdict.name()
        ),
        role: Role::Arrangement(k),
        points: points(s, hottest_K),
    }
}

//! CSV of a run: every node and station over time, RFC 4180.

use std::io::{self, Write};

use super::csv_rows::{io_error, rows};
use super::words::{iso, moment};
use crate::chamber::{Simulation, StationKind};
use crate::run::Run;

/// What a table begins with.
pub const BEGINNING: &str = "time,elapsed_h,filament_";
/// The least time between rows, s: they are told apart by whole seconds.
pub const SHORTEST_STEP_S: f64 = 1.0;

/// The course of a run as numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Names of the columns, with their unit.
    pub names: Vec<String>,
    /// Time of each row from the start, s.
    pub elapsed_s: Vec<f64>,
    /// Temperatures in °C, column after column.
    pub values_degC: Vec<f64>,
}

/// The names of the columns of temperatures: of each station the filament that has stood there, which its limit is
/// held against, and the filament on steady feed; then every node.
fn names(s: &Simulation) -> Vec<String> {
    let stations = StationKind::ALL.iter();
    let standing = stations.clone().map(|k| column("filament", k.name()));
    let moving = stations.map(|k| column("filament", &format!("{} moving", k.name())));
    let nodes = s.chamber.network.names().map(|n| column("", n));
    standing.chain(moving).chain(nodes).collect()
}

/// The times of the rows: even steps of `every_s`, at least [`SHORTEST_STEP_S`], and the end.
fn times_s(s: &Simulation, every_s: f64) -> impl ExactSizeIterator<Item = f64> {
    let every_s = every_s.max(SHORTEST_STEP_S);
    let end = s.trajectory.end_s();
    let last = (end / every_s * (1.0 - 1e-12)).ceil() as usize;
    (0..last + 1).map(move |k| (k as f64 * every_s).min(end))
}

/// What stands in the columns at a time, K.
fn temperatures_K(s: &Simulation, t: f64) -> impl Iterator<Item = f64> {
    let stations = StationKind::ALL.iter();
    let standing = stations.clone().map(move |k| s.filament_K(*k, t));
    let moving = stations.map(move |k| s.moving_K(*k, t));
    let (piece, x) = s.trajectory.locate(t);
    let points = 0..s.chamber.network.points();
    standing
        .chain(moving)
        .chain(points.map(move |p| s.point_at(piece, x, p)))
}

/// The course of a run: the columns of [`check`] without the date, at the same times, nothing rounded.
#[must_use]
pub fn course(s: &Simulation, every_s: f64) -> Course {
    let names = names(s);
    let elapsed_s: Vec<f64> = times_s(s, every_s).collect();
    let mut values_degC = vec![0.0; names.len() * elapsed_s.len()];
    for (row, t) in elapsed_s.iter().enumerate() {
        for (column, K) in temperatures_K(s, *t).enumerate() {
            values_degC[column * elapsed_s.len() + row] = K - 273.15;
        }
    }
    Course {
        names,
        elapsed_s,
        values_degC,
    }
}

/// The course of a run: of each station the filament that has stood there, which its limit is held against,
/// and the filament on steady feed; then every node. At even steps of `every_s` (at least
/// [`SHORTEST_STEP_S`]), with the end as last row. Rows are written one by one: nothing is gathered.
///
/// # Errors
/// When they can't be written.
pub fn check(run: &Run, s: &Simulation, every_s: f64, to: &mut dyn Write) -> io::Result<()> {
    let mut w = rows(to);
    let mut header = vec!["time".to_owned(), "elapsed_h".to_owned()];
    header.extend(names(s));
    w.write_record(&header).map_err(io_error)?;
    for t in times_s(s, every_s) {
        let mut row = vec![iso(moment(run.start, t)), format!("{:.4}", t / 3600.0)];
        row.extend(temperatures_K(s, t).map(degC));
        w.write_record(&row).map_err(io_error)?;
    }
    w.flush()
}

fn column(prefix: &str, name: &str) -> String {
    let name = name.replace(' ', "_");
    if prefix.is_empty() {
        format!("{name}_degC")
    } else {
        format!("{prefix}_{name}_degC")
    }
}

fn degC(K: f64) -> String {
    format!("{:.3}", K - 273.15)
}

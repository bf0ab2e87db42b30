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

/// The course of a run: of each station the filament that has stood there, which its limit is held against,
/// and the filament on steady feed; then every node. At even steps of `every_s` (at least
/// [`SHORTEST_STEP_S`]), with the end as last row. Rows are written one by one: nothing is gathered.
///
/// # Errors
/// When they can't be written.
pub fn check(run: &Run, s: &Simulation, every_s: f64, to: &mut dyn Write) -> io::Result<()> {
    let mut w = rows(to);
    let every_s = every_s.max(SHORTEST_STEP_S);
    let network = &s.chamber.network;
    let mut header = vec!["time".to_owned(), "elapsed_h".to_owned()];
    header.extend(
        StationKind::ALL
            .iter()
            .map(|k| column("filament", k.name())),
    );
    let moving = |k: &StationKind| column("filament", &format!("{} moving", k.name()));
    header.extend(StationKind::ALL.iter().map(moving));
    header.extend(network.names().map(|n| column("", n)));
    w.write_record(&header).map_err(io_error)?;
    let end = s.trajectory.end_s();
    let last = (end / every_s * (1.0 - 1e-12)).ceil() as u64;
    for k in 0..=last {
        let t = (k as f64 * every_s).min(end);
        let mut row = vec![iso(moment(run.start, t)), format!("{:.4}", t / 3600.0)];
        row.extend(StationKind::ALL.iter().map(|k| degC(s.filament_K(*k, t))));
        row.extend(StationKind::ALL.iter().map(|k| degC(s.moving_K(*k, t))));
        let (piece, x) = s.trajectory.locate(t);
        row.extend((0..network.points()).map(|p| degC(s.point_at(piece, x, p))));
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

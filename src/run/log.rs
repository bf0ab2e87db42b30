//! What thermometers showed during a run, row by row.

use super::switched::Switched;

/// What thermometers showed during a run, row by row, on the run's clock.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// The file, as messages name it.
    pub name: String,
    /// One a place that was measured, in the order of the file.
    pub columns: Vec<LogColumn>,
    /// The room's air where a column has it: (s from the start of the run, K), increasing. It may begin before the
    /// run (negative s).
    pub room: Vec<(f64, f64)>,
    /// What columns say was done at the machine.
    pub switched: Vec<Switched>,
    /// What columns say that the bed's heater took.
    pub powers: Vec<LogPower>,
}

impl Log {
    /// The last row of any thermometer, the room's too, or of what the bed took, s.
    #[must_use]
    pub fn newest_s(logs: &[Self]) -> Option<f64> {
        let each = logs.iter().flat_map(|log| {
            let columns = log.columns.iter().map(|column| &column.rows);
            let shown = columns.chain([&log.room]).filter_map(|rows| rows.last());
            let took = log.powers.iter().filter_map(|power| power.rows.last());
            shown.map(|row| row.0).chain(took.map(|mean| mean.to_s))
        });
        each.reduce(f64::max)
    }
}

/// What the bed's heater took.
#[derive(Debug, Clone, PartialEq)]
pub struct LogPower {
    /// The column's header.
    pub header: String,
    /// How far off all of it may be, W: one in forty further off on either side. None: a share of what is shown.
    pub within_W: Option<f64>,
    /// Means over windows, in order.
    pub rows: Vec<MeanPower>,
}

/// A mean power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanPower {
    /// Begin of the time, s from the start of the run.
    pub from_s: f64,
    /// Its end, s.
    pub to_s: f64,
    /// The mean, W.
    pub power_W: f64,
}

/// What one thermometer showed.
#[derive(Debug, Clone, PartialEq)]
pub struct LogColumn {
    /// The column's header.
    pub header: String,
    /// The place, in the words of the machine ("feeder motor").
    pub sensor: String,
    /// How far off the thermometer may be altogether, K: one in forty further off on either side.
    /// [`Reading::WITHIN_K`](super::Reading::WITHIN_K) where nobody says.
    pub within_K: f64,
    /// (s from the start of the run, K), increasing; rows with a mark for "no value" are simply not there.
    pub rows: Vec<(f64, f64)>,
}

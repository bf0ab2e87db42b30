//! Probes that came off on the way: a sudden drop to the room's temperature, to stay there.
//!
//! Rows of a probe that hangs beside the machine teach a cool machine, which is the dangerous side; rows that are left
//! out in error teach a little less. So what looks like it is left out, and told.

use super::places::Holds;
use super::probes::counted;
use super::rows::{Column, Rows};
use super::units::room_K;
use crate::quantity::Quantity;
use crate::run::{Phase, Run};
use crate::weather::understood::stamp;

/// A probe alone takes its surroundings' temperature within so long, s; nothing it was fixed to does.
const SUDDEN_S: f64 = 600.0;
/// So long it must stay there, s.
const STAYS_S: f64 = 1_800.0;
/// So far back what it showed before is looked at, s.
const BEFORE_S: f64 = 2_400.0;
/// So near to the room it then is, K: by the room's own column, and by the run file.
const NEAR_K: f64 = 4.0;
const NEAR_RUN_FILE_K: f64 = 6.0;
/// And it had been so many times further above it.
const HIGH: f64 = 3.0;
/// An earlier row that still shows so much of that stands before the fall.
const STILL: f64 = 0.7;
/// What else falls by half has not come off: something was opened, or the power was cut.
const FALLS: f64 = 0.5;

/// Leaves out what a probe shows that came off.
pub(super) fn without(rows: &mut Rows, run: &Run, note: &mut dyn FnMut(String)) {
    let room = Room::of(rows, run);
    // All are judged by all rows before any is cut.
    let fallen: Vec<Option<Fall>> = (0..rows.columns.len())
        .map(|at| fall(rows, at, &room, run))
        .collect();
    for (at, fall) in fallen.into_iter().enumerate() {
        let Some(fall) = fall else { continue };
        let column = &rows.columns[at];
        let said = |kelvin: f64| Quantity::Temperature.to_text(kelvin, column.unit.symbol);
        let (_, last_K) = column.rows[fall.row - 1];
        note(format!(
            "from {} on {} shows nearly the room's temperature, {} after {}, while {}: its probe seems to have come off; {} left out",
            stamp(rows.time(column.rows[fall.row].0)),
            column.words(),
            said(fall.low_K),
            said(last_K),
            if fall.has_others {
                "others show no such fall"
            } else {
                "nothing changes in the run"
            },
            counted(column.rows.len() - fall.row)
        ));
        rows.columns[at].rows.truncate(fall.row);
    }
}

/// Where a probe came off.
struct Fall {
    /// The first row after it.
    row: usize,
    /// What it shows then, K.
    low_K: f64,
    /// Whether other columns were looked at.
    has_others: bool,
}

fn fall(rows: &Rows, at: usize, room: &Room<'_>, run: &Run) -> Option<Fall> {
    let column = &rows.columns[at];
    if column.holds == Holds::Room {
        return None;
    }
    let above = |row: &(f64, f64)| row.1 - room.at_K(row.0);
    let low = column
        .rows
        .iter()
        .rposition(|row| above(row) > room.near_K())?
        + 1;
    let (low_s, low_K) = *column.rows.get(low)?;
    let (last_s, _) = *column.rows.last()?;
    if last_s - low_s < STAYS_S {
        return None;
    }
    let sudden_s = SUDDEN_S.max(2.0 * rows.usual_s());
    let (begin_s, before_s) = (low_s - sudden_s, low_s - sudden_s - BEFORE_S);
    let high_K = mean_above(column, room, (before_s, begin_s))?;
    if high_K < HIGH * room.near_K() {
        return None;
    }
    let still = column.rows[..low]
        .iter()
        .rposition(|row| above(row) > STILL * high_K)?;
    if column.rows[still].0 < begin_s || is_changed(run, (begin_s, low_s)) {
        return None;
    }
    let others = rows.columns.iter().enumerate().filter(|(other, column)| {
        *other != at && column.holds != Holds::Room && !column.rows.is_empty()
    });
    let (mut all, mut falling) = (0, 0);
    for (_, other) in others {
        let before_K = mean_above(other, room, (before_s, begin_s));
        let after_K = mean_above(other, room, (low_s, low_s + STAYS_S));
        let (Some(before_K), Some(after_K)) = (before_K, after_K) else {
            continue;
        };
        if before_K > room.near_K() {
            all += 1;
            falling += usize::from(after_K < FALLS * before_K);
        }
    }
    (2 * falling <= all && (all == 0 || falling < all)).then_some(Fall {
        row: still + 1,
        low_K,
        has_others: all > 0,
    })
}

/// How far above the room a column is on average between two times, K.
fn mean_above(column: &Column, room: &Room<'_>, (from_s, to_s): (f64, f64)) -> Option<f64> {
    let from = column.rows.partition_point(|row| row.0 < from_s);
    let to = column.rows.partition_point(|row| row.0 <= to_s);
    let part = column.rows.get(from..to).filter(|part| !part.is_empty())?;
    let sum: f64 = part.iter().map(|row| row.1 - room.at_K(row.0)).sum();
    #[expect(clippy::cast_precision_loss, reason = "a count of rows")]
    let mean = sum / part.len() as f64;
    Some(mean)
}

/// Whether the run itself has something change near that time: another phase, something opened or switched.
pub(super) fn is_changed(run: &Run, (from_s, to_s): (f64, f64)) -> bool {
    let near = |t_s: f64| (from_s - SUDDEN_S..=to_s).contains(&t_s);
    let is_other = |pair: &[Phase]| {
        let of = |phase: &Phase| (phase.bed_K, phase.nozzle_K, phase.chamber_K, phase.powered);
        near(pair[1].begin_s) && of(&pair[0]) != of(&pair[1])
    };
    let scheduled = run
        .schedule
        .iter()
        .any(|s| near(s.begin_s) || near(s.end_s));
    scheduled || run.phases.windows(2).any(is_other)
}

/// The room's air: its own column, or what the run file says.
pub(super) struct Room<'a> {
    measured: Vec<(f64, f64)>,
    run: &'a Run,
}

impl<'a> Room<'a> {
    pub fn of(rows: &Rows, run: &'a Run) -> Self {
        let room = rows.columns.iter().find(|c| c.holds == Holds::Room);
        Self {
            measured: room.map_or_else(Vec::new, |column| column.rows.clone()),
            run,
        }
    }

    /// So near to the room something shows the room, K.
    pub fn near_K(&self) -> f64 {
        if self.measured.is_empty() {
            NEAR_RUN_FILE_K
        } else {
            NEAR_K
        }
    }

    /// The row before a time, K.
    pub fn at_K(&self, t_s: f64) -> f64 {
        let next = self.measured.partition_point(|row| row.0 <= t_s);
        let row = self.measured.get(next.saturating_sub(1));
        row.map_or_else(|| room_K(self.run, t_s), |row| row.1)
    }
}

//! Sudden jumps of one thermometer alone: a sensor's error value, or a probe that touches something.
//!
//! Jumps towards the room are left to those who look for probes that came off; and what a machine really does in a few
//! minutes is none: heaters, a lid that is closed again, a run that begins.

use super::fallen::{Room, is_changed};
use super::places::Holds;
use super::probes::counted;
use super::rows::{Column, Rows};
use super::units::{has_heater, room_K};
use crate::quantity::Quantity;
use crate::run::Run;
use crate::weather::understood::stamp;
use std::ops::Range;

/// Rows further apart may differ by anything, s.
const APART_S: f64 = 900.0;
/// A step by more is a jump, K.
const JUMP_K: f64 = 15.0;
/// So many rows that are back at once are a spike.
const SPIKE: usize = 2;
/// Another column has the same happen to it if it moves by so much of the step.
const LIKEWISE: f64 = 1.0 / 3.0;
/// It is back when so much of the step is left.
const BACK: f64 = 0.5;
/// What had been shown before, within so much, may be shown again: a lid was closed, K.
const AGAIN_K: f64 = 3.0;
/// While a machine starts, its parts may warm up so fast, s.
const STARTS_S: f64 = 1_800.0;
/// What many digital sensors hold before their first measurement, 85 °C, and all that a unit's rounding makes of it, K.
const POWER_ON_K: f64 = 273.15 + 85.0;
const DUST_K: f64 = 1e-6;
/// So many jumps of a column are told by their times.
const TOLD: usize = 3;

/// Leaves out what lies between a jump and the way back, or the end.
pub(super) fn without(rows: &mut Rows, run: &Run, note: &mut dyn FnMut(String)) {
    let room = Room::of(rows, run);
    // All are judged by all rows before any is cut.
    let jumps: Vec<Vec<Range<usize>>> = (0..rows.columns.len())
        .map(|at| jumps(rows, at, &room, run))
        .collect();
    for (at, jumps) in jumps.into_iter().enumerate() {
        tell(rows, &rows.columns[at], &jumps, note);
        let shown = &mut rows.columns[at].rows;
        // From the last to the first, so that the others stay where they are.
        for jump in jumps.into_iter().rev() {
            shown.drain(jump);
        }
    }
}

/// The rows of a column that lie away from the others.
fn jumps(rows: &Rows, at: usize, room: &Room<'_>, run: &Run) -> Vec<Range<usize>> {
    let column = &rows.columns[at];
    if matches!(&column.holds, Holds::Place(place) if has_heater(place)) {
        return Vec::new();
    }
    let shown = &column.rows;
    let mut found = Vec::new();
    let mut row = 1;
    // A sensor that was just switched on has nothing before it to jump from.
    if let Some(away) = powered_on(shown) {
        found.push(0..away);
        row = away + 1;
    }
    let mut warmest_K = shown.get(row - 1).map_or(f64::NEG_INFINITY, |row| row.1);
    while row < shown.len() {
        let (before, now) = (shown[row - 1], shown[row]);
        let is_jump = is_sudden(before, now)
            && (is_power_on(before, now)
                || !(leads_to_room(column, before, now, room, run)
                    || now.1 <= warmest_K + AGAIN_K && now.1 > before.1
                    || is_true_step(rows, at, (before.0, now.0), now.1 - before.1, run)));
        if is_jump {
            let back = way_back(shown, row).unwrap_or(shown.len());
            found.push(row..back);
            row = back;
        }
        // The first row that is back follows no jump.
        warmest_K = shown.get(row).map_or(warmest_K, |row| row.1.max(warmest_K));
        row += 1;
    }
    found
}

/// How many rows at the beginning show a sensor's value before its first measurement.
fn powered_on(shown: &[(f64, f64)]) -> Option<usize> {
    let is_it = |row: &&(f64, f64)| (row.1 - POWER_ON_K).abs() < DUST_K;
    let away = shown.iter().take_while(is_it).count();
    let (last, next) = (shown.get(away.checked_sub(1)?)?, shown.get(away)?);
    is_sudden(*last, *next).then_some(away)
}

fn is_sudden(before: (f64, f64), now: (f64, f64)) -> bool {
    now.0 - before.0 <= APART_S && (now.1 - before.1).abs() > JUMP_K
}

/// A jump to that value is an error whatever else happens: nothing stops there to the last digit.
fn is_power_on(before: (f64, f64), now: (f64, f64)) -> bool {
    now.1 > before.1 && (now.1 - POWER_ON_K).abs() < DUST_K
}

/// Whether a step leads to the room's temperature, and not much beyond it. The room itself is held against the run file.
fn leads_to_room(
    column: &Column,
    before: (f64, f64),
    now: (f64, f64),
    room: &Room<'_>,
    run: &Run,
) -> bool {
    let is_K = match column.holds {
        Holds::Room => room_K(run, now.0),
        Holds::Place(_) => room.at_K(now.0),
    };
    (now.1 - is_K) * (now.1 - before.1).signum() <= room.near_K()
}

/// Whether the run, or another column, says that something really happened between two times.
fn is_true_step(
    rows: &Rows,
    at: usize,
    (from_s, to_s): (f64, f64),
    step_K: f64,
    run: &Run,
) -> bool {
    let is_machine = rows.columns[at].holds != Holds::Room;
    if is_machine && ((0.0..STARTS_S).contains(&from_s) || is_changed(run, (from_s, to_s))) {
        return true;
    }
    let mut others = rows.columns.iter().enumerate();
    others.any(|(other, column)| {
        let shown_K = |t_s: f64| {
            let next = column.rows.partition_point(|row| row.0 <= t_s);
            column.rows.get(next.checked_sub(1)?).map(|row| row.1)
        };
        let moved_K = shown_K(to_s)
            .zip(shown_K(from_s))
            .map(|(to, from)| to - from);
        other != at && moved_K.is_some_and(|moved_K| moved_K / step_K >= LIKEWISE)
    })
}

/// The first row after a jump that is near what was shown before it, or that jumps the other way.
fn way_back(shown: &[(f64, f64)], row: usize) -> Option<usize> {
    let before_K = shown[row - 1].1;
    let step_K = shown[row].1 - before_K;
    let is_back = |at: &usize| {
        let (last, now) = (shown[at - 1], shown[*at]);
        let is_near = (now.1 - before_K) / step_K <= BACK;
        is_near || (is_sudden(last, now) && (now.1 - last.1) * step_K < 0.0)
    };
    (row + 1..shown.len()).find(is_back)
}

fn tell(rows: &Rows, column: &Column, jumps: &[Range<usize>], note: &mut dyn FnMut(String)) {
    let is_spike = |jump: &&Range<usize>| jump.len() <= SPIKE && jump.end < column.rows.len();
    let (spikes, stays): (Vec<_>, Vec<_>) = jumps.iter().partition(is_spike);
    let count = |jumps: &[&Range<usize>]| counted(jumps.iter().map(|jump| jump.len()).sum());
    for jump in stays.iter().take(TOLD) {
        note(told(rows, column, jump));
    }
    if let Some(more @ [_, ..]) = stays.get(TOLD..) {
        note(format!(
            "{} jumps {} times more: {} left out",
            column.words(),
            more.len(),
            count(more)
        ));
    }
    if !spikes.is_empty() {
        note(format!(
            "{}: {} that jump away and come back at once left out",
            column.words(),
            count(&spikes)
        ));
    }
}

fn told(rows: &Rows, column: &Column, jump: &Range<usize>) -> String {
    let said = |kelvin: f64| Quantity::Temperature.to_text(kelvin, column.unit.symbol);
    let (from_s, shown_K) = column.rows[jump.start];
    let from = stamp(rows.time(from_s));
    let when = match column.rows.get(jump.end) {
        Some((back_s, _)) => format!("between {from} and {}", stamp(rows.time(*back_s))),
        None => format!("from {from} on"),
    };
    let after = match jump.start.checked_sub(1) {
        Some(before) => format!(" right after {}", said(column.rows[before].1)),
        None => String::new(),
    };
    let why = if (shown_K - POWER_ON_K).abs() < DUST_K {
        "as digital sensors do that have measured nothing: is its wire loose?"
    } else {
        "and nothing else jumps like that: does its probe touch something, or is its wire loose?"
    };
    format!(
        "{when} {} shows {}{after}, {why} {} left out",
        column.words(),
        said(shown_K),
        counted(jump.len())
    )
}

//! Thermometers that show nothing: broken wires, frozen values, a single row.

use super::places::Holds;
use super::rows::{Column, Rows};
use super::units::{is_hotend, room_K, setpoints_K, warmest_K};
use crate::course::Course;
use crate::keys::problem::Problem;
use crate::quantity::{Quantity, format_count};
use crate::run::Run;
use crate::table::Mistakes;
use crate::weather::understood::stamp;

const ZERO_C: f64 = 273.15;
/// Above this nothing is but a nozzle, K: a broken thermocouple often shows its scale's end.
const HOTTEST_K: f64 = ZERO_C + 500.0;
/// Above this no nozzle is, K.
const HOTTEST_NOZZLE_K: f64 = ZERO_C + 600.0;
/// Below this no shop is, K: a broken sensor often shows the other end.
const COLDEST_K: f64 = ZERO_C - 40.0;
/// So many such rows at the end are a wire that is broken for good.
const STAYS: usize = 3;
/// A value that does not move for longer than this is a frozen one, s.
const FROZEN_S: f64 = 3_600.0;
/// A heater holds its own thermometer so near to its setpoint, K.
const HELD_K: f64 = 1.0;

/// Leaves out what a broken wire shows.
pub(super) fn without_open(rows: &mut Rows, run: &Run, note: &mut dyn FnMut(String)) {
    let mut told = Vec::new();
    for column in &mut rows.columns {
        let range_K = plausible_K(&column.holds, run);
        let is_open = |row: &(f64, f64)| !range_K.contains(&row.1);
        let all = column.rows.iter().filter(|row| is_open(row)).count();
        if all == 0 || all == column.rows.len() {
            continue;
        }
        let at_end = column
            .rows
            .iter()
            .rev()
            .take_while(|row| is_open(row))
            .count();
        let unit = column.unit.symbol;
        let said = |kelvin: f64| Quantity::Temperature.to_text(kelvin, unit);
        let mut spikes = all;
        if at_end >= STAYS {
            spikes -= at_end;
            let (from_s, shown_K) = column.rows[column.rows.len() - at_end];
            told.push((
                Some(from_s),
                format!(
                    "{} shows {}, as a broken wire does, and so to the end: {} left out",
                    column.words(),
                    said(shown_K),
                    counted(at_end)
                ),
            ));
        }
        if spikes > 0 {
            told.push((
                None,
                format!(
                    "{}: {} above {} or below {} left out",
                    column.words(),
                    counted(spikes),
                    said(*range_K.end()),
                    said(*range_K.start())
                ),
            ));
        }
        column.rows.retain(|row| !is_open(row));
    }
    for (from_s, text) in told {
        note(match from_s {
            Some(from_s) => format!("from {} on {text}", stamp(rows.time(from_s))),
            None => text,
        });
    }
}

/// Reports columns that teach nothing, or wrong things.
pub(super) fn check(
    rows: &Rows,
    name: &str,
    run: &Run,
    at_header: &dyn Fn(usize, String) -> Problem,
    note: &mut dyn FnMut(String),
    mistakes: &mut Mistakes,
) {
    let has_columns = !rows.columns.is_empty();
    if has_columns && rows.columns.iter().all(|column| column.rows.is_empty()) {
        let message = "no column of this log has a value during the run";
        let help = "name a log of thermometers that were connected";
        mistakes.push(Problem::in_file(name, message).help(help));
        return;
    }
    for column in &rows.columns {
        let without = format!(
            "to leave the column out, --column \"{} = nothing\"",
            column.header
        );
        let range_K = plausible_K(&column.holds, run);
        match column.rows[..] {
            [] => note(format!(
                "{} has no value during the run, and is left out",
                column.words()
            )),
            [only] => mistakes.push(single(rows, column, only, at_header, &without)),
            _ if column.rows.iter().all(|row| !range_K.contains(&row.1)) => {
                let unit = column.unit.symbol;
                let said = |kelvin: f64| Quantity::Temperature.to_text(kelvin, unit);
                let message = format!(
                    "no value of {} lies between {} and {}",
                    column.words(),
                    said(*range_K.start()),
                    said(*range_K.end())
                );
                let help = format!("is it a temperature, in {unit}? {without}");
                mistakes.push(at_header(column.at, message).help(help));
            }
            [(first_s, shown_K), .., (last_s, _)] if is_frozen(column, run) => {
                let message = format!(
                    "{} never changes: {} from {} to {}",
                    column.words(),
                    Quantity::Temperature.to_text(shown_K, column.unit.symbol),
                    stamp(rows.time(first_s)),
                    stamp(rows.time(last_s))
                );
                let help = format!("is the probe connected? {without}");
                mistakes.push(at_header(column.at, message).help(help));
            }
            _ => {}
        }
    }
}

fn single(
    rows: &Rows,
    column: &Column,
    (at_s, shown_K): (f64, f64),
    at_header: &dyn Fn(usize, String) -> Problem,
    without: &str,
) -> Problem {
    let message = format!("{} has a single value during the run", column.words());
    let help = match &column.holds {
        Holds::Room => without.to_owned(),
        Holds::Place(place) => format!(
            "give it as a reading instead, --reading \"{place} = {} at {}\", and {without}",
            Quantity::Temperature.to_text(shown_K, column.unit.symbol),
            stamp(rows.time(at_s))
        ),
    };
    at_header(column.at, message).help(help)
}

/// Whether all values are the same for so long that no thermometer does it.
fn is_frozen(column: &Column, run: &Run) -> bool {
    let (Some((first_s, shown_K)), Some((last_s, _))) = (column.rows.first(), column.rows.last())
    else {
        return false;
    };
    let same = column.rows.iter().all(|(_, other_K)| other_K == shown_K);
    same && last_s - first_s > FROZEN_S && !may_stay(&column.holds, (*first_s, *shown_K), run)
}

/// Whether a working thermometer there may show this for hours: its heater holds it, or the run file has the room as
/// one temperature.
pub(super) fn may_stay(holds: &Holds, (at_s, shown_K): (f64, f64), run: &Run) -> bool {
    match holds {
        Holds::Room => {
            let is_one = matches!(run.room.weather, Course::Constant(_));
            is_one && (room_K(run, at_s) - shown_K).abs() <= 2.0 * HELD_K
        }
        Holds::Place(place) => {
            let held = |setpoint_K: f64| (setpoint_K - shown_K).abs() <= HELD_K;
            has_setpoint(place) && setpoints_K(place, run).any(held)
        }
    }
}

/// Whether a heater's own thermometer is there.
fn has_setpoint(place: &str) -> bool {
    place == "bed" || is_hotend(place) || place.starts_with("air")
}

/// What a thermometer there may show, K.
fn plausible_K(holds: &Holds, run: &Run) -> std::ops::RangeInclusive<f64> {
    let hottest_K = match holds {
        Holds::Place(place) if is_hotend(place) => {
            (warmest_K(place, run) + 60.0).clamp(HOTTEST_K, HOTTEST_NOZZLE_K)
        }
        Holds::Place(_) | Holds::Room => HOTTEST_K,
    };
    COLDEST_K..=hottest_K
}

/// "1 row", "1,204 rows".
pub(super) fn counted(rows: usize) -> String {
    match rows {
        1 => "1 row".to_owned(),
        rows => format!("{} rows", format_count(rows)),
    }
}

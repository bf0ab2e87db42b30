//! Units that can't be: degrees Fahrenheit that call themselves Celsius, kelvins that do.
//!
//! The run decides. At its start a machine has its room's temperature, unless `[initial]` says otherwise; and nothing
//! in it gets much hotter than what heats it. A column that breaks this, and would keep it in just one other
//! unit, is refused; a single one too, where others keep it. A chamber that was hot at the start is not: there places
//! differ, and the room's own column fits.

use super::places::Holds;
use super::rows::{Column, Rows};
use crate::keys::problem::Problem;
use crate::quantity::{Quantity, Unit};
use crate::run::{Initial, Run};
use crate::table::Mistakes;

const ZERO_C: f64 = 273.15;
/// A row so long after the start still shows the start, s.
const START_S: f64 = 900.0;
/// So far from the room's temperature nothing is that has stood in it, K: weather files and rooms differ.
const FAR_K: f64 = 15.0;
/// So near it is, in the right unit, K.
const NEAR_K: f64 = 8.0;
/// By so much a room that is worked out may differ from outdoors, K.
const BUILDING_K: f64 = 10.0;
/// In the right unit, places that have stood in a room differ by so much at most, K.
const ALIKE_K: f64 = 3.0;
/// So much hotter than bed and chamber nothing gets but what has a heater of its own, K: motors may.
const ABOVE_HEATERS_K: f64 = 45.0;
/// Cooler than this no shop is, K.
const COLDEST_K: f64 = ZERO_C - 30.0;

/// Reports columns whose unit can't be the one that was said.
pub(super) fn check(
    rows: &Rows,
    run: &Run,
    at_header: &dyn Fn(usize, String) -> Problem,
    mistakes: &mut Mistakes,
) {
    let starts = starts(rows, run);
    for column in &rows.columns {
        let found = match &column.holds {
            Holds::Room => by_room(column, run),
            Holds::Place(place) => starts
                .filter(|_| !has_heater(place))
                .and_then(|unit| {
                    let (at_s, shown_K) = at_start(column)?;
                    Some((unit, begins(column, shown_K, room_K(run, at_s))))
                })
                .or_else(|| by_others(rows, column, place, run))
                .or_else(|| by_heat(column, place, run)),
        };
        if let Some((unit, why)) = found {
            mistakes.push(told(column, unit, &why, at_header));
        }
    }
}

/// The other unit in which all places have the room's temperature at the start, where none has in its own.
fn starts(rows: &Rows, run: &Run) -> Option<&'static Unit> {
    if run.initial != Initial::default() {
        return None;
    }
    let mut room = rows.columns.iter().filter(|c| c.holds == Holds::Room);
    if room.any(|column| by_room(column, run).is_none()) {
        return None;
    }
    let of_place = |column: &&Column| match &column.holds {
        Holds::Place(place) => !has_heater(place),
        Holds::Room => false,
    };
    let mut begun: Vec<(&'static Unit, f64, f64)> = Vec::new();
    for column in rows.columns.iter().filter(of_place) {
        let (at_s, shown_K) = at_start(column)?;
        begun.push((column.unit, shown_K, room_K(run, at_s)));
    }
    let (unit, ..) = *begun.first()?;
    let is_one = begun.iter().all(|(other, ..)| *other == unit);
    let far = |(_, shown_K, room_K): &(_, f64, f64)| (shown_K - room_K).abs() > far_K(run);
    (is_one && begun.iter().all(far)).then_some(())?;
    only(unit, |other| {
        let shown = begun
            .iter()
            .map(|(_, shown_K, _)| meant_K(*shown_K, unit, other));
        let (low_K, high_K) = range(shown.clone());
        let near = shown
            .zip(&begun)
            .all(|(shown_K, (_, _, room_K))| (shown_K - room_K).abs() < near_K(run));
        near && high_K - low_K < ALIKE_K
    })
}

fn begins(column: &Column, shown_K: f64, room_K: f64) -> String {
    format!(
        "begins at {} where the room is at {}",
        said(shown_K, column.unit),
        said(room_K, column.unit)
    )
}

/// One place that would have the room's temperature at the start in another unit only, while others have it in theirs.
/// Where any place is far from it in every unit, the machine was warm, and nothing is known.
fn by_others(
    rows: &Rows,
    column: &Column,
    place: &str,
    run: &Run,
) -> Option<(&'static Unit, String)> {
    if run.initial != Initial::default() || has_heater(place) {
        return None;
    }
    let mut rooms = rows.columns.iter().filter(|c| c.holds == Holds::Room);
    let measured_K = rooms.find_map(|room| {
        let (at_s, shown_K) = first_of_start(room)?;
        ((shown_K - room_K(run, at_s)).abs() <= far_K(run)).then_some(shown_K)
    });
    let (is_K, beyond_K) = match measured_K {
        Some(shown_K) => (shown_K, 0.0),
        None => (room_K(run, 0.0), beyond_K(run)),
    };
    let is_near = |shown_K: f64| (shown_K - is_K).abs() < NEAR_K + beyond_K;
    let is_far = |shown_K: f64| (shown_K - is_K).abs() > FAR_K + beyond_K;
    let meant =
        |unit: &Unit, shown_K: f64| only(unit, |other| is_near(meant_K(shown_K, unit, other)));
    let (_, shown_K) = first_of_start(column)?;
    // A sensor's very first value may be none: those that follow must say the same.
    let mut early = column.rows.iter().filter(|row| row.0.abs() <= START_S);
    if !early.all(|row| is_far(row.1)) {
        return None;
    }
    let unit = meant(column.unit, shown_K)?;
    let mut is_seen =
        measured_K.is_some_and(|shown_K| (shown_K - room_K(run, 0.0)).abs() < near_K(run));
    for other in &rows.columns {
        let is_cold = matches!(&other.holds, Holds::Place(place) if !has_heater(place));
        let Some((_, shown_K)) = first_of_start(other).filter(|_| is_cold) else {
            continue;
        };
        if is_far(shown_K) && meant(other.unit, shown_K).is_none() {
            return None;
        }
        is_seen |= is_near(shown_K);
    }
    is_seen.then(|| (unit, begins(column, shown_K, is_K)))
}

/// Of the room all rows are looked at: it is what the run file says, more or less.
fn by_room(column: &Column, run: &Run) -> Option<(&'static Unit, String)> {
    if column.rows.is_empty() {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "a count of rows")]
    let mean = |of: &dyn Fn(&(f64, f64)) -> f64| {
        column.rows.iter().map(of).sum::<f64>() / column.rows.len() as f64
    };
    let off = |shown_K: f64, at_s: f64| (shown_K - room_K(run, at_s)).abs();
    if mean(&|(t_s, shown_K)| off(*shown_K, *t_s)) <= far_K(run) {
        return None;
    }
    let unit = only(column.unit, |other| {
        mean(&|(t_s, shown_K)| off(meant_K(*shown_K, column.unit, other), *t_s)) < near_K(run)
    })?;
    let why = format!(
        "has {} on average where the run file has {}",
        said(mean(&|(_, shown_K)| *shown_K), column.unit),
        said(mean(&|(t_s, _)| room_K(run, *t_s)), column.unit)
    );
    Some((unit, why))
}

/// A place that is hotter all the time than what heats it, or colder than any shop.
fn by_heat(column: &Column, place: &str, run: &Run) -> Option<(&'static Unit, String)> {
    if column.rows.is_empty() {
        return None;
    }
    let hot_K = warmest_K(place, run) + ABOVE_HEATERS_K;
    let (low_K, high_K) = range(column.rows.iter().map(|(_, shown_K)| *shown_K));
    let why = if low_K > hot_K {
        format!(
            "is never below {}, hotter than anything in this run makes it",
            said(low_K, column.unit)
        )
    } else if high_K < COLDEST_K {
        format!("is never above {}", said(high_K, column.unit))
    } else {
        return None;
    };
    let unit = only(column.unit, |other| {
        meant_K(low_K, column.unit, other) > COLDEST_K
            && meant_K(high_K, column.unit, other) < hot_K
    })?;
    Some((unit, why))
}

fn told(
    column: &Column,
    unit: &Unit,
    why: &str,
    at_header: &dyn Fn(usize, String) -> Problem,
) -> Problem {
    let (own, other) = (column.unit.symbol, unit.symbol);
    let (header, place) = (&column.header, column.holds.name());
    let message = format!("this looks like {other}: it is said to be in {own}, and {why}");
    at_header(column.at, message).help(format!(
        "correct the unit in the header, or say it: --column \"{header} = {place} in {other}\", or unit = \"{other}\" in its [[log.column]] in the run file; if the machine really was so at the start, say so under [initial], and of its room under [room]"
    ))
}

/// The only other unit that would do.
fn only(own: &Unit, does: impl Fn(&Unit) -> bool) -> Option<&'static Unit> {
    let others = Quantity::Temperature.units().iter();
    let mut fit = others.filter(|unit| *unit != own && does(unit));
    let first = fit.next()?;
    fit.next().is_none().then_some(first)
}

/// What was shown if it was in another unit than said, K.
fn meant_K(shown_K: f64, own: &Unit, other: &Unit) -> f64 {
    other.to_si(own.from_si(shown_K))
}

fn said(kelvin: f64, unit: &Unit) -> String {
    Quantity::Temperature.to_text(kelvin, unit.symbol)
}

/// The row that shows the start.
fn at_start(column: &Column) -> Option<(f64, f64)> {
    let begun = column.rows.partition_point(|(t_s, _)| *t_s <= 0.0);
    let row = begun.saturating_sub(1);
    column
        .rows
        .get(row)
        .copied()
        .filter(|(t_s, _)| *t_s <= START_S)
}

/// The row that shows the start, where it is not one of long before.
fn first_of_start(column: &Column) -> Option<(f64, f64)> {
    at_start(column).filter(|(t_s, _)| *t_s >= -START_S)
}

/// The room as the run file has it, K.
pub(super) fn room_K(run: &Run, at_s: f64) -> f64 {
    run.room.weather.at(at_s.clamp(0.0, run.duration_s)).0
}

fn far_K(run: &Run) -> f64 {
    FAR_K + beyond_K(run)
}

fn near_K(run: &Run) -> f64 {
    NEAR_K + beyond_K(run)
}

fn beyond_K(run: &Run) -> f64 {
    run.room.building.as_ref().map_or(0.0, |_| BUILDING_K)
}

fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
        (low.min(v), high.max(v))
    })
}

/// Whether a place has a heater of its own, and may be hot before anything else is.
pub(super) fn has_heater(place: &str) -> bool {
    place.contains("bed") || is_hotend(place)
}

/// Whether it is as hot as the nozzle.
pub(super) fn is_hotend(place: &str) -> bool {
    place.contains("hotend")
}

/// The warmest setpoint that a place may follow, K.
pub(super) fn warmest_K(place: &str, run: &Run) -> f64 {
    setpoints_K(place, run).fold(ZERO_C + 60.0, f64::max)
}

/// The setpoints that a place may follow, K.
pub(super) fn setpoints_K<'a>(place: &'a str, run: &'a Run) -> impl Iterator<Item = f64> + 'a {
    let each = run.phases.iter().flat_map(move |phase| {
        let nozzles = [phase.nozzle_K, phase.second_nozzle_K];
        let others = [phase.bed_K, phase.chamber_K];
        if is_hotend(place) { nozzles } else { others }
    });
    each.flatten()
}

//! `calibrate` in text and JSON.

use serde_json::{Value, json};

use super::columns::{Column, Columns};
use super::json::{SCHEMA, rounded};
use super::screen::Screen;
use super::words::{date_and_time, iso, moment};
use crate::keys::schema::Range;
use crate::quantity::{Quantity, format_count, format_difference, format_number, plainly};
use crate::run::Run;
use crate::study::calibrate::identify::{IDENTIFIED, Pair};
use crate::study::calibrate::{Calibration, Compared, Parameter};

/// Rows of readings on a screen of 24 lines,
const READINGS: usize = 6;
/// and of values.
const VALUES: usize = 8;
/// A parameter that keeps so much of its doubt has learned nothing to speak of.
const NOTHING: f64 = 0.95;

/// The answer in a sentence.
#[must_use]
pub fn sentence(c: &Calibration, screen: Screen) -> String {
    let readings = counted(c.readings.len(), "reading");
    let off = |K| format_difference(K, screen.system);
    let sure = c.parameters.iter().filter(|p| p.is_identified()).count();
    let values = match (sure, c.parameters.len()) {
        (0, 1) => "the value fitted is not known much better than before".to_owned(),
        (0, n) => format!("none of {n} values is known much better by itself"),
        (sure, n) if sure == n => format!("{n} fitted, all known better than before"),
        (sure, n) => format!("{sure} of {n} values known better than before"),
    };
    let mut out = String::new();
    let text = format!(
        "{readings}: the model was {} off before and is {} off now (root mean square); {values}.",
        off(c.rms_before_K()),
        off(c.rms_after_K())
    );
    screen.paragraph(&mut out, &text);
    out
}

/// All that was found, on a screen; `verbose` leaves nothing out.
#[must_use]
pub fn text(run: &Run, c: &Calibration, verbose: bool, screen: Screen) -> String {
    let mut out = sentence(c, screen);
    let shown = |most: usize, all: usize| if verbose { all } else { most.min(all) };
    let readings = shown(READINGS, c.readings.len());
    out.push('\n');
    out.push_str(&readings_table(run, &c.readings[..readings], screen));
    more(&mut out, c.readings.len() - readings, "reading", screen);
    let values = shown(VALUES, c.parameters.len());
    out.push('\n');
    out.push_str(&values_table(&c.parameters[..values], screen));
    more(&mut out, c.parameters.len() - values, "value", screen);
    for warning in warnings(c) {
        screen.hanging(&mut out, "  ! ", "    ", &warning);
    }
    out
}

fn more(out: &mut String, left: usize, what: &str, screen: Screen) {
    if left > 0 {
        let text = counted(left, &format!("more {what}"));
        screen.hanging(out, "  ", "  ", &format!("{text}: --verbose"));
    }
}

/// "1 reading", "2 readings".
fn counted(count: usize, what: &str) -> String {
    let s = if count == 1 { "" } else { "s" };
    format!("{} {what}{s}", format_count(count))
}

fn readings_table(run: &Run, readings: &[Compared], screen: Screen) -> String {
    let unit = screen.system.temperature_unit();
    let degrees = |K: f64| format_number(screen.system.temperature(K), 1);
    let column = |head: &[&str], rank, of: &dyn Fn(&Compared) -> String| {
        Column::numbers(head, rank, readings.iter().map(of).collect())
    };
    let name = |r: &Compared| {
        let at = date_and_time(run.start, r.reading.at_s);
        format!("  {}, {at}", r.sensor)
    };
    Columns {
        head: format!("Reading, {unit}"),
        names: readings.iter().map(name).collect(),
        columns: vec![
            column(&["measured"], 0, &|r| degrees(r.reading.temperature_K)),
            column(&["before"], 1, &|r| degrees(r.before_K)),
            column(&["now"], 0, &|r| degrees(r.after_K)),
        ],
    }
    .text(screen.width)
}

fn values_table(parameters: &[Parameter], screen: Screen) -> String {
    let column = |head: &[&str], rank, of: &dyn Fn(&Parameter) -> String| {
        Column::numbers(head, rank, parameters.iter().map(of).collect())
    };
    Columns {
        head: "Value".to_owned(),
        names: parameters
            .iter()
            .map(|p| format!("  {}", p.input.key()))
            .collect(),
        columns: vec![
            column(&["was"], 0, &|p| short(p, p.start)),
            column(&["is"], 0, &|p| short(p, p.value)),
            column(&["19 in 20 between"], 1, &|p| {
                let range = p.input.range();
                let number = |si| plainly(number_of(&range, si));
                format!("{} and {}", number(p.low), number(p.high))
            }),
            column(&["doubt left"], 0, &|p| {
                if p.at_bound {
                    "at its limit".to_owned()
                } else {
                    format!("{:.0} %", 100.0 * p.left.min(1.0))
                }
            }),
        ],
    }
    .text(screen.width)
}

/// What whoever reads the numbers should know.
fn warnings(c: &Calibration) -> Vec<String> {
    let mut found: Vec<String> = c
        .readings
        .iter()
        .filter(|r| r.strays)
        .map(|r| {
            format!(
                "the reading of {} ({}) does not fit the others: {:.1} K off, and counted for less",
                r.sensor,
                Quantity::Temperature.to_text(r.reading.temperature_K, "degC"),
                r.after_K - r.reading.temperature_K
            )
        })
        .collect();
    if let Some(pair) = c.together.first() {
        found.push(apart(c, pair));
    }
    let nothing: Vec<&str> = c
        .parameters
        .iter()
        .filter(|p| p.left > NOTHING && !p.at_bound)
        .map(|p| p.input.key())
        .collect();
    if !nothing.is_empty() {
        found.push(format!(
            "the readings say next to nothing about {}: there the doubt stays what it was",
            listed(&nothing)
        ));
    }
    for p in c.parameters.iter().filter(|p| p.at_bound) {
        found.push(format!(
            "{} came to lie at the limit of its key, so that nobody can say how sure it is: look whether the run file describes this run",
            p.input.key()
        ));
    }
    if !c.is_settled {
        found.push("the search did not come to rest: take the values as a hint".to_owned());
    }
    found
}

fn apart(c: &Calibration, pair: &Pair) -> String {
    let key = |k: usize| c.parameters[k].input.key();
    let how = if pair.correlation < 0.0 {
        "more of one and less of the other"
    } else {
        "more of both"
    };
    let others = match c.together.len() - 1 {
        0 => String::new(),
        1 => ", nor one other pair".to_owned(),
        n => format!(", nor {n} other pairs"),
    };
    format!(
        "the readings do not tell {} and {} apart ({how} would fit as well){others}",
        key(pair.one),
        key(pair.other)
    )
}

fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [one, other] => format!("{one} and {other}"),
        [one, other, rest @ ..] => format!("{one}, {other} and {} more", rest.len()),
    }
}

fn number_of(range: &Range, si: f64) -> f64 {
    range.unit().from_si(si)
}

/// A value with as many digits as people write down.
fn short(p: &Parameter, si: f64) -> String {
    let range = p.input.range();
    let number = plainly(number_of(&range, si));
    format!("{number} {}", range.unit().symbol)
        .trim_end()
        .to_owned()
}

/// What a calibrated machine's file says of itself.
#[must_use]
pub fn notes(run: &Run, c: &Calibration) -> String {
    let fitted = c.parameters.iter().filter(|p| p.is_the_machines()).count();
    format!(
        "Fitted by dogdays calibrate to {} of the run \"{}\" of {}: {fitted} values, each with ± what is left of its doubt, and how they hang together.",
        counted(c.readings.len(), "reading"),
        run.name,
        run.start.date()
    )
}

/// One object.
#[must_use]
pub fn json(run: &Run, c: &Calibration) -> Value {
    let degC = |K: f64| rounded(K - 273.15, 4);
    json!({
        "schema": SCHEMA,
        "run": run.name,
        "machine": run.machine.name,
        "rows": c.readings.len(),
        "rms_before_K": rounded(c.rms_before_K(), 4),
        "rms_after_K": rounded(c.rms_after_K(), 4),
        "settled": c.is_settled,
        "evaluations": c.evaluations,
        "others": c.others,
        "readings": c.readings.iter().map(|r| json!({
            "sensor": r.sensor,
            "at": iso(moment(run.start, r.reading.at_s)),
            "at_h": rounded(r.reading.at_s / 3600.0, 4),
            "measured_degC": degC(r.reading.temperature_K),
            "within_K": rounded(r.reading.within_K, 4),
            "before_degC": degC(r.before_K),
            "after_degC": degC(r.after_K),
            "strays": r.strays,
        })).collect::<Vec<_>>(),
        "parameters": c.parameters.iter().map(parameter).collect::<Vec<_>>(),
        "not_told_apart": c.together.iter().map(|pair| json!({
            "parameters": [
                c.parameters[pair.one].input.key(),
                c.parameters[pair.other].input.key(),
            ],
            "correlation": rounded(pair.correlation, 4),
        })).collect::<Vec<_>>(),
        "identified_from": rounded(IDENTIFIED, 4),
    })
}

fn parameter(p: &Parameter) -> Value {
    let range = p.input.range();
    // Offsets of a unit cancel in a difference.
    let difference = |si: f64| number_of(&range, si) - number_of(&range, 0.0);
    json!({
        "name": p.input.key(),
        "unit": range.unit().symbol,
        "start": significant(number_of(&range, p.start)),
        "value": significant(number_of(&range, p.value)),
        "std": p.std.map(|std| significant(difference(std))),
        "prior_std": significant(difference(p.prior_std)),
        "low": significant(number_of(&range, p.low)),
        "high": significant(number_of(&range, p.high)),
        "doubt_left": rounded(p.left, 4),
        "identified": p.is_identified(),
        "at_bound": p.at_bound,
    })
}

/// Six digits that count: units differ too much for a fixed number of decimals.
fn significant(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return 0.0;
    }
    let step = 10_f64.powf(5.0 - value.abs().log10().floor());
    (value * step).round() / step
}

//! `calibrate` in text, JSON and pictures.

mod json;
pub(super) mod logs;
#[cfg(feature = "pictures")]
mod picture;

pub use json::json;
pub(super) use json::of_temperatures;
#[cfg(feature = "pictures")]
pub use picture::draw_logs;

#[cfg(feature = "pictures")]
pub(super) use picture::chart;

use super::columns::{Column, Columns};
use super::screen::Screen;
use super::words::date_and_time;
use crate::keys::schema::Range;
use crate::quantity::{Quantity, System, format_count, format_difference, format_number, plainly};
use crate::run::Run;
use crate::study::calibrate::identify::Pair;
use crate::study::calibrate::{Calibration, Compared, Parameter};

/// Rows of readings on a screen of 24 lines,
const READINGS: usize = 6;
/// and of values.
const VALUES: usize = 8;
/// A parameter that keeps so much of its doubt has learned nothing to speak of.
const NOTHING: f64 = 0.95;

/// More standard deviations than this from where a value was believed to be nobody expects.
const FAR: f64 = 3.0;

/// The answer in a sentence.
#[must_use]
pub fn sentence(c: &Calibration, screen: Screen) -> String {
    let readings = measured(c);
    let (before, now) = off(c, screen.system);
    let sure = c.parameters.iter().filter(|p| p.is_identified()).count();
    let values = match (sure, c.parameters.len()) {
        (0, 1) => "the value fitted is not known much better than before".to_owned(),
        (0, n) => format!("none of {n} values is known much better by itself"),
        (1, 1) => "the value fitted is known better than before".to_owned(),
        (sure, n) if sure == n => format!("all {n} values known better than before"),
        (sure, n) => format!("{sure} of {n} values known better than before"),
    };
    let mut out = String::new();
    let values = match c.is_trusted() {
        true => values,
        false => "no likely values make it fit, so don't trust them".to_owned(),
    };
    let text = format!(
        "{readings}: the model was {before} off before and is {now} off now (root mean square){}; {values}.",
        logs::held_out(c, screen.system)
    );
    screen.paragraph(&mut out, &text);
    out
}

/// All that was found, on a screen; `verbose` leaves nothing out.
#[must_use]
pub fn text(runs: &[&Run], c: &Calibration, verbose: bool, screen: Screen) -> String {
    let mut out = sentence(c, screen);
    let shown = |most: usize, all: usize| if verbose { all } else { most.min(all) };
    let readings = shown(READINGS, c.readings.len());
    if readings > 0 {
        out.push('\n');
        out.push_str(
            &readings_table(runs, &c.readings[..readings], screen.system).text(screen.width),
        );
        more(&mut out, c.readings.len() - readings, "reading", screen);
    }
    let columns = shown(logs::COLUMNS, c.columns.len());
    if columns > 0 {
        out.push('\n');
        out.push_str(&logs::table(&c.columns[..columns], screen.system).text(screen.width));
        more(&mut out, c.columns.len() - columns, "thermometer", screen);
    }
    if !c.powers.is_empty() {
        out.push('\n');
        out.push_str(&logs::powers(&c.powers).text(screen.width));
    }
    let values = shown(VALUES, c.parameters.len());
    out.push('\n');
    out.push_str(&values_table(&c.parameters[..values]).text(screen.width));
    more(&mut out, c.parameters.len() - values, "value", screen);
    for warning in warnings(c, screen.system) {
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

/// What the model was off before and is off now: of what the bed took where no thermometer was looked at.
#[must_use]
pub fn off(c: &Calibration, system: System) -> (String, String) {
    let power = c.powers.first().filter(|_| c.is_of_power_alone());
    if let Some(power) = power {
        let W = |value: f64| format!("{} W", format_number(value, 1));
        return (W(power.rms_before_W()), W(power.rms_after_W()));
    }
    let K = |value: f64| format_difference(value, system);
    (K(c.rms_before_K()), K(c.rms_after_K()))
}

/// "2 readings", "1,441 rows of 5 thermometers", or both; "144 means of what the bed's heater took" alone.
fn measured(c: &Calibration) -> String {
    let rows = c.rows() - c.readings.len();
    let thermometers = counted(c.columns.len(), "thermometer");
    let logs = format!("{} of {thermometers}", counted(rows, "row"));
    if c.is_of_power_alone() {
        let means = c.powers.iter().map(|power| power.times_s.len()).sum();
        return format!("{} of what the bed's heater took", counted(means, "mean"));
    }
    match (c.readings.len(), c.columns.len()) {
        (readings, 0) => counted(readings, "reading"),
        (0, _) => logs,
        (readings, _) => format!("{} and {logs}", counted(readings, "reading")),
    }
}

/// A value's key, and whose it is where runs have their own.
fn name_of(p: &Parameter) -> String {
    match p.session {
        Some(session) => format!("{} (run {})", p.input.key(), session + 1),
        None => p.input.key().to_owned(),
    }
}

/// "1 reading", "2 readings".
pub(super) fn counted(count: usize, what: &str) -> String {
    let s = if count == 1 { "" } else { "s" };
    format!("{} {what}{s}", format_count(count))
}

pub(super) fn readings_table(runs: &[&Run], readings: &[Compared], system: System) -> Columns {
    let unit = system.temperature_unit();
    let degrees = |K: f64| format_number(system.temperature(K), 1);
    let column = |head: &[&str], rank, of: &dyn Fn(&Compared) -> String| {
        Column::numbers(head, rank, readings.iter().map(of).collect())
    };
    let name = |r: &Compared| {
        let at = date_and_time(runs[r.session].start, r.reading.at_s);
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
}

pub(super) fn values_table(parameters: &[Parameter]) -> Columns {
    let column = |head: &[&str], rank, of: &dyn Fn(&Parameter) -> String| {
        Column::numbers(head, rank, parameters.iter().map(of).collect())
    };
    Columns {
        head: "Value".to_owned(),
        names: parameters
            .iter()
            .map(|p| format!("  {}", name_of(p)))
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
}

/// What whoever reads the numbers should know.
pub(super) fn warnings(c: &Calibration, system: System) -> Vec<String> {
    let mut found: Vec<String> = c
        .readings
        .iter()
        .filter(|r| r.strays)
        .map(|r| {
            format!(
                "the reading of {} ({}) does not fit {}: it is {} too {}, and counted for less",
                r.sensor,
                Quantity::Temperature.to_text(r.reading.temperature_K, "degC"),
                if c.readings.len() + c.columns.len() > 1 {
                    "the others"
                } else {
                    "the run"
                },
                format_difference((r.after_K - r.reading.temperature_K).abs(), system),
                if r.after_K < r.reading.temperature_K {
                    "high"
                } else {
                    "low"
                },
            )
        })
        .collect();
    if c.is_further_off() {
        found.push(
            "the model was nearer before on average: its ups and downs count more than its level, which may be the thermometers' or the model's own error, and there was little to find"
                .to_owned(),
        );
    }
    found.extend(logs::warnings(c, system));
    found.extend(far(c));
    if let Some(pair) = c.together.first() {
        found.push(apart(c, pair));
    }
    let nothing: Vec<String> = c
        .parameters
        .iter()
        .filter(|p| p.left > NOTHING && !p.at_bound)
        .map(name_of)
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
            name_of(p)
        ));
    }
    if !c.is_settled {
        found.push("the search did not come to rest: take the values as a hint".to_owned());
    }
    found
}

/// What to think of values that have moved further than anybody doubted.
fn far(c: &Calibration) -> Option<String> {
    let moved = c.parameters.iter().zip(&c.known.mean);
    let far: Vec<String> = moved
        .filter(|(_, z)| z.abs() > FAR)
        .map(|(p, _)| name_of(p))
        .collect();
    (!far.is_empty()).then(|| {
        format!(
            "{} moved further than anybody doubted: look whether places are mixed up, the clock is right, and the run file says what really happened",
            listed(&far)
        )
    })
}

fn apart(c: &Calibration, pair: &Pair) -> String {
    let key = |k: usize| name_of(&c.parameters[k]);
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
        "the readings do not tell {} and {} apart ({how} would fit as well){others}; what would: --plan",
        key(pair.one),
        key(pair.other)
    )
}

fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
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
pub fn notes(runs: &[&Run], c: &Calibration) -> String {
    let fitted = c.known().len();
    let of: Vec<String> = runs
        .iter()
        .map(|run| format!("\"{}\" of {}", run.name, run.start.date()))
        .collect();
    format!(
        "Fitted by dogdays calibrate to {} of the run {}: {fitted} values, each with ± what is left of its doubt, and how they hang together.",
        measured(c),
        of.join(" and the run ")
    )
}

//! Which column says when, and which how warm.

use super::asked::Asked;
use super::sample::{Look, Sample};
use crate::keys::problem::nearest;
use crate::quantity::{Quantity, Unit, unit_by_symbol};
use crate::table::{Line, Mistakes};

/// What says when.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TimeColumns {
    /// One column, of dates and times.
    One(usize),
    /// A column of dates and one of times of day.
    Two { date: usize, clock: usize },
    /// One column, of seconds or parts of them since 1970.
    Epoch(usize),
}

impl TimeColumns {
    /// The column by which a row is shown.
    pub const fn at(self) -> usize {
        match self {
            Self::One(at) | Self::Epoch(at) | Self::Two { date: at, .. } => at,
        }
    }

    pub const fn is(self, column: usize) -> bool {
        match self {
            Self::One(at) | Self::Epoch(at) => at == column,
            Self::Two { date, clock } => date == column || clock == column,
        }
    }
}

/// The column that says how warm it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Temperature {
    pub at: usize,
    pub unit: &'static Unit,
    /// Whether its name begins with temp, or was asked for.
    pub is_named_so: bool,
}

/// The columns that say when.
pub(super) fn time(
    header: &Line<'_>,
    names: &[String],
    asked: &Asked,
    sample: &Sample,
    mistakes: &mut Mistakes,
) -> Option<TimeColumns> {
    let date = named(header, names, asked.date.as_deref(), mistakes)?;
    let time = named(header, names, asked.time.as_deref(), mistakes)?;
    if let (Some(date), Some(clock)) = (date, time) {
        return Some(TimeColumns::Two { date, clock });
    }
    let is = |column: usize, look| sample.count(column, &[look]) > 0;
    let (_, mut moments) = sample.columns_of(&[Look::DateTime]);
    let (_, dates) = sample.columns_of(&[Look::Date]);
    let (_, clocks) = sample.columns_of(&[Look::Clock]);
    let (_, epochs) = sample.columns_of(&[Look::Epoch]);
    if let Some(date) = date {
        return match clocks[..] {
            [clock] if !is(date, Look::DateTime) => Some(TimeColumns::Two { date, clock }),
            [] => Some(TimeColumns::One(date)),
            _ => which(
                header,
                names,
                &clocks,
                "times of day",
                "time_column",
                mistakes,
            ),
        };
    }
    if let Some(time) = time {
        return if is(time, Look::Epoch) {
            Some(TimeColumns::Epoch(time))
        } else if is(time, Look::Clock) && !is(time, Look::DateTime) {
            match dates[..] {
                [date] => Some(TimeColumns::Two { date, clock: time }),
                [] => Some(TimeColumns::One(time)),
                _ => which(header, names, &dates, "dates", "date_column", mistakes),
            }
        } else {
            Some(TimeColumns::One(time))
        };
    }
    let plain = names
        .iter()
        .position(|name| name.eq_ignore_ascii_case("time"));
    if moments.len() > 1
        && let Some(plain) = plain.filter(|at| moments.contains(at))
    {
        moments = vec![plain];
    }
    match (&moments[..], &dates[..], &clocks[..], &epochs[..]) {
        ([one], ..) => Some(TimeColumns::One(*one)),
        ([], [date], [clock], _) => Some(TimeColumns::Two {
            date: *date,
            clock: *clock,
        }),
        ([], [date], [], _) => Some(TimeColumns::One(*date)),
        ([], [], [], [one]) => Some(TimeColumns::Epoch(*one)),
        ([], [], [], []) if plain.is_some() => plain.map(TimeColumns::One),
        ([], [], [], []) => {
            named(header, names, Some("time"), mistakes)?;
            None
        }
        ([], [], [_, ..], []) => {
            let message = "the rows have a time of day and no date";
            let help = "a column with dates is needed: name it in the run file, date_column = \"...\" under [room]";
            mistakes.push(header.problem_of_all(message).help(help));
            None
        }
        ([], [_, _, ..], ..) => which(header, names, &dates, "dates", "date_column", mistakes),
        ([], [_], ..) => which(
            header,
            names,
            &clocks,
            "times of day",
            "time_column",
            mistakes,
        ),
        ([], [], ..) => which(header, names, &epochs, "moments", "time_column", mistakes),
        _ => which(
            header,
            names,
            &moments,
            "dates and times",
            "time_column",
            mistakes,
        ),
    }
}

/// Asks which of several columns is meant.
fn which<T>(
    header: &Line<'_>,
    names: &[String],
    columns: &[usize],
    what: &str,
    key: &str,
    mistakes: &mut Mistakes,
) -> Option<T> {
    let found: Vec<&str> = columns
        .iter()
        .map(|at| names.get(*at).map_or("(without a name)", String::as_str))
        .collect();
    let message = format!("several columns hold {what}: {}", found.join(", "));
    let help = format!(
        "write {key} = \"{}\" (or another) under [room] in the run file",
        found[0]
    );
    mistakes.push(header.problem_of_all(message).help(help));
    None
}

/// The column of a name that was asked for; inside none where none was. None at all if there is no such column.
fn named(
    header: &Line<'_>,
    names: &[String],
    asked: Option<&str>,
    mistakes: &mut Mistakes,
) -> Option<Option<usize>> {
    let Some(name) = asked else {
        return Some(None);
    };
    if let Some(at) = names.iter().position(|n| n.eq_ignore_ascii_case(name)) {
        return Some(Some(at));
    }
    let near = nearest(name, names.iter().map(String::as_str));
    let help = near.map_or_else(
        || {
            format!(
                "its columns are {}; name the right one in the run file under [room]",
                names.join(", ")
            )
        },
        |near| format!("did you mean \"{near}\"? Name it in the run file under [room]"),
    );
    mistakes.push(
        header
            .problem_of_all(format!("there is no column \"{name}\""))
            .help(help),
    );
    None
}

/// Words in the names of temperatures that are not the air's own, or not as it was.
const NOT_AIR: [&str; 15] = [
    "dew",
    "dewpoint",
    "taupunkt",
    "wet",
    "wetbulb",
    "chill",
    "windchill",
    "feels",
    "apparent",
    "soil",
    "min",
    "minimum",
    "max",
    "maximum",
    "index",
];

/// The column that says how warm it is. `units` is the line of units below the header, where there is one.
pub(super) fn temperature(
    header: &Line<'_>,
    names: &[String],
    units: Option<&[String]>,
    asked: &Asked,
    is_time: &dyn Fn(usize) -> bool,
    mistakes: &mut Mistakes,
) -> Option<Temperature> {
    let unit_of = |at: usize| {
        let below = units
            .and_then(|units| units.get(at))
            .and_then(|cell| unit_alone(cell));
        unit_of_header(&names[at]).or(below)
    };
    let at = match named(header, names, asked.temperature.as_deref(), mistakes)? {
        Some(at) => at,
        None => only_temperature(header, names, &unit_of, is_time, mistakes)?,
    };
    let is_named_so = asked.temperature.is_some() || begins_with_temp(&names[at]);
    match (unit_of(at), asked.unit) {
        (Some(unit), Some(other)) if unit != other => {
            let message = format!(
                "the header \"{}\" says {}, but the run file {}",
                names[at], unit.symbol, other.symbol
            );
            let help = "take temperature_unit out of [room], or correct it";
            mistakes.push(header.problem(at, message).help(help));
            None
        }
        (Some(unit), _) | (None, Some(unit)) => Some(Temperature {
            at,
            unit,
            is_named_so,
        }),
        (None, None) => {
            let message = format!("the header \"{}\" does not say in which unit", names[at]);
            let help = "put the unit at its end: temperature_degC, temperature_degF or temperature_K; or write temperature_unit = \"degC\" (or degF, K) under [room]";
            mistakes.push(header.problem(at, message).help(help));
            None
        }
    }
}

fn begins_with_temp(name: &str) -> bool {
    name.get(..4)
        .is_some_and(|begin| begin.eq_ignore_ascii_case("temp"))
}

fn only_temperature(
    header: &Line<'_>,
    names: &[String],
    unit_of: &dyn Fn(usize) -> Option<&'static Unit>,
    is_time: &dyn Fn(usize) -> bool,
    mistakes: &mut Mistakes,
) -> Option<usize> {
    let others = || (0..names.len()).filter(|at| !is_time(*at));
    let lower: Vec<String> = names.iter().map(|name| name.to_lowercase()).collect();
    let is_air = |at: &usize| {
        let mut words = lower[*at].split(|c: char| !c.is_alphanumeric());
        !words.any(|word| NOT_AIR.contains(&word))
    };
    let begin = || others().filter(|at| begins_with_temp(&names[*at]));
    let choice = [
        begin().filter(is_air).collect::<Vec<_>>(),
        begin().collect(),
        others()
            .filter(|at| lower[*at].contains("temp"))
            .filter(is_air)
            .collect(),
        others()
            .filter(|at| unit_of(*at).is_some())
            .filter(is_air)
            .collect(),
    ]
    .into_iter()
    .find(|columns| !columns.is_empty());
    let problem = match choice.as_deref() {
        Some([only]) => return Some(*only),
        Some(several) => {
            let found: Vec<&str> = several.iter().map(|at| names[*at].as_str()).collect();
            let message = "several columns' headers begin with temperature or carry its unit";
            header.problem_of_all(message).help(format!(
                "write temperature_column = \"{}\" under [room] in the run file, or another of {}",
                found[0],
                found.join(", ")
            ))
        }
        None => header.problem_of_all("no column's header begins with temperature").help(format!(
            "write temperature_column = \"...\" under [room] in the run file with one of {}; or name a column temperature_degC in the file's first line",
            names.join(", ")
        )),
    };
    mistakes.push(problem);
    None
}

/// The unit in a header: `temperature_degC`, `temperature (°F)`, `T1 [K]`, `Temp, °C (inside)`.
fn unit_of_header(name: &str) -> Option<&'static Unit> {
    let parts = |c: char| matches!(c, '_' | '(' | ')' | '[' | ']' | ' ' | ',' | ';' | '/' | ':');
    let trimmed = name.trim_end_matches([')', ']']);
    let last = trimmed.rsplit(parts).next()?;
    // A header that is nothing but a unit's letter is no header with a unit; further in, a single letter may be
    // anything.
    let at_end = (last.len() < name.len()).then_some(match last {
        "c" => "C",
        "f" => "F",
        last => last,
    });
    let further_in = name.split(parts).filter(|part| part.chars().count() > 1);
    let mut units = at_end
        .into_iter()
        .chain(further_in)
        .filter_map(|part| unit_by_symbol(part, Quantity::Temperature));
    let first = units.next()?;
    units.all(|unit| unit == first).then_some(first)
}

/// The unit that a cell is, with or without brackets.
pub(super) fn unit_alone(cell: &str) -> Option<&'static Unit> {
    unit_by_symbol(
        cell.trim_matches(['(', ')', '[', ']', ' ']),
        Quantity::Temperature,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_found_in_headers() {
        for (name, symbol) in [
            ("temperature_degC", "degC"),
            ("Temperature (°F)", "degF"),
            ("Temp °C", "degC"),
            ("T1 [°C]", "degC"),
            ("T1 [K]", "K"),
            ("Temp, °C (inside)", "degC"),
            ("Temp (C)", "degC"),
            ("Celsius(°C)", "degC"),
            ("Temp ºF", "degF"),
            ("temp_c", "degC"),
            ("temp_f", "degF"),
            ("°C", "degC"),
        ] {
            let unit = unit_of_header(name).map(|unit| unit.symbol);
            assert_eq!(unit, Some(symbol), "{name}");
        }
        for name in [
            "temperature",
            "C",
            "K",
            "T K 1",
            "Temp °C (was °F)",
            "Humidity (%)",
            "",
        ] {
            assert_eq!(unit_of_header(name), None, "{name}");
        }
    }
}

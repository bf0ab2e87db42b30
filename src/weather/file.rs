//! Reads a weather series: a CSV file with local times and temperatures.

use crate::keys::csv_text::{self, Line};
use crate::keys::moment::local_date_time;
use crate::keys::problem::{Mark, Problem, Source, nearest};
use crate::quantity::{Quantity, Unit, format_duration, unit_by_symbol};
use jiff::civil::DateTime;
use std::ops::Range;
use std::sync::Arc;

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Row {
    pub time: DateTime,
    pub temperature_K: f64,
    /// Where its time stands.
    pub span: Range<usize>,
}

/// Which columns to read.
pub(crate) struct Columns<'a> {
    pub time: &'a str,
    /// None: the only one whose header begins with "temp".
    pub temperature: Option<&'a str>,
}

/// Air this cold or hot is a slip of the unit: the records on Earth are -89 and 57 °C.
const PLAUSIBLE_K: Range<f64> = 183.15..333.15;
/// The longest step that still follows a day's weather, s.
pub(crate) const LONGEST_STEP_S: f64 = 3.0 * 3_600.0;

/// The rows of a series, sorted as in the file; `None` when something is wrong, which then has
/// been reported.
pub(crate) fn read(
    source: &Arc<Source>,
    columns: &Columns<'_>,
    problems: &mut Vec<Problem>,
) -> Option<Vec<Row>> {
    let mut found = Vec::new();
    let rows = rows(source, columns, &mut found);
    if rows.is_some() && found.is_empty() {
        return rows;
    }
    csv_text::report(source, found, problems);
    None
}

fn rows(
    source: &Arc<Source>,
    columns: &Columns<'_>,
    problems: &mut Vec<Problem>,
) -> Option<Vec<Row>> {
    let if_empty = (
        "this weather series is empty",
        "its first line is time,temperature_degC and each further line an hour, such as 2026-07-13T07:00,24.5",
    );
    let (header, below) = csv_text::lines(source, if_empty, problems)?;
    let (time_at, temperature_at, unit) = columns_of(&header, columns, problems)?;
    let mut rows: Vec<Row> = Vec::new();
    for line in below {
        let time_mark = line.mark(time_at);
        let time = match line.cell(time_at) {
            None | Some("") => Err("the time is missing".to_owned()),
            Some(text) => local_date_time(text),
        };
        let value_mark = line.mark(temperature_at);
        let value = temperature(line.cell(temperature_at), unit);
        if let Err(message) = &time {
            problems.push(
                Problem::at(&time_mark, message.as_str())
                    .help("write local times such as 2026-07-13T07:00"),
            );
        }
        if let Err((message, help)) = &value {
            problems.push(Problem::at(&value_mark, message.as_str()).help(help.as_str()));
        }
        if let (Ok(time), Ok(temperature_K)) = (time, value) {
            let row = Row {
                time,
                temperature_K,
                span: time_mark.span.clone(),
            };
            if let Some(previous) = rows.last()
                && row.time <= previous.time
            {
                problems.push(disorder(&time_mark, previous, &row));
            }
            rows.push(row);
        }
    }
    if rows.len() < 2 && problems.is_empty() {
        problems.push(
            Problem::in_file(
                source.name.clone(),
                "this weather series has fewer than two rows",
            )
            .help("it needs a row for every hour or so of the run"),
        );
    }
    Some(rows)
}

fn disorder(mark: &Mark, previous: &Row, row: &Row) -> Problem {
    if row.time == previous.time {
        Problem::at(mark, format!("the time {} is there twice", row.time)).help(
            "keep one row for each time; where clocks were put back, write standard time throughout",
        )
    } else {
        Problem::at(
            mark,
            format!("the time {} comes after {}", row.time, previous.time),
        )
        .help("sort the rows by time, oldest first")
    }
}

fn temperature(text: Option<&str>, unit: &Unit) -> Result<f64, (String, String)> {
    let text = text.unwrap_or_default();
    if text.is_empty() {
        let help = "fill the gap by a rule you choose, or take the row out if its neighbours are close enough";
        return Err(("the temperature is missing".to_owned(), help.to_owned()));
    }
    let kelvin = unit.to_si(csv_text::plain_number(text, unit.symbol)?);
    if PLAUSIBLE_K.contains(&kelvin) {
        Ok(kelvin)
    } else {
        Err((
            format!("{text} {} is no weather on Earth", unit.symbol),
            "check the unit at the end of the column's header: _degC, _degF or _K".to_owned(),
        ))
    }
}

/// Indices of the time and temperature columns, and the unit of the latter.
fn columns_of(
    header: &Line<'_>,
    columns: &Columns<'_>,
    problems: &mut Vec<Problem>,
) -> Option<(usize, usize, &'static Unit)> {
    let names: Vec<&str> = header.cells().collect();
    let whole = header.whole();
    if names
        .first()
        .is_some_and(|name| local_date_time(name).is_ok())
    {
        problems.push(
            Problem::at(&whole, "the first line does not name the columns")
                .help("put a line time,temperature_degC (or _degF, _K) before the first row"),
        );
        return None;
    }
    let find = |name: &str| names.iter().position(|n| n.eq_ignore_ascii_case(name));
    let shown = names.join(", ");
    let missing = |name: &str| {
        let near = nearest(name, names.iter().copied());
        let help = near.map_or_else(
            || format!("its columns are {shown}; name the right one in the run file under [room]"),
            |near| format!("did you mean \"{near}\"? Name it in the run file under [room]"),
        );
        Problem::at(&whole, format!("there is no column \"{name}\"")).help(help)
    };
    let time_at = find(columns.time);
    if time_at.is_none() {
        problems.push(missing(columns.time));
    }
    let temperature_at = match columns.temperature {
        Some(name) => {
            let at = find(name);
            if at.is_none() {
                problems.push(missing(name));
            }
            at
        }
        None => only_temperature(&names, &whole, problems),
    };
    let temperature_at = temperature_at?;
    let Some(unit) = unit_of_header(names[temperature_at]) else {
        let name = names[temperature_at];
        let mark = header.mark(temperature_at);
        problems.push(
            Problem::at(
                &mark,
                format!("the header \"{name}\" does not say in which unit"),
            )
            .help("put the unit at its end: temperature_degC, temperature_degF or temperature_K"),
        );
        return None;
    };
    Some((time_at?, temperature_at, unit))
}

fn only_temperature(names: &[&str], whole: &Mark, problems: &mut Vec<Problem>) -> Option<usize> {
    let candidates: Vec<usize> = (0..names.len())
        .filter(|at| names[*at].to_lowercase().starts_with("temp"))
        .collect();
    if let [only] = candidates[..] {
        return Some(only);
    }
    let (message, help) = if candidates.is_empty() {
        (
            "no column's header begins with temperature",
            "the first line names the columns: time,temperature_degC. Or write temperature_column under [room] in the run file",
        )
    } else {
        (
            "several columns' headers begin with temperature",
            "write temperature_column = \"...\" under [room] in the run file",
        )
    };
    problems.push(Problem::at(whole, message).help(help));
    None
}

/// `temperature_degC`, `temperature (°F)`, `T [K]`.
fn unit_of_header(name: &str) -> Option<&'static Unit> {
    let end = name.trim_end_matches([')', ']']);
    let text = end.rsplit(['_', '(', '[', ' ']).next()?;
    // A header that is nothing but a unit's letter is no header with a unit.
    (text.len() < name.len()).then(|| unit_by_symbol(text, Quantity::Temperature))?
}

/// The usual step between times, s (the middle one of all, sorted by length), and the longest that may
/// be filled in silence. None for fewer than two.
fn steps(times_s: impl Iterator<Item = f64> + Clone) -> Option<(f64, f64)> {
    let later = times_s.clone().skip(1);
    let mut steps: Vec<f64> = times_s.zip(later).map(|(a, b)| b - a).collect();
    steps.sort_by(f64::total_cmp);
    let usual_s = *steps.get(steps.len() / 2)?;
    Some((usual_s, LONGEST_STEP_S.min(2.0 * usual_s)))
}

/// Whether [`gaps`] would find any between these times, s.
pub(super) fn has_gaps(times_s: &[f64]) -> bool {
    steps(times_s.iter().copied()).is_some_and(|(usual_s, longest_s)| {
        usual_s > LONGEST_STEP_S || times_s.windows(2).any(|pair| pair[1] - pair[0] > longest_s)
    })
}

/// The steps between rows that are too long to be filled in silence, as messages at their later
/// row. `rows` are in order of time.
pub(super) fn gaps(source: &Arc<Source>, rows: &[Row]) -> Vec<Problem> {
    let Some(first) = rows.first() else {
        return Vec::new();
    };
    let time_s = |row: &Row| row.time.duration_since(first.time).as_secs_f64();
    let Some((usual_s, longest_s)) = steps(rows.iter().map(time_s)) else {
        return Vec::new();
    };
    let mark = |row: &Row| Mark {
        source: Arc::clone(source),
        span: row.span.clone(),
    };
    if usual_s > LONGEST_STEP_S {
        let message = format!("the rows are {} apart", format_duration(usual_s));
        let problem = Problem::at(&mark(first), message)
            .help("a day's weather needs a row every 3 hours or more often");
        return vec![problem];
    }
    rows.windows(2)
        .filter(|pair| time_s(&pair[1]) - time_s(&pair[0]) > longest_s)
        .map(|pair| {
            let message = format!(
                "there is a gap between {} and {}; the other rows are {} apart",
                pair[0].time,
                pair[1].time,
                format_duration(usual_s)
            );
            Problem::at(&mark(&pair[1]), message)
                .help("fill it by a rule you choose, such as the same hours of the day before")
        })
        .collect()
}

//! Which column of a series says how warm it is, and in which unit.

use super::asked::Asked;
use super::columns::named;
use super::frame::Head;
use super::header_units::begins_with_temp;
use crate::quantity::Unit;
use crate::table::Mistakes;

/// The column that says how warm it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Temperature {
    pub at: usize,
    pub unit: &'static Unit,
    /// Whether its name begins with temp, or was asked for.
    pub is_named_so: bool,
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

/// The column that says how warm it is.
pub(super) fn temperature(
    head: &Head<'_>,
    asked: &Asked,
    mistakes: &mut Mistakes,
) -> Option<Temperature> {
    let (header, names) = (head.line, head.names);
    let column = asked.temperature.as_deref();
    let at = match named(header, names, column, asked.by, mistakes)? {
        Some(at) => at,
        None => only_temperature(head, mistakes)?,
    };
    let is_named_so = asked.temperature.is_some() || begins_with_temp(&names[at]);
    match (head.unit(at), asked.unit) {
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

fn only_temperature(head: &Head<'_>, mistakes: &mut Mistakes) -> Option<usize> {
    let (header, names) = (head.line, head.names);
    let others = || (0..names.len()).filter(|at| !head.is_time(*at));
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
            .filter(|at| head.unit(*at).is_some())
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

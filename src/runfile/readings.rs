//! Readings: `[[reading]]` tables of a run file, and the same in a line: `feeder motor = 49 degC at 15:20 within 1 K`.

use crate::keys::complete::complete;
use crate::keys::fields::reading::READING;
use crate::keys::moment::Span;
use crate::keys::problem::{Problem, Problems, Source};
use crate::keys::reader::read_source;
use crate::keys::section::{Data, Origin, Section};
use crate::keys::write::quoted;
use crate::run::derive::notes::Notes;
use crate::run::derive::readings::reading;
use crate::run::{Reading, Run};

/// How one is written in a line.
const HOW: &str = "write for example \"feeder motor = 49 degC at 15:20 within 1 K\": where, what it showed, when, and how far off it may be";

/// The readings that were typed, taken out of the file's root; the rest is the run itself.
pub(super) fn take(root: &mut Section) -> Vec<Section> {
    match root.entries.remove("reading").map(|value| value.data) {
        Some(Data::List(list)) => list,
        _ => Vec::new(),
    }
}

/// The readings of a run; what is wrong with one is noted.
pub(super) fn made(typed: Vec<Section>, run: &Run, notes: &mut Notes<'_>) -> Vec<Reading> {
    let span = Span {
        start: run.start,
        duration_s: run.duration_s,
    };
    let each = typed.into_iter().filter_map(|mut section| {
        complete(
            &mut section,
            "reading",
            &READING,
            notes.file,
            notes.problems,
        );
        reading(&section, &span, notes)
    });
    each.collect()
}

/// The reading that a line describes. It is made into the table that a run file would have, so that units, moments
/// and mistakes are those of a file.
///
/// # Errors
/// Everything that is wrong with it.
pub fn of_line(line: &str, run: &Run) -> Result<Reading, Problems> {
    let name = format!("--reading \"{line}\"");
    let Some(parts) = Parts::of(line) else {
        return Err(Problem::in_file(name, "this is no reading")
            .help(HOW)
            .into());
    };
    let source = Source::new(name.as_str(), parts.as_table());
    let mut problems = Vec::new();
    let typed = read_source(&source, &READING, Origin::Typed, &mut problems);
    let mut notes = Notes {
        file: &name,
        problems: &mut problems,
    };
    let found = made(typed.into_iter().collect(), run, &mut notes);
    problems.retain(Problem::is_error);
    match found.into_iter().next() {
        Some(reading) if problems.is_empty() => Ok(reading),
        _ if problems.is_empty() => Err(Problem::in_file(name, "this is no reading")
            .help(HOW)
            .into()),
        _ => Err(Problems::new(problems)),
    }
}

/// What a line says, word for word.
#[derive(Debug, PartialEq)]
struct Parts<'a> {
    sensor: &'a str,
    temperature: &'a str,
    at: Option<&'a str>,
    within: Option<&'a str>,
}

impl<'a> Parts<'a> {
    /// `within` may stand before or behind `at`; a moment may have an "at" of its own ("day 3 at 14:00").
    fn of(line: &'a str) -> Option<Self> {
        let (sensor, rest) = line.split_once('=')?;
        let cut = |text: &'a str, word: &str| {
            let at = text.find(word)?;
            Some((&text[..at], &text[at + word.len()..]))
        };
        let at_first = match (rest.find(" at "), rest.find(" within ")) {
            (Some(at), Some(within)) => at < within,
            (at, _) => at.is_some(),
        };
        let (temperature, at, within) = if at_first {
            let (temperature, rest) = cut(rest, " at ")?;
            match cut(rest, " within ") {
                Some((at, within)) => (temperature, Some(at), Some(within)),
                None => (temperature, Some(rest), None),
            }
        } else {
            match cut(rest, " within ") {
                Some((temperature, rest)) => match cut(rest, " at ") {
                    Some((within, at)) => (temperature, Some(at), Some(within)),
                    None => (temperature, None, Some(rest)),
                },
                None => (rest, None, None),
            }
        };
        Some(Self {
            sensor: sensor.trim(),
            temperature: temperature.trim(),
            at: at.map(str::trim),
            within: within.map(str::trim),
        })
    }

    fn as_table(&self) -> String {
        let temperature = match self.within {
            Some(within) => format!("{} ± {within}", self.temperature),
            None => self.temperature.to_owned(),
        };
        let mut lines = format!(
            "sensor = {}\ntemperature = {}\n",
            quoted(self.sensor),
            quoted(&temperature)
        );
        if let Some(at) = self.at {
            lines.push_str(&format!("at = {}\n", quoted(at)));
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(line: &str) -> (&str, &str, Option<&str>, Option<&str>) {
        let p = Parts::of(line).expect("a reading");
        (p.sensor, p.temperature, p.at, p.within)
    }

    #[test]
    fn a_line_says_where_what_when_and_how_well() {
        let motor = "feeder motor";
        for (line, expected) in [
            (
                "feeder motor = 49 degC at 15:20 within 1 K",
                (motor, "49 degC", Some("15:20"), Some("1 K")),
            ),
            (
                "feeder motor=49 degC within 1 K at day 3 at 15:20",
                (motor, "49 degC", Some("day 3 at 15:20"), Some("1 K")),
            ),
            (
                "feeder motor = 49 ± 1 degC at Wed 15:20",
                (motor, "49 ± 1 degC", Some("Wed 15:20"), None),
            ),
            ("feeder motor = 49 degC", (motor, "49 degC", None, None)),
        ] {
            assert_eq!(parts(line), expected, "{line}");
        }
        assert_eq!(Parts::of("feeder motor 49 degC"), None);
    }
}

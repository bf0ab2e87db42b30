//! What was said of a log: by a `[[log]]` table, or by options.

use super::begin::Begins;
use super::forms::Form;
use crate::keys::complete::complete;
use crate::keys::fields::log::{COLUMN, LOG};
use crate::keys::problem::{Mark, Problem, Problems, Source};
use crate::keys::reader::read_source;
use crate::keys::section::{Data, Origin, Section};
use crate::keys::write::quoted;
use crate::quantity::{Quantity, Unit, unit_by_symbol};
use crate::run::derive::notes::Notes;
use crate::weather::asked::{Asked, By};
use std::path::{Path, PathBuf};

/// How one is written in a line.
const HOW: &str = "write for example \"T1 = feeder motor within 0.5 K in degC\": the column's header, where it was measured, how far off it may be, and in which unit; the last two may be left away";

/// A log that is to be read: which file, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct LogFile {
    /// Where it lies.
    pub path: PathBuf,
    /// How its table is read.
    pub(super) asked: Asked,
    /// When it began, where its rows count from there.
    pub(super) begins: Option<Begins>,
    /// What was said of its columns.
    pub(super) columns: Vec<Said>,
    /// Where it is named.
    mark: Option<Mark>,
}

/// What was said of a column.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// Its header.
    pub header: String,
    /// Where it was measured, in the user's words.
    pub sensor: String,
    /// How far off it may be, K.
    pub within_K: Option<f64>,
    /// Its unit.
    pub unit: Option<&'static Unit>,
    /// What its numbers are, of the bed's heater.
    pub(super) form: Option<Form>,
    /// How far off that may be, W.
    pub(super) within_W: Option<f64>,
    /// Where that was said: a file's name, or an option.
    file: String,
    header_mark: Option<Mark>,
    sensor_mark: Option<Mark>,
}

impl LogFile {
    /// One that an option names.
    #[must_use]
    pub fn at(path: PathBuf) -> Self {
        Self {
            path,
            asked: Asked {
                by: By::Log,
                ..Asked::default()
            },
            begins: None,
            columns: Vec::new(),
            mark: None,
        }
    }

    /// The same that began then, if its rows count from there.
    #[must_use]
    pub fn begun(self, begins: Option<Begins>) -> Self {
        Self { begins, ..self }
    }

    /// The same in another folder, unless its path is a whole one.
    #[must_use]
    pub(crate) fn in_folder(mut self, folder: &Path) -> Self {
        self.path = folder.join(&self.path);
        self
    }

    /// A file that can't be opened is best shown where it is named.
    pub(super) fn can_not_be_opened(&self, problem: Problem) -> Problem {
        let Some(mark) = &self.mark else {
            return problem;
        };
        let message = format!("the log {}: {}", problem.file, problem.message);
        let help = problem.help.unwrap_or_else(|| {
            "the name is taken relative to the folder of this run file".to_owned()
        });
        Problem::at(mark, message).help(help)
    }
}

impl Said {
    /// Whether the column is to be left out.
    pub(super) fn leaves_out(&self) -> bool {
        ["nothing", "none", "-"]
            .iter()
            .any(|word| self.sensor.eq_ignore_ascii_case(word))
    }

    /// An error in which column was said.
    pub(super) fn header_problem(&self, message: impl Into<String>) -> Problem {
        Problem::at_or_in(self.header_mark.as_ref(), &self.file, message)
    }

    /// An error in where it was said to be measured.
    pub(super) fn sensor_problem(&self, message: impl Into<String>) -> Problem {
        Problem::at_or_in(self.sensor_mark.as_ref(), &self.file, message)
    }
}

/// The logs that were typed, taken out of the file's root; the rest is the run itself.
pub(crate) fn take(root: &mut Section) -> Vec<Section> {
    match root.entries.remove("log").map(|value| value.data) {
        Some(Data::List(list)) => list,
        _ => Vec::new(),
    }
}

/// The logs that a run file names, none of them read; what is wrong with a table is noted.
pub(crate) fn named(typed: Vec<Section>, notes: &mut Notes<'_>) -> Vec<LogFile> {
    let each = typed
        .into_iter()
        .enumerate()
        .filter_map(|(at, mut section)| {
            let path = format!("log.{}", at + 1);
            complete(&mut section, &path, &LOG, notes.file, notes.problems);
            let asked = Asked::of(&section, By::Log, notes.file, notes.problems);
            let said = section.list("column").iter();
            let columns = said.filter_map(|column| said_in(column, notes.file));
            Some(LogFile {
                path: PathBuf::from(section.text("file")?),
                begins: Begins::of(&section, notes.file),
                columns: columns.collect(),
                mark: section.mark_of("file").cloned(),
                asked: asked?,
            })
        });
    each.collect()
}

fn said_in(column: &Section, file: &str) -> Option<Said> {
    Some(Said {
        header: column.text("name")?.to_owned(),
        sensor: column.text("sensor")?.to_owned(),
        within_K: column.number("within"),
        unit: column
            .text("unit")
            .and_then(|unit| unit_by_symbol(unit, Quantity::Temperature)),
        form: match column.text("unit") {
            Some("W") => Some(Form::Watts),
            Some("%") => Some(Form::Percent),
            _ => None,
        },
        within_W: column.number("within_power"),
        file: file.to_owned(),
        header_mark: column.mark_of("name").cloned(),
        sensor_mark: column.mark_of("sensor").cloned(),
    })
}

/// What a line says of a column. It is made into the table that a run file would have, so that units and mistakes are
/// those of a file.
///
/// # Errors
/// Everything that is wrong with it.
pub fn of_option(line: &str) -> Result<Said, Problems> {
    let name = format!("--column \"{line}\"");
    let unclear = || Problem::in_file(name.as_str(), "this does not say what a column holds");
    let Some(parts) = Parts::of(line) else {
        return Err(unclear().help(HOW).into());
    };
    let source = Source::new(name.as_str(), parts.as_table());
    let mut problems = Vec::new();
    let typed = read_source(&source, &COLUMN, Origin::Typed, &mut problems);
    let said = typed.and_then(|mut section| {
        complete(&mut section, "column", &COLUMN, &name, &mut problems);
        said_in(&section, &name)
    });
    problems.retain(Problem::is_error);
    match said {
        // The table was never written by anybody: what is wrong later is told of the option as a whole.
        Some(said) if problems.is_empty() => Ok(Said {
            header_mark: None,
            sensor_mark: None,
            ..said
        }),
        _ if problems.is_empty() => Err(unclear().help(HOW).into()),
        _ => Err(Problems::new(problems)),
    }
}

/// What a line says, word for word.
#[derive(Debug, PartialEq)]
struct Parts<'a> {
    header: &'a str,
    sensor: &'a str,
    within: Option<&'a str>,
    unit: Option<&'a str>,
}

impl<'a> Parts<'a> {
    /// The last sign of equality counts: a header may have one. `within` and `in` may stand in either order.
    fn of(line: &'a str) -> Option<Self> {
        let (header, rest) = line.rsplit_once('=')?;
        let (sensor, within, unit) = match (rest.find(" within "), rest.find(" in ")) {
            (Some(within), Some(unit)) if within < unit => (
                &rest[..within],
                Some(&rest[within + 8..unit]),
                Some(&rest[unit + 4..]),
            ),
            (Some(within), Some(unit)) => (
                &rest[..unit],
                Some(&rest[within + 8..]),
                Some(&rest[unit + 4..within]),
            ),
            (Some(within), None) => (&rest[..within], Some(&rest[within + 8..]), None),
            (None, Some(unit)) => (&rest[..unit], None, Some(&rest[unit + 4..])),
            (None, None) => (rest, None, None),
        };
        let (header, sensor) = (header.trim(), sensor.trim());
        (!header.is_empty() && !sensor.is_empty()).then_some(Self {
            header,
            sensor,
            within: within.map(str::trim),
            unit: unit.map(str::trim),
        })
    }

    fn as_table(&self) -> String {
        let mut lines = format!(
            "name = {}\nsensor = {}\n",
            quoted(self.header),
            quoted(self.sensor)
        );
        if let Some(within) = self.within {
            let key = match Form::of(self.sensor) {
                Some(_) => "within_power",
                None => "within",
            };
            lines.push_str(&format!("{key} = {}\n", quoted(within)));
        }
        if let Some(unit) = self.unit {
            // As people write it: °F, C.
            let known = unit_by_symbol(unit, Quantity::Temperature);
            let unit = known.map_or(unit, |known| known.symbol);
            lines.push_str(&format!("unit = {}\n", quoted(unit)));
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_says_which_column_where_how_well_and_in_which_unit() {
        for (line, want) in [
            ("T1 = feeder motor", ("T1", "feeder motor", None, None)),
            (
                "T1=feeder motor within 0.5 K in degF",
                ("T1", "feeder motor", Some(0.5), Some("degF")),
            ),
            (
                "T=1 (left) = lid inside in °C within 2 K",
                ("T=1 (left)", "lid inside", Some(2.0), Some("degC")),
            ),
            ("T4 = room", ("T4", "room", None, None)),
        ] {
            let said = of_option(line).expect(line);
            let unit = said.unit.map(|unit| unit.symbol);
            let found = (
                said.header.as_str(),
                said.sensor.as_str(),
                said.within_K,
                unit,
            );
            assert_eq!(found, want, "{line}");
        }
        for (line, words) in [
            ("T1", "feeder motor within"),
            ("= bed", "feeder motor within"),
            ("T1 = ", "feeder motor within"),
            ("T1 = bed within 3", "unit"),
            ("T1 = bed within 3 degC", "difference"),
            ("T1 = bed in furlongs", "degF"),
        ] {
            let told = of_option(line).expect_err(line).to_string();
            assert!(told.contains(words), "{line}: {told}");
        }
    }
}

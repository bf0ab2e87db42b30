//! A run as it was described: every value under its key, in SI, with the catalogue's values and the
//! defaults filled in, and nothing derived yet.
//!
//! A study that asks "what if the feeder's motor gave off twice the heat" sets `machine.feeder.heat` and
//! makes a run anew, so that whatever follows from the value follows. A key's place is found once, as an
//! [`Input`]; copies of inputs share the tables in which they do not differ, and the rows of the weather.

use super::derive::notes::Notes;
use super::derive::{Files, Other, derive};
use super::switched::Switched;
use super::whole::Run;
use crate::keys::fields::RUN_FILE;
use crate::keys::fields::initial::INITIAL;
use crate::keys::problem::{Problem, Problems, nearest};
use crate::keys::schema::{Field, Kind, Range, Table};
use crate::keys::section::{Data, Origin, Section, Value};
use crate::profile::Profile;
use crate::weather::Series;
use std::sync::Arc;

/// A run as it was described. Cheap to copy.
#[derive(Debug, Clone, PartialEq)]
pub struct Inputs {
    /// The run file's name, for messages.
    file: Arc<str>,
    /// Completed, but without anything derived.
    pub(super) root: Section,
    pub(super) files: Known,
}

/// What the files say that a run names.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Known {
    pub series: Option<Arc<Series>>,
    pub profile: Option<Arc<Profile>>,
    /// The other runs of the room, by the names they are listed with.
    pub others: Vec<(String, Arc<Other>)>,
    /// What was measured of the room's air, s from the run's start and K.
    pub measured_room: Arc<[(f64, f64)]>,
    /// What logs say was done at the machine.
    pub switched: Arc<[Switched]>,
}

impl Files for Known {
    fn series(&mut self, _: &Section, _: &mut Notes<'_>) -> Option<Arc<Series>> {
        self.series.clone()
    }

    fn profile(&mut self, _: &Section, _: &mut Notes<'_>) -> Option<Arc<Profile>> {
        self.profile.clone()
    }

    fn other(&mut self, entry: &Section, _: &mut Notes<'_>) -> Option<Arc<Other>> {
        let name = entry.text("run")?;
        let known = self.others.iter().find(|(known, _)| known == name);
        known.map(|(_, other)| Arc::clone(other))
    }

    fn measured_room(&self) -> &[(f64, f64)] {
        &self.measured_room
    }

    fn switched(&self) -> &[Switched] {
        &self.switched
    }
}

/// A quantity of a run's inputs, under its key: where it stands, and what is declared of it.
#[derive(Debug, Clone)]
pub struct Input {
    key: String,
    /// The tables and lists on the way.
    way: Vec<Step>,
    field: &'static Field,
    range: Range,
}

/// One step towards a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Step {
    /// Into the table of that key.
    Table(&'static str),
    /// Into the table of that place in the list of that key.
    Item(&'static str, usize),
}

/// Why a key is no input, or takes no such value.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum InputError {
    /// There is no such quantity.
    #[error("there is no quantity `{key}` in this run{}", near.as_ref().map_or_else(String::new, |n| format!("; did you mean `{n}`?")))]
    Unknown {
        /// The key asked for.
        key: String,
        /// The nearest that there is.
        near: Option<String>,
    },
    /// The run has no such table or list entry.
    #[error("this run has no {0}: only what it describes can be changed")]
    Absent(String),
    /// A value outside the key's limits.
    #[error("`{key}` can't be {value}: it has to lie between {low} and {high}")]
    OutOfRange {
        /// The key.
        key: String,
        /// The value, with its unit.
        value: String,
        /// Lower limit, with its unit.
        low: String,
        /// Upper limit, with its unit.
        high: String,
    },
}

impl Input {
    /// The key with its tables: `machine.feeder.heat`, `machine.lid.layer.1.thickness`.
    #[must_use]
    pub fn key(&self) -> &str {
        &self.key
    }

    /// What is declared of it: words, default, spread.
    #[must_use]
    pub const fn field(&self) -> &'static Field {
        self.field
    }

    /// Its quantity, unit, limits and usual range.
    #[must_use]
    pub const fn range(&self) -> Range {
        self.range
    }
}

impl Inputs {
    pub(crate) fn new(file: &str, root: Section, files: Known) -> Self {
        Self {
            file: file.into(),
            root,
            files,
        }
    }

    /// Every quantity of the run that can be changed, in the order of the keys. One that the run leaves
    /// to be worked out is among them.
    #[must_use]
    pub fn all(&self) -> Vec<Input> {
        let mut found = Vec::new();
        list(&self.root, &RUN_FILE, "", &mut Vec::new(), &mut found);
        found
    }

    /// The quantity of that key.
    ///
    /// # Errors
    /// When there is none in this run; the error names the nearest.
    pub fn input(&self, key: &str) -> Result<Input, InputError> {
        let unknown = || InputError::Unknown {
            key: key.to_owned(),
            near: {
                let all = self.all();
                nearest(key, all.iter().map(Input::key)).map(str::to_owned)
            },
        };
        let (mut way, mut table) = (Vec::new(), &RUN_FILE);
        let mut parts = key.split('.');
        while let Some(part) = parts.next() {
            let field = table.field(part).ok_or_else(unknown)?;
            match field.kind {
                Kind::Table(inner) | Kind::Panel(inner) => {
                    way.push(Step::Table(field.key));
                    table = inner;
                }
                Kind::List(inner) => {
                    let place = parts.next().and_then(|at| at.parse::<usize>().ok());
                    let place = place.filter(|at| *at > 0).ok_or_else(unknown)?;
                    way.push(Step::Item(field.key, place - 1));
                    table = inner;
                }
                Kind::Quantity(range) | Kind::Moment(range) if parts.next().is_none() => {
                    let input = Input {
                        key: key.to_owned(),
                        way,
                        field,
                        range,
                    };
                    return match self.table(&input) {
                        Some(_) => Ok(input),
                        None => Err(absent(&input)),
                    };
                }
                _ => return Err(unknown()),
            }
        }
        Err(unknown())
    }

    /// The value of an input, in SI; none where it is left to be worked out from others.
    #[must_use]
    pub fn get(&self, input: &Input) -> Option<f64> {
        self.table(input)?.number(input.field.key)
    }

    /// Whether somebody typed a key of a table, rather than leaving it to its default.
    #[must_use]
    pub fn is_typed(&self, table: &str, key: &str) -> bool {
        self.root.section(table).is_some_and(|s| s.is_typed(key))
    }

    /// To within how much an input is known, in SI, where someone wrote that.
    #[must_use]
    pub fn within(&self, input: &Input) -> Option<f64> {
        self.table(input)?.within(input.field.key)
    }

    /// Gives an input a value, in SI.
    ///
    /// # Errors
    /// When the value lies outside the key's limits, or the inputs are those of a run that has no such
    /// table.
    pub fn set(&mut self, input: &Input, si: f64) -> Result<(), InputError> {
        let (low, high) = input.range.hard;
        if !(input.range.si(low)..=input.range.si(high)).contains(&si) {
            let text = |si| input.range.quantity.to_text(si, input.range.unit);
            return Err(InputError::OutOfRange {
                key: input.key.clone(),
                value: text(si),
                low: input.range.limit_text(low),
                high: input.range.limit_text(high),
            });
        }
        let table = self.table_mut(input).ok_or_else(|| absent(input))?;
        table.put(input.field.key, Data::Number(si));
        Ok(())
    }

    /// The same with the room's air as it was measured: s from the run's start, rising, and K. Before and after, it is
    /// as described; what a room was warmer than that fades in some hours. A room that is worked out from its building
    /// stays as it is.
    #[must_use]
    pub fn in_measured_room(&self, rows: &[(f64, f64)]) -> Self {
        let mut inputs = self.clone();
        inputs.files.measured_room = rows.into();
        inputs
    }

    /// The same as it was done: over the time that logs tell of fan, lid and door, these are as logged and not as planned.
    #[must_use]
    pub fn as_switched(&self, switched: &[Switched]) -> Self {
        let mut inputs = self.clone();
        inputs.files.switched = switched.into();
        inputs
    }

    /// The same, with something at the start as it was measured: a key of `[initial]`, its temperature, K, and how far
    /// off that may be, K. None where someone wrote it already, or where there is no such key.
    #[must_use]
    pub fn beginning_at(&self, key: &str, temperature_K: f64, within_K: f64) -> Option<Self> {
        let key = INITIAL.field(key)?.key;
        let mut inputs = self.clone();
        if !inputs.root.has("initial") {
            let none = Data::Section(Arc::new(Section::default()));
            inputs.root.put("initial", none);
        }
        let initial = inputs.root.section_mut("initial")?;
        if initial.has(key) {
            return None;
        }
        let measured = Value {
            data: Data::Number(temperature_K),
            mark: None,
            origin: Origin::Typed,
            within: Some(within_K),
        };
        initial.entries.insert(key, measured);
        Some(inputs)
    }

    /// The run that these inputs describe. Takes some ten microseconds.
    ///
    /// # Errors
    /// When its values do not belong together: a part larger than the bed, a series that does not reach.
    pub fn to_run(&self) -> Result<Run, Problems> {
        let mut root = self.root.clone();
        let mut problems = Vec::new();
        let mut notes = Notes {
            file: &self.file,
            problems: &mut problems,
        };
        let run = derive(&mut root, &mut self.files.clone(), &mut notes);
        problems.retain(Problem::is_error);
        match run {
            Some(run) if problems.is_empty() => Ok(run),
            _ => Err(Problems::new(problems)),
        }
    }

    fn table(&self, input: &Input) -> Option<&Section> {
        input
            .way
            .iter()
            .try_fold(&self.root, |table, step| match *step {
                Step::Table(key) => table.section(key),
                Step::Item(key, at) => table.list(key).get(at),
            })
    }

    pub(super) fn table_mut(&mut self, input: &Input) -> Option<&mut Section> {
        let mut table = &mut self.root;
        for step in &input.way {
            table = match *step {
                Step::Table(key) => table.section_mut(key)?,
                Step::Item(key, at) => table.list_mut(key).get_mut(at)?,
            };
        }
        Some(table)
    }
}

fn absent(input: &Input) -> InputError {
    let table = input.key.rsplit_once('.').map_or("", |(table, _)| table);
    InputError::Absent(table.to_owned())
}

/// The quantities of a table that is there, and of those inside it.
fn list(
    section: &Section,
    schema: &'static Table,
    path: &str,
    way: &mut Vec<Step>,
    found: &mut Vec<Input>,
) {
    let inside = |step, inner: &Section, schema, path: &str, way: &mut Vec<Step>, found: &mut _| {
        way.push(step);
        list(inner, schema, path, way, found);
        way.pop();
    };
    for field in schema.fields {
        let key = crate::keys::reader::join(path, field.key);
        match field.kind {
            // A moment by the clock is no quantity, and one that is left away not worked out.
            Kind::Moment(_) if section.number(field.key).is_none() => {}
            Kind::Quantity(range) | Kind::Moment(range) => found.push(Input {
                key,
                way: way.clone(),
                field,
                range,
            }),
            Kind::Table(schema) | Kind::Panel(schema) => {
                if let Some(inner) = section.section(field.key) {
                    inside(Step::Table(field.key), inner, schema, &key, way, found);
                }
            }
            Kind::List(schema) => {
                for (at, inner) in section.list(field.key).iter().enumerate() {
                    let key = format!("{key}.{}", at + 1);
                    inside(Step::Item(field.key, at), inner, schema, &key, way, found);
                }
            }
            _ => {}
        }
    }
}

#[cfg(test)]
impl Inputs {
    /// Any value, within the key's limits or not: for tests of what lies beyond them.
    pub(crate) fn put(&mut self, key: &str, si: f64) {
        let input = self.input(key).expect("a key of the run");
        let table = self.table_mut(&input).expect("a table of the run");
        table.put(input.field.key, Data::Number(si));
    }

    /// A table of the run, to be changed at will.
    pub(crate) fn table_of(&mut self, key: &str) -> &mut Section {
        self.root.section_mut(key).expect("a table of the run")
    }
}

#[cfg(test)]
mod tests;

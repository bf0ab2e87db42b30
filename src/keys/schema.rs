//! The language in which every key of every file kind is declared, once.
//!
//! A [`Table`] lists its [`Field`]s: key, kind of value, range, default, meaning, example. The
//! reader checks files against it, and whatever else needs to know the keys (the explanation of a
//! run, an editor's schema, the handbook) reads the same lists.

use super::kinds::Kind as EntryKind;
use crate::quantity::Quantity;

/// A table of a file, with all keys it may have.
#[derive(Debug)]
pub struct Table {
    /// What the table describes, in one sentence.
    pub doc: &'static str,
    /// Its keys, in the order in which they are explained.
    pub fields: &'static [Field],
}

/// One key of a table.
#[derive(Debug, Clone, Copy)]
pub struct Field {
    /// The key.
    pub key: &'static str,
    /// What may stand there.
    pub kind: Kind,
    /// What happens when it is absent.
    pub need: Need,
    /// What it means, in one sentence.
    pub doc: &'static str,
    /// A value as written in the file, with its quotes.
    pub example: &'static str,
    /// For a quantity that can be measured or guessed: how far off one may be.
    pub spread: Option<Spread>,
}

/// How far off a value may be that someone has measured, read from a label or taken from a table: about
/// one in forty lies lower, one in forty higher.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// It is what it is said to be: a setpoint, a requirement, a count, a moment.
    Exact,
    /// From the value divided by this to the value times this.
    Factor(f64),
    /// From the value less this to the value and this, in the range's unit (kelvins for temperatures).
    PlusMinus(f64),
    /// Between these two, in the range's unit, whatever the value.
    Between(f64, f64),
    /// Its doubt is that of another key, which multiplies it or is added to it: counted there, not twice.
    In(&'static str),
}

/// What happens when a key is absent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// It must be there.
    Required,
    /// This value is used (written as in the file, without quotes). An empty text stands for a
    /// table whose keys all have their own defaults.
    Default(&'static str),
    /// This value is used, as with a default, but users read these words in its place, and a run
    /// explained lists it only where it was typed.
    Tacit(&'static str, &'static str),
    /// It may be absent; the text says what happens then.
    Optional(&'static str),
}

/// What may stand at a key.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// A quantity with its unit.
    Quantity(Range),
    /// A whole number between the two.
    Integer(i64, i64),
    /// Any text that is not empty.
    Text,
    /// true or false.
    Bool,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// A name in the catalogue.
    Name(EntryKind),
    /// A panel: a name in the catalogue, or a table that describes one.
    Panel(&'static Table),
    /// A local date with time of day.
    DateTime,
    /// A day of the calendar.
    Date,
    /// A time of day.
    TimeOfDay,
    /// A moment of the run, by the clock or counted from its start: a time within the range.
    Moment(Range),
    /// A file, relative to the folder of the file in which it is named.
    File,
    /// A table.
    Table(&'static Table),
    /// A list of tables.
    List(&'static Table),
    /// A table of values under their keys, each as it may stand in the file: what was guessed.
    Guesses,
    /// A table of texts: for each key of the file, where its value comes from.
    Sources,
}

/// The range of a quantity, in the unit named.
#[derive(Debug, Clone, Copy)]
pub struct Range {
    /// What it measures.
    pub quantity: Quantity,
    /// The unit of the limits below, and the one suggested to users.
    pub unit: &'static str,
    /// Values outside are errors. In `unit`, as what follows.
    pub hard: (f64, f64),
    /// Values outside are legal but odd, in `unit`: the user gets a hint.
    pub usual: (f64, f64),
}

/// A quantity: unit, limits, usual range.
pub(crate) const fn quantity(
    quantity: Quantity,
    unit: &'static str,
    hard: (f64, f64),
    usual: (f64, f64),
) -> Kind {
    Kind::Quantity(Range {
        quantity,
        unit,
        hard,
        usual,
    })
}

/// A field, in one line.
pub(crate) const fn field(
    key: &'static str,
    kind: Kind,
    need: Need,
    example: &'static str,
    doc: &'static str,
) -> Field {
    Field {
        key,
        kind,
        need,
        doc,
        example,
        spread: None,
    }
}

impl Table {
    /// The field of that key.
    #[must_use]
    pub fn field(&self, key: &str) -> Option<&'static Field> {
        self.fields.iter().find(|field| field.key == key)
    }

    /// The field under a key with its tables, those of lists without the place in them: `job.spool_change.duration`.
    #[must_use]
    pub fn at(&self, key: &str) -> Option<&'static Field> {
        match key.split_once('.') {
            None => self.field(key),
            Some((table, rest)) => match self.field(table)?.kind {
                Kind::Table(inner) | Kind::List(inner) => inner.at(rest),
                _ => None,
            },
        }
    }
}

impl Field {
    /// The same key, with how far off its value may be.
    pub(crate) const fn spread(mut self, spread: Spread) -> Self {
        self.spread = Some(spread);
        self
    }

    /// How the key is written in a file, with its example: `mass = "2.3 kg"`.
    #[must_use]
    pub fn sample(&self) -> String {
        match self.kind {
            Kind::Table(_) => format!("[{}]", self.key),
            Kind::List(_) => format!("[[{}]]", self.key),
            _ => format!("{} = {}", self.key, self.example_text()),
        }
    }

    /// Its example as a file has it; where none is declared, its default.
    fn example_text(&self) -> String {
        match (self.example, self.need) {
            ("", Need::Default(text) | Need::Tacit(text, _)) => match self.kind {
                Kind::Quantity(range) if range.quantity.may_be_bare() => text.to_owned(),
                _ => format!("\"{text}\""),
            },
            (example, _) => example.to_owned(),
        }
    }

    /// What the key means and how it is written.
    #[must_use]
    pub fn help(&self) -> String {
        let stop = if self.doc.ends_with('.') { "" } else { "." };
        if matches!(self.kind, Kind::Table(_) | Kind::List(_) | Kind::Sources) {
            format!("{}{stop}", self.doc)
        } else {
            format!("{}{stop} For example: {}", self.doc, self.sample())
        }
    }
}

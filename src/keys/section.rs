//! A table of a file after reading: values in SI, each knowing where it was typed.
//!
//! Tables inside a table are shared between copies until one of them is changed: a study makes hundreds of
//! runs from one and changes a value or two in each.

use super::moment::Moment;
use super::problem::Mark;
use jiff::civil::DateTime;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Where a value comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// Typed in the run file.
    Typed,
    /// From the catalogue's entry of that name.
    Catalogue(Arc<str>),
    /// The default of its key.
    Default,
    /// Worked out from other values; the text says how.
    Derived(&'static str),
}

/// What stood at a key.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Data {
    /// A quantity in SI, or a plain number.
    Number(f64),
    Text(String),
    Bool(bool),
    DateTime(DateTime),
    /// A moment by the clock; one counted from the start is a number.
    Moment(Moment),
    Section(Arc<Section>),
    List(Vec<Section>),
    /// Values under keys of the same file.
    Guesses(Vec<Guess>),
    /// Key and source.
    Sources(Vec<(String, String)>),
    /// Something that has been reported already.
    Bad,
}

/// A value that was guessed, under its key with its tables.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Guess {
    pub key: String,
    pub data: Data,
}

/// A value with its place and origin.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Value {
    pub data: Data,
    pub mark: Option<Mark>,
    pub origin: Origin,
    /// For a quantity: to within how much it is known, in SI, where someone wrote that.
    pub within: Option<f64>,
}

/// A table after reading.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Section {
    /// Its header.
    pub mark: Option<Mark>,
    pub entries: BTreeMap<&'static str, Value>,
}

impl Section {
    pub fn number(&self, key: &str) -> Option<f64> {
        match self.entries.get(key)?.data {
            Data::Number(number) => Some(number),
            _ => None,
        }
    }

    /// To within how much the quantity at a key is known, in SI, where someone wrote that.
    pub fn within(&self, key: &str) -> Option<f64> {
        self.entries.get(key)?.within
    }

    pub fn text(&self, key: &str) -> Option<&str> {
        match &self.entries.get(key)?.data {
            Data::Text(text) => Some(text),
            _ => None,
        }
    }

    pub fn flag(&self, key: &str) -> Option<bool> {
        match self.entries.get(key)?.data {
            Data::Bool(flag) => Some(flag),
            _ => None,
        }
    }

    pub fn date_time(&self, key: &str) -> Option<DateTime> {
        match self.entries.get(key)?.data {
            Data::DateTime(time) => Some(time),
            _ => None,
        }
    }

    /// A moment by the clock.
    pub fn moment(&self, key: &str) -> Option<Moment> {
        match self.entries.get(key)?.data {
            Data::Moment(moment) => Some(moment),
            _ => None,
        }
    }

    pub fn section(&self, key: &str) -> Option<&Self> {
        match &self.entries.get(key)?.data {
            Data::Section(section) => Some(section),
            _ => None,
        }
    }

    /// The table at a key, to be changed.
    pub fn section_mut(&mut self, key: &str) -> Option<&mut Self> {
        match &mut self.entries.get_mut(key)?.data {
            Data::Section(section) => Some(Arc::make_mut(section)),
            _ => None,
        }
    }

    /// The tables of a list, to be changed; none where the key is absent.
    pub fn list_mut(&mut self, key: &str) -> &mut [Self] {
        match self.entries.get_mut(key).map(|value| &mut value.data) {
            Some(Data::List(list)) => list,
            _ => &mut [],
        }
    }

    /// Takes out the values at these keys.
    pub fn remove(&mut self, keys: &[&str]) {
        for key in keys {
            self.entries.remove(*key);
        }
    }

    /// Puts a value in place of the one at the key, if there is one; where that was typed is kept.
    pub fn put(&mut self, key: &'static str, data: Data) {
        match self.entries.get_mut(key) {
            Some(value) => value.data = data,
            None => {
                let value = Value {
                    data,
                    mark: None,
                    origin: Origin::Derived("set by a study"),
                    within: None,
                };
                self.entries.insert(key, value);
            }
        }
    }

    /// The tables of a list; none where the key is absent.
    pub fn list(&self, key: &str) -> &[Self] {
        match self.entries.get(key).map(|value| &value.data) {
            Some(Data::List(list)) => list,
            _ => &[],
        }
    }

    /// Whether something was written at the key, be it right or wrong.
    pub fn has(&self, key: &str) -> bool {
        self.entries.contains_key(key)
    }

    /// Whether what was written at the key has been reported as wrong.
    pub fn is_bad(&self, key: &str) -> bool {
        matches!(
            self.entries.get(key),
            Some(Value {
                data: Data::Bad,
                ..
            })
        )
    }

    /// Whether the user wrote the value.
    pub fn is_typed(&self, key: &str) -> bool {
        matches!(
            self.entries.get(key),
            Some(Value {
                origin: Origin::Typed,
                ..
            })
        )
    }

    /// Where the value stands, or else the table's header.
    pub fn mark_of(&self, key: &str) -> Option<&Mark> {
        self.entries
            .get(key)
            .and_then(|value| value.mark.as_ref())
            .or(self.mark.as_ref())
    }

    /// Notes a value worked out from others, unless there is one.
    pub fn derive(&mut self, key: &'static str, number: f64, how: &'static str) {
        self.entries.entry(key).or_insert_with(|| Value {
            data: Data::Number(number),
            mark: None,
            origin: Origin::Derived(how),
            within: None,
        });
    }

    /// This section with every value that `over` has put in place of its own; tables are laid
    /// over each other key by key, lists and texts replace.
    pub fn overlaid(mut self, over: Self) -> Self {
        if over.mark.is_some() {
            self.mark = over.mark;
        }
        for (key, value) in over.entries {
            let merged = match (self.entries.remove(key), value) {
                (
                    Some(Value {
                        data: Data::Section(base),
                        ..
                    }),
                    Value {
                        data: Data::Section(top),
                        mark,
                        origin,
                        within,
                    },
                ) => Value {
                    data: Data::Section(Arc::new(
                        Arc::unwrap_or_clone(base).overlaid(Arc::unwrap_or_clone(top)),
                    )),
                    mark,
                    origin,
                    within,
                },
                (_, value) => value,
            };
            self.entries.insert(key, merged);
        }
        self
    }
}

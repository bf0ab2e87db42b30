//! Every key for people: what may stand there, what holds if it does not, an example, a sentence. Made from
//! the declarations, for the screen, the handbook and the manual alike.

use super::fields::{RUN_FILE, table_of};
use super::kinds::Kind as EntryKind;
use super::nearest::did_you_mean;
use super::reader::join;
use super::schema::{Field, Kind, Need, Table};
use crate::quantity::System;

/// A table of a run file, or of a file of the catalogue, with what it says of each key.
#[derive(Debug, Clone)]
pub struct TableWords {
    /// The file it stands in: none for the run file.
    pub of: Option<EntryKind>,
    /// Its keys' path without brackets: `machine.bed`; empty for the outermost of a catalogue's file.
    pub path: String,
    /// Whether it stands in a list, as `[[job.pause]]`.
    pub is_list: bool,
    /// What it describes.
    pub doc: &'static str,
    /// Its keys that are no tables, in order.
    pub keys: Vec<KeyWords>,
}

/// A key in words.
#[derive(Debug, Clone)]
pub struct KeyWords {
    /// With its tables: `machine.bed.max_power`.
    pub path: String,
    /// What is declared of it.
    pub field: &'static Field,
    /// Whether the catalogue's entry fills it in where it is absent.
    pub in_catalogue: bool,
}

impl TableWords {
    /// As a file has it: `[machine.bed]`, `[[job.pause]]`; in words where there is no header.
    #[must_use]
    pub fn header(&self) -> String {
        match (self.path.as_str(), self.is_list, self.of) {
            ("", _, Some(kind)) => format!("a {}'s file", kind.name()),
            (path, true, _) => format!("[[{path}]]"),
            (path, false, _) => format!("[{path}]"),
        }
    }
}

impl KeyWords {
    /// What may stand there: kind of value, limits, and what is usual within them.
    #[must_use]
    pub fn values(&self, system: System) -> String {
        match self.field.kind {
            Kind::Quantity(range) => {
                let limits = range.limits_in(range.hard, system);
                if range.hard == range.usual {
                    limits
                } else {
                    format!("{limits} (usual {})", range.limits_in(range.usual, system))
                }
            }
            Kind::Moment(_) => {
                "a moment: \"Wed 14:00\", \"2026-07-15 14:00\", \"31 h\" from the start".to_owned()
            }
            Kind::Integer(low, high) => format!("a whole number, {low} to {high}"),
            Kind::Text => "a text".to_owned(),
            Kind::Bool => "true or false".to_owned(),
            Kind::Choice(words) => {
                let words: Vec<_> = words.iter().map(|word| format!("\"{word}\"")).collect();
                words.join(", ")
            }
            Kind::Name(kind) => format!("the name of a {} in the catalogue", kind.name()),
            Kind::Panel(_) => {
                "the name of a panel in the catalogue, or a table of its own".to_owned()
            }
            Kind::DateTime => "a date and time of day, local".to_owned(),
            Kind::TimeOfDay => "a time of day".to_owned(),
            Kind::Date => "a date".to_owned(),
            Kind::File => "a file's name".to_owned(),
            Kind::Sources | Kind::Guesses => "a table of texts".to_owned(),
            Kind::Table(_) | Kind::List(_) => "a table".to_owned(),
        }
    }

    /// What holds where the key is absent.
    #[must_use]
    pub fn if_absent(&self) -> String {
        match self.field.need {
            Need::Required if self.in_catalogue => "the catalogue's".to_owned(),
            Need::Required => "it must be there".to_owned(),
            Need::Default("") => "each of its keys has its default".to_owned(),
            Need::Default(value) => value.to_owned(),
            Need::Optional(words) | Need::Tacit(_, words) => words.to_owned(),
        }
    }
}

/// Every table of a run file, then of those files of the catalogue whose keys are not a run file's too.
/// `[[compare]]` is one of them, without the copies of all others in it.
#[must_use]
pub fn tables() -> Vec<TableWords> {
    let mut found = Vec::new();
    for field in RUN_FILE.fields {
        let (Kind::Table(table) | Kind::List(table)) = field.kind else {
            // A table whose keys are those of others.
            found.push(TableWords {
                of: None,
                path: field.key.to_owned(),
                is_list: false,
                doc: field.doc,
                keys: Vec::new(),
            });
            continue;
        };
        let place = Place {
            of: None,
            is_list: matches!(field.kind, Kind::List(_)),
            in_catalogue: false,
        };
        walk(table, field.key, place, &mut found);
    }
    for kind in [EntryKind::Panel, EntryKind::Fan] {
        let place = Place {
            of: Some(kind),
            is_list: false,
            in_catalogue: false,
        };
        walk(table_of(kind), "", place, &mut found);
    }
    found
}

#[derive(Clone, Copy)]
struct Place {
    of: Option<EntryKind>,
    is_list: bool,
    in_catalogue: bool,
}

fn walk(table: &'static Table, path: &str, place: Place, found: &mut Vec<TableWords>) {
    let by_name = table
        .fields
        .iter()
        .any(|field| matches!(field.kind, Kind::Name(_)) && field.need != Need::Required);
    let in_catalogue = place.in_catalogue || by_name;
    let is_inner = |field: &&Field| matches!(field.kind, Kind::Table(_) | Kind::List(_));
    let keys = table.fields.iter().filter(|field| !is_inner(field));
    found.push(TableWords {
        of: place.of,
        path: path.to_owned(),
        is_list: place.is_list,
        doc: table.doc,
        keys: keys
            .map(|field| KeyWords {
                path: join(path, field.key),
                field,
                in_catalogue,
            })
            .collect(),
    });
    // A variant may have any table of the run file; they are described there.
    if place.of.is_none() && path == "compare" {
        return;
    }
    for field in table.fields.iter().filter(is_inner) {
        let (Kind::Table(inner) | Kind::List(inner)) = field.kind else {
            continue;
        };
        let is_list = matches!(field.kind, Kind::List(_));
        let inside = Place {
            is_list,
            // What is said once for each of a list is not in the catalogue's list.
            in_catalogue: in_catalogue && !is_list,
            ..place
        };
        walk(inner, &join(path, field.key), inside, found);
    }
}

/// What was found for words that somebody asked for.
#[derive(Debug, Clone)]
pub enum Found {
    /// Tables of that name, whole, with those inside them.
    Tables(Vec<TableWords>),
    /// Keys.
    Keys(Vec<KeyWords>),
    /// Nothing; what was perhaps meant.
    Nothing(Option<String>),
}

/// Looks for keys and tables: by their whole path, then by their name, then by a part of a name, then by a
/// word of what is said of them. Whatever is found first is all that is given.
#[must_use]
pub fn find(asked: &str) -> Found {
    let asked = plain(asked);
    let all = tables();
    let inside = |table: &TableWords, path: &str| {
        table.path == path || table.path.starts_with(&format!("{path}."))
    };
    let whole: Vec<_> = all.iter().filter(|t| inside(t, &asked)).cloned().collect();
    if !asked.is_empty() && !whole.is_empty() {
        return Found::Tables(whole);
    }
    let keys = || all.iter().flat_map(|table| &table.keys);
    let by_key = |is: &dyn Fn(&KeyWords) -> bool| -> Vec<KeyWords> {
        keys().filter(|key| is(key)).cloned().collect()
    };
    let name_of = |path: &str| path.rsplit('.').next().unwrap_or(path).to_owned();
    let ends = format!(".{asked}");
    let named: Vec<_> = all
        .iter()
        .filter(|table| table.path.ends_with(&ends))
        .flat_map(|named| all.iter().filter(|table| inside(table, &named.path)))
        .cloned()
        .collect();
    let exact = by_key(&|key| key.path == asked || key.path.ends_with(&ends));
    // "bed" is a table and a key of several others: both are wanted.
    if !named.is_empty() && exact.is_empty() {
        return Found::Tables(named);
    }
    let of_named = named.into_iter().flat_map(|table| table.keys);
    let mut found: Vec<KeyWords> = exact.into_iter().chain(of_named).collect();
    if found.is_empty() && asked.len() >= 2 {
        let words: Vec<&str> = asked.split('_').collect();
        found = by_key(&|key| name_of(&key.path).contains(&asked));
        if found.is_empty() {
            found = by_key(&|key| key.path.contains(&asked));
        }
        if found.is_empty() {
            found = by_key(&|key| {
                let said = format!("{} {} {}", key.path, key.field.doc, key.if_absent());
                let said = said.to_lowercase().replace(['_', '-'], " ");
                words.iter().all(|word| said.contains(*word))
            });
        }
    }
    if found.is_empty() {
        let names: Vec<String> = keys().map(|key| name_of(&key.path)).collect();
        let near = did_you_mean(&asked, names.iter().map(String::as_str), |near| {
            format!("`{near}`")
        });
        return Found::Nothing(near);
    }
    Found::Keys(found)
}

/// `[[job.pause]]`, `job.pause.1.at` and "Heat break" as paths are written.
fn plain(asked: &str) -> String {
    let asked = asked.trim().trim_matches(['[', ']', '`', '"']);
    let parts: Vec<String> = asked
        .split('.')
        .map(|part| part.trim().to_lowercase().replace([' ', '-'], "_"))
        .filter(|part| part.parse::<usize>().is_err())
        .collect();
    parts.join(".")
}

#[cfg(test)]
mod tests {
    use super::super::problem::{Problem, Problems};
    use super::super::reader::read_source;
    use super::super::section::Origin;
    use super::super::source::Source;
    use super::*;

    /// Each example is read where it is declared: alone under its header, in a file of its kind.
    #[test]
    fn every_key_has_an_example_that_is_read() {
        let mut seen = 0;
        let all = tables();
        for table in all.clone() {
            // Each of a list that is in one of another list.
            let outer = all.iter().filter(|outer| {
                outer.is_list && table.path.starts_with(&format!("{}.", outer.path))
            });
            let outer: String = outer.map(|outer| format!("[[{}]]\n", outer.path)).collect();
            for key in table.keys {
                if matches!(key.field.kind, Kind::Sources) {
                    continue;
                }
                let sample = key.field.sample();
                let header = match (table.path.as_str(), table.is_list) {
                    ("", _) => String::new(),
                    (path, true) => format!("[[{path}]]\n"),
                    (path, false) => format!("[{path}]\n"),
                };
                let source = Source::new("example.toml", format!("{outer}{header}{sample}\n"));
                let root = table.of.map_or(&RUN_FILE, table_of);
                let mut problems: Vec<Problem> = Vec::new();
                let read = read_source(&source, root, Origin::Typed, &mut problems);
                assert!(
                    read.is_some() && problems.is_empty(),
                    "{}",
                    Problems::new(problems)
                );
                seen += 1;
            }
        }
        assert!(seen > 200, "{seen}");
    }

    fn paths(asked: &str) -> Vec<String> {
        match find(asked) {
            Found::Keys(keys) => keys.into_iter().map(|key| key.path).collect(),
            Found::Tables(tables) => tables.into_iter().map(|table| table.header()).collect(),
            Found::Nothing(near) => near.into_iter().collect(),
        }
    }

    #[test]
    fn keys_are_found_by_path_name_part_and_word() {
        assert_eq!(paths("machine.bed.max_power"), ["machine.bed.max_power"]);
        assert_eq!(paths("job.pause.1.duration"), ["job.pause.duration"]);
        assert_eq!(paths("[machine.bed]"), ["[machine.bed]"]);
        assert_eq!(paths("[[job.pause]]"), ["[[job.pause]]"]);
        assert!(paths("machine").contains(&"[machine.feeder.gear]".to_owned()));
        assert_eq!(paths("thermostat"), ["[arrangement.thermostat]"]);
        assert_eq!(paths("pause"), ["[[job.pause]]"]);
        let bed = paths("bed");
        for key in [
            "job.bed",
            "material.bed",
            "machine.bed.max_power",
            "initial.bed",
        ] {
            assert!(bed.contains(&key.to_owned()), "{key}: {bed:?}");
        }
        assert!(paths("Heat break").contains(&"coefficients.heat_break".to_owned()));
        assert_eq!(paths("fumes"), ["material.fumes"]);
        assert!(
            paths("boiler")
                .iter()
                .any(|path| path.starts_with("system."))
        );
        assert_eq!(paths("durration"), ["did you mean `duration`?"]);
        assert!(paths("elephant").is_empty());
    }

    #[test]
    fn words_say_limits_and_what_holds_else() {
        let Found::Keys(keys) = find("machine.bed.max_power") else {
            panic!("one key");
        };
        assert_eq!(
            keys[0].values(System::Si),
            "1 W to 20 kW (usual 50 to 4000 W)"
        );
        assert_eq!(keys[0].if_absent(), "the catalogue's");
        let Found::Keys(keys) = find("room.temperature") else {
            panic!("one key");
        };
        let us = keys[0].values(System::Us);
        assert!(us.starts_with("-22 to 140 degF"), "{us}");
        let Found::Keys(keys) = find("coefficients.bench_resistance") else {
            panic!("one key");
        };
        assert_eq!(keys[0].if_absent(), "0.15 m2 K/W");
        assert_eq!(keys[0].field.sample(), "bench_resistance = \"0.15 m2 K/W\"");
    }

    proptest::proptest! {
        #[test]
        fn no_question_makes_it_panic(asked in "\\PC{0,20}") {
            let _ = find(&asked);
        }
    }
}

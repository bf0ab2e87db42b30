//! A run file's text with some of its keys changed and all else left as it stands: comments, order, blank lines.
//!
//! What a change replaces goes by the rules of [`crate::run::change`], as in a `[[compare]]`: another material brings
//! its own bed and nozzle, what has no fan has no flow.

use crate::keys::fields::RUN_FILE;
use crate::keys::problem::{Problem, Problems, Source};
use crate::keys::reader::{join, read_source};
use crate::keys::section::{Data, Origin, Section};
use crate::run::change::make_way;
use toml_edit::{DocumentMut, Item, Table, TableLike, Value};

/// What is to be changed of a run file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// The key, with its tables and the numbers of places in lists from 1, gets this value, written as TOML.
    Set(String, String),
    /// The key, or the table, is taken out.
    Drop(String),
}

/// The text of a run file with the changes; `by` is who makes them, for messages.
///
/// # Errors
/// When a key is not one of a run file, or its value is none that it takes. Whether values belong together only
/// reading the new text tells.
pub fn changed(text: &str, by: &str, changes: &[Change]) -> Result<String, Problems> {
    if changes.is_empty() {
        return Ok(text.to_owned());
    }
    let mut document: DocumentMut = text
        .parse()
        .map_err(|e| Problem::in_file(by, format!("the run file is no TOML: {e}")))?;
    for key in replaced(text, by, changes)? {
        if !is_set(changes, &key) {
            take_out(&mut document, &key);
        }
    }
    for change in changes {
        match change {
            Change::Drop(key) => take_out(&mut document, key),
            Change::Set(key, value) => {
                let value: Value = value
                    .parse()
                    .map_err(|e| Problem::in_file(by, format!("`{key}`: {e}")))?;
                let parts: Vec<&str> = key.split('.').collect();
                put(document.as_table_mut(), &parts, value)
                    .ok_or_else(|| Problem::in_file(by, format!("the run file has no `{key}`")))?;
            }
        }
    }
    Ok(document.to_string())
}

/// The keys that must not live on beside the changes.
fn replaced(text: &str, by: &str, changes: &[Change]) -> Result<Vec<String>, Problems> {
    let lines = changes.iter().filter_map(|change| match change {
        // Places in lists are no keys of their own; what stands in them replaces nothing else.
        Change::Set(key, value) if !key.split('.').any(is_place) => {
            Some(format!("{key} = {value}\n"))
        }
        _ => None,
    });
    let said: String = lines.collect();
    let mut problems = Vec::new();
    let said = read_source(
        &Source::new(by, &said),
        &RUN_FILE,
        Origin::Typed,
        &mut problems,
    );
    problems.retain(Problem::is_error);
    let (Some(said), true) = (said, problems.is_empty()) else {
        return Err(Problems::new(problems));
    };
    // What is wrong with the text itself is found when it is read whole.
    let source = Source::new(by, text);
    let Some(before) = read_source(&source, &RUN_FILE, Origin::Typed, &mut Vec::new()) else {
        return Ok(Vec::new());
    };
    let mut after = before.clone();
    make_way(&mut after, &said);
    let mut gone = Vec::new();
    missing(&before, Some(&after), "", &mut gone);
    Ok(gone)
}

fn is_place(part: &str) -> bool {
    part.parse::<usize>().is_ok()
}

/// The keys of `before` that `after` lacks, values one by one.
fn missing(before: &Section, after: Option<&Section>, path: &str, gone: &mut Vec<String>) {
    for (key, value) in &before.entries {
        let path = join(path, key);
        match &value.data {
            Data::Section(inner) => {
                missing(inner, after.and_then(|a| a.section(key)), &path, gone);
            }
            _ if after.is_none_or(|a| !a.has(key)) => gone.push(path),
            _ => {}
        }
    }
}

fn is_set(changes: &[Change], key: &str) -> bool {
    changes
        .iter()
        .any(|change| matches!(change, Change::Set(set, _) if set == key))
}

/// Takes a key out; one that is not there may stay away.
fn take_out(document: &mut DocumentMut, key: &str) {
    let parts: Vec<&str> = key.split('.').collect();
    if let Some((last, way)) = parts.split_last()
        && let Some(table) = at(document.as_table_mut(), way)
    {
        table.remove(last);
    }
}

/// The table at the end of a way.
fn at<'a>(table: &'a mut dyn TableLike, way: &[&str]) -> Option<&'a mut dyn TableLike> {
    match way {
        [] => Some(table),
        [list, place, rest @ ..] if is_place(place) => at(entry(table, list, place)?, rest),
        [key, rest @ ..] => at(inside(table, key)?, rest),
    }
}

/// The table at a place, from 1, of the list under a key.
fn entry<'a>(
    table: &'a mut dyn TableLike,
    list: &str,
    place: &str,
) -> Option<&'a mut dyn TableLike> {
    let at = place.parse::<usize>().ok()?.checked_sub(1)?;
    match table.get_mut(list)? {
        Item::ArrayOfTables(all) => Some(all.get_mut(at)?),
        Item::Value(Value::Array(all)) => Some(all.get_mut(at)?.as_inline_table_mut()?),
        _ => None,
    }
}

/// The table under a key.
fn inside<'a>(table: &'a mut dyn TableLike, key: &str) -> Option<&'a mut dyn TableLike> {
    table.get_mut(key)?.as_table_like_mut()
}

/// Puts a value at the end of a way, and makes tables on it that are missing. None where a list has no such place.
fn put(table: &mut dyn TableLike, parts: &[&str], value: Value) -> Option<()> {
    match parts {
        [] => None,
        [key] => {
            replace(table, key, value);
            Some(())
        }
        [list, place, rest @ ..] if is_place(place) => put(entry(table, list, place)?, rest, value),
        [key, rest @ ..] => {
            if !table.contains_key(key) {
                let mut new = Table::new();
                // Inside a table its own lines say it, as people write it: feeder.heat_sink = "...".
                new.set_dotted(rest.len() == 1 && !is_root(table));
                table.insert(key, Item::Table(new));
            }
            put(inside(table, key)?, rest, value)
        }
    }
}

/// Whether a table is a run file's outermost one: all of them have a machine.
fn is_root(table: &dyn TableLike) -> bool {
    table.contains_key("machine") && table.contains_key("run")
}

/// The value in place of what stood at the key; what is written behind it stays.
fn replace(table: &mut dyn TableLike, key: &str, mut value: Value) {
    match table.get_mut(key) {
        Some(Item::Value(old)) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        Some(other) => *other = Item::Value(value),
        None => {
            table.insert(key, Item::Value(value));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::runfile::{DEMO_RUN, parse};

    fn set(key: &str, value: &str) -> Change {
        Change::Set(key.to_owned(), value.to_owned())
    }

    const RUN: &str = "# A run.\n[run]\nname = \"A\" # its name\nstart = \"2026-07-13 07:00\"\nduration = \"20 h\"\n\n\
        [machine]\nname = \"bench-60\"\n\n[material]\nname = \"petg\"\nsoftening_limit = \"70 degC\"\n\n\
        [part]\nmass = \"120 g\"\n\n[job]\nbed = \"70 degC\" # warm\n\n[[job.spool_change]]\nat = \"4 h\"\nuntil = \"5 h\"\n\n\
        [room]\ntemperature = \"24 degC\"\n\n[arrangement]\nkind = \"extracting\" # by a fan\nflow = \"30 m3/h\"\n";

    #[test]
    fn everything_else_stays_as_it_stands() {
        assert_eq!(changed(RUN, "test", &[]).unwrap(), RUN);
        let text = changed(RUN, "test", &[set("job.bed", "\"60 degC\"")]).unwrap();
        assert_eq!(
            text,
            RUN.replace("\"70 degC\" # warm", "\"60 degC\" # warm")
        );
    }

    #[test]
    fn new_keys_stand_in_their_tables() {
        let changes = [
            set("machine.feeder.heat_sink", "\"0.2 W/K\""),
            set("room.shift", "\"2 K\""),
            set("sun.area", "\"900 cm2\""),
        ];
        let text = changed(RUN, "test", &changes).unwrap();
        assert!(
            text.contains("name = \"bench-60\"\nfeeder.heat_sink = \"0.2 W/K\"\n"),
            "{text}"
        );
        assert!(
            text.contains("temperature = \"24 degC\"\nshift = \"2 K\"\n"),
            "{text}"
        );
        assert!(text.contains("[sun]\narea = \"900 cm2\"\n"), "{text}");
        let inline = "run = { start = \"2026-07-13 07:00\", duration = \"6 h\" }\nmachine.name = \"bench-60\"\n\
            material.name = \"petg\"\npart.mass = \"120 g\"\nroom.temperature = \"24 degC\"\n";
        let text = changed(inline, "test", &changes[..2]).unwrap();
        let run = parse(&text, "t", None, &Catalogue::embedded()).unwrap().run;
        assert!(
            (run.machine.feeder.heat_sink_W_per_K - 0.2).abs() < 1e-12,
            "{text}"
        );
    }

    /// The rules are those of `[[compare]]`: both ways give the same run.
    #[test]
    fn a_changed_text_is_the_run_of_a_compare_with_the_same_change() {
        let changes = [
            ("arrangement.kind", "\"closed\""),
            ("arrangement.kind", "\"lid off\""),
            ("material.name", "\"pla\""),
            ("room.mean", "\"28 degC\""),
            ("job.bed", "\"50 degC\""),
        ];
        for (key, value) in changes {
            let also = if key == "room.mean" {
                "room.swing = \"3 K\"\n"
            } else {
                ""
            };
            let compare = format!("{RUN}\n[[compare]]\nname = \"B\"\n{key} = {value}\n{also}");
            let compared = parse(&compare, "t", None, &Catalogue::embedded()).unwrap();
            let mut all = vec![set(key, value)];
            if !also.is_empty() {
                all.push(set("room.swing", "\"3 K\""));
            }
            let text = changed(RUN, "test", &all).unwrap();
            let run = parse(&text, "t", None, &Catalogue::embedded()).unwrap().run;
            assert_eq!(run, compared.compare[0].run, "{key}\n{text}");
        }
    }

    #[test]
    fn places_in_lists_can_be_changed() {
        let changes = [
            Change::Drop("job.spool_change.1.until".to_owned()),
            set("job.spool_change.1.duration", "\"9 min\""),
        ];
        let text = changed(RUN, "test", &changes).unwrap();
        assert!(
            text.contains("at = \"4 h\"\nduration = \"9 min\"\n"),
            "{text}"
        );
        let changes = [set(
            "job.spool_change",
            "[{ at = \"3 h\", duration = \"4 min\" }]",
        )];
        let text = changed(RUN, "test", &changes).unwrap();
        let run = parse(&text, "t", None, &Catalogue::embedded()).unwrap().run;
        assert!(
            run.phases
                .iter()
                .any(|p| (p.begin_s - 10_800.0).abs() < 1e-6),
            "{text}"
        );
    }

    #[test]
    fn what_no_key_takes_is_told_in_the_readers_words() {
        let told = |key: &str, value: &str| {
            changed(DEMO_RUN, "the page", &[set(key, value)])
                .unwrap_err()
                .to_string()
        };
        assert!(told("job.bed", "\"60\"").contains("has no unit"));
        assert!(told("job.bed", "\"6000 degC\"").contains("job.bed"));
        assert!(told("job.bad", "\"60 degC\"").contains("bed"));
        assert!(told("job.bed", "nan").contains("job.bed"));
    }
}

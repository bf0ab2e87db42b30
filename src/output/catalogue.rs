//! The catalogue as text and JSON.

use std::fmt::Write;

use serde_json::{Value, json};

use super::explain::values;
use super::json::SCHEMA;
use super::screen::Screen;
use crate::catalogue::{Catalogue, Entry, Kind};
use crate::keys::Origin;

/// All entries, one a line.
#[must_use]
pub fn list(catalogue: &Catalogue, screen: Screen) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    for kind in Kind::ALL {
        let _ = writeln!(out, "{}", capital(kind.folder()));
        let names = catalogue.list(kind).map(|e| e.name.chars().count());
        let width = names.max().unwrap_or(0);
        for entry in catalogue.list(kind) {
            let own = if entry.is_embedded { "" } else { " (yours)" };
            let text = format!("{}{own}", entry.title());
            let indent = |name: &str| format!("  {name:<width$}  ");
            screen.hanging(&mut out, &indent(&entry.name), &indent(""), &text);
        }
        out.push('\n');
    }
    screen.paragraph(
        &mut out,
        "`dogdays catalogue NAME` shows one with its values and sources.",
    );
    out
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

/// One entry: its values, what they mean and where they come from, its notes.
#[must_use]
pub fn show(entry: &Entry, screen: Screen) -> String {
    let mut out = String::new();
    let _ = write_entry(&mut out, entry, screen);
    out
}

fn write_entry(o: &mut String, entry: &Entry, screen: Screen) -> std::fmt::Result {
    screen.paragraph(o, &format!("{} ({})", entry.name, entry.kind.name()));
    screen.paragraph(o, &entry.title());
    writeln!(o)?;
    let indented = |o: &mut String, text: &str| screen.hanging(o, "    ", "    ", text);
    let sources = entry.sources();
    for s in entry.values() {
        if matches!(s.key.as_str(), "title" | "notes") {
            continue;
        }
        let default = if s.origin == Origin::Default {
            "  (default)"
        } else {
            ""
        };
        screen.hanging(
            o,
            "",
            "    ",
            &format!("{} = {}{default}", s.key, s.value_in(screen.system)),
        );
        indented(o, s.doc);
        if let Some((_, source)) = sources.iter().find(|(key, _)| *key == s.key) {
            indented(o, &format!("Source: {source}"));
        }
    }
    // Sources that speak for several keys at once.
    let keys: Vec<String> = entry.values().into_iter().map(|s| s.key).collect();
    let rest: Vec<_> = sources.iter().filter(|(k, _)| !keys.contains(k)).collect();
    if !rest.is_empty() {
        writeln!(o, "\nSources")?;
        for (key, source) in rest {
            indented(o, &format!("{key}: {source}"));
        }
    }
    let notes = entry.notes();
    if !notes.is_empty() {
        writeln!(o, "\nNotes")?;
        indented(o, &notes);
    }
    let built_in = if entry.is_embedded {
        "Built in:"
    } else {
        "From"
    };
    writeln!(o)?;
    screen.paragraph(o, &format!("{built_in} {}", entry.file()));
    Ok(())
}

/// All entries as JSON.
#[must_use]
pub fn list_json(catalogue: &Catalogue) -> Value {
    let entries: Vec<Value> = Kind::ALL
        .iter()
        .flat_map(|kind| catalogue.list(*kind))
        .map(head)
        .collect();
    json!({ "schema": SCHEMA, "entries": entries })
}

/// One or several entries of a name as JSON; values are texts with their units.
#[must_use]
pub fn show_json(entries: &[&Entry]) -> Value {
    let full = entries.iter().map(|entry| {
        let mut value = head(entry);
        value["notes"] = json!(entry.notes());
        value["file"] = json!(entry.file());
        value["values"] = json!(values(&entry.values()));
        value["sources"] = entry
            .sources()
            .into_iter()
            .map(|(key, source)| (key, Value::String(source)))
            .collect::<serde_json::Map<_, _>>()
            .into();
        value
    });
    json!({ "schema": SCHEMA, "entries": full.collect::<Vec<_>>() })
}

fn head(entry: &Entry) -> Value {
    json!({
        "kind": entry.kind.name(),
        "name": entry.name,
        "title": entry.title(),
        "built_in": entry.is_embedded,
    })
}

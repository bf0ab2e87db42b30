//! The keys in words: as a page of the handbook, for a screen, as JSON, for the manual.

use std::fmt::Write;

use serde_json::{Value, json};

use super::json::SCHEMA;
use super::screen::Screen;
use crate::keys::reference::{Found, KeyWords, TableWords, tables};
use crate::quantity::System;

/// More keys than these are listed without what is said of each.
const MOST_IN_FULL: usize = 12;

/// What was found, as text.
#[must_use]
pub fn text(found: &Found, screen: Screen) -> String {
    let mut out = String::new();
    match found {
        Found::Tables(tables) => {
            for (at, table) in tables.iter().enumerate() {
                if at > 0 {
                    out.push('\n');
                }
                whole_table(&mut out, table, screen);
            }
        }
        Found::Keys(keys) if keys.len() <= MOST_IN_FULL => {
            for (at, key) in keys.iter().enumerate() {
                if at > 0 {
                    out.push('\n');
                }
                whole_key(&mut out, key, &key.path, screen);
            }
        }
        Found::Keys(keys) => {
            let lines = keys.iter().map(|key| (key.path.clone(), key.field.doc));
            listed(&mut out, &lines.collect::<Vec<_>>(), screen);
            out.push('\n');
            screen.paragraph(&mut out, "`dogdays explain KEY` says more of one of them.");
        }
        Found::Nothing(_) => {}
    }
    out
}

/// Every table in a line, for whoever asks for nothing in particular.
#[must_use]
pub fn overview(screen: Screen) -> String {
    let mut out = String::new();
    let lines: Vec<_> = tables().iter().map(|t| (t.header(), t.doc)).collect();
    listed(&mut out, &lines, screen);
    out.push('\n');
    screen.paragraph(
        &mut out,
        "`dogdays explain TABLE` lists its keys, `dogdays explain WORD` those that have to do with it.",
    );
    out
}

/// Names, each with the first sentence of what is said of it: beside it, or below where there is no room.
fn listed(o: &mut String, lines: &[(String, &str)], screen: Screen) {
    let width = lines.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
    for (name, doc) in lines {
        if width + 32 <= screen.width {
            let (first, others) = (format!("{name:<width$}  "), " ".repeat(width + 2));
            screen.hanging(o, &first, &others, first_sentence(doc));
        } else {
            screen.paragraph(o, name);
            screen.hanging(o, "    ", "    ", first_sentence(doc));
        }
    }
}

fn first_sentence(doc: &str) -> &str {
    doc.find(". ").map_or(doc, |at| &doc[..=at])
}

fn whole_table(o: &mut String, table: &TableWords, screen: Screen) {
    screen.paragraph(o, &table.header());
    screen.paragraph(o, table.doc);
    for key in &table.keys {
        o.push('\n');
        whole_key(o, key, key.field.key, screen);
    }
}

fn whole_key(o: &mut String, key: &KeyWords, name: &str, screen: Screen) {
    screen.hanging(o, "", "    ", name);
    for text in [
        key.field.doc.to_owned(),
        format!("Values: {}", key.values(screen.system)),
        format!("If absent: {}", key.if_absent()),
        format!("Example: {}", key.field.sample()),
    ] {
        screen.hanging(o, "    ", "      ", &text);
    }
}

/// What was found, as JSON.
#[must_use]
pub fn json(found: &Found) -> Value {
    let keys: Vec<Value> = match found {
        Found::Tables(tables) => tables.iter().flat_map(|t| &t.keys).map(key_json).collect(),
        Found::Keys(keys) => keys.iter().map(key_json).collect(),
        Found::Nothing(_) => Vec::new(),
    };
    json!({ "schema": SCHEMA, "keys": keys })
}

/// Every key, as JSON.
#[must_use]
pub fn json_of_all() -> Value {
    json(&Found::Tables(tables()))
}

fn key_json(key: &KeyWords) -> Value {
    json!({
        "key": key.path,
        "meaning": key.field.doc,
        "values": key.values(System::Si),
        "if_absent": key.if_absent(),
        "example": key.field.sample(),
    })
}

/// The page of the handbook, in Markdown.
#[must_use]
pub fn page() -> String {
    let mut out = String::from(
        "# Every key of a run file\n\n\
        Made by `dogdays explain --page` from the same declarations by which files are checked; a test keeps it so. On the\n\
        screen, `dogdays explain` finds keys by name or word.\n\n\
        Values stand with their unit in quotes (`\"60 degC\"`, `\"140 degF\"`); plain numbers, shares and `true` or `false` stand\n\
        without. A key outside the limits is an error, one outside the usual range a hint.\n",
    );
    for table in tables() {
        // Writing to a string cannot fail.
        let _ = page_table(&mut out, &table);
    }
    out
}

fn page_table(o: &mut String, table: &TableWords) -> std::fmt::Result {
    let title = if table.path.is_empty() {
        let header = table.header();
        let mut letters = header.chars();
        let first = letters.next().map(|c| c.to_uppercase().to_string());
        format!("{}{}", first.unwrap_or_default(), letters.as_str())
    } else if let Some(kind) = table.of {
        format!("`{}` in a {}'s file", table.header(), kind.name())
    } else {
        format!("`{}`", table.header())
    };
    writeln!(o, "\n## {title}\n\n{}\n", table.doc)?;
    if table.keys.is_empty() {
        return Ok(());
    }
    writeln!(o, "| key | meaning | values | if absent | example |")?;
    writeln!(o, "| --- | --- | --- | --- | --- |")?;
    for key in &table.keys {
        writeln!(
            o,
            "| `{}` | {} | {} | {} | `{}` |",
            key.field.key,
            cell(key.field.doc),
            cell(&key.values(System::Si)),
            cell(&key.if_absent()),
            key.field.sample().replace('|', "\\|"),
        )?;
    }
    Ok(())
}

/// A text as it may stand in a cell.
fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('<', "&lt;")
}

/// The section of the manual, in roff.
#[must_use]
pub fn manual() -> String {
    let mut out = String::from(".SH \"KEYS OF A RUN FILE\"\n");
    for table in tables() {
        let _ = manual_table(&mut out, &table);
    }
    out
}

fn manual_table(o: &mut String, table: &TableWords) -> std::fmt::Result {
    writeln!(o, ".SS \"{}\"\n{}", table.header(), roff(table.doc))?;
    for key in &table.keys {
        writeln!(o, ".TP\n\\fB{}\\fR", roff(key.field.key))?;
        writeln!(
            o,
            "{} Values: {}. If absent: {}. Example: {}",
            roff(key.field.doc),
            roff(&key.values(System::Si)),
            roff(&key.if_absent()),
            roff(&key.field.sample()),
        )?;
    }
    Ok(())
}

/// A text as roff takes it: no line begins with a request.
fn roff(text: &str) -> String {
    let text = text.replace('\\', "\\e").replace('-', "\\-");
    if text.starts_with(['.', '\'']) {
        format!("\\&{text}")
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::keys::reference::find;

    #[test]
    fn a_key_on_the_screen() {
        let text = text(&find("job.pause.duration"), Screen::new(80, System::Si));
        insta::assert_snapshot!(text, @r#"
        job.pause.duration
            How long it lasts.
            Values: 1 s to 366 days (usual 30 s to 48 h)
            If absent: until says when it ends
            Example: duration = "20 min"
        "#);
    }

    #[test]
    fn many_keys_are_listed_shortly_and_narrow_screens_hold() {
        let found = find("bed");
        let text = text(&found, Screen::new(60, System::Si));
        assert!(
            text.lines().all(|line| line.chars().count() <= 60),
            "{text}"
        );
        assert!(text.contains("machine.bed.max_power"));
        assert!(overview(Screen::new(80, System::Si)).contains("[arrangement.thermostat]"));
    }

    #[test]
    fn every_key_is_in_the_manual_and_in_json() {
        let (manual, json) = (manual(), json_of_all().to_string());
        for table in tables() {
            for key in table.keys {
                assert!(manual.contains(&roff(key.field.key)), "{}", key.path);
                assert!(json.contains(&format!("\"{}\"", key.path)), "{}", key.path);
            }
        }
        assert!(!manual.contains("\n.\n") && !manual.contains("\n'"));
    }
}

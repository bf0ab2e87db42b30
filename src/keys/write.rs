//! Tables written as files have them: the opposite of reading.

use super::schema::{Field, Kind, Range, Table};
use super::section::{Data, Origin, Section, Value};
use crate::quantity::trimmed;
use std::fmt::Write;

/// The values of a table that someone wrote or a study found, as a file has them; what is left to defaults is left
/// away. `path` is the table's own header.
pub(crate) fn table(section: &Section, path: &str, schema: &'static Table, out: &mut String) {
    let written = |field: &&Field| {
        let value = section.entries.get(field.key);
        value.filter(|value| value.origin != Origin::Default)
    };
    // What follows a header belongs to it: plain values go first.
    for field in schema.fields {
        if let Some(value) = written(&field)
            && let Some(text) = single(value, field)
        {
            let _ = writeln!(out, "{} = {text}", field.key);
        }
        if let Some(Value {
            data: Data::List(list),
            ..
        }) = written(&field)
            && let Kind::List(schema) = field.kind
        {
            let _ = writeln!(out, "{} = [", field.key);
            for item in list {
                let _ = writeln!(out, "    {{ {} }},", in_a_line(item, schema));
            }
            out.push_str("]\n");
        }
    }
    for field in schema.fields {
        let Some(value) = written(&field) else {
            continue;
        };
        let path = super::reader::join(path, field.key);
        match (&value.data, field.kind) {
            (Data::Section(inner), Kind::Table(schema)) => {
                let _ = writeln!(out, "\n[{path}]");
                table(inner, &path, schema, out);
            }
            (Data::Section(inner), Kind::Panel(schema)) if panel_name(inner).is_none() => {
                let _ = writeln!(out, "\n[{path}]");
                table(inner, &path, schema, out);
            }
            (Data::Sources(list), _) => {
                let _ = writeln!(out, "\n[{path}]");
                for (key, source) in list {
                    let _ = writeln!(out, "{} = {}", quoted(key), quoted(source));
                }
            }
            _ => {}
        }
    }
}

/// A table of a list: no list of a machine has tables inside.
fn in_a_line(item: &Section, schema: &'static Table) -> String {
    let values = schema.fields.iter().filter_map(|field| {
        let value = item.entries.get(field.key)?;
        let text = single(value, field).filter(|_| value.origin != Origin::Default)?;
        Some(format!("{} = {text}", field.key))
    });
    values.collect::<Vec<_>>().join(", ")
}

/// A value that stands in one line.
fn single(value: &Value, field: &Field) -> Option<String> {
    match (&value.data, field.kind) {
        (Data::Number(si), Kind::Quantity(range)) => Some(quantity(*si, value.within, &range)),
        (Data::Number(number), _) => Some(trimmed(*number)),
        (Data::Text(text), _) => Some(quoted(text)),
        (Data::Bool(flag), _) => Some(flag.to_string()),
        (Data::Section(inner), Kind::Panel(_)) => panel_name(inner).map(quoted),
        _ => None,
    }
}

fn quantity(si: f64, within: Option<f64>, range: &Range) -> String {
    let text = range.quantity.to_text(si, range.unit);
    match within {
        Some(by) => quoted(&format!("{text} ± {}", range.difference_text(by).0)),
        None if range.quantity.may_be_bare() && text.parse::<f64>().is_ok() => text,
        None => quoted(&text),
    }
}

/// The name of a panel that is as the catalogue has it.
fn panel_name(panel: &Section) -> Option<&str> {
    let name = panel.text("name")?;
    let is_its = |value: &Value| match &value.origin {
        Origin::Catalogue(entry) => **entry == *name,
        origin => *origin == Origin::Default,
    };
    let is_whole = panel.entries.values().all(|value| {
        is_its(value)
            && match &value.data {
                Data::List(list) => list.iter().all(|item| item.entries.values().all(is_its)),
                _ => true,
            }
    });
    is_whole.then_some(name)
}

/// A TOML basic string.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// TOML 1.0: quotation mark, backslash and control characters must be escaped.
    #[test]
    fn names_with_quotes_and_line_ends_stay_one_value() {
        for name in ["a \"b\" \\ c", "two\nlines", "tab\there", "Gehäuse ü"] {
            let text = format!("name = {}", quoted(name));
            let table: toml::Table = toml::from_str(&text).expect("is TOML");
            assert_eq!(table["name"].as_str(), Some(name));
        }
    }
}

//! The JSON Schema of a run file, made from the declared keys, for editors that check TOML while
//! one types.
//!
//! It says what a schema can say: keys, kinds of value, units, words, whole numbers' limits. The
//! limits of quantities, and what belongs together, only the program checks.

use super::fields::RUN_FILE;
use super::kinds::Kind as EntryKind;
use super::schema::{Field, Kind, Need, Range, Table};
use crate::quantity::Quantity;
use serde_json::{Map, Value, json};

/// The names that are known of each kind of entry.
pub type Names<'a> = &'a dyn Fn(EntryKind) -> Vec<String>;

/// A moment by the clock: a day or none, and a time of day.
const CLOCK: &str = r"^\s*((\d{4}-\d{2}-\d{2}|[Dd]ay \d+|[A-Za-z]{3,9}\.?)[ Tt,]+(at )?)?\d{1,2}(:\d{2}){0,2}( ?([AaPp][Mm]))?\s*$";

/// The schema of a run file (JSON Schema, draft 2020-12). Names in the catalogue are offered, but
/// others are allowed: a user's own folder may hold them.
#[must_use]
pub fn json_schema(names: Names<'_>) -> Value {
    let mut schema = table(&RUN_FILE, false, names);
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("dogdays run file");
    schema
}

/// A table. In a partial one, nothing is required: the catalogue's entry fills it up.
fn table(table: &'static Table, partial: bool, names: Names<'_>) -> Value {
    let by_name = table
        .fields
        .iter()
        .any(|field| matches!(field.kind, Kind::Name(_)) && field.need != Need::Required);
    let inner_partial = partial || by_name;
    let properties: Map<String, Value> = table
        .fields
        .iter()
        .map(|f| (f.key.to_owned(), field(f, inner_partial, names)))
        .collect();
    let required: Vec<&str> = table
        .fields
        .iter()
        .filter(|f| f.need == Need::Required)
        .map(|f| f.key)
        .collect();
    let mut schema = json!({
        "type": "object",
        "description": table.doc,
        "properties": properties,
        "additionalProperties": false,
    });
    if partial || required.is_empty() {
        return schema;
    }
    if by_name {
        schema["if"] = json!({ "required": ["name"] });
        schema["else"] = json!({ "required": required });
    } else {
        schema["required"] = json!(required);
    }
    schema
}

fn field(f: &Field, partial: bool, names: Names<'_>) -> Value {
    let mut schema = match f.kind {
        Kind::Quantity(range) => quantity(range),
        Kind::Integer(low, high) => json!({ "type": "integer", "minimum": low, "maximum": high }),
        Kind::Text | Kind::File => json!({ "type": "string", "minLength": 1 }),
        Kind::Bool => json!({ "type": "boolean" }),
        Kind::Choice(words) => json!({ "enum": words }),
        Kind::Name(kind) => name(kind, names),
        Kind::Panel(inner) => json!({
            "anyOf": [name(EntryKind::Panel, names), table(inner, partial, names)],
        }),
        // Local, so without an offset; seconds may be left away.
        Kind::DateTime => json!({
            "type": "string",
            "pattern": r"^\d{4}-\d{2}-\d{2}[ Tt]\d{2}:\d{2}(:\d{2}(\.\d+)?)?$",
        }),
        Kind::Date => json!({ "type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}$" }),
        Kind::TimeOfDay => json!({
            "type": "string",
            "pattern": r"^\s*(\d{1,2}(:\d{2}){1,2}|\d{1,2}(:\d{2}){0,2} ?[AaPp][Mm])\s*$",
        }),
        Kind::Moment(range) => json!({
            "anyOf": [quantity(range), { "type": "string", "pattern": CLOCK }],
        }),
        Kind::Table(inner) => table(inner, partial, names),
        Kind::List(inner) => json!({ "type": "array", "items": table(inner, false, names) }),
        Kind::Guesses => json!({ "type": "object" }),
        Kind::Sources => json!({
            "type": "object",
            "additionalProperties": { "type": "string" },
        }),
    };
    schema["description"] = json!(description(f));
    schema
}

/// What the key means, its range and what happens when it is absent.
fn description(f: &Field) -> String {
    let mut text = f.doc.to_owned();
    if let Kind::Quantity(range) | Kind::Moment(range) = f.kind {
        text.push_str(&format!(" From {}.", range.limits_text(range.hard)));
    }
    match f.need {
        Need::Required => {}
        Need::Default("") => {}
        Need::Default(value) => text.push_str(&format!(" If absent: {value}.")),
        Need::Optional(what) | Need::Tacit(_, what) => {
            text.push_str(&format!(" If absent: {what}."))
        }
    }
    text
}

/// A name: those of the catalogue are offered, others allowed.
fn name(kind: EntryKind, names: Names<'_>) -> Value {
    json!({ "anyOf": [{ "enum": names(kind) }, { "type": "string", "minLength": 1 }] })
}

fn quantity(range: Range) -> Value {
    let text = json!({ "type": "string", "pattern": pattern(range.quantity) });
    if range.quantity.may_be_bare() {
        let (low, high) = range.hard;
        let number = json!({ "type": "number", "minimum": low, "maximum": high });
        json!({ "anyOf": [number, text] })
    } else {
        text
    }
}

/// A regular expression for a number with one of the quantity's units, in every spelling that
/// [`crate::quantity::parse`] takes.
fn pattern(quantity: Quantity) -> String {
    const NUMBER: &str = r"[+\-−–]?(\d+\.?\d*|\.\d+)([eE][+\-]?\d+)?";
    let mut units: Vec<String> = quantity
        .units()
        .iter()
        .flat_map(|unit| std::iter::once(unit.symbol).chain(unit.aliases.iter().copied()))
        .map(unit_pattern)
        .collect();
    if quantity == Quantity::Temperature {
        units.extend(["℃".to_owned(), "℉".to_owned()]);
    }
    let one = format!(r"{NUMBER}\s*({})\s*", units.join("|"));
    if quantity == Quantity::Time {
        // "5 day 1 h".
        format!(r"^\s*({one})+$")
    } else {
        // How well it is known may stand behind it, and the unit there alone.
        let known = format!(r"(±|\+/?-)\s*{NUMBER}\s*({}|%)\s*", units.join("|"));
        format!(r"^\s*({one}({known})?|{NUMBER}\s*{known})$")
    }
}

fn unit_pattern(symbol: &str) -> String {
    let mut out = String::new();
    let mut rest = symbol;
    while let Some(c) = rest.chars().next() {
        if let Some(after) = rest.strip_prefix("deg") {
            out.push_str(r"(deg|°|º)\s*");
            rest = after;
            continue;
        }
        match c {
            '2' => out.push_str(r"\^?[2²]"),
            '3' => out.push_str(r"\^?[3³]"),
            ' ' => out.push_str(r"[\s·⋅×*]*"),
            '(' | ')' => out.push_str(&format!(r"\{c}?")),
            '/' => out.push_str(r"\s*/\s*"),
            c => out.push(c),
        }
        rest = &rest[c.len_utf8()..];
    }
    out
}

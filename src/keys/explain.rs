//! The run as understood: each value, its unit, and where it came from.

use super::reader::join;
use super::schema::{Kind, Need, Table};
use super::section::{Data, Origin, Section, Value};

/// A value of a run and where it came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stated {
    /// Key with its tables: `machine.bed.max_power`.
    pub key: String,
    /// The value as a run file would write it, without quotes.
    pub value: String,
    /// Where it came from.
    pub origin: Origin,
    /// File and line in which it stands, where it stands in one.
    pub place: Option<(String, usize)>,
    /// What it means.
    pub doc: &'static str,
}

/// All values of a section that the schema declares, in the schema's order.
pub(crate) fn explain(
    section: &Section,
    path: &str,
    schema: &'static Table,
    out: &mut Vec<Stated>,
) {
    for field in schema.fields {
        let Some(value) = section.entries.get(field.key) else {
            continue;
        };
        if matches!(field.need, Need::Tacit(..)) && value.origin == Origin::Default {
            continue;
        }
        let key = join(path, field.key);
        match (&value.data, field.kind) {
            (Data::Section(inner), Kind::Panel(schema)) => {
                // A panel's name says more than its layers; those follow it.
                if let Some(name) = inner.text("name") {
                    out.push(stated(key.clone(), name.to_owned(), value, field.doc));
                }
                explain(inner, &key, schema, out);
            }
            (Data::Section(inner), Kind::Table(schema)) => explain(inner, &key, schema, out),
            (Data::List(list), Kind::List(schema)) => {
                for (at, inner) in list.iter().enumerate() {
                    explain(inner, &format!("{key}.{}", at + 1), schema, out);
                }
            }
            (Data::Sources(_) | Data::Bad, _) => {}
            (data, kind) => {
                if let Some(text) = text_of(data, kind) {
                    out.push(stated(key, text, value, field.doc));
                }
            }
        }
    }
}

fn stated(key: String, text: String, value: &Value, doc: &'static str) -> Stated {
    let place = value.mark.as_ref().map(|mark| {
        let (line, _) = mark.source.line_and_column(mark.span.start);
        (mark.source.name.clone(), line)
    });
    Stated {
        key,
        value: text,
        origin: value.origin.clone(),
        place,
        doc,
    }
}

fn text_of(data: &Data, kind: Kind) -> Option<String> {
    match (data, kind) {
        (Data::Number(si), Kind::Quantity(range)) => Some(range.quantity.to_text(*si, range.unit)),
        (Data::Number(hours), Kind::TimeOfDay) => {
            let minutes = (hours * 60.0).round();
            Some(format!(
                "{:02}:{:02}",
                (minutes / 60.0).floor(),
                minutes % 60.0
            ))
        }
        (Data::Number(number), _) => Some(format!("{number}")),
        (Data::Text(text), _) => Some(text.clone()),
        (Data::Bool(flag), _) => Some(flag.to_string()),
        (Data::DateTime(time), _) => Some(time.strftime("%Y-%m-%d %H:%M").to_string()),
        _ => None,
    }
}

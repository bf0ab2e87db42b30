//! Fills in what a file leaves away, and reports what it must not leave away.

use super::moment::{TimeOfDay, local_date_time};
use super::problem::{Mark, Problem};
use super::reader::join;
use super::schema::{Field, Kind, Need, Table};
use super::section::{Data, Origin, Section, Value};
use crate::quantity::parse;
use std::sync::Arc;

/// Fills in defaults and reports required keys that are absent, all the way down.
pub(crate) fn complete(
    section: &mut Section,
    path: &str,
    schema: &'static Table,
    file: &str,
    problems: &mut Vec<Problem>,
) {
    let header = section.mark.clone();
    let mut missing: Vec<&Field> = Vec::new();
    for field in schema.fields {
        let field_path = join(path, field.key);
        match section
            .entries
            .get_mut(field.key)
            .map(|value| &mut value.data)
        {
            Some(Data::Section(inner)) => {
                if let Kind::Table(schema) | Kind::Panel(schema) = field.kind {
                    complete(Arc::make_mut(inner), &field_path, schema, file, problems);
                }
            }
            Some(Data::List(list)) => {
                if let Kind::List(schema) = field.kind {
                    for (at, inner) in list.iter_mut().enumerate() {
                        let item_path = format!("{field_path}.{}", at + 1);
                        complete(inner, &item_path, schema, file, problems);
                    }
                }
            }
            Some(_) => {}
            None => match field.need {
                Need::Optional(_) => {}
                Need::Required => {
                    missing.push(field);
                    let bad = Value {
                        data: Data::Bad,
                        mark: None,
                        origin: Origin::Default,
                        within: None,
                    };
                    section.entries.insert(field.key, bad);
                }
                Need::Default(text) | Need::Tacit(text, _) => {
                    let data = default_data(field, text, &field_path, file, problems);
                    section.entries.insert(
                        field.key,
                        Value {
                            data,
                            mark: None,
                            origin: Origin::Default,
                            within: None,
                        },
                    );
                }
            },
        }
    }
    report_missing(
        &missing,
        section,
        path,
        schema,
        header.as_ref(),
        file,
        problems,
    );
}

/// One problem for all the tables that a table lacks, and one for all its other keys: a machine
/// that is only half described would else fill the screen.
fn report_missing(
    missing: &[&Field],
    section: &Section,
    path: &str,
    schema: &'static Table,
    header: Option<&Mark>,
    file: &str,
    problems: &mut Vec<Problem>,
) {
    let is_table = |field: &&&Field| matches!(field.kind, Kind::Table(_) | Kind::List(_));
    let tables: Vec<&Field> = missing.iter().filter(is_table).copied().collect();
    let keys: Vec<&Field> = missing.iter().filter(|f| !is_table(f)).copied().collect();
    // Whoever describes half a machine may want the other half from the catalogue.
    let or_name = match schema.fields.first() {
        Some(Field {
            key,
            kind: Kind::Name(kind),
            ..
        }) if !section.has(key) => {
            format!(
                " Or add {key} = \"...\" to take the rest from a {} of the catalogue.",
                kind.name()
            )
        }
        _ => String::new(),
    };
    let place = if path.is_empty() {
        "this file".to_owned()
    } else {
        format!("[{path}]")
    };
    let mut report = |message: String, help: String| {
        let problem = Problem::at_or_in(header, file, message).help(help + &or_name);
        problems.push(problem);
    };
    let names = |fields: &[&Field]| {
        let names: Vec<_> = fields.iter().map(|field| field.key).collect();
        format!("`{}`", names.join("`, `"))
    };
    match keys[..] {
        [] => {}
        [one] => report(
            format!("{place} needs {}", names(&[one])),
            format!("add {}. {}", one.sample(), one.doc),
        ),
        _ => {
            let samples: Vec<_> = keys.iter().map(|field| field.sample()).collect();
            report(
                format!("{place} needs {}", names(&keys)),
                format!("add, with your values, {}.", samples.join(", ")),
            );
        }
    }
    let header_of = |field: &Field| {
        let name = join(path, field.key);
        if matches!(field.kind, Kind::List(_)) {
            format!("[[{name}]]")
        } else {
            format!("[{name}]")
        }
    };
    match tables[..] {
        [] => {}
        [one] => report(
            format!(
                "{}{} is missing",
                if matches!(one.kind, Kind::List(_)) {
                    "at least one "
                } else {
                    "the table "
                },
                header_of(one)
            ),
            format!(
                "add a line {} and its keys below it. {}",
                header_of(one),
                one.doc
            ),
        ),
        _ => {
            let headers: Vec<_> = tables.iter().map(|field| header_of(field)).collect();
            report(
                format!("the tables {} are missing", headers.join(", ")),
                "add a line with each of these headers and its keys below it.".to_owned(),
            );
        }
    }
}

fn default_data(
    field: &Field,
    text: &str,
    path: &str,
    file: &str,
    problems: &mut Vec<Problem>,
) -> Data {
    match field.kind {
        Kind::Quantity(range) | Kind::Moment(range) => {
            parse(text, range.quantity).map_or(Data::Bad, Data::Number)
        }
        Kind::Integer(..) => text.parse().map_or(Data::Bad, Data::Number),
        Kind::Bool => Data::Bool(text == "true"),
        Kind::TimeOfDay => {
            TimeOfDay::parse(text).map_or(Data::Bad, |time| Data::Number(time.seconds() / 3_600.0))
        }
        Kind::DateTime | Kind::Date => local_date_time(text).map_or(Data::Bad, Data::DateTime),
        Kind::Text | Kind::Choice(_) | Kind::Name(_) | Kind::File | Kind::Panel(_) => {
            Data::Text(text.to_owned())
        }
        Kind::Table(schema) => {
            let mut inner = Section::default();
            complete(&mut inner, path, schema, file, problems);
            Data::Section(Arc::new(inner))
        }
        Kind::List(_) => Data::List(Vec::new()),
        Kind::Sources => Data::Sources(Vec::new()),
        Kind::Guesses => Data::Guesses(Vec::new()),
    }
}

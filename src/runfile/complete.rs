//! Fills in what a file leaves away, and reports what it must not leave away.

use super::problem::{Mark, Problem};
use super::reader::{join, local_date_time};
use super::schema::{Field, Kind, Need, Table};
use super::section::{Data, Origin, Section, Value};
use crate::quantity::parse;
use jiff::civil::Time;

/// Fills in defaults and reports required keys that are absent, all the way down.
pub(crate) fn complete(
    section: &mut Section,
    path: &str,
    schema: &'static Table,
    file: &str,
    problems: &mut Vec<Problem>,
) {
    let header = section.mark.clone();
    for field in schema.fields {
        let field_path = join(path, field.key);
        match section
            .entries
            .get_mut(field.key)
            .map(|value| &mut value.data)
        {
            Some(Data::Section(inner)) => {
                if let Kind::Table(schema) | Kind::Panel(schema) = field.kind {
                    complete(inner, &field_path, schema, file, problems);
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
                    problems.push(missing(field, path, header.as_ref(), file));
                    section.entries.insert(
                        field.key,
                        Value {
                            data: Data::Bad,
                            mark: None,
                            origin: Origin::Default,
                        },
                    );
                }
                Need::Default(text) => {
                    let data = default_data(field, text, &field_path, file, problems);
                    section.entries.insert(
                        field.key,
                        Value {
                            data,
                            mark: None,
                            origin: Origin::Default,
                        },
                    );
                }
            },
        }
    }
}

fn missing(field: &Field, path: &str, header: Option<&Mark>, file: &str) -> Problem {
    let (what, help) = match field.kind {
        Kind::Table(_) => {
            let name = join(path, field.key);
            (
                format!("the table [{name}] is missing"),
                format!("add a line [{name}]. {}", field.doc),
            )
        }
        Kind::List(_) => {
            let name = join(path, field.key);
            (
                format!("at least one [[{name}]] is needed"),
                format!("add a line [[{name}]]. {}", field.doc),
            )
        }
        _ => {
            let place = if path.is_empty() {
                "this file".to_owned()
            } else {
                format!("[{path}]")
            };
            (
                format!("{place} needs `{}`", field.key),
                format!("add {}. {}", field.sample(), field.doc),
            )
        }
    };
    Problem::at_or_in(header, file, what).help(help)
}

fn default_data(
    field: &Field,
    text: &str,
    path: &str,
    file: &str,
    problems: &mut Vec<Problem>,
) -> Data {
    match field.kind {
        Kind::Quantity(range) => parse(text, range.quantity).map_or(Data::Bad, Data::Number),
        Kind::Integer(..) => text.parse().map_or(Data::Bad, Data::Number),
        Kind::Bool => Data::Bool(text == "true"),
        Kind::TimeOfDay => text.parse::<Time>().map_or(Data::Bad, |time| {
            Data::Number(f64::from(time.hour()) + f64::from(time.minute()) / 60.0)
        }),
        Kind::DateTime => local_date_time(text).map_or(Data::Bad, Data::DateTime),
        Kind::Text | Kind::Choice(_) | Kind::Name(_) | Kind::File | Kind::Panel(_) => {
            Data::Text(text.to_owned())
        }
        Kind::Table(schema) => {
            let mut inner = Section::default();
            complete(&mut inner, path, schema, file, problems);
            Data::Section(inner)
        }
        Kind::List(_) => Data::List(Vec::new()),
        Kind::Sources => Data::Sources(Vec::new()),
    }
}

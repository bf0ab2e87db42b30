//! The run as understood: each value, its unit, and where it came from.

use super::moment::{Moment, Span, with_weekday};
use super::reader::join;
use super::schema::{Kind, Need, Table};
use super::section::{Data, Origin, Section, Value};
use crate::plain::plain;
use crate::quantity::{Quantity, System};

/// A value of a run and where it came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stated {
    /// Key with its tables: `machine.bed.max_power`.
    pub key: String,
    /// The value as a run file would write it, without quotes.
    pub value: String,
    /// The same in the other system's units, where they differ.
    pub value_us: Option<String>,
    /// Of a moment of the run: what it is on the calendar and from the start.
    pub moment: Option<String>,
    /// Whether nobody gave it and `[guessed]` says so.
    pub is_guess: bool,
    /// Where it came from.
    pub origin: Origin,
    /// File and line in which it stands, where it stands in one.
    pub place: Option<(String, usize)>,
    /// What it means.
    pub doc: &'static str,
}

impl Stated {
    /// The value in a system's units.
    #[must_use]
    pub fn value_in(&self, system: System) -> &str {
        match (system, &self.value_us) {
            (System::Us, Some(us)) => us,
            _ => &self.value,
        }
    }
}

/// All values of a section that the schema declares, in the schema's order.
pub(crate) fn explain(
    section: &Section,
    path: &str,
    schema: &'static Table,
    out: &mut Vec<Stated>,
) {
    let span = section.section("run").and_then(|run| {
        Some(Span {
            start: run.date_time("start")?,
            duration_s: run.number("duration")?,
        })
    });
    let from_start = Frame {
        span: span.as_ref(),
        begin_s: 0.0,
    };
    table(section, path, schema, from_start, out);
}

/// What moments are seen from.
#[derive(Clone, Copy)]
struct Frame<'a> {
    span: Option<&'a Span>,
    /// Where a table begins that does not say it, s: where the one before it in its list ends.
    begin_s: f64,
}

fn table(
    section: &Section,
    path: &str,
    schema: &'static Table,
    frame: Frame<'_>,
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
                table(inner, &key, schema, frame, out);
            }
            (Data::Section(inner), Kind::Table(schema)) => table(inner, &key, schema, frame, out),
            (Data::List(list), Kind::List(schema)) => {
                let mut frame = frame;
                for (at, inner) in list.iter().enumerate() {
                    table(inner, &format!("{key}.{}", at + 1), schema, frame, out);
                    frame.begin_s = frame.end_s(inner).unwrap_or(frame.begin_s);
                }
            }
            (Data::Sources(_) | Data::Guesses(_) | Data::Bad, _) => {}
            (data, kind) => {
                if let Some(text) = text_of(data, kind) {
                    let mut stated = stated(key, text, value, field.doc);
                    if let (Data::Number(si), Kind::Quantity(range)) = (data, kind) {
                        let mut us = range.quantity.in_system(*si, range.unit, System::Us);
                        if let Some(by) = value.within {
                            let (by, by_us) = range.difference_text(by);
                            stated.value.push_str(&format!(" ± {by}"));
                            us.push_str(&format!(" ± {by_us}"));
                        }
                        stated.value_us = Some(us).filter(|us| *us != stated.value);
                    }
                    if matches!(kind, Kind::Moment(_)) {
                        stated.moment = frame.on_both_clocks(section, field.key);
                    }
                    out.push(stated);
                }
            }
        }
    }
}

impl Frame<'_> {
    fn begin_s(&self, section: &Section) -> Option<f64> {
        if !section.has("at") {
            return Some(self.begin_s);
        }
        match section.moment("at") {
            Some(moment) => moment.within(self.span?).ok(),
            None => section.number("at"),
        }
    }

    fn end_s(&self, section: &Section) -> Option<f64> {
        let begin_s = self.begin_s(section)?;
        match (section.number("duration"), section.moment("until")) {
            (Some(lasts_s), _) => Some(begin_s + lasts_s),
            (None, Some(moment)) => Some(moment.after(begin_s, self.span?)),
            (None, None) => section.number("until"),
        }
    }

    /// "Wed 2026-07-15 14:00, 55 h from the start".
    fn on_both_clocks(&self, section: &Section, key: &str) -> Option<String> {
        let span = self.span?;
        let hours = |at_s: f64| Quantity::Time.to_text(at_s, "h");
        let at_s = match (key, section.text("every")) {
            ("at", Some(every)) => {
                let Moment::At(at) = section.moment("at")? else {
                    return None;
                };
                let all = span.repeated(at, 1.0, every == "workday");
                let shown: Vec<_> = all.iter().take(3).map(|(at_s, _)| hours(*at_s)).collect();
                let more = if all.len() > shown.len() { ", ..." } else { "" };
                return Some(format!(
                    "every {every}: {}{more} from the start",
                    shown.join(", ")
                ));
            }
            ("until", Some(_)) => return None,
            ("until", None) => self.end_s(section)?,
            _ => self.begin_s(section)?,
        };
        let date = with_weekday(span.date_time(at_s));
        Some(format!("{date}, {} from the start", hours(at_s)))
    }
}

fn stated(key: String, text: String, value: &Value, doc: &'static str) -> Stated {
    let place = value.mark.as_ref().map(|mark| {
        let (line, _) = mark.source.line_and_column(mark.span.start);
        (mark.source.name.clone(), line)
    });
    Stated {
        key,
        value_us: None,
        moment: None,
        value: plain(&text).into_owned(),
        is_guess: false,
        origin: value.origin.clone(),
        place,
        doc,
    }
}

fn text_of(data: &Data, kind: Kind) -> Option<String> {
    match (data, kind) {
        (Data::Number(si), Kind::Quantity(range) | Kind::Moment(range)) => {
            Some(range.quantity.to_text(*si, range.unit))
        }
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
        (Data::Moment(moment), _) => Some(moment.to_string()),
        (Data::DateTime(time), Kind::Date) => Some(time.date().to_string()),
        (Data::DateTime(time), _) => Some(time.strftime("%Y-%m-%d %H:%M").to_string()),
        _ => None,
    }
}

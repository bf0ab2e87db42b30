//! From moments and durations as typed to stretches of a run, in s from its start.

use super::notes::Notes;
use crate::keys::moment::{Missed, Moment, Span, with_weekday, written};
use crate::keys::section::Section;
use crate::quantity::Quantity;

/// A stretch of a run that one table describes.
pub(super) struct Stretch {
    pub begin_s: f64,
    pub end_s: f64,
    /// One of several that come on every day.
    pub repeats: bool,
}

/// The stretches that a table with `at`, `duration` or `until`, and `every` describes. `None` when something
/// is wrong, which then has been reported.
pub(super) fn stretches(
    section: &Section,
    span: &Span,
    notes: &mut Notes<'_>,
) -> Option<Vec<Stretch>> {
    if ["at", "duration", "until", "every"]
        .iter()
        .any(|key| section.is_bad(key))
    {
        return None;
    }
    one_end(section, notes)?;
    if let Some(every) = section.text("every") {
        return repeated(section, span, every, notes);
    }
    let begin_s = begin(section, span, notes)?;
    let end_s = end(section, begin_s, span, notes)?;
    let once = Stretch {
        begin_s,
        end_s,
        repeats: false,
    };
    Some(vec![once])
}

/// Whether a table says once, and not twice, when something ends.
pub(super) fn one_end(section: &Section, notes: &mut Notes<'_>) -> Option<()> {
    match (section.has("duration"), section.has("until")) {
        (true, true) => {
            let message = "`duration` and `until` both say when this ends";
            notes.error(section.mark_of("until"), message, "leave one of them away");
            None
        }
        (false, false) => {
            let mark = section.mark.as_ref();
            let help = "add duration = \"20 min\", or until = \"20:00\"";
            notes.error(mark, "this does not say how long it lasts", help);
            None
        }
        _ => Some(()),
    }
}

/// When something that comes once begins.
pub(super) fn begin(section: &Section, span: &Span, notes: &mut Notes<'_>) -> Option<f64> {
    let Some(moment) = section.moment("at") else {
        return section.number("at");
    };
    match moment.within(span) {
        Ok(at_s) => Some(at_s),
        Err(missed) => {
            let repeats = section.has("duration") || section.has("until");
            let (message, help) = told(&moment, &missed, span, repeats);
            notes.error(section.mark_of("at"), message, help);
            None
        }
    }
}

/// When something was, in a run or before or after it, s from its start.
pub(crate) fn around(
    section: &Section,
    key: &str,
    span: &Span,
    notes: &mut Notes<'_>,
) -> Option<f64> {
    let Some(moment) = section.moment(key) else {
        return section.number(key);
    };
    match moment.within(span) {
        Ok(at_s) => Some(at_s),
        Err(Missed::Before(date) | Missed::After(date)) => {
            Some(date.duration_since(span.start).as_secs_f64())
        }
        Err(missed) => {
            let (message, help) = told(&moment, &missed, span, false);
            let help = match missed {
                Missed::Never => "a weekday or a time of day alone is one of the run; write the date for a moment before it, \"2026-07-12 19:00\"".to_owned(),
                _ => help,
            };
            notes.error(section.mark_of(key), message, help);
            None
        }
    }
}

/// When something ends that begins then.
pub(super) fn end(
    section: &Section,
    begin_s: f64,
    span: &Span,
    notes: &mut Notes<'_>,
) -> Option<f64> {
    if let Some(lasts_s) = section.number("duration") {
        return Some(begin_s + lasts_s);
    }
    let end_s = match section.moment("until") {
        Some(moment) => moment.after(begin_s, span),
        None => section.number("until")?,
    };
    if end_s > begin_s {
        return Some(end_s);
    }
    let message = format!(
        "this ends at {}, but begins only at {}",
        when(end_s, span),
        when(begin_s, span)
    );
    let help = "`until` has to be later; a time of day alone, such as \"20:00\", is the next one after it began";
    notes.error(section.mark_of("until"), message, help);
    None
}

fn repeated(
    section: &Section,
    span: &Span,
    every: &str,
    notes: &mut Notes<'_>,
) -> Option<Vec<Stretch>> {
    let mut of_day = |key: &str, example: &str| match section.moment(key) {
        Some(Moment::At(time)) => Some(time),
        _ => {
            let message = format!("what comes every {every} needs a time of day for `{key}`");
            let help = format!("write {key} = \"{example}\", or leave `every` away");
            notes.error(section.mark_of(key), message, help);
            None
        }
    };
    let at = of_day("at", "12:00");
    let until = section.has("until").then(|| of_day("until", "20:00"));
    let at = at?;
    let length_s = match until {
        None => section.number("duration")?,
        Some(until) => (until?.seconds() - at.seconds()).rem_euclid(86_400.0),
    };
    if length_s == 0.0 {
        let message = format!("this begins and ends at {at}");
        let help = "write another `until`, or leave `every` away for what lasts all the time";
        notes.error(section.mark_of("until"), message, help);
        return None;
    }
    if length_s > 86_400.0 {
        let message = format!(
            "this lasts {}, and the next one begins after 24 h",
            hours(length_s)
        );
        let help = "make it shorter than a day, or leave `every` away";
        notes.error(section.mark_of("duration"), message, help);
        return None;
    }
    let found = span.repeated(at, length_s, every == "workday");
    if found.is_empty() {
        let message = format!(
            "this never comes in the run, which lasts from {}",
            span.text()
        );
        let help = "write another time of day, or leave it away";
        notes.hint(section.mark_of("at"), message, help);
    }
    let stretches = found.into_iter().map(|(begin_s, end_s)| Stretch {
        begin_s,
        end_s,
        repeats: true,
    });
    Some(stretches.collect())
}

/// Times within a run are hours to users, however long.
pub(super) fn hours(time_s: f64) -> String {
    Quantity::Time.to_text(time_s, "h")
}

/// A moment of the run for messages, on both clocks: "55 h (Wed 2026-07-15 14:00)".
pub(super) fn when(at_s: f64, span: &Span) -> String {
    format!("{} ({})", hours(at_s), with_weekday(span.date_time(at_s)))
}

/// Why a moment is no moment of the run, and what to write instead; whether what begins then lasts, and so may come
/// every day.
fn told(moment: &Moment, missed: &Missed, span: &Span, lasts_on: bool) -> (String, String) {
    let lasts = format!("the run, which lasts from {}", span.text());
    let other = "write a time within it, or one counted from its start, \"31 h\", or change run.start or run.duration";
    match missed {
        Missed::Before(date) => (
            format!("{} is before {lasts}", with_weekday(*date)),
            other.to_owned(),
        ),
        Missed::After(date) => (
            format!("{} is after {lasts}", with_weekday(*date)),
            other.to_owned(),
        ),
        Missed::Never => (
            format!("\"{moment}\" does not come in {lasts}"),
            other.to_owned(),
        ),
        Missed::Repeats(dates) => {
            let shown: Vec<_> = dates
                .iter()
                .take(3)
                .map(|date| format!("\"{}\"", written(*date)))
                .collect();
            let more = if dates.len() > shown.len() {
                ", ..."
            } else {
                ""
            };
            let every = match moment {
                Moment::At(_) if lasts_on => ", or add every = \"day\"",
                _ => "",
            };
            let times = match dates.len() {
                2 => "twice".to_owned(),
                n => format!("{n} times"),
            };
            (
                format!("\"{moment}\" comes {times} in {lasts}"),
                format!("say which: {}{more}{every}", shown.join(" or ")),
            )
        }
    }
}

//! From `[[reading]]` to readings.

use super::moments;
use super::notes::Notes;
use crate::keys::moment::Span;
use crate::keys::section::Section;
use crate::run::Reading;

/// The reading that a completed table describes. `None` when something is wrong, which then has been noted.
pub(crate) fn reading(section: &Section, span: &Span, notes: &mut Notes<'_>) -> Option<Reading> {
    if ["sensor", "temperature", "at"]
        .iter()
        .any(|key| section.is_bad(key))
    {
        return None;
    }
    let at_s = moments::begin(section, span, notes)?;
    if at_s > span.duration_s {
        let message = format!(
            "this reading was taken at {}, after the run, which lasts from {}",
            moments::when(at_s, span),
            span.text()
        );
        let help = "write a time within the run, or change run.start or run.duration";
        notes.error(section.mark_of("at"), message, help);
        return None;
    }
    Some(Reading {
        sensor: section.text("sensor")?.to_owned(),
        temperature_K: section.number("temperature")?,
        within_K: section.within("temperature").unwrap_or(Reading::WITHIN_K),
        at_s,
    })
}

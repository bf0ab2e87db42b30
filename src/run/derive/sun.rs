//! From `[sun]` to the sun on the run's clock.

use super::notes::Notes;
use crate::course::{Course, Points};
use crate::keys::moment::Span;
use crate::keys::section::Section;
use crate::run::Sun;
use crate::weather::seconds_of_day;
use std::sync::Arc;

const DAY_S: f64 = 86_400.0;

/// The sun, when none of its values is missing or bad.
pub(super) fn sun(section: &Section, span: Option<&Span>, notes: &mut Notes<'_>) -> Option<Sun> {
    let (from_h, to_h) = (section.number("from")?, section.number("to")?);
    if from_h >= to_h {
        notes.error(
            section.mark_of("to"),
            "the sun leaves the panel before it reaches it",
            "`sun.from` is the earlier time of a day, `sun.to` the later one: from = \"14:00\", to = \"18:00\"",
        );
        return None;
    }
    let span = span?;
    let bright = section.number("irradiance")?;
    // From the day before the run's first to the day after its last.
    let midnight_s = -seconds_of_day(span.start) - DAY_S;
    let days = (span.duration_s / DAY_S).ceil() as usize + 3;
    let (times_s, values) = (0..days)
        .flat_map(|day| {
            let midnight_s = midnight_s + DAY_S * day as f64;
            [(from_h, bright), (to_h, 0.0)].map(|(h, value)| (midnight_s + 3600.0 * h, value))
        })
        .unzip();
    let points = Points::new(times_s, values).ok()?;
    Some(Sun {
        area_m2: section.number("area")?,
        transmittance: section.number("transmittance")?,
        irradiance_W_per_m2: Course::steps(Arc::new(points)),
        on_feeder: section.number("on_feeder")?,
        on_bed: section.number("on_bed")?,
    })
}

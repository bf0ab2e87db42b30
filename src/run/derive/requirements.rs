//! From `[require]` to what the run must fulfil.

use super::notes::Notes;
use crate::keys::section::Section;
use crate::run::{Arrangement, Requirements};

pub(super) fn requirements(
    root: &Section,
    arrangement: Option<&Arrangement>,
    notes: &mut Notes<'_>,
) -> Option<Requirements> {
    let section = root.section("require")?;
    let requirements = Requirements {
        margin_K: section.number("margin")?,
        chance: section.number("chance")?,
        must_stay_closed: section.flag("must_stay_closed")?,
        chamber_min_K: section.number("chamber_min"),
    };
    if requirements.must_stay_closed
        && let Some(arrangement) = arrangement
        && !arrangement.stays_closed()
    {
        let message = "the machine must stay closed, but this run's arrangement leaves it open";
        notes.hint(
            section.mark_of("must_stay_closed"),
            message,
            "change arrangement.kind (or arrangement.open), or require.must_stay_closed",
        );
    }
    Some(requirements)
}

//! From `[room.building]` to the room as a thing that warms up.

use super::moments::{Stretch, stretches};
use super::notes::Notes;
use crate::course::{Course, Points};
use crate::keys::moment::Span;
use crate::keys::section::Section;
use crate::run::Building;
use std::sync::Arc;

/// The building, when nothing about it is wrong, and without other runs in it. It is asked for from a moment on that
/// may be before the run's start, s.
pub(super) fn building(
    section: &Section,
    span: Option<&Span>,
    from_s: f64,
    notes: &mut Notes<'_>,
) -> Option<Building> {
    let sun = sun_W(section, span, from_s, notes);
    Some(Building {
        volume_m3: section.number("volume")?,
        envelope_W_per_K: section.number("envelope")?,
        air_changes_per_s: section.number("air_changes")?,
        other_heat_W: section.number("other_heat")?,
        cooler_max_W: section.number("cooler_power")?,
        cooler_setpoint_K: section.number("cooler_setpoint")?,
        storage_factor: section.number("storage_factor")?,
        // A whole number within its limits.
        machines: section.number("machines")? as u32,
        sun_W: sun?,
        neighbours_W: Course::Constant(0.0),
    })
}

/// What the sun brings through all windows together, W.
fn sun_W(
    section: &Section,
    span: Option<&Span>,
    from_s: f64,
    notes: &mut Notes<'_>,
) -> Option<Course> {
    if section.is_bad("sun") {
        return None;
    }
    let known = notes.errors();
    let mut shines: Vec<(Stretch, f64)> = Vec::new();
    for window in section.list("sun") {
        let heat_W = heat_W(window, notes);
        let found = span.and_then(|span| shining(window, span, from_s, notes));
        if let (Some(heat_W), Some(found)) = (heat_W, found) {
            shines.extend(found.into_iter().map(|stretch| (stretch, heat_W)));
        }
    }
    if notes.errors() > known {
        return None;
    }
    span?;
    added_up(&shines)
}

/// When the sun shines through a window. What comes again has come before the run's start too.
fn shining(
    window: &Section,
    span: &Span,
    from_s: f64,
    notes: &mut Notes<'_>,
) -> Option<Vec<Stretch>> {
    if !window.has("every") {
        return stretches(window, span, notes);
    }
    let whole = Span {
        start: span.date_time(from_s),
        duration_s: span.duration_s - from_s,
    };
    let mut found = stretches(window, &whole, notes)?;
    for stretch in &mut found {
        stretch.begin_s += from_s;
        stretch.end_s += from_s;
    }
    Some(found)
}

/// What the sun brings through one window, W.
fn heat_W(window: &Section, notes: &mut Notes<'_>) -> Option<f64> {
    if window.is_bad("heat") || window.is_bad("area") {
        return None;
    }
    let ways = "write heat = \"600 W\"; or area = \"2 m2\" for the glass, with irradiance and transmittance";
    match (window.number("heat"), window.number("area")) {
        (Some(heat_W), None) => {
            let idle = ["irradiance", "transmittance"];
            if let Some(key) = idle.into_iter().find(|key| window.is_typed(key)) {
                let message = format!("`{key}` has no effect beside `heat`");
                notes.hint(window.mark_of(key), message, ways);
            }
            Some(heat_W)
        }
        (None, Some(area_m2)) => {
            Some(area_m2 * window.number("irradiance")? * window.number("transmittance")?)
        }
        (Some(_), Some(_)) => {
            let message = "`heat` and `area` both say what the sun brings";
            notes.error(window.mark_of("area"), message, ways);
            None
        }
        (None, None) => {
            let message = "this does not say what the sun brings";
            notes.error(window.mark.as_ref(), message, ways);
            None
        }
    }
}

/// Powers that each hold for a stretch, as one course.
fn added_up(shines: &[(Stretch, f64)]) -> Option<Course> {
    let mut times_s: Vec<f64> = shines
        .iter()
        .flat_map(|(stretch, _)| [stretch.begin_s, stretch.end_s])
        .collect();
    times_s.sort_by(f64::total_cmp);
    times_s.dedup();
    let Some(first_s) = times_s.first() else {
        return Some(Course::Constant(0.0));
    };
    // Before its first point a course is what it is there.
    times_s.insert(0, first_s - 1.0);
    let at = |t_s: f64| -> f64 {
        let on = shines
            .iter()
            .filter(|(stretch, _)| stretch.begin_s <= t_s && t_s < stretch.end_s);
        on.map(|(_, heat_W)| heat_W).sum()
    };
    let values = times_s.iter().map(|t_s| at(*t_s)).collect();
    let points = Points::new(times_s, values).ok()?;
    Some(Course::steps(Arc::new(points)))
}

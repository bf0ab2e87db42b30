//! From `[room]` and the weather series it names to the room.

use super::building;
use super::files::Files;
use super::notes::Notes;
use crate::course::Course;
use crate::keys::moment::Span;
use crate::keys::problem::Mark;
use crate::keys::section::Section;
use crate::run::Room;
use crate::weather::asked::KEYS;
use crate::weather::series::NoCourse;
use crate::weather::{Series, seconds_of_day};
use jiff::civil::DateTime;

/// The room, when nothing about it is wrong. It is asked for from a moment on that may be before the run's start, s.
pub(super) fn room(
    section: &Section,
    span: Option<&Span>,
    from_s: f64,
    files: &mut dyn Files,
    notes: &mut Notes<'_>,
) -> Option<Room> {
    let reach = Reach { span, from_s };
    let weather = weather(section, reach, files, notes);
    let above_outdoors_K = above_outdoors_K(section, notes)?;
    let building = match section.section("building") {
        Some(building) => Some(building::building(building, span, from_s, notes)?),
        None if section.is_bad("building") => return None,
        None => None,
    };
    Some(Room {
        weather: weather?.raised(above_outdoors_K.unwrap_or_default()),
        above_outdoors_K,
        building,
        altitude_m: section.number("altitude")?,
    })
}

/// How much warmer than outdoors the room is said to be: nothing, where a building works that out.
fn above_outdoors_K(section: &Section, notes: &mut Notes<'_>) -> Option<Option<f64>> {
    const KEY: &str = "above_outdoors";
    if section.is_bad(KEY) {
        return None;
    }
    if section.has(KEY) && section.has("building") {
        notes.error(
            section.mark_of(KEY),
            "`room.above_outdoors` and [room.building] both say how warm the room gets",
            "leave above_outdoors away: how much warmer than outdoors the room is follows from room.building; or leave [room.building] away",
        );
        return None;
    }
    Some(section.number(KEY))
}

/// From when to when the weather has to be known.
#[derive(Clone, Copy)]
struct Reach<'a> {
    /// The run.
    span: Option<&'a Span>,
    /// Where it is asked for from, s from the run's start: zero or before.
    from_s: f64,
}

impl Reach<'_> {
    /// Its start and length.
    fn whole(self) -> Option<Span> {
        let span = self.span?;
        Some(Span {
            start: span.date_time(self.from_s),
            duration_s: span.duration_s - self.from_s,
        })
    }
}

fn weather(
    section: &Section,
    reach: Reach<'_>,
    files: &mut dyn Files,
    notes: &mut Notes<'_>,
) -> Option<Course> {
    let given: Vec<&str> = ["temperature", "mean", "series", "day"]
        .into_iter()
        .filter(|key| section.has(key))
        .collect();
    let ways = "write one of: temperature = \"31 degC\"; or mean = \"31 degC\" with swing = \"3 K\"; or series = \"weather.csv\"; or [[room.day]] with high and low for each day";
    let shift_K = section.number("shift");
    match given[..] {
        [] => {
            notes.error(
                section.mark.as_ref(),
                "[room] does not say how warm it is",
                ways,
            );
            None
        }
        [one] => {
            let idle = KEYS
                .iter()
                .find(|key| one != "series" && section.is_typed(key));
            if let Some(key) = idle {
                let message = format!("`room.{key}` has no meaning without a series");
                let help = "take it out, or name the file it is for: series = \"weather.csv\"";
                notes.error(section.mark_of(key), message, help);
                return None;
            }
            if section.is_typed("swing") && one != "mean" {
                notes.error(
                    section.mark_of("swing"),
                    format!("`room.swing` has no meaning beside `{one}`"),
                    "write mean instead, or leave swing away",
                );
                return None;
            }
            match one {
                "temperature" => Some(Course::Constant(section.number(one)? + shift_K?)),
                "mean" => {
                    if !section.has("swing") {
                        notes.error(section.mark_of("mean"), "[room] needs `swing` beside `mean`", "add swing = \"3 K\", half the difference between the warmest and the coolest hour");
                    }
                    Some(Course::Swing {
                        mean: section.number(one)? + shift_K?,
                        amplitude: section.number("swing")?,
                        crest_s: section.number("warmest_at")? * 3600.0
                            - seconds_of_day(reach.span?.start),
                    })
                }
                "day" => {
                    let first = reach.span?.start.date();
                    let days = super::forecast::weather(section, &reach.whole()?, first, notes)?;
                    Some(days.from_later(-reach.from_s).raised(shift_K?))
                }
                _ => series(section, reach, shift_K?, files, notes),
            }
        }
        [_, second, ..] => {
            let message = format!(
                "[room] says more than once how warm it is: {}",
                given.join(", ")
            );
            notes.error(section.mark_of(second), message, ways);
            None
        }
    }
}

fn series(
    section: &Section,
    reach: Reach<'_>,
    shift_K: f64,
    files: &mut dyn Files,
    notes: &mut Notes<'_>,
) -> Option<Course> {
    let series = files.series(section, notes)?;
    let Some(whole) = reach.whole() else {
        notes.extend(series.gaps());
        return None;
    };
    match series.course(whole.start, whole.duration_s) {
        Ok(course) => {
            if series.has_filled(whole.start, whole.duration_s) {
                notes.hint(
                    section.mark_of("fill"),
                    "some of this run's weather was filled in by a rule, and a peak in it may be warmer",
                    "look at the hours around it, or require a larger margin",
                );
            }
            Some(course.from_later(-reach.from_s).raised(shift_K))
        }
        Err(NoCourse::Gaps(gaps)) => {
            notes.extend(gaps);
            None
        }
        Err(NoCourse::TooShort) => {
            too_short(&series, reach, &whole, section.mark_of("series"), notes);
            None
        }
    }
}

fn too_short(
    series: &Series,
    reach: Reach<'_>,
    whole: &Span,
    mark: Option<&Mark>,
    notes: &mut Notes<'_>,
) {
    if series.is_typical_year() {
        let message = "the run takes longer than the year that its weather is of";
        notes.error(mark, message, "shorten run.duration");
        return;
    }
    let (from, to) = series.span();
    let end = whole.date_time(whole.duration_s);
    let who = if reach.from_s < 0.0 {
        "the run with what else is in its room"
    } else {
        "the run"
    };
    let message = format!(
        "the weather series covers {} to {}, but {who} needs {} to {}",
        stamp(from),
        stamp(to),
        stamp(whole.start),
        stamp(end)
    );
    let help = "use a series that covers the whole run, or change run.start or run.duration";
    notes.error(mark, message, help);
}

fn stamp(time: DateTime) -> String {
    time.strftime("%Y-%m-%d %H:%M").to_string()
}

//! From `[room]` and the weather series it names to the room of the model.

use super::Fetch;
use crate::course::{Course, Points};
use crate::keys::problem::{Mark, Problem};
use crate::keys::section::Section;
use crate::run::{Building, Room};
use crate::weather::file::{self as series_file, Columns, Row};
use crate::weather::seconds_of_day;
use jiff::civil::DateTime;
use std::sync::Arc;

/// The stretch of time the room's temperature must cover.
pub(super) struct Span {
    pub start: DateTime,
    pub duration_s: f64,
}

/// The room, when nothing about it is wrong.
pub(super) fn room(
    section: &Section,
    span: Option<&Span>,
    fetch: Fetch<'_>,
    file: &str,
    problems: &mut Vec<Problem>,
) -> Option<Room> {
    let weather = weather(section, span, fetch, file, problems);
    let building = match section.section("building") {
        Some(building) => Some(building_of(building)?),
        None if section.is_bad("building") => return None,
        None => None,
    };
    Some(Room {
        weather: weather?,
        building,
        altitude_m: section.number("altitude")?,
    })
}

fn building_of(section: &Section) -> Option<Building> {
    Some(Building {
        volume_m3: section.number("volume")?,
        envelope_W_per_K: section.number("envelope")?,
        air_changes_per_s: section.number("air_changes")?,
        other_heat_W: section.number("other_heat")?,
        cooler_max_W: section.number("cooler_power")?,
        cooler_setpoint_K: section.number("cooler_setpoint")?,
        storage_factor: section.number("storage_factor")?,
    })
}

fn weather(
    section: &Section,
    span: Option<&Span>,
    fetch: Fetch<'_>,
    file: &str,
    problems: &mut Vec<Problem>,
) -> Option<Course> {
    let given: Vec<&str> = ["temperature", "mean", "series"]
        .into_iter()
        .filter(|key| section.has(key))
        .collect();
    let three_ways = "write one of: temperature = \"31 degC\"; or mean = \"31 degC\" with swing = \"3 K\"; or series = \"weather.csv\"";
    let shift_K = section.number("shift");
    match given[..] {
        [] => {
            problems.push(
                Problem::at_or_in(
                    section.mark.as_ref(),
                    file,
                    "[room] does not say how warm it is",
                )
                .help(three_ways),
            );
            None
        }
        [one] => {
            if section.is_typed("swing") && one != "mean" {
                problems.push(
                    Problem::at_or_in(
                        section.mark_of("swing"),
                        file,
                        format!("`room.swing` has no meaning beside `{one}`"),
                    )
                    .help("write mean instead, or leave swing away"),
                );
                return None;
            }
            match one {
                "temperature" => Some(Course::Constant(section.number(one)? + shift_K?)),
                "mean" => {
                    if !section.has("swing") {
                        problems.push(
                            Problem::at_or_in(section.mark_of("mean"), file, "[room] needs `swing` beside `mean`")
                                .help("add swing = \"3 K\", half the difference between the warmest and the coolest hour"),
                        );
                    }
                    Some(Course::Swing {
                        mean: section.number(one)? + shift_K?,
                        amplitude: section.number("swing")?,
                        crest_s: section.number("warmest_at")? * 3600.0
                            - seconds_of_day(span?.start),
                    })
                }
                _ => series(section, span, shift_K?, fetch, file, problems),
            }
        }
        [_, second, ..] => {
            let message = format!(
                "[room] says more than once how warm it is: {}",
                given.join(", ")
            );
            problems
                .push(Problem::at_or_in(section.mark_of(second), file, message).help(three_ways));
            None
        }
    }
}

fn series(
    section: &Section,
    span: Option<&Span>,
    shift_K: f64,
    fetch: Fetch<'_>,
    file: &str,
    problems: &mut Vec<Problem>,
) -> Option<Course> {
    let name = section.text("series")?;
    let mark = section.mark_of("series");
    let source = match fetch(name) {
        Ok(source) => Arc::new(source),
        Err(problem) if problem.line.is_some() => {
            problems.push(*problem);
            return None;
        }
        // Files that can't be opened are best shown where they are named.
        Err(problem) => {
            let message = format!("the weather series {}: {}", problem.file, problem.message);
            let help = problem.help.unwrap_or_else(|| {
                "the name is taken relative to the folder of this run file".to_owned()
            });
            problems.push(Problem::at_or_in(mark, file, message).help(help));
            return None;
        }
    };
    let columns = Columns {
        time: section.text("time_column")?,
        temperature: if section.is_bad("temperature_column") {
            return None;
        } else {
            section.text("temperature_column")
        },
    };
    let rows = series_file::read(&source, &columns, problems)?;
    let Some(span) = span else {
        problems.extend(series_file::gaps(&source, &rows));
        return None;
    };
    let rows = cut(&rows, span, mark, file, problems)?;
    let gaps = series_file::gaps(&source, rows);
    if !gaps.is_empty() {
        problems.extend(gaps);
        return None;
    }
    let times_s = rows.iter().map(|row| seconds(span, row)).collect();
    let temperatures_K = rows.iter().map(|row| row.temperature_K).collect();
    // Rising times and finite values are what the rows have been checked for.
    let points = Points::new(times_s, temperatures_K).ok()?;
    Some(Course::series(Arc::new(points)).raised(shift_K))
}

fn seconds(span: &Span, row: &Row) -> f64 {
    row.time.duration_since(span.start).as_secs_f64()
}

/// How much weather after the run's end is kept: enough to ask whether a start up to a day later
/// would do, s.
const KEPT_AFTER_S: f64 = 24.0 * 3_600.0;

/// The rows the run needs: from the last one not after its start to the first one not before its
/// end, and as many of the following day as come without a gap.
fn cut<'a>(
    rows: &'a [Row],
    span: &Span,
    mark: Option<&Mark>,
    file: &str,
    problems: &mut Vec<Problem>,
) -> Option<&'a [Row]> {
    let first = rows.iter().rposition(|row| seconds(span, row) <= 0.0);
    let last = rows
        .iter()
        .position(|row| seconds(span, row) >= span.duration_s);
    if let (Some(first), Some(last)) = (first, last) {
        let more = rows[last..]
            .windows(2)
            .take_while(|pair| {
                let step_s = seconds(span, &pair[1]) - seconds(span, &pair[0]);
                let is_kept = seconds(span, &pair[0]) < span.duration_s + KEPT_AFTER_S;
                is_kept && step_s > 0.0 && step_s <= series_file::LONGEST_STEP_S
            })
            .count();
        return rows.get(first..=last + more);
    }
    let (from, to) = (rows.first()?, rows.last()?);
    #[expect(clippy::cast_possible_truncation, reason = "at most 366 days")]
    let length = jiff::SignedDuration::from_secs(span.duration_s.ceil() as i64);
    let end = span.start.checked_add(length).unwrap_or(DateTime::MAX);
    let message = format!(
        "the weather series covers {} to {}, but the run needs {} to {}",
        stamp(from.time),
        stamp(to.time),
        stamp(span.start),
        stamp(end)
    );
    let help = "use a series that covers the whole run, or change run.start or run.duration";
    problems.push(Problem::at_or_in(mark, file, message).help(help));
    None
}

fn stamp(time: DateTime) -> String {
    time.strftime("%Y-%m-%d %H:%M").to_string()
}

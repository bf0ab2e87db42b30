//! From `[[room.building.machine]]` to the other runs in the room.

use super::files::{Files, Other};
use super::moments::when;
use super::notes::Notes;
use crate::course::Course;
use crate::keys::moment::{Moment, Span};
use crate::keys::problem::Mark;
use crate::keys::section::{Data, Section};
use crate::run::{Arrangement, ArrangementKind, Building, Phase, PhaseKind, Room, Run, Scheduled};
use std::sync::Arc;

/// Another run of the room as it is listed.
pub(super) struct Listed {
    pub other: Arc<Other>,
    /// On the clock of the run that lists it, s.
    pub begins_s: f64,
    pub machines: u32,
}

/// The other runs that a run lists, if they can be found. Those that leave nothing in its time are left out.
pub(super) fn listed(
    root: &Section,
    span: &Span,
    files: &mut dyn Files,
    notes: &mut Notes<'_>,
) -> Option<Vec<Listed>> {
    let building = root
        .section("room")
        .and_then(|room| room.section("building"));
    let Some(building) = building else {
        return Some(Vec::new());
    };
    if building.is_bad("machine") {
        return None;
    }
    let (mut found, mut is_whole) = (Vec::new(), true);
    for entry in building.list("machine") {
        let Some(other) = files.other(entry, notes) else {
            is_whole = false;
            continue;
        };
        let Some(begins_s) = begins_s(entry, &other, span, notes) else {
            is_whole = false;
            continue;
        };
        let Some(machines) = entry.number("machines") else {
            is_whole = false;
            continue;
        };
        if is_within(begins_s, &other, span, entry.mark_of("run"), notes) {
            found.push(Listed {
                other,
                begins_s,
                // A whole number within its limits.
                machines: machines as u32,
            });
        }
    }
    is_whole.then_some(found)
}

/// When another run begins, on the clock of this one, s.
fn begins_s(entry: &Section, other: &Other, span: &Span, notes: &mut Notes<'_>) -> Option<f64> {
    if entry.is_bad("start") {
        return None;
    }
    if let Some(elapsed_s) = entry.number("start") {
        return Some(elapsed_s);
    }
    let date = match entry.moment("start") {
        None => other.root.section("run")?.date_time("start")?,
        Some(Moment::On(date)) => date,
        Some(moment) => {
            let message = format!("\"{moment}\" may be before this run or in it");
            let help = "write the date too, \"2026-07-12 18:00\", or count from the start of this run: \"-10 h\"";
            notes.error(entry.mark_of("start"), message, help);
            return None;
        }
    };
    Some(date.duration_since(span.start).as_secs_f64())
}

/// Whether another run is there while this one is; says so if not.
fn is_within(
    begins_s: f64,
    other: &Other,
    span: &Span,
    mark: Option<&Mark>,
    notes: &mut Notes<'_>,
) -> bool {
    let run = other.root.section("run");
    let lasts_s = run
        .and_then(|run| run.number("duration"))
        .unwrap_or_default();
    let (message, is_within) = if begins_s + lasts_s <= 0.0 {
        let end = when(begins_s + lasts_s, span);
        (
            format!("this run is over at {end}, before the one it is listed in begins"),
            false,
        )
    } else if begins_s >= span.duration_s {
        let begin = when(begins_s, span);
        (
            format!("this run begins at {begin}, when the one it is listed in is over"),
            false,
        )
    } else {
        return true;
    };
    let help = "it warms the room no more, or not yet, and is left out: check its `start`";
    notes.hint(mark, message, help);
    is_within
}

/// How far back the room has to be known, on the clock of the run, s: zero or before.
pub(super) fn reach_from_s(listed: &[Listed]) -> f64 {
    listed
        .iter()
        .map(|other| other.begins_s)
        .fold(0.0, f64::min)
}

impl Listed {
    /// Its sections, with its start by the clock in that run's time.
    pub fn root(&self, span: &Span) -> Section {
        let mut root = self.other.root.clone();
        if let Some(run) = root.section_mut("run") {
            run.put("start", Data::DateTime(span.date_time(self.begins_s)));
        }
        root
    }

    /// The room of the run that lists it, as it is for this one.
    pub fn room(&self, room: &Room) -> Room {
        let later = |course: &Course| course.clone().from_later(self.begins_s);
        Room {
            weather: later(&room.weather),
            building: room.building.as_ref().map(|building| Building {
                machines: self.machines,
                sun_W: later(&building.sun_W),
                ..building.clone()
            }),
            ..room.clone()
        }
    }

    /// The run until a time on the clock of the one that lists it, s: once it is done it stands there switched off and
    /// shut, and gives off what it has stored.
    pub fn until(&self, until_s: f64, mut run: Run) -> Run {
        let (done_s, end_s) = (run.duration_s, until_s - self.begins_s);
        if end_s <= done_s {
            return run;
        }
        run.phases.push(Phase {
            kind: PhaseKind::CoolDown,
            begin_s: done_s,
            end_s,
            bed_K: None,
            nozzle_K: None,
            feed_kg_per_s: 0.0,
            chamber_K: None,
            part_fan: 0.0,
            second_nozzle_K: None,
            motion_duty: 0.0,
            feeder_duty: 0.0,
            powered: false,
        });
        run.schedule.push(Scheduled {
            begin_s: done_s,
            end_s,
            arrangement: Arrangement::of(ArrangementKind::Closed),
        });
        run.duration_s = end_s;
        run
    }
}

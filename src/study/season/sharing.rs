//! Whether the starts of a season may share runs.
//!
//! What a chamber does at a moment follows from the weather before it and from how far the job is. Where the
//! job's course is one long stretch of printing in which nothing is switched by anybody, "how far the job is"
//! means the size of the part alone, which matters little and smoothly. That is what sharing rests on.

use crate::course::Course;
use crate::run::{Control, PhaseKind, Room, Run};

/// How the starts of a season were computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sharing {
    /// From runs that start more rarely: what lies between two of them is read between their courses.
    Shared {
        /// Time between the starts of those runs, s.
        every_s: f64,
        /// After so long a course agrees with what is read between the others, whatever it began with, s
        /// (measured).
        memory_s: f64,
        /// Starts that were run by themselves all the same, or their first hours.
        by_themselves: usize,
    },
    /// Each by itself.
    Alone(Reason),
}

/// Why starts do not share runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// There are so few that sharing would save nothing.
    Few,
    /// The job is so short that it remembers its start most of the time.
    Short,
    /// A thermostat switches: what it does now depends on what it did before.
    Thermostat,
    /// Doors, lids or fans change on the way.
    Schedule,
    /// Setpoints, feed or duties change on the way.
    Phases,
    /// Other runs stand in the room.
    Neighbours,
    /// Sun or weather counts from the start and not by the clock.
    FromTheStart,
    /// Runs that differ in their start take too long to agree.
    LongMemory,
    /// It was asked for.
    Asked,
    /// It is not known: they were computed earlier and kept.
    Kept,
}

impl Reason {
    /// The reason in words, after "because".
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Few => "there are few of them",
            Self::Short => "the job is short",
            Self::Thermostat => "a thermostat switches the fan",
            Self::Schedule => "doors or fans change on the way",
            Self::Phases => "the job changes on the way",
            Self::Neighbours => "other runs warm the room",
            Self::FromTheStart => "sun or weather counts from the start of the run",
            Self::LongMemory => "the machine remembers its start for long",
            Self::Asked => "that was asked for",
            Self::Kept => "it had been computed and kept before",
        }
    }
}

/// Jobs shorter than this share nothing, s.
const SHORTEST_S: f64 = 30.0 * 3600.0;
/// The long stretch of printing has at least this share of the job.
const LONG: f64 = 0.8;

/// The long stretch of a job that may be shared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Steady {
    /// Its begin, s from the start.
    pub from_s: f64,
    /// Its end, s from the start.
    pub to_s: f64,
}

impl Steady {
    /// The long stretch of a run; or why there is none.
    pub fn of(run: &Run) -> Result<Self, Reason> {
        // Named one by one, so that whoever adds something to a run decides here whether it is shared.
        let Run {
            phases,
            arrangement,
            schedule,
            duration_s,
            // Temperatures at the start are gone with its memory.
            initial: _,
            neighbours,
            // By the date and time of day, as is the sun: see `is_by_the_clock`.
            room: _,
            sun: _,
            // Asked about beside the run.
            failures: _,
            fails,
            // The same at any time.
            name: _,
            start: _,
            machine: _,
            material: _,
            filament: _,
            part: _,
            system: _,
            requirements: _,
            spool: _,
            staffed: _,
            coefficients: _,
        } = run;
        match arrangement.control {
            Control::Constant => {}
            Control::Thermostat { .. } => return Err(Reason::Thermostat),
        }
        if !schedule.is_empty() || !fails.is_empty() {
            return Err(Reason::Schedule);
        }
        if !neighbours.is_empty() {
            return Err(Reason::Neighbours);
        }
        let longest = phases
            .iter()
            .enumerate()
            .filter(|(_, phase)| phase.kind == PhaseKind::Print)
            .max_by(|a, b| a.1.length_s().total_cmp(&b.1.length_s()));
        let Some((at, long)) = longest else {
            return Err(Reason::Phases);
        };
        let ends = |kind: PhaseKind| match kind {
            PhaseKind::CoolDown => true,
            PhaseKind::HeatUp
            | PhaseKind::Soak
            | PhaseKind::Print
            | PhaseKind::Pause
            | PhaseKind::SpoolChange => false,
        };
        if !phases[at + 1..].iter().all(|phase| ends(phase.kind)) {
            return Err(Reason::Phases);
        }
        if *duration_s < SHORTEST_S {
            return Err(Reason::Short);
        }
        if long.length_s() < LONG * duration_s {
            return Err(Reason::Phases);
        }
        Ok(Self {
            from_s: long.begin_s,
            to_s: long.end_s,
        })
    }
}

/// Whether what is given over time to a run is given to one that starts later at the same moments of the clock.
pub(super) fn is_by_the_clock(run: &Run, other: &Run, later_s: f64) -> bool {
    const STEP_S: f64 = 1799.0;
    let courses = |run: &Run| -> Vec<Course> {
        let Room {
            weather,
            building,
            above_outdoors_K: _,
            altitude_m: _,
        } = &run.room;
        let sun = run.sun.as_ref().map(|sun| sun.irradiance_W_per_m2.clone());
        let in_room = building.as_ref().map(|b| b.sun_W.clone());
        [Some(weather.clone()), sun, in_room]
            .into_iter()
            .flatten()
            .collect()
    };
    let (these, those) = (courses(run), courses(other));
    let steps = ((run.duration_s - later_s) / STEP_S - 1.0).max(0.0) as usize;
    these.len() == those.len()
        && these.iter().zip(&those).all(|(this, that)| {
            (0..=steps).all(|k| {
                // Not on the hour, where what jumps is one or the other.
                let t_s = (k as f64 + 0.1) * STEP_S;
                (this.at(later_s + t_s).0 - that.at(t_s).0).abs() < 1e-6
            })
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::season::later;

    /// The demo's weather is a series by date; the same weather from its start on would be another.
    #[test]
    fn what_counts_from_the_start_is_told_from_what_goes_by_the_clock() {
        let inputs = crate::runfile::demo().inputs;
        let run = inputs.to_run().unwrap();
        let later_s = 26.0 * 3600.0;
        let mut other = inputs.to_run_at(later(run.start, later_s)).unwrap();
        assert!(is_by_the_clock(&run, &other, later_s));
        other.room.weather = run.room.weather.clone();
        assert!(!is_by_the_clock(&run, &other, later_s));
    }

    /// Heating up before and cooling down after the long stretch leave it to be shared; what comes in between
    /// does not.
    #[test]
    fn the_long_stretch_of_a_job_is_found() {
        let mut run = crate::runfile::demo().run;
        let steady = Steady::of(&run).unwrap();
        assert_eq!((steady.from_s, steady.to_s), (900.0, run.duration_s));
        let mut print = run.phases.pop().unwrap();
        let mut rest = print.clone();
        rest.kind = PhaseKind::CoolDown;
        rest.begin_s = run.duration_s - 7200.0;
        print.end_s = rest.begin_s;
        run.phases.extend([print, rest]);
        let steady = Steady::of(&run).unwrap();
        assert_eq!(steady.to_s, run.duration_s - 7200.0);
        if let Some(last) = run.phases.last_mut() {
            last.kind = PhaseKind::Pause;
        }
        assert_eq!(Steady::of(&run), Err(Reason::Phases));
    }
}

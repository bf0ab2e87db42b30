//! A run in progress: what its log says so far, and what follows.
//!
//! What a chamber is at now follows from how it began and from values that stay what they are: it forgets its start in
//! hours. So the state is not corrected step by step; the values in doubt are found anew from all rows there are
//! ([`calibrate`](crate::study::calibrate)), with the room as it was measured, and what follows is the run
//! itself, with those values and with what is left of their doubt
//! ([`Posterior`](crate::study::calibrate::Posterior)). For a model that is straight that is what a Kalman filter would
//! come to, and where it bends it is better. What the model is still off, it may be off tomorrow.

mod ahead;
mod departure;

pub use ahead::{Ahead, Passing};
pub use departure::Departure;

use super::StudyError;
use super::alarm::{Alarm, alarm};
use super::band::Sampling;
use super::calibrate::sensors::Sensor;
use super::calibrate::{CalibrateError, Calibration, Watched, calibrate};
use super::hottest::{Hottest, fine};
use super::many::{FeedCourse, feed_courses};
use super::verdict::Verdict;
use crate::chamber::{IntegratorKind, Simulation, StationKind};
use crate::integrate::Options;
use crate::run::{Log, Run};

/// What is known of a run in progress.
#[derive(Debug, Clone)]
pub struct Following {
    /// What the log taught.
    pub calibration: Calibration,
    /// The last row, s from the start.
    pub now_s: f64,
    /// The run with the values found.
    pub run: Run,
    /// From now on, by the values found: the hottest filament where it comes closest to its limit.
    pub hottest: Hottest,
    /// By that.
    pub verdict: Verdict,
    /// How sure that is.
    pub ahead: Ahead,
    /// When to act.
    pub alarm: Option<Alarm>,
    /// What that thermometer shows now, K: its last row, or what the model says where it was not logged.
    pub shows_K: f64,
    /// Whether that thermometer was logged of late.
    pub is_logged: bool,
    /// How the last hours depart from the model, if they do.
    pub departure: Option<Departure>,
    /// A place whose thermometer has shown nothing of use while others went on.
    pub silent: Option<String>,
    /// What each thermometer of the logs will show from now on, in their order: s and K, by the values found.
    pub thermometers: Vec<Vec<(f64, f64)>>,
    /// Filament over time at the station that decides, from the start to the end, s and K, by the values found.
    pub course: Vec<(f64, f64)>,
}

/// Why somebody should act.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// Softening is likelier than the run puts up with.
    Likely,
    /// The thermometer to act by shows as much as asks for it.
    Reading,
    /// What thermometers show is no longer what the run described would.
    Departs,
    /// A thermometer has shown nothing of use while others went on.
    Silent,
    /// A heater is too weak for what is left.
    TooWeak,
}

impl Cause {
    /// A word for it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Likely => "likely",
            Self::Reading => "reading",
            Self::Departs => "departs",
            Self::Silent => "silent",
            Self::TooWeak => "too weak",
        }
    }
}

impl Following {
    /// Whether the run has ended.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.now_s >= self.run.duration_s
    }

    /// Why somebody should look at the machine; nothing where nobody has to.
    #[must_use]
    pub fn causes(&self) -> Vec<Cause> {
        if self.is_over() {
            return Vec::new();
        }
        let likely = self.ahead.certainty.chance_softens() > self.run.requirements.chance
            || self.verdict == Verdict::Softens;
        let rings = self
            .alarm
            .is_some_and(|alarm| self.shows_K >= alarm.reading_K);
        [
            (Cause::Reading, rings),
            (Cause::Departs, self.departure.is_some()),
            (Cause::Silent, self.silent.is_some()),
            (Cause::TooWeak, self.verdict == Verdict::CannotRun),
            (Cause::Likely, likely),
        ]
        .into_iter()
        .filter_map(|(cause, holds)| holds.then_some(cause))
        .collect()
    }

    /// Whether somebody should look at the machine.
    #[must_use]
    pub fn is_time_to_act(&self) -> bool {
        !self.causes().is_empty()
    }
}

/// Moments of the course.
const MOMENTS: u32 = 480;

/// What a log of a run in progress says of the rest of it. The inputs are those of the run as described.
///
/// # Errors
/// See [`CalibrateError`].
pub fn follow(watched: &Watched<'_>, sampling: Sampling) -> Result<Following, CalibrateError> {
    let calibration = calibrate(std::slice::from_ref(watched), &[])?;
    let rows = Log::newest_s(watched.logs).into_iter();
    let readings = watched.readings.iter().map(|reading| reading.at_s);
    let now_s = rows.chain(readings).fold(0.0, f64::max);
    let inputs = calibration.inputs[0].clone();
    let best = calibration.known.at_its_best(&inputs).to_run();
    let run = best.map_err(StudyError::from)?;
    let options = Options::fine();
    let simulation = Simulation::of(&run, IntegratorKind::Rosenbrock, &fine(&options))?;
    let course = feed_courses(std::slice::from_ref(&run), &fine(&options)).remove(0)?;
    let now_s = now_s.min(run.duration_s);
    let recent = departure::recent(&calibration);
    let course = course.raised(recent.raise_K());
    let (hottest, mut verdict) = from_now(&run, &course, now_s);
    let departure = recent.departure(calibration.is_foreign());
    let silent = departure::silent(watched.logs);
    // Nobody knows that what departs from its description holds, nor what is no longer seen.
    if departure.is_some() || silent.is_some() {
        verdict = verdict.max(Verdict::Tight);
    }
    let ahead = ahead::ahead(
        &inputs,
        &calibration,
        now_s,
        hottest.station,
        recent.raise_K(),
        sampling,
    );
    let alarm = alarm(
        &run,
        &simulation,
        hottest.station,
        hottest.max_K - recent.raise_K(),
    );
    let logged = alarm.and_then(|a| departure::last_K(watched.logs, a.thermometer.name(), now_s));
    let shows_K = alarm.and_then(|alarm| {
        let point = alarm.thermometer.point(&simulation)?;
        let modelled = || simulation.temperature_K(point, now_s) + recent.raise_K();
        Some(logged.unwrap_or_else(modelled))
    });
    let at = StationKind::ALL.iter().position(|s| *s == hottest.station);
    let times_s: Vec<f64> = (0..=MOMENTS)
        .map(|k| run.duration_s * f64::from(k) / f64::from(MOMENTS))
        .collect();
    let shown = course.at(at.unwrap_or_default(), &times_s);
    let thermometers = calibration.columns.iter().map(|column| {
        let sensor = Sensor::find(&column.sensor, &simulation.chamber).ok();
        let later = times_s.iter().filter(|t_s| **t_s > now_s);
        let shows = |t_s: &f64| {
            let is_K = sensor.as_ref()?.shows_K(&simulation, *t_s);
            Some((*t_s, is_K + column.offset_K + recent.raise_K()))
        };
        later.filter_map(shows).collect()
    });
    let thermometers = thermometers.collect();
    Ok(Following {
        calibration,
        now_s,
        hottest,
        verdict,
        ahead,
        alarm,
        shows_K: shows_K.unwrap_or(f64::NEG_INFINITY),
        is_logged: logged.is_some(),
        departure,
        silent,
        thermometers,
        course: times_s.into_iter().zip(shown).collect(),
        run,
    })
}

/// The hottest filament from now on where it comes closest to its limit, and the verdict by that.
fn from_now(run: &Run, course: &FeedCourse, now_s: f64) -> (Hottest, Verdict) {
    let each = course.hottest(now_s, f64::INFINITY);
    let closest = each
        .into_iter()
        .min_by(|a, b| a.margin_K().total_cmp(&b.margin_K()))
        .unwrap_or(each[0]);
    let verdict = if course.shortfalls.is_empty() {
        Verdict::of(closest.margin_K(), run.requirements.margin_K)
    } else {
        Verdict::CannotRun
    };
    (closest, verdict)
}

#[cfg(test)]
mod tests;

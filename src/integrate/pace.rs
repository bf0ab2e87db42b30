//! How long steps are: what both ways of integrating go by.

use super::Happening;

/// First step after a start, a jump or an event, s: about the time constant of stirred air.
const FIRST_STEP_S: f64 = 5.0;
/// Where nothing is that fast, the first step may be this share of the smallest time constant.
const FIRST_STEP_SHARE: f64 = 0.1;
/// The error estimate goes with the cube of a step.
pub(super) const EXPONENT: f64 = -1.0 / 3.0;
/// Steps below this are hopeless, s.
pub(super) const SMALLEST_STEP_S: f64 = 1e-7;

/// By how much a step could be longer for an error of one tolerance, given its error in tolerances.
pub(super) fn root(error: f64) -> f64 {
    error.powf(EXPONENT)
}

/// The length of the next steps.
#[derive(Debug)]
pub(super) struct Pace {
    proposed_s: f64,
    /// How long the first step after an event could be when it last happened. What a thermostat switches begins
    /// much the same every time, and trying it out costs several steps.
    firsts: Vec<(Happening, f64)>,
    /// What has just happened, until a step is made.
    latest: Option<Happening>,
}

impl Pace {
    pub fn new() -> Self {
        Self {
            proposed_s: f64::INFINITY,
            firsts: Vec::new(),
            latest: None,
        }
    }

    /// Begins after a start, a jump or an event; `fastest_per_s` is one over the smallest time constant.
    pub fn begin(&mut self, fastest_per_s: f64) {
        let first_s = FIRST_STEP_S.max(FIRST_STEP_SHARE / fastest_per_s);
        let latest = self.latest;
        let known = latest.and_then(|latest| self.firsts.iter().find(|(what, _)| *what == latest));
        self.proposed_s = known.map_or(self.proposed_s.min(first_s), |(_, h)| *h);
    }

    /// A step that takes all that is left to a stop, or an even share of it.
    pub fn step_s(&self, left_s: f64, most_s: f64) -> f64 {
        let wanted = self.proposed_s.min(most_s);
        left_s / (left_s / wanted * (1.0 - 1e-9)).ceil().max(1.0)
    }

    /// What comes after a step whose error, in tolerances, was too large.
    pub fn shorten(&mut self, h: f64, error: f64) {
        let shrink = if error.is_finite() {
            (0.9 * root(error)).clamp(0.1, 0.9)
        } else {
            0.1
        };
        self.proposed_s = h * shrink;
    }

    /// What comes after a step whose error, in tolerances, was small enough; `root` is [`root`] of it.
    pub fn go_on(&mut self, h: f64, error: f64, root: f64) {
        self.note(h);
        let grow = if error > 0.0 {
            (0.9 * root).clamp(0.2, 6.0)
        } else {
            6.0
        };
        // A step cut short by a stop says little about longer ones.
        self.proposed_s = if h < self.proposed_s {
            self.proposed_s.max(h * grow)
        } else {
            h * grow
        };
    }

    /// What has happened, or that a stop was reached without anything.
    pub fn happened(&mut self, what: Option<Happening>) {
        self.latest = what;
    }

    /// Remembers how long the first step after an event could be; a little longer is tried the next time.
    fn note(&mut self, h: f64) {
        const LONGER: f64 = 1.2;
        let Some(what) = self.latest.take() else {
            return;
        };
        match self.firsts.iter_mut().find(|(k, _)| *k == what) {
            Some((_, first)) => *first = LONGER * h,
            None => self.firsts.push((what, LONGER * h)),
        }
    }
}

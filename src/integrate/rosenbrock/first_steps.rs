//! How long first steps after events may be.

use crate::integrate::Happening;

/// How long the first step after an event could be when it last happened. What a thermostat switches begins
/// much the same every time, and trying it out costs several steps.
#[derive(Default)]
pub(super) struct FirstSteps {
    known: Vec<(Happening, f64)>,
    /// What has just happened, until a step is made.
    pub(super) latest: Option<Happening>,
}

impl FirstSteps {
    pub(super) fn after_latest(&self) -> Option<f64> {
        let latest = self.latest?;
        let known = self.known.iter().find(|(what, _)| *what == latest);
        known.map(|(_, h)| *h)
    }

    /// Notes an accepted step; only the first after an event counts. A little longer is tried the next time.
    pub(super) fn note(&mut self, h: f64) {
        const LONGER: f64 = 1.2;
        let Some(what) = self.latest.take() else {
            return;
        };
        match self.known.iter_mut().find(|(k, _)| *k == what) {
            Some((_, first)) => *first = LONGER * h,
            None => self.known.push((what, LONGER * h)),
        }
    }
}

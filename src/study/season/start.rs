//! One start of a season, and all of them.

use super::sharing::Sharing;
use crate::chamber::StationKind;
use crate::study::check::{Outcome, Verdict};
use jiff::SignedDuration;
use jiff::civil::DateTime;

/// The run, started at one moment of the season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// Local time of the start.
    pub at: DateTime,
    /// Smallest difference of limit and filament temperature over the whole job, K.
    pub margin_K: f64,
    /// Its verdict.
    pub verdict: Verdict,
    /// Filament temperature at the hottest moment, K.
    pub peak_K: f64,
    /// Where that is.
    pub station: StationKind,
    /// When that is, local time.
    pub peak_at: DateTime,
}

impl Start {
    /// From what a run comes to that started then.
    #[must_use]
    pub fn of(at: DateTime, outcome: &Outcome) -> Self {
        Self {
            at,
            margin_K: outcome.margin_K,
            verdict: outcome.verdict,
            peak_K: outcome.peak_K,
            station: outcome.station,
            peak_at: later(at, outcome.peak_at_s),
        }
    }
}

/// A moment so many seconds later, to the second; the calendar's end beyond it.
#[must_use]
pub fn later(at: DateTime, by_s: f64) -> DateTime {
    at.saturating_add(SignedDuration::from_secs(by_s.round() as i64))
}

/// How many starts come to which verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// With at least the required margin.
    pub holds: usize,
    /// With less.
    pub tight: usize,
    /// That soften.
    pub softens: usize,
    /// With a heater too weak.
    pub cannot_run: usize,
}

impl Counts {
    /// Of verdicts.
    pub fn of(verdicts: impl IntoIterator<Item = Verdict>) -> Self {
        let mut counts = Self::default();
        for verdict in verdicts {
            counts.add(verdict);
        }
        counts
    }

    /// One more.
    pub fn add(&mut self, verdict: Verdict) {
        match verdict {
            Verdict::Holds => self.holds += 1,
            Verdict::Tight => self.tight += 1,
            Verdict::Softens => self.softens += 1,
            Verdict::CannotRun => self.cannot_run += 1,
        }
    }

    /// All of them.
    #[must_use]
    pub const fn all(&self) -> usize {
        self.holds + self.tight + self.softens + self.cannot_run
    }

    /// Share of those that hold, 0 to 1; 0 where there are none.
    #[must_use]
    pub fn share_that_holds(&self) -> f64 {
        if self.all() == 0 {
            return 0.0;
        }
        self.holds as f64 / self.all() as f64
    }

    /// The worst verdict among them; none where there are none.
    #[must_use]
    pub const fn worst(&self) -> Option<Verdict> {
        if self.cannot_run > 0 {
            Some(Verdict::CannotRun)
        } else if self.softens > 0 {
            Some(Verdict::Softens)
        } else if self.tight > 0 {
            Some(Verdict::Tight)
        } else if self.holds > 0 {
            Some(Verdict::Holds)
        } else {
            None
        }
    }
}

/// One arrangement over a season.
#[derive(Debug, Clone, PartialEq)]
pub struct Season {
    /// Name of the arrangement.
    pub name: String,
    /// Required margin, K.
    pub required_K: f64,
    /// How long the job takes, s.
    pub duration_s: f64,
    /// False when the run must stay closed and this opens the machine.
    pub is_allowed: bool,
    /// Time between starts, s.
    pub every_s: f64,
    /// The starts, in order of time.
    pub starts: Vec<Start>,
    /// Starts left out because the job would outlast the weather.
    pub left_out: usize,
    /// How the starts were computed.
    pub sharing: Sharing,
}

impl Season {
    /// All of it but the starts.
    pub(super) fn clone_without_starts(&self) -> Self {
        Self {
            name: self.name.clone(),
            starts: Vec::new(),
            ..*self
        }
    }

    /// How many starts come to which verdict.
    #[must_use]
    pub fn counts(&self) -> Counts {
        Counts::of(self.starts.iter().map(|s| s.verdict))
    }

    /// The start with the least margin; one that cannot run is worse than any. None where there are none.
    #[must_use]
    pub fn worst(&self) -> Option<&Start> {
        let rank = |s: &Start| s.verdict != Verdict::CannotRun;
        self.starts
            .iter()
            .min_by(|a, b| (rank(a).cmp(&rank(b))).then(a.margin_K.total_cmp(&b.margin_K)))
    }
}

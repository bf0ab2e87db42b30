//! What sizing a fan comes to.

use super::candidates::Candidate;
use super::chance::Chances;
use super::warn::FanWarning;
use crate::chamber::StationKind;
use crate::run::FilterKind;
use crate::study::Verdict;
use crate::study::cautions::Caution;
use crate::study::heaters::Shortfall;

/// Why no flow is enough.
#[derive(Debug, Clone, PartialEq)]
pub struct Unreachable {
    /// The flow with the lowest peak of those tried at which the heaters do their work, m3/s.
    pub tried_m3_per_s: f64,
    /// The station that stays too hot.
    pub station: StationKind,
    /// Warmest room air over the run, K.
    pub room_K: f64,
    /// Softening limit less the required margin, K.
    pub allowed_K: f64,
    /// Whether there is a flow at which the job can run at all.
    pub runs: bool,
    /// What a heater lacks at the largest flow tried.
    pub shortfall: Option<Shortfall>,
}

/// What to ask a supplier for: the fans of the catalogue are examples, and nobody sells them.
#[derive(Debug, Clone, PartialEq)]
pub struct Specification {
    /// Flow, m3/s, at least.
    pub flow_m3_per_s: f64,
    /// Static pressure at that flow with a loaded filter, Pa.
    pub pressure_Pa: f64,
    /// Temperature of the air at which that is needed, K.
    pub air_K: f64,
    /// Warmest air that passes it, K.
    pub warmest_K: f64,
    /// Diameter of the duct that it feeds, m.
    pub duct_m: f64,
    /// Power of the smallest fan of the catalogue that does, W, for orientation.
    pub power_W: Option<f64>,
    /// What the filter has to hold back.
    pub filter: FilterKind,
    /// What clean and loaded filter may take of that flow, Pa.
    pub filter_Pa: (f64, f64),
}

/// A smaller fan that is enough once there is more make-up opening.
#[derive(Debug, Clone, PartialEq)]
pub struct LargerOpening {
    /// Free area added low in the chamber, m2.
    pub add_m2: f64,
    /// The fan, at the flow it gives then.
    pub candidate: Candidate,
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Sizing {
    /// Least flow that holds the required margin, m3/s, rounded up to 0.1 m3/h; 0 where the closed
    /// machine holds already; none where no flow does.
    pub needed_m3_per_s: Option<f64>,
    /// Least flow that also brings the chance of softening under what the run puts up with, m3/s; none where that was not
    /// asked, or where no flow between the fans' does.
    pub sure_m3_per_s: Option<f64>,
    /// The chance of softening at any flow, where that was asked.
    pub chances: Option<Chances>,
    /// Why there is none.
    pub unreachable: Option<Unreachable>,
    /// Lowest peak of the filament over all flows tried, K.
    pub coolest_peak_K: f64,
    /// Largest flow that keeps the chamber warm enough, m3/s; none where it can't be too cool, or
    /// where no flow tried makes it so.
    pub most_m3_per_s: Option<f64>,
    /// Pressure of the whole system at the needed flow with clean and with loaded filter, Pa.
    pub pressure_at_needed_Pa: Option<(f64, f64)>,
    /// Candidates in the order given, then pairs where no single fan is enough.
    pub candidates: Vec<Candidate>,
    /// Position of the recommended one.
    pub recommended: Option<usize>,
    /// What a larger make-up opening would spare.
    pub larger_opening: Option<LargerOpening>,
    /// What to ask for; none where no flow is needed or enough.
    pub specification: Option<Specification>,
    /// Flow and pressure of the system, clean and loaded, for the picture.
    pub system_Pa: Vec<(f64, f64, f64)>,
    /// What practice knows.
    pub warnings: Vec<FanWarning>,
    /// What the user must mind.
    pub cautions: Vec<Caution>,
}

impl Sizing {
    /// The chance of softening with a fan whose filter is loaded, where that was asked.
    #[must_use]
    pub fn chance_softens(&self, c: &Candidate) -> Option<f64> {
        let chances = self.chances.as_ref()?;
        Some(chances.at(c.loaded.flow_m3_per_s))
    }

    /// `holds` when a fan holds with a loaded filter and leaves the chamber warm enough, `tight`
    /// when only with a clean one (or too cool), `softens` when none does, `cannot run` when at no flow
    /// the heaters hold their setpoints.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        let best = |c: &Candidate| match (c.loaded.outcome.verdict, c.clean.outcome.verdict) {
            (Verdict::Holds, Verdict::CannotRun) => 2,
            (Verdict::Holds, _) if !c.too_cool => 0,
            (Verdict::Holds, _) | (_, Verdict::Holds) => 1,
            _ => 2,
        };
        match self.candidates.iter().map(best).min() {
            Some(0) => Verdict::Holds,
            Some(1) => Verdict::Tight,
            _ if self.unreachable.as_ref().is_some_and(|u| !u.runs) => Verdict::CannotRun,
            // Each fan that would be enough moves too much with a clean filter.
            _ if self.candidates.iter().any(too_strong) => Verdict::CannotRun,
            _ => Verdict::Softens,
        }
    }
}

/// Whether it holds with a loaded filter only because the loaded one lets less through than the heaters bear.
#[must_use]
pub fn too_strong(c: &Candidate) -> bool {
    (c.loaded.outcome.verdict, c.clean.outcome.verdict) == (Verdict::Holds, Verdict::CannotRun)
}

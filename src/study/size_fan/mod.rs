//! Which fan is enough: the least extraction flow that keeps the filament solid, the pressure the
//! way out takes at that flow, and each candidate fan simulated over the whole run at the flow it
//! really gives.
//!
//! Every number comes from whole runs. A fan's flow follows from its curve and the system's at the
//! mean temperature of the air it draws; [`Duty::flow_error_m3_per_s`] states what a second round
//! with the run's own mean would have changed.

mod candidates;
mod flow;
mod warn;

pub use candidates::{Candidate, Duty, Mounting};
pub use flow::{Sample, system_pressure_Pa};
pub use warn::FanWarning;

use crate::chamber::StationKind;
use crate::integrate::Options;
use crate::run::{Fan, Inputs};

use super::cautions::Caution;
use super::{StudyError, Verdict};

/// Largest flow tried, m3/s (2000 m3/h): far beyond what any chamber of this kind is given.
pub const MOST_FLOW_M3_PER_S: f64 = 2000.0 / 3600.0;

/// Why no flow is enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unreachable {
    /// The largest flow tried, m3/s.
    pub tried_m3_per_s: f64,
    /// The station that stays too hot.
    pub station: StationKind,
    /// Warmest room air over the run, K.
    pub room_K: f64,
    /// Softening limit less the required margin, K.
    pub allowed_K: f64,
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Sizing {
    /// Least flow that holds the required margin, m3/s, rounded up to 0.1 m3/h; 0 where the closed
    /// machine holds already; none where no flow does.
    pub needed_m3_per_s: Option<f64>,
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
    /// Flow and pressure of the system, clean and loaded, for the picture.
    pub system_Pa: Vec<(f64, f64, f64)>,
    /// What practice knows.
    pub warnings: Vec<FanWarning>,
    /// What the user must mind.
    pub cautions: Vec<Caution>,
}

impl Sizing {
    /// `holds` when a fan holds with a loaded filter and leaves the chamber warm enough, `tight`
    /// when only with a clean one (or too cool), `softens` when none does.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        let best = |c: &Candidate| match (c.loaded.outcome.verdict, c.clean.outcome.verdict) {
            (Verdict::Holds, _) if !c.too_cool => 0,
            (Verdict::Holds, _) | (_, Verdict::Holds) => 1,
            _ => 2,
        };
        match self.candidates.iter().map(best).min() {
            Some(0) => Verdict::Holds,
            Some(1) => Verdict::Tight,
            _ => Verdict::Softens,
        }
    }
}

/// The least extraction flow that holds the required margin over the whole run, m3/s, rounded up to
/// 0.1 m3/h; 0 where none is needed, nothing where none is enough.
///
/// # Errors
/// See [`StudyError`].
pub fn least_flow_m3_per_s(inputs: &Inputs, options: &Options) -> Result<Option<f64>, StudyError> {
    let run = inputs.to_run()?;
    let options = Options {
        ledgers: false,
        ..*options
    };
    flow::Flows::new(&run, inputs, &options)?.least()
}

/// Sizes the extraction fan of a run. A run whose arrangement is another one is taken as
/// extracting all the time; a thermostat that runs its fan is kept.
///
/// # Errors
/// See [`StudyError`].
pub fn size_fan(inputs: &Inputs, fans: &[Fan], options: &Options) -> Result<Sizing, StudyError> {
    let run = &inputs.to_run()?;
    let options = Options {
        ledgers: false,
        ..*options
    };
    let mut flows = flow::Flows::new(run, inputs, &options)?;
    let needed_m3_per_s = flows.least()?;
    let most_m3_per_s = flows.most()?;
    let mut candidates = candidates::single(&flows, fans)?;
    if !candidates.iter().any(Candidate::is_enough) {
        candidates.extend(candidates::pairs(&flows, fans)?);
    }
    let recommended = candidates::recommend(&candidates);
    let coolest = flows.coolest();
    let unreachable = needed_m3_per_s.is_none().then_some(Unreachable {
        tried_m3_per_s: MOST_FLOW_M3_PER_S,
        station: coolest.outcome.station,
        room_K: coolest.room_max_K,
        allowed_K: run.material.softening_limit_K - run.requirements.margin_K,
    });
    let both = |q: f64| (flows.pressure_Pa(q, false), flows.pressure_Pa(q, true));
    let widest = candidates
        .iter()
        .map(|c| c.clean.flow_m3_per_s)
        .chain(needed_m3_per_s)
        .fold(0.0, f64::max)
        * 1.15;
    let system_Pa = (0..=60)
        .map(|k| widest * f64::from(k) / 60.0)
        .map(|q| (q, both(q).0, both(q).1))
        .collect();
    let mut sizing = Sizing {
        needed_m3_per_s,
        unreachable,
        coolest_peak_K: coolest.outcome.peak_K,
        most_m3_per_s,
        pressure_at_needed_Pa: needed_m3_per_s.map(both),
        candidates,
        recommended,
        system_Pa,
        warnings: Vec::new(),
        cautions: Caution::for_run(&flow::with_flow(inputs, MOST_FLOW_M3_PER_S)?),
    };
    sizing.warnings = warn::warnings(run, &flows, &sizing);
    Ok(sizing)
}

#[cfg(test)]
mod tests;

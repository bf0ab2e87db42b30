//! What running a fan costs, and when its filter is due.

use super::answer::{Costs, FilterChange};
use super::candidates::Candidate;
use super::flow::{Flows, with_flow};
use crate::chamber::{IntegratorKind, Simulation};
use crate::integrate::Options;
use crate::run::{FilterKind, Inputs, Run};
use crate::study::StudyError;

/// Costs of a fan with a loaded filter.
pub(super) fn costs(flows: &Flows<'_>, c: &Candidate) -> Result<Costs, StudyError> {
    let run = flows.run;
    let heaters_J = |flow: f64| heaters_J(flows.inputs, flow, &flows.options);
    let more_J = heaters_J(c.clean.flow_m3_per_s)? - heaters_J(0.0)?;
    let system = &run.system;
    // What a season needs beyond this run goes on as in it.
    let season_J = system
        .season_s
        .zip(c.loaded.energy_J)
        .map(|(season_s, fan_J)| (fan_J + more_J) * season_s / run.duration_s);
    Ok(Costs {
        fan_J: c.loaded.energy_J,
        heaters_J: more_J,
        season_J,
        price_per_kWh: system.price_per_kWh,
    })
}

/// What the machine's heaters draw over the run at a flow, m3/s, J.
fn heaters_J(inputs: &Inputs, flow_m3_per_s: f64, options: &Options) -> Result<f64, StudyError> {
    let run = with_flow(inputs, flow_m3_per_s)?;
    let options = Options {
        ledgers: true,
        ..*options
    };
    let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &options)?;
    let heaters = s
        .heat()
        .in_J
        .into_iter()
        .filter(|(name, _)| name.ends_with("heater"));
    Ok(heaters.map(|(_, joules)| joules).sum())
}

/// When the filter of a fan is due: what it takes loaded at the fan's flow then, and after how long.
pub(super) fn filter_change(run: &Run, c: &Candidate) -> Option<FilterChange> {
    let (clean, loaded) = (&run.system.filter_clean, &run.system.filter_loaded);
    if run.system.filter == FilterKind::None || loaded.rated_Pa <= 0.0 {
        return None;
    }
    let rise_Pa_per_h = run.system.filter_rise_Pa_per_h.filter(|rise| *rise > 0.0);
    let after_s = rise_Pa_per_h.map(|rise| 3600.0 * (loaded.rated_Pa - clean.rated_Pa) / rise);
    Some(FilterChange {
        at_Pa: c.loaded.split.filter_Pa,
        new_Pa: c.clean.split.filter_Pa,
        after_s,
    })
}

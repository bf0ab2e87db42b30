//! Which fan is enough: the least extraction flow that keeps the filament solid, the pressure the
//! way out takes at that flow, and each candidate fan simulated over the whole run at the flow it
//! really gives.
//!
//! Every number comes from whole runs. A fan's flow follows from its curve and the system's at the
//! mean temperature of the air it draws; [`Duty::flow_error_m3_per_s`] states what a second round
//! with the run's own mean would have changed.

mod answer;
mod candidates;
mod chance;
mod flow;
mod practice;
mod warn;

pub use answer::{LargerOpening, Sizing, Specification, Unreachable, too_strong};
pub use candidates::{Candidate, Duty, Mounting};
pub use chance::Chances;
pub use flow::{GRAIN_M3_PER_S, MOST_FLOW_M3_PER_S, Sample, system_pressure_Pa};
pub use warn::FanWarning;

use crate::integrate::Options;
use crate::physics::air::{Air, pressure_at_altitude_Pa};
use crate::physics::duct::Screen;
use crate::run::{Fan, Inputs, Run};

use super::StudyError;
use super::band::Sampling;
use super::cautions::Caution;
use super::check::Verdict;

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
/// extracting all the time; a thermostat that runs its fan is kept. With a `sampling` the fan also has to bring the chance
/// of softening under what the run puts up with.
///
/// # Errors
/// See [`StudyError`].
pub fn size_fan(
    inputs: &Inputs,
    fans: &[Fan],
    sampling: Option<Sampling>,
    options: &Options,
) -> Result<Sizing, StudyError> {
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
    let chances = sampling.and_then(|sampling| chances(inputs, &candidates, sampling));
    let sure_m3_per_s = chances
        .as_ref()
        .zip(needed_m3_per_s)
        .and_then(|(chances, needed)| {
            let least = chances.least(run.requirements.chance)?;
            Some(least.max(needed))
        });
    let recommended = candidates::recommend(&candidates, chances.as_ref(), run.requirements.chance);
    let coolest = flows.coolest();
    let unreachable = needed_m3_per_s.is_none().then_some(Unreachable {
        tried_m3_per_s: coolest.flow_m3_per_s,
        station: coolest.outcome.station,
        room_K: coolest.room_max_K,
        allowed_K: coolest.outcome.limit_K - run.requirements.margin_K,
        runs: coolest.outcome.verdict != Verdict::CannotRun,
        shortfall: flows.shortfall().cloned(),
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
        sure_m3_per_s,
        chances,
        unreachable,
        coolest_peak_K: coolest.outcome.peak_K,
        most_m3_per_s,
        pressure_at_needed_Pa: needed_m3_per_s.map(both),
        candidates,
        recommended,
        larger_opening: None,
        specification: None,
        system_Pa,
        warnings: Vec::new(),
        cautions: Caution::for_run(&flow::with_flow(inputs, MOST_FLOW_M3_PER_S)?),
    };
    sizing.warnings = practice::warnings(run, &flows, &sizing);
    sizing.larger_opening = larger_opening(inputs, fans, &sizing, &options)?;
    sizing.specification = specification(run, &flows, &sizing);
    Ok(sizing)
}

/// The samples at flows from well below the smallest fan's with a loaded filter to the largest's.
fn chances(inputs: &Inputs, candidates: &[Candidate], sampling: Sampling) -> Option<Chances> {
    let flows = candidates.iter().map(|c| c.loaded.flow_m3_per_s);
    let flows: Vec<f64> = flows.filter(|q| *q >= flow::GRAIN_M3_PER_S).collect();
    let least = flows.iter().copied().reduce(f64::min)?;
    let most = flows.iter().copied().reduce(f64::max)?;
    let least = (0.7 * least).max(flow::GRAIN_M3_PER_S);
    Some(Chances::between(inputs, least, most, sampling))
}

/// The smallest fan that is enough with as much make-up opening as is advised, where a larger one is needed
/// without it.
fn larger_opening(
    inputs: &Inputs,
    fans: &[Fan],
    sizing: &Sizing,
    options: &Options,
) -> Result<Option<LargerOpening>, StudyError> {
    let advised = sizing.warnings.iter().find_map(|w| match w {
        FanWarning::SmallOpening { add_m2, .. } => Some(*add_m2),
        _ => None,
    });
    let (Some(add_m2), Some(_)) = (advised, sizing.needed_m3_per_s) else {
        return Ok(None);
    };
    let chosen = sizing.recommended.map(|k| &sizing.candidates[k]);
    let is_smaller = |c: &Candidate| {
        c.mounting == Mounting::Single
            && chosen.is_none_or(|chosen| candidates::by_size(c, chosen).is_lt())
    };
    let smaller = sizing.candidates.iter().filter(|c| is_smaller(c));
    let smaller: Vec<&str> = smaller.map(|c| c.fan.name.as_str()).collect();
    let fans = fans.iter().filter(|f| smaller.contains(&f.name.as_str()));
    let fans: Vec<Fan> = fans.cloned().collect();
    if fans.is_empty() {
        return Ok(None);
    }
    let mut opened = inputs.clone();
    opened.add_vent(add_m2, 0.0);
    let run = opened.to_run()?;
    let flows = flow::Flows::new(&run, &opened, options)?;
    let mut candidates = candidates::single(&flows, &fans)?;
    Ok(
        candidates::recommend(&candidates, None, 1.0).map(|k| LargerOpening {
            add_m2,
            candidate: candidates.swap_remove(k),
        }),
    )
}

fn specification(run: &Run, flows: &flow::Flows<'_>, sizing: &Sizing) -> Option<Specification> {
    let needed_m3_per_s = sizing.needed_m3_per_s.filter(|q| *q > 0.0)?;
    // A fan is bought once: it is asked for what certainty takes, where that is known.
    let needed_m3_per_s = sizing.sure_m3_per_s.unwrap_or(needed_m3_per_s);
    let pressure_Pa = flows.pressure_Pa(needed_m3_per_s, true);
    let chosen = sizing.recommended.map(|k| &sizing.candidates[k]);
    let air_K = flows.temperatures_K(needed_m3_per_s).0;
    let air = Air::at(air_K, pressure_at_altitude_Pa(run.room.altitude_m));
    let of_filter = |screen: &Screen| {
        let (density, viscosity) = (air.density_kg_per_m3, air.viscosity_Pa_s);
        screen.pressure_Pa(needed_m3_per_s, density, viscosity)
    };
    Some(Specification {
        flow_m3_per_s: needed_m3_per_s,
        pressure_Pa,
        air_K,
        warmest_K: flows.warmest_extracted_K(needed_m3_per_s),
        duct_m: run.system.duct.diameter_m,
        power_W: chosen.and_then(|c| c.power_W),
        filter: run.system.filter,
        filter_Pa: (
            of_filter(&run.system.filter_clean),
            of_filter(&run.system.filter_loaded),
        ),
    })
}

#[cfg(test)]
mod tests;

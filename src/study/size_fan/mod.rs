//! Which fan is enough: the least extraction flow that keeps the filament solid, the pressure the
//! way out takes at that flow, and each candidate fan simulated over the whole run at the flow it
//! really gives.
//!
//! Every number comes from whole runs. A fan's flow follows from its curve and the system's at the
//! mean temperature of the air it draws; [`Duty::flow_error_m3_per_s`] states what a second round
//! with the run's own mean would have changed. [`Advice`] is the one answer: words, table, picture, JSON and exit
//! code follow from it.

mod answer;
mod candidates;
mod cause;
mod chance;
mod costs;
mod eased;
mod flow;
mod practice;
mod thermostat;
mod throttle;
mod warn;

pub use answer::{
    Advice, AssumedFilter, Cause, CauseKind, Costs, Eased, FilterChange, FlowBy, LargerOpening,
    NoneEnough, Sizing, Specification, Thermostat, Unreachable,
};
pub use candidates::{Candidate, Duty, Lack, Mounting, RESERVE, STRAINS_PA, Setup, Standing};
pub use chance::Chances;
pub use flow::{GRAIN_M3_PER_S, MOST_FLOW_M3_PER_S, Sample, Split, WayOut};
pub use warn::FanWarning;

use crate::integrate::Options;
use crate::keys::{Problem, Problems};
use crate::quantity::{System, format_temperature};
use crate::run::{Arrangement, ArrangementKind, Fan, Inputs};

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
/// of softening under what the run puts up with; without one it is given the reserve that practice gives it.
///
/// # Errors
/// See [`StudyError`]; also where a fan that somebody described is not made for the air of the room.
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
    for_the_room(fans, flows.coolest().room_max_K)?;
    let needed_m3_per_s = flows.least()?;
    let most_m3_per_s = flows.most()?;
    let mut candidates = candidates::single(&flows, fans)?;
    let asked = candidates::Asked {
        needed_m3_per_s,
        most_m3_per_s,
        chance: run.requirements.chance,
    };
    let standing = |candidates: &mut [Candidate]| {
        for c in candidates {
            c.stands(&asked, None);
        }
    };
    standing(&mut candidates);
    if let (Some(needed), Some(limit)) = (
        needed_m3_per_s,
        limit(&mut flows, &candidates, most_m3_per_s)?,
    ) && needed <= limit
    {
        candidates.extend(throttle::throttled(&flows, &candidates, needed, limit)?);
        standing(&mut candidates);
    }
    if !candidates.iter().any(Candidate::is_enough) {
        candidates.extend(candidates::pairs(&flows, fans)?);
        standing(&mut candidates);
    }
    let chances = sampling.map(|sampling| chances(inputs, &candidates, sampling));
    if let Some(chances) = &chances {
        for c in &mut candidates {
            let way_out = flows.way_out(c.loaded.flow_m3_per_s);
            let air_K = (way_out.extracted_K, way_out.room_K);
            c.stands(&asked, Some(chances.with(c, air_K, 0.0, most_m3_per_s)));
        }
    }
    let sure_m3_per_s = chances
        .as_ref()
        .zip(needed_m3_per_s)
        .and_then(|(chances, needed)| Some(chances.least(run.requirements.chance)?.max(needed)));
    let split_at_needed = needed_m3_per_s
        .filter(|q| *q > 0.0)
        .map(|q| flows.split(q, true));
    let out_of_reach = split_at_needed.is_some_and(|s| flow::is_out_of_reach(s.total_Pa()));
    let eased = needed_m3_per_s
        .filter(|_| out_of_reach)
        .map(|q| eased::eased(&flows, q));
    let unreachable = match needed_m3_per_s {
        Some(_) => None,
        None => Some(unreachable(&flows, cause::cause(inputs, &options)?)),
    };
    let both = |q: f64| (flows.pressure_Pa(q, false), flows.pressure_Pa(q, true));
    let pressure_at_needed_Pa = needed_m3_per_s.map(both);
    let widest = candidates
        .iter()
        .map(|c| c.clean.flow_m3_per_s)
        .chain(needed_m3_per_s.filter(|_| !out_of_reach))
        .fold(0.0, f64::max)
        * 1.15;
    let system_Pa = (0..=60)
        .map(|k| widest * f64::from(k) / 60.0)
        .map(|q| (q, both(q).0, both(q).1))
        .collect();
    let coolest = flows.coolest();
    let mut sizing = Sizing {
        advice: Advice::NoFlow,
        assumed: practice::assumed(inputs, run),
        instead_of: instead_of(&run.arrangement),
        as_scheduled: inputs.fan_is_scheduled(),
        needed_m3_per_s,
        sure_m3_per_s,
        chances,
        unreachable,
        coolest_peak_K: coolest.outcome.peak_K,
        most_margin_K: coolest.outcome.margin_K,
        most_m3_per_s,
        pressure_at_needed_Pa,
        split_at_needed,
        eased,
        recommended: candidates::recommend(&candidates, needed_m3_per_s.unwrap_or(f64::INFINITY)),
        candidates,
        larger_opening: None,
        thermostat: None,
        filter_change: None,
        costs: None,
        specification: None,
        system_Pa,
        samples: Vec::new(),
        warnings: Vec::new(),
        cautions: Vec::new(),
    };
    sizing.advice = answer::advice(&sizing, run.requirements.chance, out_of_reach);
    if matches!(sizing.advice, Advice::NoFan | Advice::ClosedMarginal) {
        sizing.recommended = None;
    }
    only_what_helps(&mut sizing);
    sizing.warnings = practice::warnings(run, &flows, &sizing);
    sizing.larger_opening = eased::larger_opening(inputs, fans, &sizing, &options)?;
    if let Some(c) = sizing.recommended.map(|k| &sizing.candidates[k]) {
        sizing.thermostat = thermostat::thermostat(&flows, c)?;
        sizing.filter_change = costs::filter_change(run, c);
        sizing.costs = Some(costs::costs(&flows, c)?);
    }
    sizing.specification = practice::specification(run, &flows, &sizing);
    sizing.cautions = cautions(inputs, &sizing)?;
    flows.add_all(&shown(widest))?;
    sizing.samples = flows.made().to_vec();
    Ok(sizing)
}

/// A fan of somebody's own that is not made for the room's air is a slip; one of the catalogue is just not taken.
fn for_the_room(fans: &[Fan], room_K: f64) -> Result<(), StudyError> {
    for fan in fans.iter().filter(|fan| !fan.invented) {
        if let Some(most_K) = fan.air_max_K.filter(|most_K| *most_K < room_K) {
            let degrees = |K: f64| format_temperature(K, System::Si);
            let (most, room) = (degrees(most_K), degrees(room_K));
            let message = format!(
                "this fan is made for air of {most} at most, but the room alone reaches {room}"
            );
            let problem = Problem::in_file(&fan.name, message).help(
                "look at its data sheet again: `air_max`, or the column air_max_degC of a CSV file",
            );
            return Err(Problems::from(problem).into());
        }
    }
    Ok(())
}

/// What the run has instead of a closed machine or one from which a fan draws air out, in words.
fn instead_of(arrangement: &Arrangement) -> Option<&'static str> {
    let is_plain = matches!(
        arrangement.kind,
        ArrangementKind::Closed | ArrangementKind::Extracting { .. }
    );
    (!is_plain || !arrangement.stays_closed()).then(|| arrangement.name())
}

/// Leaves out slower, throttled and paired fans where none is needed or where they do not help: the fans themselves say
/// why none does.
fn only_what_helps(sizing: &mut Sizing) {
    let chosen = sizing.chosen().map(Candidate::label);
    let no_fan = sizing.advice == Advice::NoFan;
    let plain = Setup::rated(Mounting::Single);
    sizing
        .candidates
        .retain(|c| c.setup == plain || (!no_fan && c.is_enough()));
    let is_chosen = |c: &Candidate| Some(c.label()) == chosen;
    sizing.recommended = sizing
        .recommended
        .and(sizing.candidates.iter().position(is_chosen));
}

/// The flow above which a fan moves too much, m3/s: it makes the chamber too cool, or cools what a heater can't hold.
fn limit(
    flows: &mut flow::Flows<'_>,
    candidates: &[Candidate],
    most_m3_per_s: Option<f64>,
) -> Result<Option<f64>, StudyError> {
    let too_strong =
        |c: &Candidate| matches!(c.standing, Standing::Not(Lack::CannotRun | Lack::TooStrong));
    let runs = if candidates.iter().any(too_strong) {
        flows.most_that_runs()?
    } else {
        None
    };
    Ok([most_m3_per_s, runs].into_iter().flatten().reduce(f64::min))
}

fn unreachable(flows: &flow::Flows<'_>, cause: Option<Cause>) -> Unreachable {
    let coolest = flows.coolest();
    Unreachable {
        tried_m3_per_s: coolest.flow_m3_per_s,
        station: coolest.outcome.station,
        room_K: coolest.room_max_K,
        allowed_K: coolest.outcome.limit_K - flows.run.requirements.margin_K,
        runs: coolest.outcome.verdict != Verdict::CannotRun,
        shortfall: flows.shortfall().cloned(),
        cause,
    }
}

/// The samples at flows from well below the smallest fan's with a loaded filter to the largest's.
fn chances(inputs: &Inputs, candidates: &[Candidate], sampling: Sampling) -> Chances {
    let flows = candidates
        .iter()
        .flat_map(|c| [c.loaded.flow_m3_per_s, c.clean.flow_m3_per_s]);
    let flows: Vec<f64> = flows.filter(|q| *q >= flow::GRAIN_M3_PER_S).collect();
    let least = flows.iter().copied().fold(f64::INFINITY, f64::min);
    let most = flows.iter().copied().fold(0.0, f64::max);
    // A sample's flow may lie well beyond: its filter and its leaks differ.
    let least = (0.6 * least).clamp(flow::GRAIN_M3_PER_S, MOST_FLOW_M3_PER_S);
    Chances::between(inputs, least, 1.5 * most, sampling)
}

/// Flows for the picture, m3/s.
fn shown(widest_m3_per_s: f64) -> Vec<f64> {
    // Closer to each other where the margin rises steeply.
    let share = |k: u32| (f64::from(k) / 14.0).powi(2);
    let grains = |q: f64| (q / GRAIN_M3_PER_S).round() * GRAIN_M3_PER_S;
    (1..=14)
        .map(|k| grains(widest_m3_per_s * share(k)))
        .filter(|q| *q > 0.0)
        .collect()
}

/// What to mind about a fan, a vent and a thermostat; of the closed machine alone, where no fan is needed.
fn cautions(inputs: &Inputs, sizing: &Sizing) -> Result<Vec<Caution>, StudyError> {
    let has_fan = sizing.advice != Advice::NoFan;
    let flow = if has_fan { MOST_FLOW_M3_PER_S } else { 0.0 };
    let mut all = Caution::for_run(&flow::with_flow(inputs, flow)?);
    if has_fan {
        all.extend([Caution::ChangedMachine, Caution::FlowAlarm]);
    }
    all.sort_unstable();
    all.dedup();
    Ok(all)
}

#[cfg(test)]
mod tests;

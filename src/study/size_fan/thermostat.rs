//! A thermostat for the fan that was chosen: it rests where it is not needed.

use super::answer::Thermostat;
use super::candidates::{AIR_RESERVE_K, Candidate};
use super::flow::{Flows, Sample, read};
use crate::chamber::{IntegratorKind, Simulation};
use crate::run::{ArrangementKind, Control};
use crate::study::StudyError;
use crate::study::check::outcome_in;

/// Between starting and stopping, K, the narrowest first: it holds the air most evenly.
const BANDS_K: [f64; 5] = [3.0, 5.0, 8.0, 12.0, 16.0];
/// So much margin may be lost to resting, K: what was found of the fan's chance holds still.
const LOSS_K: f64 = 0.1;
/// A fan that runs more than this share of the time needs no thermostat.
const WORTH_SHARE: f64 = 0.95;

/// The highest temperature of the top air above which a fan may start and still keep the margin that it has with a loaded
/// filter running all the time, with a band wide enough for it to start no oftener than is good for it; with a clean
/// filter, which lets more through, as well. None where there is no such band, where that spares nothing, or where the
/// run says itself when the fan runs.
pub(super) fn thermostat(
    flows: &Flows<'_>,
    c: &Candidate,
) -> Result<Option<Thermostat>, StudyError> {
    if flows.inputs.changes_arrangement() {
        return Ok(None);
    }
    let [closed, .., last] = flows.made() else {
        return Ok(None);
    };
    // On whole degrees, as thermostats are set; one that stops it only below the room's mean temperature hardly does.
    let whole = |K: f64| (K - 273.15).floor() as i32;
    let (warmest_C, coolest_C) = (whole(closed.extracted_max_K), whole(last.room_K));
    let days = flows.run.duration_s / 86_400.0;
    let air_max_K = c
        .fan
        .air_max_K
        .map_or(f64::INFINITY, |most_K| most_K - AIR_RESERVE_K);
    let keeps_K = c.loaded.outcome.margin_K - LOSS_K;
    let holds = |s: &Sample| {
        s.outcome.excess_K(flows.run.requirements.margin_K) >= 0.0
            && s.outcome.margin_K >= keeps_K
            && s.extracted_max_K <= air_max_K
    };
    for band_K in BANDS_K {
        let at = |on_C: i32| -> Result<[Sample; 2], StudyError> {
            let on_above_K = f64::from(on_C) + 273.15;
            let with = |flow| run(flows, flow, on_above_K, band_K);
            let (loaded, clean) = rayon::join(
                || with(c.loaded.flow_m3_per_s),
                || with(c.clean.flow_m3_per_s),
            );
            Ok([loaded?, clean?])
        };
        // More margin the sooner it starts: the last that is enough, by halving.
        let (mut enough, mut too_late) = (coolest_C + 1 + band_K as i32, warmest_C + 1);
        let Some(mut found) = Some(at(enough)?).filter(|both| both.iter().all(holds)) else {
            continue;
        };
        while too_late - enough > 1 {
            let middle = i32::midpoint(enough, too_late);
            let both = at(middle)?;
            if both.iter().all(holds) {
                (enough, found) = (middle, both);
            } else {
                too_late = middle;
            }
        }
        let share = |s: &Sample| s.running.map_or(1.0, |(share, _)| share);
        let starts = |s: &Sample| s.running.map_or(0.0, |(_, starts)| starts as f64 / days);
        let [loaded, clean] = &found;
        if share(loaded) >= WORTH_SHARE {
            return Ok(None);
        }
        if !found.iter().any(|s| s.starts_too_often) {
            let on_above_K = f64::from(enough) + 273.15;
            return Ok(Some(Thermostat {
                on_above_K,
                off_below_K: on_above_K - band_K,
                share: share(loaded),
                starts_a_day: starts(loaded).max(starts(clean)),
                margin_K: loaded.outcome.margin_K.min(clean.outcome.margin_K),
            }));
        }
    }
    Ok(None)
}

/// What comes of the run with such a thermostat.
fn run(
    flows: &Flows<'_>,
    flow_m3_per_s: f64,
    on_above_K: f64,
    band_K: f64,
) -> Result<Sample, StudyError> {
    let mut inputs = flows.inputs.clone();
    inputs.fit_fan(flow_m3_per_s);
    let control = Control::Thermostat {
        on_above_K,
        off_below_K: on_above_K - band_K,
    };
    inputs.arrange(&ArrangementKind::Extracting { flow_m3_per_s }, &control);
    let run = inputs.to_run()?;
    let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &flows.options)?;
    let outcome = outcome_in(&run, &s, &flows.options)?;
    Ok(read(&s, outcome, flow_m3_per_s))
}

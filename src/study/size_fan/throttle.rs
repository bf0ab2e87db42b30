//! Fans that are too strong as they come, run slower or throttled: each a row of its own.

use super::candidates::{Candidate, Lack, Meeting, Mounting, Setup, Standing, candidates};
use super::flow::Flows;
use crate::run::Fan;
use crate::study::StudyError;

/// Speeds tried, in percent of the rated one: the fan laws hold down to half of it.
const SPEEDS_PERCENT: [u32; 10] = [95, 90, 85, 80, 75, 70, 65, 60, 55, 50];
/// So much of the flow that would be too much a slower or throttled fan gives at most, where that is enough: its curve
/// and the leaks are in doubt.
const BELOW: f64 = 0.85;

/// For each single fan that moves too much with a clean filter the gentlest setting at which it does not: a lower speed
/// where that can be set, else a damper. Only where it still gives what is needed with a loaded filter.
///
/// * `limit_m3_per_s`: more than this is too much.
pub(super) fn throttled(
    flows: &Flows<'_>,
    fans: &[Candidate],
    needed_m3_per_s: f64,
    limit_m3_per_s: f64,
) -> Result<Vec<Candidate>, StudyError> {
    let too_much = fans.iter().filter(|c| {
        c.setup.mounting == Mounting::Single
            && matches!(
                c.standing,
                Standing::Not(Lack::CannotRun | Lack::TooStrong | Lack::TooCool)
            )
    });
    let set: Vec<(&Fan, Setup)> = too_much
        .filter_map(|c| {
            let fan = &c.fan;
            let gives = |setup: &Setup| {
                let loaded = Meeting::of(flows, &fan.curve, *setup, true).flow_m3_per_s();
                loaded >= needed_m3_per_s
            };
            // With something in hand if that is enough, else as near the limit as it may; a lower speed before a damper.
            let limits = [BELOW, 0.98]
                .map(|share| share * limit_m3_per_s)
                .into_iter();
            let slower = limits
                .clone()
                .filter(|_| fan.settable)
                .filter_map(|most| slower(flows, fan, most));
            let damped = limits.filter_map(|most| damped(flows, fan, most));
            let mut found = slower.chain(damped).filter(gives);
            Some((fan, found.next()?))
        })
        .collect();
    candidates(flows, set)
}

fn slower(flows: &Flows<'_>, fan: &Fan, limit_m3_per_s: f64) -> Option<Setup> {
    let at = |percent: u32| Setup {
        speed: f64::from(percent) / 100.0,
        ..Setup::rated(Mounting::Single)
    };
    let gives = |setup| Meeting::of(flows, &fan.curve, setup, false).flow_m3_per_s();
    let mut each = SPEEDS_PERCENT.into_iter().map(at);
    each.find(|setup| gives(*setup) <= limit_m3_per_s)
}

/// A damper that takes, at the limit, what the fan gives more than the system asks for.
fn damped(flows: &Flows<'_>, fan: &Fan, limit_m3_per_s: f64) -> Option<Setup> {
    let flow = limit_m3_per_s;
    let rated = Setup::rated(Mounting::Single);
    let way_out = flows.way_out(flow);
    let curve = rated.curve(&fan.curve, way_out.density_kg_per_m3());
    let left_Pa = curve.pressure_Pa(flow) - way_out.split(flow, false).total_Pa();
    (left_Pa > 0.0 && flow > 0.0).then_some(Setup {
        damper_Pa_s2_per_m6: left_Pa / (flow * flow),
        ..rated
    })
}

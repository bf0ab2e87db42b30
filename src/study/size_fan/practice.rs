//! What practice knows about fans, filters and openings.

use super::answer::Sizing;
use super::flow::{Flows, shell_pressure_Pa};
use super::warn::FanWarning;
use crate::physics::duct::jet_speed_m_per_s;
use crate::run::change::SHARP_EDGED;
use crate::run::{FilterKind, Run};

/// Shell pressure above which the make-up opening is called too small, Pa (common practice: a
/// few pascals for small cabinets, no source).
const LARGE_SHELL_PA: f64 = 10.0;
/// Shell pressure for which an opening is suggested, Pa.
const WANTED_SHELL_PA: f64 = 3.0;
/// Speed past a hot part that may warp it or lift its corners, m/s (common practice, no source).
const DRAUGHT_M_PER_S: f64 = 1.0;
/// An inlet within this share of the chamber's height from the extraction point is next to it.
const NEAR_SHARE: f64 = 0.25;
/// Less flow than this is as good as none, m3/s (0.5 m3/h).
const NO_FLOW_M3_PER_S: f64 = 0.5 / 3600.0;

pub(super) fn warnings(run: &Run, flows: &Flows<'_>, sizing: &Sizing) -> Vec<FanWarning> {
    let mut found = Vec::new();
    let chosen = sizing.recommended.map(|k| &sizing.candidates[k]);
    // The flow that will blow: the recommended fan's, or else the needed one.
    let flow_m3_per_s = chosen
        .map(|c| c.clean.flow_m3_per_s)
        .or(sizing.needed_m3_per_s)
        .unwrap_or(0.0);
    let (extracted_K, room_K) = flows.temperatures_K(flow_m3_per_s);
    let opening_m2 = flows.opening_m2();
    let pressure_Pa = shell_pressure_Pa(run, flow_m3_per_s, extracted_K, room_K, opening_m2);
    if let Some(add_m2) = advised_opening_m2(pressure_Pa, opening_m2) {
        found.push(FanWarning::SmallOpening {
            pressure_Pa,
            flow_m3_per_s,
            add_m2,
        });
    }
    for c in &sizing.candidates {
        let fan = c.label();
        if c.loaded.flow_m3_per_s < NO_FLOW_M3_PER_S {
            found.push(FanWarning::TooTight { fan });
        } else if c.loaded.unstable || c.clean.unstable {
            found.push(FanWarning::Unstable { fan });
        } else if c.clean.beyond_curve {
            found.push(FanWarning::BeyondCurve { fan });
        }
    }
    place_and_surroundings(run, flow_m3_per_s, pressure_Pa, opening_m2, &mut found);
    match (sizing.needed_m3_per_s, sizing.most_m3_per_s) {
        (_, Some(most)) if most <= 0.0 => found.push(FanWarning::CoolWhenClosed),
        (Some(needed_m3_per_s), Some(most_m3_per_s)) if needed_m3_per_s > most_m3_per_s => {
            found.push(FanWarning::TooCool {
                needed_m3_per_s,
                most_m3_per_s,
            });
        }
        _ => {}
    }
    found
}

/// Free area to add where the shell throttles a flow, m2, in whole square centimetres.
fn advised_opening_m2(pressure_Pa: f64, opening_m2: f64) -> Option<f64> {
    if pressure_Pa <= LARGE_SHELL_PA {
        return None;
    }
    // dp goes with the inverse square of the area; sharp edges pass a part of theirs.
    let wanted_m2 = opening_m2 * (pressure_Pa / WANTED_SHELL_PA).sqrt();
    Some(((wanted_m2 - opening_m2) / SHARP_EDGED * 1e4).ceil() * 1e-4)
}

fn place_and_surroundings(
    run: &Run,
    flow_m3_per_s: f64,
    pressure_Pa: f64,
    opening_m2: f64,
    found: &mut Vec<FanWarning>,
) {
    let m = &run.machine;
    let nearest = m
        .vents
        .iter()
        .map(|v| (v.height_m - m.extraction_height_m).abs())
        .reduce(f64::min);
    if let Some(distance_m) = nearest
        && distance_m < NEAR_SHARE * m.height_m
    {
        found.push(FanWarning::NextToInlet { distance_m });
    }
    if run.system.burner_in_room && run.system.led_outdoors {
        found.push(FanWarning::Burner { pressure_Pa });
    }
    // The largest vent's jet, from the back to the nearer side of a part in the middle.
    let vent_m2 = m
        .vents
        .iter()
        .map(|v| v.area_m2 * v.discharge)
        .fold(0.0, f64::max);
    let distance_m = 0.5 * (m.depth_m - run.part.footprint_m2.sqrt()).max(0.02);
    let speed_m_per_s = jet_speed_m_per_s(flow_m3_per_s / opening_m2, vent_m2, distance_m);
    if speed_m_per_s > DRAUGHT_M_PER_S && vent_m2 > 0.0 {
        found.push(FanWarning::Draught { speed_m_per_s });
    }
    if run.system.filter != FilterKind::ParticlesAndFumes {
        found.push(FanWarning::Fumes {
            into_room: !run.system.led_outdoors,
        });
    }
}

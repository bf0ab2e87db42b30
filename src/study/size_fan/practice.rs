//! What practice knows about fans, filters and openings.

use super::answer::{Advice, AssumedFilter, FlowBy, Sizing, Specification};
use super::candidates::{Lack, RESERVE, STRAINS_PA, Standing};
use super::flow::{Flows, GRAIN_M3_PER_S, is_out_of_reach};
use super::warn::FanWarning;
use crate::physics::air::Air;
use crate::physics::duct::{Screen, jet_speed_m_per_s};
use crate::run::change::SHARP_EDGED;
use crate::run::{FilterKind, Inputs, Run};

/// Shell pressure above which the make-up opening is called too small, Pa (common practice: a
/// few pascals for small cabinets, no source).
const LARGE_SHELL_PA: f64 = 10.0;
/// Shell pressure for which an opening is suggested, Pa.
const WANTED_SHELL_PA: f64 = 3.0;
/// Speed past a hot part that may warp it or lift its corners, m/s (common practice, no source).
const DRAUGHT_M_PER_S: f64 = 1.0;
/// An inlet within this share of the chamber's height from the extraction point is next to it.
const NEAR_SHARE: f64 = 0.25;
/// A filter that takes less than this at that flow is a coarse mat, which stops neither fine particles nor fumes, Pa and
/// m3/s (common practice, no source).
const COARSE_PA: f64 = 20.0;
const USUAL_FLOW_M3_PER_S: f64 = 40.0 / 3600.0;
/// A duct shorter than this has no joints that leak, m.
const SHORT_DUCT_M: f64 = 0.3;
/// What wind is reckoned with where no samples are, Pa: the spread of the key `system.wind`.
const WIND_PA: f64 = 10.0;

/// The filter that was taken for granted, where the run file does not say all of it.
pub(super) fn assumed(inputs: &Inputs, run: &Run) -> Option<AssumedFilter> {
    let system = &run.system;
    let is_said = system.filter == FilterKind::None
        || system.filter != FilterKind::NotSaid
            && ["filter_clean", "filter_loaded"]
                .iter()
                .all(|key| inputs.is_typed("system", key));
    (!is_said).then_some(AssumedFilter {
        filter: system.filter,
        rated_Pa: (system.filter_clean.rated_Pa, system.filter_loaded.rated_Pa),
        rated_flow_m3_per_s: system.filter_loaded.rated_flow_m3_per_s,
    })
}

pub(super) fn warnings(run: &Run, flows: &Flows<'_>, sizing: &Sizing) -> Vec<FanWarning> {
    if sizing.advice == Advice::NoFan {
        // Nobody fits a fan.
        let is_cool = sizing.most_m3_per_s.is_some_and(|most| most <= 0.0);
        return is_cool
            .then_some(FanWarning::CoolWhenClosed)
            .into_iter()
            .collect();
    }
    let mut found = Vec::new();
    // The flow that will blow: the recommended fan's, or else the needed one.
    let flow_m3_per_s = sizing
        .chosen()
        .map(|c| c.clean.flow_m3_per_s)
        .or(sizing.needed_m3_per_s)
        .unwrap_or(0.0);
    let shell_Pa = flows.split(flow_m3_per_s, false).shell_Pa;
    who_is_near(run, shell_Pa, &mut found);
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
    if let Some(add_m2) = advised_opening_m2(shell_Pa, flows.opening_m2) {
        found.push(FanWarning::SmallOpening {
            pressure_Pa: shell_Pa,
            flow_m3_per_s,
            add_m2,
        });
    }
    place(run, flow_m3_per_s, flows.opening_m2, &mut found);
    for c in &sizing.candidates {
        let fan = c.label();
        match c.standing {
            Standing::Not(Lack::FlowsBack) => found.push(FanWarning::FlowsBack { fan }),
            Standing::Not(Lack::NoFlow) => found.push(FanWarning::TooTight { fan }),
            Standing::Not(Lack::WarmAir {
                air_max_K,
                warmest_K,
            }) => found.push(FanWarning::WarmAir {
                fan,
                air_max_K,
                warmest_K,
            }),
            Standing::Not(Lack::Unstable) => found.push(FanWarning::Unstable { fan }),
            _ if c.loaded.starts_too_often || c.clean.starts_too_often => {
                let starts = [&c.loaded, &c.clean].map(|d| d.running.map_or(0, |r| r.1));
                if sizing.chosen().is_some_and(|chosen| chosen.label() == fan) {
                    let starts = starts[0].max(starts[1]);
                    found.push(FanWarning::StartsTooOften { fan, starts });
                }
            }
            _ if c.clean.beyond_curve => found.push(FanWarning::BeyondCurve { fan }),
            _ => {}
        }
    }
    found
}

/// Free area to add where the shell throttles a flow, m2, in whole square centimetres.
pub(super) fn advised_opening_m2(pressure_Pa: f64, opening_m2: f64) -> Option<f64> {
    if pressure_Pa <= LARGE_SHELL_PA {
        return None;
    }
    // dp goes with the inverse square of the area; sharp edges pass a part of theirs.
    let wanted_m2 = opening_m2 * (pressure_Pa / WANTED_SHELL_PA).sqrt();
    Some(((wanted_m2 - opening_m2) / SHARP_EDGED * 1e4).ceil() * 1e-4)
}

/// What may hurt those who work there.
fn who_is_near(run: &Run, shell_Pa: f64, found: &mut Vec<FanWarning>) {
    let system = &run.system;
    let into_room = !system.led_outdoors;
    let filter = &system.filter_clean;
    let usual_Pa = filter.rated_Pa * USUAL_FLOW_M3_PER_S / filter.rated_flow_m3_per_s;
    let is_coarse = system.filter == FilterKind::ParticlesAndFumes && usual_Pa < COARSE_PA;
    let all_held_back = system.filter == FilterKind::ParticlesAndFumes && !is_coarse;
    if !all_held_back || into_room && run.material.fumes.is_some() {
        found.push(FanWarning::Fumes {
            into_room,
            filter: system.filter,
            is_coarse,
            material: run.material.name.clone(),
            gives_off: run.material.fumes.clone(),
        });
    }
    if all_held_back && into_room {
        found.push(FanWarning::SpentFilter);
    }
    if system.burner_in_room && system.led_outdoors {
        found.push(FanWarning::Burner {
            pressure_Pa: shell_Pa,
        });
    }
    if shell_Pa > STRAINS_PA {
        found.push(FanWarning::DoorForce {
            pressure_Pa: shell_Pa,
            force_N: shell_Pa * run.machine.door_opening_m2,
        });
    }
    if system.led_outdoors && !system.fan_at_outlet && system.duct.length_m > SHORT_DUCT_M {
        found.push(FanWarning::DuctUnderPressure);
    }
}

fn place(run: &Run, flow_m3_per_s: f64, opening_m2: f64, found: &mut Vec<FanWarning>) {
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
}

/// What to ask a supplier for: the flow that certainty takes, where that is known and to be had; else the least and what
/// practice keeps in reserve. None where no fan is to be bought.
pub(super) fn specification(
    run: &Run,
    flows: &Flows<'_>,
    sizing: &Sizing,
) -> Option<Specification> {
    let needed_m3_per_s = sizing.needed_m3_per_s?;
    match sizing.advice {
        Advice::NoFan
        | Advice::ClosedMarginal
        | Advice::NoFlow
        | Advice::CannotRun
        | Advice::NoneEnough(super::NoneEnough::NoWindow | super::NoneEnough::OutOfReach) => {
            return None;
        }
        Advice::Take | Advice::Marginal | Advice::NoneEnough(_) => {}
    }
    let reserve = || {
        let grains = (RESERVE * needed_m3_per_s / GRAIN_M3_PER_S).ceil();
        (grains * GRAIN_M3_PER_S, FlowBy::Reserve)
    };
    // What certainty takes is none to ask for where no fan presses it through.
    let to_be_had = |q: &f64| !is_out_of_reach(flows.pressure_Pa(*q, true));
    let sure = sizing.sure_m3_per_s.filter(to_be_had);
    let (flow_m3_per_s, by) = sure.map_or_else(reserve, |sure| (sure, FlowBy::Chance));
    // A flow that makes the chamber too cool is none to ask for.
    let flow_m3_per_s = match sizing.most_m3_per_s {
        Some(most) => flow_m3_per_s.min(most).max(needed_m3_per_s),
        None => flow_m3_per_s,
    };
    let way_out = flows.way_out(flow_m3_per_s);
    let split = way_out.split(flow_m3_per_s, true);
    let nine_of_ten_Pa = sizing.chances.as_ref().and_then(|chances| {
        chances.pressure_Pa(flow_m3_per_s, (way_out.extracted_K, way_out.room_K))
    });
    let gust_Pa = if run.system.led_outdoors {
        WIND_PA
    } else {
        0.0
    };
    // A wind that helps is not counted on.
    let calm_Pa = split.total_Pa() - split.wind_Pa.min(0.0);
    let pressure_Pa = nine_of_ten_Pa.unwrap_or(calm_Pa + gust_Pa).max(calm_Pa);
    let chosen = sizing.chosen();
    // The fan to take does what it is asked for: where it gives less than a flow alone would have to be, it is asked for
    // what it gives.
    let (flow_m3_per_s, pressure_Pa, by) = match chosen {
        Some(c) if sizing.advice == Advice::Take => {
            let curve = c.setup.curve(&c.fan.curve, way_out.density_kg_per_m3());
            let gives_Pa = curve.pressure_Pa(flow_m3_per_s) - c.setup.damper_Pa(flow_m3_per_s);
            if gives_Pa >= pressure_Pa {
                (flow_m3_per_s, pressure_Pa, by)
            } else {
                (c.loaded.flow_m3_per_s, c.loaded.pressure_Pa, FlowBy::Fan)
            }
        }
        _ => (flow_m3_per_s, pressure_Pa, by),
    };
    let air = Air::at(way_out.extracted_K, way_out.ambient_Pa);
    let of_filter = |screen: &Screen| {
        screen.pressure_Pa(flow_m3_per_s, air.density_kg_per_m3, air.viscosity_Pa_s)
    };
    Some(Specification {
        flow_m3_per_s,
        by,
        pressure_Pa,
        most_m3_per_s: sizing.most_m3_per_s,
        air_K: way_out.extracted_K,
        warmest_K: flows.warmest_extracted_K(flow_m3_per_s),
        duct_m: run.system.duct.diameter_m,
        power_W: chosen.and_then(|c| c.power_W),
        settable: sizing.most_m3_per_s.is_some() || chosen.is_some_and(|c| c.setup.speed < 1.0),
        flap: sizing.thermostat.is_some() || run.system.led_outdoors,
        filter: run.system.filter,
        filter_Pa: (
            of_filter(&run.system.filter_clean),
            of_filter(&run.system.filter_loaded),
        ),
    })
}

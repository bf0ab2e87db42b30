//! Which changes a run offers, and how far each may go.

use super::action::{Action, TUBE_LEFT_M};
use crate::course::Course;
use crate::run::Run;
use crate::run::{ArrangementKind, OpenSide, Place};

/// Most a bed is lowered, K: beyond that parts come loose (common practice, no source).
const BED_MOST_K: f64 = 15.0;
/// Most a room is cooled, K: from a heat wave to a cool room.
const ROOM_MOST_K: f64 = 15.0;
/// Step of both, K.
const STEP_K: f64 = 0.5;
/// Least current of the feeder motor, in hundredths: its torque goes with the current and it must
/// still push (common practice, no source).
const CURRENT_LEAST: usize = 70;
/// Most a heat sink with a small fan adds to the feeder motor, W/K (a finned block of 40 mm in an
/// air stream; common practice, no source), in steps of 0.05.
const HEAT_SINK_MOST_W_PER_K: f64 = 0.5;
/// Air changes an hour beyond which more flow changes nothing: the chamber is the room by then.
pub const FLOW_MOST_CHANGES_PER_H: f64 = 3600.0;

/// A change in steps, from the smallest (1) to the largest.
pub struct Lever {
    /// How many steps; 1 for what is done or not.
    pub steps: usize,
    /// The change at a step.
    pub at: Box<dyn Fn(usize) -> Action + Sync + Send>,
}

impl Lever {
    fn new(steps: usize, at: impl Fn(usize) -> Action + Sync + Send + 'static) -> Self {
        Self {
            steps,
            at: Box::new(at),
        }
    }
}

/// The warmest moment of the air that is given: in the room, or outdoors where the room is a node, K.
fn given_peak_K(run: &Run) -> f64 {
    run.room.weather.largest(0.0, run.duration_s)
}

/// Every lever the run has, other materials apart.
pub fn levers(run: &Run) -> Vec<Lever> {
    let mut found = Vec::new();
    if run.sun.is_some() {
        found.push(Lever::new(1, |_| Action::Shade));
    }
    bed(run, &mut found);
    chamber(run, &mut found);
    feed_path(run, &mut found);
    room(run, &mut found);
    found.push(extraction(run));
    if !run.arrangement.opens(OpenSide::Lid) {
        found.push(Lever::new(1, |_| Action::LidOff));
    }
    if !run.arrangement.opens(OpenSide::Door) {
        found.push(Lever::new(1, |_| Action::DoorOpen));
    }
    found
}

fn bed(run: &Run, found: &mut Vec<Lever>) {
    let highest = run.phases.iter().filter_map(|p| p.bed_K).reduce(f64::max);
    let Some(highest) = highest else { return };
    // A bed is never set below what the room does by itself.
    let most = f64::min(BED_MOST_K, highest - given_peak_K(run));
    let steps = (most / STEP_K).floor();
    if steps >= 1.0 {
        found.push(Lever::new(steps as usize, move |k| {
            let by_K = k as f64 * STEP_K;
            Action::CoolerBed {
                by_K,
                to_K: highest - by_K,
            }
        }));
    }
}

/// Down to what the job's parts need, or else to the room, where the heater does nothing any more.
fn chamber(run: &Run, found: &mut Vec<Lever>) {
    let setpoints = run.phases.iter().filter_map(|p| p.chamber_K);
    let Some(highest) = setpoints.reduce(f64::max) else {
        return;
    };
    let least_K = (run.requirements.chamber_min_K).unwrap_or_else(|| given_peak_K(run));
    let steps = ((highest - least_K) / STEP_K).floor();
    if steps >= 1.0 {
        found.push(Lever::new(steps as usize, move |k| {
            let by_K = k as f64 * STEP_K;
            Action::CoolerChamber {
                by_K,
                to_K: highest - by_K,
            }
        }));
    }
}

fn feed_path(run: &Run, found: &mut Vec<Lever>) {
    let m = &run.machine;
    if m.feeder.motor.place != Place::Room && m.feeder.motor.heat_W > 0.0 {
        found.push(Lever::new(100 - CURRENT_LEAST, |k| Action::FeederCurrent {
            share: 1.0 - k as f64 / 100.0,
        }));
        let steps = (HEAT_SINK_MOST_W_PER_K / 0.05).round() as usize;
        found.push(Lever::new(steps, |k| Action::FeederHeatSink {
            added_W_per_K: k as f64 * 0.05,
        }));
    }
    if run.filament.is_damp && run.material.damp_lowers_K > 0.0 {
        found.push(Lever::new(1, |_| Action::DryFilament));
    }
    if m.spool != Place::Room {
        found.push(Lever::new(1, |_| Action::SpoolInRoom));
    }
    if m.guide_tube_m > 1.5 * TUBE_LEFT_M {
        found.push(Lever::new(1, |_| Action::TubeOutside));
    }
}

fn room(run: &Run, found: &mut Vec<Lever>) {
    let steps = (ROOM_MOST_K / STEP_K) as usize;
    match &run.room.building {
        None => {
            let peak_K = given_peak_K(run);
            found.push(Lever::new(steps, move |k| {
                let by_K = k as f64 * STEP_K;
                Action::CoolerRoom {
                    by_K,
                    peak_K: peak_K - by_K,
                }
            }));
        }
        Some(building) if building.cooler_max_W > 0.0 => {
            let setpoint_K = building.cooler_setpoint_K;
            found.push(Lever::new(steps, move |k| {
                let by_K = k as f64 * STEP_K;
                Action::CoolerSetpoint {
                    by_K,
                    to_K: setpoint_K - by_K,
                }
            }));
        }
        Some(_) => {}
    }
}

/// Whole m3/h above what the run extracts now.
fn extraction(run: &Run) -> Lever {
    let m = &run.machine;
    let most = m.width_m * m.depth_m * m.height_m * FLOW_MOST_CHANGES_PER_H;
    let now = match run.arrangement.kind {
        ArrangementKind::Extracting { flow_m3_per_s } => (flow_m3_per_s * 3600.0).floor(),
        _ => 0.0,
    };
    let steps = (most - now).ceil().max(1.0) as usize;
    Lever::new(steps, move |k| Action::Extract {
        flow_m3_per_s: (now + k as f64) / 3600.0,
    })
}

/// Later starts that the weather covers, by hours up to 23. In constant weather none differs.
pub fn starts(run: &Run) -> Vec<Action> {
    let weather = &run.room.weather;
    let most_h = match weather {
        Course::Constant(_) => 0,
        Course::Swing { .. } => 23,
        Course::Series { .. } => ((weather.known_until_s() - run.duration_s) / 3600.0)
            .floor()
            .clamp(0.0, 23.0) as u32,
    };
    (1..=most_h)
        .map(|by_h| Action::LaterStart { by_h })
        .collect()
}

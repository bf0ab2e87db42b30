//! A chamber's course, alone or beside others in one room.
//!
//! Machines in a room see nothing of each other but its air. So each is a run of its own, with the room as a node of
//! its own network, and the heat of the others a given course in that room's balance; the runs are repeated in
//! turn, each with the newest heat of the others, until no machine finds the room moved. What one gives off hardly
//! depends on the room, and how it does is in its own network: a few rounds are enough.

use super::built::Chamber;
use super::given_off::GivenOff;
use super::simulation::{Simulation, SimulationError};
use crate::course::Course;
use crate::integrate::{IntegratorKind, Options};
use crate::network::simulate;
use crate::run::{Building, Initial, Neighbour, Run};

/// The room is the same for all when more rounds would move it by no more than this, K.
const SETTLED_K: f64 = 0.002;
/// Rounds after which the room is held not to settle.
const MOST_ROUNDS: usize = 40;
/// How far apart the moments are at which the room of two rounds is compared, s.
const LOOK_EVERY_S: f64 = 600.0;

impl Simulation {
    /// Builds and integrates in one go. Other runs in the room are run along, and what they give off warms it.
    ///
    /// # Errors
    /// See [`SimulationError`].
    pub fn of(
        run: &Run,
        integrator: IntegratorKind,
        options: &Options,
    ) -> Result<Self, SimulationError> {
        if run.neighbours.is_empty() {
            return Chamber::new(run)?.simulate(integrator, options);
        }
        let settled = settled(run, options)?;
        // What was run last in the last round is what is asked for, if it was asked for so.
        match settled.course {
            Some(course) if integrator == IntegratorKind::Rosenbrock && !options.ledgers => {
                Ok(course)
            }
            _ => Chamber::new(&settled.run)?.simulate(integrator, options),
        }
    }
}

/// The run alone, with what its room gets from the others.
fn settled(run: &Run, options: &Options) -> Result<Member, SimulationError> {
    let options = Options {
        ledgers: false,
        ..*options
    };
    let own = Neighbour {
        run: Run {
            neighbours: Vec::new(),
            ..run.clone()
        },
        machines: run.room.building.as_ref().map_or(1, |b| b.machines),
        begins_s: 0.0,
    };
    let mut all = Vec::with_capacity(run.neighbours.len() + 1);
    for each in run.neighbours.iter().chain([&own]) {
        all.push(Member::new(each, run.duration_s)?);
    }
    let own = all.len() - 1;
    all[own].is_own = true;
    // Who has run longest knows the room's past; what is asked for comes last, and has the newest of all.
    all[..own].sort_by(|a, b| a.begins_s.total_cmp(&b.begins_s));
    let mut before_K = f64::INFINITY;
    for _ in 0..MOST_ROUNDS {
        let mut moved_K = 0.0;
        for k in 0..all.len() {
            place(&mut all, k);
            moved_K = f64::max(moved_K, all[k].turn(&options)?);
        }
        if still_to_move_K(moved_K, before_K) <= SETTLED_K {
            return Ok(all.swap_remove(own));
        }
        before_K = moved_K;
    }
    Err(SimulationError::Room { moved_K: before_K })
}

/// By how much the rounds to come would move the room, K, if each moves it as much less than the one before as this
/// one did.
fn still_to_move_K(moved_K: f64, before_K: f64) -> f64 {
    let ratio = moved_K / before_K;
    if before_K.is_finite() && ratio < 1.0 {
        f64::min(moved_K, moved_K * ratio / (1.0 - ratio))
    } else {
        moved_K
    }
}

/// Puts into a member's run what it has of the others: their heat, and the room as it is when it begins.
fn place(all: &mut [Member], k: usize) {
    let others = all.iter().enumerate().filter(|(j, _)| *j != k);
    let heat: Vec<&GivenOff> = others.map(|(_, m)| &m.heat).collect();
    let heat_W = GivenOff::together(&heat, all[k].begins_s, all[k].lasts_s);
    let begins_s = all[k].begins_s;
    let earlier = all.iter().find(|m| m.begins_s < begins_s);
    let found_K = earlier.and_then(|m| {
        let course = m.course.as_ref()?;
        Some(course.temperature_K(course.chamber.points.room, begins_s - m.begins_s))
    });
    // What is said of the room at the start of the run that is asked for.
    let said = all.iter().find(|m| m.is_own && m.begins_s == begins_s);
    let said_K = said.and_then(|m| m.initial.room_K);
    let member = &mut all[k];
    member.run.initial = match found_K {
        Some(room_K) => in_a_room_at(room_K, &member.initial),
        None => Initial {
            room_K: said_K,
            ..member.initial
        },
    };
    if let Some(building) = &mut member.run.room.building {
        building.neighbours_W = heat_W;
    }
}

/// A machine has the temperature of the room it has stood in, unless it is said otherwise.
fn in_a_room_at(room_K: f64, said: &Initial) -> Initial {
    let or = |said_K: Option<f64>| said_K.or(Some(room_K));
    Initial {
        air_K: or(said.air_K),
        bed_K: or(said.bed_K),
        panels_K: or(said.panels_K),
        frame_K: or(said.frame_K),
        motors_K: or(said.motors_K),
        hotend_K: or(said.hotend_K),
        cold_end_K: or(said.cold_end_K),
        room_K: Some(room_K),
    }
}

/// A run in the room.
struct Member {
    run: Run,
    is_own: bool,
    /// Temperatures at the start, as they were said.
    initial: Initial,
    machines: f64,
    /// On the clock of the run that is asked for, s.
    begins_s: f64,
    /// Until the end of the run that is asked for, s from its own begin.
    lasts_s: f64,
    /// Its chamber in a room without anything else.
    bare: Chamber,
    heat: GivenOff,
    course: Option<Simulation>,
    /// The room at even times, K.
    room_K: Vec<f64>,
}

impl Member {
    fn new(each: &Neighbour, until_s: f64) -> Result<Self, SimulationError> {
        let mut bare = each.run.clone();
        if let Some(building) = &mut bare.room.building {
            *building = Building {
                envelope_W_per_K: 0.0,
                air_changes_per_s: 0.0,
                other_heat_W: 0.0,
                cooler_max_W: 0.0,
                sun_W: Course::Constant(0.0),
                neighbours_W: Course::Constant(0.0),
                ..building.clone()
            };
        }
        Ok(Self {
            run: each.run.clone(),
            is_own: false,
            initial: each.run.initial,
            machines: f64::from(each.machines),
            begins_s: each.begins_s,
            lasts_s: (until_s - each.begins_s).min(each.run.duration_s),
            bare: Chamber::new(&bare)?,
            heat: GivenOff::default(),
            course: None,
            room_K: Vec::new(),
        })
    }

    /// Runs once more; by how much the room has moved, K.
    fn turn(&mut self, options: &Options) -> Result<f64, SimulationError> {
        let chamber = Chamber::new(&self.run)?;
        let (network, schedule) = (&chamber.network, &chamber.schedule);
        let kind = IntegratorKind::Rosenbrock;
        let trajectory = simulate(network, schedule, self.lasts_s, kind, options)?;
        let course = Simulation {
            chamber,
            trajectory,
        };
        let room = course.chamber.points.room;
        let looks = (self.lasts_s / LOOK_EVERY_S).ceil() as usize;
        let room_K: Vec<f64> = (0..=looks)
            .map(|k| course.temperature_K(room, (LOOK_EVERY_S * k as f64).min(self.lasts_s)))
            .collect();
        let moved_K = if self.room_K.is_empty() {
            f64::INFINITY
        } else {
            let pairs = room_K.iter().zip(&self.room_K);
            pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
        };
        self.heat = GivenOff::of(&course, &self.bare, self.machines, self.begins_s);
        self.room_K = room_K;
        self.course = Some(course);
        Ok(moved_K)
    }
}

#[cfg(test)]
mod tests;

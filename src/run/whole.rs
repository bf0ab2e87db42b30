//! The run as a whole.

use super::arrangement::{Arrangement, Scheduled};
use super::coefficients::Coefficients;
use super::failure::{Failure, FailureKind};
use super::initial::Initial;
use super::job::{Filament, Phase};
use super::machine::{BedMotion, Machine};
use super::material::Material;
use super::part::Part;
use super::requirements::Requirements;
use super::room::Room;
use super::spool::SpoolMass;
use super::sun::Sun;
use super::system::ExtractionSystem;
use crate::keys::hours::Hours;
use jiff::SignedDuration;
use jiff::civil::DateTime;

/// One job on one machine in one stretch of weather.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Name given by the user.
    pub name: String,
    /// Local date and time at which the run starts.
    pub start: DateTime,
    /// Length of the whole run, s.
    pub duration_s: f64,
    /// The machine.
    pub machine: Machine,
    /// The material.
    pub material: Material,
    /// The job's phases, in order, filling the run from 0 to `duration_s`.
    pub phases: Vec<Phase>,
    /// How the filament is kept and fed.
    pub filament: Filament,
    /// What its spools hold, where that is known.
    pub spool: Option<SpoolMass>,
    /// When somebody is there, where that is known.
    pub staffed: Option<Hours>,
    /// The part.
    pub part: Part,
    /// The room.
    pub room: Room,
    /// Other runs in it, where it is a building.
    pub neighbours: Vec<Neighbour>,
    /// Sun that falls into the chamber, if any.
    pub sun: Option<Sun>,
    /// Temperatures at the start.
    pub initial: Initial,
    /// What is open, shut or blowing through the whole run.
    pub arrangement: Arrangement,
    /// Stretches in which another arrangement holds (a door opened for minutes), in order, not overlapping.
    pub schedule: Vec<Scheduled>,
    /// What may fail: asked about beside the run, and no part of it.
    pub failures: Vec<Failure>,
    /// What does fail in this run; nothing, unless it was made by [`Run::failing`].
    pub fails: Vec<Failure>,
    /// What extracted air has to pass.
    pub system: ExtractionSystem,
    /// What the run must fulfil.
    pub requirements: Requirements,
    /// The uncertain coefficients.
    pub coefficients: Coefficients,
}

/// Another run in the same room.
#[derive(Debug, Clone, PartialEq)]
pub struct Neighbour {
    /// The run, on its own clock and in this room, to the end of the run that it stands beside.
    pub run: Run,
    /// Machines that do it at the same time.
    pub machines: u32,
    /// When it begins, s on the clock of the run that it stands beside.
    pub begins_s: f64,
}

impl Run {
    /// Height of the bed's upper face above the floor, m: of a bed that goes down, its mean over the run, and
    /// never through the floor.
    #[must_use]
    pub fn plate_m(&self) -> f64 {
        let bed = &self.machine.bed;
        match bed.moves {
            BedMotion::Stays => bed.height_m,
            BedMotion::Down => (bed.height_m - 0.5 * self.part.height_m).max(0.0),
        }
    }

    /// The local date and time so long after the start, s, to the second.
    #[must_use]
    pub fn date_time(&self, at_s: f64) -> DateTime {
        let after = SignedDuration::from_secs(at_s.round() as i64);
        self.start.saturating_add(after)
    }

    /// The softening limit of the filament as it is kept, K.
    #[must_use]
    pub fn softening_limit_K(&self) -> f64 {
        let lower_K = if self.filament.is_damp {
            self.material.damp_lowers_K
        } else {
            0.0
        };
        self.material.softening_limit_K - lower_K
    }

    /// This run with failures that happen. Of other runs in the room only the air conditioner fails too: they go on
    /// warming it through a power cut, which is the warm side.
    #[must_use]
    pub fn failing(&self, failures: &[Failure]) -> Self {
        let in_the_room = |other: &Neighbour| {
            let cooler = failures.iter().filter_map(|failure| match failure.kind {
                FailureKind::FanOff => None,
                FailureKind::AirConditionerOff | FailureKind::PowerCut => Some(Failure {
                    kind: FailureKind::AirConditionerOff,
                    begin_s: failure.begin_s - other.begins_s,
                    end_s: failure.end_s - other.begins_s,
                }),
            });
            Neighbour {
                run: Self {
                    fails: cooler.collect(),
                    ..other.run.clone()
                },
                ..other.clone()
            }
        };
        Self {
            neighbours: self.neighbours.iter().map(in_the_room).collect(),
            failures: Vec::new(),
            fails: failures.to_vec(),
            ..self.clone()
        }
    }
}

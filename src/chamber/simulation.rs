//! A chamber's course over the run, and how to read it.

use super::build_error::BuildError;
use super::built::Chamber;
use super::stations::{PARTS, StationKind, Stations, parts};
use super::timeline::Stretch;
use crate::integrate::trajectory::{Cubic, Cubics};
use crate::integrate::{Begin, IntegrationError, IntegratorKind, Options, Piece, Trajectory};
use crate::network::elements::stream::Part;
use crate::network::{
    Configuration, Index, NetworkError, PointsOver, Reading, Schedule, Stream, simulate,
    simulate_on,
};

pub use crate::network::{HeatAudit, Running};

/// A bed so near to its setpoint is held there, K: several times what its control leaves open.
const ON_SETPOINT_K: f64 = 0.02;

/// A chamber and what became of it.
#[derive(Debug, Clone)]
pub struct Simulation {
    /// The chamber.
    pub chamber: Chamber,
    /// Its course: unknowns as in [`crate::network::NetworkSystem`], then ledgers if kept.
    pub trajectory: Trajectory,
}

impl Chamber {
    /// Integrates the chamber over the whole run.
    ///
    /// # Errors
    /// See [`SimulationError`].
    pub fn simulate(
        self,
        integrator: IntegratorKind,
        options: &Options,
    ) -> Result<Simulation, SimulationError> {
        let end_s = self.run.duration_s;
        let trajectory = simulate(&self.network, &self.schedule, end_s, integrator, options)?;
        Ok(Simulation {
            chamber: self,
            trajectory,
        })
    }
}

impl Chamber {
    /// Temperature at a station over a piece of filament that has stood there, K: what its limit is held
    /// against.
    ///
    /// At the drive gear it is the surface, which the teeth meet, or the mean where that is warmer; in the tube
    /// and on the spool, where the whole section carries, the mean. In the cold end it is the filament so far
    /// ahead of the heat break as it may be soft, drawn towards the hotend by conduction along it.
    #[must_use]
    pub fn filament_over(&self, piece: &Piece, station: StationKind) -> Cubic {
        let points = &mut self.network.over(piece);
        warmest(self.stations_of(piece).over(station, points))
    }

    /// [`Chamber::filament_over`] at each of [`StationKind::ALL`].
    #[must_use]
    pub fn filaments_over(&self, piece: &Piece) -> [Cubic; StationKind::ALL.len()] {
        let (stations, points) = (self.stations_of(piece), &mut self.network.over(piece));
        StationKind::ALL.map(|station| warmest(stations.over(station, points)))
    }

    /// Of each cubic of [`Chamber::filaments_over`] the largest value, K, and its place in the piece, 0 to 1.
    #[must_use]
    pub fn hottest_over(&self, piece: &Piece) -> [(f64, f64); StationKind::ALL.len()] {
        let (stations, points) = (self.stations_of(piece), &mut self.network.over(piece));
        let mut cubics = Cubics::<PARTS>::ZERO;
        for (part, point, share) in stations.shares() {
            cubics.add(*part, *share, points.cubic(*point));
        }
        let largest = cubics.largest();
        let mut each = largest.iter();
        StationKind::ALL.map(|station| {
            let own = each.by_ref().take(parts(station).len());
            own.copied()
                .max_by(|a, b| a.0.total_cmp(&b.0))
                .unwrap_or_default()
        })
    }

    /// Once more, from the begin of a piece of its course to a time, s, and more carefully.
    ///
    /// # Errors
    /// See [`SimulationError`].
    pub fn once_more(
        &self,
        from: Begin<'_>,
        end_s: f64,
        options: &Options,
    ) -> Result<Trajectory, SimulationError> {
        let course = simulate_on(&self.network, &self.schedule, from, end_s, options)?;
        Ok(course)
    }

    /// The stretch of the run that a piece belongs to.
    #[must_use]
    pub fn stretch_of(&self, piece: &Piece) -> &Stretch {
        &self.timeline.stretches[Schedule::by_number(piece.stretch).0]
    }

    /// How stations are read in a piece.
    fn stations_of(&self, piece: &Piece) -> &Stations {
        &self.stations[self.schedule.configuration_of(piece.stretch)]
    }
}

impl Stations {
    /// Of each part of the filament that a limit is held against.
    fn over(
        &self,
        station: StationKind,
        points: &mut PointsOver<'_>,
    ) -> impl Iterator<Item = Cubic> {
        self.standing(station).iter().map(|shares| {
            let mut cubic = Cubic::default();
            for (point, share) in shares {
                points.add(*point, *share, &mut cubic);
            }
            cubic
        })
    }
}

/// The one that goes highest.
fn warmest(each: impl Iterator<Item = Cubic>) -> Cubic {
    each.max_by(|a, b| a.largest().0.total_cmp(&b.largest().0))
        .unwrap_or_default()
}

impl Simulation {
    /// The network's own reading.
    #[must_use]
    pub fn reading(&self) -> Reading<'_> {
        Reading::new(
            &self.chamber.network,
            &self.chamber.schedule,
            &self.trajectory,
        )
    }

    /// The configuration that holds in a piece.
    #[must_use]
    pub fn configuration_of(&self, piece: &Piece) -> usize {
        self.chamber.schedule.configuration_of(piece.stretch)
    }

    /// The stretch of the run that a piece belongs to.
    #[must_use]
    pub fn stretch_of(&self, piece: &Piece) -> &Stretch {
        self.chamber.stretch_of(piece)
    }

    /// What the thermostat was doing in a piece; it works where there is none.
    #[must_use]
    pub fn running_in(&self, piece: &Piece) -> Running {
        Schedule::by_number(piece.stretch).1
    }

    /// What the bed's heater takes at a time, s, in W: all it has on the way to its setpoint, there what holds it, and
    /// nothing above it.
    ///
    /// Made anew for each question; not for the evaluation loop.
    #[must_use]
    pub fn bed_power_W(&self, at_s: f64) -> f64 {
        let (piece, x) = self.trajectory.locate(at_s);
        let (reading, bed) = (self.reading(), self.chamber.points.bed);
        let elements = reading.elements_of(piece);
        let mut controls = elements.controls.iter().filter(|c| c.node() == bed);
        let Some(side) = controls.find_map(|control| control.heating()) else {
            return 0.0;
        };
        let over_K = reading.point_at(piece, x, bed) - side.setpoint_K;
        if over_K < -ON_SETPOINT_K {
            side.most_W
        } else if over_K > ON_SETPOINT_K {
            0.0
        } else {
            let holds_W = reading.power_to_hold_W(elements, piece, x, bed, side.setpoint_K);
            holds_W.clamp(0.0, side.most_W)
        }
    }

    /// The elements that hold in a piece.
    #[must_use]
    pub fn elements_of(&self, piece: &Piece) -> &Configuration {
        self.reading().elements_of(piece)
    }

    /// See [`Reading::point_over`].
    pub fn point_over(&self, piece: &Piece, point: usize, share: f64, cubic: &mut Cubic) {
        self.reading().point_over(piece, point, share, cubic);
    }

    /// The filament's way in a piece, and the last stretch of it at a station; none at the spool.
    fn way(&self, piece: &Piece, station: StationKind) -> (&Stream, Option<usize>) {
        let k = self.configuration_of(piece);
        let stream = &self.chamber.schedule.configurations()[k].streams[0];
        (stream, self.chamber.stations[k].last(station))
    }

    /// See [`Chamber::filament_over`].
    #[must_use]
    pub fn filament_over(&self, piece: &Piece, station: StationKind) -> Cubic {
        self.chamber.filament_over(piece, station)
    }

    /// Filament temperature at a station over a piece, K, on steady feed: after its last stretch there.
    #[must_use]
    pub fn moving_over(&self, piece: &Piece, station: StationKind) -> Cubic {
        let each = parts(station).iter();
        warmest(each.map(|part| self.moving(piece, station, *part)))
    }

    fn moving(&self, piece: &Piece, station: StationKind, part: Part) -> Cubic {
        self.over(piece, station, |stream, k, f| {
            stream.shares_after(k, part, f);
        })
    }

    fn over(
        &self,
        piece: &Piece,
        station: StationKind,
        shares: impl Fn(&Stream, usize, &mut dyn FnMut(Index, f64)),
    ) -> Cubic {
        let (reading, mut cubic) = (self.reading(), Cubic::default());
        match self.way(piece, station) {
            (stream, Some(k)) => shares(stream, k, &mut |point, share| {
                reading.point_over(piece, point, share, &mut cubic);
            }),
            (stream, None) => reading.point_over(piece, stream.store, 1.0, &mut cubic),
        }
        cubic
    }

    /// The point that surrounds the filament at a station in a piece.
    #[must_use]
    pub fn surroundings_at(&self, piece: &Piece, station: StationKind) -> usize {
        let (stream, last) = self.way(piece, station);
        last.map_or(stream.store, |k| stream.stations()[k].surroundings)
    }

    /// Temperature of what surrounds the filament at a station over a piece, K.
    #[must_use]
    pub fn surroundings_over(&self, piece: &Piece, station: StationKind) -> Cubic {
        let mut cubic = Cubic::default();
        let point = self.surroundings_at(piece, station);
        self.point_over(piece, point, 1.0, &mut cubic);
        cubic
    }

    /// Temperature of a point at a time, K.
    #[must_use]
    pub fn temperature_K(&self, point: usize, t_s: f64) -> f64 {
        self.reading().temperature_K(point, t_s)
    }

    /// Temperature of a point at place `x` (0 to 1) of a piece, K.
    #[must_use]
    pub fn point_at(&self, piece: &Piece, x: f64, point: usize) -> f64 {
        self.reading().point_at(piece, x, point)
    }

    /// Temperature at a station at a time of filament that has stood there, K.
    #[must_use]
    pub fn filament_K(&self, station: StationKind, t_s: f64) -> f64 {
        let (piece, x) = self.trajectory.locate(t_s);
        let points = &mut self.chamber.network.over(piece);
        self.chamber
            .stations_of(piece)
            .over(station, points)
            .map(|cubic| cubic.at(x))
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// Filament temperature at a station at a time, K, on steady feed.
    #[must_use]
    pub fn moving_K(&self, station: StationKind, t_s: f64) -> f64 {
        let (piece, x) = self.trajectory.locate(t_s);
        let each = parts(station).iter();
        each.map(|part| self.moving(piece, station, *part).at(x))
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// Temperatures of every point at place `x` of a piece, K.
    pub fn points_at(&self, piece: &Piece, x: f64, out: &mut Vec<f64>) {
        self.reading().points_at(piece, x, out);
    }

    /// The audit of heat over the whole run.
    #[must_use]
    pub fn heat(&self) -> HeatAudit {
        self.reading().heat()
    }
}

/// Why a run could not be simulated.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SimulationError {
    /// The network could not be built.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// The integration stopped early.
    #[error(transparent)]
    Integration(#[from] IntegrationError),
    /// The network can't be run.
    #[error(transparent)]
    Network(NetworkError),
    /// Machines in one room that change each other's for ever.
    #[error(
        "the room of these machines does not come to one temperature for all of them: it still moves by {moved_K:.3} K; is the room too small for them (`room.building`)?"
    )]
    Room {
        /// By how much the last round moved it, K.
        moved_K: f64,
    },
}

impl From<NetworkError> for SimulationError {
    fn from(e: NetworkError) -> Self {
        match e {
            NetworkError::Integration(e) => Self::Integration(e),
            e => Self::Network(e),
        }
    }
}

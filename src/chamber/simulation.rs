//! A chamber's course over the run, and how to read it.

use super::Chamber;
use super::build::BuildError;
use super::feed_path::{self, StationKind};
use super::nodes::Entry;
use super::system::ChamberSystem;
use crate::integrate::trajectory::Cubic;
use crate::integrate::{
    IntegrationError, Options, Piece, Trajectory, integrate_explicit, integrate_rosenbrock,
};
use crate::network::{Configuration, Direction, Stream};
use crate::run::Run;

/// Which integrator runs the chamber.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum IntegratorKind {
    /// The main one: stiff, error-controlled.
    #[default]
    Rosenbrock,
    /// The cross-check: explicit, order 5.
    Explicit,
}

impl IntegratorKind {
    /// Name in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Rosenbrock => "RODAS4",
            Self::Explicit => "Dopri5",
        }
    }
}

/// A chamber and what became of it.
#[derive(Debug, Clone)]
pub struct Simulation {
    /// The chamber.
    pub chamber: Chamber,
    /// Its course: unknowns as in [`super::system`], then ledgers if kept.
    pub trajectory: Trajectory,
    /// The filament's way in each configuration, with the kind of each of its stations.
    streams: Vec<(Stream, Vec<StationKind>)>,
    spool: usize,
}

impl Chamber {
    /// Integrates the chamber over the whole run.
    ///
    /// # Errors
    /// See [`IntegrationError`].
    pub fn simulate(
        self,
        run: &Run,
        integrator: IntegratorKind,
        options: &Options,
    ) -> Result<Simulation, IntegrationError> {
        let trajectory = {
            let mut system = ChamberSystem::new(&self);
            let y0 = system.initial();
            let end = self.duration_s;
            match integrator {
                IntegratorKind::Rosenbrock => {
                    integrate_rosenbrock(&mut system, 0.0, end, &y0, options)?
                }
                IntegratorKind::Explicit => {
                    integrate_explicit(&mut system, 0.0, end, &y0, options)?
                }
            }
        };
        let streams = self
            .timeline
            .recipes
            .iter()
            .map(|r| feed_path::stream(run, &self.points, &r.phase, &self.network.air))
            .collect();
        let spool = feed_path::spool_point(run, &self.points);
        Ok(Simulation {
            chamber: self,
            trajectory,
            streams,
            spool,
        })
    }
}

/// Heat over the whole run.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatAudit {
    /// Heat brought in by each source, J.
    pub in_J: Vec<(String, f64)>,
    /// Heat taken out by each way, J.
    pub out_J: Vec<(String, f64)>,
    /// Heat stored at the end less at the start, J.
    pub stored_J: f64,
    /// What is left unexplained, as a share of what came in.
    pub unaccounted_relative: f64,
}

impl Simulation {
    /// The configuration that holds in a piece.
    #[must_use]
    pub fn configuration_of(&self, piece: &Piece) -> usize {
        let s = &self.chamber.timeline.stretches[piece.stretch / 2];
        match s.thermostat {
            Some(t) if piece.stretch % 2 == 1 => t.off,
            _ => s.on,
        }
    }

    /// The elements that hold in a piece.
    #[must_use]
    pub fn elements_of(&self, piece: &Piece) -> &Configuration {
        &self.chamber.configurations[self.configuration_of(piece)]
    }

    /// Adds `share` times the temperature of a point (node or boundary) over a piece, K. Not exact
    /// for the growing part and a swinging boundary, which are no cubics; use
    /// [`Simulation::temperature_K`] for those.
    pub fn point_over(&self, piece: &Piece, point: usize, share: f64, cubic: &mut Cubic) {
        let n = self.chamber.network.nodes.len();
        if point < n {
            cubic.c[0] += share * self.chamber.network.reference_K;
            cubic.add(piece, point, share);
        } else {
            let given = self
                .chamber
                .surroundings
                .over(piece.begin_s, piece.length_s);
            for (c, g) in cubic.c.iter_mut().zip(given) {
                *c += share * g;
            }
        }
    }

    /// Filament temperature at a station over a piece, K: after its last stretch there.
    #[must_use]
    pub fn filament_over(&self, piece: &Piece, station: StationKind) -> Cubic {
        let mut cubic = Cubic::default();
        if station == StationKind::Spool {
            self.point_over(piece, self.spool, 1.0, &mut cubic);
            return cubic;
        }
        let (stream, kinds) = &self.streams[self.configuration_of(piece)];
        if let Some(k) = kinds.iter().rposition(|kind| *kind == station) {
            stream.shares_after(k, |point, share| {
                self.point_over(piece, point, share, &mut cubic);
            });
        }
        cubic
    }

    /// Temperature of what surrounds the filament at a station over a piece, K.
    #[must_use]
    pub fn surroundings_over(&self, piece: &Piece, station: StationKind) -> Cubic {
        let mut cubic = Cubic::default();
        let (stream, kinds) = &self.streams[self.configuration_of(piece)];
        let point = kinds
            .iter()
            .rposition(|kind| *kind == station)
            .map_or(self.spool, |k| stream.stations[k].surroundings);
        self.point_over(piece, point, 1.0, &mut cubic);
        cubic
    }

    /// Temperature of a point at a time, K.
    #[must_use]
    pub fn temperature_K(&self, point: usize, t_s: f64) -> f64 {
        let (piece, x) = self.trajectory.locate(t_s);
        self.point_at(piece, x, point)
    }

    /// Temperature of a point at place `x` (0 to 1) of a piece, K.
    #[must_use]
    pub fn point_at(&self, piece: &Piece, x: f64, point: usize) -> f64 {
        let network = &self.chamber.network;
        let t_s = piece.begin_s + x * piece.length_s;
        if point >= network.nodes.len() {
            return self.chamber.surroundings.at(t_s).0;
        }
        let growth = &self.chamber.timeline.stretches[piece.stretch / 2].growth;
        let y = piece.value(point, x);
        network.reference_K
            + if point == growth.node {
                y / growth.at(t_s)
            } else {
                y
            }
    }

    /// Filament temperature at a station at a time, K.
    #[must_use]
    pub fn filament_K(&self, station: StationKind, t_s: f64) -> f64 {
        let (piece, x) = self.trajectory.locate(t_s);
        self.filament_over(piece, station).at(x)
    }

    /// Temperatures of every point at place `x` of a piece, K.
    pub fn points_at(&self, piece: &Piece, x: f64, out: &mut Vec<f64>) {
        out.clear();
        out.extend((0..self.chamber.network.points()).map(|p| self.point_at(piece, x, p)));
    }

    /// The audit of heat over the whole run.
    #[must_use]
    pub fn heat(&self) -> HeatAudit {
        let network = &self.chamber.network;
        let mut audit = HeatAudit {
            in_J: vec![],
            out_J: vec![],
            stored_J: 0.0,
            unaccounted_relative: 0.0,
        };
        let (mut balance, mut brought) = (0.0, 0.0);
        for (k, entry) in Entry::ALL.iter().enumerate() {
            if matches!(entry, Entry::Internal | Entry::RoomCooler) {
                continue;
            }
            let q = self.trajectory.totals[k];
            balance += q;
            match entry.direction() {
                Direction::In => {
                    brought += q.abs();
                    audit.in_J.push((entry.name().to_owned(), q));
                }
                Direction::Out => audit.out_J.push((entry.name().to_owned(), -q)),
            }
        }
        if let (Some(first), Some(last)) = (
            self.trajectory.pieces.first(),
            self.trajectory.pieces.last(),
        ) {
            for (i, node) in network.nodes.iter().enumerate().filter(|(_, n)| n.audited) {
                audit.stored_J +=
                    node.capacity_J_per_K * (last.value(i, 1.0) - first.value(i, 0.0));
            }
        }
        audit.unaccounted_relative = (balance - audit.stored_J).abs() / brought.max(1e-9);
        audit
    }
}

/// Why a run could not be simulated.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SimulationError {
    /// The network could not be built.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// The integration stopped early.
    #[error(transparent)]
    Integration(#[from] IntegrationError),
}

impl Simulation {
    /// Builds and integrates in one go.
    ///
    /// # Errors
    /// See [`SimulationError`].
    pub fn of(
        run: &Run,
        integrator: IntegratorKind,
        options: &Options,
    ) -> Result<Self, SimulationError> {
        Ok(Chamber::new(run)?.simulate(run, integrator, options)?)
    }
}

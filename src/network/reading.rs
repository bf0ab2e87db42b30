//! Looks temperatures and heat up in what an integration of a network left.

use super::elements::configuration::Configuration;
use super::elements::control::Mode;
use super::elements::law::Moment;
use super::evaluate::Scratch;
use super::fixed::Network;
use super::parts::{Direction, Index, LedgerId};
use super::running::Running;
use super::schedule::Schedule;
use crate::integrate::trajectory::Cubic;
use crate::integrate::{Piece, Trajectory};

/// A network, its schedule and their course.
#[derive(Debug, Clone, Copy)]
pub struct Reading<'a> {
    network: &'a Network,
    schedule: &'a Schedule,
    trajectory: &'a Trajectory,
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
    /// What is left unexplained, as a share of what came in, or went out where nothing came in.
    pub unaccounted_relative: f64,
}

impl Network {
    /// Adds `share` times the temperature of a point over a piece, K. Not exact where
    /// [`Reading::is_cubic`] says so; use [`Reading::point_at`] there.
    #[inline]
    pub fn point_over(&self, piece: &Piece, point: Index, share: f64, cubic: &mut Cubic) {
        self.over(piece).add(point, share, cubic);
    }

    /// Reads many points over one piece.
    #[must_use]
    #[inline]
    pub fn over<'a>(&'a self, piece: &'a Piece) -> PointsOver<'a> {
        let (width, nodes) = (piece.width(), self.nodes().len());
        let of = |k: usize| &piece.coefficients[k * width..k * width + nodes];
        PointsOver {
            network: self,
            piece,
            nodes: [of(0), of(1), of(2), of(3)],
            given: None,
        }
    }
}

/// Reads the points of a network over a piece.
#[derive(Debug)]
pub struct PointsOver<'a> {
    network: &'a Network,
    piece: &'a Piece,
    /// Of nodes the piece's four coefficients each.
    nodes: [&'a [f64]; 4],
    /// The given point that was asked for last, and its course over the piece: mostly it is asked for again.
    given: Option<(Index, [f64; 4])>,
}

impl PointsOver<'_> {
    /// See [`Network::point_over`].
    #[inline(always)]
    pub fn add(&mut self, point: Index, share: f64, cubic: &mut Cubic) {
        for (c, of_point) in cubic.c.iter_mut().zip(self.cubic(point)) {
            *c += share * of_point;
        }
    }

    /// Temperature of a point over the piece, K, as powers; see [`Network::point_over`].
    #[inline(always)]
    pub fn cubic(&mut self, point: Index) -> [f64; 4] {
        let [y0, y1, k1, k2] = self.nodes;
        if let (Some(y0), Some(y1), Some(k1), Some(k2)) =
            (y0.get(point), y1.get(point), k1.get(point), k2.get(point))
        {
            let begin_K = self.network.reference_K() + y0;
            return [begin_K, y1 - y0 + k1, k2 - k1, -k2];
        }
        match self.given {
            Some((known, over)) if known == point => over,
            _ => self.look_up(point),
        }
    }

    /// The course of a given point over the piece.
    #[inline(never)]
    fn look_up(&mut self, point: Index) -> [f64; 4] {
        let course = &self.network.given_points()[point - self.nodes[0].len()].course;
        let over = course.over(self.piece.begin_s, self.piece.length_s);
        self.given = Some((point, over));
        over
    }
}

impl<'a> Reading<'a> {
    /// Reads a trajectory of a network and its schedule.
    #[must_use]
    pub const fn new(
        network: &'a Network,
        schedule: &'a Schedule,
        trajectory: &'a Trajectory,
    ) -> Self {
        Self {
            network,
            schedule,
            trajectory,
        }
    }

    /// The elements that hold in a piece.
    #[must_use]
    pub fn elements_of(&self, piece: &Piece) -> &'a Configuration {
        &self.schedule.configurations()[self.schedule.configuration_of(piece.stretch)]
    }

    /// How much of the time what a thermostat switches works in a piece, 0 to 1; 1 where there is none. Of one
    /// that is throttled it is the mean share of its full work.
    #[must_use]
    pub fn working_share(&self, piece: &Piece) -> f64 {
        let (stretch, running) = Schedule::by_number(piece.stretch);
        match (running, self.schedule.stretches()[stretch].thermostat) {
            (Running::Rests, _) => 0.0,
            (Running::Throttled, Some(thermostat)) => {
                let share = |x| {
                    let measured_K = self.point_at(piece, x, thermostat.measures);
                    thermostat.share_throttled(measured_K).0
                };
                (share(0.0) + 4.0 * share(0.5) + share(1.0)) / 6.0
            }
            (Running::Works, _) | (Running::Throttled, None) => 1.0,
        }
    }

    /// Whether a point's temperature is a cubic over every piece: that of a growing body and of a swing are
    /// none.
    #[must_use]
    pub fn is_cubic(&self, point: Index) -> bool {
        let n = self.network.nodes().len();
        point < n && self.network.bodies().iter().all(|b| b.node != point)
    }

    /// See [`Network::point_over`].
    #[inline]
    pub fn point_over(&self, piece: &Piece, point: Index, share: f64, cubic: &mut Cubic) {
        self.network.point_over(piece, point, share, cubic);
    }

    /// Temperature of a point at place `x` (0 to 1) of a piece, K.
    #[must_use]
    #[inline]
    pub fn point_at(&self, piece: &Piece, x: f64, point: Index) -> f64 {
        let n = self.network.nodes().len();
        let t_s = piece.begin_s + x * piece.length_s;
        if point >= n {
            return self.network.given_points()[point - n].course.at(t_s).0;
        }
        let y = piece.value(point, x);
        let body = self.network.bodies().iter().find(|b| b.node == point);
        self.network.reference_K() + body.map_or(y, |b| y / b.share.at(t_s).0)
    }

    /// Temperature of a point at a time, K.
    #[must_use]
    pub fn temperature_K(&self, point: Index, t_s: f64) -> f64 {
        let (piece, x) = self.trajectory.locate(t_s);
        self.point_at(piece, x, point)
    }

    /// Temperatures of every point at place `x` of a piece, K.
    pub fn points_at(&self, piece: &Piece, x: f64, out: &mut Vec<f64>) {
        out.clear();
        out.extend((0..self.network.points()).map(|p| self.point_at(piece, x, p)));
    }

    /// Heat that a point gains at place `x` of a piece, W, by the elements that another schedule of the same network has
    /// in the place of each of its own: without some of them, say, to see what those do.
    ///
    /// Made anew for each question; not for the evaluation loop.
    #[must_use]
    pub fn gain_W(&self, by: &Schedule, piece: &Piece, x: f64, point: Index) -> f64 {
        let (stretch, running) = Schedule::by_number(piece.stretch);
        let stretch = &by.stretches()[stretch];
        let share = match (running, stretch.thermostat) {
            (Running::Rests, Some(_)) => 0.0,
            (Running::Throttled, Some(thermostat)) => {
                let measured_K = self.point_at(piece, x, thermostat.measures);
                thermostat.share_throttled(measured_K).0
            }
            (Running::Works, _) | (_, None) => 1.0,
        };
        let mut t = Vec::new();
        self.points_at(piece, x, &mut t);
        let gain_W = |configuration: usize| {
            let elements = &by.configurations()[configuration];
            self.gains_W(elements, piece, x, &t)[point]
        };
        let mut sum_W = 0.0;
        if share > 0.0 {
            sum_W += share * gain_W(stretch.configuration);
        }
        if let Some(thermostat) = stretch.thermostat.filter(|_| share < 1.0) {
            sum_W += (1.0 - share) * gain_W(thermostat.resting);
        }
        sum_W
    }

    /// Power that would hold a node at a temperature, W, by some elements and no control, with every other
    /// point as it is at place `x` of a piece: what the node then loses.
    ///
    /// Made anew for each question; not for the evaluation loop.
    #[must_use]
    pub fn power_to_hold_W(
        &self,
        elements: &Configuration,
        piece: &Piece,
        x: f64,
        node: Index,
        at_K: f64,
    ) -> f64 {
        let mut t = Vec::new();
        self.points_at(piece, x, &mut t);
        t[node] = at_K;
        -self.gains_W(elements, piece, x, &t)[node]
    }

    /// Heat that every point gains, W, by some elements and no control, with points at these temperatures, K, at place
    /// `x` of a piece.
    fn gains_W(&self, elements: &Configuration, piece: &Piece, x: f64, t: &[f64]) -> Vec<f64> {
        // What jumps at the piece's end has not jumped yet.
        let t_s = (piece.begin_s + x * piece.length_s).min(piece.end_s() - 1e-6);
        let bodies = self.network.bodies().iter();
        let shares: Vec<(f64, f64)> = bodies.map(|b| b.share.at(t_s)).collect();
        let moment = Moment {
            t_s,
            t,
            shares: &shares,
            air: self.network.air(),
            reference_K: self.network.reference_K(),
        };
        let mut scratch = Scratch::new(self.network, elements.controls.len());
        elements.balance(
            &moment,
            &vec![Mode::Off; elements.controls.len()],
            &mut scratch,
        );
        scratch.gains
    }

    /// What a ledger took in over the whole run, J, where ledgers were kept.
    #[must_use]
    pub fn ledger_J(&self, ledger: LedgerId) -> Option<f64> {
        self.trajectory.totals.get(ledger.position()).copied()
    }

    /// The audit of heat over the whole run. Without ledgers there is none: everything is unaccounted for.
    #[must_use]
    pub fn heat(&self) -> HeatAudit {
        let mut audit = HeatAudit {
            in_J: vec![],
            out_J: vec![],
            stored_J: 0.0,
            unaccounted_relative: 0.0,
        };
        let (mut balance, mut brought, mut taken) = (0.0, 0.0, 0.0);
        for (id, ledger) in self.network.reported() {
            let q = self.ledger_J(id).unwrap_or(0.0);
            balance += q;
            match ledger.direction {
                Direction::In => {
                    brought += q.abs();
                    audit.in_J.push((ledger.name.clone(), q));
                }
                Direction::Out => {
                    taken += f64::abs(q);
                    audit.out_J.push((ledger.name.clone(), -q));
                }
            }
        }
        let pieces = &self.trajectory.pieces;
        if let (Some(first), Some(last)) = (pieces.first(), pieces.last()) {
            let nodes = self.network.nodes().iter().enumerate();
            for (i, node) in nodes.filter(|(_, n)| n.audited) {
                audit.stored_J +=
                    node.capacity_J_per_K * (last.value(i, 1.0) - first.value(i, 0.0));
            }
        }
        // Where nothing comes in, what goes out is the measure.
        let turned_over = if brought > 0.0 { brought } else { taken };
        audit.unaccounted_relative = (balance - audit.stored_J).abs() / turned_over.max(1e-9);
        audit
    }
}

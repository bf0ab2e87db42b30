//! Radiation among the surfaces of an enclosure.
//!
//! All of its ends see each other, so its slopes are cheaper by hand than by sweeps over numbers with
//! slopes: a matrix is multiplied once for the value, and its entries are the slopes but for a factor.

use super::convector::Area;
use super::law::{Element, Moment};
use crate::network::balance::{Balance, Sink, Slopes, Workspace};
use crate::network::description::{EnclosureDescription, Link};
use crate::network::parts::{BodyId, INTERNAL, Index, LedgerId};
use crate::physics::radiation::STEFAN_BOLTZMANN;
use crate::vector::dot;

/// A surface of an [`Enclosure`].
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// Its point in the network.
    pub point: Index,
    /// Ledger entry for heat that leaves the enclosure through it ([`INTERNAL`] for an inside face).
    pub ledger: LedgerId,
}

/// Radiation among the surfaces of an enclosure by total exchange areas (radiosity solved once).
///
/// `q_i = sum_j G_ij sigma (T_i^4 - T_j^4)`.
#[derive(Debug, Clone, PartialEq)]
pub struct Enclosure {
    members: Vec<Member>,
    /// Total exchange areas, row by row, symmetric, m2, zero on the diagonal.
    exchange_areas_m2: Vec<f64>,
    /// Their sums by row.
    together_m2: Vec<f64>,
    /// A member whose exchange grows with a body, and the factor on its areas.
    growing: Option<(usize, Area)>,
    /// The box it was worked out for, for exports.
    shape: Option<Box<EnclosureDescription>>,
}

/// Why members and areas make no enclosure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum EnclosureError {
    /// Not a square of areas.
    #[error(
        "an enclosure of {members} members needs {members} x {members} exchange areas, but there are {areas}"
    )]
    Size {
        /// Number of members.
        members: usize,
        /// Number of areas.
        areas: usize,
    },
    /// Two areas that should be one.
    #[error(
        "the exchange areas of members {0} and {1} differ by the way one looks: heat would be made"
    )]
    Asymmetric(usize, usize),
    /// No such member.
    #[error("member {0} is to grow, but there is no such member")]
    Growing(usize),
}

impl Enclosure {
    /// An enclosure from its members and their total exchange areas, row by row, symmetric, m2; what
    /// stands on the diagonal is left out.
    ///
    /// # Errors
    /// See [`EnclosureError`].
    pub fn new(
        members: Vec<Member>,
        mut exchange_areas_m2: Vec<f64>,
        growing: Option<(usize, Area)>,
    ) -> Result<Self, EnclosureError> {
        let n = members.len();
        if n == 0 || exchange_areas_m2.len() != n * n {
            return Err(EnclosureError::Size {
                members: n,
                areas: exchange_areas_m2.len(),
            });
        }
        if let Some((member, _)) = growing
            && member >= n
        {
            return Err(EnclosureError::Growing(member));
        }
        for i in 0..n {
            exchange_areas_m2[i * n + i] = 0.0;
            for j in 0..i {
                let (a, b) = (exchange_areas_m2[i * n + j], exchange_areas_m2[j * n + i]);
                if (a - b).abs() > 1e-12 * a.abs().max(b.abs()) {
                    return Err(EnclosureError::Asymmetric(i, j));
                }
            }
        }
        let rows = exchange_areas_m2.chunks_exact(n);
        Ok(Self {
            together_m2: rows.map(|row| row.iter().sum()).collect(),
            members,
            exchange_areas_m2,
            growing,
            shape: None,
        })
    }

    /// The same, with the box it was worked out for.
    #[must_use]
    pub fn of_box(mut self, shape: EnclosureDescription) -> Self {
        self.shape = Some(Box::new(shape));
        self
    }

    /// Its surfaces.
    #[must_use]
    pub fn members(&self) -> &[Member] {
        &self.members
    }

    /// Exchange areas of a member with every other, m2.
    #[must_use]
    pub fn exchange_areas_m2(&self, member: usize) -> &[f64] {
        let n = self.members.len();
        &self.exchange_areas_m2[member * n..(member + 1) * n]
    }

    /// The member that grows, and the factor on its areas.
    #[cfg(feature = "lanes")]
    pub(in crate::network) const fn growing(&self) -> Option<(usize, Area)> {
        self.growing
    }

    /// The growing member and the factor on its areas; no member and 1 where none grows.
    fn grown(&self, m: &Moment<'_>) -> (usize, f64) {
        self.growing
            .map_or((usize::MAX, 1.0), |(i, area)| (i, area.at(m)))
    }
}

impl Element for Enclosure {
    fn ends(&self, f: &mut dyn FnMut(Index)) {
        self.members.iter().for_each(|m| f(m.point));
    }

    fn ledgers(&self, f: &mut dyn FnMut(LedgerId)) {
        self.members.iter().for_each(|m| f(m.ledger));
    }

    fn bodies(&self, f: &mut dyn FnMut(BodyId)) {
        self.growing
            .and_then(|(_, a)| a.body())
            .into_iter()
            .for_each(f);
    }

    fn balance(&self, _: usize, m: &Moment<'_>, room: &mut Workspace, out: &mut Balance<'_>) {
        let n = self.members.len();
        room.members.clear();
        room.members.extend(self.members.iter().map(|member| {
            let sq = m.t[member.point] * m.t[member.point];
            STEFAN_BOLTZMANN * sq * sq
        }));
        // Only differences count. From the first face they are small, and zero where all are equal.
        let power = &mut room.members[..];
        let first = power[0];
        for p in &mut *power {
            *p -= first;
        }
        let (grown, scale) = self.grown(m);
        for (i, member) in self.members.iter().enumerate() {
            let row = self.exchange_areas_m2(i);
            let mut q = self.together_m2[i] * power[i] - dot(row, power);
            if i == grown {
                q *= scale;
            } else if grown < n {
                q += (scale - 1.0) * row[grown] * (power[i] - power[grown]);
            }
            out.give(member.point, -q);
            out.book(member.ledger, q);
        }
    }

    fn slopes(&self, _: usize, m: &Moment<'_>, room: &mut Workspace, out: &mut Slopes<'_>) {
        let n = self.members.len();
        let (grown, scale) = self.grown(m);
        room.members.clear();
        room.members.extend(
            self.members
                .iter()
                .map(|member| 4.0 * STEFAN_BOLTZMANN * m.t[member.point].powi(3)),
        );
        let slope = &room.members[..];
        for (i, member) in self.members.iter().enumerate() {
            let row = self.exchange_areas_m2(i);
            let all = if i == grown { scale } else { 1.0 };
            let more = if i != grown && grown < n {
                (scale - 1.0) * row[grown]
            } else {
                0.0
            };
            let mut give = |by: usize, area: f64| {
                let point = self.members[by].point;
                out.give(member.point, point, area * slope[by]);
                if member.ledger != INTERNAL {
                    out.book(member.ledger, point, -area * slope[by]);
                }
            };
            for (j, g) in row.iter().enumerate() {
                give(j, all * g);
            }
            give(i, -(all * self.together_m2[i] + more));
            if more != 0.0 {
                give(grown, more);
            }
        }
        let Some((_, area)) = self.growing else {
            return;
        };
        let Some((grown_m2, body)) = area.grown_m2 else {
            return;
        };
        let grows = m.shares[body.0].1 * grown_m2;
        if grows == 0.0 {
            return;
        }
        let own = m.t[self.members[grown].point].powi(4);
        for (j, other) in self.members.iter().enumerate().filter(|(j, _)| *j != grown) {
            let area = self.exchange_areas_m2(grown)[j];
            let lost = STEFAN_BOLTZMANN * (own - m.t[other.point].powi(4)) * area * grows;
            out.give_rate(self.members[grown].point, -lost);
            out.book_rate(self.members[grown].ledger, lost);
            out.give_rate(other.point, lost);
            out.book_rate(other.ledger, -lost);
        }
    }

    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        out.push(match &self.shape {
            Some(shape) => Link::GreyEnclosure((**shape).clone()),
            None => Link::EnclosureByExchangeAreas {
                surfaces: self.members.iter().map(|m| name(m.point)).collect(),
                exchange_areas_m2: self.exchange_areas_m2.clone(),
            },
        });
    }
}

//! The elements that join two points, and those that act on one.

use super::Index;
use super::evaluate::{Balance, Slopes};
use crate::physics::air::AirTable;
use crate::physics::convection::ConvectiveFace;
use crate::physics::prepared::PreparedFace;
use crate::physics::radiation::STEFAN_BOLTZMANN;
use crate::vector::dot;

/// Ledger index of elements that move heat only inside the audited nodes.
pub const INTERNAL: usize = 0;

/// A linear conductance between two points.
#[derive(Debug, Clone, PartialEq)]
pub struct Conductor {
    /// Heat flows from here when it is warmer.
    pub a: Index,
    /// The other end.
    pub b: Index,
    /// Conductance, W/K.
    pub conductance_W_per_K: f64,
    /// Ledger entry for heat that leaves from `a` ([`INTERNAL`] if `b` is audited too).
    pub ledger: usize,
}

impl Conductor {
    pub(super) fn balance(&self, t: &[f64], out: &mut Balance) {
        let q = self.conductance_W_per_K * (t[self.a] - t[self.b]);
        out.transfer(self.a, self.b, self.ledger, q);
    }

    pub(super) fn slopes(&self, out: &mut Slopes) {
        let g = self.conductance_W_per_K;
        out.transfer(self.a, self.b, self.ledger, self.a, g);
        out.transfer(self.a, self.b, self.ledger, self.b, -g);
    }
}

/// Grey radiation between two surfaces: `q = A sigma (Ta^4 - Tb^4)` with the exchange area `A`.
#[derive(Debug, Clone, PartialEq)]
pub struct Radiator {
    /// One surface.
    pub a: Index,
    /// The other.
    pub b: Index,
    /// Exchange area (area times emissivity factor), m2.
    pub exchange_area_m2: f64,
    /// Ledger entry for heat that leaves from `a`.
    pub ledger: usize,
}

impl Radiator {
    pub(super) fn balance(&self, t: &[f64], out: &mut Balance) {
        let (a, b) = (t[self.a], t[self.b]);
        let (a2, b2) = (a * a, b * b);
        let q = self.exchange_area_m2 * STEFAN_BOLTZMANN * (a2 * a2 - b2 * b2);
        out.transfer(self.a, self.b, self.ledger, q);
    }

    pub(super) fn slopes(&self, t: &[f64], out: &mut Slopes) {
        let g = 4.0 * self.exchange_area_m2 * STEFAN_BOLTZMANN;
        out.transfer(self.a, self.b, self.ledger, self.a, g * t[self.a].powi(3));
        out.transfer(self.a, self.b, self.ledger, self.b, -g * t[self.b].powi(3));
    }
}

/// An area that may grow with the growing node: `fixed + grown * fraction`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Area at a grown fraction of 0, m2.
    pub fixed_m2: f64,
    /// What full growth adds, m2.
    pub grown_m2: f64,
}

impl Area {
    /// An area that does not change.
    #[must_use]
    pub const fn constant(area_m2: f64) -> Self {
        Self {
            fixed_m2: area_m2,
            grown_m2: 0.0,
        }
    }

    /// The area at a grown fraction.
    #[must_use]
    pub fn at(&self, fraction: f64) -> f64 {
        self.fixed_m2 + self.grown_m2 * fraction
    }
}

/// Convection between a face and the air before it.
#[derive(Debug, Clone, PartialEq)]
pub struct Convector {
    /// The face.
    pub surface: Index,
    /// The air.
    pub air: Index,
    /// Its area.
    pub area: Area,
    /// Orientation, length, imposed speed.
    pub face: ConvectiveFace,
    /// The same, made ready to be asked often.
    prepared: PreparedFace,
    /// Ledger entry for heat that leaves from the face.
    pub ledger: usize,
}

impl Convector {
    /// Makes a convector for air at one pressure.
    #[must_use]
    pub fn new(
        surface: Index,
        around: Index,
        area: Area,
        face: ConvectiveFace,
        ledger: usize,
        air: &AirTable,
    ) -> Self {
        Self {
            surface,
            air: around,
            area,
            prepared: PreparedFace::new(&face, air),
            face,
            ledger,
        }
    }

    /// Heat per area from the face to the air, W/m2.
    pub(super) fn flux(&self, surface_K: f64, air_K: f64, air: &AirTable) -> f64 {
        self.prepared.value(surface_K, air_K, air) * (surface_K - air_K)
    }

    /// The flux and its slopes with the two temperatures.
    pub(super) fn flux_and_slopes(&self, s: f64, a: f64, air: &AirTable) -> (f64, f64, f64) {
        let h = self.prepared.coefficient(s, a, air);
        let warmer = s - a;
        (
            h.value * warmer,
            h.value + warmer * h.by_surface,
            warmer * h.by_air - h.value,
        )
    }

    pub(super) fn balance(&self, t: &[f64], f: f64, air: &AirTable, out: &mut Balance) {
        let q = self.area.at(f) * self.flux(t[self.surface], t[self.air], air);
        out.transfer(self.surface, self.air, self.ledger, q);
    }

    pub(super) fn slopes(&self, t: &[f64], f: f64, f_rate: f64, air: &AirTable, out: &mut Slopes) {
        let (q, ds, da) = self.flux_and_slopes(t[self.surface], t[self.air], air);
        let area = self.area.at(f);
        out.transfer(self.surface, self.air, self.ledger, self.surface, area * ds);
        out.transfer(self.surface, self.air, self.ledger, self.air, area * da);
        out.transfer_rate(
            self.surface,
            self.air,
            self.ledger,
            q * self.area.grown_m2 * f_rate,
        );
    }
}

/// Contact of a growing body with what it stands on: a contact coefficient in series with half of
/// the body's present height.
#[derive(Debug, Clone, PartialEq)]
pub struct Contact {
    /// The growing body.
    pub body: Index,
    /// What it stands on.
    pub base: Index,
    /// Footprint, m2.
    pub area_m2: f64,
    /// Contact coefficient, W/(m2 K).
    pub contact_W_per_m2K: f64,
    /// Height when fully grown, m.
    pub height_m: f64,
    /// Conductivity of the body, W/(m K).
    pub conductivity_W_per_mK: f64,
}

impl Contact {
    fn conductance(&self, fraction: f64) -> f64 {
        self.area_m2
            / (1.0 / self.contact_W_per_m2K
                + 0.5 * self.height_m * fraction / self.conductivity_W_per_mK)
    }

    pub(super) fn balance(&self, t: &[f64], f: f64, out: &mut Balance) {
        let q = self.conductance(f) * (t[self.body] - t[self.base]);
        out.transfer(self.body, self.base, INTERNAL, q);
    }

    pub(super) fn slopes(&self, t: &[f64], f: f64, f_rate: f64, out: &mut Slopes) {
        let g = self.conductance(f);
        out.transfer(self.body, self.base, INTERNAL, self.body, g);
        out.transfer(self.body, self.base, INTERNAL, self.base, -g);
        let g_per_f = -g * g / self.area_m2 * 0.5 * self.height_m / self.conductivity_W_per_mK;
        let rate = g_per_f * f_rate * (t[self.body] - t[self.base]);
        out.transfer_rate(self.body, self.base, INTERNAL, rate);
    }
}

/// A surface of an [`Enclosure`].
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// Its point in the network.
    pub point: Index,
    /// Ledger entry for heat that leaves the enclosure through it ([`INTERNAL`] for an inside face).
    pub ledger: usize,
}

/// Radiation among the surfaces of an enclosure by total exchange areas (radiosity solved once).
///
/// `q_i = sum_j G_ij sigma (T_i^4 - T_j^4)`.
#[derive(Debug, Clone, PartialEq)]
pub struct Enclosure {
    /// The surfaces.
    pub members: Vec<Member>,
    /// Total exchange areas, row by row, symmetric, m2, zero on the diagonal.
    exchange_areas_m2: Vec<f64>,
    /// Their sums by row.
    together_m2: Vec<f64>,
    /// A member whose exchange grows with the growing node, and how.
    pub growing: Option<(usize, Area)>,
}

/// Most members an enclosure can have.
pub const MAX_MEMBERS: usize = 64;

impl Enclosure {
    /// An enclosure from its members and their total exchange areas, row by row, symmetric, m2; what
    /// stands on the diagonal is left out.
    #[must_use]
    pub fn new(
        members: Vec<Member>,
        mut exchange_areas_m2: Vec<f64>,
        growing: Option<(usize, Area)>,
    ) -> Self {
        let n = members.len();
        for i in 0..n {
            exchange_areas_m2[i * n + i] = 0.0;
        }
        let rows = exchange_areas_m2.chunks_exact(n);
        Self {
            together_m2: rows.map(|row| row.iter().sum()).collect(),
            members,
            exchange_areas_m2,
            growing,
        }
    }

    /// Exchange areas of a member with every other, m2.
    #[must_use]
    pub fn exchange_areas_m2(&self, member: usize) -> &[f64] {
        let n = self.members.len();
        &self.exchange_areas_m2[member * n..(member + 1) * n]
    }

    pub(super) fn balance(&self, t: &[f64], f: f64, out: &mut Balance) {
        let n = self.members.len();
        let mut power = [0.0; MAX_MEMBERS];
        for (p, m) in power.iter_mut().zip(&self.members) {
            let sq = t[m.point] * t[m.point];
            *p = STEFAN_BOLTZMANN * sq * sq;
        }
        // Only differences count. From the first face they are small, and zero where all are equal.
        let (first, power) = (power[0], &mut power[..n]);
        for p in &mut *power {
            *p -= first;
        }
        let (grown, scale) = self.grown(f);
        for (i, m) in self.members.iter().enumerate() {
            let row = self.exchange_areas_m2(i);
            let mut q = self.together_m2[i] * power[i] - dot(row, power);
            if i == grown {
                q *= scale;
            } else if grown < n {
                q += (scale - 1.0) * row[grown] * (power[i] - power[grown]);
            }
            out.give(m.point, -q);
            out.book(m.ledger, q);
        }
    }

    pub(super) fn slopes(&self, t: &[f64], f: f64, f_rate: f64, out: &mut Slopes) {
        let n = self.members.len();
        let (grown, scale) = self.grown(f);
        let grows = f_rate * self.growing.map_or(0.0, |(_, a)| a.grown_m2);
        let mut slope = [0.0; MAX_MEMBERS];
        for (s, m) in slope.iter_mut().zip(&self.members) {
            *s = 4.0 * STEFAN_BOLTZMANN * t[m.point].powi(3);
        }
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
        if grows != 0.0 && grown < n {
            let own = t[self.members[grown].point].powi(4);
            for (j, other) in self.members.iter().enumerate() {
                let area = self.exchange_areas_m2(grown)[j];
                let lost = STEFAN_BOLTZMANN * (own - t[other.point].powi(4)) * area * grows;
                if j != grown {
                    out.give_rate(self.members[grown].point, -lost);
                    out.book_rate(self.members[grown].ledger, lost);
                    out.give_rate(other.point, lost);
                    out.book_rate(other.ledger, -lost);
                }
            }
        }
    }

    fn grown(&self, f: f64) -> (usize, f64) {
        self.growing
            .map_or((usize::MAX, 1.0), |(i, a)| (i, a.at(f)))
    }
}

/// Heat set free in a point.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// Where.
    pub node: Index,
    /// Power at 20 degC, W.
    pub power_W: f64,
    /// Relative rise with temperature, 1/K (copper losses at constant current: 0.0039).
    pub per_K: f64,
    /// Ledger entry.
    pub ledger: usize,
}

/// Temperature coefficient of copper's resistance at 20 degC, 1/K (IEC 60028: 3.93e-3).
pub const COPPER_PER_K: f64 = 3.93e-3;

impl Source {
    pub(super) fn balance(&self, t: &[f64], out: &mut Balance) {
        let q = self.power_W * (1.0 + self.per_K * (t[self.node] - 293.15));
        out.give(self.node, q);
        out.book(self.ledger, q);
    }

    pub(super) fn slopes(&self, out: &mut Slopes) {
        let g = self.power_W * self.per_K;
        if g != 0.0 {
            out.give(self.node, self.node, g);
            out.book(self.ledger, self.node, g);
        }
    }
}

/// A node held at a setpoint by a heater (positive largest power) or cooler (negative).
///
/// While it holds, the node's temperature is fixed and the power is whatever balance asks for;
/// when that would be more than it can give, it works at its largest power and the node drifts.
#[derive(Debug, Clone, PartialEq)]
pub struct Control {
    /// The node.
    pub node: Index,
    /// Setpoint, K.
    pub setpoint_K: f64,
    /// Largest power, W; negative for a cooler.
    pub max_power_W: f64,
    /// Ledger entry.
    pub ledger: usize,
}

/// What a [`Control`] is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// No power.
    Off,
    /// Largest power.
    Full,
    /// Whatever holds the setpoint.
    Hold,
}

/// Growth of the growing node: its capacity is the full capacity times a fraction of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Growth {
    /// The growing node.
    pub node: Index,
    /// Fraction at `since_s`.
    pub fraction: f64,
    /// Change of the fraction, 1/s.
    pub rate_per_s: f64,
    /// Time the fraction is stated for, s.
    pub since_s: f64,
}

impl Growth {
    /// The fraction at a time.
    #[must_use]
    pub fn at(&self, t_s: f64) -> f64 {
        self.fraction + self.rate_per_s * (t_s - self.since_s)
    }
}

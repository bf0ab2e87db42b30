//! The laws that are sums and products but for a root or a rounded corner, in lanes.

use super::corners::{rise, weak_root};
use super::gains::Gains;
use super::slopes::{GainSlopes, NUDGED_K};
use crate::network::elements::{
    Conductor, Contact, Enclosure, Layering, Radiator, Shape, StirredOpening, Stream,
};
use crate::physics::GRAVITY_M_PER_S2;
use crate::physics::air::{GAS_CONSTANT_J_PER_KGK, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::openings::exchange_froude;
use crate::physics::overturning::OVERTURNING_ROOT_K;
use crate::physics::radiation::STEFAN_BOLTZMANN;
use crate::wide::Wide;

/// A conductance, or an exchange area times Stefan and Boltzmann's constant, between two points.
#[derive(Debug, Clone)]
pub(super) struct Link {
    pub key: (usize, usize),
    pub strength: Wide,
}

impl Link {
    pub const fn new(key: (usize, usize)) -> Self {
        Self {
            key,
            strength: Wide::ZERO,
        }
    }

    pub fn clear(&mut self, lane: usize) {
        self.strength.0[lane] = 0.0;
    }

    pub fn load(&mut self, lane: usize, c: &Conductor) {
        self.strength.0[lane] = c.conductance_W_per_K;
    }

    pub fn load_radiator(&mut self, lane: usize, r: &Radiator) {
        self.strength.0[lane] = r.exchange_area_m2 * STEFAN_BOLTZMANN;
    }

    #[inline(always)]
    pub fn flow(&self, t: &[Wide]) -> Wide {
        self.strength * (t[self.key.0] - t[self.key.1])
    }

    #[inline(always)]
    pub fn conduct(&self, t: &[Wide], g: &mut Gains<'_>) {
        g.transfer(self.key.0, self.key.1, self.flow(t));
    }

    #[inline(always)]
    pub fn radiate(&self, t: &[Wide], g: &mut Gains<'_>) {
        let (a, b) = (t[self.key.0], t[self.key.1]);
        let (a2, b2) = (a * a, b * b);
        g.transfer(self.key.0, self.key.1, self.strength * (a2 * a2 - b2 * b2));
    }

    #[inline(always)]
    pub fn conduct_slopes(&self, s: &mut GainSlopes) {
        let (a, b) = self.key;
        s.transfer(a, b, a, self.strength);
        s.transfer(a, b, b, -self.strength);
    }

    #[inline(always)]
    pub fn radiate_slopes(&self, t: &[Wide], s: &mut GainSlopes) {
        let (a, b) = self.key;
        let four = self.strength * 4.0;
        s.transfer(a, b, a, four * (t[a] * t[a] * t[a]));
        s.transfer(a, b, b, -(four * (t[b] * t[b] * t[b])));
    }
}

/// See [`Contact`].
#[derive(Debug, Clone)]
pub(super) struct Standing {
    pub key: (usize, usize, usize),
    area_m2: Wide,
    contact: Wide,
    per_share: Wide,
}

impl Standing {
    pub const fn key_of(c: &Contact) -> (usize, usize, usize) {
        (c.body, c.base, c.grows.0)
    }

    pub const fn new(key: (usize, usize, usize)) -> Self {
        Self {
            key,
            area_m2: Wide::ZERO,
            contact: Wide::all(1.0),
            per_share: Wide::ZERO,
        }
    }

    pub fn clear(&mut self, lane: usize) {
        self.area_m2.0[lane] = 0.0;
    }

    pub fn load(&mut self, lane: usize, c: &Contact) {
        self.area_m2.0[lane] = c.area_m2;
        self.contact.0[lane] = 1.0 / c.contact_W_per_m2K;
        self.per_share.0[lane] = 0.5 * c.height_m / c.conductivity_W_per_mK;
    }

    #[inline(always)]
    pub fn give(&self, t: &[Wide], shares: &[Wide], g: &mut Gains<'_>) {
        let (body, base, _) = self.key;
        g.transfer(body, base, self.strength(shares) * (t[body] - t[base]));
    }

    /// How what it gives grows where the shares of bodies do so by these, 1/s.
    #[inline(always)]
    pub fn grow(&self, t: &[Wide], shares: &[Wide], growth: &[Wide], g: &mut Gains<'_>) {
        let (body, base, grows) = self.key;
        let resists = self.contact.plus(self.per_share, shares[grows]);
        let per_s = self.per_share * growth[grows] / resists;
        let q = self.area_m2 / resists * (t[body] - t[base]);
        g.transfer(body, base, -(q * per_s));
    }

    #[inline(always)]
    pub fn slopes(&self, shares: &[Wide], s: &mut GainSlopes) {
        let (body, base, _) = self.key;
        let strength = self.strength(shares);
        s.transfer(body, base, body, strength);
        s.transfer(body, base, base, -strength);
    }

    #[inline(always)]
    fn strength(&self, shares: &[Wide]) -> Wide {
        self.area_m2 / self.contact.plus(self.per_share, shares[self.key.2])
    }
}

/// What makes enclosures of several runs one: the points of their members, and which grows with which body.
pub(super) type RoomKey = (Vec<usize>, Option<(usize, usize)>);

/// See [`Enclosure`].
#[derive(Debug, Clone)]
pub(super) struct Room {
    pub key: RoomKey,
    active: u32,
    /// Row by row; the sums of rows.
    areas_m2: Vec<Wide>,
    together_m2: Vec<Wide>,
    fixed: Wide,
    grown: Wide,
    power: Vec<Wide>,
}

impl Room {
    pub fn key_of(e: &Enclosure) -> RoomKey {
        let grows = e
            .growing()
            .map(|(k, area)| (k, area.body().map_or(0, |b| b.0)));
        (e.members().iter().map(|m| m.point).collect(), grows)
    }

    pub fn new(key: RoomKey) -> Self {
        let n = key.0.len();
        Self {
            key,
            active: 0,
            areas_m2: vec![Wide::ZERO; n * n],
            together_m2: vec![Wide::ZERO; n],
            fixed: Wide::all(1.0),
            grown: Wide::ZERO,
            power: vec![Wide::ZERO; n],
        }
    }

    pub fn clear(&mut self, lane: usize) {
        if self.active & (1 << lane) == 0 {
            return;
        }
        self.active &= !(1 << lane);
        for area in self.areas_m2.iter_mut().chain(&mut self.together_m2) {
            area.0[lane] = 0.0;
        }
    }

    pub fn load(&mut self, lane: usize, e: &Enclosure) {
        self.active |= 1 << lane;
        let n = self.power.len();
        for i in 0..n {
            let mut together = 0.0;
            for (wide, area) in self.areas_m2[i * n..]
                .iter_mut()
                .zip(e.exchange_areas_m2(i))
            {
                wide.0[lane] = *area;
                together += area;
            }
            self.together_m2[i].0[lane] = together;
        }
        let area = e.growing().map(|(_, area)| area);
        self.fixed.0[lane] = area.map_or(1.0, |a| a.fixed_m2);
        self.grown.0[lane] = area.and_then(|a| a.grown_m2).map_or(0.0, |(m2, _)| m2);
    }

    #[inline(always)]
    pub fn give(&mut self, t: &[Wide], shares: &[Wide], g: &mut Gains<'_>) {
        if self.active == 0 {
            return;
        }
        let n = self.power.len();
        let (grown, scale) = self.scale(shares);
        for (power, point) in self.power.iter_mut().zip(&self.key.0) {
            let square = t[*point] * t[*point];
            *power = square * square * STEFAN_BOLTZMANN;
        }
        let power = &mut self.power[..n];
        let first = power[0];
        for p in &mut *power {
            *p = *p - first;
        }
        let more = scale - 1.0;
        for i in 0..n {
            let row = &self.areas_m2[i * n..(i + 1) * n];
            let mut q = self.together_m2[i] * power[i];
            for j in 0..n {
                q = q.less(row[j], power[j]);
            }
            if i == grown {
                q = q * scale;
            } else if grown < n {
                q = q.plus(more * row[grown], power[i] - power[grown]);
            }
            g.add(self.key.0[i], -q);
        }
    }

    /// How what it gives grows where the shares of bodies do so by these, 1/s.
    #[inline(always)]
    pub fn grow(&self, t: &[Wide], growth: &[Wide], g: &mut Gains<'_>) {
        let Some((k, body)) = self.key.1.filter(|_| self.active != 0) else {
            return;
        };
        let points = &self.key.0;
        let per_s = self.grown * growth[body] * STEFAN_BOLTZMANN;
        let fourth = |point: usize| {
            let square = t[point] * t[point];
            square * square
        };
        let own = fourth(points[k]);
        for (i, point) in points.iter().enumerate() {
            let area = self.areas_m2[k * points.len() + i];
            if i != k {
                g.transfer(points[k], *point, per_s * area * (own - fourth(*point)));
            }
        }
    }

    #[inline(always)]
    pub fn slopes(&self, t: &[Wide], shares: &[Wide], s: &mut GainSlopes) {
        if self.active == 0 {
            return;
        }
        let points = &self.key.0;
        let n = points.len();
        let (grown, scale) = self.scale(shares);
        for (j, by) in points.iter().enumerate() {
            let power = t[*by] * t[*by] * t[*by] * (4.0 * STEFAN_BOLTZMANN);
            let mut left = Wide::ZERO;
            for (i, gains) in points.iter().enumerate() {
                if i == j {
                    continue;
                }
                let area = self.areas_m2[i * n + j];
                let area = if i == grown || j == grown {
                    area * scale
                } else {
                    area
                };
                let q = area * power;
                s.add(*gains, *by, q);
                left = left + q;
            }
            s.add(*by, *by, -left);
        }
    }

    /// The member that grows with a body, and its size.
    #[inline(always)]
    fn scale(&self, shares: &[Wide]) -> (usize, Wide) {
        match self.key.1 {
            Some((k, body)) => (k, self.fixed.plus(self.grown, shares[body])),
            None => (usize::MAX, Wide::all(1.0)),
        }
    }
}

/// See [`StirredOpening`].
#[derive(Debug, Clone)]
pub(super) struct Stirred {
    pub key: (usize, usize, bool),
    active: u32,
    /// What its exchange by warmth has beside the roots of temperatures; exchange by moving air, squared.
    by_warmth: Wide,
    stirred_square: Wide,
    dense_heat: Wide,
}

impl Stirred {
    pub const fn key_of(s: &StirredOpening) -> (usize, usize, bool) {
        (s.layer, s.room, matches!(s.shape, Shape::Horizontal { .. }))
    }

    pub const fn new(key: (usize, usize, bool)) -> Self {
        Self {
            key,
            active: 0,
            by_warmth: Wide::ZERO,
            stirred_square: Wide::ZERO,
            dense_heat: Wide::ZERO,
        }
    }

    pub fn clear(&mut self, lane: usize) {
        self.active &= !(1 << lane);
        self.stirred_square.0[lane] = 0.0;
    }

    pub fn load(&mut self, lane: usize, s: &StirredOpening, pressure_Pa: f64) {
        let stirred = s.factor * s.area_m2 * s.speed_m_per_s;
        if stirred > 0.0 {
            self.active |= 1 << lane;
        }
        self.stirred_square.0[lane] = if stirred > 0.0 {
            stirred * stirred
        } else {
            0.0
        };
        self.by_warmth.0[lane] = match s.shape {
            Shape::Horizontal { rim_m } => top_factor(s.area_m2, rim_m),
            Shape::Vertical {
                height_m,
                discharge,
            } => discharge / 3.0 * s.area_m2 * (GRAVITY_M_PER_S2 * height_m).sqrt(),
        };
        self.dense_heat.0[lane] =
            2.0 * (pressure_Pa / GAS_CONSTANT_J_PER_KGK * HEAT_CAPACITY_J_PER_KGK);
    }

    #[inline(always)]
    pub fn give(&self, t: &[Wide], g: &mut Gains<'_>) {
        if self.active == 0 {
            return;
        }
        let (layer, room, _) = self.key;
        g.transfer(layer, room, self.flow(t[layer], t[room]));
    }

    #[inline(always)]
    pub fn slopes(&self, t: &[Wide], s: &mut GainSlopes) {
        if self.active == 0 {
            return;
        }
        let (layer, room, _) = self.key;
        let q = self.flow(t[layer], t[room]);
        let by = |moved: Wide| (moved - q) * (1.0 / NUDGED_K);
        let by_layer = by(self.flow(t[layer] + NUDGED_K, t[room]));
        s.transfer(layer, room, layer, by_layer);
        s.transfer(
            layer,
            room,
            room,
            by(self.flow(t[layer], t[room] + NUDGED_K)),
        );
    }

    /// Heat that goes out, W.
    #[inline(always)]
    fn flow(&self, inside: Wide, outside: Wide) -> Wide {
        let warmer = inside - outside;
        let lighter = if self.key.2 { warmer } else { warmer.abs() };
        let mean = (inside + outside) * 0.5;
        let by_warmth = self.by_warmth * weak_root(lighter) / mean.sqrt();
        let both = self.stirred_square.plus(by_warmth, by_warmth).sqrt();
        // Nothing over nothing where there is neither.
        let flow = self.stirred_square / (both + by_warmth).max(Wide::all(1e-30));
        flow * self.dense_heat / (inside + outside) * warmer
    }
}

/// What a hole in the top passes beside the roots of its temperatures.
pub(super) fn top_factor(area_m2: f64, thickness_m: f64) -> f64 {
    if area_m2 <= 0.0 {
        return 0.0;
    }
    let diameter_m = (area_m2 * (4.0 / std::f64::consts::PI)).sqrt();
    exchange_froude(thickness_m / diameter_m)
        * diameter_m
        * diameter_m
        * (GRAVITY_M_PER_S2 * diameter_m).sqrt()
}

/// See [`Layering`].
#[derive(Debug, Clone)]
pub(super) struct Layers {
    pub key: Vec<usize>,
    /// Heat of air, J K/m3.
    dense_heat: Wide,
    stirring: Wide,
    /// What overturning has beside its difference and the root of temperature.
    turning: Wide,
}

impl Layers {
    pub const fn new(key: Vec<usize>) -> Self {
        Self {
            key,
            dense_heat: Wide::ZERO,
            stirring: Wide::ZERO,
            turning: Wide::ZERO,
        }
    }

    pub fn clear(&mut self, lane: usize) {
        self.dense_heat.0[lane] = 0.0;
    }

    pub fn load(&mut self, lane: usize, l: &Layering, pressure_Pa: f64) {
        self.dense_heat.0[lane] = pressure_Pa / GAS_CONSTANT_J_PER_KGK * HEAT_CAPACITY_J_PER_KGK;
        self.stirring.0[lane] = l.stirring_m3_per_s;
        self.turning.0[lane] =
            OVERTURNING_ROOT_K * l.section_m2 * (GRAVITY_M_PER_S2 * l.height_m).sqrt();
    }

    #[inline(always)]
    pub fn give(&self, t: &[Wide], g: &mut Gains<'_>) {
        for pair in self.key.windows(2) {
            g.transfer(pair[0], pair[1], self.flow(t[pair[0]], t[pair[1]]));
        }
    }

    #[inline(always)]
    pub fn slopes(&self, t: &[Wide], s: &mut GainSlopes) {
        for pair in self.key.windows(2) {
            let (low, high) = (t[pair[0]], t[pair[1]]);
            let q = self.flow(low, high);
            let by = |moved: Wide| (moved - q) * (1.0 / NUDGED_K);
            s.transfer(
                pair[0],
                pair[1],
                pair[0],
                by(self.flow(low + NUDGED_K, high)),
            );
            s.transfer(
                pair[0],
                pair[1],
                pair[1],
                by(self.flow(low, high + NUDGED_K)),
            );
        }
    }

    /// Heat that goes up, W.
    #[inline(always)]
    fn flow(&self, low: Wide, high: Wide) -> Wide {
        let mean = (low + high) * 0.5;
        let turned = self.turning * rise(low - high) / mean.sqrt();
        self.dense_heat / mean * turned.plus(self.stirring, low - high)
    }
}

/// What makes streams of several runs one: store, outlet, receiver, and what surrounds each station.
pub(super) type StreamKey = (usize, usize, usize, Vec<usize>);

/// See [`Stream`].
#[derive(Debug, Clone)]
pub(super) struct Fed {
    pub key: StreamKey,
    rate: Wide,
    fractions: Vec<Wide>,
}

impl Fed {
    pub fn key_of(s: &Stream) -> StreamKey {
        let around = s.given_up().map(|(point, _)| point);
        (s.store, s.outlet, s.receiver, around.collect())
    }

    pub fn new(key: StreamKey) -> Self {
        Self {
            rate: Wide::ZERO,
            fractions: vec![Wide::ZERO; key.3.len()],
            key,
        }
    }

    pub fn clear(&mut self, lane: usize) {
        self.rate.0[lane] = 0.0;
    }

    pub fn load(&mut self, lane: usize, s: &Stream) {
        self.rate.0[lane] = s.capacity_rate_W_per_K();
        for (wide, (_, fraction)) in self.fractions.iter_mut().zip(s.given_up()) {
            wide.0[lane] = fraction;
        }
    }

    #[inline(always)]
    pub fn give(&self, t: &[Wide], reference_K: Wide, g: &mut Gains<'_>) {
        let (store, outlet, receiver, around) = &self.key;
        let mut material = t[*store];
        for (point, fraction) in around.iter().zip(&self.fractions) {
            let rise = *fraction * (t[*point] - material);
            g.add(*point, -(self.rate * rise));
            material = material + rise;
        }
        g.add(*outlet, -(self.rate * (t[*outlet] - material)));
        g.add(*receiver, self.rate * (t[*outlet] - reference_K));
    }
    #[inline(always)]
    pub fn slopes(&self, s: &mut GainSlopes) {
        let (store, outlet, receiver, around) = &self.key;
        // How the material's temperature answers to the store's, then to what surrounds it, station by station.
        let mut answers = [(0, Wide::ZERO); MOST_STATIONS + 1];
        answers[0] = (*store, Wide::all(1.0));
        for (k, (point, fraction)) in around.iter().zip(&self.fractions).enumerate() {
            s.add(*point, *point, -(self.rate * *fraction));
            for (by, answer) in &mut answers[..=k] {
                let given = *fraction * *answer;
                s.add(*point, *by, self.rate * given);
                *answer = *answer - given;
            }
            answers[k + 1] = (*point, *fraction);
        }
        s.add(*outlet, *outlet, -self.rate);
        for (by, answer) in &answers[..=around.len()] {
            s.add(*outlet, *by, self.rate * *answer);
        }
        s.add(*receiver, *outlet, self.rate);
    }
}

/// Stations of a stream that lanes can follow.
pub(super) const MOST_STATIONS: usize = 47;

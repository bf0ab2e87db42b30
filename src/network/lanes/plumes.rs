//! Plumes in lanes: what rises from warm faces, and the air it draws along.

use super::corners::{step, step_with_slope};
use super::face::{FaceKey, Faces};
use super::films::Films;
use super::gains::Gains;
use super::parts::Link;
use super::slopes::GainSlopes;
use crate::network::elements::Plume;
use crate::network::elements::plume::{FADE_W, REACH_K};
use crate::physics::air::{GAS_CONSTANT_J_PER_KGK, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::plume::{WEAK_PLUME_W, plume_flow_m3_per_s};
use crate::wide::Wide;

/// What makes plumes of several runs one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PlumeKey {
    faces: Vec<FaceKey>,
    losses: Vec<(usize, usize)>,
    layers: Vec<usize>,
}

impl PlumeKey {
    pub fn of(p: &Plume) -> Self {
        Self {
            faces: p.faces.iter().map(FaceKey::of).collect(),
            losses: p.losses.iter().map(|c| (c.a, c.b)).collect(),
            layers: p.layers().to_vec(),
        }
    }
}

/// See [`Plume`].
#[derive(Debug, Clone)]
pub(super) struct Rising {
    pub key: PlumeKey,
    active: u32,
    faces: Vec<Faces>,
    losses: Vec<Link>,
    spreads: Vec<Wide>,
    dense_heat: Wide,
}

impl Rising {
    pub fn new(key: PlumeKey) -> Self {
        Self {
            active: 0,
            faces: key.faces.iter().map(|k| Faces::new(*k)).collect(),
            losses: key.losses.iter().map(|k| Link::new(*k)).collect(),
            spreads: vec![Wide::ZERO; key.layers.len() - 1],
            dense_heat: Wide::ZERO,
            key,
        }
    }

    pub fn clear(&mut self, lane: usize) {
        self.active &= !(1 << lane);
        self.faces.iter_mut().for_each(|f| f.clear(lane));
        self.losses.iter_mut().for_each(|l| l.clear(lane));
    }

    pub fn load(&mut self, lane: usize, p: &Plume, pressure_Pa: f64, films: &Films) -> bool {
        self.active |= 1 << lane;
        for (wide, c) in self.losses.iter_mut().zip(&p.losses) {
            wide.load(lane, c);
        }
        for (wide, s) in self.spreads.iter_mut().zip(p.spreads()) {
            wide.0[lane] = s;
        }
        self.dense_heat.0[lane] = pressure_Pa / GAS_CONSTANT_J_PER_KGK * HEAT_CAPACITY_J_PER_KGK;
        let faces = self.faces.iter_mut().zip(&p.faces);
        let mut fits = true;
        for (wide, c) in faces {
            fits &= wide.load(lane, c, pressure_Pa, films);
        }
        fits
    }

    #[inline(always)]
    pub fn give(&mut self, t: &[Wide], shares: &[Wide], films: &Films, g: &mut Gains<'_>) {
        if self.active == 0 {
            return;
        }
        Faces::find::<false>(&mut self.faces, t, shares, films);
        let layers = &self.key.layers;
        let (source, top) = (layers[0], layers[layers.len() - 1]);
        let (mut all, mut buoyant) = (Wide::ZERO, Wide::ZERO);
        for f in &self.faces {
            let (surface, q) = (f.key.surface, f.flow());
            g.add(surface, -q);
            all = all + q;
            buoyant = buoyant.plus(q, step((t[surface] - t[top]) * (1.0 / REACH_K)));
        }
        for l in &self.losses {
            let q = l.flow(t);
            g.add(l.key.0, -q);
            all = all + q;
            buoyant = buoyant.plus(q, step((t[l.key.0] - t[top]) * (1.0 / REACH_K)));
        }
        if self.spreads.is_empty() {
            g.add(source, all);
            return;
        }
        let (rising, flow) = Self::rising(buoyant, films).0;
        g.add(source, all - rising);
        g.add(top, rising);
        for (pair, spread) in layers.windows(2).zip(&self.spreads) {
            let (low, high) = (t[pair[0]], t[pair[1]]);
            let heat = self.dense_heat / ((low + high) * 0.5);
            g.transfer(top, pair[0], heat * flow * *spread * (high - low));
        }
    }

    /// Of heat that is buoyant, W: what of it rises to the top, and the flow of air per root of height it
    /// draws along; and how these answer to it.
    #[inline(always)]
    fn rising(buoyant: Wide, films: &Films) -> ((Wide, Wide), (Wide, Wide)) {
        let buoyant = buoyant.max(Wide::ZERO);
        let share = buoyant / (buoyant + FADE_W);
        let rising = buoyant * share;
        let rising_by = share * (Wide::all(2.0) - share);
        let one_watt_one_metre = plume_flow_m3_per_s(1.0, 0.0, 1.0);
        let (begun, begins) = step_with_slope(rising * (1.0 / WEAK_PLUME_W));
        let root = films.cube_root(rising.narrow()).wide() * one_watt_one_metre;
        // Where nothing has begun to rise nothing answers.
        let root_by = root * begun / (rising.max(Wide::all(1e-12)) * 3.0);
        let flow_by = root_by.plus(root, begins * (1.0 / WEAK_PLUME_W)) * rising_by;
        ((rising, root * begun), (rising_by, flow_by))
    }

    /// How it answers to temperatures, and in `g` how what it gives grows where the shares of bodies do so by these, 1/s.
    #[inline(always)]
    pub fn slopes(
        &mut self,
        t: &[Wide],
        (shares, growth): (&[Wide], &[Wide]),
        films: &Films,
        s: &mut GainSlopes,
        g: &mut Gains<'_>,
    ) {
        if self.active == 0 {
            return;
        }
        Faces::find::<true>(&mut self.faces, t, shares, films);
        let layers = &self.key.layers;
        let (source, top) = (layers[0], layers[layers.len() - 1]);
        let reach = |surface: Wide| {
            let (share, rises) = step_with_slope((surface - t[top]) * (1.0 / REACH_K));
            (share, rises * (1.0 / REACH_K))
        };
        // Heat is given to the source; what of it rises goes on to the top, with the heat of the air that comes
        // back in its place.
        let mut buoyant = Wide::ZERO;
        for f in &self.faces {
            buoyant = buoyant.plus(f.flow(), reach(t[f.key.surface]).0);
        }
        for l in &self.losses {
            buoyant = buoyant.plus(l.flow(t), reach(t[l.key.0]).0);
        }
        let ((_, flow), (rising_by, flow_by)) = Self::rising(buoyant, films);
        // Of each layer that air is drawn from, what a flow brings back, W/(m3/s).
        let mut brought = [Wide::ZERO; MOST_LAYERS];
        for ((pair, spread), brought) in layers.windows(2).zip(&self.spreads).zip(&mut brought) {
            let (low, high) = (t[pair[0]], t[pair[1]]);
            *brought = self.dense_heat * *spread * (high - low) / ((low + high) * 0.5);
        }
        let follows = Rises {
            layers,
            brought: &brought[..self.spreads.len()],
            rising_by,
            flow_by,
        };
        for f in &self.faces {
            let FaceKey { surface, air, .. } = f.key;
            let (q, slope) = (f.flow(), f.flow_rises());
            let (share, rises) = reach(t[surface]);
            let by_reach = q * rises;
            if let Some(grows) = f.flow_grows(growth) {
                g.transfer(surface, source, grows);
                follows.grow(grows * share, g);
            }
            s.transfer(surface, source, surface, slope);
            s.transfer(surface, source, air, -slope);
            follows.add(surface, by_reach.plus(slope, share), s);
            follows.add(air, -(slope * share), s);
            follows.add(top, -by_reach, s);
        }
        for l in &self.losses {
            let (a, b) = l.key;
            let (share, rises) = reach(t[a]);
            let by_reach = l.flow(t) * rises;
            s.transfer(a, source, a, l.strength);
            s.transfer(a, source, b, -l.strength);
            follows.add(a, by_reach.plus(l.strength, share), s);
            follows.add(b, -(l.strength * share), s);
            follows.add(top, -by_reach, s);
        }
        for (pair, spread) in layers.windows(2).zip(&self.spreads) {
            let (low, high) = (t[pair[0]], t[pair[1]]);
            let mean = (low + high) * 0.5;
            let heat = self.dense_heat / mean * flow * *spread;
            let by_mean = heat * (high - low) / mean * 0.5;
            s.transfer(top, pair[0], pair[1], heat - by_mean);
            s.transfer(top, pair[0], pair[0], -heat - by_mean);
        }
    }
}

/// What follows from a plume's buoyant heat.
struct Rises<'a> {
    layers: &'a [usize],
    /// What a flow brings back to the top from each layer below, W/(m3/s).
    brought: &'a [Wide],
    /// How heat that rises, and the flow of air, answer to it.
    rising_by: Wide,
    flow_by: Wide,
}

impl Rises<'_> {
    /// Where buoyant heat answers to a point's temperature.
    #[inline(always)]
    fn add(&self, by: usize, buoyant_by: Wide, s: &mut GainSlopes) {
        if self.brought.is_empty() {
            return;
        }
        let (source, top) = (self.layers[0], self.layers[self.layers.len() - 1]);
        s.transfer(source, top, by, self.rising_by * buoyant_by);
        let flow_by = self.flow_by * buoyant_by;
        for (layer, brought) in self.layers.iter().zip(self.brought) {
            s.transfer(top, *layer, by, flow_by * *brought);
        }
    }

    /// Where buoyant heat grows by itself, W/s.
    #[inline(always)]
    fn grow(&self, buoyant_grows: Wide, g: &mut Gains<'_>) {
        if self.brought.is_empty() {
            return;
        }
        let (source, top) = (self.layers[0], self.layers[self.layers.len() - 1]);
        g.transfer(source, top, self.rising_by * buoyant_grows);
        for (layer, brought) in self.layers.iter().zip(self.brought) {
            g.transfer(top, *layer, self.flow_by * buoyant_grows * *brought);
        }
    }
}

/// Layers of a plume that lanes can follow.
pub(super) const MOST_LAYERS: usize = 32;

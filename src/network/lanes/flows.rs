//! Moving air in lanes: the balance of mass of [`AirPaths`], solved in all lanes at once.

use super::corners::weak_root;
use super::gains::Gains;
use super::parts::top_factor;
use super::slopes::{GainSlopes, MOVED_K};
use crate::network::elements::AirPaths;
use crate::network::elements::air_paths::{FINE, LAMINAR_BELOW_PA, MOST_STEPS};
use crate::physics::GRAVITY_M_PER_S2;
use crate::physics::air::{GAS_CONSTANT_J_PER_KGK, HEAT_CAPACITY_J_PER_KGK};
use crate::wide::{LANES, Wide};

/// What makes the air of several runs one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct AirKey {
    layers: Vec<usize>,
    room: usize,
    led_to: Option<usize>,
    /// The layer of each opening, and of each fan with whether it draws from there.
    openings: Vec<usize>,
    draughts: Vec<(usize, bool)>,
    open_top: bool,
    inner: bool,
}

impl AirKey {
    pub fn of(a: &AirPaths) -> Self {
        let draughts = a.draughts.iter();
        Self {
            layers: a.layers.clone(),
            room: a.room,
            led_to: a.led_to,
            openings: a.openings.iter().map(|o| o.layer).collect(),
            draughts: draughts
                .map(|d| (d.layer, d.outward_m3_per_s > 0.0))
                .collect(),
            open_top: a.open_top.is_some(),
            inner: a.inner_m3_per_s > 0.0,
        }
    }
}

/// An opening in lanes.
#[derive(Debug, Clone)]
struct Opening {
    /// Height above its layer's lower edge, m.
    above_m: Wide,
    /// Discharge coefficient times area, m2.
    free_m2: Wide,
    offset_Pa: Wide,
    factor: Wide,
    outward: Wide,
    slope: Wide,
    /// Room for a slope next to that one.
    rises: Wide,
}

impl Opening {
    /// What flows out where the floor's air has this pressure, kg/s, and how that rises with it.
    #[inline(always)]
    fn flow(&self, floor_Pa: Wide) -> (Wide, Wide) {
        let dp = floor_Pa + self.offset_Pa;
        let square = Wide::all(LAMINAR_BELOW_PA * LAMINAR_BELOW_PA).plus(dp, dp);
        let inverse = Wide::all(1.0) / square.sqrt();
        let per_root = self.factor * inverse.sqrt();
        let share = dp * inverse;
        let rises = per_root * Wide::all(1.0).less(share * 0.5, share);
        (dp * per_root, rises)
    }
}

/// Paths of air in lanes.
#[derive(Debug, Clone)]
pub(super) struct Air {
    pub key: AirKey,
    /// The points that it joins, each once.
    points: Vec<usize>,
    /// Lanes that have it, and 1 in those.
    active: u32,
    weight: Wide,
    /// Pressure over the gas constant, kg K/m3.
    dense: Wide,
    /// Height of each layer, m.
    heights_m: Vec<Wide>,
    openings: Vec<Opening>,
    /// Volume moved out of the chamber, and what bypasses it, m3/s.
    driven: Vec<(Wide, Wide)>,
    /// What a hole in the top passes for each root of m2/s2 K.
    top: Wide,
    inner: Wide,
    floor_Pa: Wide,
    densities: Vec<Wide>,
    rises: Vec<Wide>,
    net: Vec<Wide>,
    /// Of each opening, how a balance left it: offset and flow.
    balanced: Vec<(Wide, Wide)>,
}

impl Air {
    /// Paths like these, not in any lane yet. What they are made of is sound in every lane, so that none gets
    /// stuck.
    pub fn new(key: AirKey, like: &AirPaths) -> Self {
        let n = like.layers.len();
        let opening = Opening {
            above_m: Wide::ZERO,
            free_m2: Wide::ZERO,
            offset_Pa: Wide::ZERO,
            factor: Wide::ZERO,
            outward: Wide::ZERO,
            slope: Wide::ZERO,
            rises: Wide::ZERO,
        };
        let ends = key.layers.iter().copied().chain([key.room]);
        let led_to = key.led_to.filter(|end| *end != key.room);
        let mut air = Self {
            points: ends.chain(led_to).collect(),
            key,
            active: 0,
            weight: Wide::ZERO,
            dense: Wide::ZERO,
            heights_m: vec![Wide::ZERO; n],
            openings: vec![opening; like.openings.len()],
            driven: vec![(Wide::ZERO, Wide::ZERO); like.draughts.len()],
            top: Wide::ZERO,
            inner: Wide::ZERO,
            floor_Pa: Wide::ZERO,
            densities: vec![Wide::ZERO; n],
            rises: vec![Wide::ZERO; n],
            net: vec![Wide::ZERO; n],
            balanced: Vec::new(),
        };
        for lane in 0..LANES {
            air.load(lane, like);
            air.clear(lane);
        }
        air
    }

    pub fn clear(&mut self, lane: usize) {
        self.active &= !(1 << lane);
        self.weight.0[lane] = 0.0;
    }

    pub fn load(&mut self, lane: usize, a: &AirPaths) {
        self.active |= 1 << lane;
        self.weight.0[lane] = 1.0;
        self.dense.0[lane] = a.pressure_Pa / GAS_CONSTANT_J_PER_KGK;
        let mut from = 0.0;
        for (height, top_m) in self.heights_m.iter_mut().zip(&a.tops_m) {
            height.0[lane] = top_m - from;
            from = *top_m;
        }
        for (wide, o) in self.openings.iter_mut().zip(&a.openings) {
            wide.above_m.0[lane] = o.height_m - a.bottom_m(o.layer);
            wide.free_m2.0[lane] = o.area_m2 * o.discharge;
            // The balance of another configuration says nothing.
            wide.offset_Pa.0[lane] = 0.0;
            wide.outward.0[lane] = 0.0;
            wide.slope.0[lane] = 0.0;
        }
        self.floor_Pa.0[lane] = 0.0;
        for ((through, past), d) in self.driven.iter_mut().zip(&a.draughts) {
            through.0[lane] = d.outward_m3_per_s * (1.0 - a.short_circuit);
            past.0[lane] = d.outward_m3_per_s * a.short_circuit;
        }
        self.top.0[lane] = a.open_top.map_or(0.0, |(area_m2, thickness_m)| {
            top_factor(area_m2, thickness_m)
        });
        self.inner.0[lane] = a.inner_m3_per_s;
    }

    /// Heat that moving air brings to layers and room.
    #[inline(always)]
    pub fn give(&mut self, t: &[Wide], g: &mut Gains<'_>) {
        if self.active == 0 {
            return;
        }
        if !self.openings.is_empty() {
            self.solve(t);
        }
        self.carry(t, g);
    }

    /// How it answers to temperatures, by moving each of them a little. `t` comes back as it was; `before` and `moved`
    /// are room for as many points.
    #[inline(always)]
    pub fn slopes(
        &mut self,
        t: &mut [Wide],
        before: &mut [Wide],
        moved: &mut [Wide],
        s: &mut GainSlopes,
    ) {
        if self.active == 0 {
            return;
        }
        let points = std::mem::take(&mut self.points);
        for k in points.iter().copied() {
            before[k] = Wide::ZERO;
        }
        self.give(t, &mut Gains(before));
        self.balanced.clear();
        let openings = self.openings.iter();
        self.balanced
            .extend(openings.map(|o| (o.offset_Pa, o.outward)));
        for by in points.iter().copied() {
            for k in points.iter().copied() {
                moved[k] = Wide::ZERO;
            }
            t[by] = t[by] + MOVED_K;
            if !self.openings.is_empty() {
                self.follow(t);
            }
            self.carry(t, &mut Gains(moved));
            t[by] = t[by] - MOVED_K;
            for k in points.iter().copied() {
                s.add(k, by, (moved[k] - before[k]) * (1.0 / MOVED_K));
            }
            for (o, (offset_Pa, outward)) in self.openings.iter_mut().zip(&self.balanced) {
                (o.offset_Pa, o.outward) = (*offset_Pa, *outward);
            }
        }
        self.points = points;
    }

    /// Heat that air brings which flows as it is balanced.
    #[inline(always)]
    fn carry(&mut self, t: &[Wide], g: &mut Gains<'_>) {
        let room = t[self.key.room];
        let n = self.key.layers.len();
        let cp = self.weight * HEAT_CAPACITY_J_PER_KGK;
        if !self.openings.is_empty() {
            for net in &mut self.net {
                *net = Wide::ZERO;
            }
            for (o, layer) in self.openings.iter().zip(&self.key.openings) {
                self.net[*layer] = self.net[*layer] - o.outward;
                let point = self.key.layers[*layer];
                let q = cp * o.outward.max(Wide::ZERO) * (t[point] - room);
                g.transfer(point, self.key.room, q);
            }
            for ((through, past), (layer, draws)) in self.driven.iter().zip(&self.key.draughts) {
                let point = self.key.layers[*layer];
                let outside = self.dense / room;
                let out = *through
                    * if *draws {
                        self.densities[*layer]
                    } else {
                        outside
                    };
                self.net[*layer] = self.net[*layer] - out;
                let q = cp * out.max(Wide::ZERO) * (t[point] - room);
                g.transfer(point, self.key.room, q);
                if *draws && let Some(end) = self.key.led_to {
                    let led = cp * (out + *past * outside) * (t[end] - room) - q;
                    g.add(self.key.room, led);
                }
            }
            let mut up = Wide::ZERO;
            for k in 0..n - 1 {
                up = up + self.net[k];
                let (low, high) = (self.key.layers[k], self.key.layers[k + 1]);
                let from = up.above(Wide::ZERO, t[low], t[high]);
                g.transfer(low, high, cp * up * (from - room));
            }
        }
        let top = self.key.layers[n - 1];
        if self.key.open_top {
            let exchanged = top_exchange_m3_per_s(self.top, t[top], room);
            let dense = self.dense / ((t[top] + room) * 0.5);
            g.transfer(top, self.key.room, cp * exchanged * dense * (t[top] - room));
        }
        if self.key.inner {
            let w = cp * self.inner * (self.dense / t[top]);
            let mut from = t[top];
            for point in &self.key.layers {
                g.add(*point, w * (from - t[*point]));
                from = t[*point];
            }
        }
    }

    /// Takes over temperatures: densities, what drives each opening, and what fans drive, kg/s. Returns that, and by how
    /// much openings' flows together follow, with their slope.
    #[inline(always)]
    fn drive(&mut self, t: &[Wide]) -> (Wide, Wide, Wide) {
        let outside = self.dense / t[self.key.room];
        let mut rise = Wide::ZERO;
        for k in 0..self.key.layers.len() {
            let density = self.dense / t[self.key.layers[k]];
            self.densities[k] = density;
            self.rises[k] = rise;
            rise = rise + (outside - density) * self.heights_m[k] * GRAVITY_M_PER_S2;
        }
        let mut driven = Wide::ZERO;
        for ((through, _), (layer, draws)) in self.driven.iter().zip(&self.key.draughts) {
            let density = if *draws {
                self.densities[*layer]
            } else {
                outside
            };
            driven = driven.plus(*through, density);
        }
        let (mut moved_flow, mut last_slope) = (Wide::ZERO, Wide::all(f64::MIN_POSITIVE));
        for (o, layer) in self.openings.iter_mut().zip(&self.key.openings) {
            let inside = self.densities[*layer];
            let offset = self.rises[*layer] + (outside - inside) * o.above_m * GRAVITY_M_PER_S2;
            moved_flow = moved_flow.plus(o.slope, offset - o.offset_Pa);
            last_slope = last_slope + o.slope;
            o.offset_Pa = offset;
            o.factor = o.free_m2 * (outside + inside).sqrt();
        }
        (driven, moved_flow, last_slope)
    }

    /// Balances flows at temperatures next to those they are balanced for: one step of Newton's, along which flows go.
    #[inline(always)]
    fn follow(&mut self, t: &[Wide]) {
        let (driven, _, _) = self.drive(t);
        let (mut flow, mut slope) = (driven, Wide::all(f64::MIN_POSITIVE));
        for o in &mut self.openings {
            let (out, rises) = o.flow(self.floor_Pa);
            o.outward = out;
            o.rises = rises;
            flow = flow + out;
            slope = slope + rises;
        }
        let moved = -(flow / slope);
        for o in &mut self.openings {
            o.outward = o.outward.plus(moved, o.rises);
        }
    }

    /// See [`AirPaths`]' own: the same steps in every lane, which stands still once it is there.
    #[inline(always)]
    fn solve(&mut self, t: &[Wide]) {
        let (driven, moved_flow, last_slope) = self.drive(t);
        let mut p = self.floor_Pa - moved_flow / last_slope;
        let far = Wide::all(f64::MAX);
        // Where the guess is none: from zero.
        p = far.above(p.abs(), p, Wide::ZERO);
        let infinite = Wide::all(f64::INFINITY);
        let (none, one) = (Wide::ZERO, Wide::all(1.0));
        let (mut low, mut high) = (-infinite, infinite);
        let mut last_move = infinite;
        // 1 in lanes that are on their way.
        let mut goes = one;
        for _ in 0..MOST_STEPS {
            let (mut flow, mut slope) = (driven, none);
            for o in &mut self.openings {
                let (out, rises) = o.flow(p);
                o.outward = goes.above(none, out, o.outward);
                o.slope = goes.above(none, rises, o.slope);
                flow = flow + out;
                slope = slope + rises;
            }
            high = flow.above(none, p, high);
            low = flow.above(none, low, p);
            let newton = flow / slope.max(Wide::all(f64::MIN_POSITIVE));
            let straight = p - newton;
            let half = (low + high) * 0.5;
            // Between the ends where it is known to lie, unless Newton's step stays inside and shrinks.
            let bracketed = low.above(-infinite, infinite.above(high, one, none), none);
            let inside = straight.above(low, high.above(straight, one, none), none);
            let newtons = newton.abs().above(last_move * 0.5, none, inside);
            let halved = bracketed.above(newtons, half, straight);
            // What is no number goes nowhere either.
            let moved = goes.above(none, halved - p, none);
            let fine = (p.abs() + LAMINAR_BELOW_PA) * FINE;
            goes = moved.abs().above(fine, goes, none);
            p = p + moved;
            last_move = moved.abs();
            // Flows go along the last small step too, so that mass balances.
            for o in &mut self.openings {
                let along = o.outward.plus(moved, o.slope);
                o.outward = goes.above(none, o.outward, along);
            }
            if !goes.any_above(0.0) {
                break;
            }
        }
        self.floor_Pa = p;
    }
}

/// See [`crate::physics::openings::horizontal_exchange_m3_per_s`].
#[inline(always)]
fn top_exchange_m3_per_s(factor: Wide, below_K: Wide, above_K: Wide) -> Wide {
    let mean = (below_K + above_K) * 0.5;
    factor * weak_root(below_K - above_K) / mean.sqrt()
}

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
    /// Of each opening, how a balance left it: offset, flow and slope.
    balanced: Vec<(Wide, Wide, Wide)>,
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
        self.give_within(MOST_STEPS, t, g);
    }

    /// How it answers to temperatures, by moving each of them; beside a balance that is exact, two steps
    /// of it are enough. `t` comes back as it was; `before` and `moved` are room for as many points.
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
        self.give_within(MOST_STEPS, t, &mut Gains(before));
        self.balanced.clear();
        let openings = self.openings.iter();
        self.balanced
            .extend(openings.map(|o| (o.offset_Pa, o.outward, o.slope)));
        let floor_Pa = self.floor_Pa;
        for by in points.iter().copied() {
            for k in points.iter().copied() {
                moved[k] = Wide::ZERO;
            }
            t[by] = t[by] + MOVED_K;
            self.give_within(2, t, &mut Gains(moved));
            t[by] = t[by] - MOVED_K;
            for k in points.iter().copied() {
                s.add(k, by, (moved[k] - before[k]) * (1.0 / MOVED_K));
            }
            for (o, (offset_Pa, outward, slope)) in self.openings.iter_mut().zip(&self.balanced) {
                (o.offset_Pa, o.outward, o.slope) = (*offset_Pa, *outward, *slope);
            }
            self.floor_Pa = floor_Pa;
        }
        self.points = points;
    }

    #[inline(always)]
    fn give_within(&mut self, most_steps: usize, t: &[Wide], g: &mut Gains<'_>) {
        if self.active == 0 {
            return;
        }
        let room = t[self.key.room];
        let n = self.key.layers.len();
        let cp = self.weight * HEAT_CAPACITY_J_PER_KGK;
        if !self.openings.is_empty() {
            self.solve(t, most_steps);
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

    /// See [`AirPaths`]' own: the same steps in every lane, which stands still once it is there.
    #[inline(always)]
    fn solve(&mut self, t: &[Wide], most_steps: usize) {
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
        let mut p = self.floor_Pa - moved_flow / last_slope;
        let far = Wide::all(f64::MAX);
        // Where the guess is none: from zero.
        p = far.above(p.abs(), p, Wide::ZERO);
        let infinite = Wide::all(f64::INFINITY);
        let (mut low, mut high) = (-infinite, infinite);
        let mut last_move = infinite;
        // 1 in lanes that are on their way.
        let mut goes = Wide::all(1.0);
        for _ in 0..most_steps {
            let (mut flow, mut slope) = (driven, Wide::ZERO);
            for o in &mut self.openings {
                let dp = p + o.offset_Pa;
                let square = Wide::all(LAMINAR_BELOW_PA * LAMINAR_BELOW_PA).plus(dp, dp);
                let inverse = Wide::all(1.0) / square.sqrt();
                let per_root = o.factor * inverse.sqrt();
                let share = dp * inverse;
                let (out, rises) = (
                    dp * per_root,
                    per_root * Wide::all(1.0).less(share * 0.5, share),
                );
                o.outward = goes.above(Wide::ZERO, out, o.outward);
                o.slope = goes.above(Wide::ZERO, rises, o.slope);
                flow = flow + out;
                slope = slope + rises;
            }
            high = flow.above(Wide::ZERO, p, high);
            low = flow.above(Wide::ZERO, low, p);
            let newton = flow / slope.max(Wide::all(f64::MIN_POSITIVE));
            let straight = p - newton;
            let half = (low + high) * 0.5;
            let mut moved = Wide::ZERO;
            let mut any = false;
            for l in 0..LANES {
                let bracketed = low.0[l].is_finite() & high.0[l].is_finite();
                let shrinks = newton.0[l].abs() <= 0.5 * last_move.0[l];
                let inside = (straight.0[l] > low.0[l]) & (straight.0[l] < high.0[l]);
                let next = if bracketed & !(shrinks & inside) {
                    half.0[l]
                } else {
                    straight.0[l]
                };
                moved.0[l] = if goes.0[l] > 0.0 { next - p.0[l] } else { 0.0 };
                // What is no number goes nowhere either.
                let on = moved.0[l].abs() > FINE * (LAMINAR_BELOW_PA + p.0[l].abs());
                p.0[l] += moved.0[l];
                goes.0[l] = if on { goes.0[l] } else { 0.0 };
                any |= goes.0[l] > 0.0;
            }
            last_move = moved.abs();
            // Flows go along the last small step too, so that mass balances.
            for o in &mut self.openings {
                let along = o.outward.plus(moved, o.slope);
                o.outward = goes.above(Wide::ZERO, o.outward, along);
            }
            if !any {
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

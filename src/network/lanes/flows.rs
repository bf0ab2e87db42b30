//! Moving air in lanes: the balance of mass of [`AirPaths`], solved in all lanes at once.

use super::corners::weak_root;
use super::gains::Gains;
use super::parts::top_factor;
use super::slopes::{GainSlopes, NUDGED_K};
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
    /// Height above its layer's lower edge, and above the floor, m.
    above_m: Wide,
    height_m: Wide,
    /// Discharge coefficient times area, m2.
    free_m2: Wide,
    offset_Pa: Wide,
    factor: Wide,
    outward: Wide,
    slope: Wide,
    /// How `outward` answers to the temperature that is looked at, kg/(s K).
    follows: Wide,
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
    /// How `net` answers to the temperature that is looked at, kg/(s K).
    net_follows: Vec<Wide>,
}

impl Air {
    /// Paths like these, not in any lane yet. What they are made of is sound in every lane, so that none gets
    /// stuck.
    pub fn new(key: AirKey, like: &AirPaths) -> Self {
        let n = like.layers.len();
        let opening = Opening {
            above_m: Wide::ZERO,
            height_m: Wide::ZERO,
            free_m2: Wide::ZERO,
            offset_Pa: Wide::ZERO,
            factor: Wide::ZERO,
            outward: Wide::ZERO,
            slope: Wide::ZERO,
            follows: Wide::ZERO,
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
            net_follows: vec![Wide::ZERO; n],
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
            wide.height_m.0[lane] = o.height_m;
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

    /// How it answers to temperatures; `room` has a place for as many points.
    #[inline(always)]
    pub fn slopes(&mut self, t: &[Wide], room: &mut [Wide], s: &mut GainSlopes) {
        if self.active == 0 {
            return;
        }
        // Balances flows, and leaves what each layer is short of.
        self.give(t, &mut Gains(room));
        let points = std::mem::take(&mut self.points);
        for by in points.iter().copied() {
            for k in points.iter().copied() {
                room[k] = Wide::ZERO;
            }
            let g = &mut Gains(room);
            if !self.openings.is_empty() {
                self.follow(t, by);
                self.carry_rises(t, by, g);
            }
            self.exchange_rises(t, by, g);
            for k in points.iter().copied() {
                s.add(k, by, room[k]);
            }
        }
        self.points = points;
    }

    /// How the density of outside air, and that of a layer, answer to a point's temperature, kg/(m3 K).
    #[inline(always)]
    fn thins(&self, t: &[Wide], by: usize) -> (Wide, Option<(usize, Wide)>) {
        let layer = self.key.layers.iter().position(|point| *point == by);
        let inside = layer.map(|k| (k, -(self.densities[k] / t[by])));
        let outside = if by == self.key.room {
            -(self.dense / (t[by] * t[by]))
        } else {
            Wide::ZERO
        };
        (outside, inside)
    }

    /// How balanced flows answer to a point's temperature, kg/(s K): where the pressure stays, each by what drives it
    /// and by the air it moves; and all of them together by the pressure that balances them again.
    #[inline(always)]
    fn follow(&mut self, t: &[Wide], by: usize) {
        let (outside_thins, inside) = self.thins(t, by);
        let outside = self.dense / t[self.key.room];
        let mut flow = Wide::ZERO;
        for ((through, _), (layer, draws)) in self.driven.iter().zip(&self.key.draughts) {
            let thins = match inside {
                Some((k, thins)) if *draws && k == *layer => thins,
                None if !draws => outside_thins,
                _ => continue,
            };
            flow = flow.plus(*through, thins);
        }
        let mut slope = Wide::all(f64::MIN_POSITIVE);
        for (o, layer) in self.openings.iter_mut().zip(&self.key.openings) {
            slope = slope + o.slope;
            // Outside air bears on an opening along its whole height; air inside, as far as there is any of it below.
            let (thins, along_m, is_moved) = match inside {
                Some((k, _)) if k > *layer => {
                    o.follows = Wide::ZERO;
                    continue;
                }
                Some((k, thins)) if k < *layer => (thins, -self.heights_m[k], false),
                Some((_, thins)) => (thins, -o.above_m, true),
                None => (outside_thins, o.height_m, true),
            };
            o.follows = o.slope * thins * along_m * GRAVITY_M_PER_S2;
            if is_moved {
                // A flow goes by the root of both densities.
                let both = (outside + self.densities[*layer]) * 2.0;
                o.follows = o.follows.plus(o.outward, thins / both);
            }
            flow = flow + o.follows;
        }
        let moved = -(flow / slope);
        for o in &mut self.openings {
            o.follows = o.follows.plus(moved, o.slope);
        }
    }

    /// How the heat that balanced flows bring answers to a point's temperature, W/K.
    #[inline(always)]
    fn carry_rises(&mut self, t: &[Wide], by: usize, g: &mut Gains<'_>) {
        let AirKey { room, led_to, .. } = self.key;
        let (outside_thins, inside) = self.thins(t, by);
        let outside = self.dense / t[room];
        let none = Wide::ZERO;
        let cp = self.weight * HEAT_CAPACITY_J_PER_KGK;
        // By how much a point becomes warmer than the room, for each kelvin.
        let apart =
            |point: usize| f64::from(u8::from(point == by)) - f64::from(u8::from(room == by));
        for follows in &mut self.net_follows {
            *follows = none;
        }
        for (o, layer) in self.openings.iter().zip(&self.key.openings) {
            self.net_follows[*layer] = self.net_follows[*layer] - o.follows;
            let point = self.key.layers[*layer];
            let follows = o.outward.above(none, o.follows, none);
            let q =
                (follows * (t[point] - t[room])).plus(o.outward.max(none), Wide::all(apart(point)));
            g.transfer(point, room, cp * q);
        }
        for ((through, past), (layer, draws)) in self.driven.iter().zip(&self.key.draughts) {
            let point = self.key.layers[*layer];
            let (density, thins) = match (draws, inside) {
                (true, Some((k, thins))) if k == *layer => (self.densities[*layer], thins),
                (true, _) => (self.densities[*layer], none),
                (false, _) => (outside, outside_thins),
            };
            let (out, follows) = (*through * density, *through * thins);
            self.net_follows[*layer] = self.net_follows[*layer] - follows;
            let leaves = out.above(none, follows, none);
            let q = (leaves * (t[point] - t[room])).plus(out.max(none), Wide::all(apart(point)));
            g.transfer(point, room, cp * q);
            if *draws && let Some(end) = led_to {
                let led = out.plus(*past, outside);
                let led_follows = follows.plus(*past, outside_thins);
                let led = (led_follows * (t[end] - t[room])).plus(led, Wide::all(apart(end)));
                g.add(room, cp * (led - q));
            }
        }
        let (mut up, mut follows) = (none, none);
        for k in 0..self.key.layers.len() - 1 {
            up = up + self.net[k];
            follows = follows + self.net_follows[k];
            let (low, high) = (self.key.layers[k], self.key.layers[k + 1]);
            let from = up.above(none, t[low], t[high]);
            let from_rises = up.above(none, Wide::all(apart(low)), Wide::all(apart(high)));
            let q = (follows * (from - t[room])).plus(up, from_rises);
            g.transfer(low, high, cp * q);
        }
    }

    /// How the heat of what exchanges or stirs air without a balance answers to a point's temperature, W/K.
    #[inline(always)]
    fn exchange_rises(&self, t: &[Wide], by: usize, g: &mut Gains<'_>) {
        let top = self.key.layers[self.key.layers.len() - 1];
        let room = self.key.room;
        if self.key.open_top && (by == top || by == room) {
            let moved = |point: usize| {
                if point == by {
                    t[point] + NUDGED_K
                } else {
                    t[point]
                }
            };
            let q =
                self.through_top_W(moved(top), moved(room)) - self.through_top_W(t[top], t[room]);
            g.transfer(top, room, q * (1.0 / NUDGED_K));
        }
        if self.key.inner {
            let w = self.weight * HEAT_CAPACITY_J_PER_KGK * self.inner * (self.dense / t[top]);
            let mut from = top;
            for point in self.key.layers.iter().copied() {
                let rises = f64::from(u8::from(from == by)) - f64::from(u8::from(point == by));
                let mut q = w * rises;
                if by == top {
                    // Warm air is thin: less of it is moved.
                    q = q.less(w / t[top], t[from] - t[point]);
                }
                g.add(point, q);
                from = point;
            }
        }
    }

    /// What a hole in the top passes, W.
    #[inline(always)]
    fn through_top_W(&self, top: Wide, room: Wide) -> Wide {
        let exchanged = top_exchange_m3_per_s(self.top, top, room);
        let dense = self.dense / ((top + room) * 0.5);
        self.weight * HEAT_CAPACITY_J_PER_KGK * exchanged * dense * (top - room)
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
            g.transfer(top, self.key.room, self.through_top_W(t[top], room));
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::elements::air_paths::{Draught, Opening};
    use crate::network::parts::INTERNAL;

    const ROOM: usize = 3;
    const OUTDOORS: usize = 4;
    const POINTS: usize = 5;

    fn paths(openings: &[(usize, f64)], draughts: &[(usize, f64)]) -> AirPaths {
        let openings = openings.iter().map(|(layer, height_m)| Opening {
            layer: *layer,
            height_m: *height_m,
            area_m2: 4e-4,
            discharge: 0.61,
        });
        let draughts = draughts.iter().map(|(layer, m3_per_h)| Draught {
            layer: *layer,
            outward_m3_per_s: m3_per_h / 3600.0,
        });
        AirPaths {
            layers: vec![0, 1, 2],
            tops_m: vec![0.15, 0.3, 0.5],
            room: ROOM,
            pressure_Pa: 101_325.0,
            openings: openings.collect(),
            draughts: draughts.collect(),
            open_top: None,
            inner_m3_per_s: 0.0,
            short_circuit: 0.1,
            led_to: None,
            ledger: INTERNAL,
        }
    }

    fn gains(air: &mut Air, t: &[Wide]) -> Vec<Wide> {
        let mut gains = vec![Wide::ZERO; POINTS];
        air.give(t, &mut Gains(&mut gains));
        gains
    }

    /// Chimney, extraction from the top and the bottom, blowing in, led outdoors, a lid off, air stirred inside; warmer
    /// and cooler than the room: central differences of the heat that is brought, with balances of their own.
    #[test]
    fn slopes_are_differences_of_heat() {
        const MOVED_K: f64 = 2e-3;
        let leaks = [(0, 0.02), (1, 0.25), (2, 0.48)];
        let all = [
            paths(&leaks, &[]),
            paths(&leaks, &[(2, 25.0)]),
            paths(&leaks, &[(0, 40.0), (2, 3.0)]),
            paths(&leaks, &[(1, -30.0)]),
            AirPaths {
                led_to: Some(OUTDOORS),
                ..paths(&leaks, &[(2, 60.0)])
            },
            AirPaths {
                open_top: Some((0.1, 0.004)),
                inner_m3_per_s: 0.01,
                ..paths(&leaks, &[])
            },
            AirPaths {
                inner_m3_per_s: 0.02,
                ..paths(&[], &[])
            },
        ];
        for (k, paths) in all.iter().enumerate() {
            let mut air = Air::new(AirKey::of(paths), paths);
            (0..LANES).for_each(|lane| air.load(lane, paths));
            // Each lane has temperatures of its own.
            let base_K = [310.0, 316.0, 323.0, 299.0, 305.0];
            let mut t: Vec<Wide> = base_K
                .iter()
                .enumerate()
                .map(|(point, base_K)| {
                    Wide(std::array::from_fn(|lane| {
                        let colder_K = if point == ROOM {
                            0.0
                        } else {
                            4.0 * lane as f64
                        };
                        base_K - colder_K
                    }))
                })
                .collect();
            let mut slopes = GainSlopes::new(POINTS, POINTS);
            air.slopes(&t, &mut vec![Wide::ZERO; POINTS], &mut slopes);
            for by in 0..POINTS {
                let moved = |t: &mut Vec<Wide>, air: &mut Air, by_K: f64| {
                    t[by] = t[by] + by_K;
                    let gains = gains(air, t);
                    t[by] = t[by] - by_K;
                    gains
                };
                let more = moved(&mut t, &mut air, MOVED_K);
                let less = moved(&mut t, &mut air, -MOVED_K);
                for gain in 0..POINTS {
                    let found = slopes.pairs.iter().zip(&slopes.values);
                    let found = found
                        .into_iter()
                        .find(|(pair, _)| **pair == (gain as u16, by as u16));
                    for lane in 0..LANES {
                        let is = found.map_or(0.0, |(_, value)| f64::from(value.0[lane]));
                        let want = (more[gain].0[lane] - less[gain].0[lane]) / (2.0 * MOVED_K);
                        assert!(
                            (is - want).abs() < 2e-4 + 2e-3 * want.abs(),
                            "paths {k}, lane {lane}: {gain} by {by}: {is}, not {want}"
                        );
                    }
                }
            }
        }
    }
}

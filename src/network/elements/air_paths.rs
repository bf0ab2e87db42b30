//! Air driven through the shell by buoyancy and fans: one hydrostatic balance over all openings.
//!
//! Inside, the pressure falls with height by the density of each layer; outside by the room's.
//! One unknown, the pressure difference at the floor, follows from the balance of mass over every
//! leak, vent, open door or lid and fan, so stack effect, make-up air and leakage come out
//! together. The vertical flows between layers follow by continuity; each carries the heat of
//! where it comes from.
//!
//! The unknown pressure makes the law one that can't be written in a few lines over numbers with slopes:
//! its slopes are differences of the law itself.

use super::law::{Element, Moment};
use crate::network::air_work::AirWork;
use crate::network::balance::{Balance, Sink, Slopes, Workspace};
use crate::network::description::{AirDescription, FanDescription, Link, OpeningDescription};
use crate::network::parts::{Index, LedgerId};
use crate::physics::GRAVITY_M_PER_S2;
use crate::physics::air::{GAS_CONSTANT_J_PER_KGK, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::openings::{
    horizontal_exchange_m3_per_s, orifice_factor, orifice_flow_and_slope,
};

/// Pressure difference below which an orifice is taken as laminar, Pa: a hundredth of the stack
/// pressure of a chamber.
pub const LAMINAR_BELOW_PA: f64 = 2e-3;

/// Last relative step of a balance of mass: it leaves errors of about its square, so that the flows are
/// as good as a function of the temperatures alone, whatever balance came before.
pub(in crate::network) const FINE: f64 = 1e-6;
/// One step and no more: enough beside a balance that is exact.
const ONE_STEP: f64 = f64::INFINITY;
/// Most steps: halving the widest bracket needs no more.
pub(in crate::network) const MOST_STEPS: usize = 80;

/// An opening at one height.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// Height of its middle above the floor, m.
    pub height_m: f64,
    /// Free area, m2.
    pub area_m2: f64,
    /// Discharge coefficient.
    pub discharge: f64,
    /// The layer it opens into (position in [`AirPaths::layers`]).
    pub layer: usize,
}

/// A fan that moves a given volume.
#[derive(Debug, Clone, PartialEq)]
pub struct Draught {
    /// The layer it takes from or blows into.
    pub layer: usize,
    /// Volume flow out of the chamber at the density of the air moved, m3/s; negative: into it.
    pub outward_m3_per_s: f64,
}

/// All paths of air through the shell, and a fan that moves air inside.
#[derive(Debug, Clone, PartialEq)]
pub struct AirPaths {
    /// Air layers, bottom to top.
    pub layers: Vec<Index>,
    /// Upper edge of each layer above the floor, m.
    pub tops_m: Vec<f64>,
    /// The room.
    pub room: Index,
    /// Absolute pressure, Pa.
    pub pressure_Pa: f64,
    /// Openings.
    pub openings: Vec<Opening>,
    /// Fans through the shell.
    pub draughts: Vec<Draught>,
    /// Two-way exchange through an opening in the top, area m2 and thickness m.
    pub open_top: Option<(f64, f64)>,
    /// Flow that a fan inside takes from the top layer and returns to the bottom one, m3/s.
    pub inner_m3_per_s: f64,
    /// Share of the air through a fan that bypasses the chamber.
    pub short_circuit: f64,
    /// Where what fans draw out is led, if not into the room. The room takes in as much from there.
    pub led_to: Option<Index>,
    /// Ledger entry for the heat that leaves with the air.
    pub ledger: LedgerId,
}

/// Heat that moving air brings, W.
#[derive(Debug, Clone, Copy, Default)]
struct Carried {
    /// Out of the layers, counted from the room's temperature.
    out: f64,
    /// Into the room.
    to_room: f64,
}

impl Carried {
    fn add(&mut self, heat: f64) {
        self.out += heat;
        self.to_room += heat;
    }
}

/// What the balance of mass gives at one instant.
#[derive(Debug, Clone, PartialEq)]
pub struct AirState {
    /// Pressure inside less outside at the floor, Pa.
    pub floor_Pa: f64,
    /// Pressure inside less outside at the top, Pa.
    pub top_Pa: f64,
    /// Air that comes in, kg/s.
    pub inflow_kg_per_s: f64,
}

/// Gives room for so many numbers; what is new is zero.
#[inline]
fn fit(numbers: &mut Vec<f64>, count: usize) {
    if numbers.len() != count {
        numbers.resize(count, 0.0);
    }
}

impl AirPaths {
    /// Whether layers have upper edges, and openings and fans layers.
    pub(crate) fn fits(&self) -> bool {
        let n = self.layers.len();
        n > 0
            && self.tops_m.len() == n
            && self.openings.iter().all(|o| o.layer < n)
            && self.draughts.iter().all(|d| d.layer < n)
    }

    fn points(&self) -> impl Iterator<Item = Index> + '_ {
        let layers = self.layers.iter().copied();
        layers.chain([self.room]).chain(self.led_to)
    }

    /// Density of air of a temperature there, kg/m3.
    #[must_use]
    pub fn density_kg_per_m3(&self, temperature_K: f64) -> f64 {
        self.density(temperature_K)
    }

    fn density(&self, temperature_K: f64) -> f64 {
        self.pressure_Pa / (GAS_CONSTANT_J_PER_KGK * temperature_K)
    }

    /// Densities of the layers, kg/m3, and how much the pressure difference at each layer's lower
    /// edge exceeds the floor's, Pa.
    fn column(&self, t: &[f64], outside: f64, work: &mut AirWork) {
        let AirWork {
            densities, rises, ..
        } = work;
        fit(densities, self.layers.len());
        fit(rises, self.layers.len());
        let (mut rise, mut from) = (0.0, 0.0);
        let layers = self.layers.iter().zip(&self.tops_m);
        let places = densities.iter_mut().zip(rises);
        for ((layer, top_m), (density, rise_there)) in layers.zip(places) {
            *density = self.density(t[*layer]);
            *rise_there = rise;
            rise += GRAVITY_M_PER_S2 * (outside - *density) * (top_m - from);
            from = *top_m;
        }
    }

    pub(in crate::network) fn bottom_m(&self, layer: usize) -> f64 {
        if layer == 0 {
            0.0
        } else {
            self.tops_m[layer - 1]
        }
    }

    /// Mass that fans move outwards, kg/s.
    fn driven(&self, t: &[f64], d: &Draught) -> f64 {
        let source = if d.outward_m3_per_s > 0.0 {
            self.layers[d.layer]
        } else {
            self.room
        };
        d.outward_m3_per_s * (1.0 - self.short_circuit) * self.density(t[source])
    }

    /// Solves the balance of mass for the pressure difference at the floor, from where the last
    /// balance ended, and each opening's outward flow.
    fn solve(&self, t: &[f64], tolerance: f64, work: &mut AirWork) {
        let outside = self.density(t[self.room]);
        self.column(t, outside, work);
        let driven: f64 = self.draughts.iter().map(|d| self.driven(t, d)).sum();
        let AirWork {
            floor_Pa,
            offsets,
            factors,
            outward,
            slopes,
            densities,
            rises,
            ..
        } = work;
        let count = self.openings.len();
        for numbers in [&mut *offsets, factors, outward, slopes] {
            fit(numbers, count);
        }
        // Of one length, so that the loops below need not look where they end.
        let (offsets, factors) = (&mut offsets[..count], &mut factors[..count]);
        let (outward, slopes) = (&mut outward[..count], &mut slopes[..count]);
        // What the flows of the last balance would become at the new pressures tells where the next lies.
        let (mut moved_flow, mut last_slope) = (0.0, f64::MIN_POSITIVE);
        for (k, o) in self.openings.iter().enumerate() {
            let inside = densities[o.layer];
            let offset = rises[o.layer]
                + GRAVITY_M_PER_S2 * (outside - inside) * (o.height_m - self.bottom_m(o.layer));
            moved_flow += slopes[k] * (offset - offsets[k]);
            last_slope += slopes[k];
            offsets[k] = offset;
            factors[k] = orifice_factor(o.area_m2, o.discharge, 0.5 * (outside + inside));
        }
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        // A trial step at temperatures that no air has may have left a balance without an answer.
        let guess = *floor_Pa - moved_flow / last_slope;
        let mut p = if guess.is_finite() { guess } else { 0.0 };
        let mut last_move = f64::INFINITY;
        // Newton on a function that only rises, kept inside the bracket it has seen. A last step
        // leaves an error of about its square.
        for _ in 0..MOST_STEPS {
            for k in 0..count {
                (outward[k], slopes[k]) =
                    orifice_flow_and_slope(p + offsets[k], factors[k], LAMINAR_BELOW_PA);
            }
            let flow = driven + outward.iter().sum::<f64>();
            let slope: f64 = slopes.iter().sum();
            if flow > 0.0 {
                high = p;
            } else {
                low = p;
            }
            let step = flow / slope.max(f64::MIN_POSITIVE);
            let mut next = p - step;
            // Around the steep place where an opening's flow turns, Newton's steps would swing from
            // side to side for ever: halve the bracket unless they shrink well.
            let bracketed = low.is_finite() && high.is_finite();
            let shrinks = step.abs() <= 0.5 * last_move;
            if bracketed && !(shrinks && next > low && next < high) {
                next = 0.5 * (low + high);
            }
            let moved = next - p;
            last_move = moved.abs();
            if moved.abs() <= tolerance * (LAMINAR_BELOW_PA + p.abs()) {
                // Carry the flows along the last small step too, so that mass balances.
                for k in 0..count {
                    outward[k] += moved * slopes[k];
                }
                p = next;
                break;
            }
            p = next;
        }
        *floor_Pa = p;
    }

    /// What the room gains where fans lead air past it: the heat of that air goes by, and as much air comes in
    /// from where it is led. What bypasses the chamber is the room's own air, and is led away too.
    fn led_past(&self, t: &[f64], d: &Draught) -> f64 {
        let Some(end) = self.led_to.filter(|_| d.outward_m3_per_s > 0.0) else {
            return 0.0;
        };
        let room = t[self.room];
        let through = self.driven(t, d);
        let bypass = d.outward_m3_per_s * self.short_circuit * self.density(room);
        let heat = through * (t[self.layers[d.layer]] - room);
        HEAT_CAPACITY_J_PER_KGK * ((through + bypass) * (t[end] - room) - heat)
    }

    /// Heat that each layer gains with moving air, W, into `work.gains`; returns what leaves them.
    fn gains(&self, t: &[f64], tolerance: f64, work: &mut AirWork) -> Carried {
        let n = self.layers.len();
        let room = t[self.room];
        let mut gains = std::mem::take(&mut work.gains);
        fit(&mut gains, n);
        gains.fill(0.0);
        let mut carried = Carried::default();
        if !self.openings.is_empty() {
            self.solve(t, tolerance, work);
            // Net mass entering each layer through the shell, then upward flows by continuity.
            fit(&mut work.net, n);
            let net = &mut work.net[..];
            net.fill(0.0);
            for (o, out) in self.openings.iter().zip(&work.outward) {
                net[o.layer] -= out;
                self.carry(t, *out, o.layer, &mut gains, &mut carried);
            }
            for d in &self.draughts {
                let out = self.driven(t, d);
                net[d.layer] -= out;
                self.carry(t, out, d.layer, &mut gains, &mut carried);
                carried.to_room += self.led_past(t, d);
            }
            let mut up = 0.0;
            for k in 0..n - 1 {
                up += net[k];
                let from = if up > 0.0 {
                    t[self.layers[k]]
                } else {
                    t[self.layers[k + 1]]
                };
                let heat = up * HEAT_CAPACITY_J_PER_KGK * (from - room);
                gains[k] -= heat;
                gains[k + 1] += heat;
            }
        }
        if let Some((area, thickness)) = self.open_top {
            let top = t[self.layers[n - 1]];
            let flow = horizontal_exchange_m3_per_s(area, thickness, top, room);
            let q =
                flow * self.density(0.5 * (top + room)) * HEAT_CAPACITY_J_PER_KGK * (top - room);
            gains[n - 1] -= q;
            carried.add(q);
        }
        if self.inner_m3_per_s > 0.0 {
            let top = t[self.layers[n - 1]];
            let w = self.inner_m3_per_s * self.density(top) * HEAT_CAPACITY_J_PER_KGK;
            gains[0] += w * (top - t[self.layers[0]]);
            for k in 1..n {
                gains[k] += w * (t[self.layers[k - 1]] - t[self.layers[k]]);
            }
        }
        work.gains = gains;
        carried
    }

    /// Books the heat of air that leaves a layer for the room (or comes from it, if negative),
    /// relative to the room's temperature: what comes in carries none.
    fn carry(
        &self,
        t: &[f64],
        out_kg_per_s: f64,
        layer: usize,
        gains: &mut [f64],
        carried: &mut Carried,
    ) {
        if out_kg_per_s > 0.0 {
            let excess = t[self.layers[layer]] - t[self.room];
            let q = out_kg_per_s * HEAT_CAPACITY_J_PER_KGK * excess;
            gains[layer] -= q;
            carried.add(q);
        }
    }

    /// What each opening lets out at one instant, kg/s (negative: in), for reports; in the order of
    /// [`AirPaths::openings`].
    #[must_use]
    pub fn through_openings_kg_per_s(&self, t: &[f64]) -> Vec<f64> {
        let mut work = AirWork::default();
        self.solve(t, FINE, &mut work);
        work.outward
    }

    /// What rises out of an open top at one instant, and sinks in beside it, kg/s; none where the top is shut.
    #[must_use]
    pub fn exchange_at_top_kg_per_s(&self, t: &[f64]) -> Option<f64> {
        let (area_m2, rim_m) = self.open_top?;
        let (top, room) = (t[self.layers[self.layers.len() - 1]], t[self.room]);
        let flow = horizontal_exchange_m3_per_s(area_m2, rim_m, top, room);
        Some(flow * self.density(0.5 * (top + room)))
    }

    /// What each fan moves out at one instant, kg/s (negative: in), what bypasses the chamber left away.
    #[must_use]
    pub fn through_fans_kg_per_s(&self, t: &[f64]) -> Vec<f64> {
        self.draughts.iter().map(|d| self.driven(t, d)).collect()
    }

    /// Pressures and make-up air at one instant, for reports.
    #[must_use]
    pub fn state(&self, t: &[f64]) -> AirState {
        let mut work = AirWork::default();
        self.solve(t, FINE, &mut work);
        let outside = self.density(t[self.room]);
        let top = self.layers.len() - 1;
        let above_bottom = self.tops_m[top] - self.bottom_m(top);
        let rise =
            work.rises[top] + GRAVITY_M_PER_S2 * (outside - work.densities[top]) * above_bottom;
        let through_openings: f64 = work.outward.iter().map(|out| (-out).max(0.0)).sum();
        let blown: f64 = self
            .draughts
            .iter()
            .map(|d| (-self.driven(t, d)).max(0.0))
            .sum();
        AirState {
            floor_Pa: work.floor_Pa,
            top_Pa: work.floor_Pa + rise,
            inflow_kg_per_s: through_openings + blown,
        }
    }
}

impl Element for AirPaths {
    fn ends(&self, f: &mut dyn FnMut(Index)) {
        self.points().for_each(f);
    }

    fn ledgers(&self, f: &mut dyn FnMut(LedgerId)) {
        f(self.ledger);
    }

    fn balance(&self, at: usize, m: &Moment<'_>, room: &mut Workspace, out: &mut Balance<'_>) {
        let work = room.air_work(at);
        let carried = self.gains(m.t, FINE, work);
        for (layer, gain) in self.layers.iter().zip(&work.gains) {
            out.give(*layer, *gain);
        }
        out.give(self.room, carried.to_room);
        out.book(self.ledger, -carried.out);
    }

    fn slopes(&self, at: usize, m: &Moment<'_>, room: &mut Workspace, out: &mut Slopes<'_>) {
        // Small beside what turns an opening's flow around.
        const STEP_K: f64 = 1e-5;
        let mut t = std::mem::take(&mut room.moved);
        t.copy_from_slice(m.t);
        let work = room.air_work(at);
        let before = self.gains(&t, FINE, work);
        let floor_Pa = work.floor_Pa;
        let mut base = std::mem::take(&mut work.base);
        base.clone_from(&work.gains);
        for point in self.points() {
            let kept = t[point];
            t[point] = kept + STEP_K;
            work.floor_Pa = floor_Pa;
            let after = self.gains(&t, ONE_STEP, work);
            t[point] = kept;
            for ((layer, moved), base) in self.layers.iter().zip(&work.gains).zip(&base) {
                out.give(*layer, point, (moved - base) / STEP_K);
            }
            let to_room = (after.to_room - before.to_room) / STEP_K;
            out.give(self.room, point, to_room);
            out.book(self.ledger, point, (before.out - after.out) / STEP_K);
        }
        work.base = base;
        room.moved = t;
    }

    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        let layers: Vec<String> = self.layers.iter().map(|l| name(*l)).collect();
        let openings = self.openings.iter().map(|o| OpeningDescription {
            height_m: o.height_m,
            area_m2: o.area_m2,
            discharge: o.discharge,
            layer: layers[o.layer].clone(),
        });
        let fans = self.draughts.iter().map(|d| FanDescription {
            layer: layers[d.layer].clone(),
            outward_m3_per_s: d.outward_m3_per_s,
        });
        out.push(Link::AirPaths(AirDescription {
            layers: layers.clone(),
            tops_m: self.tops_m.clone(),
            room: name(self.room),
            openings: openings.collect(),
            fans: fans.collect(),
            short_circuit: self.short_circuit,
            led_to: self.led_to.map(name),
        }));
        if let Some((area_m2, rim_m)) = self.open_top {
            out.push(Link::OpenTop {
                layer: layers[layers.len() - 1].clone(),
                room: name(self.room),
                area_m2,
                rim_m,
            });
        }
        if self.inner_m3_per_s > 0.0 {
            out.push(Link::InnerCirculation {
                layers,
                flow_m3_per_s: self.inner_m3_per_s,
            });
        }
    }
}

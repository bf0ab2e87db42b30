//! Networks of several runs side by side: the heat flows of eight at once, and how they answer to temperatures.
//!
//! Each run keeps a [`NetworkSystem`] of its own, which knows what holds when and switches its controls and
//! thermostats. Here stands what is asked for in every step, the rates, and what is asked for every few steps, their
//! slopes, worked out for all lanes together from the same laws. Films of air and powers are polynomials here, in single
//! precision, which leaves coefficients of convection within 1e-5 of the plain way's. Slopes of openings and of layers
//! that turn over are differences, others the laws' own; the integrator corrects what slopes miss.

mod corners;
mod face;
mod films;
mod flows;
mod gains;
mod parts;
mod plumes;
mod simulate;
mod slopes;
mod slots;

pub use simulate::in_lanes;

use std::sync::LazyLock;

use super::elements::control::{Control, Mode};
use super::running::Running;
use super::system::{NetworkSystem, SMALLEST_SHARE_WATCHED};
use crate::course::Course;
use crate::integrate::lanes::{Abreast, MOST_UNKNOWNS, Slopes};
use crate::integrate::{NEAR_ALARM, System};
use crate::wide::{LANES, Narrow, Wide, Work, side_by_side};
use films::Films;
use gains::Gains;
use slopes::GainSlopes;
use slots::Slots;

static FILMS: LazyLock<Films> = LazyLock::new(Films::new);

/// Networks side by side. All have the same numbers of nodes, given points and bodies, and the same bodies grow.
#[derive(Debug)]
pub struct NetworksAbreast<'a> {
    systems: [Option<NetworkSystem<'a>>; LANES],
    slots: Slots,
    nodes: usize,
    /// The node of each body.
    bodies: Vec<usize>,
    /// Of each lane, the controls that hold their points.
    held: [Vec<Held>; LANES],
    /// Lanes whose sources change with time.
    moving: [bool; LANES],
    /// Temperatures of points, K; what they gain, W.
    t: Vec<Wide>,
    gains: Vec<Wide>,
    /// Of every point what sources give, W, and how that rises with its temperature, W/K.
    given_W: Vec<Wide>,
    given_W_per_K: Vec<Wide>,
    /// One over each node's capacity, K/J; 0 where it is held.
    per_capacity: Vec<Wide>,
    shares: Vec<Wide>,
    reference_K: Wide,
    /// Slopes, and what they were worked out for: shares, and by how much these grow, 1/s.
    slopes: GainSlopes,
    slopes_shares: Vec<Wide>,
    slopes_growth: Vec<Wide>,
    /// How gains rise with time at fixed temperatures, W/s.
    gain_rates: Vec<Wide>,
    /// Of slopes, those with points that may move: given ones and bodies.
    with_moving: Vec<usize>,
    /// Of slopes, those of points that a control of any lane heats.
    with_controlled: Vec<usize>,
    /// Those points.
    controlled: Vec<usize>,
    /// Of slopes, those with nodes, which are handed on, and where among these each is with which body.
    inside: Vec<u16>,
    inside_bodies: Vec<(u16, usize)>,
    /// So many pairs of slopes have been handed on.
    known_pairs: usize,
    /// How fast points move while the unknowns stand, K/s.
    speeds: Vec<Wide>,
    /// The lines that given temperatures, K, and the shares of bodies are on since a time, s; and lanes of which one is
    /// on none, and which look up all of them.
    given_lines: Vec<Line>,
    share_lines: Vec<Line>,
    since_s: Wide,
    bent: [bool; LANES],
    /// Working room for what points gain.
    room: Vec<Wide>,
}

/// A control that holds its point.
#[derive(Debug, Clone, Copy)]
struct Held {
    /// Its place among all of the configuration, and the point.
    place: usize,
    node: usize,
    /// One over its largest power, 1/W, and the shares of that between which no alarm is near.
    per_full: f64,
    far_from_alarms: (f64, f64),
}

/// A straight line in every lane.
#[derive(Debug, Clone, Copy)]
struct Line {
    value: Wide,
    slope: Wide,
}

impl Line {
    fn still(value: f64) -> Self {
        Self {
            value: Wide::all(value),
            slope: Wide::ZERO,
        }
    }

    #[inline(always)]
    fn after(&self, lasts_s: Wide) -> Wide {
        self.value + self.slope * lasts_s
    }
}

impl<'a> NetworksAbreast<'a> {
    /// Room for networks like that of a system.
    #[must_use]
    pub fn like(system: &NetworkSystem<'_>) -> Self {
        let network = system.network();
        let (nodes, points) = (network.nodes().len(), network.points());
        let bodies: Vec<usize> = network.bodies().iter().map(|b| b.node).collect();
        Self {
            systems: Default::default(),
            slots: Slots::default(),
            nodes,
            held: Default::default(),
            moving: [false; LANES],
            t: vec![Wide::all(293.15); points],
            gains: vec![Wide::ZERO; points],
            given_W: vec![Wide::ZERO; points],
            given_W_per_K: vec![Wide::ZERO; points],
            per_capacity: vec![Wide::ZERO; nodes],
            // One at least, for what names none.
            shares: vec![Wide::all(1.0); bodies.len().max(1)],
            reference_K: Wide::all(293.15),
            slopes: GainSlopes::new(nodes, points),
            slopes_shares: vec![Wide::all(1.0); bodies.len()],
            slopes_growth: vec![Wide::ZERO; bodies.len().max(1)],
            gain_rates: vec![Wide::ZERO; points],
            with_moving: Vec::new(),
            with_controlled: Vec::new(),
            controlled: Vec::new(),
            inside: Vec::new(),
            inside_bodies: Vec::new(),
            known_pairs: 0,
            speeds: vec![Wide::ZERO; points],
            given_lines: vec![Line::still(293.15); points - nodes],
            share_lines: vec![Line::still(1.0); bodies.len()],
            since_s: Wide::ZERO,
            bent: [false; LANES],
            room: vec![Wide::ZERO; points],
            bodies,
        }
    }

    /// Whether a system fits beside those here, and has nothing that lanes can't follow.
    #[must_use]
    pub fn takes(&self, system: &NetworkSystem<'_>) -> bool {
        let network = system.network();
        let bodies = network.bodies().iter().map(|b| &b.node);
        self.nodes <= MOST_UNKNOWNS
            && network.nodes().len() == self.nodes
            && network.points() == self.t.len()
            && bodies.eq(&self.bodies)
            && system.massless().is_empty()
    }

    /// How fast what sources give rises in a lane, W/s.
    fn rising_sources(&mut self, lane: usize, t_s: f64) {
        let Some(system) = &self.systems[lane] else {
            return;
        };
        let t_s = system.moment_s(t_s);
        for s in &system.configuration().sources {
            let (_, rate) = s.power_W.at(t_s);
            let warmer_K = self.t[s.node].0[lane] - 293.15;
            self.gain_rates[s.node].0[lane] += rate * (1.0 + s.per_K * warmer_K);
        }
    }

    /// Looks up what is given at a time of each lane's own.
    fn surround(&mut self, t_s: &[f64; LANES]) {
        let lasts_s = Wide(*t_s) - self.since_s;
        for (t, line) in self.t[self.nodes..].iter_mut().zip(&self.given_lines) {
            *t = line.after(lasts_s);
        }
        for (share, line) in self.shares.iter_mut().zip(&self.share_lines) {
            *share = line.after(lasts_s);
        }
        for lane in 0..LANES {
            if self.bent[lane]
                && let Some(system) = &mut self.systems[lane]
            {
                let (given, shares) = system.surroundings(t_s[lane]);
                for (wide, t) in self.t[self.nodes..].iter_mut().zip(given) {
                    wide.0[lane] = *t;
                }
                let each = self.shares.iter_mut().zip(&mut self.share_lines);
                for ((wide, line), (share, per_s)) in each.zip(shares) {
                    wide.0[lane] = *share;
                    line.slope.0[lane] = *per_s;
                }
            }
            if self.moving[lane] {
                self.load_sources(lane, t_s[lane]);
            }
        }
    }

    /// Takes over places of slopes that are new.
    fn open(&mut self, out: &mut Slopes) {
        self.known_pairs = self.slopes.pairs.len();
        let pairs = self.slopes.pairs.iter().enumerate();
        self.with_moving.clear();
        self.with_moving.extend(
            pairs
                .filter(|(_, (_, by))| {
                    *by as usize >= self.nodes || self.bodies.contains(&(*by as usize))
                })
                .map(|(k, _)| k),
        );
        self.find_controlled();
        out.places.clear();
        self.inside.clear();
        self.inside_bodies.clear();
        for (pair, (i, j)) in (0..).zip(&self.slopes.pairs) {
            if (*j as usize) < self.nodes {
                let body = self.bodies.iter().position(|node| *node == *j as usize);
                let entry = self.inside.len() as u16;
                self.inside_bodies.extend(body.map(|body| (entry, body)));
                self.inside.push(pair);
                out.places.push((u32::from(*i), u32::from(*j)));
            }
        }
        out.entries.resize(out.places.len(), Narrow::ZERO);
    }

    fn find_controlled(&mut self) {
        let (pairs, nodes) = (self.slopes.pairs.iter().enumerate(), self.nodes);
        let controlled = |(_, (gains, by)): &(usize, &(u16, u16))| {
            (*by as usize) < nodes && self.controlled.contains(&(*gains as usize))
        };
        self.with_controlled.clear();
        self.with_controlled
            .extend(pairs.filter(controlled).map(|(k, _)| k));
    }

    fn load_sources(&mut self, lane: usize, t_s: f64) {
        let Some(system) = &self.systems[lane] else {
            return;
        };
        for numbers in [&mut self.given_W, &mut self.given_W_per_K] {
            for wide in numbers {
                wide.0[lane] = 0.0;
            }
        }
        let configuration = system.configuration();
        let t_s = system.moment_s(t_s);
        for s in &configuration.sources {
            let (power_W, _) = s.power_W.at(t_s);
            self.given_W[s.node].0[lane] += power_W * (1.0 - s.per_K * 293.15);
            self.given_W_per_K[s.node].0[lane] += power_W * s.per_K;
        }
        for (c, mode) in configuration.controls.iter().zip(system.modes()) {
            if let Mode::Full(way) = mode {
                self.given_W[c.node()].0[lane] += c.full_W(*way);
            }
        }
    }
}

/// Slopes are kept while no body grows by more than this share: what they miss is corrected in each step.
const KEEP_OVER_GROWTH: f64 = 0.1;

impl<'a> Abreast for NetworksAbreast<'a> {
    type One = NetworkSystem<'a>;

    fn seat(&mut self, lane: usize, one: NetworkSystem<'a>) {
        self.reference_K.0[lane] = one.network().reference_K();
        self.systems[lane] = Some(one);
    }

    fn leave(&mut self, lane: usize) -> Option<NetworkSystem<'a>> {
        self.slots.clear(lane);
        self.bent[lane] = false;
        for line in self.given_lines.iter_mut().chain(&mut self.share_lines) {
            // What stays in the lane is asked for at any time: it is to be sound.
            line.slope.0[lane] = 0.0;
        }
        self.systems[lane].take()
    }

    fn one(&mut self, lane: usize) -> Option<&mut NetworkSystem<'a>> {
        self.systems[lane].as_mut()
    }

    fn settle(&mut self, lane: usize, t_s: f64, enters: bool) -> bool {
        let Some(system) = &self.systems[lane] else {
            return false;
        };
        if system.running() == Running::Throttled {
            return false;
        }
        let configuration = system.configuration();
        let mut controls_more = false;
        if enters {
            let pressure_Pa = system.network().air().pressure_Pa();
            if !self.slots.load(lane, configuration, pressure_Pa, &FILMS) {
                return false;
            }
            let known = self.controlled.len();
            for c in &configuration.controls {
                if !self.controlled.contains(&c.node()) {
                    self.controlled.push(c.node());
                }
            }
            controls_more = known < self.controlled.len();
        }
        let still = |c: &Course| matches!(c, Course::Constant(_));
        self.moving[lane] = !configuration.sources.iter().all(|s| still(&s.power_W));
        let capacities = self
            .per_capacity
            .iter_mut()
            .zip(system.inverse_capacities());
        for (wide, inverse) in capacities {
            wide.0[lane] = *inverse;
        }
        let held = &mut self.held[lane];
        held.clear();
        let controls = configuration.controls.iter().zip(system.modes());
        for (place, ((c, mode), haste)) in controls.zip(system.hastes()).enumerate() {
            if let Mode::Hold(way) = mode {
                self.per_capacity[c.node()].0[lane] = 0.0;
                let (more, less) = Control::alarms(0.0, *haste);
                held.push(Held {
                    place,
                    node: c.node(),
                    per_full: 1.0 / c.full_W(*way),
                    far_from_alarms: (less + NEAR_ALARM, -more - NEAR_ALARM),
                });
            }
        }
        self.load_sources(lane, t_s);
        if controls_more {
            self.find_controlled();
        }
        true
    }

    fn follow_given(&mut self, lane: usize, t_s: f64) {
        let Some(system) = &mut self.systems[lane] else {
            return;
        };
        self.since_s.0[lane] = t_s;
        self.bent[lane] = false;
        let each = self.given_lines.iter_mut().chain(&mut self.share_lines);
        for (wide, line) in each.zip(system.lines(t_s)) {
            match line {
                Some(line) => {
                    wide.value.0[lane] = line.at(t_s);
                    wide.slope.0[lane] = line.slope();
                }
                None => self.bent[lane] = true,
            }
        }
    }

    fn rates(&mut self, t_s: &[f64; LANES], y: &[Wide], dy: &mut [Wide]) {
        self.surround(t_s);
        side_by_side(Rates {
            all: self,
            y,
            dy,
            films: &FILMS,
        });
    }

    fn linearise(&mut self, t_s: &[f64; LANES], y: &[Wide], out: &mut Slopes) {
        self.surround(t_s);
        for (growth, line) in self.slopes_growth.iter_mut().zip(&self.share_lines) {
            *growth = line.slope;
        }
        self.slopes_shares
            .copy_from_slice(&self.shares[..self.bodies.len()]);
        self.gain_rates.fill(Wide::ZERO);
        for (lane, t_s) in t_s.iter().enumerate() {
            if self.moving[lane] {
                self.rising_sources(lane, *t_s);
            }
        }
        side_by_side(LinearisedGains {
            all: self,
            y,
            films: &FILMS,
        });
        if self.known_pairs < self.slopes.pairs.len() {
            self.open(out);
        }
        side_by_side(Entries { all: self, out });
    }

    fn keeps_slopes(&mut self, lane: usize, t_s: f64) -> bool {
        let Some(system) = &mut self.systems[lane] else {
            return false;
        };
        let then = self.slopes_shares.iter().zip(&self.slopes_growth);
        let is_same = |(share, growth): (f64, f64), (share_then, growth_then): (&Wide, &Wide)| {
            (share / share_then.0[lane] - 1.0).abs() <= KEEP_OVER_GROWTH
                && growth == growth_then.0[lane]
        };
        let same = if self.bent[lane] {
            let mut shares = system.shares_at(t_s).iter().zip(then);
            shares.all(|(now, then)| is_same(*now, then))
        } else {
            let lasts_s = t_s - self.since_s.0[lane];
            let mut lines = self.share_lines.iter().zip(then);
            lines.all(|(line, then)| {
                let slope = line.slope.0[lane];
                is_same((line.value.0[lane] + slope * lasts_s, slope), then)
            })
        };
        same && !self.moving[lane]
    }

    fn drift(&mut self, t_s: &[f64; LANES], y: &[Wide], with_time: &mut [Wide]) {
        let lasts_s = Wide(*t_s) - self.since_s;
        for (speed, line) in self.speeds[self.nodes..].iter_mut().zip(&self.given_lines) {
            *speed = line.slope;
        }
        for (node, line) in self.bodies.iter().zip(&self.share_lines) {
            let share = line.after(lasts_s);
            self.speeds[*node] = -(y[*node] * line.slope / (share * share));
        }
        for lane in (0..LANES).filter(|lane| self.bent[*lane]) {
            let Some(system) = &mut self.systems[lane] else {
                continue;
            };
            let given = self.nodes..self.t.len();
            for (point, rate) in given.zip(system.given_rates(t_s[lane])) {
                self.speeds[point].0[lane] = rate;
            }
            let shares = system.shares_at(t_s[lane]);
            for (node, (share, per_s)) in self.bodies.iter().zip(shares) {
                self.speeds[*node].0[lane] = -y[*node].0[lane] * per_s / (share * share);
            }
        }
        side_by_side(Drift {
            all: self,
            with_time,
        });
    }

    fn error_weights(&self, out: &mut [Narrow]) {
        for (node, share) in self.bodies.iter().zip(&self.shares) {
            for lane in 0..LANES {
                out[*node].0[lane] = (1.0 / share.0[lane].max(SMALLEST_SHARE_WATCHED)) as f32;
            }
        }
    }

    fn correct_meters(&mut self, by: &[Narrow]) {
        side_by_side(Corrected { all: self, by });
    }

    fn meters(&self, lane: usize, out: &mut [f64]) {
        for held in &self.held[lane] {
            out[held.place] = -self.gains[held.node].0[lane];
        }
    }

    fn is_near_alarm(&self, lane: usize) -> bool {
        self.held[lane].iter().any(|held| {
            let share = -self.gains[held.node].0[lane] * held.per_full;
            let (from, to) = held.far_from_alarms;
            // What is no number is looked into.
            !(from < share && share < to)
        })
    }

    fn may_switch(&self, lane: usize) -> bool {
        self.systems[lane].as_ref().is_none_or(|s| {
            s.has_thermostat() || s.modes().iter().any(|m| !matches!(m, Mode::Hold(_)))
        })
    }
}

struct Rates<'a, 'n> {
    all: &'a mut NetworksAbreast<'n>,
    y: &'a [Wide],
    dy: &'a mut [Wide],
    films: &'a Films,
}

impl Work for Rates<'_, '_> {
    #[inline(always)]
    fn work(self) {
        let all = self.all;
        all.temperatures(self.y);
        all.gain(self.films);
        for k in 0..all.nodes {
            self.dy[k] = all.gains[k] * all.per_capacity[k];
        }
    }
}

impl NetworksAbreast<'_> {
    /// Temperatures of nodes, from unknowns and shares.
    #[inline(always)]
    fn temperatures(&mut self, y: &[Wide]) {
        for k in 0..self.nodes {
            self.t[k] = self.reference_K + y[k];
        }
        for (node, share) in self.bodies.iter().zip(&self.shares) {
            self.t[*node] = self.reference_K + y[*node] / *share;
        }
    }

    /// What all points gain.
    #[inline(always)]
    fn gain(&mut self, films: &Films) {
        let (t, g) = (&self.t[..], &mut self.gains[..]);
        for k in 0..t.len() {
            g[k] = self.given_W[k].plus(self.given_W_per_K[k], t[k]);
        }
        self.slots
            .give(t, &self.shares, self.reference_K, films, &mut Gains(g));
    }
}

/// Works out slopes, and how gains rise with time where bodies grow.
struct LinearisedGains<'a, 'n> {
    all: &'a mut NetworksAbreast<'n>,
    y: &'a [Wide],
    films: &'a Films,
}

impl Work for LinearisedGains<'_, '_> {
    #[inline(always)]
    fn work(self) {
        let all = self.all;
        all.temperatures(self.y);
        let out = &mut all.slopes;
        out.values.fill(Narrow::ZERO);
        for k in 0..all.nodes {
            if all.given_W_per_K[k] != Wide::ZERO {
                out.add(k, k, all.given_W_per_K[k]);
            }
        }
        let growing = (&all.shares[..], &all.slopes_growth[..]);
        let rates = &mut Gains(&mut all.gain_rates);
        all.slots
            .slopes(&all.t, &mut all.room, growing, self.films, out, rates);
    }
}

/// Slopes of rates with the unknowns, from those of gains with temperatures.
struct Entries<'a, 'n> {
    all: &'a NetworksAbreast<'n>,
    out: &'a mut Slopes,
}

impl Work for Entries<'_, '_> {
    #[inline(always)]
    fn work(self) {
        let all = self.all;
        let each = self.out.entries.iter_mut().zip(&self.out.places);
        for ((entry, (gains, _)), pair) in each.zip(&all.inside) {
            let slope = all.slopes.values[*pair as usize];
            *entry = slope * all.per_capacity[*gains as usize].narrow();
        }
        for (entry, body) in &all.inside_bodies {
            let entry = &mut self.out.entries[*entry as usize];
            *entry = *entry / all.slopes_shares[*body].narrow();
        }
    }
}

/// What controlled points gain, once unknowns have been corrected.
struct Corrected<'a, 'n> {
    all: &'a mut NetworksAbreast<'n>,
    by: &'a [Narrow],
}

impl Work for Corrected<'_, '_> {
    #[inline(always)]
    fn work(self) {
        let all = self.all;
        for k in &all.with_controlled {
            let (gains, by) = all.slopes.pairs[*k];
            let mut moved = self.by[by as usize];
            let body = all.bodies.iter().position(|node| *node == by as usize);
            if let Some(body) = body {
                moved = moved / all.shares[body].narrow();
            }
            let gain = &mut all.gains[gains as usize];
            *gain = *gain + (all.slopes.values[*k] * moved).wide();
        }
    }
}

/// Slopes of rates with time.
struct Drift<'a, 'n> {
    all: &'a NetworksAbreast<'n>,
    with_time: &'a mut [Wide],
}

impl Work for Drift<'_, '_> {
    #[inline(always)]
    fn work(self) {
        let all = self.all;
        let out = &mut self.with_time[..all.nodes];
        out.copy_from_slice(&all.gain_rates[..all.nodes]);
        for k in &all.with_moving {
            let (gains, by) = all.slopes.pairs[*k];
            let rate = &mut out[gains as usize];
            *rate = rate.plus(all.slopes.values[*k].wide(), all.speeds[by as usize]);
        }
        for (rate, inverse) in out.iter_mut().zip(&all.per_capacity) {
            *rate = *rate * *inverse;
        }
    }
}

//! A network as a system of differential equations.
//!
//! Unknowns are temperatures above the reference, kelvin. A growing body's unknown is its stored
//! heat divided by its final capacity, `y = f (T - T_ref)`, so that the heat it takes in with new
//! material is a plain flow and every balance stays linear in what is stored: a Runge-Kutta or
//! Rosenbrock method then keeps the sum of stored heat and ledgers to rounding. A node without mass has
//! no rate: what flows in flows out, and its temperature follows from that.

use super::checks::checked;
use super::elements::configuration::Configuration;
use super::elements::control::{Control, Haste, Mode, Way};
use super::elements::law::Moment;
use super::elements::source::Source;
use super::error::NetworkError;
use super::evaluate::Scratch;
use super::fixed::Network;
use super::parts::Index;
use super::running::Running;
use super::schedule::{Schedule, Stretch, Thermostat};
use super::thermostat::{Starts, Swinging, blend_slopes, blend_values};
use crate::course::{Course, StraightLine};
use crate::integrate::{Linearisation, System};
use nalgebra::{DMatrix, DVector};

/// Slopes hold while a body grows by no more than this share: its column of them goes with its size.
const KEEP_WITHIN_GROWTH: f64 = 0.1;

/// The moment a system stands at. No method: that would borrow the room it is evaluated in too.
macro_rules! moment {
    ($system:ident, $t_s:ident) => {
        Moment {
            t_s: $system.moment_s($t_s),
            t: &$system.t,
            shares: &$system.shares,
            air: $system.network.air(),
            reference_K: $system.network.reference_K(),
        }
    };
}

/// A body of less than this share of its final size is too little to follow by the hundredth of a kelvin.
pub(super) const SMALLEST_SHARE_WATCHED: f64 = 0.01;

/// A network being integrated.
#[derive(Debug)]
pub struct NetworkSystem<'a> {
    network: &'a Network,
    schedule: &'a Schedule,
    n: usize,
    scratch: Scratch,
    /// Temperatures of nodes and given points, K.
    t: Vec<f64>,
    /// Share and growth of each body.
    shares: Vec<(f64, f64)>,
    /// The lines that given temperatures and shares are on, looked up once a known time.
    given_lines: Vec<Option<StraightLine>>,
    share_lines: Vec<Option<StraightLine>>,
    /// What a node's gain is multiplied with: one over its capacity, 1 where it has none.
    inverse_capacity: Vec<f64>,
    /// Nodes without mass.
    massless: Vec<Index>,
    /// Most controls of any configuration.
    meters: usize,
    /// Position of the present stretch, once begun.
    stretch: Option<usize>,
    /// What the thermostat is doing.
    running: Running,
    /// When it last started something.
    starts: Starts,
    /// Whether throttling it makes the air swing.
    swinging: Swinging,
    /// Room for the resting configuration, beside which a throttled one is evaluated.
    resting: Scratch,
    modes: Vec<Mode>,
    /// Sides of the present controls: each begins and ends its work by an event.
    sides: Vec<(usize, Way)>,
    /// Of each side, how far beyond its setpoint its next event is, K.
    margins_K: Vec<f64>,
    /// Of each control, how often it has just changed its mode.
    hastes: Vec<Haste>,
    /// The time that was asked for last, s.
    asked_s: f64,
    /// Set by an event or alarm: modes are already right.
    settled: bool,
    /// When the present course of things began, s, and the known time that comes next: what jumps there has
    /// not jumped yet.
    begun_s: f64,
    until_s: f64,
    /// Where the next course jumps.
    next_jump_s: f64,
    /// The courses that matter now and have kinks.
    kinked: Vec<&'a Course>,
    /// Shares and growth that the slopes in `scratch` are for.
    linearised_shares: Vec<(f64, f64)>,
    /// A node without mass that could not be balanced, and when, s.
    pub(super) stuck: Option<(Index, f64)>,
    /// What moves while the unknowns stand: point, K/s.
    moving: Vec<(Index, f64)>,
}

impl<'a> NetworkSystem<'a> {
    /// Prepares a network for integration.
    ///
    /// # Errors
    /// When elements end at points that are not there, or ask for what can't be: see [`NetworkError`].
    pub fn new(network: &'a Network, schedule: &'a Schedule) -> Result<Self, NetworkError> {
        checked(network, schedule)?;
        let nodes = network.nodes();
        let configurations = schedule.configurations().iter();
        let meters = configurations.map(|c| c.controls.len()).max().unwrap_or(0);
        let massless: Vec<Index> = (0..nodes.len())
            .filter(|k| nodes[*k].capacity_J_per_K == 0.0)
            .collect();
        let inverse = |c: f64| if c == 0.0 { 1.0 } else { 1.0 / c };
        Ok(Self {
            n: nodes.len(),
            scratch: Scratch::new(network, meters),
            t: vec![network.reference_K(); network.points()],
            shares: vec![(1.0, 0.0); network.bodies().len()],
            given_lines: vec![None; network.given_points().len()],
            share_lines: vec![None; network.bodies().len()],
            inverse_capacity: nodes.iter().map(|n| inverse(n.capacity_J_per_K)).collect(),
            massless,
            meters,
            network,
            schedule,
            stretch: None,
            running: Running::Rests,
            starts: Starts::default(),
            swinging: Swinging::default(),
            resting: Scratch::default(),
            modes: Vec::new(),
            sides: Vec::new(),
            margins_K: Vec::new(),
            hastes: Vec::new(),
            asked_s: f64::NAN,
            settled: false,
            begun_s: f64::NAN,
            until_s: f64::INFINITY,
            next_jump_s: f64::INFINITY,
            kinked: Vec::new(),
            linearised_shares: Vec::new(),
            stuck: None,
            moving: Vec::new(),
        })
    }

    /// Unknowns at the start.
    #[must_use]
    pub fn initial(&self) -> Vec<f64> {
        let reference_K = self.network.reference_K();
        let mut y: Vec<f64> = (0..self.n)
            .map(|k| self.network.initial_K(k) - reference_K)
            .collect();
        for body in self.network.bodies() {
            y[body.node] *= body.share.at(0.0).0;
        }
        y
    }

    /// Begins with a thermostat that was doing this.
    pub(super) fn resume(&mut self, running: Running) {
        self.running = running;
    }

    /// The network.
    #[cfg(feature = "lanes")]
    pub(super) const fn network(&self) -> &'a Network {
        self.network
    }

    /// What a node's gain is multiplied with: see the field.
    #[cfg(feature = "lanes")]
    pub(super) fn inverse_capacities(&self) -> &[f64] {
        &self.inverse_capacity
    }

    /// What the thermostat is doing.
    #[cfg(feature = "lanes")]
    pub(super) const fn running(&self) -> Running {
        self.running
    }

    /// Of each control, how often it has just changed what it does.
    #[cfg(feature = "lanes")]
    pub(super) fn hastes(&self) -> &[Haste] {
        &self.hastes
    }

    #[cfg(feature = "lanes")]
    pub(super) fn has_thermostat(&self) -> bool {
        self.stretch_now().thermostat.is_some()
    }

    /// A time as laws see it: what jumps at the next known time has not jumped yet.
    pub(super) fn moment_s(&self, t_s: f64) -> f64 {
        t_s.min(self.until_s - 1e-6)
    }

    /// The lines that given temperatures and the shares of growing bodies are on from a time up to the next known one:
    /// none of those that are on none, or on one that ends before.
    #[cfg(feature = "lanes")]
    pub(super) fn lines(&mut self, t_s: f64) -> impl Iterator<Item = Option<StraightLine>> {
        self.shares(t_s);
        self.given(t_s);
        let until_s = self.until_s;
        let lines = self.given_lines.iter().chain(&self.share_lines);
        // A kink that is rounded to just after the time it begins at leaves the line before it.
        lines.map(move |line| line.filter(|line| line.holds(until_s)))
    }

    /// Given temperatures at a time, K, and of each growing body the share that is there with its growth, 1/s.
    #[cfg(feature = "lanes")]
    pub(super) fn surroundings(&mut self, t_s: f64) -> (&[f64], &[(f64, f64)]) {
        self.shares(t_s);
        self.given(t_s);
        (&self.t[self.n..], &self.shares)
    }

    /// Of each growing body the share that is there at a time, with its growth, 1/s.
    #[cfg(feature = "lanes")]
    pub(super) fn shares_at(&mut self, t_s: f64) -> &[(f64, f64)] {
        self.shares(t_s);
        &self.shares
    }

    /// How fast given temperatures move at a time, K/s.
    #[cfg(feature = "lanes")]
    pub(super) fn given_rates(&mut self, t_s: f64) -> impl Iterator<Item = f64> {
        let lines = self.given_lines.iter_mut();
        let given = self.network.given_points().iter();
        lines
            .zip(given)
            .map(move |(line, given)| Self::look_up(line, &given.course, t_s).1)
    }

    /// What each control of the present configuration is doing.
    #[must_use]
    pub fn modes(&self) -> &[Mode] {
        &self.modes
    }

    /// Heat that every point gains at a time, W, at unknowns `y`.
    pub fn gains_W(&mut self, t_s: f64, y: &[f64]) -> &[f64] {
        self.evaluate(t_s, y);
        &self.scratch.gains
    }

    /// The unknowns at which nothing changes any more, if what is given stays as it is at a time, s.
    /// Newton's method from `start`.
    ///
    /// # Errors
    /// [`NetworkError::Massless`], with the node that is farthest from balance, where there is none: a node
    /// that nothing joins to a given temperature.
    pub fn steady(&mut self, t_s: f64, start: &[f64]) -> Result<Vec<f64>, NetworkError> {
        let mut y = start.to_vec();
        self.begin(t_s, &mut y);
        let all: Vec<Index> = (0..self.n).collect();
        match self.balance_out(t_s, &mut y, &all) {
            Ok(()) => Ok(y),
            Err(node) => Err(self.massless_error(node, t_s)),
        }
    }

    /// How a point's settled temperature answers to heat given to each node, K/W, around a moment at which
    /// everything is as it is; where nothing is joined to anything given, none. A node that is held answers to
    /// nothing, and neither does anything to heat given there.
    pub fn sensitivities_K_per_W(
        &mut self,
        t_s: f64,
        start: &[f64],
        point: Index,
    ) -> Option<Vec<f64>> {
        let mut y = start.to_vec();
        self.begin(t_s, &mut y);
        self.slopes(t_s, &y);
        let (n, points) = (self.n, self.t.len());
        if point >= n {
            return Some(vec![0.0; n]);
        }
        let held: Vec<bool> = (0..n).map(|node| self.is_held(node)).collect();
        // Settled: slopes times rises are minus what is given. One row of the inverse is asked for, which is
        // one solution with the transposed matrix.
        let slopes = &self.scratch.gain_slopes;
        let transposed = DMatrix::from_fn(n, n, |i, j| match (held[j], i == j) {
            (true, same) => f64::from(u8::from(same)),
            (false, _) => slopes[j * points + i],
        });
        let asked = DVector::from_fn(n, |i, _| if i == point { -1.0 } else { 0.0 });
        let mut found = transposed.lu().solve(&asked)?;
        for (node, is_held) in held.into_iter().enumerate() {
            if is_held {
                found[node] = 0.0;
            }
        }
        Some(found.iter().copied().collect())
    }

    /// Throttling mixes two configurations, whose controls have to be the same for it; makes room.
    fn permitted(&mut self, running: Running) -> Running {
        let (Running::Throttled, Some(thermostat)) = (running, self.stretch_now().thermostat)
        else {
            return running;
        };
        let [works, rests] = [self.stretch_now().configuration, thermostat.resting]
            .map(|k| &self.schedule.configurations()[k].controls);
        if works != rests || self.swinging.is_seen() {
            return Running::Works;
        }
        if self.resting.gains.is_empty() {
            self.resting = Scratch::new(self.network, self.meters);
        }
        running
    }

    pub(super) fn massless_error(&self, node: Index, t_s: f64) -> NetworkError {
        NetworkError::Massless {
            name: self.network.name(node).to_owned(),
            at_h: t_s / 3600.0,
        }
    }

    fn stretch_now(&self) -> &'a Stretch {
        &self.schedule.stretches()[self.stretch.unwrap_or(0)]
    }

    pub(super) fn configuration(&self) -> &'a Configuration {
        let number = self.stretch();
        &self.schedule.configurations()[self.schedule.configuration_of(number)]
    }

    /// Value and slope of a course, from its line where that holds.
    #[inline(always)]
    fn look_up(line: &mut Option<StraightLine>, course: &Course, t_s: f64) -> (f64, f64) {
        match line {
            Some(line) if line.holds(t_s) => (line.at(t_s), line.slope()),
            _ => {
                *line = course.line_at(t_s);
                line.map_or_else(|| course.at(t_s), |l| (l.at(t_s), l.slope()))
            }
        }
    }

    /// Fills in the shares.
    #[inline(always)]
    fn shares(&mut self, t_s: f64) {
        let bodies = self.network.bodies().iter();
        for ((share, line), body) in self
            .shares
            .iter_mut()
            .zip(&mut self.share_lines)
            .zip(bodies)
        {
            *share = Self::look_up(line, &body.share, t_s);
        }
    }

    /// Fills in shares and temperatures.
    fn temperatures(&mut self, t_s: f64, y: &[f64]) {
        self.asked_s = t_s;
        self.shares(t_s);
        let reference = self.network.reference_K();
        for (t, y) in self.t.iter_mut().zip(y) {
            *t = reference + y;
        }
        for (body, (share, _)) in self.network.bodies().iter().zip(&self.shares) {
            self.t[body.node] = reference + y[body.node] / share;
        }
        self.given(t_s);
    }

    /// Fills in the temperature of one point; shares are in already.
    fn measure(&mut self, point: Index, t_s: f64, y: &[f64]) {
        self.t[point] = if let Some(y) = y.get(point) {
            let mut bodies = self.network.bodies().iter().zip(&self.shares);
            let body = bodies.find(|(body, _)| body.node == point);
            self.network.reference_K() + body.map_or(*y, |(_, (share, _))| y / share)
        } else {
            let given = &self.network.given_points()[point - self.n];
            Self::look_up(&mut self.given_lines[point - self.n], &given.course, t_s).0
        };
    }

    /// Fills in given temperatures.
    #[inline(always)]
    fn given(&mut self, t_s: f64) {
        let given = self.network.given_points().iter();
        let lines = self.given_lines.iter_mut();
        for ((t, line), given) in self.t[self.n..].iter_mut().zip(lines).zip(given) {
            *t = Self::look_up(line, &given.course, t_s).0;
        }
    }

    fn evaluate(&mut self, t_s: f64, y: &[f64]) {
        self.temperatures(t_s, y);
        let c = self.configuration();
        let m = moment!(self, t_s);
        c.balance(&m, &self.modes, &mut self.scratch);
        if let Some((thermostat, rests)) = self.throttled() {
            let (share, _) = thermostat.share_throttled(self.t[thermostat.measures]);
            rests.balance(&m, &self.modes, &mut self.resting);
            blend_values(&mut self.scratch, &self.resting, share);
        }
    }

    /// The thermostat that is throttled now, and the configuration it would rest in.
    #[inline(always)]
    fn throttled(&self) -> Option<(Thermostat, &'a Configuration)> {
        if self.running != Running::Throttled {
            return None;
        }
        let thermostat = self.stretch_now().thermostat?;
        Some((
            thermostat,
            &self.schedule.configurations()[thermostat.resting],
        ))
    }

    fn slopes(&mut self, t_s: f64, y: &[f64]) {
        self.temperatures(t_s, y);
        let c = self.configuration();
        let m = moment!(self, t_s);
        c.slopes(&m, &self.modes, &mut self.scratch);
        if let Some((thermostat, rests)) = self.throttled() {
            let measures = thermostat.measures;
            let share = thermostat.share_throttled(self.t[measures]);
            c.balance(&m, &self.modes, &mut self.scratch);
            rests.balance(&m, &self.modes, &mut self.resting);
            rests.slopes(&m, &self.modes, &mut self.resting);
            blend_slopes(&mut self.scratch, &self.resting, share, measures);
        }
    }

    /// Slopes with time at fixed unknowns, from the slopes with temperatures in `scratch`: given
    /// temperatures move, and so does a growing body's, `T = T_ref + y / f`.
    fn drift(&mut self, t_s: f64, y: &[f64], out: &mut Linearisation) {
        let points = self.t.len();
        let given = self.network.given_points().iter();
        let lines = self.given_lines.iter_mut().zip(given);
        let rates = lines.map(|(line, given)| Self::look_up(line, &given.course, t_s).1);
        let moving = &mut self.moving;
        moving.clear();
        moving.extend((self.n..).zip(rates));
        let bodies = self.network.bodies().iter().zip(&self.shares);
        moving.extend(bodies.map(|(b, (f, per_s))| (b.node, -y[b.node] * per_s / (f * f))));
        // A point that stands still changes nothing.
        moving.retain(|(_, rate)| *rate != 0.0);
        let (s, moving) = (&self.scratch, &*moving);
        for (o, rate) in out.with_time.iter_mut().zip(&s.gain_rates) {
            *o = *rate;
        }
        for (by, rate) in moving {
            let rows = s.gain_slopes.chunks_exact(points);
            for (o, row) in out.with_time.iter_mut().zip(rows) {
                *o += row[*by] * rate;
            }
        }
        for (o, inverse) in out.with_time.iter_mut().zip(&self.inverse_capacity) {
            *o *= inverse;
        }
        for k in &out.ledgers {
            let row = &s.ledger_slopes[k * points..(k + 1) * points];
            let along: f64 = moving.iter().map(|(by, rate)| row[*by] * rate).sum();
            out.ledger_with_time[*k] = s.ledger_rates[*k] + along;
        }
    }

    /// Chooses what each control does from where the node it measures stands. `kept` are those that go on
    /// with what they did if they may.
    fn settle(&mut self, t_s: f64, y: &[f64], before: Option<&[Control]>) {
        self.temperatures(t_s, y);
        let controls = &self.configuration().controls;
        let earlier = std::mem::take(&mut self.modes);
        self.modes = controls
            .iter()
            .enumerate()
            .map(|(k, c)| {
                let same = before.and_then(|b| b.get(k)) == Some(c);
                let mode = earlier.get(k).copied().filter(|_| same);
                c.settled(self.t[c.measures()], mode)
            })
            .collect();
        self.sides.clear();
        for (k, c) in controls.iter().enumerate() {
            self.sides.extend(c.sides().map(|(way, _)| (k, way)));
        }
        // One that stands on its setpoint may need more than it has, or less than nothing.
        if self.modes.iter().any(|m| matches!(m, Mode::Hold(_))) {
            self.evaluate(t_s, y);
            let meters = &self.scratch.ledgers[self.network.ledgers().len()..];
            for ((c, mode), meter) in controls.iter().zip(&mut self.modes).zip(meters) {
                if let Mode::Hold(way) = *mode {
                    *mode = Control::held(way, meter / c.full_W(way), Haste::default());
                }
            }
        }
        self.hastes.clear();
        self.hastes.resize(controls.len(), Haste::default());
        self.margins_K.clear();
        self.margins_K.resize(self.sides.len(), 0.0);
        for k in 0..controls.len() {
            self.widen(k);
        }
    }

    /// Sets the margins of a control that has just changed its mode, from where its temperature stands.
    fn widen(&mut self, control: usize) {
        let c = &self.configuration().controls[control];
        for ((k, way), margin_K) in self.sides.iter().zip(&mut self.margins_K) {
            if *k == control {
                *margin_K = c.margin_K(*way, self.modes[*k], self.t[c.measures()], self.hastes[*k]);
            }
        }
    }

    /// Finds the unknowns of some nodes at which they gain nothing, the others as they are: Newton's method.
    /// The node farthest from balance where there are none.
    fn balance_out(&mut self, t_s: f64, y: &mut [f64], nodes: &[Index]) -> Result<(), Index> {
        let points = self.t.len();
        let mut worst = nodes.first().copied().unwrap_or(0);
        for _ in 0..100 {
            self.evaluate(t_s, y);
            let gains = DVector::from_fn(nodes.len(), |i, _| -self.scratch.gains[nodes[i]]);
            worst = nodes[gains.iamax()];
            self.slopes(t_s, y);
            let slopes = &self.scratch.gain_slopes;
            let mut matrix = DMatrix::from_fn(nodes.len(), nodes.len(), |i, j| {
                slopes[nodes[i] * points + nodes[j]]
            });
            // A held node stays where it is.
            for (i, node) in nodes.iter().enumerate() {
                if matrix.row(i).iter().all(|v| *v == 0.0) && self.is_held(*node) {
                    matrix[(i, i)] = 1.0;
                }
            }
            let Some(step) = matrix.lu().solve(&gains) else {
                return Err(worst);
            };
            for (k, node) in nodes.iter().enumerate() {
                let body = self.network.bodies().iter().position(|b| b.node == *node);
                y[*node] += step[k] * body.map_or(1.0, |b| self.shares[b].0);
            }
            if step.amax() < 1e-10 {
                return Ok(());
            }
        }
        Err(worst)
    }

    fn is_held(&self, node: Index) -> bool {
        let controls = self.configuration().controls.iter().zip(&self.modes);
        controls
            .into_iter()
            .any(|(c, m)| c.node() == node && matches!(m, Mode::Hold(_)))
    }
}

impl System for NetworkSystem<'_> {
    fn unknowns(&self) -> usize {
        self.n
    }

    fn ledgers(&self) -> usize {
        self.network.ledgers().len()
    }

    fn meters(&self) -> usize {
        self.meters
    }

    fn massless(&self) -> &[usize] {
        &self.massless
    }

    fn rates(&mut self, t: f64, y: &[f64], dy: &mut [f64], ledgers: &mut [f64]) {
        self.evaluate(t, y);
        let gains = self.scratch.gains.iter().zip(&self.inverse_capacity);
        for (d, (q, c)) in dy.iter_mut().zip(gains) {
            *d = q * c;
        }
        ledgers.copy_from_slice(&self.scratch.ledgers);
    }

    /// A body's unknown is its heat: while it is small, so is what a kelvin of it is worth there.
    fn error_weights(&self, out: &mut [f64]) {
        for (body, (share, _)) in self.network.bodies().iter().zip(&self.shares) {
            out[body.node] = 1.0 / share.max(SMALLEST_SHARE_WATCHED);
        }
    }

    fn linearise(&mut self, t: f64, y: &[f64], out: &mut Linearisation) {
        self.slopes(t, y);
        if self.running == Running::Throttled {
            self.swinging.step(t);
        }
        let (n, points) = (self.n, self.t.len());
        // T = T_ref + y / f: how a body's temperature answers to y.
        let bodies = self.network.bodies().iter().zip(&self.shares);
        let by_y: Vec<(Index, f64)> = bodies.map(|(b, (f, _))| (b.node, 1.0 / f)).collect();
        let convert = |row: &[f64], scale: f64, out: &mut [f64]| {
            for (o, slope) in out.iter_mut().zip(row) {
                *o = slope * scale;
            }
            for (node, by_y) in &by_y {
                out[*node] *= by_y;
            }
        };
        let rows = self.scratch.gain_slopes.chunks_exact(points);
        let targets = out.jacobian.chunks_exact_mut(n);
        for ((row, target), scale) in rows.zip(targets).zip(&self.inverse_capacity) {
            convert(row, *scale, target);
        }
        for k in &out.ledgers {
            let row = &self.scratch.ledger_slopes[k * points..(k + 1) * points];
            convert(row, 1.0, &mut out.ledger_jacobian[k * n..(k + 1) * n]);
        }
        self.linearised_shares.clone_from(&self.shares);
        self.drift(t, y, out);
    }

    fn renew_drift(&mut self, t: f64, y: &[f64], out: &mut Linearisation) -> bool {
        self.shares(t);
        let same = |((f, per_s), (f0, per_s0)): (&(f64, f64), &(f64, f64))| {
            (f / f0 - 1.0).abs() <= KEEP_WITHIN_GROWTH && per_s == per_s0
        };
        let moving = |s: &Source| !matches!(s.power_W, Course::Constant(_));
        // A throttled fan answers to hundredths of a kelvin.
        if self.running == Running::Throttled
            || !self.shares.iter().zip(&self.linearised_shares).all(same)
            || self.configuration().sources.iter().any(moving)
        {
            return false;
        }
        self.drift(t, y, out);
        true
    }

    fn next_break(&self, t: f64) -> f64 {
        if t == self.begun_s {
            return self.until_s;
        }
        self.courses()
            .map(|course| course.next_kink(t))
            .fold(self.stretch_now().end_s, f64::min)
    }

    fn begin(&mut self, t: f64, y: &mut [f64]) -> bool {
        let index = self.schedule.index_at(t);
        let entered = self.stretch != Some(index);
        let jumped = entered || self.settled || t >= self.next_jump_s - 1e-9;
        self.given_lines.fill(None);
        self.share_lines.fill(None);
        if entered {
            let before = self.stretch.map(|_| self.configuration());
            self.stretch = Some(index);
            self.until_s = f64::INFINITY;
            self.running = match self.stretch_now().thermostat {
                Some(thermostat) => {
                    self.temperatures(t, y);
                    let measured_K = self.t[thermostat.measures];
                    let running = thermostat.taken_over(self.running, measured_K);
                    self.permitted(running)
                }
                None => Running::Works,
            };
            self.settle(t, y, before.map(|c| &c.controls[..]));
        }
        if jumped {
            let courses = self.courses().filter(|c| c.has_kinks());
            self.kinked.clear();
            self.kinked.extend(courses);
        }
        self.begun_s = t;
        self.until_s = self.stretch_now().end_s;
        self.next_jump_s = f64::INFINITY;
        for course in &self.kinked {
            let kink_s = course.next_kink(t);
            self.until_s = self.until_s.min(kink_s);
            if course.jumps() {
                self.next_jump_s = self.next_jump_s.min(kink_s);
            }
        }
        if jumped && !self.massless.is_empty() {
            let massless = std::mem::take(&mut self.massless);
            if let Err(node) = self.balance_out(t, y, &massless) {
                self.stuck = Some((node, t));
            }
            self.massless = massless;
        }
        self.settled = false;
        jumped
    }

    fn events(&self) -> usize {
        self.sides.len() + 1
    }

    /// One event a side of a control: it begins or ends its work. The last: the thermostat switches.
    fn event_values(&mut self, t: f64, y: &[f64], out: &mut [f64]) {
        self.asked_s = t;
        self.shares(t);
        let controls = &self.configuration().controls;
        for c in controls {
            self.measure(c.measures(), t, y);
        }
        if let Some(thermostat) = self.stretch_now().thermostat {
            self.measure(thermostat.measures, t, y);
        }
        let sides = self.sides.iter().zip(&self.margins_K);
        for (((k, way), margin_K), o) in sides.zip(out.iter_mut()) {
            let c = &controls[*k];
            *o = c.event(*way, self.modes[*k], self.t[c.measures()], *margin_K);
        }
        out[self.sides.len()] = match self.stretch_now().thermostat {
            None => -1.0,
            // It goes back to switching.
            Some(_) if self.running == Running::Throttled && self.swinging.is_seen() => 1.0,
            Some(t) => t.event(self.running, self.t[t.measures]),
        };
    }

    fn fire(&mut self, event: usize, t: f64, y: &[f64]) {
        self.settled = true;
        if let Some((k, way)) = self.sides.get(event).copied() {
            self.modes[k] = self.configuration().controls[k].after_event(way, self.modes[k]);
            self.temperatures(t, y);
            self.hastes[k].note(t);
            self.widen(k);
        } else {
            let before = &self.configuration().controls;
            self.running = match self.running {
                Running::Throttled if self.swinging.is_seen() => Running::Works,
                Running::Works | Running::Throttled => Running::Rests,
                Running::Rests if self.starts.note(t) => self.permitted(Running::Throttled),
                Running::Rests => Running::Works,
            };
            // Another configuration: its controls may stand otherwise.
            self.settle(t, y, Some(before));
        }
    }

    fn alarms(&self) -> usize {
        2 * self.configuration().controls.len()
    }

    /// Two alarms a control that holds: it needs more than it has; it needs less than nothing.
    fn alarm_values(&self, ledger_rates: &[f64], out: &mut [f64]) {
        let meters = &ledger_rates[self.network.ledgers().len()..];
        let controls = self.configuration().controls.iter();
        let controls = controls.zip(self.modes.iter().zip(&self.hastes));
        for (((c, (mode, haste)), meter), o) in controls.zip(meters).zip(out.chunks_exact_mut(2)) {
            (o[0], o[1]) = match mode {
                Mode::Hold(way) => Control::alarms(meter / c.full_W(*way), *haste),
                Mode::Off | Mode::Full(_) => (-1.0, -1.0),
            };
        }
    }

    fn alarm_ledgers(&self, out: &mut Vec<usize>) {
        let first = self.network.ledgers().len();
        out.clear();
        out.extend(first..first + self.configuration().controls.len());
    }

    fn raise(&mut self, alarm: usize) {
        self.settled = true;
        let mode = &mut self.modes[alarm / 2];
        *mode = match *mode {
            Mode::Hold(way) if alarm.is_multiple_of(2) => Mode::Full(way),
            _ => Mode::Off,
        };
        // What was held has stood still: the temperatures asked for last are right for it.
        self.hastes[alarm / 2].note(self.asked_s);
        self.widen(alarm / 2);
    }

    /// See [`Schedule::number`].
    fn stretch(&self) -> usize {
        Schedule::number(self.stretch.unwrap_or(0), self.running)
    }
}

impl<'a> NetworkSystem<'a> {
    /// The courses that matter now: given temperatures, shares, and powers.
    fn courses(&self) -> impl Iterator<Item = &'a Course> + use<'a> {
        let given = self.network.given_points().iter().map(|g| &g.course);
        let shares = self.network.bodies().iter().map(|b| &b.share);
        let powers = self.configuration().sources.iter().map(|s| &s.power_W);
        given.chain(shares).chain(powers)
    }
}

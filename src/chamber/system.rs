//! A chamber as a system of differential equations.
//!
//! Unknowns are temperatures above the reference, kelvin. The growing part's unknown is its stored
//! heat divided by its final capacity, `y = f (T - T_ref)`, so that the heat it takes in with new
//! material is a plain flow and every balance stays linear in what is stored: a Runge-Kutta or
//! Rosenbrock method then keeps the sum of stored heat and ledgers to rounding.

use super::Chamber;
use super::timeline::Stretch;
use crate::course::StraightLine;
use crate::integrate::{Linearisation, System};
use crate::network::Configuration;
use crate::network::elements::Mode;
use crate::network::evaluate::Scratch;

/// A chamber being integrated.
#[derive(Debug)]
pub struct ChamberSystem<'a> {
    chamber: &'a Chamber,
    n: usize,
    l: usize,
    scratch: Scratch,
    /// Temperatures of nodes and boundaries, K.
    t: Vec<f64>,
    inverse_capacity: Vec<f64>,
    /// The line the given temperature is on, looked up once an hour of weather.
    line: Option<StraightLine>,
    /// Position of the present stretch, once begun.
    stretch: Option<usize>,
    /// Whether the thermostat's fan runs.
    fan_on: bool,
    modes: Vec<Mode>,
    /// Set by an event or alarm: modes are already right.
    settled: bool,
    /// Grown fraction that the slopes in `scratch` are for.
    linearised_fraction: f64,
}

/// Temperatures this close to a setpoint count as on it, K.
const ON_SETPOINT_K: f64 = 1e-6;

/// Slopes hold while the part grows by no more than this share: its column of them goes with its size.
const KEEP_WITHIN_GROWTH: f64 = 0.1;

impl<'a> ChamberSystem<'a> {
    /// Prepares a chamber for integration.
    #[must_use]
    pub fn new(chamber: &'a Chamber) -> Self {
        let n = chamber.network.nodes.len();
        Self {
            chamber,
            n,
            l: chamber.network.ledgers.len(),
            scratch: Scratch::new(&chamber.network),
            t: vec![chamber.network.reference_K; chamber.network.points()],
            inverse_capacity: chamber
                .network
                .nodes
                .iter()
                .map(|n| 1.0 / n.capacity_J_per_K)
                .collect(),
            line: None,
            stretch: None,
            fan_on: false,
            modes: Vec::new(),
            settled: false,
            linearised_fraction: f64::NAN,
        }
    }

    /// Unknowns at the start: everything at the reference, which is the room's temperature.
    #[must_use]
    pub fn initial(&self) -> Vec<f64> {
        vec![self.chamber.initial_K - self.chamber.network.reference_K; self.n]
    }

    fn stretch_now(&self) -> &'a Stretch {
        &self.chamber.timeline.stretches[self.stretch.unwrap_or(0)]
    }

    fn configuration(&self) -> &'a Configuration {
        let s = self.stretch_now();
        let k = match s.thermostat {
            Some(t) if !self.fan_on => t.off,
            _ => s.on,
        };
        &self.chamber.configurations[k]
    }

    /// Fills in the temperatures and returns the grown fraction.
    fn temperatures(&mut self, t_s: f64, y: &[f64]) -> f64 {
        let reference = self.chamber.network.reference_K;
        for (t, y) in self.t.iter_mut().zip(y) {
            *t = reference + y;
        }
        let growth = &self.stretch_now().growth;
        let f = growth.at(t_s);
        self.t[growth.node] = reference + y[growth.node] / f;
        self.t[self.n] = match &self.line {
            Some(line) if line.holds(t_s) => line.at(t_s),
            _ => {
                self.line = self.chamber.surroundings.line_at(t_s);
                self.line
                    .map_or_else(|| self.chamber.surroundings.at(t_s).0, |l| l.at(t_s))
            }
        };
        f
    }

    /// Slopes with time at fixed unknowns, from the slopes with temperatures in `scratch`: the room's
    /// temperature moves, and so does the part's, `T = T_ref + y / f`, while it grows.
    fn drift(&self, t_s: f64, y: &[f64], f: f64, out: &mut Linearisation) {
        let points = self.t.len();
        let growth = self.stretch_now().growth;
        let outside_rate = self.chamber.surroundings.at(t_s).1;
        let by_time = -y[growth.node] * growth.rate_per_s / (f * f);
        let s = &self.scratch;
        let along = |slopes: &[f64], k: usize| {
            let row = &slopes[k * points..(k + 1) * points];
            row[self.n] * outside_rate + row[growth.node] * by_time
        };
        for (i, o) in out.with_time.iter_mut().enumerate() {
            *o = (s.gain_rates[i] + along(&s.gain_slopes, i)) * self.inverse_capacity[i];
        }
        for k in &out.ledgers {
            out.ledger_with_time[*k] = s.ledger_rates[*k] + along(&s.ledger_slopes, *k);
        }
    }

    fn evaluate(&mut self, t_s: f64, y: &[f64]) {
        let f = self.temperatures(t_s, y);
        let (c, network) = (self.configuration(), &self.chamber.network);
        c.balance(network, &self.t, f, &self.modes, &mut self.scratch);
    }

    /// Chooses what each heater does from where its node stands.
    fn settle(&mut self, t_s: f64, y: &[f64]) {
        self.temperatures(t_s, y);
        let controls = &self.configuration().controls;
        self.modes = controls
            .iter()
            .map(|c| {
                let short = (c.setpoint_K - self.t[c.node]) * c.max_power_W.signum();
                if short.abs() <= ON_SETPOINT_K {
                    Mode::Hold
                } else if short > 0.0 {
                    Mode::Full
                } else {
                    Mode::Off
                }
            })
            .collect();
        // One that stands on its setpoint may need more than it has, or less than nothing.
        if self.modes.contains(&Mode::Hold) {
            self.evaluate(t_s, y);
            for (c, mode) in controls.iter().zip(&mut self.modes) {
                if *mode == Mode::Hold {
                    let share = self.scratch.ledgers[c.ledger] / c.max_power_W;
                    *mode = if share > 1.0 {
                        Mode::Full
                    } else if share < 0.0 {
                        Mode::Off
                    } else {
                        Mode::Hold
                    };
                }
            }
        }
    }
}

impl System for ChamberSystem<'_> {
    fn unknowns(&self) -> usize {
        self.n
    }

    fn ledgers(&self) -> usize {
        self.l
    }

    fn rates(&mut self, t: f64, y: &[f64], dy: &mut [f64], ledgers: &mut [f64]) {
        self.evaluate(t, y);
        for ((d, q), c) in dy
            .iter_mut()
            .zip(&self.scratch.gains)
            .zip(&self.inverse_capacity)
        {
            *d = q * c;
        }
        ledgers.copy_from_slice(&self.scratch.ledgers);
    }

    fn linearise(&mut self, t: f64, y: &[f64], out: &mut Linearisation) {
        let f = self.temperatures(t, y);
        let (c, network) = (self.configuration(), &self.chamber.network);
        let growth = self.stretch_now().growth;
        c.slopes(
            network,
            &mut self.t,
            f,
            growth.rate_per_s,
            &self.modes,
            &mut self.scratch,
        );
        let (n, points) = (self.n, self.t.len());
        // T = T_ref + y / f: how the part's temperature answers to y.
        let by_y = 1.0 / f;
        let convert = |row: &[f64], scale: f64, out: &mut [f64]| {
            for (o, slope) in out.iter_mut().zip(row) {
                *o = slope * scale;
            }
            out[growth.node] *= by_y;
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
        self.linearised_fraction = f;
        self.drift(t, y, f, out);
    }

    fn renew_drift(&mut self, t: f64, y: &[f64], out: &mut Linearisation) -> bool {
        let f = self.stretch_now().growth.at(t);
        if (f / self.linearised_fraction - 1.0).abs() > KEEP_WITHIN_GROWTH {
            return false;
        }
        self.drift(t, y, f, out);
        true
    }

    fn next_break(&self, t: f64) -> f64 {
        self.stretch_now()
            .end_s
            .min(self.chamber.surroundings.next_kink(t))
    }

    fn begin(&mut self, t: f64, y: &[f64]) -> bool {
        let index = self.chamber.timeline.index_at(t);
        let entered = self.stretch != Some(index);
        let jumped = entered || self.settled;
        if entered {
            self.stretch = Some(index);
            if let Some(thermostat) = self.stretch_now().thermostat {
                self.temperatures(t, y);
                let top = self.t[self.chamber.points.air[self.chamber.points.air.len() - 1]];
                self.fan_on = if self.fan_on {
                    top > thermostat.off_below_K
                } else {
                    top > thermostat.on_above_K
                };
            } else {
                self.fan_on = true;
            }
            self.settle(t, y);
        }
        self.settled = false;
        jumped
    }

    fn events(&self) -> usize {
        self.configuration().controls.len() + 1
    }

    /// One event a control: its node reaches the setpoint. The last: the thermostat switches.
    fn event_values(&mut self, t: f64, y: &[f64], out: &mut [f64]) {
        self.temperatures(t, y);
        let controls = &self.configuration().controls;
        for ((c, mode), o) in controls.iter().zip(&self.modes).zip(out.iter_mut()) {
            let over = (self.t[c.node] - c.setpoint_K) * c.max_power_W.signum();
            *o = match mode {
                Mode::Full => over,
                Mode::Off => -over,
                Mode::Hold => -1.0,
            };
        }
        let top = self.t[self.chamber.points.air[self.chamber.points.air.len() - 1]];
        out[controls.len()] = match self.stretch_now().thermostat {
            None => -1.0,
            Some(t) if self.fan_on => t.off_below_K - top,
            Some(t) => top - t.on_above_K,
        };
    }

    fn fire(&mut self, event: usize, t: f64, y: &[f64]) {
        self.settled = true;
        if event < self.modes.len() {
            self.modes[event] = Mode::Hold;
        } else {
            self.fan_on = !self.fan_on;
            // Another configuration: its heaters may stand otherwise.
            self.settle(t, y);
        }
    }

    fn alarms(&self) -> usize {
        2 * self.configuration().controls.len()
    }

    /// Two alarms a control that holds: it needs more than it has; it needs less than nothing.
    fn alarm_values(&self, ledger_rates: &[f64], out: &mut [f64]) {
        let controls = &self.configuration().controls;
        for ((c, mode), o) in controls
            .iter()
            .zip(&self.modes)
            .zip(out.chunks_exact_mut(2))
        {
            let share = ledger_rates[c.ledger] / c.max_power_W;
            let holds = *mode == Mode::Hold;
            o[0] = if holds { share - 1.0 } else { -1.0 };
            o[1] = if holds { -share } else { -1.0 };
        }
    }

    fn alarm_ledgers(&self, out: &mut Vec<usize>) {
        out.clear();
        out.extend(self.configuration().controls.iter().map(|c| c.ledger));
    }

    fn raise(&mut self, alarm: usize) {
        self.settled = true;
        self.modes[alarm / 2] = if alarm.is_multiple_of(2) {
            Mode::Full
        } else {
            Mode::Off
        };
    }

    /// Twice the stretch's position, plus one while a thermostat's fan rests.
    fn stretch(&self) -> usize {
        2 * self.stretch.unwrap_or(0) + usize::from(!self.fan_on)
    }
}

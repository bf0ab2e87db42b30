//! Evaluates a network at one instant: heat balances, ledgers and their slopes.

use super::air_paths::AirWork;
use super::elements::{INTERNAL, Mode};
use super::{Configuration, Index, Network};

/// Heat that each point gains, W, and what is booked in each ledger, W.
#[derive(Debug)]
pub struct Balance<'a> {
    gains: &'a mut [f64],
    ledgers: &'a mut [f64],
}

impl Balance<'_> {
    /// Gives heat to a point.
    pub fn give(&mut self, point: Index, q_W: f64) {
        self.gains[point] += q_W;
    }

    /// Books heat that enters the audited nodes (negative: leaves).
    pub fn book(&mut self, ledger: usize, q_W: f64) {
        self.ledgers[ledger] += q_W;
    }

    /// Moves heat from one point to another; booked as leaving.
    pub fn transfer(&mut self, from: Index, to: Index, ledger: usize, q_W: f64) {
        self.gains[from] -= q_W;
        self.gains[to] += q_W;
        self.ledgers[ledger] -= q_W;
    }
}

/// Slopes of the balances with every point's temperature, and their rates at fixed temperatures.
#[derive(Debug)]
pub struct Slopes<'a> {
    points: usize,
    gains: &'a mut [f64],
    ledgers: &'a mut [f64],
    gain_rates: &'a mut [f64],
    ledger_rates: &'a mut [f64],
}

impl Slopes<'_> {
    /// d(gain of `point`)/dT(`by`), W/K.
    pub fn give(&mut self, point: Index, by: Index, slope: f64) {
        self.gains[point * self.points + by] += slope;
    }

    /// d(ledger)/dT(`by`), W/K.
    pub fn book(&mut self, ledger: usize, by: Index, slope: f64) {
        self.ledgers[ledger * self.points + by] += slope;
    }

    /// Slope of a transfer, see [`Balance::transfer`].
    pub fn transfer(&mut self, from: Index, to: Index, ledger: usize, by: Index, slope: f64) {
        self.give(from, by, -slope);
        self.give(to, by, slope);
        self.book(ledger, by, -slope);
    }

    /// Explicit change with time of a point's gain, W/s.
    pub fn give_rate(&mut self, point: Index, rate: f64) {
        self.gain_rates[point] += rate;
    }

    /// Explicit change with time of a ledger, W/s.
    pub fn book_rate(&mut self, ledger: usize, rate: f64) {
        self.ledger_rates[ledger] += rate;
    }

    /// Explicit change with time of a transfer, W/s.
    pub fn transfer_rate(&mut self, from: Index, to: Index, ledger: usize, rate: f64) {
        if rate != 0.0 {
            self.give_rate(from, -rate);
            self.give_rate(to, rate);
            self.book_rate(ledger, -rate);
        }
    }
}

/// Room for one evaluation, reused so that nothing is allocated on the way.
#[derive(Debug, Clone)]
pub struct Scratch {
    /// Heat each point gains, W.
    pub gains: Vec<f64>,
    /// Ledgers, W; entry 0 is what moved inside.
    pub ledgers: Vec<f64>,
    /// Slopes of the gains, row by row, W/K.
    pub gain_slopes: Vec<f64>,
    /// Slopes of the ledgers, row by row, W/K.
    pub ledger_slopes: Vec<f64>,
    /// Explicit rates of the gains, W/s.
    pub gain_rates: Vec<f64>,
    /// Explicit rates of the ledgers, W/s.
    pub ledger_rates: Vec<f64>,
    /// Room for the balance of moving air.
    air: AirWork,
}

impl Scratch {
    /// Room for a network.
    #[must_use]
    pub fn new(network: &Network) -> Self {
        let (p, l) = (network.points(), network.ledgers.len());
        Self {
            gains: vec![0.0; p],
            ledgers: vec![0.0; l],
            gain_slopes: vec![0.0; p * p],
            ledger_slopes: vec![0.0; l * p],
            gain_rates: vec![0.0; p],
            ledger_rates: vec![0.0; l],
            air: AirWork::default(),
        }
    }
}

impl Configuration {
    /// Heat balances and ledgers at temperatures `t` (one per point, K) and grown fraction `f`.
    ///
    /// `modes` says what each control is doing; a node that holds gains nothing, and its heater's
    /// ledger gets what balance asks for.
    pub fn balance(&self, network: &Network, t: &[f64], f: f64, modes: &[Mode], s: &mut Scratch) {
        s.gains.fill(0.0);
        s.ledgers.fill(0.0);
        let mut out = Balance {
            gains: &mut s.gains,
            ledgers: &mut s.ledgers,
        };
        for e in &self.conductors {
            e.balance(t, &mut out);
        }
        for e in &self.radiators {
            e.balance(t, &mut out);
        }
        for e in &self.convectors {
            e.balance(t, f, &network.air, &mut out);
        }
        for e in &self.contacts {
            e.balance(t, f, &mut out);
        }
        for e in &self.enclosures {
            e.balance(t, f, &mut out);
        }
        if let Some(e) = &self.air_paths {
            e.balance(t, &mut s.air, &mut out);
        }
        if let Some(e) = &self.plume {
            e.balance(t, f, &network.air, &mut out);
        }
        if let Some(e) = &self.stream {
            e.balance(t, network.reference_K, &mut out);
        }
        for e in &self.sources {
            e.balance(t, &mut out);
        }
        for (c, mode) in self.controls.iter().zip(modes) {
            match mode {
                Mode::Off => {}
                Mode::Full => {
                    out.give(c.node, c.max_power_W);
                    out.book(c.ledger, c.max_power_W);
                }
                Mode::Hold => {
                    let q = -out.gains[c.node];
                    out.give(c.node, q);
                    out.book(c.ledger, q);
                }
            }
        }
    }

    /// Slopes of [`Configuration::balance`]. `t` is used as scratch and left as it was.
    pub fn slopes(
        &self,
        network: &Network,
        t: &mut [f64],
        f: f64,
        f_rate: f64,
        modes: &[Mode],
        s: &mut Scratch,
    ) {
        s.gain_slopes.fill(0.0);
        s.ledger_slopes.fill(0.0);
        s.gain_rates.fill(0.0);
        s.ledger_rates.fill(0.0);
        let points = t.len();
        let mut out = Slopes {
            points,
            gains: &mut s.gain_slopes,
            ledgers: &mut s.ledger_slopes,
            gain_rates: &mut s.gain_rates,
            ledger_rates: &mut s.ledger_rates,
        };
        for e in &self.conductors {
            e.slopes(&mut out);
        }
        for e in &self.radiators {
            e.slopes(t, &mut out);
        }
        for e in &self.convectors {
            e.slopes(t, f, f_rate, &network.air, &mut out);
        }
        for e in &self.contacts {
            e.slopes(t, f, f_rate, &mut out);
        }
        for e in &self.enclosures {
            e.slopes(t, f, f_rate, &mut out);
        }
        if let Some(e) = &self.air_paths {
            e.slopes(t, &mut s.air, &mut out);
        }
        if let Some(e) = &self.plume {
            e.slopes(t, f, f_rate, &network.air, &mut out);
        }
        if let Some(e) = &self.stream {
            e.slopes(&mut out);
        }
        for e in &self.sources {
            e.slopes(&mut out);
        }
        for (c, mode) in self.controls.iter().zip(modes) {
            if *mode == Mode::Hold {
                let row = c.node * points;
                for by in 0..points {
                    let slope = std::mem::take(&mut out.gains[row + by]);
                    out.ledgers[c.ledger * points + by] -= slope;
                }
                let rate = std::mem::take(&mut out.gain_rates[c.node]);
                out.ledger_rates[c.ledger] -= rate;
            }
        }
        // What moved inside is nobody's entry.
        out.ledgers[INTERNAL * points..(INTERNAL + 1) * points].fill(0.0);
        out.ledger_rates[INTERNAL] = 0.0;
    }
}

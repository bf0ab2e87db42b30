//! Evaluates a configuration at one instant: heat balances, ledgers and their slopes.

use super::balance::{Balance, Sink, Slopes, Workspace};
use super::elements::configuration::Configuration;
use super::elements::control::Mode;
use super::elements::law::{Element, Moment, Visitor};
use super::fixed::Network;
use super::parts::INTERNAL;

/// Room for one evaluation, reused so that nothing is allocated on the way. That for slopes, which is large, is made
/// when they are first asked for.
///
/// Ledgers are followed by *meters*, the power of each control by itself.
#[derive(Debug, Clone, Default)]
pub struct Scratch {
    /// Heat each point gains, W.
    pub gains: Vec<f64>,
    /// Ledgers, W, the first of which is what moved inside; then meters, W.
    pub ledgers: Vec<f64>,
    /// Slopes of the gains, row by row, W/K.
    pub gain_slopes: Vec<f64>,
    /// Slopes of ledgers and meters, row by row, W/K.
    pub ledger_slopes: Vec<f64>,
    /// Explicit rates of the gains, W/s.
    pub gain_rates: Vec<f64>,
    /// Explicit rates of ledgers and meters, W/s.
    pub ledger_rates: Vec<f64>,
    room: Workspace,
    first_meter: usize,
}

impl Scratch {
    /// Room for a network and configurations of so many controls.
    #[must_use]
    pub fn new(network: &Network, controls: usize) -> Self {
        let (p, first_meter) = (network.points(), network.ledgers().len());
        let l = first_meter + controls;
        Self {
            gains: vec![0.0; p],
            ledgers: vec![0.0; l],
            gain_slopes: Vec::new(),
            ledger_slopes: Vec::new(),
            gain_rates: Vec::new(),
            ledger_rates: Vec::new(),
            room: Workspace::new(p),
            first_meter,
        }
    }
}

struct Values<'a, 'b> {
    m: &'a Moment<'a>,
    room: &'a mut Workspace,
    out: Balance<'b>,
}

impl Visitor for Values<'_, '_> {
    #[inline(always)]
    fn visit<E: Element>(&mut self, at: usize, element: &E) {
        element.balance(at, self.m, self.room, &mut self.out);
    }
}

struct Rises<'a, 'b> {
    m: &'a Moment<'a>,
    room: &'a mut Workspace,
    out: Slopes<'b>,
}

impl Visitor for Rises<'_, '_> {
    #[inline(always)]
    fn visit<E: Element>(&mut self, at: usize, element: &E) {
        element.slopes(at, self.m, self.room, &mut self.out);
    }
}

impl Configuration {
    /// Heat balances, ledgers and meters at a moment.
    ///
    /// `modes` says what each control is doing; a node that is held gains nothing, and its control's
    /// ledger and meter get what balance asks for.
    pub fn balance(&self, m: &Moment<'_>, modes: &[Mode], s: &mut Scratch) {
        s.gains.fill(0.0);
        s.ledgers.fill(0.0);
        let (ledgers, meters) = s.ledgers.split_at_mut(s.first_meter);
        let mut v = Values {
            m,
            room: &mut s.room,
            out: Balance {
                gains: &mut s.gains,
                ledgers,
            },
        };
        self.each(&mut v);
        let mut out = v.out;
        // Powers that are given come first: those that hold answer to them too.
        for ((c, mode), meter) in self.controls.iter().zip(modes).zip(&mut *meters) {
            if let Mode::Full(way) = mode {
                *meter = c.full_W(*way);
                out.give(c.node(), *meter);
                out.book(c.ledger(), *meter);
            }
        }
        for ((c, mode), meter) in self.controls.iter().zip(modes).zip(meters) {
            if let Mode::Hold(_) = mode {
                *meter = -out.gains[c.node()];
                out.give(c.node(), *meter);
                out.book(c.ledger(), *meter);
            }
        }
    }

    /// Slopes of [`Configuration::balance`].
    pub fn slopes(&self, m: &Moment<'_>, modes: &[Mode], s: &mut Scratch) {
        let (points, rows) = (m.t.len(), s.ledgers.len());
        for (numbers, count) in [
            (&mut s.gain_slopes, points * points),
            (&mut s.ledger_slopes, rows * points),
            (&mut s.gain_rates, points),
            (&mut s.ledger_rates, rows),
        ] {
            numbers.clear();
            numbers.resize(count, 0.0);
        }
        let mut v = Rises {
            m,
            room: &mut s.room,
            out: Slopes {
                points,
                gains: &mut s.gain_slopes,
                ledgers: &mut s.ledger_slopes,
                gain_rates: &mut s.gain_rates,
                ledger_rates: &mut s.ledger_rates,
            },
        };
        self.each(&mut v);
        let out = v.out;
        for (k, (c, mode)) in self.controls.iter().zip(modes).enumerate() {
            if !matches!(mode, Mode::Hold(_)) {
                continue;
            }
            let (row, meter) = (c.node() * points, s.first_meter + k);
            let books = c.ledger() != INTERNAL;
            for by in 0..points {
                let slope = std::mem::take(&mut out.gains[row + by]);
                out.ledgers[meter * points + by] = -slope;
                if books {
                    out.ledgers[c.ledger().0 * points + by] -= slope;
                }
            }
            let rate = std::mem::take(&mut out.gain_rates[c.node()]);
            out.ledger_rates[meter] = -rate;
            if books {
                out.ledger_rates[c.ledger().0] -= rate;
            }
        }
    }
}

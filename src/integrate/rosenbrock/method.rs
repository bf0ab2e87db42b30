//! One step: the problem as it is near the step's begin, and what the rates at its end correct.
//!
//! The problem linearised at the begin is solved without asking for rates (see [`super::chain`]). Then the rates at the end are asked for once. What they differ by from the straight ones, `r`, grows
//! like the square of time, so it moves the end by `h 2 phi3(h J) r`, which two more solutions give:
//! with `W = M / (h gamma) - J`, `s1 = W^-1 r` and `s2 = W^-1 M s1 / (h gamma)`, `w = s1 + q s2` is right for what
//! is slow (`h r / 3`) and for what is fast (`-J^-1 r`).

use super::chain::{Chain, GAMMA, LINKS, Weights};
use crate::integrate::sparse_lu::{Factors, Pattern};
use crate::integrate::{Effort, Linearisation, Options, Piece, System};
use crate::vector::dot;

/// Slopes are kept from step to step while no unknown has moved by more than this many roots of the tolerance, K^0.5:
/// 4 K in studies, 1 K for `check`, over which the coefficients of a chamber change by some per cent. What kept slopes
/// are wrong by goes with how far unknowns have moved times how far a step moves them, hence the root. The
/// correction makes up for most of it, and the error estimate sees it.
pub(in crate::integrate) const KEEP_SLOPES_WITHIN: f64 = 18.0;
/// And for so many steps at most.
pub(in crate::integrate) const MOST_USES: u32 = 12;

/// Of what orders 3 and 2 differ by, how much may be wrong: less (see the chain's tests).
pub(in crate::integrate) const UNSURE_OF_ORDER: f64 = 0.2;
/// `q` above.
pub(in crate::integrate) const SECOND: f64 = 1.0 / (3.0 * GAMMA) - 1.0;
/// Of the correction of slow unknowns, how much may be wrong: were `r` to grow evenly instead of like a square, as
/// it does where slopes are kept, half of it would be missing.
pub(in crate::integrate) const UNSURE_OF_SLOW: f64 = 0.5 * (1.0 + SECOND);
/// The same between a step's ends, of all unknowns: `x` and its square differ by a quarter.
pub(in crate::integrate) const UNSURE_BETWEEN: f64 = 0.25;

/// The method's working room.
pub(super) struct Method {
    pub n: usize,
    /// Ledgers integrated: all or none.
    pub kept: usize,
    /// Unknowns without a rate.
    pub massless: Vec<usize>,
    /// 1 for each unknown with a rate, 0 for others.
    masses: Vec<f64>,
    chain: Chain,
    pub linear: Linearisation,
    pattern: Option<Pattern>,
    factors: Factors,
    /// The chain's links, each of `n`.
    links: Vec<f64>,
    /// The end as the straight problem has it, then what its rates are and what they were to be.
    argument: Vec<f64>,
    end_rates: Vec<f64>,
    end_ledgers: Vec<f64>,
    straight: Vec<f64>,
    first: Vec<f64>,
    second: Vec<f64>,
    /// Rates at the begin of the next step.
    rates: Vec<f64>,
    pub ledger_rates: Vec<f64>,
    /// What errors are multiplied with.
    weights: Vec<f64>,
    /// Of unknowns, then ledgers: rise and the dense output's two.
    rise: Vec<f64>,
    k1: Vec<f64>,
    k2: Vec<f64>,
    pub fresh_slopes_at: f64,
    /// Slopes are kept while no unknown has moved by more than this since `linearised_for`.
    keep_within: f64,
    linearised_for: Vec<f64>,
    pub linearised_at: f64,
    uses_left: u32,
    /// The step that the factors are for.
    factored_for: f64,
    pub fresh_rates_at: f64,
}

impl Method {
    pub fn new<S: System + ?Sized>(system: &S, options: &Options) -> Self {
        let n = system.unknowns();
        let kept = if options.ledgers { system.ledgers() } else { 0 };
        let (w, l) = (n + kept, system.ledgers() + system.meters());
        let massless = system.massless().to_vec();
        let mut masses = vec![1.0; n];
        massless.iter().for_each(|k| masses[*k] = 0.0);
        Self {
            n,
            kept,
            massless,
            masses,
            chain: Chain::new(),
            linear: Linearisation::new(n, l),
            pattern: None,
            factors: Factors::new(n),
            links: vec![0.0; LINKS * n],
            argument: vec![0.0; n],
            end_rates: vec![0.0; n],
            end_ledgers: vec![0.0; l],
            straight: vec![0.0; n],
            first: vec![0.0; n],
            second: vec![0.0; n],
            rates: vec![0.0; n],
            ledger_rates: vec![0.0; l],
            weights: vec![1.0; n],
            rise: vec![0.0; w],
            k1: vec![0.0; w],
            k2: vec![0.0; w],
            fresh_slopes_at: f64::NAN,
            keep_within: KEEP_SLOPES_WITHIN * options.tolerance.sqrt(),
            linearised_for: vec![0.0; n],
            linearised_at: f64::NAN,
            uses_left: 0,
            factored_for: f64::NAN,
            fresh_rates_at: f64::NAN,
        }
    }

    /// One step; returns the largest error estimate of any unknown.
    pub fn step<S: System + ?Sized>(
        &mut self,
        system: &mut S,
        t: f64,
        h: f64,
        y: &[f64],
        effort: &mut Effort,
    ) -> f64 {
        self.slopes_at(system, t, y, effort);
        if self.fresh_rates_at != t {
            self.rates_at(system, t, y, effort);
        }
        let Some(pattern) = &self.pattern else {
            return f64::NAN;
        };
        let per_s = 1.0 / (h * GAMMA);
        if self.factored_for != h {
            self.factored_for = f64::NAN;
            let jacobian = &self.linear.jacobian;
            if !self.factors.factor(pattern, per_s, &self.masses, jacobian) {
                return f64::NAN;
            }
            self.factored_for = h;
        }
        let n = self.n;
        let drift = &self.linear.with_time[..n];
        // The chain. Its matrix is h gamma times the factored one.
        let along = h * GAMMA;
        for k in 0..LINKS {
            let (done, rest) = self.links.split_at_mut(k * n);
            let link = &mut rest[..n];
            match done.len().checked_sub(n) {
                None => {
                    for i in 0..n {
                        link[i] = per_s * (self.rates[i] + along * drift[i]);
                    }
                }
                Some(before) => {
                    let before = &done[before..];
                    for i in 0..n {
                        link[i] = per_s * (self.masses[i] * before[i] + along * drift[i]);
                    }
                }
            }
            self.factors.solve(pattern, link);
        }
        // Its combinations.
        let chain = &self.chain;
        let slope = Chain::slope(&chain.rise);
        let (of_f0, of_drift) = (1.0 + slope.of_f0, h * (1.0 + slope.of_drift));
        let mut p = [0.0; LINKS];
        for i in 0..n {
            for (k, p) in p.iter_mut().enumerate() {
                *p = self.links[k * n + i];
            }
            self.rise[i] = h * sum(&p, &chain.rise);
            self.k1[i] = h * sum(&p, &chain.dense[0]);
            self.k2[i] = h * sum(&p, &chain.dense[1]);
            self.straight[i] = of_f0 * self.rates[i]
                + of_drift * drift[i]
                + self.masses[i] * sum(&p, &slope.of_links);
            self.argument[i] = y[i] + self.rise[i];
            // Its error, until it is weighed.
            self.second[i] = UNSURE_OF_ORDER * h * sum(&p, &chain.error);
        }
        // One look at the end, and what the straight lines missed.
        let (rates, ledgers) = (&mut self.end_rates, &mut self.end_ledgers);
        system.rates(t + h, &self.argument, rates, ledgers);
        effort.evaluations += 1;
        system.error_weights(&mut self.weights);
        let mut error = 0.0;
        for i in 0..n {
            error = larger(error, self.weights[i] * self.second[i]);
            self.first[i] = self.end_rates[i] - self.straight[i];
        }
        self.factors.solve(pattern, &mut self.first);
        for i in 0..n {
            self.second[i] = per_s * self.masses[i] * self.first[i];
        }
        self.factors.solve(pattern, &mut self.second);
        self.book(h);
        for i in 0..n {
            let (s1, s2) = (self.first[i], self.second[i]);
            let w = s1 + SECOND * s2;
            // Rates at the corrected end.
            self.end_rates[i] =
                self.straight[i] + per_s * self.masses[i] * ((1.0 - SECOND) * s1 + SECOND * s2);
            // What of it is slow grows like the cube of time, the rest like the square.
            self.rise[i] += w;
            self.k1[i] -= w;
            self.k2[i] -= (1.0 + SECOND) * s2;
            error = larger(error, self.weights[i] * UNSURE_OF_SLOW * s2);
            error = larger(error, self.weights[i] * UNSURE_BETWEEN * w);
            self.first[i] = w;
        }
        for k in &self.linear.ledgers {
            let row = &self.linear.ledger_jacobian[k * n..(k + 1) * n];
            self.end_ledgers[*k] += dot(row, &self.first);
        }
        error
    }

    /// Books in the ledgers, which feed nothing back, what the same combinations are of their rates.
    fn book(&mut self, h: f64) {
        let (n, chain, linear) = (self.n, &self.chain, &self.linear);
        if self.kept == 0 {
            return;
        }
        let hg = h * GAMMA;
        let outputs = [
            (&mut self.rise, &chain.rise),
            (&mut self.k1, &chain.dense[0]),
            (&mut self.k2, &chain.dense[1]),
        ];
        for (out, weights) in outputs {
            let integral = Chain::integral(weights);
            for i in 0..n {
                let links = (0..LINKS).map(|k| self.links[k * n + i] * integral.of_links[k]);
                self.argument[i] = h * hg * links.sum::<f64>();
            }
            for k in 0..self.kept {
                let row = &linear.ledger_jacobian[k * n..(k + 1) * n];
                out[n + k] = h * integral.of_f0 * self.ledger_rates[k]
                    + h * h * integral.of_drift * linear.ledger_with_time[k]
                    + dot(row, &self.argument);
            }
        }
        for k in 0..self.kept {
            let row = &linear.ledger_jacobian[k * n..(k + 1) * n];
            let straight =
                self.ledger_rates[k] + h * linear.ledger_with_time[k] + dot(row, &self.rise[..n]);
            let missed = self.end_ledgers[k] - straight;
            let s1 = hg * (missed + dot(row, &self.first));
            let s2 = s1 + hg * dot(row, &self.second);
            let w = s1 + SECOND * s2;
            self.rise[n + k] += w;
            self.k1[n + k] -= w;
            self.k2[n + k] -= (1.0 + SECOND) * s2;
        }
    }

    /// Slopes at the begin of a step. Those with the unknowns are kept from an earlier step while they
    /// are nearly the same; the error estimate sees it where they are not near enough.
    pub fn slopes_at<S: System + ?Sized>(
        &mut self,
        system: &mut S,
        t: f64,
        y: &[f64],
        effort: &mut Effort,
    ) {
        // A rejected step is tried again from the same place: its slopes still hold.
        if self.fresh_slopes_at == t {
            return;
        }
        self.fresh_slopes_at = t;
        let near = |(a, b): (&f64, &f64)| (a - b).abs() <= self.keep_within;
        if self.uses_left > 0 && self.linearised_for.iter().zip(y).all(near) {
            self.uses_left -= 1;
            if system.renew_drift(t, y, &mut self.linear) {
                return;
            }
        }
        system.linearise(t, y, &mut self.linear);
        effort.jacobians += 1;
        self.linearised_for.copy_from_slice(y);
        self.linearised_at = t;
        self.uses_left = MOST_USES - 1;
        self.factored_for = f64::NAN;
        self.fit_pattern();
    }

    /// Asks for new slopes before the next step.
    pub fn forget_slopes(&mut self) {
        self.uses_left = 0;
        self.fresh_slopes_at = f64::NAN;
    }

    /// Rates at the begin of the next step; alarms look at them too.
    pub fn rates_at<S: System + ?Sized>(
        &mut self,
        system: &mut S,
        t: f64,
        y: &[f64],
        effort: &mut Effort,
    ) {
        system.rates(t, y, &mut self.rates, &mut self.ledger_rates);
        effort.evaluations += 1;
        self.fresh_rates_at = t;
    }

    /// Rates at the end of the step just made, which ends at `t`.
    pub fn carry_rates_to(&mut self, t: f64) {
        self.rates.copy_from_slice(&self.end_rates);
        self.ledger_rates.copy_from_slice(&self.end_ledgers);
        self.fresh_rates_at = t;
    }

    fn fit_pattern(&mut self) {
        let jacobian = &self.linear.jacobian;
        if self.pattern.as_ref().is_some_and(|p| p.covers(jacobian)) {
            return;
        }
        let entries: Vec<bool> = jacobian.iter().map(|v| *v != 0.0).collect();
        self.pattern = Some(match self.pattern.take() {
            None => Pattern::new(self.n, &entries),
            Some(p) => p.joined(&entries),
        });
    }

    /// The step just made, as a cubic.
    pub fn piece(&self, t: f64, h: f64, y: &[f64], ledgers: &[f64], stretch: usize) -> Piece {
        let w = self.n + self.kept;
        let mut c = Vec::with_capacity(4 * w);
        c.extend_from_slice(y);
        c.extend_from_slice(ledgers);
        for i in 0..w {
            c.push(c[i] + self.rise[i]);
        }
        c.extend_from_slice(&self.k1);
        c.extend_from_slice(&self.k2);
        Piece {
            begin_s: t,
            length_s: h,
            stretch,
            coefficients: c,
        }
    }

    /// Advances the ledgers to place `x` of the step just made.
    pub fn totals_at(&self, x: f64, ledgers: &mut [f64]) {
        let n = self.n;
        for (k, total) in ledgers.iter_mut().enumerate() {
            let i = n + k;
            *total += x * (self.rise[i] + (1.0 - x) * (self.k1[i] + x * self.k2[i]));
        }
    }
}

fn sum(links: &Weights, weights: &Weights) -> f64 {
    links.iter().zip(weights).map(|(p, w)| p * w).sum()
}

/// The larger in size. What is not a number stays: `NaN > x` never holds.
fn larger(most: f64, value: f64) -> f64 {
    let size = value.abs();
    if most.is_nan() || most > size {
        most
    } else {
        size
    }
}

#[cfg(test)]
mod tests {
    use super::larger;

    /// A node that is held has no error, and a step that went nowhere must not pass for its sake.
    #[test]
    fn an_error_that_is_no_number_is_not_forgotten() {
        let largest = |errors: &[f64]| errors.iter().fold(0.0, |most, e| larger(most, *e));
        assert_eq!(largest(&[0.1, -0.3, 0.0]), 0.3);
        for errors in [[f64::NAN, 0.0], [0.0, f64::NAN]] {
            assert!(largest(&errors).is_nan(), "{errors:?}");
        }
    }
}

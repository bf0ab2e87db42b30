//! A step of [`rosenbrock`](super::super::rosenbrock)'s method in lanes.

use super::abreast::Slopes;
use super::factors::Factors;
use crate::integrate::rosenbrock::chain::{Chain, GAMMA, LINKS, Weights};
use crate::integrate::rosenbrock::method::{
    SECOND, UNSURE_BETWEEN, UNSURE_OF_ORDER, UNSURE_OF_SLOW,
};
use crate::wide::{LANES, Wide};

/// The method's working room.
#[derive(Debug)]
pub(super) struct Method {
    n: usize,
    chain: Chain,
    pub slopes: Slopes,
    factors: Factors,
    pub step_s: Wide,
    /// Where the step begins, its rates, and how these change with time at fixed unknowns.
    pub y: Vec<Wide>,
    pub rates: Vec<Wide>,
    pub with_time: Vec<Wide>,
    /// The chain's links, each of `n`.
    links: Vec<Wide>,
    /// What the rates at the end were to be, how unsure the chain is, and what the rates correct.
    straight: Vec<Wide>,
    unsure: Vec<Wide>,
    first: Vec<Wide>,
    second: Vec<Wide>,
    /// The step's end, and the rates there.
    pub end: Vec<Wide>,
    pub end_rates: Vec<Wide>,
    /// The two other coefficients of the step's cubic.
    pub k1: Vec<Wide>,
    pub k2: Vec<Wide>,
    /// What errors are multiplied with.
    pub weights: Vec<Wide>,
    /// The largest error of any unknown.
    pub error: Wide,
}

impl Method {
    pub fn new(n: usize) -> Self {
        let zeros = || vec![Wide::ZERO; n];
        Self {
            n,
            chain: Chain::new(),
            slopes: Slopes::default(),
            factors: Factors::new(n, &[]),
            step_s: Wide::all(1.0),
            y: zeros(),
            rates: zeros(),
            with_time: zeros(),
            links: vec![Wide::ZERO; LINKS * n],
            straight: zeros(),
            unsure: zeros(),
            first: zeros(),
            second: zeros(),
            end: zeros(),
            end_rates: zeros(),
            k1: zeros(),
            k2: zeros(),
            weights: vec![Wide::all(1.0); n],
            error: Wide::ZERO,
        }
    }

    /// Makes place for entries that are new.
    pub fn fit(&mut self) {
        if !self.factors.cover(&self.slopes) {
            self.factors = Factors::new(self.n, &self.slopes.places);
        }
    }

    /// One over the smallest time constant of a lane, 1/s.
    pub fn fastest_per_s(&self, lane: usize) -> f64 {
        let entries = self.slopes.places.iter().zip(&self.slopes.entries);
        let diagonal = entries.filter(|((i, j), _)| i == j);
        diagonal.fold(0.0, |most, (_, e)| f64::max(most, e.0[lane].abs()))
    }

    #[inline(always)]
    pub fn factor(&mut self) {
        let per_s = Wide::all(1.0 / GAMMA) / self.step_s;
        self.factors.factor(per_s, &self.slopes.entries);
    }

    /// The end as the straight problem has it.
    #[inline(always)]
    pub fn go_straight(&mut self) {
        let n = self.n;
        let h = self.step_s;
        let per_s = Wide::all(1.0 / GAMMA) / h;
        let (rates, with_time) = (&self.rates[..n], &self.with_time[..n]);
        // The factored matrix is 1/(h gamma) times the chain's.
        for k in 0..LINKS {
            let (done, rest) = self.links.split_at_mut(k * n);
            let link = &mut rest[..n];
            match done.len().checked_sub(n) {
                None => self
                    .factors
                    .solve(|i| with_time[i].plus(per_s, rates[i]), link),
                Some(at) => {
                    let before = &done[at..];
                    self.factors
                        .solve(|i| with_time[i].plus(per_s, before[i]), link);
                }
            }
        }
        let chain = &self.chain;
        let slope = Chain::slope(&chain.rise);
        let of_f0 = Wide::all(1.0 + slope.of_f0);
        let of_drift = h * (1.0 + slope.of_drift);
        for i in 0..n {
            let p: [Wide; LINKS] = std::array::from_fn(|k| self.links[k * n + i]);
            self.end[i] = self.y[i].plus(h, sum(&p, &chain.rise));
            self.k1[i] = h * sum(&p, &chain.dense[0]);
            self.k2[i] = h * sum(&p, &chain.dense[1]);
            self.unsure[i] = h * sum(&p, &chain.error) * UNSURE_OF_ORDER;
            self.straight[i] = sum(&p, &slope.of_links)
                .plus(of_f0, rates[i])
                .plus(of_drift, with_time[i]);
        }
    }

    /// Corrects the end from the rates found there, which are `end_rates`.
    #[inline(always)]
    pub fn correct(&mut self) {
        let n = self.n;
        let per_s = Wide::all(1.0 / GAMMA) / self.step_s;
        let (ends, straight) = (&self.end_rates[..n], &self.straight[..n]);
        self.factors
            .solve(|i| ends[i] - straight[i], &mut self.first);
        let first = &self.first[..n];
        self.factors.solve(|i| per_s * first[i], &mut self.second);
        let mut error = Wide::ZERO;
        for i in 0..n {
            let (s1, s2) = (first[i], self.second[i]);
            let w = s1.plus(Wide::all(SECOND), s2);
            let past = (s1 * (1.0 - SECOND)).plus(Wide::all(SECOND), s2);
            self.end_rates[i] = self.straight[i].plus(per_s, past);
            self.end[i] = self.end[i] + w;
            self.k1[i] = self.k1[i] - w;
            self.k2[i] = self.k2[i].less(Wide::all(1.0 + SECOND), s2);
            let unsure = [self.unsure[i], s2 * UNSURE_OF_SLOW, w * UNSURE_BETWEEN];
            for size in unsure {
                let own = size.abs() * self.weights[i];
                // What is no number is the largest error, and stays it.
                for l in 0..LANES {
                    let is_larger = (own.0[l] > error.0[l]) | own.0[l].is_nan();
                    error.0[l] = if is_larger { own.0[l] } else { error.0[l] };
                }
            }
        }
        self.error = error;
    }
}

#[inline(always)]
fn sum(links: &[Wide; LINKS], weights: &Weights) -> Wide {
    let mut all = links[0] * weights[0];
    for k in 1..LINKS {
        all = all.plus(Wide::all(weights[k]), links[k]);
    }
    all
}

//! A step of [`rosenbrock`](super::super::rosenbrock)'s method in lanes.

use super::abreast::Slopes;
use super::factors::Factors;
use crate::integrate::rosenbrock::chain::{Chain, GAMMA, LINKS, Weights};
use crate::integrate::rosenbrock::method::{
    SECOND, UNSURE_BETWEEN, UNSURE_OF_ORDER, UNSURE_OF_SLOW,
};
use crate::wide::{LANES, Narrow, Wide};

/// The method's working room.
#[derive(Debug)]
pub(super) struct Method {
    n: usize,
    chain: Chain,
    pub slopes: Slopes,
    factors: Factors,
    pub step_s: Wide,
    /// Where slopes were worked out, and how far the unknown is from there that has moved furthest.
    linearised_for: Vec<Wide>,
    pub moved: Wide,
    /// Where the step begins, its rates, and how these change with time at fixed unknowns.
    pub y: Vec<Wide>,
    pub rates: Vec<Wide>,
    pub with_time: Vec<Wide>,
    /// The chain's links, each of `n`.
    links: Vec<Narrow>,
    /// What the rates at the end were to be, how unsure the chain is, and what the rates correct.
    straight: Vec<Wide>,
    unsure: Vec<Narrow>,
    first: Vec<Narrow>,
    second: Vec<Narrow>,
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
        let narrow = || vec![Narrow::ZERO; n];
        Self {
            n,
            chain: Chain::new(),
            slopes: Slopes::default(),
            factors: Factors::new(n, &[]),
            step_s: Wide::all(1.0),
            linearised_for: zeros(),
            moved: Wide::ZERO,
            y: zeros(),
            rates: zeros(),
            with_time: zeros(),
            links: vec![Narrow::ZERO; LINKS * n],
            straight: zeros(),
            unsure: narrow(),
            first: narrow(),
            second: narrow(),
            end: zeros(),
            end_rates: zeros(),
            k1: zeros(),
            k2: zeros(),
            weights: vec![Wide::all(1.0); n],
            error: Wide::ZERO,
        }
    }

    /// Slopes have been worked out where the step begins; makes place for entries that are new.
    pub fn has_slopes(&mut self) {
        self.linearised_for.copy_from_slice(&self.y);
        if !self.factors.cover(&self.slopes) {
            self.factors = Factors::new(self.n, &self.slopes.places);
        }
    }

    /// How far any unknown has moved from where slopes were worked out.
    #[inline(always)]
    pub fn see_what_moved(&mut self) {
        self.moved = Wide::ZERO;
        for (y, then) in self.y.iter().zip(&self.linearised_for) {
            self.moved = self.moved.max((*y - *then).abs());
        }
    }

    /// One over the smallest time constant of a lane, 1/s.
    pub fn fastest_per_s(&self, lane: usize) -> f64 {
        let entries = self.slopes.places.iter().zip(&self.slopes.entries);
        let diagonal = entries.filter(|((i, j), _)| i == j);
        diagonal.fold(0.0, |most, (_, e)| {
            f64::max(most, f64::from(e.0[lane].abs()))
        })
    }

    /// What the factored matrix has on its diagonal beside slopes, 1/s: it is 1/(h gamma) times the chain's.
    #[inline(always)]
    fn per_s(&self) -> Narrow {
        (Wide::all(1.0 / GAMMA) / self.step_s).narrow()
    }

    #[inline(always)]
    pub fn factor(&mut self) {
        self.factors.factor(self.per_s(), &self.slopes.entries);
    }

    /// The end as the straight problem has it.
    #[inline(always)]
    pub fn go_straight(&mut self) {
        let n = self.n;
        let h = self.step_s;
        let per_s = self.per_s();
        let (rates, with_time) = (&self.rates[..n], &self.with_time[..n]);
        let drift = &mut self.first[..n];
        for i in 0..n {
            drift[i] = with_time[i].narrow();
        }
        for k in 0..LINKS {
            let (done, rest) = self.links.split_at_mut(k * n);
            let link = &mut rest[..n];
            match done.len().checked_sub(n) {
                None => self
                    .factors
                    .solve(|i| drift[i].plus(per_s, rates[i].narrow()), link),
                Some(at) => {
                    let before = &done[at..];
                    self.factors
                        .solve(|i| drift[i].plus(per_s, before[i]), link);
                }
            }
        }
        let chain = &self.chain;
        let slope = Chain::slope(&chain.rise);
        let of_f0 = Wide::all(1.0 + slope.of_f0);
        let of_drift = h * (1.0 + slope.of_drift);
        for i in 0..n {
            let p: [Narrow; LINKS] = std::array::from_fn(|k| self.links[k * n + i]);
            self.end[i] = self.y[i].plus(h, sum(&p, &chain.rise).wide());
            self.k1[i] = h * sum(&p, &chain.dense[0]).wide();
            self.k2[i] = h * sum(&p, &chain.dense[1]).wide();
            self.unsure[i] = sum(&p, &chain.error) * (h * UNSURE_OF_ORDER).narrow();
            self.straight[i] = sum(&p, &slope.of_links)
                .wide()
                .plus(of_f0, rates[i])
                .plus(of_drift, with_time[i]);
        }
    }

    /// Corrects the end from the rates found there, which are `end_rates`.
    #[inline(always)]
    pub fn correct(&mut self) {
        let n = self.n;
        let per_s = self.per_s();
        let (ends, straight) = (&self.end_rates[..n], &self.straight[..n]);
        self.factors
            .solve(|i| (ends[i] - straight[i]).narrow(), &mut self.first);
        let first = &self.first[..n];
        self.factors.solve(|i| per_s * first[i], &mut self.second);
        let mut error = Narrow::ZERO;
        for i in 0..n {
            let (s1, s2) = (first[i], self.second[i]);
            let w = s1.plus(Narrow::all(SECOND as f32), s2);
            let past = (s1 * (1.0 - SECOND) as f32).plus(Narrow::all(SECOND as f32), s2);
            self.end_rates[i] = self.straight[i] + (per_s * past).wide();
            self.end[i] = self.end[i] + w.wide();
            self.k1[i] = self.k1[i] - w.wide();
            self.k2[i] = self.k2[i] - (s2 * (1.0 + SECOND) as f32).wide();
            let unsure = [
                self.unsure[i],
                s2 * UNSURE_OF_SLOW as f32,
                w * UNSURE_BETWEEN as f32,
            ];
            let weight = self.weights[i].narrow();
            for size in unsure {
                let own = size.abs() * weight;
                // What is no number is the largest error, and stays it.
                for l in 0..LANES {
                    let is_larger = (own.0[l] > error.0[l]) | own.0[l].is_nan();
                    error.0[l] = if is_larger { own.0[l] } else { error.0[l] };
                }
            }
        }
        self.error = error.wide();
    }
}

#[inline(always)]
fn sum(links: &[Narrow; LINKS], weights: &Weights) -> Narrow {
    let mut all = links[0] * weights[0] as f32;
    for k in 1..LINKS {
        all = all.plus(Narrow::all(weights[k] as f32), links[k]);
    }
    all
}

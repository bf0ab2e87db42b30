//! A step of [`rosenbrock`](super::super::rosenbrock)'s method in lanes.

use super::abreast::Slopes;
use super::factors::{Factors, MOST_UNKNOWNS, Solution};
use crate::integrate::pace::EXPONENT;
use crate::integrate::rosenbrock::chain::{Chain, GAMMA, LINKS, Weights};
use crate::integrate::rosenbrock::method::{
    SECOND, UNSURE_BETWEEN, UNSURE_OF_ORDER, UNSURE_OF_SLOW,
};
use crate::wide::{Narrow, Powers, Wide};
use std::sync::LazyLock;

static POWERS: LazyLock<Powers> = LazyLock::new(Powers::new);

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
    /// The chain's links.
    links: [Box<Solution>; LINKS],
    /// Room for two solutions.
    first: Box<Solution>,
    second: Box<Solution>,
    /// What sums of links come to, one unknown after the other.
    sums: Vec<Sums>,
    /// What the rates at the end were to be, and by how much rates there correct the end.
    straight: Vec<Wide>,
    pub corrected: Vec<Narrow>,
    /// The step's end, and the rates there.
    pub end: Vec<Wide>,
    pub end_rates: Vec<Wide>,
    /// The two other coefficients of the step's cubic.
    pub k1: Vec<Wide>,
    pub k2: Vec<Wide>,
    /// What errors are multiplied with.
    pub weights: Vec<Narrow>,
    /// The largest error of any unknown, and [`root`](crate::integrate::pace::root) of it to six digits.
    pub error: Wide,
    pub error_root: Wide,
    powers: &'static Powers,
}

/// Of one unknown: its rise over the step, the two other coefficients of the cubic, how unsure the chain is, and of the
/// rate at the end what links say.
#[derive(Debug, Clone, Copy)]
struct Sums {
    rise: Narrow,
    k1: Narrow,
    k2: Narrow,
    unsure: Narrow,
    rate: Narrow,
}

impl Sums {
    const NONE: Self = Self {
        rise: Narrow::ZERO,
        k1: Narrow::ZERO,
        k2: Narrow::ZERO,
        unsure: Narrow::ZERO,
        rate: Narrow::ZERO,
    };
}

impl Method {
    pub fn new(n: usize) -> Self {
        let zeros = || vec![Wide::ZERO; n];
        let solution = || Box::new([Narrow::ZERO; MOST_UNKNOWNS]);
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
            links: std::array::from_fn(|_| solution()),
            first: solution(),
            second: solution(),
            sums: vec![Sums::NONE; n],
            straight: zeros(),
            corrected: vec![Narrow::ZERO; n],
            end: zeros(),
            end_rates: zeros(),
            k1: zeros(),
            k2: zeros(),
            weights: vec![Narrow::all(1.0); n],
            error: Wide::ZERO,
            error_root: Wide::ZERO,
            powers: &POWERS,
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
    ///
    /// In passes from memory to memory, narrow numbers and wide ones apart: so eight of them go through one register.
    #[inline(always)]
    pub fn go_straight(&mut self) {
        let n = self.n;
        let (h, per_s) = (self.step_s, self.per_s());
        let (y, rates, with_time) = (&self.y[..n], &self.rates[..n], &self.with_time[..n]);
        let (drift, link) = (&mut *self.first, &mut *self.second);
        let begin = rates.iter().zip(with_time).zip(self.factors.places());
        for ((rate, with_time), at) in begin {
            link[at as usize] = rate.narrow();
            drift[at as usize] = with_time.narrow();
        }
        for links in &mut self.links {
            for (link, drift) in link[..n].iter_mut().zip(&drift[..n]) {
                *link = drift.plus(per_s, *link);
            }
            self.factors.solve(link);
            links[..n].copy_from_slice(&link[..n]);
        }
        let chain = &self.chain;
        let slope = Chain::slope(&chain.rise);
        let h_narrow = h.narrow();
        let weigh = |weights: &Weights, by: Narrow| weights.map(|weight| by * weight as f32);
        let rise = weigh(&chain.rise, h_narrow);
        let dense = [0, 1].map(|k| weigh(&chain.dense[k], h_narrow));
        let unsure = weigh(&chain.error, h_narrow * UNSURE_OF_ORDER as f32);
        let of_links = weigh(&slope.of_links, Narrow::all(1.0));
        let links = self.links.each_ref();
        for (sums, at) in self.sums.iter_mut().zip(self.factors.places()) {
            let p = links.map(|link| link[at as usize]);
            *sums = Sums {
                rise: sum(&p, &rise),
                k1: sum(&p, &dense[0]),
                k2: sum(&p, &dense[1]),
                unsure: sum(&p, &unsure),
                rate: sum(&p, &of_links),
            };
        }
        let of_f0 = Wide::all(1.0 + slope.of_f0);
        let of_drift = h * (1.0 + slope.of_drift);
        let ends = self.end.iter_mut().zip(&mut self.straight);
        let cubics = self.k1.iter_mut().zip(&mut self.k2);
        let begins = y.iter().zip(rates).zip(with_time);
        for ((((end, straight), (k1, k2)), ((y, rate), with_time)), sums) in
            ends.zip(cubics).zip(begins).zip(&self.sums)
        {
            *end = *y + sums.rise.wide();
            *k1 = sums.k1.wide();
            *k2 = sums.k2.wide();
            let rates = sums.rate.wide();
            *straight = rates.plus(of_f0, *rate).plus(of_drift, *with_time);
        }
    }

    /// Corrects the end from the rates found there, which are `end_rates`.
    #[inline(always)]
    pub fn correct(&mut self) {
        let n = self.n;
        let per_s = self.per_s();
        let (first, second) = (&mut *self.first, &mut *self.second);
        let missed = self.end_rates.iter().zip(&self.straight);
        for ((rate, straight), at) in missed.zip(self.factors.places()) {
            first[at as usize] = (*rate - *straight).narrow();
        }
        self.factors.solve(first);
        for (second, first) in second[..n].iter_mut().zip(&first[..n]) {
            *second = per_s * *first;
        }
        self.factors.solve(second);
        let (mut error, mut all) = (Narrow::ZERO, Narrow::ZERO);
        let each = self.sums.iter_mut().zip(&mut self.corrected);
        for (((sums, corrected), weight), at) in each.zip(&self.weights).zip(self.factors.places())
        {
            let (s1, s2) = (first[at as usize], second[at as usize]);
            let w = s1.plus(Narrow::all(SECOND as f32), s2);
            let past = (s1 * (1.0 - SECOND) as f32).plus(Narrow::all(SECOND as f32), s2);
            let slow = (s2 * UNSURE_OF_SLOW as f32).abs();
            let between = (w * UNSURE_BETWEEN as f32).abs();
            let size = sums.unsure.abs().max(slow).max(between);
            error = (size * *weight).max(error);
            all = all + (w + sums.unsure);
            *corrected = w;
            sums.rate = per_s * past;
            sums.k2 = s2 * (1.0 + SECOND) as f32;
        }
        // What is no number is larger than none; it is not lost in a sum.
        let error = error + all * 0.0;
        let root = (error.log2(self.powers) * EXPONENT as f32).exp2(self.powers);
        (self.error, self.error_root) = (error.wide(), root.wide());
        let ends = self.end.iter_mut().zip(&mut self.end_rates);
        let cubics = self.k1.iter_mut().zip(&mut self.k2);
        let corrections = self.sums.iter().zip(&self.corrected).zip(&self.straight);
        for (((end, rate), (k1, k2)), ((sums, corrected), straight)) in
            ends.zip(cubics).zip(corrections)
        {
            *rate = *straight + sums.rate.wide();
            *end = *end + corrected.wide();
            *k1 = *k1 - corrected.wide();
            *k2 = *k2 - sums.k2.wide();
        }
    }
}

#[inline(always)]
fn sum(links: &[Narrow; LINKS], weights: &[Narrow; LINKS]) -> Narrow {
    let mut all = links[0] * weights[0];
    for k in 1..LINKS {
        all = all.plus(weights[k], links[k]);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is no number in one lane makes that lane's error none, and no other's.
    #[test]
    fn what_is_no_number_is_an_error_in_its_lane() {
        for (unknown, no_number) in [(0, f64::NAN), (1, f64::NAN), (1, f64::INFINITY)] {
            let mut m = Method::new(2);
            m.slopes.places = vec![(0, 0), (1, 1)];
            m.slopes.entries = vec![Narrow::all(-1e-3), Narrow::all(-1e-2)];
            m.has_slopes();
            m.step_s = Wide::all(60.0);
            m.rates = vec![Wide::all(0.1), Wide::all(-0.2)];
            m.factor();
            m.go_straight();
            m.end_rates = m.straight.iter().map(|rate| *rate + 1e-3).collect();
            m.end_rates[unknown].0[3] = no_number;
            m.correct();
            for lane in 0..crate::wide::LANES {
                let error = m.error.0[lane];
                assert_eq!(error.is_nan(), lane == 3, "lane {lane}: {error}");
                assert!(lane == 3 || error > 0.0);
                let root = m.error_root.0[lane] / crate::integrate::pace::root(error);
                assert!(lane == 3 || (root - 1.0).abs() < 1e-6, "{root}");
            }
        }
    }
}

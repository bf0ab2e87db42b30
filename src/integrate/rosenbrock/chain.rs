//! A step on a linear problem: four solutions with one matrix, one out of the other.
//!
//! On `M v' = f0 + J v + d t`, `v = 0` at the step's begin, the links are
//! `(M - h gamma J) p_k = M p_(k-1) + h gamma d`, with `f0` in the place of `M p_0`. Everything else is a sum of
//! them: the rise over the step, its dense output, its error, and `J` times each without a product. For one
//! rate `lambda`, `z = h lambda`, a sum with weights `c_k` answers to `f0` with `sum c_k / (1 - gamma z)^k`, where
//! the exact solution has `phi1(z) = (e^z - 1) / z` at the end and `x phi1(x z)` at place `x`; what it answers
//! to `d` follows (Hairer and Wanner, Solving Ordinary Differential Equations II, 2nd edition, Springer 1996, sections
//! IV.3 and IV.7: methods with one pole).
//!
//! Weights follow from what is asked of them. The rise: order 3, and what decays at once is gone at the
//! end (L-stable). The dense output, powers of `x`: order 3, and what decays at once does so along
//! [`AT_ONCE`]. Those limits and [`GAMMA`] were chosen for what a chamber asks for every hour: where the slope of
//! the air's temperature around something changes by 1 K a step, it is at most 0.004 K off at the end and
//! 0.016 K inside the step, however fast it answers.

use nalgebra::{Matrix4, Vector4};

/// Solutions a step.
pub(in crate::integrate) const LINKS: usize = 4;
/// The pole is one over it.
pub(in crate::integrate) const GAMMA: f64 = 0.26;
/// Powers of `x` along which what decays at once does so.
const AT_ONCE: [f64; 3] = [10.0, -22.0, 13.0];

/// Weights of the links; `h` times the sum is meant.
pub(in crate::integrate) type Weights = [f64; LINKS];

/// The chain's sums.
#[derive(Debug, Clone)]
pub(in crate::integrate) struct Chain {
    /// Rise over the step.
    pub rise: Weights,
    /// What it differs by from that of the first three links, which is of order 2.
    pub error: Weights,
    /// The dense output's two, see [`crate::integrate::Piece`].
    pub dense: [Weights; 2],
}

/// `of_f0 f0 + h of_drift d + sum of_links p_k`.
#[derive(Debug, Clone)]
pub(in crate::integrate) struct Sum {
    pub of_f0: f64,
    pub of_drift: f64,
    pub of_links: Weights,
}

impl Chain {
    pub fn new() -> Self {
        let powers = [0, 1, 2].map(|power: usize| {
            let mut exact = [0.0; 3];
            exact[power] = [1.0, 0.5, 1.0 / 6.0][power];
            weights(exact, AT_ONCE[power])
        });
        let rise: Weights = std::array::from_fn(|k| powers.iter().map(|p| p[k]).sum());
        let lower = lower(GAMMA);
        Self {
            error: std::array::from_fn(|k| rise[k] - lower[k]),
            dense: [
                std::array::from_fn(|k| powers[0][k] - rise[k]),
                powers[2].map(|w| -w),
            ],
            rise,
        }
    }

    /// `J` times `h sum weights p_k`; the links' part is to be multiplied with the masses.
    pub fn slope(weights: &Weights) -> Sum {
        let next = |k: usize| weights.get(k + 1).copied().unwrap_or(0.0);
        Sum {
            of_f0: -weights[0] / GAMMA,
            of_drift: -weights.iter().sum::<f64>(),
            of_links: std::array::from_fn(|k| (weights[k] - next(k)) / GAMMA),
        }
    }

    /// For `h sum weights p_k = h of_f0 f0 + h2 of_drift d + J (h2 gamma sum of_links p_k)`: what is booked in ledgers
    /// goes by it.
    pub fn integral(weights: &Weights) -> Sum {
        let mut of_links = *weights;
        for k in (0..LINKS - 1).rev() {
            of_links[k] += of_links[k + 1];
        }
        Sum {
            of_f0: of_links[0],
            of_drift: GAMMA * of_links.iter().sum::<f64>(),
            of_links,
        }
    }
}

/// Coefficient of `z^j` in `(1 - gamma z)^-k`.
fn term(k: usize, j: usize) -> f64 {
    let binomials = (1..=j).map(|i| (k + i - 1) as f64 / i as f64);
    binomials.product::<f64>() * GAMMA.powi(j as i32)
}

/// Weights whose sum begins with these powers of `z`, and goes like `-at_once / z` far to the left.
fn weights(begin: [f64; 3], at_once: f64) -> Weights {
    let rows = Matrix4::from_fn(|row, k| match row {
        0..3 => term(k + 1, row),
        _ => f64::from(u8::from(k == 0)),
    });
    let [a, b, c] = begin;
    let asked = Vector4::new(a, b, c, at_once * GAMMA);
    // The first three rows are a triangle of binomials: there is always one answer.
    rows.lu().solve(&asked).unwrap_or_default().into()
}

/// The first three links by themselves: order 2, gone at the end.
fn lower(first: f64) -> Weights {
    // sum c_k = 1, gamma sum k c_k = 1/2.
    let third = 0.5 / GAMMA - first - 2.0 * (1.0 - first);
    [first, 1.0 - first - third, third, 0.0]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a sum answers to f0, and to d, at z.
    fn answers(weights: &Weights, z: f64) -> (f64, f64) {
        let v = 1.0 / (1.0 - GAMMA * z);
        let (mut p, mut q) = (1.0, 0.0);
        let (mut by_f0, mut by_drift) = (0.0, 0.0);
        for w in weights {
            (p, q) = (p * v, (q + GAMMA) * v);
            by_f0 += w * p;
            by_drift += w * q;
        }
        (by_f0, by_drift)
    }

    fn phi1(z: f64) -> f64 {
        z.exp_m1() / z
    }

    fn phi2(z: f64) -> f64 {
        if z.abs() < 1e-3 {
            0.5 + z / 6.0 + z * z / 24.0
        } else {
            (phi1(z) - 1.0) / z
        }
    }

    fn rates() -> impl Iterator<Item = f64> {
        (0..600).map(|k| -10f64.powf(-2.0 + 0.01 * f64::from(k)))
    }

    /// The functions of the exact solution (Hairer and Wanner, section IV.6 and Hochbruck and Ostermann, Acta
    /// Numerica 19 (2010), section 2.1): z small, so that only order decides. The error of order 3 is
    /// some hundredths of z^3.
    #[test]
    fn the_rise_is_of_order_three() {
        let chain = Chain::new();
        for z in [-0.02, -0.01] {
            let (by_f0, by_drift) = answers(&chain.rise, z);
            assert!((by_f0 - phi1(z)).abs() < 0.05 * f64::powi(z.abs(), 3));
            assert!((by_drift - phi2(z)).abs() < 0.05 * f64::powi(z.abs(), 2));
        }
    }

    #[test]
    fn what_decays_stays_bounded_and_what_is_fast_is_gone() {
        let chain = Chain::new();
        for z in rates() {
            let left = 1.0 + z * answers(&chain.rise, z).0;
            assert!((left - z.exp()).abs() < 0.07, "{z}: {left}");
        }
        assert!((1.0 - 1e9 * answers(&chain.rise, -1e9).0).abs() < 1e-6);
    }

    /// As the description above promises.
    #[test]
    fn a_kink_is_followed_at_the_end_and_inside() {
        let chain = Chain::new();
        let at = |x: f64, z: f64| {
            let [k1, k2] = chain.dense.map(|w| answers(&w, z).1);
            let rise = answers(&chain.rise, z).1;
            z * (x * (rise + (1.0 - x) * (k1 + x * k2)) - x * x * phi2(x * z))
        };
        for z in rates() {
            assert!(at(1.0, z).abs() < 0.004, "{z}: {}", at(1.0, z));
            for x in (1..20).map(|k| 0.05 * f64::from(k)) {
                assert!(at(x, z).abs() < 0.016, "{z} {x}: {}", at(x, z));
            }
        }
    }

    /// Of what answers within some steps everywhere, of what is faster by its largest, since both fade there.
    #[test]
    fn the_estimate_covers_the_error() {
        let chain = Chain::new();
        let errors: Vec<(f64, f64, f64)> = rates()
            .map(|z| {
                let error = answers(&chain.rise, z).1 - phi2(z);
                (z, z * error, z * answers(&chain.error, z).1)
            })
            .collect();
        let most = errors.iter().fold(0.0, |most, e| f64::max(most, e.2.abs()));
        for (z, error, estimate) in errors {
            let covers = if z > -8.0 { estimate.abs() } else { most };
            assert!(error.abs() <= 0.2 * covers + 1e-12, "{z}");
        }
    }

    #[test]
    fn slopes_and_integrals_are_those_of_the_links() {
        let chain = Chain::new();
        let (f0, d, lambda, h) = (0.3, -0.2, -1.7, 0.9);
        let mut links = [0.0; LINKS];
        let mut before = f0;
        for link in &mut links {
            *link = (before + h * GAMMA * d) / (1.0 - h * GAMMA * lambda);
            before = *link;
        }
        let sum = |w: &Weights| w.iter().zip(&links).map(|(w, p)| w * p).sum::<f64>();
        for weights in [chain.rise, chain.error, chain.dense[0], chain.dense[1]] {
            let value = h * sum(&weights);
            let s = Chain::slope(&weights);
            let slope = s.of_f0 * f0 + h * s.of_drift * d + sum(&s.of_links);
            assert!((slope - lambda * value).abs() < 1e-12);
            let s = Chain::integral(&weights);
            let integral = h * s.of_f0 * f0
                + h * h * s.of_drift * d
                + lambda * h * h * GAMMA * sum(&s.of_links);
            assert!((integral - value).abs() < 1e-12);
        }
    }
}

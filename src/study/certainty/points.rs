//! Points of a unit cube, and of normal distributions, that fill their space evenly.

use statrs::function::erf::erf_inv;

/// So many dimensions a sequence has.
const DIMENSIONS: u32 = sobol_burley::NUM_DIMENSIONS;

/// Longest sequence.
pub const MOST_POINTS: u32 = 1 << 16;

/// The coordinate of a point in a dimension, between 0 and 1, neither of them met: Sobol's sequence, scrambled by
/// Owen's method, which the seed chooses. Beyond its dimensions another scramble of it begins.
///
/// # Panics
/// When the sequence is not that long: see [`MOST_POINTS`].
#[must_use]
pub fn uniform(point: u32, dimension: u32, seed: u32) -> f64 {
    // Seeds of further scrambles are far from those that someone counts up by hand.
    let scramble = seed ^ (dimension / DIMENSIONS).wrapping_mul(0x9E37_79B9);
    let found = sobol_burley::sample(point, dimension % DIMENSIONS, scramble);
    // In the middle of the numbers that the coordinate may stand for: 24 bits.
    f64::from(found) + 0.5 / f64::from(1 << 24)
}

/// The same as standard deviations of a normal distribution.
#[must_use]
pub fn normal(point: u32, dimension: u32, seed: u32) -> f64 {
    quantile(uniform(point, dimension, seed))
}

/// So many standard deviations from the middle of a normal distribution that share of it lies below.
#[must_use]
pub fn quantile(share: f64) -> f64 {
    std::f64::consts::SQRT_2 * erf_inv(2.0 * share - 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Any table of the normal distribution.
    #[test]
    fn quantiles_are_those_of_the_normal_distribution() {
        for (share, z) in [
            (0.5, 0.0),
            (0.841_344_746, 1.0),
            (0.975, 1.959_963_985),
            (0.05, -1.644_853_627),
            (0.001, -3.090_232_306),
        ] {
            assert!(
                (quantile(share) - z).abs() < 1e-7,
                "{share}: {}",
                quantile(share)
            );
        }
    }

    /// What Owen's scramble keeps of a sequence in base 2 (Owen 1995): of 2^k points each of 2^k equal intervals
    /// holds one, in every dimension.
    #[test]
    fn every_interval_holds_one_point() {
        for dimension in [0, 1, 7, 100, 255, 256, 300] {
            for seed in [0, 1, 77] {
                let mut held = [0_u32; 64];
                for point in 0..64 {
                    let u = uniform(point, dimension, seed);
                    assert!(u > 0.0 && u < 1.0);
                    #[expect(
                        clippy::cast_possible_truncation,
                        clippy::cast_sign_loss,
                        reason = "0 to 63"
                    )]
                    let interval = (u * 64.0) as usize;
                    held[interval] += 1;
                }
                assert_eq!(held, [1; 64], "dimension {dimension}, seed {seed}");
            }
        }
    }

    #[test]
    fn a_seed_gives_the_same_points_and_another_seed_others() {
        let of = |seed| (0..32).map(|p| uniform(p, 3, seed)).collect::<Vec<_>>();
        assert_eq!(of(5), of(5));
        assert_ne!(of(0), of(1));
    }
}

//! Which factors make a result vary: indices of Sobol', from runs in which one factor at a time is drawn anew.
//!
//! Knows nothing of chambers.

/// So often the samples are drawn again for an index's own doubt.
const RESAMPLES: u32 = 200;
/// So many standard deviations of them are its 95 %.
const TWO_SIDED_95: f64 = 1.959_963_984_540_054;

/// How much of a result's variance is one factor's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Index {
    /// The share that goes where the factor alone is known: first order.
    pub first: f64,
    /// 95 % of what other samples would give lie within this much of it, a share too.
    pub first_within: f64,
    /// The share that is left where all others are known: total order.
    pub total: f64,
    /// 95 % of what other samples would give lie within this much of it, a share too.
    pub total_within: f64,
}

/// The indices of factors. `a` and `b` are the results of two independent sets of samples, `mixed[i]` those of the first
/// with the values of factor `i` from the second, all of one length.
///
/// First order after Saltelli et al. 2010 (Computer Physics Communications 181, 259-270, table 2, equation b), total
/// order after Jansen 1999 (equation f there); the mean is taken off first. Of a result that does not vary, every share
/// is none.
#[must_use]
pub fn indices(a: &[f64], b: &[f64], mixed: &[Vec<f64>], seed: u32) -> Vec<Index> {
    let all = a.len();
    let mut random = fastrand::Rng::with_seed(u64::from(seed));
    let drawn: Vec<Vec<usize>> = (0..RESAMPLES)
        .map(|_| (0..all).map(|_| random.usize(..all.max(1))).collect())
        .collect();
    let whole: Vec<usize> = (0..all).collect();
    mixed
        .iter()
        .map(|m| {
            let (first, total) = estimate(a, b, m, &whole);
            let again: Vec<(f64, f64)> = drawn.iter().map(|at| estimate(a, b, m, at)).collect();
            let within = |of: fn(&(f64, f64)) -> f64| {
                TWO_SIDED_95 * standard_deviation(&again.iter().map(of).collect::<Vec<_>>())
            };
            Index {
                first,
                first_within: within(|e| e.0),
                total,
                total_within: within(|e| e.1),
            }
        })
        .collect()
}

/// First and total order from the samples at these places.
fn estimate(a: &[f64], b: &[f64], mixed: &[f64], at: &[usize]) -> (f64, f64) {
    #[expect(clippy::cast_precision_loss, reason = "some thousands")]
    let n = at.len() as f64;
    let both = at.iter().flat_map(|k| [a[*k], b[*k]]);
    let mean = both.clone().sum::<f64>() / (2.0 * n);
    let variance = both.map(|y| (y - mean).powi(2)).sum::<f64>() / (2.0 * n);
    if variance.is_nan() || variance <= 0.0 {
        return (0.0, 0.0);
    }
    let mean_of = |value: &dyn Fn(usize) -> f64| at.iter().map(|k| value(*k)).sum::<f64>() / n;
    let first = mean_of(&|k| (b[k] - mean) * (mixed[k] - a[k])) / variance;
    let total = 0.5 * mean_of(&|k| (a[k] - mixed[k]).powi(2)) / variance;
    (first, total)
}

/// Of all values, not of a sample.
fn standard_deviation(values: &[f64]) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "some hundreds")]
    let n = values.len().max(1) as f64;
    let mean = values.iter().sum::<f64>() / n;
    (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt()
}

#[cfg(test)]
mod tests {
    use super::super::super::certainty::points::uniform;
    use super::*;

    /// The indices of a function on the unit cube, by groups of its arguments.
    fn of(
        f: impl Fn(&[f64]) -> f64,
        arguments: u32,
        groups: &[&[usize]],
        samples: u32,
    ) -> Vec<Index> {
        let set = |first: u32| -> Vec<Vec<f64>> {
            let point = |k| (0..arguments).map(|d| uniform(k, first + d, 7)).collect();
            (0..samples).map(point).collect()
        };
        let (a, b) = (set(0), set(arguments));
        let values = |set: &[Vec<f64>]| set.iter().map(|x| f(x)).collect::<Vec<_>>();
        let mixed: Vec<Vec<f64>> = groups
            .iter()
            .map(|group| {
                let points = a.iter().zip(&b).map(|(a, b)| {
                    let mut x = a.clone();
                    group.iter().for_each(|i| x[*i] = b[*i]);
                    f(&x)
                });
                points.collect()
            })
            .collect();
        indices(&values(&a), &values(&b), &mixed, 1)
    }

    fn ishigami(u: &[f64]) -> f64 {
        let x: Vec<f64> = u
            .iter()
            .map(|u| std::f64::consts::PI * (2.0 * u - 1.0))
            .collect();
        x[0].sin() + 7.0 * x[1].sin().powi(2) + 0.1 * x[2].powi(4) * x[0].sin()
    }

    /// Ishigami and Homma 1990 with a = 7, b = 0.1: variance 13.8446, first order 0.3139, 0.4424, 0, total 0.5576,
    /// 0.4424, 0.2437, from the closed form (V1 = (1 + b pi^4/5)^2 / 2, V2 = a^2/8, V13 = 8 b^2 pi^8 / 225).
    #[test]
    fn ishigamis_function_has_its_indices() {
        let found = of(ishigami, 3, &[&[0], &[1], &[2]], 4096);
        let true_ones = [
            (0.313_905, 0.557_589),
            (0.442_411, 0.442_411),
            (0.0, 0.243_684),
        ];
        for (index, (first, total)) in found.iter().zip(true_ones) {
            assert!((index.first - first).abs() < 0.012, "{index:?}, {first}");
            assert!((index.total - total).abs() < 0.012, "{index:?}, {total}");
            assert!(
                (index.first - first).abs() < index.first_within.max(0.003),
                "{index:?}"
            );
        }
    }

    /// The first and third argument taken as one: 0.5576 of the variance in both orders, and 0.4424 the second's.
    #[test]
    fn a_group_is_one_factor() {
        let found = of(ishigami, 3, &[&[0, 2], &[1]], 4096);
        for (index, share) in found.iter().zip([0.557_589, 0.442_411]) {
            assert!((index.first - share).abs() < 0.015, "{index:?}");
            assert!((index.total - share).abs() < 0.015, "{index:?}");
        }
    }

    /// Sobol's G with a = 0, 1, 4.5, 9, 99, 99, 99, 99 (Saltelli and Sobol' 1995): V_i = 1/3 / (1 + a_i)^2, and the whole
    /// is the product of 1 + V_i less 1.
    #[test]
    fn sobols_g_has_its_indices() {
        let a = [0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0];
        let g = |u: &[f64]| -> f64 {
            let each = u
                .iter()
                .zip(a)
                .map(|(u, a)| ((4.0 * u - 2.0).abs() + a) / (1.0 + a));
            each.product()
        };
        let groups: Vec<Vec<usize>> = (0..8).map(|k| vec![k]).collect();
        let groups: Vec<&[usize]> = groups.iter().map(Vec::as_slice).collect();
        let found = of(g, 8, &groups, 4096);
        let alone = a.map(|a| 1.0 / 3.0 / (1.0_f64 + a).powi(2));
        let whole = alone.iter().map(|v| 1.0 + v).product::<f64>() - 1.0;
        for (index, v) in found.iter().zip(alone) {
            let total = v * (whole + 1.0) / (1.0 + v) / whole;
            assert!((index.first - v / whole).abs() < 0.015, "{index:?}");
            assert!((index.total - total).abs() < 0.015, "{index:?}, {total}");
        }
    }

    #[test]
    fn what_does_not_vary_is_nobodys() {
        let found = of(|_| 3.0, 2, &[&[0], &[1]], 64);
        for index in found {
            assert_eq!(
                (index.first, index.total, index.total_within),
                (0.0, 0.0, 0.0)
            );
        }
    }
}

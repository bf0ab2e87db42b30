//! A long cylinder that takes on the temperature of its surroundings: its mean, and its surface.

use crate::remembered::Remembered;
use std::cell::RefCell;
use std::f64::consts::PI;

/// Terms of the series beyond which nothing is added.
const MOST_TERMS: usize = 200;
/// Exponent from which a term adds nothing more: e^-25 is 1e-11.
const FADED: f64 = 25.0;

/// Share of the first difference to the surroundings that is left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// Of the mean over the section, 0 to 1.
    pub mean: f64,
    /// Of the surface, 0 to 1; never more than the mean's.
    pub surface: f64,
}

thread_local! {
    /// What is left by the bits of Biot and Fourier number: filaments of many runs differ in few things.
    static KNOWN: RefCell<Remembered<[u64; 2], Left>> = RefCell::new(Remembered::at_most(4096));
}

/// What is left of a long cylinder's difference to its surroundings after a time, of its mean and its
/// surface, when it had one temperature throughout at the beginning.
///
/// With z_n the roots of z J1(z) = Bi J0(z):
/// mean = sum 4 Bi^2/(z^2 (z^2 + Bi^2)) exp(-z^2 Fo), surface = sum 2 Bi/(z^2 + Bi^2) exp(-z^2 Fo).
///
/// * `biot`: h R/k, with the radius; 0 leaves everything.
/// * `fourier`: a t/R^2; infinite leaves nothing.
///
/// Range: conduction along the cylinder negligible beside that across it. Below a Fourier number of 5e-5
/// the surface is up to 0.3 % of the difference too near the surroundings at Bi = 2.
/// Worked example: Bi = 1, first root 1.2558; at Fo = 0.5 the mean keeps 0.4474 and the surface 0.3528
/// (first terms: 0.9843 and 0.7761 times exp(-1.5770 Fo)).
///
/// Reference: Carslaw & Jaeger, Conduction of Heat in Solids, section 7.7; Incropera & DeWitt, table 5.1
/// for the roots.
#[must_use]
pub fn difference_left(biot: f64, fourier: f64) -> Left {
    if biot <= 0.0 || fourier <= 0.0 {
        return Left {
            mean: 1.0,
            surface: 1.0,
        };
    }
    let key = [biot, fourier].map(f64::to_bits);
    KNOWN.with_borrow_mut(|known| known.or_else(key, || series(biot, fourier)))
}

fn series(biot: f64, fourier: f64) -> Left {
    let mut left = Left {
        mean: 0.0,
        surface: 0.0,
    };
    for n in 1..=MOST_TERMS {
        let squared = root(biot, n).powi(2);
        if squared * fourier > FADED {
            break;
        }
        let faded = (-squared * fourier).exp();
        let share = biot / (squared + biot * biot) * faded;
        left.mean += 4.0 * biot / squared * share;
        left.surface += 2.0 * share;
    }
    left.mean = left.mean.min(1.0);
    left.surface = left.surface.min(left.mean);
    left
}

/// The `n`-th positive root of z J1(z) = Bi J0(z), n from 1.
fn root(biot: f64, n: usize) -> f64 {
    // It lies between a root of J1 (or 0) and the next one of J0, and z J1 - Bi J0 is monotonic there.
    let (mut low, mut high) = (zero_of_j1(n - 1), zero_of_j0(n));
    let mut z = low + (high - low) * (biot / (biot + high)).sqrt();
    let rises = n % 2 == 1;
    for _ in 0..60 {
        let (j0, j1) = (libm::j0(z), libm::j1(z));
        let value = z * j1 - biot * j0;
        if (value > 0.0) == rises {
            high = z;
        } else {
            low = z;
        }
        let newton = z - value / (z * j0 + biot * j1);
        if (newton - z).abs() <= 1e-12 * z {
            return newton;
        }
        z = if newton > low && newton < high {
            newton
        } else {
            0.5 * (low + high)
        };
    }
    z
}

/// Slack on McMahon's expansion, which is off by 2e-3 at the first roots.
const SLACK: f64 = 5e-3;

/// Just above the `n`-th root of J0, by McMahon's expansion (Abramowitz & Stegun 9.5.12).
fn zero_of_j0(n: usize) -> f64 {
    let b = (n as f64 - 0.25) * PI;
    b + 1.0 / (8.0 * b) - 124.0 / (3.0 * (8.0 * b).powi(3)) + SLACK
}

/// Just below the `n`-th root of J1; 0 for n = 0.
fn zero_of_j1(n: usize) -> f64 {
    if n == 0 {
        return 0.0;
    }
    let b = (n as f64 + 0.25) * PI;
    b - 3.0 / (8.0 * b) + 12.0 / (8.0 * b).powi(3) - SLACK
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Incropera & DeWitt, table 5.1 (from memory, and recomputed with `scipy.special`): first roots and
    /// factors of the centre.
    #[test]
    fn first_roots_of_the_handbook() {
        for (biot, z) in [
            (0.01, 0.1412),
            (0.1, 0.4417),
            (1.0, 1.2558),
            (2.0, 1.5995),
            (10.0, 2.1795),
            (100.0, 2.3809),
        ] {
            assert!(
                (root(biot, 1) - z).abs() < 6e-5,
                "{biot}: {}",
                root(biot, 1)
            );
        }
    }

    /// The equation itself, for roots near and far, and that none is left out: they lie about pi apart.
    #[test]
    fn roots_are_roots_and_in_order() {
        for biot in [1e-4, 0.3, 1.75, 40.0, 1e4] {
            let mut before = 0.0;
            for n in 1..=MOST_TERMS {
                let z = root(biot, n);
                let off = z * libm::j1(z) - biot * libm::j0(z);
                assert!(off.abs() < 1e-9 * (biot + z), "{biot}, {n}: {off}");
                assert!(z > before && z - before < 4.0, "{biot}, {n}: {before}, {z}");
                before = z;
            }
        }
    }

    /// A march of the heat equation across 400 rings: 2nd order in the radius, so some 1e-5.
    #[test]
    fn agrees_with_a_march_across_rings() {
        const RINGS: usize = 400;
        let biot = 1.75;
        let dr = 1.0 / RINGS as f64;
        let mut t = [1.0; RINGS];
        let dt = 0.2 * dr * dr;
        let steps = (0.3 / dt) as usize;
        // The last ring's outer half and the film in series.
        let film = 1.0 / (1.0 / biot + 0.5 * dr);
        for _ in 0..steps {
            let mut inward = 0.0;
            for k in 0..RINGS {
                let outer = (k + 1) as f64 * dr;
                let outward = if k + 1 < RINGS {
                    (t[k] - t[k + 1]) / dr * outer
                } else {
                    t[k] * film
                };
                let volume = 0.5 * (outer * outer - (outer - dr).powi(2));
                t[k] += dt * (inward - outward) / volume;
                inward = outward;
            }
        }
        let mean: f64 = (0..RINGS)
            .map(|k| t[k] * (2 * k + 1) as f64 * dr * dr)
            .sum();
        let surface = t[RINGS - 1] * film / biot;
        let left = difference_left(biot, steps as f64 * dt);
        assert!((left.mean - mean).abs() < 2e-4, "{left:?} {mean}");
        assert!((left.surface - surface).abs() < 2e-4, "{left:?} {surface}");
    }

    /// A thin rod is of one temperature: exp(-2 Bi Fo), off by Bi/4.
    #[test]
    fn a_small_biot_number_leaves_one_temperature() {
        let left = difference_left(1e-4, 3000.0);
        let lumped = (-2.0_f64 * 1e-4 * 3000.0).exp();
        assert!((left.mean - lumped).abs() < 3e-5);
        assert!((left.mean - left.surface).abs() < 5e-5);
    }

    /// The same series summed with `scipy.special` 1.16 and `brentq`, 60 terms.
    #[test]
    fn agrees_with_another_sum() {
        let left = difference_left(1.0, 0.5);
        assert!((left.mean - 0.447_384_263_627_032).abs() < 1e-10);
        assert!((left.surface - 0.352_785_837_534_154).abs() < 1e-10);
        let left = difference_left(1.0, 1e-4);
        assert!((left.surface - 0.988_755).abs() < 5e-5, "{left:?}");
    }

    #[test]
    fn nothing_yet_and_for_ever() {
        for left in [difference_left(1.0, 0.0), difference_left(0.0, 5.0)] {
            assert_eq!((left.mean, left.surface), (1.0, 1.0));
        }
        assert_eq!(difference_left(1.0, f64::INFINITY).mean, 0.0);
        // Just begun: the mean has lost 2 Bi Fo.
        let left = difference_left(1.0, 1e-4);
        assert!((1.0 - left.mean - 2e-4).abs() < 4e-6, "{left:?}");
    }
}

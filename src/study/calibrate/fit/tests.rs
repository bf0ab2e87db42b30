//! Against certified fits and closed forms.

use super::*;
use std::convert::Infallible;

/// A formula of a variable and parameters, with slopes by small steps.
struct Formula<'a> {
    x: &'a [f64],
    y: fn(f64, &[f64]) -> f64,
}

impl Model for Formula<'_> {
    type Error = Infallible;

    fn predicted(&self, b: &DVector<f64>) -> Result<DVector<f64>, Infallible> {
        let each = self.x.iter().map(|x| (self.y)(*x, b.as_slice()));
        Ok(DVector::from_iterator(self.x.len(), each))
    }

    fn slopes(&self, b: &DVector<f64>) -> Result<DMatrix<f64>, Infallible> {
        Ok(DMatrix::from_fn(self.x.len(), b.len(), |row, k| {
            let step = 1e-6 * b[k].abs();
            let at = |by: f64| {
                let mut b = b.clone();
                b[k] += by;
                (self.y)(self.x[row], b.as_slice())
            };
            (at(step) - at(-step)) / (2.0 * step)
        }))
    }
}

fn measured(values: &[f64], deviation: f64) -> Measured {
    Measured {
        values: DVector::from_column_slice(values),
        deviations: DVector::from_element(values.len(), deviation),
        may_stray: false,
        tolerance: 1e-14,
    }
}

struct Certified {
    name: &'static str,
    y: fn(f64, &[f64]) -> f64,
    x: &'static [f64],
    measured: &'static [f64],
    starts: [&'static [f64]; 2],
    values: &'static [f64],
    /// Empty where only the sum of squares was at hand.
    deviations: &'static [f64],
    squares: f64,
}

const MISRA_X: [f64; 14] = [
    77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0,
];
const MISRA_Y: [f64; 14] = [
    10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47,
    81.78,
];

/// NIST, Statistical Reference Datasets, nonlinear regression. Data from memory: that they are right follows from the
/// certified sums of squares, which no other data have.
const CERTIFIED: [Certified; 6] = [
    Certified {
        name: "Misra1a",
        y: |x, b| b[0] * (1.0 - (-b[1] * x).exp()),
        x: &MISRA_X,
        measured: &MISRA_Y,
        starts: [&[500.0, 1e-4], &[250.0, 5e-4]],
        values: &[238.942_129_18, 5.501_564_318_1e-4],
        deviations: &[2.707_007_524_1, 7.266_868_843_6e-6],
        squares: 0.124_551_388_94,
    },
    Certified {
        name: "Misra1b",
        y: |x, b| b[0] * (1.0 - (1.0 + 0.5 * b[1] * x).powi(-2)),
        x: &MISRA_X,
        measured: &MISRA_Y,
        starts: [&[500.0, 1e-4], &[300.0, 2e-4]],
        values: &[337.997_461_63, 3.903_909_128_7e-4],
        deviations: &[],
        squares: 0.075_464_681_533,
    },
    Certified {
        name: "DanWood",
        y: |x, b| b[0] * x.powf(b[1]),
        x: &[1.309, 1.471, 1.490, 1.565, 1.611, 1.680],
        measured: &[2.138, 3.421, 3.597, 4.340, 4.882, 5.660],
        starts: [&[1.0, 5.0], &[0.7, 4.0]],
        values: &[0.768_862_261_76, 3.860_405_587_1],
        deviations: &[0.018_281_973_860, 0.051_726_610_913],
        squares: 0.004_317_308_408_3,
    },
    Certified {
        name: "BoxBOD",
        y: |x, b| b[0] * (1.0 - (-b[1] * x).exp()),
        x: &[1.0, 2.0, 3.0, 5.0, 7.0, 10.0],
        measured: &[109.0, 149.0, 149.0, 191.0, 213.0, 224.0],
        starts: [&[1.0, 1.0], &[100.0, 0.75]],
        values: &[213.809_408_89, 0.547_237_485_42],
        deviations: &[],
        squares: 1_168.008_876_6,
    },
    Certified {
        name: "Rat42",
        y: |x, b| b[0] / (1.0 + (b[1] - b[2] * x).exp()),
        x: &[9.0, 14.0, 21.0, 28.0, 42.0, 57.0, 63.0, 70.0, 79.0],
        measured: &[8.93, 10.8, 18.59, 22.33, 39.35, 56.11, 61.73, 64.62, 67.08],
        starts: [&[100.0, 1.0, 0.1], &[75.0, 2.5, 0.07]],
        values: &[72.462_237_576, 2.618_076_840_2, 0.067_359_200_066],
        deviations: &[],
        squares: 8.056_522_933_8,
    },
    Certified {
        name: "MGH09",
        y: |x, b| b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]),
        x: &[
            4.0, 2.0, 1.0, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625,
        ],
        measured: &[
            0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246,
        ],
        starts: [&[25.0, 39.0, 41.5, 39.0], &[0.25, 0.39, 0.415, 0.39]],
        values: &[
            0.192_806_934_58,
            0.191_282_328_73,
            0.123_056_506_93,
            0.136_062_330_68,
        ],
        deviations: &[
            0.011_435_312_227,
            0.196_332_209_11,
            0.080_842_031_232,
            0.090_025_542_308,
        ],
        squares: 3.075_056_038_5e-4,
    },
];

/// Six digits of values and four of their deviations: what the anchors of the problems ask for.
#[test]
fn certified_fits_are_found_from_both_starts() {
    for c in &CERTIFIED {
        for start in c.starts {
            let model = Formula { x: c.x, y: c.y };
            let measured = measured(c.measured, 1.0);
            let believed = Believed::apart(
                DVector::from_column_slice(start),
                &DVector::from_element(start.len(), f64::INFINITY),
            );
            let found = fit(&model, &measured, &believed).expect("fits");
            let squares = (&found.predicted - &measured.values).norm_squared();
            let name = c.name;
            assert!(found.is_settled, "{name}");
            assert!(
                (squares / c.squares - 1.0).abs() < 1e-8,
                "{name}: {squares}"
            );
            for (value, certified) in found.parameters.iter().zip(c.values) {
                assert!((value / certified - 1.0).abs() < 1e-6, "{name}: {value}");
            }
            #[expect(clippy::cast_precision_loss, reason = "a dozen")]
            let variance = squares / (c.x.len() - start.len()) as f64;
            for (k, certified) in c.deviations.iter().enumerate() {
                let deviation = (variance * found.covariance[(k, k)]).sqrt();
                assert!(
                    (deviation / certified - 1.0).abs() < 1e-4,
                    "{name}: {deviation}"
                );
            }
        }
    }
}

/// A straight line with what was believed: the normal equations by hand.
#[test]
fn a_line_has_the_covariance_of_its_closed_form() {
    let x = [0.0, 1.0, 2.0, 3.0];
    let model = Formula {
        x: &x,
        y: |x, b| (b[0] - 10.0) + (b[1] - 10.0) * x,
    };
    let measured = measured(&[1.0, 3.0, 5.0, 7.0], 0.5);
    let believed = Believed::apart(
        DVector::from_column_slice(&[10.0, 10.0]),
        &DVector::from_column_slice(&[2.0, f64::INFINITY]),
    );
    let found = fit(&model, &measured, &believed).expect("fits");
    // Known: of the measurements 4 × [4, 6; 6, 14], of what was believed 1/4.
    let (a, b, d) = (16.25, 24.0, 56.0);
    let determinant = a * d - b * b;
    let inverse = [
        [d / determinant, -b / determinant],
        [-b / determinant, a / determinant],
    ];
    // Right side: 4 × (sum of y, sum of x y) = 4 × (16, 34).
    let expected = [
        inverse[0][0] * 64.0 + inverse[0][1] * 136.0,
        inverse[1][0] * 64.0 + inverse[1][1] * 136.0,
    ];
    for i in 0..2 {
        assert!(
            (found.parameters[i] - 10.0 - expected[i]).abs() < 1e-7,
            "{}",
            found.parameters
        );
        for j in 0..2 {
            assert!((found.covariance[(i, j)] - inverse[i][j]).abs() < 1e-8);
        }
    }
}

#[test]
fn one_that_strays_moves_the_others_little_and_is_told() {
    let x = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0];
    let model = Formula {
        x: &x,
        y: |x, b| b[0] + b[1] * x,
    };
    let mut measured = measured(&[1.0, 2.0, 3.0, 12.0, 5.0, 6.0], 0.5);
    let believed = Believed::apart(
        DVector::from_column_slice(&[0.5, 0.5]),
        &DVector::from_element(2, 10.0),
    );
    let strict = fit(&model, &measured, &believed).expect("fits");
    measured.may_stray = true;
    let lenient = fit(&model, &measured, &believed).expect("fits");
    let off = |f: &Fit| (f.parameters[0] - 1.0).abs() + (f.parameters[1] - 1.0).abs();
    assert!(off(&strict) > 0.5, "{}", strict.parameters);
    assert!(off(&lenient) < 0.1, "{}", lenient.parameters);
    assert!(lenient.weights[3] < 0.05);
    assert!(lenient.weights[0] > 0.95);
}

#[test]
fn what_nothing_says_anything_about_is_an_error() {
    let model = Formula {
        x: &[1.0, 2.0],
        y: |x, b| b[0] * x + 0.0 * b[1],
    };
    let measured = measured(&[1.0, 2.0], 1.0);
    let start = DVector::from_column_slice(&[0.5, 0.5]);
    let believed = Believed::apart(start.clone(), &DVector::from_element(2, f64::INFINITY));
    assert!(matches!(
        fit(&model, &measured, &believed),
        Err(FitError::Singular)
    ));
    // Believed, it keeps what was believed of it.
    let believed = Believed::apart(start, &DVector::from_column_slice(&[f64::INFINITY, 0.3]));
    let found = fit(&model, &measured, &believed).expect("fits");
    assert!((found.parameters[1] - 0.5).abs() < 1e-9);
    assert!((found.covariance[(1, 1)].sqrt() - 0.3).abs() < 1e-12);
}

/// Steps to a line's values and back, 400 times with errors of a known size: 90 of 100 intervals that ought to hold
/// the truth do. Counted over both parameters; 85 to 95 % is some five standard deviations either way.
#[test]
fn intervals_hold_the_truth_as_often_as_they_say() {
    // Of a normal distribution, nine in ten lie within so many standard deviations.
    const NINE_IN_TEN: f64 = 1.644_854;
    let mut random = fastrand::Rng::with_seed(14);
    let mut normal = || {
        // Box and Muller.
        let (a, b) = (1.0 - random.f64(), random.f64());
        (-2.0 * f64::ln(a)).sqrt() * (std::f64::consts::TAU * b).cos()
    };
    let x: Vec<f64> = (0..12).map(f64::from).collect();
    let y = |x: f64, b: &[f64]| {
        20.0 + 20.0 * (0.3 * b[0]).exp() * (1.0 - (-x / 4.0 * (0.2 * b[1]).exp()).exp())
    };
    let model = Formula { x: &x, y };
    let (mut held, mut all) = (0, 0);
    for _ in 0..200 {
        let truth = [normal(), normal()];
        let values: Vec<f64> = x.iter().map(|x| y(*x, &truth) + normal()).collect();
        let measured = Measured {
            may_stray: true,
            ..measured(&values, 1.0)
        };
        // Slopes are taken in steps of a millionth of the value.
        let believed = Believed::apart(
            DVector::from_element(2, 1e-3),
            &DVector::from_element(2, 1.0),
        );
        let found = fit(&model, &measured, &believed).expect("fits");
        for k in 0..2 {
            all += 1;
            let off = (found.parameters[k] - truth[k]).abs();
            held += i32::from(off < NINE_IN_TEN * found.covariance[(k, k)].sqrt());
        }
    }
    let share = f64::from(held) / f64::from(all);
    assert!((0.85..=0.95).contains(&share), "{share}");
}

/// One parameter z fitted to a single measurement of z + y, of deviation 1, while y stays where it is; z and y are
/// believed to be off by 1, together by the correlation r. The fit goes half-way (gain 1/2): it is off by y/2 - z/2 and
/// half of the measurement's error, with a variance of 3/4 - r/2.
#[test]
fn what_is_left_alone_counts_with_how_it_hangs_together() {
    let model = Formula {
        x: &[1.0],
        y: |x, b| b[0] * x,
    };
    let measured = measured(&[1.0], 1.0);
    let one = DMatrix::identity(1, 1);
    // Slopes are taken in steps of a millionth of the value.
    let believed = Believed::together(DVector::from_element(1, 1e-3), &one).expect("one");
    let found = fit(&model, &measured, &believed).expect("fits");
    assert!((found.covariance[(0, 0)] - 0.5).abs() < 1e-6);
    for r in [-0.9, 0.0, 0.5] {
        let others = Others {
            slopes: one.clone(),
            covariance: one.clone(),
            with_fitted: DMatrix::from_element(1, 1, r),
        };
        let all = with_others(&found, &measured, &believed, &others);
        assert!((all[(0, 0)] - (0.75 - 0.5 * r)).abs() < 1e-6, "{all}");
    }
}

//! Against a filter that somebody else wrote, and against closed forms.

use super::super::believed::Believed;
use super::super::fit::fit;
use super::*;
use std::convert::Infallible;

/// A model that is a matrix.
struct Linear(DMatrix<f64>);

impl Model for Linear {
    type Error = Infallible;

    fn predicted(&self, parameters: &DVector<f64>) -> Result<DVector<f64>, Infallible> {
        Ok(&self.0 * parameters)
    }

    fn slopes(&self, _: &DVector<f64>) -> Result<DMatrix<f64>, Infallible> {
        Ok(self.0.clone())
    }
}

fn numbers(v: &serde_json::Value) -> Vec<f64> {
    let list = v.as_array().expect("a list").iter();
    list.map(|n| n.as_f64().expect("a number")).collect()
}

/// What a Kalman filter says after the last row (filterpy 2.0.0; `tests/data/kalman.py` made the reference): two
/// parameters, and a thermometer whose errors hang together at irregular times. Equal to 1e-7: the filter had a row's
/// own error of 1e-12 to stay regular.
#[test]
fn a_kalman_filter_finds_the_same() {
    let data = include_str!("../../../../tests/data/kalman.json");
    let v: serde_json::Value = serde_json::from_str(data).expect("JSON");
    let (times, shape, rows) = (
        numbers(&v["times_s"]),
        numbers(&v["shape"]),
        numbers(&v["rows"]),
    );
    let drift = Drift {
        deviation: v["deviation"].as_f64().expect("a number"),
        lasts_s: v["lasts_s"].as_f64().expect("a number"),
    };
    let model = Linear(DMatrix::from_fn(rows.len(), 2, |row, column| {
        if column == 0 { 1.0 } else { shape[row] }
    }));
    let mut whitening = Whitening::default();
    let deviations = whitening.add(0..rows.len(), &times, drift);
    let measured = whitening.of_measured(&Measured {
        values: DVector::from_vec(rows),
        deviations: DVector::from_vec(deviations),
        may_stray: false,
        tolerance: 1e-14,
    });
    let believed = Believed::apart(
        DVector::zeros(2),
        &DVector::from_vec(numbers(&v["believed"])),
    );
    let whitened = Whitened {
        model: &model,
        whitening: &whitening,
    };
    let found = fit(&whitened, &measured, &believed).expect("fits");
    for (k, want) in numbers(&v["mean"]).iter().enumerate() {
        assert!((found.parameters[k] - want).abs() < 1e-7, "{k}");
        let row = numbers(&v["covariance"][k]);
        for (other, want) in row.iter().enumerate() {
            let is = found.covariance[(k, other)];
            assert!((is - want).abs() < 1e-7, "{k} {other}: {is} {want}");
        }
    }
}

/// What was drawn with a drift is found to have it. Points that fill space evenly are no random numbers one after the
/// other, so that their order is shuffled.
#[test]
fn the_drift_that_is_there_is_found() {
    let of = |lasts_s: f64| {
        let drift = Drift {
            deviation: 0.5,
            lasts_s,
        };
        let mut found: Vec<Drift> = (0..20)
            .map(|seed| {
                let (times, off) = shuffled(600, 300.0, drift, seed);
                Drift::of(&times, &off, 0.05)
            })
            .collect();
        found.sort_by(|a, b| a.lasts_s.total_cmp(&b.lasts_s));
        found[10]
    };
    for lasts_s in [600.0, 3_600.0, 10_800.0] {
        let found = of(lasts_s);
        assert!((found.deviation - 0.5).abs() < 0.1, "{found:?}");
        assert!((found.lasts_s / lasts_s).ln().abs() < 0.3, "{found:?}");
    }
}

/// Errors that drift, and when, s.
fn shuffled(count: u32, step_s: f64, drift: Drift, seed: u32) -> (Vec<f64>, Vec<f64>) {
    let times = (0..count).map(|k| f64::from(k) * step_s).collect();
    let mut order: Vec<u32> = (0..count).collect();
    let mut state = u64::from(seed) + 12_345;
    for k in (1..order.len()).rev() {
        // Knuth's multiplier (The Art of Computer Programming, volume 2).
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        let other = usize::try_from((state >> 33) % (k as u64 + 1)).expect("small");
        order.swap(k, other);
    }
    let (kept, mut off) = (drift.kept(step_s), 0.0);
    let off = order.iter().enumerate().map(|(k, at)| {
        let normal = crate::study::certainty::points::normal(*at, 0, seed);
        let share = if k == 0 {
            1.0
        } else {
            (1.0 - kept * kept).sqrt()
        };
        off = kept * off + drift.deviation * share * normal;
        off
    });
    let off = off.collect();
    (times, off)
}

/// Independent rows are left as they are, and none is ever surer than the least.
#[test]
fn rows_of_no_drift_stay_as_they_are() {
    let drift = Drift {
        deviation: 0.3,
        lasts_s: 1.0,
    };
    let (times, off) = shuffled(400, 600.0, drift, 3);
    let found = Drift::of(&times, &off, 0.05);
    assert!(found.lasts_s < 400.0, "{found:?}");
    let none = Drift::of(&times, &vec![0.0; 400], 0.1);
    assert_eq!(none.deviation, 0.1);
    assert_eq!(Drift::of(&[], &[], 0.1).deviation, 0.1);
}

//! Which values matter: our indices against those of the PyPI library `SALib` on runs of ours.
//!
//! `tests/data/sobol_demo.json` holds the results of such runs and what `tests/data/sobol_demo.py` lets SALib make of
//! them. `DOGDAYS_WRITE_SOBOL=1` writes the results anew; the script then adds SALib's indices.

use std::path::Path;

use dogdays::integrate::Options;
use dogdays::run::{Doubtful, Inputs, Run};
use dogdays::runfile::demo;
use dogdays::study::band::Sampling;
use dogdays::study::certainty::{drawn, points};
use dogdays::study::many::outcomes;
use dogdays::study::sensitivity::indices::indices;
use dogdays::study::sensitivity::sensitivity;
use serde_json::{Value, json};

const KEYS: [&str; 4] = [
    "room.shift",
    "coefficients.feeder_heat",
    "coefficients.mount_frame",
    "coefficients.inside_convection",
];
const SAMPLES: u32 = 64;

/// Margins of the demo with those four values in doubt: both sets of samples, and the first with each value of the
/// second.
fn margins_K() -> (Vec<f64>, Vec<f64>, Vec<Vec<f64>>) {
    let inputs = demo().inputs;
    let mut doubtful = inputs.doubtful();
    doubtful.retain(|d| KEYS.contains(&d.input.key()));
    doubtful.sort_by_key(|d| KEYS.iter().position(|k| *k == d.input.key()));
    assert_eq!(doubtful.len(), KEYS.len());
    let set = |first: u32| -> Vec<Vec<f64>> {
        let point = |k| (0..4).map(|d| points::normal(k, first + d, 1)).collect();
        (0..SAMPLES).map(point).collect()
    };
    let (a, b) = (set(0), set(4));
    let mixed = |i: usize| -> Vec<Vec<f64>> {
        let each = a.iter().zip(&b).map(|(a, b)| {
            let mut z = a.clone();
            z[i] = b[i];
            z
        });
        each.collect()
    };
    let run = |set: &[Vec<f64>]| of(&inputs, &doubtful, set);
    let mixed = (0..4).map(|i| run(&mixed(i))).collect();
    (run(&a), run(&b), mixed)
}

fn of(inputs: &Inputs, doubtful: &[Doubtful], set: &[Vec<f64>]) -> Vec<f64> {
    let made = set
        .iter()
        .map(|z| drawn(inputs, doubtful, |d| z[d as usize]));
    let runs: Vec<Run> = made.map(|run| run.expect("a run")).collect();
    let found = outcomes(&runs, &Options::default()).into_iter();
    found.map(|o| o.expect("it runs").margin_K).collect()
}

fn numbers(value: &Value) -> Vec<f64> {
    let list = value.as_array().expect("a list");
    list.iter().map(|v| v.as_f64().expect("a number")).collect()
}

/// SALib 1.6: `SALib.analyze.sobol.analyze`. It takes the mean of all results off before it estimates the first order,
/// where the mean of the two sets alone is taken off here; the difference is reckoned.
#[test]
fn indices_are_those_of_salib() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/sobol_demo.json");
    let (a, b, mixed) = margins_K();
    if std::env::var_os("DOGDAYS_WRITE_SOBOL").is_some() {
        let text = json!({ "keys": KEYS, "a": a, "b": b, "mixed": mixed });
        std::fs::write(&file, format!("{text:#}\n")).expect("written");
        return;
    }
    let text = std::fs::read_to_string(&file).expect("the reference");
    let reference: Value = serde_json::from_str(&text).expect("JSON");
    let known_a = numbers(&reference["a"]);
    let known_b = numbers(&reference["b"]);
    let known_mixed: Vec<Vec<f64>> = (reference["mixed"].as_array().expect("lists").iter())
        .map(numbers)
        .collect();
    // They are results of this very run.
    let both = a.iter().chain(&b).zip(known_a.iter().chain(&known_b));
    for (ours, known) in both {
        assert!((ours - known).abs() < 0.01, "{ours}, {known}");
    }
    let found = indices(&known_a, &known_b, &known_mixed, 1);
    let mean = |values: &mut dyn Iterator<Item = f64>| {
        let values: Vec<f64> = values.collect();
        values.iter().sum::<f64>() / values.len() as f64
    };
    let two = || known_a.iter().chain(&known_b).copied();
    let of_two = mean(&mut two());
    let of_all = mean(&mut two().chain(known_mixed.iter().flatten().copied()));
    let variance = mean(&mut two().map(|y| (y - of_two).powi(2)));
    let (first, total) = (numbers(&reference["S1"]), numbers(&reference["ST"]));
    for (k, index) in found.iter().enumerate() {
        let moved = mean(&mut known_mixed[k].iter().zip(&known_a).map(|(m, a)| m - a));
        let salibs = first[k] + (of_all - of_two) * moved / variance;
        assert!(
            (index.first - salibs).abs() < 1e-9,
            "{}: {index:?}, {salibs}",
            KEYS[k]
        );
        assert!(
            (index.total - total[k]).abs() < 1e-9,
            "{}: {index:?}",
            KEYS[k]
        );
    }
    // The room passes on nearly one to one, and is what four of these matter most by: what Sobol' indices are for.
    assert!(found[0].total > found[3].total);
}

/// Knowing a value or reading a thermometer never makes the band wider than chance would, and the thermometer on what
/// decides tells most of it.
#[test]
fn what_is_measured_is_worth_something() {
    let station = dogdays::chamber::StationKind::DriveGear;
    let sampling = Sampling {
        samples: 64,
        seed: 1,
    };
    let s = sensitivity(&demo().inputs, station, sampling, &|| ());
    assert_eq!(s.left_out, 0);
    assert_eq!(s.shares.len(), 13);
    let now = s.half_width_K;
    assert!(now.peak > 2.0 && now.margin > now.peak, "{now:?}");
    let best = &s.readings[0];
    assert!(
        best.half_width_K.peak < 0.6 * now.peak,
        "{best:?} of {now:?}"
    );
    for known in &s.known {
        assert!(known.half_width_K.peak < 1.1 * now.peak, "{known:?}");
    }
    // All shares of first order together are no more than the whole, but for their own doubt.
    let sum: f64 = s.shares.iter().map(|s| s.index.peak.first).sum();
    assert!(sum < 1.3, "{sum}");
}

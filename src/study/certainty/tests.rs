//! Bands against distributions known in closed form, and against runs made by hand.

use super::*;
use crate::runfile::demo;

fn few(samples: u32, seed: u32) -> Certainty {
    certainty(
        &demo().inputs,
        StationKind::DriveGear,
        Sampling { samples, seed },
    )
}

#[test]
fn the_middle_of_all_doubts_is_the_run_itself() {
    let demo = demo();
    let doubtful = demo.inputs.doubtful();
    let run = drawn(&demo.inputs, &doubtful, |_| 0.0).expect("a run");
    assert_eq!(run.machine, demo.run.machine);
    assert_eq!(run.coefficients, demo.run.coefficients);
}

#[test]
fn a_seed_is_a_result_and_another_seed_nearly_the_same_one() {
    let (a, again, b) = (few(64, 1), few(64, 1), few(64, 2));
    assert_eq!(a, again);
    assert_ne!(a.samples, b.samples);
    let middle = |c: &Certainty| c.hottest_K(StationKind::DriveGear).expect("samples").p50;
    assert!((middle(&a) - middle(&b)).abs() < 1.0);
}

/// A sample is what the run of its values comes to by itself, looked at as closely as `check` looks.
#[test]
fn a_sample_is_its_run() {
    let demo = demo();
    let doubtful = demo.inputs.doubtful();
    let c = few(16, 3);
    assert!(c.failed.is_empty(), "{:?}", c.failed);
    for k in [0, 7, 15] {
        let run = drawn(&demo.inputs, &doubtful, |d| points::normal(k, d, 3)).expect("a run");
        let alone = super::super::check::outcome(&run, &Options::fine()).expect("it runs");
        let margin_K = c.samples[k as usize].margin_K;
        assert!(
            (margin_K - alone.margin_K).abs() < 0.05,
            "sample {k}: {margin_K} and {}",
            alone.margin_K
        );
    }
}

/// A lid that comes off whole, a bed as wide as the chamber, an extraction point right under the lid, a filter that takes
/// hardly more when it is loaded: drawn larger than what they are in, they are as large as that, and no sample is lost.
#[test]
fn what_fills_its_place_loses_no_sample() {
    let mut inputs = demo().inputs;
    let machine = demo().run.machine;
    inputs.put("machine.lid_opening", machine.width_m * machine.depth_m);
    inputs.put("machine.extraction_height", machine.height_m);
    inputs.put("machine.bed.width", machine.width_m);
    inputs.put("system.filter_clean", 199.0);
    let sampling = Sampling {
        samples: 64,
        seed: 1,
    };
    let c = certainty(&inputs, StationKind::DriveGear, sampling);
    assert!(c.failed.is_empty(), "{:?}", c.failed);
    assert_eq!(c.samples.len(), 64);
}

/// With only the room in doubt, ± 2 K at one in forty, the band's ends at one in twenty are the runs in a room 1.6785 K
/// cooler and warmer: 2 K times 1.64485/1.95996.
#[test]
fn one_doubt_alone_is_the_band() {
    let demo = demo();
    let mut doubtful = demo.inputs.doubtful();
    doubtful.retain(|d| d.input.key() == "room.shift");
    assert_eq!(doubtful.len(), 1);
    let outcome = |run: &Run| super::super::check::outcome(run, &Options::default());
    for z in [-1.644_853_6, 1.644_853_6] {
        let drawn = drawn(&demo.inputs, &doubtful, |_| z).expect("a run");
        let mut shifted = demo.run.clone();
        shifted.room.weather = shifted.room.weather.raised(1.678_45 * f64::signum(z));
        let (drawn, shifted) = (outcome(&drawn), outcome(&shifted));
        let apart_K = drawn.expect("it runs").peak_K - shifted.expect("it runs").peak_K;
        assert!(apart_K.abs() < 0.01, "{z}: {apart_K}");
    }
}

//! Which values are in doubt, and how well someone knows them.

use super::{plus, refused, run, with};
use crate::run::{Doubtful, Inputs};

fn of<'a>(all: &'a [Doubtful], key: &str) -> Option<&'a Doubtful> {
    all.iter().find(|d| d.input.key() == key)
}

fn doubtful(text: &str) -> (Inputs, Vec<Doubtful>) {
    let inputs = run(text).inputs;
    let all = inputs.doubtful();
    (inputs, all)
}

#[test]
fn each_value_is_doubted_once() {
    let (_, all) = doubtful(super::GOOD);
    assert!(all.len() > 60, "{}", all.len());
    let heat = of(&all, "coefficients.feeder_heat").expect("in doubt");
    assert!((heat.distribution.low - 0.6).abs() < 1e-12);
    // Counted in the coefficient that multiplies it.
    assert!(of(&all, "machine.feeder.heat").is_none());
    // A setpoint is what it is said to be, a requirement as well.
    assert!(of(&all, "require.margin").is_none());
    // A room's air may be warmer than the forecast has it.
    let shift = of(&all, "room.shift").expect("in doubt");
    assert!((shift.distribution.high - 2.0).abs() < 1e-9);
}

#[test]
fn what_someone_measured_is_doubted_as_little_as_it_says() {
    let text = plus("machine.feeder", "heat = \"3.0 W ± 0.2 W\"");
    let (inputs, all) = doubtful(&text);
    let heat = of(&all, "machine.feeder.heat").expect("in doubt");
    assert!((heat.distribution.median - 3.0).abs() < 1e-12);
    assert!((heat.distribution.at(-1.959_964) - 2.8).abs() < 1e-6);
    assert!(
        of(&all, "coefficients.feeder_heat").is_none(),
        "counted in the measured heat"
    );
    let within = inputs.within(&heat.input).expect("written");
    assert!((within - 0.2).abs() < 1e-12);
    let (_, all) = doubtful(&with("\"31 degC\"", "\"31 ± 0.5 degC\""));
    let room = of(&all, "room.temperature").expect("in doubt");
    assert!((room.distribution.high - room.distribution.median - 0.5).abs() < 1e-9);
    assert!(
        of(&all, "room.shift").is_none(),
        "counted in the measured room"
    );
}

#[test]
fn a_doubt_that_is_none_is_refused_in_words() {
    refused(
        &with("\"2.3 kg\"", "\"2.3 kg ± 0 kg\""),
        (9, 8),
        &["`part.mass`", "± 0.2 kg"],
    );
    refused(
        &with("\"2.3 kg\"", "\"2.3 kg ± 1 m\""),
        (9, 8),
        &["measures a length"],
    );
}

#[test]
fn how_well_a_value_is_known_is_explained_with_it() {
    let loaded = run(&with("\"2.3 kg\"", "\"2.3 kg ± 2 %\""));
    let mass = loaded.provenance.iter().find(|s| s.key == "part.mass");
    let mass = mass.expect("stated");
    assert_eq!(mass.value, "2.3 kg ± 0.046 kg");
}

//! Random runs, and the laws that hold for all of them.

use dogdays::Run;
use dogdays::chamber::IntegratorKind;
use dogdays::integrate::Options;
use dogdays::run::Control;
use dogdays::study::{self, Findings};
use fastrand::Rng;

use crate::generate;
use crate::inputs::Shop;
use crate::watch::Watch;

/// A day costs some hundred steps, a thermostat some ten a start.
const MOST_STEPS: u64 = 400_000;
/// How exact a study is against `check`: ten times the 0.005 K that its tolerance was chosen for, which
/// holds for the hottest filament of usual runs; these have every value at the end of its range.
const STUDY_K: f64 = 0.05;
/// What one step may be off in a node.
const CHECK_K: f64 = 0.05;

/// Enough for anything that ends.
pub fn bounded() -> Options {
    Options {
        max_steps: MOST_STEPS,
        ..Options::default()
    }
}

/// A refusal in words that someone can act on.
pub fn said_well(what: &str) {
    assert!(what.len() > 20 && !what.contains("NaN"), "{what}");
}

/// One random run that loads.
pub fn attempt(shop: &Shop, random: &mut Rng, watch: &Watch) {
    /// Most of those made are valid; that this many are not says that generating is broken.
    const TRIES: usize = 500;
    for _ in 0..TRIES {
        let text = generate::run(random, shop);
        if let Ok(loaded) = watch.with(&text, || shop.load(&text)) {
            watch.with(&text, || keeps_the_laws(&loaded.run));
            return;
        }
    }
    panic!("none of {TRIES} generated runs is valid");
}

fn fine() -> Options {
    Options {
        max_steps: MOST_STEPS,
        ..Options::fine()
    }
}

fn check(run: &Run) -> Option<Findings> {
    match study::check(run, IntegratorKind::Rosenbrock, &fine()) {
        Ok(findings) => Some(findings),
        Err(e) => {
            said_well(&e.to_string());
            None
        }
    }
}

fn keeps_the_laws(run: &Run) {
    let Some(findings) = check(run) else { return };
    within_bounds(run, &findings);
    // Rounding and nothing else: DEVELOPERS.md, "ledgers".
    let unaccounted = findings.heat.unaccounted_relative;
    assert!(
        unaccounted < 1e-6,
        "{unaccounted} of the heat is unaccounted for"
    );
    let outcome = study::check::outcome(run, &bounded()).expect("it ran a moment ago");
    let off_K = (outcome.margin_K - findings.outcome.margin_K).abs();
    assert!(off_K < STUDY_K, "a study is {off_K} K from `check`");
    if !switches(run) {
        warmer_room(run, &findings);
    }
}

/// No temperature below everything cold; none of what a heater holds above everything that heats it.
fn within_bounds(run: &Run, f: &Findings) {
    let points = &f.simulation.chamber.points;
    let initial = &run.initial;
    let starts = [
        initial.air_K,
        initial.bed_K,
        initial.panels_K,
        initial.frame_K,
        initial.motors_K,
        initial.hotend_K,
        initial.cold_end_K,
        initial.room_K,
    ];
    let starts = || starts.into_iter().flatten();
    let outside_K = (0..=(run.duration_s / 300.0).ceil() as u32)
        .map(|k| run.room.weather.at(f64::from(k) * 300.0).0)
        .fold(f64::INFINITY, f64::min);
    let cooler_K = run.room.building.as_ref().map(|b| b.cooler_setpoint_K);
    let coldest_K = starts().chain(cooler_K).fold(outside_K, f64::min);
    for node in &f.nodes {
        for K in [node.min_K, node.mean_K, node.max_K, node.end_K] {
            assert!(K.is_finite(), "{node:?}");
        }
        assert!(
            node.min_K > coldest_K - CHECK_K,
            "{node:?}, and nothing is below {coldest_K} K"
        );
        assert!(
            node.min_K <= node.mean_K + CHECK_K && node.mean_K <= node.max_K + CHECK_K,
            "{node:?}"
        );
    }
    for station in &f.stations {
        assert!(
            station.max_K.is_finite() && station.moving_max_K.is_finite(),
            "{station:?}"
        );
    }
    let hottest_start_K = starts().fold(f64::NEG_INFINITY, f64::max);
    let held = |setpoint: fn(&dogdays::run::Phase) -> Option<f64>| {
        run.phases
            .iter()
            .filter_map(setpoint)
            .fold(hottest_start_K, f64::max)
    };
    // The bed takes up radiation and feed's heat from a nozzle that is hotter; nothing heats the nozzle but its heater.
    let nozzle_K = held(|p| p.nozzle_K).max(held(|p| p.bed_K));
    let others_K = f
        .nodes
        .iter()
        .enumerate()
        .filter(|(point, _)| *point != points.hotend);
    let others_K = others_K
        .map(|(_, n)| n.max_K)
        .fold(f64::NEG_INFINITY, f64::max);
    let hotend_K = f.nodes[points.hotend].max_K;
    assert!(
        hotend_K < nozzle_K.max(others_K) + 0.5,
        "the hotend reaches {hotend_K} K and is set to {nozzle_K} K"
    );
}

/// Whether anything goes on or off by a temperature: then a warmer room may start a fan.
fn switches(run: &Run) -> bool {
    let is_thermostat = |control: &Control| matches!(control, Control::Thermostat { .. });
    is_thermostat(&run.arrangement.control)
        || run
            .schedule
            .iter()
            .any(|s| is_thermostat(&s.arrangement.control))
        || run.room.building.is_some()
        || run.phases.iter().any(|p| p.chamber_K.is_some())
}

/// Two kelvins more in the room, and no station is cooler.
fn warmer_room(run: &Run, before: &Findings) {
    const WARMER_K: f64 = 2.0;
    let mut warmer = run.clone();
    warmer.room.weather = warmer.room.weather.raised(WARMER_K);
    let Some(after) = check(&warmer) else { return };
    for (a, b) in before.stations.iter().zip(&after.stations) {
        assert!(
            b.max_K > a.max_K - CHECK_K,
            "{WARMER_K} K more in the room, and the {} falls from {} to {} K",
            a.station.name(),
            a.max_K,
            b.max_K
        );
    }
}

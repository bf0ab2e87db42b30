//! Heaters too weak, heaters too slow, and heaters just strong enough, against balances by hand.

use super::*;
use crate::chamber::IntegratorKind;
use crate::integrate::Options;
use crate::network::elements::stream::Part;
use crate::run::{ArrangementKind, Inputs, Run};
use crate::runfile;
use crate::study::breakeven::BreakEven;
use crate::study::cautions::Caution;
use crate::study::check::{Findings, Outcome, Verdict, check, outcome};
use crate::study::compare::{compare, usual};
use crate::study::remedies::{Action, remedies};
use crate::study::size_fan::size_fan;
use crate::study::warnings::Warning;

/// The demo with some values changed, in SI.
fn demo(changes: &[(&str, f64)]) -> Inputs {
    let mut inputs = runfile::demo().inputs;
    for (key, si) in changes {
        inputs.put(key, *si);
    }
    inputs
}

fn run_of(inputs: &Inputs) -> Run {
    inputs.to_run().unwrap_or_else(|p| panic!("{p}"))
}

fn found(inputs: &Inputs) -> Findings {
    check(
        &run_of(inputs),
        IntegratorKind::Rosenbrock,
        &Options::fine(),
    )
    .unwrap()
}

fn comes_to(inputs: &Inputs) -> Outcome {
    outcome(&run_of(inputs), &Options::default()).unwrap()
}

/// Eight kilograms in an hour.
const TOO_MUCH: [(&str, f64); 2] = [("run.duration", 4500.0), ("part.mass", 8.0)];

/// By hand: 8 kg/3600 s times the material's heat capacity times the way from the filament that arrives to
/// the setpoint, and what the block loses to air and cold end at that temperature.
#[test]
fn a_nozzle_fed_too_much_can_not_run() {
    let inputs = demo(&TOO_MUCH);
    let (run, f) = (run_of(&inputs), found(&inputs));
    assert_eq!(f.outcome.verdict, Verdict::CannotRun);
    assert_eq!(f.outcome.verdict.exit_code(), 30);
    let [s] = &f.outcome.shortfalls[..] else {
        panic!("{:?}", f.outcome.shortfalls);
    };
    assert_eq!((s.heater, s.failing), (Heater::Nozzle, Failing::Falls));
    let (sim, p) = (&f.simulation, &f.simulation.chamber.points);
    let at = |point| sim.temperature_K(point, s.at_s);
    let (piece, _) = sim.trajectory.locate(s.at_s);
    let stream = &sim.elements_of(piece).streams[0];
    let mut arrives_K = 0.0;
    stream.shares_after(stream.stations().len() - 1, Part::Mean, |point, share| {
        arrives_K += share * at(point);
    });
    let feed_kg_per_s = 8.0 / 3600.0;
    let feed_W = feed_kg_per_s * run.material.heat_capacity_J_per_kgK * (s.setpoint_K - arrives_K);
    let hotend = &run.machine.hotend;
    let losses_W = hotend.loss_W_per_K * (s.setpoint_K - at(p.top()))
        + hotend.heat_break_W_per_K * (s.setpoint_K - at(p.cold_end));
    // One state, asked in two ways: only digits differ. The demo sets no coefficient.
    let by_hand_W = feed_W + losses_W;
    assert!(
        (s.needed_W / by_hand_W - 1.0).abs() < 1e-6,
        "{} W, by hand {by_hand_W} W",
        s.needed_W
    );
    assert!(
        (s.feed_W / feed_W - 1.0).abs() < 1e-6,
        "{} W, by hand {feed_W} W",
        s.feed_W
    );
    assert_eq!(s.available_W, hotend.max_power_W);
    // At the bottom the 60 W there are hold what they can: within the block's few seconds of lag.
    let holds_K = s.reached_K;
    let carried_W = feed_kg_per_s * run.material.heat_capacity_J_per_kgK * (holds_K - arrives_K)
        + hotend.loss_W_per_K * (holds_K - at(p.top()))
        + hotend.heat_break_W_per_K * (holds_K - at(p.cold_end));
    assert!(
        (carried_W - hotend.max_power_W).abs() < 0.5,
        "{carried_W} W"
    );
    // All of the hour's printing; from its first second, in which the block falls by 5 K.
    assert!((s.lasts_s - 3600.0).abs() < 60.0 && (s.from_s - 900.0).abs() < 60.0);
    assert!(f.cautions.contains(&Caution::StrongerHeater));
    // Printing so many times as long just runs, a little less does not.
    let times = s.times_as_long().unwrap();
    for (share, runs) in [(1.02, true), (0.9, false)] {
        let duration_s = 900.0 + 3600.0 * times * share;
        let slower = demo(&[("run.duration", duration_s), ("part.mass", 8.0)]);
        let verdict = comes_to(&slower).verdict;
        assert_eq!(verdict != Verdict::CannotRun, runs, "{share}: {verdict:?}");
    }
    // So does a heater with that power, and one with a twentieth less, which is 9 K, does not.
    for (share, runs) in [(1.01, true), (0.95, false)] {
        let power_W = s.needed_W * share;
        let stronger = demo(&[&TOO_MUCH[..], &[("machine.hotend.max_power", power_W)]].concat());
        let verdict = comes_to(&stronger).verdict;
        assert_eq!(verdict != Verdict::CannotRun, runs, "{share}: {verdict:?}");
    }
}

/// Neither ledgers nor tolerance decide it.
#[test]
fn studies_see_it_without_ledgers() {
    let inputs = demo(&TOO_MUCH);
    let (coarse, fine) = (comes_to(&inputs), found(&inputs).outcome);
    assert_eq!(coarse.verdict, Verdict::CannotRun);
    let (a, b) = (&coarse.shortfalls[0], &fine.shortfalls[0]);
    assert!((a.needed_W / b.needed_W - 1.0).abs() < 1e-3);
    assert!((a.reached_K - b.reached_K).abs() < 0.1);
    assert!(coarse.excess_K(3.0) < 0.0 && coarse.margin_K > 3.0);
}

/// A job that can't run holds nowhere: not in other arrangements, not in other weather, with no fan and no
/// remedy.
#[test]
fn nothing_holds_what_can_not_run() {
    let (inputs, options) = (demo(&TOO_MUCH), Options::default());
    for row in compare(usual(&inputs, &options).unwrap().candidates, None, &options).unwrap() {
        assert_eq!(
            row.findings.outcome.verdict,
            Verdict::CannotRun,
            "{}",
            row.name
        );
        assert_eq!(row.break_even, BreakEven::Never, "{}", row.name);
    }
    let sizing = size_fan(&inputs, &[], None, &options).unwrap();
    assert_eq!(sizing.verdict(), Verdict::CannotRun);
    assert_eq!(sizing.needed_m3_per_s, None);
    let r = remedies(&inputs, &[], &options).unwrap();
    assert_eq!(r.before.verdict, Verdict::CannotRun);
    assert!(r.found.is_empty() && r.not_enough.is_empty() && r.floor.is_none());
}

/// Heating up for one minute, where the plate alone takes m cp dT/P: the machine waits. By hand the plate
/// takes 2.7 kJ/K over some 37 K; what it loses meanwhile adds a tenth or more: at 20 K above the air some 60 W of 600 W.
#[test]
fn a_bed_that_is_not_warm_yet_is_waited_for() {
    let f = found(&demo(&[("job.heat_up", 60.0)]));
    assert_ne!(f.outcome.verdict, Verdict::CannotRun);
    let run = f.simulation.chamber.run();
    let waits: Vec<&Wait> = f
        .warnings
        .iter()
        .filter_map(|w| match w {
            Warning::Waits(wait) if wait.heater == Heater::Bed => Some(wait),
            _ => None,
        })
        .collect();
    let [wait] = waits[..] else {
        panic!("{:?}", f.warnings);
    };
    let bed = &run.machine.bed;
    let begins_K = f
        .simulation
        .temperature_K(f.simulation.chamber.points.bed, 0.0);
    let rise_K = wait.setpoint_K - SHORT_K - begins_K;
    let plate_s = bed.mass_kg * bed.heat_capacity_J_per_kgK * rise_K / bed.max_power_W;
    let until_s = wait.until_s.unwrap();
    assert!(
        until_s > plate_s && until_s < 1.25 * plate_s,
        "{until_s} s, plate {plate_s} s"
    );
    assert!((wait.from_s - 60.0).abs() < 1e-6 && wait.at_first);
    // The advice is enough.
    let advised_s = (until_s / 60.0).ceil() * 60.0;
    let f = found(&demo(&[("job.heat_up", advised_s)]));
    assert!(
        f.warnings.iter().all(|w| !matches!(w, Warning::Waits(_))),
        "{:?}",
        f.warnings
    );
}

/// A bed of 30 W, which its losses at 60 °C exceed at any hour of the night; and of 60 W, which need an hour
/// and then hold it.
#[test]
fn a_weak_bed_can_not_run_and_a_slow_one_can() {
    let f = found(&demo(&[("machine.bed.max_power", 30.0)]));
    assert_eq!(f.outcome.verdict, Verdict::CannotRun);
    let [s] = &f.outcome.shortfalls[..] else {
        panic!("{:?}", f.outcome.shortfalls);
    };
    assert!(s.heater == Heater::Bed && s.feed_W.abs() < 1e-9 && s.needed_W > 30.0);
    assert_eq!(s.times_as_long(), None);
    let ways = s.ways_out(System::Si).join(" ");
    assert!(ways.contains("machine.bed.max_power") && ways.contains("job.bed"));
    let slow = demo(&[("machine.bed.max_power", 60.0)]);
    let f = found(&slow);
    assert_ne!(f.outcome.verdict, Verdict::CannotRun);
    assert!(f.warnings.iter().any(|w| matches!(w, Warning::Waits(_))));
    // So much air that it can't hold the bed is no remedy; less of it still is.
    let mut windy = slow.clone();
    windy.extract(0.2);
    assert_eq!(comes_to(&windy).verdict, Verdict::CannotRun);
    let r = remedies(&slow, &[], &Options::default()).unwrap();
    let extracts = r
        .found
        .iter()
        .any(|r| matches!(r.actions[..], [Action::Extract { .. }]));
    assert!(extracts, "{:#?}", r.found);
}

/// A door opened for a spool cools a bed: the machine waits, and the job goes on.
#[test]
fn a_bed_cooled_by_an_open_door_recovers() {
    let mut inputs = demo(&[("machine.bed.max_power", 75.0), ("job.heat_up", 3600.0)]);
    let mut run = run_of(&inputs);
    assert_ne!(comes_to(&inputs).verdict, Verdict::CannotRun);
    // Heater off for half an hour, as a door switch does.
    let print = run
        .phases
        .iter()
        .position(|p| p.kind == PhaseKind::Print)
        .unwrap();
    let mut pause = run.phases[print].clone();
    let mut after = pause.clone();
    (pause.begin_s, pause.end_s) = (50.0 * 3600.0, 50.5 * 3600.0);
    (pause.kind, pause.bed_K, pause.feed_kg_per_s) = (PhaseKind::Pause, None, 0.0);
    (after.begin_s, run.phases[print].end_s) = (pause.end_s, pause.begin_s);
    run.phases.splice(print + 1..=print, [pause, after]);
    let f = check(&run, IntegratorKind::Rosenbrock, &Options::default()).unwrap();
    assert_ne!(
        f.outcome.verdict,
        Verdict::CannotRun,
        "{:?}",
        f.outcome.shortfalls
    );
    let late = f
        .warnings
        .iter()
        .any(|w| matches!(w, Warning::Waits(w) if !w.at_first));
    assert!(late, "{:?}", f.warnings);
    inputs.arrange(&ArrangementKind::DoorOpen, &crate::run::Control::Constant);
    assert_ne!(comes_to(&inputs).verdict, Verdict::CannotRun);
}

/// First layers on a bed of 75 W set to 100 °C, which it never gets to, and 60 °C from then on, which it holds:
/// what was asked for first is not forgotten. Asked for in two steps, the second higher, it is one wait.
#[test]
fn a_setpoint_that_is_given_up_was_not_reached() {
    let inputs = demo(&[("machine.bed.max_power", 75.0), ("job.heat_up", 3600.0)]);
    let with = |first_K: f64, then_K: f64| {
        let mut run = run_of(&inputs);
        let print = run
            .phases
            .iter()
            .position(|p| p.kind == PhaseKind::Print)
            .unwrap();
        let mut after = run.phases[print].clone();
        after.begin_s += 600.0;
        after.bed_K = Some(then_K);
        run.phases[print].end_s = after.begin_s;
        run.phases[print].bed_K = Some(first_K);
        run.phases.insert(print + 1, after);
        check(&run, IntegratorKind::Rosenbrock, &Options::default()).unwrap()
    };
    let f = with(373.15, 333.15);
    let [s] = &f.outcome.shortfalls[..] else {
        panic!("{:?}", f.outcome.shortfalls);
    };
    assert_eq!((s.failing, s.setpoint_K), (Failing::Stays, 373.15));
    assert!((s.lasts_s - 600.0).abs() < 60.0, "{} s", s.lasts_s);
    let f = with(338.15, 339.15);
    assert!(f.outcome.shortfalls.is_empty(), "{:?}", f.outcome);
}

use super::*;
use crate::course::Course;
use crate::network::Direction;
use crate::run::{ArrangementKind, Building, FailureKind, Neighbour, Phase, PhaseKind};
use crate::study::check;

const HOUR_S: f64 = 3600.0;

fn failure(kind: FailureKind, begin_h: f64, end_h: f64) -> Failure {
    Failure {
        kind,
        begin_s: begin_h * HOUR_S,
        end_s: end_h * HOUR_S,
    }
}

/// The demo with an extracting fan in an air-conditioned room, three days of it.
fn cooled() -> Run {
    let mut run = crate::runfile::demo().run;
    run.arrangement.kind = ArrangementKind::Extracting {
        flow_m3_per_s: 30.0 / 3600.0,
    };
    run.room.building = Some(building());
    run.duration_s = 72.0 * HOUR_S;
    for phase in &mut run.phases {
        phase.end_s = phase.end_s.min(run.duration_s);
    }
    run
}

fn building() -> Building {
    Building {
        volume_m3: 60.0,
        envelope_W_per_K: 60.0,
        air_changes_per_s: 0.5 / 3600.0,
        other_heat_W: 300.0,
        cooler_max_W: 2_000.0,
        cooler_setpoint_K: 300.15,
        storage_factor: 10.0,
        machines: 1,
        sun_W: Course::Constant(0.0),
        neighbours_W: Course::Constant(0.0),
    }
}

fn simulated(run: &Run, kind: IntegratorKind, options: &Options) -> Simulation {
    Simulation::of(run, kind, options).expect("runs")
}

fn fine(run: &Run) -> Simulation {
    simulated(run, IntegratorKind::Rosenbrock, &Options::fine())
}

fn checked(run: &Run) -> crate::study::Findings {
    check(run, IntegratorKind::Rosenbrock, &Options::fine()).expect("runs")
}

/// A cold machine in a hall of 20,000 m3 whose air stores ten times its own heat: 101,325 Pa, 20 m up and 30 degC make
/// 1.1620 kg/m3 and, with 1005 J/(kg K), 233.6 MJ/K; walls of 2,000 W/K: 32.4 h. Held at 25 degC, 30 degC outside and
/// 64 kW within, it goes towards 62 degC once the air conditioner fails, and passes the spool's 45 degC, which hangs in
/// it, after 32.4 h ln(37/17) = 25.23 h. The machine with its walls and frame is less than a thousandth of that.
#[test]
fn a_room_without_its_air_conditioner_warms_as_one_resistance_and_one_capacity() {
    let mut run = crate::runfile::demo().run;
    run.room.altitude_m = 20.0;
    run.room.weather = Course::Constant(303.15);
    run.room.building = Some(Building {
        volume_m3: 20_000.0,
        envelope_W_per_K: 2_000.0,
        air_changes_per_s: 0.0,
        other_heat_W: 64_000.0,
        cooler_max_W: 100_000.0,
        cooler_setpoint_K: 298.15,
        ..building()
    });
    run.initial.room_K = Some(298.15);
    run.phases = vec![
        Phase {
            kind: PhaseKind::CoolDown,
            end_s: run.duration_s,
            ..run.phases[0].without_power()
        };
        1
    ];
    run.failures = vec![failure(FailureKind::AirConditionerOff, 10.0, 121.0)];
    let f = checked(&run);
    assert_eq!(f.outcome.verdict, Verdict::Holds);
    let of = &f.failures[0];
    let TimeLeft::Until(left_s) = of.time_left else {
        panic!("{of:?}");
    };
    assert_eq!(
        (of.station, of.verdict),
        (StationKind::Spool, Verdict::Softens)
    );
    assert!((of.hottest.limit_K - 318.15).abs() < 1e-9, "{of:?}");
    let by_hand_h = 32.44 * (37.0_f64 / 17.0).ln();
    assert!(
        (left_s / HOUR_S / by_hand_h - 1.0).abs() < 0.005,
        "{} h, {by_hand_h} h",
        left_s / HOUR_S
    );
    // 62 degC less what is left of 37 K after 111 h, 1.2 K.
    assert!(
        (of.hottest.max_K - 333.94).abs() < 0.1,
        "{}",
        of.hottest.max_K
    );
    assert!((of.warmer_K - 35.8).abs() < 0.1, "{}", of.warmer_K);
    assert_eq!(of.working_s, None);
}

/// The other integrator shares only the right-hand side. And every joule is accounted for, through a fan that fails, a
/// room without cooling and a power cut.
#[test]
fn a_failing_run_agrees_with_the_explicit_integrator_and_keeps_its_audit() {
    let all = [
        failure(FailureKind::FanOff, 10.0, 14.0),
        failure(FailureKind::AirConditionerOff, 12.0, 20.0),
        failure(FailureKind::PowerCut, 13.0, 13.0 + 1.0 / 3.0),
    ];
    let mut run = cooled();
    run.duration_s = 22.0 * HOUR_S;
    run.phases.retain(|p| p.begin_s < run.duration_s);
    if let Some(last) = run.phases.last_mut() {
        last.end_s = run.duration_s;
    }
    let failing = run.failing(&all);
    let course = fine(&failing);
    assert!(course.heat().unaccounted_relative < 1e-9);
    let tight = Options {
        tolerance: 1e-6,
        ..Options::fine()
    };
    let explicit = simulated(&failing, IntegratorKind::Explicit, &tight);
    for k in 0..=220 {
        let t_s = 0.1 * HOUR_S * f64::from(k);
        for station in StationKind::ALL {
            let apart_K = course.filament_K(station, t_s) - explicit.filament_K(station, t_s);
            // At the very moment of a switch one reads before it and one after.
            if k % 10 != 0 {
                assert!(apart_K.abs() < 0.02, "{t_s} s, {station:?}: {apart_K} K");
            }
        }
    }
}

/// Two that overlap, one in the other, and one after the other without a gap are one that lasts as long; a power cut
/// has the others within.
#[test]
fn overlapping_failures_are_their_union() {
    use FailureKind::{AirConditionerOff, FanOff, PowerCut};
    let run = cooled();
    let one = |kind| vec![failure(kind, 30.0, 40.0)];
    for (several, union) in [
        (
            vec![failure(FanOff, 30.0, 36.0), failure(FanOff, 33.0, 40.0)],
            one(FanOff),
        ),
        (
            vec![failure(FanOff, 33.0, 35.0), failure(FanOff, 30.0, 40.0)],
            one(FanOff),
        ),
        (
            vec![failure(FanOff, 30.0, 35.0), failure(FanOff, 35.0, 40.0)],
            one(FanOff),
        ),
        (
            vec![
                failure(PowerCut, 30.0, 40.0),
                failure(FanOff, 32.0, 34.0),
                failure(AirConditionerOff, 31.0, 40.0),
            ],
            one(PowerCut),
        ),
    ] {
        let (a, b) = (fine(&run.failing(&several)), fine(&run.failing(&union)));
        for h in 0..72 {
            let t_s = HOUR_S * (f64::from(h) + 0.5);
            for station in StationKind::ALL {
                let apart_K = a.filament_K(station, t_s) - b.filament_K(station, t_s);
                assert!(apart_K.abs() < 0.01, "{several:?} {h} h: {apart_K} K");
            }
        }
        // It does make a difference.
        let working_K = fine(&run).filament_K(StationKind::DriveGear, 39.0 * HOUR_S);
        let failing_K = a.filament_K(StationKind::DriveGear, 39.0 * HOUR_S);
        assert!((failing_K - working_K).abs() > 1.0);
    }
}

/// During a power cut no heater, motor or fan gives anything off, nothing is laid down, and filament has its station's
/// temperature; before and after, it is the run as planned.
#[test]
fn a_power_cut_stops_everything_and_lets_the_filament_stand() {
    let (begin_s, end_s) = (30.0 * HOUR_S, 30.0 * HOUR_S + 1200.0);
    let run = cooled();
    let cut = Failure {
        kind: FailureKind::PowerCut,
        begin_s,
        end_s,
    };
    let s = fine(&run.failing(&[cut]));
    let n = s.trajectory.unknowns;
    let at = |k: usize, t_s: f64| {
        let (piece, x) = s.trajectory.locate(t_s);
        piece.value(n + k, x)
    };
    let mut gave = 0;
    for (id, ledger) in s.chamber.network.reported() {
        if ledger.direction != Direction::In {
            continue;
        }
        let k = id.position();
        let during_J = at(k, end_s - 1.0) - at(k, begin_s + 1.0);
        assert!(during_J.abs() < 1e-6, "{}: {during_J} J", ledger.name);
        gave += usize::from((at(k, begin_s - 1.0) - at(k, begin_s - 1201.0)).abs() > 1.0);
    }
    assert!(gave >= 4, "{gave} sources work otherwise");
    let share = s.chamber.timeline.part_share();
    let (before, after) = (share.at(begin_s).0, share.at(end_s).0);
    assert_eq!(before, after);
    // 20 minutes of 72 hours less are laid down.
    let planned = fine(&run)
        .chamber
        .timeline
        .part_share()
        .at(run.duration_s)
        .0;
    let made = share.at(run.duration_s).0;
    let missing = (1.0 - 0.005) / 3.0 / 71.75;
    assert!((planned - made - missing).abs() < 1e-4, "{planned} {made}");
    let gear = s.chamber.points.gear;
    for after_s in [1.0, 60.0, 600.0, 1199.0] {
        let t_s = begin_s + after_s;
        let (filament_K, gear_K) = (
            s.filament_K(StationKind::DriveGear, t_s),
            s.temperature_K(gear, t_s),
        );
        assert!((filament_K - gear_K).abs() < 1e-9, "{after_s} s");
    }
    // A cold end without its fan has the hotend's heat all the same.
    let rise_K = |t_s: f64| s.temperature_K(s.chamber.points.cold_end, t_s);
    assert!(rise_K(begin_s + 60.0) > rise_K(begin_s) + 0.5);
}

/// Each failure is looked at by itself and all together; both may be the worse one.
#[test]
fn failures_are_looked_at_one_by_one_and_together() {
    let mut run = cooled();
    run.failures = vec![
        failure(FailureKind::AirConditionerOff, 54.0, 72.0),
        failure(FailureKind::FanOff, 30.0, 72.0),
        failure(FailureKind::PowerCut, 30.0, 72.0),
    ];
    let f = checked(&run);
    let asked: Vec<usize> = f.failures.iter().map(|of| of.failures.len()).collect();
    assert_eq!(asked, [1, 1, 1, 3]);
    let begins: Vec<f64> = f.failures[3]
        .failures
        .iter()
        .map(|one| one.begin_s / HOUR_S)
        .collect();
    assert_eq!(begins, [30.0, 30.0, 54.0]);
    let margin_K = |k: usize| f.failures[k].hottest.margin_K();
    // The machine stands cold through the afternoon that the fan alone would have spoiled.
    assert!(
        margin_K(3) > margin_K(1) + 0.5,
        "{} {}",
        margin_K(3),
        margin_K(1)
    );
    run.failures.pop();
    let f = checked(&run);
    let margin_K = |k: usize| f.failures[k].hottest.margin_K();
    assert!(margin_K(2) < margin_K(0) - 0.5 && margin_K(2) < margin_K(1) - 0.5);
}

/// What is asked about failures changes nothing of the run itself.
#[test]
fn the_run_itself_is_the_one_with_everything_working() {
    let plain = cooled();
    let mut asked = plain.clone();
    asked.failures = vec![failure(FailureKind::FanOff, 30.0, 72.0)];
    let (a, b) = (checked(&plain), checked(&asked));
    assert_eq!(a.outcome, b.outcome);
    assert_eq!(a.nodes, b.nodes);
    assert!(a.failures.is_empty());
    assert_eq!(plain.failing(&[]), plain);
}

/// A closed demo softens on its third day. From a failure on, time counts to when that happens; within the hours above
/// the limit there is none left.
#[test]
fn a_limit_that_is_passed_anyway_is_told_apart() {
    let mut run = crate::runfile::demo().run;
    let first_h = checked(&run).first_above_at_h.expect("softens");
    run.failures = vec![
        failure(FailureKind::PowerCut, first_h - 20.0, first_h - 19.99),
        failure(FailureKind::PowerCut, first_h + 0.5, first_h + 1.0),
    ];
    let f = checked(&run);
    let [before, within, _] = &f.failures[..] else {
        panic!("{:?}", f.failures);
    };
    let working_h = before.working_s.expect("softens anyway") / HOUR_S;
    assert!((working_h - 20.0).abs() < 1e-6, "{working_h}");
    let TimeLeft::Until(left_s) = before.time_left else {
        panic!("{before:?}");
    };
    assert!((left_s / HOUR_S - 20.0).abs() < 0.1, "{left_s}");
    assert_eq!(within.time_left, TimeLeft::None);
    assert_eq!(within.verdict, Verdict::Softens);
}

/// The others' clocks run from their own begins, and only the air conditioner is theirs too.
#[test]
fn other_runs_in_the_room_lose_its_air_conditioner() {
    let mut run = cooled();
    run.neighbours = vec![Neighbour {
        run: cooled(),
        machines: 1,
        begins_s: -2.0 * HOUR_S,
    }];
    let failing = run.failing(&[
        failure(FailureKind::FanOff, 1.0, 2.0),
        failure(FailureKind::PowerCut, 3.0, 4.0),
        failure(FailureKind::AirConditionerOff, 5.0, 6.0),
    ]);
    assert_eq!(failing.fails.len(), 3);
    assert_eq!(
        failing.neighbours[0].run.fails,
        [
            failure(FailureKind::AirConditionerOff, 5.0, 6.0),
            failure(FailureKind::AirConditionerOff, 7.0, 8.0),
        ]
    );
}

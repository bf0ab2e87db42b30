//! Several machines in one room: against one network of all of them, against copies that are counted, and by what is
//! conserved.

use super::*;
use crate::chamber::build::elements;
use crate::chamber::enclosure::Enclosures;
use crate::chamber::start::start;
use crate::chamber::things::Things;
use crate::chamber::timeline::Timeline;
use crate::network::{Builder, Conductor, Configuration, Index, Reading, Schedule, Stretch};
use crate::physics::air::pressure_at_altitude_Pa;
use crate::run::{ArrangementKind, PhaseKind};

const HOUR_S: f64 = 3600.0;

/// The demo, in a room that loses 50 W/K and half a change an hour.
fn demo() -> Run {
    let mut run: Run = crate::runfile::demo().run;
    run.room.building = Some(Building {
        volume_m3: 60.0,
        envelope_W_per_K: 50.0,
        air_changes_per_s: 0.5 / HOUR_S,
        other_heat_W: 80.0,
        cooler_max_W: 0.0,
        cooler_setpoint_K: 298.15,
        storage_factor: 8.0,
        machines: 1,
        sun_W: Course::Constant(0.0),
        neighbours_W: Course::Constant(0.0),
    });
    run
}

/// Another machine, material and arrangement over the same time, in the demo's room: it draws 40 m3/h outdoors.
fn other() -> Run {
    let text = "[run]\nstart = \"2026-07-13 07:00\"\nduration = \"121 h\"\n[machine]\nname = \"bench-60\"\n\
        [material]\nname = \"petg\"\n[part]\nmass = \"0.9 kg\"\n[job]\ncool_down = \"30 h\"\n\
        [room]\ntemperature = \"30 degC\"\n[arrangement]\nkind = \"extracting\"\nflow = \"40 m3/h\"\n";
    let catalogue = crate::catalogue::Catalogue::embedded();
    let loaded = crate::runfile::parse(text, "other.toml", None, &catalogue);
    let mut run = loaded.unwrap_or_else(|problems| panic!("{problems}")).run;
    run.room = demo().room;
    run
}

fn beside(run: &Run, neighbours: Vec<Neighbour>) -> Run {
    Run {
        neighbours,
        ..run.clone()
    }
}

fn neighbour(run: &Run, machines: u32, begins_s: f64) -> Neighbour {
    let mut run = run.clone();
    if let Some(building) = &mut run.room.building {
        building.machines = machines;
    }
    run.room.weather = run.room.weather.from_later(begins_s);
    Neighbour {
        run,
        machines,
        begins_s,
    }
}

fn course(run: &Run) -> Simulation {
    Simulation::of(run, IntegratorKind::Rosenbrock, &Options::fine()).unwrap()
}

/// One network of two chambers: each with half of the room, and the halves joined so well that they are one.
struct Joint {
    network: crate::network::Network,
    schedule: Schedule,
    /// Room and drive gear of each.
    points: [[Index; 2]; 2],
}

fn joint(runs: [&Run; 2]) -> Joint {
    let halves = runs.map(|run| {
        let mut run = run.clone();
        if let Some(building) = &mut run.room.building {
            building.machines = 2;
        }
        run
    });
    let reference_K = halves[0].room.weather.at(0.0).0;
    let pressure_Pa = pressure_at_altitude_Pa(halves[0].room.altitude_m);
    let mut b = Builder::new(reference_K, pressure_Pa);
    let timelines = [0, 1].map(|k| Timeline::new(&halves[k]).unwrap());
    let begun = [0, 1].map(|k| Things::begin(&halves[k], &timelines[k], &mut b));
    let mut network = b.finish();
    let [first, second] = begun;
    let things = [
        first(&halves[0], &mut network),
        second(&halves[1], &mut network),
    ];
    let points = [0, 1].map(|k| things[k].points());
    for k in 0..2 {
        start(&halves[k].initial, &points[k], &mut network);
    }
    let mut cuts: Vec<(f64, usize)> = Vec::new();
    for (k, timeline) in timelines.iter().enumerate() {
        cuts.extend(timeline.stretches.iter().map(|s| (s.begin_s, k)));
    }
    cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
    cuts.dedup_by(|b, a| b.0 - a.0 < 1e-6);
    let ends = cuts.iter().skip(1).map(|c| c.0).chain([runs[0].duration_s]);
    let known = [Enclosures::default(), Enclosures::default()];
    let (mut configurations, mut stretches) = (Vec::new(), Vec::new());
    for ((begin_s, _), end_s) in cuts.iter().zip(ends) {
        let mut c = Configuration::default();
        for k in 0..2 {
            let stretches = &timelines[k].stretches;
            let now = stretches
                .iter()
                .rfind(|s| s.begin_s <= begin_s + 1e-6)
                .unwrap();
            assert!(now.thermostat.is_none());
            let recipe = &timelines[k].recipes[now.on];
            elements(
                &halves[k], recipe, &points[k], &network, &things[k], &known[k], &mut c,
            )
            .unwrap();
        }
        let (a, b) = (points[0].room, points[1].room);
        c.conductors.push(Conductor::new(a, b, 1e6));
        stretches.push(Stretch {
            begin_s: *begin_s,
            end_s,
            configuration: configurations.len(),
            thermostat: None,
        });
        configurations.push(c);
    }
    Joint {
        network,
        schedule: Schedule::new(configurations, stretches).unwrap(),
        points: points.map(|p| [p.room, p.gear]),
    }
}

/// The reference is one network of both chambers and the room, integrated as a whole: nothing is repeated in it and
/// nothing read off as a course. 0.01 K is what a course is exact to.
#[test]
fn two_machines_are_as_in_one_network_of_both() {
    let (a, b) = (demo(), other());
    let both = joint([&a, &b]);
    let kind = IntegratorKind::Rosenbrock;
    let fine = Options::fine();
    let reference = simulate(&both.network, &both.schedule, a.duration_s, kind, &fine).unwrap();
    let reference = Reading::new(&both.network, &both.schedule, &reference);
    let ours = course(&beside(&a, vec![neighbour(&b, 1, 0.0)]));
    let theirs = course(&beside(&b, vec![neighbour(&a, 1, 0.0)]));
    let alone = course(&a);
    let mut apart_K = 0.0;
    for k in 0..=242 {
        let t_s = 0.5 * HOUR_S * f64::from(k);
        for ((course, points), name) in [&ours, &theirs]
            .into_iter()
            .zip(both.points)
            .zip(["a", "b"])
        {
            let p = &course.chamber.points;
            for (point, in_both) in [p.room, p.gear].into_iter().zip(points) {
                let (got, want) = (
                    course.temperature_K(point, t_s),
                    reference.temperature_K(in_both, t_s),
                );
                assert!(
                    (got - want).abs() < 0.01,
                    "{name} {point} {t_s} s: {got} {want}"
                );
            }
        }
        let room = alone.chamber.points.room;
        apart_K = f64::max(
            apart_K,
            (ours.temperature_K(room, t_s) - alone.temperature_K(room, t_s)).abs(),
        );
    }
    assert!(apart_K > 0.3, "the other machine is felt: {apart_K} K");
}

/// Three machines alike are three machines alike, counted or listed, here or beside. 0.01 K: what is listed is a course.
#[test]
fn copies_are_the_same_counted_or_listed() {
    let run = demo();
    let mut counted = run.clone();
    if let Some(building) = &mut counted.room.building {
        building.machines = 3;
    }
    let counted = course(&counted);
    let listed = course(&beside(
        &run,
        vec![neighbour(&run, 1, 0.0), neighbour(&run, 1, 0.0)],
    ));
    let mixed = course(&beside(&run, vec![neighbour(&run, 2, 0.0)]));
    let p = &counted.chamber.points;
    for k in 0..=121 {
        let t_s = HOUR_S * f64::from(k);
        for point in [p.room, p.gear, p.top()] {
            let want = counted.temperature_K(point, t_s);
            for s in [&listed, &mixed] {
                let got = s.temperature_K(point, t_s);
                assert!((got - want).abs() < 0.01, "{point} {k} h: {got} {want}");
            }
        }
    }
}

/// Until another begins, and when all it does is over before, the room is as without it; one that begins later
/// finds the room, and stands in it, as warm as the other has made it.
#[test]
fn each_begins_at_its_own_moment() {
    let run = demo();
    let room_K = |s: &Simulation, hour: f64| s.temperature_K(s.chamber.points.room, hour * HOUR_S);
    let alone = course(&run);
    let later = course(&beside(&run, vec![neighbour(&run, 1, 50.0 * HOUR_S)]));
    for hour in [1.0, 30.0, 49.0] {
        let apart_K = room_K(&later, hour) - room_K(&alone, hour);
        assert!(apart_K.abs() < 1e-3, "{hour} h: {apart_K} K");
    }
    assert!(room_K(&later, 90.0) > room_K(&alone, 90.0) + 0.3);
    // The same from the other's side: the room it finds is the one of that time.
    let mut weather_before = run.clone();
    weather_before.room.weather = Course::Constant(302.15);
    let alone = course(&weather_before);
    let begun = course(&beside(
        &weather_before,
        vec![neighbour(&weather_before, 1, -40.0 * HOUR_S)],
    ));
    let p = &begun.chamber.points;
    for point in [p.room, p.frame, p.top()] {
        let apart_K = begun.temperature_K(point, 0.0) - room_K(&alone, 40.0);
        assert!(apart_K.abs() < 0.01, "{point}: {apart_K} K");
    }
    assert!(begun.heat().unaccounted_relative < 1e-5);
}

/// What a machine gives off is what came in less what it has stored, by the audit of its ledgers: everything that
/// leaves its chamber goes into the room, and no motor is outside. The straight lines between points are good
/// to a part in two hundred.
#[test]
fn all_that_leaves_a_machine_comes_into_the_room() {
    let run = demo();
    let member = Member::new(&neighbour(&run, 1, 0.0), run.duration_s).unwrap();
    let s = course(&run);
    let heat = GivenOff::of(&s, &member.bare, 2.0, 0.0);
    let course_W = GivenOff::together(&[&heat], 0.0, run.duration_s);
    let sum_J: f64 = (0..7260)
        .map(|k| 60.0 * course_W.at(60.0 * f64::from(k) + 30.0).0)
        .sum();
    let left_J: f64 = s.heat().out_J.iter().map(|(_, q)| q).sum();
    assert!(
        (0.5 * sum_J / left_J - 1.0).abs() < 5e-3,
        "{sum_J} {left_J}"
    );
}

/// A geometric row: 8, 2, 0.5 ... K have 2/3 of 1/4 left. What does not fall is as far off as it moves, and what
/// has moved once only may yet move as much.
#[test]
fn what_is_still_to_move_follows_from_two_rounds() {
    assert!((still_to_move_K(2.0, 8.0) - 2.0 / 3.0).abs() < 1e-12);
    assert_eq!(still_to_move_K(2.0, 1.0), 2.0);
    assert_eq!(still_to_move_K(2.0, f64::INFINITY), 2.0);
    assert_eq!(still_to_move_K(f64::INFINITY, f64::INFINITY), f64::INFINITY);
}

/// A study's long steps find the margin of a careful run to 0.01 K, as they do for a machine alone.
#[test]
fn a_study_finds_the_room_of_a_careful_run() {
    let run = beside(&demo(), vec![neighbour(&other(), 2, 0.0)]);
    let study = Options {
        ledgers: false,
        ..Options::default()
    };
    let [fine, long] = [Options::fine(), study]
        .map(|options| Simulation::of(&run, IntegratorKind::Rosenbrock, &options).unwrap());
    for k in 1..=121 {
        let room = fine.chamber.points.room;
        let [a, b] = [&fine, &long].map(|s| s.temperature_K(room, HOUR_S * f64::from(k)));
        assert!((a - b).abs() < 0.01, "{k} h: {a} {b}");
    }
}

/// Twenty machines that draw their air outdoors, in a room that keeps hardly any heat of its own: each of them moves
/// it more than its walls do, and it comes to rest all the same.
#[test]
fn a_room_full_of_fans_settles() {
    let mut run = demo();
    run.duration_s = 12.0 * HOUR_S;
    for phase in &mut run.phases {
        phase.end_s = phase.end_s.min(run.duration_s);
    }
    run.phases.retain(|p| p.begin_s < p.end_s);
    assert!(run.phases.iter().any(|p| p.kind == PhaseKind::Print));
    run.arrangement.kind = ArrangementKind::Extracting {
        flow_m3_per_s: 60.0 / HOUR_S,
    };
    if let Some(building) = &mut run.room.building {
        building.envelope_W_per_K = 5.0;
    }
    let full = beside(
        &run,
        vec![neighbour(&run, 1, 0.0), neighbour(&run, 18, 0.0)],
    );
    let full = course(&full);
    let mut counted = run.clone();
    if let Some(building) = &mut counted.room.building {
        building.machines = 20;
    }
    let counted = course(&counted);
    for hour in [1.0, 5.0, 12.0] {
        let room = full.chamber.points.room;
        let (got, want) = (
            full.temperature_K(room, hour * HOUR_S),
            counted.temperature_K(room, hour * HOUR_S),
        );
        assert!((got - want).abs() < 0.01, "{hour} h: {got} {want}");
    }
}

//! Runs side by side in lanes come to what each comes to by itself.
#![cfg(feature = "lanes")]

use dogdays::catalogue::{Catalogue, Kind};
use dogdays::chamber::{Chamber, IntegratorKind, Simulation};
use dogdays::course::{Course, Points};
use dogdays::integrate::lanes::{Abreast, MOST_UNKNOWNS, Slopes};
use dogdays::integrate::{Linearisation, Options, System};
use dogdays::network::lanes::{NetworksAbreast, in_lanes};
use dogdays::network::{Asked, Builder, Conductor, Configuration, NetworkSystem, Node, Schedule};
use dogdays::run::Run;
use dogdays::runfile;
use dogdays::wide::{LANES, Narrow, Wide};

const ARRANGEMENTS: &[&str] = &[
    "kind = \"closed\"",
    "kind = \"lid off\"",
    "kind = \"door open\"",
    "kind = \"extracting\"\nflow = \"25 m3/h\"",
    "kind = \"extracting\"\nflow = \"60 m3/h\"\n[system]\nled_to = \"outdoors\"\n[room.building]\nvolume = \"60 m3\"\nenvelope = \"80 W/K\"",
    "kind = \"blowing in\"\nflow = \"40 m3/h\"",
    "kind = \"recirculating\"\nflow = \"60 m3/h\"",
];

fn run(machine: &str, arrangement: &str, hours: u32, degC: f64) -> Result<Run, String> {
    let text = format!(
        "[run]\nstart = \"2026-07-13 07:00\"\nduration = \"{hours} h\"\n[machine]\nname = \"{machine}\"\n\
        [material]\nname = \"pla\"\n[part]\nmass = \"0.8 kg\"\n[room]\nmean = \"{degC} degC\"\nswing = \"5 K\"\n\
        [arrangement]\n{arrangement}\n"
    );
    let loaded = runfile::parse(&text, "lanes.toml", None, &Catalogue::embedded());
    loaded.map(|l| l.run).map_err(|p| p.to_string())
}

/// Rates of every node, in states that runs pass through. Polynomials for films and powers leave 1e-5 of a
/// coefficient; a node's rate is what is left of many flows, so the flows are the measure: the rate of the node with
/// each of its terms taken as 1e-5 wrong is some 1e-4 W over its capacity.
#[test]
fn rates_and_slopes_are_those_of_the_plain_way() {
    let catalogue = Catalogue::embedded();
    let mut compared = [0; ARRANGEMENTS.len()];
    for machine in catalogue.list(Kind::Machine) {
        for (k, arrangement) in ARRANGEMENTS.iter().enumerate() {
            let run = match run(&machine.name, arrangement, 9, 24.0) {
                Ok(run) => run,
                Err(problem) => {
                    println!("{problem}");
                    continue;
                }
            };
            let simulation =
                Simulation::of(&run, IntegratorKind::Rosenbrock, &Options::default()).unwrap();
            compare(&simulation, &format!("{}, {arrangement}", machine.name));
            compared[k] += 1;
        }
    }
    // Not every machine has a lid or a door.
    assert!(
        compared.iter().all(|n| *n > 1),
        "machines of each arrangement: {compared:?}"
    );
}

fn compare(simulation: &Simulation, what: &str) {
    let Chamber {
        network, schedule, ..
    } = &simulation.chamber;
    let n = network.nodes().len();
    let end_s = simulation.trajectory.end_s();
    let mut all = NetworksAbreast::like(&NetworkSystem::new(network, schedule).unwrap());
    let mut y = vec![Wide::ZERO; n];
    let mut t_s = [0.0; LANES];
    let mut want = Vec::new();
    let mut slopes = Vec::new();
    for lane in 0..LANES {
        // Also the first seconds, and warmer and cooler air than there is.
        let at_s = [
            0.0,
            3.0,
            200.0,
            0.03 * end_s,
            0.2 * end_s,
            0.45 * end_s,
            0.7 * end_s,
            0.99 * end_s,
        ][lane];
        let (piece, x) = simulation.trajectory.locate(at_s);
        let mut here = vec![0.0; n];
        piece.at(x, &mut here);
        if lane % 2 == 1 {
            for (k, y) in here.iter_mut().enumerate() {
                *y += 0.8 * (k as f64 + lane as f64).sin();
            }
        }
        let mut system = NetworkSystem::new(network, schedule).unwrap();
        assert!(all.takes(&system), "{what}");
        system.begin(at_s, &mut here);
        let (mut dy, mut ledgers) = (vec![0.0; n], vec![0.0; system.ledgers() + system.meters()]);
        system.rates(at_s, &here, &mut dy, &mut ledgers);
        let mut linear = Linearisation::new(n, ledgers.len());
        linear.ledgers.clear();
        system.linearise(at_s, &here, &mut linear);
        slopes.push(linear);
        all.seat(lane, system);
        all.follow_given(lane, at_s);
        assert!(all.settle(lane, at_s, true), "{what}");
        for k in 0..n {
            y[k].0[lane] = here[k];
        }
        t_s[lane] = at_s;
        want.push(dy);
    }
    let mut dy = vec![Wide::ZERO; n];
    all.rates(&t_s, &y, &mut dy);
    for (lane, want) in want.iter().enumerate() {
        for k in 0..n {
            let capacity = network.nodes()[k].capacity_J_per_K;
            let off_W = (dy[k].0[lane] - want[k]) * capacity;
            assert!(
                off_W.abs() < 2e-4 + 2e-6 * (want[k] * capacity).abs(),
                "{what}: {} in lane {lane} gains {} W, not {} W",
                network.name(k),
                dy[k].0[lane] * capacity,
                want[k] * capacity
            );
        }
    }
    compare_slopes(&mut all, &t_s, &y, &slopes, what);
    compare_meters(&mut all, &t_s, &y, what);
}

/// What meters show once unknowns have been corrected by some hundredths of a kelvin is what they show where rates are
/// asked for there, but for a hundredth of a watt: slopes miss some hundredths of what a correction changes.
fn compare_meters(all: &mut NetworksAbreast<'_>, t_s: &[f64; LANES], y: &[Wide], what: &str) {
    let n = y.len();
    let meters = |all: &NetworksAbreast<'_>, lane: usize| {
        let mut out = [f64::NAN; 8];
        all.meters(lane, &mut out);
        out
    };
    let by: Vec<Narrow> = (0..n)
        .map(|k| Narrow::all(0.03 * (k as f32).sin()))
        .collect();
    let mut dy = vec![Wide::ZERO; n];
    all.rates(t_s, y, &mut dy);
    let before: Vec<_> = (0..LANES).map(|lane| meters(all, lane)).collect();
    all.correct_meters(&by);
    let corrected: Vec<_> = (0..LANES).map(|lane| meters(all, lane)).collect();
    let moved: Vec<Wide> = y.iter().zip(&by).map(|(y, by)| *y + by.wide()).collect();
    all.rates(t_s, &moved, &mut dy);
    let mut held = 0;
    for lane in 0..LANES {
        let exact = meters(all, lane);
        for k in (0..exact.len()).filter(|k| !exact[*k].is_nan()) {
            let (is, want, was) = (corrected[lane][k], exact[k], before[lane][k]);
            let off_W = (is - want).abs();
            assert!(
                off_W < 0.01 + 0.05 * (want - was).abs(),
                "{what}: meter {k} in lane {lane}, {is} W, not {want} W; {was} W before"
            );
            held += 1;
        }
    }
    assert!(held > 0, "{what}: nothing is held");
}

/// Slopes of every node in the same states. Those of faces have the film's temperature held, which misses some
/// hundredths; a slope is measured by the largest of its row, which is what it is weighed against.
fn compare_slopes(
    all: &mut NetworksAbreast<'_>,
    t_s: &[f64; LANES],
    y: &[Wide],
    want: &[Linearisation],
    what: &str,
) {
    let n = y.len();
    let mut found = Slopes::default();
    all.linearise(t_s, y, &mut found);
    let mut with_time = vec![Wide::ZERO; n];
    all.drift(t_s, y, &mut with_time);
    for (lane, want) in want.iter().enumerate() {
        let mut matrix = vec![0.0; n * n];
        for ((i, j), entry) in found.places.iter().zip(&found.entries) {
            matrix[*i as usize * n + *j as usize] = f64::from(entry.0[lane]);
        }
        for i in 0..n {
            let row = i * n..(i + 1) * n;
            let largest = |row: &[f64]| row.iter().fold(0.0, |m, v| f64::max(m, v.abs()));
            let measure = largest(&want.jacobian[row.clone()]);
            for at in row {
                let off = (matrix[at] - want.jacobian[at]).abs();
                assert!(
                    off <= 0.05 * measure,
                    "{what}: lane {lane}, node {i}, slope {} with node {}, not {}",
                    matrix[at],
                    at % n,
                    want.jacobian[at]
                );
            }
            // 1e-7 K/s2: a millikelvin in two minutes. Where all air is equally warm slopes begin from nothing, and a
            // difference over a millikelvin sees some.
            let measure = largest(&want.with_time);
            let off = (with_time[i].0[lane] - want.with_time[i]).abs();
            assert!(
                off <= 1e-7 + 0.05 * measure,
                "{what}: lane {lane}, node {i}, {} with time, not {}",
                with_time[i].0[lane],
                want.with_time[i]
            );
        }
    }
}

/// What [`dogdays::study::many::outcomes`] comes to is what each run comes to by itself.
#[test]
fn outcomes_are_those_of_each_run() {
    let catalogue = Catalogue::embedded();
    for machine in catalogue.list(Kind::Machine) {
        for arrangement in ARRANGEMENTS {
            let shifts = (0..5).map(|k| run(&machine.name, arrangement, 12, 15.0 + 4.0 * k as f64));
            let Ok(runs) = shifts.collect::<Result<Vec<Run>, _>>() else {
                continue;
            };
            let options = Options::default();
            let together = dogdays::study::many::outcomes(&runs, &options);
            for (run, together) in runs.iter().zip(together) {
                let alone = dogdays::study::check::outcome(run, &options).unwrap();
                let together = together.unwrap();
                println!(
                    "{} {arrangement:?}: {:+.5} K",
                    machine.name,
                    together.margin_K - alone.margin_K
                );
                assert_eq!(together.verdict, alone.verdict);
                assert!((together.margin_K - alone.margin_K).abs() < 0.002);
            }
        }
    }
}

/// Rooms that swing, that are given hour by hour or in steps, and that stay as they are, side by side.
#[test]
fn rooms_of_every_kind_go_side_by_side() {
    let runs: Vec<Run> = (0..8)
        .map(|k| {
            let mut run = run("bench-220", "kind = \"closed\"", 30, 26.0).unwrap();
            // Counted from elsewhere: what it is then rounded to may lie before a point or after it.
            let from_s = 1e7 / 3.0 + 1e5 * k as f64;
            let hours = (0..32).map(|h| f64::from(h) * 3600.0 - 1800.0 + from_s);
            let at = |h: usize| 296.0 + 5.0 * (0.3 * (h + k) as f64).sin();
            let points = Points::new(hours.collect(), (0..32).map(at).collect()).unwrap();
            run.room.weather = match k % 4 {
                0 => run.room.weather,
                1 => Course::series(points.into()).from_later(from_s),
                2 => Course::steps(points.into()).from_later(from_s),
                _ => Course::Constant(299.0),
            };
            run
        })
        .collect();
    let options = Options::default();
    let together = dogdays::study::many::outcomes(&runs, &options);
    for (k, (run, together)) in runs.iter().zip(together).enumerate() {
        let alone = dogdays::study::check::outcome(run, &options).unwrap();
        let off_K = together.unwrap().margin_K - alone.margin_K;
        println!("{k}: {off_K:+.5} K");
        assert!(off_K.abs() < 0.002, "{k}: {off_K} K");
    }
}

/// As many layers as there may be: longer feed paths and plumes than usual.
#[test]
fn twenty_layers_come_to_the_same() {
    let runs: Vec<Run> = (0..4)
        .map(|k| {
            let mut run = run("bench-220", "kind = \"closed\"", 6, 15.0 + 4.0 * k as f64).unwrap();
            run.machine.air_layers = 20;
            run
        })
        .collect();
    let chambers: Vec<Chamber> = runs.iter().map(|run| Chamber::new(run).unwrap()).collect();
    let options = Options::default();
    let asked: Vec<Asked<'_>> = chambers
        .iter()
        .map(|c| Asked {
            network: &c.network,
            schedule: &c.schedule,
            from: None,
            end_s: c.run().duration_s,
            options,
            keeps: false,
        })
        .collect();
    let courses = in_lanes(&asked, &mut |_, _| ());
    assert!(courses.iter().all(Option::is_some), "lanes can follow them");
    let together = dogdays::study::many::outcomes(&runs, &options);
    for (run, together) in runs.iter().zip(together) {
        let alone = dogdays::study::check::outcome(run, &options).unwrap();
        assert!((together.unwrap().margin_K - alone.margin_K).abs() < 0.002);
    }
}

/// More nodes than lanes count are not followed in silence, but run by themselves.
#[test]
fn what_is_too_large_for_lanes_is_left_to_the_plain_way() {
    let followed = |blocks: usize| {
        let mut b = Builder::new(300.0, 101_325.0);
        let nodes: Vec<usize> = (0..blocks)
            .map(|k| b.node(Node::new(format!("block {k}"), 500.0)))
            .collect();
        let mut network = b.finish();
        let room = network.given("room", Course::Constant(310.0));
        let mut c = Configuration::default();
        for node in nodes {
            c.conductors.push(Conductor::new(node, room, 2.0));
        }
        let schedule = Schedule::always(c);
        let asked = Asked {
            network: &network,
            schedule: &schedule,
            from: None,
            end_s: 3600.0,
            options: Options::default(),
            keeps: true,
        };
        let courses = in_lanes(&[asked; 3], &mut |_, _| ());
        courses.iter().all(Option::is_some)
    };
    assert!(followed(MOST_UNKNOWNS));
    assert!(!followed(MOST_UNKNOWNS + 1));
}

/// What the demo costs in eight weathers side by side: a slowdown shows here. Lanes that are not worth it on this
/// machine do the same steps.
#[test]
fn effort_in_lanes() {
    let demo = runfile::demo().run;
    let chambers: Vec<Chamber> = (0..LANES)
        .map(|k| {
            let mut run = demo.clone();
            run.room.weather = run.room.weather.raised(k as f64 - 4.0);
            Chamber::new(&run).unwrap()
        })
        .collect();
    let asked: Vec<Asked<'_>> = chambers
        .iter()
        .map(|c| Asked {
            network: &c.network,
            schedule: &c.schedule,
            from: None,
            end_s: demo.duration_s,
            options: Options {
                ledgers: false,
                ..Options::default()
            },
            keeps: true,
        })
        .collect();
    let lines: Vec<String> = in_lanes(&asked, &mut |_, _| ())
        .iter()
        .map(|course| {
            let e = course.as_ref().expect("lanes can follow it").effort;
            format!(
                "{} steps, {} rejected, {} evaluations, {} slopes, {} events",
                e.steps, e.rejected, e.evaluations, e.jacobians, e.events
            )
        })
        .collect();
    insta::assert_snapshot!(lines.join("\n"));
}

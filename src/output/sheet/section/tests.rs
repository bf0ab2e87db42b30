use super::column::against;
use super::place::plate_m;
use super::*;
use crate::chamber::IntegratorKind;
use crate::chamber::StationKind;
use crate::output::chart::scene::Shape;
use crate::quantity::format_temperature;
use crate::run::{Arrangement, ArrangementKind, Place as Where};

fn simulated(change: impl Fn(&mut Run)) -> (Run, Simulation) {
    let mut run = crate::runfile::demo().run;
    change(&mut run);
    let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Default::default());
    (run, s.expect("runs"))
}

const SIZES: [(u32, u32); 2] = [(860, 520), (400, 720)];

fn size((width, height): (u32, u32)) -> Size {
    Size { width, height }
}

/// Machines from a box of 20 litres to one of a cubic metre, whatever is open, blowing or outside.
fn machines() -> Vec<(Run, Simulation)> {
    let resized = |run: &mut Run, by: f64| {
        let m = &mut run.machine;
        for length in [&mut m.width_m, &mut m.depth_m, &mut m.height_m] {
            *length *= by;
        }
        for length in [
            &mut m.head_height_m,
            &mut m.extraction_height_m,
            &mut m.inlet_height_m,
            &mut m.bed.width_m,
            &mut m.bed.depth_m,
            &mut m.bed.height_m,
        ] {
            *length *= by;
        }
        m.door_opening_height_m *= by;
        m.door_opening_m2 *= by * by;
        m.lid_opening_m2 *= by * by;
        run.part.height_m *= by;
        run.part.footprint_m2 *= by * by;
    };
    let litres = |run: &Run| 1e3 * run.machine.width_m * run.machine.depth_m * run.machine.height_m;
    let demo = crate::runfile::demo().run;
    let (small, large) = (
        (20.0 / litres(&demo)).cbrt(),
        (1000.0 / litres(&demo)).cbrt(),
    );
    let extracting = ArrangementKind::Extracting {
        flow_m3_per_s: 0.011,
    };
    vec![
        simulated(|_| {}),
        simulated(|run| resized(run, small)),
        simulated(|run| {
            resized(run, large);
            run.arrangement = Arrangement::of(extracting.clone());
            run.machine.spool = Where::Room;
        }),
        simulated(|run| run.arrangement = Arrangement::of(ArrangementKind::LidOff)),
        simulated(|run| run.arrangement = Arrangement::of(ArrangementKind::DoorOpen)),
        simulated(|run| {
            run.machine.feeder.motor.place = Where::Room;
            run.machine.spool = Where::ChamberBottom;
        }),
    ]
}

#[test]
fn no_two_texts_touch_and_all_stay_in_the_picture() {
    for (run, s) in machines() {
        for at_h in [0.2, 57.0, 120.0] {
            for pair in SIZES {
                let scene = scene(&run, &s, at_h * 3600.0, System::Si, size(pair)).unwrap();
                let whole = Area {
                    left: 0.0,
                    top: 0.0,
                    width: f64::from(pair.0),
                    height: f64::from(pair.1),
                };
                let texts: Vec<_> = scene
                    .shapes
                    .iter()
                    .filter_map(|shape| match shape {
                        Shape::Text(text) => Some(text),
                        _ => None,
                    })
                    .collect();
                for (k, text) in texts.iter().enumerate() {
                    assert!(
                        whole.holds(text.area()),
                        "{:?} {pair:?} {}: {:?}",
                        run.arrangement.kind,
                        text.text,
                        text.area()
                    );
                    for other in &texts[k + 1..] {
                        assert!(
                            !text.area().overlaps(other.area()),
                            "{:?} {pair:?} at {at_h} h: {:?} and {:?}",
                            run.arrangement.kind,
                            text.text,
                            other.text
                        );
                    }
                }
            }
        }
    }
}

/// By hand: the drawing's own metres. A bar of the length that is written below it is as long as that length is
/// anywhere else in the drawing, and the bed stands as high as the run says.
#[test]
fn the_drawing_is_to_scale() {
    for (run, s) in machines() {
        let at_s = 0.5 * run.duration_s;
        let place = Place::of(&run, &s, at_s);
        let free = Area {
            left: 100.0,
            top: 20.0,
            width: 500.0,
            height: 400.0,
        };
        let frame = Frame::fit(&place, free);
        let chamber = frame.area((0.0, 0.0), (run.machine.depth_m, run.machine.height_m));
        let by_hand = run.machine.depth_m / run.machine.height_m;
        assert!((chamber.width / chamber.height / by_hand - 1.0).abs() < 1e-9);
        let bed = place.bodies.iter().find(|b| b.name == "bed").unwrap();
        assert_eq!(bed.high.1, plate_m(&run, s.part_share(at_s)));
        let part = place.bodies.iter().find(|b| b.name == "part").unwrap();
        let grown = part.high.1 - part.low.1;
        assert!((grown / (s.part_share(at_s) * run.part.height_m) - 1.0).abs() < 1e-9);
        // All of it is within what is free.
        for corner in [place.low, place.high] {
            let (x, y) = frame.at(corner);
            assert!(free.grown(0.5).holds(Area::around((x, y), 0.0)));
        }
    }
}

/// The temperatures beside the drawing are those of the simulation.
#[test]
fn what_is_written_is_what_was_computed() {
    let (run, s) = simulated(|_| {});
    let at_s = 60.0 * 3600.0;
    let scene = scene(&run, &s, at_s, System::Si, size(SIZES[0])).unwrap();
    let written: Vec<&str> = scene
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Text(text) => Some(text.text.as_str()),
            _ => None,
        })
        .collect();
    let points = &s.chamber.points;
    for point in [points.bed, points.hotend, points.part, points.room] {
        let shown = format_temperature(s.temperature_K(point, at_s), System::Si);
        assert!(written.contains(&shown.as_str()), "{shown}: {written:?}");
    }
    let gear_K = s.filament_K(StationKind::DriveGear, at_s);
    let shown = against(gear_K, StationKind::DriveGear.limit_K(&run), System::Si);
    assert!(written.contains(&shown.as_str()), "{shown}");
    assert!(scene.description.contains(&shown));
}

/// By hand: a bed that goes down ends by the part's height below where it began, and the part, when it is done, has its
/// top where the nozzle is.
#[test]
fn a_part_on_a_bed_that_goes_down_grows_downwards() {
    let (run, s) = simulated(|run| {
        run.machine.bed.moves = crate::run::BedMotion::Down;
        run.machine.bed.height_m = 0.5;
    });
    let place = Place::of(&run, &s, 60.0 * 3600.0);
    let (low, high) = place.part_when_done.expect("not done yet");
    assert!((low.1 - (0.5 - run.part.height_m)).abs() < 1e-9, "{low:?}");
    assert!((high.1 - 0.5).abs() < 1e-9, "{high:?}");
    assert!((place.nozzle.1 - 0.5).abs() < 1e-9, "{:?}", place.nozzle);
}

/// A fan that is scheduled to drive the air around inside is drawn while it does so, and only then.
#[test]
fn a_scheduled_fan_inside_is_drawn() {
    let flow_m3_per_s = 0.01;
    let (run, s) = simulated(|run| {
        run.schedule = vec![crate::run::Scheduled {
            begin_s: 50.0 * 3600.0,
            end_s: 60.0 * 3600.0,
            arrangement: Arrangement::of(ArrangementKind::Recirculating {
                flow_m3_per_s,
                fan_power_W: 5.0,
            }),
        }];
    });
    for (at_h, expected) in [(40.0, 0.0), (55.0, flow_m3_per_s)] {
        let place = Place::of(&run, &s, at_h * 3600.0);
        assert_eq!(place.inner_m3_per_s, expected, "{at_h} h");
    }
}

//! The sun through clear panels.

use super::{GOOD, refused, run};
use crate::chamber::{Chamber, IntegratorKind, Simulation};
use crate::run::Run;

const SUN: &str = "[sun]\narea = \"1000 cm2\"\nfrom = \"14:00\"\nto = \"18:00\"\n";

fn sunny(more: &str) -> Run {
    run(&(GOOD.to_owned() + SUN + more)).run
}

/// The good run starts at 07:00: the sun comes at 7 h and goes at 11 h, and so on every day.
#[test]
fn the_sun_comes_and_goes_by_the_time_of_day() {
    let sun = sunny("irradiance = \"0.6 kW/m2\"\n").sun.expect("there");
    for (hour, bright) in [
        (0.0, 0.0),
        (6.99, 0.0),
        (7.0, 600.0),
        (10.99, 600.0),
        (11.0, 0.0),
        (31.5, 600.0),
        (35.5, 0.0),
        (4.0 * 24.0 + 3.9, 0.0),
    ] {
        let (ours, slope) = sun.irradiance_W_per_m2.at(3600.0 * hour);
        assert_eq!((ours, slope), (bright, 0.0), "{hour} h");
    }
    assert!(run(GOOD).run.sun.is_none());
}

#[test]
fn a_day_begins_before_it_ends() {
    let text = GOOD.to_owned() + &SUN.replace("18:00", "08:00");
    refused(&text, (18, 6), &["leaves the panel before", "14:00"]);
    refused(
        &(GOOD.to_owned() + "[sun]\narea = \"900 cm2\"\nfrom = \"14:00\"\n"),
        (15, 1),
        &["[sun] needs `to`"],
    );
    refused(
        &(GOOD.to_owned() + SUN + "irradiance = \"500 W\"\n"),
        (19, 14),
        &["W/m2"],
    );
}

/// By hand: 0.1 m2 x 0.85 x 500 W/m2 = 42.5 W come in. The feeder motor shows a quarter of its surface and takes
/// nine tenths of what falls on it; a fifth of the rest goes to the bed.
#[test]
fn all_that_comes_in_lands_somewhere() {
    let run = sunny("on_bed = 0.2\n");
    let chamber = Chamber::new(&run).expect("built");
    let p = &chamber.points;
    let feeder_W = 0.25 * run.machine.feeder.motor.area_m2 * 0.85 * 500.0 * 0.9;
    assert!((0.5..1.5).contains(&feeder_W), "{feeder_W}");
    let bed_W = 0.2 * (42.5 - feeder_W);
    for c in chamber.schedule.configurations() {
        let at = |point: usize, hour: f64| -> f64 {
            let here = c.sources.iter().filter(|s| s.node == point);
            let changing = here.filter(|s| s.power_W.jumps());
            changing.map(|s| s.power_W.at(3600.0 * hour).0).sum()
        };
        for (point, by_hand) in [
            (p.feeder, feeder_W),
            (p.bed, bed_W),
            (p.frame, 42.5 - feeder_W - bed_W),
        ] {
            assert!((at(point, 8.0) - by_hand).abs() < 1e-9);
            assert_eq!(at(point, 12.0), 0.0);
        }
    }
}

/// Four hours of 42.5 W are 612 kJ in the books, and the gear is the warmer for it.
#[test]
fn the_sun_is_booked_and_felt() {
    let hours = |text: &str| {
        let run = run(&text.replace("100 h", "12 h").replace("2.3 kg", "0.2 kg")).run;
        Simulation::of(&run, IntegratorKind::Rosenbrock, &Default::default()).expect("runs")
    };
    let (shade, sun) = (hours(GOOD), hours(&(GOOD.to_owned() + SUN)));
    let heat = sun.heat();
    let booked_J = heat
        .in_J
        .iter()
        .find(|(name, _)| name == "sun")
        .map(|(_, joules)| *joules);
    assert!(
        (booked_J.unwrap_or_default() - 612e3).abs() < 1.0,
        "{booked_J:?}"
    );
    assert!(heat.unaccounted_relative < 1e-6);
    let gear = |s: &Simulation| s.temperature_K(s.chamber.points.feeder, 11.0 * 3600.0);
    let rise_K = gear(&sun) - gear(&shade);
    eprintln!("gear {rise_K} K warmer");
    assert!((2.0..8.0).contains(&rise_K), "{rise_K}");
}

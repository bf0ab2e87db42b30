//! When is it worth telling that a correlation is used outside its range?

use super::*;
use crate::catalogue::Catalogue;
use crate::chamber::IntegratorKind;
use crate::integrate::Options;
use crate::run::{Coefficient, Run};
use crate::runfile::{DEMO_RUN, parse};
use crate::study::check::check;
use crate::study::warnings::Warning;

/// The demo's job in a room of 31 °C with some of its text replaced.
fn job(changes: &[(&str, &str)]) -> Run {
    let mut text = DEMO_RUN
        .replace("series = \"weather.csv\"", "temperature = \"31 degC\"")
        .replace("121 h", "30 h");
    for (from, to) in changes {
        assert!(text.contains(from), "the demo says {from}");
        text = text.replacen(from, to, 1);
    }
    parse(&text, "run.toml", None, &Catalogue::embedded())
        .unwrap_or_else(|p| panic!("{p}"))
        .run
}

/// What a run is told of ranges, and the doubts behind it.
fn told(run: &Run) -> (Vec<String>, Vec<Doubt>) {
    let f = check(run, IntegratorKind::Rosenbrock, &Options::default()).unwrap();
    let told = f
        .warnings
        .iter()
        .filter(|w| matches!(w, Warning::OutOfRange { .. }));
    let found = doubts(&f.simulation, f.outcome.station, f.outcome.peak_at_s);
    (told.map(ToString::to_string).collect(), found)
}

/// An ordinary job on each machine of the catalogue: faces outside ranges there are, but nothing that a
/// decision hangs on.
#[test]
fn ordinary_runs_are_told_nothing() {
    let mut outside = 0;
    for machine in [
        "bench-20",
        "bench-60",
        "bench-110",
        "bench-220",
        "warm-250",
        "floor-500",
        "hall-1000",
    ] {
        let run = job(&[("\"bench-220\"", &format!("\"{machine}\""))]);
        let (told, doubts) = told(&run);
        outside += doubts.len();
        assert!(told.is_empty(), "{machine}: {told:?}");
    }
    assert!(outside > 0, "then nothing was tested");
}

/// Slow air over a bed of 110 °C whose own convection is hindered, in a well insulated machine: what the short
/// plate's law may lack is a sixth of the bed's heat to the air, and a watt more is worth tenths of a kelvin.
#[test]
fn where_it_matters_the_user_is_told() {
    let mut run = job(&[
        ("\"bench-220\"", "\"warm-250\""),
        ("bed = \"60 degC\"", "bed = \"110 degC\""),
    ]);
    run.coefficients.set(Coefficient::StirringSpeed, 0.03);
    run.coefficients.set(Coefficient::InsideConvection, 0.1);
    let (told, doubts) = told(&run);
    assert!(
        told.iter().any(|t| t.contains("could be up to")),
        "{doubts:?}"
    );
}

/// The gear's answer to a watt is what a watt more does to a whole run.
#[test]
fn answers_are_those_of_the_run() {
    let run = job(&[]);
    let mut more = run.clone();
    more.machine.electronics_W += 1.0;
    let settled = |run: &Run| {
        let s = Simulation::of(run, IntegratorKind::Rosenbrock, &Options::fine()).unwrap();
        let (piece, x) = s.trajectory.locate(run.duration_s);
        let point = s.surroundings_at(piece, StationKind::DriveGear);
        (s.point_at(piece, x, point), s)
    };
    let ((before_K, s), (after_K, _)) = (settled(&run), settled(&more));
    let (piece, x) = s.trajectory.locate(run.duration_s);
    let answers = answers_K_per_W(&s, StationKind::DriveGear, piece, x).unwrap();
    // Electronics warm all layers alike. A day later all has settled but for the part, which still grows.
    let by = |point: usize| answers[point];
    let p = &s.chamber.points;
    let mean = p.air.iter().map(|air| by(*air)).sum::<f64>() / p.air.len() as f64;
    let moved_K = after_K - before_K;
    assert!(
        (mean / moved_K - 1.0).abs() < 0.02,
        "{moved_K} K, answer {mean}"
    );
    assert_eq!(by(p.bed), 0.0, "a bed that is held answers to nothing");
}

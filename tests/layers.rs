//! How many layers the chamber's air needs: the default against twenty.

use dogdays::catalogue::{Catalogue, Kind};
use dogdays::chamber::{IntegratorKind, Simulation};
use dogdays::integrate::Options;
use dogdays::run::{ArrangementKind, Run};
use dogdays::runfile;

/// Eight hours in a machine of the catalogue: its air follows within the first, and what the drive gear's
/// temperature still rises by then is the same with any number of layers.
fn eight_hours(machine: &str) -> Run {
    let text = format!(
        "[run]\nname = \"layers\"\nstart = \"2026-07-13 08:00\"\nduration = \"8 h\"\n\
         [machine]\nname = \"{machine}\"\n[material]\nname = \"pla\"\n[part]\nmass = \"300 g\"\n\
         [room]\ntemperature = \"31 degC\"\n[arrangement]\nkind = \"closed\"\n"
    );
    match runfile::parse(&text, "layers.toml", None, &Catalogue::embedded()) {
        Ok(loaded) => loaded.run,
        Err(problems) => panic!("{problems}"),
    }
}

/// The drive gear at the end, and how much any layer is warmer than the next above it then, K.
fn gear_and_inversion_K(run: &Run) -> (f64, f64) {
    let s = Simulation::of(run, IntegratorKind::Rosenbrock, &Options::default()).unwrap();
    let at_end = |point: usize| s.temperature_K(point, run.duration_s);
    let p = &s.chamber.points;
    let air: Vec<f64> = p.air.iter().map(|k| at_end(*k)).collect();
    let falls = air.windows(2).map(|w| w[0] - w[1]);
    (at_end(p.gear), falls.fold(f64::NEG_INFINITY, f64::max))
}

/// A tenth of a kelvin is what all other small things of the model together may be off by; a layer more or
/// less must not matter. 15 % of the chamber's volume a minute is a strong small fan.
#[test]
fn the_default_number_of_layers_is_as_good_as_twenty() {
    let catalogue = Catalogue::embedded();
    for entry in catalogue.list(Kind::Machine) {
        let mut run = eight_hours(&entry.name);
        let m = &run.machine;
        let flow_m3_per_s = 0.15 / 60.0 * m.width_m * m.depth_m * m.height_m;
        for kind in [
            ArrangementKind::Closed,
            ArrangementKind::Extracting { flow_m3_per_s },
        ] {
            run.arrangement.kind = kind.clone();
            let (ours_K, inversion_K) = gear_and_inversion_K(&run);
            let mut many = run.clone();
            many.machine.air_layers = 20;
            let (reference_K, _) = gear_and_inversion_K(&many);
            let off_K = ours_K - reference_K;
            assert!(off_K.abs() < 0.1, "{}, {kind:?}: {off_K} K", entry.name);
            // Half the band in which overturning sets in, and what some watts need beside it.
            assert!(inversion_K < 0.08, "{}: {inversion_K} K", entry.name);
        }
    }
}

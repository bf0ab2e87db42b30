//! The last thirty millimetres: what the filament meets there, what it does while it stands, and the limit
//! that each station is held to.

use dogdays::catalogue::Catalogue;
use dogdays::chamber::{IntegratorKind, Simulation, StationKind};
use dogdays::integrate::Options;
use dogdays::run::{Coefficient, Place, Run};
use dogdays::runfile;
use dogdays::study::{Findings, check};

fn run(more: &str, material: &str, job: &str) -> Run {
    let text = format!(
        "[run]\nname = \"short\"\nstart = \"2026-07-13 08:00\"\nduration = \"12 h\"\n\
         [machine]\nname = \"bench-220\"\n{more}[material]\n{material}\n[part]\nmass = \"200 g\"\n\
         [job]\n{job}\n[room]\ntemperature = \"30 degC\"\n"
    );
    match runfile::parse(&text, "short.toml", None, &Catalogue::embedded()) {
        Ok(loaded) => loaded.run,
        Err(problems) => panic!("{problems}"),
    }
}

const PLA: &str = "name = \"pla\"";

fn findings(run: &Run) -> Findings {
    check(run, IntegratorKind::Rosenbrock, &Options::fine()).expect("runs")
}

/// Hottest filament at a station, on steady feed and once it has stood there, K.
fn at(f: &Findings, station: StationKind) -> (f64, f64) {
    let found = f
        .stations
        .iter()
        .find(|s| s.station == station)
        .expect("there");
    (found.moving_max_K, found.max_K)
}

fn node_K(f: &Findings, name: &str) -> f64 {
    f.nodes
        .iter()
        .find(|n| n.name == name)
        .expect("there")
        .end_K
}

/// Without a stop it is the moving filament; after minutes it has its surroundings' temperature; between, a
/// longer stop is never cooler.
#[test]
fn filament_that_stands_goes_on_to_the_gears_temperature() {
    let mut before = 0.0;
    for stop in ["0 s", "2 s", "8 s", "30 s", "10 min"] {
        let f = findings(&run("", PLA, &format!("longest_stop = \"{stop}\"")));
        let (moving, standing) = at(&f, StationKind::DriveGear);
        assert!(standing >= before && standing >= moving - 1e-9, "{stop}");
        before = standing;
        let gear_K = f
            .nodes
            .iter()
            .find(|n| n.name == "drive gear")
            .expect("a gear")
            .max_K;
        match stop {
            "0 s" => assert!((standing - moving).abs() < 1e-9),
            "10 min" => assert!((standing - gear_K).abs() < 1e-3, "{standing} {gear_K}"),
            _ => assert!(standing < gear_K + 1e-6),
        }
    }
}

/// A pause is simulated as it is: filament that is not fed has the temperature of where it is.
#[test]
fn parked_filament_has_the_gears_temperature() {
    let job = "longest_stop = \"0 s\"\n[[job.pause]]\nat = \"6 h\"\nduration = \"20 min\"";
    let s = Simulation::of(
        &run("", PLA, job),
        IntegratorKind::Rosenbrock,
        &Options::fine(),
    )
    .expect("runs");
    let t_s = 6.2 * 3600.0;
    let gear_K = s.temperature_K(s.chamber.points.gear, t_s);
    assert!((s.filament_K(StationKind::DriveGear, t_s) - gear_K).abs() < 1e-9);
}

/// Heat through the shaft is what the gear gives to its air; nothing is fed. By hand: with the gear's
/// 0.008 W/K (8 cm2 at about 10 W/(m2 K)), 0.045 W/K of shaft leave it 0.045/(0.045 + 0.008) = 0.85 of the
/// motor's rise; the real coefficient lies between 7 and 13 W/(m2 K), so between 0.81 and 0.89.
#[test]
fn a_gear_follows_its_motor_through_the_shaft() {
    let mut run = run("", PLA, "");
    run.machine.feeder.mount = None;
    for phase in &mut run.phases {
        phase.feed_kg_per_s = 0.0;
    }
    let f = findings(&run);
    let air_K = node_K(&f, "air top");
    let share = (node_K(&f, "drive gear") - air_K) / (node_K(&f, "feeder motor") - air_K);
    assert!((0.81..0.89).contains(&share), "{share}");
    // Ten times the shaft: 0.45/0.458 = 0.98.
    run.coefficients.set(Coefficient::Shaft, 10.0);
    let f = findings(&run);
    let share = (node_K(&f, "drive gear") - air_K) / (node_K(&f, "feeder motor") - air_K);
    assert!((0.97..0.99).contains(&share), "{share}");
}

/// Feeder motors run 20 to 40 K above the air around them at full holding current without a heat sink (common
/// practice, no source): every machine of the catalogue, its mount taken off.
#[test]
fn bare_feeder_motors_are_as_warm_as_the_trade_says() {
    let catalogue = Catalogue::embedded();
    let mut off = Vec::new();
    for entry in catalogue.list(dogdays::catalogue::Kind::Machine) {
        let text = runfile::DEMO_RUN
            .replace("\"bench-220\"", &format!("\"{}\"", entry.name))
            .replace("series = \"weather.csv\"", "temperature = \"25 degC\"")
            .replace("\"121 h\"", "\"24 h\"")
            .replace("\"2.3 kg\"", "\"300 g\"");
        let mut run = match runfile::parse(&text, "run.toml", None, &catalogue) {
            Ok(loaded) => loaded.run,
            Err(problems) => panic!("{problems}"),
        };
        run.machine.feeder.mount = None;
        run.machine.feeder.heat_sink_W_per_K = 0.0;
        let f = findings(&run);
        let around = match run.machine.feeder.motor.place {
            Place::Room => "room",
            _ => "air top",
        };
        let rise_K = node_K(&f, "feeder motor") - node_K(&f, around);
        if !(20.0..40.0).contains(&rise_K) {
            off.push(format!("{}: {rise_K:.1} K", entry.name));
        }
    }
    assert!(off.is_empty(), "{off:?}");
}

/// A mount that is bolted to a cold end draws the two together, and a heat sink that nobody wrote is none.
#[test]
fn what_touches_shares_heat_and_what_is_not_written_is_not_there() {
    let apart = findings(&run("feeder.mount.cold_end = \"0 W/K\"\n", PLA, ""));
    let bolted = findings(&run("feeder.mount.cold_end = \"1.6 W/K\"\n", PLA, ""));
    let gap = |f: &Findings| (node_K(f, "feeder mount") - node_K(f, "cold end")).abs();
    assert!(
        gap(&bolted) < 0.4 * gap(&apart),
        "{} {}",
        gap(&bolted),
        gap(&apart)
    );
    assert_eq!(run("", PLA, "").machine.feeder.heat_sink_W_per_K, 0.0);
}

/// PLA is 55 degC dry and 3 K less damp; each station takes its allowance off that.
#[test]
fn each_station_has_a_limit_of_its_own() {
    let limits = |run: &Run| StationKind::ALL.map(|s| (s.limit_K(run) - 273.15).round());
    assert_eq!(limits(&run("", PLA, "")), [42.0, 49.0, 47.0, 50.0]);
    let dry = run("", PLA, "filament = \"dry\"");
    assert_eq!(limits(&dry), [45.0, 52.0, 50.0, 53.0]);
    // A limit that the run states is that of its own filament, damp or dry, and is said to be.
    let own = run("", "name = \"pla\"\nsoftening_limit = \"61 degC\"", "");
    assert_eq!(limits(&own), [51.0, 58.0, 56.0, 59.0]);
    assert_eq!(own.material.softening_basis, "as given in the run file");
    let told =
        "name = \"pla\"\nsoftening_limit = \"61 degC\"\nsoftening_basis = \"measured in May\"";
    assert_eq!(
        run("", told, "").material.softening_basis,
        "measured in May"
    );
}

/// The smallest margin decides, not the hottest filament: a spool at the top of a warm chamber may be the
/// first to give way, because it is bent for days.
#[test]
fn the_nearest_to_its_own_limit_decides() {
    let mut run = run("spool = \"chamber top\"\n", PLA, "filament = \"dry\"");
    run.coefficients.set(Coefficient::SpoolAllowance, 18.0);
    let f = findings(&run);
    assert_eq!(f.outcome.station, StationKind::Spool);
    assert!((f.outcome.limit_K - (273.15 + 37.0)).abs() < 1e-9);
    assert!(at(&f, StationKind::DriveGear).1 > f.outcome.peak_K);
}

/// The longer the piece that may be soft ahead of the heat break, the less of the hotend is in it; a longer
/// neck is less steep.
#[test]
fn conduction_from_the_hotend_reaches_a_few_millimetres() {
    let cold_end_K = |more: &str, soft_mm: f64| {
        let mut run = run(more, PLA, "");
        run.coefficients
            .set(Coefficient::SoftLength, soft_mm / 1000.0);
        at(&findings(&run), StationKind::ColdEnd).1
    };
    let (at_once, near, far) = (
        cold_end_K("", 0.0),
        cold_end_K("", 2.0),
        cold_end_K("", 10.0),
    );
    assert!(
        at_once > near + 5.0 && near > far + 1.0,
        "{at_once} {near} {far}"
    );
    assert!(cold_end_K("hotend.neck = \"8 mm\"\n", 0.0) < at_once - 5.0);
}

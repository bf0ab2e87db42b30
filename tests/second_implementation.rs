//! Whole chambers against the second implementation, which shares no code with this program: its
//! temperatures lie under `tests/evidence/second/values`, written by `run.sh` there with
//! `SECOND_WRITE`. What it is and how it differs: `tests/evidence/second/README.md`.

use std::path::Path;

use dogdays::catalogue::Catalogue;
use dogdays::chamber::{IntegratorKind, Simulation, StationKind};
use dogdays::integrate::Options;
use dogdays::run::Run;
use dogdays::runfile;

/// The values have four decimals and the script integrates to a relative 1e-8; at a tolerance of
/// 1e-5 K a step the main integrator is as near. 0.002 K is the script's own limit against the
/// explicit integrator.
const ALLOWED_K: f64 = 0.002;

fn run(text: &str, folder: &Path) -> Run {
    match runfile::parse(text, "run.toml", Some(folder), &Catalogue::embedded()) {
        Ok(loaded) => loaded.run,
        Err(problems) => panic!("{problems}"),
    }
}

/// Compares every node and station with a table of values.
fn agrees(name: &str, run: &Run) {
    let options = Options {
        tolerance: 1e-5,
        ledgers: false,
        ..Options::default()
    };
    let s = Simulation::of(run, IntegratorKind::Rosenbrock, &options).expect("runs");
    let network = &s.chamber.network;
    let points: Vec<&str> = network.names().collect();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let path = root.join(format!("tests/evidence/second/values/{name}.csv"));
    let mut table = csv::Reader::from_path(path).expect("a table");
    let header = table.headers().expect("a header").clone();
    assert!(header.len() > points.len(), "{name}: a node is missing");
    let mut worst = (0.0, String::new());
    let mut rows = 0;
    for row in table.records() {
        let row = row.expect("a row");
        rows += 1;
        let number = |k: usize| row[k].parse::<f64>().expect("a number");
        let t_s = number(0) * 3600.0;
        for k in 1..row.len() {
            let column = header[k].trim_end_matches("_degC").replace('_', " ");
            let ours_K = match column.strip_prefix("filament ") {
                Some(station) => {
                    let all = StationKind::ALL;
                    let (name, moves) = match station.strip_suffix(" moving") {
                        Some(name) => (name, true),
                        None => (station, false),
                    };
                    let station = *all.iter().find(|s| s.name() == name).expect("a station");
                    if moves {
                        s.moving_K(station, t_s)
                    } else {
                        s.filament_K(station, t_s)
                    }
                }
                None => {
                    let point = points.iter().position(|p| **p == column);
                    s.temperature_K(point.expect("a point"), t_s)
                }
            };
            let off = (ours_K - 273.15 - number(k)).abs();
            if off > worst.0 {
                worst = (off, format!("{column} at {} h", number(0)));
            }
        }
    }
    assert!(rows >= 16, "{name}: {rows} rows");
    assert!(worst.0 < ALLOWED_K, "{name}: {} K, {}", worst.0, worst.1);
}

#[test]
fn the_demo_agrees_in_every_arrangement() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let demo = std::fs::read_to_string(root.join("run.toml")).expect("the demo");
    for (name, lines) in [
        ("closed", "kind = \"closed\""),
        ("lid-off", "kind = \"lid off\""),
        ("door-open", "kind = \"door open\""),
        ("extracting", "kind = \"extracting\"\nflow = \"40 m3/h\""),
        ("blowing-in", "kind = \"blowing in\"\nflow = \"40 m3/h\""),
        (
            "recirculating",
            "kind = \"recirculating\"\nflow = \"40 m3/h\"",
        ),
    ] {
        let text = demo.replacen("kind = \"closed\"", lines, 1);
        agrees(name, &run(&text, &root));
    }
}

/// Other machines and switches: plywood with five layers and the spool under the lid; a room of its own
/// with air conditioner at 1,800 m, insulated panels, motors outside; fans beside open sides, led outdoors, and a
/// warm start.
#[test]
fn other_machines_agree() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for name in ["plywood", "warm-room", "fans", "raised-bed"] {
        let path = root.join(format!("tests/evidence/second/runs/{name}.toml"));
        let text = std::fs::read_to_string(path).expect("a run file");
        agrees(name, &run(&text, &root.join("demo-data")));
    }
    // Its job is a table beside it.
    let runs = root.join("tests/evidence/second/runs");
    let text = std::fs::read_to_string(runs.join("heat-sources.toml")).expect("a run file");
    agrees("heat-sources", &run(&text, &runs));
}

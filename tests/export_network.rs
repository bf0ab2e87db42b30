//! `check --export-network`: the file is whole, complete and names its laws.
#![cfg(feature = "cli")]

use assert_cmd::Command;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;

fn dogdays() -> Command {
    let mut c = Command::cargo_bin("dogdays").expect("the program is built with its tests");
    c.env("NO_COLOR", "1").env_remove("XDG_DATA_HOME");
    c
}

/// Checks a run, the demo where none is named; returns the network and the table's header.
fn export(run: Option<&Path>) -> (Value, Vec<String>) {
    let dir = tempfile::tempdir().unwrap();
    let (network, table) = (
        dir.path().join("network.json"),
        dir.path().join("table.csv"),
    );
    let mut c = dogdays();
    c.arg("check").args(run);
    c.arg("--export-network").arg(&network);
    c.arg("--csv").arg(&table).args(["--every", "10 h"]);
    let out = c.output().unwrap();
    let said = String::from_utf8_lossy(&out.stderr);
    assert!(matches!(out.status.code(), Some(0 | 10 | 20)), "{said}");
    assert!(said.contains("wrote the network"), "{said}");
    let text = std::fs::read_to_string(&network).unwrap();
    let table = std::fs::read_to_string(&table).unwrap();
    let header = table.lines().next().unwrap().trim_end();
    (
        serde_json::from_str(&text).unwrap(),
        header.split(',').map(str::to_owned).collect(),
    )
}

/// A run file of the second implementation's, beside the demo's weather.
fn with_weather(name: &str) -> (tempfile::TempDir, std::path::PathBuf) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let dir = tempfile::tempdir().unwrap();
    let weather = root.join("demo-data/weather.csv");
    std::fs::copy(weather, dir.path().join("weather.csv")).unwrap();
    let run = dir.path().join(name);
    std::fs::copy(root.join("tests/evidence/second/runs").join(name), &run).unwrap();
    (dir, run)
}

fn names(list: &Value) -> BTreeSet<String> {
    let list = list.as_array().unwrap();
    list.iter()
        .map(|n| n["name"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn it_names_every_point_of_the_table_and_no_other() {
    let (_dir, warm_room) = with_weather("warm-room.toml");
    for run in [None, Some(warm_room.as_path())] {
        let (network, header) = export(run);
        assert_eq!(network["schema"], 1);
        let mut points = names(&network["nodes"]);
        points.insert(network["given"]["name"].as_str().unwrap().to_owned());
        let columns: BTreeSet<String> = header
            .iter()
            .filter(|c| !c.starts_with("filament_"))
            .filter_map(|c| c.strip_suffix("_degC"))
            .map(|c| c.replace('_', " "))
            .collect();
        assert_eq!(points, columns);
    }
}

/// Every text under a key that names a point is a point; a link to nowhere can't be rebuilt.
fn points_named(value: &Value, found: &mut BTreeSet<String>) {
    const KEYS: [&str; 16] = [
        "a", "b", "surface", "air", "room", "layer", "layers", "body", "base", "point", "around",
        "spool", "nozzle", "laid_on", "measures", "node",
    ];
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                if KEYS.contains(&key.as_str()) {
                    let one = inner.as_str().into_iter();
                    let many = inner.as_array().into_iter().flatten();
                    let all = one.chain(many.filter_map(Value::as_str));
                    found.extend(all.map(str::to_owned));
                }
                points_named(inner, found);
            }
        }
        Value::Array(list) => list.iter().for_each(|v| points_named(v, found)),
        _ => {}
    }
}

#[test]
fn every_link_ends_at_a_point_and_every_node_is_linked() {
    for name in ["switched.toml", "warm-room.toml", "plywood.toml"] {
        let (_dir, run) = with_weather(name);
        let (network, _) = export(Some(&run));
        let mut points = names(&network["nodes"]);
        points.insert(network["given"]["name"].as_str().unwrap().to_owned());
        let panels = names(&network["panels"]);
        for c in network["configurations"].as_array().unwrap() {
            let mut linked = BTreeSet::new();
            points_named(c, &mut linked);
            assert!(linked.is_subset(&points), "{name}: {linked:?}");
            for l in c["links"].as_array().unwrap() {
                if l["law"] == "panel_conduction" {
                    assert!(panels.contains(l["panel"].as_str().unwrap()));
                }
            }
            let in_panels = network["panels"].as_array().unwrap().iter();
            linked.extend(in_panels.flat_map(|p| {
                let nodes = p["nodes"].as_array().unwrap();
                nodes.iter().map(|n| n.as_str().unwrap().to_owned())
            }));
            // The room as a node stands between outdoors and the chamber.
            let lonely: Vec<_> = points.difference(&linked).collect();
            assert!(lonely.is_empty(), "{name}: {lonely:?}");
        }
        // Stretches follow each other from the start to the end.
        let mut at = 0.0;
        for s in network["stretches"].as_array().unwrap() {
            assert_eq!(s["begin_s"], at, "{name}");
            at = s["end_s"].as_f64().unwrap();
            let k = s["configuration"].as_u64().unwrap() as usize;
            assert!(network["configurations"].get(k).is_some());
        }
        assert_eq!(network["duration_s"], at, "{name}");
    }
}

/// What the demo's files say: `bench-220` has a vent of 12 cm2 at 90 mm, a bed of 360 by 360 mm that
/// 600 W heat, sides of 4 mm of polycarbonate.
#[test]
fn it_carries_what_the_files_say() {
    let (network, _) = export(None);
    let printing = &network["configurations"][1];
    let links = printing["links"].as_array().unwrap();
    let law = |name: &str| links.iter().find(|l| l["law"] == name).unwrap();
    let near = |v: &Value, wanted: f64| {
        let v = v.as_f64().unwrap();
        assert!((v / wanted - 1.0).abs() < 1e-12, "{v} instead of {wanted}");
    };
    let openings = law("air_paths")["openings"].as_array().unwrap();
    let vent = openings.iter().max_by(|a, b| {
        let area = |o: &Value| o["area_m2"].as_f64().unwrap();
        area(a).total_cmp(&area(b))
    });
    near(&vent.unwrap()["area_m2"], 12e-4);
    near(&vent.unwrap()["height_m"], 0.09);
    near(&law("grey_enclosure")["bed_width_m"], 0.36);
    near(&printing["heaters"][0]["max_power_W"], 600.0);
    near(&printing["heaters"][0]["setpoint_K"], 333.15);
    let lid = &network["panels"][0];
    assert_eq!(lid["name"], "lid");
    near(&lid["layers"][0]["thickness_m"], 4e-3);
    // A face says its law's parameters, never the coefficient that follows from them.
    let face = law("convection").as_object().unwrap();
    assert!(face.keys().all(|k| !k.contains("W_per")), "{face:?}");
}

#[test]
fn a_missing_folder_is_told_politely() {
    let dir = tempfile::tempdir().unwrap();
    let target = dir.path().join("nowhere/network.json");
    let out = dogdays()
        .args(["check", "--export-network"])
        .arg(&target)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(2), "{said}");
    assert!(said.contains("there is no folder"), "{said}");
    assert!(!target.exists());
}

#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_to_leaves_nothing_behind() {
    use std::os::unix::fs::PermissionsExt;
    let dir = tempfile::tempdir().unwrap();
    let shut = dir.path().join("shut");
    std::fs::create_dir(&shut).unwrap();
    std::fs::set_permissions(&shut, std::fs::Permissions::from_mode(0o555)).unwrap();
    // Whoever may write anywhere can't be refused.
    if std::fs::write(shut.join("probe"), "").is_ok() {
        return;
    }
    let out = dogdays()
        .args(["check", "--export-network"])
        .arg(shut.join("network.json"))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(2), "{said}");
    assert!(said.contains("may not be written to"), "{said}");
    assert_eq!(std::fs::read_dir(&shut).unwrap().count(), 0);
}

//! What `check --export-network` writes is what `docs/network.schema.json` allows, and nothing else is: the schema
//! closes over every field, and each number in it says its unit.
#![cfg(feature = "cli")]

use dogdays::catalogue::Catalogue;
use dogdays::run::Run;
use dogdays::{Chamber, output, runfile};
use jsonschema::Validator;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

static SCHEMA: LazyLock<Value> = LazyLock::new(|| {
    let text = std::fs::read_to_string(root().join("docs/network.schema.json")).expect("a schema");
    serde_json::from_str(&text).expect("JSON")
});

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).to_path_buf()
}

fn validator() -> Validator {
    jsonschema::draft202012::meta::validate(&SCHEMA).expect("a schema of draft 2020-12");
    jsonschema::draft202012::new(&SCHEMA).expect("a schema that can be used")
}

fn parsed(text: &str, folder: &Path) -> Run {
    match runfile::parse(text, "run.toml", Some(folder), &Catalogue::embedded()) {
        Ok(loaded) => loaded.run,
        Err(problems) => panic!("{problems}"),
    }
}

/// The exported file of a run.
fn exported(run: &Run) -> Value {
    let chamber = Chamber::new(run).expect("a chamber");
    let bytes = output::network::network(run, &chamber.describe()).expect("JSON");
    serde_json::from_slice(&bytes).expect("JSON")
}

/// The demo in every arrangement, with and without a thermostat, and the runs of the second implementation: fans,
/// circulation with open sides, panels of wood and foam, schedules, a thermostat, a room as a building with one and
/// with several machines, a job from a table. Then every machine of the catalogue.
fn networks() -> Vec<(String, Value)> {
    let mut all = Vec::new();
    let demo_data = root().join("demo-data");
    let demo = std::fs::read_to_string(demo_data.join("run.toml")).expect("the demo");
    for lines in [
        "kind = \"closed\"",
        "kind = \"lid off\"",
        "kind = \"door open\"",
        "kind = \"extracting\"\nflow = \"40 m3/h\"",
        "kind = \"blowing in\"\nflow = \"40 m3/h\"",
        "kind = \"recirculating\"\nflow = \"40 m3/h\"",
        "kind = \"extracting\"\nflow = \"40 m3/h\"\nthermostat = { on_above = \"40 degC\", off_below = \"38 degC\" }",
    ] {
        let text = demo.replacen("kind = \"closed\"", lines, 1);
        assert_eq!(text == demo, lines == "kind = \"closed\"", "{lines}");
        all.push((lines.to_owned(), exported(&parsed(&text, &demo_data))));
    }
    let runs = root().join("tests/evidence/second/runs");
    for (file, folder) in [
        ("fans.toml", &demo_data),
        ("heat-sources.toml", &runs),
        ("plywood.toml", &demo_data),
        ("raised-bed.toml", &demo_data),
        ("switched.toml", &demo_data),
        ("warm-room.toml", &demo_data),
    ] {
        let text = std::fs::read_to_string(runs.join(file)).expect("a run file");
        all.push((file.to_owned(), exported(&parsed(&text, folder))));
    }
    // What the third machine gives off is known once the room has been run, which the command does.
    all.push((
        "shared-room.toml".to_owned(),
        shared_room(&runs.join("beside")),
    ));
    for machine in [
        "bench-60",
        "bench-110",
        "bench-220",
        "floor-500",
        "warm-250",
    ] {
        let text = format!(
            "run = {{ start = \"2026-07-13 07:00\", duration = \"6 h\" }}\nmachine.name = \"{machine}\"\n\
             material.name = \"petg\"\npart.mass = \"120 g\"\nroom.temperature = \"24 degC\"\n"
        );
        all.push((machine.to_owned(), exported(&parsed(&text, &runs))));
    }
    all
}

fn shared_room(folder: &Path) -> Value {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("network.json");
    let mut c = assert_cmd::Command::cargo_bin("dogdays").expect("the program");
    c.arg("check").arg(folder.join("shared-room.toml"));
    c.args(["--no-band", "--quiet", "--export-network"])
        .arg(&file);
    let out = c.output().unwrap();
    let said = String::from_utf8_lossy(&out.stderr);
    assert!(matches!(out.status.code(), Some(0 | 10 | 20)), "{said}");
    serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap()
}

fn found<'a>(value: &'a Value, key: &str, into: &mut BTreeSet<&'a str>) {
    match value {
        Value::Object(map) => {
            into.extend(map.get(key).and_then(Value::as_str));
            map.values().for_each(|v| found(v, key, into));
        }
        Value::Array(list) => list.iter().for_each(|v| found(v, key, into)),
        _ => {}
    }
}

#[test]
fn every_export_is_valid_and_every_law_of_the_schema_is_exported() {
    let validator = validator();
    let all = networks();
    for (name, network) in &all {
        let errors = validator.iter_errors(network);
        let errors: Vec<_> = errors
            .map(|e| format!("{}: {e:.300}", e.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{name}: {errors:#?}");
    }
    let mut exported = BTreeSet::new();
    all.iter().for_each(|(_, n)| found(n, "law", &mut exported));
    all.iter()
        .for_each(|(_, n)| found(n, "kind", &mut exported));
    let definitions = SCHEMA["$defs"].as_object().unwrap().values();
    let named = definitions.filter_map(|d| {
        let p = &d["properties"];
        p["law"]["const"].as_str().or(p["kind"]["const"].as_str())
    });
    let named: BTreeSet<&str> = named.collect();
    assert_eq!(named, exported);
    let page = std::fs::read_to_string(root().join("docs/network.md")).unwrap();
    for name in named {
        assert!(
            page.contains(&format!("`{name}`")),
            "network.md lacks {name}"
        );
    }
}

/// A field of every object of an export, by its path.
fn paths(value: &Value, at: &str, into: &mut Vec<String>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                let path = format!("{at}/{key}");
                into.push(path.clone());
                paths(inner, &path, into);
            }
        }
        Value::Array(list) => {
            for (k, inner) in list.iter().enumerate() {
                paths(inner, &format!("{at}/{k}"), into);
            }
        }
        _ => {}
    }
}

/// Fields that may be absent.
const OPTIONAL: [&str; 3] = ["power_over_time", "led_to", "thermostat"];

#[test]
fn what_is_not_the_network_is_refused() {
    let validator = validator();
    let runs = root().join("tests/evidence/second/runs");
    let demo_data = root().join("demo-data");
    let text = std::fs::read_to_string(runs.join("switched.toml")).unwrap();
    let mut good = exported(&parsed(&text, &demo_data));
    // One configuration and stretch are enough, and make it quick.
    good["configurations"].as_array_mut().unwrap().truncate(1);
    good["stretches"].as_array_mut().unwrap().truncate(1);
    good["given"]["temperature"]["times_s"] = json!([0.0, 3600.0]);
    good["given"]["temperature"]["temperatures_K"] = json!([300.0, 301.0]);
    assert!(validator.is_valid(&good));
    let refused = |change: &dyn Fn(&mut Value)| {
        let mut bad = good.clone();
        change(&mut bad);
        assert_ne!(bad, good);
        !validator.is_valid(&bad)
    };
    // A made-up law, and a law with another's fields.
    for law in ["conduction_by_wish", "open_top", ""] {
        let first = "/configurations/0/links/0/law";
        assert!(
            refused(&|n| *n.pointer_mut(first).unwrap() = json!(law)),
            "{law}"
        );
    }
    assert!(refused(&|n| n["schema"] = json!(2)));
    assert!(refused(&|n| n["altitude_m"] = json!("120 m")));
    let mut all = Vec::new();
    paths(&good, "", &mut all);
    assert!(all.len() > 300, "{}", all.len());
    for path in all {
        let (parent, key) = path.rsplit_once('/').unwrap();
        let edit = |n: &mut Value, to: Option<&str>, more: bool| {
            let map = n.pointer_mut(parent).unwrap().as_object_mut().unwrap();
            let value = if more {
                map[key].clone()
            } else {
                map.remove(key).unwrap()
            };
            if let Some(to) = to {
                map.insert(to.to_owned(), value);
            }
        };
        if !OPTIONAL.contains(&key) {
            assert!(refused(&|n| edit(n, None, false)), "{path} may be left out");
        }
        assert!(
            refused(&|n| edit(n, Some("unknown"), true)),
            "beside {path} anything goes"
        );
        // The same number without its unit, or with another.
        let bare = ["_K", "_m", "_m2", "_s", "_W", "_kg"]
            .iter()
            .find_map(|u| key.strip_suffix(u));
        if let Some(bare) = bare {
            assert!(
                refused(&|n| edit(n, Some(bare), false)),
                "{path} without its unit"
            );
            let other = format!("{bare}_inches");
            assert!(
                refused(&|n| edit(n, Some(&other), false)),
                "{path} in another unit"
            );
        }
    }
}

/// Names of numbers and the unit that their description ends with.
const UNITS: [(&str, &str); 23] = [
    ("_J_per_m2K", "J/(m² K)"),
    ("_J_per_kgK", "J/(kg K)"),
    ("_J_per_K", "J/K"),
    ("_W_per_m2K", "W/(m² K)"),
    ("_W_per_mK", "W/(m K)"),
    ("_W_per_K", "W/K"),
    ("_m2K_per_W", "m² K/W"),
    ("_kg_per_m3", "kg/m³"),
    ("_kg_per_s", "kg/s"),
    ("_m3_per_s", "m³/s"),
    ("_m_per_s2", "m/s²"),
    ("_m_per_s", "m/s"),
    ("_per_s", "1/s"),
    ("per_K", "1/K"),
    ("_Pa", "Pa"),
    ("_kg", "kg"),
    ("_m3", "m³"),
    ("_m2", "m²"),
    ("_W", "W"),
    ("_K", "K"),
    ("_m", "m"),
    ("_s", "s"),
    // A plain number.
    ("", "1"),
];

/// Every object is closed, every property described, every number's unit said and that of its name.
fn described(schema: &Value, at: &str, numbers: &mut usize) {
    if let Some(properties) = schema["properties"].as_object() {
        assert_eq!(schema["additionalProperties"], json!(false), "{at} is open");
        for (name, each) in properties {
            let at = format!("{at}/{name}");
            let said = each["description"]
                .as_str()
                .unwrap_or_else(|| panic!("{at} says nothing"));
            let of = if each["type"] == "array" {
                &each["items"]
            } else {
                each
            };
            let is = |kind: &str| of["type"] == kind || of["type"][0] == kind;
            if is("number") || is("integer") || name == "schema" {
                let (_, unit) = UNITS.iter().find(|(end, _)| name.ends_with(end)).unwrap();
                assert!(
                    said.ends_with(&format!(", {unit}")),
                    "{at}: {said}, not in {unit}"
                );
                *numbers += 1;
            }
            described(each, &at, numbers);
        }
    }
    for (name, each) in schema["$defs"].as_object().into_iter().flatten() {
        assert!(
            each["title"].is_string() && each["description"].is_string(),
            "{name}"
        );
        described(each, name, numbers);
    }
}

#[test]
fn every_number_of_the_schema_says_its_unit() {
    let mut numbers = 0;
    assert!(SCHEMA["title"].is_string() && SCHEMA["description"].is_string());
    assert!(SCHEMA.get("$id").is_none());
    described(&SCHEMA, "", &mut numbers);
    assert!(numbers > 100, "{numbers}");
}

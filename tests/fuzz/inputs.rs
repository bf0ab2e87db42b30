//! Mutated files of every kind, and what is asserted of reading them.

use std::fs;
use std::path::PathBuf;

use dogdays::catalogue::{Catalogue, Kind as Entry, fan_from_csv};
use dogdays::keys::fields::RUN_FILE;
use dogdays::keys::json_schema::json_schema;
use dogdays::keys::schema::{Kind, Table};
use dogdays::keys::{Origin, Problems};
use dogdays::output::catalogue::{list, show};
use dogdays::output::screen::Screen;
use dogdays::quantity::{self, Quantity};
use dogdays::run::Run;
use dogdays::runfile::{self, DEMO_RUN, DEMO_WEATHER, Loaded};
use dogdays::study;
use fastrand::Rng;
use serde_json::Value;

use crate::logs;
use crate::mutate::{self, chance, pick};
use crate::runs;
use crate::watch::Watch;
use crate::weather::{self, WeatherFile};

/// A table of a job that fits the demo.
const JOB: &str = "elapsed_h,feed_g_per_h,bed_degC,nozzle_degC,motion\n0,0,60,off,0\n0.5,20,60,210,1\n60,15,55,205,0.8\n120,0,off,off,0\n";
const FAN: &str = "flow_m3_per_h,pressure_Pa,power_W\n0,46,2\n36,30,3\n68,0,2.5\n";
/// A run with a bit of everything that is written in lists and tables.
const RICH: &str = r#"
run = { name = "everything", start = "2026-07-13 07:00", duration = "30 h" }
machine.name = "bench-220"
machine.walls = "double-glass"
machine.vent = [{ area = "30 cm2", height = "100 mm" }]
material.name = "petg"
part.mass = "300 g"
[job]
heat_up = "20 min"
soak = "10 min"
[[job.pause]]
at = "4 h"
duration = "20 min"
[[job.spool_change]]
at = "6 h"
duration = "4 min"
door = "open"
[room]
mean = "27 degC"
swing = "4 K"
building = { volume = "120 m3", envelope = "150 W/K" }
[arrangement]
kind = "extracting"
flow = "20 m3/h"
thermostat = { on_above = "42 degC", off_below = "40 degC" }
[[arrangement.schedule]]
at = "2 h"
duration = "10 min"
kind = "lid off"
[system]
duct_length = "3 m"
[require]
margin = "4 K"
[coefficients]
leakage = 1.4
[initial]
air = "30 degC"
[[log]]
file = "evening.csv"
dates = "day/month/year"
temperature_unit = "degC"
utc_offset = "+02:00"
[[log.column]]
name = "T1"
sensor = "feeder motor"
within = "0.5 K"
[[log.column]]
name = "T2"
sensor = "room"
unit = "degF"
[[compare]]
name = "cooler"
room.shift = "-2 K"
"#;

/// Where the files lie, and what they are made from.
pub struct Shop {
    folder: tempfile::TempDir,
    pub catalogue: Catalogue,
    schema: Value,
    run_files: Vec<String>,
    weather: Vec<WeatherFile>,
    demo: Run,
    models: Vec<(Entry, String, String)>,
}

impl Shop {
    pub fn new() -> Self {
        let catalogue = Catalogue::embedded();
        let shop = Self {
            folder: tempfile::tempdir().expect("a folder"),
            schema: json_schema(&|kind| catalogue.names(kind)),
            run_files: vec![DEMO_RUN.to_owned(), RICH.to_owned()],
            weather: weather::files(),
            demo: logs::extracting(),
            models: Entry::ALL
                .iter()
                .flat_map(|kind| {
                    catalogue
                        .list(*kind)
                        .map(|e| (*kind, e.name.clone(), e.text().to_owned()))
                })
                .collect(),
            catalogue,
        };
        shop.put("weather.csv", DEMO_WEATHER.as_bytes());
        shop.put("job.csv", JOB.as_bytes());
        for kind in Entry::ALL {
            fs::create_dir_all(shop.folder.path().join("models").join(kind.folder()))
                .expect("made");
        }
        shop
    }

    pub fn names(&self, kind: Entry) -> Vec<String> {
        self.catalogue.names(kind)
    }

    fn put(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.folder.path().join(name);
        fs::write(&path, bytes).expect("written");
        path
    }

    pub fn load(&self, text: &str) -> Result<Loaded, Problems> {
        runfile::parse(text, "run.toml", Some(self.folder.path()), &self.catalogue)
    }
}

/// One mutated input.
pub fn attempt(shop: &Shop, random: &mut Rng, watch: &Watch) {
    match random.u8(..22) {
        0..=8 => {
            let text = pick(random, &shop.run_files).clone();
            let other = pick(random, &shop.run_files).clone();
            let text = mutate::toml(random, &text, &other);
            read_run(shop, random, watch, &text, &text);
        }
        9..=11 => {
            let file = pick(random, &shop.weather);
            let (bytes, asked) = file.changed(random);
            shop.put(file.name, &bytes);
            let named = format!("series = \"{}\"\n{asked}\n", file.name);
            let text = DEMO_RUN.replace("series = \"weather.csv\"", &named);
            read_run(shop, random, watch, &text, &String::from_utf8_lossy(&bytes));
        }
        12 => {
            let job = mutate::csv(random, JOB);
            shop.put("mutated-job.csv", job.as_bytes());
            let text = DEMO_RUN.replace("[job]", "[job]\nprofile = \"mutated-job.csv\"");
            read_run(shop, random, watch, &text, &job);
        }
        13 | 14 => model(shop, random, watch),
        15 => {
            let curve = mutate::csv(random, FAN);
            let path = shop.put("fan.csv", curve.as_bytes());
            watch.with(&curve, || match fan_from_csv(&path) {
                Ok(fan) => {
                    let curve = format!("{:?}", fan.curve);
                    assert!(is_finite(&curve), "{curve}");
                }
                Err(problems) => drawn_well(&problems),
            });
        }
        16..=18 => {
            let typed = mutate::quantity(random);
            let quantity = *pick(random, &Quantity::ALL);
            watch.with(&format!("{quantity:?} {typed:?}"), || {
                quantity_reads_back(quantity, &typed)
            });
        }
        19 | 20 => {
            let (text, said) = logs::changed(random);
            let path = shop.put("mutated-log.csv", text.as_bytes());
            watch.with(&format!("{said:?}\n{text}"), || {
                if let Err(problems) = logs::read(path, said, &shop.demo) {
                    drawn_well(&problems);
                }
            });
        }
        _ => {
            let text = pick(random, &shop.run_files).clone();
            let bytes = mutate::bytes(random, &text);
            let path = shop.put("run.toml", &bytes);
            let shown = String::from_utf8_lossy(&bytes);
            watch.with(&shown, || {
                if let Err(problems) = runfile::load(&path, None) {
                    drawn_well(&problems);
                }
            });
        }
    }
}

fn read_run(shop: &Shop, random: &mut Rng, watch: &Watch, text: &str, input: &str) {
    /// One in so many that load is simulated too.
    const SIMULATED: f64 = 0.01;
    let loaded = watch.with(input, || match shop.load(text) {
        Ok(loaded) => {
            understood(shop, &loaded, text);
            Some(loaded)
        }
        Err(problems) => {
            drawn_well(&problems);
            None
        }
    });
    if let Some(loaded) = loaded.filter(|_| chance(random, SIMULATED)) {
        let run = &loaded.run;
        watch.with(input, || {
            match study::check::outcome(run, &runs::bounded()) {
                Ok(outcome) => assert!(outcome.margin_K.is_finite(), "{outcome:?}"),
                Err(e) => runs::said_well(&e.to_string()),
            }
        });
    }
}

/// A file of the user's own folder: refused whole, or listed, shown and used.
fn model(shop: &Shop, random: &mut Rng, watch: &Watch) {
    let (kind, name, text) = pick(random, &shop.models).clone();
    let other = pick(random, &shop.models).2.clone();
    let text = mutate::toml(random, &text, &other);
    let path = shop.put(
        &format!("models/{}/{name}.toml", kind.folder()),
        text.as_bytes(),
    );
    watch.with(&text, || {
        match Catalogue::with_folder(&shop.folder.path().join("models")) {
            Ok(catalogue) => {
                let shown = list(&catalogue, Screen::default());
                assert!(shown.contains(&name), "{shown}");
                let entry = catalogue.get(kind, &name).expect("it was read");
                assert!(show(entry, Screen::default()).starts_with(&name));
            }
            Err(problems) => drawn_well(&problems),
        }
    });
    fs::remove_file(path).expect("removed");
}

/// What people see of problems.
fn drawn_well(problems: &Problems) {
    assert!(!problems.as_slice().is_empty(), "refused without a word");
    let drawn = problems.render(false);
    let acts = |c: char| c.is_control() && c != '\n';
    assert!(!drawn.contains(acts), "control characters in {drawn:?}");
    assert!(!drawn.contains("can't say why"), "{drawn}");
    // A wall of text helps nobody.
    assert!(drawn.len() < 1_000_000, "{} bytes of problems", drawn.len());
    for problem in problems.as_slice() {
        assert!(
            !problem.file.is_empty() && !problem.message.is_empty(),
            "{problem:?}"
        );
        assert_eq!(
            problem.line.is_some(),
            problem.column.is_some(),
            "{problem:?}"
        );
    }
    assert!(!problems.render(true).is_empty());
}

/// What is said of a run that loads is so.
fn understood(shop: &Shop, loaded: &Loaded, text: &str) {
    let run = format!("{:?}", loaded.run);
    assert!(is_finite(&run), "{run}");
    for stated in &loaded.provenance {
        if let (Origin::Typed, Some(Kind::Quantity(range))) = (&stated.origin, kind_of(&stated.key))
        {
            let read = quantity::parse(&stated.value, range.quantity);
            assert!(
                read.is_ok_and(f64::is_finite),
                "{} = {}",
                stated.key,
                stated.value
            );
        }
    }
    let table: toml::Table = toml::from_str(text).expect("TOML, as it loads");
    let typed = serde_json::to_value(table).expect("JSON can say it");
    if let Err(what) = accepts(&shop.schema, &typed) {
        panic!("it loads, and its schema says: {what}");
    }
}

/// What a key with its tables holds; list items count from 1.
fn kind_of(key: &str) -> Option<Kind> {
    let mut table: &'static Table = &RUN_FILE;
    let mut found = None;
    for part in key.split('.') {
        if part.parse::<usize>().is_ok() {
            continue;
        }
        let kind = table.field(part)?.kind;
        found = Some(kind);
        if let Kind::Table(inner) | Kind::List(inner) | Kind::Panel(inner) = kind {
            table = inner;
        }
    }
    found
}

/// Whether a schema takes a value, as far as keys, types and words go; patterns are left to editors.
fn accepts(schema: &Value, value: &Value) -> Result<(), String> {
    if let Some(any) = schema["anyOf"].as_array() {
        let takes = any.iter().any(|one| accepts(one, value).is_ok());
        return if takes {
            Ok(())
        } else {
            Err(format!("none of its kinds is {value}"))
        };
    }
    // Words may be typed in capitals, with hyphens and with spaces around them; the schema has them as they are listed.
    let fold = |word: &Value| {
        let word = word
            .as_str()
            .map(|w| w.trim().to_lowercase().replace(['-', '_'], " "));
        Value::from(word)
    };
    if let Some(words) = schema["enum"].as_array()
        && !words.contains(value)
        && !(value.is_string()
            && words
                .iter()
                .any(|word| word.is_string() && fold(word) == fold(value)))
    {
        return Err(format!("{value} is none of {words:?}"));
    }
    match schema["type"].as_str() {
        Some("object") => {
            let object = value
                .as_object()
                .ok_or_else(|| format!("{value} is no table"))?;
            for (key, inner) in object {
                let known = &schema["properties"][key];
                if known.is_object() {
                    accepts(known, inner).map_err(|what| format!("{key}: {what}"))?;
                } else if schema["additionalProperties"] == false {
                    return Err(format!("nobody knows `{key}`"));
                }
            }
        }
        Some("array") => {
            for item in value
                .as_array()
                .ok_or_else(|| format!("{value} is no list"))?
            {
                accepts(&schema["items"], item)?;
            }
        }
        Some("string") if !value.is_string() => return Err(format!("{value} is no text")),
        Some("number" | "integer") if !value.is_number() => {
            return Err(format!("{value} is no number"));
        }
        Some("boolean") if !value.is_boolean() => {
            return Err(format!("{value} is neither true nor false"));
        }
        _ => {}
    }
    Ok(())
}

fn quantity_reads_back(quantity: Quantity, typed: &str) {
    let unit = quantity.units()[0].symbol;
    match quantity::parse(typed, quantity) {
        Ok(si) => {
            assert!(si.is_finite(), "{si}");
            // Beyond, another unit of the quantity may be beyond all numbers; no key takes such values.
            if si.abs() > 1e290 {
                return;
            }
            let text = quantity.to_text(si, unit);
            let again = quantity::parse(&text, quantity);
            let again = again.unwrap_or_else(|e| {
                panic!("{typed:?} is {si}, is written {text:?}, and that: {e}")
            });
            assert!(
                (again - si).abs() <= 1e-5 * si.abs() + 1e-8,
                "{si} is written {text}"
            );
        }
        Err(e) => assert!(!e.to_string().is_empty() && !e.help(quantity, unit).is_empty()),
    }
}

/// Whether a value, as it is printed for programmers, holds only finite numbers. What stands in quotes may say
/// anything.
fn is_finite(printed: &str) -> bool {
    let outside = printed.split('"').step_by(2);
    let mut words = outside.flat_map(|part| part.split(|c: char| !c.is_alphanumeric()));
    !words.any(|word| word == "NaN" || word == "inf")
}

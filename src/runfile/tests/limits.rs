//! Every key at its lowest and at its highest legal value: the run loads and is simulated, or is refused with
//! the key's name.

use super::run;
use crate::integrate::Options;
use crate::keys::schema::Kind;
use crate::run::inputs::Input;
use crate::runfile::Loaded;
use crate::study::check::outcome;
use std::collections::HashSet;

/// Everything that may be described is, in these runs: some things can't be together.
const EXTRACTING: &str = r#"
[run]
start = "2026-07-13 11:00"
duration = "3 h"
[machine]
name = "bench-220"
chamber_heater = { max_power = "200 W" }
part_fan = { power = "3 W", speed = "1 m/s" }
second_hotend = {}
vent = [{ area = "10 cm2", height = "50 mm" }]
[material]
name = "abs"
[part]
mass = "0.05 kg"
footprint = "20 cm2"
height = "60 mm"
[job]
chamber = "50 degC"
second_nozzle = "150 degC"
first_layers = "20 min"
first_layer_bed = "100 degC"
first_layer_nozzle = "245 degC"
[[job.pause]]
at = "1 h"
duration = "5 min"
[[job.spool_change]]
at = "2 h"
duration = "5 min"
door = "open"
[room]
mean = "30 degC"
swing = "4 K"
[room.building]
volume = "100 m3"
envelope = "100 W/K"
cooler_power = "1 kW"
[[room.building.sun]]
at = "12:00"
duration = "1 h"
heat = "600 W"
[[room.building.sun]]
at = "11:30"
until = "12:30"
area = "2 m2"
[sun]
area = "500 cm2"
from = "11:30"
to = "13:00"
[initial]
air = "40 degC"
bed = "60 degC"
panels = "35 degC"
frame = "35 degC"
motors = "40 degC"
hotend = "100 degC"
cold_end = "40 degC"
room = "30 degC"
[arrangement]
kind = "extracting"
flow = "40 m3/h"
[[arrangement.schedule]]
at = "90 min"
duration = "10 min"
kind = "blowing in"
flow = "30 m3/h"
"#;

const RECIRCULATING: &str = r#"
[run]
start = "2026-07-13 11:00"
duration = "3 h"
[machine]
name = "warm-250"
[material]
name = "pla"
[part]
mass = "0.02 kg"
[[job.phase]]
kind = "heat up"
duration = "20 min"
[[job.phase]]
kind = "print"
duration = "2 h"
feed = "10 g/h"
[[job.phase]]
kind = "cool down"
duration = "40 min"
[room]
temperature = "30 degC"
above_outdoors = "4 K"
[arrangement]
kind = "recirculating"
flow = "40 m3/h"
open = "door"
speed_at_bed = "1 m/s"
speed_at_part = "1 m/s"
"#;

const BY_THERMOSTAT: &str = r#"
[run]
start = "2026-07-13 11:00"
duration = "3 h"
[machine]
name = "bench-20"
[material]
name = "pla"
[part]
mass = "0.05 kg"
[room]
temperature = "30 degC"
[arrangement]
kind = "extracting"
flow = "20 m3/h"
thermostat = { on_above = "50 degC", off_below = "45 degC" }
"#;

/// What is wrong with a value at a limit, if anything.
fn fault(text: &str, loaded: &Loaded, input: &Input, si: f64) -> Option<String> {
    let mut inputs = loaded.inputs.clone();
    inputs.set(input, si).expect("a limit is legal");
    let said = format!("{} = {si} (SI)", input.key());
    let name = input
        .key()
        .rsplit('.')
        .next()
        .unwrap_or_default()
        .to_owned();
    match inputs.to_run() {
        Err(problems) => {
            let names_it = problems.as_slice().iter().any(|p| {
                // The line that is shown names it as well as the words do.
                let line = p.line.and_then(|at| text.lines().nth(at - 1)).unwrap_or("");
                let said = format!("{} {} {line}", p.message, p.help.as_deref().unwrap_or(""));
                said.replace('_', " ").contains(&name.replace('_', " "))
            });
            (!names_it).then(|| format!("{said}: refused without its name: {problems}"))
        }
        Ok(run) => match outcome(&run, &Options::default()) {
            Err(error) => Some(format!("{said}: {error}")),
            Ok(outcome) if !outcome.margin_K.is_finite() => Some(format!("{said}: no margin")),
            Ok(_) => None,
        },
    }
}

/// What is wrong at the limits of those keys of a run that have not been tried.
fn every_limit(text: &str, tried: &mut HashSet<String>) -> Vec<String> {
    let loaded = run(text);
    let mut faults = Vec::new();
    for input in loaded.inputs.all() {
        let input = &input;
        let range = input.range();
        if !tried.insert(input.key().to_owned()) {
            continue;
        }
        for limit in [range.hard.0, range.hard.1] {
            // A year of a run takes its time, and is no other kind of run.
            if input.key() == "run.duration" && limit == range.hard.1 {
                continue;
            }
            faults.extend(fault(text, &loaded, input, range.si(limit)));
        }
    }
    faults
}

#[test]
fn every_key_may_be_as_low_and_as_high_as_is_legal() {
    let mut tried = HashSet::new();
    let runs = [EXTRACTING, RECIRCULATING, BY_THERMOSTAT];
    let faults: Vec<String> = runs
        .iter()
        .flat_map(|text| every_limit(text, &mut tried))
        .collect();
    assert!(tried.len() > 250, "{}", tried.len());
    assert!(
        faults.is_empty(),
        "{}:\n{}",
        faults.len(),
        faults.join("\n")
    );
}

/// Whole numbers are typed, not set.
#[test]
fn every_whole_number_too() {
    for (table, key) in [("machine", "air_layers"), ("system", "bends")] {
        let field = crate::keys::fields::RUN_FILE.field(table).map(|f| f.kind);
        let Some(Kind::Table(schema)) = field else {
            panic!("a table")
        };
        let Some(Kind::Integer(low, high)) = schema.field(key).map(|f| f.kind) else {
            panic!("a whole number")
        };
        for number in [low, high] {
            let text = super::plus(table, &format!("{key} = {number}"))
                .replace("100 h", "3 h")
                .replace("2.3 kg", "50 g")
                .replace("180 cm2", "20 cm2");
            let outcome = outcome(&run(&text).run, &Options::default());
            assert!(outcome.is_ok(), "{key} = {number}: {outcome:?}");
        }
    }
}

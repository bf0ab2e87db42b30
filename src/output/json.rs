//! JSON of `check`: one object, `"schema": 1`, units at the end of names.

use serde_json::{Map, Value, json};

use super::certainty;
use super::failures;
use super::json_number::degC;
pub(crate) use super::json_number::rounded;
use super::report::verdict_sentence_in;
use super::shop;
use super::words::{iso, moment};
use crate::quantity::System;
use crate::run::Run;
use crate::study::Findings;
use crate::study::check::Outcome;

/// Version of the JSON outputs.
pub const SCHEMA: u32 = 1;

/// What the heaters lack where a job cannot run; null where it can.
pub(super) fn cannot_run(run: &Run, o: &Outcome) -> Value {
    if o.shortfalls.is_empty() {
        return Value::Null;
    }
    let heaters = o.shortfalls.iter().map(|s| {
        json!({
            "heater": s.heater.name(),
            "setpoint_degC": degC(s.setpoint_K),
            "reached_degC": degC(s.reached_K),
            "at": iso(moment(run.start, s.at_s)),
            "at_h": rounded(s.at_s / 3600.0, 4),
            "short_from_h": rounded(s.from_s / 3600.0, 4),
            "short_h": rounded(s.lasts_s / 3600.0, 4),
            "needed_W": rounded(s.needed_W, 2),
            "of_it_for_feed_W": rounded(s.feed_W, 2),
            "available_W": rounded(s.available_W, 2),
            "printing_times_as_long": s.times_as_long().map(|times| rounded(times, 3)),
            "ways_out": s.ways_out(System::Si),
        })
    });
    json!({ "heaters": heaters.collect::<Vec<_>>() })
}

/// What makes the room as warm as it is.
fn room(run: &Run) -> Value {
    let room = &run.room;
    let building = room.building.as_ref();
    let others = run.neighbours.iter().map(|other| {
        json!({
            "run": other.run.name,
            "machine": other.run.machine.name,
            "machines": other.machines,
            "start": iso(moment(run.start, other.begins_s)),
            "start_h": rounded(other.begins_s / 3600.0, 4),
        })
    });
    json!({
        "is": match (building, room.above_outdoors_K) {
            (Some(_), _) => "building",
            (None, Some(_)) => "above outdoors",
            (None, None) => "given",
        },
        "above_outdoors_K": room.above_outdoors_K.map(|K| rounded(K, 4)),
        "machines": building.map_or(1, |b| b.machines),
        "others": others.collect::<Vec<_>>(),
    })
}

/// The findings of `check`.
#[must_use]
pub fn check(run: &Run, f: &Findings) -> Value {
    let at = |t_s: f64| json!(iso(moment(run.start, t_s)));
    let joules = |entries: &[(String, f64)]| {
        let mut m = Map::new();
        for (name, q) in entries {
            m.insert(name.replace(' ', "_"), rounded(*q, 1));
        }
        Value::Object(m)
    };
    let mut object = json!({
        "schema": SCHEMA,
        "run": run.name,
        "machine": run.machine.name,
        "material": run.material.name,
        "arrangement": run.arrangement.name(),
        "room": room(run),
        "verdict": f.outcome.verdict.name(),
        "answer": verdict_sentence_in(run, f, System::Si),
        "required_chance": rounded(run.requirements.chance, 4),
        "surely_holds": f.surely_holds(run),
        "cannot_run": cannot_run(run, &f.outcome),
        "softening_limit_degC": degC(f.limit_K),
        "softening_basis": run.material.softening_basis,
        "filament": if run.filament.is_damp { "damp" } else { "dry" },
        "longest_stop_s": rounded(run.filament.longest_stop_s, 3),
        "required_margin_K": rounded(run.requirements.margin_K, 4),
        "margin_K": rounded(f.outcome.margin_K, 4),
        "peak": {
            "filament_degC": degC(f.outcome.peak_K),
            "limit_degC": degC(f.outcome.limit_K),
            "standing_degC": degC(f.outcome.peak_K),
            "moving_degC": f.stations.iter().find(|s| s.station == f.outcome.station)
                .map(|s| degC(s.moving_max_K)),
            "station": f.outcome.station.name(),
            "at": at(f.outcome.peak_at_s),
            "at_h": rounded(f.outcome.peak_at_s / 3600.0, 4),
        },
        "alarm": f.alarm.map(|a| json!({
            "sensor": a.thermometer.name(),
            "reading_degC": degC(a.reading_K),
        })),
        "hours_above_limit_h": rounded(f.hours_above_limit_h, 4),
        "hours_within_margin_h": rounded(f.hours_within_margin_h, 4),
        "first_above_at_h": f.first_above_at_h.map(|h| rounded(h, 4)),
        "stations": f.stations.iter().map(|s| json!({
            "station": s.station.name(),
            "limit_degC": degC(s.limit_K),
            "max_degC": degC(s.max_K),
            "moving_max_degC": degC(s.moving_max_K),
            "mean_degC": degC(s.mean_K),
        })).collect::<Vec<_>>(),
        "nodes": f.nodes.iter().map(|n| json!({
            "node": n.name,
            "min_degC": degC(n.min_K),
            "mean_degC": degC(n.mean_K),
            "max_degC": degC(n.max_K),
            "end_degC": degC(n.end_K),
        })).collect::<Vec<_>>(),
        "heat": {
            "in_J": joules(&f.heat.in_J),
            "out_J": joules(&f.heat.out_J),
            "stored_J": rounded(f.heat.stored_J, 1),
            "unaccounted_relative": f.heat.unaccounted_relative,
        },
        "spools": shop::spools(run, f),
        "electricity": shop::electricity(f),
        "log_sheet": shop::log_sheet(run, f),
        "fan": f.fan.map(|u| json!({
            "running_share": rounded(u.share, 4),
            "running_h": rounded(u.running_h, 4),
            "starts": u.all_starts(),
            "starts_are_estimated": u.starts_spared > 0,
            "energy_J": u.energy_J.map(|e| rounded(e, 1)),
        })),
        "failures": failures::each(run, f),
        "failures_together": failures::together(run, f),
        "integrator": {
            "method": f.integrator.name(),
            "steps": f.effort.steps,
            "rejected": f.effort.rejected,
            "evaluations": f.effort.evaluations,
        },
        "warnings": f.warnings.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "cautions": f.cautions.iter().map(|c| c.text()).collect::<Vec<_>>(),
    });
    certainty::add_to(&mut object, f);
    object
}

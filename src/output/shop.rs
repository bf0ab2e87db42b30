//! What a shop plans by: spools, electricity, and what stands on the log sheet, as JSON and as entries of a text.

use serde_json::{Value, json};

use super::json_number::{degC, rounded};
use super::screen::Screen;
use super::words::{date_and_time, iso, moment};
use crate::quantity::{format_count, format_mass, format_number};
use crate::run::Run;
use crate::study::Findings;
use crate::study::electricity::Consumer;
use crate::study::log_sheet::{Check, Event, What};
use crate::study::spools::Spool;

/// The spools; null where the run does not say what they hold.
pub(super) fn spools(run: &Run, f: &Findings) -> Value {
    let Some(mass) = run.spool else {
        return Value::Null;
    };
    let at = |s: f64| iso(moment(run.start, s));
    let each = f.spools.iter().map(|spool| {
        json!({
            "spool": spool.number,
            "holds_kg": rounded(spool.holds_kg, 6),
            "drawn_kg": rounded(spool.drawn_kg, 6),
            "begin": at(spool.begin_s),
            "begin_h": rounded(spool.begin_s / 3600.0, 4),
            "end": at(spool.end_s),
            "end_h": rounded(spool.end_s / 3600.0, 4),
            "runs_out": spool.runs_out_s.map(at),
            "runs_out_h": spool.runs_out_s.map(|s| rounded(s / 3600.0, 4)),
            "changed": spool.is_changed,
            "staffed": spool.staffed,
        })
    });
    json!({
        "full_kg": rounded(mass.full_kg, 6),
        "first_kg": rounded(mass.first_kg, 6),
        "changes": f.spools.iter().filter(|spool| spool.is_changed).count(),
        "unstaffed_changes": run.staffed.as_ref().map(|_| unstaffed(&f.spools)),
        "each": each.collect::<Vec<_>>(),
    })
}

fn unstaffed(spools: &[Spool]) -> usize {
    let is_unstaffed = |s: &&Spool| s.is_changed && s.staffed == Some(false);
    spools.iter().filter(is_unstaffed).count()
}

/// The electricity.
pub(super) fn electricity(f: &Findings) -> Value {
    let e = &f.electricity;
    let each = e.each_kWh().map(
        |(consumer, kWh)| json!({ "consumer": consumer.name(), "energy_kWh": rounded(kWh, 4) }),
    );
    json!({
        "together_kWh": rounded(e.together_kWh(), 4),
        "consumers": each.collect::<Vec<_>>(),
        "price_per_kWh": e.price_per_kWh,
        "costs": e.costs().map(|costs| rounded(costs, 4)),
        "lacks_fan": e.lacks_fan,
    })
}

/// The log sheet.
pub(super) fn log_sheet(run: &Run, f: &Findings) -> Value {
    let during = f.log_sheet.during.iter().map(|event| of_event(run, event));
    json!({
        "before": f.log_sheet.before.iter().map(of_check).collect::<Vec<_>>(),
        "during": during.collect::<Vec<_>>(),
    })
}

fn of_check(check: &Check) -> Value {
    match check {
        Check::FilamentDry => json!({ "check": "filament", "filament": "dry" }),
        Check::FilamentDamp { dry_gives_K } => json!({
            "check": "filament",
            "filament": "damp",
            "dry_gives_K": rounded(*dry_gives_K, 4),
        }),
        Check::Spools {
            count,
            full_kg,
            first_kg,
            drawn_kg,
        } => json!({
            "check": "spools",
            "count": count,
            "full_kg": rounded(*full_kg, 6),
            "first_kg": rounded(*first_kg, 6),
            "drawn_kg": rounded(*drawn_kg, 6),
        }),
        Check::Bed { setpoint_K } => json!({
            "check": "bed",
            "setpoint_degC": setpoint_K.map(degC),
        }),
        Check::Room { assumed_K } => json!({
            "check": "room",
            "assumed_degC": degC(*assumed_K),
        }),
        Check::Shell { lid_on, door_shut } => json!({
            "check": "shell",
            "lid_on": lid_on,
            "door_shut": door_shut,
        }),
        Check::Fan {
            arrangement,
            flow_m3_per_s,
            runs_at_start,
            thermostat_K,
        } => json!({
            "check": "fan",
            "arrangement": arrangement,
            "flow_m3_per_h": rounded(flow_m3_per_s * 3600.0, 2),
            "runs_at_start": runs_at_start,
            "on_above_degC": thermostat_K.map(|(on_K, _)| degC(on_K)),
            "off_below_degC": thermostat_K.map(|(_, off_K)| degC(off_K)),
        }),
        Check::Alarm {
            thermometer,
            reading_K,
        } => json!({
            "check": "alarm",
            "sensor": thermometer.name(),
            "reading_degC": degC(*reading_K),
        }),
    }
}

fn of_event(run: &Run, event: &Event) -> Value {
    let until = |s: f64| iso(moment(run.start, s));
    let mut object = match &event.what {
        What::SpoolChange {
            spool,
            until_s,
            door_open,
        } => json!({
            "event": "spool change",
            "spool": spool,
            "until": until(*until_s),
            "door_open": door_open,
        }),
        What::SpoolRunsOut { spool } => json!({ "event": "spool runs out", "spool": spool }),
        What::Pause { until_s } => json!({ "event": "pause", "until": until(*until_s) }),
        What::Arrange {
            arrangement,
            until_s,
        } => json!({
            "event": "arrangement",
            "arrangement": arrangement,
            "until": until(*until_s),
        }),
        What::MarginBegins { until_s } => {
            json!({ "event": "within margin", "until": until(*until_s) })
        }
        What::MarginEnds => json!({ "event": "margin again" }),
        What::AboveBegins { until_s } => {
            json!({ "event": "above limit", "until": until(*until_s) })
        }
        What::AboveEnds => json!({ "event": "below limit again" }),
        What::Hottest {
            station,
            filament_K,
            limit_K,
        } => json!({
            "event": "hottest",
            "station": station.name(),
            "filament_degC": degC(*filament_K),
            "limit_degC": degC(*limit_K),
        }),
        What::ReadRoom { expected_K } => json!({
            "event": "read the room",
            "expected_degC": degC(*expected_K),
        }),
        What::End => json!({ "event": "end" }),
    };
    object["at"] = json!(iso(event.at));
    object["at_h"] = rounded(event.at_s / 3600.0, 4);
    object["staffed"] = json!(event.staffed);
    object
}

/// The entries of a text.
pub(super) fn entries(o: &mut String, run: &Run, f: &Findings, screen: Screen) {
    if let Some(words) = spool_words(run, f, screen) {
        screen.entry(o, "Spools", &words);
    }
    screen.entry(o, "Electricity", &electricity_words(f));
}

/// Changes that are named one by one; of more, it is said how many there are.
const NAMED: usize = 6;

fn spool_words(run: &Run, f: &Findings, screen: Screen) -> Option<String> {
    let mass = run.spool?;
    let kg = |kg| format_mass(kg, screen.system);
    let mut words = format!("{} of {}", format_count(f.spools.len()), kg(mass.full_kg));
    if mass.first_kg < mass.full_kg {
        words += &format!(", {} on the first", kg(mass.first_kg));
    }
    let changes: Vec<&Spool> = f.spools.iter().filter(|spool| spool.is_changed).collect();
    if changes.is_empty() {
        return Some(words + "; no change");
    }
    let named = changes.iter().take(NAMED).map(|spool| {
        let alone = if spool.staffed == Some(false) {
            " (nobody there)"
        } else {
            ""
        };
        format!("{}{alone}", date_and_time(run.start, spool.end_s))
    });
    words += &format!("; changed {}", named.collect::<Vec<_>>().join(", "));
    if changes.len() > NAMED {
        let more = format_count(changes.len() - NAMED);
        words += &format!(" and {more} times more");
        if run.staffed.is_some() {
            let alone = format_count(unstaffed(&f.spools));
            words += &format!("; {alone} of all with nobody there");
        }
    }
    Some(words)
}

fn electricity_words(f: &Findings) -> String {
    let e = &f.electricity;
    let kWh = |kWh: f64| format_number(kWh, 2);
    let each = e
        .each_kWh()
        .map(|(who, of)| format!("{} {}", who.name(), kWh(of)));
    let mut words = format!(
        "{} kWh as heat: {}",
        kWh(e.together_kWh()),
        each.collect::<Vec<_>>().join(", ")
    );
    if let Some((price, costs)) = e.price_per_kWh.zip(e.costs()) {
        words += &format!("; costs {costs:.2} at {price} per kWh");
    }
    if e.lacks_fan {
        let fans = Consumer::Fans.name();
        words += &format!(
            "; {fans} without the one that extracts, whose power is not known (`system.fan_power`)"
        );
    }
    words
}

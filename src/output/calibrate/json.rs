//! `calibrate` in JSON.

use serde_json::{Value, json};

use super::number_of;
use crate::output::json::{SCHEMA, rounded};
use crate::output::words::{iso, moment};
use crate::run::Run;
use crate::study::calibrate::identify::IDENTIFIED;
use crate::study::calibrate::mixed::apart;
use crate::study::calibrate::{Calibration, Followed, Parameter};

/// One object.
#[must_use]
pub fn json(runs: &[&Run], c: &Calibration) -> Value {
    let degC = |K: f64| rounded(K - 273.15, 4);
    json!({
        "schema": SCHEMA,
        "run": runs[0].name,
        "runs": runs.iter().map(|run| run.name.as_str()).collect::<Vec<_>>(),
        "machine": runs[0].machine.name,
        "rows": c.rows(),
        "rms_before_K": of_temperatures(c, Calibration::rms_before_K),
        "rms_after_K": of_temperatures(c, Calibration::rms_after_K),
        "settled": c.is_settled,
        "evaluations": c.evaluations,
        "others": c.others,
        "held_out": c.held_out.map(|h| json!({
            "rows": h.rows,
            "rms_before_K": rounded(h.before_K, 4),
            "rms_after_K": rounded(h.after_K, 4),
        })),
        "moved_h": c.moved_h.iter().map(|(session, hours)| json!({
            "run": session + 1,
            "hours": hours,
        })).collect::<Vec<_>>(),
        "mixed_up": c.mixed.iter().map(|mixed| json!({
            "run": mixed.session + 1,
            "columns": mixed.headers,
            "sensors": mixed.sensors,
        })).collect::<Vec<_>>(),
        "contradicting": apart(&c.columns).iter().map(|apart| json!({
            "run": apart.session + 1,
            "sensor": apart.sensor,
            "columns": apart.headers,
            "by_K": rounded(apart.by_K, 4),
        })).collect::<Vec<_>>(),
        "fits": c.is_trusted(),
        "logs": c.columns.iter().map(column).collect::<Vec<_>>(),
        "bed_heater": c.powers.iter().map(|p| json!({
            "run": p.session + 1,
            "column": p.header,
            "windows": p.times_s.len(),
            "mean_W": rounded(p.mean_W(), 3),
            "rms_before_W": rounded(p.rms_before_W(), 3),
            "rms_after_W": rounded(p.rms_after_W(), 3),
            "offset_W": rounded(p.offset_W, 3),
            "strays": p.strays,
        })).collect::<Vec<_>>(),
        "starts": c.starts.iter().map(|start| json!({
            "run": start.session + 1,
            "name": start.key,
            "value_degC": degC(start.is_K),
        })).collect::<Vec<_>>(),
        "readings": c.readings.iter().map(|r| json!({
            "run": r.session + 1,
            "sensor": r.sensor,
            "at": iso(moment(runs[r.session].start, r.reading.at_s)),
            "at_h": rounded(r.reading.at_s / 3600.0, 4),
            "measured_degC": degC(r.reading.temperature_K),
            "within_K": rounded(r.reading.within_K, 4),
            "before_degC": degC(r.before_K),
            "after_degC": degC(r.after_K),
            "strays": r.strays,
        })).collect::<Vec<_>>(),
        "parameters": c.parameters.iter().map(parameter).collect::<Vec<_>>(),
        "not_told_apart": c.together.iter().map(|pair| json!({
            "parameters": [
                c.parameters[pair.one].input.key(),
                c.parameters[pair.other].input.key(),
            ],
            "correlation": rounded(pair.correlation, 4),
        })).collect::<Vec<_>>(),
        "identified_from": rounded(IDENTIFIED, 4),
    })
}

/// What the model is off where temperatures were measured, K; none where only powers were.
pub(in crate::output) fn of_temperatures(
    c: &Calibration,
    off: fn(&Calibration) -> f64,
) -> Option<Value> {
    (!c.is_of_power_alone()).then(|| rounded(off(c), 4))
}

/// What became of a column of a log.
fn column(c: &Followed) -> Value {
    json!({
        "run": c.session + 1,
        "column": c.header,
        "sensor": c.sensor,
        "rows": c.rows,
        "rms_before_K": rounded(c.rms_before_K(), 4),
        "rms_after_K": rounded(c.rms_after_K(), 4),
        "offset_K": rounded(c.offset_K, 4),
        "offset_std_K": rounded(c.offset_std_K, 4),
        "lag_s": rounded(c.lag_s, 1),
        "lag_identified": c.lag_is_known,
        "drift_K": rounded(c.drift.deviation, 4),
        "drift_lasts_s": rounded(c.drift.lasts_s, 1),
        "white": c.is_white(),
        "white_p": rounded(c.white, 4),
        "strays": c.strays,
    })
}

fn parameter(p: &Parameter) -> Value {
    let range = p.input.range();
    // Offsets of a unit cancel in a difference.
    let difference = |si: f64| number_of(&range, si) - number_of(&range, 0.0);
    json!({
        "name": p.input.key(),
        "run": p.session.map(|session| session + 1),
        "unit": range.unit().symbol,
        "start": significant(number_of(&range, p.start)),
        "value": significant(number_of(&range, p.value)),
        "std": p.std.map(|std| significant(difference(std))),
        "prior_std": significant(difference(p.prior_std)),
        "low": significant(number_of(&range, p.low)),
        "high": significant(number_of(&range, p.high)),
        "doubt_left": rounded(p.left, 4),
        "identified": p.is_identified(),
        "at_bound": p.at_bound,
    })
}

/// Six digits that count: units differ too much for a fixed number of decimals.
fn significant(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return 0.0;
    }
    let step = 10_f64.powf(5.0 - value.abs().log10().floor());
    (value * step).round() / step
}

//! JSON of a season.

use serde_json::{Value, json};

use crate::output::json::{SCHEMA, rounded};
use crate::output::words::iso;
use crate::run::Run;
use crate::study::season::{Season, Start};

/// JSON of a season: the run's own arrangement, then all of them.
#[must_use]
pub fn json(run: &Run, seasons: &[Season]) -> Value {
    let Some(own) = seasons.first() else {
        return json!({ "schema": SCHEMA, "run": run.name });
    };
    let counts = own.counts();
    json!({
        "schema": SCHEMA,
        "run": run.name,
        "starts": own.starts.len(),
        "holds": counts.holds,
        "tight": counts.tight,
        "softens": counts.softens,
        "cannot_run": counts.cannot_run,
        "starts_table": table(own),
        "arrangements": seasons.iter().map(arrangement).collect::<Vec<_>>(),
    })
}

fn table(season: &Season) -> Vec<Value> {
    season.starts.iter().map(start).collect()
}

fn start(start: &Start) -> Value {
    json!({
        "start": iso(start.at),
        "margin_K": rounded(start.margin_K, 4),
        "verdict": start.verdict.name(),
        "peak_degC": rounded(start.peak_K - 273.15, 4),
        "station": start.station.name(),
        "peak_at": iso(start.peak_at),
    })
}

fn arrangement(season: &Season) -> Value {
    let counts = season.counts();
    json!({
        "name": season.name,
        "allowed": season.is_allowed,
        "starts": season.starts.len(),
        "holds": counts.holds,
        "tight": counts.tight,
        "softens": counts.softens,
        "cannot_run": counts.cannot_run,
        "left_out": season.left_out,
        "worst": season.worst().map(start),
        "starts_table": table(season),
    })
}

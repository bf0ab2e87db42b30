//! JSON of a season.

use jiff::civil::DateTime;
use serde_json::{Value, json};

use super::text::{NEXT, Told};
use crate::output::json::{SCHEMA, rounded};
use crate::output::words::iso;
use crate::study::season::{
    Counts, Extraction, Season, Sharing, Start, Stretch, Week, Year, Years,
};

/// JSON of a season: the run's own arrangement first, then all of them.
#[must_use]
pub fn json(seasons: &[Season], told: &Told<'_>) -> Value {
    let own = seasons.first();
    let counts = own.map(Season::counts).unwrap_or_default();
    json!({
        "schema": SCHEMA,
        "run": told.run.name,
        "starts": counts.all(),
        "holds": counts.holds,
        "tight": counts.tight,
        "softens": counts.softens,
        "cannot_run": counts.cannot_run,
        "required_margin_K": own.map(|s| rounded(s.required_K, 4)),
        "starts_table": own.map(|s| s.starts.iter().map(start).collect::<Vec<_>>()),
        "arrangements": seasons.iter().map(|s| arrangement(s, told.from)).collect::<Vec<_>>(),
        "least_flow": told.extraction.map(extraction),
    })
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

fn arrangement(season: &Season, from: Option<DateTime>) -> Value {
    let counts = season.counts();
    let hours = season.hours();
    let safe: Vec<usize> = (0..24)
        .filter(|h| hours[*h].all() > 0 && hours[*h].holds == hours[*h].all())
        .collect();
    let by_hour = hours.iter().enumerate().filter(|(_, c)| c.all() > 0);
    json!({
        "name": season.name,
        "allowed": season.is_allowed,
        "starts": counts.all(),
        "holds": counts.holds,
        "tight": counts.tight,
        "softens": counts.softens,
        "cannot_run": counts.cannot_run,
        "left_out": season.left_out,
        "worst": season.worst().map(start),
        "safe_hours_of_day": safe,
        "hours_of_day": by_hour
            .map(|(hour, c)| json!({ "hour": hour, "starts": c.all(), "holds": c.holds }))
            .collect::<Vec<_>>(),
        "weeks": season.weeks().iter().map(week).collect::<Vec<_>>(),
        "longest_that_holds": season.longest(true).as_ref().map(stretch),
        "longest_that_does_not": season.longest(false).as_ref().map(stretch),
        "next_starts": from.map(|from| {
            let next = season.next(from, NEXT);
            next.iter().map(stretch).collect::<Vec<_>>()
        }),
        "computed": sharing(season.sharing),
        "starts_table": season.starts.iter().map(start).collect::<Vec<_>>(),
    })
}

fn counts(c: &Counts) -> Value {
    json!({
        "starts": c.all(),
        "holds": c.holds,
        "tight": c.tight,
        "softens": c.softens,
        "cannot_run": c.cannot_run,
    })
}

fn week(week: &Week) -> Value {
    let mut value = counts(&week.counts);
    value["monday"] = json!(week.monday.to_string());
    value["mean_margin_K"] = rounded(week.mean_margin_K, 4);
    value
}

fn stretch(stretch: &Stretch) -> Value {
    json!({
        "from": iso(stretch.from),
        "to": iso(stretch.to),
        "starts": stretch.starts,
        "holds": stretch.holds,
        "best": start(&stretch.best),
        "worst": start(&stretch.worst),
    })
}

fn sharing(sharing: Sharing) -> Value {
    match sharing {
        Sharing::Shared {
            every_s,
            memory_s,
            by_themselves,
        } => json!({
            "shared": true,
            "every_h": rounded(every_s / 3600.0, 4),
            "memory_h": rounded(memory_s / 3600.0, 4),
            "by_themselves": by_themselves,
        }),
        Sharing::Alone(reason) => json!({ "shared": false, "because": reason.text() }),
    }
}

fn extraction(found: &Extraction) -> Value {
    let flow = |m3_per_s: f64| rounded(m3_per_s * 3600.0, 3);
    let flows = found.flows.iter().map(|at| {
        let mut value = counts(&at.counts);
        value["flow_m3_per_h"] = flow(at.flow_m3_per_s);
        value["rescued"] = rounded(at.rescued, 4);
        value
    });
    json!({
        "least_flow_m3_per_h": found.least_m3_per_s.map(flow),
        "flows": flows.collect::<Vec<_>>(),
        "days_too_warm_without": found.days,
        "days": found.of_days,
    })
}

/// JSON of many years: counts of all starts, the years, and the share of years in which a start holds.
#[must_use]
pub fn years_json(all: &[Years], told: &Told<'_>) -> Value {
    let total = all.first().map(|y| y.counts).unwrap_or_default();
    let mut value = counts(&total);
    value["schema"] = json!(SCHEMA);
    value["run"] = json!(told.run.name);
    value["arrangements"] = all.iter().map(years).collect();
    value
}

fn years(years: &Years) -> Value {
    let mut value = counts(&years.counts);
    value["name"] = json!(years.name);
    value["left_out"] = json!(years.left_out);
    value["worst"] = json!(years.worst.as_ref().map(start));
    value["years"] = years.years.iter().map(year).collect();
    let shares = years.cells.iter().map(|(place, share)| {
        json!({
            "month": place.month,
            "day": place.day,
            "hour": place.hour,
            "years": share.years,
            "holds": share.holds,
        })
    });
    value["share_of_years"] = shares.collect();
    value
}

fn year(year: &Year) -> Value {
    let mut value = counts(&year.counts);
    value["year"] = json!(year.name);
    value["worst_week"] = json!(year.worst_week.as_ref().map(week));
    value["return_period_years"] = json!(year.return_period_years.map(|t| rounded(t, 4)));
    value
}

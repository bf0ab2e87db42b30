//! Text and JSON of what makes a result doubtful, and of what is worth measuring.

use serde_json::{Value, json};

use super::columns::{Column, Columns};
use super::json::rounded;
use super::screen::Screen;
use crate::quantity::{System, format_count, format_difference, format_duration};
use crate::study::sensitivity::indices::Index;
use crate::study::sensitivity::{Both, Known, READING_K, Reading, Sensitivity};

/// Letters of the longest bar.
const BAR: f64 = 8.0;
/// So many thermometers are named.
const READINGS: usize = 3;

/// The table with its bars, and what it would bring to measure.
#[must_use]
pub fn text(s: &Sensitivity, screen: Screen) -> String {
    let mut out = String::new();
    let o = &mut out;
    let width = |half_width_K: f64| format_difference(half_width_K, screen.system);
    let told = format!(
        "What makes it doubtful, as shares of the variance. Nine runs of ten: filament at the {} ± {}, margin ± {}.",
        s.station.name(),
        width(s.half_width_K.peak),
        width(s.half_width_K.margin)
    );
    screen.paragraph(o, &told);
    o.push('\n');
    o.push_str(&table(s).text(screen.width));
    let how = format!(
        "alone: what would go if it were known; with others: what would stay if all others were; margin: the least at any station. {} runs, seed {}",
        format_count(s.runs),
        s.sampling.seed
    );
    screen.hanging(o, "  ", "  ", &how);
    if s.left_out > 0 {
        let text = format!(
            "{} of {} samples are left out: a run of theirs came to no result",
            format_count(s.left_out),
            format_count(s.sampling.samples as usize)
        );
        screen.hanging(o, "  ", "  ", &text);
    }
    o.push_str("\nWhat it would bring to measure\n");
    for line in advice(s, screen.system) {
        screen.bullet(o, &line);
    }
    out
}

/// What it would bring to measure, each by itself.
fn advice(s: &Sensitivity, system: System) -> Vec<String> {
    let width = |half_width_K: f64| format!("± {}", format_difference(half_width_K, system));
    let both = |w: &Both<f64>| format!("filament {}, margin {}", width(w.peak), width(w.margin));
    let error = format_difference(READING_K, system);
    let after = format_duration(s.read_at_s);
    let readings = s.readings.iter().take(READINGS).map(|r| {
        format!(
            "a thermometer on the {}, read once to {error} after {after} of this run: {}",
            r.thermometer.name(),
            both(&r.half_width_K)
        )
    });
    let known = s.known.iter().map(|k| {
        let how = k.stands_for.first().unwrap_or(&k.key);
        let measured = match k.stands_for.first() {
            Some(key) => format!("{} (by `{key}`)", k.key),
            None => k.key.clone(),
        };
        format!(
            "{measured} known exactly: {}; what it is: `dogdays explain {how}`",
            both(&k.half_width_K)
        )
    });
    readings.chain(known).collect()
}

fn table(s: &Sensitivity) -> Columns {
    let others = s
        .others
        .map(|(count, index)| (format!("{count} others together"), index));
    let rows: Vec<(String, Both<Index>)> = s
        .shares
        .iter()
        .map(|share| (share.key.clone(), share.index))
        .chain(others)
        .collect();
    let cells = |text: &dyn Fn(&Both<Index>) -> String| -> Vec<String> {
        rows.iter().map(|(_, index)| text(index)).collect()
    };
    // What a few hundred samples can't tell from nothing is not written as if they could.
    let share = |value: f64, within: f64| match value.abs() < within {
        true => format!("<{:.2}", (value.abs() + within).max(0.01)),
        false => format!("{value:.2}"),
    };
    let half = |group, ranks: [u8; 2], of: fn(&Both<Index>) -> &Index| {
        let alone = cells(&|i| share(of(i).first, of(i).first_within));
        let total = cells(&|i| share(of(i).total, of(i).total_within));
        [
            Column::numbers(&["alone"], ranks[0], alone).under(group),
            Column::numbers(&["with others"], ranks[1], total).under(group),
        ]
    };
    let most = rows.iter().map(|(_, i)| i.peak.total).fold(0.01, f64::max);
    let bars = cells(&|i| bar(i.peak.total / most));
    let mut columns = Vec::from(half("filament", [2, 0], |i| &i.peak));
    columns.push(Column::words(&[""], 3, bars));
    columns.extend(half("margin", [2, 1], |i| &i.margin));
    Columns {
        head: String::new(),
        names: rows.iter().map(|(name, _)| format!("  {name}")).collect(),
        columns,
    }
}

fn bar(share: f64) -> String {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 8"
    )]
    let letters = (BAR * share.clamp(0.0, 1.0)).round() as usize;
    "█".repeat(letters)
}

/// JSON.
#[must_use]
pub fn json(s: &Sensitivity) -> Value {
    let index = |i: &Index| {
        json!({
            "S1": rounded(i.first, 4),
            "S1_conf": rounded(i.first_within, 4),
            "ST": rounded(i.total, 4),
            "ST_conf": rounded(i.total_within, 4),
        })
    };
    let indices = |i: &Both<Index>| json!({ "peak": index(&i.peak), "margin": index(&i.margin) });
    let named = |key: &str, i: &Both<Index>| {
        let mut object = indices(i);
        object["key"] = json!(key);
        object
    };
    let widths =
        |w: &Both<f64>| json!({ "peak_K": rounded(w.peak, 4), "margin_K": rounded(w.margin, 4) });
    let known = |k: &Known| json!({ "key": k.key, "measure": k.stands_for, "half_width": widths(&k.half_width_K) });
    let reading = |r: &Reading| json!({ "sensor": r.thermometer.name(), "half_width": widths(&r.half_width_K) });
    json!({
        "station": s.station.name(),
        "samples": s.sampling.samples,
        "seed": s.sampling.seed,
        "runs": s.runs,
        "samples_left_out": s.left_out,
        "values_in_doubt": s.doubtful,
        "half_width": widths(&s.half_width_K),
        "inputs": s.shares.iter().map(|share| named(&share.key, &share.index)).collect::<Vec<_>>(),
        "others": s.others.as_ref().map(|(count, i)| {
            let mut object = indices(i);
            object["count"] = json!(count);
            object
        }),
        "known": s.known.iter().map(known).collect::<Vec<_>>(),
        "readings": {
            "at_h": rounded(s.read_at_s / 3600.0, 4),
            "error_K": READING_K,
            "sensors": s.readings.iter().map(reading).collect::<Vec<_>>(),
        },
    })
}

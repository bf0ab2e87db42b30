//! Text and JSON of what makes a result doubtful, and of what is worth measuring.

use serde_json::{Value, json};

use super::columns::{Column, Columns};
use super::json::rounded;
use super::screen::Screen;
use crate::quantity::{System, format_count, format_difference, format_duration};
use crate::study::sensitivity::indices::Index;
use crate::study::sensitivity::{Known, READING_K, Reading, Sensitivity};

/// Letters of the longest bar.
const BAR: f64 = 16.0;

/// The table with its bars, and what it would bring to measure.
#[must_use]
pub fn text(s: &Sensitivity, screen: Screen) -> String {
    let mut out = String::new();
    let o = &mut out;
    let width = format_difference(s.half_width_K, screen.system);
    let told = format!(
        "What makes the margin doubtful by ±{width} (nine runs of ten), as shares of its variance:"
    );
    screen.paragraph(o, &told);
    o.push_str(&table(s).text(screen.width));
    let how = format!(
        "alone: what would go if it were known; with others: what would stay if all others were. {} runs, seed {}",
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
    for line in advice(s, screen.system) {
        screen.bullet(o, &line);
    }
    out
}

/// What it would bring to measure, each by itself.
fn advice(s: &Sensitivity, system: System) -> Vec<String> {
    let width = |half_width_K: f64| format!("±{}", format_difference(half_width_K, system));
    let now = width(s.half_width_K);
    let mut lines = Vec::new();
    if let Some(first) = s.readings.first() {
        let others: Vec<String> = s.readings[1..]
            .iter()
            .take(2)
            .map(|r| format!("on the {} {}", r.sensor.name(), width(r.half_width_K)))
            .collect();
        lines.push(format!(
            "a thermometer on the {}, read once to ±{} after {} of this run, brings {now} to {}; {}",
            first.sensor.name(),
            format_difference(READING_K, system),
            format_duration(s.read_at_s),
            width(first.half_width_K),
            others.join(", ")
        ));
    }
    for known in &s.known {
        let of = match known.stands_for.first() {
            Some(key) => format!("{} (measure `{key}`)", known.key),
            None => known.key.clone(),
        };
        lines.push(format!(
            "{of} known exactly brings {now} to {}; how: `dogdays explain {}`",
            width(known.half_width_K),
            known.stands_for.first().unwrap_or(&known.key)
        ));
    }
    lines
}

fn table(s: &Sensitivity) -> Columns {
    let others = s
        .others
        .map(|(count, index)| (format!("{count} others together"), index));
    let rows: Vec<(String, Index)> = s
        .shares
        .iter()
        .map(|share| (share.key.clone(), share.index))
        .chain(others)
        .collect();
    let cells = |text: &dyn Fn(&Index) -> String| rows.iter().map(|(_, i)| text(i)).collect();
    // What a few hundred samples can't tell from nothing is not written as if they could.
    let share = |value: f64, within: f64| match value.abs() < within {
        true => format!("<{:.2}", (value.abs() + within).max(0.01)),
        false => format!("{value:.2}"),
    };
    let most = rows.iter().map(|(_, i)| i.total).fold(0.01, f64::max);
    Columns {
        head: String::new(),
        names: rows.iter().map(|(name, _)| format!("  {name}")).collect(),
        columns: vec![
            Column::numbers(&["alone"], 1, cells(&|i| share(i.first, i.first_within))),
            Column::numbers(
                &["with others"],
                0,
                cells(&|i| share(i.total, i.total_within)),
            ),
            Column::words(&[""], 2, cells(&|i| bar(i.total / most))),
        ],
    }
}

fn bar(share: f64) -> String {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 16"
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
    let named = |key: &str, i: &Index| {
        let mut object = index(i);
        object["key"] = json!(key);
        object
    };
    let known = |k: &Known| {
        json!({
            "key": k.key,
            "measure": k.stands_for,
            "half_width_K": rounded(k.half_width_K, 4),
        })
    };
    let reading = |r: &Reading| {
        json!({
            "sensor": r.sensor.name(),
            "half_width_K": rounded(r.half_width_K, 4),
        })
    };
    json!({
        "of": "margin_K",
        "samples": s.sampling.samples,
        "seed": s.sampling.seed,
        "runs": s.runs,
        "samples_left_out": s.left_out,
        "values_in_doubt": s.doubtful,
        "half_width_K": rounded(s.half_width_K, 4),
        "inputs": s.shares.iter().map(|share| named(&share.key, &share.index)).collect::<Vec<_>>(),
        "others": s.others.as_ref().map(|(count, i)| {
            let mut object = index(i);
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

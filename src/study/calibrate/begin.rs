//! What the log says of the start: a machine that ran before is warm.

use super::found::{Cold, Start};
use super::sensors::Sensor;
use crate::chamber::Chamber;
use crate::run::{Inputs, Log, LogColumn};

/// Rows this near the start tell of it, s.
const NEAR_S: f64 = 600.0;
/// A row so soon after it shows it still, s.
const SOON_S: f64 = 120.0;
/// What is no further from the room than this begins like the room, K: a chamber that stood overnight.
const LIKE_THE_ROOM_K: f64 = 3.0;
/// What no thermometer shows of a machine that is warm is taken for half-way between room and what one shows, and
/// is doubted as far as either, and no less than this, K.
const LEAST_DOUBT_K: f64 = 3.0;

/// The keys of `[initial]` and the words of the places that show them.
const SHOWN: [(&str, &[&str]); 7] = [
    ("air", &["air"]),
    ("bed", &["bed"]),
    ("motors", &["motor", "motors", "gear", "mount"]),
    ("hotend", &["hotend"]),
    ("cold_end", &["cold"]),
    ("frame", &["frame", "gantry"]),
    (
        "panels",
        &[
            "lid", "wall", "walls", "door", "floor", "left", "right", "front", "back",
        ],
    ),
];

/// The inputs with what the first rows of logs say of the start, what that is, and thermometers that begin colder than
/// their room.
pub fn as_measured(
    inputs: &Inputs,
    logs: &[Log],
    chamber: &Chamber,
    session: usize,
) -> (Inputs, Vec<Start>, Vec<Cold>) {
    let room_K = chamber.run().room.weather.at(0.0).0;
    let columns = || logs.iter().flat_map(|log| &log.columns);
    let mut measured: Vec<(&str, f64, f64)> = Vec::new();
    for (key, words) in SHOWN {
        let its = columns().filter(|column| is_one_of(column, words, chamber));
        let first: Vec<(f64, f64)> = its
            .filter_map(|column| Some((first_K(column)?, column.within_K)))
            // Nothing that is not cooled is colder than its room: such a thermometer is off.
            .filter(|(K, _)| *K > room_K - LIKE_THE_ROOM_K)
            .collect();
        if let Some((_, within_K)) = first.first() {
            #[expect(clippy::cast_precision_loss, reason = "some columns")]
            let count = first.len() as f64;
            let mean_K = first.iter().map(|(K, _)| K).sum::<f64>() / count;
            measured.push((key, mean_K, *within_K));
        }
    }
    let heated = |column: &&LogColumn| {
        let words = ["bed", "hotend"];
        is_one_of(column, &words, chamber)
    };
    let cold = columns()
        .filter(|column| !heated(column))
        .filter_map(|column| {
            let by_K = room_K - first_K(column)?;
            (by_K > LIKE_THE_ROOM_K).then(|| Cold {
                session,
                sensor: column.sensor.clone(),
                by_K,
            })
        });
    let cold: Vec<Cold> = cold.collect();
    let is_warm = |K: f64| (K - room_K).abs() > LIKE_THE_ROOM_K;
    if !measured.iter().any(|(_, K, _)| is_warm(*K)) {
        return (inputs.clone(), Vec::new(), cold);
    }
    // Of heaters nothing follows for the rest.
    let around = |key: &str| !matches!(key, "hotend" | "bed");
    let warmest_K = measured
        .iter()
        .filter(|(key, _, _)| around(key))
        .map(|(_, K, _)| *K)
        .fold(room_K, f64::max);
    let half_K = 0.5 * (warmest_K - room_K);
    let (mut inputs, mut starts) = (inputs.clone(), Vec::new());
    for (key, _) in SHOWN {
        let shown = measured.iter().find(|(known, _, _)| *known == key);
        let (is_K, within_K) = match shown {
            Some((_, K, within_K)) => (*K, *within_K),
            None if around(key) => (room_K + half_K, half_K.max(LEAST_DOUBT_K)),
            None => continue,
        };
        if let Some(changed) = inputs.beginning_at(key, is_K, within_K) {
            inputs = changed;
            starts.push(Start {
                session,
                key: format!("initial.{key}"),
                is_K,
            });
        }
    }
    (inputs, starts, cold)
}

/// Whether a column shows a place whose name has one of these words; one outside the chamber shows nothing of it.
fn is_one_of(column: &LogColumn, words: &[&str], chamber: &Chamber) -> bool {
    let Ok(sensor) = Sensor::find(&column.sensor, chamber) else {
        return false;
    };
    let name = sensor.name.to_lowercase();
    let mut parts = name.split_whitespace();
    let is_outside = name.contains("outside");
    !is_outside && parts.any(|part| words.contains(&part))
}

/// What a column shows at the start, K: the mean of its rows shortly before, or its first one soon after.
fn first_K(column: &LogColumn) -> Option<f64> {
    let before = column
        .rows
        .iter()
        .filter(|row| (-NEAR_S..=1.0).contains(&row.0));
    let (count, sum) = before.fold((0.0, 0.0), |(count, sum), (_, K)| (count + 1.0, sum + K));
    if count > 0.0 {
        return Some(sum / count);
    }
    let mut after = column
        .rows
        .iter()
        .filter(|row| (0.0..=SOON_S).contains(&row.0));
    after.next().map(|(_, K)| *K)
}

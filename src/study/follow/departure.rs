//! Whether the last hours still are what the model says.
//!
//! A fit to a whole day hardly notices that something changed an hour ago. What thermometers near the filament have shown
//! too much of late is carried into what is to come; where it is more than any drift, the run is no longer the one that was
//! described.

use crate::run::Log;
use crate::study::calibrate::{Calibration, Followed};

/// The last part of a log that counts as late, and its limits, s.
const LATE: f64 = 0.125;
const LATE_S: (f64, f64) = (1_800.0, 10_800.0);
/// What a model of lumps is off for hours anyhow, K.
const ANYHOW_K: f64 = 0.5;
/// More than this is another run, K.
const ANOTHER_K: f64 = 1.5;
/// A row that is older than this is none of now, s.
const OLD_S: f64 = 1_800.0;

/// How a thermometer departs from the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Departure {
    /// Where it is.
    pub sensor: String,
    /// What it shows more than the model over the last hours, K.
    pub more_K: f64,
}

/// What thermometers near the filament show more than the model of late.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Recent {
    /// The one that shows most more, and the one that departs most either way.
    warmest: Option<Departure>,
    farthest: Option<Departure>,
}

/// Looks at the last hours.
pub(super) fn recent(calibration: &Calibration) -> Recent {
    let near = calibration.columns.iter().filter(|c| !c.is_heated());
    let all: Vec<Departure> = near
        .filter_map(|column| {
            Some(Departure {
                sensor: column.sensor.clone(),
                more_K: late_K(column)?,
            })
        })
        .collect();
    let most = |of: fn(f64) -> f64| {
        let each = all.iter();
        each.max_by(|a, b| of(a.more_K).total_cmp(&of(b.more_K)))
            .cloned()
    };
    Recent {
        warmest: most(|K| K),
        farthest: most(f64::abs),
    }
}

impl Recent {
    /// By how much what is to come is raised, K.
    pub fn raise_K(&self) -> f64 {
        let more_K = self.warmest.as_ref().map_or(0.0, |w| w.more_K);
        (more_K - ANYHOW_K).max(0.0)
    }

    /// The departure that has to be told, of a log that no values fit any.
    pub fn departure(&self, is_foreign: bool) -> Option<Departure> {
        let is_warm = |d: &&Departure| d.more_K > ANOTHER_K;
        let is_far = |d: &&Departure| d.more_K.abs() > ANOTHER_K || is_foreign;
        let warmest = self.warmest.as_ref().filter(is_warm);
        warmest
            .or_else(|| self.farthest.as_ref().filter(is_far))
            .cloned()
    }
}

/// The mean of what a column shows more than the model over its last part, K.
fn late_K(column: &Followed) -> Option<f64> {
    let (first_s, last_s) = (*column.times_s.first()?, *column.times_s.last()?);
    let late_s = (LATE * (last_s - first_s)).clamp(LATE_S.0, LATE_S.1);
    let each = column
        .times_s
        .iter()
        .zip(&column.measured_K)
        .zip(&column.after_K);
    let late = each.filter(|((t_s, _), _)| **t_s >= last_s - late_s);
    let (count, sum) = late.fold((0.0, 0.0), |(count, sum), ((_, is_K), after_K)| {
        (count + 1.0, sum + is_K - after_K)
    });
    (count > 0.0).then(|| sum / count)
}

/// A place whose thermometer has shown nothing of use while others went on: it froze, came off, or jumped to what is
/// taken for an error, and might have been true.
pub(super) fn silent(logs: &[Log]) -> Option<String> {
    let newest_s = Log::newest_s(logs)?;
    let columns = logs.iter().flat_map(|log| &log.columns);
    let is_silent = |rows: &[(f64, f64)]| rows.last().is_some_and(|row| newest_s - row.0 > OLD_S);
    columns
        .filter(|column| is_silent(&column.rows))
        .map(|column| column.sensor.clone())
        .next()
}

/// What the thermometer at a place shows now by the logs, K; the warmest where there are several.
pub(super) fn last_K(logs: &[Log], place: &str, now_s: f64) -> Option<f64> {
    let columns = logs.iter().flat_map(|log| &log.columns);
    let its = columns.filter(|column| column.sensor == place);
    let last = its.filter_map(|column| column.rows.last());
    let of_now = last.filter(|(t_s, _)| now_s - t_s <= OLD_S);
    of_now.map(|(_, K)| *K).max_by(f64::total_cmp)
}

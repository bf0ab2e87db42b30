//! Whether a log would fit better at another time: a logger whose clock nobody set.

use super::found::rms;
use super::model::{Chambers, Session};
use super::observed::Observed;
use crate::run::{Inputs, Switched};
use crate::study::StudyError;
use nalgebra::DMatrix;

/// Hours by which clocks are wrong: summer time, zones, noon for midnight, some days.
const HOURS: [i32; 17] = [
    0, -1, 1, -2, 2, -3, 3, -6, 6, -12, 12, -24, 24, -48, 48, -72, 72,
];
/// A log that is off by less than this as it stands is where it should be, K.
const FITS_K: f64 = 0.5;
/// It fits better elsewhere where this share of that is left.
const BETTER: f64 = 0.6;
/// With fewer rows nothing is suspected.
const ENOUGH: usize = 30;

/// What logs of one run hold.
#[derive(Debug, Clone, Copy)]
pub struct Logged<'a> {
    /// The room's column: s from the start of the run, and K.
    pub room: &'a [(f64, f64)],
    /// What was done.
    pub switched: &'a [Switched],
    /// What thermometers showed.
    pub observed: &'a [Observed],
}

/// By how many hours logs, the room's column and what was done with them, should be moved to be what the run as described would show,
/// thermometers' own offsets aside; none where they stand well.
///
/// # Errors
/// When the run can't be computed.
pub fn suspected(
    described: &Inputs,
    Logged {
        room,
        switched,
        observed,
    }: Logged<'_>,
    duration_s: f64,
) -> Result<Option<i32>, StudyError> {
    let logs: Vec<&Observed> = observed.iter().filter(|o| o.is_log()).collect();
    let rows = |moved: &[Observed]| moved.iter().map(|o| o.times_s.len()).sum::<usize>();
    let each = HOURS.map(|hours| {
        let by_s = 3_600.0 * f64::from(hours);
        let moved = logs.iter().filter_map(|o| o.moved(by_s, duration_s));
        let room: Vec<(f64, f64)> = room.iter().map(|(t_s, K)| (t_s + by_s, *K)).collect();
        let switched: Vec<Switched> = switched.iter().map(|s| s.later(by_s)).collect();
        let session = Session {
            inputs: described.in_measured_room(&room).as_switched(&switched),
            observed: moved.collect(),
        };
        (hours, session)
    });
    let all = rows(&each[0].1.observed);
    if all < ENOUGH {
        return Ok(None);
    }
    let (hours, moved): (Vec<i32>, Vec<Session>) = each.into_iter().unzip();
    let model = Chambers {
        sessions: &moved,
        parameters: &[],
        along: DMatrix::zeros(0, 0),
    };
    let shown = model.shown_at(&[])?;
    let mut begin = 0;
    let mut found: Vec<(i32, f64)> = Vec::new();
    for (hours, moved) in hours.iter().zip(&moved) {
        let mut left = Vec::new();
        for o in &moved.observed {
            let off: Vec<f64> = o
                .values_K
                .iter()
                .enumerate()
                .map(|(k, is_K)| shown[begin + k] - is_K)
                .collect();
            begin += off.len();
            #[expect(clippy::cast_precision_loss, reason = "some rows")]
            let mean = off.iter().sum::<f64>() / off.len() as f64;
            left.extend(off.into_iter().map(|off| off - mean));
        }
        if 2 * left.len() >= all {
            found.push((*hours, rms(left.into_iter())));
        }
    }
    let Some((0, as_it_is_K)) = found.first().copied() else {
        return Ok(None);
    };
    let best = found.into_iter().min_by(|a, b| a.1.total_cmp(&b.1));
    let is_better = |(_, left_K): &(i32, f64)| *left_K < BETTER * as_it_is_K;
    Ok(best
        .filter(|_| as_it_is_K > FITS_K)
        .filter(is_better)
        .map(|(hours, _)| hours))
}

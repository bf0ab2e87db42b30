//! Thermometers that were mixed up, or that contradict each other.

use super::found::{Apart, Followed, Mixed, rms};
use super::model::{Chambers, Session};
use super::observed::Observed;
use crate::run::Inputs;
use crate::study::StudyError;
use nalgebra::DMatrix;

/// Two columns that are off by less than this as they are called, K, are called right: the run as described may be so far off.
const FITS_K: f64 = 2.0;
/// They were mixed up where so much of that is left the other way round.
const BETTER: f64 = 0.4;
/// Two thermometers at one place contradict each other where they differ by more than this times what both together may be
/// off: one in some three hundred pairs.
const APART: f64 = 1.5;

/// Columns that were mixed up, by the run as described. No column is in two pairs.
///
/// # Errors
/// When the run can't be computed.
pub fn mixed_up(
    described: &Inputs,
    observed: &[Observed],
    session: usize,
) -> Result<Vec<Mixed>, StudyError> {
    let logs: Vec<&Observed> = observed.iter().filter(|o| o.is_log()).collect();
    let count = logs.len();
    if count < 2 {
        return Ok(Vec::new());
    }
    // Each column as each place.
    let each = logs
        .iter()
        .flat_map(|column| logs.iter().map(|other| column.at_place_of(other)));
    let sessions = [Session {
        inputs: described.clone(),
        observed: each.collect(),
    }];
    let model = Chambers {
        sessions: &sessions,
        parameters: &[],
        along: DMatrix::zeros(0, 0),
    };
    let shown = model.shown_at(&[])?;
    let mut begin = 0;
    let off_K: Vec<f64> = sessions[0]
        .observed
        .iter()
        .map(|o| {
            let rows = shown.as_slice()[begin..].iter().zip(&o.values_K);
            begin += o.values_K.len();
            rms(rows.map(|(shown_K, is_K)| shown_K - is_K))
        })
        .collect();
    let off_K = |column: usize, place: usize| off_K[column * count + place];
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for one in 0..count {
        for other in one + 1..count {
            let as_called_K = off_K(one, one).hypot(off_K(other, other));
            let swapped_K = off_K(one, other).hypot(off_K(other, one));
            if as_called_K > FITS_K && swapped_K < BETTER * as_called_K {
                pairs.push((swapped_K / as_called_K, one, other));
            }
        }
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut taken = vec![false; count];
    let name = |k: usize| (logs[k].header().to_owned(), logs[k].sensor.name.clone());
    let mut found = Vec::new();
    for (_, one, other) in pairs {
        if taken[one] || taken[other] {
            continue;
        }
        (taken[one], taken[other]) = (true, true);
        let ((a, at_a), (b, at_b)) = (name(one), name(other));
        found.push(Mixed {
            session,
            headers: [a, b],
            sensors: [at_a, at_b],
        });
    }
    Ok(found)
}

/// Thermometers at one place that contradict each other over the time that both were logged. What the model says in between
/// takes out that their rows are not at the same moments.
#[must_use]
pub fn apart(columns: &[Followed]) -> Vec<Apart> {
    let mut found = Vec::new();
    for (k, one) in columns.iter().enumerate() {
        for other in &columns[k + 1..] {
            if one.session != other.session || one.sensor != other.sensor {
                continue;
            }
            let Some(by_K) = shows_more_K(one, other) else {
                continue;
            };
            if by_K.abs() > APART * one.within_K.hypot(other.within_K) {
                found.push(Apart {
                    session: one.session,
                    sensor: one.sensor.clone(),
                    headers: [one.header.clone(), other.header.clone()],
                    by_K,
                });
            }
        }
    }
    found
}

/// How much more one shows than another while both were logged, K, on average.
fn shows_more_K(one: &Followed, other: &Followed) -> Option<f64> {
    let from_s = one.times_s.first()?.max(*other.times_s.first()?);
    let until_s = one.times_s.last()?.min(*other.times_s.last()?);
    let mean_K = |column: &Followed| {
        let each = column.times_s.iter().zip(&column.measured_K);
        let each = each.zip(&column.before_K);
        let within = each.filter(|((t_s, _), _)| (from_s..=until_s).contains(*t_s));
        let (count, sum) = within.fold((0.0, 0.0), |(count, sum), ((_, is_K), model_K)| {
            (count + 1.0, sum + is_K - model_K)
        });
        (count > 0.0).then(|| sum / count)
    };
    Some(mean_K(one)? - mean_K(other)?)
}

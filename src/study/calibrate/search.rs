//! The search for the values that fit what was measured, and what it comes to.

use super::believed::Believed;
use super::drift::{Drift, Whitened, Whitening};
use super::fit::{self, Fit, Measured, Model, Others};
use super::found::{Calibration, Compared, Followed, Heated, HeldOut, Parameter, Posterior, rms};
use super::identify::{self, IDENTIFIED, not_told_apart};
use super::model::{Chambers, Placed, Session, correlations};
use super::observed::{Observed, lag_s};
use super::profile::{self, Ends};
use super::settle::Measurements;
use super::{CalibrateError, Watched, white};
use crate::keys::distribution::ONE_IN_FORTY;
use crate::study::thermometer_error::{OFFSET, REST};
use nalgebra::{DMatrix, DVector};
use std::ops::Range;

/// So many parameters are fitted at most where nobody says which: the others are taken along by their first slopes.
const MOST: usize = 12;
/// A value is worth fitting that moves what is read by so many standard deviations of the readings, over one of its
/// own.
const NOTICEABLE: f64 = 0.1;
/// This share of a log, its end, is held out.
const HELD_OUT: f64 = 1.0 / 3.0;
/// So many rows are needed for that.
const ENOUGH: usize = 60;
/// What a column of the bed's power is off by more than so many of its standard deviations nobody expects.
const FAR_OFF: f64 = 3.0;
/// Over so many rows it is looked whether what is left hangs together.
const STEPS: usize = 10;

/// Where each thermometer's rows are among all.
struct Rows<'a> {
    each: Vec<(usize, &'a Observed, Range<usize>)>,
}

impl<'a> Rows<'a> {
    fn of(sessions: &'a [Session]) -> Self {
        let mut begin = 0;
        let mut each = Vec::new();
        for (session, s) in sessions.iter().enumerate() {
            for o in &s.observed {
                let rows = begin..begin + o.times_s.len();
                begin = rows.end;
                each.push((session, o, rows));
            }
        }
        Self { each }
    }

    fn count(&self) -> usize {
        self.each.last().map_or(0, |(_, _, rows)| rows.end)
    }

    fn logs(&self) -> impl Iterator<Item = &(usize, &'a Observed, Range<usize>)> {
        self.each.iter().filter(|(_, o, _)| o.is_log())
    }

    fn readings(&self) -> impl Iterator<Item = &(usize, &'a Observed, Range<usize>)> {
        self.each.iter().filter(|(_, o, _)| o.is_reading())
    }

    /// What the bed's heater took.
    fn powers(&self) -> impl Iterator<Item = &(usize, &'a Observed, Range<usize>)> {
        self.each.iter().filter(|(_, o, _)| o.power.is_some())
    }

    fn measurements(&self) -> Measurements {
        let values = self.each.iter().flat_map(|(_, o, _)| &o.values_K);
        Measurements {
            values: DVector::from_iterator(self.count(), values.copied()),
            single: self
                .readings()
                .map(|reading| {
                    let (_, o, rows) = reading;
                    let own = if self.is_alone(reading) { 1.0 } else { REST };
                    (rows.start, own * o.within_K / ONE_IN_FORTY)
                })
                .collect(),
            logs: self
                .logs()
                .chain(self.powers())
                .map(|(_, o, rows)| (rows.clone(), o.times_s.clone()))
                .collect(),
        }
    }

    /// Whether no other reading was taken at the same place in the same run, by the same thermometer then.
    fn is_alone(&self, (session, o, rows): &(usize, &Observed, Range<usize>)) -> bool {
        let is_like = |(other, its, its_rows): &&(usize, &Observed, Range<usize>)| {
            other == session && its.sensor.name == o.sensor.name && its_rows != rows
        };
        !self.readings().any(|other| is_like(&other))
    }

    /// What all readings of a thermometer are off together: a column for each that was read more than once, of one standard
    /// deviation.
    fn read_again(&self) -> Vec<DVector<f64>> {
        let mut columns: Vec<((usize, &str), DVector<f64>)> = Vec::new();
        for reading in self.readings().filter(|reading| !self.is_alone(reading)) {
            let (session, o, rows) = reading;
            let whose = (*session, o.sensor.name.as_str());
            let at = columns.iter().position(|(known, _)| *known == whose);
            let at = at.unwrap_or_else(|| {
                columns.push((whose, DVector::zeros(self.count())));
                columns.len() - 1
            });
            columns[at].1[rows.start] = OFFSET * o.within_K / ONE_IN_FORTY;
        }
        columns.into_iter().map(|(_, column)| column).collect()
    }

    /// What the thermometers of logs are off, then what the bed's powers are, and then what readings are: a column for
    /// each, of one standard deviation. `before` is what all of them show by what is believed.
    fn offsets(&self, before: &DVector<f64>) -> Vec<DVector<f64>> {
        self.logs()
            .chain(self.powers())
            .map(|(_, o, rows)| {
                let mut column = DVector::zeros(self.count());
                let its = &mut column.rows_mut(rows.start, rows.len());
                match &o.power {
                    Some(power) => {
                        let off: Vec<f64> = power.off(&before.as_slice()[rows.clone()]).collect();
                        its.copy_from_slice(&off);
                    }
                    None => its.fill(o.within_K / ONE_IN_FORTY),
                }
                column
            })
            .chain(self.read_again())
            .collect()
    }

    /// The rows that are held out: the end of each log that has enough of them, and of what the bed took.
    fn held_out(&self) -> (Vec<usize>, Vec<usize>) {
        let end = |(_, o, rows): &(usize, &Observed, Range<usize>)| {
            let (first, last) = (o.times_s[0], o.times_s[o.times_s.len() - 1]);
            let from_s = last - HELD_OUT * (last - first);
            let begin = o.times_s.partition_point(|t| *t < from_s);
            rows.start + begin..rows.end
        };
        let long = self.logs().filter(|(_, o, _)| o.times_s.len() >= ENOUGH);
        (
            long.flat_map(end).collect(),
            self.powers().flat_map(end).collect(),
        )
    }
}

/// Values that are not fitted, and the slopes of each.
type Along = (Vec<Placed>, Vec<DVector<f64>>);

/// Fits the chosen values, or those that matter most where none are.
pub(super) fn search(
    runs: &[Watched<'_>],
    sessions: &[Session],
    all: Vec<Placed>,
    chosen: &[usize],
) -> Result<Calibration, CalibrateError> {
    let rows = Rows::of(sessions);
    let has_logs = rows.logs().chain(rows.powers()).next().is_some();
    let measurements = rows.measurements();
    let unknown = measurements.with(&measurements.unknown());
    let (own, others) = sorted(sessions, all, chosen, &unknown)?;
    // Whoever says which values to fit to some readings says that the others are right, and wants the readings met; how
    // sure that is depends on the others all the same. A log says so much that the others must be allowed to move:
    // the chosen ones would make up for them.
    let ((taken, along), (left, beside)) = if chosen.is_empty() || has_logs {
        (others, Default::default())
    } else {
        (Default::default(), others)
    };
    let mut model = Chambers {
        sessions,
        parameters: &own,
        along: DMatrix::zeros(rows.count(), 0),
    };
    let before = model.shown_at(&vec![0.0; own.len()])?;
    let offsets = rows.offsets(&before);
    let columns: Vec<DVector<f64>> = along.into_iter().chain(offsets).collect();
    model.along = matrix(&columns, rows.count());
    let parts = Parts {
        own: own.len(),
        lags: model.lags(),
        taken: taken.len(),
    };
    let count = parts.own + parts.lags + columns.len();
    let mut together = DMatrix::identity(count, count);
    parts.place(&mut together, &[&own[..], &taken].concat());
    let believed =
        Believed::together(DVector::zeros(count), &together).ok_or(CalibrateError::Singular)?;
    let (fitted, drifts) = measurements.settled(&model, &believed)?;
    let held_out = held_out(&model, &rows, &measurements, &believed, &fitted, &drifts)?;
    let (whitening, measured) = measurements.with(&drifts);
    let whitened = Whitened {
        model: &model,
        whitening: &whitening,
    };
    let ends = profile::ends(&whitened, &fitted, &measured, &believed, own.len());
    let mut with_fitted = DMatrix::zeros(count, left.len());
    with_fitted
        .rows_mut(0, own.len())
        .copy_from(&correlations(&own, &left));
    let others = Others {
        slopes: whitening.of_each(&matrix(&beside, rows.count())),
        covariance: correlations(&left, &left),
        with_fitted,
    };
    let all = fit::with_others(&fitted, &measured, &believed, &others);
    let covariance = all.view((0, 0), (own.len(), own.len())).into_owned();
    let after = model.predicted(&fitted.parameters)?;
    let parameters = own.iter().enumerate().map(|(k, placed)| {
        let left = covariance[(k, k)].sqrt();
        parameter(placed, fitted.parameters[k], left, ends[k])
    });
    let is_beaten = ends.iter().any(|ends| ends.is_beaten);
    Ok(Calibration {
        readings: readings(runs, &rows, &before, &after, &fitted),
        powers: heated(&rows, [&before, &after], &fitted, parts),
        columns: followed(&rows, [&before, &after], &fitted, &drifts, &measured, parts),
        held_out,
        parameters: parameters.collect(),
        correlations: identify::correlations(&covariance),
        together: not_told_apart(&covariance),
        others: taken.len() + left.len(),
        known: posterior(own.clone(), taken, &fitted, &all, parts),
        inputs: sessions.iter().map(|s| s.inputs.clone()).collect(),
        starts: Vec::new(),
        cold: Vec::new(),
        moved_h: Vec::new(),
        mixed: Vec::new(),
        evaluations: fitted.evaluations,
        is_settled: fitted.is_settled && !is_beaten,
    })
}

fn matrix(columns: &[DVector<f64>], rows: usize) -> DMatrix<f64> {
    if columns.is_empty() {
        DMatrix::zeros(rows, 0)
    } else {
        DMatrix::from_columns(columns)
    }
}

/// How many parameters of each kind there are, in their order; what thermometers are off follows.
#[derive(Debug, Clone, Copy)]
struct Parts {
    own: usize,
    lags: usize,
    taken: usize,
}

impl Parts {
    /// Where the values that are fitted and those that are taken along have their places among all parameters.
    fn values(self) -> impl Iterator<Item = usize> + Clone {
        let begin = self.own + self.lags;
        (0..self.own).chain(begin..begin + self.taken)
    }

    /// Puts what is believed of these values together, fitted ones first, where their places are.
    fn place(self, covariance: &mut DMatrix<f64>, values: &[Placed]) {
        let together = correlations(values, values);
        for (i, row) in self.values().enumerate() {
            for (j, column) in self.values().enumerate() {
                covariance[(row, column)] = together[(i, j)];
            }
        }
    }
}

/// What the model is off where it was not shown the rows.
fn held_out(
    model: &Chambers<'_>,
    rows: &Rows<'_>,
    measurements: &Measurements,
    believed: &Believed,
    fitted: &Fit,
    drifts: &[Drift],
) -> Result<Option<HeldOut>, CalibrateError> {
    let (held_out, powers) = rows.held_out();
    if held_out.is_empty() {
        return Ok(None);
    }
    let hidden = [&held_out[..], &powers].concat();
    let found = measurements.fit(model, believed, drifts, &hidden, Some(fitted))?;
    let off = measurements.off(model, &found)?;
    let before = model.shown_at(&vec![0.0; model.parameters.len()])? - &measurements.values;
    Ok(Some(HeldOut {
        rows: held_out.len(),
        before_K: rms(held_out.iter().map(|row| before[*row])),
        after_K: rms(held_out.iter().map(|row| off[*row])),
    }))
}

fn readings(
    runs: &[Watched<'_>],
    rows: &Rows<'_>,
    before: &DVector<f64>,
    after: &DVector<f64>,
    fitted: &Fit,
) -> Vec<Compared> {
    let read = runs.iter().flat_map(|watched| watched.readings);
    rows.readings()
        .zip(read)
        .map(|((session, o, rows), reading)| Compared {
            session: *session,
            reading: reading.clone(),
            sensor: o.sensor.name.clone(),
            before_K: before[rows.start],
            after_K: after[rows.start],
            strays: fitted.weights[rows.start] < fit::STRAYS,
        })
        .collect()
}

/// What became of what the bed's heater took.
fn heated(
    rows: &Rows<'_>,
    [before, after]: [&DVector<f64>; 2],
    fitted: &Fit,
    parts: Parts,
) -> Vec<Heated> {
    let begin = parts.own + parts.lags + parts.taken + rows.logs().count();
    let each = rows
        .powers()
        .enumerate()
        .filter_map(|(k, (session, o, rows))| {
            let power = o.power.as_ref()?;
            let off = fitted.parameters[begin + k];
            #[expect(clippy::cast_precision_loss, reason = "some hundreds")]
            let one =
                power.off(&before.as_slice()[rows.clone()]).sum::<f64>() / rows.len().max(1) as f64;
            let W = |counted: &[f64]| counted.iter().map(|c| c * power.unit_W).collect();
            Some(Heated {
                session: *session,
                header: power.header.clone(),
                times_s: o.times_s.clone(),
                measured_W: W(&o.values_K),
                before_W: W(&before.as_slice()[rows.clone()]),
                after_W: W(&after.as_slice()[rows.clone()]),
                offset_W: off * one * power.unit_W,
                is_far_off: off.abs() > FAR_OFF,
                strays: rows
                    .clone()
                    .filter(|row| fitted.weights[*row] < fit::STRAYS)
                    .count(),
            })
        });
    each.collect()
}

/// What became of each column of the logs.
fn followed(
    rows: &Rows<'_>,
    [before, after]: [&DVector<f64>; 2],
    fitted: &Fit,
    drifts: &[Drift],
    measured: &Measured,
    parts: Parts,
) -> Vec<Followed> {
    let part = |all: &DVector<f64>, rows: &Range<usize>| all.as_slice()[rows.clone()].to_vec();
    let new = (&fitted.predicted - &measured.values).component_div(&measured.deviations);
    rows.logs()
        .zip(drifts)
        .enumerate()
        .map(|(k, ((session, o, rows), drift))| {
            let (header, count) = o.column.clone().unwrap_or_default();
            let lag = parts.own + k;
            let offset = parts.own + parts.lags + parts.taken + k;
            let std_of = |k: usize| fitted.covariance[(k, k)].sqrt();
            let one_K = o.within_K / ONE_IN_FORTY;
            Followed {
                session: *session,
                header,
                sensor: o.sensor.name.clone(),
                rows: count,
                within_K: o.within_K,
                times_s: o.times_s.clone(),
                measured_K: o.values_K.clone(),
                before_K: part(before, rows),
                after_K: part(after, rows),
                offset_K: one_K * fitted.parameters[offset],
                offset_std_K: one_K * std_of(offset),
                lag_s: lag_s(fitted.parameters[lag]),
                lag_is_known: std_of(lag) < IDENTIFIED,
                drift: *drift,
                white: white::chance(&part(&new, rows), STEPS),
                strays: rows
                    .clone()
                    .filter(|row| fitted.weights[*row] < fit::STRAYS)
                    .count(),
            }
        })
        .collect()
}

/// What is known of what was fitted and what was taken along, but for the thermometers' own errors.
fn posterior(
    own: Vec<Placed>,
    taken: Vec<Placed>,
    fitted: &Fit,
    covariance: &DMatrix<f64>,
    parts: Parts,
) -> Posterior {
    let at: Vec<usize> = parts.values().collect();
    Posterior {
        mean: DVector::from_iterator(at.len(), at.iter().map(|k| fitted.parameters[*k])),
        covariance: DMatrix::from_fn(at.len(), at.len(), |i, j| covariance[(at[i], at[j])]),
        values: own.into_iter().chain(taken).collect(),
    }
}

/// The values to fit, those that move what is read most first, and the others that move it at all, or that are known together
/// with others of which it may tell.
fn sorted(
    sessions: &[Session],
    all: Vec<Placed>,
    chosen: &[usize],
    (whitening, measured): &(Whitening, Measured),
) -> Result<(Vec<Placed>, Along), CalibrateError> {
    let model = Chambers {
        sessions,
        parameters: &all,
        along: DMatrix::zeros(measured.values.len(), 0),
    };
    let mut each: Vec<(usize, f64, DVector<f64>)> = model
        .first_slopes()
        .into_iter()
        .enumerate()
        .filter_map(|(k, slopes)| {
            let slopes = slopes?;
            let new = whitening.of(&slopes);
            let effect = new.component_div(&measured.deviations).norm();
            effect.is_finite().then_some((k, effect, slopes))
        })
        .collect();
    each.sort_by(|a, b| b.1.total_cmp(&a.1));
    let is_noticed = |effect: f64| effect >= NOTICEABLE;
    let (own, others): (Vec<_>, Vec<_>) = if chosen.is_empty() {
        let most = MOST.min(each.iter().filter(|(_, e, _)| is_noticed(*e)).count());
        let others = each.split_off(most);
        (each, others)
    } else {
        let is_chosen = |(k, effect, _): &(usize, f64, _)| *effect > 0.0 && chosen.contains(k);
        each.into_iter().partition(is_chosen)
    };
    if own.is_empty() {
        return Err(CalibrateError::NothingMoves);
    }
    let others = others
        .into_iter()
        .filter(|(k, effect, _)| is_noticed(*effect) || !all[*k].doubtful.shares.is_empty())
        .map(|(k, _, slopes)| (all[k].clone(), slopes));
    let own = own.iter().map(|(k, _, _)| all[*k].clone());
    Ok((own.collect(), others.unzip()))
}

fn parameter(placed: &Placed, deviations: f64, left: f64, ends: Ends) -> Parameter {
    let d = &placed.doubtful;
    let at = |z: f64| d.distribution.at(z);
    let (value, range) = (at(deviations), d.input.range());
    let at_bound = [range.hard.0, range.hard.1]
        .iter()
        .any(|limit| (range.si(*limit) - value).abs() <= 1e-9 * value.abs());
    let half = |from: f64, to: f64| 0.5 * (at(to) - at(from));
    Parameter {
        input: d.input.clone(),
        session: placed.session,
        start: d.distribution.median,
        value,
        prior_std: half(-1.0, 1.0),
        std: (!at_bound).then(|| half(deviations - left, deviations + left)),
        low: at(deviations - ends.below * left),
        high: at(deviations + ends.above * left),
        left,
        at_bound,
    }
}

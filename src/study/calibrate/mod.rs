//! Fits the machine to what a shop's thermometers showed.
//!
//! Every value in doubt ([`Inputs::doubtful`]) is believed to lie where it stands, as surely as its key says. Readings
//! of the very run move those that matter to them, the more the less sure they were, and leave the others alone: least
//! squares with what was believed before ([`fit`]). What comes out is where each value is now, how sure that is, and
//! what the readings can't tell apart ([`identify`]).

pub mod fit;
pub mod identify;
mod model;
pub mod sensors;

use super::StudyError;
use crate::chamber::Chamber as Network;
use crate::chamber::simulation::SimulationError;
use crate::keys::distribution::ONE_IN_FORTY;
use crate::run::{Doubtful, Input, InputError, Inputs, Known, Reading};
use fit::{Believed, FitError, Measured};
use identify::{IDENTIFIED, Pair, not_told_apart};
use model::{Chamber, Watched};
use nalgebra::{DMatrix, DVector};
use sensors::{Sensor, UnknownSensor};

/// So many parameters are fitted at most where nobody says which: the others are taken along by their first slopes.
const MOST: usize = 12;
/// A value is worth fitting that moves what is read by so many standard deviations of the readings, over one of its
/// own.
const NOTICEABLE: f64 = 0.1;
/// Squares and values are looked for to a hundred-thousandth: a thousandth of what is left of any doubt.
const TOLERANCE: f64 = 1e-5;

/// What was fitted.
#[derive(Debug, Clone)]
pub struct Calibration {
    /// Each reading with what the model said before and says now, in their order.
    pub readings: Vec<Compared>,
    /// The parameters, those that moved what was read most first.
    pub parameters: Vec<Parameter>,
    /// Correlations of their estimates.
    pub correlations: DMatrix<f64>,
    /// Pairs of parameters that the readings don't tell apart.
    pub together: Vec<Pair>,
    /// How many other values in doubt move what was read, and were taken along.
    pub others: usize,
    /// How many runs were asked for by the search, slopes aside.
    pub evaluations: usize,
    /// Whether the search came to rest.
    pub is_settled: bool,
}

/// A reading and the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// What was read.
    pub reading: Reading,
    /// The name of its place.
    pub sensor: String,
    /// What the model said there and then before, K.
    pub before_K: f64,
    /// What it says with the values found, K.
    pub after_K: f64,
    /// Whether it lies so far from what the others say that it counted for less.
    pub strays: bool,
}

/// A value that was fitted.
#[derive(Debug, Clone)]
pub struct Parameter {
    /// Which.
    pub input: Input,
    /// What it was, in SI.
    pub start: f64,
    /// What it is now, in SI.
    pub value: f64,
    /// Its standard deviation before, in SI.
    pub prior_std: f64,
    /// Its standard deviation now, in SI; none where it lies at a limit of its key.
    pub std: Option<f64>,
    /// One in forty lies below this now, in SI,
    pub low: f64,
    /// and above this.
    pub high: f64,
    /// What is left of its standard deviation: 1 where the readings say nothing about it.
    pub left: f64,
    /// Whether it lies at a limit of its key.
    pub at_bound: bool,
}

impl Parameter {
    /// Whether the readings say where it is.
    #[must_use]
    pub fn is_identified(&self) -> bool {
        self.left < IDENTIFIED && !self.at_bound
    }

    /// Whether it belongs to the machine, and not to this one run of it.
    #[must_use]
    pub fn is_the_machines(&self) -> bool {
        let key = self.input.key();
        ["machine.", "coefficients."]
            .iter()
            .any(|table| key.starts_with(table))
    }
}

/// Why nothing was fitted.
#[derive(Debug, Clone, thiserror::Error)]
pub enum CalibrateError {
    /// There are no readings.
    #[error("there is nothing to fit to: give a reading")]
    Nothing,
    /// A reading's place is not known.
    #[error(transparent)]
    Sensor(#[from] UnknownSensor),
    /// A parameter is not known.
    #[error(transparent)]
    Parameter(#[from] InputError),
    /// A parameter is not in doubt.
    #[error(
        "`{0}` is not in doubt in this run: it is what it is said to be, or its doubt is counted in another value"
    )]
    NotInDoubt(String),
    /// No value in doubt moves what was read.
    #[error(
        "no value in doubt moves what was read, so that nothing can be learned from it: were the readings taken before anything was warm?"
    )]
    NothingMoves,
    /// The run itself.
    #[error(transparent)]
    Study(#[from] StudyError),
    /// The values can't be told apart at all.
    #[error("what was read does not say where these values are")]
    Singular,
}

impl From<SimulationError> for CalibrateError {
    fn from(e: SimulationError) -> Self {
        Self::Study(e.into())
    }
}

impl From<FitError<StudyError>> for CalibrateError {
    fn from(e: FitError<StudyError>) -> Self {
        match e {
            FitError::Model(e) => Self::Study(e),
            FitError::Singular => Self::Singular,
        }
    }
}

impl Calibration {
    /// What a file of the machine says: the machine's own values, and not those of this one run.
    #[must_use]
    pub fn known(&self) -> Vec<Known> {
        let each = self.parameters.iter().enumerate();
        let own: Vec<_> = each.filter(|(_, p)| p.is_the_machines()).collect();
        let together = |k: usize| {
            let others = own.iter().map(|(other, _)| self.correlations[(k, *other)]);
            others.collect()
        };
        let known = own.iter().map(|(k, p)| Known {
            input: p.input.clone(),
            si: p.value,
            // The file has one width for both sides: the wider one.
            within: (p.high - p.value).max(p.value - p.low),
            together: together(*k),
        });
        known.collect()
    }

    /// The root of the mean square by which the model was off before, K.
    #[must_use]
    pub fn rms_before_K(&self) -> f64 {
        rms(self
            .readings
            .iter()
            .map(|r| r.before_K - r.reading.temperature_K))
    }

    /// The same with the values found.
    #[must_use]
    pub fn rms_after_K(&self) -> f64 {
        rms(self
            .readings
            .iter()
            .map(|r| r.after_K - r.reading.temperature_K))
    }
}

fn rms(off: impl ExactSizeIterator<Item = f64>) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a count of readings")]
    let count = off.len() as f64;
    (off.map(|off| off * off).sum::<f64>() / count).sqrt()
}

/// Fits the values in doubt to readings of the run. `keys` are those to fit; where there are none, those that matter
/// most to the readings are chosen.
///
/// # Errors
/// See [`CalibrateError`].
pub fn calibrate(
    inputs: &Inputs,
    readings: &[Reading],
    keys: &[String],
) -> Result<Calibration, CalibrateError> {
    if readings.is_empty() {
        return Err(CalibrateError::Nothing);
    }
    let network =
        Network::new(&inputs.to_run().map_err(StudyError::from)?).map_err(SimulationError::from)?;
    let watched: Vec<Watched> = readings
        .iter()
        .map(|r| {
            Ok(Watched {
                sensor: Sensor::find(&r.sensor, &network)?,
                at_s: r.at_s,
            })
        })
        .collect::<Result<_, UnknownSensor>>()?;
    let measured = Measured {
        values: DVector::from_iterator(readings.len(), readings.iter().map(|r| r.temperature_K)),
        deviations: DVector::from_iterator(
            readings.len(),
            readings.iter().map(|r| r.within_K / ONE_IN_FORTY),
        ),
        may_stray: true,
        tolerance: TOLERANCE,
    };
    let all = inputs.doubtful();
    let chosen = asked_for(inputs, &all, keys)?;
    let (own, others) = sorted(inputs, all, &chosen, &watched, &measured)?;
    let none = || DMatrix::zeros(watched.len(), 0);
    // Whoever says which values to fit says that the others are right, and wants the readings met; how sure that is
    // depends on the others all the same.
    let (along, left) = if chosen.is_empty() {
        (others, none())
    } else {
        (none(), others)
    };
    let model = Chamber {
        inputs,
        parameters: &own,
        others: along,
        watched: &watched,
    };
    let count = own.len() + model.others.ncols();
    let believed = Believed {
        start: DVector::zeros(count),
        deviations: DVector::from_element(count, 1.0),
    };
    let fitted = fit::fit(&model, &measured, &believed)?;
    let before = model.read_at(&vec![0.0; own.len()])?;
    let after = model.read_at(&fitted.parameters.as_slice()[..own.len()])?;
    let covariance = fit::with_others(&fitted, &measured, &left)
        .view((0, 0), (own.len(), own.len()))
        .into_owned();
    let parameters = own
        .iter()
        .enumerate()
        .map(|(k, d)| parameter(d, fitted.parameters[k], covariance[(k, k)].sqrt()));
    let each = readings.iter().zip(&watched).enumerate();
    Ok(Calibration {
        readings: each
            .map(|(k, (reading, watched))| Compared {
                reading: reading.clone(),
                sensor: watched.sensor.name.clone(),
                before_K: before[k],
                after_K: after[k],
                strays: fitted.weights[k] < fit::STRAYS,
            })
            .collect(),
        parameters: parameters.collect(),
        correlations: identify::correlations(&covariance),
        together: not_told_apart(&covariance),
        others: model.others.ncols() + left.ncols(),
        evaluations: fitted.evaluations,
        is_settled: fitted.is_settled,
    })
}

/// The places among the values in doubt of those that someone asks for.
fn asked_for(
    inputs: &Inputs,
    all: &[Doubtful],
    keys: &[String],
) -> Result<Vec<usize>, CalibrateError> {
    keys.iter()
        .map(|key| {
            let input = inputs.input(key)?;
            all.iter()
                .position(|d| d.input.key() == input.key())
                .ok_or_else(|| CalibrateError::NotInDoubt(key.clone()))
        })
        .collect()
}

/// The values to fit, those that move what is read most first, and the slopes of the others that move it at all.
fn sorted(
    inputs: &Inputs,
    all: Vec<Doubtful>,
    chosen: &[usize],
    watched: &[Watched],
    measured: &Measured,
) -> Result<(Vec<Doubtful>, DMatrix<f64>), CalibrateError> {
    let model = Chamber {
        inputs,
        parameters: &all,
        others: DMatrix::zeros(watched.len(), 0),
        watched,
    };
    let mut each: Vec<(usize, f64, DVector<f64>)> = model
        .first_slopes()
        .into_iter()
        .enumerate()
        .filter_map(|(k, slopes)| {
            let slopes = slopes?;
            let effect = slopes.component_div(&measured.deviations).norm();
            (effect > 0.0 && effect.is_finite()).then_some((k, effect, slopes))
        })
        .collect();
    each.sort_by(|a, b| b.1.total_cmp(&a.1));
    let is_noticed = |effect: f64| effect >= NOTICEABLE;
    let (own, others): (Vec<_>, Vec<_>) = if chosen.is_empty() {
        let most = MOST.min(each.iter().filter(|(_, e, _)| is_noticed(*e)).count());
        let others = each.split_off(most);
        (each, others)
    } else {
        each.into_iter().partition(|(k, _, _)| chosen.contains(k))
    };
    if own.is_empty() {
        return Err(CalibrateError::NothingMoves);
    }
    let columns: Vec<DVector<f64>> = others
        .into_iter()
        .filter(|(_, effect, _)| is_noticed(*effect))
        .map(|(_, _, slopes)| slopes)
        .collect();
    let others = if columns.is_empty() {
        DMatrix::zeros(watched.len(), 0)
    } else {
        DMatrix::from_columns(&columns)
    };
    let own = own.into_iter().map(|(k, _, _)| all[k].clone());
    Ok((own.collect(), others))
}

fn parameter(d: &Doubtful, deviations: f64, left: f64) -> Parameter {
    let at = |z: f64| d.distribution.at(z);
    let (value, range) = (at(deviations), d.input.range());
    let at_bound = [range.hard.0, range.hard.1]
        .iter()
        .any(|limit| (range.si(*limit) - value).abs() <= 1e-9 * value.abs());
    let half = |from: f64, to: f64| 0.5 * (at(to) - at(from));
    Parameter {
        input: d.input.clone(),
        start: d.distribution.median,
        value,
        prior_std: half(-1.0, 1.0),
        std: (!at_bound).then(|| half(deviations - left, deviations + left)),
        low: at(deviations - ONE_IN_FORTY * left),
        high: at(deviations + ONE_IN_FORTY * left),
        left,
        at_bound,
    }
}

#[cfg(test)]
mod tests;

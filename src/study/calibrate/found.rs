//! What a calibration found.

use super::drift::Drift;
use super::identify::{IDENTIFIED, Pair, correlations};

use super::model::Placed;
use super::settle::LEAST_K;
use crate::keys::distribution::ONE_IN_FORTY;
use crate::run::{Input, Inputs, Known, Reading};
use nalgebra::{DMatrix, DVector};

/// Residuals that hang together as much by chance in fewer than one of a hundred are not white.
const WHITE: f64 = 0.01;

/// What is left of a good description is less than this, K.
const RESTLESS_K: f64 = 0.5;
/// A model that is off by more than this with the values found, K, does not describe what was logged.
const FOREIGN_K: f64 = 2.5;

/// A thermometer is off by more than anybody expects that is off by so many times what it may be.
const FAR_OFF: f64 = 1.5;

/// A model that is off by so many times what it was is further off.
const FURTHER: f64 = 1.1;

/// Nobody believes a value so many of its standard deviations away.
const BEYOND_BELIEF: f64 = 5.0;

/// A bed's heater is another one where the model is off by this share of what was measured: four times what meters are.
const ANOTHER: f64 = 0.2;

/// What was fitted.
#[derive(Debug, Clone)]
pub struct Calibration {
    /// Each single reading with what the model said before and says now, in their order.
    pub readings: Vec<Compared>,
    /// Each column of the logs, in their order.
    pub columns: Vec<Followed>,
    /// Each column that says what the bed's heater took, in their order.
    pub powers: Vec<Heated>,
    /// What was found for a part of the logs that was not shown to the search.
    pub held_out: Option<HeldOut>,
    /// The parameters, those that moved what was read most first.
    pub parameters: Vec<Parameter>,
    /// Correlations of their estimates.
    pub correlations: DMatrix<f64>,
    /// Pairs of parameters that the readings don't tell apart.
    pub together: Vec<Pair>,
    /// How many other values in doubt move what was read, and were taken along.
    pub others: usize,
    /// What is known now of all that was fitted and taken along.
    pub known: Posterior,
    /// The runs as they were held against what was measured: in the room as it was, from the start as it was.
    pub inputs: Vec<Inputs>,
    /// Temperatures at the start that were taken from the first rows of the logs.
    pub starts: Vec<Start>,
    /// Thermometers that began colder than their room, which nothing is that nobody cools.
    pub cold: Vec<Cold>,
    /// Runs whose logs would fit better moved by so many hours.
    pub moved_h: Vec<(usize, i32)>,
    /// Columns of logs that were mixed up.
    pub mixed: Vec<Mixed>,
    /// How many runs were asked for by the search, slopes aside.
    pub evaluations: usize,
    /// Whether the search came to rest.
    pub is_settled: bool,
}

/// A reading and the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// Which of the runs it belongs to.
    pub session: usize,
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

/// A column of a log and the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Followed {
    /// Which of the runs it belongs to.
    pub session: usize,
    /// The column's header.
    pub header: String,
    /// The name of its place.
    pub sensor: String,
    /// How many rows it has within the run.
    pub rows: usize,
    /// How far off it may be altogether, K: one in forty further off on either side.
    pub within_K: f64,
    /// When, s from the start, of rows taken together.
    pub times_s: Vec<f64>,
    /// What was measured, K.
    pub measured_K: Vec<f64>,
    /// What the model said before, K.
    pub before_K: Vec<f64>,
    /// What it says the thermometer shows with the values found, K.
    pub after_K: Vec<f64>,
    /// What the thermometer is off, as found, K,
    pub offset_K: f64,
    /// and the standard deviation of that.
    pub offset_std_K: f64,
    /// What it lags behind, as found, s.
    pub lag_s: f64,
    /// Whether the log says what the lag is.
    pub lag_is_known: bool,
    /// How what is left hangs together.
    pub drift: Drift,
    /// How likely rows that tell nothing more hang together as much as what is left does.
    pub white: f64,
    /// How many of the rows taken together lie so far from the others that they counted for less.
    pub strays: usize,
}

/// What the bed's heater took, and the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Heated {
    /// Which of the runs it belongs to.
    pub session: usize,
    /// The column's header.
    pub header: String,
    /// Middles of the windows, s from the start.
    pub times_s: Vec<f64>,
    /// Mean powers that were measured, W.
    pub measured_W: Vec<f64>,
    /// What the model said before, W.
    pub before_W: Vec<f64>,
    /// What it says that the column shows with the values found, W.
    pub after_W: Vec<f64>,
    /// What all of it is off, as found, W on average.
    pub offset_W: f64,
    /// Whether that is more than anybody expects.
    pub is_far_off: bool,
    /// How many windows lie so far from the others that they counted for less.
    pub strays: usize,
}

impl Heated {
    /// The root of the mean square by which the model was off before, W.
    #[must_use]
    pub fn rms_before_W(&self) -> f64 {
        rms(off(&self.before_W, &self.measured_W))
    }

    /// The same with the values found, and what the column itself is off.
    #[must_use]
    pub fn rms_after_W(&self) -> f64 {
        rms(off(&self.after_W, &self.measured_W))
    }

    /// Whether no values make the model take what was measured.
    #[must_use]
    pub fn is_another(&self) -> bool {
        self.is_far_off || self.rms_after_W() > ANOTHER * self.mean_W().max(1.0)
    }

    /// What it took on average, W.
    #[must_use]
    pub fn mean_W(&self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "some hundreds")]
        let count = self.measured_W.len().max(1) as f64;
        self.measured_W.iter().sum::<f64>() / count
    }
}

/// What was found for rows that were not shown to the search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldOut {
    /// How many, of those taken together.
    pub rows: usize,
    /// The root of the mean square by which the model was off there before, K.
    pub before_K: f64,
    /// The same with the values that the other rows gave.
    pub after_K: f64,
}

/// A temperature at the start that the log gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    /// Which of the runs.
    pub session: usize,
    /// The key: `initial.air`.
    pub key: String,
    /// The temperature, K.
    pub is_K: f64,
}

/// A thermometer that began colder than its room.
#[derive(Debug, Clone, PartialEq)]
pub struct Cold {
    /// Which of the runs.
    pub session: usize,
    /// Where it is said to be.
    pub sensor: String,
    /// By so much, K.
    pub by_K: f64,
}

/// Two columns of a log of which each would fit better as the other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mixed {
    /// Which of the runs they belong to.
    pub session: usize,
    /// Their headers.
    pub headers: [String; 2],
    /// The places they are taken for.
    pub sensors: [String; 2],
}

/// Two thermometers at one place that differ by more than they may be off.
#[derive(Debug, Clone, PartialEq)]
pub struct Apart {
    /// Which of the runs they belong to.
    pub session: usize,
    /// The place.
    pub sensor: String,
    /// The columns' headers.
    pub headers: [String; 2],
    /// How much more the first shows, K.
    pub by_K: f64,
}

/// What is known of values: in their own standard deviations from where they were believed to be.
#[derive(Debug, Clone)]
pub struct Posterior {
    /// The values.
    pub values: Vec<Placed>,
    /// Where they are.
    pub mean: DVector<f64>,
    /// How sure that is.
    pub covariance: DMatrix<f64>,
}

impl Posterior {
    /// Of one of the values, in SI: below the first lies one in forty, the second is where it is, above the third lies one
    /// in forty.
    #[must_use]
    pub fn range(&self, k: usize) -> [f64; 3] {
        let (mean, std) = (self.mean[k], self.covariance[(k, k)].max(0.0).sqrt());
        let each = [-ONE_IN_FORTY, 0.0, ONE_IN_FORTY];
        each.map(|by| self.values[k].doubtful.distribution.at(mean + by * std))
    }

    /// The inputs with every value where it is.
    #[must_use]
    pub fn at_its_best(&self, inputs: &Inputs) -> Inputs {
        let mut inputs = inputs.clone();
        for (placed, z) in self.values.iter().zip(&self.mean) {
            let d = &placed.doubtful;
            // A distribution ends at its key's limits.
            let _ = inputs.set(&d.input, d.distribution.at(*z));
        }
        inputs
    }
}

/// A value that was fitted.
#[derive(Debug, Clone)]
pub struct Parameter {
    /// Which.
    pub input: Input,
    /// Whose, where it is not the same in all runs.
    pub session: Option<usize>,
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
    /// and above this, in SI.
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
        is_the_machines(self.input.key())
    }
}

/// Whether a key belongs to the machine, and not to one run of it.
#[must_use]
pub fn is_the_machines(key: &str) -> bool {
    ["machine.", "coefficients."]
        .iter()
        .any(|table| key.starts_with(table))
}

impl Followed {
    /// Whether it is off by more than anybody expects of it.
    #[must_use]
    pub fn is_far_off(&self) -> bool {
        self.offset_K.abs() > FAR_OFF * self.within_K
    }

    /// Whether what is left tells nothing more.
    #[must_use]
    pub fn is_white(&self) -> bool {
        self.white >= WHITE
    }

    /// Whether what is left is more than the model's own inexactness and hangs together in a way that no drift explains.
    #[must_use]
    pub fn is_restless(&self) -> bool {
        !self.is_white() && self.drift.deviation > RESTLESS_K
    }

    /// Whether it is what a heater holds at its setpoint: what the model is off there says nothing of the filament.
    #[must_use]
    pub fn is_heated(&self) -> bool {
        self.sensor.starts_with("bed") || self.sensor.contains("hotend")
    }

    /// The root of the mean square by which the model was off before, K.
    #[must_use]
    pub fn rms_before_K(&self) -> f64 {
        rms(off(&self.before_K, &self.measured_K))
    }

    /// The same with the values found, and what the thermometer itself is off.
    #[must_use]
    pub fn rms_after_K(&self) -> f64 {
        rms(off(&self.after_K, &self.measured_K))
    }
}

fn off<'a>(is: &'a [f64], measured: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
    is.iter().zip(measured).map(|(is, measured)| is - measured)
}

impl Calibration {
    /// What a file of the machine says: the machine's own values, and not those of one run. Beside those that were fitted
    /// these are the ones that an earlier file said were found together with others: what was learned of those tells of
    /// them too.
    #[must_use]
    pub fn known(&self) -> Vec<Known> {
        let correlations = correlations(&self.known.covariance);
        let own: Vec<(usize, &Placed)> = self
            .known
            .values
            .iter()
            .enumerate()
            .filter(|(k, placed)| {
                let was_known = !placed.doubtful.shares.is_empty();
                let is_told = *k < self.parameters.len() || was_known;
                is_told && is_the_machines(placed.doubtful.input.key())
            })
            .collect();
        let known = own.iter().map(|(k, placed)| {
            let [low, value, high] = self.known.range(*k);
            // Ends that were looked for say more than a covariance.
            let fitted = self.parameters.get(*k);
            let (low, high) = fitted.map_or((low, high), |p| (p.low, p.high));
            Known {
                input: placed.doubtful.input.clone(),
                si: value,
                // The file has one width for both sides: the wider one.
                within: (high - value).max(value - low),
                together: own.iter().map(|(j, _)| correlations[(*k, *j)]).collect(),
            }
        });
        known.collect()
    }

    /// Whether no values make the model fit the logs: then these are not of this run, or a thermometer shows nonsense.
    #[must_use]
    pub fn is_foreign(&self) -> bool {
        let is_another = self.is_of_power_alone() && self.powers.iter().all(Heated::is_another);
        // A reading that strays is told by itself, where others hold.
        let held = self.readings.iter().filter(|r| !r.strays);
        let held = held.map(|r| r.after_K - r.reading.temperature_K);
        let rows = self.columns.iter();
        let rows = rows.flat_map(|c| off(&c.after_K, &c.measured_K));
        let is_met = self.columns.len() + self.readings.iter().filter(|r| !r.strays).count() > 0;
        is_another || (!self.is_of_power_alone() && (!is_met || rms(held.chain(rows)) > FOREIGN_K))
    }

    /// Whether what was found for the first part of a log foretells its end no better than what was believed before.
    #[must_use]
    pub fn foretells_nothing(&self) -> bool {
        let is_worse = |h: &HeldOut| h.after_K > 2.0 * RESTLESS_K && h.after_K > h.before_K;
        self.held_out
            .is_some_and(|h| h.after_K > FOREIGN_K || is_worse(&h))
    }

    /// Whether the model is further off than before: by measurements that it follows better, but not so near.
    #[must_use]
    pub fn is_further_off(&self) -> bool {
        match self.powers.first().filter(|_| self.is_of_power_alone()) {
            Some(power) => power.rms_after_W() > FURTHER * power.rms_before_W(),
            None => self.rms_after_K() > FURTHER * self.rms_before_K(),
        }
    }

    /// Whether the values found are to be trusted: the model fits what was measured, and with values that somebody could
    /// have believed.
    #[must_use]
    pub fn is_trusted(&self) -> bool {
        let own = self.known.mean.iter().take(self.parameters.len());
        !self.is_foreign() && own.into_iter().all(|z| z.abs() < BEYOND_BELIEF)
    }

    /// Whether no thermometer was looked at, and only known what the bed's heater took.
    #[must_use]
    pub fn is_of_power_alone(&self) -> bool {
        !self.powers.is_empty() && self.columns.is_empty() && self.readings.is_empty()
    }

    /// What the model still is off where it was logged, and may be off where nobody looks, K: a standard deviation.
    #[must_use]
    pub fn left_out_K(&self) -> f64 {
        let near = self.columns.iter().filter(|c| !c.is_heated());
        near.map(|c| c.drift.deviation).fold(LEAST_K, f64::max)
    }

    /// How many readings and rows of logs there are.
    #[must_use]
    pub fn rows(&self) -> usize {
        let rows: usize = self.columns.iter().map(|c| c.rows).sum();
        self.readings.len() + rows
    }

    /// The root of the mean square by which the model was off before, K: of readings, and of rows of logs taken
    /// together.
    #[must_use]
    pub fn rms_before_K(&self) -> f64 {
        let readings = self.readings.iter();
        let readings = readings.map(|r| r.before_K - r.reading.temperature_K);
        let columns = self.columns.iter();
        let columns = columns.flat_map(|c| off(&c.before_K, &c.measured_K));
        rms(readings.chain(columns))
    }

    /// The same with the values found.
    #[must_use]
    pub fn rms_after_K(&self) -> f64 {
        let readings = self.readings.iter();
        let readings = readings.map(|r| r.after_K - r.reading.temperature_K);
        let columns = self.columns.iter();
        let columns = columns.flat_map(|c| off(&c.after_K, &c.measured_K));
        rms(readings.chain(columns))
    }
}

/// The root of the mean square.
pub(super) fn rms(off: impl Iterator<Item = f64>) -> f64 {
    let (mut count, mut squares) = (0.0, 0.0);
    for off in off {
        count += 1.0;
        squares += off * off;
    }
    if count > 0.0 {
        f64::sqrt(squares / count)
    } else {
        0.0
    }
}

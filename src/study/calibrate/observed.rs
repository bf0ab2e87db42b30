//! What was measured in a run, as rows that a model can be held against.

use super::lag;
use super::sensors::{Sensor, UnknownSensor};
use super::settle::LEAST_K;
use crate::chamber::{Chamber, Simulation};
use crate::course::means;
use crate::keys::distribution::ONE_IN_FORTY;
use crate::run::{LogColumn, LogPower, Reading};

/// So many rows of a log are kept of each thermometer: more say nothing that is not in them, because what they are off
/// hangs together for longer.
const ROWS: f64 = 200.0;
/// Rows are not taken together over less than this, s.
const SHORTEST_S: f64 = 60.0;
/// Between kept rows the course of a thermometer is followed in so many steps at least.
const STEPS: f64 = 3.0;
/// A thermometer has forgotten where it began after this, s.
const BEFORE_S: f64 = 1_800.0;
/// What a probe lags behind, s, where nothing is known of it: in one case of forty less than a twelfth of it, in one of
/// forty more than twelve times (a bare wire seconds, a probe in a case minutes; common practice, no source).
const LAG_S: f64 = 25.0;
const LAG_FACTOR: f64 = 12.0;

/// What one thermometer showed.
#[derive(Debug, Clone, PartialEq)]
pub struct Observed {
    /// Where it is.
    pub sensor: Sensor,
    /// Of a log: the header of its column, and how many rows it had.
    pub column: Option<(String, usize)>,
    /// Of a column that says what the bed's heater took: in what its values are counted.
    pub power: Option<Power>,
    /// How far off the thermometer may be, K: one in forty further off on either side.
    pub within_K: f64,
    /// When, s from the start.
    pub times_s: Vec<f64>,
    /// What, K; of the bed's heater, in the unit of its power.
    pub values_K: Vec<f64>,
    /// Times at which a model's course is read, s,
    grid_s: Vec<f64>,
    /// and over which of them each row is the mean: a model's mean over the same times is held against it, because one
    /// moment in their middle would take the bend of a warming-up for a lag.
    at: Vec<Vec<usize>>,
}

/// What is told of the bed's heater.
#[derive(Debug, Clone, PartialEq)]
pub struct Power {
    /// The column's header.
    pub header: String,
    /// The unit its values are counted in, W. It is such that what any column is off at least, [`LEAST_K`], is 1 % of
    /// what the heater has.
    pub unit_W: f64,
    /// What all rows may be off together: a standard deviation.
    off: Off,
}

/// What a meter shows too much.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Off {
    /// The same all the time, in the unit of the power.
    Always(f64),
    /// A share of what there is.
    Share(f64),
}

impl Power {
    /// What all rows may be off together, a standard deviation for each, in its unit, where it should show this. Not of what
    /// it did show: a share of that has a share of its noise, and would be found to make the noise less.
    pub fn off<'a>(&'a self, should: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
        should.iter().map(|power| match self.off {
            Off::Always(off) => off,
            Off::Share(share) => share * power,
        })
    }
}

/// What the model is off in the bed's power at least, as a share of all the heater has,
const LEAST_POWER: f64 = 0.01;
/// and what meters, mains and duties are off, as a share of what is shown: a standard deviation (common practice, no
/// source).
const POWER_OFF: f64 = 0.05;
/// The model's power is looked at so many times in each window.
const LOOKS: u32 = 5;

impl Observed {
    /// What the bed's heater took.
    ///
    /// # Errors
    /// When there is no bed.
    pub fn of_power(power: &LogPower, chamber: &Chamber) -> Result<Self, UnknownSensor> {
        let unit_W = LEAST_POWER / LEAST_K * chamber.run().machine.bed.max_power_W;
        let (mut grid_s, mut at) = (Vec::new(), Vec::new());
        for mean in &power.rows {
            let begin = grid_s.len();
            let looks = (0..LOOKS).map(|k| (f64::from(k) + 0.5) / f64::from(LOOKS));
            grid_s.extend(looks.map(|share| mean.from_s + share * (mean.to_s - mean.from_s)));
            at.push((begin..grid_s.len()).collect());
        }
        let rows = power.rows.iter();
        Ok(Self {
            sensor: Sensor::find("bed", chamber)?,
            column: None,
            power: Some(Power {
                header: power.header.clone(),
                unit_W,
                off: match power.within_W {
                    Some(within_W) => Off::Always(within_W / ONE_IN_FORTY / unit_W),
                    None => Off::Share(POWER_OFF),
                },
            }),
            within_K: 0.0,
            times_s: rows.clone().map(|m| 0.5 * (m.from_s + m.to_s)).collect(),
            values_K: rows.map(|m| m.power_W / unit_W).collect(),
            grid_s,
            at,
        })
    }

    /// A single reading.
    ///
    /// # Errors
    /// When there is no such place.
    pub fn of_reading(reading: &Reading, chamber: &Chamber) -> Result<Self, UnknownSensor> {
        Ok(Self {
            sensor: Sensor::find(&reading.sensor, chamber)?,
            column: None,
            power: None,
            within_K: reading.within_K,
            times_s: vec![reading.at_s],
            values_K: vec![reading.temperature_K],
            grid_s: vec![reading.at_s],
            at: vec![vec![0]],
        })
    }

    /// A column of a log: rows that lie close together become one, their mean. Rows outside of the run stay out.
    ///
    /// # Errors
    /// When there is no such place.
    pub fn of_column(column: &LogColumn, chamber: &Chamber) -> Result<Self, UnknownSensor> {
        let sensor = Sensor::find(&column.sensor, chamber)?;
        let is_in = |row: &&(f64, f64)| (0.0..=chamber.run().duration_s).contains(&row.0);
        let rows: Vec<(f64, f64)> = column.rows.iter().filter(is_in).copied().collect();
        let span_s = match (rows.first(), rows.last()) {
            (Some(first), Some(last)) => last.0 - first.0,
            _ => 0.0,
        };
        let together_s = (span_s / ROWS).max(SHORTEST_S);
        let fine: Vec<(f64, f64)> = means(&rows, SHORTEST_S).collect();
        let fine_s: Vec<f64> = fine.iter().map(|row| row.0).collect();
        let (grid_s, on_grid) = grid(&fine_s, (together_s / STEPS).max(0.5 * SHORTEST_S));
        let (mut times_s, mut values_K, mut at) = (Vec::new(), Vec::new(), Vec::new());
        let place = |row: &(f64, f64)| (row.0 / together_s).floor();
        let mut begin = 0;
        for rows in fine.chunk_by(|a, b| place(a) == place(b)) {
            times_s.extend(means(rows, f64::INFINITY).map(|row| row.0));
            values_K.extend(means(rows, f64::INFINITY).map(|row| row.1));
            at.push(on_grid[begin..begin + rows.len()].to_vec());
            begin += rows.len();
        }
        Ok(Self {
            sensor,
            column: Some((column.header.clone(), rows.len())),
            power: None,
            within_K: column.within_K,
            times_s,
            values_K,
            grid_s,
            at,
        })
    }

    /// The same rows so much later, s, those within a run of that length; none where there are none.
    #[must_use]
    pub fn moved(&self, by_s: f64, duration_s: f64) -> Option<Self> {
        let each = self.times_s.iter().zip(&self.values_K);
        let moved = each.map(|(t_s, K)| (t_s + by_s, *K));
        let (times_s, values_K): (Vec<f64>, Vec<f64>) = moved
            .filter(|(t_s, _)| (0.0..=duration_s).contains(t_s))
            .unzip();
        let (grid_s, at) = grid(&times_s, BEFORE_S);
        (!times_s.is_empty()).then(|| Self {
            grid_s,
            at: at.into_iter().map(|at| vec![at]).collect(),
            times_s,
            values_K,
            ..self.clone()
        })
    }

    /// The same rows as if they had been measured where another's were.
    #[must_use]
    pub fn at_place_of(&self, other: &Self) -> Self {
        Self {
            sensor: other.sensor.clone(),
            ..self.clone()
        }
    }

    /// The header of its column; empty where it is of no log.
    #[must_use]
    pub fn header(&self) -> &str {
        self.column.as_ref().map_or("", |(header, _)| header)
    }

    /// What the place is at, K, or the bed's heater takes, whenever it has to be known.
    #[must_use]
    pub fn around(&self, simulation: &Simulation) -> Vec<f64> {
        if let Some(power) = &self.power {
            let each = self.grid_s.iter();
            return each
                .map(|t_s| simulation.bed_power_W(*t_s) / power.unit_W)
                .collect();
        }
        let sensor = self.sensor.in_chamber(&simulation.chamber);
        let each = self.grid_s.iter();
        each.map(|t_s| sensor.shows_K(simulation, *t_s)).collect()
    }

    /// What the thermometer shows at its rows then, K, if its lag is so many standard deviations from what it usually is.
    pub fn shown<'a>(&'a self, around: &'a [f64], lag: f64) -> impl Iterator<Item = f64> + 'a {
        let shown = self
            .column
            .is_some()
            .then(|| lag::shown(&self.grid_s, around, lag_s(lag)));
        self.at.iter().map(move |at| {
            let values = shown.as_deref().unwrap_or(around);
            #[expect(clippy::cast_precision_loss, reason = "some rows")]
            let count = at.len() as f64;
            at.iter().map(|k| values[*k]).sum::<f64>() / count
        })
    }

    /// Whether it is a single reading.
    #[must_use]
    pub const fn is_reading(&self) -> bool {
        self.column.is_none() && self.power.is_none()
    }

    /// Until when it has to be known, s.
    #[must_use]
    pub fn until_s(&self) -> f64 {
        let last = if self.power.is_some() {
            self.grid_s.last()
        } else {
            self.times_s.last()
        };
        last.copied().unwrap_or_default()
    }

    /// Whether it is a thermometer whose rows have errors that hang together.
    #[must_use]
    pub const fn is_log(&self) -> bool {
        self.column.is_some()
    }
}

/// The lag so many standard deviations from what it usually is, s.
#[must_use]
pub fn lag_s(deviations: f64) -> f64 {
    let share = deviations / crate::keys::distribution::ONE_IN_FORTY;
    LAG_S * LAG_FACTOR.powf(share)
}

/// Times no further apart than a step, s, from before the first of these on, and which of them these are. In gaps, a
/// thermometer has long come to rest: only their end is followed.
fn grid(times_s: &[f64], step_s: f64) -> (Vec<f64>, Vec<usize>) {
    let (mut grid_s, mut at): (Vec<f64>, Vec<usize>) = (Vec::new(), Vec::new());
    for t_s in times_s {
        let before_s = grid_s.last().copied().unwrap_or(0.0);
        let from_s = before_s.max(t_s - BEFORE_S);
        if grid_s.is_empty() || from_s > before_s {
            grid_s.push(from_s);
        }
        let steps = ((t_s - from_s) / step_s).ceil().max(1.0);
        let mut k = 1.0;
        while k < steps {
            grid_s.push(from_s + (t_s - from_s) * k / steps);
            k += 1.0;
        }
        if *t_s > from_s {
            grid_s.push(*t_s);
        }
        at.push(grid_s.len() - 1);
    }
    (grid_s, at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_grid_has_every_row_and_rises() {
        for times in [
            vec![0.0],
            vec![5.0, 100.0, 100_000.0],
            vec![0.0, 10.0, 20.0, 90_000.0, 90_100.0],
        ] {
            let (grid, at) = grid(&times, 30.0);
            for (k, t) in at.iter().zip(&times) {
                assert!((grid[*k] - t).abs() < 1e-9, "{times:?}");
            }
            assert!(grid.windows(2).all(|w| w[0] < w[1]), "{grid:?}");
            assert!(grid[0] >= 0.0 && grid.len() < 300);
        }
    }

    /// A bare wire and a probe in a case.
    #[test]
    fn lags_are_seconds_to_minutes() {
        assert!((lag_s(0.0) - 25.0).abs() < 1e-9);
        assert!((lag_s(1.96) - 300.0).abs() < 0.1);
        assert!((lag_s(-1.96) - 25.0 / 12.0).abs() < 0.01);
    }
}

//! How what thermometers show, and the margins that come of it, move with each value in doubt.

use crate::chamber::StationKind;
use crate::run::{Doubtful, Inputs, Run};
use crate::study::StudyError;
use crate::study::calibrate::sensors::Sensor;
use crate::study::certainty::{drawn, in_their_order, options};
use crate::study::many::courses_read;
use nalgebra::{DMatrix, DVector};

/// Each value goes so many standard deviations to both sides: the slope over what it may be, and not only where it is
/// believed to be. What is shown changes by tenths of a kelvin and more where it matters; samples' tolerance, which leaves
/// thousandths open, is enough.
const STEP: f64 = 1.0;

/// Where a thermometer is held and when it is read, s from the start.
pub type Spot<'a> = (&'a Sensor, f64);

/// What runs show where someone looks.
#[derive(Debug, Clone, PartialEq)]
pub struct Slopes {
    /// The margin at each of [`StationKind::ALL`] in the middle, K.
    pub margins_K: Vec<f64>,
    /// How they move.
    pub margins: Bent,
    /// How the hottest filament moves at each.
    pub filament: Bent,
    /// Slopes of what is shown at each spot, a row each, K.
    pub shown: DMatrix<f64>,
    /// Values whose slope is not known, because the run comes to nothing on both of their sides.
    pub unknown: Vec<usize>,
}

/// How things move with values, a row a thing: with z standard deviations of a value by slope z + bend z².
#[derive(Debug, Clone, PartialEq)]
pub struct Bent {
    /// K a standard deviation.
    pub slopes: DMatrix<f64>,
    /// K a standard deviation squared.
    pub bends: DMatrix<f64>,
}

/// Stations of the feed path.
const STATIONS: usize = StationKind::ALL.len();

impl Slopes {
    /// The slopes of the run that these inputs describe, by two runs a value.
    ///
    /// # Errors
    /// When the run in the middle can't be made or computed.
    pub fn of(
        inputs: &Inputs,
        doubtful: &[Doubtful],
        spots: &[Spot<'_>],
    ) -> Result<Self, StudyError> {
        let read = |runs: &[Run]| {
            courses_read(runs, &options(), |simulation, course| {
                let hottest = course.hottest(f64::NEG_INFINITY, f64::INFINITY);
                let margins = hottest.iter().map(|h| h.limit_K - h.max_K);
                let filament = hottest.iter().map(|h| h.max_K);
                // By name: a value may move how many nodes a panel has.
                let here = Sensor::all(&simulation.chamber);
                let shown = spots.iter().map(|(at, t_s)| {
                    let at = here.iter().find(|place| place.name == at.name);
                    at.map_or(f64::NAN, |at| at.shows_K(simulation, *t_s))
                });
                let all: Vec<f64> = margins.chain(filament).chain(shown).collect();
                DVector::from_vec(all)
            })
        };
        let middle = read(&[inputs.to_run()?]).remove(0)?;
        let sides = (0..doubtful.len()).flat_map(|k| [(k, -STEP), (k, STEP)]);
        let made = sides.map(|(k, by)| {
            let own = |place: u32| if place as usize == k { by } else { 0.0 };
            drawn(inputs, doubtful, own)
        });
        let sides: Vec<Option<DVector<f64>>> = in_their_order(made.collect(), read)
            .into_iter()
            .map(Result::ok)
            .collect();
        let mut slopes = DMatrix::zeros(middle.len(), doubtful.len());
        let mut bends = slopes.clone();
        let mut unknown = Vec::new();
        for (k, side) in sides.chunks(2).enumerate() {
            // Where the run comes to nothing on one side, the other has to do.
            let slope: DVector<f64> = match side {
                [Some(below), Some(above)] => (above - below) / (2.0 * STEP),
                [None, Some(above)] => (above - &middle) / STEP,
                [Some(below), None] => (&middle - below) / STEP,
                _ => DVector::from_element(middle.len(), f64::NAN),
            };
            if slope.iter().any(|v| !v.is_finite()) {
                unknown.push(k);
                continue;
            }
            slopes.set_column(k, &slope);
            if let [Some(below), Some(above)] = side {
                let bend = (above + below - 2.0 * &middle) / (2.0 * STEP * STEP);
                bends.set_column(k, &bend);
            }
        }
        let bent = |from: usize| Bent {
            slopes: slopes.rows(from, STATIONS).into_owned(),
            bends: bends.rows(from, STATIONS).into_owned(),
        };
        Ok(Self {
            margins_K: middle.rows(0, STATIONS).iter().copied().collect(),
            margins: bent(0),
            filament: bent(STATIONS),
            shown: slopes.rows(2 * STATIONS, spots.len()).into_owned(),
            unknown,
        })
    }
}

impl Bent {
    /// What the bends add while values have these variances: to the means, and to the covariance. z² has the mean v and
    /// the variance 2 v² where z has the variance v, and no covariance with z.
    #[must_use]
    pub fn added(&self, variances: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let twice = variances.map(|v| 2.0 * v * v);
        let covariance = &self.bends * DMatrix::from_diagonal(&twice) * self.bends.transpose();
        (&self.bends * variances, covariance)
    }

    /// The slopes of one thing.
    #[must_use]
    pub fn slopes_of(&self, row: usize) -> DVector<f64> {
        self.slopes.row(row).transpose()
    }
}

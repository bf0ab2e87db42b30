//! Chambers as a model to be fitted: parameters are values in doubt, counted in standard deviations from where they
//! are believed to be.

use super::fit::Model;
use super::observed::Observed;
use crate::chamber::Simulation;
use crate::integrate::Options;
use crate::run::{Doubtful, Inputs, Run};
use crate::study::StudyError;
use crate::study::many::up_to;
use nalgebra::{DMatrix, DVector};

/// A run and what was measured in it.
#[derive(Debug, Clone)]
pub struct Session {
    /// The run as described, in the room as it was measured.
    pub inputs: Inputs,
    /// What thermometers showed, in the order of the rows.
    pub observed: Vec<Observed>,
}

/// A value in doubt, and whose.
#[derive(Debug, Clone)]
pub struct Placed {
    /// The value.
    pub doubtful: Doubtful,
    /// The session whose it is; none: it is the machine's and the same in all.
    pub session: Option<usize>,
    /// The first session that has it, and its place among the values in doubt there.
    pub listed: (usize, usize),
}

impl Placed {
    /// How what is believed of it hangs together with what is believed of another: their correlation.
    #[must_use]
    pub fn correlation(&self, other: &Self) -> f64 {
        let ((session, place), (its_session, its_place)) = (self.listed, other.listed);
        if session != its_session {
            return 0.0;
        }
        let other = (&other.doubtful, its_place);
        self.doubtful.correlation(place, other)
    }
}

/// What is believed of some values beside others: a row for each of the first.
#[must_use]
pub fn correlations(of: &[Placed], with: &[Placed]) -> DMatrix<f64> {
    DMatrix::from_fn(of.len(), with.len(), |i, j| of[i].correlation(&with[j]))
}

/// Runs whose doubtful values are parameters: first the values in doubt, then the lag of every thermometer that was
/// logged, then those that are taken along.
///
/// The last are taken along by the slopes they have where they are believed to be: what thermometers are off, which is
/// just that; and values that are too many and matter too little to be run anew at each step, but leaving them out would
/// make the first too sure of themselves.
#[derive(Debug)]
pub struct Chambers<'a> {
    /// The runs.
    pub sessions: &'a [Session],
    /// The parameters.
    pub parameters: &'a [Placed],
    /// Slopes of those that are taken along.
    pub along: DMatrix<f64>,
}

/// How exactly runs are made that a fit is made of.
#[derive(Debug, Clone, Copy)]
struct Care {
    /// A share of the tolerance with which a single run is looked at.
    tolerance: f64,
    /// Slopes are taken from so many standard deviations below to as many above. Both sides, because a doubt may be
    /// wider above than below, which is a kink.
    step: f64,
}

/// For single readings: half a standard deviation apart what is read changes by tenths of a kelvin, a hundred times what
/// the integrator leaves open, and the bend of the model over it is no more than a hundredth of that.
const READINGS: Care = Care {
    tolerance: 0.2,
    step: 0.25,
};
/// Rows of logs are off by tenths of a kelvin all together: half of the steps do.
const LOGS: Care = Care {
    tolerance: 1.0,
    step: 0.5,
};

impl Care {
    fn options(self) -> Options {
        Options {
            tolerance: self.tolerance * Options::fine().tolerance,
            ledgers: false,
            ..Options::default()
        }
    }
}

/// What every place of every session is at, whenever it has to be known.
type Around = Vec<Vec<Vec<f64>>>;

impl Chambers<'_> {
    /// Rows of all sessions.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.observed().map(|o| o.times_s.len()).sum()
    }

    /// Thermometers with a lag.
    #[must_use]
    pub fn lags(&self) -> usize {
        self.observed().filter(|o| o.is_log()).count()
    }

    fn care(&self) -> Care {
        if self.lags() > 0 { LOGS } else { READINGS }
    }

    fn observed(&self) -> impl Iterator<Item = &Observed> {
        self.sessions.iter().flat_map(|session| &session.observed)
    }

    /// A session's run with parameters at so many standard deviations.
    ///
    /// # Errors
    /// When they don't go together.
    fn run_at(&self, session: usize, deviations: &[f64]) -> Result<Run, StudyError> {
        let mut inputs = self.sessions[session].inputs.clone();
        for (p, z) in self.parameters.iter().zip(deviations) {
            if p.session.is_none_or(|its| its == session) {
                // A distribution ends at its key's limits, and what one session does not have is not set there.
                let _ = inputs.set(&p.doubtful.input, p.doubtful.distribution.at(*z));
            }
        }
        Ok(inputs.to_run()?)
    }

    /// What places are at with parameters at each of these, all runs of a session together.
    fn around(&self, each: &[Vec<f64>]) -> Vec<Result<Around, StudyError>> {
        let mut found: Vec<Result<Around, StudyError>> =
            each.iter().map(|_| Ok(Vec::new())).collect();
        let options = self.care().options();
        for (at, session) in self.sessions.iter().enumerate() {
            let (mut runs, mut whose) = (Vec::new(), Vec::new());
            for (k, deviations) in each.iter().enumerate() {
                match self.run_at(at, deviations) {
                    Ok(run) => {
                        runs.push(run);
                        whose.push(k);
                    }
                    Err(error) => found[k] = Err(error),
                }
            }
            let times = session.observed.iter().map(Observed::until_s);
            // A course of no length has no pieces.
            let last_s = times.fold(60.0, f64::max);
            let read = |simulation: &Simulation| -> Vec<Vec<f64>> {
                let each = session.observed.iter();
                each.map(|o| o.around(simulation)).collect()
            };
            for (k, read) in whose.into_iter().zip(up_to(&runs, last_s, &options, read)) {
                match (read, &mut found[k]) {
                    (Ok(read), Ok(around)) => around.push(read),
                    (Err(error), found) => *found = Err(error.into()),
                    (Ok(_), Err(_)) => {}
                }
            }
        }
        found
    }

    /// What thermometers show, with lags so many standard deviations from what they usually are.
    fn shown(&self, around: &Around, lags: &[f64]) -> DVector<f64> {
        let mut rows = Vec::with_capacity(self.rows());
        let mut lags = lags.iter().copied();
        let each = self.sessions.iter().zip(around);
        for (o, around) in each.flat_map(|(session, around)| session.observed.iter().zip(around)) {
            let lag = if o.is_log() {
                lags.next().unwrap_or_default()
            } else {
                0.0
            };
            rows.extend(o.shown(around, lag));
        }
        DVector::from_vec(rows)
    }

    /// What is shown, thermometers as they usually are, with parameters at so many standard deviations.
    ///
    /// # Errors
    /// When they don't go together or a run can't be computed.
    pub fn shown_at(&self, deviations: &[f64]) -> Result<DVector<f64>, StudyError> {
        let around = self.around(&[deviations.to_vec()]).remove(0)?;
        Ok(self.shown(&around, &[]))
    }

    /// The slopes of what is shown, K a standard deviation: for each parameter, or why it has none.
    fn each_slope(&self, at: &[f64], lags: &[f64]) -> Vec<Result<DVector<f64>, StudyError>> {
        let step = self.care().step;
        let sides = (0..at.len()).flat_map(|k| {
            [-step, step].map(|by| {
                let mut at = at.to_vec();
                at[k] += by;
                at
            })
        });
        let around = self.around(&sides.collect::<Vec<_>>());
        let mut shown = around
            .into_iter()
            .map(|around| Ok(self.shown(&around?, lags)));
        let mut next = || shown.next().expect("one a side");
        (0..at.len())
            .map(|_| {
                let (below, above): (Result<_, StudyError>, _) = (next(), next());
                Ok((above? - below?) / (2.0 * step))
            })
            .collect()
    }

    /// The slopes of each parameter where it is believed to be; none of what can't be changed by itself.
    #[must_use]
    pub fn first_slopes(&self) -> Vec<Option<DVector<f64>>> {
        let at = vec![0.0; self.parameters.len()];
        let each = self.each_slope(&at, &[]);
        each.into_iter().map(Result::ok).collect()
    }

    /// Parameters, lags, and what is taken along.
    fn parted<'p>(&self, parameters: &'p DVector<f64>) -> (&'p [f64], &'p [f64], &'p [f64]) {
        let (own, rest) = parameters.as_slice().split_at(self.parameters.len());
        let (lags, along) = rest.split_at(self.lags());
        (own, lags, along)
    }

    /// What the thermometers show, with what is taken along.
    fn all(&self, around: &Around, parameters: &DVector<f64>) -> DVector<f64> {
        let (_, lags, along) = self.parted(parameters);
        let shown = self.shown(around, lags);
        if along.is_empty() {
            return shown;
        }
        shown + &self.along * DVector::from_column_slice(along)
    }
}

impl Model for Chambers<'_> {
    type Error = StudyError;

    fn predicted(&self, parameters: &DVector<f64>) -> Result<DVector<f64>, StudyError> {
        let one = std::slice::from_ref(parameters);
        self.each_predicted(one).remove(0)
    }

    fn each_predicted(&self, parameters: &[DVector<f64>]) -> Vec<Result<DVector<f64>, StudyError>> {
        let own: Vec<Vec<f64>> = parameters
            .iter()
            .map(|p| self.parted(p).0.to_vec())
            .collect();
        let around = self.around(&own).into_iter();
        around
            .zip(parameters)
            .map(|(around, p)| Ok(self.all(&around?, p)))
            .collect()
    }

    fn slopes(&self, parameters: &DVector<f64>) -> Result<DMatrix<f64>, StudyError> {
        let (own, lags, _) = self.parted(parameters);
        let each: Result<Vec<_>, _> = self.each_slope(own, lags).into_iter().collect();
        let mut columns = each?;
        if !lags.is_empty() {
            let around = self.around(&[own.to_vec()]).remove(0)?;
            let step = self.care().step;
            for k in 0..lags.len() {
                let side = |by: f64| {
                    let mut lags = lags.to_vec();
                    lags[k] += by;
                    self.shown(&around, &lags)
                };
                columns.push((side(step) - side(-step)) / (2.0 * step));
            }
        }
        columns.extend(self.along.column_iter().map(Into::into));
        Ok(DMatrix::from_columns(&columns))
    }
}

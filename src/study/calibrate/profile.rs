//! Where a parameter may be, by what the fit gets worse when it is held there. Knows no chambers.
//!
//! A covariance is the shape of the bottom of the bowl. Where the model bends, the bowl is wider on one side: the ends
//! are looked for where holding the parameter, and fitting the others anew, makes the sum of squares as much larger as one
//! in forty beyond asks for (profile likelihood; D. J. Venzon and S. H. Moolgavkar, Applied Statistics 37 (1988) 87-94).
//! The others are fitted anew at each place by slopes that learn from each answer on the way (C. G. Broyden, A class of
//! methods for solving nonlinear simultaneous equations, Mathematics of Computation 19 (1965) 577-593): new slopes at every
//! place would take ten times as many runs.

use super::believed::Believed;
use super::fit::{Fit, Measured, Model};
use crate::keys::distribution::ONE_IN_FORTY;
use nalgebra::{DMatrix, DVector};

/// So often the others are moved for each place of the parameter.
const MOVES: usize = 2;
/// So often an end is looked for anew at most,
const ROUNDS: usize = 4;
/// unless all are as near as this share of their distance.
const NEAR: f64 = 0.04;
/// Steps that change how unlikely it is by less than this teach nothing.
const LEAST_STEP: f64 = 1e-3;
/// An end is not looked for further from the last place than by this factor.
const FURTHEST: f64 = 2.0;
/// A fit that another place beats by more than this was not the best.
const BEATEN: f64 = -0.1;

/// How many standard deviations of the covariance lie between a parameter and its ends: both 1.96 where the bowl is what
/// the covariance says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ends {
    /// Below, in standard deviations.
    pub below: f64,
    /// Above, in standard deviations.
    pub above: f64,
    /// Whether some place on the way fitted better than what was taken for the best.
    pub is_beaten: bool,
}

/// The ends of the first so many parameters of a fit.
pub fn ends<M: Model>(
    model: &M,
    fitted: &Fit,
    measured: &Measured,
    believed: &Believed,
    count: usize,
) -> Vec<Ends> {
    let bowl = Bowl::new(fitted, measured, believed);
    let mut sides: Vec<Side> = (0..count)
        .flat_map(|k| [-1.0, 1.0].map(|side| Side::new(k, side * ONE_IN_FORTY, &bowl)))
        .collect();
    for _ in 0..ROUNDS {
        for side in &mut sides {
            side.go(&bowl);
        }
        for left in (0..=MOVES).rev() {
            let open: Vec<&mut Side> = sides.iter_mut().filter(|side| !side.is_done).collect();
            let places: Vec<DVector<f64>> = open.iter().map(|side| side.at.clone()).collect();
            for (side, predicted) in open.into_iter().zip(model.each_predicted(&places)) {
                // Where there is no answer, the last end that had one is kept.
                let Ok(predicted) = predicted else {
                    side.is_done = true;
                    continue;
                };
                side.learn(bowl.scaled(&predicted));
                if left > 0 {
                    side.move_others(&bowl);
                } else {
                    side.look_further(&bowl);
                }
            }
        }
        if sides.iter().all(|side| side.is_done) {
            break;
        }
    }
    sides
        .chunks_exact(2)
        .map(|pair| Ends {
            below: -pair[0].away,
            above: pair[1].away,
            is_beaten: pair.iter().any(|side| side.is_beaten),
        })
        .collect()
}

/// What a fit was made of. Rows are counted in their standard deviations, each by the weight it has in the fit.
struct Bowl<'a> {
    fitted: &'a Fit,
    believed: &'a Believed,
    /// What each row is multiplied with.
    scale: DVector<f64>,
    values: DVector<f64>,
    slopes: DMatrix<f64>,
    /// What measurements and beliefs tell of the parameters: the inverse of their covariance.
    known: DMatrix<f64>,
    /// How unlikely the best fit is.
    least: f64,
}

impl<'a> Bowl<'a> {
    fn new(fitted: &'a Fit, measured: &Measured, believed: &'a Believed) -> Self {
        let scale = fitted
            .weights
            .map(f64::sqrt)
            .component_div(&measured.deviations);
        let mut slopes = fitted.slopes.clone();
        for (k, mut row) in slopes.row_iter_mut().enumerate() {
            row *= scale[k];
        }
        let known = slopes.tr_mul(&slopes) + believed.known();
        let values = measured.values.component_mul(&scale);
        let mut bowl = Self {
            fitted,
            believed,
            scale,
            values,
            slopes,
            known,
            least: 0.0,
        };
        let predicted = bowl.scaled(&fitted.predicted);
        bowl.least = bowl.unlikely(&fitted.parameters, &predicted);
        bowl
    }

    fn scaled(&self, predicted: &DVector<f64>) -> DVector<f64> {
        predicted.component_mul(&self.scale)
    }

    /// Minus twice the logarithm of how likely measurements and parameters are together, with the weights of the fit,
    /// but for a constant.
    fn unlikely(&self, at: &DVector<f64>, predicted: &DVector<f64>) -> f64 {
        (predicted - &self.values).norm_squared() + self.believed.off(at).norm_squared()
    }
}

/// One side of one parameter.
struct Side {
    parameter: usize,
    /// How far the parameter is held from the best fit, in standard deviations of the covariance.
    away: f64,
    at: DVector<f64>,
    /// Where the model was asked last, and what it answered.
    asked: (DVector<f64>, DVector<f64>),
    slopes: DMatrix<f64>,
    /// As [`Bowl::known`], by the slopes as they are known here.
    known: DMatrix<f64>,
    is_done: bool,
    is_beaten: bool,
}

impl Side {
    fn new(parameter: usize, away: f64, bowl: &Bowl<'_>) -> Self {
        let best = &bowl.fitted.parameters;
        Self {
            parameter,
            away,
            at: best.clone(),
            asked: (best.clone(), bowl.scaled(&bowl.fitted.predicted)),
            slopes: bowl.slopes.clone(),
            known: bowl.known.clone(),
            is_done: false,
            is_beaten: false,
        }
    }

    /// Goes to where it is to be held: from the last place in proportion, at first along the covariance.
    fn go(&mut self, bowl: &Bowl<'_>) {
        let (best, c) = (&bowl.fitted.parameters, &bowl.fitted.covariance);
        let std = c[(self.parameter, self.parameter)].sqrt();
        let held = self.away * std;
        let was = self.at[self.parameter] - best[self.parameter];
        self.at = if was == 0.0 {
            best + c.column(self.parameter) * (self.away / std)
        } else {
            best + (&self.at - best) * (held / was)
        };
    }

    /// Takes what the model says here into the slopes.
    fn learn(&mut self, predicted: DVector<f64>) {
        let step = &self.at - &self.asked.0;
        let length = step.norm_squared();
        // Of a step that is nothing to speak of, only the model's noise would be learned.
        if (&self.known * &step).dot(&step) > LEAST_STEP {
            let missed = (&predicted - &self.asked.1 - &self.slopes * &step) / length;
            let told = self.slopes.tr_mul(&missed);
            self.known += &told * step.transpose() + &step * told.transpose();
            self.known += &step * step.transpose() * missed.norm_squared();
            self.slopes.ger(1.0, &missed, &step, 1.0);
        }
        self.asked = (self.at.clone(), predicted);
    }

    /// Moves the others to where they fit best, by the slopes as they are known here.
    fn move_others(&mut self, bowl: &Bowl<'_>) {
        let mut gradient = self.slopes.tr_mul(&(&self.asked.1 - &bowl.values));
        gradient += bowl.believed.known() * (&self.at - &bowl.believed.start);
        // The parameter that is held has no equation.
        let (held, mut known) = (self.parameter, self.known.clone());
        gradient[held] = 0.0;
        known.row_mut(held).fill(0.0);
        known.column_mut(held).fill(0.0);
        known[(held, held)] = 1.0;
        if let Some(step) = known.cholesky().map(|known| known.solve(&gradient)) {
            self.at -= step;
        }
    }

    /// From how much worse it is to where it would be as much worse as asked: near the best fit, that grows with the
    /// square of the distance.
    fn look_further(&mut self, bowl: &Bowl<'_>) {
        let worse = bowl.unlikely(&self.asked.0, &self.asked.1) - bowl.least;
        self.is_beaten |= worse < BEATEN;
        let is = worse.max(0.0).sqrt();
        let factor = (ONE_IN_FORTY / is.max(1e-9)).clamp(1.0 / FURTHEST, FURTHEST);
        self.away *= factor;
        self.is_done = (factor - 1.0).abs() < NEAR;
    }
}

#[cfg(test)]
mod tests;

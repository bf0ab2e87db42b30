//! Where a parameter may be, by what the fit gets worse when it is held there. Knows no chambers.
//!
//! A covariance is the shape of the bottom of the bowl. Where the model bends, the bowl is wider on one side: the ends
//! are looked for where holding the parameter, and fitting the others anew, makes the sum of squares as much larger as one
//! in forty beyond asks for (profile likelihood; D. J. Venzon and S. H. Moolgavkar, Applied Statistics 37 (1988) 87-94).
//! The others are fitted anew at each place by slopes that learn from each answer on the way (C. G. Broyden, A class of
//! methods for solving nonlinear simultaneous equations, Mathematics of Computation 19 (1965) 577-593): new slopes at every
//! place would take ten times as many runs.

use super::fit::{Believed, Fit, Measured, Model};
use crate::keys::distribution::ONE_IN_FORTY;
use nalgebra::{DMatrix, DVector};

/// So often the others are moved for each place of the parameter.
const MOVES: usize = 3;
/// So often an end is looked for anew at most,
const ROUNDS: usize = 4;
/// unless all are as near as this share of their distance.
const NEAR: f64 = 0.03;
/// An end is not looked for further from the last place than by this factor.
const FURTHEST: f64 = 2.0;
/// A fit that another place beats by more than this was not the best.
const BEATEN: f64 = -0.1;

/// How many standard deviations of the covariance lie between a parameter and its ends: both 1.96 where the bowl is what
/// the covariance says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ends {
    /// Below.
    pub below: f64,
    /// Above.
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
    let bowl = Bowl {
        fitted,
        measured,
        believed,
    };
    let mut sides: Vec<Side> = (0..count)
        .flat_map(|k| [-1.0, 1.0].map(|side| Side::new(k, side * ONE_IN_FORTY, fitted)))
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
                side.learn(predicted);
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

/// What a fit was made of.
struct Bowl<'a> {
    fitted: &'a Fit,
    measured: &'a Measured,
    believed: &'a Believed,
}

/// One side of one parameter.
struct Side {
    parameter: usize,
    /// How far the parameter is held from the best fit, in standard deviations of the covariance.
    away: f64,
    at: DVector<f64>,
    /// Where the model was asked last, and what it answered.
    known: (DVector<f64>, DVector<f64>),
    slopes: DMatrix<f64>,
    is_done: bool,
    is_beaten: bool,
}

impl Side {
    fn new(parameter: usize, away: f64, fitted: &Fit) -> Self {
        Self {
            parameter,
            away,
            at: fitted.parameters.clone(),
            known: (fitted.parameters.clone(), fitted.predicted.clone()),
            slopes: fitted.slopes.clone(),
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
        let step = &self.at - &self.known.0;
        let length = step.norm_squared();
        if length > 0.0 {
            let missed = &predicted - &self.known.1 - &self.slopes * &step;
            self.slopes += missed * step.transpose() / length;
        }
        self.known = (self.at.clone(), predicted);
    }

    /// Moves the others to where they fit best, by the slopes as they are known here.
    fn move_others(&mut self, bowl: &Bowl<'_>) {
        let (weights, deviations) = (&bowl.fitted.weights, &bowl.measured.deviations);
        let mut scaled = self.slopes.clone();
        let mut off = &self.known.1 - &bowl.measured.values;
        for (k, mut row) in scaled.row_iter_mut().enumerate() {
            let share = weights[k].sqrt() / deviations[k];
            row *= share;
            off[k] *= share;
        }
        let mut gradient = scaled.tr_mul(&off);
        let mut known = scaled.tr_mul(&scaled);
        for (k, deviation) in bowl.believed.deviations.iter().enumerate() {
            let weight = deviation.powi(-2);
            gradient[k] += (self.at[k] - bowl.believed.start[k]) * weight;
            known[(k, k)] += weight;
        }
        // The parameter that is held has no equation.
        let held = self.parameter;
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
        let least = unlikely(&bowl.fitted.parameters, &bowl.fitted.predicted, bowl);
        let worse = unlikely(&self.known.0, &self.known.1, bowl) - least;
        self.is_beaten |= worse < BEATEN;
        let is = worse.max(0.0).sqrt();
        let factor = (ONE_IN_FORTY / is.max(1e-9)).clamp(1.0 / FURTHEST, FURTHEST);
        self.away *= factor;
        self.is_done = (factor - 1.0).abs() < NEAR;
    }
}

/// Minus twice the logarithm of how likely measurements and parameters are together, with the weights of the fit, but for
/// a constant.
fn unlikely(at: &DVector<f64>, predicted: &DVector<f64>, bowl: &Bowl<'_>) -> f64 {
    let measured = bowl.measured;
    let off = (predicted - &measured.values).component_div(&measured.deviations);
    let each = off.iter().zip(&bowl.fitted.weights);
    let squares: f64 = each.map(|(off, weight)| weight * off * off).sum();
    let moved = (at - &bowl.believed.start).component_div(&bowl.believed.deviations);
    squares + moved.norm_squared()
}

#[cfg(test)]
mod tests;

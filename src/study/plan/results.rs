//! What is to be known better, and how well it is known.

use super::belief::{Belief, Seen};
use super::least::Least;
use super::slopes::Slopes;
use crate::chamber::StationKind;
use crate::study::sensitivity::Both;
use nalgebra::DVector;

/// Nine of ten lie so many standard deviations about the middle of a normal distribution.
pub const NINE_OF_TEN: f64 = 1.644_853_626_951_473;

/// What the margin and the filament are to be known by: slopes that say how they move, and what no reading tells.
#[derive(Debug, Clone)]
pub(super) struct Results {
    /// How the hottest filament moves.
    pub filament: DVector<f64>,
    /// What of its variance no straight line through readings tells, K².
    pub filament_bend_K2: f64,
    /// How the least margin does.
    pub least: Least,
}

impl Results {
    /// Those of a run whose least margin is at that station.
    pub fn of(belief: &Belief, slopes: &Slopes, station: StationKind) -> Self {
        let at = station as usize;
        let (_, bent) = slopes.filament.added(&belief.of_values());
        Self {
            filament: slopes.filament.slopes_of(at),
            filament_bend_K2: bent[(at, at)],
            least: Least::of(belief, &slopes.margins_K, &slopes.margins),
        }
    }

    /// The same where the model leaves out so much, K, whatever its values: a standard deviation.
    pub fn besides(mut self, left_out_K: f64) -> Self {
        self.filament_bend_K2 += left_out_K.powi(2);
        self.least.bend_K2 += left_out_K.powi(2);
        self
    }

    /// Half of what nine of ten lie between, where readings have taken away so much of the variances, K².
    pub fn half_widths_K(&self, belief: &Belief, gained: Both<f64>) -> Both<f64> {
        let half = |variance_K2: f64| NINE_OF_TEN * variance_K2.max(0.0).sqrt();
        Both {
            peak: half(belief.variance(&self.filament) + self.filament_bend_K2 - gained.peak),
            margin: half(belief.variance(&self.least.slopes) + self.least.bend_K2 - gained.margin),
        }
    }

    /// How much of the variances readings take away, K².
    pub fn gained(&self, belief: &Belief, seen: &Seen) -> Both<f64> {
        Both {
            peak: belief.gained(&self.filament, seen),
            margin: belief.gained(&self.least.slopes, seen),
        }
    }
}

//! What samples of a run come to: percentiles, chances, a band over time.

use crate::chamber::StationKind;

/// What is drawn from the values in doubt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sampling {
    /// How many runs.
    pub samples: u32,
    /// Which of the sequences of points.
    pub seed: u32,
}

impl Default for Sampling {
    fn default() -> Self {
        Self {
            samples: 256,
            seed: 1,
        }
    }
}

/// The share of samples that lies below the band, and above it.
pub const TAIL: f64 = 0.05;

/// What came of one sample.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// The hottest filament that has stood at each of [`StationKind::ALL`], K.
    pub hottest_K: [f64; StationKind::ALL.len()],
    /// Least margin to the softening limit at any station, K.
    pub margin_K: f64,
    /// Whether a heater could not hold its setpoint.
    pub cannot_run: bool,
}

impl Sample {
    /// The hottest filament at a station, K.
    #[must_use]
    pub fn at(&self, station: StationKind) -> f64 {
        let each = StationKind::ALL.iter().zip(self.hottest_K);
        let mut at = each.filter(|(s, _)| **s == station);
        at.next().map_or(f64::NAN, |(_, hottest_K)| hottest_K)
    }
}

/// How sure a result is.
#[derive(Debug, Clone, PartialEq)]
pub struct Certainty {
    /// What was drawn.
    pub sampling: Sampling,
    /// How many values were in doubt.
    pub doubtful: usize,
    /// Samples that ended in a result, in their order.
    pub samples: Vec<Sample>,
    /// Those that did not, and why: what was drawn does not go together, or could not be integrated.
    pub failed: Vec<String>,
    /// The station at which the filament's band over time was taken.
    pub station: StationKind,
    /// That band.
    pub over_time: Band,
}

/// A band over time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Band {
    /// Moments, s from the start.
    pub at_s: Vec<f64>,
    /// The twentieth part of samples lies below, K.
    pub low_K: Vec<f64>,
    /// The twentieth part of samples lies above, K.
    pub high_K: Vec<f64>,
}

/// The 5th, 50th and 95th percentile of something, in its unit (temperatures and margins K).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Percentiles {
    /// 5th.
    pub p05: f64,
    /// 50th.
    pub p50: f64,
    /// 95th.
    pub p95: f64,
}

impl Certainty {
    /// The hottest filament at a station, K; none where no sample ended in a result.
    #[must_use]
    pub fn hottest_K(&self, station: StationKind) -> Option<Percentiles> {
        percentiles(self.samples.iter().map(|s| s.at(station)).collect())
    }

    /// The least margin, K; none where no sample ended in a result.
    #[must_use]
    pub fn margin_K(&self) -> Option<Percentiles> {
        percentiles(self.samples.iter().map(|s| s.margin_K).collect())
    }

    /// The share of samples that soften. One that came to no result counts as one: nobody knows that it would hold.
    #[must_use]
    pub fn chance_softens(&self) -> f64 {
        let softens = self.samples.iter().filter(|s| s.margin_K < 0.0).count();
        self.share(softens + self.failed.len())
    }

    /// The share of samples in which a heater can't hold its setpoint.
    #[must_use]
    pub fn chance_cannot_run(&self) -> f64 {
        self.share(self.samples.iter().filter(|s| s.cannot_run).count())
    }

    fn share(&self, count: usize) -> f64 {
        let all = self.samples.len() + self.failed.len();
        #[expect(clippy::cast_precision_loss, reason = "some thousands")]
        let share = count as f64 / all.max(1) as f64;
        share
    }
}

/// Percentiles by linear interpolation between the values in order; none of nothing.
pub(super) fn percentiles(mut values: Vec<f64>) -> Option<Percentiles> {
    values.sort_unstable_by(f64::total_cmp);
    let at = |share| between_in_order(&values, share);
    Some(Percentiles {
        p05: at(TAIL)?,
        p50: at(0.5)?,
        p95: at(1.0 - TAIL)?,
    })
}

/// The value below which that share of values in order lies: the first is at 0, the last at 1 (Hyndman and Fan 1996,
/// definition 7).
pub(super) fn between_in_order(values: &[f64], share: f64) -> Option<f64> {
    #[expect(clippy::cast_precision_loss, reason = "some thousands")]
    let place = share * values.len().saturating_sub(1) as f64;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "within the values"
    )]
    let below = place.floor() as usize;
    let low = *values.get(below)?;
    let high = *values.get(below + 1).unwrap_or(&low);
    Some(low + (high - low) * (place - place.floor()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// R's `quantile(c(1, 2, 3, 4, 10), c(0.05, 0.5, 0.95))`, type 7: 1.2, 3, 8.8 (by hand).
    #[test]
    fn percentiles_lie_between_values() {
        let p = percentiles(vec![10.0, 3.0, 1.0, 4.0, 2.0]).expect("some");
        assert!((p.p05 - 1.2).abs() < 1e-12 && (p.p50 - 3.0).abs() < 1e-12);
        assert!((p.p95 - 8.8).abs() < 1e-12);
        assert_eq!(percentiles(vec![]), None);
    }

    fn sample(hottest_K: f64, margin_K: f64) -> Sample {
        Sample {
            hottest_K: [hottest_K; StationKind::ALL.len()],
            margin_K,
            cannot_run: false,
        }
    }

    /// What came to no result is no sample that holds.
    #[test]
    fn a_sample_that_failed_counts_as_softening() {
        let mut c = Certainty {
            sampling: Sampling::default(),
            doubtful: 1,
            samples: vec![sample(320.0, 3.0), sample(322.0, 1.0), sample(324.0, -1.0)],
            failed: vec![],
            station: StationKind::DriveGear,
            over_time: Band::default(),
        };
        assert!((c.chance_softens() - 1.0 / 3.0).abs() < 1e-12);
        c.failed.push("a part larger than the bed".to_owned());
        assert!((c.chance_softens() - 0.5).abs() < 1e-12);
        assert!((c.hottest_K(StationKind::DriveGear).expect("samples").p50 - 322.0).abs() < 1e-12);
        assert!((c.margin_K().expect("samples").p50 - 1.0).abs() < 1e-12);
    }
}

//! The chance of softening at any flow, from whole bands at a few.
//!
//! The same samples are run at every flow, so that a sample's margin is a function of flow. Between the flows run it is
//! taken as straight over the flow's logarithm: more flow gains ever less, so the true margin lies above the straight
//! line, and the chance told is rather too large.

use super::flow::GRAIN_M3_PER_S;
use crate::run::Inputs;
use crate::study::band::Sampling;
use crate::study::certainty::margins_K;

/// So many flows are run.
const FLOWS: u32 = 6;

/// The margins of samples at some flows.
#[derive(Debug, Clone, PartialEq)]
pub struct Chances {
    /// How they were drawn.
    pub sampling: Sampling,
    /// Flow, m3/s, rising, and the margin of every sample, K.
    at: Vec<(f64, Vec<f64>)>,
}

impl Chances {
    /// Runs the samples at flows from the first to the last, m3/s.
    pub(super) fn between(inputs: &Inputs, first: f64, last: f64, sampling: Sampling) -> Self {
        let last = last.max(1.01 * first);
        let flows = (0..FLOWS).map(|k| {
            let share = f64::from(k) / f64::from(FLOWS - 1);
            first * (last / first).powf(share)
        });
        let at = flows.map(|flow| {
            let mut inputs = inputs.clone();
            inputs.extract(flow);
            (flow, margins_K(&inputs, sampling))
        });
        Self {
            sampling,
            at: at.collect(),
        }
    }

    /// The chance of softening at a flow, m3/s: at one beyond those run that of the nearest of them.
    #[must_use]
    pub fn at(&self, flow_m3_per_s: f64) -> f64 {
        let after = self.at.partition_point(|(flow, _)| *flow < flow_m3_per_s);
        let margins_K: Vec<f64> = match (
            after.checked_sub(1).and_then(|k| self.at.get(k)),
            self.at.get(after),
        ) {
            (Some((low, below)), Some((high, above))) => {
                let share = (flow_m3_per_s / low).ln() / (high / low).ln();
                let each = below.iter().zip(above);
                each.map(|(b, a)| {
                    if share >= 1.0 {
                        *a
                    } else {
                        b + (a - b) * share
                    }
                })
                .collect()
            }
            (Some((_, margins)), None) | (None, Some((_, margins))) => margins.clone(),
            (None, None) => return 1.0,
        };
        // What is no number softens: a sample without a result is none that holds.
        let holds = margins_K.iter().filter(|m| **m >= 0.0).count();
        let softens = margins_K.len() - holds;
        #[expect(clippy::cast_precision_loss, reason = "some thousands")]
        let share = softens as f64 / margins_K.len().max(1) as f64;
        share
    }

    /// The least flow of those between the first and the last run at which the chance is at most that, m3/s, rounded up
    /// to the grain of flows; none where it is larger at all of them.
    #[must_use]
    pub fn least(&self, chance: f64) -> Option<f64> {
        let (first, last) = (self.at.first()?.0, self.at.last()?.0);
        let grains = |flow: f64| flow / GRAIN_M3_PER_S;
        let (mut fails, mut does) = (grains(first).floor(), grains(last).floor());
        let is_enough = |grains: f64| self.at(grains * GRAIN_M3_PER_S) <= chance;
        if !is_enough(does) {
            return None;
        }
        if is_enough(fails) {
            return Some(fails * GRAIN_M3_PER_S);
        }
        while does - fails > 1.0 {
            let middle = f64::midpoint(fails, does).floor();
            if is_enough(middle) {
                does = middle;
            } else {
                fails = middle;
            }
        }
        Some(does * GRAIN_M3_PER_S)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Margins by hand: straight over the logarithm between 10 and 1000 m3/h.
    fn two_samples() -> Chances {
        let flow = |m3_per_h: f64| m3_per_h / 3600.0;
        Chances {
            sampling: Sampling::default(),
            at: vec![
                (flow(10.0), vec![-1.0, -3.0]),
                (flow(1000.0), vec![1.0, 1.0]),
            ],
        }
    }

    #[test]
    fn between_flows_margins_are_straight_over_the_logarithm() {
        let chances = two_samples();
        // The first sample turns at 100 m3/h, the second at 10 * 100^(3/4) = 316.2.
        for (m3_per_h, chance) in [
            (5.0, 1.0),
            (99.0, 1.0),
            (101.0, 0.5),
            (316.0, 0.5),
            (317.0, 0.0),
            (2000.0, 0.0),
        ] {
            assert_eq!(chances.at(m3_per_h / 3600.0), chance, "{m3_per_h}");
        }
        let least = |chance| {
            chances
                .least(chance)
                .map(|q| (q * 3600.0 * 10.0).round() / 10.0)
        };
        assert_eq!(least(0.5), Some(100.0));
        assert_eq!(least(0.05), Some(316.3));
        assert_eq!(least(1.0), Some(10.0));
    }

    #[test]
    fn a_sample_without_a_result_never_holds() {
        let mut chances = two_samples();
        for (_, margins) in &mut chances.at {
            margins[1] = f64::NEG_INFINITY;
        }
        assert_eq!(chances.at(0.5), 0.5);
        assert_eq!(chances.at(0.02), 1.0);
        assert_eq!(chances.least(0.05), None);
    }
}

//! The chance of softening at any flow, from whole bands at a few; and of a fan, whose flow is in doubt too.
//!
//! The same samples, drawn once, are run at every flow, so that a sample's margin is a function of flow. Between the flows run it is
//! taken as straight over the flow's logarithm, and below the least of them as straight over the flow itself: more flow
//! gains ever less, so the true margin lies above the straight line, and the chance told is rather too large.
//!
//! A fan does not give every sample the same flow: leaks, filter, wind and its own curve differ. Each sample's flow is
//! where the fan meets that sample's system.

use rayon::prelude::*;

use super::candidates::{Candidate, Sure, counts_as};
use super::flow::{GRAIN_M3_PER_S, WayOut};
use crate::chamber::things::shut_opening_m2;
use crate::keys::Distribution;
use crate::keys::fields::fan::POINT;
use crate::keys::schema::Kind;
use crate::physics::air::pressure_at_altitude_Pa;
use crate::physics::fan::crossing;
use crate::run::{Doubtful, ExtractionSystem, Inputs};
use crate::study::band::{Percentiles, Sampling, percentiles};
use crate::study::certainty::{drawn_inputs, margins_of_drawn_K, points, run_of};

/// So many flows are run.
const FLOWS: u32 = 6;
/// So many places of a curve are compared to find where it meets a sample's system.
const PLACES: u32 = 24;

/// The margins of samples at some flows, and what air has to pass in each.
#[derive(Debug, Clone, PartialEq)]
pub struct Chances {
    /// How they were drawn.
    pub sampling: Sampling,
    /// The margin of every sample without a fan, K.
    closed: Vec<f64>,
    /// Flow, m3/s, rising, and the margin of every sample, K.
    at: Vec<(f64, Vec<f64>)>,
    /// What air has to pass in every sample; none where what was drawn does not go together.
    systems: Vec<Option<SampleSystem>>,
}

/// What air has to pass in a sample.
#[derive(Debug, Clone, PartialEq)]
struct SampleSystem {
    system: ExtractionSystem,
    ambient_Pa: f64,
    opening_m2: f64,
    /// Pressure of a fan over what its curve says.
    fan: f64,
}

impl SampleSystem {
    fn of(drawn: &Drawn) -> Option<Self> {
        let run = run_of(drawn.inputs.as_ref().ok()?).ok()?;
        Some(Self {
            ambient_Pa: pressure_at_altitude_Pa(run.room.altitude_m),
            opening_m2: shut_opening_m2(&run),
            system: run.system,
            fan: drawn.fan,
        })
    }

    fn way_out(&self, (extracted_K, room_K): (f64, f64), wider_m2: f64) -> WayOut<'_> {
        WayOut {
            system: &self.system,
            ambient_Pa: self.ambient_Pa,
            extracted_K,
            room_K,
            opening_m2: self.opening_m2 + wider_m2,
        }
    }

    /// The flow that a fan gives with a clean or loaded filter, m3/s.
    fn met_m3_per_s(&self, c: &Candidate, air_K: (f64, f64), wider_m2: f64, loaded: bool) -> f64 {
        let way_out = self.way_out(air_K, wider_m2);
        let density = self.fan * way_out.density_kg_per_m3();
        let curve = c.setup.curve(&c.fan.curve, density);
        let system_Pa = |q: f64| way_out.split(q, loaded).total_Pa() + c.setup.damper_Pa(q);
        crossing(&curve, PLACES, system_Pa).flow_m3_per_s
    }
}

impl Chances {
    /// Runs the samples closed and at flows from the first to the last, m3/s.
    pub(super) fn between(inputs: &Inputs, first: f64, last: f64, sampling: Sampling) -> Self {
        let last = last.max(1.01 * first);
        let flows = (0..FLOWS).map(|k| {
            let share = f64::from(k) / f64::from(FLOWS - 1);
            first * (last / first).powf(share)
        });
        let drawn = samples(inputs, sampling);
        let margins_at = |flow: f64| {
            let runs = drawn.par_iter().map(|sample| {
                let mut inputs = sample.inputs.clone()?;
                inputs.fit_fan(flow);
                run_of(&inputs)
            });
            margins_of_drawn_K(runs.collect())
        };
        Self {
            sampling,
            closed: margins_at(0.0),
            at: flows.map(|flow| (flow, margins_at(flow))).collect(),
            systems: drawn.iter().map(SampleSystem::of).collect(),
        }
    }

    /// The margin of a sample at a flow, K: at one beyond those run that of the last of them.
    fn margin_K(&self, sample: usize, flow_m3_per_s: f64) -> f64 {
        let closed = self.closed[sample];
        if flow_m3_per_s <= 0.0 {
            return closed;
        }
        let after = self.at.partition_point(|(flow, _)| *flow < flow_m3_per_s);
        match (
            after.checked_sub(1).map(|k| &self.at[k]),
            self.at.get(after),
        ) {
            (Some((low, below)), Some((high, above))) => {
                let share = (flow_m3_per_s / low).ln() / (high / low).ln();
                between(below[sample], above[sample], share)
            }
            (None, Some((first, margins))) => {
                between(closed, margins[sample], flow_m3_per_s / first)
            }
            (Some((_, margins)), None) => margins[sample],
            (None, None) => closed,
        }
    }

    fn share_that_fails(&self, margin_K: impl Fn(usize) -> f64 + Sync) -> f64 {
        let count = self.closed.len();
        // What is no number softens: a sample without a result is none that holds.
        let holds = (0..count)
            .into_par_iter()
            .filter(|k| margin_K(*k) >= 0.0)
            .count();
        #[expect(clippy::cast_precision_loss, reason = "some thousands")]
        let share = (count - holds) as f64 / count.max(1) as f64;
        share
    }

    /// The chance of softening at a flow, m3/s.
    #[must_use]
    pub fn at(&self, flow_m3_per_s: f64) -> f64 {
        self.share_that_fails(|k| self.margin_K(k, flow_m3_per_s))
    }

    /// The chance of softening without a fan.
    #[must_use]
    pub fn closed(&self) -> f64 {
        self.at(0.0)
    }

    /// Whether the chance of softening without a fan is at most that, as far as so many samples tell.
    #[must_use]
    pub fn is_sure_closed(&self, chance: f64) -> bool {
        counts_as(self.closed(), self.sampling.samples) <= chance
    }

    /// The margins at a flow, m3/s, K; none where no sample came to a result.
    #[must_use]
    pub fn band_K(&self, flow_m3_per_s: f64) -> Option<Percentiles> {
        let each = (0..self.closed.len()).map(|k| self.margin_K(k, flow_m3_per_s));
        percentiles(each.filter(|m| m.is_finite()).collect())
    }

    /// How sure a fan is, each sample at the flow that the fan gives there.
    ///
    /// * `air_K`: temperature of the air at the fan, and of the room. `wider_m2`: discharge coefficient times area of
    ///   openings that are added. `most_m3_per_s`: more than this is too much.
    pub(super) fn with(
        &self,
        c: &Candidate,
        air_K: (f64, f64),
        wider_m2: f64,
        most_m3_per_s: Option<f64>,
    ) -> Sure {
        let softens = self.share_that_fails(|k| match &self.systems[k] {
            Some(system) => self.margin_K(k, system.met_m3_per_s(c, air_K, wider_m2, true)),
            None => f64::NEG_INFINITY,
        });
        let too_much = most_m3_per_s.map_or(0.0, |most| {
            self.share_that_fails(|k| match &self.systems[k] {
                Some(system) => most - system.met_m3_per_s(c, air_K, wider_m2, false),
                None => f64::NEG_INFINITY,
            })
        });
        Sure {
            softens,
            too_much,
            samples: self.sampling.samples,
        }
    }

    /// The pressure that a flow with a loaded filter takes in all but a share of the samples, Pa.
    pub(super) fn pressure_Pa(&self, flow_m3_per_s: f64, air_K: (f64, f64)) -> Option<f64> {
        let each = self.systems.iter().flatten();
        let all = each.map(|s| s.way_out(air_K, 0.0).split(flow_m3_per_s, true).total_Pa());
        percentiles(all.collect()).map(|p| p.p95)
    }

    /// The least flow of those between the first and the last run at which the chance is at most that, m3/s, rounded up
    /// to the grain of flows; none where it is larger at all of them.
    #[must_use]
    pub fn least(&self, chance: f64) -> Option<f64> {
        if self.is_sure_closed(chance) {
            return Some(0.0);
        }
        let last = self.at.last()?.0;
        let (mut fails, mut does) = (0.0, (last / GRAIN_M3_PER_S).floor());
        let counted = |flow| counts_as(self.at(flow), self.sampling.samples);
        let is_enough = |grains: f64| counted(grains * GRAIN_M3_PER_S) <= chance;
        if !is_enough(does) {
            return None;
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

fn between(low: f64, high: f64, share: f64) -> f64 {
    // Endless lacks have no straight line between them.
    if share >= 1.0 {
        high
    } else if share <= 0.0 {
        low
    } else {
        low + (high - low) * share
    }
}

/// A sample before a fan is fitted.
struct Drawn {
    inputs: Result<Inputs, String>,
    /// Pressure of a fan over what its curve says.
    fan: f64,
}

/// The samples: the flow that the run itself may name is not in doubt, as it is replaced; the fan's own curve is.
fn samples(inputs: &Inputs, sampling: Sampling) -> Vec<Drawn> {
    let doubtful = inputs.doubtful();
    let is_flow = |d: &Doubtful| {
        let key = d.input.key();
        key.starts_with("arrangement.") && key.ends_with("flow")
    };
    let flows: Vec<bool> = doubtful.iter().map(is_flow).collect();
    let own = u32::try_from(doubtful.len()).unwrap_or(u32::MAX);
    let fan = fan_pressure();
    (0..sampling.samples)
        .into_par_iter()
        .map(|k| {
            let at = |dimension: u32| match flows.get(dimension as usize) {
                Some(true) => 0.0,
                _ => points::normal(k, dimension, sampling.seed),
            };
            Drawn {
                inputs: drawn_inputs(inputs, &doubtful, at),
                fan: fan.map_or(1.0, |fan| fan.at(at(own))),
            }
        })
        .collect()
}

/// How far a fan's pressures may lie from its data sheet's, as the keys of its curve declare.
fn fan_pressure() -> Option<Distribution> {
    let field = POINT.field("pressure")?;
    match field.kind {
        Kind::Quantity(range) => Distribution::of(&range, 1.0, field.spread?),
        _ => None,
    }
}

#[cfg(test)]
impl Chances {
    /// A sample's margin at a flow, and the flow that a fan gives it.
    pub(super) fn of_sample(&self, sample: usize, c: &Candidate, air_K: (f64, f64)) -> (f64, f64) {
        let system = self.systems[sample].as_ref().expect("it goes together");
        let flow = system.met_m3_per_s(c, air_K, 0.0, true);
        (flow, self.margin_K(sample, flow))
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
            closed: vec![-3.0, -5.0],
            at: vec![
                (flow(10.0), vec![-1.0, -3.0]),
                (flow(1000.0), vec![1.0, 1.0]),
            ],
            systems: vec![None, None],
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
        assert_eq!(least(1.0), Some(0.0));
        // Straight over the flow below the first: half way from closed at 5 m3/h.
        assert_eq!(chances.margin_K(0, 5.0 / 3600.0), -2.0);
        assert_eq!(chances.margin_K(1, -1.0), -5.0);
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

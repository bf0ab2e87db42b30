//! Which phase and arrangement hold when: the run cut at every change.

use crate::network::elements::Growth;
use crate::run::Run;
use crate::run::{Arrangement, ArrangementKind, Control, Phase};

/// Fraction of the part that is there when the run starts: the first layer. A part of no mass at
/// all would have no temperature.
pub const FIRST_LAYER: f64 = 0.005;

/// A stretch with one phase and one arrangement.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Begin, s.
    pub begin_s: f64,
    /// End, s.
    pub end_s: f64,
    /// Position of the phase in the run.
    pub phase: usize,
    /// Configuration while the arrangement works.
    pub on: usize,
    /// Configuration while a thermostat rests, and the temperatures of the top layer at which it
    /// starts and stops, K.
    pub thermostat: Option<Thermostat>,
    /// Growth of the part; its node is filled in by the builder.
    pub growth: Growth,
}

/// A thermostat's other configuration and its two temperatures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thermostat {
    /// Configuration while it rests.
    pub off: usize,
    /// Starts above, K.
    pub on_above_K: f64,
    /// Stops below, K.
    pub off_below_K: f64,
}

/// What a configuration is built for.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    /// Phase, with begin and end set to zero.
    pub phase: Phase,
    /// Arrangement at work.
    pub arrangement: ArrangementKind,
}

/// The run cut at every change.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Timeline {
    /// Stretches in order, without gaps.
    pub stretches: Vec<Stretch>,
    /// What each configuration is built for.
    pub recipes: Vec<Recipe>,
}

impl Timeline {
    /// Cuts a run. `part_node` is the growing node.
    #[must_use]
    pub fn new(run: &Run, part_node: usize) -> Self {
        let mut cuts: Vec<f64> = vec![0.0, run.duration_s];
        cuts.extend(run.phases.iter().flat_map(|p| [p.begin_s, p.end_s]));
        cuts.extend(run.schedule.iter().flat_map(|s| [s.begin_s, s.end_s]));
        cuts.retain(|t| *t >= 0.0 && *t <= run.duration_s);
        cuts.sort_by(f64::total_cmp);
        cuts.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        let fed: f64 = run
            .phases
            .iter()
            .map(|p| p.feed_kg_per_s * (p.end_s - p.begin_s))
            .sum();
        let mut timeline = Self::default();
        let mut laid = 0.0;
        for w in cuts.windows(2) {
            let (begin_s, end_s) = (w[0], w[1]);
            let middle = 0.5 * (begin_s + end_s);
            let Some(phase) = run
                .phases
                .iter()
                .position(|p| p.begin_s <= middle && middle < p.end_s)
            else {
                continue;
            };
            let arrangement = arrangement_at(run, middle);
            let on = timeline.recipe(&run.phases[phase], &arrangement.kind);
            let thermostat = match arrangement.control {
                Control::Constant => None,
                Control::Thermostat {
                    on_above_K,
                    off_below_K,
                } => Some(Thermostat {
                    off: timeline.recipe(&run.phases[phase], &ArrangementKind::Closed),
                    on_above_K,
                    off_below_K,
                }),
            };
            let share = |kg: f64| {
                if fed > 0.0 {
                    (1.0 - FIRST_LAYER) * kg / fed
                } else {
                    0.0
                }
            };
            let feed = run.phases[phase].feed_kg_per_s;
            let growth = Growth {
                node: part_node,
                fraction: FIRST_LAYER + share(laid),
                rate_per_s: share(feed),
                since_s: begin_s,
            };
            laid += feed * (end_s - begin_s);
            timeline.stretches.push(Stretch {
                begin_s,
                end_s,
                phase,
                on,
                thermostat,
                growth,
            });
        }
        timeline
    }

    fn recipe(&mut self, phase: &Phase, arrangement: &ArrangementKind) -> usize {
        let recipe = Recipe {
            phase: Phase {
                begin_s: 0.0,
                end_s: 0.0,
                ..phase.clone()
            },
            arrangement: arrangement.clone(),
        };
        self.recipes
            .iter()
            .position(|r| *r == recipe)
            .unwrap_or_else(|| {
                self.recipes.push(recipe);
                self.recipes.len() - 1
            })
    }

    /// The stretch that holds at a time; at a cut the later one.
    #[must_use]
    pub fn index_at(&self, t_s: f64) -> usize {
        self.stretches
            .partition_point(|s| s.begin_s <= t_s + 1e-9)
            .saturating_sub(1)
    }
}

/// What is open, shut or blowing at a time.
#[must_use]
pub fn arrangement_at(run: &Run, t_s: f64) -> &Arrangement {
    run.schedule
        .iter()
        .find(|s| s.begin_s <= t_s && t_s < s.end_s)
        .map_or(&run.arrangement, |s| &s.arrangement)
}

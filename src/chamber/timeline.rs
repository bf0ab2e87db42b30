//! Which phase and arrangement hold when: the run cut at every change.

use crate::course::{Course, Points};
use crate::network::{self, Index, ScheduleError};
use crate::run::{Arrangement, Control, Off, Phase, Run};
use std::sync::Arc;

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
    /// What a thermostat does to it.
    pub thermostat: Option<Thermostat>,
    /// Growth of the part.
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

/// Growth of the part over a stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Growth {
    /// Share that is there at `since_s`.
    pub fraction: f64,
    /// Change of the share, 1/s.
    pub rate_per_s: f64,
    /// Time the share is stated for, s.
    pub since_s: f64,
}

impl Growth {
    /// The share at a time.
    #[must_use]
    pub fn at(&self, t_s: f64) -> f64 {
        self.fraction + self.rate_per_s * (t_s - self.since_s)
    }
}

/// What a configuration is built for.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    /// Phase, with begin and end set to zero.
    pub phase: Phase,
    /// Arrangement at work.
    pub arrangement: Arrangement,
    /// Whether the room's air conditioner works.
    pub cooler_works: bool,
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
    /// Cuts a run.
    ///
    /// # Errors
    /// When its phases leave a gap or end before it does.
    pub fn new(run: &Run) -> Result<Self, ScheduleError> {
        let mut cuts: Vec<f64> = vec![0.0, run.duration_s];
        cuts.extend(run.phases.iter().flat_map(|p| [p.begin_s, p.end_s]));
        cuts.extend(run.schedule.iter().flat_map(|s| [s.begin_s, s.end_s]));
        cuts.extend(run.fails.iter().flat_map(|f| [f.begin_s, f.end_s]));
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
        let mut from = 0;
        for w in cuts.windows(2) {
            let (begin_s, end_s) = (w[0], w[1]);
            let middle = 0.5 * (begin_s + end_s);
            // Phases are in order, and a job's own course may have thousands.
            let holds = |p: &Phase| p.begin_s <= middle && middle < p.end_s;
            let Some(phase) = run.phases[from..].iter().position(holds) else {
                continue;
            };
            let phase = from + phase;
            from = phase;
            let off = Off::at(&run.fails, middle);
            let planned = &run.phases[phase];
            let does = if off.machine {
                planned.without_power()
            } else {
                planned.clone()
            };
            let arrangement = match arrangement_at(run, middle) {
                planned if off.fan => planned.at_rest(),
                planned => planned.clone(),
            };
            let cooler_works = !off.air_conditioner;
            let on = timeline.recipe(&does, &arrangement, cooler_works);
            let thermostat = match arrangement.control {
                Control::Constant => None,
                Control::Thermostat {
                    on_above_K,
                    off_below_K,
                } => Some(Thermostat {
                    off: timeline.recipe(&does, &arrangement.at_rest(), cooler_works),
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
            let feed = does.feed_kg_per_s;
            let growth = Growth {
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
        let ends_s = timeline.stretches.last().map(|s| s.end_s);
        match ends_s {
            Some(end_s) if end_s >= run.duration_s - 1e-6 => Ok(timeline),
            _ => Err(ScheduleError::TooShort {
                run_h: run.duration_s / 3600.0,
                end_h: ends_s.unwrap_or(0.0) / 3600.0,
            }),
        }
    }

    /// The share of the part that is there over the run.
    #[must_use]
    pub fn part_share(&self) -> Course {
        let (mut times_s, mut shares): (Vec<f64>, Vec<f64>) = self
            .stretches
            .iter()
            .map(|s| (s.begin_s, s.growth.fraction))
            .unzip();
        if let Some(last) = self.stretches.last() {
            times_s.push(last.end_s);
            shares.push(last.growth.at(last.end_s));
        }
        // Cuts lie apart and in order, so they make a course.
        Points::new(times_s, shares).map_or(Course::Constant(FIRST_LAYER), |points| {
            Course::series(Arc::new(points))
        })
    }

    /// The stretches as a network's, whose thermostats measure a point.
    #[must_use]
    pub fn schedule(&self, measures: Index) -> Vec<network::Stretch> {
        let stretches = self.stretches.iter().map(|s| network::Stretch {
            begin_s: s.begin_s,
            end_s: s.end_s,
            configuration: s.on,
            thermostat: s.thermostat.map(|t| network::Thermostat {
                resting: t.off,
                measures,
                on_above_K: t.on_above_K,
                off_below_K: t.off_below_K,
            }),
        });
        stretches.collect()
    }

    fn recipe(&mut self, phase: &Phase, arrangement: &Arrangement, cooler_works: bool) -> usize {
        let recipe = Recipe {
            phase: Phase {
                begin_s: 0.0,
                end_s: 0.0,
                ..phase.clone()
            },
            arrangement: Arrangement {
                control: Control::Constant,
                ..arrangement.clone()
            },
            cooler_works,
        };
        self.recipes
            .iter()
            .position(|r| *r == recipe)
            .unwrap_or_else(|| {
                self.recipes.push(recipe);
                self.recipes.len() - 1
            })
    }
}

/// What is open, shut or blowing at a time, when everything works.
#[must_use]
pub fn arrangement_at(run: &Run, t_s: f64) -> &Arrangement {
    // Stretches are in order, and a log may have hundreds.
    let next = run.schedule.partition_point(|s| s.end_s <= t_s);
    let scheduled = run.schedule.get(next).filter(|s| s.begin_s <= t_s);
    scheduled.map_or(&run.arrangement, |s| &s.arrangement)
}

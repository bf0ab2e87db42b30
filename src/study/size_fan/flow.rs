//! Whole runs at one extraction flow each, and the flows between which the answer lies.

use crate::chamber::things::shut_opening_m2;
use crate::chamber::{IntegratorKind, Simulation};
use crate::integrate::{Options, Piece};
use crate::keys::Problems;
use crate::physics::air::{Air, pressure_at_altitude_Pa};
use crate::physics::duct::orifice_pressure_Pa;
use crate::run::{
    Arrangement, ArrangementKind, ExtractionSystem, Inputs, PhaseKind, Run, Scheduled,
};
use crate::study::StudyError;
use crate::study::check::{Outcome, Verdict, outcome_in};
use crate::study::fan_use::fan_use;
use crate::study::heaters::Shortfall;
use crate::study::many::readings;

/// Largest flow tried, m3/s (2000 m3/h): far beyond what any chamber of this kind is given.
pub const MOST_FLOW_M3_PER_S: f64 = 2000.0 / 3600.0;
/// Steps of flow to which answers are given, m3/s (0.1 m3/h).
pub const GRAIN_M3_PER_S: f64 = 0.1 / 3600.0;
/// Flows tried first, m3/h, together on all cores.
const FIRST_M3_PER_H: [f64; 6] = [0.0, 10.0, 40.0, 120.0, 500.0, MOST_FLOW_M3_PER_S * 3600.0];
/// The chamber may be cool while it warms up: this long, or a quarter of the run if that is less.
const WARM_UP_S: f64 = 3.0 * 3600.0;
/// And this long after a stretch with another arrangement, such as an opened door.
const RECOVERY_S: f64 = 3600.0;

/// No fan of the kind that is fitted to such a machine gives more pressure than this, Pa (common practice, no source:
/// small radial blowers end below it).
const MOST_FAN_PA: f64 = 1000.0;

/// A whole run at one flow.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// Extraction flow, m3/s.
    pub flow_m3_per_s: f64,
    /// The filament's hottest moment.
    pub outcome: Outcome,
    /// Mean temperature of the air layer that is extracted from, K.
    pub extracted_K: f64,
    /// Highest temperature of that air, K.
    pub extracted_max_K: f64,
    /// Mean temperature of the room, K.
    pub room_K: f64,
    /// Highest temperature of the room, K.
    pub room_max_K: f64,
    /// Lowest temperature of the air around the part while printing, K, once warmed up.
    pub coolest_chamber_K: f64,
    /// Share of the time that the fan runs, and its starts, where a thermostat or a schedule runs it.
    pub running: Option<(f64, usize)>,
    /// Whether a thermostat starts it more often than is good for it.
    pub starts_too_often: bool,
}

/// The run with a fan that extracts this flow.
pub(super) fn with_flow(inputs: &Inputs, flow_m3_per_s: f64) -> Result<Run, Problems> {
    let mut inputs = inputs.clone();
    inputs.fit_fan(flow_m3_per_s);
    inputs.to_run()
}

pub(super) fn sample(
    inputs: &Inputs,
    flow_m3_per_s: f64,
    options: &Options,
) -> Result<Sample, StudyError> {
    let run = with_flow(inputs, flow_m3_per_s)?;
    let s = Simulation::of(&run, IntegratorKind::Rosenbrock, options)?;
    let outcome = outcome_in(&run, &s, options)?;
    Ok(read(&s, outcome, flow_m3_per_s))
}

/// The run at several flows, side by side; in the order of the flows.
pub(super) fn samples(
    inputs: &Inputs,
    flows_m3_per_s: &[f64],
    options: &Options,
) -> Result<Vec<Sample>, StudyError> {
    let flows = flows_m3_per_s.iter();
    let runs: Vec<Run> = flows
        .map(|q| with_flow(inputs, *q))
        .collect::<Result<_, _>>()?;
    // The flow of each is its own to know.
    let found = readings(&runs, options, |s, outcome| read(s, outcome, 0.0));
    let each = found.into_iter().zip(flows_m3_per_s);
    each.map(|(sample, flow_m3_per_s)| {
        Ok(Sample {
            flow_m3_per_s: *flow_m3_per_s,
            ..sample?
        })
    })
    .collect()
}

/// What of a run with a fan counts.
pub(super) fn read(s: &Simulation, outcome: Outcome, flow_m3_per_s: f64) -> Sample {
    let run = s.chamber.run();
    let layer = s.chamber.points.air_at(run.machine.extraction_height_m);
    let (around, room) = (s.chamber.air_at_bed(), s.chamber.points.room);
    let warm_from_s = WARM_UP_S.min(0.25 * run.duration_s);
    let span = s.trajectory.end_s() - s.trajectory.begin_s();
    let (mut extracted_K, mut room_K) = (0.0, 0.0);
    let (mut room_max_K, mut coolest_chamber_K) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut extracted_max_K = f64::NEG_INFINITY;
    for piece in &s.trajectory.pieces {
        let share = piece.length_s / span;
        let counts = counts_as_printing(run, s, piece, warm_from_s);
        for (x, weight) in [(0.0, 1.0 / 6.0), (0.5, 4.0 / 6.0), (1.0, 1.0 / 6.0)] {
            let extracted = s.point_at(piece, x, layer);
            extracted_K += weight * share * extracted;
            extracted_max_K = extracted_max_K.max(extracted);
            let outside = s.point_at(piece, x, room);
            room_K += weight * share * outside;
            room_max_K = room_max_K.max(outside);
            if counts {
                coolest_chamber_K = coolest_chamber_K.min(s.point_at(piece, x, around));
            }
        }
    }
    let used = fan_use(run, s);
    Sample {
        flow_m3_per_s,
        outcome,
        extracted_K,
        extracted_max_K,
        room_K,
        room_max_K,
        coolest_chamber_K,
        running: used
            .map(|u| (u.share, u.all_starts()))
            .or_else(|| scheduled(run)),
        starts_too_often: used.is_some_and(|u| u.starts_too_often()),
    }
}

/// Share of the run in which a schedule lets the fan run, and its starts; none where it runs all the time.
fn scheduled(run: &Run) -> Option<(f64, usize)> {
    if run.schedule.is_empty() {
        return None;
    }
    let extracts = |a: &Arrangement| matches!(a.kind, ArrangementKind::Extracting { .. });
    let length_s = |s: &Scheduled| s.end_s.min(run.duration_s) - s.begin_s;
    let all_s: f64 = run.schedule.iter().map(length_s).sum();
    let working = run.schedule.iter().filter(|s| extracts(&s.arrangement));
    let starts = working.clone().count();
    let in_stretches_s: f64 = working.map(length_s).sum();
    Some(if extracts(&run.arrangement) {
        let rests = run.schedule.len() - starts;
        (
            (run.duration_s - all_s + in_stretches_s) / run.duration_s,
            1 + rests,
        )
    } else {
        (in_stretches_s / run.duration_s, starts)
    })
}

fn counts_as_printing(run: &Run, s: &Simulation, piece: &Piece, warm_from_s: f64) -> bool {
    let begin_s = piece.begin_s;
    let printing = run.phases[s.stretch_of(piece).phase].kind == PhaseKind::Print;
    let disturbed = run
        .schedule
        .iter()
        .any(|d| begin_s >= d.begin_s - 1.0 && begin_s < d.end_s + RECOVERY_S);
    printing && !disturbed && begin_s >= warm_from_s
}

/// Whether no fan at all presses a flow through the system.
pub(super) fn is_out_of_reach(pressure_Pa: f64) -> bool {
    pressure_Pa > MOST_FAN_PA
}

/// What takes the pressure that a fan gives, Pa; each with the sign of the flow, but for the wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Vents and leaks, through which make-up air comes in: by so much the chamber lies below the room.
    pub shell_Pa: f64,
    /// Grille.
    pub grille_Pa: f64,
    /// Filter.
    pub filter_Pa: f64,
    /// Duct with entry, bends and exit.
    pub duct_Pa: f64,
    /// Wind on the outlet.
    pub wind_Pa: f64,
}

impl Split {
    /// All of them.
    #[must_use]
    pub fn total_Pa(&self) -> f64 {
        self.shell_Pa + self.grille_Pa + self.filter_Pa + self.duct_Pa + self.wind_Pa
    }
}

/// The air at the fan and what it has to pass.
#[derive(Debug, Clone, Copy)]
pub struct WayOut<'a> {
    /// Grille, filter and duct.
    pub system: &'a ExtractionSystem,
    /// Air pressure, Pa.
    pub ambient_Pa: f64,
    /// Temperature of the air at the fan, K.
    pub extracted_K: f64,
    /// Temperature of the room, K.
    pub room_K: f64,
    /// Sum of discharge coefficient times area of vents and leaks, m2.
    pub opening_m2: f64,
}

impl WayOut<'_> {
    /// Pressure that a fan has to give to extract a flow, m3/s at the fan, negative where air flows back.
    ///
    /// The buoyancy of the warm air, some tenths of a pascal, is left out.
    #[must_use]
    pub fn split(&self, flow_m3_per_s: f64, loaded: bool) -> Split {
        let (system, flow) = (self.system, flow_m3_per_s.abs());
        let warm = Air::at(self.extracted_K, self.ambient_Pa);
        let room = Air::at(self.room_K, self.ambient_Pa);
        let (density, viscosity) = (warm.density_kg_per_m3, warm.viscosity_Pa_s);
        let filter = if loaded {
            system.filter_loaded
        } else {
            system.filter_clean
        };
        // The same mass comes in cooler.
        let inward = flow * density / room.density_kg_per_m3;
        let sign = flow_m3_per_s.signum();
        Split {
            shell_Pa: sign * orifice_pressure_Pa(inward, self.opening_m2, room.density_kg_per_m3),
            grille_Pa: sign * system.grille.pressure_Pa(flow, density, viscosity),
            filter_Pa: sign * filter.pressure_Pa(flow, density, viscosity),
            duct_Pa: sign * system.duct.pressure_Pa(flow, density, viscosity),
            wind_Pa: if system.led_outdoors {
                system.wind_Pa
            } else {
                0.0
            },
        }
    }

    /// The density of the air at the fan, kg/m3.
    #[must_use]
    pub fn density_kg_per_m3(&self) -> f64 {
        Air::at(self.extracted_K, self.ambient_Pa).density_kg_per_m3
    }
}

/// The runs made so far, by flow.
pub(super) struct Flows<'a> {
    pub run: &'a Run,
    pub inputs: &'a Inputs,
    pub options: Options,
    /// See [`WayOut::opening_m2`].
    pub opening_m2: f64,
    samples: Vec<Sample>,
}

impl<'a> Flows<'a> {
    pub fn new(run: &'a Run, inputs: &'a Inputs, options: &Options) -> Result<Self, StudyError> {
        let samples = samples(inputs, &FIRST_M3_PER_H.map(|q| q / 3600.0), options)?;
        Ok(Self {
            run,
            inputs,
            options: *options,
            opening_m2: shut_opening_m2(run),
            samples,
        })
    }

    fn add(&mut self, flow_m3_per_s: f64) -> Result<&Sample, StudyError> {
        let at = self
            .samples
            .partition_point(|s| s.flow_m3_per_s < flow_m3_per_s);
        let known = self
            .samples
            .get(at)
            .is_some_and(|s| (s.flow_m3_per_s - flow_m3_per_s).abs() < 1e-12);
        if !known {
            let new = sample(self.inputs, flow_m3_per_s, &self.options)?;
            self.samples.insert(at, new);
        }
        Ok(&self.samples[at])
    }

    /// The run with the lowest peak, of those that can run if any can.
    pub fn coolest(&self) -> &Sample {
        let rank = |s: &Sample| (s.outcome.verdict == Verdict::CannotRun, s.outcome.peak_K);
        self.samples
            .iter()
            .min_by(|a, b| {
                let (a, b) = (rank(a), rank(b));
                a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
            })
            .unwrap_or(&self.samples[0])
    }

    /// What a heater lacks at the largest flow.
    pub fn shortfall(&self) -> Option<&Shortfall> {
        let last = self.samples.last()?;
        last.outcome.shortfalls.first()
    }

    /// Temperature of the extracted air and of the room at a flow, K, between the runs made.
    pub fn temperatures_K(&self, flow_m3_per_s: f64) -> (f64, f64) {
        let last = self.samples.len() - 1;
        let k = self
            .samples
            .partition_point(|s| s.flow_m3_per_s <= flow_m3_per_s)
            .clamp(1, last);
        let (a, b) = (&self.samples[k - 1], &self.samples[k]);
        let x = ((flow_m3_per_s - a.flow_m3_per_s) / (b.flow_m3_per_s - a.flow_m3_per_s))
            .clamp(0.0, 1.0);
        let between = |a: f64, b: f64| a + x * (b - a);
        (
            between(a.extracted_K, b.extracted_K),
            between(a.room_K, b.room_K),
        )
    }

    /// Highest temperature of the extracted air at a flow or at the next smaller one that was run, K: that is the
    /// warmer one.
    pub fn warmest_extracted_K(&self, flow_m3_per_s: f64) -> f64 {
        let k = self
            .samples
            .partition_point(|s| s.flow_m3_per_s <= flow_m3_per_s + 1e-12);
        self.samples[k.saturating_sub(1)].extracted_max_K
    }

    /// What the air has to pass at a flow.
    pub fn way_out(&self, flow_m3_per_s: f64) -> WayOut<'a> {
        let (extracted_K, room_K) = self.temperatures_K(flow_m3_per_s);
        WayOut {
            system: &self.run.system,
            ambient_Pa: pressure_at_altitude_Pa(self.run.room.altitude_m),
            extracted_K,
            room_K,
            opening_m2: self.opening_m2,
        }
    }

    pub fn split(&self, flow_m3_per_s: f64, loaded: bool) -> Split {
        self.way_out(flow_m3_per_s).split(flow_m3_per_s, loaded)
    }

    pub fn pressure_Pa(&self, flow_m3_per_s: f64, loaded: bool) -> f64 {
        self.split(flow_m3_per_s, loaded).total_Pa()
    }

    /// The runs made so far, by rising flow.
    pub fn made(&self) -> &[Sample] {
        &self.samples
    }

    /// Runs flows that are not known yet, m3/s, side by side.
    pub fn add_all(&mut self, flows_m3_per_s: &[f64]) -> Result<(), StudyError> {
        let is_new = |q: &&f64| {
            let near = |s: &Sample| (s.flow_m3_per_s - **q).abs() < 1e-12;
            !self.samples.iter().any(near)
        };
        let new: Vec<f64> = flows_m3_per_s.iter().filter(is_new).copied().collect();
        self.samples
            .extend(samples(self.inputs, &new, &self.options)?);
        let by_flow = |a: &Sample, b: &Sample| a.flow_m3_per_s.total_cmp(&b.flow_m3_per_s);
        self.samples.sort_by(by_flow);
        Ok(())
    }

    /// Largest flow at which the heaters hold their setpoints, rounded down to the grain; none where that is every flow
    /// tried, or no flow.
    pub fn most_that_runs(&mut self) -> Result<Option<f64>, StudyError> {
        let fails = |s: &Sample| s.outcome.verdict == Verdict::CannotRun;
        let Some(k) = self.samples.iter().position(fails).filter(|k| *k > 0) else {
            return Ok(None);
        };
        let (low, _) = self.pin_down(k, |s| if fails(s) { 1.0 } else { -1.0 })?;
        Ok(Some(low))
    }

    /// Least flow that holds, rounded up to the grain.
    pub fn least(&mut self) -> Result<Option<f64>, StudyError> {
        let required = self.run.requirements.margin_K;
        let excess = move |s: &Sample| s.outcome.excess_K(required);
        let Some(k) = self.samples.iter().position(|s| excess(s) >= 0.0) else {
            return Ok(None);
        };
        if k == 0 {
            return Ok(Some(0.0));
        }
        let (low, high) = self.pin_down(k, excess)?;
        debug_assert!(low < high);
        Ok(Some(high))
    }

    /// Largest flow that leaves the chamber warm enough, rounded down to the grain.
    pub fn most(&mut self) -> Result<Option<f64>, StudyError> {
        let Some(needed_K) = self.run.requirements.chamber_min_K else {
            return Ok(None);
        };
        // Below zero while warm enough.
        let lack = move |s: &Sample| needed_K - s.coolest_chamber_K.min(1e4);
        let Some(k) = self.samples.iter().position(|s| lack(s) > 0.0) else {
            return Ok(None);
        };
        if k == 0 {
            return Ok(Some(0.0));
        }
        let (low, _) = self.pin_down(k, lack)?;
        Ok(Some(low))
    }

    /// Two neighbouring flows on the grain, the lower with a negative value, the upper with none:
    /// regula falsi (Illinois) with bisection as a brake, on whole runs.
    fn pin_down(
        &mut self,
        k: usize,
        value: impl Fn(&Sample) -> f64,
    ) -> Result<(f64, f64), StudyError> {
        let grain = |s: &Sample| s.flow_m3_per_s / GRAIN_M3_PER_S;
        let (a, b) = (&self.samples[k - 1], &self.samples[k]);
        let (mut low, mut high) = (grain(a).round(), grain(b).round());
        let (mut f_low, mut f_high) = (value(a), value(b));
        let mut round = 0;
        while high - low > 1.5 {
            round += 1;
            let straight = low + (high - low) * f_low / (f_low - f_high);
            let guess = if round % 4 == 0 || !straight.is_finite() {
                0.5 * (low + high)
            } else {
                straight
            };
            let place = guess.round().clamp(low + 1.0, high - 1.0);
            let f = value(self.add(place * GRAIN_M3_PER_S)?);
            if f < 0.0 {
                (low, f_low) = (place, f);
                f_high *= 0.5;
            } else {
                (high, f_high) = (place, f);
                f_low *= 0.5;
            }
        }
        Ok((low * GRAIN_M3_PER_S, high * GRAIN_M3_PER_S))
    }
}

//! Each fan at the flow it really gives.

use std::cmp::Ordering;

use super::flow::{Flows, Sample, Split, samples};
use crate::physics::fan::{Duty as DutyPoint, FanCurve, duty_point, power_at_W, sound_dBA};
use crate::run::Fan;
use crate::study::check::Outcome;
use crate::study::{StudyError, Verdict};

/// Less flow than this is as good as none, m3/s (0.5 m3/h).
pub(super) const NO_FLOW_M3_PER_S: f64 = 0.5 / 3600.0;
/// Reserve in flow that practice gives a fan of which no chance is known: 20 to 30 % (common practice, no source).
pub const RESERVE: f64 = 1.25;
/// So much warmer than the air that passes it a fan has to be made for, K: a hotter day than the forecast's, a fan that
/// rests a while (common practice, no source).
pub(super) const AIR_RESERVE_K: f64 = 5.0;
/// A flow that must not be passed is kept away from by this factor, where no chance is known.
const WINDOW_RESERVE: f64 = 1.1;
/// Pressure of the chamber below the room above which no fan is robust, Pa: doors slam and seals bend (common practice,
/// no source).
pub const STRAINS_PA: f64 = 50.0;
/// Fewer samples than this don't tell one in twenty: chances are then taken as somewhat worse.
const FEW_SAMPLES: u32 = 128;
/// Share of electrical power that small fans turn into pressure times flow at their best, for fans whose power nobody
/// said: rather little, so that they are not taken for smaller than they are (common practice, no source).
const LOW_EFFICIENCY: f64 = 0.15;

/// How many of a fan, and how they stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mounting {
    /// One.
    Single,
    /// Two, one behind the other.
    Series,
    /// Two side by side.
    Parallel,
}

/// How a fan is set up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setup {
    /// One or two.
    pub mounting: Mounting,
    /// Speed over the rated one.
    pub speed: f64,
    /// Pressure that a damper takes, over the square of the flow, Pa s2/m6; 0 without one.
    pub damper_Pa_s2_per_m6: f64,
}

impl Setup {
    /// At its rated speed, without a damper.
    #[must_use]
    pub const fn rated(mounting: Mounting) -> Self {
        Self {
            mounting,
            speed: 1.0,
            damper_Pa_s2_per_m6: 0.0,
        }
    }

    /// Number of fans.
    #[must_use]
    pub const fn count(self) -> u32 {
        match self.mounting {
            Mounting::Single => 1,
            Mounting::Series | Mounting::Parallel => 2,
        }
    }

    /// The curve of all of them at that speed in air of a density, kg/m3.
    #[must_use]
    pub fn curve(self, one: &FanCurve, density_kg_per_m3: f64) -> FanCurve {
        let here = one.at(self.speed, density_kg_per_m3);
        match self.mounting {
            Mounting::Single => here,
            Mounting::Series => here.in_series(2),
            Mounting::Parallel => here.in_parallel(2),
        }
    }

    /// What a damper takes of a flow, m3/s, Pa.
    #[must_use]
    pub fn damper_Pa(self, flow_m3_per_s: f64) -> f64 {
        self.damper_Pa_s2_per_m6 * flow_m3_per_s * flow_m3_per_s.abs()
    }
}

/// A fan at work in the system.
#[derive(Debug, Clone, PartialEq)]
pub struct Duty {
    /// Flow, m3/s; 0 where air would flow back.
    pub flow_m3_per_s: f64,
    /// Pressure that the fan gives, Pa.
    pub pressure_Pa: f64,
    /// What takes it.
    pub split: Split,
    /// What a damper takes of it, Pa.
    pub damper_Pa: f64,
    /// Whether the fan works unsteadily there.
    pub unstable: bool,
    /// Whether the flow lies beyond the last measured point.
    pub beyond_curve: bool,
    /// Whether wind presses air back through the fan.
    pub flows_back: bool,
    /// Hottest moment of the whole run at that flow.
    pub outcome: Outcome,
    /// Warmest air that passes the fan, K.
    pub warmest_K: f64,
    /// Lowest chamber temperature while printing, K.
    pub coolest_chamber_K: f64,
    /// Electrical energy over the run, J, where the power is known.
    pub energy_J: Option<f64>,
    /// Share of time and starts, where a thermostat or a schedule runs the fan.
    pub running: Option<(f64, usize)>,
    /// Whether a thermostat starts it more often than is good for it.
    pub starts_too_often: bool,
    /// By how much the flow would differ at the mean temperatures of this very run, m3/s.
    pub flow_error_m3_per_s: f64,
}

/// Why a fan is not enough, the gravest first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lack {
    /// Wind presses back through it.
    FlowsBack,
    /// It moves hardly any air.
    NoFlow,
    /// It is not made for the air that passes it.
    WarmAir {
        /// What it is made for, K.
        air_max_K: f64,
        /// What passes it, K.
        warmest_K: f64,
    },
    /// At its flow a heater can't hold its setpoint.
    CannotRun,
    /// With a clean filter a heater can't hold its setpoint.
    TooStrong,
    /// With a clean filter the chamber gets too cool.
    TooCool,
    /// With a loaded filter it moves too little.
    TooWeak,
    /// It would be enough, but works on or left of the rising part of its curve.
    Unstable,
}

/// Whether a fan is one to take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Standing {
    /// It is enough, and as surely as the run requires; or, where no chance is known, with a reserve.
    Robust,
    /// It is enough by the best estimate.
    Marginal,
    /// It is not enough.
    Not(Lack),
}

/// A fan, or two of it, with clean and with loaded filter.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The fan.
    pub fan: Fan,
    /// How many, how fast, with what before it.
    pub setup: Setup,
    /// Electrical power of all of them, W, in the air of the run.
    pub power_W: Option<f64>,
    /// Sound pressure level of all of them at 1 m at that speed, blowing freely, dB(A).
    pub sound_dBA: Option<f64>,
    /// With a clean filter.
    pub clean: Duty,
    /// With a loaded one.
    pub loaded: Duty,
    /// Whether the clean filter's flow leaves the chamber too cool.
    pub too_cool: bool,
    /// The chance of softening with a loaded filter, where that was asked.
    pub chance_softens: Option<f64>,
    /// Whether it is one to take.
    pub standing: Standing,
    /// Curve of all fans in the air of the run (flow m3/s, pressure Pa), for the picture.
    pub curve: Vec<(f64, f64)>,
    /// Flow below which it works unsteadily, m3/s.
    pub unstable_below_m3_per_s: Option<f64>,
}

impl Candidate {
    /// Name with its number and setting: "axial-80", "2 x axial-80 in series", "axial-80 at 70 %".
    #[must_use]
    pub fn label(&self) -> String {
        let name = &self.fan.name;
        let mut label = match self.setup.mounting {
            Mounting::Single => name.clone(),
            Mounting::Series => format!("2 x {name} in series"),
            Mounting::Parallel => format!("2 x {name} in parallel"),
        };
        if self.setup.speed < 1.0 {
            label.push_str(&format!(" at {:.0} %", 100.0 * self.setup.speed));
        }
        if self.setup.damper_Pa_s2_per_m6 > 0.0 {
            label.push_str(" with damper");
        }
        label
    }

    /// Whether it holds with a loaded filter, works steadily, bears the air and leaves the chamber warm enough; with a
    /// clean filter it moves more, and must not cool what the heaters can't hold then.
    #[must_use]
    pub const fn is_enough(&self) -> bool {
        matches!(self.standing, Standing::Robust | Standing::Marginal)
    }

    /// Whether it pulls the chamber so far below the room that doors slam and seals bend.
    #[must_use]
    pub fn strains_the_shell(&self) -> bool {
        self.clean.split.shell_Pa > STRAINS_PA
    }

    /// What of it is too little or too much; nothing where it is enough by the best estimate.
    fn lack(&self) -> Option<Lack> {
        let (clean, loaded) = (&self.clean, &self.loaded);
        if loaded.flows_back {
            return Some(Lack::FlowsBack);
        }
        if loaded.flow_m3_per_s < NO_FLOW_M3_PER_S {
            return Some(Lack::NoFlow);
        }
        let too_warm = |most_K: &f64| loaded.warmest_K + AIR_RESERVE_K > *most_K;
        if let Some(air_max_K) = self.fan.air_max_K.filter(too_warm) {
            return Some(Lack::WarmAir {
                air_max_K,
                warmest_K: loaded.warmest_K,
            });
        }
        let cannot_run = |d: &Duty| d.outcome.verdict == Verdict::CannotRun;
        if cannot_run(loaded) {
            return Some(Lack::CannotRun);
        }
        if loaded.outcome.verdict != Verdict::Holds {
            return Some(Lack::TooWeak);
        }
        if cannot_run(clean) {
            return Some(Lack::TooStrong);
        }
        if self.too_cool {
            return Some(Lack::TooCool);
        }
        (clean.unstable || loaded.unstable).then_some(Lack::Unstable)
    }

    /// Its standing, by what the run needs and how sure the fan is, where that was asked.
    pub(super) fn stands(&mut self, asked: &Asked, sure: Option<Sure>) {
        self.chance_softens = sure.map(|sure| sure.softens);
        let most = asked.most_m3_per_s.unwrap_or(f64::INFINITY);
        let is_robust = match sure {
            Some(sure) => sure.is_at_most(asked.chance),
            None => {
                self.has_reserve(asked.needed_m3_per_s.unwrap_or(f64::INFINITY))
                    && self.clean.flow_m3_per_s * WINDOW_RESERVE <= most
            }
        };
        let is_gentle = !self.strains_the_shell();
        self.standing = match self.lack() {
            Some(lack) => Standing::Not(lack),
            None if is_robust && is_gentle => Standing::Robust,
            None => Standing::Marginal,
        };
    }

    /// Whether it gives more than is needed, m3/s, by what practice keeps in reserve.
    pub(super) fn has_reserve(&self, needed_m3_per_s: f64) -> bool {
        self.loaded.flow_m3_per_s >= RESERVE * needed_m3_per_s
    }

    /// Its power, W, or what it may be where nobody said.
    #[must_use]
    pub fn ranked_power_W(&self) -> f64 {
        self.power_W.unwrap_or_else(|| {
            let work = self.curve.iter().map(|(q, Pa)| q * Pa);
            work.fold(0.0, f64::max) / LOW_EFFICIENCY
        })
    }
}

/// What a run asks of a fan.
pub(super) struct Asked {
    /// Least flow, m3/s; none where none is enough.
    pub needed_m3_per_s: Option<f64>,
    /// Most flow, m3/s, where the chamber can be too cool.
    pub most_m3_per_s: Option<f64>,
    /// The chance that is put up with.
    pub chance: f64,
}

/// How sure a fan is.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sure {
    /// The chance of softening with a loaded filter.
    pub softens: f64,
    /// The chance of moving too much with a clean one.
    pub too_much: f64,
    /// Of so many samples.
    pub samples: u32,
}

impl Sure {
    /// Whether both chances are at most that.
    fn is_at_most(self, chance: f64) -> bool {
        let is = |share| counts_as(share, self.samples) <= chance;
        is(self.softens) && is(self.too_much)
    }
}

/// What a share of samples counts as where something is decided by it. Of few samples none may soften though one in four
/// does: their share is taken as it would be if two more came out against and for it (Laplace's rule of succession).
pub(super) fn counts_as(share: f64, samples: u32) -> f64 {
    let n = f64::from(samples);
    match samples {
        0..FEW_SAMPLES => (share * n + 1.0) / (n + 2.0),
        _ => share,
    }
}

/// Fans by themselves at their rated speed.
pub(super) fn single(flows: &Flows<'_>, fans: &[Fan]) -> Result<Vec<Candidate>, StudyError> {
    let rated = Setup::rated(Mounting::Single);
    candidates(flows, fans.iter().map(|fan| (fan, rated)).collect())
}

/// Pairs of the same fan that work steadily and hold, at least with a clean filter.
pub(super) fn pairs(flows: &Flows<'_>, fans: &[Fan]) -> Result<Vec<Candidate>, StudyError> {
    let both =
        |fan| [Mounting::Series, Mounting::Parallel].map(|mounting| (fan, Setup::rated(mounting)));
    let all = candidates(flows, fans.iter().flat_map(both).collect())?;
    Ok(all
        .into_iter()
        .filter(|c| c.clean.outcome.verdict == Verdict::Holds)
        .filter(|c| !c.clean.unstable && !c.loaded.unstable)
        .collect())
}

/// The smallest robust one; where none is, the smallest that is enough with a reserve in flow, or else the smallest
/// that is enough. One with which more soften than hold is none to take.
pub(super) fn recommend(candidates: &[Candidate], needed_m3_per_s: f64) -> Option<usize> {
    let smallest = |fits: &dyn Fn(&Candidate) -> bool| {
        let each = candidates.iter().enumerate();
        let likely = |c: &Candidate| c.chance_softens.is_none_or(|chance| chance < 0.5);
        each.filter(|(_, c)| c.is_enough() && likely(c) && fits(c))
            .min_by(|(_, a), (_, b)| by_size(a, b))
            .map(|(k, _)| k)
    };
    smallest(&|c| c.standing == Standing::Robust)
        .or_else(|| smallest(&|c| c.has_reserve(needed_m3_per_s)))
        .or_else(|| smallest(&|_| true))
}

/// The smaller one first: by power, then by size, then by sound, where that is known of both.
pub(super) fn by_size(a: &Candidate, b: &Candidate) -> Ordering {
    let power = a.ranked_power_W().total_cmp(&b.ranked_power_W());
    let both = |x: Option<f64>, y: Option<f64>| match (x, y) {
        (Some(x), Some(y)) => x.total_cmp(&y),
        _ => Ordering::Equal,
    };
    power
        .then(both(a.fan.size_m, b.fan.size_m))
        .then(both(a.sound_dBA, b.sound_dBA))
}

/// Each fan with a clean and a loaded filter: all these runs side by side.
pub(super) fn candidates(
    flows: &Flows<'_>,
    fans: Vec<(&Fan, Setup)>,
) -> Result<Vec<Candidate>, StudyError> {
    let meeting: Vec<[Meeting<'_>; 2]> = fans
        .iter()
        .map(|(fan, setup)| {
            [false, true].map(|loaded| Meeting::of(flows, &fan.curve, *setup, loaded))
        })
        .collect();
    let at: Vec<f64> = meeting
        .iter()
        .flatten()
        .map(|m| m.flow_m3_per_s())
        .collect();
    let mut samples = samples(flows.inputs, &at, &flows.options)?.into_iter();
    let mut all = Vec::with_capacity(fans.len());
    for ((fan, setup), [clean, loaded]) in fans.into_iter().zip(meeting) {
        // One for each meeting.
        let (Some(at_clean), Some(at_loaded)) = (samples.next(), samples.next()) else {
            break;
        };
        let duties = (clean.duty(flows, at_clean), loaded.duty(flows, at_loaded));
        all.push(candidate(flows, fan, setup, duties));
    }
    Ok(all)
}

fn candidate(
    flows: &Flows<'_>,
    fan: &Fan,
    setup: Setup,
    (mut clean, mut loaded): (Duty, Duty),
) -> Candidate {
    let density = flows.way_out(clean.flow_m3_per_s).density_kg_per_m3();
    let count = f64::from(setup.count());
    let power_W = fan
        .power_W
        .map(|p| power_at_W(p, setup.speed, density) * count);
    for d in [&mut clean, &mut loaded] {
        let share = d.running.map_or(1.0, |(share, _)| share);
        d.energy_J = power_W.map(|p| p * share * flows.run.duration_s);
    }
    let needed_K = flows.run.requirements.chamber_min_K;
    let here = setup.curve(&fan.curve, density);
    let end = here.free_delivery_m3_per_s();
    Candidate {
        fan: fan.clone(),
        setup,
        power_W,
        sound_dBA: fan
            .sound_dBA
            .map(|dBA| sound_dBA(dBA, setup.speed, setup.count())),
        too_cool: needed_K.is_some_and(|t| clean.coolest_chamber_K < t),
        clean,
        loaded,
        chance_softens: None,
        standing: Standing::Not(Lack::TooWeak),
        curve: (0..=60)
            .map(|k| end * f64::from(k) / 60.0)
            .map(|q| (q, here.pressure_Pa(q).max(0.0)))
            .collect(),
        unstable_below_m3_per_s: here.unstable_below_m3_per_s(),
    }
}

/// Where a fan's curve and the system's meet, with the temperatures that the runs made so far have at that flow.
pub(super) struct Meeting<'a> {
    curve: &'a FanCurve,
    setup: Setup,
    loaded: bool,
    point: DutyPoint,
}

impl<'a> Meeting<'a> {
    pub fn of(flows: &Flows<'_>, curve: &'a FanCurve, setup: Setup, loaded: bool) -> Self {
        let meet = |flow_m3_per_s: f64| {
            let way_out = flows.way_out(flow_m3_per_s);
            let here = setup.curve(curve, way_out.density_kg_per_m3());
            duty_point(&here, |q| {
                way_out.split(q, loaded).total_Pa() + setup.damper_Pa(q)
            })
        };
        // From the side on which temperatures change little with flow.
        let mut flow = curve.free_delivery_m3_per_s() * setup.speed;
        for _ in 0..3 {
            flow = meet(flow).flow_m3_per_s;
        }
        Self {
            curve,
            setup,
            loaded,
            point: meet(flow),
        }
    }

    /// The flow that cools the chamber, m3/s: air that flows back counts as none.
    pub fn flow_m3_per_s(&self) -> f64 {
        self.point.flow_m3_per_s.max(0.0)
    }

    /// The duty there, by the whole run at it.
    fn duty(&self, flows: &Flows<'_>, s: Sample) -> Duty {
        let (point, setup) = (&self.point, self.setup);
        let way_out = flows.way_out(self.flow_m3_per_s());
        let own = super::flow::WayOut {
            extracted_K: s.extracted_K,
            room_K: s.room_K,
            ..way_out
        };
        let here = setup.curve(self.curve, own.density_kg_per_m3());
        let again = duty_point(&here, |q| {
            own.split(q, self.loaded).total_Pa() + setup.damper_Pa(q)
        });
        Duty {
            flow_m3_per_s: self.flow_m3_per_s(),
            pressure_Pa: point.pressure_Pa,
            split: way_out.split(point.flow_m3_per_s, self.loaded),
            damper_Pa: setup.damper_Pa(point.flow_m3_per_s),
            unstable: point.unstable,
            beyond_curve: point.beyond_curve,
            flows_back: point.flows_back(),
            outcome: s.outcome,
            warmest_K: s.extracted_max_K,
            coolest_chamber_K: s.coolest_chamber_K,
            energy_J: None,
            running: s.running,
            starts_too_often: s.starts_too_often,
            flow_error_m3_per_s: again.flow_m3_per_s - point.flow_m3_per_s,
        }
    }
}

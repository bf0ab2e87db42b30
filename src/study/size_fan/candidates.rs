//! Each fan at the flow it really gives.

use std::cmp::Ordering;

use super::chance::Chances;
use super::flow::{Flows, Sample, samples, system_pressure_Pa};
use crate::physics::air::{Air, pressure_at_altitude_Pa};
use crate::physics::fan::{Duty as DutyPoint, FanCurve, duty_point, power_at_W};
use crate::run::Fan;
use crate::study::check::Outcome;
use crate::study::{StudyError, Verdict};

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

impl Mounting {
    /// Number of fans.
    #[must_use]
    pub const fn count(self) -> u32 {
        match self {
            Self::Single => 1,
            Self::Series | Self::Parallel => 2,
        }
    }

    /// The curve of all of them.
    #[must_use]
    pub fn curve(self, one: &FanCurve) -> FanCurve {
        match self {
            Self::Single => one.clone(),
            Self::Series => one.in_series(2),
            Self::Parallel => one.in_parallel(2),
        }
    }
}

/// A fan at work in the system.
#[derive(Debug, Clone, PartialEq)]
pub struct Duty {
    /// Flow, m3/s.
    pub flow_m3_per_s: f64,
    /// Pressure, Pa.
    pub pressure_Pa: f64,
    /// Whether the fan works unsteadily there.
    pub unstable: bool,
    /// Whether the flow lies beyond the last measured point.
    pub beyond_curve: bool,
    /// Hottest moment of the whole run at that flow.
    pub outcome: Outcome,
    /// Lowest chamber temperature while printing, K.
    pub coolest_chamber_K: f64,
    /// Electrical energy over the run, J, where the power is known.
    pub energy_J: Option<f64>,
    /// Share of time and starts, where a thermostat runs the fan.
    pub running: Option<(f64, usize)>,
    /// By how much the flow would differ at the mean temperatures of this very run, m3/s.
    pub flow_error_m3_per_s: f64,
}

/// A fan, or two of it, with clean and with loaded filter.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The fan.
    pub fan: Fan,
    /// One or two.
    pub mounting: Mounting,
    /// Electrical power of all of them, W, in the air of the run.
    pub power_W: Option<f64>,
    /// With a clean filter.
    pub clean: Duty,
    /// With a loaded one.
    pub loaded: Duty,
    /// Whether the clean filter's flow leaves the chamber too cool.
    pub too_cool: bool,
    /// Curve of all fans in the air of the run (flow m3/s, pressure Pa), for the picture.
    pub curve: Vec<(f64, f64)>,
}

impl Candidate {
    /// Name with its number: "axial-80", "2 x axial-80 in series".
    #[must_use]
    pub fn label(&self) -> String {
        match self.mounting {
            Mounting::Single => self.fan.name.clone(),
            Mounting::Series => format!("2 x {} in series", self.fan.name),
            Mounting::Parallel => format!("2 x {} in parallel", self.fan.name),
        }
    }

    /// Whether it holds with a loaded filter, works steadily and leaves the chamber warm enough; with a clean
    /// filter it moves more, and must not cool what the heaters can't hold then.
    #[must_use]
    pub fn is_enough(&self) -> bool {
        self.loaded.outcome.verdict == Verdict::Holds
            && self.clean.outcome.verdict != Verdict::CannotRun
            && !self.too_cool
            && !self.loaded.unstable
            && !self.clean.unstable
    }
}

pub(super) fn single(flows: &Flows<'_>, fans: &[Fan]) -> Result<Vec<Candidate>, StudyError> {
    let fans = fans.iter();
    candidates(flows, fans.map(|fan| (fan, Mounting::Single)).collect())
}

/// Pairs of the same fan that work steadily and hold, at least with a clean filter.
pub(super) fn pairs(flows: &Flows<'_>, fans: &[Fan]) -> Result<Vec<Candidate>, StudyError> {
    let both = |fan| [(fan, Mounting::Series), (fan, Mounting::Parallel)];
    let all = candidates(flows, fans.iter().flat_map(both).collect())?;
    Ok(all
        .into_iter()
        .filter(|c| c.clean.outcome.verdict == Verdict::Holds)
        .filter(|c| !c.clean.unstable && !c.loaded.unstable)
        .collect())
}

/// The smallest that is enough and, with a loaded filter, leaves at most that chance of softening; where none does, the
/// smallest that is enough. By power, then by size, then the order given.
pub(super) fn recommend(
    candidates: &[Candidate],
    chances: Option<&Chances>,
    chance: f64,
) -> Option<usize> {
    let smallest = |fits: &dyn Fn(&Candidate) -> bool| {
        let each = candidates.iter().enumerate();
        each.filter(|(_, c)| c.is_enough() && fits(c))
            .min_by(|(_, a), (_, b)| by_size(a, b))
            .map(|(k, _)| k)
    };
    let is_sure = |c: &Candidate| match chances {
        Some(chances) => chances.at(c.loaded.flow_m3_per_s) <= chance,
        None => true,
    };
    smallest(&is_sure).or_else(|| smallest(&|_| true))
}

/// The smaller one first: by power, then by size.
pub(super) fn by_size(a: &Candidate, b: &Candidate) -> Ordering {
    let key = |c: &Candidate| {
        (
            c.power_W.unwrap_or(f64::INFINITY),
            c.fan.size_m.unwrap_or(f64::INFINITY),
        )
    };
    let (a, b) = (key(a), key(b));
    a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
}

/// Each fan with a clean and a loaded filter: all these runs side by side.
fn candidates(
    flows: &Flows<'_>,
    fans: Vec<(&Fan, Mounting)>,
) -> Result<Vec<Candidate>, StudyError> {
    let meeting: Vec<[Meeting; 2]> = fans
        .iter()
        .map(|(fan, mounting)| {
            let curve = mounting.curve(&fan.curve);
            [false, true].map(|loaded| Meeting::of(flows, &curve, loaded))
        })
        .collect();
    let at: Vec<f64> = meeting
        .iter()
        .flatten()
        .map(|m| m.point.flow_m3_per_s)
        .collect();
    let mut samples = samples(flows.inputs, &at, &flows.options)?.into_iter();
    let mut all = Vec::with_capacity(fans.len());
    for ((fan, mounting), [clean, loaded]) in fans.into_iter().zip(meeting) {
        // One for each meeting.
        let (Some(at_clean), Some(at_loaded)) = (samples.next(), samples.next()) else {
            break;
        };
        let duties = (clean.duty(flows, at_clean), loaded.duty(flows, at_loaded));
        all.push(candidate(flows, fan, mounting, duties));
    }
    Ok(all)
}

fn candidate(
    flows: &Flows<'_>,
    fan: &Fan,
    mounting: Mounting,
    (mut clean, mut loaded): (Duty, Duty),
) -> Candidate {
    let curve = mounting.curve(&fan.curve);
    let density = density_at(flows, flows.temperatures_K(clean.flow_m3_per_s).0);
    let power_W = fan
        .power_W
        .map(|p| power_at_W(p, 1.0, density) * f64::from(mounting.count()));
    for d in [&mut clean, &mut loaded] {
        let share = d.running.map_or(1.0, |(share, _)| share);
        d.energy_J = power_W.map(|p| p * share * flows.run.duration_s);
    }
    let needed_K = flows.run.requirements.chamber_min_K;
    let here = curve.at(1.0, density);
    let end = here.free_delivery_m3_per_s();
    Candidate {
        fan: fan.clone(),
        mounting,
        power_W,
        too_cool: needed_K.is_some_and(|t| clean.coolest_chamber_K < t),
        clean,
        loaded,
        curve: (0..=60)
            .map(|k| end * f64::from(k) / 60.0)
            .map(|q| (q, here.pressure_Pa(q).max(0.0)))
            .collect(),
    }
}

fn density_at(flows: &Flows<'_>, temperature_K: f64) -> f64 {
    let ambient_Pa = pressure_at_altitude_Pa(flows.run.room.altitude_m);
    Air::at(temperature_K, ambient_Pa).density_kg_per_m3
}

/// Where a fan's curve and the system's meet, with the temperatures that the runs made so far have at that flow.
struct Meeting {
    curve: FanCurve,
    loaded: bool,
    point: DutyPoint,
}

impl Meeting {
    fn of(flows: &Flows<'_>, curve: &FanCurve, loaded: bool) -> Self {
        let meet = |flow_m3_per_s: f64| {
            let (extracted_K, room_K) = flows.temperatures_K(flow_m3_per_s);
            meet(flows, curve, loaded, extracted_K, room_K)
        };
        let mut flow = 0.0;
        for _ in 0..3 {
            flow = meet(flow).flow_m3_per_s;
        }
        Self {
            curve: curve.clone(),
            loaded,
            point: meet(flow),
        }
    }

    /// The duty there, by the whole run at it.
    fn duty(&self, flows: &Flows<'_>, s: Sample) -> Duty {
        let Self {
            curve,
            loaded,
            point,
        } = self;
        let again = meet(flows, curve, *loaded, s.extracted_K, s.room_K);
        Duty {
            flow_m3_per_s: point.flow_m3_per_s,
            pressure_Pa: point.pressure_Pa,
            unstable: point.unstable,
            beyond_curve: point.beyond_curve,
            outcome: s.outcome,
            coolest_chamber_K: s.coolest_chamber_K,
            energy_J: None,
            running: s.running,
            flow_error_m3_per_s: again.flow_m3_per_s - point.flow_m3_per_s,
        }
    }
}

fn meet(
    flows: &Flows<'_>,
    curve: &FanCurve,
    loaded: bool,
    extracted_K: f64,
    room_K: f64,
) -> DutyPoint {
    let here = curve.at(1.0, density_at(flows, extracted_K));
    duty_point(&here, |q| {
        let opening_m2 = flows.opening_m2();
        system_pressure_Pa(flows.run, q, extracted_K, room_K, opening_m2, loaded)
    })
}

//! How much a thermostat's fan runs, and how often it starts.

use crate::chamber::Simulation;
use crate::chamber::simulation::Running;
use crate::run::ArrangementKind;
use crate::run::Run;

/// What a thermostat's fan did over the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FanUse {
    /// Share of the whole run in which it ran, 0 to 1.
    pub share: f64,
    /// How long it ran, h. Where it was throttled, at full speed.
    pub running_h: f64,
    /// How often it started.
    pub starts: usize,
    /// How often it would start besides, reckoned from its last starts, in the time in which it was counted as
    /// throttled because it would start too often.
    pub starts_spared: usize,
    /// How long that was, h.
    pub throttled_h: f64,
    /// How long it went on starting and stopping, s: from start to start, pauses of an hour and more left out.
    pub cycling_s: f64,
    /// Electrical energy, J, where its power is known.
    pub energy_J: Option<f64>,
}

/// Starts that follow each other faster than this are told, s: small fans and relays bear some six in an hour for
/// years (common practice, no source).
const OFTEN_S: f64 = 600.0;
/// And only where there are as many as this.
const MANY_STARTS: usize = 50;

impl FanUse {
    /// Time from start to start while it cycles, s.
    #[must_use]
    pub fn every_s(&self) -> f64 {
        self.cycling_s / self.all_starts().max(1) as f64
    }

    /// Whether it starts more often than is good for it.
    #[must_use]
    pub fn starts_too_often(&self) -> bool {
        self.all_starts() >= MANY_STARTS && self.every_s() < OFTEN_S
    }

    /// Starts made and spared.
    #[must_use]
    pub const fn all_starts(&self) -> usize {
        self.starts + self.starts_spared
    }
}

/// The use of a thermostat's fan; none where no thermostat runs one.
#[must_use]
pub fn fan_use(run: &Run, s: &Simulation) -> Option<FanUse> {
    let stretches = &s.chamber.timeline.stretches;
    if stretches.iter().all(|stretch| stretch.thermostat.is_none()) {
        return None;
    }
    let reading = s.reading();
    let (mut seconds, mut throttled_s, mut starts, mut spared) = (0.0, 0.0, 0, 0.0);
    let mut switching_s = 0.0;
    let (mut before, mut pace) = (Running::Rests, Pace::default());
    for piece in &s.trajectory.pieces {
        if s.stretch_of(piece).thermostat.is_none() {
            before = Running::Rests;
            continue;
        }
        let (running, share) = (s.running_in(piece), reading.working_share(piece));
        seconds += share * piece.length_s;
        match running {
            Running::Throttled => {
                throttled_s += piece.length_s;
                switching_s += if share > 0.0 && share < 1.0 {
                    piece.length_s
                } else {
                    0.0
                };
                spared += pace.starts_in(piece.length_s, share);
            }
            Running::Works => {
                let begins = before != Running::Works;
                starts += usize::from(begins);
                if begins {
                    pace.start(piece.begin_s);
                }
                pace.worked_s += piece.length_s;
            }
            Running::Rests => {}
        }
        before = running;
    }
    let power_W = match run.arrangement.kind {
        ArrangementKind::BlowingIn { fan_power_W, .. }
        | ArrangementKind::Recirculating { fan_power_W, .. } => Some(fan_power_W),
        _ => run.system.fan_power_W,
    };
    Some(FanUse {
        share: seconds / run.duration_s,
        running_h: seconds / 3600.0,
        starts,
        starts_spared: spared.round() as usize,
        throttled_h: throttled_s / 3600.0,
        cycling_s: pace.cycling_s + switching_s,
        energy_J: power_W.map(|p| p * seconds),
    })
}

/// A fan that did not start for so long was not cycling, s.
const PAUSE_S: f64 = 3600.0;

/// How quickly starts follow each other, from the last two.
#[derive(Default)]
struct Pace {
    cycling_s: f64,
    started_s: Option<f64>,
    worked_s: f64,
    /// Length of the last whole cycle, s, and the share of it in which the fan worked.
    cycle: Option<(f64, f64)>,
}

impl Pace {
    fn start(&mut self, at_s: f64) {
        if let Some(earlier_s) = self.started_s.replace(at_s) {
            let length_s = at_s - earlier_s;
            if length_s < PAUSE_S {
                self.cycling_s += length_s;
            }
            self.cycle = Some((length_s, self.worked_s / length_s));
        }
        self.worked_s = 0.0;
    }

    /// Starts in a time in which the fan does a share of its full work. Between its two temperatures air warms
    /// at a rate that goes with the share, and cools at one that goes with the rest: cycles go with one over
    /// both.
    fn starts_in(&self, length_s: f64, share: f64) -> f64 {
        let Some((cycle_s, worked)) = self.cycle else {
            return 0.0;
        };
        let then = (worked * (1.0 - worked)).max(0.01);
        length_s / cycle_s * share * (1.0 - share) / then
    }
}

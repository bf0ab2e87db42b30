//! How much a thermostat's fan runs.

use crate::chamber::Simulation;
use crate::run::ArrangementKind;
use crate::run::Run;

/// What a thermostat's fan did over the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FanUse {
    /// Share of the whole run in which it ran, 0 to 1.
    pub share: f64,
    /// How long it ran, h.
    pub running_h: f64,
    /// How often it started.
    pub starts: usize,
    /// Electrical energy, J, where its power is known.
    pub energy_J: Option<f64>,
}

/// The use of a thermostat's fan; none where no thermostat runs one.
#[must_use]
pub fn fan_use(run: &Run, s: &Simulation) -> Option<FanUse> {
    let stretches = &s.chamber.timeline.stretches;
    if stretches.iter().all(|stretch| stretch.thermostat.is_none()) {
        return None;
    }
    let (mut seconds, mut starts, mut was_running) = (0.0, 0, false);
    for piece in &s.trajectory.pieces {
        // Even: the thermostat's arrangement works; odd: it rests.
        let stretch = &stretches[piece.stretch / 2];
        let runs = stretch.thermostat.is_some() && piece.stretch % 2 == 0;
        if runs {
            seconds += piece.length_s;
            starts += usize::from(!was_running);
        }
        was_running = runs;
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
        energy_J: power_W.map(|p| p * seconds),
    })
}

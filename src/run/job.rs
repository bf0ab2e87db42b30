//! The job, phase by phase.

/// What a phase is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhaseKind {
    /// Bed and hotend heat up; nothing is fed.
    HeatUp,
    /// The chamber warms through; nothing is fed.
    Soak,
    /// Material is fed.
    Print,
    /// Feeding stops, heaters stay on, filament is parked in the path.
    Pause,
    /// As pause, for a change of spool (the door stands open if the phase's arrangement says so).
    SpoolChange,
    /// Heaters off, motors off.
    CoolDown,
}

/// A stretch of the job with its own setpoints and duties.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// What it is for.
    pub kind: PhaseKind,
    /// Begin, s from the start of the run.
    pub begin_s: f64,
    /// End, s from the start of the run.
    pub end_s: f64,
    /// Bed setpoint, K; none: heater off.
    pub bed_K: Option<f64>,
    /// Nozzle setpoint, K; none: heater off.
    pub nozzle_K: Option<f64>,
    /// Share of the motion motors' heat, 0 to 1.
    pub motion_duty: f64,
    /// Share of the feeder motor's heat, 0 to 1.
    pub feeder_duty: f64,
    /// Whether electronics, lights and the cold end's fan are on.
    pub powered: bool,
    /// Material fed, kg/s.
    pub feed_kg_per_s: f64,
    /// What the chamber's heater holds, K; none: off.
    pub chamber_K: Option<f64>,
    /// Share of the part-cooling fan's power and air, 0 to 1.
    pub part_fan: f64,
    /// Setpoint of the second hotend, K; none: off.
    pub second_nozzle_K: Option<f64>,
}

impl Phase {
    /// The same without power: heaters, motors and small fans are off, and the filament stands.
    #[must_use]
    pub fn without_power(&self) -> Self {
        Self {
            kind: self.kind,
            begin_s: self.begin_s,
            end_s: self.end_s,
            bed_K: None,
            nozzle_K: None,
            motion_duty: 0.0,
            feeder_duty: 0.0,
            powered: false,
            feed_kg_per_s: 0.0,
            chamber_K: None,
            part_fan: 0.0,
            second_nozzle_K: None,
        }
    }

    /// How long it lasts, s.
    #[must_use]
    pub fn length_s(&self) -> f64 {
        self.end_s - self.begin_s
    }
}

/// How the filament is kept and fed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Filament {
    /// It hangs in the room's air and has taken up its moisture.
    pub is_damp: bool,
    /// Longest time for which it stands still while printing goes on, s.
    pub longest_stop_s: f64,
}

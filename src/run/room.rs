//! The room and the weather.

use crate::course::Course;

/// The room the machine stands in.
#[derive(Debug, Clone, PartialEq)]
pub struct Room {
    /// Temperature of the air outside the shell, or outside the building where the room is a node of its
    /// own, K, on the run's clock.
    pub weather: Course,
    /// Where the weather was given as that of outdoors: how much warmer the room's air is, K, which is in it.
    pub above_outdoors_K: Option<f64>,
    /// The room as a node of its own; none: the weather is the room's air temperature.
    pub building: Option<Building>,
    /// Altitude, m above sea level.
    pub altitude_m: f64,
}

/// A room warmed by its machines and cooled by its envelope, its air changes and its air conditioner.
#[derive(Debug, Clone, PartialEq)]
pub struct Building {
    /// Volume, m3.
    pub volume_m3: f64,
    /// Conductance of walls, windows and roof to outdoors, W/K.
    pub envelope_W_per_K: f64,
    /// Air changes with outdoors, 1/s.
    pub air_changes_per_s: f64,
    /// Heat of everything else in the room, W.
    pub other_heat_W: f64,
    /// Largest cooling power of the air conditioner, W (0: none).
    pub cooler_max_W: f64,
    /// Setpoint of the air conditioner, K.
    pub cooler_setpoint_K: f64,
    /// Heat stored by walls and furniture, as a multiple of the air's (10 or so).
    pub storage_factor: f64,
    /// Machines that do the run in it at the same time, this one among them. They are alike, so each has its
    /// share of the room.
    pub machines: u32,
    /// Sun through its windows, W, on the run's clock.
    pub sun_W: Course,
    /// What other runs in it give off, W, on the run's clock: worked out by whoever runs them, nothing before.
    pub neighbours_W: Course,
}

impl Room {
    /// Whether "the weather" means outdoors to whoever described the room, and not its own air.
    #[must_use]
    pub const fn is_told_from_outdoors(&self) -> bool {
        self.building.is_some() || self.above_outdoors_K.is_some()
    }

    /// The warmest moment of the weather as it was described, K: of outdoors, or of the room's air where that is
    /// given.
    #[must_use]
    pub fn weather_peak_K(&self, duration_s: f64) -> f64 {
        self.weather.largest(0.0, duration_s) - self.above_outdoors_K.unwrap_or_default()
    }
}

impl Building {
    /// The share of the room that one of its machines has.
    #[must_use]
    pub fn share(&self) -> f64 {
        1.0 / f64::from(self.machines.max(1))
    }
}

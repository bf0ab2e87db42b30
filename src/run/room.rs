//! The room and the weather.

use crate::course::Course;

/// The room the machine stands in.
#[derive(Debug, Clone, PartialEq)]
pub struct Room {
    /// Temperature of the air outside the shell, or outside the building where the room is a node of its
    /// own, K, on the run's clock.
    pub weather: Course,
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
}

//! The sun that falls into the chamber.

use crate::course::Course;

/// Sun through clear panels.
#[derive(Debug, Clone, PartialEq)]
pub struct Sun {
    /// Clear area it falls on, m2.
    pub area_m2: f64,
    /// Share of its heat that the panels let through.
    pub transmittance: f64,
    /// On the panels' plane, W/m2, on the run's clock.
    pub irradiance_W_per_m2: Course,
    /// Share of the time in which it reaches the feeder motor.
    pub on_feeder: f64,
    /// Share of what comes in that falls on the bed.
    pub on_bed: f64,
}

//! What was measured during a run.

/// What a thermometer showed.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Where, in the user's words.
    pub sensor: String,
    /// What it showed, K.
    pub temperature_K: f64,
    /// How far off it may be, K: one in forty readings is further off on either side.
    pub within_K: f64,
    /// When, s from the start.
    pub at_s: f64,
}

impl Reading {
    /// How far off a reading may be of which nobody says: what a thermocouple of the better class and a careful
    /// hand keep together (common practice, no source).
    pub const WITHIN_K: f64 = 1.0;
}

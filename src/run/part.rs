//! The part.

/// The part being made.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Mass when finished, kg.
    pub mass_kg: f64,
    /// Footprint on the bed, m2.
    pub footprint_m2: f64,
    /// Height when finished, m.
    pub height_m: f64,
}

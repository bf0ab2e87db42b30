//! What a run must fulfil.

/// What the run must fulfil.
#[derive(Debug, Clone, PartialEq)]
pub struct Requirements {
    /// Margin below the softening limit, K.
    pub margin_K: f64,
    /// The chance of softening that is put up with, 0 to 1.
    pub chance: f64,
    /// Whether the machine has to stay closed.
    pub must_stay_closed: bool,
    /// Lowest chamber temperature while printing, K (the material's, unless the run says otherwise).
    pub chamber_min_K: Option<f64>,
}

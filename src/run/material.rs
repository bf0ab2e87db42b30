//! The material.

/// A material.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Name in the catalogue.
    pub name: String,
    /// One line of description.
    pub title: String,
    /// Softening limit of the dry filament, K; of the filament as it is, where the run states it itself.
    pub softening_limit_K: f64,
    /// On what the softening limit is based, e.g. "glass transition, ISO 11357-2".
    pub softening_basis: String,
    /// How much lower it lies for filament that has hung in the room's air for days, K.
    pub damp_lowers_K: f64,
    /// What to know before it is taken in another's place.
    pub caveat: Option<String>,
    /// What it is known to give off beyond what every heated polymer does.
    pub fumes: Option<String>,
    /// What it is printed for.
    pub printed_for: MaterialUse,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Conductivity, W/(m K).
    pub conductivity_W_per_mK: f64,
    /// Usual bed temperature, K.
    pub bed_K: f64,
    /// Usual nozzle temperature, K.
    pub nozzle_K: f64,
    /// Lowest useful chamber temperature, K, where there is one.
    pub chamber_min_K: Option<f64>,
}

/// What a material is printed for: one takes the place of another of the same use only.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MaterialUse {
    /// Stiff parts.
    Structural,
    /// Flexible parts.
    Flexible,
    /// Support that is taken away.
    Support,
}

impl MaterialUse {
    /// The word for it in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Structural => "structural",
            Self::Flexible => "flexible",
            Self::Support => "support",
        }
    }
}

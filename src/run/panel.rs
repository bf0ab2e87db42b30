//! What the machine is closed with.

/// A panel build-up.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Name in the catalogue.
    pub name: String,
    /// Layers from inside to outside (at least one).
    pub layers: Vec<Layer>,
    /// Emissivity of the inside face.
    pub emissivity_inside: f64,
    /// Emissivity of the outside face.
    pub emissivity_outside: f64,
}

/// One layer of a panel. An air gap is a layer with its effective conductivity and air's density.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// What it is made of.
    pub material: String,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Conductivity, W/(m K).
    pub conductivity_W_per_mK: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
}

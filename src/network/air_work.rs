//! Room in which the balance of moving air is worked out.

/// Room for one balance of mass, kept from one to the next: the pressure it ended at is where the
/// next begins.
#[derive(Debug, Clone, Default)]
pub struct AirWork {
    pub floor_Pa: f64,
    /// Of each opening: pressure difference less the floor's, flow over the root of pressure, flow
    /// outwards, its slope with pressure.
    pub offsets: Vec<f64>,
    pub factors: Vec<f64>,
    pub outward: Vec<f64>,
    pub slopes: Vec<f64>,
    /// Of each layer: density, pressure difference at its lower edge less the floor's, net inflow, gain.
    pub densities: Vec<f64>,
    pub rises: Vec<f64>,
    pub net: Vec<f64>,
    pub gains: Vec<f64>,
    /// Gains at the place where slopes are taken.
    pub base: Vec<f64>,
}

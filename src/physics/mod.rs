//! The physics: pure functions, one phenomenon a file. Numbers in SI units go in, numbers come out.
//!
//! This room knows no run, no machine, no network and no clock. It allocates nothing on the paths
//! that are called in every step of the integrator, it never panics, and it never clips a value to a
//! correlation's range: it uses the correlation and offers [`convection::Range`], so that
//! whoever calls can tell the user.
//!
//! Temperatures are kelvin. Every function is continuous, and its first derivative too, in the
//! temperatures and pressures that the integrator varies: where the published form has a kink, a
//! square root that starts vertically or a switch, a narrow band stated in the docstring rounds it,
//! and outside that band the published form is exact.

pub mod air;
pub mod conduction;
pub mod convection;
pub mod cylinder;
pub mod duct;
pub mod fan;
pub mod filament;
pub mod jet;
pub mod openings;
pub mod overturning;
pub mod plume;
pub(crate) mod prandtl;
pub mod prepared;
pub mod radiation;
mod roots;
pub(crate) mod smooth;
pub mod tabulated;

#[cfg(test)]
mod tests;

/// Acceleration of free fall, m/s2 (ISO 2533:1975).
pub const GRAVITY_M_PER_S2: f64 = 9.806_65;

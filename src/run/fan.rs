//! A fan that could be fitted: its curve, and what is known of it.

use crate::physics::fan::FanCurve;

/// How a fan is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FanKind {
    /// Air passes along its axis.
    Axial,
    /// Air leaves at its rim.
    Blower,
    /// Built into a round duct.
    Inline,
    /// Known by its curve only.
    Unknown,
}

/// A fan.
#[derive(Debug, Clone, PartialEq)]
pub struct Fan {
    /// Name in the catalogue, or the CSV file's.
    pub name: String,
    /// One line of description.
    pub title: String,
    /// How it is built.
    pub kind: FanKind,
    /// Width of the frame or diameter of the duct, m, where it is known.
    pub size_m: Option<f64>,
    /// Electrical power at the rated speed, W, where it is known.
    pub power_W: Option<f64>,
    /// Pressure over flow in standard air.
    pub curve: FanCurve,
}

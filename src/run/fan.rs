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
    /// Highest temperature of the air that may pass it, K, where it is known.
    pub air_max_K: Option<f64>,
    /// Sound pressure level at 1 m, blowing freely at the rated speed, dB(A), where it is known.
    pub sound_dBA: Option<f64>,
    /// What it runs on, where it is known.
    pub supply: Option<String>,
    /// How long it runs before one in ten has failed, s, and in air of what temperature, K.
    pub life: Option<(f64, f64)>,
    /// Whether its speed can be set.
    pub settable: bool,
    /// Whether it brings a flap that shuts when it stands still.
    pub flap: bool,
    /// Whether it comes from the built-in catalogue, whose fans nobody sells.
    pub invented: bool,
    /// Pressure over flow in standard air.
    pub curve: FanCurve,
}

//! The place that a file is of, as its header says.

/// A place. What a header leaves out is empty or none.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Station {
    /// Its name.
    pub name: String,
    /// State and country.
    pub region: String,
    /// Degrees north.
    pub latitude_deg: Option<f64>,
    /// Degrees east.
    pub longitude_deg: Option<f64>,
    /// Metres above sea level.
    pub elevation_m: Option<f64>,
    /// How far its standard time is ahead of UTC, s.
    pub standard_time_s: Option<i32>,
}

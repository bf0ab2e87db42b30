//! The weather, and where it comes from: files of local times and temperatures, with their gaps.
//!
//! A file's rows are read once into a [`Series`]: `frame` finds the table and which columns say when, `layout` how
//! warm, `survey` what holds for all rows, `file` reads them, `thin` leaves as many points as the weather needs. What a run has of it
//! is a [`Course`](crate::course::Course) on the run's own clock, over points that all runs share. `forecast` makes one of
//! highs and lows. This room
//! knows dates and files, and neither runs nor chambers.

pub(crate) mod absent;
pub(crate) mod asked;
pub(crate) mod clock;
pub(crate) mod columns;
pub mod describe;
mod elapsed;
mod epw;
mod file;
mod fill;
pub(crate) mod forecast;
mod format;
pub(crate) mod frame;
mod gaps;
mod header_units;
mod hourly;
mod isd_lite;
mod layout;
mod rows;
mod sample;
pub mod series;
pub(crate) mod stamp;
mod station;
mod steps;
pub(crate) mod survey;
mod temperature;
mod thin;
mod times;
mod tmy3;
pub(crate) mod understood;
mod years;

pub use clock::{ShopClock, offset_words};
pub use fill::{Fill, Filled};
pub use rows::Format;
pub use series::Series;
pub use station::Station;
pub use years::{Named, Rules, Years, read_years};

use jiff::civil::DateTime;

/// Seconds since midnight.
#[must_use]
pub fn seconds_of_day(t: DateTime) -> f64 {
    f64::from(t.hour()) * 3600.0
        + f64::from(t.minute()) * 60.0
        + f64::from(t.second())
        + f64::from(t.subsec_nanosecond()) * 1e-9
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::datetime;

    #[test]
    fn seconds_are_counted_from_midnight() {
        let t = datetime(2026, 7, 13, 7, 30, 15, 500_000_000);
        assert!((seconds_of_day(t) - 27_015.5).abs() < 1e-9);
    }
}

//! CSV of a season, one row a start, written as seasons come.

use std::io::{self, Write};

use crate::output::csv_rows::{io_error, rows, text_field};
use crate::output::words::iso;
use crate::study::season::Season;

/// The columns.
pub const COLUMNS: [&str; 8] = [
    "start",
    "weather",
    "arrangement",
    "verdict",
    "margin_K",
    "peak_degC",
    "station",
    "peak_at",
];

/// Writes starts as CSV, RFC 4180.
pub struct Rows<'a>(csv::Writer<&'a mut dyn Write>);

impl<'a> Rows<'a> {
    /// Begins with the names of the columns.
    ///
    /// # Errors
    /// When they can't be written.
    pub fn begin(to: &'a mut dyn Write) -> io::Result<Self> {
        let mut w = rows(to);
        w.write_record(COLUMNS).map_err(io_error)?;
        Ok(Self(w))
    }

    /// Adds a season in the weather of that name.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn add(&mut self, weather: &str, season: &Season) -> io::Result<()> {
        let (weather, name) = (text_field(weather), text_field(&season.name));
        for start in &season.starts {
            self.0
                .write_record([
                    iso(start.at),
                    weather.clone(),
                    name.clone(),
                    start.verdict.name().to_owned(),
                    format!("{:.3}", start.margin_K),
                    format!("{:.3}", start.peak_K - 273.15),
                    start.station.name().to_owned(),
                    iso(start.peak_at),
                ])
                .map_err(io_error)?;
        }
        self.0.flush()
    }
}

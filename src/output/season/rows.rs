//! CSV of a season, one row a start.

use std::io::{self, Write};

use crate::output::csv_rows::{io_error, rows, text_field};
use crate::output::words::iso;
use crate::study::season::Season;

/// The columns.
pub const COLUMNS: [&str; 7] = [
    "start",
    "arrangement",
    "verdict",
    "margin_K",
    "peak_degC",
    "station",
    "peak_at",
];

/// CSV of a season, RFC 4180, rows written one by one.
///
/// # Errors
/// When they can't be written.
pub fn csv(seasons: &[Season], to: &mut dyn Write) -> io::Result<()> {
    let mut w = rows(to);
    w.write_record(COLUMNS).map_err(io_error)?;
    for season in seasons {
        let name = text_field(&season.name);
        for start in &season.starts {
            w.write_record([
                iso(start.at),
                name.clone(),
                start.verdict.name().to_owned(),
                format!("{:.3}", start.margin_K),
                format!("{:.3}", start.peak_K - 273.15),
                start.station.name().to_owned(),
                iso(start.peak_at),
            ])
            .map_err(io_error)?;
        }
    }
    w.flush()
}

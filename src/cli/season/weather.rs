//! The weather that a season is named on the command line.

use std::path::PathBuf;

use crate::cli::common::{Failure, note};
use crate::weather::{Fill, Rules, ShopClock, Years, read_years};

/// How weather files are read.
#[derive(Debug, clap::Args)]
pub struct ReadingOptions {
    /// How gaps in weather files are filled: linear (a straight line) or warmer (the warmer of the two
    /// neighbours throughout). Without it a gap is an error.
    #[arg(long, value_name = "RULE")]
    pub fill: Option<String>,
    /// The longest gap that is filled; longer ones stay errors.
    #[arg(long, value_name = "TIME", default_value = "3 h", requires = "fill")]
    pub fill_up_to: String,
    /// The shop's clock, for files in UTC or a place's standard time: a time zone by name, which knows summer
    /// time, or how far the clock is ahead of UTC, such as "+02:00".
    #[arg(long, value_name = "ZONE", allow_hyphen_values = true)]
    pub time_zone: Option<String>,
    /// Let the end of a real year's file be followed by its beginning, as that of a typical year (EPW, TMY3)
    /// always is: each file is then taken for any year.
    #[arg(long)]
    pub wrap: bool,
}

impl ReadingOptions {
    /// The rules asked for.
    pub fn rules(&self) -> Result<Rules, Failure> {
        let fill = match &self.fill {
            None => Fill::Never,
            Some(rule) => Fill::parse(rule, Some(&self.fill_up_to))
                .map_err(|told| Failure::Usage(format!("--fill {rule}: {told}")))?,
        };
        let clock = self.time_zone.as_deref().map(ShopClock::parse).transpose();
        Ok(Rules {
            fill,
            clock: clock.map_err(|told| Failure::Usage(format!("--time-zone: {told}")))?,
            wraps: self.wrap,
            is_only_looked_at: false,
        })
    }
}

/// Reads files and folders, and tells what was understood of them and what was left out.
pub fn years(paths: &[PathBuf], options: &ReadingOptions) -> Result<Years, Failure> {
    let years = read_years(paths, &options.rules()?).map_err(Failure::Input)?;
    for year in &years.series {
        if !year.series.is_plain() {
            note(&format!("read {}", year.series.understood()));
        }
    }
    for path in &years.left_out {
        note(&format!(
            "left out {}: no weather by its name",
            path.display()
        ));
    }
    Ok(years)
}

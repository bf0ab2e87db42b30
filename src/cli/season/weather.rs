//! The weather that a season is named on the command line.

use std::path::Path;
use std::sync::Arc;

use crate::cli::common::Failure;
use crate::keys::Problems;
use crate::table::DataFile;
use crate::weather::Series;
use crate::weather::asked::Asked;

/// Reads a file of weather.
pub fn read(path: &Path) -> Result<Arc<Series>, Failure> {
    let file = DataFile::read(path).map_err(|problem| Failure::Input(Problems::from(*problem)))?;
    let mut problems = Vec::new();
    match Series::read(file, &Asked::default(), &mut problems) {
        Some(series) => Ok(Arc::new(series)),
        None => Err(Failure::Input(Problems::new(problems))),
    }
}

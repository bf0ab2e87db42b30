//! Weather files, read once.

use crate::failed;
use dogdays::weather::{Fill, Named, Rules, ShopClock, read_years};
use pyo3::prelude::*;
use std::path::PathBuf;

/// Series of weather by name.
#[pyclass(frozen, module = "dogdays._native")]
pub struct Weather {
    pub years: Vec<Named>,
    /// What was read and what was left out, for people.
    #[pyo3(get)]
    notes: Vec<String>,
}

#[pymethods]
impl Weather {
    /// Reads files, and the weather files in folders.
    #[staticmethod]
    #[pyo3(signature = (paths, fill, fill_up_to, time_zone, wrap))]
    fn read(
        py: Python<'_>,
        paths: Vec<PathBuf>,
        fill: Option<String>,
        fill_up_to: &str,
        time_zone: Option<String>,
        wrap: bool,
    ) -> PyResult<Self> {
        if paths.is_empty() {
            return Err(failed::asked(
                "no weather is named: give a file, several, or a folder",
            ));
        }
        let fill = match &fill {
            None => Fill::Never,
            Some(rule) => Fill::parse(rule, Some(fill_up_to))
                .map_err(|told| failed::asked(format!("fill {rule}: {told}")))?,
        };
        let clock = time_zone.as_deref().map(ShopClock::parse).transpose();
        let rules = Rules {
            fill,
            clock: clock.map_err(|told| failed::asked(format!("time_zone: {told}")))?,
            wraps: wrap,
            is_only_looked_at: false,
        };
        let years = py
            .detach(|| read_years(&paths, &rules))
            .map_err(|e| failed::from(e.into()))?;
        if years.series.is_empty() {
            return Err(failed::asked(
                "there is no weather in these folders: weather files end in .csv, .epw, .txt, .tsv, .dat, .xlsx, .xls or .ods",
            ));
        }
        let read = years.series.iter().filter(|y| !y.series.is_plain());
        let read = read.map(|y| format!("read {}", y.series.understood()));
        let left_out = years.left_out.iter();
        let left_out =
            left_out.map(|path| format!("left out {}: no weather by its name", path.display()));
        Ok(Self {
            notes: read.chain(left_out).collect(),
            years: years.series,
        })
    }

    /// The names, in the order in which they were read.
    fn names(&self) -> Vec<String> {
        self.years.iter().map(|y| y.name.clone()).collect()
    }
}

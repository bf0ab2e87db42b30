//! Temperatures over time, as arrays.

use dogdays::chamber::Simulation;
use dogdays::output::table;
use numpy::{IntoPyArray, PyArray1, PyArray2, PyArrayMethods};
use pyo3::prelude::*;
use std::sync::Arc;

/// Names, times, temperatures.
type Table<'py> = (
    Vec<String>,
    Bound<'py, PyArray1<f64>>,
    Bound<'py, PyArray2<f64>>,
);

/// What a run's integration left: a curve for every place, to be read at any step.
#[pyclass(frozen, module = "dogdays._native")]
pub struct Course {
    pub simulation: Arc<Simulation>,
}

#[pymethods]
impl Course {
    /// Names, times and temperatures in °C, one row of the array a name. The array is handed over as it was
    /// made: nothing is copied.
    fn table<'py>(&self, py: Python<'py>, every_s: f64) -> PyResult<Table<'py>> {
        let made = py.detach(|| table::course(&self.simulation, every_s));
        let (columns, rows) = (made.names.len(), made.elapsed_s.len());
        let values = made.values_degC.into_pyarray(py).reshape([columns, rows])?;
        Ok((made.names, made.elapsed_s.into_pyarray(py), values))
    }
}

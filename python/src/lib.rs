//! The native part of the Python package: reading runs, asking the library's questions, handing on one JSON text a
//! question and temperatures as arrays. What Python users see stands in `dogdays/`.

mod calibrate;
mod course;
mod failed;
mod pool;
mod run;
mod season;
mod weather;

use pyo3::prelude::*;
use std::path::{Path, PathBuf};

/// How many threads calls from now on may use together.
///
/// # Errors
/// When there is to be none.
#[pyfunction]
fn set_threads(threads: usize) -> PyResult<()> {
    if threads == 0 {
        return Err(failed::asked("threads: at least 1 is needed"));
    }
    pool::set_count(threads);
    Ok(())
}

/// The catalogue as JSON, everything by name or one entry with its values and sources, and what was left out of the
/// user's own models.
///
/// # Errors
/// When the folder of models is wrong, or nothing has that name.
#[pyfunction]
#[pyo3(signature = (name, models))]
fn catalogue(name: Option<&str>, models: Option<PathBuf>) -> PyResult<(String, Vec<String>)> {
    use dogdays::answer::catalogue::{entries, list};
    let catalogue = match run::folders(models).find(None, Path::new("")) {
        Some(used) => used.catalogue(),
        None => Ok(dogdays::catalogue::Catalogue::embedded()),
    }
    .map_err(|e| failed::from(e.into()))?;
    let found = match name {
        None => list(&catalogue),
        Some(name) => entries(&catalogue, name).map_err(|e| failed::from(e.into()))?,
    };
    let left_out = catalogue.notes().iter().map(|n| n.render(false)).collect();
    Ok((found.to_string(), left_out))
}

/// The module.
#[pymodule]
fn _native(m: &Bound<'_, PyModule>) -> PyResult<()> {
    m.add("__version__", env!("CARGO_PKG_VERSION"))?;
    m.add("DogdaysError", m.py().get_type::<failed::DogdaysError>())?;
    m.add_class::<run::Run>()?;
    m.add_class::<course::Course>()?;
    m.add_class::<weather::Weather>()?;
    m.add_function(wrap_pyfunction!(set_threads, m)?)?;
    m.add_function(wrap_pyfunction!(catalogue, m)?)?;
    m.add_function(wrap_pyfunction!(season::py_time_s, m)?)?;
    Ok(())
}

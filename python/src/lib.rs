//! The native part of the Python package: reading runs, asking the library's questions, handing on one JSON text a
//! question and temperatures as arrays. What Python users see stands in `dogdays/`.

mod calibrate;
mod course;
mod failed;
mod run;
mod season;
mod weather;

use pyo3::prelude::*;

/// How many threads a call may use; before the first call that computes.
///
/// # Errors
/// When threads run already, or none can be started.
#[pyfunction]
fn set_threads(threads: usize) -> PyResult<()> {
    if threads == 0 {
        return Err(failed::asked("threads: at least 1 is needed"));
    }
    rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build_global()
        .map_err(|_| failed::asked("threads: something was computed already, with as many threads as there are; set them before the first call, or RAYON_NUM_THREADS before Python starts"))
}

/// The JSON text of a dictionary as the TOML of a run file.
///
/// # Errors
/// When something in it has no place in a run file.
#[pyfunction]
fn toml_of(json: &str) -> PyResult<String> {
    let value: serde_json::Value =
        serde_json::from_str(json).map_err(|e| failed::asked(e.to_string()))?;
    toml::to_string(&value).map_err(|e| failed::asked(format!("the run: {e}")))
}

/// The catalogue as JSON: everything by name, or one entry with its values and sources.
///
/// # Errors
/// When the folder of models is wrong, or nothing has that name.
#[pyfunction]
#[pyo3(signature = (name, models))]
fn catalogue(name: Option<&str>, models: Option<std::path::PathBuf>) -> PyResult<String> {
    use dogdays::answer::catalogue::{entries, list};
    let catalogue = match models {
        Some(folder) => dogdays::catalogue::Catalogue::with_folder(&folder),
        None => Ok(dogdays::catalogue::Catalogue::embedded()),
    }
    .map_err(|e| failed::from(e.into()))?;
    match name {
        None => Ok(list(&catalogue).to_string()),
        Some(name) => entries(&catalogue, name)
            .map(|found| found.to_string())
            .map_err(|e| failed::from(e.into())),
    }
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
    m.add_function(wrap_pyfunction!(toml_of, m)?)?;
    m.add_function(wrap_pyfunction!(catalogue, m)?)?;
    m.add_function(wrap_pyfunction!(season::py_time_s, m)?)?;
    Ok(())
}

//! When is it safe to start?

use crate::failed;
use crate::run::Run;
use crate::weather::Weather;
use dogdays::answer::compare::own_and_named;
use dogdays::answer::season::{Asked, Weather as InWeather, moment};
use dogdays::output::season::Told;
use dogdays::quantity::{self, Quantity};
use dogdays::study::season::kept::Nothing;
use pyo3::prelude::*;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Reads a time with its unit, such as `10 min`; s.
pub fn time_s(name: &str, text: &str) -> PyResult<f64> {
    match quantity::parse(text, Quantity::Time) {
        Ok(t) if t > 0.0 => Ok(t),
        Ok(_) => Err(failed::asked(format!(
            "{name} {text:?}: it must be longer than nothing, for example \"10 min\""
        ))),
        Err(e) => Err(failed::asked(format!(
            "{name} {text:?}: {e}; {}",
            e.help(Quantity::Time, "min")
        ))),
    }
}

/// A time with its unit, in seconds.
#[pyfunction]
#[pyo3(name = "time_s")]
pub fn py_time_s(name: &str, text: &str) -> PyResult<f64> {
    time_s(name, text)
}

#[pymethods]
impl Run {
    /// JSON of `season`. `progress` is told how many starts are done, and of how many; what it raises ends the season
    /// after the work under way.
    #[allow(clippy::too_many_arguments)]
    fn season(
        &self,
        py: Python<'_>,
        weather: Option<&Weather>,
        every_s: f64,
        at: Option<&str>,
        least_flow: bool,
        arrangements: bool,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<String> {
        let from = at
            .map(|text| moment("at", text))
            .transpose()
            .map_err(failed::unanswered)?;
        let weathers: Vec<InWeather> = match weather {
            None => vec![InWeather::own()],
            Some(weather) => {
                let each = weather.years.iter();
                each.map(|year| InWeather {
                    name: year.name.clone(),
                    series: Some(year.series.clone()),
                })
                .collect()
            }
        };
        let mut candidates = own_and_named(&self.loaded);
        if !arrangements {
            candidates.truncate(1);
        }
        let asked = Asked {
            candidates: &candidates,
            weathers: &weathers,
            every_s,
        };
        if asked.is_of_years() && (from.is_some() || least_flow) {
            return Err(failed::asked(
                "at and least_flow are for one weather file: give one",
            ));
        }
        py.detach(|| {
            let total = asked.starts().map_err(failed::unanswered)?;
            let done = AtomicUsize::new(0);
            let raised = Mutex::new(None);
            let count = |more: usize| {
                let done = done.fetch_add(more, Ordering::Relaxed) + more;
                if let Some(progress) = &progress {
                    let told = Python::attach(|py| progress.call1(py, (done, total)).err());
                    if let (Some(e), Ok(mut raised)) = (told, raised.lock()) {
                        raised.get_or_insert(e);
                    }
                }
            };
            let mut found = asked.nothing_found(&self.loaded.run);
            let run = asked.run(
                |_, _| Nothing,
                &count,
                |weather, season| {
                    found.add(weather, season);
                    match raised.lock().ok().and_then(|mut raised| raised.take()) {
                        Some(e) => Err(Failed(e)),
                        None => Ok(()),
                    }
                },
            );
            run.map_err(|e| e.0)?;
            let extraction = least_flow
                .then(|| asked.least_flow())
                .transpose()
                .map_err(failed::unanswered)?;
            let told = Told {
                run: &self.loaded.run,
                from: from.map(|at| found.from(at)),
                extraction: extraction.as_ref(),
                is_typical_year: found.is_typical_year,
                verbose: false,
            };
            Ok(found.json(&told).to_string())
        })
    }
}

/// Ours, so that the library's errors can become it.
struct Failed(PyErr);

impl From<dogdays::answer::AnswerError> for Failed {
    fn from(e: dogdays::answer::AnswerError) -> Self {
        Self(failed::unanswered(e))
    }
}

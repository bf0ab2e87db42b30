//! When is it safe to start?

use crate::failed;
use crate::pool::computed;
use crate::run::Run;
use crate::weather::Weather;
use dogdays::answer::AnswerError;
use dogdays::answer::compare::own_and_named;
use dogdays::answer::season::{Asked, Weather as InWeather, moment};
use dogdays::output::season::Told;
use dogdays::quantity::{self, Quantity};
use dogdays::study::season::kept::Nothing;
use pyo3::prelude::*;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// Starts of one call: a minute apart over a decade.
const MOST_STARTS: usize = 5_000_000;

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
    /// JSON of `season`. `progress` is told how many starts are done, and of how many; what it raises ends the
    /// season.
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
        if weathers.len() > 1 && (from.is_some() || least_flow) {
            return Err(failed::asked(
                "at and least_flow are for one weather file: give one",
            ));
        }
        let loaded = Arc::clone(&self.loaded);
        computed(py, move |given_up| {
            let mut candidates = own_and_named(&loaded);
            if !arrangements {
                candidates.truncate(1);
            }
            let asked = Asked {
                candidates: &candidates,
                weathers: &weathers,
                every_s,
            };
            let total = asked.starts().map_err(failed::unanswered)?;
            if total > MOST_STARTS {
                return Err(failed::asked(format!(
                    "starts: {total} starts are more than {MOST_STARTS}; take a longer time between them"
                )));
            }
            let done = AtomicUsize::new(0);
            let raised = Mutex::new(None);
            let count = |more: usize| {
                given_up.look();
                let done = done.fetch_add(more, Ordering::Relaxed) + more;
                let Some(progress) = &progress else { return };
                let told = Python::attach(|py| progress.call1(py, (done, total)).err());
                if let Some(e) = told {
                    let mut raised = raised.lock().unwrap_or_else(PoisonError::into_inner);
                    raised.get_or_insert(e);
                    drop(raised);
                    given_up.give_up();
                    given_up.look();
                }
            };
            let mut found = asked.nothing_found(&loaded.run);
            let run = catch_unwind(AssertUnwindSafe(|| {
                asked.run(
                    |_, _| Nothing,
                    &count,
                    |weather, season| {
                        found.add(weather, season);
                        Ok::<(), AnswerError>(())
                    },
                )
            }));
            match run {
                Ok(run) => run.map_err(failed::unanswered)?,
                Err(panic) => {
                    let raised = raised.into_inner().unwrap_or_else(PoisonError::into_inner);
                    return match raised {
                        Some(e) => Err(e),
                        None => resume_unwind(panic),
                    };
                }
            }
            let extraction = least_flow
                .then(|| asked.least_flow())
                .transpose()
                .map_err(failed::unanswered)?;
            let told = Told {
                run: &loaded.run,
                from: from.map(|at| found.from(at)),
                extraction: extraction.as_ref(),
                is_typical_year: found.is_typical_year,
                verbose: false,
            };
            Ok(found.json(&told).to_string())
        })
    }
}

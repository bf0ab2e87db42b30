//! What do thermometers say of the machine?

use crate::failed;
use crate::pool::computed;
use crate::run::Run;
use dogdays::answer::calibrate::{Measured, logs, nothing_measured, some_place, taken};
use dogdays::output::calibrate::{json, notes};
use dogdays::study::calibrate::{Watched, calibrate};
use pyo3::prelude::*;
use std::path::PathBuf;
use std::sync::Arc;

#[pymethods]
impl Run {
    /// JSON of `calibrate`, the text of the machine's file with what was found (none where no values fit what was
    /// logged), and what was read and left out.
    #[expect(clippy::too_many_arguments, reason = "one for each that Python has")]
    fn calibrate(
        &self,
        py: Python<'_>,
        files: Vec<PathBuf>,
        begins: Option<String>,
        columns: Vec<String>,
        readings: Vec<String>,
        others: Vec<PyRef<'_, Run>>,
        parameters: Vec<String>,
    ) -> PyResult<(String, Option<String>, Vec<String>)> {
        let mut runs = vec![Arc::clone(&self.loaded)];
        runs.extend(others.iter().map(|other| Arc::clone(&other.loaded)));
        let mut said = Vec::new();
        let mut measured = Vec::new();
        for (k, loaded) in runs.iter().enumerate() {
            let none = Vec::new();
            let (files, begins, columns, readings) = match k {
                0 => (
                    files.as_slice(),
                    begins.as_deref(),
                    columns.as_slice(),
                    readings.as_slice(),
                ),
                _ => ([].as_slice(), None, none.as_slice(), [].as_slice()),
            };
            let read = logs(loaded, files, begins, columns).map_err(failed::unanswered)?;
            for log in &read {
                said.push(format!("read {}", log.understood));
                said.extend(log.notes.iter().cloned());
            }
            let readings = taken(loaded, readings).map_err(failed::unanswered)?;
            some_place(&read, &readings, &loaded.run).map_err(failed::unanswered)?;
            measured.push(Measured {
                readings,
                logs: read.into_iter().map(|read| read.log).collect(),
            });
        }
        if measured.iter().all(Measured::is_nothing) {
            return Err(failed::unanswered(nothing_measured()));
        }
        let (found, file) = computed(py, move |_| {
            let each = runs.iter().zip(&measured);
            let watched: Vec<Watched<'_>> = each
                .map(|(loaded, measured)| Watched {
                    inputs: &loaded.inputs,
                    readings: &measured.readings,
                    logs: &measured.logs,
                })
                .collect();
            let found =
                calibrate(&watched, &parameters).map_err(|e| failed::unanswered(e.into()))?;
            let all: Vec<_> = runs.iter().map(|loaded| &loaded.run).collect();
            let file = found.is_trusted().then(|| {
                let text = notes(&all, &found);
                runs[0].inputs.machine_file(&found.known(), &text)
            });
            Ok::<_, PyErr>((json(&all, &found).to_string(), file))
        })?;
        Ok((found, file, said))
    }
}

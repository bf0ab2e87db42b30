//! A run, and what can be asked of it.

use crate::course::Course;
use crate::failed;
use crate::pool::computed;
use dogdays::Verdict;
use dogdays::answer::check::{self, Check};
use dogdays::answer::{compare as answer_compare, size_fan as answer_size_fan};
use dogdays::catalogue::Catalogue;
use dogdays::chamber::IntegratorKind;
use dogdays::integrate::Options;
use dogdays::keys::fields::RUN_FILE;
use dogdays::output::{compare, network, size_fan};
use dogdays::runfile::edit::{Change, changed};
use dogdays::runfile::{self, Loaded, ModelFolders, Original};
use dogdays::study::band::Sampling;
use dogdays::study::sensitivity::sensitivity;
use pyo3::prelude::*;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The built-in demo's name in messages.
const DEMO: &str = "demo-data/run.toml";

/// A valid run with the text it was read from.
#[pyclass(frozen, module = "dogdays._native")]
pub struct Run {
    /// Shared with calls under way.
    pub loaded: Arc<Loaded>,
    /// The run file's text.
    #[pyo3(get)]
    text: String,
    /// Its name in messages.
    #[pyo3(get)]
    file: String,
    /// The folder that files in it are named from; none for the demo and for text of nowhere.
    #[pyo3(get)]
    folder: Option<PathBuf>,
    /// The folder of models that was named.
    #[pyo3(get)]
    models: Option<PathBuf>,
    is_demo: bool,
}

/// Samples and seed; none: nobody wants to know how sure it is.
pub fn sampling(samples: Option<u32>, seed: u32) -> PyResult<Option<Sampling>> {
    use dogdays::study::certainty::points::MOST_POINTS;
    match samples {
        None => Ok(None),
        Some(samples) if (2..=MOST_POINTS).contains(&samples) => {
            Ok(Some(Sampling { samples, seed }))
        }
        Some(samples) => Err(failed::asked(format!(
            "samples: {samples} is out of range; give 2 to {MOST_POINTS}, or None to leave out how sure the result is"
        ))),
    }
}

/// Where models may be, apart from what a run says: as the program.
pub fn folders(models: Option<PathBuf>) -> ModelFolders {
    ModelFolders {
        named: models,
        usual: Catalogue::usual_folder(),
    }
}

#[pymethods]
impl Run {
    /// Reads a run file.
    #[staticmethod]
    fn load(py: Python<'_>, path: PathBuf, models: Option<PathBuf>) -> PyResult<Self> {
        py.detach(|| {
            let original = Original::load(&path, &folders(models.clone()))
                .map_err(|e| failed::from(e.into()))?;
            Ok(Self {
                loaded: Arc::new(original.loaded().clone()),
                text: original.text().to_owned(),
                file: original.name().to_owned(),
                folder: original.folder().map(Path::to_owned),
                models,
                is_demo: false,
            })
        })
    }

    /// Reads the text of a run file.
    #[staticmethod]
    fn parse(
        py: Python<'_>,
        text: String,
        file: String,
        folder: Option<PathBuf>,
        models: Option<PathBuf>,
    ) -> PyResult<Self> {
        py.detach(|| {
            let found = folders(models.clone());
            let loaded = runfile::parse_with_folders(&text, &file, folder.as_deref(), &found)
                .map_err(|e| failed::from(e.into()))?;
            Ok(Self {
                loaded: Arc::new(loaded),
                text,
                file,
                folder,
                models,
                is_demo: false,
            })
        })
    }

    /// The built-in demo.
    #[staticmethod]
    fn demo() -> Self {
        Self {
            loaded: Arc::new(runfile::demo()),
            text: runfile::DEMO_RUN.to_owned(),
            file: DEMO.to_owned(),
            folder: None,
            models: None,
            is_demo: true,
        }
    }

    /// The run with keys set to TOML values or, with none, taken out; other values that these replace make way.
    fn with_settings(
        &self,
        py: Python<'_>,
        settings: Vec<(String, Option<String>)>,
    ) -> PyResult<Self> {
        for (key, value) in &settings {
            // What is to be set is looked at when the text is read.
            if value.is_none() && RUN_FILE.at(key).is_none() {
                return Err(failed::asked(format!(
                    "`{key}` is not a key of a run file, so that it can't be taken out"
                )));
            }
        }
        let changes: Vec<Change> = settings
            .into_iter()
            .map(|(key, value)| match value {
                Some(value) => Change::Set(key, value),
                None => Change::Drop(key),
            })
            .collect();
        let text = changed(&self.text, "settings", &changes).map_err(|e| failed::from(e.into()))?;
        self.with_text(py, text)
    }

    /// The run of another text in the place of this one's.
    fn with_text(&self, py: Python<'_>, text: String) -> PyResult<Self> {
        if !self.is_demo {
            let (file, folder) = (self.file.clone(), self.folder.clone());
            return Self::parse(py, text, file, folder, self.models.clone());
        }
        let loaded = py
            .detach(|| Original::demo().read(&text))
            .map_err(|e| failed::from(e.into()))?;
        Ok(Self {
            loaded: Arc::new(loaded),
            text,
            ..Self::demo()
        })
    }

    /// Whether this is the demo, or the demo with other values.
    #[getter]
    fn is_demo(&self) -> bool {
        self.is_demo
    }

    /// Name, machine, material, start, length in hours, hints, values that nobody gave, files, series as understood.
    #[allow(clippy::type_complexity)]
    fn about(
        &self,
    ) -> (
        String,
        String,
        String,
        String,
        f64,
        Vec<String>,
        Vec<String>,
        Vec<PathBuf>,
        Vec<String>,
    ) {
        let run = &self.loaded.run;
        let hints = self.loaded.warnings.iter().map(|hint| hint.render(false));
        let guessed = self.loaded.guesses().map(|stated| stated.key.clone());
        let mut files = self.loaded.files.clone();
        files.sort();
        files.dedup();
        let series = self.loaded.series.iter().map(|s| s.understood().to_owned());
        (
            run.name.clone(),
            run.machine.name.clone(),
            run.material.name.clone(),
            run.start.to_string(),
            run.duration_s / 3600.0,
            hints.collect(),
            guessed.collect(),
            files,
            series.collect(),
        )
    }

    /// JSON of `check`, and the course of temperatures. `remedies`: looked for if true; if none, where it does not
    /// hold.
    fn check(
        &self,
        py: Python<'_>,
        samples: Option<u32>,
        seed: u32,
        remedies: Option<bool>,
        with_sensitivity: bool,
        explain: bool,
    ) -> PyResult<(String, Course)> {
        let sampling = sampling(samples, seed)?;
        if with_sensitivity && sampling.is_none() {
            return Err(failed::asked(
                "sensitivity is made of samples: leave samples at their number, or sensitivity out",
            ));
        }
        let loaded = Arc::clone(&self.loaded);
        computed(py, move |_| {
            let loaded = &*loaded;
            let options = Options::fine();
            let findings = check::findings(loaded, IntegratorKind::Rosenbrock, &options, sampling)
                .map_err(failed::unanswered)?;
            let mut found = Check::of(findings);
            let holds = found.findings.outcome.verdict == Verdict::Holds;
            if remedies.unwrap_or(!holds) {
                found.remedies =
                    Some(check::remedies(loaded, sampling).map_err(failed::unanswered)?);
            }
            if let (true, Some(sampling)) = (with_sensitivity, sampling) {
                let station = found.findings.outcome.station;
                found.sensitivity = Some(sensitivity(&loaded.inputs, station, sampling, &|| ()));
            }
            if explain {
                found.explain();
            }
            let json = found.json(loaded).to_string();
            let simulation = Arc::new(found.findings.simulation);
            Ok((json, Course { simulation }))
        })
    }

    /// JSON of `compare`.
    fn compare(&self, py: Python<'_>, samples: Option<u32>, seed: u32) -> PyResult<String> {
        let sampling = sampling(samples, seed)?;
        py.detach(|| {
            let options = Options::default();
            let (candidates, setting) =
                answer_compare::candidates(&self.loaded, &options).map_err(failed::unanswered)?;
            let rows = dogdays::study::compare::compare(candidates, sampling, &options)
                .map_err(|e| failed::from(e.into()))?;
            Ok(compare::json(&rows, setting).to_string())
        })
    }

    /// JSON of `size-fan`.
    fn size_fan(
        &self,
        py: Python<'_>,
        fans: Vec<String>,
        samples: Option<u32>,
        seed: u32,
    ) -> PyResult<String> {
        let sampling = sampling(samples, seed)?;
        let loaded = Arc::clone(&self.loaded);
        computed(py, move |_| {
            let fans = answer_size_fan::fans(&loaded, &fans).map_err(failed::unanswered)?;
            let sizing = dogdays::study::size_fan::size_fan(
                &loaded.inputs,
                &fans,
                sampling,
                &Options::default(),
            )
            .map_err(|e| failed::from(e.into()))?;
            Ok(size_fan::json(&loaded.run, &sizing).to_string())
        })
    }

    /// The network as JSON, as `check --export-network` writes it.
    fn network(&self, py: Python<'_>) -> PyResult<String> {
        py.detach(|| {
            let run = &self.loaded.run;
            let chamber = dogdays::Chamber::new(run).map_err(|e| failed::from(e.into()))?;
            let bytes = network::network(run, &chamber.describe())
                .map_err(|e| failed::asked(e.to_string()))?;
            String::from_utf8(bytes).map_err(|e| failed::asked(e.to_string()))
        })
    }
}

//! A run with the text it was read from, so that it can be read again with some of the text changed.

use super::models::ModelFolders;
use super::read::{Loaded, Models, parse_with};
use super::{DEMO_RUN, DEMO_WEATHER};
use crate::catalogue::Catalogue;
use crate::keys::file::text_of_file;
use crate::keys::problem::{Problem, Problems};
use crate::table::DataFile;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// The embedded demo's name in messages.
const DEMO_NAME: &str = "demo-data/run.toml";

/// A run, its text, and what it chose from. The files that it names are read once and kept.
#[derive(Debug)]
pub struct Original {
    text: String,
    name: String,
    /// The run file's folder; none for the demo.
    folder: Option<PathBuf>,
    catalogue: Catalogue,
    files: Mutex<BTreeMap<String, DataFile>>,
    loaded: Loaded,
}

impl Original {
    /// Reads a run file and the files it names.
    ///
    /// # Errors
    /// As [`load`](super::load).
    pub fn load(path: &Path, folders: &ModelFolders) -> Result<Self, Problems> {
        let text = text_of_file(path).map_err(|problem| Problems::from(*problem))?;
        let mut loaded = super::load_with(path, folders)?;
        let catalogue = loaded.catalogue()?;
        let folder = path.parent().unwrap_or_else(|| Path::new(""));
        loaded.files.push(path.to_owned());
        Ok(Self {
            text,
            name: path.display().to_string(),
            folder: Some(folder.to_owned()),
            catalogue,
            files: Mutex::default(),
            loaded,
        })
    }

    /// The embedded demo.
    #[must_use]
    pub fn demo() -> Self {
        Self {
            text: DEMO_RUN.to_owned(),
            name: DEMO_NAME.to_owned(),
            folder: None,
            catalogue: Catalogue::embedded(),
            files: Mutex::default(),
            loaded: super::demo(),
        }
    }

    /// The run as its file says it.
    #[must_use]
    pub fn loaded(&self) -> &Loaded {
        &self.loaded
    }

    /// The file's text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The file's name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The folder of the file; none for the demo, which has none.
    #[must_use]
    pub fn folder(&self) -> Option<&Path> {
        self.folder.as_deref()
    }

    /// What the run could choose from.
    #[must_use]
    pub fn catalogue(&self) -> &Catalogue {
        &self.catalogue
    }

    /// The run of another text in the place of this one's, with the same models and the files as they were.
    ///
    /// # Errors
    /// Everything that is wrong with the text.
    pub fn read(&self, text: &str) -> Result<Loaded, Problems> {
        let fetch = |name: &str| self.fetch(name);
        parse_with(text, &self.name, &fetch, Models::Given(&self.catalogue))
    }

    fn fetch(&self, name: &str) -> Result<DataFile, Box<Problem>> {
        // A panic elsewhere leaves the map whole.
        let mut files = self.files.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(file) = files.get(name) {
            return Ok(file.clone());
        }
        let file = match &self.folder {
            Some(folder) => DataFile::read(&folder.join(name))?,
            None => DataFile {
                name: "demo-data/weather.csv".to_owned(),
                bytes: DEMO_WEATHER.as_bytes().to_vec(),
            },
        };
        files.insert(name.to_owned(), file.clone());
        Ok(file)
    }
}

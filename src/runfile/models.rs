//! Where a user's own machines, materials, panels and fans are found: one folder, looked for in a fixed order.

use crate::catalogue::Catalogue;
use crate::keys::problem::Problems;
use std::fmt;
use std::path::{Path, PathBuf};

/// The folder that is looked for beside a run file.
pub const BESIDE: &str = "my-models";

/// The folders that may hold models of the user's own, apart from those that the run file's place and its
/// `run.models` say.
#[derive(Debug, Clone, Default)]
pub struct ModelFolders {
    /// Named for this one time: it counts before all others.
    pub named: Option<PathBuf>,
    /// Where to look when there is no other; it need not exist.
    pub usual: Option<PathBuf>,
}

/// The folder in use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ModelsUsed {
    /// The folder.
    pub folder: PathBuf,
    /// Why this one.
    pub found: Found,
}

/// Why a folder of models is the one in use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// Named on the command line.
    Option,
    /// Named in the run file.
    RunFile,
    /// It stands beside the run file.
    Beside,
    /// It is in the platform's usual place.
    UsualPlace,
}

impl Found {
    /// In a few words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Option => "named with --models",
            Self::RunFile => "named under [run]",
            Self::Beside => "found beside the run file",
            Self::UsualPlace => "found in the usual place for data",
        }
    }
}

impl ModelFolders {
    /// The folder to use for a run file in the folder `base` that says this under `run.models`: the one named
    /// for this time, the run file's, `my-models` beside it, the usual one.
    #[must_use]
    pub fn find(&self, run_says: Option<&str>, base: &Path) -> Option<ModelsUsed> {
        let beside = base.join(BESIDE);
        let (folder, found) = if let Some(named) = &self.named {
            (named.clone(), Found::Option)
        } else if let Some(relative) = run_says {
            (base.join(relative), Found::RunFile)
        } else if beside.is_dir() {
            (beside, Found::Beside)
        } else {
            let usual = self.usual.as_ref().filter(|folder| folder.is_dir())?;
            (usual.clone(), Found::UsualPlace)
        };
        Some(ModelsUsed { folder, found })
    }
}

impl ModelFolders {
    /// The folder to use for a run that has no folder of its own.
    #[must_use]
    pub fn apart(&self, run_says: Option<&str>) -> Option<ModelsUsed> {
        let usual = self.usual.as_ref().filter(|folder| folder.is_dir());
        let (folder, found) = if let Some(named) = &self.named {
            (named.clone(), Found::Option)
        } else if let Some(folder) = run_says {
            (PathBuf::from(folder), Found::RunFile)
        } else {
            (usual?.clone(), Found::UsualPlace)
        };
        Some(ModelsUsed { folder, found })
    }
}

impl ModelsUsed {
    /// The program's models with those of the folder.
    ///
    /// # Errors
    /// Everything that is wrong with the folder and its files.
    pub fn catalogue(&self) -> Result<Catalogue, Problems> {
        Catalogue::with_folder(&self.folder)
    }
}

impl fmt::Display for ModelsUsed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.folder.display(), self.found.words())
    }
}

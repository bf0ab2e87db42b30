//! Temporary files that never outlive the program, also when it is ended from outside.
//!
//! Each is listed while it lives. Whoever catches the end of the program calls [`remove_all`]; dropping
//! takes care of every other way out.

use std::collections::BTreeSet;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use tempfile::NamedTempFile;

/// Those that exist now.
static LIVING: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

/// A panic elsewhere leaves the list itself whole.
fn living() -> MutexGuard<'static, BTreeSet<PathBuf>> {
    LIVING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A temporary file beside the one that it will become.
#[derive(Debug)]
pub(super) struct Temporary {
    /// None once it has become what it was for.
    file: Option<NamedTempFile>,
}

impl Temporary {
    /// Begins one in a folder, with the permissions that any other program would give a new file.
    pub(super) fn begin(folder: &Path) -> io::Result<Self> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(".dogdays-");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            builder.permissions(std::fs::Permissions::from_mode(0o666));
        }
        // Under the lock, so that none is begun after the last ones were removed.
        let mut living = living();
        let file = builder.tempfile_in(folder)?;
        living.insert(file.path().to_owned());
        Ok(Self { file: Some(file) })
    }

    /// The file, to write to.
    pub(super) fn file(&mut self) -> io::Result<&mut std::fs::File> {
        let gone = || io::Error::other("the temporary file is gone");
        self.file
            .as_mut()
            .map(NamedTempFile::as_file_mut)
            .ok_or_else(gone)
    }

    /// Puts it where it belongs, in place of what is there.
    pub(super) fn become_file(mut self, path: &Path) -> io::Result<()> {
        let Some(file) = self.file.take() else {
            return Ok(());
        };
        let mut living = living();
        living.remove(file.path());
        file.persist(path).map(drop).map_err(|e| e.error)
    }
}

impl Drop for Temporary {
    fn drop(&mut self) {
        if let Some(file) = self.file.take() {
            let mut living = living();
            living.remove(file.path());
            // It may be gone already; there is nothing to be done about one that can't be removed.
            let _ = file.close();
        }
    }
}

/// Keeps further temporary files from being begun while it lives.
#[derive(Debug)]
pub struct NoMore {
    _lock: MutexGuard<'static, BTreeSet<PathBuf>>,
}

/// Removes every temporary file, for a program that is about to end. While what is returned lives, no
/// new one begins and none becomes an output.
pub fn remove_all() -> NoMore {
    let mut lock = living();
    for path in std::mem::take(&mut *lock) {
        // Best effort: the program ends either way.
        let _ = std::fs::remove_file(path);
    }
    NoMore { _lock: lock }
}

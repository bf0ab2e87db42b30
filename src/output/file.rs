//! Writes files whole: to a temporary file beside the target, then renamed.

use std::io::Write;
use std::path::{Path, PathBuf};

/// Why a file could not be written.
#[derive(Debug, Clone, thiserror::Error)]
#[error("cannot write {path}: {reason}")]
pub struct WriteError {
    /// The file.
    pub path: PathBuf,
    /// In words, with what to do.
    pub reason: String,
}

/// Writes `bytes` to `path`; either all of it is there afterwards or the old file is untouched.
///
/// # Errors
/// When the folder is missing or not writable, or the path is a folder.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let fail = |reason: String| WriteError {
        path: path.to_owned(),
        reason,
    };
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    if !folder.is_dir() {
        return Err(fail(format!(
            "there is no folder {}; make it first",
            folder.display()
        )));
    }
    if path.is_dir() {
        return Err(fail("it is a folder; give a file name".to_owned()));
    }
    let io = |e: std::io::Error| match e.kind() {
        std::io::ErrorKind::PermissionDenied | std::io::ErrorKind::ReadOnlyFilesystem => {
            fail(format!(
                "the folder {} may not be written to; choose another",
                folder.display()
            ))
        }
        _ => fail(e.to_string()),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".dogdays-");
    // A new file gets the permissions any other program would give it, not a temporary file's.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder).map_err(io)?;
    file.write_all(bytes).map_err(io)?;
    file.flush().map_err(io)?;
    file.persist(path).map_err(|e| io(e.error))?;
    Ok(())
}

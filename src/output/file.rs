//! Writes outputs: files whole, to a temporary file beside the target that is then renamed; into devices,
//! pipes and sockets as they come.
//!
//! A [`Target`] is looked at before anything is computed, so that nobody waits for a result that can't be
//! written.

use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, BufWriter, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

use super::ours::Kind;
use super::temporary::Temporary;

/// Why an output could not be written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("cannot write {}: {reason}", path.display())]
pub struct WriteError {
    /// The path as typed.
    pub path: PathBuf,
    /// In words, with what to do.
    pub reason: Reason,
}

/// What is wrong with a path as a place for an output.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Reason {
    /// Its folder is missing.
    #[error("there is no folder {}; make it first", .0.display())]
    NoFolder(PathBuf),
    /// It is a folder.
    #[error("it is a folder; give a file name")]
    IsFolder,
    /// Its folder is closed.
    #[error("the folder {} may not be written to; choose another", .0.display())]
    Denied(PathBuf),
    /// A file that others may need.
    #[error(
        "a file of that name is there, and it is no earlier output of this program; choose another name, or replace it with --force"
    )]
    NotOurs,
    /// A file that one edits.
    #[error("it is there already; choose another name, or replace it with --force")]
    Exists,
    /// A file that someone protected.
    #[error("the file is write-protected; choose another name, or replace it with --force")]
    Protected,
    /// A disk: what is written would destroy what it holds.
    #[error("it is a disk; choose a file, or write over the disk with --force")]
    Disk,
    /// Symbolic links that lead nowhere.
    #[error("too many symbolic links on the way; name the file itself")]
    Links,
    /// What the system says.
    #[error("{0}")]
    System(String),
}

/// Where an output goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Target {
    /// As typed.
    path: PathBuf,
    place: Place,
    /// What is there now.
    there: Option<Identity>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Place {
    StandardOutput,
    StandardError,
    /// A terminal, `/dev/null` and the like: any number of outputs may go there.
    Device,
    /// A pipe, or a file that another program holds open under a number.
    Pipe,
    Socket,
    /// A file, links followed; it need not exist.
    File(PathBuf),
}

/// What tells one thing on disk from another, by whatever names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Identity(
    #[cfg(unix)] (u64, u64),
    // Hard links go unnoticed here; symbolic ones don't.
    #[cfg(not(unix))] PathBuf,
);

impl Identity {
    /// Of what is at a path; none if nothing is.
    #[must_use]
    pub fn of(path: &Path) -> Option<Self> {
        Self::known(path, &fs::metadata(path).ok()?)
    }

    #[cfg(unix)]
    #[expect(
        clippy::unnecessary_wraps,
        reason = "elsewhere a path may not be found"
    )]
    fn known(_: &Path, metadata: &Metadata) -> Option<Self> {
        use std::os::unix::fs::MetadataExt;
        Some(Self((metadata.dev(), metadata.ino())))
    }

    #[cfg(not(unix))]
    fn known(path: &Path, _: &Metadata) -> Option<Self> {
        path.canonicalize().ok().map(Self)
    }
}

impl Target {
    /// Looks at a path. With `replace`, a file that is there may be any; without, it must be empty or
    /// an earlier output of the same kind. Nothing is opened that could block.
    ///
    /// # Errors
    /// When the folder is missing or not writable, the path is a folder, or what is there must stay.
    pub fn look(path: &Path, kind: Kind, replace: bool) -> Result<Self, WriteError> {
        Self::find(path, kind, replace).map_err(|reason| WriteError {
            path: path.to_owned(),
            reason,
        })
    }

    fn find(path: &Path, kind: Kind, replace: bool) -> Result<Self, Reason> {
        let found = |place, there| Self {
            path: path.to_owned(),
            place,
            there,
        };
        match path.to_str() {
            Some("/dev/stdout" | "/dev/fd/1" | "/proc/self/fd/1") => {
                return Ok(found(Place::StandardOutput, None));
            }
            Some("/dev/stderr" | "/dev/fd/2" | "/proc/self/fd/2") => {
                return Ok(found(Place::StandardError, None));
            }
            _ => {}
        }
        let metadata = match fs::metadata(path) {
            Ok(metadata) => metadata,
            Err(e) if e.kind() == ErrorKind::NotFound => {
                let file = end_of_links(path)?;
                let folder = folder_of(&file);
                // The name stands for the same file however the folder is written.
                let file = match (folder.canonicalize(), file.file_name()) {
                    (Ok(folder), Some(name)) => folder.join(name),
                    _ => file,
                };
                return writable(found(Place::File(file), None));
            }
            Err(e) => return Err(Reason::System(e.to_string())),
        };
        let there = Identity::known(path, &metadata);
        if metadata.is_dir() {
            return Err(Reason::IsFolder);
        }
        if !metadata.is_file() {
            return special(&metadata, replace).map(|place| found(place, there));
        }
        if path.starts_with("/dev/fd") || path.starts_with("/proc") {
            return Ok(found(Place::Pipe, there));
        }
        if !replace {
            may_go(path, &metadata, kind)?;
        }
        let file = path
            .canonicalize()
            .map_err(|e| Reason::System(e.to_string()))?;
        writable(found(Place::File(file), there))
    }

    /// Whether the output would replace or change what has this identity.
    #[must_use]
    pub fn is(&self, identity: &Identity) -> bool {
        self.there.as_ref() == Some(identity)
    }

    /// Whether it goes to standard output.
    #[must_use]
    pub fn is_standard_output(&self) -> bool {
        self.place == Place::StandardOutput
    }

    /// Whether two outputs would overwrite or mix with each other.
    #[must_use]
    pub fn collides_with(&self, other: &Self) -> bool {
        match (&self.place, &other.place) {
            (Place::Device, _) | (_, Place::Device) => false,
            (Place::File(a), Place::File(b)) if a == b => true,
            (Place::StandardOutput, Place::StandardOutput) => true,
            (Place::StandardError, Place::StandardError) => true,
            _ => self.there.is_some() && self.there == other.there,
        }
    }

    /// Writes what `fill` gives. A file is there whole afterwards, or what was there before is
    /// untouched; its permissions and owner stay. A pipe whose reader has gone is no error.
    ///
    /// # Errors
    /// When the system refuses, or `fill` fails.
    pub fn write(
        &self,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), WriteError> {
        let done = match &self.place {
            Place::StandardOutput => stream(&mut io::stdout().lock(), fill),
            Place::StandardError => stream(&mut io::stderr().lock(), fill),
            Place::Device | Place::Pipe => OpenOptions::new()
                .append(true)
                .open(&self.path)
                .and_then(|mut file| stream(&mut file, fill)),
            Place::Socket => into_socket(&self.path, fill),
            Place::File(file) => whole(file, fill),
        };
        done.map_err(|e| WriteError {
            path: self.path.clone(),
            reason: match &self.place {
                Place::File(file) => reason(&e, folder_of(file)),
                _ => Reason::System(e.to_string()),
            },
        })
    }
}

fn stream(
    to: &mut dyn Write,
    fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<()> {
    let mut buffered = BufWriter::new(to);
    let done = fill(&mut buffered).and_then(|()| buffered.flush());
    match done {
        Err(e) if e.kind() == ErrorKind::BrokenPipe => {
            // What is left in the buffer has no reader: dropping would try once more.
            let _ = buffered.into_parts();
            Ok(())
        }
        done => done,
    }
}

#[cfg(unix)]
fn into_socket(path: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
    stream(&mut std::os::unix::net::UnixStream::connect(path)?, fill)
}

#[cfg(not(unix))]
fn into_socket(_: &Path, _: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
    Err(ErrorKind::Unsupported.into())
}

fn whole(path: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
    let mut temporary = Temporary::begin(folder_of(path))?;
    let mut buffered = BufWriter::new(temporary.file()?);
    fill(&mut buffered)?;
    buffered.flush()?;
    drop(buffered);
    if let Ok(before) = fs::metadata(path) {
        keep_access(temporary.file()?, &before)?;
    }
    temporary.become_file(path)
}

/// Who may read and write the old file, and whose it is, holds for the new one.
fn keep_access(file: &File, before: &Metadata) -> io::Result<()> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::{MetadataExt, fchown};
        let now = file.metadata()?;
        if (now.uid(), now.gid()) != (before.uid(), before.gid()) {
            // Only root may give files away; others' stay with whoever wrote last, as with any editor.
            let _ = fchown(file, Some(before.uid()), Some(before.gid()));
        }
    }
    file.set_permissions(before.permissions())
}

/// What is neither a file nor a folder is written into.
fn special(metadata: &Metadata, replace: bool) -> Result<Place, Reason> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt;
        let kind = metadata.file_type();
        if kind.is_block_device() && !replace {
            return Err(Reason::Disk);
        }
        if kind.is_socket() {
            return Ok(Place::Socket);
        }
        if kind.is_fifo() {
            return Ok(Place::Pipe);
        }
    }
    #[cfg(not(unix))]
    let _ = (metadata, replace);
    Ok(Place::Device)
}

/// Whether a file may go without a word.
fn may_go(path: &Path, metadata: &Metadata, kind: Kind) -> Result<(), Reason> {
    if metadata.permissions().readonly() {
        return Err(Reason::Protected);
    }
    if metadata.len() == 0 {
        return Ok(());
    }
    let mut head = Vec::new();
    let seen = File::open(path).and_then(|f| f.take(Kind::HEAD as u64).read_to_end(&mut head));
    match kind {
        _ if seen.is_ok() && kind.begins(&head) => Ok(()),
        Kind::RunFile => Err(Reason::Exists),
        Kind::Table | Kind::Picture | Kind::Network | Kind::SeasonState | Kind::Sheet => {
            Err(Reason::NotOurs)
        }
    }
}

/// A file's folder must take the temporary file.
fn writable(target: Target) -> Result<Target, Reason> {
    if let Place::File(file) = &target.place {
        let folder = folder_of(file);
        if !folder.is_dir() {
            return Err(Reason::NoFolder(folder.to_owned()));
        }
        Temporary::begin(folder).map_err(|e| reason(&e, folder))?;
    }
    Ok(target)
}

fn reason(e: &io::Error, folder: &Path) -> Reason {
    match e.kind() {
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            Reason::Denied(folder.to_owned())
        }
        _ => Reason::System(e.to_string()),
    }
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    }
}

/// Where a chain of symbolic links ends; a link may name what does not exist yet.
fn end_of_links(path: &Path) -> Result<PathBuf, Reason> {
    /// As many as Linux follows.
    const MOST: usize = 40;
    let mut at = path.to_owned();
    for _ in 0..MOST {
        match fs::read_link(&at) {
            Ok(next) => at = folder_of(&at).join(next),
            Err(_) => return Ok(at),
        }
    }
    Err(Reason::Links)
}

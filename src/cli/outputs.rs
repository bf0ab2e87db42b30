//! The files a command is to write: all looked at before anything is computed, then written one by one.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::common::Failure;
use super::ended;
use super::terminal::note;
use crate::output::file::{Identity, Target};
use crate::output::ours::Kind;
use crate::plain::plain;

/// What may be replaced.
#[derive(Debug, Clone, Copy, clap::Args)]
pub struct ReplaceOptions {
    /// Replace files that are there, even those that are no earlier output of this program. What the
    /// run is read from is never replaced.
    #[arg(long)]
    pub force: bool,
}

/// The files of one command, so that none is an input of the same run and none is written twice.
#[derive(Debug)]
pub struct Outputs<'a> {
    inputs: &'a [PathBuf],
    replace: ReplaceOptions,
    /// Whether standard output carries one JSON object and nothing else.
    is_json: bool,
    taken: Vec<(&'static str, Target)>,
}

/// A file to be written.
#[derive(Debug)]
pub struct Output {
    path: PathBuf,
    kind: Kind,
    replace: ReplaceOptions,
}

impl<'a> Outputs<'a> {
    /// None yet.
    pub const fn new(inputs: &'a [PathBuf], replace: ReplaceOptions, is_json: bool) -> Self {
        Self {
            inputs,
            replace,
            is_json,
            taken: Vec::new(),
        }
    }

    /// Adds the file that an option names, if it names one.
    pub fn add(
        &mut self,
        option: &'static str,
        path: Option<&Path>,
        kind: Kind,
    ) -> Result<Option<Output>, Failure> {
        let Some(path) = path else { return Ok(None) };
        let shown = path.display();
        if let Some(input) = self.inputs.iter().find(|input| is_same_file(input, path)) {
            return Err(Failure::Usage(format!(
                "{option} {shown}: this run is read from {}; choose another name",
                input.display()
            )));
        }
        let target = Target::look(path, kind, self.replace.force)?;
        if self.is_json && target.is_standard_output() {
            return Err(Failure::Usage(format!(
                "{option} {shown}: with --json, standard output carries the JSON and nothing else; name a file"
            )));
        }
        if standard_output().is_some_and(|out| target.is(&out)) {
            return Err(Failure::Usage(format!(
                "{option} {shown}: what the program says is sent to this file too; choose another name"
            )));
        }
        if let Some((other, _)) = self.taken.iter().find(|(_, t)| t.collides_with(&target)) {
            return Err(Failure::Usage(format!(
                "{option} {shown}: {other} is written there too; give each a file of its own"
            )));
        }
        self.taken.push((option, target));
        ended::clean_up()?;
        Ok(Some(Output {
            path: path.to_owned(),
            kind,
            replace: self.replace,
        }))
    }
}

impl Output {
    /// The path as typed.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Writes it and says so. What came to be there in the meantime is looked at like what was there before.
    pub fn save(
        &self,
        what: &str,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), Failure> {
        Target::look(&self.path, self.kind, self.replace.force)?.write(fill)?;
        let path = self.path.display().to_string();
        note(&format!("wrote {what} to {}", plain(&path)));
        Ok(())
    }

    /// Writes what is there whole.
    pub fn save_bytes(&self, what: &str, bytes: &[u8]) -> Result<(), Failure> {
        self.save(what, |to| to.write_all(bytes))
    }
}

/// Whether an output's path is an input, by whatever name. Only what is kept on disk can be lost.
fn is_same_file(input: &Path, output: &Path) -> bool {
    input.is_file() && Identity::of(input) == Identity::of(output)
}

/// The file that standard output is sent to.
fn standard_output() -> Option<Identity> {
    let path = Path::new("/dev/stdout");
    path.is_file().then(|| Identity::of(path)).flatten()
}

//! `--report`: the sheet for the shop's file.

use std::path::{Path, PathBuf};

use jiff::civil::DateTime;
use jiff::tz::TimeZone;

use super::common::Failure;
use super::outputs::{Output, Outputs};
use crate::output::chart::ChartError;
use crate::output::ours::Kind;
use crate::output::sheet::frame::{Content, Origin, Source, page, sources_of};
use crate::runfile::{DEMO_RUN, DEMO_WEATHER};

/// The option.
#[derive(Debug, clap::Args)]
pub struct SheetOptions {
    /// Write a page for the shop's file, .html: the answer, drawings, inputs, a log sheet, a line to sign.
    #[arg(long, value_name = "FILE")]
    report: Option<PathBuf>,
}

impl SheetOptions {
    /// Adds the file to those that are written.
    pub fn add(&self, outputs: &mut Outputs<'_>) -> Result<Option<Output>, Failure> {
        if let Some(path) = &self.report
            && !is_page(path)
        {
            return Err(Failure::Usage(format!(
                "--report {}: a report is a web page; end the file name with .html",
                path.display()
            )));
        }
        outputs.add("--report", self.report.as_deref(), Kind::Sheet)
    }
}

fn is_page(path: &Path) -> bool {
    let is_device = path.starts_with("/dev") || path.starts_with("/proc");
    let extension = path.extension().map(|e| e.to_ascii_lowercase());
    is_device || extension.is_some_and(|e| e == "html" || e == "htm")
}

/// Writes the sheet.
pub fn save(
    to: &Output,
    content: Result<Content, ChartError>,
    files: &[PathBuf],
) -> Result<(), Failure> {
    let content = content.map_err(|e| Failure::Other(e.to_string()))?;
    to.save_bytes("the report", page(&content, &origin(files)?).as_bytes())
}

/// Where a sheet comes from: what was typed, what was read, when.
fn origin(files: &[PathBuf]) -> Result<Origin, Failure> {
    let mut sources = sources_of(files)
        .map_err(|e| Failure::Other(format!("the inputs can't be read again: {e}")))?;
    if files.is_empty() {
        // The run file comes last, as among files: its digest stands on every printed page.
        sources.push(Source::new(
            "the built-in demo's weather",
            DEMO_WEATHER.as_bytes(),
        ));
        sources.push(Source::new("its run file", DEMO_RUN.as_bytes()));
    }
    sources.dedup();
    Ok(Origin {
        command: command(typed()),
        set: Vec::new(),
        sources,
        made_at: Some(now()),
    })
}

/// The time in UTC; the one of `SOURCE_DATE_EPOCH` where that is set, so that equal inputs can give equal files
/// (reproducible-builds.org).
pub fn now() -> DateTime {
    let told = std::env::var("SOURCE_DATE_EPOCH").ok();
    let told = told.and_then(|text| text.trim().parse().ok());
    let told = told.and_then(|seconds| jiff::Timestamp::from_second(seconds).ok());
    let now = told.unwrap_or_else(jiff::Timestamp::now);
    now.to_zoned(TimeZone::UTC).datetime()
}

/// What was typed behind the program's name.
fn typed() -> impl Iterator<Item = String> {
    std::env::args_os()
        .skip(1)
        .map(|word| word.to_string_lossy().into_owned())
}

/// A command line that a shell understands as it was typed.
fn command(words: impl Iterator<Item = String>) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./=:,+@%".contains(c);
    let quoted = words.map(|word| {
        if !word.is_empty() && word.chars().all(plain) {
            word
        } else {
            format!("'{}'", word.replace('\'', r"'\''"))
        }
    });
    let all: Vec<String> = std::iter::once("dogdays".to_owned())
        .chain(quoted)
        .collect();
    all.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By the rules of POSIX shells (IEEE Std 1003.1, 2.2): nothing is special between single quotes but the next one.
    #[test]
    fn a_command_can_be_typed_again() {
        let words = ["check", "my run.toml", "it's", "--every", "5 min", ""];
        let line = command(words.iter().map(ToString::to_string));
        assert_eq!(
            line,
            r"dogdays check 'my run.toml' 'it'\''s' --every '5 min' ''"
        );
    }

    #[test]
    fn only_pages_are_reports() {
        assert!(is_page(Path::new("a.html")) && is_page(Path::new("a.HTM")));
        assert!(is_page(Path::new("/dev/stdout")));
        assert!(!is_page(Path::new("a.pdf")) && !is_page(Path::new("run")));
    }
}

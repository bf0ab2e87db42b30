//! When a log began whose rows count from there.

use crate::keys::complete::complete;
use crate::keys::fields::log::LOG;
use crate::keys::moment::Span;
use crate::keys::problem::{Problem, Problems, Source};
use crate::keys::reader::read_source;
use crate::keys::section::{Origin, Section};
use crate::keys::write::quoted;
use crate::run::Run;
use crate::run::derive::moments;
use crate::run::derive::notes::Notes;
use jiff::civil::DateTime;

/// When a log began, as somebody said it: what a weekday means is known with the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Begins {
    /// The table that says it,
    section: Section,
    /// and its file, or the option.
    file: String,
}

impl Begins {
    /// What a `[[log]]` table says of it.
    pub(super) fn of(section: &Section, file: &str) -> Option<Self> {
        section.has("begins").then(|| Self {
            section: section.clone(),
            file: file.to_owned(),
        })
    }

    /// What an option says of it. It is made into the table that a run file would have, so that moments and mistakes are
    /// those of a file.
    ///
    /// # Errors
    /// When it is no moment.
    pub fn of_option(text: &str) -> Result<Self, Problems> {
        let name = format!("--log-begins \"{text}\"");
        let table = format!("file = \"log\"\nbegins = {}\n", quoted(text));
        let source = Source::new(name.as_str(), table);
        let mut problems = Vec::new();
        let typed = read_source(&source, &LOG, Origin::Typed, &mut problems);
        let begins = typed.and_then(|mut section| {
            complete(&mut section, "log", &LOG, &name, &mut problems);
            Self::of(&section, &name).filter(|_| !section.is_bad("begins"))
        });
        problems.retain(Problem::is_error);
        begins
            .filter(|_| problems.is_empty())
            .ok_or_else(|| Problems::new(problems))
    }

    /// The moment, in a run or before it; none where it is not one, which then is among the problems.
    pub(super) fn at(&self, run: &Run, problems: &mut Vec<Problem>) -> Option<DateTime> {
        let span = Span {
            start: run.start,
            duration_s: run.duration_s,
        };
        let mut notes = Notes {
            file: &self.file,
            problems,
        };
        let at_s = moments::around(&self.section, "begins", &span, &mut notes)?;
        Some(span.date_time(at_s))
    }
}

//! What is found wrong or odd while a run is put together.

use crate::keys::problem::{Mark, Problem};

/// Collects problems of one run file.
pub(crate) struct Notes<'a> {
    /// Its name, for problems without a better place.
    pub file: &'a str,
    pub problems: &'a mut Vec<Problem>,
}

impl Notes<'_> {
    pub fn error(
        &mut self,
        mark: Option<&Mark>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.problems
            .push(Problem::at_or_in(mark, self.file, message).help(help));
    }

    pub fn hint(
        &mut self,
        mark: Option<&Mark>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        let problem = Problem::at_or_in(mark, self.file, message).help(help);
        self.problems.push(problem.as_hint());
    }

    pub fn extend(&mut self, problems: Vec<Problem>) {
        self.problems.extend(problems);
    }

    /// How many errors there are so far.
    pub fn errors(&self) -> usize {
        self.problems.iter().filter(|p| p.is_error()).count()
    }
}

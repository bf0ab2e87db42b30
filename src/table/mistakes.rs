//! What is wrong with a table: the first few mistakes in full, the others counted by kind.
//!
//! A file of a year of minutes may be wrong in every row. Only what is shown is worked out: finding line and
//! column of a place takes as long as the text before it.

use crate::keys::problem::Problem;
use crate::quantity::format_count;

/// More mistakes of one file than these help nobody.
const MOST_SHOWN: usize = 10;

/// Collects the mistakes of one file.
#[derive(Debug, Default)]
pub(crate) struct Mistakes {
    shown: Vec<Problem>,
    /// Kind, and how many of it are not shown.
    more: Vec<(&'static str, usize)>,
    /// The first one that is not shown; where it stands is worked out at the end.
    next: Option<Problem>,
}

impl Mistakes {
    /// One more mistake. The kind says in the plural what many of it are: "times out of order".
    pub fn add(&mut self, kind: &'static str, problem: impl FnOnce() -> Problem) {
        if self.shown.len() < MOST_SHOWN {
            self.shown.push(problem());
            return;
        }
        if self.next.is_none() {
            self.next = Some(problem());
        }
        match self.more.iter_mut().find(|(known, _)| *known == kind) {
            Some((_, count)) => *count += 1,
            None => self.more.push((kind, 1)),
        }
    }

    /// One more mistake, which concerns the file as a whole and so can't come often.
    pub fn push(&mut self, problem: Problem) {
        self.shown.push(problem);
    }

    pub fn is_empty(&self) -> bool {
        self.shown.is_empty()
    }

    /// Moves what was found in this file to what was found at all.
    pub fn report(self, problems: &mut Vec<Problem>) {
        problems.extend(self.shown);
        let Some(mut last) = self.next else {
            return;
        };
        let total: usize = self.more.iter().map(|(_, count)| count).sum();
        let rows = if total == 1 { "row" } else { "rows" };
        let kinds: Vec<String> = self
            .more
            .iter()
            .map(|(kind, count)| format!("{} {kind}", format_count(*count)))
            .collect();
        last.message = format!(
            "from here on, {} more {rows} like this: {}",
            format_count(total),
            kinds.join(", ")
        );
        last.help = None;
        problems.push(last.help("mend what is shown above in the same way throughout the file"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is not shown must not be worked out: that is what made errors slow.
    #[test]
    fn only_what_is_shown_is_worked_out() {
        let mut worked_out = 0;
        let mut mistakes = Mistakes::default();
        for k in 0..1_000 {
            let kind = if k % 4 == 0 {
                "values missing"
            } else {
                "times out of order"
            };
            mistakes.add(kind, || {
                worked_out += 1;
                Problem::in_file("a.csv", "x")
            });
        }
        assert_eq!(worked_out, MOST_SHOWN + 1);
        let mut problems = Vec::new();
        mistakes.report(&mut problems);
        assert_eq!(problems.len(), MOST_SHOWN + 1);
        let last = &problems[MOST_SHOWN].message;
        // 250 and 750, less the 3 and 7 of the first ten.
        for words in [
            "990 more rows",
            "247 values missing",
            "743 times out of order",
        ] {
            assert!(last.contains(words), "{words}: {last}");
        }
    }
}

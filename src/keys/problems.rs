//! All problems of a run together: in order, and no more shown than anybody reads.

use super::problem::{Problem, Severity, Sort};
use crate::quantity::format_count;
use std::collections::HashMap;
use std::fmt;

/// No more than these are shown; the others are counted.
const MOST_SHOWN: usize = 20;

/// Everything that is wrong with a run file and the files it names, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problems(Vec<Problem>);

/// What is shown of many problems: some of every sort of every file, and how many others there are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown<'a> {
    /// Those to be drawn, in order.
    pub problems: Vec<&'a Problem>,
    /// "1,142 more rows like this in weather.csv", a line for each sort and file; empty where all are shown.
    pub others: Vec<String>,
}

impl Problems {
    /// Sorted: the first file named comes first, within a file from top to bottom.
    #[must_use]
    pub fn new(mut problems: Vec<Problem>) -> Self {
        let mut ranks: HashMap<String, usize> = HashMap::new();
        for problem in &problems {
            let next = ranks.len();
            if !ranks.contains_key(&problem.file) {
                ranks.insert(problem.file.clone(), next);
            }
        }
        problems.sort_by_key(|p| (ranks.get(&p.file).copied(), p.line, p.column));
        Self(problems)
    }

    /// The problems.
    #[must_use]
    pub fn as_slice(&self) -> &[Problem] {
        &self.0
    }

    /// What is shown of them.
    #[must_use]
    pub fn shown(&self) -> Shown<'_> {
        shown(&self.0)
    }

    /// The drawing of what is shown of them.
    #[must_use]
    pub fn render(&self, styled: bool) -> String {
        let Shown { problems, others } = self.shown();
        let mut parts: Vec<String> = problems.iter().map(|p| p.render(styled)).collect();
        if !others.is_empty() {
            parts.push(others.join("\n"));
        }
        parts.join("\n\n")
    }
}

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Self(vec![problem])
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

impl std::error::Error for Problems {}

/// What is shown of problems in order. Every sort in every file has its share, so that one file of a hundred
/// thousand bad rows does not hide the mistake in another.
fn shown(problems: &[Problem]) -> Shown<'_> {
    type Key<'a> = (&'a str, Severity, Sort);
    let mut groups: Vec<(Key<'_>, usize)> = Vec::new();
    let mut places: HashMap<Key<'_>, usize> = HashMap::new();
    let mut group_of = Vec::with_capacity(problems.len());
    for p in problems {
        let key = (p.file.as_str(), p.severity, p.sort);
        let at = *places.entry(key).or_insert_with(|| {
            groups.push((key, 0));
            groups.len() - 1
        });
        groups[at].1 += 1;
        group_of.push(at);
    }
    // One of each in turn until the screen is full.
    let mut shares = vec![0; groups.len()];
    let mut left = MOST_SHOWN.min(problems.len());
    while left > 0 {
        for (share, (_, count)) in shares.iter_mut().zip(&groups) {
            if left > 0 && *share < *count {
                *share += 1;
                left -= 1;
            }
        }
    }
    let others = groups
        .iter()
        .zip(&shares)
        .filter(|((_, count), share)| count > share)
        .map(|(((file, severity, sort), count), share)| {
            let more = count - share;
            let words = match (severity, sort) {
                (Severity::Hint, Sort::Other) => "hints",
                _ => sort.words(more == 1),
            };
            format!("{} more {words} in {file}", format_count(more))
        })
        .collect();
    let problems = problems
        .iter()
        .zip(group_of)
        .filter(|(_, group)| {
            let is_shown = shares[*group] > 0;
            shares[*group] = shares[*group].saturating_sub(1);
            is_shown
        })
        .map(|(problem, _)| problem)
        .collect();
    Shown { problems, others }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn problem(file: &str, line: usize, sort: Sort) -> Problem {
        Problem::in_file(file, format!("{file} {line}"))
            .at_line(line, 1)
            .of(sort)
    }

    #[test]
    fn few_problems_are_all_shown() {
        let few = (1..=MOST_SHOWN).map(|line| problem("run.toml", line, Sort::Key));
        let few = Problems::new(few.collect());
        assert_eq!(few.shown().problems.len(), MOST_SHOWN);
        assert!(few.shown().others.is_empty());
        assert!(!few.to_string().contains("more"));
    }

    #[test]
    fn of_many_problems_each_sort_is_shown_and_the_others_are_counted() {
        let mut many = vec![problem("run.toml", 7, Sort::Value)];
        many.extend((1..=1_160).map(|line| problem("weather.csv", line, Sort::Row)));
        many.push(problem("weather.csv", 9_999, Sort::Other));
        let many = Problems::new(many);
        let Shown { problems, others } = many.shown();
        assert_eq!(problems.len(), MOST_SHOWN);
        assert_eq!(problems[0].message, "run.toml 7");
        assert_eq!(problems[1].message, "weather.csv 1");
        assert_eq!(problems[MOST_SHOWN - 1].message, "weather.csv 9999");
        assert_eq!(others, ["1,142 more rows like this in weather.csv"]);
        assert!(many.to_string().ends_with(&others[0]));
    }

    #[test]
    fn one_of_a_sort_is_no_plural() {
        let many = (0..=MOST_SHOWN).map(|n| problem(&format!("{}.toml", n % 2), n, Sort::Key));
        let many = Problems::new(many.collect());
        assert_eq!(many.shown().others, ["1 more key like this in 0.toml"]);
    }
}

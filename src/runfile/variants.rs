//! `[[compare]]`: variants of a run, each a name and whatever it changes.
//!
//! A variant's keys are laid over what the user typed, by the rules of [`crate::run::change`], and the
//! result goes through the same building as the run itself: every key, unit and error message is that
//! of the run file.

use crate::keys::problem::{Mark, Problem};
use crate::keys::section::{Data, Section, Value};
use crate::run::change::make_way;
use crate::run::{Inputs, Run};
use std::collections::HashSet;

/// A run of the file, changed by one `[[compare]]`.
#[derive(Debug, Clone, PartialEq)]
pub struct Variant {
    /// Name given by the user.
    pub name: String,
    /// The changed run.
    pub run: Run,
    /// What it was made from, for studies that change it.
    pub inputs: Inputs,
}

/// The variants that were typed, taken out of the file's root; the rest is the run itself.
pub(super) fn take(root: &mut Section) -> Vec<Section> {
    match root.entries.remove("compare").map(|value| value.data) {
        Some(Data::List(list)) => list,
        _ => Vec::new(),
    }
}

/// The name of a variant, taken out of it, so that only its changes are left.
pub(super) fn take_name(changes: &mut Section) -> Option<(String, Option<Mark>)> {
    match changes.entries.remove("name") {
        Some(Value {
            data: Data::Text(name),
            mark,
            ..
        }) => Some((name, mark)),
        _ => None,
    }
}

/// What was typed for the run, with a variant's changes laid over it.
pub(super) fn changed(base: &Section, changes: Section) -> Section {
    let mut base = base.clone();
    // What may fail is asked about of the run itself: a variant may have no fan that could.
    base.remove(&["failure"]);
    make_way(&mut base, &changes);
    let mark = base.mark.clone();
    let mut over = base.overlaid(changes);
    over.mark = mark;
    over
}

/// Makes the problems found in a variant say whose they are, and drops those that the run itself
/// or another variant has shown already. `known` is how many there were before the variant.
pub(super) fn own_problems(problems: &mut Vec<Problem>, known: usize, name: &str) {
    let found = problems.split_off(known.min(problems.len()));
    let mut seen: HashSet<_> = problems
        .iter()
        .map(|p| (p.message.clone(), p.span.clone()))
        .collect();
    for mut problem in found {
        if !seen.insert((problem.message.clone(), problem.span.clone())) {
            continue;
        }
        problem.message = format!("[[compare]] \"{name}\": {}", problem.message);
        problems.push(problem);
    }
}

//! `[guessed]`: values that nobody gave, as `dogdays new` wrote them. One is a guess for as long as the same
//! value stands in the run file: whoever changes it has said what it is.

use crate::keys::explain::Stated;
use crate::keys::section::{Data, Guess, Section};

/// What a run file says was guessed, taken out of its root; the rest is the run itself.
pub(super) fn take(root: &mut Section) -> Vec<Guess> {
    match root.entries.remove("guessed").map(|value| value.data) {
        Some(Data::Guesses(guesses)) => guesses,
        _ => Vec::new(),
    }
}

/// Marks the stated values that still are what was guessed.
pub(super) fn mark(guesses: &[Guess], typed: &Section, stated: &mut [Stated]) {
    for guess in guesses {
        if value_at(typed, &guess.key).is_some_and(|value| is_same(value, &guess.data))
            && let Some(stated) = stated.iter_mut().find(|stated| stated.key == guess.key)
        {
            stated.is_guess = true;
        }
    }
}

/// Whether two values are the same but for the rounding of another unit.
fn is_same(a: &Data, b: &Data) -> bool {
    match (a, b) {
        (Data::Number(a), Data::Number(b)) => (a - b).abs() <= 1e-9 * a.abs().max(b.abs()),
        _ => a == b,
    }
}

fn value_at<'a>(mut section: &'a Section, key: &str) -> Option<&'a Data> {
    let mut parts = key.split('.').peekable();
    while let Some(part) = parts.next() {
        if parts.peek().is_none() {
            return section.entries.get(part).map(|value| &value.data);
        }
        section = section.section(part)?;
    }
    None
}

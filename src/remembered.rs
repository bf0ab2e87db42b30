//! What a thread has worked out and will be asked again: many runs of one question differ in few things.
//!
//! What is remembered follows from its key alone, bit by bit, so that a result never depends on what was asked before.

use std::collections::HashMap;
use std::hash::Hash;

/// Results by what they follow from.
pub(crate) struct Remembered<K, V> {
    known: HashMap<K, V>,
    /// So many at most: then it begins anew.
    most: usize,
}

impl<K: Eq + Hash, V: Clone> Remembered<K, V> {
    pub(crate) fn at_most(most: usize) -> Self {
        Self {
            known: HashMap::new(),
            most,
        }
    }

    /// What is known, or else is worked out now.
    pub(crate) fn or_else(&mut self, key: K, work_out: impl FnOnce() -> V) -> V {
        if let Some(known) = self.known.get(&key) {
            return known.clone();
        }
        if self.known.len() >= self.most {
            self.known.clear();
        }
        let found = work_out();
        self.known.insert(key, found.clone());
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_known_is_not_worked_out_again_until_too_much_is() {
        let mut squares = Remembered::at_most(2);
        let mut asked = Vec::new();
        for x in [3u64, 3, 4, 3, 5, 3] {
            let square = squares.or_else([x, 0], || {
                asked.push(x);
                x * x
            });
            assert_eq!(square, x * x);
        }
        assert_eq!(asked, [3, 4, 5, 3]);
    }
}

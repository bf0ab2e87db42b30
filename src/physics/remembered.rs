//! What a thread has worked out and will be asked again: many runs of one question differ in few things.
//!
//! What is remembered follows from its key alone, bit by bit, so that a result never depends on what was asked before.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hash, Hasher};

/// Results by what they follow from.
pub(super) struct Remembered<K, V> {
    known: HashMap<K, V, BuildHasherDefault<Bits>>,
    /// So many at most: then it begins anew.
    most: usize,
}

impl<K: Eq + Hash, V: Clone> Remembered<K, V> {
    pub(super) fn at_most(most: usize) -> Self {
        Self {
            known: HashMap::default(),
            most,
        }
    }

    /// What is known, or else is worked out now.
    pub(super) fn or_else(&mut self, key: K, work_out: impl FnOnce() -> V) -> V {
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

/// Mixes the bits of numbers. Looking up is most of the work here, and nobody outside chooses the keys to do harm.
#[derive(Default)]
struct Bits(u64);

impl Hasher for Bits {
    fn write(&mut self, bytes: &[u8]) {
        for part in bytes.chunks(8) {
            let mut word = [0; 8];
            word[..part.len()].copy_from_slice(part);
            self.write_u64(u64::from_le_bytes(word));
        }
    }

    fn write_u64(&mut self, bits: u64) {
        // Any odd number without a pattern: round numbers have all their bits at the top, and the product's high half
        // has those of every digit.
        let mixed = u128::from(self.0 ^ bits) * 0xd6e8_feb8_6659_fd93;
        self.0 = (mixed >> 64) as u64 ^ (mixed as u64);
    }

    fn finish(&self) -> u64 {
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

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

    /// Thousands of round numbers, whose bits differ in few places, come to lie in most places of a table: thrown at
    /// random, 1 - 1/e of the places are taken.
    #[test]
    fn round_numbers_are_spread() {
        let hash = |x: f64| {
            let mut bits = Bits::default();
            [0.5f64.to_bits(), x.to_bits()].hash(&mut bits);
            bits.finish()
        };
        for step in [1.0, 0.25, 1e-3] {
            let all: Vec<u64> = (1..=4096).map(|k| hash(step * f64::from(k))).collect();
            for shift in [0, 52] {
                let places: HashSet<u64> = all.iter().map(|h| (h >> shift) & 4095).collect();
                assert!(places.len() > 2300, "{step} {shift}: {}", places.len());
            }
        }
    }
}

//! The values of a run that are in doubt, each with how it is distributed.

use super::inputs::{Input, Inputs};
use crate::keys::Distribution;
use crate::keys::schema::Spread;

/// A value in doubt.
#[derive(Debug, Clone)]
pub struct Doubtful {
    /// Which.
    pub input: Input,
    /// What it may be.
    pub distribution: Distribution,
}

impl Inputs {
    /// Every value in doubt, in the order of the keys: by the spread that its key declares, or as narrowly as
    /// someone wrote it (`"3.0 W ± 0.2 W"`).
    ///
    /// A key whose doubt is counted in another's, as a motor's heat is in the coefficient that multiplies it, is not
    /// among them, unless someone wrote how well it is known. Where someone did for all of a name that
    /// share the other, nothing is left of that one's doubt.
    #[must_use]
    pub fn doubtful(&self) -> Vec<Doubtful> {
        let known: Vec<(Input, f64)> = self
            .all()
            .into_iter()
            .filter_map(|input| self.get(&input).map(|si| (input, si)))
            .collect();
        // A zero has no doubt that a factor could carry.
        let is_open = |(input, si): &&(Input, f64)| *si != 0.0 && self.within(input).is_none();
        let open: Vec<_> = known
            .iter()
            .filter(is_open)
            .map(|(i, _)| shares(i))
            .collect();
        let settled: Vec<&str> = known
            .iter()
            .filter(|(input, _)| self.within(input).is_some())
            .map(|(input, _)| shares(input))
            .filter(|shared| !open.contains(shared))
            .filter_map(|(counted_in, _)| counted_in)
            .collect();
        known
            .iter()
            .filter_map(|(input, si)| {
                let range = input.range();
                let distribution = match self.within(input) {
                    Some(by) => Distribution::within(&range, *si, by),
                    None if settled.contains(&input.key()) => None,
                    None => Distribution::of(&range, *si, input.field().spread?),
                };
                let input = input.clone();
                distribution.map(|distribution| Doubtful {
                    input,
                    distribution,
                })
            })
            .collect()
    }
}

/// The key in which an input's doubt is counted, if not its own, and what it is called in its table: the losses of
/// two hotends share a coefficient.
fn shares(input: &Input) -> (Option<&'static str>, &'static str) {
    let counted_in = match input.field().spread {
        Some(Spread::In(key)) => Some(key),
        _ => None,
    };
    (counted_in, input.field().key)
}

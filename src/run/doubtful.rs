//! The values of a run that are in doubt, each with how it is distributed.

use super::derive::changes_follow;
use super::inputs::{Input, Inputs};
use crate::keys::Distribution;
use crate::keys::schema::Spread;
use crate::keys::section::{Data, Section};
use nalgebra::{DMatrix, DVector};

/// A value in doubt.
#[derive(Debug, Clone)]
pub struct Doubtful {
    /// Which.
    pub input: Input,
    /// What it may be.
    pub distribution: Distribution,
    /// Its share in the deviations of those before it and its own, by their places: of a value that was found together
    /// with others. Empty where it is off by itself.
    pub shares: Vec<(usize, f64)>,
}

impl Doubtful {
    /// The value, in SI, where each value in doubt has so many standard deviations of its own; this one has the place
    /// `place` among them.
    #[must_use]
    pub fn drawn(&self, place: usize, own: impl Fn(usize) -> f64) -> f64 {
        if self.shares.is_empty() {
            return self.distribution.at(own(place));
        }
        let each = self.shares.iter().map(|(k, share)| share * own(*k));
        self.distribution.at(each.sum())
    }

    /// How it, at the place `place` among the values in doubt, hangs together with another at a place of its own: their
    /// correlation.
    #[must_use]
    pub fn correlation(&self, place: usize, (other, at): (&Self, usize)) -> f64 {
        if place == at {
            return 1.0;
        }
        let its = |k: usize| other.shares.iter().find(|(of, _)| *of == k);
        let each = self.shares.iter();
        each.filter_map(|(k, share)| Some(share * its(*k)?.1)).sum()
    }

    /// The same value as one that is off by itself.
    #[must_use]
    pub fn by_itself(self) -> Self {
        Self {
            shares: Vec::new(),
            ..self
        }
    }

    /// The same as slopes: what it moves by, in its own standard deviations, with the deviations of all so many values
    /// in doubt.
    #[must_use]
    pub fn way(&self, place: usize, all: usize) -> DVector<f64> {
        let mut way = DVector::zeros(all);
        if self.shares.is_empty() {
            way[place] = 1.0;
        }
        for (k, share) in &self.shares {
            way[*k] = *share;
        }
        way
    }
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
        // A thermometer that showed nothing is off by nothing.
        let is_there = |input: &Input| match input.key() {
            "room.thermometer" => !self.files.measured_room.is_empty(),
            // Nor does a change that does not come take time.
            "spool.change_takes" => changes_follow(&self.root),
            _ => true,
        };
        let known: Vec<(Input, f64)> = self
            .all()
            .into_iter()
            .filter(is_there)
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
        let mut doubtful: Vec<Doubtful> = known
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
                    shares: Vec::new(),
                })
            })
            .collect();
        self.hang_together(&mut doubtful);
        doubtful
    }

    /// What was drawn larger than what it is in, made as large as that: whoever measured both a little wrong still has
    /// a bed that fits into the chamber and an opening that is no larger than its face. And no filter takes less when it
    /// is loaded.
    pub(crate) fn fit_inside(&mut self) {
        if let Some(system) = self.root.section_mut("system")
            && let (Some(clean), Some(loaded)) = (
                system.number("filter_clean"),
                system.number("filter_loaded"),
            )
            && loaded < clean
        {
            system.put("filter_loaded", Data::Number(clean));
        }
        let Some(machine) = self.root.section_mut("machine") else {
            return;
        };
        let [width, depth, height] = ["width", "depth", "height"].map(|key| machine.number(key));
        // As much larger as a run file's may be: a tape measure is good to a few per cent.
        let face = |a: Option<f64>, b: Option<f64>| a.zip(b).map(|(a, b)| 1.04 * a * b);
        for (key, most) in [
            ("lid_opening", face(width, depth)),
            ("door_opening", face(width, height)),
            ("head_height", height),
            ("extraction_height", height),
            ("inlet_height", height),
            ("door_opening_height", height),
        ] {
            at_most(machine, key, most);
        }
        for vent in machine.list_mut("vent") {
            at_most(vent, "height", height);
        }
        if let Some(bed) = machine.section_mut("bed") {
            for (key, most) in [("width", width), ("depth", depth), ("height", height)] {
                at_most(bed, key, most);
            }
        }
    }

    /// Gives those their shares that were found together, as the machine's file says.
    fn hang_together(&self, doubtful: &mut [Doubtful]) {
        let machine = self.root.section("machine");
        let said = machine.map_or(&[][..], |m| m.list("correlation"));
        // Only beside what was found with it: a value that someone replaced is another.
        let place = |key: &str| {
            let at = doubtful.iter().position(|d| d.input.key() == key);
            at.filter(|at| self.within(&doubtful[*at].input).is_some())
        };
        let pairs: Vec<(usize, usize, f64)> = said
            .iter()
            .filter_map(|pair| {
                let (of, with) = (place(pair.text("of")?)?, place(pair.text("with")?)?);
                (of != with).then_some((of.min(with), of.max(with), pair.number("is")?))
            })
            .collect();
        let mut places: Vec<usize> = pairs.iter().flat_map(|(a, b, _)| [*a, *b]).collect();
        places.sort_unstable();
        places.dedup();
        let Some(factor) = factor(&places, &pairs) else {
            return;
        };
        for (row, at) in places.iter().enumerate() {
            let shares = places.iter().enumerate().take(row + 1);
            let shares = shares.map(|(column, k)| (*k, factor[(row, column)]));
            doubtful[*at].shares = shares.collect();
        }
    }
}

fn at_most(section: &mut Section, key: &'static str, most: Option<f64>) {
    if let (Some(value), Some(most)) = (section.number(key), most)
        && value > most
    {
        section.put(key, Data::Number(most));
    }
}

/// The lower triangle whose product with itself are the correlations. What can't all be true, by hand or by rounding,
/// is believed less until it can: values then hang together less.
fn factor(places: &[usize], pairs: &[(usize, usize, f64)]) -> Option<DMatrix<f64>> {
    let at = |place: &usize| places.binary_search(place).ok();
    let mut all = DMatrix::identity(places.len(), places.len());
    for (one, other, is) in pairs {
        let (one, other) = (at(one)?, at(other)?);
        all[(one, other)] = *is;
        all[(other, one)] = *is;
    }
    let mut believed = 1.0;
    while believed > 0.05 {
        let less = DMatrix::from_fn(places.len(), places.len(), |i, j| {
            if i == j { 1.0 } else { believed * all[(i, j)] }
        });
        if let Some(found) = less.cholesky() {
            return Some(found.l());
        }
        believed *= 0.95;
    }
    None
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

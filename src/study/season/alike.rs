//! Starts whose hottest moment is the same.
//!
//! A hot afternoon decides about every start of the days before it. Shared runs take longer steps than `check` does, and
//! after a sharp kink of the weather these are up to a hundredth of a kelvin off, in all runs alike. So for each such
//! afternoon one start is run by itself, and what it differs by is taken over by the others.

use std::collections::BTreeMap;

use super::reading::Hottest;

/// Fewer starts than this have a moment of their own.
const FEWEST: usize = 3;
/// The start to run is the one whose run has been going for so long then, s, or little more: nothing of its beginning is
/// left, and not much has to be run.
const SETTLED_S: f64 = 30.0 * 3600.0;

/// Starts whose hottest moment is the same.
#[derive(Debug, PartialEq)]
pub(super) struct Alike {
    /// Their numbers.
    pub starts: Vec<usize>,
    /// The one to run by itself.
    pub picked: usize,
}

/// The starts that are alike, by what was read of each and when it begins, s.
pub(super) fn alike(read: &[Option<Hottest>], start_s: impl Fn(usize) -> f64) -> Vec<Alike> {
    let mut by_moment: BTreeMap<(usize, i64), Vec<(usize, &Hottest)>> = BTreeMap::new();
    for (k, hottest) in read.iter().enumerate() {
        if let Some(hottest) = hottest {
            let hour = ((start_s(k) + hottest.at_s) / 3600.0).floor() as i64;
            let moment = (hottest.station, hour);
            by_moment.entry(moment).or_default().push((k, hottest));
        }
    }
    by_moment
        .into_values()
        .filter(|starts| starts.len() >= FEWEST)
        .filter_map(|starts| {
            // In those whose first hours may decide another moment may be the hottest.
            let sure = || starts.iter().filter(|(_, h)| h.may_be_to_s.is_none());
            let by_age =
                |a: &&(usize, &Hottest), b: &&(usize, &Hottest)| a.1.at_s.total_cmp(&b.1.at_s);
            let settled = sure().filter(|(_, h)| h.at_s >= SETTLED_S).min_by(by_age);
            let (picked, _) = settled.or_else(|| sure().max_by(by_age))?;
            Some(Alike {
                picked: *picked,
                starts: starts.iter().map(|(k, _)| *k).collect(),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn starts_of_one_afternoon_are_alike() {
        // A start an hour; the first ten are hottest at hour 50, a few seconds apart, one elsewhere, two not read.
        let mut read: Vec<Option<Hottest>> = (0..10)
            .map(|k| {
                Some(Hottest {
                    margin_K: 1.0,
                    station: 2,
                    at_s: 3600.0 * (50.5 - f64::from(k)) + f64::from(k),
                    may_be_to_s: None,
                    may_be_later: false,
                })
            })
            .collect();
        let other = Hottest {
            station: 3,
            ..read[0].unwrap()
        };
        read.extend([Some(other), None, None]);
        let start_s = |k: usize| 3600.0 * k as f64;
        let found = alike(&read, start_s);
        // All have been going for 41 h at least.
        let starts: Vec<usize> = (0..10).collect();
        assert_eq!(found, [Alike { starts, picked: 9 }]);
        if let Some(hottest) = &mut read[9] {
            hottest.may_be_to_s = Some(7200.0);
        }
        assert_eq!(alike(&read, start_s)[0].picked, 8);
    }
}

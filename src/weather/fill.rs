//! Rules by which missing air is filled in, and what was filled.
//!
//! Nothing is filled unless somebody names a rule, and never more than the time that he names. No rule makes air
//! cooler than both of its neighbours; a straight line across an afternoon hides that afternoon's peak, which
//! is why what was filled is kept with its times.

use super::rows::Rows;
use crate::quantity::{Quantity, format_count, format_duration, parse};

/// How air is filled in that a file does not tell.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Fill {
    /// Not at all: a gap is an error.
    #[default]
    Never,
    /// By the straight line between its neighbours.
    Linear {
        /// The longest time that is filled, s.
        up_to_s: f64,
    },
    /// By the warmer of its neighbours throughout.
    Warmer {
        /// The longest time that is filled, s.
        up_to_s: f64,
    },
}

impl Fill {
    /// The longest time that is filled where nobody says how long it may be, s.
    pub const USUAL_S: f64 = 3.0 * 3_600.0;
    /// Over more than a day any rule invents a day, s.
    pub const LONGEST_S: f64 = 24.0 * 3_600.0;
    /// The words of the rules.
    pub const WORDS: [&str; 2] = ["linear", "warmer"];

    /// The rule of a word, up to a time such as `3 h`; 3 h where none is given.
    ///
    /// # Errors
    /// What is wrong and what to write, in words.
    pub fn parse(rule: &str, up_to: Option<&str>) -> Result<Self, String> {
        let up_to_s = match up_to {
            None => Self::USUAL_S,
            Some(text) => parse(text, Quantity::Time)
                .map_err(|e| format!("\"{text}\": {e}; {}", e.help(Quantity::Time, "h")))?,
        };
        Self::of(rule, up_to_s)
    }

    /// The rule of a word, up to a time in seconds.
    ///
    /// # Errors
    /// What is wrong and what to write, in words.
    pub fn of(rule: &str, up_to_s: f64) -> Result<Self, String> {
        if !(up_to_s > 0.0 && up_to_s <= Self::LONGEST_S) {
            return Err(format!(
                "{} can't be filled: more than nothing and at most {} can; a longer gap needs other weather",
                format_duration(up_to_s),
                format_duration(Self::LONGEST_S)
            ));
        }
        match rule {
            "linear" => Ok(Self::Linear { up_to_s }),
            "warmer" => Ok(Self::Warmer { up_to_s }),
            _ => Err(format!(
                "\"{rule}\" is no rule for filling gaps: write linear (a straight line) or warmer (the warmer of the two neighbours throughout)"
            )),
        }
    }

    /// The rule in words; none where nothing is filled.
    #[must_use]
    pub const fn words(self) -> Option<&'static str> {
        match self {
            Self::Never => None,
            Self::Linear { .. } => Some("straight lines"),
            Self::Warmer { .. } => Some("the warmer of the two neighbours"),
        }
    }

    const fn up_to_s(self) -> f64 {
        match self {
            Self::Never => 0.0,
            Self::Linear { up_to_s } | Self::Warmer { up_to_s } => up_to_s,
        }
    }

    /// What is filled in at `x` of the way from one neighbour to the other.
    fn value(self, before: f64, after: f64, x: f64) -> f64 {
        match self {
            Self::Never | Self::Linear { .. } => before + (after - before) * x,
            Self::Warmer { .. } => before.max(after),
        }
    }
}

/// A time without air in a file, between two rows that have it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Hole {
    /// Times of the rows before and after it, s.
    pub from_s: f64,
    pub to_s: f64,
    /// Rows that are not there, and rows without a value.
    pub rows: usize,
    pub values: usize,
}

/// What was filled of a series.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Filled {
    /// The rule.
    pub rule: Fill,
    /// How many values were filled in for rows that are not there.
    pub rows_absent: usize,
    /// How many were filled in for rows without a value.
    pub values_absent: usize,
    /// How many gaps they were in.
    pub gaps: usize,
    /// The longest time without air that was filled, s.
    pub longest_s: f64,
    /// On the series' own clock, rising.
    stretches: Vec<(f64, f64)>,
}

impl Filled {
    /// How many values were filled in.
    #[must_use]
    pub const fn values(&self) -> usize {
        self.rows_absent + self.values_absent
    }

    /// What was filled, in words; none where nothing was.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        let rule = self.rule.words().filter(|_| self.gaps > 0)?;
        let count = |n: usize, one: &str, several: &str| {
            format!("{} {}", format_count(n), if n == 1 { one } else { several })
        };
        let kinds: Vec<String> = [
            (
                self.rows_absent,
                "for a row that is not there",
                "for rows that are not there",
            ),
            (
                self.values_absent,
                "for a row without one",
                "for rows without one",
            ),
        ]
        .into_iter()
        .filter(|(n, ..)| *n > 0)
        .map(|(n, one, several)| count(n, one, several))
        .collect();
        Some(format!(
            "{} filled in by {rule} ({}), in {}, the longest of {}",
            count(self.values(), "value", "values"),
            kinds.join(", "),
            count(self.gaps, "gap", "gaps"),
            format_duration(self.longest_s)
        ))
    }

    /// The stretches between whose ends everything was filled, on the series' own clock, s.
    pub(super) fn stretches_s(&self) -> &[(f64, f64)] {
        &self.stretches
    }

    /// Whether any time between two is filled, on the series' own clock.
    pub(super) fn touches(&self, from_s: f64, to_s: f64) -> bool {
        let first = self.stretches.partition_point(|(_, end)| *end <= from_s);
        self.stretches
            .get(first)
            .is_some_and(|(begin, _)| *begin < to_s)
    }
}

/// What is missing between rows that are usually so far apart. `period_s` is what a round year lasts: then
/// the time from its last row to its first is looked at too.
pub(super) fn holes(rows: &Rows, usual_s: f64) -> Vec<Hole> {
    let mut holes = Vec::new();
    let mut absent = 0;
    let (Some(first_s), Some(last_s)) = (rows.times_s.first(), rows.times_s.last()) else {
        return holes;
    };
    let seam = rows.round_s.map(|period_s| [*last_s, first_s + period_s]);
    let pairs = rows.times_s.windows(2).map(|w| [w[0], w[1]]);
    for [from_s, to_s] in pairs.chain(seam) {
        // Rows without a value before the first with one belong to the seam.
        let mut values = 0;
        while let Some(at_s) = rows.absent_s.get(absent).filter(|at_s| **at_s < to_s) {
            values += usize::from(*at_s > from_s);
            absent += 1;
        }
        if to_s - from_s > 1.5 * usual_s {
            let steps = ((to_s - from_s) / usual_s).round() as usize;
            holes.push(Hole {
                from_s,
                to_s,
                rows: steps.saturating_sub(1).saturating_sub(values),
                values,
            });
        }
    }
    if rows.round_s.is_some()
        && let Some(seam) = holes.last_mut().filter(|hole| hole.from_s == *last_s)
    {
        let before = rows.absent_s.iter().take_while(|s| *s < first_s).count();
        seam.values += before;
        seam.rows = seam.rows.saturating_sub(before);
    }
    holes
}

/// Fills by a rule what is not longer than it says.
pub(super) fn filled(rows: &mut Rows, holes: &[Hole], usual_s: f64, rule: Fill) -> Filled {
    let mut filled = Filled {
        rule,
        ..Filled::default()
    };
    let lasts_s = |hole: &Hole| hole.to_s - hole.from_s - usual_s;
    let wanted: Vec<&Hole> = holes
        .iter()
        // To the second: steps are differences of large numbers.
        .filter(|hole| lasts_s(hole) <= rule.up_to_s() + 1.0)
        .collect();
    if wanted.is_empty() {
        return filled;
    }
    let count = rows.times_s.len();
    let (mut times_s, mut values) = (Vec::with_capacity(count), Vec::with_capacity(count));
    let mut next = wanted.iter().peekable();
    for k in 0..count {
        times_s.push(rows.times_s[k]);
        values.push(rows.temperatures_K[k]);
        let Some(hole) = next.next_if(|hole| hole.from_s <= rows.times_s[k]) else {
            continue;
        };
        // Of a logger of seconds, minutes are enough: what is filled has no more to tell.
        let every_s = usual_s.max(60.0);
        let steps = ((hole.to_s - hole.from_s) / every_s).round().max(2.0) as usize;
        // After the last row of a round year comes the first.
        let before = rows.temperatures_K[k];
        let after = rows.temperatures_K[(k + 1) % count];
        for step in 1..steps {
            let x = step as f64 / steps as f64;
            times_s.push(hole.from_s + (hole.to_s - hole.from_s) * x);
            values.push(rule.value(before, after, x));
        }
        filled.rows_absent += hole.rows;
        filled.values_absent += hole.values;
        filled.gaps += 1;
        filled.longest_s = filled.longest_s.max(lasts_s(hole));
        filled.stretches.push((hole.from_s, hole.to_s));
    }
    (rows.times_s, rows.temperatures_K) = (times_s, values);
    filled
}

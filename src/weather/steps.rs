//! The steps of time between a series' rows, equal ones gathered: what tells gaps, in little memory.

/// The longest step that still follows a day's weather, s.
pub(super) const LONGEST_STEP_S: f64 = 3.0 * 3_600.0;

/// Equal steps, one after the other.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Stretch {
    begin_s: f64,
    step_s: f64,
    count: usize,
    /// Number of the row at which it begins.
    row: usize,
}

impl Stretch {
    fn time_s(&self, step: usize) -> f64 {
        self.begin_s + step as f64 * self.step_s
    }
}

/// Which step is too long.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) enum Limit {
    /// Longer than twice the usual one, or than 3 h: a logger may miss a row.
    #[default]
    Loose,
    /// Longer than the usual one: every missing row counts.
    Every,
    /// Longer than this, s.
    Known(f64),
}

/// The steps between rows whose times rise.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Steps {
    stretches: Vec<Stretch>,
    rows: usize,
    last_s: f64,
    limit: Limit,
    /// Longer steps end what is known after a run, s.
    known_across_s: f64,
    /// Where steps begin that were filled by a rule, s.
    bridged_s: Vec<f64>,
}

/// A step that is too long, from one row to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Gap {
    pub from_s: f64,
    pub to_s: f64,
    /// Number of the later row.
    pub row: usize,
}

/// What is wrong with the steps of a part of a series.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum TooLong {
    /// All of them, or most.
    Usual {
        /// The usual step, s.
        step_s: f64,
        /// Number of the first row.
        row: usize,
    },
    /// Some.
    Gaps {
        /// The usual step, s.
        usual_s: f64,
        gaps: Vec<Gap>,
    },
}

impl Limit {
    /// The longest step that is no gap where this one is usual, s.
    fn of(self, usual_s: f64) -> f64 {
        match self {
            Self::Loose => LONGEST_STEP_S.min(2.0 * usual_s),
            // Half a row's time is a clock that was set, not a row.
            Self::Every => LONGEST_STEP_S.min(1.5 * usual_s),
            Self::Known(step_s) => LONGEST_STEP_S.min(1.5 * step_s),
        }
    }
}

impl Steps {
    pub fn of(times_s: &[f64], limit: Limit) -> Self {
        let mut steps = Self {
            limit,
            ..Self::default()
        };
        for time_s in times_s {
            steps.push(*time_s);
        }
        steps.known_across_s = match limit {
            Limit::Loose => LONGEST_STEP_S,
            Limit::Every | Limit::Known(_) => limit.of(middle(&steps.stretches)),
        };
        steps
    }

    /// The same steps, of which those that begin at these rising times are filled.
    pub fn bridged(mut self, begins_s: Vec<f64>) -> Self {
        self.bridged_s = begins_s;
        self
    }

    fn is_bridged(&self, begin_s: f64) -> bool {
        let next = self.bridged_s.partition_point(|b| *b < begin_s - 1e-6);
        self.bridged_s
            .get(next)
            .is_some_and(|b| *b <= begin_s + 1e-6)
    }

    /// Number of the row at a time.
    pub fn row_at(&self, time_s: f64) -> usize {
        let next = self
            .stretches
            .partition_point(|s| s.time_s(s.count) < time_s - 1e-6);
        self.stretches.get(next).map_or(0, |s| {
            s.row + ((time_s - s.begin_s) / s.step_s).round().max(0.0) as usize
        })
    }

    /// The usual step of the whole series, s.
    pub fn usual_s(&self) -> f64 {
        middle(&self.stretches)
    }

    fn push(&mut self, time_s: f64) {
        if self.rows > 0 {
            let step_s = time_s - self.last_s;
            match self.stretches.last_mut() {
                // To the microsecond: times are differences of large numbers.
                Some(s)
                    if (s.step_s - step_s).abs() < 1e-6
                        && (s.time_s(s.count + 1) - time_s).abs() < 1e-6 =>
                {
                    s.count += 1;
                }
                _ => self.stretches.push(Stretch {
                    begin_s: self.last_s,
                    step_s,
                    count: 1,
                    row: self.rows - 1,
                }),
            }
        }
        self.rows += 1;
        self.last_s = time_s;
    }

    pub const fn rows(&self) -> usize {
        self.rows
    }

    /// The whole series, as a part of itself.
    pub fn whole_s(&self) -> (f64, f64) {
        (f64::NEG_INFINITY, self.last_s)
    }

    /// Until when rows follow each other from a time on without a gap that no weather is read across, but not
    /// much beyond `until_s`.
    pub fn without_gap_s(&self, from_s: f64, until_s: f64) -> f64 {
        let first = self
            .stretches
            .partition_point(|s| s.time_s(s.count) <= from_s);
        for stretch in &self.stretches[first..] {
            if stretch.begin_s >= until_s {
                return stretch.begin_s;
            }
            let is_gap = stretch.step_s > self.known_across_s && !self.is_bridged(stretch.begin_s);
            if stretch.begin_s >= from_s && is_gap {
                return stretch.begin_s;
            }
        }
        self.last_s
    }

    /// Whether and where the steps between two times are too long to be filled in silence. The usual step is
    /// the middle one by length.
    pub fn too_long(&self, part_s: (f64, f64)) -> Option<TooLong> {
        let part = self.part(part_s);
        let shortest_s = part.iter().map(|s| s.step_s).fold(f64::INFINITY, f64::min);
        let longest_s = part.iter().map(|s| s.step_s).fold(0.0, f64::max);
        // The usual step is no shorter than the shortest: most series end here.
        if longest_s <= self.limit.of(shortest_s) {
            return None;
        }
        let usual_s = match self.limit {
            Limit::Loose | Limit::Every => middle(&part),
            Limit::Known(step_s) => step_s,
        };
        if usual_s > LONGEST_STEP_S {
            return Some(TooLong::Usual {
                step_s: usual_s,
                row: part.first().map_or(0, |s| s.row),
            });
        }
        let limit_s = self.limit.of(usual_s);
        let gaps: Vec<Gap> = part
            .iter()
            .filter(|s| s.step_s > limit_s)
            .flat_map(|s| {
                (0..s.count).map(|k| Gap {
                    from_s: s.time_s(k),
                    to_s: s.time_s(k + 1),
                    row: s.row + k + 1,
                })
            })
            .filter(|gap| !self.is_bridged(gap.from_s))
            .collect();
        (!gaps.is_empty()).then_some(TooLong::Gaps { usual_s, gaps })
    }

    /// The steps that lie between two times, the ones at its ends whole.
    fn part(&self, (from_s, to_s): (f64, f64)) -> Vec<Stretch> {
        let first = self
            .stretches
            .partition_point(|s| s.time_s(s.count) <= from_s);
        let mut part = Vec::new();
        for stretch in &self.stretches[first..] {
            if stretch.begin_s >= to_s {
                break;
            }
            let mut s = *stretch;
            let before =
                (((from_s - s.begin_s) / s.step_s).floor().max(0.0) as usize).min(s.count - 1);
            s.begin_s = s.time_s(before);
            s.row += before;
            s.count -= before;
            let needed = ((to_s - s.begin_s) / s.step_s).ceil().max(1.0) as usize;
            s.count = s.count.min(needed);
            part.push(s);
        }
        part
    }
}

/// The middle step of all, sorted by length.
fn middle(part: &[Stretch]) -> f64 {
    let mut sorted: Vec<(f64, usize)> = part.iter().map(|s| (s.step_s, s.count)).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: usize = sorted.iter().map(|s| s.1).sum();
    let mut passed = 0;
    for (step_s, count) in sorted {
        passed += count;
        if passed > total / 2 {
            return step_s;
        }
    }
    0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    const H: f64 = 3_600.0;

    #[test]
    fn steady_rows_take_one_stretch() {
        let times_s: Vec<f64> = (0..100_000).map(f64::from).collect();
        let steps = Steps::of(&times_s, Limit::Loose);
        assert_eq!(steps.stretches.len(), 1);
        assert_eq!((steps.rows(), steps.whole_s().1), (100_000, 99_999.0));
        assert_eq!(steps.too_long(steps.whole_s()), None);
    }

    #[test]
    fn gaps_are_found_where_they_are_and_only_in_the_part_asked_for() {
        // Every 10 min, an hour missing after 2 h, then hourly from 5 h on.
        let mut times_s: Vec<f64> = (0..13).map(|k| f64::from(k) * 600.0).collect();
        times_s.extend((0..13).map(|k| 3.0 * H + f64::from(k) * 600.0));
        times_s.extend((6..20).map(|k| f64::from(k) * H));
        let steps = Steps::of(&times_s, Limit::Loose);
        let gap = Gap {
            from_s: 2.0 * H,
            to_s: 3.0 * H,
            row: 13,
        };
        let found = steps.too_long((0.0, 5.0 * H));
        assert_eq!(
            found,
            Some(TooLong::Gaps {
                usual_s: 600.0,
                gaps: vec![gap]
            })
        );
        assert_eq!(steps.too_long((3.0 * H, 5.0 * H)), None);
        assert_eq!(
            steps.too_long((5.0 * H, 19.0 * H)),
            None,
            "hourly by itself"
        );
        assert_eq!(steps.too_long((1.0, 1.5 * H)), None);
        for (row, time_s) in times_s.iter().enumerate() {
            assert_eq!(steps.row_at(*time_s), row);
        }
    }

    #[test]
    fn rows_of_a_few_a_day_are_too_few() {
        let steps = Steps::of(&[0.0, 6.0 * H, 12.0 * H, 18.0 * H], Limit::Loose);
        let want = TooLong::Usual {
            step_s: 6.0 * H,
            row: 0,
        };
        assert_eq!(steps.too_long(steps.whole_s()), Some(want));
    }

    #[test]
    fn what_follows_is_known_as_far_as_it_comes_without_a_gap() {
        let mut times_s: Vec<f64> = (0..10).map(|k| f64::from(k) * H).collect();
        times_s.extend([14.0 * H, 15.0 * H]);
        let steps = Steps::of(&times_s, Limit::Loose);
        assert_eq!(steps.without_gap_s(2.0 * H, 30.0 * H), 9.0 * H);
        assert_eq!(steps.without_gap_s(14.0 * H, 30.0 * H), 15.0 * H);
        assert_eq!(steps.without_gap_s(9.0 * H, 30.0 * H), 9.0 * H);
    }
}

//! When it is safe to start: by week, by hour of day, and for how long at a stretch.

use super::start::{Counts, Season, Start};
use crate::study::check::Verdict;
use jiff::ToSpan;
use jiff::civil::{Date, DateTime};

/// Starts of one calendar week.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Week {
    /// Its Monday.
    pub monday: Date,
    /// Its starts.
    pub counts: Counts,
    /// Mean margin of its starts, K.
    pub mean_margin_K: f64,
}

/// Starts that follow each other and all hold, or all do not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// The first start.
    pub from: DateTime,
    /// The last start.
    pub to: DateTime,
    /// How many starts.
    pub starts: usize,
    /// Whether they hold.
    pub holds: bool,
    /// The one with the least margin.
    pub worst: Start,
    /// The one with the largest margin.
    pub best: Start,
}

impl Season {
    /// The weeks, in order.
    #[must_use]
    pub fn weeks(&self) -> Vec<Week> {
        let mut weeks: Vec<Week> = Vec::new();
        for start in &self.starts {
            let date = start.at.date();
            let since_monday = i64::from(date.weekday().to_monday_zero_offset());
            let monday = date.saturating_sub(since_monday.days());
            if weeks.last().is_none_or(|week| week.monday != monday) {
                weeks.push(Week {
                    monday,
                    counts: Counts::default(),
                    mean_margin_K: 0.0,
                });
            }
            if let Some(week) = weeks.last_mut() {
                week.counts.add(start.verdict);
                let n = week.counts.all() as f64;
                week.mean_margin_K += (start.margin_K - week.mean_margin_K) / n;
            }
        }
        weeks
    }

    /// The starts of each hour of the day.
    #[must_use]
    pub fn hours(&self) -> [Counts; 24] {
        let mut hours = [Counts::default(); 24];
        for start in &self.starts {
            hours[start.at.hour() as usize].add(start.verdict);
        }
        hours
    }

    /// The stretches in which all starts hold, or none does, in order.
    #[must_use]
    pub fn stretches(&self) -> Vec<Stretch> {
        let mut found: Vec<Stretch> = Vec::new();
        for start in &self.starts {
            let holds = start.verdict == Verdict::Holds;
            match found.last_mut() {
                Some(last) if last.holds == holds => {
                    last.to = start.at;
                    last.starts += 1;
                    if start.margin_K < last.worst.margin_K {
                        last.worst = *start;
                    }
                    if start.margin_K > last.best.margin_K {
                        last.best = *start;
                    }
                }
                _ => found.push(Stretch {
                    from: start.at,
                    to: start.at,
                    starts: 1,
                    holds,
                    worst: *start,
                    best: *start,
                }),
            }
        }
        found
    }

    /// The longest stretch in which all hold, or none does; of equal ones the first.
    #[must_use]
    pub fn longest(&self, holds: bool) -> Option<Stretch> {
        let of_kind = self.stretches().into_iter().filter(|s| s.holds == holds);
        of_kind.fold(None, |best: Option<Stretch>, next| match best {
            Some(best) if best.starts >= next.starts => Some(best),
            _ => Some(next),
        })
    }

    /// The stretches from a moment on, the first one cut to begin there: as many as asked for.
    #[must_use]
    pub fn next(&self, from: DateTime, most: usize) -> Vec<Stretch> {
        let first = self.starts.partition_point(|s| s.at < from);
        let rest = Self {
            starts: self.starts[first..].to_vec(),
            ..self.clone_without_starts()
        };
        let mut stretches = rest.stretches();
        stretches.truncate(most);
        stretches
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chamber::StationKind;
    use crate::study::season::{Reason, Sharing, later};
    use jiff::civil::date;

    /// Hourly starts from Sunday 12 July 2026 at 20:00 on, with these margins; 3 K are required.
    fn season(margins_K: &[f64]) -> Season {
        let first = date(2026, 7, 12).at(20, 0, 0, 0);
        let starts = margins_K.iter().enumerate().map(|(k, margin_K)| {
            let at = later(first, 3600.0 * k as f64);
            Start {
                at,
                margin_K: *margin_K,
                verdict: Verdict::of(*margin_K, 3.0),
                peak_K: 323.15 - margin_K,
                station: StationKind::DriveGear,
                peak_at: later(at, 9000.0),
            }
        });
        Season {
            name: "closed".to_owned(),
            required_K: 3.0,
            duration_s: 1e5,
            is_allowed: true,
            every_s: 3600.0,
            starts: starts.collect(),
            left_out: 0,
            sharing: Sharing::Alone(Reason::Few),
        }
    }

    #[test]
    fn weeks_begin_on_monday_and_hours_are_the_clocks() {
        let season = season(&[4.0, 2.0, -1.0, 5.0, 5.0, 3.0]);
        let weeks = season.weeks();
        assert_eq!(weeks.len(), 2);
        assert_eq!(weeks[0].monday, date(2026, 7, 6));
        assert_eq!(weeks[1].monday, date(2026, 7, 13));
        let counts = weeks[0].counts;
        assert_eq!((counts.holds, counts.tight, counts.softens), (2, 1, 1));
        assert!((weeks[0].mean_margin_K - 2.5).abs() < 1e-12);
        assert_eq!(weeks[1].counts.holds, 2);
        let hours = season.hours();
        assert_eq!(
            (hours[22].softens, hours[0].holds, hours[7].all()),
            (1, 1, 0)
        );
    }

    #[test]
    fn stretches_end_where_holding_ends() {
        let season = season(&[4.0, 2.0, -1.0, 1.0, 5.0, 3.0, 2.9]);
        let found = season.stretches();
        let shape: Vec<(bool, usize)> = found.iter().map(|s| (s.holds, s.starts)).collect();
        assert_eq!(shape, [(true, 1), (false, 3), (true, 2), (false, 1)]);
        assert_eq!(found[1].worst.margin_K, -1.0);
        assert_eq!(season.longest(true).map(|s| s.starts), Some(2));
        let longest = season.longest(false).unwrap();
        assert_eq!((longest.from.hour(), longest.to.hour()), (21, 23));
        // From half past ten on: the rest of the bad stretch, and what follows.
        let next = season.next(date(2026, 7, 12).at(22, 30, 0, 0), 2);
        assert_eq!((next[0].starts, next[0].from.hour()), (1, 23));
        assert_eq!((next[1].starts, next[1].best.margin_K), (2, 5.0));
        assert!(season.next(date(2026, 8, 1).at(0, 0, 0, 0), 3).is_empty());
    }

    /// The two seasons in which nothing ever changes.
    #[test]
    fn a_season_may_be_all_of_one_kind() {
        let bad = season(&[-1.0, -2.0]);
        assert_eq!((bad.longest(true), bad.stretches().len()), (None, 1));
        assert_eq!(bad.worst().map(|s| s.margin_K), Some(-2.0));
        assert_eq!(bad.counts().worst(), Some(Verdict::Softens));
        let good = season(&[4.0, 3.0]);
        assert_eq!((good.longest(false), good.stretches().len()), (None, 1));
        assert_eq!(good.counts().worst(), Some(Verdict::Holds));
    }
}

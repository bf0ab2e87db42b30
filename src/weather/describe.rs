//! What a series is like, at a glance: where and when it is from, its extremes, its hottest week, its months, and
//! what is missing.
//!
//! Means are of the straight lines between rows, so that rows need not be evenly spaced. What lies in a gap is
//! not counted, and said to be missing.

use super::clock::{Clock, offset_words};
use super::fill::Filled;
use super::rows::Format;
use super::series::Series;
use super::station::Station;
use jiff::civil::{Date, DateTime};
use std::collections::BTreeMap;

/// What a series is like.
#[derive(Debug, Clone, PartialEq)]
pub struct Described {
    /// Which kind of file it is from.
    pub format: Format,
    /// The place that its header names.
    pub station: Option<Station>,
    /// Whether it is a nominal year whose December is followed by its January; its dates' year is nominal, too.
    pub is_typical_year: bool,
    /// Times of the first and the last row.
    pub span: (DateTime, DateTime),
    /// The clock of all times here, in words.
    pub clock: String,
    /// Rows with a value.
    pub rows: usize,
    /// What is usually between two, s.
    pub every_s: f64,
    /// Mean of all that is known, K.
    pub mean_K: f64,
    /// The coldest row.
    pub coldest: Extreme,
    /// The warmest row.
    pub warmest: Extreme,
    /// The seven days, midnight to midnight, of the highest mean; none of a shorter series.
    pub hottest_week: Option<Week>,
    /// The months of the calendar that it has rows of, January first.
    pub months: Vec<Month>,
    /// What is missing and not filled, the longest first.
    pub gaps: Vec<OpenGap>,
    /// What was filled.
    pub filled: Filled,
}

/// A temperature and when it was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extreme {
    /// K.
    pub temperature_K: f64,
    /// When.
    pub at: DateTime,
}

/// Seven days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Week {
    /// Its first day.
    pub from: Date,
    /// Its last day.
    pub to: Date,
    /// Mean of what is known, K.
    pub mean_K: f64,
    /// Its warmest row.
    pub warmest: Extreme,
    /// How much of it is missing, s.
    pub missing_s: f64,
    /// How much of it was filled in, s.
    pub filled_s: f64,
}

/// A month of the calendar, of all years that a series has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Month {
    /// 1 to 12.
    pub month: i8,
    /// K.
    pub min_K: f64,
    /// K.
    pub mean_K: f64,
    /// K.
    pub max_K: f64,
}

/// A time without rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OpenGap {
    /// Times of the rows before and after it.
    pub from: DateTime,
    /// See `from`.
    pub to: DateTime,
    /// The time without a value, s.
    pub missing_s: f64,
    /// Line of the row after it, from 1.
    pub line: usize,
    /// Rows that are not there.
    pub rows_absent: usize,
    /// Rows without a value.
    pub values_absent: usize,
}

/// A day, or a month, while it is gathered.
#[derive(Debug, Clone, Copy)]
struct Gathered {
    /// K s.
    integral: f64,
    known_s: f64,
    filled_s: f64,
    coldest: Option<Extreme>,
    warmest: Option<Extreme>,
}

const DAY_S: f64 = 86_400.0;
/// A week of which more than a day is missing is not compared with others.
const KNOWN_S: f64 = 6.0 * DAY_S;

impl Gathered {
    const NOTHING: Self = Self {
        integral: 0.0,
        known_s: 0.0,
        filled_s: 0.0,
        coldest: None,
        warmest: None,
    };

    fn mean_K(&self) -> Option<f64> {
        (self.known_s > 0.0).then(|| self.integral / self.known_s)
    }

    fn see(&mut self, temperature_K: f64, at: DateTime) {
        let here = Extreme { temperature_K, at };
        if self.coldest.is_none_or(|c| temperature_K < c.temperature_K) {
            self.coldest = Some(here);
        }
        if self.warmest.is_none_or(|w| temperature_K > w.temperature_K) {
            self.warmest = Some(here);
        }
    }

    fn add(&mut self, other: &Self) {
        self.integral += other.integral;
        self.known_s += other.known_s;
        self.filled_s += other.filled_s;
        for extreme in [other.coldest, other.warmest].into_iter().flatten() {
            self.see(extreme.temperature_K, extreme.at);
        }
    }
}

impl Series {
    /// What it is like; none of a series without a row.
    #[must_use]
    pub fn describe(&self) -> Option<Described> {
        let days = self.days();
        let mut all = Gathered::NOTHING;
        let mut months: BTreeMap<i8, Gathered> = BTreeMap::new();
        for (date, day) in &days {
            all.add(day);
            months
                .entry(date.month())
                .or_insert(Gathered::NOTHING)
                .add(day);
        }
        let months = months.iter().filter_map(|(month, gathered)| {
            Some(Month {
                month: *month,
                min_K: gathered.coldest?.temperature_K,
                mean_K: gathered.mean_K()?,
                max_K: gathered.warmest?.temperature_K,
            })
        });
        let (rows, every_s) = self.rows();
        Some(Described {
            format: self.format(),
            station: self.station().cloned(),
            is_typical_year: self.is_typical_year(),
            span: self.span(),
            clock: self.clock_words(),
            rows,
            every_s,
            mean_K: all.mean_K()?,
            coldest: all.coldest?,
            warmest: all.warmest?,
            hottest_week: hottest_week(&days, self.is_typical_year()),
            months: months.collect(),
            gaps: self.open_gaps(every_s),
            filled: self.filled().clone(),
        })
    }

    /// Its days, each with what is known of it.
    fn days(&self) -> BTreeMap<Date, Gathered> {
        let mut days: BTreeMap<Date, Gathered> = BTreeMap::new();
        let mut gaps = self.open_holes().map(|(hole, _)| hole.from_s).peekable();
        let filled = self.filled();
        let mut before: Option<(f64, f64)> = None;
        let mut points = self.points().peekable();
        while let Some((t_s, temperature_K)) = points.next() {
            let at = self.shop_time(t_s);
            // The last point of a round year is its first.
            if !(self.is_typical_year() && points.peek().is_none()) {
                let day = days.entry(at.date()).or_insert(Gathered::NOTHING);
                day.see(temperature_K, at);
            }
            if let Some((from_s, from_K)) = before {
                let is_gap = gaps.next_if(|gap| *gap <= from_s).is_some();
                let lasts_s = t_s - from_s;
                // A step belongs to the day that its middle lies in; most end at full hours.
                let middle = self.shop_time(from_s + 0.5 * lasts_s).date();
                if !is_gap {
                    let day = days.entry(middle).or_insert(Gathered::NOTHING);
                    day.integral += 0.5 * (from_K + temperature_K) * lasts_s;
                    day.known_s += lasts_s;
                    if filled.touches(from_s, t_s) {
                        day.filled_s += lasts_s;
                    }
                }
            }
            before = Some((t_s, temperature_K));
        }
        days
    }

    fn clock_words(&self) -> String {
        let standard = |ahead_s: Option<i32>| match ahead_s {
            Some(ahead_s) => format!("the place's standard time, {}", offset_words(ahead_s)),
            None => "the place's standard time".to_owned(),
        };
        match (self.clock(), self.station(), self.format()) {
            (Clock::Shop(shop, _), ..) => shop.words(),
            (Clock::Same, Some(station), _) => standard(station.standard_time_s),
            (Clock::Same, None, Format::IsdLite) => offset_words(0),
            (Clock::Same, None, Format::Table | Format::Epw | Format::Tmy3) => {
                "as the file has it".to_owned()
            }
        }
    }

    fn open_gaps(&self, every_s: f64) -> Vec<OpenGap> {
        let mut gaps: Vec<OpenGap> = self
            .open_holes()
            .map(|(hole, line)| OpenGap {
                from: self.shop_time(hole.from_s),
                to: self.shop_time(hole.to_s),
                missing_s: hole.to_s - hole.from_s - every_s,
                line,
                rows_absent: hole.rows,
                values_absent: hole.values,
            })
            .collect();
        gaps.sort_by(|a, b| b.missing_s.total_cmp(&a.missing_s));
        gaps
    }
}

/// The seven days that follow each other whose mean is highest; those of a round year go on after December.
fn hottest_week(days: &BTreeMap<Date, Gathered>, is_round: bool) -> Option<Week> {
    let days: Vec<(Date, &Gathered)> = days.iter().map(|(date, day)| (*date, day)).collect();
    let starts = if is_round {
        days.len()
    } else {
        days.len().saturating_sub(6)
    };
    let weeks = (0..starts).filter_map(|k| {
        let week = |j: usize| days[(k + j) % days.len()];
        let (from, to) = (week(0).0, week(6).0);
        let lasts = from.until(to).map_or(0, |span| span.get_days());
        if k + 6 < days.len() && lasts != 6 {
            return None;
        }
        let mut sum = Gathered::NOTHING;
        for j in 0..7 {
            sum.add(week(j).1);
        }
        let mean_K = sum.mean_K().filter(|_| sum.known_s >= KNOWN_S)?;
        Some(Week {
            from,
            to,
            mean_K,
            warmest: sum.warmest?,
            missing_s: (7.0 * DAY_S - sum.known_s).max(0.0),
            filled_s: sum.filled_s,
        })
    });
    weeks.max_by(|a, b| a.mean_K.total_cmp(&b.mean_K))
}

//! Times that count from where a log begins.
//!
//! Some loggers know no date: their rows say how long they have been running. Which column that is, its header tells,
//! and its numbers that only rise; in what it counts, its header must tell; and when the log began, a person. Others write
//! hours and minutes: of the day, where the first row is the time that the log is said to begin at, or since then.

use super::header_units::unit_of_header;
use super::sample::{Look, Sample, look};
use crate::table::number::is_number;
use jiff::civil::{DateTime, Time};

/// In what elapsed times are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TimeUnit {
    Millisecond,
    Second,
    Minute,
    Hour,
    Day,
}

/// What hours and minutes without a date are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Hands {
    /// Time since the log began.
    Since,
    /// Time of day, from this one of the first row on, s from midnight.
    OfDay { first_s: u32 },
}

const DAY_S: f64 = 86_400.0;
/// So near the time that the log is said to begin at, a first row is that time, s.
const NEAR_S: f64 = 90.0;
/// A log's first row does not come later than this after its begin, s.
const SOON_S: u32 = 3_600;

impl Hands {
    /// What the hours and minutes of a log are that begins then, by its first row; none where they can be neither.
    pub(super) fn of(first_s: u32, begins: DateTime) -> Option<Self> {
        let begins_s = begins.duration_since(begins.date().to_datetime(Time::midnight()));
        let apart_s = (f64::from(first_s) - begins_s.as_secs_f64()).rem_euclid(DAY_S);
        if apart_s.min(DAY_S - apart_s) <= NEAR_S {
            Some(Self::OfDay { first_s })
        } else {
            (first_s <= SOON_S).then_some(Self::Since)
        }
    }

    /// How long after the begin of the log a row is, s. After midnight the hands begin anew: `before_s` is when the row
    /// before was.
    pub(super) fn after_s(self, shown_s: u32, before_s: Option<f64>) -> f64 {
        match self {
            Self::Since => f64::from(shown_s),
            Self::OfDay { first_s } => {
                let mut after_s = f64::from(shown_s) - f64::from(first_s);
                // Half a day back is no row out of order.
                while before_s.is_some_and(|before_s| before_s - after_s > 0.5 * DAY_S) {
                    after_s += DAY_S;
                }
                after_s
            }
        }
    }
}

/// Hours and minutes, and perhaps seconds, as s: `7:05`, `31:05:30`.
pub(super) fn hands_s(text: &str) -> Option<u32> {
    let parts: Vec<&str> = text.trim().split(':').collect();
    let is_plain =
        |part: &&str| (1..=4).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
    if !(2..=3).contains(&parts.len()) || !parts.iter().all(is_plain) {
        return None;
    }
    let mut numbers = parts.iter().map(|part| part.parse::<u32>().ok());
    let (hours, minutes) = (numbers.next()??, numbers.next()??);
    let seconds = numbers.next().flatten().unwrap_or(0);
    (minutes < 60 && seconds < 60).then(|| 3_600 * hours + 60 * minutes + seconds)
}

/// Words of headers that stand for a unit of time.
const UNITS: [(TimeUnit, &[&str]); 5] = [
    (
        TimeUnit::Millisecond,
        &["ms", "msec", "millis", "milliseconds"],
    ),
    (TimeUnit::Second, &["s", "sec", "secs", "second", "seconds"]),
    (TimeUnit::Minute, &["min", "mins", "minute", "minutes"]),
    (TimeUnit::Hour, &["h", "hr", "hrs", "hour", "hours"]),
    (TimeUnit::Day, &["d", "day", "days"]),
];
/// Words of headers that stand for time itself.
const TIME: [&str; 5] = ["elapsed", "time", "t", "runtime", "uptime"];

impl TimeUnit {
    /// How many seconds one is.
    pub const fn seconds(self) -> f64 {
        match self {
            Self::Millisecond => 1e-3,
            Self::Second => 1.0,
            Self::Minute => 60.0,
            Self::Hour => 3_600.0,
            Self::Day => 86_400.0,
        }
    }

    /// What several are called.
    pub const fn plural(self) -> &'static str {
        match self {
            Self::Millisecond => "milliseconds",
            Self::Second => "seconds",
            Self::Minute => "minutes",
            Self::Hour => "hours",
            Self::Day => "days",
        }
    }

    /// The one that a header names: `time_s`, `Elapsed (min)`, `Hours`.
    pub(super) fn of_header(name: &str) -> Option<Self> {
        let of = |word: &str| {
            let mut each = UNITS.into_iter();
            each.find(|(_, words)| words.contains(&word))
                .map(|(unit, _)| unit)
        };
        // Of several the last: "time since day begin, s".
        words(name).iter().rev().find_map(|word| of(word))
    }
}

fn words(name: &str) -> Vec<String> {
    let parts = name.split(|c: char| !c.is_alphanumeric());
    parts
        .filter(|part| !part.is_empty())
        .map(str::to_lowercase)
        .collect()
}

/// The column of elapsed times, where no column has a date: the first whose header is of time and whose numbers only rise.
pub(super) fn column(names: &[String], sample: &Sample) -> Option<usize> {
    let is_of_time = |name: &str| {
        let is_time = |word: &String| TIME.contains(&word.as_str());
        words(name).iter().any(is_time)
            || (TimeUnit::of_header(name).is_some() && words(name).len() == 1)
    };
    let each = names.iter().enumerate();
    // "T (°C)" is a temperature.
    each.filter(|(_, name)| is_of_time(name) && unit_of_header(name).is_none())
        .map(|(at, _)| at)
        .find(|at| rises(sample, *at))
}

/// Whether a column has numbers, at least two, and each is larger than the one above it.
pub(super) fn rises(sample: &Sample, column: usize) -> bool {
    let cells = sample.lines.iter().filter_map(|line| line.get(column));
    let numbers: Vec<f64> = cells
        .filter(|cell| look(cell) == Look::Number)
        .filter_map(|cell| number(cell))
        .collect();
    numbers.len() > 1 && numbers.windows(2).all(|pair| pair[0] < pair[1])
}

/// An elapsed time as it is written: `600`, `10.5`, `10,5`.
pub(super) fn number(text: &str) -> Option<f64> {
    let is_plain = is_number(text) && text.matches([',', '.']).count() < 2;
    is_plain.then(|| text.replace(',', ".").parse().ok())?
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers_say_in_what_is_counted() {
        for (name, unit) in [
            ("time_s", Some(TimeUnit::Second)),
            ("Elapsed (min)", Some(TimeUnit::Minute)),
            ("t [h]", Some(TimeUnit::Hour)),
            ("Seconds", Some(TimeUnit::Second)),
            ("uptime_ms", Some(TimeUnit::Millisecond)),
            ("days", Some(TimeUnit::Day)),
            ("time", None),
            ("elapsed", None),
            ("sensor", None),
        ] {
            assert_eq!(TimeUnit::of_header(name), unit, "{name}");
        }
        assert_eq!(hands_s("7:05"), Some(25_500));
        assert_eq!(hands_s("31:05:30"), Some(111_930));
        assert_eq!(hands_s("7:60"), None);
        assert_eq!(hands_s("7"), None);
        assert_eq!(number("10,5"), Some(10.5));
        assert_eq!(number("1,000.5"), None);
        assert_eq!(number("10 s"), None);
    }
}

//! Times that count from where a log begins.
//!
//! Some loggers know no date: their rows say how long they have been running. Which column that is, its header tells,
//! and its numbers that only rise; in what it counts, its header must tell; and when the log began, a person.

use super::sample::{Look, Sample, look};
use crate::table::number::is_number;

/// In what elapsed times are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TimeUnit {
    Millisecond,
    Second,
    Minute,
    Hour,
    Day,
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
    each.filter(|(_, name)| is_of_time(name))
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
        assert_eq!(number("10,5"), Some(10.5));
        assert_eq!(number("1,000.5"), None);
        assert_eq!(number("10 s"), None);
    }
}

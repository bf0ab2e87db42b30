//! A moment of a run as people write it: by the clock ("Wed 14:00", "2026-07-15 14:00", "day 3 at 14:00",
//! "14:00"). One counted from the start ("31 h") is a plain quantity.
//!
//! What a weekday or a bare time means depends on the run's start and length, so a moment stays as it was
//! written until a run is made: one that starts later keeps its clock times.

use jiff::SignedDuration;
use jiff::civil::{Date, DateTime, Time, Weekday};
use std::fmt;

const DAY_S: f64 = 86_400.0;

/// Words for how often a stretch of time comes again.
pub const EVERY: &[&str] = &["day", "workday"];

/// How a moment is written, for messages.
pub(crate) const HOW: &str =
    "write \"Wed 14:00\", \"2026-07-15 14:00\" or, counted from the start of the run, \"31 h\"";

/// A moment by the clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moment {
    /// On a date.
    On(DateTime),
    /// On a weekday.
    OnWeekday(Weekday, TimeOfDay),
    /// On a day of the run, its first being 1.
    OnDay(u16, TimeOfDay),
    /// At a time of day, whatever the day.
    At(TimeOfDay),
}

/// Seconds from midnight, up to and including the next one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct TimeOfDay(u32);

/// Why a text is no moment.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(crate) enum MomentError {
    #[error("\"{0}\" does not say the time of day")]
    NoTime(String),
    #[error("\"{0}\" is neither a day nor a time of day")]
    Unknown(String),
    #[error("\"{0}\" says a day or a time more than once")]
    Twice(String),
    #[error("{0} is not a {1}")]
    OtherWeekday(Date, &'static str),
    #[error("{0}")]
    Date(String),
}

/// Why a moment is not one moment of a run.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Missed {
    Before(DateTime),
    After(DateTime),
    /// No day of the run has it.
    Never,
    /// Several have it, at these dates.
    Repeats(Vec<DateTime>),
}

/// A run's own stretch of time, from which moments are counted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Local date and time of the start.
    pub start: DateTime,
    /// Length, s.
    pub duration_s: f64,
}

impl TimeOfDay {
    /// From midnight, s.
    #[must_use]
    pub fn seconds(self) -> f64 {
        f64::from(self.0)
    }

    /// "14:00", "9:30", "14:00:30", "2 pm", and "24:00" for the end of a day.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim().to_lowercase();
        let half = ["am", "pm"].iter().position(|half| text.ends_with(half));
        let digits = text.trim_end_matches(['a', 'p', 'm']).trim_end();
        let numbers: Vec<u32> = digits
            .split(':')
            .map(|n| {
                let is_short = (1..=2).contains(&n.len()) && n.bytes().all(|b| b.is_ascii_digit());
                is_short.then(|| n.parse().ok()).flatten()
            })
            .collect::<Option<_>>()?;
        let (hour, minute, second) = match (numbers[..].as_ref(), half) {
            (&[hour], Some(_)) => (hour, 0, 0),
            (&[hour, minute], _) => (hour, minute, 0),
            (&[hour, minute, second], _) => (hour, minute, second),
            _ => return None,
        };
        let hour = match half {
            None => hour,
            Some(half) if (1..=12).contains(&hour) => hour % 12 + if half == 1 { 12 } else { 0 },
            Some(_) => return None,
        };
        let all = hour * 3_600 + minute * 60 + second;
        (minute < 60 && second < 60 && all <= 86_400).then_some(Self(all))
    }
}

impl fmt::Display for TimeOfDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (hour, minute, second) = (self.0 / 3_600, self.0 / 60 % 60, self.0 % 60);
        write!(f, "{hour:02}:{minute:02}")?;
        if second > 0 {
            write!(f, ":{second:02}")?;
        }
        Ok(())
    }
}

impl fmt::Display for Moment {
    /// As a run file writes it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::On(time) => f.write_str(&written(*time)),
            Self::OnWeekday(day, time) => write!(f, "{} {time}", short_name(*day)),
            Self::OnDay(day, time) => write!(f, "day {day} at {time}"),
            Self::At(time) => write!(f, "{time}"),
        }
    }
}

impl Moment {
    /// Whether a text means the clock, and not a time that has elapsed.
    pub(crate) fn is_meant(text: &str) -> bool {
        let text = text.trim().to_lowercase();
        let begins = |digits: usize, then: char| {
            let mut chars = text.chars();
            chars.by_ref().take(digits).all(|c| c.is_ascii_digit()) && chars.next() == Some(then)
        };
        text.contains(':')
            || text.starts_with(char::is_alphabetic)
            || begins(4, '-')
            || text.ends_with("am")
            || text.ends_with("pm")
    }

    /// A moment as written.
    pub(crate) fn parse(text: &str) -> Result<Self, MomentError> {
        let text = text.trim();
        Self::of_words(text).or_else(|error| {
            let has_date = text.get(..5).is_some_and(|year| {
                year.ends_with('-') && year.bytes().take(4).all(|b| b.is_ascii_digit())
            });
            // What dates may be besides, and what is wrong with one, is known there.
            match error {
                MomentError::Unknown(_) if has_date => local_date_time(text)
                    .map(Self::On)
                    .map_err(MomentError::Date),
                error => Err(error),
            }
        })
    }

    fn of_words(text: &str) -> Result<Self, MomentError> {
        let (mut weekday, mut day, mut date, mut time) = (None, None, None, None);
        let folded = text.to_lowercase().replace(',', " ");
        let mut words = folded
            .split_whitespace()
            .filter(|word| !matches!(*word, "at" | "on"))
            .peekable();
        let twice = || MomentError::Twice(text.to_owned());
        while let Some(word) = words.next() {
            let unknown = || MomentError::Unknown(word.to_owned());
            let half = words
                .peek()
                .copied()
                .filter(|next| matches!(*next, "am" | "pm"));
            let with_half = half.map(|half| format!("{word} {half}"));
            let is_new = if let Some(found) = TimeOfDay::parse(with_half.as_deref().unwrap_or(word))
            {
                if with_half.is_some() {
                    words.next();
                }
                time.replace(found).is_none()
            } else if let Some(found) = weekday_of(word) {
                weekday.replace(found).is_none()
            } else if word == "day" {
                let number = words.next().and_then(|n| n.parse::<u16>().ok());
                let number = number.filter(|n| *n > 0).ok_or_else(unknown)?;
                day.replace(number).is_none()
            } else {
                // A longer word that begins with a date has its time, and maybe a zone, within.
                let word_alone = Some(word).filter(|word| word.len() <= 10);
                let found = word_alone.and_then(|word| word.parse::<Date>().ok());
                let found = found.ok_or_else(unknown)?;
                date.replace(found).is_none()
            };
            if !is_new {
                return Err(twice());
            }
        }
        let time = time.ok_or_else(|| MomentError::NoTime(text.to_owned()))?;
        match (weekday, day, date) {
            (None, None, None) => Ok(Self::At(time)),
            (Some(weekday), None, None) => Ok(Self::OnWeekday(weekday, time)),
            (None, Some(day), None) => Ok(Self::OnDay(day, time)),
            (weekday, None, Some(date)) => match weekday {
                Some(weekday) if weekday != date.weekday() => {
                    Err(MomentError::OtherWeekday(date, name(weekday)))
                }
                _ => Ok(Self::On(later(
                    date.to_datetime(Time::midnight()),
                    time.seconds(),
                ))),
            },
            _ => Err(twice()),
        }
    }

    /// When it is, from the run's start, s.
    pub(crate) fn within(&self, span: &Span) -> Result<f64, Missed> {
        if let Some(at_s) = self.fixed(span) {
            let date = later(span.start, at_s);
            return match at_s {
                _ if at_s < 0.0 => Err(Missed::Before(date)),
                _ if at_s > span.duration_s => Err(Missed::After(date)),
                _ => Ok(at_s),
            };
        }
        let all: Vec<f64> = self
            .each_day(span)
            .skip_while(|at_s| *at_s < 0.0)
            .take_while(|at_s| *at_s <= span.duration_s)
            .collect();
        match all[..] {
            [] => Err(Missed::Never),
            [one] => Ok(one),
            _ => {
                let dates = all.iter().map(|at_s| later(span.start, *at_s));
                Err(Missed::Repeats(dates.collect()))
            }
        }
    }

    /// The first time it comes after a moment of the run, both in s from its start; a date and a day of the
    /// run are where they are.
    pub(crate) fn after(&self, from_s: f64, span: &Span) -> f64 {
        self.fixed(span).unwrap_or_else(|| {
            let mut all = self.each_day(span).skip_while(|at_s| *at_s <= from_s);
            all.next().unwrap_or(f64::INFINITY)
        })
    }

    /// The same moment tied to a date, where it is one moment of the run.
    pub(crate) fn pinned(&self, span: &Span) -> Self {
        self.within(span)
            .map_or(*self, |at_s| Self::On(later(span.start, at_s)))
    }

    /// Where it is, within the run or not, when it says the day.
    fn fixed(&self, span: &Span) -> Option<f64> {
        match self {
            Self::On(time) => Some(time.duration_since(span.start).as_secs_f64()),
            Self::OnDay(day, time) => {
                Some(span.midnight_s() + DAY_S * f64::from(day - 1) + time.seconds())
            }
            Self::OnWeekday(..) | Self::At(_) => None,
        }
    }

    /// Every time it comes, from the day before the run on, without an end.
    fn each_day(&self, span: &Span) -> impl Iterator<Item = f64> + use<> {
        let (weekday, time) = match *self {
            Self::OnWeekday(weekday, time) => (Some(weekday), time),
            Self::On(_) | Self::OnDay(..) => (None, TimeOfDay(0)),
            Self::At(time) => (None, time),
        };
        let span = *span;
        span.days()
            .filter(move |(_, day)| weekday.is_none_or(|weekday| weekday == *day))
            .map(move |(midnight_s, _)| midnight_s + time.seconds())
    }
}

impl Span {
    /// When the run's first day began, s from its start.
    fn midnight_s(&self) -> f64 {
        let time = self.start.time();
        let of_day = i32::from(time.hour()) * 3_600 + i32::from(time.minute()) * 60;
        -f64::from(of_day) - f64::from(time.second()) - f64::from(time.subsec_nanosecond()) * 1e-9
    }

    /// Midnights, s from the start, and the days that begin then: from the day before the run's first on.
    fn days(self) -> impl Iterator<Item = (f64, Weekday)> {
        let first = self.start.date().weekday();
        // Twice the longest run: some week after its end has every weekday.
        (-1_i32..800).map(move |day| {
            (
                self.midnight_s() + DAY_S * f64::from(day),
                first.wrapping_add(day),
            )
        })
    }

    /// The stretches of a time of day that comes again, as they are within the run: begin and end, s from
    /// the start. Those that have begun before the run or outlast it are cut.
    pub(crate) fn repeated(
        &self,
        at: TimeOfDay,
        length_s: f64,
        workdays_only: bool,
    ) -> Vec<(f64, f64)> {
        let is_off = |day: Weekday| matches!(day, Weekday::Saturday | Weekday::Sunday);
        // A stretch may be as long as several days; the reader of overlaps says what is wrong then.
        self.days()
            .map(|(midnight_s, day)| (midnight_s + at.seconds(), day))
            .take_while(|(begin_s, _)| *begin_s < self.duration_s)
            .filter(|(_, day)| !(workdays_only && is_off(*day)))
            .map(|(begin_s, _)| {
                let end_s = begin_s + length_s;
                (begin_s.max(0.0), end_s.min(self.duration_s))
            })
            .filter(|(begin_s, end_s)| end_s > begin_s)
            .collect()
    }

    /// The date and time so many seconds after the start.
    pub(crate) fn date_time(&self, at_s: f64) -> DateTime {
        later(self.start, at_s)
    }

    /// "Mon 2026-07-13 07:00 to Sat 2026-07-18 08:00".
    pub(crate) fn text(&self) -> String {
        format!(
            "{} to {}",
            with_weekday(self.start),
            with_weekday(self.date_time(self.duration_s))
        )
    }
}

/// "Wed 2026-07-15 14:00".
pub(crate) fn with_weekday(time: DateTime) -> String {
    format!("{} {}", short_name(time.date().weekday()), written(time))
}

/// "2026-07-15 14:00".
pub(crate) fn written(time: DateTime) -> String {
    let format = if time.second() == 0 {
        "%Y-%m-%d %H:%M"
    } else {
        "%Y-%m-%d %H:%M:%S"
    };
    time.strftime(format).to_string()
}

fn later(time: DateTime, by_s: f64) -> DateTime {
    time.saturating_add(SignedDuration::try_from_secs_f64(by_s).unwrap_or(SignedDuration::MAX))
}

/// A local date with time of day; midnight when only the date is given.
///
/// # Errors
/// A sentence that says what is wrong.
pub(crate) fn local_date_time(text: &str) -> Result<DateTime, String> {
    let text = text.trim();
    let year_digits = text.bytes().take_while(u8::is_ascii_digit).count();
    if text.starts_with(['+', '-']) || matches!(year_digits, 5 | 6) {
        return Err(format!(
            "\"{text}\" does not begin with a year of four digits"
        ));
    }
    let time_part = text.get(10..).unwrap_or("");
    if time_part.contains(['Z', 'z', '+', '-', '[']) {
        return Err(format!(
            "\"{text}\" carries a time zone, but times here are local: leave the zone away"
        ));
    }
    let parsed = if time_part.is_empty() {
        text.parse::<Date>()
            .map(|date| date.to_datetime(Time::midnight()))
    } else {
        text.parse::<DateTime>()
    };
    parsed.map_err(|_| format!("\"{text}\" is no date and time, or there is no such day"))
}

const WEEK: [(Weekday, &str); 7] = [
    (Weekday::Monday, "Monday"),
    (Weekday::Tuesday, "Tuesday"),
    (Weekday::Wednesday, "Wednesday"),
    (Weekday::Thursday, "Thursday"),
    (Weekday::Friday, "Friday"),
    (Weekday::Saturday, "Saturday"),
    (Weekday::Sunday, "Sunday"),
];

/// Of "wed", "weds", "wednesday", "wed.".
pub(super) fn weekday_of(word: &str) -> Option<Weekday> {
    let word = word.trim_end_matches('.');
    let word = if word == "weds" { "wed" } else { word };
    let is_meant = |name: &str| word.len() >= 3 && name.to_lowercase().starts_with(word);
    let found = WEEK.iter().find(|(_, name)| is_meant(name));
    found.map(|(day, _)| *day)
}

fn name(day: Weekday) -> &'static str {
    let found = WEEK.iter().find(|(known, _)| *known == day);
    found.map_or("", |(_, name)| name)
}

fn short_name(day: Weekday) -> &'static str {
    name(day).get(..3).unwrap_or("")
}

#[cfg(test)]
mod tests;

//! Hours of the week as people write them: "Mon-Fri 08:00-18:00, Sat 09:00-13:00".

use super::moment::{TimeOfDay, weekday_of};
use jiff::civil::{DateTime, Weekday};

const DAY_S: f64 = 86_400.0;
const WEEK_S: f64 = 7.0 * DAY_S;

/// How hours are written, for messages.
pub(crate) const HOW: &str = "write days and times of day, \"Mon-Fri 08:00-18:00, Sat 09:00-13:00\"; for the whole day \"Sun 00:00-24:00\"";

/// Hours that come again every week.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Hours {
    /// Begins and ends, s from Monday's midnight, in order and apart from each other. What lasts beyond the week
    /// ends after it.
    week_s: Vec<(f64, f64)>,
}

/// Why a text is no hours of the week.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(crate) enum HoursError {
    #[error("\"{0}\" is neither a day nor a range of times of day")]
    Unknown(String),
    #[error("\"{0}\" names days and no times")]
    NoTimes(String),
    #[error("\"{0}\" begins and ends at the same time")]
    Empty(String),
}

/// A word of such a text.
enum Word {
    Days(Weekday, Weekday),
    Times(TimeOfDay, TimeOfDay),
}

impl Hours {
    /// Hours as written.
    pub(crate) fn parse(text: &str) -> Result<Self, HoursError> {
        let mut found = Vec::new();
        // Days that times hold for; whether times have come since the first of them.
        let (mut days, mut has_times) = (Vec::new(), true);
        for word in words(text) {
            match read(&word).ok_or_else(|| HoursError::Unknown(word.clone()))? {
                Word::Days(first, last) => {
                    if has_times {
                        days.clear();
                        has_times = false;
                    }
                    days.extend(each(first, last));
                }
                Word::Times(from, to) => {
                    if from == to {
                        return Err(HoursError::Empty(word));
                    }
                    has_times = true;
                    if days.is_empty() {
                        days.extend(each(Weekday::Monday, Weekday::Sunday));
                    }
                    let past_midnight_s = if to < from { DAY_S } else { 0.0 };
                    found.extend(days.iter().map(|day| {
                        let midnight_s = DAY_S * f64::from(day.to_monday_zero_offset());
                        let end_s = midnight_s + to.seconds() + past_midnight_s;
                        (midnight_s + from.seconds(), end_s)
                    }));
                }
            }
        }
        if !has_times || found.is_empty() {
            return Err(HoursError::NoTimes(text.trim().to_owned()));
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut week_s: Vec<(f64, f64)> = Vec::new();
        for (begin_s, end_s) in found {
            match week_s.last_mut() {
                Some(last) if begin_s <= last.1 => last.1 = last.1.max(end_s),
                _ => week_s.push((begin_s, end_s)),
            }
        }
        Ok(Self { week_s })
    }

    /// Whether a local date and time lies within them; their ends do not.
    #[must_use]
    pub fn contain(&self, time: DateTime) -> bool {
        let at_s = in_week_s(time);
        let within = |s: f64| self.week_s.iter().any(|(from, to)| *from <= s && s < *to);
        within(at_s) || within(at_s + WEEK_S)
    }

    /// The stretches of a run that lie within them: begins and ends, s from its start, in order.
    ///
    /// * `start`: the local date and time at which it starts.
    /// * `duration_s`: how long it lasts, s.
    #[must_use]
    pub fn within(&self, start: DateTime, duration_s: f64) -> Vec<(f64, f64)> {
        let from_s = in_week_s(start);
        let weeks = (duration_s / WEEK_S).ceil() as i32 + 1;
        // From the week before on: what lasts beyond it may reach into this one.
        let all = (-1..=weeks).flat_map(|week| {
            let monday_s = WEEK_S * f64::from(week) - from_s;
            let each = self.week_s.iter();
            each.map(move |(from, to)| (monday_s + from, monday_s + to))
        });
        let mut found: Vec<(f64, f64)> = Vec::new();
        for (from, to) in all {
            let (from, to) = (from.max(0.0), to.min(duration_s));
            match found.last_mut() {
                _ if to <= from => {}
                Some(last) if from <= last.1 => last.1 = last.1.max(to),
                _ => found.push((from, to)),
            }
        }
        found
    }
}

/// Seconds from Monday's midnight.
fn in_week_s(time: DateTime) -> f64 {
    let days = time.date().weekday().to_monday_zero_offset();
    let t = time.time();
    let of_day = i32::from(t.hour()) * 3_600 + i32::from(t.minute()) * 60 + i32::from(t.second());
    DAY_S * f64::from(days) + f64::from(of_day) + f64::from(t.subsec_nanosecond()) * 1e-9
}

/// Words that are ranges, without blanks within.
fn words(text: &str) -> Vec<String> {
    let mut plain = text.to_lowercase();
    for dash in ['\u{2010}', '\u{2011}', '\u{2012}', '\u{2013}', '\u{2014}'] {
        plain = plain.replace(dash, "-");
    }
    let plain = plain.replace([',', ';'], " ");
    let mut words: Vec<String> = Vec::new();
    for word in plain.split_whitespace() {
        let word = match word {
            "to" | "until" => "-",
            "and" | "&" => continue,
            word => word,
        };
        let joins = |last: &String| {
            let is_half = matches!(word, "am" | "pm")
                || ["am-", "pm-"].iter().any(|half| word.starts_with(half));
            last.ends_with('-') || word.starts_with('-') || is_half
        };
        match words.last_mut().filter(|last| joins(last)) {
            Some(last) => last.push_str(word),
            None => words.push(word.to_owned()),
        }
    }
    words
}

fn read(word: &str) -> Option<Word> {
    if word == "daily" {
        return Some(Word::Days(Weekday::Monday, Weekday::Sunday));
    }
    let Some((first, last)) = word.split_once('-') else {
        let day = weekday_of(word.trim_end_matches(':'))?;
        return Some(Word::Days(day, day));
    };
    let days = weekday_of(first).zip(weekday_of(last.trim_end_matches(':')));
    if let Some((first, last)) = days {
        return Some(Word::Days(first, last));
    }
    let (from, to) = TimeOfDay::parse(first).zip(TimeOfDay::parse(last))?;
    Some(Word::Times(from, to))
}

/// From one day to another, over the end of the week where the other comes earlier in it.
fn each(first: Weekday, last: Weekday) -> impl Iterator<Item = Weekday> {
    let days = first.until(last);
    (0..=days).map(move |day| first.wrapping_add(day))
}

#[cfg(test)]
mod tests;

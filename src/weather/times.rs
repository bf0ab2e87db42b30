//! Dates and times as people and loggers write them: `2026-07-13T07:00`, `13.07.2026 7:00`,
//! `07/13/2026 7:00:00 AM`, `13-Jul-26`, each with or without an offset from UTC.
//!
//! What `03/04/2026` means can't be seen in it. So a text is read in two steps: into numbers with the orders in
//! which they can stand, and, once the whole file has told which order it is, into a date.

use jiff::civil::{Date, DateTime, Time};
use jiff::{SignedDuration, Span};

/// The order in which a date's numbers stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DateOrder {
    YearMonthDay,
    DayMonthYear,
    MonthDayYear,
}

impl DateOrder {
    pub const ALL: [Self; 3] = [Self::YearMonthDay, Self::DayMonthYear, Self::MonthDayYear];

    /// As a key's value.
    pub const fn word(self) -> &'static str {
        match self {
            Self::YearMonthDay => "year/month/day",
            Self::DayMonthYear => "day/month/year",
            Self::MonthDayYear => "month/day/year",
        }
    }

    /// The one of that word.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|order| order.word() == word)
    }

    const fn bit(self) -> u8 {
        1 << self as u8
    }
}

/// A set of orders.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Orders(u8);

impl Orders {
    pub const ANY: Self = Self(0b111);

    const fn only(order: DateOrder) -> Self {
        Self(order.bit())
    }

    pub const fn has(self, order: DateOrder) -> bool {
        self.0 & order.bit() != 0
    }

    pub const fn both(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    pub fn iter(self) -> impl Iterator<Item = DateOrder> {
        DateOrder::ALL
            .into_iter()
            .filter(move |order| self.has(*order))
    }

    /// The only one there is.
    pub fn single(self) -> Option<DateOrder> {
        let mut all = self.iter();
        all.next().filter(|_| all.next().is_none())
    }

    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }
}

/// How a time says which clock it is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Zone {
    /// So many seconds ahead of UTC.
    Offset(i32),
    /// By a name, which says nothing without a table of zones.
    Named,
}

/// A date, a time of day or both, as written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Written {
    pub date: Option<WrittenDate>,
    /// Time of day; up to 24:00.
    pub clock: Option<SignedDuration>,
    pub zone: Option<Zone>,
}

/// A date's numbers in the order in which they stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct WrittenDate {
    numbers: [i16; 3],
    /// The orders that its shape allows and that make it a day of the calendar.
    pub orders: Orders,
    /// The orders that its shape allows.
    pub by_shape: Orders,
}

impl WrittenDate {
    fn new(numbers: [i16; 3], by_shape: Orders) -> Self {
        let mut date = Self {
            numbers,
            orders: Orders(0),
            by_shape,
        };
        for order in by_shape.iter() {
            if date.in_order(order).is_some() {
                date.orders.0 |= order.bit();
            }
        }
        date
    }

    fn in_order(&self, order: DateOrder) -> Option<Date> {
        let [a, b, c] = self.numbers;
        let (year, month, day) = match order {
            DateOrder::YearMonthDay => (a, b, c),
            DateOrder::DayMonthYear => (c, b, a),
            DateOrder::MonthDayYear => (c, a, b),
        };
        // Loggers of the last century would be a wonder.
        let year = if year < 100 { year + 2000 } else { year };
        Date::new(year, month.try_into().ok()?, day.try_into().ok()?).ok()
    }
}

impl Written {
    /// The moment, if its date stands in that order; midnight where it has no time of day.
    pub fn moment(&self, order: DateOrder) -> Option<DateTime> {
        let date = self.date?;
        let day = date.by_shape.has(order).then(|| date.in_order(order))??;
        let begin = day.to_datetime(Time::midnight());
        begin.checked_add(self.clock.unwrap_or_default()).ok()
    }
}

/// A text read as a date, a time of day or both; none if it is neither.
pub(crate) fn written(text: &str) -> Option<Written> {
    let mut rest = Rest(text.trim().as_bytes());
    let mut written = Written {
        date: None,
        clock: None,
        zone: None,
    };
    if let Some((date, after)) = date(rest) {
        written.date = Some(date);
        rest = after;
        if !rest.0.is_empty() {
            // A time of day with points is one only behind a date: else it would be any number.
            rest.between_date_and_clock()?;
            let (clock, after) = clock(rest, true)?;
            written.clock = Some(clock);
            rest = after;
        }
    } else {
        let (clock, after) = clock(rest, false)?;
        written.clock = Some(clock);
        rest = after;
    }
    rest.blanks();
    if !rest.0.is_empty() {
        written.zone = Some(zone(rest)?);
    }
    Some(written)
}

/// An offset from UTC such as `+02:00`, s.
pub(crate) fn utc_offset_s(text: &str) -> Option<i32> {
    match zone(Rest(text.trim().as_bytes()))? {
        Zone::Offset(s) => Some(s),
        Zone::Named => None,
    }
}

/// A moment so many seconds later.
pub(crate) fn later(moment: DateTime, by_s: i32) -> Option<DateTime> {
    moment.checked_add(Span::new().try_seconds(by_s).ok()?).ok()
}

/// What is left of a text.
#[derive(Debug, Clone, Copy)]
struct Rest<'a>(&'a [u8]);

impl<'a> Rest<'a> {
    fn take(&mut self, is: impl Fn(&u8) -> bool) -> &'a [u8] {
        let end = self.0.iter().position(|b| !is(b)).unwrap_or(self.0.len());
        let (taken, rest) = self.0.split_at(end);
        self.0 = rest;
        taken
    }

    fn blanks(&mut self) {
        self.take(|b| *b == b' ');
    }

    fn sign(&mut self, signs: &[u8]) -> Option<u8> {
        let first = *self.0.first().filter(|b| signs.contains(b))?;
        self.0 = &self.0[1..];
        Some(first)
    }

    /// Up to so many digits: how many there are, and their number.
    fn number(&mut self, most: usize) -> Option<(usize, i32)> {
        let digits = self.take(u8::is_ascii_digit);
        if digits.is_empty() || digits.len() > most {
            return None;
        }
        let value = digits.iter().fold(0, |n, d| 10 * n + i32::from(d - b'0'));
        Some((digits.len(), value))
    }

    fn between_date_and_clock(&mut self) -> Option<()> {
        let before = self.0.len();
        self.sign(b",");
        self.blanks();
        if before == self.0.len() {
            self.sign(b"Tt")?;
        }
        Some(())
    }
}

/// One of the three parts of a date.
enum Part {
    Number(usize, i16),
    Month(i16),
}

fn part(rest: &mut Rest<'_>) -> Option<Part> {
    if rest.0.first()?.is_ascii_digit() {
        let (digits, value) = rest.number(4)?;
        return Some(Part::Number(digits, i16::try_from(value).ok()?));
    }
    const MONTHS: [&str; 12] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    let letters = rest.take(u8::is_ascii_alphabetic);
    let word = std::str::from_utf8(letters).ok()?.to_ascii_lowercase();
    let at = MONTHS
        .iter()
        .position(|month| word.len() >= 3 && month.starts_with(&word))?;
    i16::try_from(at + 1).ok().map(Part::Month)
}

fn date(rest: Rest<'_>) -> Option<(WrittenDate, Rest<'_>)> {
    if let Some(found) = eight_digits(rest) {
        return Some(found);
    }
    let mut rest = rest;
    let between = |rest: &mut Rest<'_>| {
        let sign = rest.sign(b"-/., ");
        // "13. Jul 2026", "Jul 13, 2026".
        if matches!(sign, Some(b'.' | b',')) {
            rest.blanks();
        }
        sign
    };
    let first = part(&mut rest)?;
    let sign = between(&mut rest)?;
    let second = part(&mut rest)?;
    let other_sign = between(&mut rest)?;
    let third = part(&mut rest)?;
    use DateOrder::{DayMonthYear, MonthDayYear, YearMonthDay};
    let (numbers, orders) = match (first, second, third) {
        (Part::Number(d1, a), Part::Number(d2, b), Part::Number(d3, c)) => {
            if sign != other_sign || !b"-/.".contains(&sign) || d2 > 2 {
                return None;
            }
            let orders = match (d1, d3) {
                (4, 1 | 2) => Orders::only(YearMonthDay),
                // Wherever dates are written with points and the year last, the day comes first.
                (1 | 2, 4 | 2) if sign == b'.' => Orders::only(DayMonthYear),
                (1 | 2, 4) => Orders(DayMonthYear.bit() | MonthDayYear.bit()),
                (2, 1) => Orders::only(YearMonthDay),
                (1, 2) => Orders(DayMonthYear.bit() | MonthDayYear.bit()),
                (2, 2) => Orders::ANY,
                _ => return None,
            };
            ([a, b, c], orders)
        }
        (Part::Number(1 | 2, a), Part::Month(b), Part::Number(2 | 4, c)) => {
            ([a, b, c], Orders::only(DayMonthYear))
        }
        (Part::Number(4, a), Part::Month(b), Part::Number(1 | 2, c)) => {
            ([a, b, c], Orders::only(YearMonthDay))
        }
        (Part::Month(a), Part::Number(1 | 2, b), Part::Number(4, c)) => {
            ([a, b, c], Orders::only(MonthDayYear))
        }
        _ => return None,
    };
    Some((WrittenDate::new(numbers, orders), rest))
}

/// `20260713`, from 1900 to 2100: else any long number would be a date.
fn eight_digits(rest: Rest<'_>) -> Option<(WrittenDate, Rest<'_>)> {
    let mut rest = rest;
    let (digits, value) = rest.number(8)?;
    if digits != 8 || !(19_000_101..21_010_000).contains(&value) {
        return None;
    }
    let number = |value: i32| i16::try_from(value).ok();
    let numbers = [
        number(value / 10_000)?,
        number(value / 100 % 100)?,
        number(value % 100)?,
    ];
    let date = WrittenDate::new(numbers, Orders::only(DateOrder::YearMonthDay));
    (!date.orders.is_empty()).then_some((date, rest))
}

/// A time of day. With `points` it may be written `7.30`.
fn clock(rest: Rest<'_>, points: bool) -> Option<(SignedDuration, Rest<'_>)> {
    let mut rest = rest;
    let signs: &[u8] = if points { b":." } else { b":" };
    let (_, mut hour) = rest.number(2)?;
    let sign = rest.sign(signs)?;
    let (digits, minute) = rest.number(2)?;
    if digits != 2 || minute > 59 {
        return None;
    }
    let (mut second, mut nanos) = (0, 0);
    if rest.sign(&[sign]).is_some() {
        let (digits, value) = rest.number(2)?;
        if digits != 2 || value > 59 {
            return None;
        }
        second = value;
        if rest.sign(b".,").is_some() {
            let digits = rest.take(u8::is_ascii_digit);
            if digits.is_empty() {
                return None;
            }
            let padded = digits
                .iter()
                .copied()
                .chain(std::iter::repeat(b'0'))
                .take(9);
            nanos = padded.fold(0, |n, d| 10 * n + i32::from(d - b'0'));
        }
    }
    let mut after = rest;
    after.blanks();
    if let Some(half) = half_of_day(&mut after) {
        if !(1..=12).contains(&hour) {
            return None;
        }
        hour = hour % 12 + half;
        rest = after;
    }
    let clock = SignedDuration::new(i64::from(3600 * hour + 60 * minute + second), nanos);
    (clock <= SignedDuration::from_hours(24)).then_some((clock, rest))
}

/// `AM`, `p.m.`: the hours that it adds.
fn half_of_day(rest: &mut Rest<'_>) -> Option<i32> {
    let letters: Vec<u8> = rest
        .take(|b| b.is_ascii_alphabetic() || *b == b'.')
        .iter()
        .filter(|b| **b != b'.')
        .map(u8::to_ascii_lowercase)
        .collect();
    match letters.as_slice() {
        b"am" => Some(0),
        b"pm" => Some(12),
        _ => None,
    }
}

/// What follows a time of day, if it says of which clock it is; it must reach to the end.
fn zone(rest: Rest<'_>) -> Option<Zone> {
    let mut rest = rest;
    let word = rest.take(u8::is_ascii_alphabetic);
    let is_utc = |word: &[u8]| {
        [&b"z"[..], b"utc", b"gmt"]
            .iter()
            .any(|utc| word.eq_ignore_ascii_case(utc))
    };
    let mut found = match word {
        [] => None,
        word if is_utc(word) => Some(Zone::Offset(0)),
        word if word.len() >= 2 => Some(Zone::Named),
        _ => return None,
    };
    if let Some(sign) = rest.sign(b"+-").filter(|_| found != Some(Zone::Named)) {
        let (digits, value) = rest.number(4)?;
        let (hours, minutes) = match digits {
            1 | 2 if rest.sign(b":").is_some() => (value, rest.number(2)?.1),
            1 | 2 => (value, 0),
            4 => (value / 100, value % 100),
            _ => return None,
        };
        if hours > 14 || minutes > 59 {
            return None;
        }
        let ahead_s = 3600 * hours + 60 * minutes;
        found = Some(Zone::Offset(if sign == b'-' { -ahead_s } else { ahead_s }));
    }
    if rest.sign(b"[").is_some() {
        let name = rest.take(|b| *b != b']');
        rest.sign(b"]")?;
        // An offset before it has said all that is needed.
        found = found.or(Some(if is_utc(name) {
            Zone::Offset(0)
        } else {
            Zone::Named
        }));
    }
    rest.0.is_empty().then_some(found?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use DateOrder::{DayMonthYear, MonthDayYear, YearMonthDay};
    use jiff::civil::datetime;

    #[test]
    fn dates_and_times_are_read_as_they_are_written() {
        let seven = datetime(2026, 7, 13, 7, 0, 0, 0);
        for (text, order) in [
            ("2026-07-13T07:00", YearMonthDay),
            ("2026-07-13 07:00:00", YearMonthDay),
            ("2026/07/13 7:00", YearMonthDay),
            ("2026.07.13 07:00:00.000", YearMonthDay),
            ("20260713 07:00", YearMonthDay),
            ("20260713T07:00:00", YearMonthDay),
            ("13.07.2026 07:00", DayMonthYear),
            ("13.07.2026, 07:00", DayMonthYear),
            ("13.07.2026 07.00", DayMonthYear),
            ("13.7.26 7:00", DayMonthYear),
            ("07/13/2026 07:00:00 AM", MonthDayYear),
            ("7/13/26 7:00 a.m.", MonthDayYear),
            ("13/07/2026 07:00:00,0", DayMonthYear),
            ("13-Jul-2026 07:00", DayMonthYear),
            ("13 July 2026 07:00", DayMonthYear),
            ("Jul 13, 2026 07:00 am", MonthDayYear),
        ] {
            let found = written(text).unwrap_or_else(|| panic!("{text}"));
            assert_eq!(found.date.unwrap().orders.single(), Some(order), "{text}");
            assert_eq!(found.moment(order), Some(seven), "{text}");
            assert_eq!(found.zone, None);
        }
        let at = |text: &str| written(text).unwrap().moment(YearMonthDay).unwrap();
        assert_eq!(at("2026-07-13"), datetime(2026, 7, 13, 0, 0, 0, 0));
        assert_eq!(at("2026-07-13 24:00"), datetime(2026, 7, 14, 0, 0, 0, 0));
        assert_eq!(
            at("2026-07-13 12:30 AM"),
            datetime(2026, 7, 13, 0, 30, 0, 0)
        );
        assert_eq!(
            at("2026-07-13 12:30 PM"),
            datetime(2026, 7, 13, 12, 30, 0, 0)
        );
        let fraction = at("2026-07-13 07:00:00.25");
        assert_eq!(fraction.subsec_nanosecond(), 250_000_000);
    }

    #[test]
    fn what_a_date_can_mean_is_told() {
        let orders = |text: &str| {
            let orders = written(text).unwrap().date.unwrap().orders;
            orders.iter().collect::<Vec<_>>()
        };
        assert_eq!(orders("03/04/2026"), [DayMonthYear, MonthDayYear]);
        assert_eq!(orders("13/04/2026"), [DayMonthYear]);
        assert_eq!(
            orders("03-04-26"),
            [YearMonthDay, DayMonthYear, MonthDayYear]
        );
        assert_eq!(orders("26-07-13"), [YearMonthDay, DayMonthYear]);
        assert_eq!(orders("31/07/26"), [YearMonthDay, DayMonthYear]);
        assert_eq!(orders("2026-02-30"), []);
    }

    #[test]
    fn offsets_and_zones_are_seen() {
        for (text, zone) in [
            ("2026-07-13T07:00Z", Zone::Offset(0)),
            ("2026-07-13T07:00[UTC]", Zone::Offset(0)),
            ("2026-07-13T07:00 UTC", Zone::Offset(0)),
            ("2026-07-13T07:00+02:00", Zone::Offset(7200)),
            ("2026-07-13 07:00:00 -0530", Zone::Offset(-19_800)),
            ("2026-07-13T07:00 GMT+2", Zone::Offset(7200)),
            (
                "2026-07-13T07:00+02:00[Europe/Orvelsby]",
                Zone::Offset(7200),
            ),
            ("2026-07-13T07:00[Europe/Orvelsby]", Zone::Named),
            ("13.07.2026 07:00 MESZ", Zone::Named),
            ("07:00+02:00", Zone::Offset(7200)),
        ] {
            assert_eq!(written(text).map(|w| w.zone), Some(Some(zone)), "{text}");
        }
        assert_eq!(utc_offset_s("+02:00"), Some(7200));
        assert_eq!(utc_offset_s("Z"), Some(0));
        for text in ["2", "+25:00", "+2:0x", "", "summer"] {
            assert_eq!(utc_offset_s(text), None, "{text}");
        }
    }

    #[test]
    fn what_is_no_time_is_none() {
        for text in [
            "",
            "noon",
            "24.5",
            "24,5",
            "1783926000",
            "12",
            "13.07",
            "7:0",
            "25:00",
            "07:60",
            "24:01",
            "2026-07-13T",
            "2026-07-13 07:00 x",
            "13:00 PM",
            "2026-07-13T07:00,24.5",
            "1.2.3.4",
            "12.5.",
            "2026-07-13-07:00",
            "07/13-2026",
        ] {
            assert_eq!(written(text), None, "{text}");
        }
    }
}

//! The clock on the shop's wall, and how a file's times get onto it.
//!
//! A file counts on a clock that never jumps: UTC, or a place's standard time. A shop's clock may be put forward
//! in spring. A run's start is moved to the file's clock once, and from there on seconds are counted: a run
//! that is under way when clocks change is as long as before.

use super::times::{later, utc_offset_s};
use jiff::civil::DateTime;
use jiff::tz::{Offset, TimeZone};

/// The clock by which a shop's starts are told.
#[derive(Debug, Clone, PartialEq)]
pub enum ShopClock {
    /// So many seconds ahead of UTC all year.
    Ahead(i32),
    /// A time zone with its summer time, from the table that comes with the program.
    Zone(TimeZone),
}

impl ShopClock {
    /// The clock of a text: an offset such as `+02:00`, or the name of a time zone such as `Europe/Paris`.
    ///
    /// # Errors
    /// What is wrong and what to write, in words.
    pub fn parse(text: &str) -> Result<Self, String> {
        let text = text.trim();
        if let Some(ahead_s) = utc_offset_s(text) {
            return Ok(Self::Ahead(ahead_s));
        }
        // Abbreviations mean several zones, or half a year of one.
        let named = text.contains('/').then(|| TimeZone::get(text).ok());
        named.flatten().map(Self::Zone).ok_or_else(|| {
            format!("\"{text}\" is no time zone: write how far the clock is ahead of UTC, such as \"+02:00\", or a zone's name, such as \"Europe/Paris\"")
        })
    }

    /// How it is told: `UTC+02:00`, or the zone's name.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Ahead(ahead_s) => offset_words(*ahead_s),
            Self::Zone(zone) => zone
                .iana_name()
                .unwrap_or("a zone without a name")
                .to_owned(),
        }
    }
}

/// `UTC`, `UTC+02:00`, `UTC-05:00`.
#[must_use]
pub fn offset_words(ahead_s: i32) -> String {
    if ahead_s == 0 {
        return "UTC".to_owned();
    }
    format!("UTC{}", offset_text(ahead_s))
}

/// `+02:00`.
pub(super) fn offset_text(ahead_s: i32) -> String {
    let sign = if ahead_s < 0 { '-' } else { '+' };
    let minutes = ahead_s.abs() / 60;
    format!("{sign}{:02}:{:02}", minutes / 60, minutes % 60)
}

/// How a file's clock and the shop's lie to each other.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) enum Clock {
    /// They are the same.
    #[default]
    Same,
    /// The shop's, and how far the file's is ahead of UTC, s.
    Shop(ShopClock, i32),
}

impl Clock {
    /// Of a table's rows, which are put on the shop's clock while they are read, or on UTC where that one jumps.
    pub fn of_rows(shop: Option<&ShopClock>) -> Self {
        match shop {
            Some(zone @ ShopClock::Zone(_)) => Self::Shop(zone.clone(), 0),
            Some(ShopClock::Ahead(_)) | None => Self::Same,
        }
    }

    /// A time of the shop on the file's clock. Of a time that comes twice the earlier is meant; one that is
    /// left out when clocks are put forward is as long after that as it says.
    pub fn of_file(&self, shop: DateTime) -> DateTime {
        let moved = match self {
            Self::Same => None,
            Self::Shop(ShopClock::Ahead(ahead_s), file_s) => later(shop, file_s - ahead_s),
            Self::Shop(ShopClock::Zone(zone), file_s) => zone
                .to_ambiguous_timestamp(shop)
                .compatible()
                .ok()
                .and_then(|moment| Some(Offset::from_seconds(*file_s).ok()?.to_datetime(moment))),
        };
        moved.unwrap_or(shop)
    }

    /// A time of the file on the shop's clock.
    pub fn of_shop(&self, file: DateTime) -> DateTime {
        let moved = match self {
            Self::Same => None,
            Self::Shop(ShopClock::Ahead(ahead_s), file_s) => later(file, ahead_s - file_s),
            Self::Shop(ShopClock::Zone(zone), file_s) => Offset::from_seconds(*file_s)
                .and_then(|offset| offset.to_timestamp(file))
                .ok()
                .map(|moment| zone.to_datetime(moment)),
        };
        moved.unwrap_or(file)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::datetime;

    #[test]
    fn clocks_are_read_as_offsets_and_names() {
        assert_eq!(ShopClock::parse("+02:00"), Ok(ShopClock::Ahead(7_200)));
        assert_eq!(ShopClock::parse("Z"), Ok(ShopClock::Ahead(0)));
        let paris = ShopClock::parse("Europe/Paris").expect("a zone");
        assert_eq!(paris.words(), "Europe/Paris");
        assert_eq!(ShopClock::Ahead(-18_000).words(), "UTC-05:00");
        for text in ["", "CEST", "summer", "Europe/Orvelsby", "25 h"] {
            let told = ShopClock::parse(text).expect_err(text);
            assert!(told.contains("\"+02:00\""), "{told}");
        }
    }

    /// Summer time in Paris in 2016: from 27 March, 01:00 UTC, to 30 October, 01:00 UTC.
    #[test]
    fn summer_time_is_in_force_from_march_to_october() {
        let clock = Clock::Shop(ShopClock::parse("Europe/Paris").expect("a zone"), 0);
        for (shop, utc) in [
            (
                datetime(2016, 1, 10, 7, 0, 0, 0),
                datetime(2016, 1, 10, 6, 0, 0, 0),
            ),
            (
                datetime(2016, 3, 27, 1, 59, 0, 0),
                datetime(2016, 3, 27, 0, 59, 0, 0),
            ),
            (
                datetime(2016, 3, 27, 3, 0, 0, 0),
                datetime(2016, 3, 27, 1, 0, 0, 0),
            ),
            (
                datetime(2016, 7, 10, 7, 0, 0, 0),
                datetime(2016, 7, 10, 5, 0, 0, 0),
            ),
            // Comes twice; the earlier is summer time's.
            (
                datetime(2016, 10, 30, 2, 30, 0, 0),
                datetime(2016, 10, 30, 0, 30, 0, 0),
            ),
            (
                datetime(2016, 10, 30, 3, 0, 0, 0),
                datetime(2016, 10, 30, 2, 0, 0, 0),
            ),
        ] {
            assert_eq!(clock.of_file(shop), utc, "{shop}");
            assert_eq!(clock.of_shop(utc), shop, "{utc}");
        }
        // Left out when clocks were put forward: half an hour after two is half past three.
        let left_out = datetime(2016, 3, 27, 2, 30, 0, 0);
        assert_eq!(clock.of_file(left_out), datetime(2016, 3, 27, 1, 30, 0, 0));
    }

    #[test]
    fn fixed_offsets_are_the_same_all_year() {
        // A place's standard time is five hours behind UTC, its summer time four.
        let clock = Clock::Shop(ShopClock::Ahead(-4 * 3600), -5 * 3600);
        let shop = datetime(2026, 7, 13, 7, 0, 0, 0);
        assert_eq!(clock.of_file(shop), datetime(2026, 7, 13, 6, 0, 0, 0));
        assert_eq!(clock.of_shop(clock.of_file(shop)), shop);
        assert_eq!(Clock::Same.of_file(shop), shop);
    }
}

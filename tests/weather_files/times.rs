//! When an hour's temperature holds: labels, years, leap days, clocks.

use dogdays::weather::{Rules, ShopClock};
use jiff::civil::datetime;
use std::fmt::Write as _;

use crate::made::{
    air_is, epw, follows_the_hours, isd_lite, looked_at, made, made_degC, read, read_as, tmy3,
};

#[test]
fn typical_years_say_how_warm_it_is_at_the_end_of_each_labelled_hour() {
    for (name, text) in [("a.epw", epw(false)), ("a.csv", tmy3())] {
        let series = read(name, &text);
        assert!(series.is_typical_year());
        follows_the_hours(&series, 2023, made);
    }
}

/// Pinned by hand from the raw rows.
#[test]
fn rows_of_the_cut_outs_are_where_they_belong() {
    let series = read("a.csv", &tmy3());
    // 01/01/1988,01:00 10.0; 02/28/1996,23:00 10.4, 24:00 9.2; 03/01/1990,01:00 8.0; 07/08 at 15:00; 12/31/1980,24:00 2.2.
    for (at, degC) in [
        (datetime(2026, 1, 1, 1, 0, 0, 0), 10.0),
        (datetime(2026, 2, 28, 23, 0, 0, 0), 10.4),
        (datetime(2026, 3, 1, 0, 0, 0, 0), 9.2),
        (datetime(2026, 3, 1, 1, 0, 0, 0), 8.0),
        (datetime(2026, 12, 31, 23, 0, 0, 0), 2.8),
        (datetime(2027, 1, 1, 0, 0, 0, 0), 2.2),
        // The typical year has no 29 February: a start on it has 1 March's weather.
        (datetime(2028, 2, 29, 1, 0, 0, 0), 8.0),
    ] {
        air_is(&series, at, degC);
    }
    let series = read("a.epw", &epw(false));
    // 2018,1,1,1 2.04; 2007,2,28,24 8.87; 2009,3,1,1 8.38; 2011,7,18,15 25.95; 2016,12,31,24 2.10.
    for (at, degC) in [
        (datetime(2026, 1, 1, 1, 0, 0, 0), 2.04),
        (datetime(2026, 3, 1, 0, 0, 0, 0), 8.87),
        (datetime(2026, 3, 1, 1, 0, 0, 0), 8.38),
        (datetime(2026, 7, 18, 15, 0, 0, 0), 25.95),
        (datetime(2027, 1, 1, 0, 0, 0, 0), 2.10),
    ] {
        air_is(&series, at, degC);
    }
    let series = read("a.txt", &isd_lite());
    for (at, degC) in [
        (datetime(2016, 1, 1, 1, 0, 0, 0), -2.8),
        (datetime(2016, 2, 5, 15, 0, 0, 0), -2.2),
        (datetime(2016, 7, 28, 22, 0, 0, 0), 38.3),
        (datetime(2016, 7, 29, 0, 0, 0, 0), 36.7),
    ] {
        air_is(&series, at, degC);
    }
    assert!(!series.is_typical_year());
    assert_eq!(
        series.span(),
        (
            datetime(2016, 1, 1, 0, 0, 0, 0),
            datetime(2016, 12, 31, 23, 0, 0, 0)
        )
    );
}

/// From 30 December into January: the last hours of the year, then its first.
#[test]
fn a_typical_year_goes_on_in_january() {
    let series = read("a.epw", &epw(false));
    let begin = datetime(2026, 12, 30, 12, 0, 0, 0);
    for hours in 0..=84 {
        let at = begin.saturating_add(jiff::Span::new().hours(hours));
        let day = (at.date().day_of_year() - 1) as usize;
        let hour = at.hour() as usize;
        let degC = match (at.month(), at.day(), hour) {
            (1, 1, 0) | (12, 31, 22 | 23) | (1, 1, 1..=3) => continue,
            (_, _, 0) => made_degC(day - 1, 24),
            _ => made_degC(day, hour),
        };
        air_is(&series, at, degC);
    }
    let (first, last) = series.span();
    assert_eq!(last.duration_since(first).as_hours(), 8_760);
    // A real year ends.
    let real = read("a.txt", &isd_lite());
    assert!(
        real.temperature_K(datetime(2016, 12, 31, 22, 30, 0, 0))
            .is_some()
    );
    assert_eq!(
        real.temperature_K(datetime(2016, 12, 31, 23, 30, 0, 0)),
        None
    );
    assert_eq!(real.temperature_K(datetime(2017, 7, 1, 12, 0, 0, 0)), None);
    // Unless it is asked to.
    let wraps = Rules {
        wraps: true,
        ..looked_at()
    };
    let round = read_as("a.txt", isd_lite().as_bytes(), &wraps).expect("read");
    assert!(round.is_typical_year());
    air_is(
        &round,
        datetime(2017, 7, 1, 12, 0, 0, 0),
        made_degC(182, 12),
    );
    let seam = 0.5 * (made_degC(365, 23) + made_degC(0, 0));
    air_is(&round, datetime(2026, 12, 31, 23, 30, 0, 0), seam);
    let half: String = isd_lite().split_inclusive('\n').take(4_000).collect();
    let told = read_as("a.txt", half.as_bytes(), &wraps).expect_err("refused");
    assert!(told.to_string().contains("no whole year"), "{told}");
}

#[test]
fn leap_years_have_their_day() {
    let series = read("a.epw", &epw(true));
    let (first, last) = series.span();
    assert_eq!(last.duration_since(first).as_hours(), 8_784);
    air_is(
        &series,
        datetime(2028, 2, 29, 12, 0, 0, 0),
        made_degC(59, 12),
    );
    // Of a year without it the run passes through the weather's 29 February.
    air_is(
        &series,
        datetime(2026, 3, 1, 12, 0, 0, 0),
        made_degC(60, 12),
    );
    let real = read("a.txt", &isd_lite());
    air_is(&real, datetime(2016, 2, 29, 12, 0, 0, 0), made_degC(59, 12));
}

#[test]
fn clocks_of_file_and_shop_are_told_apart() {
    let of = |clock: &str| Rules {
        clock: Some(ShopClock::parse(clock).expect("a clock")),
        ..Rules::default()
    };
    // ISD-Lite is in UTC: the hour 22 of 28 July is 15:00 by summer time on the Pacific coast.
    for (clock, at) in [
        ("Z", datetime(2016, 7, 28, 22, 0, 0, 0)),
        ("-07:00", datetime(2016, 7, 28, 15, 0, 0, 0)),
        ("America/Los_Angeles", datetime(2016, 7, 28, 15, 0, 0, 0)),
    ] {
        let series = read_as("a.txt", isd_lite().as_bytes(), &of(clock)).expect("read");
        air_is(&series, at, 38.3);
    }
    let zone = read_as("a.txt", isd_lite().as_bytes(), &of("America/Los_Angeles")).expect("read");
    // In winter eight hours behind UTC.
    air_is(&zone, datetime(2015, 12, 31, 17, 0, 0, 0), -2.8);
    let without = read_as("a.txt", isd_lite().as_bytes(), &Rules::default()).expect_err("no clock");
    assert!(without.to_string().contains("--time-zone"), "{without}");
    // The typical year of a place five hours behind UTC: in July the shop's clock is an hour ahead of it.
    let series = read_as("a.csv", tmy3().as_bytes(), &of("America/New_York")).expect("read");
    air_is(
        &series,
        datetime(2026, 7, 20, 15, 0, 0, 0),
        made_degC(200, 14),
    );
    air_is(
        &series,
        datetime(2026, 1, 20, 15, 0, 0, 0),
        made_degC(19, 15),
    );
    let plain = read("a.csv", &tmy3());
    air_is(
        &plain,
        datetime(2026, 7, 20, 15, 0, 0, 0),
        made_degC(200, 15),
    );
}

/// A logger on the shop's clock writes no 02:00 on the last Sunday of March and two of them in October.
#[test]
fn a_logger_on_the_wall_clock_is_followed_through_both_changes() {
    let paris = Rules {
        clock: Some(ShopClock::parse("Europe/Paris").expect("a zone")),
        ..Rules::default()
    };
    let zone = jiff::tz::TimeZone::get("Europe/Paris").expect("a zone");
    for begin in [
        datetime(2026, 3, 28, 0, 0, 0, 0),
        datetime(2026, 10, 24, 0, 0, 0, 0),
    ] {
        let first = zone.to_timestamp(begin).expect("a moment");
        let mut text = "time,temperature_degC\n".to_owned();
        for hour in 0..72 {
            let at = first + jiff::SignedDuration::from_hours(hour);
            let wall = zone.to_datetime(at).strftime("%Y-%m-%dT%H:%M");
            writeln!(text, "{wall},{:.1}", 10.0 + 0.1 * hour as f64).expect("string");
        }
        let series = read_as("a.csv", text.as_bytes(), &paris).unwrap_or_else(|p| panic!("{p}"));
        assert!(series.gaps().is_empty());
        // 24 h after noon of the day before the change it is an hour earlier or later by the clock.
        let noon = begin.date().tomorrow().expect("a day").at(12, 0, 0, 0);
        let hours = zone
            .to_timestamp(noon)
            .expect("a moment")
            .duration_since(first)
            .as_hours();
        assert!(hours == 35 || hours == 37, "{hours}");
        air_is(&series, noon, 10.0 + 0.1 * hours as f64);
        // Without the zone the second 02:00 is a row out of order, and the first day's missing hour a small gap.
        let plain = read_as("a.csv", text.as_bytes(), &Rules::default());
        assert_eq!(plain.is_ok(), begin.month() == 3, "{begin}");
    }
}

//! A room from a forecast: highs and lows by day.

use super::{GOOD, problems, read, refused, run, says};
use std::fmt::Write as _;

/// The good run (100 h from 13 July, 07:00, to the 17th, 11:00) with these days in place of its temperature.
fn with_days(days: &str) -> String {
    GOOD.replace("[room]\ntemperature = \"31 degC\"\n", days)
}

/// Days with highs from 30 degC on and lows of 20 degC, dated from a day of July on, or not at all.
fn days(count: usize, from: Option<usize>) -> String {
    let mut text = String::new();
    for k in 0..count {
        let date = from.map_or(String::new(), |from| {
            format!("date = \"2026-07-{}\"\n", from + k)
        });
        writeln!(
            text,
            "[[room.day]]\n{date}high = \"{} degC\"\nlow = \"20 degC\"",
            30 + k
        )
        .expect("string");
    }
    text
}

#[test]
fn highs_and_lows_make_the_weather() {
    let loaded = run(&with_days(&days(5, None)));
    let weather = &loaded.run.room.weather;
    // 14:00 of the 13th and of the 16th; 05:00 of the 14th.
    for (hour, degC) in [(7.0, 30.0), (79.0, 33.0), (22.0, 20.0)] {
        let got = weather.at(hour * 3600.0).0 - 273.15;
        assert!((degC..degC + 0.021).contains(&got), "{hour} h: {got}");
    }
    // Until midnight of the last day, for starts that are later.
    assert!((weather.known_until_s() / 3600.0 - 113.0).abs() < 1e-6);
    assert_eq!(run(&with_days(&days(5, Some(13)))).run, loaded.run);
    // More days on either side change the nights between, not the days.
    assert!(read(&with_days(&days(9, Some(11)))).is_ok());
    let warmer = run(&with_days(
        &("[room]\nshift = \"2 K\"\n".to_owned() + &days(5, None)),
    ));
    let shifted = warmer.run.room.weather.at(7.0 * 3600.0).0 - weather.at(7.0 * 3600.0).0;
    assert!((shifted - 2.0).abs() < 1e-9);
    let dates = loaded
        .provenance
        .iter()
        .filter(|s| s.key.starts_with("room.day."));
    assert_eq!(dates.count(), 10, "high and low of five days");
}

/// A start that a study moves past midnight meets the weather of then.
#[test]
fn days_stay_where_they_are_when_a_run_starts_later() {
    let loaded = run(&with_days(&days(6, None)));
    let mut inputs = loaded.inputs.clone();
    inputs.start_later(20);
    let later = inputs.to_run().expect("a run").room.weather;
    for h in [0.0, 10.0, 30.0, 80.0] {
        let (then, now) = (
            loaded.run.room.weather.at((h + 20.0) * 3600.0),
            later.at(h * 3600.0),
        );
        // The night before the first day is not known to the later run, and thinning begins anew.
        assert!((then.0 - now.0).abs() < 0.021, "{h} h: {then:?} {now:?}");
    }
}

#[test]
fn days_that_do_not_cover_the_run_are_named() {
    refused(
        &with_days(&days(3, None)),
        (13, 1),
        &[
            "no [[room.day]] for 2026-07-16, 2026-07-17",
            "from 2026-07-13 to 2026-07-17",
        ],
    );
    let gap = with_days(&days(5, Some(13)).replace("2026-07-15", "2026-07-25"));
    says(&problems(&gap)[0], &["does not come after"]);
    let found = problems(&with_days(&days(8, Some(14))));
    says(&found[0], &["no [[room.day]] for 2026-07-13"]);
    let found = problems(&with_days("[room]\nday = []\n"));
    says(&found[0], &["no days", "[[room.day]]"]);
    // A run that ends at midnight needs no day more.
    let until_midnight = with_days(&days(4, None)).replace("100 h", "89 h");
    assert!(read(&until_midnight).is_ok());
}

#[test]
fn days_that_make_no_sense_are_shown() {
    let good = with_days(&days(5, Some(13)));
    let second = |from: &str, to: &str| good.replacen(from, to, 1);
    refused(
        &second(
            "date = \"2026-07-14\"\nhigh = \"31 degC\"\nlow = \"20 degC\"",
            "date = \"2026-07-14\"\nhigh = \"21 degC\"\nlow = \"30 degC\"",
        ),
        (20, 7),
        &["low lies above its high"],
    );
    refused(
        &second("date = \"2026-07-14\"", "date = \"2026-07-13\""),
        (18, 8),
        &["does not come after", "in order"],
    );
    refused(
        &second("date = \"2026-07-14\"\n", ""),
        (17, 1),
        &["no date and others have"],
    );
    refused(
        &second("2026-07-14", "14 July"),
        (18, 8),
        &["\"14 July\" is no date", "2026-07-14"],
    );
    refused(
        &second("low = \"20 degC\"\n", ""),
        (13, 1),
        &["needs `low`"],
    );
    let both = good.replacen(
        "[[room.day]]",
        "[room]\ntemperature = \"31 degC\"\n[[room.day]]",
        1,
    );
    let found = problems(&both);
    says(
        &found[0],
        &["more than once", "temperature, day", "[[room.day]]"],
    );
}

/// Another kind of weather in a variant replaces the days.
#[test]
fn a_variant_may_have_other_weather() {
    let text = with_days(&days(5, None))
        + "[[compare]]\nname = \"steady\"\nroom.temperature = \"30 degC\"\n";
    let loaded = run(&text);
    assert_eq!(
        loaded.compare[0].run.room.weather,
        crate::course::Course::Constant(303.15)
    );
}

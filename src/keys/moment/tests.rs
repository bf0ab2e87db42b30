//! What people write for a moment, and when it is. Dates by the calendar: 13 July 2026 is a Monday.

use super::*;
use jiff::civil::datetime;

const HOUR_S: f64 = 3_600.0;

fn span(hours: f64) -> Span {
    Span {
        start: datetime(2026, 7, 13, 7, 0, 0, 0),
        duration_s: hours * HOUR_S,
    }
}

fn time(text: &str) -> TimeOfDay {
    TimeOfDay::parse(text).unwrap_or_else(|| panic!("{text} is a time of day"))
}

#[test]
fn times_of_day_are_read_as_clocks_show_them() {
    for (text, seconds) in [
        ("14:00", 50_400),
        ("9:05", 32_700),
        ("09:05:30", 32_730),
        ("2 pm", 50_400),
        ("2:30PM", 52_200),
        ("12 am", 0),
        ("12:15 pm", 44_100),
        ("00:00", 0),
        ("24:00", 86_400),
    ] {
        assert_eq!(TimeOfDay::parse(text), Some(TimeOfDay(seconds)), "{text}");
    }
    for text in [
        "", "14", "25:00", "24:01", "14:60", "13 pm", "0 am", "14:", ":30", "1e1:00", "+1:00",
        "014:00", "pm", "1:2:3:4",
    ] {
        assert_eq!(TimeOfDay::parse(text), None, "{text}");
    }
    assert_eq!(time("9:05").to_string(), "09:05");
    assert_eq!(time("09:05:30").to_string(), "09:05:30");
}

#[test]
fn moments_are_read_in_every_order_and_written_one_way() {
    for (texts, written) in [
        (
            &[
                "Wed 14:00",
                "wednesday, 14:00",
                "14:00 on Wed.",
                "Wed at 2 pm",
            ][..],
            "Wed 14:00",
        ),
        (
            &[
                "2026-07-15 14:00",
                "2026-07-15T14:00:00",
                "Wed 2026-07-15 14:00",
            ],
            "2026-07-15 14:00",
        ),
        (&["2026-07-14 24:00"], "2026-07-15 00:00"),
        (&["day 3 at 14:00", "Day 3 14:00"], "day 3 at 14:00"),
        (&["14:00", "2:00pm"], "14:00"),
    ] {
        for text in texts {
            assert!(Moment::is_meant(text), "{text}");
            let moment = Moment::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"));
            assert_eq!(moment.to_string(), written, "{text}");
            // What is written is read as the same.
            assert_eq!(Moment::parse(written).as_ref(), Ok(&moment), "{text}");
        }
    }
    for text in ["31 h", "1 day 3 h", "90 min", "-1 h", "31", ""] {
        assert!(!Moment::is_meant(text), "{text}");
    }
}

#[test]
fn what_is_no_moment_says_why() {
    for (text, why) in [
        ("Wed", "does not say the time of day"),
        ("2026-07-15", "does not say the time of day"),
        ("Wed 14", "\"14\" is neither"),
        ("Wendsday 14:00", "\"wendsday\" is neither"),
        ("2026-02-30 14:00", "no such day"),
        ("2026-07-15 14:00+02:00", "time zone"),
        ("Tue 2026-07-15 14:00", "2026-07-15 is not a Tuesday"),
        ("Wed Thu 14:00", "more than once"),
        ("14:00 to 20:00", "\"to\" is neither"),
        ("day 0 14:00", "neither"),
        ("day 14:00", "neither"),
    ] {
        let error = Moment::parse(text).expect_err(text).to_string();
        assert!(error.contains(why), "{text}: {error}");
    }
}

/// Hours counted by hand from Monday 07:00.
#[test]
fn a_moment_is_found_within_its_run() {
    for (text, hours) in [
        ("Mon 07:00", 0.0),
        ("Wed 14:00", 55.0),
        ("Tue 24:00", 41.0),
        ("day 1 at 12:30", 5.5),
        ("day 3 at 14:00", 55.0),
        ("2026-07-15 14:00", 55.0),
        ("Sat 08:00", 121.0),
    ] {
        let moment = Moment::parse(text).expect("a moment");
        assert_eq!(moment.within(&span(121.0)), Ok(hours * HOUR_S), "{text}");
    }
    // Alone, a time of day is a moment of a run that has it once.
    assert_eq!(
        Moment::At(time("14:00")).within(&span(20.0)),
        Ok(7.0 * HOUR_S)
    );
    assert_eq!(
        Moment::At(time("06:00")).within(&span(24.0)),
        Ok(23.0 * HOUR_S)
    );
}

#[test]
fn what_is_no_one_moment_of_its_run_says_so() {
    let missed = |text: &str, hours: f64| {
        let moment = Moment::parse(text).expect("a moment");
        moment.within(&span(hours)).expect_err(text)
    };
    let at = |day: i8, hour: i8| datetime(2026, 7, day, hour, 0, 0, 0);
    assert_eq!(missed("2026-07-13 06:00", 121.0), Missed::Before(at(13, 6)));
    assert_eq!(missed("day 1 at 06:00", 121.0), Missed::Before(at(13, 6)));
    assert_eq!(missed("2026-07-18 09:00", 121.0), Missed::After(at(18, 9)));
    assert_eq!(missed("Sun 14:00", 121.0), Missed::Never);
    // Ten days have two Mondays, and one Monday morning only from the second on.
    let twice = vec![at(13, 14), at(20, 14)];
    assert_eq!(missed("Mon 14:00", 240.0), Missed::Repeats(twice));
    let moment = Moment::parse("Mon 06:00").expect("a moment");
    assert_eq!(moment.within(&span(240.0)), Ok(167.0 * HOUR_S));
    let thrice = vec![at(13, 14), at(14, 14), at(15, 14)];
    assert_eq!(missed("14:00", 60.0), Missed::Repeats(thrice));
    assert_eq!(missed("06:00", 20.0), Missed::Never);
}

/// An end is the next of its kind, over midnight and over the week's end.
#[test]
fn an_end_is_the_next_one_after_its_begin() {
    let after = |text: &str, from_h: f64| {
        let moment = Moment::parse(text).expect("a moment");
        moment.after(from_h * HOUR_S, &span(400.0)) / HOUR_S
    };
    assert_eq!(after("20:00", 5.0), 13.0);
    assert_eq!(after("06:00", 15.0), 23.0);
    assert_eq!(after("12:00", 5.0), 29.0, "not at once, but a day later");
    assert_eq!(after("Tue 06:00", 5.0), 23.0);
    // From Wednesday 14:00 on, the next Monday is a week's end away.
    assert_eq!(after("Mon 07:00", 55.0), 168.0);
    assert_eq!(
        after("2026-07-14 07:00", 55.0),
        24.0,
        "a date is where it is"
    );
}

#[test]
fn what_comes_every_day_is_cut_by_the_run() {
    let hours = |from: &str, to: &str, workdays, duration_h| {
        let (from, to) = (time(from), time(to));
        let length_s = (to.seconds() - from.seconds()).rem_euclid(DAY_S);
        let all = span(duration_h).repeated(from, length_s, workdays);
        all.iter()
            .map(|(a, b)| (a / HOUR_S, b / HOUR_S))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        hours("12:00", "20:00", false, 60.0),
        [(5.0, 13.0), (29.0, 37.0), (53.0, 60.0)]
    );
    // Over midnight; the night before the run reaches into none of it, one before a run at night does.
    assert_eq!(
        hours("20:00", "06:00", false, 48.0),
        [(13.0, 23.0), (37.0, 47.0)]
    );
    assert_eq!(
        hours("20:00", "08:00", false, 20.0),
        [(0.0, 1.0), (13.0, 20.0)]
    );
    assert_eq!(hours("20:00", "24:00", false, 24.0), [(13.0, 17.0)]);
    // From Friday evening into Saturday morning, then none until Monday.
    let week = hours("20:00", "06:00", true, 200.0);
    assert_eq!(week.len(), 6);
    assert_eq!((week[4], week[5]), ((109.0, 119.0), (181.0, 191.0)));
    assert_eq!(hours("06:00", "07:00", false, 5.0), []);
}

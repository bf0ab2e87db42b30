use super::*;
use jiff::civil::date;

/// Days of a week whose 13th of July is a Monday (2026), at a time.
fn at(day: i8, hour: i8, minute: i8) -> DateTime {
    date(2026, 7, day).at(hour, minute, 0, 0)
}

#[test]
fn a_shop_is_open_when_its_door_says_so() {
    let hours = Hours::parse("Mon-Fri 08:00-18:00, Sat 09:00-13:00").expect("hours");
    for (time, is_open) in [
        (at(13, 7, 59), false),
        (at(13, 8, 0), true),
        (at(17, 17, 59), true),
        (at(17, 18, 0), false),
        (at(18, 8, 30), false),
        (at(18, 12, 59), true),
        (at(19, 10, 0), false),
    ] {
        assert_eq!(hours.contain(time), is_open, "{time}");
    }
}

/// People write it in many ways; each of these means the same.
#[test]
fn one_meaning_in_many_spellings() {
    let expected =
        Hours::parse("Mon 08:00-12:00, Mon 13:00-17:00, Wed 08:00-12:00, Wed 13:00-17:00");
    let expected = expected.expect("hours");
    for text in [
        "Mon, Wed 08:00-12:00, 13:00-17:00",
        "mon wed 8:00 - 12:00 13:00 – 17:00",
        "Monday and Wednesday: 8 am to 12 pm; 1pm-5pm",
        "Mon 13:00-17:00, Mon 08:00-12:00, Wed 8:00-10:00, Wed 09:00-12:00, 13:00-17:00",
    ] {
        assert_eq!(Hours::parse(text).as_ref(), Ok(&expected), "{text}");
    }
    let all = Hours::parse("00:00-24:00").expect("hours");
    assert_eq!(Hours::parse("daily 00:00-24:00"), Ok(all.clone()));
    assert_eq!(all.within(at(15, 3, 0), 1e6), [(0.0, 1e6)]);
}

/// A night shift of Sunday reaches into Monday, over the end of the week.
#[test]
fn nights_go_past_midnight_and_past_the_week() {
    let hours = Hours::parse("Fri-Sun 22:00-06:00").expect("hours");
    for (time, is_open) in [
        (at(17, 23, 0), true),
        (at(18, 5, 59), true),
        (at(18, 6, 0), false),
        (at(20, 5, 59), true),
        (at(20, 6, 0), false),
        (at(17, 5, 0), false),
    ] {
        assert_eq!(hours.contain(time), is_open, "{time}");
    }
    // From Monday 04:00 on: two hours of Sunday's night, and Friday's from 22:00, 114 h later.
    let found = hours.within(at(13, 4, 0), 120.0 * 3_600.0);
    assert_eq!(found, [(0.0, 7_200.0), (114.0 * 3_600.0, 120.0 * 3_600.0)]);
}

#[test]
fn nonsense_is_named() {
    let said = |text: &str| Hours::parse(text).expect_err(text).to_string();
    for (text, why) in [
        ("Mon-Fri", "\"Mon-Fri\" names days and no times"),
        ("Mon 08:00-18:00, Sat", "names days and no times"),
        ("Mon-Fri 8-18", "\"8-18\" is neither a day nor a range"),
        ("Mo-Fr 08:00-18:00", "\"mo-fr\" is neither"),
        ("Mon 25:00-26:00", "\"25:00-26:00\" is neither"),
        ("Mon 08:00", "\"08:00\" is neither"),
        ("Mon 08:00-08:00", "begins and ends at the same time"),
        ("always", "\"always\" is neither"),
    ] {
        assert!(said(text).contains(why), "{}", said(text));
    }
}

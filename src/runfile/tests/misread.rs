//! Values that could be read as something else than was written: refused, or told.

use super::{plus, refused, run, with};

#[track_caller]
fn hinted(text: &str, words: &[&str]) {
    let loaded = run(text);
    let hints: Vec<_> = loaded.warnings.iter().map(|w| w.render(false)).collect();
    for word in words {
        assert!(
            hints.iter().any(|hint| hint.contains(word)),
            "{word}: {hints:?}"
        );
    }
}

#[test]
fn powers_and_signs_within_are_refused() {
    for (text, words) in [
        ("10^3 W", "\"1000 W\""),
        ("10³ W", "\"1000 W\""),
        ("1.2·10³ W", "\"1200 W\""),
        ("1 000 W", "\"1000 W\""),
    ] {
        let text = plus("machine", &format!("bed.max_power = \"{text}\""));
        refused(&text, (5, 17), &[words]);
    }
    refused(&with("180 cm2", "3^2 cm2"), (10, 13), &["\"9 cm2\""]);
    refused(
        &with("100 h", "102 h -2 h"),
        (3, 12),
        &["a sign", "\"5 day 1 h\""],
    );
}

#[test]
fn a_point_beside_decimal_commas_is_asked_about() {
    let text = with("2.3 kg", "2,3 kg").replace("[room]", "[room]\naltitude = \"1.600 m\"");
    let found = super::problems(&text);
    assert_eq!(found.len(), 2);
    super::says(&found[0], &["\"2.3 kg\""]);
    super::says(&found[1], &["room.altitude", "\"1.6 m\" or \"1600 m\""]);
}

/// Both are heights at which people live; for a mass of 1.250 kg only one reading makes sense.
#[test]
fn a_point_that_may_part_thousands_is_told_where_both_readings_are_usual() {
    hinted(
        &plus("room", "altitude = \"1.600 m\""),
        &["is its point one for decimals", "\"1.6 m\" or \"1600 m\""],
    );
    for text in [
        plus("room", "altitude = \"1.6 m\""),
        plus("room", "altitude = 1.600").replace("1.600", "\"0.600 m\""),
        with("2.3 kg", "2.250 kg"),
        plus("machine", "filament_diameter = \"1.750 mm\""),
    ] {
        assert_eq!(run(&text).warnings, [], "{text}");
    }
}

#[test]
fn beds_that_were_hardly_meant_are_told() {
    hinted(
        &with("60 degC", "60 degF"),
        &["cooler than the room", "write \"60 degC\""],
    );
    hinted(
        &with("60 degC", "110 degC"),
        &["far above the usual 60.0 °C for pla"],
    );
    hinted(
        &with(
            "bed = \"60 degC\"",
            "first_layers = \"20 min\"\nfirst_layer_bed = \"110 degC\"",
        ),
        &["far above"],
    );
    for usual in ["60 degC", "75 degC", "140 degF", "27 degC"] {
        assert_eq!(run(&with("60 degC", usual)).warnings, [], "{usual}");
    }
    // The material's own bed is not the user's.
    let text =
        with("bed = \"60 degC\"\n", "").replace("[room]\ntemp", "[room]\nshift = \"9 K\"\ntemp");
    assert_eq!(run(&text).warnings, []);
}

#[test]
fn a_start_without_its_time_is_refused() {
    for start in ["2026-07-13", "\"2026-07-13\""] {
        refused(
            &with("\"2026-07-13 07:00\"", start),
            (2, 9),
            &["at which time of day", "start = \"2026-07-13 07:00\""],
        );
    }
}

/// Cross-checks blame what the user typed, never a line of a file that the user does not have.
#[test]
fn what_was_typed_is_blamed_and_not_the_catalogue() {
    for (lines, column) in [
        ("width = \"100 mm\"", 9),
        ("depth = \"100 mm\"", 9),
        ("height = \"100 mm\"", 10),
    ] {
        let text = plus("machine", lines)
            .replace("180 cm2", "180 cm2\"\nheight = \"90 mm")
            .replace("2.3 kg", "1 kg");
        for problem in super::problems(&text) {
            assert_eq!(problem.file, "run.toml", "{problem:?}");
            assert_eq!(
                (problem.line, problem.column),
                (Some(5), Some(column)),
                "{problem:?}"
            );
            super::says(&problem, &["is the catalogue's"]);
        }
    }
    refused(
        &plus("material", "nozzle = \"50 degC\""),
        (7, 10),
        &["can't melt pla"],
    );
    refused(
        &plus("material", "softening_limit = \"300 degC\""),
        (7, 19),
        &[
            "can't melt pla",
            "check material.nozzle and material.softening_limit",
        ],
    );
}

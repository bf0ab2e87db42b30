//! Keys, units, types, ranges, names.

use super::{GOOD, plus, problems, read, refused, run, says, with};
use crate::keys::Problems;

#[test]
fn unknown_keys_get_the_nearest_known_one() {
    refused(
        &with("duration", "durration"),
        (3, 1),
        &["`durration`", "did you mean `duration`"],
    );
}

#[test]
fn a_key_in_the_wrong_table_is_sent_home() {
    refused(
        &plus("part", "bed = \"60 degC\""),
        (9, 1),
        &["`bed` belongs under [machine] or [material] or [job]"],
    );
    refused(
        &plus("part", "altitude = \"60 m\""),
        (9, 1),
        &["belongs under [room]"],
    );
}

#[test]
fn unknown_tables_too() {
    refused(
        &GOOD.replace("[room]", "[rooom]"),
        (13, 2),
        &["did you mean `room`"],
    );
}

/// A bare number is shown with the unit that makes it a usual value.
#[test]
fn the_unit_suggested_fits_the_number() {
    refused(&plus("machine", "height = 0.7"), (5, 10), &["\"0.7 m\""]);
    refused(&plus("machine", "height = 700"), (5, 10), &["\"700 mm\""]);
    refused(&plus("machine", "height = 28"), (5, 10), &["\"28 cm\""]);
}

#[test]
fn a_half_described_machine_is_one_problem_for_keys_and_one_for_tables() {
    let found = problems(&with("name = \"bench-220\"", "width = \"560 mm\""));
    assert_eq!(found.len(), 2, "{}", Problems::new(found.clone()));
    says(
        &found[0],
        &[
            "[machine] needs `depth`, `height`",
            "spool = \"room\"",
            "machine of the catalogue",
        ],
    );
    says(
        &found[1],
        &["[machine.frame], [machine.bed], [machine.motion], [machine.feeder] are missing"],
    );
}

#[test]
fn unknown_names_get_the_nearest_known_one() {
    refused(
        &with("bench-220", "bench-222"),
        (5, 8),
        &["no machine \"bench-222\"", "did you mean \"bench-220\""],
    );
    refused(
        &with("\"pla\"", "\"plla\""),
        (7, 8),
        &["no material \"plla\"", "did you mean \"pla\""],
    );
    refused(
        &plus("machine", "lid = \"glas-4\""),
        (5, 7),
        &["no panel \"glas-4\"", "did you mean \"glass-4\""],
    );
    refused(
        &with("\"pla\"", "\"unobtainium\""),
        (7, 8),
        &["petg", "known are"],
    );
}

#[test]
fn a_missing_unit_shows_what_to_write() {
    refused(
        &with("\"2.3 kg\"", "2.3"),
        (9, 8),
        &["`part.mass` has no unit", "\"2.3 kg\"", "lb"],
    );
    refused(
        &with("\"2.3 kg\"", "\"2.3\""),
        (9, 8),
        &["has no unit", "\"2.3 kg\""],
    );
    refused(
        &with("\"60 degC\"", "60"),
        (12, 7),
        &["has no unit", "\"60 degC\"", "degF"],
    );
}

#[test]
fn a_wrong_kind_of_unit_says_which_kind_is_needed() {
    refused(
        &with("\"100 h\"", "\"3 mm\""),
        (3, 12),
        &["`mm` measures a length", "a length of time", "min, h, day"],
    );
    refused(
        &plus("require", "margin = \"5 degC\""),
        (16, 10),
        &["reading on a thermometer", "\"5 K\""],
    );
    refused(
        &with("\"2.3 kg\"", "\"2.3 kgs\""),
        (9, 8),
        &["did you mean \"2.3 kg\""],
    );
    refused(
        &with("\"2.3 kg\"", "\"2,3 kg\""),
        (9, 8),
        &["comma", "\"2.3 kg\""],
    );
}

#[test]
fn absurd_values_are_refused_with_their_limits() {
    refused(
        &with("\"60 degC\"", "\"4000 degC\""),
        (12, 7),
        &["4000 degC", "between 0 degC and 250 degC"],
    );
    refused(
        &with("\"60 degC\"", "\"5 K\""),
        (12, 7),
        &["absolute temperature", "268.1"],
    );
    refused(
        &with("\"100 h\"", "\"0 h\""),
        (3, 12),
        &["1 min", "366 days"],
    );
    refused(
        &with("\"100 h\"", "\"1000000 day\""),
        (3, 12),
        &["366 days"],
    );
    refused(
        &with("\"100 h\"", "\"-5 h\""),
        (3, 12),
        &["-5 h", "366 days"],
    );
    refused(&with("\"2.3 kg\"", "\"-1 kg\""), (9, 8), &["-1 kg"]);
    let lid = "lid = { layer = [{ thickness = \"0 mm\", conductivity = \"0.2 W/(m K)\", density = \"1200 kg/m3\", heat_capacity = \"1200 J/(kg K)\" }] }";
    refused(
        &plus("machine", lid),
        (5, 32),
        &["`machine.lid.layer.1.thickness`", "0 mm", "0.02 mm"],
    );
    refused(
        &plus("machine", "air_layers = 1"),
        (5, 14),
        &["between 2 and 20"],
    );
    refused(
        &plus("coefficients", "leakage = -1"),
        (16, 11),
        &["leakage", "between 0 and"],
    );
    // Was legal once, and ended in a step of the integrator that became too small.
    refused(
        &plus("coefficients", "bench_resistance = \"0 m2 K/W\""),
        (16, 20),
        &["bench_resistance", "between 0.005 m2 K/W and"],
    );
    refused(
        &plus("coefficients", "short_circuit = 1.0"),
        (16, 17),
        &["0.95"],
    );
}

#[test]
fn numbers_must_be_finite() {
    for value in [
        "inf",
        "nan",
        "-inf",
        "\"inf kg\"",
        "\"NaN kg\"",
        "\"1e999 kg\"",
    ] {
        refused(&with("\"2.3 kg\"", value), (9, 8), &["not finite"]);
    }
    refused(
        &plus("coefficients", "leakage = nan"),
        (16, 11),
        &["not finite"],
    );
}

#[test]
fn wrong_toml_types_are_named_in_plain_words() {
    refused(
        &with("\"2.3 kg\"", "true"),
        (9, 8),
        &[
            "should be a quantity in quotes",
            "true or false",
            "mass = \"2.3 kg\"",
        ],
    );
    refused(
        &with("\"pla\"", "7"),
        (7, 8),
        &["should be a name in quotes", "a number"],
    );
    refused(
        &plus("require", "must_stay_closed = \"yes\""),
        (16, 20),
        &["true or false, without quotes"],
    );
    refused(&with("\"60 degC\"", "[60]"), (12, 7), &["a list"]);
    let text = GOOD
        .replace("[room]\ntemperature = \"31 degC\"\n", "")
        .replace("[run]", "room = \"31 degC\"\n[run]");
    refused(
        &text,
        (1, 8),
        &[
            "`room` should be a table",
            "write a line [room]",
            "temperature = \"31 degC\"",
        ],
    );
    refused(
        &plus("job", "pause = \"20 min\""),
        (12, 9),
        &["should be a list of tables", "[[job.pause]]"],
    );
    refused(
        &with("\"2026-07-13 07:00\"", "7"),
        (2, 9),
        &["a date and time", "2026-07-13 07:00"],
    );
}

#[test]
fn dates_that_do_not_exist_or_carry_a_zone_are_refused() {
    refused(
        &with("2026-07-13 07:00", "2026-02-30 07:00"),
        (2, 9),
        &["2026-02-30", "no such day"],
    );
    refused(
        &with("2026-07-13 07:00", "13.07.2026 07:00"),
        (2, 9),
        &["2026-07-13 07:00"],
    );
    refused(
        &with("2026-07-13 07:00", "2026-07-13T07:00:00Z"),
        (2, 9),
        &["time zone", "local"],
    );
    refused(
        &with("2026-07-13 07:00", "2026-07-13T07:00+02:00"),
        (2, 9),
        &["time zone"],
    );
    refused(
        &with("2026-07-13 07:00", "2026-07-13T07:00[UTC]"),
        (2, 9),
        &["time zone"],
    );
    refused(
        &with("2026-07-13 07:00", "Prüfung µµµ"),
        (2, 9),
        &["2026-07-13 07:00"],
    );
}

#[test]
fn missing_keys_and_tables_show_a_line_to_add() {
    refused(
        &with("duration = \"100 h\"\n", ""),
        (1, 1),
        &["[run] needs `duration`", "add duration = \"121 h\""],
    );
    refused(
        &with("mass = \"2.3 kg\"\n", ""),
        (8, 1),
        &["[part] needs `mass`", "mass = \"2.3 kg\""],
    );
    refused(
        &with("name = \"bench-220\"\n", ""),
        (4, 1),
        &["[machine] needs `name`", "bench-220"],
    );
    refused(
        &with("temperature = \"31 degC\"\n", ""),
        (13, 1),
        &["how warm it is", "swing"],
    );
    let found = problems(&GOOD.replace("[room]\ntemperature = \"31 degC\"\n", ""));
    assert_eq!(found.len(), 1);
    says(
        &found[0],
        &["the table [room] is missing", "add a line [room]"],
    );
}

#[test]
fn text_that_is_not_toml_shows_the_place_and_the_usual_slip() {
    refused(
        &with("\"2.3 kg\"", "2.3 kg"),
        (9, 8),
        &["not valid TOML", "mass = \"2.3 kg\""],
    );
    let found = problems(&with("\"2.3 kg\"", "\"2.3 kg"));
    says(&found[0], &["not valid TOML", "quotation mark is missing"]);
    assert_eq!(found[0].line, Some(9));
    let found = problems("this is no run file at all\n");
    says(&found[0], &["not valid TOML", "key = value"]);
    refused(
        &with("mass = \"2.3 kg\"", "mass = \"2.3 kg\"\nmass = \"2 kg\""),
        (10, 1),
        &["duplicate key", "each key once"],
    );
}

#[test]
fn an_empty_file_says_so() {
    for text in ["", "  \n\n"] {
        says(&problems(text)[0], &["empty", "[run]"]);
    }
    let found = problems("# only a comment\n");
    says(
        &found[0],
        &["[run], [machine], [material], [part], [room] are missing"],
    );
}

#[test]
fn independent_mistakes_are_all_reported_from_top_to_bottom() {
    let text = with("\"100 h\"", "100")
        .replace("bench-220", "bensh-220")
        .replace("2.3 kg", "2.3 m")
        .replace("bed = \"60 degC\"", "bedd = \"60 degC\"")
        .replace("31 degC", "300 degC");
    let found = problems(&text);
    let lines: Vec<_> = found.iter().map(|p| p.line.expect("line")).collect();
    assert_eq!(lines, [3, 5, 9, 12, 14], "{}", Problems::new(found.clone()));
}

#[test]
fn drawing_of_several_problems() {
    let text = with("\"100 h\"", "100").replace("bed = \"60 degC\"", "bedd = \"60 degC\"");
    insta::assert_snapshot!(read(&text).expect_err("refused").to_string(), @r#"
    error: `run.duration` has no unit
     --> run.toml:3:12
      |
    3 | duration = 100
      |            ^^^
      |
      = help: write the unit with the number: "100 h" (or another of s, min, h,
              day or week)

    error: `bedd` is not a key of [job]
      --> run.toml:12:1
       |
    12 | bedd = "60 degC"
       | ^^^^
       |
       = help: did you mean `bed`?
    "#);
}

#[test]
fn values_that_do_not_fit_together_are_refused() {
    refused(
        &plus("machine", "bed.width = \"900 mm\""),
        (5, 13),
        &["bed's width is 900 mm", "only 560 mm"],
    );
    refused(
        &plus("machine", "extraction_height = \"900 mm\""),
        (5, 21),
        &["700 mm high"],
    );
    refused(
        &plus("machine", "lid_opening = \"9000 cm2\""),
        (5, 15),
        &["whole lid is only 3136 cm2"],
    );
    refused(
        &with("180 cm2", "2000 cm2"),
        (10, 13),
        &["bed has only 1296 cm2"],
    );
    refused(
        &with("180 cm2", "18 cm2"),
        (9, 8),
        &["the part is", "700 mm"],
    );
    refused(
        &plus("part", "height = \"10 mm\""),
        (10, 8),
        &["denser than solid pla"],
    );
}

#[test]
fn years_end_before_ten_thousand() {
    let start = |typed: &str| with("\"2026-07-13 07:00\"", &format!("\"{typed}\""));
    for typed in [
        "12026-07-13 07:00",
        "+012026-07-13 07:00",
        "-002026-07-13 07:00",
    ] {
        refused(&start(typed), (2, 9), &["four digits", "2026"]);
    }
    for typed in ["9999-12-31 23:59", "9999-01-01 00:00", "9998-12-29 07:00"] {
        refused(&start(typed), (2, 9), &["10000", "2026"]);
    }
    run(&start("9998-12-01 07:00"));
    run(&start("0001-01-01 00:00"));
}

proptest::proptest! {
    #[test]
    fn no_text_makes_it_panic(text in "\\PC{0,200}") {
        let _ = read(&text);
    }

    /// A good file with a stretch cut out, doubled or replaced.
    #[test]
    fn no_mutilated_file_makes_it_panic(at in 0usize..300, len in 0usize..30, by in "[a-z0-9\"=\\[\\]{}., %é\n-]{0,12}") {
        let chars: Vec<char> = GOOD.chars().collect();
        let at = at.min(chars.len());
        let end = (at + len).min(chars.len());
        let text: String = chars[..at].iter().chain(by.chars().collect::<Vec<_>>().iter()).chain(&chars[end..]).collect();
        if let Err(problems) = read(&text) {
            proptest::prop_assert!(!problems.as_slice().is_empty());
            let _ = problems.render(true);
        }
    }
}

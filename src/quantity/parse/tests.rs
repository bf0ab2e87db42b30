//! What is read, what is refused and what is said.

use super::*;

fn ok(text: &str, quantity: Quantity) -> f64 {
    parse(text, quantity).unwrap_or_else(|e| panic!("{text}: {e}"))
}

fn assert_near(got: f64, want: f64, relative: f64) {
    assert!(
        (got - want).abs() <= relative * want.abs(),
        "{got} instead of {want}"
    );
}

/// Conversion factors of NIST SP 811 (2008), appendix B.8, given there to seven digits: hence
/// the tolerance of one unit in the seventh digit. Read from memory.
#[test]
fn units_have_the_sizes_of_the_published_conversion_table() {
    use Quantity as Q;
    let published = [
        ("1 in", Q::Length, 2.54e-2),
        ("1 ft", Q::Length, 3.048e-1),
        ("1 in2", Q::Area, 6.4516e-4),
        ("1 ft2", Q::Area, 9.290_304e-2),
        ("1 ft3", Q::Volume, 2.831_685e-2),
        ("1 L", Q::Volume, 1e-3),
        ("1 lb", Q::Mass, 4.535_924e-1),
        ("1 oz", Q::Mass, 2.834_952e-2),
        ("1 BTU/h", Q::Power, 2.930_711e-1),
        ("1 cfm", Q::Flow, 4.719_474e-4),
        ("1 L/min", Q::Flow, 1.666_667e-5),
        ("1 m3/h", Q::Flow, 2.777_778e-4),
        ("1 inH2O", Q::Pressure, 2.490_889e2),
        ("1 mbar", Q::Pressure, 1e2),
        ("1 day", Q::Time, 8.64e4),
        ("1 week", Q::Time, 6.048e5),
        ("1 g/cm3", Q::Density, 1e3),
        ("1 kJ/(kg K)", Q::HeatCapacity, 1e3),
    ];
    for (text, quantity, si) in published {
        assert_near(ok(text, quantity), si, 2e-7);
    }
}

/// Fixed points: ice and steam point in both scales (by definition of the Fahrenheit scale),
/// and -40, where both agree. Tolerance: rounding of a few sums in double precision.
#[test]
fn temperatures_meet_at_the_fixed_points() {
    for (text, kelvin) in [
        ("0 degC", 273.15),
        ("32 degF", 273.15),
        ("100 °C", 373.15),
        ("212 °F", 373.15),
        ("-40 degC", 233.15),
        ("−40 degF", 233.15),
        ("308.15 K", 308.15),
        ("35 ℃", 308.15),
        ("95 F", 308.15),
    ] {
        assert_near(ok(text, Quantity::Temperature), kelvin, 1e-14);
    }
}

#[test]
fn spellings_of_one_unit_agree() {
    use Quantity as Q;
    for (a, b, q) in [
        ("40 m3/h", "40 m³/h", Q::Flow),
        ("40m3/h", "40 m^3/h", Q::Flow),
        ("180 cm2", "180 cm²", Q::Area),
        ("5 W/(m2 K)", "5 W/(m²·K)", Q::HeatTransferCoefficient),
        ("5 W/(m2 K)", "5 W/m2K", Q::HeatTransferCoefficient),
        ("0.15 m2 K/W", "0.15 m²·K/W", Q::Resistance),
        ("121 h", "5 day 1 h", Q::Time),
        ("90 min", "1h30min", Q::Time),
        ("1e3 W", "1 kW", Q::Power),
        ("40 %", "0.4", Q::Fraction),
    ] {
        assert_near(ok(a, q), ok(b, q), 1e-15);
    }
}

#[test]
fn a_reading_is_no_difference() {
    let error = parse("5 degC", Quantity::TemperatureDifference).unwrap_err();
    assert!(
        error
            .help(Quantity::TemperatureDifference, "K")
            .contains("\"5 K\"")
    );
    let error = parse("9 degF", Quantity::TemperatureDifference).unwrap_err();
    assert!(
        error
            .help(Quantity::TemperatureDifference, "K")
            .contains("\"5 K\"")
    );
    assert_near(ok("5 K", Quantity::TemperatureDifference), 5.0, 0.0);
}

/// The three of `10³` was read as a digit of the number, and `2 h -1 h` as one hour.
#[test]
fn powers_and_signs_inside_are_refused_with_the_number_written_out() {
    use Quantity as Q;
    for (text, quantity, suggestion) in [
        ("10^3 W", Q::Power, "\"1000 W\""),
        ("10³ W", Q::Power, "\"1000 W\""),
        ("10 ^ 3 W", Q::Power, "\"1000 W\""),
        ("1.2 x 10^3 W", Q::Power, "\"1200 W\""),
        ("1,2·10³ W", Q::Power, "\"1200 W\""),
        ("2·10³ W", Q::Power, "\"2000 W\""),
        ("10⁻² m", Q::Length, "\"0.01 m\""),
        ("3^2 cm2", Q::Area, "\"9 cm2\""),
        ("3² cm²", Q::Area, "\"9 cm²\""),
        ("10^99 W", Q::Power, "without a power"),
        ("10^ W", Q::Power, "without a power"),
        ("2 h -1 h", Q::Time, "\"5 day 1 h\""),
        ("2 h \u{2212}1 h", Q::Time, "\"5 day 1 h\""),
        ("-2 h 30 min", Q::Time, "\"5 day 1 h\""),
        ("1 h 1 h", Q::Time, "longest unit first"),
        ("1 h 2 day", Q::Time, "longest unit first"),
    ] {
        let error = parse(text, quantity).expect_err(text);
        let said = format!("{error}; {}", error.help(quantity, "W"));
        assert!(said.contains(suggestion), "{text}: {said}");
    }
    assert_near(ok("2 week 1 day 30 min", Q::Time), 1_297_800.0, 0.0);
    assert_near(ok("5 m³", Q::Volume), 5.0, 0.0);
}

#[test]
fn groups_of_digits_are_refused_or_noticed() {
    for (text, quantity, whole) in [
        ("1.234.567 m", Quantity::Length, "\"1234567 m\""),
        ("1 600 m", Quantity::Length, "\"1600 m\""),
        ("1'600 m", Quantity::Length, "\"1600 m\""),
        ("-1 600 m", Quantity::Length, "\"-1600 m\""),
        ("1 600", Quantity::Number, "\"1600\""),
    ] {
        let error = parse(text, quantity).expect_err(text);
        let help = error.help(quantity, "m");
        assert!(help.contains(whole), "{text}: {help}");
    }
    assert_near(ok("0.5 1/h", Quantity::Rate), 0.5 / 3_600.0, 1e-12);
    assert_near(ok("2 1/h", Quantity::Rate), 2.0 / 3_600.0, 1e-12);
    for (text, whole) in [
        ("1.600 m", Some("1600 m")),
        ("31.250 degC", Some("31250 degC")),
        ("1.600", Some("1600")),
        ("0.600 m", None),
        ("1.6 m", None),
        ("1600.000 m", None),
        ("1.6000 m", None),
    ] {
        assert_eq!(without_thousands_point(text).as_deref(), whole, "{text}");
    }
}

/// A difference that was typed as a reading is said in digits that people write.
#[test]
fn suggested_numbers_are_short() {
    let error = parse("5 degF", Quantity::TemperatureDifference).unwrap_err();
    let help = error.help(Quantity::TemperatureDifference, "K");
    assert!(help.ends_with("\"2.8 K\""), "{help}");
}

#[test]
fn degree_signs_and_words_are_known_or_mended() {
    for text in ["60 ˚C", "60 º C", "60° C", "60 ℃", "60 °c", "60\u{a0}°C"] {
        assert_near(ok(text, Quantity::Temperature), 333.15, 1e-12);
    }
    for (text, mended) in [
        ("60 grad C", "\"60 degC\""),
        ("60 deg.", "\"60 degC\""),
        ("140 degrees F", "\"140 degF\""),
    ] {
        let error = parse(text, Quantity::Temperature).unwrap_err();
        let help = error.help(Quantity::Temperature, "degC");
        assert!(help.contains(mended), "{help}");
    }
}

#[test]
fn errors_say_what_to_write() {
    let help = |text: &str, q: Quantity, unit: &str| {
        let error = parse(text, q).expect_err(text);
        format!("{error}; {}", error.help(q, unit))
    };
    assert!(help("2.3", Quantity::Mass, "kg").contains("\"2.3 kg\""));
    assert!(help("2,3 kg", Quantity::Mass, "kg").contains("\"2.3 kg\""));
    assert!(help("1,000 W", Quantity::Power, "W").contains("\"1000 W\""));
    assert!(help("3 mm", Quantity::Time, "h").contains("measures a length"));
    assert!(help("3 mni", Quantity::Time, "h").contains("did you mean \"3 min\""));
    assert!(help("3 elephants", Quantity::Mass, "kg").contains("g, kg, lb or oz"));
    assert!(help("", Quantity::Mass, "kg").contains("nothing is written"));
    assert!(help("hot", Quantity::Temperature, "degC").contains("begin with a number"));
    for text in ["1e308 h", "1e308 h 30 min", "1e308 day"] {
        let read = parse(text, Quantity::Time);
        assert_eq!(read, Err(QuantityError::NotFinite), "{text}");
    }
    for text in ["inf kg", "nan kg", "-inf kg", "1e999 kg"] {
        assert_eq!(
            parse(text, Quantity::Mass),
            Err(QuantityError::NotFinite),
            "{text}"
        );
    }
    assert!(help("5 K", Quantity::Number, "").contains("temperature"));
}

#[test]
fn no_two_units_of_a_quantity_share_a_spelling() {
    for quantity in Quantity::ALL {
        let mut seen = std::collections::HashSet::new();
        for unit in quantity.units() {
            let spellings: std::collections::HashSet<_> = std::iter::once(unit.symbol)
                .chain(unit.aliases.iter().copied())
                .map(unit_key)
                .collect();
            for spelling in spellings {
                assert!(seen.insert(spelling.clone()), "{quantity:?}: {spelling}");
            }
        }
    }
}

/// A blank at the end once cut a letter of more than one byte in two.
#[test]
fn blanks_after_a_foreign_letter_do_not_panic() {
    for text in ["0\u{a51}\u{be6}*", "0\u{a51}\u{be6} ", "1 day 2 ü \u{a0}"] {
        for quantity in Quantity::ALL {
            let _ = parse(text, quantity);
            let _ = split_compound(text);
        }
    }
    assert_eq!(split_compound(" 5 day 1 h "), Some(vec!["5 day", "1 h"]));
}

proptest::proptest! {
    #[test]
    fn no_text_makes_it_panic(text in "\\PC{0,24}") {
        for quantity in Quantity::ALL {
            if let Err(error) = parse(&text, quantity) {
                let _ = error.help(quantity, "K");
            }
        }
    }

    #[test]
    fn numbers_that_look_typed_never_panic(text in "[-+0-9.,eE %a-zA-Z/()²°]{0,16}") {
        for quantity in Quantity::ALL {
            let _ = parse(&text, quantity);
        }
    }
}

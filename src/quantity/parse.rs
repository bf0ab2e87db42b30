//! From typed text to an SI value.

use super::unit::{Quantity, Unit};
use thiserror::Error;

/// Why a text is not the quantity that is needed. The text of each says what is wrong;
/// [`QuantityError::help`] says what to write instead.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum QuantityError {
    /// Nothing between the quotes.
    #[error("nothing is written here")]
    Empty,
    /// A number without its unit.
    #[error("the unit is missing")]
    Bare {
        /// The number as typed.
        number: String,
    },
    /// No number at the beginning.
    #[error("this does not begin with a number")]
    NotANumber,
    /// A comma in the number.
    #[error("a comma stands in the number")]
    Comma {
        /// What was probably meant.
        suggestion: String,
    },
    /// Infinite or not a number.
    #[error("the number is not finite")]
    NotFinite,
    /// A unit that nothing here is measured in.
    #[error("`{unit}` is not a unit that is known here")]
    UnknownUnit {
        /// The number as typed.
        number: String,
        /// The unit as typed.
        unit: String,
    },
    /// A unit of something else.
    #[error("`{unit}` measures {}, but {} is needed here", found.article_name(), needed.article_name())]
    WrongKind {
        /// The unit as typed.
        unit: String,
        /// What it measures.
        found: Quantity,
        /// What is needed.
        needed: Quantity,
    },
    /// A thermometer reading where a difference is needed.
    #[error("`{unit}` is a reading on a thermometer, but a temperature difference is needed here")]
    ReadingForDifference {
        /// The unit as typed.
        unit: String,
        /// The difference in K that was probably meant.
        difference_K: f64,
    },
}

impl QuantityError {
    /// What to write instead, for a value of this quantity that is usually given in `usual_unit`.
    #[must_use]
    pub fn help(&self, quantity: Quantity, usual_unit: &str) -> String {
        let units = if quantity.may_be_bare() {
            "write a plain number".to_owned()
        } else {
            format!(
                "{} is written in {}",
                quantity.article_name(),
                quantity.unit_list()
            )
        };
        match self {
            Self::Bare { number } => {
                let others = if quantity.units().len() > 1 {
                    format!(" (or another of {})", quantity.unit_list())
                } else {
                    String::new()
                };
                format!("write the unit with the number: \"{number} {usual_unit}\"{others}")
            }
            Self::Comma { suggestion } => format!(
                "write decimals with a point and nothing between thousands: \"{suggestion}\""
            ),
            Self::ReadingForDifference { difference_K, .. } => format!(
                "a difference is written in K: \"{} K\"",
                super::format::trimmed(*difference_K)
            ),
            Self::UnknownUnit { number, unit } => nearest_unit(unit, quantity)
                .map_or(units.clone(), |near| {
                    format!("did you mean \"{number} {near}\"? {units}")
                }),
            Self::Empty | Self::NotANumber | Self::NotFinite if quantity == Quantity::Fraction => {
                "write a share such as 0.4 or \"40 %\"".to_owned()
            }
            Self::Empty | Self::NotANumber | Self::NotFinite | Self::WrongKind { .. } => units,
        }
    }
}

/// The SI value of a text such as `"35 degC"`, which must be of the given quantity.
///
/// # Errors
/// When there is no number, no unit, a unit of another kind or a number that is not finite.
/// Ranges are not checked here.
pub fn parse(text: &str, quantity: Quantity) -> Result<f64, QuantityError> {
    let text = plain(text);
    if text.is_empty() {
        return Err(QuantityError::Empty);
    }
    if quantity == Quantity::Time
        && let Some(parts) = split_compound(&text)
    {
        // "5 day 1 h": the sum of its parts.
        return parts
            .iter()
            .map(|part| parse_one(part, quantity))
            .sum::<Result<f64, _>>();
    }
    parse_one(&text, quantity)
}

fn parse_one(text: &str, quantity: Quantity) -> Result<f64, QuantityError> {
    let (number_text, unit_text) = split_number(text);
    if number_text.is_empty() {
        let lower = text.trim_start_matches(['+', '-']).to_ascii_lowercase();
        let is_special = lower.starts_with("inf") || lower.starts_with("nan");
        return Err(if is_special {
            QuantityError::NotFinite
        } else {
            QuantityError::NotANumber
        });
    }
    if let Some(after) = unit_text.strip_prefix(',')
        && after.starts_with(|c: char| c.is_ascii_digit())
    {
        return Err(comma(number_text, after));
    }
    let number: f64 = number_text.parse().map_err(|_| QuantityError::NotANumber)?;
    if !number.is_finite() {
        return Err(QuantityError::NotFinite);
    }
    if unit_text.is_empty() && !quantity.may_be_bare() {
        return Err(QuantityError::Bare {
            number: number_text.to_owned(),
        });
    }
    if let Some(unit) = unit_by_symbol(unit_text, quantity) {
        return Ok(unit.to_si(number));
    }
    // The unit belongs to nothing, or to something else.
    let home = Quantity::ALL
        .into_iter()
        .find_map(|other| unit_by_symbol(unit_text, other).map(|unit| (other, unit)));
    Err(match home {
        Some((Quantity::Temperature, unit)) if quantity == Quantity::TemperatureDifference => {
            QuantityError::ReadingForDifference {
                unit: unit_text.to_owned(),
                difference_K: number * unit.scale,
            }
        }
        Some((found, _)) => QuantityError::WrongKind {
            unit: unit_text.to_owned(),
            found,
            needed: quantity,
        },
        None => QuantityError::UnknownUnit {
            number: number_text.to_owned(),
            unit: unit_text.to_owned(),
        },
    })
}

/// What the user probably meant by a number with a comma: a decimal comma, unless exactly three
/// digits follow each comma, as between thousands.
fn comma(before: &str, after: &str) -> QuantityError {
    let joined = format!("{before},{after}");
    let end = joined
        .find(|c: char| !(c.is_ascii_digit() || c == ',' || c == '.' || c == '-' || c == '+'))
        .unwrap_or(joined.len());
    let (number, unit) = joined.split_at(end);
    let groups = number.split(',').skip(1);
    let thousands = groups.clone().count() > 1
        || groups
            .clone()
            .all(|group| group.split('.').next().is_some_and(|g| g.len() == 3));
    let number = number.replace(',', if thousands { "" } else { "." });
    QuantityError::Comma {
        suggestion: format!("{number}{unit}"),
    }
}

/// The unit of that spelling among those of a quantity.
#[must_use]
pub fn unit_by_symbol(text: &str, quantity: Quantity) -> Option<&'static Unit> {
    let key = unit_key(&plain(text));
    quantity.units().iter().find(|unit| {
        unit_key(unit.symbol) == key || unit.aliases.iter().any(|alias| unit_key(alias) == key)
    })
}

fn nearest_unit(typed: &str, quantity: Quantity) -> Option<&'static str> {
    let key = unit_key(typed).to_lowercase();
    quantity
        .units()
        .iter()
        .filter(|unit| !unit.symbol.is_empty())
        .flat_map(|unit| {
            std::iter::once(unit.symbol)
                .chain(unit.aliases.iter().copied())
                .map(move |spelling| (spelling, unit.symbol))
        })
        .map(|(spelling, symbol)| {
            (
                strsim::damerau_levenshtein(&unit_key(spelling).to_lowercase(), &key),
                symbol,
            )
        })
        .filter(|(distance, symbol)| *distance <= 1 && *distance < symbol.len())
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, symbol)| symbol)
}

/// Spaces and brackets carry no meaning in a unit: `W/(m2 K)` and `W/m2K` are one.
fn unit_key(unit: &str) -> String {
    unit.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '(' | ')'))
        .collect()
}

/// Typographic signs turned into the plain ones: `35 °C` becomes `35 degC`, `m²·K` becomes `m2 K`.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim().chars() {
        match c {
            '²' => out.push('2'),
            '³' => out.push('3'),
            '·' | '⋅' | '×' | '*' => out.push(' '),
            '−' | '–' => out.push('-'),
            '°' | 'º' => out.push_str("deg"),
            '℃' => out.push_str("degC"),
            '℉' => out.push_str("degF"),
            '^' => {}
            c if c.is_whitespace() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// The number at the beginning and the rest.
fn split_number(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let digits = |mut at: usize| {
        let from = at;
        while bytes.get(at).is_some_and(u8::is_ascii_digit) {
            at += 1;
        }
        (at, at > from)
    };
    let mut at = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let (end, whole) = digits(at);
    at = end;
    let mut any = whole;
    if bytes.get(at) == Some(&b'.') {
        let (end, decimals) = digits(at + 1);
        if whole || decimals {
            at = end;
            any = true;
        }
    }
    if !any {
        return ("", text);
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
        let (end, exponent) = digits(at + 1 + sign);
        if exponent {
            at = end;
        }
    }
    (&text[..at], text[at..].trim())
}

/// The parts of a compound time, `5 day 1 h`, if there are at least two.
fn split_compound(text: &str) -> Option<Vec<&str>> {
    let mut parts = Vec::new();
    // Trimmed: what follows a number comes without blanks at its ends, and lengths are compared below.
    let mut rest = text.trim();
    while !rest.is_empty() {
        let (number, after) = split_number(rest);
        if number.is_empty() {
            return None;
        }
        let unit_end = after
            .find(|c: char| !(c.is_alphabetic() || c == ' '))
            .unwrap_or(after.len());
        if after[..unit_end].trim().is_empty() {
            return None;
        }
        let consumed = rest.len() - after.len() + unit_end;
        parts.push(rest[..consumed].trim());
        rest = rest[consumed..].trim_start();
    }
    (parts.len() > 1).then_some(parts)
}

#[cfg(test)]
mod tests {
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
}

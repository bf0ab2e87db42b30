//! A quantity with how well it is known: `"3.0 W ± 0.2 W"`.

use super::parse::{QuantityError, parse, plain, split_number};
use super::unit::Quantity;

/// What may stand between a value and how well it is known.
const SIGNS: [&str; 3] = ["±", "+/-", "+-"];

/// The SI value of a text such as `"3.0 W"`, and to within how much it is known where that is written behind it:
/// `"3.0 W ± 0.2 W"`, `"3.0 ± 0.2 W"`, `"3.0 W ± 5 %"`, with `+-` or `+/-` for those who have no `±`. How far a
/// temperature may be off is written in any of its degrees.
///
/// # Errors
/// See [`parse`]; and when what stands behind the sign is no size above zero.
pub fn parse_within(text: &str, quantity: Quantity) -> Result<(f64, Option<f64>), QuantityError> {
    let Some((value, by)) = split(text) else {
        return Ok((parse(text, quantity)?, None));
    };
    let by = plain(by);
    let (number, unit) = split_number(&by);
    let wrong = || QuantityError::Within { by: by.clone() };
    if number.is_empty() {
        return Err(wrong());
    }
    let si = match parse(value, quantity) {
        // "3.0 ± 0.2 W": one unit for both.
        Err(QuantityError::Bare { number }) if unit != "%" => {
            parse(&format!("{number} {unit}"), quantity)?
        }
        other => other?,
    };
    let within = if unit == "%" && quantity != Quantity::Temperature {
        let share = number.parse::<f64>().map_err(|_| wrong())? / 100.0;
        si.abs() * share
    } else {
        match parse(&by, quantity) {
            // "± 1 degC" is a difference, not a reading.
            Ok(reading) if quantity == Quantity::Temperature => {
                reading - parse(&format!("0 {unit}"), quantity)?
            }
            other => other.map_err(|error| match error {
                QuantityError::Bare { .. } => wrong(),
                error => error,
            })?,
        }
    };
    if within > 0.0 && within.is_finite() {
        Ok((si, Some(within)))
    } else {
        Err(wrong())
    }
}

/// The value and what stands behind the sign.
fn split(text: &str) -> Option<(&str, &str)> {
    SIGNS.iter().find_map(|sign| text.split_once(sign))
}

/// The value alone.
#[must_use]
pub fn without_within(text: &str) -> &str {
    split(text).map_or(text, |(value, _)| value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_known_stands_behind_the_value() {
        for (text, quantity, si, within) in [
            ("3.0 W", Quantity::Power, 3.0, None),
            ("3.0 W ± 0.2 W", Quantity::Power, 3.0, Some(0.2)),
            ("3.0 ± 0.2 W", Quantity::Power, 3.0, Some(0.2)),
            ("3.0 W +- 200 mW", Quantity::Power, 3.0, Some(0.2)),
            ("3.0 W +/-5 %", Quantity::Power, 3.0, Some(0.15)),
            ("3.0 W ± 5%", Quantity::Power, 3.0, Some(0.15)),
            ("28 degC ± 1.5 K", Quantity::Temperature, 301.15, Some(1.5)),
            ("28 ± 1.5 degC", Quantity::Temperature, 301.15, Some(1.5)),
            ("-2 ± 0.5 degC", Quantity::Temperature, 271.15, Some(0.5)),
            ("95 degF ± 9 degF", Quantity::Temperature, 308.15, Some(5.0)),
            ("1.2 ± 0.1", Quantity::Number, 1.2, Some(0.1)),
        ] {
            let (found, known) =
                parse_within(text, quantity).unwrap_or_else(|e| panic!("{text}: {e}"));
            assert!((found - si).abs() < 1e-9, "{text}: {found}");
            assert_eq!(known.is_some(), within.is_some(), "{text}");
            if let (Some(known), Some(within)) = (known, within) {
                assert!((known - within).abs() < 1e-9, "{text}: {known}");
            }
        }
    }

    #[test]
    fn what_is_no_size_is_told() {
        for text in [
            "3 W ±",
            "3 W ± W",
            "3 W ± 0 W",
            "3 W ± -1 W",
            "3 W ± 0.2",
            "3 W ± -5 %",
        ] {
            assert!(
                matches!(
                    parse_within(text, Quantity::Power),
                    Err(QuantityError::Within { .. })
                ),
                "{text}: {:?}",
                parse_within(text, Quantity::Power)
            );
        }
        assert!(matches!(
            parse_within("3 W ± 1 kg", Quantity::Power),
            Err(QuantityError::WrongKind { .. })
        ));
        assert!(parse_within("28 degC ± 5 %", Quantity::Temperature).is_err());
        assert!(matches!(
            parse_within("3 ± 5 %", Quantity::Power),
            Err(QuantityError::Bare { .. })
        ));
    }
}

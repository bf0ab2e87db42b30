//! From typed text to an SI value.

use super::unit::{Quantity, Unit};
use thiserror::Error;

/// Why a text is not the quantity that is needed. The text of each says what is wrong;
/// [`QuantityError::help`] says what to write instead.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
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
    /// Something between the digits: `1.234.567`, `1 600`, `1'600`.
    #[error("something stands between the digits of the number")]
    Grouped {
        /// What was probably meant.
        suggestion: String,
    },
    /// A number with an exponent above it: `10^3` or `10³`.
    #[error("a power stands in the number")]
    Power {
        /// The number and its unit written out, where that is clear.
        suggestion: Option<String>,
    },
    /// A sign within a sum of times: `2 h -1 h`.
    #[error("a sign stands within a length of time")]
    SignInside,
    /// The same unit twice, or a longer one behind a shorter, in a sum of times: `5 h 2 day`.
    #[error("the parts of this length of time do not go from long to short")]
    PartsOutOfOrder,
    /// Behind `±` stands no size above zero.
    #[error("`{by}` behind the ± is not how far off the value may be")]
    Within {
        /// What stands there.
        by: String,
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
            Self::Power {
                suggestion: Some(text),
            } => format!("write the number out: \"{text}\""),
            Self::Power { suggestion: None } => {
                format!("write the number out, without a power; {units}")
            }
            Self::SignInside | Self::PartsOutOfOrder => {
                "write the parts to be added, the longest unit first and each unit once: \"5 day 1 h\""
                    .to_owned()
            }
            Self::Within { .. } if quantity == Quantity::Temperature => {
                "write a size above zero with its unit: \"28 degC ± 1.5 K\"".to_owned()
            }
            Self::Within { .. } => format!(
                "write a size above zero with its unit, or a share of the value: \"± 5 %\" or \"± 0.2 {usual_unit}\""
            ),
            Self::Grouped { suggestion } => {
                format!("write nothing between thousands: \"{suggestion}\"")
            }
            Self::ReadingForDifference { difference_K, .. } => format!(
                "a difference is written in K: \"{} K\"",
                super::format::plainly(*difference_K)
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
    if let Some(error) = power(text.trim()) {
        return Err(error);
    }
    let text = plain(text);
    if text.is_empty() {
        return Err(QuantityError::Empty);
    }
    let si = match split_compound(&text) {
        Some(parts) if quantity == Quantity::Time => sum_of(&parts),
        _ => parse_one(&text, quantity),
    }?;
    // A finite number may not be one any more in SI units, or with what is added.
    if si.is_finite() {
        Ok(si)
    } else {
        Err(QuantityError::NotFinite)
    }
}

/// "5 day 1 h": the sum of its parts.
fn sum_of(parts: &[&str]) -> Result<f64, QuantityError> {
    let mut sum_s = 0.0;
    let mut last_unit_s = f64::INFINITY;
    for part in parts {
        if part.starts_with(['+', '-']) {
            return Err(QuantityError::SignInside);
        }
        sum_s += parse_one(part, Quantity::Time)?;
        let unit = unit_by_symbol(split_number(part).1, Quantity::Time);
        let unit_s = unit.map_or(0.0, |unit| unit.scale);
        if unit_s >= last_unit_s {
            return Err(QuantityError::PartsOutOfOrder);
        }
        last_unit_s = unit_s;
    }
    Ok(sum_s)
}

/// What is wrong with a number that has a power in it, before signs of powers are taken for units': the two
/// of `cm²` is a unit's, that of `3²` is not. `3 x 10³ W` counts as well.
fn power(text: &str) -> Option<QuantityError> {
    let minus = |text: &str| text.replace(['\u{2212}', '\u{2013}'], "-");
    let text = &text.replace(',', ".");
    let (first, rest) = split_number(text);
    if first.is_empty() {
        return None;
    }
    let times = rest.trim_start_matches(['x', 'X', '×', '·', '⋅', '*', ' ']);
    let (factor, (base, after)) = if times.len() < rest.len() && !split_number(times).0.is_empty() {
        (first.parse().ok()?, split_number(times))
    } else {
        (1.0, (first, rest))
    };
    let raised = after.trim_start();
    let (exponent, unit) = if let Some(after) = raised.strip_prefix('^') {
        let after = minus(after.trim_start());
        let (exponent, unit) = split_number(&after);
        (exponent.parse::<i32>().ok(), unit.to_owned())
    } else {
        let superscript = |c: char| "⁰¹²³⁴⁵⁶⁷⁸⁹⁻".find(c).is_some();
        let end = raised.find(|c| !superscript(c)).unwrap_or(raised.len());
        if end == 0 {
            return None;
        }
        let digits: String = raised[..end].chars().map(plain_digit).collect();
        (digits.parse::<i32>().ok(), raised[end..].trim().to_owned())
    };
    let number = base
        .parse::<f64>()
        .ok()
        .zip(exponent)
        .map(|(base, exponent): (f64, i32)| factor * base.powi(exponent))
        .filter(|number: &f64| number.is_finite() && (1e-4..1e9).contains(&number.abs()));
    Some(QuantityError::Power {
        suggestion: number.map(|number| {
            format!("{} {unit}", super::format::trimmed(number))
                .trim_end()
                .to_owned()
        }),
    })
}

/// A raised digit or minus as a plain one.
fn plain_digit(c: char) -> char {
    match c {
        '⁰' => '0',
        '¹' => '1',
        '²' => '2',
        '³' => '3',
        '⁴' => '4',
        '⁵' => '5',
        '⁶' => '6',
        '⁷' => '7',
        '⁸' => '8',
        '⁹' => '9',
        _ => '-',
    }
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
    if let Some(error) = grouped(text, number_text, unit_text) {
        return Err(error);
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

/// Digits behind a point, a blank or an apostrophe where a unit should begin.
fn grouped(text: &str, number: &str, unit: &str) -> Option<QuantityError> {
    let digits = unit.trim_start_matches(['.', '\'', '\u{2019}']);
    // "1/h" is a unit.
    let is_unit = digits.len() == unit.len() && digits.starts_with("1/");
    if is_unit || !digits.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let mut suggestion = String::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        if !(c.is_ascii_digit() || matches!(c, '.' | ' ' | '\'' | '\u{2019}' | '+' | '-')) {
            break;
        }
        if c.is_ascii_digit() || (suggestion.is_empty() && number.starts_with(c)) {
            suggestion.push(c);
        }
        rest = &rest[c.len_utf8()..];
    }
    Some(QuantityError::Grouped {
        suggestion: format!("{suggestion} {}", rest.trim())
            .trim_end()
            .to_owned(),
    })
}

/// The text without the point in its number, where that may stand between thousands: one to three digits,
/// the first of them no zero, and exactly three behind the point.
#[must_use]
pub fn without_thousands_point(text: &str) -> Option<String> {
    let text = plain(text);
    let (number, unit) = split_number(&text);
    let (whole, decimals) = number.split_once('.')?;
    let is_group = (1..=3).contains(&whole.len())
        && !whole.starts_with('0')
        && whole.bytes().all(|b| b.is_ascii_digit())
        && decimals.len() == 3
        && decimals.bytes().all(|b| b.is_ascii_digit());
    is_group.then(|| format!("{whole}{decimals} {unit}").trim_end().to_owned())
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
    // "grad C", "degrees C", "deg.": whatever stands before the letter.
    if quantity == Quantity::Temperature && key.starts_with(['d', 'g']) {
        return Some(if key.ends_with('f') { "degF" } else { "degC" });
    }
    if key.chars().count() > 20 {
        return None;
    }
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
pub(super) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim().chars() {
        match c {
            '²' => out.push('2'),
            '³' => out.push('3'),
            '·' | '⋅' | '×' | '*' => out.push(' '),
            '−' | '–' => out.push('-'),
            // The ring of a keyboard's accents looks the same.
            '°' | 'º' | '˚' => out.push_str("deg"),
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
pub(super) fn split_number(text: &str) -> (&str, &str) {
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
mod tests;

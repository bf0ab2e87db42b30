//! Numbers as tables write them: with a decimal point or a decimal comma.

/// What parts a number's whole from its decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Decimals {
    #[default]
    Point,
    Comma,
}

impl Decimals {
    /// What most numbers are written with, of which so many have a comma and so many a point; a point where
    /// that does not tell.
    pub const fn of_counts(commas: usize, points: usize) -> Self {
        if commas > points {
            Self::Comma
        } else {
            Self::Point
        }
    }

    const fn name(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }

    const fn sign(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }

    const fn other(self) -> Self {
        match self {
            Self::Point => Self::Comma,
            Self::Comma => Self::Point,
        }
    }

    /// A plain number, or what is wrong with it and what to write instead. `unit` is named to whoever wrote
    /// something else.
    pub fn number(self, text: &str, unit: &str) -> Result<f64, (String, String)> {
        let plain = text.replace('\u{2212}', "-");
        let other = self.other();
        if plain.contains(other.sign()) {
            let mended = plain.replace(other.sign(), &self.sign().to_string());
            return Err((
                format!("\"{text}\" has a {} in it", other.name()),
                format!("write decimals with a {}: {mended}", self.name()),
            ));
        }
        match plain.replace(',', ".").parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(number),
            _ => {
                let unit = if unit.is_empty() {
                    String::new()
                } else {
                    format!(", in {unit}")
                };
                Err((
                    format!("\"{text}\" is not a number"),
                    format!("write a plain number{unit}"),
                ))
            }
        }
    }
}

/// Whether a text is a number in either way of writing.
pub(crate) fn is_number(text: &str) -> bool {
    let digits = text.trim_start_matches(['-', '+', '\u{2212}']);
    digits.starts_with(|c: char| c.is_ascii_digit())
        && digits
            .chars()
            .all(|c| c.is_ascii_digit() || c == '.' || c == ',')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_in_the_way_of_most() {
        assert_eq!(Decimals::of_counts(2, 1), Decimals::Comma);
        assert_eq!(Decimals::of_counts(1, 2), Decimals::Point);
        assert_eq!(Decimals::of_counts(0, 0), Decimals::Point);
        assert_eq!(Decimals::Comma.number("\u{2212}3,25", ""), Ok(-3.25));
        assert_eq!(Decimals::Point.number("24.5", ""), Ok(24.5));
        let (message, help) = Decimals::Comma.number("24.5", "").unwrap_err();
        assert!(
            message.contains("point") && help.contains("24,5"),
            "{message} {help}"
        );
        assert!(Decimals::Point.number("1,5", "").is_err());
        assert!(
            Decimals::Comma
                .number("NaN", "degC")
                .unwrap_err()
                .1
                .contains("in degC")
        );
    }
}

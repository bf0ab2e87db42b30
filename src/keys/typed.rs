//! What was typed for a quantity: its value in SI, or what is wrong with it.

use super::problem::{Mark, Problem, Sort};
use super::schema::{Field, Range};
use crate::quantity::{
    Quantity, QuantityError, System, format_temperature, parse, parse_within,
    without_thousands_point, without_within,
};

/// What was typed at a key that takes a quantity.
pub(super) struct Typed<'a> {
    /// The key with its tables.
    pub path: &'a str,
    pub text: &'a str,
    pub mark: &'a Mark,
    pub field: &'static Field,
    pub range: Range,
    /// Whether odd values are told: those of the catalogue have been looked at.
    pub with_hints: bool,
}

/// What came of it.
#[derive(Default)]
pub(super) struct Outcome {
    /// The value in SI, when it is legal.
    pub si: Option<f64>,
    /// To within how much it is known, in SI, where that was written.
    pub within: Option<f64>,
    pub problem: Option<Problem>,
    /// Whether a comma stood for the decimal point.
    pub decimal_comma: bool,
    /// Where the point may stand between thousands: what to say then.
    pub point: Option<Point>,
}

/// A number such as 1.600, and whether both of its readings are usual values.
pub(super) struct Point {
    pub problem: Problem,
    pub both_usual: bool,
}

impl Typed<'_> {
    pub fn read(&self) -> Outcome {
        match parse_within(self.text, self.range.quantity) {
            Ok((si, within)) => Outcome {
                within,
                ..self.in_range(si)
            },
            Err(error) => self.unreadable(&error),
        }
    }

    fn problem(&self, message: String, help: String) -> Problem {
        Problem::at(self.mark, message).help(help).of(Sort::Value)
    }

    fn unreadable(&self, error: &QuantityError) -> Outcome {
        let path = self.path;
        let message = match error {
            QuantityError::Bare { .. } => format!("`{path}` has no unit"),
            error => format!("`{path}`: {error}"),
        };
        let unit = self.range.likely_unit(self.text);
        let mut help = error.help(self.range.quantity, unit);
        if matches!(
            error,
            QuantityError::NotANumber | QuantityError::NotFinite | QuantityError::Empty
        ) && !self.field.example.is_empty()
        {
            help = format!("{help}; for example {}", self.field.sample());
        }
        Outcome {
            problem: Some(self.problem(message, help)),
            decimal_comma: matches!(error, QuantityError::Comma { suggestion } if suggestion.contains('.')),
            ..Outcome::default()
        }
    }

    fn in_range(&self, si: f64) -> Outcome {
        let (path, range) = (self.path, self.range);
        let typed = without_within(self.text).trim();
        let read_as = if range.quantity == Quantity::Temperature && !typed.ends_with('C') {
            let celsius = format_temperature(si, System::Si);
            let absolute = if typed.ends_with('K') {
                "an absolute temperature: "
            } else {
                ""
            };
            format!(" ({absolute}{celsius})")
        } else {
            String::new()
        };
        if !range.is_within(si, range.hard) {
            let message = format!(
                "`{path}` is {typed}{read_as}, but has to lie between {} and {}",
                range.limit_text(range.hard.0),
                range.limit_text(range.hard.1)
            );
            return Outcome {
                problem: Some(self.problem(message, self.field.help())),
                ..Outcome::default()
            };
        }
        let is_odd = !range.is_within(si, range.usual);
        let problem = (self.with_hints && is_odd).then(|| {
            let message = format!(
                "`{path}` is {typed}{read_as}; usual are {}",
                range.limits_text(range.usual)
            );
            self.problem(message, self.field.help()).as_hint()
        });
        Outcome {
            si: Some(si.clamp(range.si(range.hard.0), range.si(range.hard.1))),
            problem,
            point: self.point(si),
            ..Outcome::default()
        }
    }

    /// What to say of a point that may stand between thousands.
    fn point(&self, si: f64) -> Option<Point> {
        let whole = without_thousands_point(without_within(self.text))?;
        let range = self.range;
        let other = parse(&whole, range.quantity).ok()?;
        let message = format!(
            "`{}` is read as {}: is its point one for decimals, or between thousands?",
            self.path,
            range.quantity.for_people(si, range.unit)
        );
        let text = without_within(self.text);
        let unit = text.trim_start_matches(['0', '1', '2', '3', '4', '5', '6', '7', '8', '9', '.']);
        let number = &text[..text.len() - unit.len()];
        let short = number.trim_end_matches('0').trim_end_matches('.');
        let help = format!("write \"{short}{unit}\" or \"{whole}\"");
        Some(Point {
            problem: self.problem(message, help),
            both_usual: range.is_within(si, range.usual) && range.is_within(other, range.usual),
        })
    }
}

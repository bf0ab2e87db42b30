//! Margins beside what is required: rounded so that the numbers say the same as the verdict.

use super::format::{System, format_number};

/// More decimals than anybody asks for; JSON has no more either.
const MOST_DECIMALS: usize = 4;

/// The fewest decimals, one at least, at which every pair keeps its order when both are rounded. None if
/// [`MOST_DECIMALS`] are not enough.
fn decimals_apart(pairs: &[(f64, f64)]) -> Option<usize> {
    (1..=MOST_DECIMALS).find(|decimals| {
        let rounded = |v: f64| -> f64 {
            // As text does it, and as the reader takes it.
            format!("{v:.decimals$}").parse().unwrap_or(v)
        };
        pairs
            .iter()
            .all(|(a, b)| (a < b) == (rounded(*a) < rounded(*b)))
    })
}

/// A margin and the one that is required, as they are shown side by side. A margin that is less than
/// required looks so, one below nothing too, whatever it takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShownMargin {
    margin: f64,
    required: f64,
    decimals: usize,
    unit: &'static str,
}

impl ShownMargin {
    /// From both in K.
    #[must_use]
    pub fn new(margin_K: f64, required_K: f64, system: System) -> Self {
        let margin = system.difference(margin_K);
        let required = system.difference(required_K);
        let apart = decimals_apart(&[(margin, required), (margin, 0.0)]);
        let decimals = apart.unwrap_or(MOST_DECIMALS);
        let last_place = 0.1_f64.powi(MOST_DECIMALS as i32);
        // A hair below a bar is shown below it: one step of the last place too cool a promise is no harm.
        let margin = if apart.is_some() {
            margin
        } else {
            (margin / last_place).ceil() * last_place - last_place
        };
        Self {
            margin,
            required,
            decimals,
            unit: system.difference_unit(),
        }
    }

    /// The margin as a number in a table.
    #[must_use]
    pub fn number(&self) -> String {
        let decimals = self.decimals;
        format!("{:.decimals$}", self.margin)
    }

    /// The margin with its unit.
    #[must_use]
    pub fn text(&self) -> String {
        format!(
            "{} {}",
            format_number(self.margin, self.decimals),
            self.unit
        )
    }

    /// How far above the limit, with its unit, for a margin below nothing.
    #[must_use]
    pub fn above(&self) -> String {
        format!(
            "{} {}",
            format_number(-self.margin, self.decimals),
            self.unit
        )
    }

    /// What is required, with its unit.
    #[must_use]
    pub fn required(&self) -> String {
        format!(
            "{} {}",
            format_number(self.required, self.decimals),
            self.unit
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(margin_K: f64, required_K: f64) -> (String, String) {
        let s = ShownMargin::new(margin_K, required_K, System::Si);
        (s.text(), s.required())
    }

    fn pair(a: &str, b: &str) -> (String, String) {
        (a.to_owned(), b.to_owned())
    }

    #[test]
    fn numbers_are_apart_where_the_verdict_says_so_and_short_elsewhere() {
        assert_eq!(shown(2.96, 3.0), pair("2.96 K", "3.00 K"));
        assert_eq!(shown(2.9996, 3.0), pair("2.9996 K", "3.0000 K"));
        assert_eq!(shown(3.02, 3.04), pair("3.02 K", "3.04 K"));
        assert_eq!(shown(2.9, 3.0), pair("2.9 K", "3.0 K"));
        assert_eq!(shown(3.04, 3.0), pair("3.0 K", "3.0 K"));
        assert_eq!(shown(-0.04, 3.0), pair("\u{2212}0.04 K", "3.00 K"));
        assert_eq!(shown(0.0, 0.0), pair("0.0 K", "0.0 K"));
        assert_eq!(ShownMargin::new(-0.04, 3.0, System::Si).above(), "0.04 K");
        // 2.97 K are 5.346 °F and 3 K are 5.4.
        let us = ShownMargin::new(2.97, 3.0, System::Us);
        assert_eq!((us.text(), us.required()), pair("5.3 °F", "5.4 °F"));
    }

    /// What no digit tells apart is shown on the side where it is.
    #[test]
    fn a_hair_below_looks_below() {
        assert_eq!(shown(3.0 - 1e-9, 3.0), pair("2.9999 K", "3.0000 K"));
        assert_eq!(shown(-1e-9, 3.0), pair("\u{2212}0.0001 K", "3.0000 K"));
    }

    proptest::proptest! {
        /// What is read from the numbers is the verdict.
        #[test]
        fn what_is_read_is_what_is_meant(off_K in -0.2..0.2, required_K in 0.0..10.0, near_zero: bool) {
            let margin_K: f64 = if near_zero { off_K } else { required_K + off_K };
            let s = ShownMargin::new(margin_K, required_K, System::Si);
            let margin: f64 = s.number().parse().expect("a number");
            let required = s.required();
            let required: f64 = required.trim_end_matches(" K").parse().expect("a number");
            proptest::prop_assert_eq!(margin < required, margin_K < required_K);
            proptest::prop_assert_eq!(margin < 0.0, margin_K < 0.0);
        }
    }
}

//! Signs by which files say that they do not know a temperature.

/// Words that loggers and services write instead of a number.
const WORDS: [&str; 7] = ["", "-", "na", "n/a", "nan", "null", "none"];
/// Numbers that stand for no value: none is air on Earth in any unit. 99.9 is not among them: in °F it is a
/// hot afternoon.
const NUMBERS: [f64; 7] = [999.0, 999.9, 9999.0, 9999.9, 99999.0, -999.0, -9999.0];

/// Whether a cell says that there is no value.
pub(crate) fn is_mark(cell: &str) -> bool {
    let is_word = WORDS.iter().any(|word| cell.eq_ignore_ascii_case(word));
    is_word || is_number_mark(cell)
}

/// Whether a cell is a number that stands for no value.
pub(super) fn is_number_mark(cell: &str) -> bool {
    // Most cells are short; none that is a mark is plausible, and reading a number costs more than this.
    let maybe = cell.trim_start_matches('-').starts_with("999");
    maybe
        && cell
            .replace(',', ".")
            .parse()
            .is_ok_and(|number: f64| NUMBERS.contains(&number))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_known_and_air_is_not_one() {
        for mark in [
            "", "-", "NaN", "null", "N/A", "999.9", "999,9", "9999", "-9999", "-9999.0",
        ] {
            assert!(is_mark(mark), "{mark}");
        }
        for air in [
            "0", "-0.5", "9.9", "99", "99.9", "-99.9", "-9.9", "35,2", "warm", "990",
        ] {
            assert!(!is_mark(air), "{air}");
        }
    }
}

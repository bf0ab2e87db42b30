//! Signs by which loggers say that nothing was measured.

use crate::weather::absent::is_mark;

/// Words by which loggers say that a thermometer can't be read, beside those that stand for no value anywhere.
const NOT_READ: [&str; 8] = [
    "ol", "open", "over", "err", "error", "fault", "#n/a", "#value!",
];

/// Whether a cell says that nothing was measured.
pub(super) fn is_no_value(cell: &str) -> bool {
    is_mark(cell)
        || cell.bytes().all(|b| b"-*.?".contains(&b))
        || NOT_READ.iter().any(|word| cell.eq_ignore_ascii_case(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_of_loggers_are_known_and_temperatures_are_none() {
        for mark in ["", "---", "NaN", "999.9", "OL", "open", "-", "****", "Err"] {
            assert!(is_no_value(mark), "{mark}");
        }
        for value in ["0", "-5", "24,5", "999", "warm", "over 9"] {
            assert_eq!(is_no_value(value), value == "999", "{value}");
        }
    }
}

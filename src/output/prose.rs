//! Prose in lines: where a text may break, and how wide it is.
//!
//! Texts on a screen and titles of pictures break at the same places.

use unicode_width::UnicodeWidthStr;

/// The parts of a text between which a line may break: its words, but a number stays with its unit or whatever
/// follows it, and "day" with its number.
#[must_use]
pub fn pieces(text: &str) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    let mut stays = false;
    for word in text.split_whitespace() {
        match pieces.last_mut() {
            Some(last) if stays || (ends_with_word(last, "day") && is_number(word)) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => pieces.push(word.to_owned()),
        }
        let after_unit = pieces.last().is_some_and(|p| p.contains(' '));
        stays = is_number(word) || (after_unit && is_unfinished(word));
    }
    pieces
}

/// Whether a unit goes on behind a space: the "J/(kg" of "J/(kg K)", the "m2" of "m2 K/W".
fn is_unfinished(unit: &str) -> bool {
    let is_open = unit.rfind('(') > unit.rfind(')') && !unit.starts_with('(');
    is_open || matches!(unit, "m2" | "m²")
}

fn ends_with_word(text: &str, word: &str) -> bool {
    text.rsplit(' ').next() == Some(word)
}

/// Whether a word is a number or a span of numbers and nothing else, so that its unit may follow.
fn is_number(word: &str) -> bool {
    let digits = word.trim_start_matches(['(', '+', '-', '−', '±', '<', '>', '≤', '≥', '×', '~']);
    let plain = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '–' | '−');
    digits.starts_with(|c: char| c.is_ascii_digit())
        && digits.ends_with(|c: char| c.is_ascii_digit())
        && digits.chars().all(plain)
}

/// Columns of a screen that a text takes.
#[must_use]
pub fn columns(text: &str) -> usize {
    text.width()
}

/// The text and so many spaces that it takes `width` columns.
#[must_use]
pub fn padded(text: &str, width: usize) -> String {
    let missing = width.saturating_sub(columns(text));
    format!("{text}{}", " ".repeat(missing))
}

/// Breaks a text into lines of at most `width` columns. Only a word that is longer than a line sticks out.
#[must_use]
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    for piece in pieces(text) {
        // What is kept together but has no room in any line breaks where it must.
        let whole = columns(&piece) <= width;
        let parts = if whole {
            vec![piece.as_str()]
        } else {
            piece.split(' ').collect()
        };
        for part in parts {
            let last = lines.len() - 1;
            let line = &mut lines[last];
            if line.is_empty() {
                line.push_str(part);
            } else if columns(line) + 1 + columns(part) <= width {
                line.push(' ');
                line.push_str(part);
            } else {
                lines.push(part.to_owned());
            }
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_keeps_its_unit_and_a_day_its_number() {
        let text = "reaches 52.1 °C on day 3 at 17:04, (0.5 W/K more) and 15–20 min, 2, 3 K.";
        assert_eq!(
            pieces(text),
            [
                "reaches",
                "52.1 °C",
                "on",
                "day 3 at",
                "17:04,",
                "(0.5 W/K",
                "more)",
                "and",
                "15–20 min,",
                "2,",
                "3 K."
            ]
        );
        assert_eq!(
            pieces("needs 900 J/(kg K) or 0.1 m2 K/W, an m2 here"),
            [
                "needs",
                "900 J/(kg K)",
                "or",
                "0.1 m2 K/W,",
                "an",
                "m2",
                "here"
            ]
        );
        for width in 10..90 {
            for line in wrap(text, width) {
                let last = line.rsplit(' ').next().expect("a word");
                assert!(!is_number(last), "{width}: {line}");
            }
        }
    }

    #[test]
    fn no_line_is_wider_than_asked_and_no_word_is_lost() {
        let text = "guide tube led outside the chamber, 100 mm of it left inside; 温度 52.1 °C";
        for width in 12..60 {
            let lines = wrap(text, width);
            assert_eq!(lines.join(" "), text);
            assert!(lines.iter().all(|l| columns(l) <= width), "{lines:?}");
        }
        assert_eq!(wrap("", 40), [""]);
        // A word longer than a line is not cut.
        assert_eq!(
            wrap("a very-long-name.toml", 6),
            ["a", "very-long-name.toml"]
        );
    }

    #[test]
    fn wide_letters_take_two_columns() {
        assert_eq!(columns("温度 5 °C"), 9);
        assert_eq!(padded("温", 4), "温  ");
    }
}

//! Text that others wrote - names, file names, what stands in their files - made plain before people see
//! it: it may not move the cursor, change colours, turn the direction of reading or begin a line of its own.
//!
//! Names are made plain where they are read, so files for programs have the signs too.

use std::borrow::Cow;

/// The text in one line: white space as spaces, everything that would act instead of being read as a sign
/// that stands for it.
#[must_use]
pub fn plain(text: &str) -> Cow<'_, str> {
    replaced(text, |c| match c {
        '\t' | '\n' | '\u{b}' | '\u{c}' | '\r' | '\u{85}' | '\u{2028}' | '\u{2029}' => Some(' '),
        c => sign_for(c),
    })
}

/// The text with its lines, and nothing else that acts.
#[cfg(feature = "pictures")]
#[must_use]
pub fn plain_lines(text: &str) -> Cow<'_, str> {
    replaced(text, |c| match c {
        '\n' | '\t' => None,
        c => sign_for(c),
    })
}

/// What goes to a terminal, with its lines and colours (`ESC [ numbers m`) and nothing else that acts.
#[cfg(feature = "cli")]
#[must_use]
pub fn plain_with_colours(text: &str) -> Cow<'_, str> {
    const ESCAPE: char = '\u{1b}';
    if !text.contains(ESCAPE) {
        return plain_lines(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut parts = text.split(ESCAPE);
    out.push_str(&plain_lines(parts.next().unwrap_or("")));
    for part in parts {
        let rest = part
            .strip_prefix('[')
            .map(|rest| rest.trim_start_matches(|c: char| c.is_ascii_digit() || c == ';'));
        let colours = rest
            .and_then(|rest| rest.strip_prefix('m'))
            .map(|rest| part.len() - rest.len());
        match colours {
            Some(end) => {
                out.push(ESCAPE);
                out.push_str(&part[..end]);
                out.push_str(&plain_lines(&part[end..]));
            }
            None => {
                out.extend(sign_for(ESCAPE));
                out.push_str(&plain_lines(part));
            }
        }
    }
    Cow::Owned(out)
}

fn replaced(text: &str, by: impl Fn(char) -> Option<char>) -> Cow<'_, str> {
    if text.chars().all(|c| by(c).is_none()) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.chars().map(|c| by(c).unwrap_or(c)).collect())
}

/// The sign for a character that acts: Unicode's pictures of control characters, or the general sign of
/// replacement where there is no picture.
fn sign_for(c: char) -> Option<char> {
    match c {
        '\0'..='\u{1f}' => char::from_u32(0x2400 + u32::from(c)),
        '\u{7f}' => Some('\u{2421}'),
        // C1 controls; marks, embeddings, overrides and isolates of direction (UAX #9); line ends.
        '\u{80}'..='\u{9f}'
        | '\u{61c}'
        | '\u{200e}'
        | '\u{200f}'
        | '\u{2028}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}' => Some('\u{fffd}'),
        _ => None,
    }
}

#[cfg(test)]
#[cfg(feature = "cli")]
mod tests {
    use super::*;

    #[test]
    fn ordinary_text_is_untouched() {
        let text = "Prüfstück №3 “2 µm” – 電気 ₂ é";
        assert!(matches!(plain(text), Cow::Borrowed(t) if t == text));
        assert!(matches!(plain_lines("a\n\tb"), Cow::Borrowed("a\n\tb")));
    }

    #[test]
    fn what_acts_is_shown_as_a_sign() {
        assert_eq!(plain("a\u{1b}[31mb\u{7}\u{7f}"), "a␛[31mb␇␡");
        assert_eq!(plain("a\nholds: b\r\tc\u{2028}d\u{85}"), "a holds: b  c d ");
        assert_eq!(plain("\u{9b}31m\u{202e}\u{2066}\u{200f}"), "�31m���");
        assert_eq!(plain_lines("a\nb\r\u{1b}c"), "a\nb␍␛c");
    }

    #[test]
    fn colours_pass_and_nothing_like_them() {
        let colours = "\u{1b}[1;31merror\u{1b}[0m: x\n";
        assert_eq!(plain_with_colours(colours), colours);
        for (wild, shown) in [
            ("\u{1b}[2Jx", "␛[2Jx"),
            ("\u{1b}]0;title\u{7}", "␛]0;title␇"),
            ("\u{1b}[31", "␛[31"),
            ("\u{1b}\u{1b}[m\u{9b}2J", "␛\u{1b}[m�2J"),
            ("a\rb", "a␍b"),
        ] {
            assert_eq!(plain_with_colours(wild), shown);
        }
    }

    proptest::proptest! {
        #[test]
        fn nothing_that_acts_is_left(text in "(\\PC|[\\x00-\\x1f\\x7f-\\x9f\u{202a}-\u{202e}\u{2066}-\u{2069}]){0,40}") {
            let acts = |c: &char| c.is_control() || sign_for(*c).is_some();
            proptest::prop_assert!(!plain(&text).chars().any(|c| acts(&c)));
            proptest::prop_assert_eq!(plain(&text).chars().count(), text.chars().count());
        }
    }
}

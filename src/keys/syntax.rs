//! What is said of a line that is not TOML: the usual slips of people who rarely write it, each with the line
//! as it should be.

use super::problem::{Problem, Sort};
use super::source::{Mark, Source};
use std::collections::HashSet;
use std::sync::Arc;
use toml::de::DeTable;

/// Reports what a parser stumbled over, once a line: one slip often makes it stumble several times there.
pub(super) fn report(
    source: &Arc<Source>,
    errors: &[toml::de::Error],
    problems: &mut Vec<Problem>,
) {
    let mut seen_lines = HashSet::new();
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        let (line, _) = source.line_and_column(span.start);
        if !seen_lines.insert(line) {
            continue;
        }
        let mark = Mark {
            source: Arc::clone(source),
            span,
        };
        let message = format!("this is not valid TOML: {}", error.message());
        let help = help(source.line(line), error.message());
        problems.push(Problem::at(&mark, message).help(help).of(Sort::Syntax));
    }
}

/// What to write instead of a line.
fn help(line: &str, message: &str) -> String {
    if message.contains("duplicate key") {
        return if line.trim_start().starts_with('[') {
            "a table's header stands once: write its keys under the first one, or, if this was to be \
             another table, give it that name"
                .to_owned()
        } else {
            "write each key once; delete or rename the other one".to_owned()
        };
    }
    // Nobody types lines so long, and mending one would take time.
    if line.len() > 1_000 {
        return "one key = value a line; quotes and brackets come in pairs".to_owned();
    }
    match mended(line) {
        Some((why, line)) => format!("{}: {line}", why.words()),
        None if line.trim_start().starts_with('[') => {
            "a table's header is a line such as [room]".to_owned()
        }
        None => match line.split_once('=') {
            Some((key, value)) if value.trim().is_empty() => {
                format!("a value is missing after {} =", key.trim())
            }
            Some(_) => "one key = value a line; quotes and brackets come in pairs".to_owned(),
            None => "a line is either [table], key = value or # comment".to_owned(),
        },
    }
}

/// Why a line had to be mended: what is told of it. The first that applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Slip {
    CurlyQuotes,
    YesOrNo,
    NoQuotes,
    QuoteMissing,
    NoEquals,
    Brackets,
    Backslash,
    TooMuch,
}

impl Slip {
    const fn words(self) -> &'static str {
        match self {
            Self::CurlyQuotes => "quotation marks must be the straight ones",
            Self::YesOrNo => "yes and no are written true and false, without quotes",
            Self::NoQuotes => "texts and values with a unit stand in quotes",
            Self::QuoteMissing => "a quotation mark is missing",
            Self::NoEquals => "a key and its value are joined by =",
            Self::Brackets => "a table's header stands in square brackets",
            Self::Backslash => "folders are parted by / in every system",
            Self::TooMuch => "write nothing else in the line",
        }
    }
}

/// The line as it should be, where that is clear, and what was wrong with it.
fn mended(line: &str) -> Option<(Slip, String)> {
    let line = line.replace(['\u{a0}', '\u{202f}'], " ");
    let straight = straightened(&line);
    let mut slip = (straight != line).then_some(Slip::CurlyQuotes);
    let mended = if is_valid(&straight) {
        straight
    } else {
        let (parts, first) = parts_of(without_comment(&straight).trim())?;
        slip = slip.or(Some(first));
        match parts {
            Parts::Header(name) => format!("[{name}]"),
            Parts::Value(key, value) => {
                let (value, found) = value_of(value)?;
                slip = match (slip, found) {
                    // A missing sign between key and value is the first thing to say.
                    (Some(first @ (Slip::CurlyQuotes | Slip::NoEquals)), _) => Some(first),
                    (first, found) => found.or(first),
                };
                format!("{key} = {value}")
            }
        }
    };
    (is_valid(&mended) && mended != line).then_some((slip?, mended))
}

/// What a line is made of.
enum Parts<'a> {
    Header(&'a str),
    Value(String, &'a str),
}

fn parts_of(line: &str) -> Option<(Parts<'_>, Slip)> {
    let is_key = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.');
    let bare = line.trim_matches(['[', ']', '(', ')', '{', '}', ' ', ':']);
    let is_bracketed = line.starts_with(['[', '(', '{']);
    if !bare.is_empty() && bare.chars().all(is_key) && (is_bracketed || !line.contains('=')) {
        return Some((Parts::Header(bare), Slip::Brackets));
    }
    let line = line.trim_start_matches(['-', '*']).trim_start();
    let (key, rest) = match line.find(['=', ':']) {
        // A colon within the value is no separator: `start 2026-07-13 07:00`.
        Some(at) if !line[..at].contains('"') && is_words(&line[..at]) => line.split_at(at),
        _ => line.split_at(line.find(|c| !is_key(c))?),
    };
    let key = key.trim().trim_matches('"').replace(' ', "_");
    let has_equals = rest.starts_with('=');
    let value = rest.trim_start_matches(['=', ':', ' ', '\t']);
    // Prose is no key with its value.
    let is_value = |c: char| c.is_ascii_digit() || c == '"';
    if !has_equals && !rest.starts_with(':') && !value.starts_with(is_value) {
        return None;
    }
    let slip = if has_equals {
        Slip::TooMuch
    } else {
        Slip::NoEquals
    };
    let ok = !key.is_empty() && key.chars().all(is_key) && !value.is_empty();
    ok.then_some((Parts::Value(key, value), slip))
}

/// Whether a text could be a key of some words, and holds no digits as a date would.
fn is_words(text: &str) -> bool {
    let is_word = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.' | ' ' | '\t');
    text.trim().chars().all(is_word) && !text.trim().contains(" 2")
}

/// A value as it should be, and what was wrong with it, if anything.
fn value_of(value: &str) -> Option<(String, Option<Slip>)> {
    // Lists and tables in a line: nobody can say where the slip is.
    if value.starts_with(['[', '{']) {
        return None;
    }
    let quotes = value.matches('"').count();
    let inner = match value.strip_prefix('"').map(|rest| rest.split_once('"')) {
        // What follows the closing quote is too much.
        Some(Some((inner, _))) => inner,
        Some(None) => &value[1..],
        None => value.trim_end_matches([',', ';']).trim_end_matches('"'),
    };
    let inner = inner.trim();
    let slip = match quotes {
        0 => Some(Slip::NoQuotes),
        1 => Some(Slip::QuoteMissing),
        _ => None,
    };
    if inner.contains('\\') {
        let text = inner.replace("\\\\", "/").replace('\\', "/");
        return Some((format!("\"{text}\""), Some(Slip::Backslash)));
    }
    if let Some(flag) = flag_of(inner).filter(|_| quotes == 0) {
        return Some((flag.to_string(), Some(Slip::YesOrNo)));
    }
    // 60,5 degC: the comma would be the next thing to be told.
    let (head, tail) = inner.split_once(',').unwrap_or((inner, ""));
    let is_decimal = !head.is_empty()
        && head
            .trim_start_matches(['-', '+'])
            .bytes()
            .all(|b| b.is_ascii_digit())
        && tail.starts_with(|c: char| c.is_ascii_digit());
    let text = if is_decimal {
        format!("{head}.{tail}")
    } else {
        inner.to_owned()
    };
    if is_decimal && text.parse::<f64>().is_ok() {
        return Some((text, Some(Slip::TooMuch)));
    }
    Some((format!("\"{}\"", text.replace('"', "")), slip))
}

/// The flag for which someone wrote a word, in whatever letters.
pub(super) fn flag_of(word: &str) -> Option<bool> {
    match word.trim().to_ascii_lowercase().as_str() {
        "yes" | "true" | "on" | "y" => Some(true),
        "no" | "false" | "off" | "n" => Some(false),
        _ => None,
    }
}

fn straightened(line: &str) -> String {
    let curly = ['“', '”', '„', '‟', '«', '»', '″', '＂'];
    let single = ['‘', '’', '‚', '‹', '›', '`', '´'];
    let mut text = line.replace(curly, "\"");
    // Within straight quotes an apostrophe is a letter.
    if !text.contains('"') {
        text = text.replace(single, "\"");
    }
    text
}

/// A line up to its comment: `#`, or what other languages begin one with.
fn without_comment(line: &str) -> &str {
    let mut quoted = false;
    for (at, c) in line.char_indices() {
        quoted ^= c == '"';
        let rest = &line[at..];
        if !quoted && (c == '#' || rest.starts_with(" //") || rest.starts_with(" ;")) {
            return &line[..at];
        }
    }
    line
}

fn is_valid(line: &str) -> bool {
    DeTable::parse_recoverable(line).1.is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_mended_and_named() {
        for (line, slip, mended_line) in [
            ("bed = “60 degC”", Slip::CurlyQuotes, "bed = \"60 degC\""),
            ("bed = ‘60 degC’", Slip::CurlyQuotes, "bed = \"60 degC\""),
            ("bed = „60 degC“", Slip::CurlyQuotes, "bed = \"60 degC\""),
            ("bed = ”60 degC\"", Slip::CurlyQuotes, "bed = \"60 degC\""),
            ("bed: “60 degC”", Slip::CurlyQuotes, "bed = \"60 degC\""),
            ("closed = yes", Slip::YesOrNo, "closed = true"),
            ("closed = FALSE", Slip::YesOrNo, "closed = false"),
            ("bed = 60 degC", Slip::NoQuotes, "bed = \"60 degC\""),
            ("bed = 60°C # warm", Slip::NoQuotes, "bed = \"60°C\""),
            ("bed = 60,5 degC", Slip::NoQuotes, "bed = \"60.5 degC\""),
            ("motion = 0,5", Slip::TooMuch, "motion = 0.5"),
            ("name = pla", Slip::NoQuotes, "name = \"pla\""),
            ("bed = \"60 degC", Slip::QuoteMissing, "bed = \"60 degC\""),
            ("bed = 60 degC\"", Slip::QuoteMissing, "bed = \"60 degC\""),
            ("bed \"60 degC\"", Slip::NoEquals, "bed = \"60 degC\""),
            ("bed: \"60 degC\"", Slip::NoEquals, "bed = \"60 degC\""),
            ("bed 60 degC", Slip::NoEquals, "bed = \"60 degC\""),
            (
                "start: 2026-07-13 07:00",
                Slip::NoEquals,
                "start = \"2026-07-13 07:00\"",
            ),
            ("bed == \"60 degC\"", Slip::TooMuch, "bed = \"60 degC\""),
            ("bed = \"60 degC\",", Slip::TooMuch, "bed = \"60 degC\""),
            ("bed = \"60 degC\";", Slip::TooMuch, "bed = \"60 degC\""),
            ("bed = \"60 degC\" // x", Slip::TooMuch, "bed = \"60 degC\""),
            ("heat up = \"9 min\"", Slip::TooMuch, "heat_up = \"9 min\""),
            ("[room", Slip::Brackets, "[room]"),
            ("(room)", Slip::Brackets, "[room]"),
            ("room:", Slip::Brackets, "[room]"),
            (
                "series = \"a\\b\\m.csv\"",
                Slip::Backslash,
                "series = \"a/b/m.csv\"",
            ),
        ] {
            assert_eq!(mended(line), Some((slip, mended_line.to_owned())), "{line}");
        }
    }

    #[test]
    fn what_is_not_clear_is_not_mended() {
        for line in ["pause = [{ at = 3 }", "=", "\"", "", "ü ü ü", "bed ="] {
            assert_eq!(mended(line), None, "{line}");
            assert!(!help(line, "x").is_empty());
        }
        assert_eq!(help("bed =", "x"), "a value is missing after bed =");
    }

    proptest::proptest! {
        #[test]
        fn no_line_makes_it_panic(line in "\\PC{0,40}") {
            let _ = help(&line, "");
        }

        /// Whatever is proposed is TOML.
        #[test]
        fn what_is_proposed_is_toml(line in "[a-z_ =:\"“”‘’\\\\0-9.,;#\\[\\](){}-]{0,24}") {
            if let Some((_, mended)) = mended(&line) {
                proptest::prop_assert!(is_valid(&mended), "{}", mended);
            }
        }
    }
}

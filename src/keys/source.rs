//! A text with its name, and places in it.

use crate::plain::plain;
use std::ops::Range;
use std::sync::{Arc, OnceLock};

/// A text with the name it is known by.
#[derive(Debug)]
pub struct Source {
    /// File name as shown to the user.
    pub name: String,
    /// The whole text.
    pub text: String,
    /// Made when the first place is asked for: a file with a hundred thousand mistakes is not counted
    /// through a hundred thousand times.
    lines: OnceLock<Lines>,
}

impl PartialEq for Source {
    fn eq(&self, other: &Self) -> bool {
        (&self.name, &self.text) == (&other.name, &other.text)
    }
}

impl Eq for Source {}

impl Source {
    /// A text with its name, to be shared.
    #[must_use]
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Arc<Self> {
        Arc::new(Self::of(name, text))
    }

    /// A text with its name.
    #[must_use]
    pub fn of(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self {
            name: plain(&name.into()).into_owned(),
            text: text.into(),
            lines: OnceLock::new(),
        }
    }

    /// Line and column of a byte offset, both counted from 1, the column in characters.
    #[must_use]
    pub fn line_and_column(&self, offset: usize) -> (usize, usize) {
        self.lines().place(self.text.as_bytes(), offset)
    }

    /// A line, counted from 1, without its end; empty where there is none.
    #[must_use]
    pub fn line(&self, number: usize) -> &str {
        let line = number.checked_sub(1).and_then(|at| {
            let starts = &self.lines().starts;
            let begin = *starts.get(at)?;
            self.text
                .get(begin..starts.get(at + 1).copied().unwrap_or(self.text.len()))
        });
        line.unwrap_or("").trim_end_matches(['\n', '\r'])
    }

    /// The bytes of the whole lines in which a stretch lies, and the number of the first.
    pub(super) fn lines_around(&self, span: &Range<usize>) -> (Range<usize>, usize) {
        let starts = &self.lines().starts;
        let first = self.lines().line_at(span.start);
        // An empty stretch, or one that ends with its line, does not reach into the next.
        let last = self
            .lines()
            .line_at(span.end.saturating_sub(1).max(span.start));
        let begin = starts[first];
        let end = starts.get(last + 1).copied().unwrap_or(self.text.len());
        (begin..end, first + 1)
    }

    fn lines(&self) -> &Lines {
        self.lines.get_or_init(|| Lines::of(self.text.as_bytes()))
    }
}

/// A place in a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// The text.
    pub source: Arc<Source>,
    /// Bytes from and to.
    pub span: Range<usize>,
}

/// Line and column (in characters) of a byte offset, from 1, in a text that is asked once.
pub(super) fn line_and_column(text: &[u8], offset: usize) -> (usize, usize) {
    Lines::of(text).place(text, offset)
}

/// Where the lines of a text begin, and how many characters lie before each block of it.
#[derive(Debug)]
struct Lines {
    starts: Vec<usize>,
    /// Characters that begin before byte `k * BLOCK`: a file may be one long line.
    characters: Vec<usize>,
}

const BLOCK: usize = 1024;

impl Lines {
    fn of(text: &[u8]) -> Self {
        let mut starts = vec![0];
        let mut characters = Vec::with_capacity(text.len() / BLOCK + 1);
        let mut count = 0;
        for (at, byte) in text.iter().enumerate() {
            if at % BLOCK == 0 {
                characters.push(count);
            }
            count += usize::from(begins_character(*byte));
            if *byte == b'\n' {
                starts.push(at + 1);
            }
        }
        Self { starts, characters }
    }

    /// The line, counted from 0, in which a byte lies.
    fn line_at(&self, offset: usize) -> usize {
        self.starts
            .partition_point(|start| *start <= offset)
            .saturating_sub(1)
    }

    fn place(&self, text: &[u8], offset: usize) -> (usize, usize) {
        let offset = offset.min(text.len());
        let line = self.line_at(offset);
        let column = self.before(text, offset) - self.before(text, self.starts[line]);
        (line + 1, column + 1)
    }

    /// How many characters begin before a byte.
    fn before(&self, text: &[u8], offset: usize) -> usize {
        let block = (offset / BLOCK).min(self.characters.len().saturating_sub(1));
        let rest = &text[(block * BLOCK).min(offset)..offset];
        self.characters.get(block).copied().unwrap_or(0)
            + rest.iter().filter(|byte| begins_character(**byte)).count()
    }
}

/// Whether a byte of UTF-8 is not the continuation of a character.
const fn begins_character(byte: u8) -> bool {
    byte & 0b1100_0000 != 0b1000_0000
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counted by hand from the front, at every byte of a text with long lines and foreign letters.
    #[test]
    fn places_are_those_that_counting_finds() {
        let text = format!("a\nÄö\r\n{}\n\n{}ß", "xü".repeat(900), "y".repeat(1500));
        let source = Source::of("t", text.as_str());
        for at in (0..=text.len()).filter(|at| text.is_char_boundary(*at)) {
            let before = &text[..at];
            let line = 1 + before.matches('\n').count();
            let column = 1 + before.rsplit('\n').next().map_or(0, |l| l.chars().count());
            assert_eq!(source.line_and_column(at), (line, column), "{at}");
        }
        assert_eq!(source.line_and_column(usize::MAX).0, 5);
        assert_eq!((source.line(2), source.line(4)), ("Äö", ""));
        assert_eq!((source.line(0), source.line(6)), ("", ""));
        assert_eq!(Source::of("t", "").line_and_column(3), (1, 1));
    }
}

//! What is wrong with a file, and how it is shown: file, line, column, the line itself with a
//! caret, what is wrong and what to write instead.

use crate::plain::plain;
use annotate_snippets::{AnnotationKind, Level, Origin, Renderer, Snippet};
use std::ops::Range;
use std::sync::Arc;

pub use super::nearest::nearest;
pub use super::problems::Problems;
pub use super::source::{Mark, Source};

/// Whether the file can be used in spite of the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Severity {
    /// It can't.
    Error,
    /// It can, but the value is legal and odd.
    Hint,
}

/// What sort of thing is wrong. Of very many of one sort in one file, some are shown and the others counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sort {
    /// A key that is not known, or not there.
    Key,
    /// A value.
    Value,
    /// A line that is not TOML.
    Syntax,
    /// A row of a table.
    Row,
    /// Anything else.
    Other,
}

impl Sort {
    /// One or several of them that are not shown, as in "1,142 more rows like this".
    pub(super) const fn words(self, one: bool) -> &'static str {
        match (self, one) {
            (Self::Key, true) => "key like this",
            (Self::Key, false) => "keys like this",
            (Self::Value, true) => "value like this",
            (Self::Value, false) => "values like this",
            (Self::Syntax, true) => "line like this",
            (Self::Syntax, false) => "lines like this",
            (Self::Row, true) => "row like this",
            (Self::Row, false) => "rows like this",
            (Self::Other, true) => "mistake",
            (Self::Other, false) => "mistakes",
        }
    }
}

/// One thing that is wrong with a file, or odd about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Error or hint.
    pub severity: Severity,
    /// What sort of thing it is.
    pub sort: Sort,
    /// File name as shown to the user.
    pub file: String,
    /// Bytes from and to, where the place is known and the file is text.
    pub span: Option<Range<usize>>,
    /// Line, from 1.
    pub line: Option<usize>,
    /// Column, from 1, in characters.
    pub column: Option<usize>,
    /// What is wrong.
    pub message: String,
    /// What to write instead.
    pub help: Option<String>,
    source: Option<Arc<Source>>,
}

impl Problem {
    /// An error that belongs to a file as a whole.
    #[must_use]
    pub fn in_file(file: impl Into<String>, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Error,
            sort: Sort::Other,
            file: plain(&file.into()).into_owned(),
            span: None,
            line: None,
            column: None,
            message: plain(&message.into()).into_owned(),
            help: None,
            source: None,
        }
    }

    /// An error at a place of a text.
    #[must_use]
    pub fn at(mark: &Mark, message: impl Into<String>) -> Self {
        let text = &mark.source.text;
        // Spans come from parsers; a bad one must not bring down the drawing of the message.
        let mut begin = mark.span.start.min(text.len());
        while !text.is_char_boundary(begin) {
            begin -= 1;
        }
        let mut end = mark.span.end.clamp(begin, text.len());
        while !text.is_char_boundary(end) {
            end += 1;
        }
        let (line, column) = mark.source.line_and_column(begin);
        Self {
            span: Some(begin..end),
            line: Some(line),
            column: Some(column),
            source: Some(Arc::clone(&mark.source)),
            ..Self::in_file(mark.source.name.clone(), message)
        }
    }

    /// An error at a place if it is known, else in the file as a whole.
    #[must_use]
    pub fn at_or_in(mark: Option<&Mark>, file: &str, message: impl Into<String>) -> Self {
        match mark {
            Some(mark) => Self::at(mark, message),
            None => Self::in_file(file, message),
        }
    }

    /// With what to write instead.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        let help = help.into();
        if !help.is_empty() {
            self.help = Some(plain(&help).into_owned());
        }
        self
    }

    /// As one of a sort, of which there may be very many.
    #[must_use]
    pub const fn of(mut self, sort: Sort) -> Self {
        self.sort = sort;
        self
    }

    /// With a line and column in a file whose text can't be shown.
    #[must_use]
    pub const fn at_line(mut self, line: usize, column: usize) -> Self {
        self.line = Some(line);
        self.column = Some(column);
        self
    }

    /// As a hint: legal but odd.
    #[must_use]
    pub const fn as_hint(mut self) -> Self {
        self.severity = Severity::Hint;
        self
    }

    /// Whether it makes the file unusable.
    #[must_use]
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }

    /// The drawing for a terminal (`styled`, with colours) or for plain text.
    #[must_use]
    pub fn render(&self, styled: bool) -> String {
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Hint => Level::WARNING.with_name("hint"),
        };
        let renderer = if styled {
            Renderer::styled()
        } else {
            Renderer::plain()
        };
        let mut group = level
            .primary_title(self.message.as_str())
            .elements(Vec::<Origin>::new());
        match (&self.source, &self.span) {
            (Some(source), Some(span)) => {
                // Only its own lines are handed on: a file may have a million.
                let (lines, first) = source.lines_around(&shown_part(source, span));
                let at = |offset: usize| offset.clamp(lines.start, lines.end) - lines.start;
                let annotation = AnnotationKind::Primary.span(at(span.start)..at(span.end));
                group = group.element(
                    Snippet::source(&source.text[lines.clone()])
                        .path(self.file.as_str())
                        .line_start(first)
                        .annotation(annotation),
                );
            }
            _ => {
                let mut origin = Origin::path(self.file.as_str());
                if let (Some(line), Some(column)) = (self.line, self.column) {
                    origin = origin.line(line).char_column(column);
                }
                group = group.element(origin);
            }
        }
        if let Some(help) = &self.help {
            group = group.element(Level::HELP.message(wrapped(help)));
        }
        renderer.render(&[group])
    }
}

/// Of a stretch that runs over many lines, the beginning.
fn shown_part(source: &Source, span: &Range<usize>) -> Range<usize> {
    const MOST_LINES: usize = 6;
    let text = &source.text[span.clone()];
    let end = text.match_indices('\n').nth(MOST_LINES - 1);
    span.start..end.map_or(span.end, |(at, _)| span.start + at)
}

/// Broken into lines that fit a terminal of 80 columns beside the drawing's margin. What stands in
/// quotes is broken too: a list of keys has no other place.
fn wrapped(text: &str) -> String {
    const WIDTH: usize = 66;
    let mut out = String::with_capacity(text.len() + 8);
    let mut column = 0;
    for word in text.split(' ') {
        let length = word.chars().count();
        if column > 0 && column + 1 + length > WIDTH {
            out.push('\n');
            column = 0;
        } else if column > 0 {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += length;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn drawing_shows_file_line_column_caret_and_help() {
        let source = Source::new("run.toml", "[part]\nmass = 2.3\n");
        let mark = Mark {
            source,
            span: 14..17,
        };
        let problem = Problem::at(&mark, "`part.mass` has no unit").help("write \"2.3 kg\"");
        assert_eq!((problem.line, problem.column), (Some(2), Some(8)));
        let text = problem.render(false);
        for needle in [
            "error: `part.mass` has no unit",
            "run.toml:2:8",
            "mass = 2.3",
            "^^^",
            "help: write",
        ] {
            assert!(text.contains(needle), "{needle} missing in\n{text}");
        }
        assert!(
            !text.contains('\u{1b}'),
            "plain text carries no colour codes"
        );
    }

    #[test]
    fn help_fits_eighty_columns() {
        let names: Vec<String> = (0..40).map(|n| format!("`key_{n}`")).collect();
        let problem = Problem::in_file("run.toml", "x").help(names.join(", "));
        let text = problem.render(false);
        assert!(
            text.lines().all(|line| line.chars().count() <= 80),
            "{text}"
        );
        assert!(text.contains("`key_39`"));
    }

    #[test]
    fn a_wild_span_does_no_harm() {
        let source = Source::new("run.toml", "name = \"Prüfstück\"\n");
        for span in [10..11, 11..12, 0..999, 999..1000] {
            let mark = Mark {
                source: Arc::clone(&source),
                span,
            };
            assert!(!Problem::at(&mark, "x").render(false).is_empty());
        }
    }
}

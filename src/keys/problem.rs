//! What is wrong with a file, and how it is shown: file, line, column, the line itself with a
//! caret, what is wrong and what to write instead.

use crate::plain::plain;
use annotate_snippets::{AnnotationKind, Level, Origin, Renderer, Snippet};
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// A text with the name it is known by.
#[derive(Debug, PartialEq, Eq)]
pub struct Source {
    /// File name as shown to the user.
    pub name: String,
    /// The whole text.
    pub text: String,
}

impl Source {
    /// A text with its name.
    #[must_use]
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Arc<Self> {
        Arc::new(Self {
            name: plain(&name.into()).into_owned(),
            text: text.into(),
        })
    }

    /// Line and column of a byte offset, both counted from 1, the column in characters.
    #[must_use]
    pub fn line_and_column(&self, offset: usize) -> (usize, usize) {
        line_and_column(self.text.as_bytes(), offset)
    }
}

/// Line and column (in characters) of a byte offset, from 1.
pub(crate) fn line_and_column(text: &[u8], offset: usize) -> (usize, usize) {
    let before = &text[..offset.min(text.len())];
    let line_start = before
        .iter()
        .rposition(|b| *b == b'\n')
        .map_or(0, |at| at + 1);
    let line = 1 + before.iter().filter(|b| **b == b'\n').count();
    let column = 1 + String::from_utf8_lossy(&before[line_start..])
        .chars()
        .count();
    (line, column)
}

/// A place in a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// The text.
    pub source: Arc<Source>,
    /// Bytes from and to.
    pub span: Range<usize>,
}

/// Whether the file can be used in spite of the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// It can't.
    Error,
    /// It can, but the value is legal and odd.
    Hint,
}

/// One thing that is wrong with a file, or odd about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Error or hint.
    pub severity: Severity,
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
                let annotation = AnnotationKind::Primary.span(span.clone());
                group = group.element(
                    Snippet::source(source.text.as_str())
                        .path(self.file.as_str())
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

/// Everything that is wrong with a run file and the files it names, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problems(Vec<Problem>);

impl Problems {
    /// Sorted: the first file named comes first, within a file from top to bottom.
    #[must_use]
    pub fn new(mut problems: Vec<Problem>) -> Self {
        let mut files: Vec<String> = Vec::new();
        for problem in &problems {
            if !files.contains(&problem.file) {
                files.push(problem.file.clone());
            }
        }
        let rank = |file: &str| files.iter().position(|f| f == file);
        problems.sort_by(|a, b| {
            let key = |p: &Problem| (rank(&p.file), p.line, p.column);
            key(a).cmp(&key(b))
        });
        Self(problems)
    }

    /// The problems.
    #[must_use]
    pub fn as_slice(&self) -> &[Problem] {
        &self.0
    }

    /// The drawing of all of them.
    #[must_use]
    pub fn render(&self, styled: bool) -> String {
        let parts: Vec<_> = self
            .0
            .iter()
            .map(|problem| problem.render(styled))
            .collect();
        parts.join("\n\n")
    }
}

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Self(vec![problem])
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

impl std::error::Error for Problems {}

/// The name among `known` that is nearest to what was typed, if it is near enough to be a slip.
#[must_use]
pub fn nearest<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let fold = |text: &str| text.to_lowercase().replace(['-', ' '], "_");
    let typed = fold(typed);
    known
        .into_iter()
        .map(|name| {
            let name_folded = fold(name);
            let distance = strsim::damerau_levenshtein(&typed, &name_folded);
            // "power" for "max_power" is far by letters and near by meaning.
            let part = typed.len() >= 3
                && (name_folded.starts_with(&typed) || name_folded.ends_with(&typed));
            (if part { distance.min(1) } else { distance }, name)
        })
        .filter(|(distance, name)| *distance <= (name.len().max(typed.len()) / 3).max(1))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
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

    #[test]
    fn nearest_forgives_slips_but_not_strangers() {
        let known = ["duration", "max_power", "petg", "pla"];
        assert_eq!(nearest("durration", known), Some("duration"));
        assert_eq!(nearest("Max-Power", known), Some("max_power"));
        assert_eq!(nearest("power", known), Some("max_power"));
        assert_eq!(nearest("elephant", known), None);
    }
}

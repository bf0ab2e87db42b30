//! Lines and cells of a table in text (RFC 4180, and its kin with other separators).
//!
//! Lines are handed over one after the other and not kept: a logger's file has millions. Where a cell stands
//! is worked out when somebody asks.

use super::Separator;
use crate::keys::problem::{Mark, Problem, Source};
use std::ops::{ControlFlow, Range};
use std::sync::Arc;

/// A text and what parts its cells.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Table {
    pub source: Arc<Source>,
    pub separator: Separator,
    /// Where its cells stand, if it was a sheet.
    sheet: Option<Arc<SheetPlace>>,
}

/// Where a sheet's cells stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct SheetPlace {
    pub sheet: String,
    /// Row of the text's first line, from 0.
    pub row: usize,
    /// Column of its first cells, from 0.
    pub column: usize,
}

impl SheetPlace {
    /// A cell's name: `B12`.
    fn cell(&self, line: usize, at: usize) -> String {
        let mut letters = String::new();
        let mut column = self.column + at + 1;
        while column > 0 {
            let letter = u8::try_from((column - 1) % 26).unwrap_or_default();
            letters.insert(0, char::from(b'A' + letter));
            column = (column - 1) / 26;
        }
        format!("{letters}{}", self.row + line)
    }
}

/// A line of a table.
pub(crate) struct Line<'a> {
    table: &'a Table,
    record: &'a csv::StringRecord,
    /// Which of the table's lines it is, from 0; blank ones do not count.
    pub at: usize,
}

impl Table {
    pub fn new(source: &Arc<Source>, separator: Separator) -> Self {
        Self {
            source: Arc::clone(source),
            separator,
            sheet: None,
        }
    }

    /// The same text with other cells.
    pub fn parted_by(&self, separator: Separator) -> Self {
        Self {
            separator,
            ..self.clone()
        }
    }

    /// The cells of a sheet, parted by tabs.
    pub fn of_sheet(source: &Arc<Source>, place: SheetPlace) -> Self {
        Self {
            sheet: Some(Arc::new(place)),
            ..Self::new(source, Separator::Tab)
        }
    }

    /// Whether it was a sheet of a spreadsheet.
    pub const fn is_sheet(&self) -> bool {
        self.sheet.is_some()
    }

    /// A table whose first line names its columns: it tells what parts them.
    pub fn with_header(source: &Arc<Source>) -> Self {
        let first = source.text.lines().find(|line| !line.trim().is_empty());
        Self::new(source, Separator::of_header(first.unwrap_or_default()))
    }

    /// Hands over each line that is not blank, until told to stop.
    pub fn lines(&self, mut each: impl FnMut(&Line<'_>) -> ControlFlow<()>) {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(self.separator.byte())
            .from_reader(self.source.text.as_bytes());
        let mut record = csv::StringRecord::new();
        let mut at = 0;
        // Text of any number of cells a line is read without error.
        while let Ok(true) = reader.read_record(&mut record) {
            let line = Line {
                table: self,
                record: &record,
                at,
            };
            if each(&line).is_break() {
                return;
            }
            at += 1;
        }
    }

    /// What one line gives, by its number; none where there is no such line.
    pub fn line<T>(&self, number: usize, give: impl FnOnce(&Line<'_>) -> T) -> Option<T> {
        let (mut give, mut given) = (Some(give), None);
        self.lines(|line| {
            if line.at < number {
                return ControlFlow::Continue(());
            }
            given = give.take().map(|give| give(line));
            ControlFlow::Break(())
        });
        given
    }
}

impl Line<'_> {
    /// The cells without the blanks around them.
    pub fn cells(&self) -> impl Iterator<Item = &str> {
        self.record.iter().map(str::trim)
    }

    /// A cell without the blanks around it; none where the line is too short.
    pub fn cell(&self, at: usize) -> Option<&str> {
        self.record.get(at).map(str::trim)
    }

    /// Whether all its cells are blank, as spreadsheets end their tables.
    pub fn is_blank(&self) -> bool {
        self.cells().all(str::is_empty)
    }

    /// How many cells it has.
    pub fn len(&self) -> usize {
        self.record.len()
    }

    /// Where a cell stands, or the line's end where the line is too short.
    pub fn mark(&self, at: usize) -> Mark {
        let spans = self.spans();
        let span = spans.get(at).cloned().unwrap_or_else(|| {
            let end = spans.last().map_or(0, |span| span.end);
            end..end
        });
        self.marked(span)
    }

    /// Where the whole line stands.
    pub fn whole(&self) -> Mark {
        let spans = self.spans();
        let (first, last) = (spans.first(), spans.last());
        self.marked(first.map_or(0, |s| s.start)..last.map_or(0, |s| s.end))
    }

    /// An error in a cell.
    pub fn problem(&self, at: usize, message: impl Into<String>) -> Problem {
        match &self.table.sheet {
            None => Problem::at(&self.mark(at), message),
            Some(place) => self.problem_in_sheet(place, at, message),
        }
    }

    /// An error of the line as a whole.
    pub fn problem_of_all(&self, message: impl Into<String>) -> Problem {
        match &self.table.sheet {
            None => Problem::at(&self.whole(), message),
            Some(place) => self.problem_in_sheet(place, 0, message),
        }
    }

    fn problem_in_sheet(
        &self,
        place: &SheetPlace,
        at: usize,
        message: impl Into<String>,
    ) -> Problem {
        let source = &self.table.source;
        let (line, _) = source.line_and_column(self.whole().span.start);
        let cell = place.cell(line, at);
        let file = format!("{}, sheet \"{}\", cell {cell}", source.name, place.sheet);
        Problem::in_file(file, message)
    }

    /// Its line in the file, or its row in the sheet, from 1.
    pub fn number(&self) -> usize {
        let (line, _) = self.table.source.line_and_column(self.whole().span.start);
        line + self.table.sheet.as_ref().map_or(0, |place| place.row)
    }

    fn marked(&self, span: Range<usize>) -> Mark {
        Mark {
            source: Arc::clone(&self.table.source),
            span,
        }
    }

    /// Where each cell stands, without its quotes.
    fn spans(&self) -> Vec<Range<usize>> {
        let text = self.table.source.text.as_bytes();
        let begin = self.record.position().map_or(0, csv::Position::byte);
        let mut at = usize::try_from(begin).unwrap_or(0).min(text.len());
        // Blank lines are skipped, but still counted to the line that follows them.
        while matches!(text.get(at), Some(b'\r' | b'\n')) {
            at += 1;
        }
        // The reader passes over a byte order mark.
        if at == 0 && text.starts_with("\u{feff}".as_bytes()) {
            at = 3;
        }
        let mut spans = Vec::with_capacity(self.record.len());
        for _ in 0..self.record.len() {
            let (span, next) = cell_at(text, at, self.table.separator.byte());
            spans.push(span);
            at = next;
        }
        spans
    }
}

/// The cell that begins at a place, and where the next one would begin.
fn cell_at(text: &[u8], begin: usize, separator: u8) -> (Range<usize>, usize) {
    let mut at = begin;
    let mut inside = None;
    if text.get(at) == Some(&b'"') {
        at += 1;
        let from = at;
        while let Some(byte) = text.get(at) {
            match (byte, text.get(at + 1)) {
                (b'"', Some(b'"')) => at += 2,
                (b'"', _) => break,
                _ => at += 1,
            }
        }
        inside = Some(from..at.min(text.len()));
        at += 1;
    }
    while let Some(byte) = text.get(at)
        && *byte != separator
        && !matches!(byte, b'\r' | b'\n')
    {
        at += 1;
    }
    let at = at.min(text.len());
    (inside.unwrap_or(begin..at), at + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cell_knows_its_place() {
        let text = "a;b\r\n\r\n1;\"x;\"\"y\"\" z\";3\n\n  4 ;5";
        let table = Table::new(&Source::new("t.csv", text), Separator::Semicolon);
        let mut seen = Vec::new();
        table.lines(|line| {
            for at in 0..=line.len() {
                let problem = line.problem(at, "x");
                let cell = line.cell(at).unwrap_or("-").to_owned();
                seen.push((cell, problem.line.unwrap_or(0), problem.column.unwrap_or(0)));
            }
            ControlFlow::Continue(())
        });
        let want = [
            ("a", 1, 1),
            ("b", 1, 3),
            ("-", 1, 4),
            ("1", 3, 1),
            ("x;\"y\" z", 3, 4),
            ("3", 3, 15),
            ("-", 3, 16),
            ("4", 5, 1),
            ("5", 5, 6),
            ("-", 5, 7),
        ];
        let want = want.map(|(cell, line, column)| (cell.to_owned(), line, column));
        assert_eq!(seen, want);
    }

    #[test]
    fn cells_of_a_sheet_have_their_names() {
        let place = SheetPlace {
            sheet: "Log".to_owned(),
            row: 4,
            column: 1,
        };
        let names = [(1, 0), (8, 1), (1, 24), (1, 25), (2, 700)].map(|(l, c)| place.cell(l, c));
        assert_eq!(names, ["B5", "C12", "Z5", "AA5", "ZZ6"].map(str::to_owned));
        let table = Table::of_sheet(&Source::new("t.xlsx", "a\tb\n\n1\t2\n"), place);
        let told = table.line(1, |line| (line.problem(1, "x").file, line.number()));
        assert_eq!(told, Some(("t.xlsx, sheet \"Log\", cell C7".to_owned(), 7)));
    }

    #[test]
    fn a_line_is_found_by_its_number() {
        let table = Table::new(&Source::new("t.csv", "a\n\nb\nc\n"), Separator::Comma);
        let third = table.line(2, |line| line.cell(0).map(str::to_owned));
        assert_eq!(third, Some(Some("c".to_owned())));
        assert_eq!(table.line(3, |_| ()), None);
    }
}

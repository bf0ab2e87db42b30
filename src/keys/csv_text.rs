//! CSV texts (RFC 4180) whose every cell knows where it stands, so that a mistake in one can be shown.

use super::problem::{Mark, Problem, Source};
use std::ops::Range;
use std::sync::Arc;

/// More mistakes of one file than these help nobody.
const MOST_PROBLEMS: usize = 10;

/// A line of a CSV text.
pub(crate) struct Line<'a> {
    source: &'a Arc<Source>,
    record: csv::StringRecord,
    spans: Vec<Range<usize>>,
}

impl<'a> Line<'a> {
    fn new(source: &'a Arc<Source>, record: csv::StringRecord) -> Self {
        let spans = spans_of(&source.text, &record);
        Self {
            source,
            record,
            spans,
        }
    }

    /// The cells without the blanks around them.
    pub fn cells(&self) -> impl Iterator<Item = &str> {
        self.record.iter().map(str::trim)
    }

    /// A cell without the blanks around it; none where the line is too short.
    pub fn cell(&self, at: usize) -> Option<&str> {
        self.record.get(at).map(str::trim)
    }

    /// Where a cell stands, or the line's end where the line is too short.
    pub fn mark(&self, at: usize) -> Mark {
        Mark {
            source: Arc::clone(self.source),
            span: self.spans.get(at).cloned().unwrap_or_else(|| {
                let end = self.spans.last().map_or(0, |span| span.end);
                end..end
            }),
        }
    }

    /// Where the whole line stands.
    pub fn whole(&self) -> Mark {
        Mark {
            source: Arc::clone(self.source),
            span: self.spans.first().map_or(0, |s| s.start)..self.spans.last().map_or(0, |s| s.end),
        }
    }
}

/// The first line of a text, which names its columns, and the lines below it; none where there is no first
/// line, or one whose columns are not separated by commas, which then has been reported. `if_empty` says
/// that the text is empty, and what to write.
pub(crate) fn lines<'a>(
    source: &'a Arc<Source>,
    if_empty: (&str, &str),
    problems: &mut Vec<Problem>,
) -> Option<(Line<'a>, Vec<Line<'a>>)> {
    let not_csv = |error: &csv::Error| {
        Problem::in_file(source.name.clone(), format!("this is not CSV: {error}"))
    };
    let mut records = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .from_reader(source.text.as_bytes())
        .into_records();
    let header = match records.next() {
        Some(Ok(header)) => Line::new(source, header),
        Some(Err(error)) => {
            problems.push(not_csv(&error));
            return None;
        }
        None => {
            let (message, help) = if_empty;
            problems.push(Problem::in_file(source.name.clone(), message).help(help));
            return None;
        }
    };
    if header.record.len() == 1
        && let Some(name) = header.cell(0)
        && name.contains([';', '\t'])
    {
        let sign = if name.contains(';') {
            "semicolons"
        } else {
            "tabs"
        };
        let message = format!("the columns are separated by {sign}");
        problems.push(
            Problem::at(&header.whole(), message)
                .help("save the file with commas between columns and points in decimals"),
        );
        return None;
    }
    let mut below = Vec::new();
    for record in records {
        match record {
            Ok(record) => below.push(Line::new(source, record)),
            Err(error) => problems.push(not_csv(&error)),
        }
    }
    Some((header, below))
}

/// A plain number with a point for its decimals, or what is wrong with it and what to write instead.
/// `unit` is named to whoever wrote something else.
pub(crate) fn plain_number(text: &str, unit: &str) -> Result<f64, (String, String)> {
    let plain = text.replace('\u{2212}', "-");
    if plain.contains(',') {
        let help = format!("write decimals with a point: {}", plain.replace(',', "."));
        return Err((format!("\"{text}\" has a comma in it"), help));
    }
    match plain.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        _ => {
            let unit = if unit.is_empty() {
                String::new()
            } else {
                format!(", in {unit}")
            };
            Err((
                format!("\"{text}\" is not a number"),
                format!("write a plain number{unit}"),
            ))
        }
    }
}

/// Moves what was found in one file to what was found at all, but not more than anybody would read.
pub(crate) fn report(source: &Source, mut found: Vec<Problem>, problems: &mut Vec<Problem>) {
    if found.len() > MOST_PROBLEMS {
        let more = found.len() - MOST_PROBLEMS;
        found.truncate(MOST_PROBLEMS);
        found.push(Problem::in_file(
            source.name.clone(),
            format!("there are {more} more mistakes in this file"),
        ));
    }
    problems.append(&mut found);
}

/// Where each field of a record stands in the text.
fn spans_of(text: &str, record: &csv::StringRecord) -> Vec<Range<usize>> {
    let start = record.position().map_or(0, csv::Position::byte);
    let mut cursor = usize::try_from(start).unwrap_or(0).min(text.len());
    // Blank lines are skipped, but still counted to the record that follows them.
    cursor += text[cursor..].len() - text[cursor..].trim_start_matches(['\r', '\n']).len();
    let mut spans = Vec::with_capacity(record.len());
    for (at, field) in record.iter().enumerate() {
        if at > 0 {
            cursor += text[cursor..].find(',').map_or(0, |comma| comma + 1);
        }
        let begin = cursor + text[cursor..].find(field).unwrap_or(0);
        cursor = (begin + field.len()).min(text.len());
        while !text.is_char_boundary(cursor) {
            cursor -= 1;
        }
        spans.push(begin.min(cursor)..cursor);
    }
    spans
}

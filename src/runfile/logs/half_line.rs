//! The last line of a file that is still being written.

use crate::keys::problem::Source;
use crate::table::Table;
use crate::weather::frame::Frame;
use std::ops::ControlFlow;

/// The table without its last line, if that is half written: without a line's end, and with fewer cells than the row
/// before it or a shorter last one. `read` are the columns that are read. At worst one row too few is read; half a number would be a
/// wrong one.
pub(super) fn without(table: &Table, frame: &Frame, read: &[usize]) -> Option<Table> {
    let text = table.source.text.as_str();
    if table.is_sheet() || text.ends_with(['\n', '\r']) {
        return None;
    }
    let last = text.rfind(['\n', '\r'])? + 1;
    let before = text[..last].trim_end_matches(['\n', '\r']);
    let row = before.rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let both = Table::new(&Source::new("", &text[row..]), table.separator);
    let mut lines: Vec<Vec<String>> = Vec::new();
    both.lines(|line| {
        lines.push(line.cells().map(str::to_owned).collect());
        ControlFlow::Continue(())
    });
    let [row, last_row] = &lines[..] else {
        return None;
    };
    let end = last_row.len().saturating_sub(1);
    let is_read = frame.time.is(end) || read.contains(&end);
    let is_header = row.iter().eq(&frame.names);
    // The row before may itself be torn and have fewer cells.
    let length = |cells: &[String]| cells.get(end).map_or(0, String::len);
    let is_shorter = || length(last_row) < length(row);
    let is_half = last_row.len() < row.len() || (is_read && !is_header && is_shorter());
    is_half.then(|| {
        let source = Source::new(table.source.name.clone(), &text[..last]);
        Table::new(&source, table.separator)
    })
}

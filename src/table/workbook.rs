//! A sheet of a spreadsheet as text: a line for each row, tabs between cells, dates as ISO 8601 writes them.

use super::text::SheetPlace;
use crate::keys::problem::Problem;

/// Whether bytes are those of a spreadsheet: a zip archive, or the container of older ones.
pub(super) fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0])
}

/// The text of one sheet, and where in its file it stands.
///
/// # Errors
/// When it is no spreadsheet, or has not just one sheet with cells and none or another was asked for.
#[cfg(feature = "spreadsheets")]
pub(super) fn sheet(
    bytes: Vec<u8>,
    file: &str,
    asked: Option<&str>,
) -> Result<(String, SheetPlace), Box<Problem>> {
    use calamine::{Reader, open_workbook_auto_from_rs};
    let refuse =
        |message: String, help: String| Box::new(Problem::in_file(file, message).help(help));
    let broken = |error: calamine::Error| {
        let help = "save it anew, or save the sheet as CSV";
        refuse(
            format!("this spreadsheet can't be read: {error}"),
            help.to_owned(),
        )
    };
    let mut book = open_workbook_auto_from_rs(std::io::Cursor::new(bytes)).map_err(broken)?;
    let mut sheets = Vec::new();
    for name in book.sheet_names() {
        // Sheets of charts have no cells.
        if let Ok(range) = book.worksheet_range(&name)
            && range.start().is_some()
        {
            sheets.push((name, range));
        }
    }
    let names: Vec<&str> = sheets.iter().map(|(name, _)| name.as_str()).collect();
    let all = names.join(", ");
    let at = match asked {
        Some(name) => names
            .iter()
            .position(|n| n.eq_ignore_ascii_case(name))
            .ok_or_else(|| {
                refuse(
                    format!("there is no sheet \"{name}\" with cells"),
                    format!("its sheets are {all}"),
                )
            })?,
        None if names.len() == 1 => 0,
        None if names.is_empty() => {
            let help = "name a sheet with a table, or save it as CSV";
            return Err(refuse(
                "this spreadsheet has no cells".to_owned(),
                help.to_owned(),
            ));
        }
        None => {
            let help = format!(
                "write sheet = \"{}\" (or another) under [room] in the run file",
                names[0]
            );
            return Err(refuse(format!("several sheets have cells: {all}"), help));
        }
    };
    let (name, range) = sheets.swap_remove(at);
    let (row, column) = range.start().unwrap_or_default();
    let mut text = String::new();
    for cells in range.rows() {
        for (at, cell) in cells.iter().enumerate() {
            if at > 0 {
                text.push('\t');
            }
            text.push_str(&cell_text(cell));
        }
        text.push('\n');
    }
    let place = SheetPlace {
        sheet: name,
        row: row as usize,
        column: column as usize,
    };
    Ok((text, place))
}

/// Without the reader, spreadsheets are refused with what to do.
#[cfg(not(feature = "spreadsheets"))]
pub(super) fn sheet(
    _: Vec<u8>,
    file: &str,
    _: Option<&str>,
) -> Result<(String, SheetPlace), Box<Problem>> {
    let problem = Problem::in_file(
        file,
        "this is a spreadsheet, which this build does not read",
    );
    Err(Box::new(problem.help("save the sheet as CSV")))
}

#[cfg(feature = "spreadsheets")]
fn cell_text(cell: &calamine::Data) -> String {
    use calamine::Data;
    match cell {
        Data::Empty => String::new(),
        Data::String(text) | Data::DateTimeIso(text) | Data::DurationIso(text) => {
            text.replace(['\t', '\n', '\r', '"'], " ")
        }
        Data::Int(number) => number.to_string(),
        Data::Float(number) => number.to_string(),
        Data::Bool(flag) => flag.to_string(),
        Data::Error(error) => error.to_string(),
        Data::DateTime(time) => {
            let (year, month, day, hour, minute, second, milli) = time.to_ymd_hms_milli();
            let date = format!("{year:04}-{month:02}-{day:02}");
            let clock = format!("{hour:02}:{minute:02}:{second:02}.{milli:03}");
            let is_midnight = (hour, minute, second, milli) == (0, 0, 0, 0);
            // A day's first moment is its date: columns of dates have no time of day.
            match (time.as_f64() < 1.0, is_midnight) {
                (true, _) => clock,
                (false, true) => date,
                (false, false) => format!("{date} {clock}"),
            }
        }
    }
}

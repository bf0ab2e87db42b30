//! How every CSV file is written: RFC 4180, and safe to open in a spreadsheet.

use std::io::{self, Write};

/// A writer of rows.
pub(super) fn rows<W: Write>(to: W) -> csv::Writer<W> {
    csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(to)
}

/// What went wrong while writing, as the system said it, so that a closed pipe is known as one.
pub(super) fn io_error(e: csv::Error) -> io::Error {
    match e.into_kind() {
        csv::ErrorKind::Io(e) => e,
        other => io::Error::other(format!("{other:?}")),
    }
}

/// A text that others wrote, as a field. A spreadsheet takes what begins with one of these signs for a
/// formula and works it out; behind an apostrophe it is text.
pub(super) fn text_field(text: &str) -> String {
    // The last four are the same signs, full-width.
    const BEGIN_FORMULAS: [char; 10] = [
        '=', '+', '-', '@', '\t', '\r', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
    ];
    if text.trim_start_matches(' ').starts_with(BEGIN_FORMULAS) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_field_begins_a_formula() {
        for formula in [
            "=1+1",
            "+1",
            "-2",
            "@SUM(A1)",
            "\t=1",
            "\r=1",
            " =1",
            "\u{ff1d}1",
        ] {
            assert_eq!(text_field(formula), format!("'{formula}"));
        }
        for text in ["axial-80", "5 K cooler", "", "room = 24", "'=1"] {
            assert_eq!(text_field(text), text);
        }
    }
}

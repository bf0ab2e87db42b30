//! Which kind of file it is: told by what stands in it, never by its name. A name that says something else is
//! a mistake that somebody wants to know of.

use super::hourly::TextLine;
use super::rows::Format;
use super::{epw, isd_lite, tmy3};
use crate::keys::problem::{Problem, Source};
use std::path::Path;
use std::sync::Arc;

/// The format of a text.
pub(super) fn recognised(text: &str) -> Format {
    if epw::is_epw(text) {
        Format::Epw
    } else if tmy3::is_tmy3(text) {
        Format::Tmy3
    } else if isd_lite::is_isd_lite(text) {
        Format::IsdLite
    } else {
        Format::Table
    }
}

/// Whether a file's name says that it is EPW.
pub(super) fn is_named_epw(name: &str) -> bool {
    let extension = Path::new(name).extension();
    extension.is_some_and(|extension| extension.eq_ignore_ascii_case("epw"))
}

/// A file named .epw that is something else: what it looks like.
pub(super) fn not_epw(source: &Arc<Source>, format: Format) -> Problem {
    let rename = |what: &str, ending: &str| {
        (
            what.to_owned(),
            format!("name it {ending}, and it is read as what it is"),
        )
    };
    let fetch = "fetch the file again, as the EPW file itself";
    let mut lines = TextLine::all(source);
    let first = lines.next();
    let text = source.text.trim_start().to_ascii_lowercase();
    let begins = |word: &str| text.starts_with(word);
    let (looks, help) = match format {
        Format::Tmy3 => rename("a TMY3 file", ".csv"),
        Format::IsdLite => rename("an ISD-Lite file", ".txt"),
        Format::Epw | Format::Table => match first {
            None => ("an empty file".to_owned(), fetch.to_owned()),
            Some(line) if epw::is_hour(&line) => (
                "an EPW file without its header".to_owned(),
                "fetch it again: its first line begins with LOCATION".to_owned(),
            ),
            Some(_) if begins("<!doctype") || begins("<html") || begins("<?xml") || begins("<") => {
                (
                    "a web page".to_owned(),
                    format!("{fetch}: a page was saved instead"),
                )
            }
            Some(_) if begins("{") || begins("[") => ("JSON".to_owned(), fetch.to_owned()),
            Some(_) if begins("%pdf") => ("a PDF".to_owned(), fetch.to_owned()),
            Some(line) if source.text.contains('\0') => {
                let _ = line;
                ("no text at all".to_owned(), fetch.to_owned())
            }
            Some(line) if line.cells() > 1 || line.text.contains([';', '\t']) => {
                rename("a table", ".csv")
            }
            Some(_) => ("another text".to_owned(), fetch.to_owned()),
        },
    };
    let message =
        format!("this file is named .epw but looks like {looks}: its first line is no LOCATION");
    let problem = match first {
        Some(line) => {
            let end = line.text.find([',', ';', '\t']).unwrap_or(line.text.len());
            let end = line
                .text
                .char_indices()
                .map(|(at, _)| at)
                .take_while(|at| *at < 60)
                .last()
                .map_or(0, |_| end.min(60));
            line.problem(0..end, message)
        }
        None => Problem::in_file(source.name.clone(), message),
    };
    problem.help(help)
}

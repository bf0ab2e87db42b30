//! Reads text files, with errors that say what to do.

use super::nearest::did_you_mean;
use super::problem::Problem;
use super::source::line_and_column;
use std::io::ErrorKind;
use std::path::Path;

/// The text of a file, without a byte order mark.
pub(crate) fn text_of_file(path: &Path) -> Result<String, Box<Problem>> {
    text_of_bytes(bytes_of_file(path)?, &path.display().to_string())
}

/// The bytes of a file.
pub(crate) fn bytes_of_file(path: &Path) -> Result<Vec<u8>, Box<Problem>> {
    let shown = path.display().to_string();
    std::fs::read(path).map_err(|error| {
        let (message, help) = match error.kind() {
            ErrorKind::NotFound => ("there is no such file".to_owned(), similar_file(path)),
            _ if path.is_dir() => (
                "this is a folder, not a file".to_owned(),
                "name a file inside it".to_owned(),
            ),
            ErrorKind::PermissionDenied => (
                "you may not read this file".to_owned(),
                "ask for permission, or copy the file to a folder of your own".to_owned(),
            ),
            _ => (format!("the file can't be read: {error}"), String::new()),
        };
        Box::new(Problem::in_file(&shown, message).help(help))
    })
}

/// Bytes as text in UTF-8, without a byte order mark.
pub(crate) fn text_of_bytes(bytes: Vec<u8>, shown: &str) -> Result<String, Box<Problem>> {
    let help = "save it as plain text in UTF-8";
    if let Some(text) = utf_16(&bytes) {
        return text.ok_or_else(|| {
            let message = "this begins as UTF-16 text and then makes no sense";
            Box::new(Problem::in_file(shown, message).help(help))
        });
    }
    let mut text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let (line, column) = line_and_column(error.as_bytes(), at);
        Box::new(
            Problem::in_file(
                shown,
                format!(
                    "this is not UTF-8 text: byte {at} of the file, in line {line}, makes no sense"
                ),
            )
            .at_line(line, column)
            .help(help),
        )
    })?;
    if text.starts_with('\u{feff}') {
        text.drain(..'\u{feff}'.len_utf8());
    }
    Ok(text)
}

/// The text of bytes that begin with UTF-16's byte order mark, as some editors save files; an inner none where
/// it breaks off.
fn utf_16(bytes: &[u8]) -> Option<Option<String>> {
    let unit: fn([u8; 2]) -> u16 = match bytes {
        [0xFF, 0xFE, ..] => u16::from_le_bytes,
        [0xFE, 0xFF, ..] => u16::from_be_bytes,
        _ => return None,
    };
    let pairs = bytes[2..].chunks_exact(2);
    let is_whole = pairs.remainder().is_empty();
    let units: Vec<u16> = pairs.map(|pair| unit([pair[0], pair[1]])).collect();
    Some(String::from_utf16(&units).ok().filter(|_| is_whole))
}

/// A file of nearly that name in the same folder.
fn similar_file(path: &Path) -> String {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let Some(wanted) = path.file_name().and_then(|name| name.to_str()) else {
        return String::new();
    };
    if !folder.is_dir() {
        return format!("there is no folder {} either", folder.display());
    }
    let names: Vec<String> = std::fs::read_dir(folder)
        .map(|files| {
            files
                .flatten()
                .filter_map(|f| f.file_name().into_string().ok())
                .collect()
        })
        .unwrap_or_default();
    let shown = |near: &str| folder.join(near).display().to_string();
    did_you_mean(wanted, names.iter().map(String::as_str), shown).unwrap_or_default()
}

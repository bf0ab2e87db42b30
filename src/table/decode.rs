//! From a file's bytes to text.

use super::Table;
use super::workbook::{is_workbook, sheet};
use crate::keys::file::{bytes_of_file, text_of_bytes};
use crate::keys::problem::{Problem, Source};
use encoding_rs::{UTF_16BE, UTF_16LE, WINDOWS_1252};
use flate2::read::MultiGzDecoder;
use std::io::Read;
use std::path::Path;
use std::sync::Arc;

/// A file of data as it lies on the disk.
#[derive(Debug, Clone)]
pub(crate) struct DataFile {
    /// Its name as shown to the user.
    pub name: String,
    pub bytes: Vec<u8>,
}

/// How a text was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Encoding {
    Utf8,
    Utf16,
    /// The code page that covers Latin-1, in which old programs write °, é and ü.
    Windows1252,
    /// A sheet of a spreadsheet.
    Sheet,
}

/// How many bytes tell UTF-16 without a byte order mark.
const LOOKED_AT: usize = 1_000;

/// A packed file of nothing but zeros unpacks to a thousand times its size: this is enough, bytes.
const MOST_UNPACKED: u64 = 1_000_000_000;

impl DataFile {
    pub fn read(path: &Path) -> Result<Self, Box<Problem>> {
        Ok(Self {
            name: path.display().to_string(),
            bytes: bytes_of_file(path)?,
        })
    }

    /// The same file unpacked, if it was packed by gzip.
    ///
    /// # Errors
    /// When it is broken, or unpacks to more than any file of data is.
    pub fn unpacked(self) -> Result<Self, Box<Problem>> {
        if !self.bytes.starts_with(&[0x1F, 0x8B]) {
            return Ok(self);
        }
        let mut bytes = Vec::new();
        let mut reader = MultiGzDecoder::new(self.bytes.as_slice()).take(MOST_UNPACKED + 1);
        let told = match reader.read_to_end(&mut bytes) {
            Ok(_) if bytes.len() as u64 <= MOST_UNPACKED => None,
            Ok(_) => Some((
                "this packed file unpacks to more than 1 GB".to_owned(),
                "unpack it and keep the part that is needed",
            )),
            Err(error) => Some((
                format!("this packed file can't be unpacked: {error}"),
                "fetch it again: it was cut off, or changed on the way",
            )),
        };
        match told {
            None => Ok(Self {
                name: self.name,
                bytes,
            }),
            Some((message, help)) => Err(Box::new(Problem::in_file(self.name, message).help(help))),
        }
    }

    /// Its table, parted by what its first line has most of, and how it was written. Of a spreadsheet that is a
    /// sheet: the one of that name, or the only one.
    ///
    /// # Errors
    /// When it is UTF-8 that is broken somewhere, or a spreadsheet without just one such sheet.
    pub fn table(self, asked: Option<&str>) -> Result<(Table, Encoding), Box<Problem>> {
        if is_workbook(&self.bytes) {
            let (text, place) = sheet(self.bytes, &self.name, asked)?;
            let source = Source::new(self.name, text);
            return Ok((Table::of_sheet(&source, place), Encoding::Sheet));
        }
        let (source, encoding) = self.text()?;
        Ok((Table::with_header(&source), encoding))
    }

    /// Its text, and how it was written.
    ///
    /// # Errors
    /// When it is UTF-8 that is broken somewhere, or a spreadsheet.
    pub fn text(self) -> Result<(Arc<Source>, Encoding), Box<Problem>> {
        let Self { name, bytes } = self;
        if is_workbook(&bytes) {
            let problem = Problem::in_file(name, "this is a spreadsheet, and text is needed");
            return Err(Box::new(problem.help("save the sheet as CSV")));
        }
        let (text, encoding) = match utf16(&bytes) {
            Some(encoding) => (encoding.decode(&bytes).0.into_owned(), Encoding::Utf16),
            None if is_single_bytes(&bytes) => {
                let (text, _) = WINDOWS_1252.decode_without_bom_handling(&bytes);
                (text.into_owned(), Encoding::Windows1252)
            }
            None => (text_of_bytes(bytes, &name)?, Encoding::Utf8),
        };
        Ok((Source::new(name, text), encoding))
    }
}

/// UTF-16 tells itself by its mark, or by every other byte of plain letters and digits being zero.
fn utf16(bytes: &[u8]) -> Option<&'static encoding_rs::Encoding> {
    if bytes.starts_with(&[0xFF, 0xFE]) {
        return Some(UTF_16LE);
    }
    if bytes.starts_with(&[0xFE, 0xFF]) {
        return Some(UTF_16BE);
    }
    let pairs = bytes[..bytes.len().min(LOOKED_AT)].chunks_exact(2);
    let count = pairs.len();
    let zeros = |at: usize| pairs.clone().filter(|pair| pair[at] == 0).count();
    // Three of four: signs beyond Latin-1 have no zero byte.
    let most = |zeros: usize| count > 0 && 4 * zeros >= 3 * count;
    match (most(zeros(0)), most(zeros(1))) {
        (false, true) => Some(UTF_16LE),
        (true, false) => Some(UTF_16BE),
        _ => None,
    }
}

/// Whether a text is not UTF-8 and was not meant to be: broken UTF-8 has whole letters of several bytes
/// elsewhere, a text of single bytes has none.
fn is_single_bytes(bytes: &[u8]) -> bool {
    let mut rest = bytes;
    let mut broken = false;
    loop {
        match std::str::from_utf8(rest) {
            Ok(text) => return broken && text.is_ascii(),
            Err(error) => {
                if !rest[..error.valid_up_to()].is_ascii() {
                    return false;
                }
                broken = true;
                rest = &rest[error.valid_up_to() + error.error_len().unwrap_or(1)..];
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decoded(bytes: &[u8]) -> Result<(String, Encoding), Box<Problem>> {
        let file = DataFile {
            name: "t.csv".to_owned(),
            bytes: bytes.to_vec(),
        };
        file.text()
            .map(|(source, encoding)| (source.text.clone(), encoding))
    }

    #[test]
    fn texts_are_read_however_they_were_saved() {
        const TEXT: &str = "Zeit;Temperatur °C\n13.07.2026 07:00;24,5\n";
        let le: Vec<u8> = TEXT.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let be: Vec<u8> = TEXT.encode_utf16().flat_map(u16::to_be_bytes).collect();
        let latin: Vec<u8> = TEXT.chars().map(|c| c as u8).collect();
        let marked = |mark: &[u8], bytes: &[u8]| [mark, bytes].concat();
        for (bytes, encoding) in [
            (TEXT.as_bytes().to_vec(), Encoding::Utf8),
            (marked(&[0xEF, 0xBB, 0xBF], TEXT.as_bytes()), Encoding::Utf8),
            (marked(&[0xFF, 0xFE], &le), Encoding::Utf16),
            (marked(&[0xFE, 0xFF], &be), Encoding::Utf16),
            (le.clone(), Encoding::Utf16),
            (be, Encoding::Utf16),
            (latin, Encoding::Windows1252),
        ] {
            assert_eq!(decoded(&bytes).expect("text"), (TEXT.to_owned(), encoding));
        }
        assert_eq!(decoded(b"").expect("text"), (String::new(), Encoding::Utf8));
    }

    #[test]
    fn packed_files_are_unpacked_or_refused() {
        use std::io::Write as _;
        let packed = |bytes: &[u8]| {
            let mut writer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
            writer.write_all(bytes).expect("packed");
            writer.finish().expect("packed")
        };
        let unpacked = |bytes: Vec<u8>| {
            let name = "t.gz".to_owned();
            DataFile { name, bytes }.unpacked()
        };
        let text = "2016 07 28 22   383\n".repeat(1_000);
        let whole = packed(text.as_bytes());
        assert_eq!(
            unpacked(whole.clone()).expect("whole").bytes,
            text.as_bytes()
        );
        assert_eq!(
            unpacked(text.clone().into_bytes()).expect("plain").bytes,
            text.as_bytes()
        );
        for bytes in [whole[..whole.len() / 2].to_vec(), whole[..3].to_vec()] {
            let problem = unpacked(bytes).expect_err("cut off");
            assert!(problem.message.contains("can't be unpacked"), "{problem:?}");
        }
    }

    #[test]
    fn broken_utf8_is_not_taken_for_something_else() {
        let mut bytes = "Zeit;°C\n13.07.2026;24,5 °C\n".as_bytes().to_vec();
        let last = bytes
            .iter()
            .rposition(|b| *b == 0xC2)
            .expect("a letter of two bytes");
        bytes.remove(last);
        let problem = decoded(&bytes).expect_err("broken");
        assert_eq!(problem.line, Some(2));
    }
}

//! By what this program knows its own pictures and sheets again. Those who draw write these marks.

/// In an SVG.
pub(super) const SVG: &str = "<!-- drawn by dogdays -->";
/// What a PNG names as the software that made it.
pub(super) const PNG: &str = "dogdays";
/// At the top of a printed sheet.
pub(super) const SHEET: &str = "<!-- a sheet made by dogdays -->";

/// Whether a file that begins so is a picture of this program's.
pub(super) fn is_picture(head: &[u8]) -> bool {
    let text = String::from_utf8_lossy(head);
    let is_svg = text.starts_with("<svg ") && text.contains(SVG);
    let mark = [b"tEXtSoftware\0".as_slice(), PNG.as_bytes()].concat();
    let is_png =
        head.starts_with(b"\x89PNG\r\n\x1a\n") && head.windows(mark.len()).any(|w| w == mark);
    is_svg || is_png
}

/// Whether a file that begins so is a sheet of this program's.
pub(super) fn is_sheet(head: &[u8]) -> bool {
    String::from_utf8_lossy(head).contains(SHEET)
}

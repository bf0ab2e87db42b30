//! Tables as other programs write them: in any common encoding, with any common separator, with decimal
//! points or commas, and each cell knowing where it stands, so that a mistake in it can be shown.
//!
//! `decode` turns a file's bytes into text, `workbook` a spreadsheet's sheet, `text` cuts it into lines and cells, `separator` and `number` know
//! how people separate and write numbers, `mistakes` collects what is wrong without flooding anyone. What a
//! column means, the rooms above know.

pub(crate) mod decode;
pub(crate) mod mistakes;
pub(crate) mod number;
pub(crate) mod separator;
pub(crate) mod text;
mod workbook;

pub(crate) use decode::{DataFile, Encoding};
pub(crate) use mistakes::Mistakes;
pub(crate) use number::Decimals;
pub(crate) use separator::Separator;
pub(crate) use text::{Line, Table};

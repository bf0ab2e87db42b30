//! Text, JSON and CSV of `season`.

mod json;
mod rows;
mod text;

pub use json::json;
pub use rows::{COLUMNS, csv};
pub use text::text;

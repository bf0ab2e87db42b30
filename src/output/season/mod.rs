//! Text, JSON, CSV and picture of `season`, for one season and for many years.

mod json;
mod picture;
mod rows;
mod text;
mod words;
mod years;

pub use json::{json, years_json};
pub use picture::{Titled, draw};
pub use rows::{COLUMNS, Rows};
pub use text::{Told, answer, text};
pub use years::{years_answer, years_text};

pub(super) use picture::calendar;
pub(super) use text::{
    about, arrangements, by_hour, by_week, cautions_of, extraction_sentence, flows, how, next, when,
};
pub(super) use years::table as years_table;

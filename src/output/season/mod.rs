//! Text, JSON, CSV and picture of `season`, for one season and for many years.

mod json;
#[cfg(feature = "pictures")]
mod picture;
mod rows;
mod text;
mod words;
mod years;

pub use json::{json, years_json};
#[cfg(feature = "pictures")]
pub use picture::{Titled, draw};
pub use rows::{COLUMNS, Rows};
pub use text::{Told, answer, text};
pub use years::{years_answer, years_text};

#[cfg(feature = "pictures")]
pub(super) use picture::calendar;
#[cfg(feature = "pictures")]
pub(super) use text::{
    about, arrangements, by_hour, by_week, cautions_of, extraction_sentence, flows, how, next, when,
};
#[cfg(feature = "pictures")]
pub(super) use years::table as years_table;

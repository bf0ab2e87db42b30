//! Physical quantities as people write them: `"35 degC"`, `"40 m3/h"`, `"121 h"`.
//!
//! Text comes in with its unit and leaves as a plain number in SI units (kelvin, metre, second,
//! kilogram, watt, pascal); numbers go out as text for people. An absolute temperature and a
//! temperature difference are different quantities here, so that `"5 degC"` can never slip in
//! where a difference of 5 K is meant.
//!
//! This room knows no run file and no machine: it is given a text and told which quantity it
//! should be, and answers with a number or with an error that says what to write instead.

mod format;
mod margin;
mod parse;
mod people;
mod unit;
mod within;

pub use format::{
    System, format_count, format_difference, format_duration, format_flow, format_length,
    format_mass, format_number, format_power, format_pressure, format_temperature, plainly,
    trimmed,
};
pub use margin::ShownMargin;
pub use parse::{QuantityError, parse, unit_by_symbol, without_thousands_point};
pub use unit::{Quantity, Unit};
pub use within::{parse_within, without_within};

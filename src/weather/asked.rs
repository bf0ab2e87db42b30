//! What `[room]` says of how its series is to be read.

use super::times::{DateOrder, utc_offset_s};
use crate::keys::problem::Problem;
use crate::keys::section::Section;
use crate::quantity::{Quantity, Unit, unit_by_symbol};
use crate::table::{Decimals, Separator};

/// What was asked for; what was not is found out.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Asked {
    pub time: Option<String>,
    pub date: Option<String>,
    pub temperature: Option<String>,
    pub unit: Option<&'static Unit>,
    pub dates: Option<DateOrder>,
    pub decimals: Option<Decimals>,
    pub separator: Option<Separator>,
    /// How far the run's clock is ahead of UTC, s.
    pub utc_offset_s: Option<i32>,
    pub sheet: Option<String>,
}

/// The keys above, which have a meaning beside a series only.
pub(crate) const KEYS: [&str; 9] = [
    "time_column",
    "date_column",
    "temperature_column",
    "temperature_unit",
    "dates",
    "decimal",
    "separator",
    "utc_offset",
    "sheet",
];

impl Asked {
    /// What a `[room]` asks for; none where it is wrong, which then has been reported.
    pub fn of(room: &Section, file: &str, problems: &mut Vec<Problem>) -> Option<Self> {
        if KEYS.iter().any(|key| room.is_bad(key)) {
            return None;
        }
        let text = |key| room.text(key).map(str::to_owned);
        let offset = room.text("utc_offset").map(utc_offset_s);
        if offset == Some(None) {
            let message = "`room.utc_offset` is no offset from UTC";
            problems.push(
                Problem::at_or_in(room.mark_of("utc_offset"), file, message).help(
                    "write how far the clock of this run is ahead of UTC: utc_offset = \"+02:00\"",
                ),
            );
            return None;
        }
        Some(Self {
            time: text("time_column"),
            date: text("date_column"),
            temperature: text("temperature_column"),
            unit: room
                .text("temperature_unit")
                .and_then(|unit| unit_by_symbol(unit, Quantity::Temperature)),
            dates: room.text("dates").and_then(DateOrder::of_word),
            decimals: room.text("decimal").map(|word| match word {
                "comma" => Decimals::Comma,
                _ => Decimals::Point,
            }),
            separator: room.text("separator").and_then(Separator::of_word),
            utc_offset_s: offset.flatten(),
            sheet: text("sheet"),
        })
    }
}

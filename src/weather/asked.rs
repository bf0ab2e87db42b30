//! What a run file's `[room]` or `[[log]]`, or a command's options, say of how a file of times is to be read.

use super::clock::ShopClock;
use super::fill::Fill;
use super::times::{DateOrder, utc_offset_s};
use crate::keys::problem::Problem;
use crate::keys::section::Section;
use crate::quantity::{Quantity, Unit, format_duration, unit_by_symbol};
use crate::table::{Decimals, Separator};
use jiff::civil::DateTime;

/// What was asked for; what was not is found out.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Asked {
    pub time: Option<String>,
    pub date: Option<String>,
    pub temperature: Option<String>,
    pub unit: Option<&'static Unit>,
    pub dates: Option<DateOrder>,
    /// When rows that count from there begin, on the rows' own clock.
    pub begins: Option<DateTime>,
    /// From when to when the rows lie, where that is known before: it tells dates that may be two days.
    pub lies_within: Option<(DateTime, DateTime)>,
    pub decimals: Option<Decimals>,
    pub separator: Option<Separator>,
    /// The run's clock, for files that are in UTC or say how far theirs is ahead of it.
    pub clock: Option<ShopClock>,
    pub sheet: Option<String>,
    pub fill: Fill,
    /// Whether a year of one's own is followed by itself, as typical years are.
    pub is_round: bool,
    pub by: By,
}

/// Who asks, which decides what a remedy is called.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum By {
    /// The keys of `[room]`.
    #[default]
    RunFile,
    /// The options of a command.
    Options,
    /// Nobody who would start anything by its clock: a file is looked at as it is.
    Looking,
    /// The keys of `[[log]]`, for what was measured during a run.
    Log,
}

impl By {
    /// The table of a run file that has the keys, with its brackets.
    pub const fn table(self) -> &'static str {
        match self {
            Self::RunFile | Self::Options | Self::Looking => "[room]",
            Self::Log => "[[log]]",
        }
    }

    /// The table as it stands before a key: `room.dates`.
    const fn path(self) -> &'static str {
        match self {
            Self::RunFile | Self::Options | Self::Looking => "room",
            Self::Log => "log",
        }
    }

    /// What the file is, and how its first lines are written.
    pub const fn example(self) -> (&'static str, &'static str) {
        match self {
            Self::RunFile | Self::Options | Self::Looking => (
                "weather series",
                "its first line is time,temperature_degC and each further line an hour, such as 2026-07-13T07:00,24.5",
            ),
            Self::Log => (
                "log",
                "its first line names the columns, such as time,feeder motor_degC,room_degC, and each further line is a row, such as 2026-07-13T07:00,24.5,24.1",
            ),
        }
    }

    /// What to do where no line names the columns.
    pub const fn first_line(self) -> &'static str {
        match self {
            Self::RunFile | Self::Options | Self::Looking => {
                "put a line time,temperature_degC (or _degF, _K) before the first row"
            }
            Self::Log => {
                "put a line that names the columns before the first row, such as time,feeder motor_degC,room_degC"
            }
        }
    }

    /// How to have gaps filled of which the longest is so long, s. A straight line across more than a quarter of a day
    /// would hide an afternoon.
    pub fn fill(self, longest_s: f64) -> String {
        const LINE_S: f64 = 6.0 * 3_600.0;
        if longest_s > Fill::LONGEST_S {
            return format!(
                "no rule fills more than {}: name other weather, or a time without this gap",
                format_duration(Fill::LONGEST_S)
            );
        }
        let rule = if longest_s <= LINE_S {
            "linear"
        } else {
            "warmer"
        };
        let hours = (longest_s / 3_600.0).ceil().max(3.0);
        match self {
            Self::RunFile => format!(
                "to have it filled, write fill = \"{rule}\" and fill_up_to = \"{hours} h\" under [room] in the run file"
            ),
            Self::Log => "the rows around it are used as they are".to_owned(),
            Self::Options | Self::Looking => {
                format!("to have it filled, add --fill {rule} --fill-up-to \"{hours} h\"")
            }
        }
    }

    /// How to say which clock the shop's is.
    pub const fn clock(self) -> &'static str {
        match self {
            Self::RunFile => {
                "write time_zone = \"Europe/Paris\", with the name of your own, under [room] in the run file; or utc_offset = \"+02:00\", how far the clock of this run is ahead of UTC"
            }
            Self::Log => {
                "write time_zone = \"Europe/Paris\", with the name of your own, under [[log]] in the run file; or utc_offset = \"+02:00\", how far the clock of this run is ahead of UTC"
            }
            Self::Options | Self::Looking => {
                "add --time-zone \"Europe/Paris\", with the name of your own, or --time-zone \"+02:00\", how far the shop's clock is ahead of UTC"
            }
        }
    }
}

/// The keys above, which have a meaning beside a series only.
pub(crate) const KEYS: [&str; 12] = [
    "time_column",
    "date_column",
    "temperature_column",
    "temperature_unit",
    "dates",
    "decimal",
    "separator",
    "utc_offset",
    "time_zone",
    "sheet",
    "fill",
    "fill_up_to",
];

impl Asked {
    /// What a `[room]` or a `[[log]]` asks for; none where it is wrong, which then has been reported.
    pub fn of(room: &Section, by: By, file: &str, problems: &mut Vec<Problem>) -> Option<Self> {
        if KEYS.iter().any(|key| room.is_bad(key)) {
            return None;
        }
        let text = |key| room.text(key).map(str::to_owned);
        let wrong = |key, help: &str| {
            let message = format!("`{}.{key}` can't be used", by.path());
            Problem::at_or_in(room.mark_of(key), file, message).help(help)
        };
        let clock = match (room.text("utc_offset"), room.text("time_zone")) {
            (None, None) => None,
            (Some(_), Some(_)) => {
                let help =
                    "write one of utc_offset and time_zone: both say what the run's clock is";
                problems.push(wrong("time_zone", help));
                return None;
            }
            (Some(offset), None) => match utc_offset_s(offset) {
                Some(ahead_s) => Some(ShopClock::Ahead(ahead_s)),
                None => {
                    let message = format!("`{}.utc_offset` is no offset from UTC", by.path());
                    problems.push(
                        Problem::at_or_in(room.mark_of("utc_offset"), file, message).help(
                            "write how far the clock of this run is ahead of UTC: utc_offset = \"+02:00\"",
                        ),
                    );
                    return None;
                }
            },
            (None, Some(zone)) => match ShopClock::parse(zone) {
                Ok(clock) => Some(clock),
                Err(help) => {
                    problems.push(wrong("time_zone", &help));
                    return None;
                }
            },
        };
        let fill = match (room.text("fill"), room.number("fill_up_to")) {
            (None, Some(_)) if room.is_typed("fill_up_to") => {
                problems.push(wrong(
                    "fill_up_to",
                    "it needs a rule beside it: fill = \"linear\"",
                ));
                return None;
            }
            (None, _) => Fill::Never,
            (Some(rule), up_to_s) => match Fill::of(rule, up_to_s.unwrap_or(Fill::USUAL_S)) {
                Ok(fill) => fill,
                Err(help) => {
                    problems.push(wrong("fill_up_to", &help));
                    return None;
                }
            },
        };
        Some(Self {
            time: text("time_column"),
            date: text("date_column"),
            temperature: text("temperature_column"),
            unit: room
                .text("temperature_unit")
                .and_then(|unit| unit_by_symbol(unit, Quantity::Temperature)),
            dates: room.text("dates").and_then(DateOrder::of_word),
            begins: None,
            lies_within: None,
            decimals: room.text("decimal").map(|word| match word {
                "comma" => Decimals::Comma,
                _ => Decimals::Point,
            }),
            separator: room.text("separator").and_then(Separator::of_word),
            clock,
            sheet: text("sheet"),
            fill,
            is_round: false,
            by,
        })
    }

    /// How far the clock on which a table's rows are put is ahead of UTC, s: the run's, or UTC where the run's is
    /// put forward in summer. None where nobody said.
    pub fn rows_ahead_s(&self) -> Option<i32> {
        match (&self.clock, self.by) {
            (Some(ShopClock::Ahead(ahead_s)), _) => Some(*ahead_s),
            (Some(ShopClock::Zone(_)), _) | (None, By::Looking) => Some(0),
            (None, By::RunFile | By::Options | By::Log) => None,
        }
    }
}

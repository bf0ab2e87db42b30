//! Keys of `[[log]]`: what a logger wrote during a run.

use super::super::schema::{
    Kind, Need::Optional, Need::Required, Spread::Exact, Table, field, quantity,
};
use super::shared::{DATE_ORDER, DECIMAL, MOMENT, SEPARATOR, TEMPERATURE_UNIT};
use crate::quantity::Quantity as Q;

const COLUMN_UNIT: Kind = Kind::Choice(&["degC", "degF", "K", "W", "%"]);

/// `[[log]]`.
pub static LOG: Table = Table {
    doc: "A file of what thermometers showed during the run, row by row, as a logger saved it.",
    fields: &[
        field(
            "file",
            Kind::File,
            Required,
            "\"evening.csv\"",
            "File with local times and temperatures, in a folder relative to this file. A column whose header names a place of the machine is taken for it.",
        ),
        field(
            "column",
            Kind::List(&COLUMN),
            Optional("the headers name the places"),
            "",
            "Columns whose headers don't say what they hold, or not rightly.",
        ),
        field(
            "time_column",
            Kind::Text,
            Optional("the column of the log that holds times is taken"),
            "\"time\"",
            "Header of the log's column with local times, or times of day beside a column of dates.",
        ),
        field(
            "date_column",
            Kind::Text,
            Optional("a column of dates is taken where times of day stand alone"),
            "\"Date\"",
            "Header of the log's column with dates, where they stand apart from the times.",
        ),
        field(
            "temperature_unit",
            TEMPERATURE_UNIT,
            Optional("it stands in the columns' headers"),
            "\"degC\"",
            "Unit of those temperatures of the log whose columns don't say theirs.",
        ),
        field(
            "dates",
            DATE_ORDER,
            Optional("it is told by a day after the 12th, or by the order of the rows"),
            "\"day/month/year\"",
            "In which order the dates of the log stand, where 03/04 may be two days.",
        ),
        field(
            "decimal",
            DECIMAL,
            Optional("what most temperatures of the log are written with"),
            "\"comma\"",
            "What the decimals of the log are written with.",
        ),
        field(
            "separator",
            SEPARATOR,
            Optional("the one that makes rows of times and numbers"),
            "\"semicolon\"",
            "What stands between the columns of the log.",
        ),
        field(
            "begins",
            MOMENT,
            Optional("the log's rows say when they are"),
            "\"Mon 19:00\"",
            "When the log began, where its rows count from there, as in time_s, or have a time of day and no date: by the clock, \"Mon 19:00\" or \"2026-07-13 19:00\", or counted from the start of the run, \"0 h\".",
        ),
        field(
            "utc_offset",
            Kind::Text,
            Optional("the times of the log are local and carry no offset"),
            "\"+02:00\"",
            "How far this run's clock is ahead of UTC, for a log whose times carry an offset or count from 1970.",
        ),
        field(
            "time_zone",
            Kind::Text,
            Optional("utc_offset is given instead, or the log is on this run's clock"),
            "\"Europe/Paris\"",
            "Time zone of this run's clock, with its summer time, for the same logs; an offset such as +02:00 is one too.",
        ),
        field(
            "sheet",
            Kind::Text,
            Optional("the only sheet with a table is taken"),
            "\"Sheet1\"",
            "Name of the sheet, where the log is a spreadsheet.",
        ),
    ],
};

/// An entry of `[[log.column]]`.
pub static COLUMN: Table = Table {
    doc: "What one column of the log holds.",
    fields: &[
        field(
            "name",
            Kind::Text,
            Required,
            "\"T1\"",
            "The column's header.",
        ),
        field(
            "sensor",
            Kind::Text,
            Required,
            "\"feeder motor\"",
            "Where it was measured, in the words of `dogdays check --verbose`: \"feeder motor\", \"drive gear\", \"air top\", \"lid inside\", \"room\"; or what it says of the machine: \"fan\", \"lid\", \"door\", \"bed heater\"; or \"nothing\", to leave the column out.",
        ),
        field(
            "within",
            quantity(Q::TemperatureDifference, "K", (0.01, 50.0), (0.1, 10.0)),
            Optional("1 K, which a good contact thermometer keeps"),
            "\"0.5 K\"",
            "How far off it may be either way, thermometer and how it touches together.",
        )
        .spread(Exact),
        field(
            "within_power",
            quantity(Q::Power, "W", (0.1, 5_000.0), (1.0, 200.0)),
            Optional("5 % of what is shown, a standard deviation"),
            "\"5 W\"",
            "How far off the bed heater's power may be either way, all of it by the same.",
        )
        .spread(Exact),
        field(
            "unit",
            COLUMN_UNIT,
            Optional("it stands in the column's header"),
            "\"degC\"",
            "Unit of its temperatures, or of the bed heater: W, or % of `machine.bed.max_power`; it counts before what the header says.",
        ),
    ],
};

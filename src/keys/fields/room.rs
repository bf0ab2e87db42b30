//! Keys of `[room]`.

use super::super::schema::{
    Kind,
    Need::Default,
    Need::Optional,
    Need::Required,
    Spread::{Factor, In, PlusMinus},
    Table, field, quantity,
};
use crate::quantity::Quantity as Q;

/// `[room]`.
pub static ROOM: Table = Table {
    doc: "The air around the machine: one temperature, a daily swing, a forecast day by day, or a measured series.",
    fields: &[
        field(
            "temperature",
            ROOM_TEMPERATURE,
            Optional("mean and swing, or a series, is given instead"),
            "\"31 degC\"",
            "One temperature for the whole run.",
        ).spread(In("room.shift")),
        field(
            "mean",
            ROOM_TEMPERATURE,
            Optional("one temperature, or a series, is given instead"),
            "\"31 degC\"",
            "Mean of a daily swing.",
        ).spread(In("room.shift")),
        field(
            "swing",
            quantity(Q::TemperatureDifference, "K", (0.0, 30.0), (0.5, 12.0)),
            Optional("needed with mean"),
            "\"3 K\"",
            "Half the difference between the warmest and the coolest hour of the day.",
        ).spread(PlusMinus(1.0)),
        field(
            "warmest_at",
            Kind::TimeOfDay,
            Default("16:00"),
            "\"16:00\"",
            "Time of day at which a daily swing is warmest.",
        ),
        field(
            "series",
            Kind::File,
            Optional("one temperature, or mean and swing, is given instead"),
            "\"weather.csv\"",
            "File with local times and temperatures, as a table with time,temperature_degC or as a logger saved it, in a folder relative to this file.",
        ),
        field(
            "day",
            Kind::List(&DAY),
            Optional("one temperature, mean and swing, or a series, is given instead"),
            "",
            "High and low of a day, as a weather service foretells them, for each day of the run.",
        ),
        field(
            "time_column",
            Kind::Text,
            Optional("the column of the series that holds times is taken"),
            "\"time\"",
            "Header of the series' column with local times, or times of day beside a column of dates.",
        ),
        field(
            "date_column",
            Kind::Text,
            Optional("a column of dates is taken where times of day stand alone"),
            "\"Date\"",
            "Header of the series' column with dates, where they stand apart from the times.",
        ),
        field(
            "temperature_column",
            Kind::Text,
            Optional("the only column whose header begins with temperature, or the only one with its unit, is taken"),
            "\"temperature_degC\"",
            "Header of the series' column with temperatures; its unit stands at its end.",
        ),
        field(
            "temperature_unit",
            Kind::Choice(&["degC", "degF", "K"]),
            Optional("it stands in the column's header"),
            "\"degC\"",
            "Unit of the series' temperatures, where the file does not say it.",
        ),
        field(
            "dates",
            Kind::Choice(&["year/month/day", "day/month/year", "month/day/year"]),
            Optional("it is told by a day after the 12th, or by the order of the rows"),
            "\"day/month/year\"",
            "In which order the dates of the series stand, where 03/04 may be two days.",
        ),
        field(
            "decimal",
            Kind::Choice(&["point", "comma"]),
            Optional("what most temperatures of the series are written with"),
            "\"comma\"",
            "What the decimals of the series are written with.",
        ),
        field(
            "separator",
            Kind::Choice(&["comma", "semicolon", "tab"]),
            Optional("the one that makes rows of times and numbers"),
            "\"semicolon\"",
            "What stands between the columns of the series.",
        ),
        field(
            "utc_offset",
            Kind::Text,
            Optional("the times of the series are local and carry no offset"),
            "\"+02:00\"",
            "How far this run's clock is ahead of UTC, for a series whose times carry an offset, count from 1970, or are in UTC or a place's standard time.",
        ),
        field(
            "time_zone",
            Kind::Text,
            Optional("utc_offset is given instead, or the series is on this run's clock"),
            "\"Europe/Paris\"",
            "Time zone of this run's clock, with its summer time, for the same series; an offset such as +02:00 is one too.",
        ),
        field(
            "fill",
            Kind::Choice(&["linear", "warmer"]),
            Optional("a gap in the series is an error"),
            "\"linear\"",
            "Rule by which gaps of the series are filled: a straight line, or the warmer of the two neighbours throughout.",
        ),
        field(
            "fill_up_to",
            quantity(Q::Time, "h", (0.01, 24.0), (0.1, 12.0)),
            Optional("3 h, where fill is given"),
            "\"3 h\"",
            "Longest time without a value that is filled; longer gaps are errors.",
        ),
        field(
            "sheet",
            Kind::Text,
            Optional("the only sheet with a table is taken"),
            "\"Sheet1\"",
            "Name of the sheet, where the series is a spreadsheet.",
        ),
        field(
            "shift",
            quantity(Q::TemperatureDifference, "K", (-30.0, 30.0), (-15.0, 15.0)),
            Default("0 K"),
            "\"2 K\"",
            "Added to every temperature, for a room that is warmer than outdoors, or to try a worse week.",
        ).spread(PlusMinus(2.0)),
        field(
            "altitude",
            quantity(Q::Length, "m", (-430.0, 5_000.0), (-100.0, 3_000.0)),
            Default("0 m"),
            "\"200 m\"",
            "Altitude above sea level; thin air cools less.",
        ).spread(PlusMinus(30.0)),
        field(
            "building",
            Kind::Table(&BUILDING),
            Optional("the temperature above is that of the room itself"),
            "",
            "The room as a thing that warms up; the temperature above is then that of outdoors.",
        ),
    ],
};

/// An entry of `[[room.day]]`.
pub static DAY: Table = Table {
    doc: "High and low of one day: the low at 05:00, the high from 14:00 to 17:00, half cosines between them.",
    fields: &[
        field(
            "date",
            Kind::Date,
            Optional("the days follow each other from the run's first day on"),
            "\"2026-07-14\"",
            "The day of the calendar that high and low are of.",
        ),
        field(
            "high",
            ROOM_TEMPERATURE,
            Required,
            "\"34 degC\"",
            "Highest temperature of the day.",
        )
        .spread(In("room.shift")),
        field(
            "low",
            ROOM_TEMPERATURE,
            Required,
            "\"22 degC\"",
            "Lowest temperature, near sunrise.",
        )
        .spread(In("room.shift")),
    ],
};

const ROOM_TEMPERATURE: Kind = quantity(Q::Temperature, "degC", (-30.0, 60.0), (5.0, 42.0));

/// `[room.building]`.
pub static BUILDING: Table = Table {
    doc: "A room warmed by its machines and cooled by its envelope, its air changes and its air conditioner.",
    fields: &[
        field(
            "volume",
            quantity(Q::Volume, "m3", (1.0, 1e6), (10.0, 1e4)),
            Required,
            "\"120 m3\"",
            "Volume of the room: length times width times height.",
        ).spread(Factor(1.1)),
        field(
            "envelope",
            quantity(Q::Conductance, "W/K", (0.0, 1e5), (10.0, 5_000.0)),
            Required,
            "\"150 W/K\"",
            "Heat that walls, windows and roof pass to outdoors per kelvin: area times U-value, added up.",
        ).spread(Factor(1.5)),
        field(
            "air_changes",
            quantity(Q::Rate, "1/h", (0.0, 60.0), (0.1, 12.0)),
            Default("0.5 1/h"),
            "\"0.5 1/h\"",
            "How often an hour the room's air is replaced from outdoors.",
        ).spread(Factor(2.0)),
        field(
            "other_heat",
            quantity(Q::Power, "W", (0.0, 1e6), (0.0, 2e4)),
            Default("0 W"),
            "\"400 W\"",
            "Heat of lights, people and other machines.",
        ).spread(Factor(1.4)),
        field(
            "cooler_power",
            quantity(Q::Power, "W", (0.0, 1e6), (0.0, 2e4)),
            Default("0 W"),
            "\"2.5 kW\"",
            "Largest cooling power of the air conditioner; none if 0.",
        ).spread(Factor(1.15)),
        field(
            "cooler_setpoint",
            quantity(Q::Temperature, "degC", (5.0, 50.0), (15.0, 32.0)),
            Default("26 degC"),
            "\"26 degC\"",
            "Room temperature the air conditioner holds while its power lasts.",
        ).spread(PlusMinus(1.0)),
        field(
            "storage_factor",
            quantity(Q::Number, "", (1.0, 200.0), (3.0, 50.0)),
            Default("10"),
            "10",
            "Heat stored by walls and furniture with the air, as a multiple of the air's own.",
        ).spread(Factor(2.0)),
    ],
};

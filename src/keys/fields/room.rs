//! Keys of `[room]`.

use super::super::schema::{
    Kind,
    Need::Default,
    Need::Optional,
    Need::Required,
    Need::Tacit,
    Range,
    Spread::{Exact, Factor, In, PlusMinus},
    Table, field, quantity,
};
use super::shared::{AT, DATE_ORDER, DECIMAL, EVERY_DAY, SEPARATOR, TEMPERATURE_UNIT, UNTIL};
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
            "File with local times and temperatures, as a table with time,temperature_degC, as a logger saved it, or an EPW, TMY3 or ISD-Lite file, in a folder relative to this file.",
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
            TEMPERATURE_UNIT,
            Optional("it stands in the column's header"),
            "\"degC\"",
            "Unit of the series' temperatures, where the file does not say it.",
        ),
        field(
            "dates",
            DATE_ORDER,
            Optional("it is told by a day after the 12th, or by the order of the rows"),
            "\"day/month/year\"",
            "In which order the dates of the series stand, where 03/04 may be two days.",
        ),
        field(
            "decimal",
            DECIMAL,
            Optional("what most temperatures of the series are written with"),
            "\"comma\"",
            "What the decimals of the series are written with.",
        ),
        field(
            "separator",
            SEPARATOR,
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
        ).spread(Exact),
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
            "Added to every temperature, to try a worse week.",
        ).spread(PlusMinus(2.0)),
        field(
            "thermometer",
            quantity(Q::TemperatureDifference, "K", (-10.0, 10.0), (-3.0, 3.0)),
            Tacit("0 K", "0 K"),
            "\"0.5 K\"",
            "What the room's thermometer in a log shows too little: added to what it showed, and to nothing else.",
        ).spread(PlusMinus(0.5)),
        field(
            "above_outdoors",
            quantity(Q::TemperatureDifference, "K", (-20.0, 30.0), (0.0, 12.0)),
            Optional("the temperatures above are those of the room's air, or of outdoors with room.building"),
            "\"4 K\"",
            "The temperatures above are those of outdoors, and the room's air is so much warmer at all times.",
        ).spread(In("room.shift")),
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
            Optional("the temperature above is that of the room itself, or room.above_outdoors says how much warmer it is"),
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
        field(
            "machines",
            Kind::Integer(1, 1_000),
            Default("1"),
            "6",
            "Machines in this room that all do this run at the same time, this one among them: they warm the room and each other.",
        ),
        field(
            "machine",
            Kind::List(&NEIGHBOUR),
            Optional("no other run warms the room"),
            "",
            "Other runs in this room, each with a run file and a start of its own.",
        ),
        field(
            "sun",
            Kind::List(&WINDOW_SUN),
            Optional("no sun falls into the room"),
            "",
            "Sun through the windows of the room, in some hours of the day.",
        ),
    ],
};

/// An entry of `[[room.building.machine]]`.
pub static NEIGHBOUR: Table = Table {
    doc: "Another run in this room: it warms the room while it lasts, and this run warms it. Before its start it is not there, after its end it stands there switched off.",
    fields: &[
        field(
            "run",
            Kind::File,
            Required,
            "\"other.toml\"",
            "Its run file, in a folder relative to this file. Its [room] is not looked at: it stands in this one. Machine and material come from this run's models.",
        ),
        field(
            "start",
            Kind::Moment(Range {
                quantity: Q::Time,
                unit: "h",
                hard: (-366.0 * 24.0, 366.0 * 24.0),
                usual: (-366.0 * 24.0, 366.0 * 24.0),
            }),
            Optional("the start in its own run file"),
            "\"2026-07-12 18:00\"",
            "When it begins: date and time, or counted from the start of this run, \"-10 h\" for ten hours earlier; counted so, it goes along where a study starts this run at another time.",
        ),
        field(
            "machines",
            Kind::Integer(1, 1_000),
            Default("1"),
            "2",
            "Machines that do that run at the same time.",
        ),
    ],
};

/// An entry of `[[room.building.sun]]`.
pub static WINDOW_SUN: Table = Table {
    doc: "Sun through windows of the room, between two times: as a heat, or as glass in the sun. All of it warms the room's air. Windows to several sides are several entries, which add up.",
    fields: &[
        AT,
        field(
            "duration",
            quantity(Q::Time, "h", (1.0 / 60.0, 366.0 * 24.0), (0.1, 16.0)),
            Optional("until says when it ends"),
            "\"4 h\"",
            "How long it shines.",
        )
        .spread(Exact),
        UNTIL,
        EVERY_DAY,
        field(
            "heat",
            quantity(Q::Power, "W", (0.0, 1e6), (10.0, 2e4)),
            Optional("area says how much glass it shines on"),
            "\"600 W\"",
            "Heat that the sun brings into the room.",
        )
        .spread(Factor(1.4)),
        field(
            "area",
            quantity(Q::Area, "m2", (0.001, 1e5), (0.1, 200.0)),
            Optional("heat says what it brings"),
            "\"2 m2\"",
            "Glass that the sun shines on, frames and shadows off; tape measure.",
        )
        .spread(Factor(1.15)),
        field(
            "irradiance",
            quantity(Q::Irradiance, "W/m2", (0.0, 1_500.0), (50.0, 1_050.0)),
            Default("500 W/m2"),
            "\"500 W/m2\"",
            "Sun on the window's own plane from outside while it shines there, as a mean of those hours: a low sun straight in about 700, a high one 300 (common practice, no source).",
        )
        .spread(Factor(1.4)),
        field(
            "transmittance",
            quantity(Q::Fraction, "", (0.0, 1.0), (0.1, 0.9)),
            Default("0.75"),
            "0.75",
            "Share of the sun's heat that glass and blinds let through: single glass 0.85, double 0.75, coated 0.5, with a blind inside 0.4, with a shutter outside 0.1 (handbook values, from memory).",
        )
        .spread(PlusMinus(0.08)),
    ],
};

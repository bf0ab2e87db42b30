//! Every key of every file kind: run files here and in `job`, the catalogue's files in `machine`
//! and `material`. Nothing else in the program names a key's unit, range or default.

pub mod fan;
pub mod job;
pub mod machine;
pub mod material;

use super::schema::{
    Field, Kind, Need::Default, Need::Optional, Need::Required, Table, field, quantity,
};
use crate::coefficients::Coefficient;
use crate::quantity::Quantity as Q;

/// A run file.
pub static RUN_FILE: Table = Table {
    doc: "One job on one machine in one stretch of weather.",
    fields: &[
        field(
            "run",
            Kind::Table(&RUN),
            Required,
            "",
            "What the run is called, when it starts and how long it takes.",
        ),
        field(
            "machine",
            Kind::Table(&machine::MACHINE_OVERRIDES),
            Required,
            "",
            "The machine: a name from the catalogue, or a description of your own.",
        ),
        field(
            "material",
            Kind::Table(&material::MATERIAL_OVERRIDES),
            Required,
            "",
            "The material: a name from the catalogue, or a description of your own.",
        ),
        field(
            "part",
            Kind::Table(&PART),
            Required,
            "",
            "The part being made.",
        ),
        field(
            "job",
            Kind::Table(&job::JOB),
            Default(""),
            "",
            "Setpoints and phases of the job.",
        ),
        field(
            "room",
            Kind::Table(&ROOM),
            Required,
            "",
            "The room the machine stands in.",
        ),
        field(
            "arrangement",
            Kind::Table(&ARRANGEMENT),
            Default(""),
            "",
            "What is open, shut or blowing.",
        ),
        field(
            "system",
            Kind::Table(&fan::SYSTEM),
            Default(""),
            "",
            "What extracted air has to pass; used to choose a fan.",
        ),
        field(
            "require",
            Kind::Table(&REQUIRE),
            Default(""),
            "",
            "What the run must fulfil.",
        ),
        field(
            "coefficients",
            Kind::Table(&COEFFICIENTS),
            Optional("every coefficient keeps its default"),
            "",
            "The uncertain numbers of the model, where you know better than the default.",
        ),
        field(
            "compare",
            Kind::List(&COMPARE),
            Optional("the usual six arrangements are compared"),
            "",
            "Variants of the run to compare it with: a name, and any keys of the run file with other values.",
        ),
    ],
};

/// `[[compare]]`: everything may be changed, nothing must.
pub static COMPARE: Table = Table {
    doc: "A variant of the run: its name, and what is different in it.",
    fields: &[
        field(
            "name",
            Kind::Text,
            Required,
            "\"cooler bed\"",
            "What the variant is called in tables and pictures.",
        ),
        changed("run", &RUN),
        changed("machine", &machine::MACHINE_OVERRIDES),
        changed("material", &material::MATERIAL_OVERRIDES),
        changed("part", &PART),
        changed("job", &job::JOB),
        changed("room", &ROOM),
        changed("arrangement", &ARRANGEMENT),
        changed("require", &REQUIRE),
        changed("coefficients", &COEFFICIENTS),
    ],
};

const fn changed(key: &'static str, table: &'static Table) -> Field {
    field(
        key,
        Kind::Table(table),
        Optional("as in the run"),
        "",
        "What is different from the run, with the keys of the run file's table of that name.",
    )
}

/// `[run]`.
pub static RUN: Table = Table {
    doc: "What the run is called, when it starts and how long it takes.",
    fields: &[
        field(
            "name",
            Kind::Text,
            Default("unnamed run"),
            "\"Pump housing\"",
            "A name for reports and pictures.",
        ),
        field(
            "start",
            Kind::DateTime,
            Required,
            "\"2026-07-13 07:00\"",
            "Local date and time at which the run starts.",
        ),
        field(
            "duration",
            quantity(
                Q::Time,
                "h",
                (1.0 / 60.0, 366.0 * 24.0),
                (0.25, 60.0 * 24.0),
            ),
            Required,
            "\"121 h\"",
            "Length of the whole run, heating up and cooling down included.",
        ),
    ],
};

/// `[part]`.
pub static PART: Table = Table {
    doc: "The part being made; it grows evenly while material is fed.",
    fields: &[
        field(
            "mass",
            quantity(Q::Mass, "kg", (1e-4, 1_000.0), (0.005, 50.0)),
            Required,
            "\"2.3 kg\"",
            "Mass when finished, supports included.",
        ),
        field(
            "footprint",
            quantity(Q::Area, "cm2", (0.01, 1e5), (1.0, 1e4)),
            Optional(
                "guessed from mass and height, or as that of a cube, at a bulk density of 60 % of the material's",
            ),
            "\"180 cm2\"",
            "Area it covers on the bed.",
        ),
        field(
            "height",
            quantity(Q::Length, "mm", (0.1, 5_000.0), (2.0, 2_000.0)),
            Optional("guessed from mass and footprint at a bulk density of 60 % of the material's"),
            "\"170 mm\"",
            "Height when finished.",
        ),
    ],
};

/// `[room]`.
pub static ROOM: Table = Table {
    doc: "The air around the machine: one temperature, a daily swing, or a measured series.",
    fields: &[
        field(
            "temperature",
            ROOM_TEMPERATURE,
            Optional("mean and swing, or a series, is given instead"),
            "\"31 degC\"",
            "One temperature for the whole run.",
        ),
        field(
            "mean",
            ROOM_TEMPERATURE,
            Optional("one temperature, or a series, is given instead"),
            "\"31 degC\"",
            "Mean of a daily swing.",
        ),
        field(
            "swing",
            quantity(Q::TemperatureDifference, "K", (0.0, 30.0), (0.5, 12.0)),
            Optional("needed with mean"),
            "\"3 K\"",
            "Half the difference between the warmest and the coolest hour of the day.",
        ),
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
            "CSV file with local times and temperatures, in a folder relative to this file.",
        ),
        field(
            "time_column",
            Kind::Text,
            Default("time"),
            "\"time\"",
            "Header of the column with local times (ISO 8601).",
        ),
        field(
            "temperature_column",
            Kind::Text,
            Optional("the only column whose header begins with temperature is taken"),
            "\"temperature_degC\"",
            "Header of the column with temperatures; its unit stands at its end.",
        ),
        field(
            "shift",
            quantity(Q::TemperatureDifference, "K", (-30.0, 30.0), (-15.0, 15.0)),
            Default("0 K"),
            "\"2 K\"",
            "Added to every temperature, for a room that is warmer than outdoors, or to try a worse week.",
        ),
        field(
            "altitude",
            quantity(Q::Length, "m", (-430.0, 5_000.0), (-100.0, 3_000.0)),
            Default("0 m"),
            "\"200 m\"",
            "Altitude above sea level; thin air cools less.",
        ),
        field(
            "building",
            Kind::Table(&BUILDING),
            Optional("the temperature above is that of the room itself"),
            "",
            "The room as a thing that warms up; the temperature above is then that of outdoors.",
        ),
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
        ),
        field(
            "envelope",
            quantity(Q::Conductance, "W/K", (0.0, 1e5), (10.0, 5_000.0)),
            Required,
            "\"150 W/K\"",
            "Heat that walls, windows and roof pass to outdoors per kelvin: area times U-value, added up.",
        ),
        field(
            "air_changes",
            quantity(Q::Rate, "1/h", (0.0, 60.0), (0.1, 12.0)),
            Default("0.5 1/h"),
            "\"0.5 1/h\"",
            "How often an hour the room's air is replaced from outdoors.",
        ),
        field(
            "other_heat",
            quantity(Q::Power, "W", (0.0, 1e6), (0.0, 2e4)),
            Default("0 W"),
            "\"400 W\"",
            "Heat of lights, people and other machines.",
        ),
        field(
            "cooler_power",
            quantity(Q::Power, "W", (0.0, 1e6), (0.0, 2e4)),
            Default("0 W"),
            "\"2.5 kW\"",
            "Largest cooling power of the air conditioner; none if 0.",
        ),
        field(
            "cooler_setpoint",
            quantity(Q::Temperature, "degC", (5.0, 50.0), (15.0, 32.0)),
            Default("26 degC"),
            "\"26 degC\"",
            "Room temperature the air conditioner holds while its power lasts.",
        ),
        field(
            "storage_factor",
            quantity(Q::Number, "", (1.0, 200.0), (3.0, 50.0)),
            Default("10"),
            "10",
            "Heat stored by walls and furniture with the air, as a multiple of the air's own.",
        ),
    ],
};

/// Words for kinds of arrangement.
pub const ARRANGEMENT_KINDS: &[&str] = &[
    "closed",
    "lid off",
    "door open",
    "extracting",
    "blowing in",
    "recirculating",
];

const ARRANGEMENT_KIND: Kind = Kind::Choice(ARRANGEMENT_KINDS);
const FAN_FLOW: Kind = quantity(Q::Flow, "m3/h", (0.1, 5_000.0), (5.0, 600.0));
const FAN_POWER: Kind = quantity(Q::Power, "W", (0.0, 1_000.0), (0.5, 150.0));

/// `[arrangement]`.
pub static ARRANGEMENT: Table = Table {
    doc: "What is open, shut or blowing through the run.",
    fields: &[
        field(
            "kind",
            ARRANGEMENT_KIND,
            Default("closed"),
            "\"extracting\"",
            "What is open, shut or blowing.",
        ),
        field(
            "flow",
            FAN_FLOW,
            Optional("needed when extracting, blowing in or recirculating"),
            "\"40 m3/h\"",
            "Volume flow at the fan.",
        ),
        field(
            "fan_power",
            FAN_POWER,
            Default("10 W"),
            "\"10 W\"",
            "Electrical power of a recirculating fan; all of it becomes heat in the chamber.",
        ),
        field(
            "thermostat",
            Kind::Table(&THERMOSTAT),
            Optional("the fan runs all the time"),
            "{ on_above = \"42 degC\", off_below = \"40 degC\" }",
            "The fan runs by the temperature of the top air layer.",
        ),
        field(
            "schedule",
            Kind::List(&SCHEDULE),
            Optional("the arrangement never changes"),
            "",
            "Another arrangement for a stretch of the run.",
        ),
    ],
};

/// `thermostat = { ... }`.
pub static THERMOSTAT: Table = Table {
    doc: "A fan that runs by the temperature of the top air layer.",
    fields: &[
        field(
            "on_above",
            CHAMBER_TEMPERATURE,
            Required,
            "\"42 degC\"",
            "The fan starts above this.",
        ),
        field(
            "off_below",
            CHAMBER_TEMPERATURE,
            Required,
            "\"40 degC\"",
            "The fan stops below this; it must lie under on_above.",
        ),
    ],
};

const CHAMBER_TEMPERATURE: Kind = quantity(Q::Temperature, "degC", (0.0, 250.0), (20.0, 120.0));

/// `[[arrangement.schedule]]`.
pub static SCHEDULE: Table = Table {
    doc: "Another arrangement for a stretch of the run.",
    fields: &[
        field(
            "at",
            quantity(Q::Time, "h", (0.0, 366.0 * 24.0), (0.0, 366.0 * 24.0)),
            Required,
            "\"61 h\"",
            "When it begins, counted from the start of the run.",
        ),
        field(
            "duration",
            quantity(
                Q::Time,
                "min",
                (1.0 / 60.0, 366.0 * 1_440.0),
                (0.5, 366.0 * 1_440.0),
            ),
            Required,
            "\"4 min\"",
            "How long it lasts.",
        ),
        field(
            "kind",
            ARRANGEMENT_KIND,
            Required,
            "\"door open\"",
            "What is open, shut or blowing meanwhile.",
        ),
        field(
            "flow",
            FAN_FLOW,
            Optional("needed when extracting, blowing in or recirculating"),
            "\"40 m3/h\"",
            "Volume flow at the fan.",
        ),
        field(
            "fan_power",
            FAN_POWER,
            Default("10 W"),
            "\"10 W\"",
            "Electrical power of a recirculating fan; all of it becomes heat in the chamber.",
        ),
    ],
};

/// `[require]`.
pub static REQUIRE: Table = Table {
    doc: "What the run must fulfil.",
    fields: &[
        field(
            "margin",
            quantity(Q::TemperatureDifference, "K", (0.0, 50.0), (0.0, 15.0)),
            Default("3 K"),
            "\"3 K\"",
            "How far below its softening limit the filament must stay.",
        ),
        field(
            "must_stay_closed",
            Kind::Bool,
            Default("false"),
            "true",
            "Whether the machine has to stay closed (certified process, fumes, safety).",
        ),
        field(
            "chamber_min",
            CHAMBER_TEMPERATURE,
            Optional("the material's lowest useful chamber temperature, if it has one"),
            "\"35 degC\"",
            "Lowest chamber temperature while printing.",
        ),
    ],
};

/// `[coefficients]`, made from the one list of them.
pub static COEFFICIENTS: Table = Table {
    doc: "The uncertain numbers of the model; calibration finds them from a logged run.",
    fields: &COEFFICIENT_FIELDS,
};

static COEFFICIENT_FIELDS: [Field; Coefficient::ALL.len()] = coefficient_fields();

const fn coefficient_fields() -> [Field; Coefficient::ALL.len()] {
    let mut fields = [field("", Kind::Bool, Required, "", ""); Coefficient::ALL.len()];
    let mut at = 0;
    while at < fields.len() {
        let known = Coefficient::ALL[at].describe();
        let measures = match known.unit.as_bytes() {
            b"m/s" | b"mm/s" => Q::Speed,
            b"W/(m2 K)" => Q::HeatTransferCoefficient,
            b"m2 K/W" => Q::Resistance,
            _ => Q::Number,
        };
        // A share of air can't reach 1: nothing would be left to cool.
        let most = if matches!(Coefficient::ALL[at], Coefficient::ShortCircuit) {
            0.95
        } else {
            30.0 * known.high
        };
        let kind = quantity(measures, known.unit, (0.0, most), (known.low, known.high));
        fields[at] = field(
            known.name,
            kind,
            Optional("its default"),
            "",
            known.explanation,
        );
        at += 1;
    }
    fields
}

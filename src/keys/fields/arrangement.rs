//! Keys of `[arrangement]`.

use super::super::schema::{
    Field, Kind,
    Need::Default,
    Need::Optional,
    Need::Required,
    Spread::{Exact, Factor, PlusMinus},
    Table, field, quantity,
};
use super::shared::{AT, CHAMBER_TEMPERATURE, EVERY_DAY, STRETCH, UNTIL};
use crate::quantity::Quantity as Q;

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

/// Words for what stands open beside a fan.
pub const OPEN_SIDES: &[&str] = &["lid", "door"];

const AIR_SPEED: Kind = quantity(Q::Speed, "m/s", (0.0, 30.0), (0.1, 5.0));

const OPEN: Field = field(
    "open",
    Kind::Choice(OPEN_SIDES),
    Optional("lid and door stay shut while the fan runs"),
    "\"lid\"",
    "What stands open while a fan runs; without a fan, kind says it.",
);
const OUTLET: Field = field(
    "outlet",
    quantity(Q::Length, "mm", (5.0, 1_000.0), (25.0, 300.0)),
    Optional("120 mm, a common fan's"),
    "\"80 mm\"",
    "Diameter of the outlet through which a recirculating fan blows; a narrow one stirs the chamber more.",
)
.spread(Factor(1.1));
const SPEED_AT_BED: Field = field(
    "speed_at_bed",
    AIR_SPEED,
    Optional("the fan does not blow at the bed"),
    "\"1.5 m/s\"",
    "Air speed over the bed, where the fan blows at it.",
)
.spread(Factor(1.5));
const SPEED_AT_PART: Field = field(
    "speed_at_part",
    AIR_SPEED,
    Optional("the fan does not blow at the part"),
    "\"1.5 m/s\"",
    "Air speed over the part, where the fan blows at it.",
)
.spread(Factor(1.5));

const FLOW: Field = field(
    "flow",
    FAN_FLOW,
    Optional("needed when extracting, blowing in or recirculating"),
    "\"40 m3/h\"",
    "Volume flow at the fan.",
)
.spread(Factor(1.2));
const POWER: Field = field(
    "fan_power",
    FAN_POWER,
    Optional("10 W recirculating; blowing in, system.fan_power, or else 0.35 W per m3/h and no less than 10 W"),
    "\"10 W\"",
    "Electrical power of a fan that recirculates or blows in; all of it becomes heat in the chamber.",
)
.spread(Factor(1.2));

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
        FLOW,
        POWER,
        OPEN,
        OUTLET,
        SPEED_AT_BED,
        SPEED_AT_PART,
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
        )
        .spread(PlusMinus(1.0)),
        field(
            "off_below",
            CHAMBER_TEMPERATURE,
            Required,
            "\"40 degC\"",
            "The fan stops below this; it must lie under on_above.",
        )
        .spread(PlusMinus(1.0)),
    ],
};

/// `[[arrangement.schedule]]`.
pub static SCHEDULE: Table = Table {
    doc: "Another arrangement for a stretch of the run, once or every day. Where one that comes once falls into one that repeats, it holds.",
    fields: &[
        AT,
        field(
            "duration",
            STRETCH,
            Optional("until says when it ends"),
            "\"4 min\"",
            "How long it lasts.",
        )
        .spread(Exact),
        UNTIL,
        EVERY_DAY,
        field(
            "kind",
            ARRANGEMENT_KIND,
            Required,
            "\"door open\"",
            "What is open, shut or blowing meanwhile.",
        ),
        FLOW,
        POWER,
        OPEN,
        OUTLET,
        SPEED_AT_BED,
        SPEED_AT_PART,
    ],
};

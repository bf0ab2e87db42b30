//! Keys of `[machine.feeder]` besides those of every motor, and of its gear and mount.

use super::super::schema::{
    Field, Kind,
    Need::Default,
    Need::Optional,
    Need::Required,
    Spread::{Factor, In},
    Table, field, quantity,
};
use crate::quantity::Quantity as Q;

const PART_MASS: Kind = quantity(Q::Mass, "g", (0.5, 1e5), (5.0, 2_000.0));
const PART_AREA: Kind = quantity(Q::Area, "cm2", (0.1, 2e4), (5.0, 1_500.0));
const CAPACITY: Kind = quantity(
    Q::HeatCapacity,
    "J/(kg K)",
    (50.0, 5_000.0),
    (350.0, 2_000.0),
);
const JOINT: Kind = quantity(Q::Conductance, "W/K", (0.0, 50.0), (0.0, 2.0));

/// What a feeder has besides its motor.
pub(super) const FEEDER_FIELDS: [Field; 4] = [
    field(
        "grip_length",
        quantity(Q::Length, "mm", (0.5, 500.0), (3.0, 80.0)),
        Default("15 mm"),
        "\"15 mm\"",
        "Length of filament gripped by the gear or close to it.",
    )
    .spread(Factor(1.5)),
    field(
        "heat_sink",
        JOINT,
        Default("0 W/K"),
        "\"0.1 W/K\"",
        "Extra heat given to the air per kelvin by a heat sink or fan on the motor; what is not written counts as none. For fins, their surface times about 10 W/(m2 K), in a fan's stream 30.",
    )
    .spread(In("coefficients.heat_sink")),
    field(
        "gear",
        Kind::Table(&GEAR),
        Default(""),
        "",
        "The drive gear with what it presses the filament against.",
    ),
    field(
        "mount",
        Kind::Table(&MOUNT),
        Optional("nothing is mounted to it: motor and gear lose heat to the air alone"),
        "",
        "What motor and gear are mounted on: plate, carriage or bracket.",
    ),
];

/// `[machine.feeder.gear]`.
pub static GEAR: Table = Table {
    doc: "The drive gear with what it presses the filament against.",
    fields: &[
        field(
            "mass",
            PART_MASS,
            Default("12 g"),
            "\"12 g\"",
            "Mass of gear and idler; kitchen scales.",
        )
        .spread(Factor(1.5)),
        field(
            "heat_capacity",
            CAPACITY,
            Default("470 J/(kg K)"),
            "\"470 J/(kg K)\"",
            "Heat capacity: steel about 470, brass 380, aluminium 900.",
        )
        .spread(Factor(1.2)),
        field(
            "area",
            PART_AREA,
            Default("8 cm2"),
            "\"8 cm2\"",
            "Surface of the gear and half of what it presses against; half of that inside a closed housing.",
        )
        .spread(Factor(1.5)),
        field(
            "shaft",
            JOINT,
            Default("0.045 W/K"),
            "\"0.045 W/K\"",
            "Heat that comes from the motor per kelvin: through rotor, bearing and shaft about 0.045, through plastic gears 0.006 W/K. Measure after an hour of holding with no filament: the gear's own loss (its surface times 10 W/(m2 K)) times gear minus air, divided by motor minus gear.",
        )
        .spread(In("coefficients.shaft")),
    ],
};

/// `[machine.feeder.mount]`.
pub static MOUNT: Table = Table {
    doc: "What motor and gear are mounted on: plate, carriage or bracket.",
    fields: &[
        field(
            "mass",
            PART_MASS,
            Required,
            "\"120 g\"",
            "Mass of plate or carriage; kitchen scales, or volume times 2.7 kg a litre for aluminium.",
        )
        .spread(Factor(1.3)),
        field(
            "heat_capacity",
            CAPACITY,
            Default("900 J/(kg K)"),
            "\"900 J/(kg K)\"",
            "Heat capacity: aluminium about 900, steel 470, plastic 1400.",
        )
        .spread(Factor(1.2)),
        field(
            "area",
            PART_AREA,
            Required,
            "\"120 cm2\"",
            "Its surface in the air, both sides.",
        )
        .spread(Factor(1.4)),
        field(
            "motor",
            JOINT,
            Default("2 W/K"),
            "\"2 W/K\"",
            "Heat that the motor's face passes to it per kelvin: bolted metal on metal about 2, plastic 0.06 W/K and 0.03 more for each screw that ends in metal.",
        )
        .spread(In("coefficients.mount_face")),
        field(
            "gear",
            JOINT,
            Default("0 W/K"),
            "\"0.1 W/K\"",
            "Heat that the gear passes to it per kelvin through bearings of its own, about 0.05 W/K each; a gear on the motor's shaft has none.",
        )
        .spread(In("coefficients.gear_seat")),
        field(
            "frame",
            JOINT,
            Default("0 W/K"),
            "\"0.03 W/K\"",
            "Heat that it passes to frame or gantry per kelvin: a metal carriage on a ball rail about 0.2, plastic rollers or a plastic carriage 0.03, bolted to the frame 1; apart 0.",
        )
        .spread(In("coefficients.mount_frame")),
        field(
            "cold_end",
            JOINT,
            Default("0 W/K"),
            "\"0.4 W/K\"",
            "Heat that it passes to the cold end per kelvin, where the two touch as in a direct drive: bolted flat, metal on metal, 1.6, a neck clamped in metal 0.4, plastic between 0.03 and 0.025 more for each steel screw through it; apart 0.",
        )
        .spread(In("coefficients.mount_cold_end")),
    ],
};

//! Keys of what some machines have besides: `[machine.chamber_heater]`, `[machine.part_fan]`,
//! `[machine.second_hotend]`.

use super::super::schema::{
    Kind,
    Need::{Default, Required},
    Spread::{Factor, In},
    Table, field, quantity,
};
use super::shared::CAPACITY;
use crate::quantity::Quantity as Q;

/// Words for where a chamber heater blows.
const HEATED: &[&str] = &["chamber bottom", "chamber top"];

/// `[machine.chamber_heater]`.
pub static CHAMBER_HEATER: Table = Table {
    doc: "A heater of the chamber's air, which holds `job.chamber`.",
    fields: &[
        field(
            "max_power",
            quantity(Q::Power, "W", (1.0, 50_000.0), (50.0, 5_000.0)),
            Required,
            "\"300 W\"",
            "Largest heater power, its fan's included; label.",
        )
        .spread(Factor(1.1)),
        field(
            "place",
            Kind::Choice(HEATED),
            Default("chamber bottom"),
            "\"chamber bottom\"",
            "Which air it heats and measures. A heater at the bottom leaves the air at the head warmer than its setpoint, one at the top only that air warm.",
        ),
    ],
};

/// `[machine.part_fan]`.
pub static PART_FAN: Table = Table {
    doc: "The fan at the head that cools what has just been laid down, while printing after the first layers.",
    fields: &[
        field(
            "power",
            quantity(Q::Power, "W", (0.0, 500.0), (0.5, 30.0)),
            Required,
            "\"2.4 W\"",
            "Electrical power, all of which becomes heat in the air around the head: voltage times current on its label. Leave it out of `machine.electronics`.",
        )
        .spread(Factor(1.2)),
        field(
            "speed",
            quantity(Q::Speed, "m/s", (0.0, 20.0), (0.0, 3.0)),
            Default("0 m/s"),
            "\"0.5 m/s\"",
            "Mean speed of its air over the whole part, far less than at the nozzle; 0 leaves the part's cooling as it is.",
        )
        .spread(Factor(2.0)),
    ],
};

/// `[machine.second_hotend]`.
pub static SECOND_HOTEND: Table = Table {
    doc: "A second hotend beside the first, with its own cold end and fan. The first's feed path feels it; its own is not judged.",
    fields: &[
        field(
            "mass",
            quantity(Q::Mass, "g", (1.0, 5_000.0), (8.0, 400.0)),
            Default("40 g"),
            "\"40 g\"",
            "Mass of block, nozzle and heater.",
        )
        .spread(Factor(1.3)),
        field(
            "heat_capacity",
            CAPACITY,
            Default("500 J/(kg K)"),
            "\"500 J/(kg K)\"",
            "Heat capacity; brass and steel 380 to 470, aluminium about 900.",
        )
        .spread(Factor(1.2)),
        field(
            "max_power",
            quantity(Q::Power, "W", (1.0, 5_000.0), (15.0, 300.0)),
            Default("50 W"),
            "\"50 W\"",
            "Largest heater power; label.",
        )
        .spread(Factor(1.1)),
        field(
            "loss",
            quantity(Q::Conductance, "W/K", (0.0, 10.0), (0.02, 0.5)),
            Default("0.1 W/K"),
            "\"0.1 W/K\"",
            "Heat to the chamber per kelvin, as of the first.",
        )
        .spread(In("coefficients.hotend_loss")),
        field(
            "heat_break",
            quantity(Q::Conductance, "W/K", (0.0, 2.0), (0.003, 0.15)),
            Default("0.02 W/K"),
            "\"0.02 W/K\"",
            "Conductance to its cold end.",
        )
        .spread(In("coefficients.heat_break")),
        field(
            "cold_end_mass",
            quantity(Q::Mass, "g", (1.0, 5_000.0), (8.0, 500.0)),
            Default("35 g"),
            "\"35 g\"",
            "Mass of its cold end.",
        )
        .spread(Factor(1.3)),
        field(
            "cooling",
            quantity(Q::Conductance, "W/K", (0.001, 100.0), (0.05, 3.0)),
            Default("0.4 W/K"),
            "\"0.4 W/K\"",
            "Heat its cold end gives to the air per kelvin with its fan running.",
        )
        .spread(In("coefficients.cold_end_cooling")),
        field(
            "beside",
            quantity(Q::Conductance, "W/K", (0.0, 50.0), (0.0, 5.0)),
            Default("0.5 W/K"),
            "\"0.5 W/K\"",
            "Conductance between the two cold ends: section of the plate they share times its conductivity, divided by their distance; a plate of aluminium 1 to 2, screws and air between 0.1. The larger, the more the first feels of the second.",
        )
        .spread(Factor(2.0)),
    ],
};

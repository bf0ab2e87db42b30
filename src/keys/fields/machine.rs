//! Keys of a machine, in the catalogue's files and under `[machine]` in a run file.

use super::super::kinds::Kind as EntryKind;
use super::super::schema::{
    Field, Kind, Need,
    Need::Default,
    Need::Optional,
    Need::Required,
    Spread,
    Spread::{Factor, In, PlusMinus},
    Table, field, quantity,
};
use super::coefficients::COEFFICIENTS;
use super::feeder::FEEDER_FIELDS;
use super::heat_sources::{CHAMBER_HEATER, PART_FAN, SECOND_HOTEND};
use super::panel::PANEL;
use super::shared::{CAPACITY, EMISSIVITY, SOURCES, with_name};
use crate::quantity::Quantity as Q;

const INSIDE: Kind = quantity(Q::Length, "mm", (50.0, 5_000.0), (120.0, 2_000.0));
const HEIGHT: Kind = quantity(Q::Length, "mm", (0.0, 5_000.0), (0.0, 2_000.0));
const PANEL_KIND: Kind = Kind::Panel(&PANEL);
const MOTOR_AREA: Kind = quantity(Q::Area, "cm2", (1.0, 2e4), (20.0, 2_000.0));

/// Words for where something is.
pub const PLACES: &[&str] = &["room", "chamber bottom", "chamber top"];
const PLACE: Kind = Kind::Choice(PLACES);

const MACHINE_FIELDS: [Field; 34] = [
    field(
        "title",
        Kind::Text,
        Default("a machine of your own"),
        "\"Bench machine, 60 litres\"",
        "One line of description.",
    ),
    field(
        "notes",
        Kind::Text,
        Optional("no notes"),
        "\"Measured in May.\"",
        "Whatever the next reader should know.",
    ),
    field(
        "width",
        INSIDE,
        Required,
        "\"550 mm\"",
        "Inside width, left to right; tape measure.",
    ).spread(PlusMinus(5.0)),
    field(
        "depth",
        INSIDE,
        Required,
        "\"550 mm\"",
        "Inside depth, front to back; tape measure.",
    ).spread(PlusMinus(5.0)),
    field(
        "height",
        INSIDE,
        Required,
        "\"700 mm\"",
        "Inside height, floor to lid; tape measure.",
    ).spread(PlusMinus(5.0)),
    field(
        "head_height",
        HEIGHT,
        Optional("it sits at nine tenths of the chamber's height, where the air is warmest"),
        "\"600 mm\"",
        "Height above the floor of the head, and of what else has the place \"chamber top\": the highest it comes to while printing.",
    ).spread(PlusMinus(20.0)),
    field(
        "air_layers",
        Kind::Integer(2, 20),
        Default("7"),
        "7",
        "How many layers the chamber's air is divided into, bottom to top.",
    ),
    field(
        "lid",
        PANEL_KIND,
        Required,
        "\"polycarbonate-4\"",
        "Build-up of the lid.",
    ),
    field(
        "walls",
        PANEL_KIND,
        Required,
        "\"polycarbonate-4\"",
        "Build-up of left, right and back wall.",
    ),
    field(
        "door",
        PANEL_KIND,
        Required,
        "\"polycarbonate-4\"",
        "Build-up of the front with its door.",
    ),
    field(
        "floor",
        PANEL_KIND,
        Required,
        "\"painted-steel-1\"",
        "Build-up of the floor.",
    ),
    field(
        "door_opening",
        quantity(Q::Area, "cm2", (1.0, 2.5e5), (50.0, 4e4)),
        Required,
        "\"2400 cm2\"",
        "Area that is free when the door stands open: width times height of the hole.",
    ).spread(Factor(1.1)),
    field(
        "door_opening_height",
        quantity(Q::Length, "mm", (10.0, 5_000.0), (80.0, 2_000.0)),
        Required,
        "\"600 mm\"",
        "Height of the hole that the open door leaves.",
    ).spread(PlusMinus(10.0)),
    field(
        "lid_opening",
        quantity(Q::Area, "cm2", (1.0, 2.5e5), (50.0, 4e4)),
        Required,
        "\"2500 cm2\"",
        "Area that is free when the lid is off.",
    ).spread(Factor(1.1)),
    field(
        "leak_area",
        quantity(Q::Area, "cm2", (0.0, 5_000.0), (1.0, 300.0)),
        Required,
        "\"15 cm2\"",
        "All cracks and cable holes together: length of each crack times its width (feeler gauge), added up.",
    ).spread(In("coefficients.leakage")),
    field(
        "extraction_height",
        HEIGHT,
        Required,
        "\"650 mm\"",
        "Height above the floor of the point where air is, or would be, extracted.",
    ).spread(PlusMinus(20.0)),
    field(
        "inlet_height",
        HEIGHT,
        Required,
        "\"100 mm\"",
        "Height above the floor at which a fan blows, or would blow, air in.",
    ).spread(PlusMinus(20.0)),
    field(
        "electronics",
        quantity(Q::Power, "W", (0.0, 2_000.0), (0.0, 200.0)),
        Required,
        "\"10 W\"",
        "Heat of boards, lights and fans that stays in the chamber: watt meter, machine on, heaters and motors off.",
    ).spread(Factor(1.3)),
    field(
        "spool",
        PLACE,
        Required,
        "\"room\"",
        "Where the spool hangs.",
    ),
    field(
        "guide_tube",
        quantity(Q::Length, "mm", (0.0, 10_000.0), (0.0, 3_000.0)),
        Required,
        "\"600 mm\"",
        "Length of filament path inside the chamber ahead of the drive gear; tape measure.",
    ).spread(PlusMinus(30.0)),
    field(
        "filament_diameter",
        quantity(Q::Length, "mm", (0.5, 6.0), (1.5, 3.1)),
        Default("1.75 mm"),
        "\"1.75 mm\"",
        "Diameter of the filament; calliper.",
    ).spread(PlusMinus(0.03)),
    field(
        "vent",
        Kind::List(&VENT),
        Optional("there is none"),
        "",
        "An opening meant for make-up air or exhaust.",
    ),
    field(
        "frame",
        Kind::Table(&FRAME),
        Required,
        "",
        "Frame and gantry inside the panels: the slow mass.",
    ),
    field("bed", Kind::Table(&BED), Required, "", "The heated bed."),
    field(
        "hotend",
        Kind::Table(&HOTEND),
        Default(""),
        "",
        "The hotend block.",
    ),
    field(
        "cold_end",
        Kind::Table(&COLD_END),
        Default(""),
        "",
        "The cold end above the heat break.",
    ),
    field(
        "motion",
        Kind::Table(&MOTION),
        Required,
        "",
        "The motors that move head and bed, taken as one.",
    ),
    field(
        "feeder",
        Kind::Table(&FEEDER),
        Required,
        "",
        "The feeder: its motor, the drive gear on the shaft, and what both are mounted on.",
    ),
    field(
        "chamber_heater",
        Kind::Table(&CHAMBER_HEATER),
        Optional("the chamber's air has no heater of its own"),
        "",
        "A heater of the chamber's air.",
    ),
    field(
        "part_fan",
        Kind::Table(&PART_FAN),
        Optional("there is none, or it is counted under electronics"),
        "",
        "The part-cooling fan.",
    ),
    field(
        "second_hotend",
        Kind::Table(&SECOND_HOTEND),
        Optional("there is one hotend"),
        "",
        "A second hotend beside the first.",
    ),
    field(
        "coefficients",
        Kind::Table(&COEFFICIENTS),
        Optional("every coefficient keeps its default"),
        "",
        "What calibration found for the model's uncertain numbers on this machine. A run file's own [coefficients] count before these.",
    ),
    field(
        "correlation",
        Kind::List(&CORRELATION),
        Optional("each value is off by itself"),
        "",
        "How what calibration left open of one value hangs together with what it left open of another. It counts for values that stand with their ± beside it.",
    ),
    SOURCES,
];

/// A machine's file in the catalogue.
pub static MACHINE: Table = Table {
    doc: "A machine as measured with a tape, a watt meter and a thermometer.",
    fields: &MACHINE_FIELDS,
};

/// `[machine]` in a run file.
pub static MACHINE_OVERRIDES: Table = Table {
    doc: "The machine: a name from the catalogue, whose values may be replaced here one by one, or a whole description.",
    fields: &with_name::<34, 35>(
        field(
            "name",
            Kind::Name(EntryKind::Machine),
            Optional("the machine is described here in full"),
            "\"bench-220\"",
            "Name in the catalogue.",
        ),
        MACHINE_FIELDS,
    ),
};

/// `correlation` of a machine: written by `dogdays calibrate`.
pub static CORRELATION: Table = Table {
    doc: "Two values that calibration did not find independently of each other.",
    fields: &[
        field(
            "of",
            Kind::Text,
            Required,
            "\"coefficients.feeder_heat\"",
            "Key of one value, with its tables.",
        ),
        field(
            "with",
            Kind::Text,
            Required,
            "\"coefficients.leakage\"",
            "Key of the other.",
        ),
        field(
            "is",
            quantity(Q::Number, "", (-1.0, 1.0), (-1.0, 1.0)),
            Required,
            "-0.4",
            "1 where both are too high together, -1 where more of one makes up for less of the other, 0 where neither says anything about the other.",
        )
        .spread(Spread::Exact),
    ],
};

/// `[[machine.vent]]`.
pub static VENT: Table = Table {
    doc: "An opening meant for make-up air or exhaust.",
    fields: &[
        field(
            "area",
            quantity(Q::Area, "cm2", (0.01, 1e5), (0.5, 2_000.0)),
            Required,
            "\"30 cm2\"",
            "Free area: for a grille, the holes only.",
        )
        .spread(Factor(1.3)),
        field(
            "height",
            HEIGHT,
            Required,
            "\"100 mm\"",
            "Height of its middle above the floor.",
        )
        .spread(PlusMinus(20.0)),
        field(
            "discharge",
            quantity(Q::Fraction, "", (0.05, 1.0), (0.3, 0.95)),
            Default("0.61"),
            "0.61",
            "Discharge coefficient; 0.61 for a sharp-edged hole.",
        )
        .spread(Factor(1.15)),
    ],
};

/// `[machine.frame]`.
pub static FRAME: Table = Table {
    doc: "Frame and gantry inside the panels: the slow mass.",
    fields: &[
        field(
            "mass",
            quantity(Q::Mass, "kg", (0.05, 2_000.0), (0.5, 300.0)),
            Required,
            "\"14 kg\"",
            "Mass of profiles, rails and gantry inside; weigh, or length times mass per metre.",
        )
        .spread(Factor(1.3)),
        field(
            "heat_capacity",
            CAPACITY,
            Default("700 J/(kg K)"),
            "\"900 J/(kg K)\"",
            "Heat capacity: aluminium about 900, steel about 470.",
        )
        .spread(Factor(1.25)),
        field(
            "area",
            quantity(Q::Area, "m2", (0.005, 100.0), (0.05, 20.0)),
            Required,
            "\"0.9 m2\"",
            "Surface that touches the chamber's air: length of profiles times their girth.",
        )
        .spread(Factor(1.5)),
    ],
};

/// `[machine.bed]`.
pub static BED: Table = Table {
    doc: "The heated bed.",
    fields: &[
        field(
            "height",
            HEIGHT,
            Optional("it lies at 15 % of the chamber's height"),
            "\"120 mm\"",
            "Height of the plate's upper face above the floor when the first layer is laid; each 100 mm are worth some tenths of a kelvin in the air above.",
        ).spread(PlusMinus(10.0)),
        field(
            "moves",
            Kind::Choice(&["stays", "down"]),
            Default("stays"),
            "\"down\"",
            "What the bed does in height while the part grows: \"stays\", or goes \"down\" by the part's height. It is taken at its mean height over the run: early on, while it stands high, the chamber is some tenths of a kelvin warmer than said.",
        ),
        field(
            "width",
            quantity(Q::Length, "mm", (30.0, 5_000.0), (80.0, 1_500.0)),
            Required,
            "\"360 mm\"",
            "Width of the plate.",
        ).spread(PlusMinus(5.0)),
        field(
            "depth",
            quantity(Q::Length, "mm", (30.0, 5_000.0), (80.0, 1_500.0)),
            Required,
            "\"360 mm\"",
            "Depth of the plate.",
        ).spread(PlusMinus(5.0)),
        field(
            "mass",
            quantity(Q::Mass, "kg", (0.02, 500.0), (0.15, 60.0)),
            Required,
            "\"3 kg\"",
            "Mass of plate, heater and build surface; an aluminium plate weighs 2.7 kg per litre.",
        ).spread(Factor(1.15)),
        field(
            "heat_capacity",
            CAPACITY,
            Default("900 J/(kg K)"),
            "\"900 J/(kg K)\"",
            "Heat capacity; aluminium about 900.",
        ).spread(Factor(1.1)),
        field(
            "max_power",
            quantity(Q::Power, "W", (1.0, 2e4), (50.0, 4_000.0)),
            Required,
            "\"600 W\"",
            "Largest heater power: label, or watt meter while it heats up.",
        ).spread(Factor(1.1)),
        field(
            "emissivity",
            EMISSIVITY,
            Default("0.9"),
            "0.9",
            "Emissivity of the upper face: plastic sheet or glass about 0.9, bare aluminium about 0.1.",
        ).spread(PlusMinus(0.07)),
        field(
            "underside_resistance",
            quantity(Q::Resistance, "m2 K/W", (0.0, 5.0), (0.0, 0.6)),
            Default("0.1 m2 K/W"),
            "\"0.1 m2 K/W\"",
            "Insulation under the plate: thickness divided by conductivity; 5 mm of foam about 0.1, bare 0.",
        ).spread(Factor(2.0)),
    ],
};

/// `[machine.hotend]`.
pub static HOTEND: Table = Table {
    doc: "The hotend block.",
    fields: &[
        field(
            "mass",
            quantity(Q::Mass, "g", (1.0, 5_000.0), (10.0, 500.0)),
            Default("45 g"),
            "\"45 g\"",
            "Mass of block, heater and nozzle.",
        ).spread(Factor(1.3)),
        field(
            "heat_capacity",
            CAPACITY,
            Default("500 J/(kg K)"),
            "\"500 J/(kg K)\"",
            "Heat capacity: brass and copper about 390, steel 470, aluminium 900.",
        ).spread(Factor(1.2)),
        field(
            "max_power",
            quantity(Q::Power, "W", (1.0, 5_000.0), (15.0, 300.0)),
            Default("50 W"),
            "\"50 W\"",
            "Largest heater power; label.",
        ).spread(Factor(1.1)),
        field(
            "loss",
            quantity(Q::Conductance, "W/K", (0.0, 10.0), (0.02, 0.5)),
            Default("0.1 W/K"),
            "\"0.1 W/K\"",
            "Heat to the chamber per kelvin: power that holds the nozzle hot with nothing fed, divided by nozzle minus chamber temperature, less the heat break.",
        ).spread(In("coefficients.hotend_loss")),
        field(
            "heat_break",
            quantity(Q::Conductance, "W/K", (0.0, 2.0), (0.003, 0.15)),
            Default("0.02 W/K"),
            "\"0.02 W/K\"",
            "Conductance to the cold end: wall section of the tube times conductivity, divided by its length.",
        ).spread(In("coefficients.heat_break")),
        field(
            "neck",
            quantity(Q::Length, "mm", (0.5, 100.0), (1.5, 15.0)),
            Default("3 mm"),
            "\"3 mm\"",
            "Length of the heat break's thin wall, between cold end and block: calliper, or the drawing.",
        ).spread(Factor(1.5)),
    ],
};

/// `[machine.cold_end]`.
pub static COLD_END: Table = Table {
    doc: "The cold end above the heat break.",
    fields: &[
        field(
            "mass",
            quantity(Q::Mass, "g", (1.0, 5_000.0), (8.0, 500.0)),
            Default("35 g"),
            "\"35 g\"",
            "Mass of the finned block.",
        )
        .spread(Factor(1.3)),
        field(
            "heat_capacity",
            CAPACITY,
            Default("900 J/(kg K)"),
            "\"900 J/(kg K)\"",
            "Heat capacity; aluminium about 900.",
        )
        .spread(Factor(1.1)),
        field(
            "cooling",
            quantity(Q::Conductance, "W/K", (0.001, 100.0), (0.05, 3.0)),
            Default("0.4 W/K"),
            "\"0.4 W/K\"",
            "Heat given to the air per kelvin with its fan running.",
        )
        .spread(In("coefficients.cold_end_cooling")),
        field(
            "length",
            quantity(Q::Length, "mm", (1.0, 1_000.0), (8.0, 150.0)),
            Default("30 mm"),
            "\"30 mm\"",
            "Length of filament path inside it.",
        )
        .spread(PlusMinus(3.0)),
    ],
};

const MOTOR_FIELDS: [Field; 5] = [
    field(
        "heat",
        quantity(Q::Power, "W", (0.0, 2_000.0), (0.5, 150.0)),
        Required,
        "\"3 W\"",
        "Heat while working, all of it: watt meter with and without the motors on, or phases times current squared times the resistance of one winding. That current is RMS and per phase, as is the one on a stepper's label; what is set at a driver may be RMS or the peak, 1.41 times as much: its manual says which. Watts read while the motors were warm: say so with heat_at.",
    ),
    field(
        "mass",
        quantity(Q::Mass, "g", (5.0, 1e5), (80.0, 5_000.0)),
        Required,
        "\"250 g\"",
        "Mass; label or kitchen scales.",
    )
    .spread(Factor(1.15)),
    field(
        "area",
        MOTOR_AREA,
        Required,
        "\"100 cm2\"",
        "Surface that the air touches.",
    )
    .spread(Factor(1.3)),
    field(
        "place",
        PLACE,
        Required,
        "\"chamber top\"",
        "Where it sits.",
    ),
    field(
        "heat_at",
        quantity(Q::Temperature, "degC", (-40.0, 250.0), (15.0, 120.0)),
        Default("20 degC"),
        "\"60 degC\"",
        "Temperature of the motor at which `heat` holds; from there it rises by 0.393 % a kelvin, as copper's resistance does. Watts worked out from a resistance on a label or measured cold: 20 degC, which is on the warm side if in doubt. Watts read with a meter after an hour of work: the temperature of the motor's case then, or 60 degC where nobody measured it.",
    ),
];

const fn motor_with<const N: usize>(heat: Spread, more: &[Field], need_place: Need) -> [Field; N] {
    let mut all = [MOTOR_FIELDS[3]; N];
    let mut at = 0;
    while at < N {
        all[at] = if at < MOTOR_FIELDS.len() {
            MOTOR_FIELDS[at]
        } else {
            more[at - MOTOR_FIELDS.len()]
        };
        at += 1;
    }
    all[0] = all[0].spread(heat);
    all[3].need = need_place;
    // What is not known of it is counted with the heat.
    all[4] = all[4].spread(heat);
    all
}

/// `[machine.motion]`.
pub static MOTION: Table = Table {
    doc: "The motors that move head and bed, taken as one.",
    fields: &motor_with::<5>(
        In("coefficients.motion_heat"),
        &[],
        Default("chamber bottom"),
    ),
};

/// `[machine.feeder]`.
pub static FEEDER: Table = Table {
    doc: "The feeder: its motor, the drive gear on the shaft, and what both are mounted on.",
    fields: &motor_with::<9>(In("coefficients.feeder_heat"), &FEEDER_FIELDS, Required),
};

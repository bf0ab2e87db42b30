//! Keys of `[job]`.

use super::super::schema::{
    Kind,
    Need::Default,
    Need::Optional,
    Need::Required,
    Need::Tacit,
    Spread::{Exact, Factor, PlusMinus},
    Table, field, quantity,
};
use super::shared::{AT, BED, BREAK, CHAMBER_TEMPERATURE, EVERY_DAY, NOZZLE, UNTIL};
use crate::quantity::Quantity as Q;

const STRETCH: Kind = quantity(Q::Time, "min", (0.0, 366.0 * 1_440.0), (0.0, 1_440.0));
const SECOND_NOZZLE: Kind = quantity(Q::Temperature, "degC", (20.0, 550.0), (80.0, 450.0));
const DUTY: Kind = quantity(Q::Fraction, "", (0.0, 1.0), (0.0, 1.0));

/// Words for kinds of phase.
pub const PHASE_KINDS: &[&str] = &[
    "heat up",
    "soak",
    "print",
    "pause",
    "spool change",
    "cool down",
];

/// `[job]`.
pub static JOB: Table = Table {
    doc: "Setpoints and phases. Heating up, soaking, printing with its pauses, and cooling down fill the run; printing takes what the others leave.",
    fields: &[
        field(
            "bed",
            BED,
            Optional("the material's usual one"),
            "\"60 degC\"",
            "Bed temperature.",
        )
        .spread(PlusMinus(3.0)),
        field(
            "nozzle",
            NOZZLE,
            Optional("the material's usual one"),
            "\"210 degC\"",
            "Nozzle temperature.",
        )
        .spread(PlusMinus(5.0)),
        field(
            "chamber",
            CHAMBER_TEMPERATURE,
            Optional("its air is not heated by itself"),
            "\"60 degC\"",
            "Temperature that `machine.chamber_heater` holds from heating up to the last pause.",
        )
        .spread(PlusMinus(3.0)),
        field(
            "first_layers",
            STRETCH,
            Default("0 min"),
            "\"20 min\"",
            "Time from the start of printing for which the setpoints of the first layers hold and the part-cooling fan stands.",
        )
        .spread(Factor(1.5)),
        field(
            "first_layer_bed",
            BED,
            Optional("the job's"),
            "\"65 degC\"",
            "Bed temperature of the first layers, heating up and soaking included.",
        )
        .spread(PlusMinus(3.0)),
        field(
            "first_layer_nozzle",
            NOZZLE,
            Optional("the job's"),
            "\"215 degC\"",
            "Nozzle temperature of the first layers, heating up and soaking included.",
        )
        .spread(PlusMinus(5.0)),
        field(
            "part_fan",
            DUTY,
            Tacit("1", "all of it, where the machine has one"),
            "1.0",
            "Share of the part-cooling fan's power and air while printing after the first layers.",
        )
        .spread(PlusMinus(0.1)),
        field(
            "second_nozzle",
            SECOND_NOZZLE,
            Optional("the second hotend is off"),
            "\"150 degC\"",
            "Temperature of the second hotend's nozzle from heating up to the last pause: standby or working. Filament that it feeds is not followed.",
        )
        .spread(PlusMinus(5.0)),
        field(
            "heat_up",
            STRETCH,
            Default("15 min"),
            "\"15 min\"",
            "Time for bed and hotend to heat up before anything is fed.",
        )
        .spread(Factor(1.2)),
        field(
            "soak",
            STRETCH,
            Default("0 min"),
            "\"30 min\"",
            "Time for the chamber to warm through before anything is fed.",
        )
        .spread(Exact),
        field(
            "cool_down",
            STRETCH,
            Default("0 min"),
            "\"2 h\"",
            "Time at the end with heaters and motors off.",
        )
        .spread(Exact),
        field(
            "motion",
            DUTY,
            Default("1"),
            "1.0",
            "Share of the motion motors' heat while printing.",
        )
        .spread(PlusMinus(0.1)),
        field(
            "feeder",
            DUTY,
            Default("1"),
            "1.0",
            "Share of the feeder motor's heat while printing.",
        )
        .spread(PlusMinus(0.1)),
        field(
            "longest_stop",
            quantity(Q::Time, "s", (0.0, 3_600.0), (0.0, 300.0)),
            Default("30 s"),
            "\"30 s\"",
            "Longest time for which filament stands still while printing goes on: travel, layer changes, retractions, a nozzle that waits for its temperature. It warms while it stands; the verdict is that of filament which has stood so long. Longer ones are pauses.",
        )
        .spread(Factor(2.0)),
        field(
            "filament",
            Kind::Choice(&["damp", "dry"]),
            Default("damp"),
            "\"dry\"",
            "Whether the filament is fed dry, from a sealed box with a drying agent, or hangs in the room's air: in a week it takes up the room's moisture and softens sooner.",
        ),
        field(
            "pause",
            Kind::List(&PAUSE),
            Optional("printing never pauses"),
            "",
            "A stretch in which nothing is fed and filament is parked in the path, heaters on.",
        ),
        field(
            "spool_change",
            Kind::List(&SPOOL_CHANGE),
            Optional("the spool is never changed"),
            "",
            "A pause for a new spool.",
        ),
        field(
            "phase",
            Kind::List(&PHASE),
            Optional("the phases follow from the keys above"),
            "",
            "All phases written out one by one, instead of heat_up, soak, pause, spool_change and cool_down.",
        ),
        field(
            "profile",
            Kind::File,
            Optional("the phases follow from the keys above"),
            "\"job.csv\"",
            "CSV file of the job's own course, in a folder relative to this file, instead of phases: elapsed_h (or _min, _s) and any of feed_g_per_h or feed_mm_per_s, bed_degC, nozzle_degC (a temperature or off), motion, feeder (shares of the motors' heat), part_fan, chamber_degC, second_nozzle_degC and standing (1 where the filament stands). A row's values hold until the next row.",
        ),
    ],
};

/// `[[job.pause]]`.
pub static PAUSE: Table = Table {
    doc: "A stretch in which nothing is fed and filament is parked in the path, heaters on.",
    fields: &[
        AT,
        field(
            "duration",
            BREAK,
            Optional("until says when it ends"),
            "\"20 min\"",
            "How long it lasts.",
        )
        .spread(Factor(1.5)),
        UNTIL,
        EVERY_DAY,
    ],
};

/// `[[job.spool_change]]`.
pub static SPOOL_CHANGE: Table = Table {
    doc: "A pause for a new spool.",
    fields: &[
        AT,
        field(
            "duration",
            BREAK,
            Optional("until says when it ends"),
            "\"4 min\"",
            "How long it lasts.",
        )
        .spread(Factor(1.5)),
        UNTIL,
        EVERY_DAY,
        field(
            "door",
            Kind::Choice(&["open", "shut"]),
            Default("shut"),
            "\"open\"",
            "Whether the door stands open meanwhile.",
        ),
    ],
};

/// `[[job.phase]]`.
pub static PHASE: Table = Table {
    doc: "One phase, in order; together they fill the run.",
    fields: &[
        field(
            "kind",
            Kind::Choice(PHASE_KINDS),
            Required,
            "\"print\"",
            "What the phase is for.",
        ),
        field(
            "duration",
            quantity(
                Q::Time,
                "h",
                (1.0 / 3_600.0, 366.0 * 24.0),
                (1.0 / 60.0, 366.0 * 24.0),
            ),
            Optional("until says when it ends; the last phase lasts to the end of the run"),
            "\"40 h\"",
            "How long it lasts.",
        )
        .spread(Exact),
        UNTIL,
        field(
            "bed",
            BED,
            Optional("the job's; none when cooling down"),
            "\"60 degC\"",
            "Bed temperature.",
        )
        .spread(PlusMinus(3.0)),
        field(
            "nozzle",
            NOZZLE,
            Optional("the job's; none when cooling down"),
            "\"210 degC\"",
            "Nozzle temperature.",
        )
        .spread(PlusMinus(5.0)),
        field(
            "motion",
            DUTY,
            Optional("the job's while printing, else 0"),
            "1.0",
            "Share of the motion motors' heat.",
        )
        .spread(PlusMinus(0.1)),
        field(
            "feeder",
            DUTY,
            Optional("the job's while printing, else 0"),
            "1.0",
            "Share of the feeder motor's heat.",
        )
        .spread(PlusMinus(0.1)),
        field(
            "feed",
            quantity(Q::MassFlow, "g/h", (0.0, 50_000.0), (0.5, 3_000.0)),
            Optional("the part's mass is spread evenly over the printing phases"),
            "\"19 g/h\"",
            "Material fed.",
        )
        .spread(Exact),
        field(
            "chamber",
            CHAMBER_TEMPERATURE,
            Optional("the job's; none when cooling down"),
            "\"60 degC\"",
            "Temperature that `machine.chamber_heater` holds.",
        )
        .spread(PlusMinus(3.0)),
        field(
            "part_fan",
            DUTY,
            Optional("the job's while printing, else 0"),
            "0.5",
            "Share of the part-cooling fan's power and air.",
        )
        .spread(PlusMinus(0.1)),
        field(
            "second_nozzle",
            SECOND_NOZZLE,
            Optional("the job's; none when cooling down"),
            "\"150 degC\"",
            "Temperature of the second hotend's nozzle.",
        )
        .spread(PlusMinus(5.0)),
    ],
};

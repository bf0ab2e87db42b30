//! Keys of a run file: its tables, what is said of the run as a whole, and its variants.

use super::super::schema::{
    Field, Kind, Need::Default, Need::Optional, Need::Required, Need::Tacit, Spread::Exact, Table,
    field, quantity,
};
use super::arrangement::ARRANGEMENT;
use super::coefficients::COEFFICIENTS;
use super::failure::FAILURE;
use super::initial::INITIAL;
use super::job::JOB;
use super::log::LOG;
use super::machine::MACHINE_OVERRIDES;
use super::material::MATERIAL_OVERRIDES;
use super::part::PART;
use super::reading::READING;
use super::require::REQUIRE;
use super::room::ROOM;
use super::shop::SHOP;
use super::spool::SPOOL;
use super::sun::SUN;
use super::system::SYSTEM;
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
            Kind::Table(&MACHINE_OVERRIDES),
            Required,
            "",
            "The machine: a name from the catalogue, or a description of your own.",
        ),
        field(
            "material",
            Kind::Table(&MATERIAL_OVERRIDES),
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
            Kind::Table(&JOB),
            Default(""),
            "",
            "Setpoints and phases of the job.",
        ),
        field(
            "spool",
            Kind::Table(&SPOOL),
            Optional("spools are changed where [[job.spool_change]] says so"),
            "",
            "The spools that the job is fed from.",
        ),
        field(
            "room",
            Kind::Table(&ROOM),
            Required,
            "",
            "The room the machine stands in.",
        ),
        field(
            "sun",
            Kind::Table(&SUN),
            Optional("no sun falls into the chamber"),
            "",
            "Sun through clear panels.",
        ),
        field(
            "initial",
            Kind::Table(&INITIAL),
            Optional("everything has the room's temperature"),
            "",
            "Temperatures at the start, where they are not the room's.",
        ),
        field(
            "arrangement",
            Kind::Table(&ARRANGEMENT),
            Default(""),
            "",
            "What is open, shut or blowing.",
        ),
        field(
            "failure",
            Kind::List(&FAILURE),
            Optional("nothing is asked about failures"),
            "",
            "What if something fails on the way: how much time is left until the limit is reached.",
        ),
        field(
            "system",
            Kind::Table(&SYSTEM),
            Default(""),
            "",
            "What extracted air has to pass; used to choose a fan.",
        ),
        field(
            "shop",
            Kind::Table(&SHOP),
            Optional("nothing is said of who is there"),
            "",
            "The shop that the machine stands in.",
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
            Tacit("", "every coefficient keeps its default"),
            "",
            "The uncertain numbers of the model, where you know better than the default.",
        ),
        field(
            "reading",
            Kind::List(&READING),
            Optional("nothing was measured"),
            "",
            "What a thermometer showed during this very run: `dogdays calibrate` fits the machine to it.",
        ),
        field(
            "log",
            Kind::List(&LOG),
            Optional("no log was kept"),
            "",
            "What thermometers showed during this very run, row by row: `dogdays calibrate` fits the machine to it.",
        ),
        field(
            "guessed",
            Kind::Guesses,
            Optional("every value that stands in the file was given by someone"),
            "{ part.mass = \"1.8 kg\" }",
            "Values that nobody gave, under their keys: `dogdays check` repeats them as guesses for as long as they stand in the file as here.",
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
        changed("machine", &MACHINE_OVERRIDES),
        changed("material", &MATERIAL_OVERRIDES),
        changed("part", &PART),
        changed("job", &JOB),
        changed("spool", &SPOOL),
        changed("room", &ROOM),
        changed("sun", &SUN),
        changed("initial", &INITIAL),
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
            "models",
            Kind::Text,
            Optional("the folder my-models beside this file, if there is one"),
            "\"my-models\"",
            "Folder with machines, materials, panels and fans of your own, relative to the folder of this file.",
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
        )
        .spread(Exact),
    ],
};

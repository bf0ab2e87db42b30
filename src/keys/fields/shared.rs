//! What several tables have in common.

use super::super::moment::EVERY;
use super::super::schema::{
    Field, Kind,
    Need::{Optional, Required},
    Range, field, quantity,
};
use crate::quantity::Quantity as Q;

/// A setpoint of the bed.
pub(super) const BED: Kind = quantity(Q::Temperature, "degC", (0.0, 250.0), (15.0, 170.0));
/// A setpoint of the nozzle.
pub(super) const NOZZLE: Kind = quantity(Q::Temperature, "degC", (20.0, 550.0), (170.0, 450.0));
/// A temperature of the chamber's air.
pub(super) const CHAMBER_TEMPERATURE: Kind =
    quantity(Q::Temperature, "degC", (0.0, 250.0), (20.0, 120.0));
/// Heat capacity of a solid.
pub(super) const CAPACITY: Kind = quantity(
    Q::HeatCapacity,
    "J/(kg K)",
    (50.0, 5_000.0),
    (350.0, 2_000.0),
);
/// Emissivity of a face.
pub(super) const EMISSIVITY: Kind = quantity(Q::Fraction, "", (0.01, 1.0), (0.03, 0.98));

/// The length of a stretch of the run.
pub(super) const STRETCH: Kind = quantity(
    Q::Time,
    "min",
    (1.0 / 60.0, 366.0 * 1_440.0),
    (0.5, 366.0 * 1_440.0),
);
/// The length of a pause or of a change of spool.
pub(super) const BREAK: Kind = quantity(
    Q::Time,
    "min",
    (1.0 / 60.0, 366.0 * 1_440.0),
    (0.5, 2_880.0),
);
/// A moment of the run.
pub(super) const MOMENT: Kind = Kind::Moment(Range {
    quantity: Q::Time,
    unit: "h",
    hard: (0.0, 366.0 * 24.0),
    usual: (0.0, 366.0 * 24.0),
});

/// In which order the dates of a file's rows stand.
pub(super) const DATE_ORDER: Kind =
    Kind::Choice(&["year/month/day", "day/month/year", "month/day/year"]);
/// What decimals of a file are written with.
pub(super) const DECIMAL: Kind = Kind::Choice(&["point", "comma"]);
/// What stands between the columns of a file.
pub(super) const SEPARATOR: Kind = Kind::Choice(&["comma", "semicolon", "tab"]);
/// Unit of temperatures in a file.
pub(super) const TEMPERATURE_UNIT: Kind = Kind::Choice(&["degC", "degF", "K"]);

/// When something begins.
pub(super) const AT: Field = field(
    "at",
    MOMENT,
    Required,
    "\"Wed 14:00\"",
    "When it begins: by the clock, \"Wed 14:00\" or \"2026-07-15 14:00\", or counted from the start of the run, \"31 h\". With `every`, a time of day: \"12:00\".",
);
/// When something ends.
pub(super) const UNTIL: Field = field(
    "until",
    MOMENT,
    Optional("duration says how long it lasts"),
    "\"20:00\"",
    "When it ends, instead of duration: by the clock, where a time of day or a weekday is the next one after it began, or counted from the start of the run.",
);
/// How often something comes.
pub(super) const EVERY_DAY: Field = field(
    "every",
    Kind::Choice(EVERY),
    Optional("it comes once"),
    "\"day\"",
    "Repeats it on every day, or on every workday from Monday to Friday, from the time of day `at`, over midnight too.",
);

/// Where the values of a catalogue's file come from.
pub(super) const SOURCES: Field = field(
    "sources",
    Kind::Sources,
    Optional("no sources"),
    "",
    "Where each value comes from.",
);

/// The fields of a catalogue entry with the name in front, as run files have them.
pub(super) const fn with_name<const N: usize, const M: usize>(
    name: Field,
    fields: [Field; N],
) -> [Field; M] {
    assert!(M == N + 1, "one more for the name");
    let mut all = [name; M];
    let mut at = 0;
    while at < N {
        all[at + 1] = fields[at];
        at += 1;
    }
    all
}

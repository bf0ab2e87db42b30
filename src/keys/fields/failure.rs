//! Keys of `[[failure]]`.

use super::super::schema::{Kind, Need::Optional, Need::Required, Spread::Exact, Table, field};
use super::shared::{MOMENT, STRETCH};

/// Words for what fails.
pub const FAILURE_KINDS: &[&str] = &["fan off", "air conditioner off", "power cut"];

/// An entry of `[[failure]]`.
pub static FAILURE: Table = Table {
    doc: "What if something fails: `dogdays check` runs the job once more with it, beside the run itself, whose verdict stays the one with everything working. Each failure is looked at by itself and, where there are several, all of them together too. Other commands don't look at it.",
    fields: &[
        field(
            "kind",
            Kind::Choice(FAILURE_KINDS),
            Required,
            "\"fan off\"",
            "What fails. \"fan off\": the fan of the arrangement, one of its schedule or on a thermostat too; lid and door stay as they are. \"air conditioner off\": that of room.building. \"power cut\": the power of the building, so heaters, motors, electronics and fans of the machine and the air conditioner are off and the filament stands; whatever else warms the room goes on, which is the warm side. When power is back everything works at once and the job goes on by the clock, to the end of the run; a machine that stops for good has a power cut without end. An air conditioner that has to be switched on again by hand is a second failure that lasts longer.",
        ),
        field(
            "at",
            MOMENT,
            Required,
            "\"Wed 14:00\"",
            "When it fails: by the clock, \"Wed 14:00\" or \"2026-07-15 14:00\", or counted from the start of the run, \"31 h\".",
        ),
        field(
            "duration",
            STRETCH,
            Optional("until says when it works again; without both, not in this run"),
            "\"20 min\"",
            "How long it lasts.",
        )
        .spread(Exact),
        field(
            "until",
            MOMENT,
            Optional("duration says how long it lasts; without both, to the end of the run"),
            "\"16:00\"",
            "When it works again, instead of duration: by the clock, where a time of day or a weekday is the next one after it failed, or counted from the start of the run.",
        ),
    ],
};

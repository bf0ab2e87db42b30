//! Keys of `[system]`.

use super::super::schema::{
    Kind,
    Need::Default,
    Need::Optional,
    Spread::{Exact, Factor, PlusMinus},
    Table, field, quantity,
};
use crate::quantity::Quantity as Q;

/// Words for what a filter stops.
pub const FILTERS: &[&str] = &["nothing", "particles", "particles and fumes"];
/// Words for where the air is led.
pub const OUTLETS: &[&str] = &["outdoors", "room"];

/// Words for where the fan sits.
pub const FAN_PLACES: &[&str] = &["machine", "outlet"];

const SCREEN: Kind = quantity(Q::Pressure, "Pa", (0.0, 2_000.0), (0.0, 400.0));
const LOSS: Kind = quantity(Q::Number, "", (0.0, 20.0), (0.0, 3.0));

/// `[system]`.
pub static SYSTEM: Table = Table {
    doc: "What extracted air has to pass between chamber and outlet, besides the machine's own vents and leaks.",
    fields: &[
        field(
            "rated_flow",
            quantity(Q::Flow, "m3/h", (0.1, 5_000.0), (5.0, 600.0)),
            Default("40 m3/h"),
            "\"40 m3/h\"",
            "Flow at which the pressures of grille and filter are stated.",
        ).spread(Exact),
        field(
            "grille",
            SCREEN,
            Default("2 Pa"),
            "\"2 Pa\"",
            "Pressure of the grille at the rated flow; 0 Pa if there is none.",
        ).spread(Factor(1.3)),
        field(
            "filter_clean",
            SCREEN,
            Optional("what such a filter usually takes: 100 Pa for particles and fumes, 60 Pa for particles, 0 Pa where there is none"),
            "\"100 Pa\"",
            "Pressure of the new filter at the rated flow: a coarse mat takes 8 Pa, which stops neither fine particles nor fumes.",
        ).spread(Factor(1.3)),
        field(
            "filter_loaded",
            SCREEN,
            Optional("what such a filter usually takes: 200 Pa for particles and fumes, 150 Pa for particles, and never less than the new one"),
            "\"200 Pa\"",
            "Pressure of the filter at the rated flow when it is due for change.",
        ).spread(Factor(1.4)),
        field(
            "filter_rise",
            SCREEN,
            Optional("nobody knows when the filter is due"),
            "\"10 Pa\"",
            "By how much the filter's pressure, at the rated flow, rises in 100 h of running in this machine.",
        ).spread(Factor(2.0)),
        field(
            "filter_linear",
            quantity(Q::Fraction, "", (0.0, 1.0), (0.0, 1.0)),
            Default("0.7"),
            "0.7",
            "Share of the filter's pressure that grows linearly with flow: dense mats near 1, coarse ones near 0.5.",
        ).spread(PlusMinus(0.15)),
        field(
            "filter_stops",
            Kind::Choice(FILTERS),
            Optional("nobody said: its pressures are taken as those of one for particles and fumes, and nothing is taken to be held back"),
            "\"particles and fumes\"",
            "What the filter is rated for; nothing also stands for none at all.",
        ),
        field(
            "duct_diameter",
            quantity(Q::Length, "mm", (5.0, 1_000.0), (40.0, 315.0)),
            Default("100 mm"),
            "\"100 mm\"",
            "Inside diameter of the duct.",
        ).spread(Factor(1.02)),
        field(
            "duct_length",
            quantity(Q::Length, "m", (0.005, 500.0), (0.01, 50.0)),
            Default("2 m"),
            "\"2 m\"",
            "Length of the duct; for a fan in the chamber's wall, the wall's thickness.",
        ).spread(Factor(1.2)),
        field(
            "duct_roughness",
            quantity(Q::Length, "mm", (0.0, 5.0), (0.001, 3.0)),
            Default("1 mm"),
            "\"1 mm\"",
            "Roughness inside: smooth tube 0.01 mm, sheet metal 0.1 mm, stretched flexible hose 1 mm.",
        ).spread(Factor(3.0)),
        field(
            "bends",
            Kind::Integer(0, 50),
            Default("2"),
            "2",
            "Number of right-angled bends.",
        ),
        field(
            "bend_loss",
            LOSS,
            Default("0.4"),
            "0.4",
            "Loss coefficient of one bend: 0.2 to 0.4 round, 1.2 sharp.",
        ).spread(Factor(1.4)),
        field(
            "entry_loss",
            LOSS,
            Default("0.5"),
            "0.5",
            "Loss coefficient of the duct's entry: 0.5 sharp, 0.05 rounded.",
        ).spread(Factor(1.3)),
        field(
            "exit_loss",
            LOSS,
            Default("1"),
            "1",
            "Loss coefficient of the outlet: 1 free, 2 to 3 with flap or insect screen.",
        ).spread(Factor(1.3)),
        field(
            "led_to",
            Kind::Choice(OUTLETS),
            Default("outdoors"),
            "\"outdoors\"",
            "Where the extracted air goes. Led outdoors it takes its heat along, and a room of its own (`[room.building]`) draws in as much outdoor air for it.",
        ),
        field(
            "wind",
            quantity(Q::Pressure, "Pa", (-500.0, 500.0), (-50.0, 50.0)),
            Default("0 Pa"),
            "\"0 Pa\"",
            "Pressure that wind puts on an outlet outdoors, against the fan where above zero: gusts change it from minute to minute.",
        ).spread(PlusMinus(10.0)),
        field(
            "flap",
            Kind::Bool,
            Default("true"),
            "true",
            "Whether a flap, or the fan itself, shuts the way out while the fan stands still. Without one, warm air goes on leaving that way, as fast as grille, filter and duct let it.",
        ),
        field(
            "fan_at",
            Kind::Choice(FAN_PLACES),
            Default("machine"),
            "\"outlet\"",
            "Where the fan sits: at the machine, where it presses through the duct, or at the duct's far end, where it draws.",
        ),
        field(
            "burner_in_room",
            Kind::Bool,
            Default("false"),
            "false",
            "Whether a stove, boiler or water heater draws its air from the same room.",
        ),
        field(
            "fan_power",
            quantity(Q::Power, "W", (0.01, 5_000.0), (0.3, 250.0)),
            Optional("the energy of a fan on a thermostat is not worked out; one that blows in is taken as a thirsty one"),
            "\"8 W\"",
            "Electrical power of the fan that extracts or blows in; blowing in, it warms what it blows.",
        ).spread(Factor(1.2)),
        field(
            "season",
            quantity(Q::Time, "h", (1.0, 8_784.0), (100.0, 8_784.0)),
            Optional("what the fan uses is told of this run alone"),
            "\"1200 h\"",
            "How long in a season or year the fan is to run.",
        ).spread(Exact),
        field(
            "price_per_kWh",
            quantity(Q::Number, "", (0.0, 1_000.0), (0.05, 2.0)),
            Optional("what the fan uses is not told in money"),
            "0.30",
            "What a kilowatt hour costs, in whatever money: costs are told in the same.",
        ).spread(Exact),
    ],
};

//! Keys of `[coefficients]`: the uncertain numbers of the model.
//!
//! A machine can be measured with a tape and a watt meter, but nobody knows its leaks or how well its air
//! mixes. Each such number has one name, unit, default, plausible spread and explanation, here and
//! nowhere else; calibration, uncertainty, remedies and sensitivities all address it by its key.

use super::super::schema::{Field, Need::Tacit, Spread, Table, field, quantity};
use crate::quantity::Quantity as Q;

/// `[coefficients]`.
pub static COEFFICIENTS: Table = Table {
    doc: "The uncertain numbers of the model; calibration finds them from a logged run.",
    fields: &[
        coefficient(
            "inside_convection",
            Q::Number,
            "",
            "1",
            (0.7, 1.4),
            30.0 * 1.4,
            "multiplies natural convection on every face inside; plate correlations carry 10-30 % in real enclosures (common practice, no source)",
        ),
        coefficient(
            "outside_convection",
            Q::Number,
            "",
            "1",
            (0.7, 1.5),
            30.0 * 1.5,
            "multiplies natural convection on the outside faces; draughts raise it, a wall close by lowers it (common practice, no source)",
        ),
        coefficient(
            "leakage",
            Q::Number,
            "",
            "1",
            (0.3, 3.0),
            30.0 * 3.0,
            "multiplies the machine's leak area, which is rarely known better than by a factor (common practice, no source)",
        ),
        coefficient(
            "plume",
            Q::Number,
            "",
            "1",
            (0.6, 1.5),
            30.0 * 1.5,
            "multiplies the air carried up by the plume over the warm bed; the point-source law is stretched by a wide bed in a low chamber (common practice, no source)",
        ),
        coefficient(
            "layer_mixing",
            Q::Speed,
            "mm/s",
            "1 mm/s",
            (0.2, 5.0),
            30.0 * 5.0,
            "speed at which the moving gantry and stray draughts exchange air between neighbouring layers (common practice, no source)",
        ),
        coefficient(
            "stirring_speed",
            Q::Speed,
            "m/s",
            "0.05 m/s",
            (0.0, 0.2),
            30.0 * 0.2,
            "air speed over the faces inside while printing, from the moving gantry and part-cooling fan (common practice, no source)",
        ),
        coefficient(
            "motion_heat",
            Q::Number,
            "",
            "1",
            (0.7, 1.3),
            30.0 * 1.3,
            "multiplies the heat of the motion motors as described with the machine",
        ),
        coefficient(
            "feeder_heat",
            Q::Number,
            "",
            "1",
            (0.6, 1.4),
            30.0 * 1.4,
            "multiplies the heat of the feeder motor as described with the machine",
        ),
        coefficient(
            "hotend_loss",
            Q::Number,
            "",
            "1",
            (0.6, 1.5),
            30.0 * 1.5,
            "multiplies the hotend's loss to the chamber air; a sock lowers it, a bare block raises it (common practice, no source)",
        ),
        coefficient(
            "heat_break",
            Q::Number,
            "",
            "1",
            (0.6, 1.6),
            30.0 * 1.6,
            "multiplies the conductance of the heat break",
        ),
        coefficient(
            "cold_end_cooling",
            Q::Number,
            "",
            "1",
            (0.6, 1.4),
            30.0 * 1.4,
            "multiplies the cold end's conductance to the air; dust on the fins lowers it (common practice, no source)",
        ),
        coefficient(
            "part_contact",
            Q::HeatTransferCoefficient,
            "W/(m2 K)",
            "150 W/(m2 K)",
            (50.0, 500.0),
            30.0 * 500.0,
            "contact coefficient between part and bed through the build surface (common practice, no source)",
        ),
        coefficient(
            "gear_contact",
            Q::HeatTransferCoefficient,
            "W/(m2 K)",
            "300 W/(m2 K)",
            (100.0, 1000.0),
            30.0 * 1000.0,
            "coefficient between the teeth of the drive gear and the filament they squeeze (common practice, no source)",
        ),
        coefficient(
            "bore_contact",
            Q::HeatTransferCoefficient,
            "W/(m2 K)",
            "60 W/(m2 K)",
            (30.0, 150.0),
            30.0 * 150.0,
            "coefficient between the cold end's bore and the filament across a thin air gap: conductivity of air over a gap of about 0.4 mm",
        ),
        coefficient(
            "short_circuit",
            Q::Number,
            "",
            "0.1",
            (0.0, 0.4),
            0.95,
            "share of the make-up air that runs from inlet to extraction point without cooling the chamber (common practice, no source)",
        ),
        coefficient(
            "bench_resistance",
            Q::Resistance,
            "m2 K/W",
            "0.15 m2 K/W",
            (0.05, 0.5),
            30.0 * 0.5,
            "resistance from the machine's underside through feet, air gap and bench to the room (common practice, no source)",
        ),
    ],
};

/// A coefficient: its plausible range is the usual one, and about one machine in forty lies outside at
/// either end.
const fn coefficient(
    key: &'static str,
    measures: Q,
    unit: &'static str,
    default: &'static str,
    plausible: (f64, f64),
    most: f64,
    doc: &'static str,
) -> Field {
    let kind = quantity(measures, unit, (0.0, most), plausible);
    field(key, kind, Tacit(default, "its default"), "", doc)
        .spread(Spread::Between(plausible.0, plausible.1))
}

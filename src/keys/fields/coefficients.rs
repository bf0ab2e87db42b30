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
            "jet_stirring",
            Q::Number,
            "",
            "1",
            (0.5, 3.0),
            30.0 * 3.0,
            "multiplies the mean air speed that a recirculating fan's jet keeps up; a jet along a wall moves more air than a free one (common practice, no source)",
        ),
        coefficient(
            "opening_stirring",
            Q::Number,
            "",
            "0.1",
            (0.05, 0.3),
            1.0,
            "share of a recirculating fan's mean air speed at which it drives exchange through an open lid or door; 0.1 was found at windows along which the wind blows",
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
            "heat_sink",
            Q::Number,
            "",
            "1",
            (0.5, 2.0),
            30.0 * 2.0,
            "multiplies the heat sink on the feeder motor; fins without an air stream give half of what is hoped for (common practice, no source)",
        ),
        coefficient(
            "shaft",
            Q::Number,
            "",
            "1",
            (0.35, 2.2),
            30.0 * 2.2,
            "multiplies the conductance from the feeder motor to the drive gear; the rotor's air gap and bearings stand before the shaft (common practice, no source)",
        ),
        coefficient(
            "gear_seat",
            Q::Number,
            "",
            "1",
            (0.4, 2.0),
            30.0 * 2.0,
            "multiplies the conductance from the drive gear to its mount through lever and bearings, which touch in lines and points (common practice, no source)",
        ),
        coefficient(
            "mount_face",
            Q::Number,
            "",
            "1",
            (0.35, 3.0),
            30.0 * 3.0,
            "multiplies the conductance from the feeder motor's face to its mount; a joint's gaps, paint and paste are rarely known (common practice, no source)",
        ),
        coefficient(
            "mount_frame",
            Q::Number,
            "",
            "1",
            (0.25, 2.5),
            30.0 * 2.5,
            "multiplies the conductance from the feeder's mount to the frame (common practice, no source)",
        ),
        coefficient(
            "mount_cold_end",
            Q::Number,
            "",
            "1",
            (0.3, 3.0),
            30.0 * 3.0,
            "multiplies the conductance from the feeder's mount to the cold end (common practice, no source)",
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
        allowance(
            "spool_allowance",
            "10 K",
            (4.0, 18.0),
            "how far below its softening limit wound filament already takes a set on the spool: days at 2 % bending are three to four decades longer than the seconds of a softening test, at 3 to 5 K a decade (slope of the WLF equation at the glass transition 3 K)",
        ),
        allowance(
            "tube_allowance",
            "3 K",
            (0.0, 8.0),
            "how far below its softening limit filament already gives way in the guide tube: minutes, at a few newtons; pushed instead of pulled, more",
        ),
        allowance(
            "gear_allowance",
            "5 K",
            (2.0, 10.0),
            "how far below its softening limit the teeth of the drive gear already chew the filament: 20 to 50 N on some 0.5 mm2 of teeth press 40 to 95 MPa into it, three times a yield stress that PLA falls to 4 to 7 K below its glass transition (reckoned, yield stresses from memory)",
        ),
        allowance(
            "cold_end_allowance",
            "2 K",
            (-3.0, 6.0),
            "how far below its softening limit filament in the bore of the cold end already gives way to the push: its pressure of 8 to 21 MPa takes more than the short time gives",
        ),
        coefficient(
            "soft_length",
            Q::Length,
            "mm",
            "2 mm",
            (0.5, 5.0),
            50.0,
            "length of filament above its limit that may stand in the cold end ahead of the heat break and still be pushed on: it swells against the bore, whose friction doubles the push over 1.5 mm of bare steel and 4 mm of a lined bore (reckoned, coefficients of friction from memory)",
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
        coefficient_from(
            0.005,
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
    coefficient_from(0.0, key, measures, unit, default, plausible, most, doc)
}

/// One that can't be nothing: without any resistance two bodies would be one.
#[expect(clippy::too_many_arguments, reason = "a row of the table above")]
const fn coefficient_from(
    least: f64,
    key: &'static str,
    measures: Q,
    unit: &'static str,
    default: &'static str,
    plausible: (f64, f64),
    most: f64,
    doc: &'static str,
) -> Field {
    let kind = quantity(measures, unit, (least, most), plausible);
    field(key, kind, Tacit(default, default), "", doc)
        .spread(Spread::Between(plausible.0, plausible.1))
}

/// Kelvins by which a station's limit lies below the material's.
const fn allowance(
    key: &'static str,
    default: &'static str,
    plausible: (f64, f64),
    doc: &'static str,
) -> Field {
    let kind = quantity(Q::TemperatureDifference, "K", (-20.0, 40.0), plausible);
    field(key, kind, Tacit(default, default), "", doc)
        .spread(Spread::Between(plausible.0, plausible.1))
}

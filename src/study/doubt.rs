//! Correlations outside their published ranges, and how much warmer the hottest filament could be for it.
//!
//! In the slow air of a chamber some face is always shorter than a law was measured on. Being told so says
//! nothing; being told that it matters does. So each doubtful coefficient is followed to the result: the share
//! that may be wrong, times the heat that the face passes, times the answer of what surrounds the filament to heat
//! there, at the run's hottest moment. The answer is that of a settled chamber, which is the largest. What would
//! only make it cooler is left out: there the result errs on the warm side.

use crate::chamber::{Simulation, StationKind};
use crate::integrate::Piece;
use crate::network::{Convector, Moment, NetworkSystem, Schedule};
use crate::physics::air::AirTable;
use crate::physics::convection::{
    ConvectiveFace, Face, Range, forced_range, nusselt_mixed, range, short_plate_factor,
};

/// How far a correlation for natural convection may be off outside its range, as a share either way: twice
/// what handbooks allow within it (10 to 15 %, common practice, no source).
const NATURAL_SHARE: f64 = 0.3;

/// The same for flow across a cylinder too thin or too slow.
const CYLINDER_SHARE: f64 = 0.3;

/// A correlation used outside its range at the hottest moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// Which.
    pub range: &'static Range,
    /// Smallest and largest value of its number, dimensionless, met outside.
    pub met: (f64, f64),
    /// The face on which it counts most.
    pub place: String,
    /// How much warmer what surrounds the hottest filament could be, K.
    pub warmer_K: f64,
    /// How much of that the face on which it counts most has, K.
    most_K: f64,
}

/// The correlations outside their ranges at a run's hottest moment; none where the network there can't be
/// settled.
#[must_use]
pub fn doubts(simulation: &Simulation, station: StationKind, peak_at_s: f64) -> Vec<Doubt> {
    let (piece, x) = simulation.trajectory.locate(peak_at_s);
    let Some(answers) = answers_K_per_W(simulation, station, piece, x) else {
        return Vec::new();
    };
    let network = &simulation.chamber.network;
    let mut t = Vec::new();
    simulation.points_at(piece, x, &mut t);
    let t_s = piece.begin_s + x * piece.length_s;
    let bodies = network.bodies().iter();
    let shares: Vec<(f64, f64)> = bodies.map(|b| b.share.at(t_s)).collect();
    let moment = Moment {
        t_s,
        t: &t,
        shares: &shares,
        air: network.air(),
        reference_K: network.reference_K(),
    };
    let answer = |point: usize| answers.get(point).copied().unwrap_or(0.0);
    let mut found: Vec<Doubt> = Vec::new();
    for face in simulation.elements_of(piece).faces() {
        // What a watt more from the face to the air does. A plume may carry it to another layer: the one where
        // it counts most is taken.
        let layers = &simulation.chamber.points.air;
        let lands = if layers.contains(&face.air) {
            layers.as_slice()
        } else {
            std::slice::from_ref(&face.air)
        };
        let per_W = lands.iter().map(|air| answer(*air) - answer(face.surface));
        let (least, most) = per_W.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), v| {
            (least.min(v), most.max(v))
        });
        let area_m2: f64 = face.area.at(&moment);
        for (range, value, low, high) in coefficients(face, &t, network.air()) {
            let flux = area_m2 * (t[face.surface] - t[face.air]);
            let effects = [low * least, low * most, high * least, high * most];
            let warmer_K = effects.map(|e| e * flux).into_iter().fold(0.0, f64::max);
            let place = network.name(face.surface);
            note(&mut found, range, value, place, warmer_K);
        }
    }
    found
}

/// How what surrounds the filament at a station answers to heat given to each node, K/W.
fn answers_K_per_W(
    simulation: &Simulation,
    station: StationKind,
    piece: &Piece,
    x: f64,
) -> Option<Vec<f64>> {
    let network = &simulation.chamber.network;
    let elements = simulation.elements_of(piece);
    let nodes = network.nodes().len();
    let mut y: Vec<f64> = (0..nodes).map(|k| piece.value(k, x)).collect();
    // What holds its setpoint stands within rounding of it, and is to be seen as holding.
    for c in &elements.controls {
        for (_, side) in c.sides().filter(|(_, side)| side.hysteresis_K == 0.0) {
            let setpoint = side.setpoint_K - network.reference_K();
            if (y[c.node()] - setpoint).abs() < AT_SETPOINT_K {
                y[c.node()] = setpoint;
            }
        }
    }
    let schedule = Schedule::always(elements.clone());
    let mut system = NetworkSystem::new(network, &schedule).ok()?;
    let point = simulation.surroundings_at(piece, station);
    let t_s = piece.begin_s + x * piece.length_s;
    system.sensitivities_K_per_W(t_s, &y, point)
}

/// So near its setpoint a node is one that is held, K.
const AT_SETPOINT_K: f64 = 1e-3;

/// Of each correlation that a face is outside of: the value, and by how much its coefficient may be lower and
/// higher than taken, W/(m2 K).
fn coefficients(c: &Convector, t: &[f64], air: &AirTable) -> Vec<(&'static Range, f64, f64, f64)> {
    let (s, a) = (t[c.surface], t[c.air]);
    let at = |face: ConvectiveFace| face.coefficient(s, a, air);
    let mut found = Vec::new();
    let natural = range(c.face.face, s > a);
    let ra = c.face.rayleigh(s, a, air);
    if !natural.contains(ra) {
        let off = |share: f64| {
            let multiplier = c.face.multiplier * (1.0 + share);
            at(ConvectiveFace {
                multiplier,
                ..c.face
            }) - at(c.face)
        };
        found.push((natural, ra, off(-NATURAL_SHARE), off(NATURAL_SHARE)));
    }
    if c.face.speed_m_per_s <= 0.0 {
        return found;
    }
    let forced = forced_range(c.face.face);
    let re = c.face.reynolds(s, a, air);
    if !forced.contains(re) {
        let alone = |multiplier: f64, speed_m_per_s: f64| {
            at(ConvectiveFace {
                multiplier,
                speed_m_per_s,
                ..c.face
            })
        };
        let (f, n) = (
            alone(0.0, c.face.speed_m_per_s),
            alone(c.face.multiplier, 0.0),
        );
        let with = |factor: f64| nusselt_mixed(factor * f, n) - nusselt_mixed(f, n);
        let (low, high) = match c.face.face {
            // The boundary layer alone is the least there is.
            Face::Vertical | Face::Up | Face::Down if re < forced.low => {
                (0.0, with(short_plate_factor(re)))
            }
            Face::Vertical | Face::Up | Face::Down | Face::Cylinder => {
                (with(1.0 - CYLINDER_SHARE), with(1.0 + CYLINDER_SHARE))
            }
        };
        found.push((forced, re, low, high));
    }
    found
}

/// Adds what a face has to a correlation's doubt.
fn note(found: &mut Vec<Doubt>, range: &'static Range, value: f64, place: &str, warmer_K: f64) {
    let known = found.iter_mut().find(|d| d.range.name == range.name);
    let Some(d) = known else {
        found.push(Doubt {
            range,
            met: (value, value),
            place: place.to_owned(),
            warmer_K,
            most_K: warmer_K,
        });
        return;
    };
    d.met = (d.met.0.min(value), d.met.1.max(value));
    d.warmer_K += warmer_K;
    if warmer_K > d.most_K {
        (d.most_K, d.place) = (warmer_K, place.to_owned());
    }
}

#[cfg(test)]
mod tests;

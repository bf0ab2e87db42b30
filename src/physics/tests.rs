//! What the integrator is promised of a prepared face: slopes that are those of the values it gets.

use super::air::AirTable;
use super::convection::{ConvectiveFace, Face};
use super::prepared::PreparedFace;
use crate::number::Dual;

fn face(face: Face, speed_m_per_s: f64, multiplier: f64) -> ConvectiveFace {
    ConvectiveFace {
        face,
        length_m: 0.14,
        speed_m_per_s,
        forced_length_m: 0.14,
        multiplier,
    }
}

/// Central differences over 0.02 K: curvature leaves 1e-8 of the coefficient a kelvin, the tables' cubics
/// and the cube root that is a table too another 1e-7.
#[test]
fn slopes_of_a_prepared_face_are_those_of_its_values() {
    let air = AirTable::new(98_000.0);
    for which in [Face::Vertical, Face::Up, Face::Down, Face::Cylinder] {
        for speed_m_per_s in [0.0, 0.6, 3.0] {
            let fast = PreparedFace::new(&face(which, speed_m_per_s, 1.1), &air);
            for (surface_K, air_K) in [(340.0, 301.3), (288.0, 321.7), (470.0, 330.0)] {
                let (s, a) = (Dual::<2>::input(surface_K, 0), Dual::input(air_K, 1));
                let got = fast.coefficient(s, a, &air);
                let value = |s: f64, a: f64| fast.coefficient(s, a, &air);
                let e = 0.02;
                let by_surface =
                    (value(surface_K + e, air_K) - value(surface_K - e, air_K)) / (2.0 * e);
                let by_air =
                    (value(surface_K, air_K + e) - value(surface_K, air_K - e)) / (2.0 * e);
                for (ours, by_hand) in got.slopes.into_iter().zip([by_surface, by_air]) {
                    assert!(
                        (ours - by_hand).abs() < 1e-6 * got.value,
                        "{which:?}, {speed_m_per_s} m/s, {surface_K} K: {ours}, not {by_hand}"
                    );
                }
            }
        }
    }
}

/// Beyond its table forced convection stays what it is at the table's end.
#[test]
fn forced_convection_holds_the_ends_of_its_table() {
    let air = AirTable::new(98_000.0);
    let fast = PreparedFace::new(&face(Face::Vertical, 5.0, 0.0), &air);
    let at = |film_K: f64| fast.coefficient(film_K + 1.0, film_K - 1.0, &air);
    for (end_K, beyond_K) in [(250.0, 240.0), (550.0, 560.0), (550.0, 640.0)] {
        assert!(
            (at(beyond_K) / at(end_K) - 1.0).abs() < 1e-9,
            "{beyond_K} K"
        );
    }
}

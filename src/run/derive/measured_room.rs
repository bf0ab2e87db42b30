//! The room as a thermometer showed it, over a part of a run.

use crate::course::{Course, Points, means};
use crate::run::Room;
use std::sync::Arc;

/// Rows are taken together over so long, s: an integrator stops at every kink, and a room has none within it.
const TOGETHER_S: f64 = 1_200.0;
/// Outside of what was measured the described course is followed by lines so long, s: a daily swing of 5 K bends by
/// 3 mK over them.
const LINE_S: f64 = 900.0;
/// What a room is warmer than described stays with it for some hours and is gone after this, s: a day's weather, and
/// what a building stores (common practice, no source).
const FORGOTTEN_S: f64 = 6.0 * 3_600.0;
/// The doubt of the weather is doubt of a forecast; a thermometer on the wall is off by a quarter of it (0.5 K of 2).
pub(super) const THERMOMETER: f64 = 0.25;

/// Puts what was measured in the place of what is described, as long as it was. A room that is worked out from its
/// building stays that. Points are s from the start and K; `shift_K` is what every temperature of the room is shifted by.
pub(super) fn put(room: &mut Room, measured: &[(f64, f64)], shift_K: f64, duration_s: f64) {
    if room.building.is_some() {
        return;
    }
    let rows: Vec<(f64, f64)> = means(measured, TOGETHER_S).collect();
    let (Some(first), Some(last)) = (rows.first().copied(), rows.last().copied()) else {
        return;
    };
    let described = |t_s: f64| room.weather.at(t_s).0;
    let raised = THERMOMETER * shift_K;
    let (early_K, late_K) = (
        first.1 + raised - described(first.0),
        last.1 + raised - described(last.0),
    );
    let outside = |t_s: f64| {
        let (left_K, away_s) = if t_s < first.0 {
            (early_K, first.0 - t_s)
        } else {
            (late_K, t_s - last.0)
        };
        described(t_s) + left_K * (1.0 - away_s / FORGOTTEN_S).max(0.0)
    };
    let mut points: Vec<(f64, f64)> = Vec::new();
    let lines = (duration_s / LINE_S).ceil();
    let mut k = 0.0;
    while k <= lines {
        let t_s = k * LINE_S;
        if t_s < first.0 - 1.0 || t_s > last.0 + 1.0 {
            points.push((t_s, outside(t_s)));
        }
        k += 1.0;
    }
    points.extend(rows.iter().map(|(t_s, K)| (*t_s, K + raised)));
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (times_s, values) = points.into_iter().unzip();
    if let Ok(points) = Points::new(times_s, values) {
        room.weather = Course::series(Arc::new(points));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn room(weather: Course) -> Room {
        Room {
            weather,
            above_outdoors_K: None,
            building: None,
            altitude_m: 0.0,
        }
    }

    fn measured(from_h: f64, to_h: f64, K: f64) -> Vec<(f64, f64)> {
        let mut rows = Vec::new();
        let mut t_s = from_h * 3600.0;
        while t_s <= to_h * 3600.0 {
            rows.push((t_s, K));
            t_s += 60.0;
        }
        rows
    }

    #[test]
    fn what_was_measured_stands_in_its_place_and_fades_afterwards() {
        let mut room = room(Course::Constant(300.0));
        put(&mut room, &measured(2.0, 4.0, 303.0), 0.0, 48.0 * 3600.0);
        let at = |h: f64| room.weather.at(h * 3600.0).0;
        for h in [2.2, 3.0, 3.8] {
            assert!((at(h) - 303.0).abs() < 1e-9, "{h}: {}", at(h));
        }
        // Half of the three kelvin three hours later.
        assert!((at(7.0) - 301.5).abs() < 0.05, "{}", at(7.0));
        assert!((at(12.0) - 300.0).abs() < 1e-9 && (at(47.0) - 300.0).abs() < 1e-9);
    }

    #[test]
    fn a_swing_outside_is_what_it_was() {
        let swing = Course::Swing {
            mean: 300.0,
            amplitude: 5.0,
            crest_s: 9.0 * 3600.0,
        };
        let mut room = room(swing.clone());
        put(&mut room, &measured(0.0, 1.0, 298.0), 0.0, 48.0 * 3600.0);
        for h in [8.0_f64, 9.0, 20.1, 33.0, 47.5] {
            let (is, was) = (room.weather.at(h * 3600.0).0, swing.at(h * 3600.0).0);
            assert!((is - was).abs() < 0.004, "{h}: {is} {was}");
        }
    }

    /// What was measured is doubted less than a forecast.
    #[test]
    fn a_shift_moves_what_was_measured_by_a_quarter() {
        let mut room = room(Course::Constant(302.0));
        put(&mut room, &measured(0.0, 10.0, 300.0), 2.0, 20.0 * 3600.0);
        assert!((room.weather.at(5.0 * 3600.0).0 - 300.5).abs() < 1e-9);
        assert!((room.weather.at(19.0 * 3600.0).0 - 302.0).abs() < 1e-9);
    }
}

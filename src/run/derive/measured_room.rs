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
/// After so long a log half of what its room was cooler than described is believed of the days to come, s; what it was
/// warmer is believed at once.
const HALF_BELIEVED_S: f64 = 12.0 * 3_600.0;
/// Gaps longer than this are filled by the shape of what is described, s.
const GAP_S: f64 = 3_600.0;

/// Puts what was measured in the place of what is described, as long as it was. A room that is worked out from its
/// building stays that. Points are s from the start and K. `shift_K` is what every temperature described is shifted by,
/// which is no part of what was measured; `thermometer_K` is what the thermometer shows too little.
pub(super) fn put(
    room: &mut Room,
    measured: &[(f64, f64)],
    (shift_K, thermometer_K): (f64, f64),
    duration_s: f64,
) {
    if room.building.is_some() {
        return;
    }
    let rows: Vec<(f64, f64)> = means(measured, TOGETHER_S)
        .map(|(t_s, K)| (t_s, K + thermometer_K))
        .collect();
    let (Some(first), Some(last)) = (rows.first().copied(), rows.last().copied()) else {
        return;
    };
    let described = |t_s: f64| room.weather.at(t_s).0;
    // What was measured says nothing of how far the rest may be off.
    let warmer_K = |(t_s, K): (f64, f64)| K - (described(t_s) - shift_K);
    #[expect(clippy::cast_precision_loss, reason = "rows of days")]
    let mean_K = rows.iter().map(|row| warmer_K(*row)).sum::<f64>() / rows.len() as f64;
    let span_s = last.0 - first.0;
    let stays_K = if mean_K > 0.0 {
        mean_K
    } else {
        mean_K * span_s / (span_s + HALF_BELIEVED_S)
    };
    let outside = |t_s: f64| {
        let (end, away_s) = if t_s < first.0 {
            (first, first.0 - t_s)
        } else {
            (last, t_s - last.0)
        };
        let fades_K = warmer_K(end) - stays_K - shift_K;
        described(t_s) + stays_K + fades_K * (1.0 - away_s / FORGOTTEN_S).max(0.0)
    };
    let mut points: Vec<(f64, f64)> = Vec::new();
    let lines = (duration_s / LINE_S).ceil();
    let mut k = 0.0;
    while k <= lines {
        let t_s = k * LINE_S;
        let after = rows.partition_point(|row| row.0 < t_s);
        if t_s < first.0 - 1.0 || t_s > last.0 + 1.0 {
            points.push((t_s, outside(t_s)));
        } else if after > 0 && after < rows.len() {
            let (before, after) = (rows[after - 1], rows[after]);
            let is_inside = t_s > before.0 + 1.0 && t_s < after.0 - 1.0;
            if after.0 - before.0 > GAP_S && is_inside {
                let share = (t_s - before.0) / (after.0 - before.0);
                let is_K = (1.0 - share) * warmer_K(before) + share * warmer_K(after);
                points.push((t_s, described(t_s) - shift_K + is_K));
            }
        }
        k += 1.0;
    }
    points.extend(rows);
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
    fn what_was_measured_stands_in_its_place_and_what_is_special_fades() {
        let mut room = room(Course::Constant(300.0));
        put(
            &mut room,
            &measured(2.0, 4.0, 297.0),
            (0.0, 0.0),
            48.0 * 3600.0,
        );
        let at = |h: f64| room.weather.at(h * 3600.0).0;
        for h in [2.2, 3.0, 3.8] {
            assert!((at(h) - 297.0).abs() < 1e-9, "{h}: {}", at(h));
        }
        // Two hours of twelve and two are believed for good: 3 K * 2/14; half of the rest three hours later.
        let stays = 3.0 * 2.0 / 14.0;
        // Rows are taken together: the span is ten minutes shorter than two hours.
        assert!((at(12.0) - 300.0 + stays).abs() < 0.05, "{}", at(12.0));
        let half = 0.5 * (3.0 - stays) + stays;
        assert!((at(7.0) - 300.0 + half).abs() < 0.1, "{}", at(7.0));
    }

    /// A warmer room than foretold is believed at once.
    #[test]
    fn what_the_room_was_warmer_stays() {
        let mut room = room(Course::Constant(300.0));
        put(
            &mut room,
            &measured(0.0, 4.0, 302.0),
            (0.0, 0.0),
            48.0 * 3600.0,
        );
        for h in [3.0, 5.0, 20.0, 47.0] {
            assert!((room.weather.at(h * 3600.0).0 - 302.0).abs() < 1e-9, "{h}");
        }
    }

    #[test]
    fn a_swing_outside_is_what_it_was() {
        let swing = Course::Swing {
            mean: 300.0,
            amplitude: 5.0,
            crest_s: 9.0 * 3600.0,
        };
        let mut room = room(swing.clone());
        let rows: Vec<(f64, f64)> = (0..=60)
            .map(|k| (60.0 * f64::from(k), swing.at(60.0 * f64::from(k)).0))
            .collect();
        put(&mut room, &rows, (0.0, 0.0), 48.0 * 3600.0);
        for h in [0.5_f64, 8.0, 9.0, 20.1, 33.0, 47.5] {
            let (is, was) = (room.weather.at(h * 3600.0).0, swing.at(h * 3600.0).0);
            assert!((is - was).abs() < 0.02, "{h}: {is} {was}");
        }
    }

    /// Hours without a row have the shape of what is described, from one end to the other.
    #[test]
    fn gaps_have_the_shape_of_the_forecast() {
        let swing = Course::Swing {
            mean: 300.0,
            amplitude: 5.0,
            crest_s: 9.0 * 3600.0,
        };
        let mut room = room(swing.clone());
        let rows: Vec<(f64, f64)> = (0..=20 * 12)
            .map(|k| 300.0 * f64::from(k))
            .filter(|t| *t < 5.0 * 3600.0 || *t > 13.0 * 3600.0)
            .map(|t| (t, swing.at(t).0 + 1.0))
            .collect();
        put(&mut room, &rows, (0.0, 0.0), 48.0 * 3600.0);
        for h in [6.0_f64, 9.0, 12.0] {
            let (is, was) = (room.weather.at(h * 3600.0).0, swing.at(h * 3600.0).0);
            assert!((is - was - 1.0).abs() < 0.05, "{h}: {is} {was}");
        }
    }

    /// What the weather may be off is no part of what was measured, and what the thermometer is off no part of the weather.
    #[test]
    fn shift_and_thermometer_move_each_its_own() {
        let mut room = room(Course::Constant(302.0));
        put(
            &mut room,
            &measured(0.0, 10.0, 300.0),
            (2.0, 0.5),
            40.0 * 3600.0,
        );
        let at = |h: f64| room.weather.at(h * 3600.0).0;
        assert!((at(5.0) - 300.5).abs() < 1e-9, "{}", at(5.0));
        assert!((at(39.0) - 302.5).abs() < 1e-9, "{}", at(39.0));
    }
}

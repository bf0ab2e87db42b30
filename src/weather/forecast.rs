//! Weather from a forecast: the high and the low of each day, as weather services tell them.
//!
//! Between them goes a curve of half cosines, as crop models draw days since de Wit (Simulation of assimilation,
//! respiration and transpiration of crops, Pudoc, Wageningen 1978; from memory): from the low at 05:00 up to the
//! high, and down to the next day's low. The high is reached at 14:00, when the mean diurnal course of Campbell and
//! Norman (An Introduction to Environmental Biophysics, 2nd ed., Springer 1998, eq. 2.2) has it, and held
//! until 17:00. From there theirs falls at once and most of it in the evening; ours is warmer, by a third of
//! the day's range at 20:00. That is on purpose: a machine indoors feels the afternoon late, and nobody
//! knows how late.

use super::seconds_of_day;
use super::steps::LONGEST_STEP_S;
use super::thin::thinned;
use crate::course::{Course, Points};
use jiff::civil::{Date, DateTime};
use std::f64::consts::PI;
use std::sync::Arc;

/// A day of a forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Day {
    pub date: Date,
    /// Near sunrise, K.
    pub low_K: f64,
    /// In the afternoon, K.
    pub high_K: f64,
}

const LOW_H: f64 = 5.0;
const HIGH_FROM_H: f64 = 14.0;
const HIGH_TO_H: f64 = 17.0;
const DAY_H: f64 = 24.0;
/// How often the curve is looked at before it is thinned: in five minutes it departs from a straight line by
/// less than a thousandth of the day's range.
const PER_HOUR: usize = 12;

/// The temperatures, K, from the first day's midnight to the last one's, on the clock of a run that starts at a
/// local time. Days follow each other without a gap; of none there is no course. The nights at both ends, of
/// which a forecast tells half, have the warmest high before and the warmest low after them.
pub(crate) fn course(days: &[Day], start: DateTime) -> Option<Course> {
    let first = days.first()?;
    let warmest = |of: fn(&Day) -> f64| days.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    let (high_before_K, low_after_K) = (warmest(|d| d.high_K), warmest(|d| d.low_K));
    let at = |h: f64| {
        let day = ((h / DAY_H) as usize).min(days.len() - 1);
        let before_K = day.checked_sub(1).map_or(high_before_K, |k| days[k].high_K);
        let after_K = days.get(day + 1).map_or(low_after_K, |d| d.low_K);
        let Day { low_K, high_K, .. } = days[day];
        let h = h - DAY_H * day as f64;
        let night_h = LOW_H + DAY_H - HIGH_TO_H;
        if h < LOW_H {
            eased(before_K, low_K, (h + DAY_H - HIGH_TO_H) / night_h)
        } else if h < HIGH_FROM_H {
            eased(low_K, high_K, (h - LOW_H) / (HIGH_FROM_H - LOW_H))
        } else if h <= HIGH_TO_H {
            high_K
        } else {
            eased(high_K, after_K, (h - HIGH_TO_H) / night_h)
        }
    };
    let count = 24 * PER_HOUR * days.len();
    let hours = (0..=count).map(|k| k as f64 / PER_HOUR as f64);
    let (times_s, values) = hours.map(|h| (3600.0 * h, at(h))).unzip();
    let thin = thinned(times_s, values, LONGEST_STEP_S);
    let points = Points::new(thin.times_s, thin.values).ok()?;
    let midnight = first.date.to_datetime(jiff::civil::Time::midnight());
    let days_s = start.date().duration_since(midnight.date()).as_secs_f64();
    Some(Course::series(Arc::new(points)).from_later(days_s + seconds_of_day(start)))
}

/// From one value to another along half a cosine, `x` from 0 to 1.
fn eased(from: f64, to: f64, x: f64) -> f64 {
    from + (to - from) * 0.5 * (1.0 - (PI * x).cos())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn day(day: i8, low_K: f64, high_K: f64) -> Day {
        Day {
            date: date(2026, 7, day),
            low_K,
            high_K,
        }
    }

    #[test]
    fn highs_and_lows_come_at_their_hours() {
        let days = [day(13, 290.0, 305.0), day(14, 293.0, 308.0)];
        let start = date(2026, 7, 13).at(7, 30, 0, 0);
        let course = course(&days, start).expect("a course");
        // The curve is followed from above within 0.03 K, the second step of thinning.
        for (hour, want) in [
            (5.0, 290.0),
            (9.5, 297.5),
            (14.0, 305.0),
            (17.0, 305.0),
            (23.0, 299.0),
            (29.0, 293.0),
            (38.0, 308.0),
            (41.0, 308.0),
        ] {
            let got = course.at((hour - 7.5) * 3600.0).0;
            assert!(
                (want..=want + 0.031).contains(&got),
                "{hour} h: {got}, not {want}"
            );
        }
        // Before the first low the night falls from the warmest high, after the last high to the warmest low.
        let at = |hour: f64| course.at((hour - 7.5) * 3600.0).0;
        let half_gone = eased(308.0, 290.0, 7.0 / 12.0);
        assert!((at(0.0) - half_gone).abs() < 0.031, "{}", at(0.0));
        assert!((at(47.0) - eased(308.0, 293.0, 0.5)).abs() < 0.031);
        assert_eq!(course.largest(-7.5 * 3600.0, 40.0 * 3600.0), 308.0);
        assert!((course.known_until_s() / 3600.0 - 40.5).abs() < 1e-9);
    }

    /// Campbell and Norman's course of a day of steady weather, as a share of its range: up to 0.04 of it warmer
    /// than ours in the first hours of the morning, 0.01 from nine o'clock to the peak, and never in the second
    /// half of the day, where it peaks at 0.998 of the range.
    #[test]
    fn the_day_is_no_cooler_than_a_published_one_where_it_matters() {
        let days = [day(13, 0.0, 1.0), day(14, 0.0, 1.0), day(15, 0.0, 1.0)];
        // A range of 100 makes the 0.02 of thinning nothing.
        let days = days.map(|d| Day {
            low_K: 200.0,
            high_K: 300.0,
            ..d
        });
        let ours = course(&days, date(2026, 7, 14).at(0, 0, 0, 0)).expect("a course");
        let w = PI / 12.0;
        let mut warmer = 0.0;
        for hour in 0..24 {
            let h = f64::from(hour);
            let theirs = 0.44 - 0.46 * (w * h + 0.9).sin() + 0.11 * (2.0 * w * h + 0.9).sin();
            let above = (ours.at(3600.0 * h).0 - 200.0) / 100.0 - theirs;
            let least = match hour {
                6..=8 => -0.045,
                9..=13 => -0.015,
                _ => -0.035,
            };
            assert!(above >= least, "{hour} h: {above}");
            assert!(
                !(14..24).contains(&hour) || above > 0.0,
                "{hour} h: {above}"
            );
            warmer += above / 24.0;
        }
        assert!(warmer > 0.08, "{warmer}");
    }

    #[test]
    fn no_day_makes_no_course() {
        assert_eq!(course(&[], date(2026, 7, 13).at(7, 0, 0, 0)), None);
    }
}

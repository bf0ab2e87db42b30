//! The given temperature outside the network: the room's air, or outdoors where the room is a
//! node of its own.

use crate::runfile::model::Weather;
use jiff::civil::DateTime;

/// A given temperature over time, ready to be asked often.
#[derive(Debug, Clone)]
pub struct Surroundings {
    shape: Shape,
}

#[derive(Debug, Clone)]
enum Shape {
    Constant(f64),
    Swing {
        mean_K: f64,
        amplitude_K: f64,
        warmest_s: f64,
    },
    Series {
        times_s: Vec<f64>,
        temperatures_K: Vec<f64>,
    },
}

const DAY_S: f64 = 86_400.0;

/// A stretch of given temperature that runs straight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StraightLine {
    from_s: f64,
    to_s: f64,
    at_s: f64,
    value: f64,
    slope: f64,
}

impl StraightLine {
    /// Whether a time lies on it.
    #[must_use]
    pub fn holds(&self, t_s: f64) -> bool {
        self.from_s <= t_s && t_s <= self.to_s
    }

    /// The temperature at a time, K.
    #[must_use]
    pub fn at(&self, t_s: f64) -> f64 {
        self.value + self.slope * (t_s - self.at_s)
    }
}

impl Surroundings {
    /// Prepares the weather of a run that starts at a local date and time.
    #[must_use]
    pub fn new(weather: &Weather, start: DateTime) -> Self {
        let shape = match weather {
            Weather::Constant(t) => Shape::Constant(*t),
            Weather::DailySwing {
                mean_K,
                amplitude_K,
                warmest_hour,
            } => Shape::Swing {
                mean_K: *mean_K,
                amplitude_K: *amplitude_K,
                warmest_s: warmest_hour * 3600.0 - seconds_of_day(start),
            },
            Weather::Series {
                times_s,
                temperatures_K,
            } => Shape::Series {
                times_s: times_s.clone(),
                temperatures_K: temperatures_K.clone(),
            },
        };
        Self { shape }
    }

    /// Temperature, K, and its slope, K/s, at `t_s` from the start. At a kink the slope is the
    /// later one.
    #[must_use]
    pub fn at(&self, t_s: f64) -> (f64, f64) {
        match &self.shape {
            Shape::Constant(t) => (*t, 0.0),
            Shape::Swing {
                mean_K,
                amplitude_K,
                warmest_s,
            } => {
                let w = std::f64::consts::TAU / DAY_S;
                let (sin, cos) = (w * (t_s - warmest_s)).sin_cos();
                (mean_K + amplitude_K * cos, -amplitude_K * w * sin)
            }
            Shape::Series { .. } => self
                .line_at(t_s)
                .map_or((f64::NAN, 0.0), |l| (l.at(t_s), l.slope)),
        }
    }

    /// Coefficients of 1, x, x2 and x3 of the temperature, K, over a step without a kink inside, `x` from
    /// 0 to 1. A swing is followed within 2e-5 of its amplitude over an hour.
    #[must_use]
    pub fn over(&self, begin_s: f64, length_s: f64) -> [f64; 4] {
        let ((a, a_slope), (b, b_slope)) = (self.at(begin_s), self.at(begin_s + length_s));
        if !matches!(self.shape, Shape::Swing { .. }) {
            return [a, b - a, 0.0, 0.0];
        }
        let (rise_a, rise_b) = (a_slope * length_s, b_slope * length_s);
        [
            a,
            rise_a,
            3.0 * (b - a) - 2.0 * rise_a - rise_b,
            2.0 * (a - b) + rise_a + rise_b,
        ]
    }

    /// The straight line that holds at a time, where the temperature is made of such lines.
    #[must_use]
    pub fn line_at(&self, t_s: f64) -> Option<StraightLine> {
        match &self.shape {
            Shape::Constant(t) => Some(StraightLine {
                from_s: f64::NEG_INFINITY,
                to_s: f64::INFINITY,
                at_s: 0.0,
                value: *t,
                slope: 0.0,
            }),
            Shape::Swing { .. } => None,
            Shape::Series {
                times_s,
                temperatures_K,
            } => {
                let last = times_s.len() - 1;
                let k = first_after(times_s, t_s).clamp(1, last.max(1)).min(last);
                let (from_s, value) = (
                    times_s[k.saturating_sub(1)],
                    temperatures_K[k.saturating_sub(1)],
                );
                let length = times_s[k] - from_s;
                let slope = if length > 0.0 {
                    (temperatures_K[k] - value) / length
                } else {
                    0.0
                };
                Some(StraightLine {
                    from_s,
                    to_s: times_s[k],
                    at_s: from_s,
                    value,
                    slope,
                })
            }
        }
    }

    /// The next kink after `t_s`; infinite if there is none.
    #[must_use]
    pub fn next_kink(&self, t_s: f64) -> f64 {
        match &self.shape {
            Shape::Series { times_s, .. } => {
                let k = first_after(times_s, t_s + 1e-9);
                times_s.get(k).copied().unwrap_or(f64::INFINITY)
            }
            Shape::Constant(_) | Shape::Swing { .. } => f64::INFINITY,
        }
    }
}

/// Position of the first of rising times after `t_s`. Weather mostly comes at even times: looked for
/// first where it is then.
fn first_after(times_s: &[f64], t_s: f64) -> usize {
    if let [first, .., last] = times_s {
        let even = (last - first) / (times_s.len() - 1) as f64;
        let k = ((t_s - first) / even) as usize + 1;
        if k < times_s.len() && times_s[k - 1] <= t_s && t_s < times_s[k] {
            return k;
        }
    }
    times_s.partition_point(|x| *x <= t_s)
}

/// Seconds since midnight.
#[must_use]
pub fn seconds_of_day(t: DateTime) -> f64 {
    f64::from(t.hour()) * 3600.0
        + f64::from(t.minute()) * 60.0
        + f64::from(t.second())
        + f64::from(t.subsec_nanosecond()) * 1e-9
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::datetime;

    const HOUR_S: f64 = 3600.0;

    /// The cosine itself is the reference; a cubic through both ends with their slopes is off by
    /// (w h)^4/384 of the amplitude, 1.2e-5 for an hour of a day.
    #[test]
    fn a_swing_is_followed_over_an_hour() {
        let weather = Weather::DailySwing {
            mean_K: 300.0,
            amplitude_K: 5.0,
            warmest_hour: 15.0,
        };
        let start = datetime(2026, 7, 13, 6, 0, 0, 0);
        let given = Surroundings::new(&weather, start);
        for hour in 0..24 {
            let begin_s = 3600.0 * f64::from(hour);
            let [a, b, c, d] = given.over(begin_s, 3600.0);
            for x in [0.0, 0.3, 0.5, 1.0] {
                let clock_h = 6.0 + f64::from(hour) + x;
                let want = 300.0 + 5.0 * (std::f64::consts::TAU * (clock_h - 15.0) / 24.0).cos();
                let got = a + x * (b + x * (c + x * d));
                assert!((got - want).abs() < 1e-4, "{hour} h, {x}: {got} {want}");
            }
        }
    }

    /// Looked up by even spacing or by search, the line is the one between the neighbours.
    #[test]
    fn series_are_read_between_their_neighbours() {
        let even = vec![0.0, 3600.0, 7200.0, 10_800.0];
        let uneven = vec![0.0, 600.0, 7200.0, 10_800.0];
        for times_s in [even, uneven] {
            let weather = Weather::Series {
                times_s: times_s.clone(),
                temperatures_K: vec![290.0, 296.0, 293.0, 299.0],
            };
            let given = Surroundings::new(&weather, datetime(2026, 7, 13, 0, 0, 0, 0));
            for k in 0..3 {
                let (from, to) = (times_s[k], times_s[k + 1]);
                let (low, high) = ([290.0, 296.0, 293.0][k], [296.0, 293.0, 299.0][k]);
                for x in [0.0, 0.25, 0.9] {
                    let (value, slope) = given.at(from + x * (to - from));
                    assert!((value - (low + x * (high - low))).abs() < 1e-9);
                    assert!((slope - (high - low) / (to - from)).abs() < 1e-12);
                }
                assert_eq!(given.next_kink(from), to);
                assert_eq!(given.next_kink(0.5 * (from + to)), to);
            }
            assert_eq!(given.next_kink(times_s[3]), f64::INFINITY);
        }
    }

    #[track_caller]
    fn near(ours: f64, by_hand: f64) {
        assert!((ours - by_hand).abs() < 1e-9, "{ours}, by hand {by_hand}");
    }

    #[test]
    fn seconds_are_counted_from_midnight() {
        let t = datetime(2026, 7, 13, 7, 30, 15, 500_000_000);
        near(seconds_of_day(t), 27_015.5);
    }

    /// A cosine: its crest at the warmest hour of the clock, its trough twelve hours on, and the
    /// steepest fall of 2 pi amplitudes a day half way.
    #[test]
    fn a_swing_is_warmest_at_its_hour() {
        let weather = Weather::DailySwing {
            mean_K: 300.0,
            amplitude_K: 4.0,
            warmest_hour: 16.0,
        };
        let s = Surroundings::new(&weather, datetime(2026, 7, 13, 7, 30, 0, 0));
        for (hours, value_K, falls_K_per_day) in [
            (8.5, 304.0, 0.0),
            (14.5, 300.0, 8.0 * std::f64::consts::PI),
            (20.5, 296.0, 0.0),
            (26.5, 300.0, -8.0 * std::f64::consts::PI),
            (32.5, 304.0, 0.0),
        ] {
            let (value, slope) = s.at(hours * HOUR_S);
            near(value, value_K);
            near(slope, -falls_K_per_day / 86_400.0);
        }
    }

    #[test]
    fn a_series_runs_straight_from_hour_to_hour() {
        let weather = Weather::Series {
            times_s: vec![0.0, HOUR_S, 2.0 * HOUR_S, 4.0 * HOUR_S],
            temperatures_K: vec![300.0, 303.0, 302.0, 306.0],
        };
        let s = Surroundings::new(&weather, datetime(2026, 7, 13, 7, 0, 0, 0));
        // The end belongs to the last line: a run may be as long as its weather.
        for (hours, value_K, slope_K_per_h) in [
            (0.0, 300.0, 3.0),
            (0.5, 301.5, 3.0),
            (1.0, 303.0, -1.0),
            (1.25, 302.75, -1.0),
            (3.0, 304.0, 2.0),
            (4.0, 306.0, 2.0),
        ] {
            let (value, slope) = s.at(hours * HOUR_S);
            near(value, value_K);
            near(slope, slope_K_per_h / HOUR_S);
        }
        let line = s.line_at(1.5 * HOUR_S).unwrap();
        let holds = [0.9, 1.0, 1.5, 2.0, 2.1].map(|hours| line.holds(hours * HOUR_S));
        assert_eq!(holds, [false, true, true, true, false]);
        let kinks = [0.0, 0.5, 1.0, 2.0, 4.0].map(|hours| s.next_kink(hours * HOUR_S) / HOUR_S);
        assert_eq!(kinks, [1.0, 1.0, 2.0, 4.0, f64::INFINITY]);
    }

    #[test]
    fn one_reading_holds_for_ever() {
        for weather in [
            Weather::Constant(301.0),
            Weather::Series {
                times_s: vec![0.0],
                temperatures_K: vec![301.0],
            },
        ] {
            let s = Surroundings::new(&weather, datetime(2026, 7, 13, 7, 0, 0, 0));
            assert_eq!(s.at(0.0), (301.0, 0.0));
            assert_eq!(s.at(5.0 * HOUR_S), (301.0, 0.0));
            assert_eq!(s.next_kink(0.0), f64::INFINITY);
        }
    }
}

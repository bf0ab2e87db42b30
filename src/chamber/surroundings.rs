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
                let k = times_s
                    .partition_point(|x| *x <= t_s)
                    .clamp(1, last.max(1))
                    .min(last);
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
                let k = times_s.partition_point(|x| *x <= t_s + 1e-9);
                times_s.get(k).copied().unwrap_or(f64::INFINITY)
            }
            Shape::Constant(_) | Shape::Swing { .. } => f64::INFINITY,
        }
    }
}

/// Seconds since midnight.
#[must_use]
pub fn seconds_of_day(t: DateTime) -> f64 {
    f64::from(t.hour()) * 3600.0
        + f64::from(t.minute()) * 60.0
        + f64::from(t.second())
        + f64::from(t.subsec_nanosecond()) * 1e-9
}

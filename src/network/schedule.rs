//! Which configuration of a network holds when.

use super::elements::configuration::Configuration;
use super::parts::Index;
use super::running::Running;

/// A stretch of time with one configuration, or two between which a thermostat switches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Begin, s.
    pub begin_s: f64,
    /// End, s.
    pub end_s: f64,
    /// The configuration that holds, by its position.
    pub configuration: usize,
    /// What switches to another.
    pub thermostat: Option<Thermostat>,
}

/// Switches between two configurations by the temperature of a point, with hysteresis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thermostat {
    /// The configuration while it rests, by its position.
    pub resting: usize,
    /// The point it measures.
    pub measures: Index,
    /// Starts above, K.
    pub on_above_K: f64,
    /// Stops below, K.
    pub off_below_K: f64,
}

/// Configurations, and which holds when.
#[derive(Debug, Clone)]
pub struct Schedule {
    configurations: Vec<Configuration>,
    stretches: Vec<Stretch>,
}

/// Why stretches make no schedule.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ScheduleError {
    /// There are none.
    #[error("a schedule needs at least one stretch of time")]
    Empty,
    /// One does not begin where the one before it ends, or ends before it begins.
    #[error(
        "stretch {0} of a schedule does not begin at time 0 or where the one before it ends, or has no length"
    )]
    Gap(usize),
    /// A configuration that is not there.
    #[error("stretch {0} of a schedule names a configuration that is not there")]
    Configuration(usize),
    /// A thermostat that would start and stop at once.
    #[error("the thermostat of stretch {0} stops above the temperature at which it starts")]
    Thermostat(usize),
    /// The run is longer than the schedule.
    #[error(
        "the run lasts {run_h:.2} h, but nothing says what holds after {end_h:.2} h: its last phase ends there"
    )]
    TooShort {
        /// Length of the run, h.
        run_h: f64,
        /// End of the schedule, h.
        end_h: f64,
    },
}

impl Schedule {
    /// Configurations, and the stretches in which they hold, in order and without gaps, from time 0 on.
    ///
    /// # Errors
    /// See [`ScheduleError`].
    pub fn new(
        configurations: Vec<Configuration>,
        stretches: Vec<Stretch>,
    ) -> Result<Self, ScheduleError> {
        if stretches.is_empty() {
            return Err(ScheduleError::Empty);
        }
        let mut until_s = 0.0;
        for (k, s) in stretches.iter().enumerate() {
            // A hair of slack: ends are sums of lengths.
            if (s.begin_s - until_s).abs() > 1e-6 || s.end_s.is_nan() || s.end_s <= s.begin_s {
                return Err(ScheduleError::Gap(k));
            }
            until_s = s.end_s;
            let there = |c: usize| c < configurations.len();
            if !there(s.configuration) || s.thermostat.is_some_and(|t| !there(t.resting)) {
                return Err(ScheduleError::Configuration(k));
            }
            if s.thermostat
                .is_some_and(|t| t.off_below_K.is_nan() || t.off_below_K >= t.on_above_K)
            {
                return Err(ScheduleError::Thermostat(k));
            }
        }
        Ok(Self {
            configurations,
            stretches,
        })
    }

    /// One configuration, for ever.
    #[must_use]
    pub fn always(configuration: Configuration) -> Self {
        Self {
            configurations: vec![configuration],
            stretches: vec![Stretch {
                begin_s: 0.0,
                end_s: f64::INFINITY,
                configuration: 0,
                thermostat: None,
            }],
        }
    }

    /// Configurations one after the other from time 0, each with its end, s.
    ///
    /// # Errors
    /// See [`ScheduleError`].
    pub fn in_turn(parts: Vec<(f64, Configuration)>) -> Result<Self, ScheduleError> {
        let mut begin_s = 0.0;
        let stretches = parts.iter().enumerate().map(|(k, (end_s, _))| Stretch {
            begin_s: std::mem::replace(&mut begin_s, *end_s),
            end_s: *end_s,
            configuration: k,
            thermostat: None,
        });
        let stretches = stretches.collect();
        Self::new(parts.into_iter().map(|(_, c)| c).collect(), stretches)
    }

    /// The configurations.
    #[must_use]
    pub fn configurations(&self) -> &[Configuration] {
        &self.configurations
    }

    /// The stretches, in order.
    #[must_use]
    pub fn stretches(&self) -> &[Stretch] {
        &self.stretches
    }

    /// End of the last stretch, s.
    #[must_use]
    pub fn end_s(&self) -> f64 {
        self.stretches.last().map_or(0.0, |s| s.end_s)
    }

    /// Position of the stretch that holds at a time; at a cut the later one.
    #[must_use]
    pub fn index_at(&self, t_s: f64) -> usize {
        self.stretches
            .partition_point(|s| s.begin_s <= t_s + 1e-9)
            .saturating_sub(1)
    }

    /// The number by which pieces of a trajectory know a stretch and what its thermostat is doing.
    #[must_use]
    pub const fn number(stretch: usize, running: Running) -> usize {
        Running::ALL.len() * stretch + running as usize
    }

    /// The stretch of that number, and what its thermostat is doing.
    #[must_use]
    pub const fn by_number(number: usize) -> (usize, Running) {
        let kinds = Running::ALL.len();
        (number / kinds, Running::ALL[number % kinds])
    }

    /// Position of the configuration that holds in the stretch of that number: that of full work where the fan is
    /// throttled.
    #[must_use]
    pub fn configuration_of(&self, number: usize) -> usize {
        let (stretch, running) = Self::by_number(number);
        let s = &self.stretches[stretch];
        match (s.thermostat, running) {
            (Some(t), Running::Rests) => t.resting,
            (_, Running::Works | Running::Throttled) | (None, Running::Rests) => s.configuration,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stretch(begin_s: f64, end_s: f64, configuration: usize) -> Stretch {
        Stretch {
            begin_s,
            end_s,
            configuration,
            thermostat: None,
        }
    }

    #[test]
    fn what_is_no_schedule_is_refused() {
        let new = |count: usize, stretches: Vec<Stretch>| {
            Schedule::new(vec![Configuration::default(); count], stretches).unwrap_err()
        };
        assert_eq!(new(1, vec![]), ScheduleError::Empty);
        let gap = vec![stretch(0.0, 10.0, 0), stretch(11.0, 20.0, 0)];
        assert_eq!(new(1, gap), ScheduleError::Gap(1));
        for (begin_s, end_s) in [(0.0, 0.0), (5.0, 9.0), (0.0, f64::NAN)] {
            let alone = vec![stretch(begin_s, end_s, 0)];
            assert_eq!(new(1, alone), ScheduleError::Gap(0), "{begin_s} {end_s}");
        }
        let nowhere = vec![stretch(0.0, 10.0, 1)];
        assert_eq!(new(1, nowhere), ScheduleError::Configuration(0));
        let thermostat = Thermostat {
            resting: 0,
            measures: 0,
            on_above_K: 300.0,
            off_below_K: 301.0,
        };
        let crossed = Stretch {
            thermostat: Some(thermostat),
            ..stretch(0.0, 10.0, 0)
        };
        assert_eq!(new(1, vec![crossed]), ScheduleError::Thermostat(0));
    }

    #[test]
    fn at_a_cut_the_later_stretch_holds() {
        let parts = vec![
            (10.0, Configuration::default()),
            (30.0, Configuration::default()),
        ];
        let schedule = Schedule::in_turn(parts).unwrap();
        let at = [0.0, 9.9, 10.0, 29.0, 30.0].map(|t| schedule.index_at(t));
        assert_eq!(at, [0, 0, 1, 1, 1]);
        assert_eq!(schedule.end_s(), 30.0);
        assert_eq!(
            schedule.configuration_of(Schedule::number(1, Running::Works)),
            1
        );
    }
}

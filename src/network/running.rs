//! What a thermostat of a schedule can be doing.

/// What a thermostat is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Running {
    /// Its configuration works. So it does where there is no thermostat.
    Works,
    /// It rests.
    Rests,
    /// It would switch without end, and is counted as control of the fan's speed.
    Throttled,
}

impl Running {
    /// All of them, by their numbers.
    pub const ALL: [Self; 3] = [Self::Works, Self::Rests, Self::Throttled];
}

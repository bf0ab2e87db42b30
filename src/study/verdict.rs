//! The answer in one word, and the exit code that goes with it.

/// The answer in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Verdict {
    /// The margin is at least the required one.
    Holds,
    /// The margin lies between zero and the required one.
    Tight,
    /// The filament passes its softening limit.
    Softens,
    /// A heater can't hold its setpoint while printing: what would soften then, nobody needs to know.
    CannotRun,
}

impl Verdict {
    /// From a margin and the required margin, both K, of a run whose heaters do their work.
    #[must_use]
    pub fn of(margin_K: f64, required_K: f64) -> Self {
        if margin_K < 0.0 {
            Self::Softens
        } else if margin_K < required_K {
            Self::Tight
        } else {
            Self::Holds
        }
    }

    /// The word.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::Tight => "tight",
            Self::Softens => "softens",
            Self::CannotRun => "cannot run",
        }
    }

    /// The exit code a program returns with it.
    #[must_use]
    pub const fn exit_code(self) -> u8 {
        match self {
            Self::Holds => 0,
            Self::Tight => 10,
            Self::Softens => 20,
            Self::CannotRun => 30,
        }
    }
}

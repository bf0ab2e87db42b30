//! Whether the starts of a season may share runs.

/// How the starts of a season were computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sharing {
    /// From runs that start more rarely: what lies between two of them is read between their courses.
    Shared {
        /// Time between the starts of those runs, s.
        every_s: f64,
        /// After so long a course no longer depends on the state it began with, s (measured).
        memory_s: f64,
    },
    /// Each by itself.
    Alone(Reason),
}

/// Why starts do not share runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// There are so few that sharing would save nothing.
    Few,
}

//! What a calendar of starts shows.

use jiff::civil::DateTime;

/// Starts by day and hour, their margins as colours: one calendar, or several with one scale. Margins are in K,
/// whatever units the picture is drawn in.
#[derive(Debug, Clone, PartialEq)]
pub struct Calendar {
    /// Large, at the top.
    pub title: String,
    /// Smaller, under the title.
    pub subtitle: String,
    /// Margin from which a start holds, K, where all calendars require the same.
    pub required_K: Option<f64>,
    /// The calendars, the run's own first.
    pub panels: Vec<Starts>,
    /// Small print at the bottom.
    pub note: String,
}

/// The starts of one calendar.
#[derive(Debug, Clone, PartialEq)]
pub struct Starts {
    /// Written above it where there are several; shortened where there is no room.
    pub name: String,
    /// Written behind the name and never shortened.
    pub tail: String,
    /// Time between two starts, s; above 0.
    pub every_s: f64,
    /// The starts in order of time.
    pub starts: Vec<(DateTime, ComesTo)>,
}

/// What becomes of a start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ComesTo {
    /// It runs to its end with this margin, K.
    Margin(f64, Zone),
    /// A heater is too weak.
    CannotRun,
    /// The job would outlast the weather, so nobody knows.
    Outlasts,
}

/// The side of the borders on which a margin lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Zone {
    /// Below nothing.
    Softens,
    /// Between nothing and what is required.
    Tight,
    /// What is required, or more.
    Holds,
}

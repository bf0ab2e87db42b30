//! Why a network can't be run.

use super::schedule::ScheduleError;
use crate::integrate::IntegrationError;

/// Why a network can't be run.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum NetworkError {
    /// An element ends at a point that is not there.
    #[error(
        "configuration {configuration} has an element at point {point}, but the network has only {points} points"
    )]
    Point {
        /// Configuration, counted from 0.
        configuration: usize,
        /// As named by the element.
        point: usize,
        /// How many there are.
        points: usize,
    },
    /// An element books in a ledger that is not there.
    #[error(
        "configuration {configuration} has an element of another network's ledger or growing body"
    )]
    Foreign {
        /// Configuration, counted from 0.
        configuration: usize,
    },
    /// A layer, opening or draught that does not fit its paths of air.
    #[error(
        "configuration {configuration} has paths of air with {layers} layers and {tops} upper edges, or an opening or fan in a layer that is not there"
    )]
    Layers {
        /// Configuration, counted from 0.
        configuration: usize,
        /// Number of layers.
        layers: usize,
        /// Number of upper edges.
        tops: usize,
    },
    /// A node whose capacity is below zero or no number.
    #[error("node \"{0}\" has a heat capacity that is negative or not a number")]
    Capacity(String),
    /// A body whose share is not always above zero, or jumps.
    #[error(
        "the share of \"{0}\" that is there must be above 0 at all times and grow without jumps"
    )]
    Share(String),
    /// A node held at a temperature that can't be.
    #[error(
        "node \"{0}\" can't be held at a setpoint: it is given, without mass, growing, or held by another control already"
    )]
    Held(String),
    /// A node without mass that nothing holds at a temperature.
    #[error(
        "node \"{name}\" is without mass, and what flows in can't be made to flow out at {at_h:.2} h"
    )]
    Massless {
        /// Its name.
        name: String,
        /// When, h.
        at_h: f64,
    },
    /// The schedule is no schedule.
    #[error(transparent)]
    Schedule(#[from] ScheduleError),
    /// The integration stopped early.
    #[error(transparent)]
    Integration(#[from] IntegrationError),
}

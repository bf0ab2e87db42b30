//! What is asked for where several networks are run at once.

use super::fixed::Network;
use super::schedule::Schedule;
use crate::integrate::{Begin, Options};

/// A network to be run over a part of its schedule.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// The network.
    pub network: &'a Network,
    /// What holds when.
    pub schedule: &'a Schedule,
    /// Where it begins: the begin of a piece of its course, or its start.
    pub from: Option<Begin<'a>>,
    /// End, s.
    pub end_s: f64,
    /// How carefully.
    pub options: Options,
    /// Whether its course is kept, or only told of: without, that is a course of no pieces.
    pub keeps: bool,
}

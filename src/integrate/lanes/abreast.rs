//! What is integrated in lanes.

use crate::integrate::{Options, System};
use crate::wide::{LANES, Narrow, Wide};

/// Systems whose rates are worked out together.
pub trait Abreast {
    /// One of them.
    type One: System;
    /// Puts a system into a lane that is free.
    fn seat(&mut self, lane: usize, one: Self::One);
    /// Takes it out again.
    fn leave(&mut self, lane: usize) -> Option<Self::One>;
    /// The system in a lane.
    fn one(&mut self, lane: usize) -> Option<&mut Self::One>;
    /// Called after [`System::begin`]: what holds may be another from here on, `enters` says whether that goes
    /// for more than given courses. Returns whether lanes can follow.
    fn settle(&mut self, lane: usize, t_s: f64, enters: bool) -> bool;
    /// Called after [`System::begin`] and before anything is asked for: from here on until the next known time given
    /// courses have another line.
    fn follow_given(&mut self, lane: usize, t_s: f64);
    /// [`System::rates`] of the unknowns in all lanes.
    fn rates(&mut self, t_s: &[f64; LANES], y: &[Wide], dy: &mut [Wide]);
    /// [`System::linearise`] in all lanes: slopes of the rates with the unknowns.
    fn linearise(&mut self, t_s: &[f64; LANES], y: &[Wide], out: &mut Slopes);
    /// Whether a lane's slopes, worked out last time, may be kept.
    fn keeps_slopes(&mut self, lane: usize, t_s: f64) -> bool;
    /// Slopes of the rates with time at fixed unknowns in all lanes, from what was worked out last time.
    fn drift(&mut self, t_s: &[f64; LANES], y: &[Wide], with_time: &mut [Wide]);
    /// [`System::error_weights`] in all lanes.
    fn error_weights(&self, out: &mut [Narrow]);
    /// The unknowns have been corrected by so much since rates were asked for last: what meters show follows by the
    /// slopes.
    fn correct_meters(&mut self, by: &[Narrow]);
    /// Meters of a lane when rates were asked for last, or as they were corrected since.
    fn meters(&self, lane: usize, out: &mut [f64]);
    /// Whether a lane's meters have set off an alarm, or by [`System::alarm_values`] nearly so.
    fn is_near_alarm(&self, lane: usize) -> bool;
    /// Whether an event may happen in a lane that is no alarm.
    fn may_switch(&self, lane: usize) -> bool;
}

/// Matrices in lanes that have entries in the same places.
#[derive(Debug, Clone, Default)]
pub struct Slopes {
    /// Row and column of each entry. Others may follow, those that are there stay.
    pub places: Vec<(u32, u32)>,
    /// The entries, to seven digits.
    pub entries: Vec<Narrow>,
}

/// A course to be integrated: a system, from where, and how carefully.
#[derive(Debug)]
pub struct Task<S> {
    /// The system.
    pub system: S,
    /// Begin and end, s.
    pub span_s: (f64, f64),
    /// Unknowns at the begin.
    pub start: Vec<f64>,
    /// How carefully; ledgers are not integrated.
    pub options: Options,
    /// Whether the course is kept, or only told of.
    pub keeps: bool,
}

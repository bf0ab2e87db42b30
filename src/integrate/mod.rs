//! Integrates a stiff system over days: a Rosenbrock method as the main integrator, and an explicit
//! Runge-Kutta method from `ode_solvers` as the cross-check.
//!
//! Both see the same [`System`]: they stop at every time it knows of, carry its ledgers along as
//! extra unknowns that feed nothing back, locate its events on the dense output, and return the
//! same [`Trajectory`]. Nothing here knows of heat.

mod begins;
pub mod explicit;
#[cfg(feature = "lanes")]
pub mod lanes;
mod pace;
pub mod rosenbrock;
pub mod sparse_lu;
pub mod trajectory;

pub use begins::{Begin, Begins, Span};
pub use explicit::integrate_explicit;
pub use rosenbrock::integrate_rosenbrock;
pub use trajectory::{Piece, Trajectory};

/// A system of ordinary differential equations with ledgers, known times and events.
pub trait System {
    /// Number of unknowns.
    fn unknowns(&self) -> usize;
    /// Number of ledgers: integrals carried along.
    fn ledgers(&self) -> usize;
    /// Number of meters: rates that alarms look at and nobody integrates. They follow the ledgers.
    fn meters(&self) -> usize {
        0
    }
    /// Unknowns without a rate: what [`System::rates`] gives for them is zero at every time.
    fn massless(&self) -> &[usize] {
        &[]
    }
    /// Rates of the unknowns, and of ledgers and meters, at `t` s.
    fn rates(&mut self, t: f64, y: &[f64], dy: &mut [f64], ledgers: &mut [f64]);
    /// What an error of each unknown is multiplied with before it is held against the tolerance, at the time rates
    /// were asked for last; `out` holds ones.
    fn error_weights(&self, _out: &mut [f64]) {}
    /// Slopes of [`System::rates`] with the unknowns and, at fixed unknowns, with time.
    fn linearise(&mut self, t: f64, y: &[f64], out: &mut Linearisation);
    /// Renews only the slopes with time, [`Linearisation::with_time`] and its like for ledgers, where
    /// the others are kept from an earlier [`System::linearise`]. Returns whether it did; a system that
    /// can't is linearised anew.
    fn renew_drift(&mut self, _t: f64, _y: &[f64], _out: &mut Linearisation) -> bool {
        false
    }
    /// The next known time after `t`, where rates may have a kink or a jump; infinite if none.
    fn next_break(&self, t: f64) -> f64;
    /// Called at the start, at every known time and after every event, before rates are asked
    /// for. Unknowns without a rate may be put where they belong now. Returns whether rates may have
    /// jumped.
    fn begin(&mut self, t: f64, y: &mut [f64]) -> bool;
    /// Number of event functions.
    fn events(&self) -> usize {
        0
    }
    /// Values of the event functions; an event happens where one turns from negative to not.
    fn event_values(&mut self, _t: f64, _y: &[f64], _out: &mut [f64]) {}
    /// Carries out an event. [`System::begin`] follows.
    fn fire(&mut self, _event: usize, _t: f64, _y: &[f64]) {}
    /// Number of alarms: events seen in the rates of ledgers and meters (a heater at its largest power).
    fn alarms(&self) -> usize {
        0
    }
    /// Values of the alarms, of the order of one; one goes off where it is not negative at the end of a
    /// step.
    fn alarm_values(&self, _ledger_rates: &[f64], _out: &mut [f64]) {}
    /// The ledgers and meters that alarms look at.
    fn alarm_ledgers(&self, out: &mut Vec<usize>) {
        out.clear();
        out.extend(0..self.ledgers() + self.meters());
    }
    /// Carries out an alarm. [`System::begin`] follows.
    fn raise(&mut self, _alarm: usize) {}
    /// A number that names the stretch being integrated, kept with each piece of the trajectory.
    fn stretch(&self) -> usize {
        0
    }
}

/// Slopes of a system's rates.
#[derive(Debug, Clone)]
pub struct Linearisation {
    /// d(rate i)/d(unknown j), row by row.
    pub jacobian: Vec<f64>,
    /// d(rate i)/dt at fixed unknowns, in a rate's unit per second.
    pub with_time: Vec<f64>,
    /// d(ledger or meter k)/d(unknown j), row by row.
    pub ledger_jacobian: Vec<f64>,
    /// d(ledger or meter k)/dt at fixed unknowns.
    pub ledger_with_time: Vec<f64>,
    /// The ledgers and meters whose slopes are asked for; those of others need not be right.
    pub ledgers: Vec<usize>,
}

impl Linearisation {
    /// Room for `n` unknowns and `l` ledgers and meters, all asked for.
    #[must_use]
    pub fn new(n: usize, l: usize) -> Self {
        Self {
            jacobian: vec![0.0; n * n],
            with_time: vec![0.0; n],
            ledger_jacobian: vec![0.0; l * n],
            ledger_with_time: vec![0.0; l],
            ledgers: (0..l).collect(),
        }
    }
}

/// Which integrator runs a system.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum IntegratorKind {
    /// The main one: stiff, error-controlled.
    #[default]
    Rosenbrock,
    /// The cross-check: explicit, order 5.
    Explicit,
}

impl IntegratorKind {
    /// Name in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Rosenbrock => "Rosenbrock3",
            Self::Explicit => "Dopri5",
        }
    }

    /// Integrates `system` from `t0` to `t_end`, s.
    ///
    /// # Errors
    /// See [`IntegrationError`].
    pub fn integrate<S: System + ?Sized>(
        self,
        system: &mut S,
        t0: f64,
        t_end: f64,
        y0: &[f64],
        options: &Options,
    ) -> Result<Trajectory, IntegrationError> {
        match self {
            Self::Rosenbrock => integrate_rosenbrock(system, t0, t_end, y0, options),
            Self::Explicit => integrate_explicit(system, t0, t_end, y0, options),
        }
    }
}

/// How carefully.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Largest error of a step in any unknown, in the unknown's unit (K).
    pub tolerance: f64,
    /// Longest step, s. Where the weather is smooth, steps could be longer, but what lies between
    /// their ends, where the hottest moment is looked for, would be less sure.
    pub max_step_s: f64,
    /// Most steps before giving up.
    pub max_steps: u64,
    /// Whether the ledgers are integrated. Studies of many runs do without.
    pub ledgers: bool,
}

impl Default for Options {
    /// For studies of many runs: see [`STUDY_TOLERANCE_K`].
    fn default() -> Self {
        Self {
            tolerance: STUDY_TOLERANCE_K,
            max_step_s: 3600.0,
            max_steps: 20_000_000,
            ledgers: true,
        }
    }
}

impl Options {
    /// For a single run, whose every node is looked at: see [`CHECK_TOLERANCE_K`].
    #[must_use]
    pub fn fine() -> Self {
        Self {
            tolerance: CHECK_TOLERANCE_K,
            ..Self::default()
        }
    }
}

/// Tolerance of a step at which the hottest filament of the demo and of the real heat wave is within
/// 0.005 K of a far tighter run (measured; 0.01 K is asked for). Between steps a node inside a panel
/// can be 0.05 K off.
pub const STUDY_TOLERANCE_K: f64 = 0.05;

/// Tolerance of a step at which the filament and nearly every node of these runs are within 0.01 K of a far tighter
/// run at every time; air that overturns below an open lid is within 0.013 K.
pub const CHECK_TOLERANCE_K: f64 = 0.003;

/// What an integration cost.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Effort {
    /// Accepted steps.
    pub steps: u64,
    /// Rejected steps.
    pub rejected: u64,
    /// Evaluations of the rates.
    pub evaluations: u64,
    /// Evaluations of the slopes.
    pub jacobians: u64,
    /// Events carried out.
    pub events: u64,
}

/// Why an integration stopped early.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum IntegrationError {
    /// More steps than allowed.
    #[error(
        "the integration needs more than {steps} steps; it had reached {at_h:.2} h. Shorten the run (`run.duration`), or set the two temperatures of `arrangement.thermostat` further apart"
    )]
    TooManySteps {
        /// The limit.
        steps: u64,
        /// Where it was, h.
        at_h: f64,
    },
    /// The step became too small.
    #[error(
        "the integration's step became too small at {at_h:.4} h: some value of the run drives temperatures to infinity"
    )]
    StepTooSmall {
        /// Where it was, h.
        at_h: f64,
    },
    /// The system names a next known time that has passed.
    #[error("nothing is known of what holds after {at_h:.2} h, where the run was to go on")]
    NothingKnown {
        /// Where it was, h.
        at_h: f64,
    },
    /// An explicit method was asked for unknowns without a rate.
    #[error("the explicit integrator takes no nodes without mass: use the main one")]
    Massless,
    /// Too many events.
    #[error(
        "a thermostat or heater switched more than {events} times in one hour, by {at_h:.2} h: set the two temperatures of `arrangement.thermostat` further apart (`on_above`, `off_below`), or look for a heater whose setpoint the room or the chamber reaches by itself"
    )]
    TooManyEvents {
        /// Most in an hour.
        events: u64,
        /// Where it was, h.
        at_h: f64,
    },
}

/// Most events in an hour of a run before an integration gives up: what switches more than once a second
/// does nothing else. Over the whole run there may be any number.
pub const MAX_EVENTS_PER_H: u64 = 5000;

/// Counts events and gives up on those that follow each other without end.
#[derive(Debug, Default)]
pub(crate) struct EventCount {
    hour_begins_s: f64,
    in_hour: u64,
}

impl EventCount {
    /// Counts one.
    pub(crate) fn count(&mut self, t_s: f64, effort: &mut Effort) -> Result<(), IntegrationError> {
        effort.events += 1;
        if t_s - self.hour_begins_s > 3600.0 {
            (self.hour_begins_s, self.in_hour) = (t_s, 0);
        }
        self.in_hour += 1;
        if self.in_hour > MAX_EVENTS_PER_H {
            return Err(IntegrationError::TooManyEvents {
                events: MAX_EVENTS_PER_H,
                at_h: t_s / 3600.0,
            });
        }
        Ok(())
    }
}

/// What ended a stretch early.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Happening {
    Event(usize),
    Alarm(usize),
}

/// Alarms are of the order of one: one so close to going off may have been mistaken by rates carried over a step. The last
/// correction of unknowns, some tenths of a kelvin at most, moves them by a hundredth or so, and slopes say by how much.
pub(crate) const NEAR_ALARM: f64 = 0.005;

/// Looks into pieces for events and alarms.
#[derive(Debug)]
pub(crate) struct Watch {
    /// Event functions when the stretch began.
    before: Vec<f64>,
    values: Vec<f64>,
    alarms: Vec<f64>,
    y: Vec<f64>,
    dy: Vec<f64>,
    ledgers: Vec<f64>,
}

impl Watch {
    pub(crate) fn new<S: System + ?Sized>(system: &S) -> Self {
        Self {
            before: vec![],
            values: vec![],
            alarms: vec![],
            y: vec![0.0; system.unknowns()],
            dy: vec![0.0; system.unknowns()],
            ledgers: vec![0.0; system.ledgers() + system.meters()],
        }
    }

    /// Notes how the event functions stand. One that stands at zero has not happened yet.
    pub(crate) fn arm<S: System + ?Sized>(&mut self, system: &mut S, t: f64, y: &[f64]) {
        self.before.resize(system.events(), 0.0);
        self.values.resize(system.events(), 0.0);
        self.alarms.resize(system.alarms(), 0.0);
        system.event_values(t, y, &mut self.before);
        for v in &mut self.before {
            if *v >= 0.0 {
                *v = -f64::MIN_POSITIVE;
            }
        }
    }

    /// Whether any alarm is off, or nearly, see [`NEAR_ALARM`].
    pub(crate) fn is_near_alarm<S: System + ?Sized>(
        &mut self,
        system: &S,
        ledgers: &[f64],
    ) -> bool {
        system.alarm_values(ledgers, &mut self.alarms);
        self.alarms.iter().any(|a| *a > -NEAR_ALARM)
    }

    /// The first happening in a piece and its place there. `end_ledgers` are the ledgers' rates
    /// at the piece's end.
    ///
    /// The piece is looked at in quarters, so that a value that rises and falls again inside a
    /// long step is not missed.
    pub(crate) fn first<S: System + ?Sized>(
        &mut self,
        system: &mut S,
        piece: &Piece,
        end_ledgers: &[f64],
    ) -> Option<(Happening, f64)> {
        const PARTS: usize = 4;
        let mut first: Option<(Happening, f64)> = None;
        let mut keep = |what: Happening, at: f64| {
            if first.is_none_or(|(_, earliest)| at < earliest) {
                first = Some((what, at));
            }
        };
        let mut earlier = 0.0;
        let parts = if self.before.is_empty() { 0 } else { PARTS };
        for part in 1..=parts {
            let here = part as f64 / PARTS as f64;
            self.read(system, piece, here);
            let crossed: Vec<usize> = (0..self.values.len())
                .filter(|k| self.before[*k] < 0.0 && self.values[*k] >= 0.0)
                .collect();
            for k in &crossed {
                let at = turn(piece, earlier, here, |x| {
                    self.read(system, piece, x);
                    self.values[*k]
                });
                keep(Happening::Event(*k), at);
            }
            if !crossed.is_empty() {
                break;
            }
            earlier = here;
        }
        if !self.alarms.is_empty() {
            system.alarm_values(end_ledgers, &mut self.alarms);
            let off: Vec<usize> = (0..self.alarms.len())
                .filter(|k| self.alarms[*k] >= 0.0)
                .collect();
            for k in off {
                let at = turn(piece, 0.0, 1.0, |x| {
                    piece.at(x, &mut self.y);
                    let t = piece.begin_s + x * piece.length_s;
                    system.rates(t, &self.y, &mut self.dy, &mut self.ledgers);
                    system.alarm_values(&self.ledgers, &mut self.alarms);
                    self.alarms[k]
                });
                keep(Happening::Alarm(k), at);
            }
        }
        first
    }

    fn read<S: System + ?Sized>(&mut self, system: &mut S, piece: &Piece, x: f64) {
        piece.at(x, &mut self.y);
        system.event_values(
            piece.begin_s + x * piece.length_s,
            &self.y,
            &mut self.values,
        );
    }
}

/// The place in `[low, high]` where a value turns from negative to not, to a microsecond. Where it is negative at the
/// end too, the end.
fn turn(piece: &Piece, low: f64, high: f64, mut value: impl FnMut(f64) -> f64) -> f64 {
    let tiny = 1e-6 / piece.length_s;
    // Places before and after, each with its value.
    let (mut before, mut after) = ((low, value(low)), (high, value(high)));
    if after.1 < 0.0 {
        return high;
    }
    while after.0 - before.0 > tiny {
        let apart = after.0 - before.0;
        // Where a straight line turns, and a little to the other side of that: mostly the two close in on it.
        let share = (before.1 / (before.1 - after.1)).clamp(0.0, 1.0);
        let line = before.0 + apart * share;
        for look in 0..3 {
            let x = match look {
                0 => line,
                1 if before.0 == line => line + 0.9 * tiny,
                1 => line - 0.9 * tiny,
                _ if after.0 - before.0 > 0.5 * apart => 0.5 * (before.0 + after.0),
                _ => break,
            };
            if before.0 < x && x < after.0 {
                let at = (x, value(x));
                if at.1 >= 0.0 {
                    after = at;
                } else {
                    before = at;
                }
            }
        }
    }
    after.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a straight line, a late steep rise, a corner, a step, what was not negative at the begin, and what never
    /// turns. Straight lines take few looks, and none takes more than three times as many as halving does.
    #[test]
    fn a_value_turns_where_it_passes_zero() {
        let piece = Piece {
            begin_s: 0.0,
            length_s: 3600.0,
            stretch: 0,
            coefficients: Vec::new(),
        };
        type Case<'a> = (&'a dyn Fn(f64) -> f64, f64, usize);
        let cases: [Case<'_>; 6] = [
            (&|x| x - 0.3, 0.3, 6),
            (&|x| x.powi(12) - 0.1, 0.1_f64.powf(1.0 / 12.0), 40),
            (&|x| (1e3 * (x - 0.2)).max(-1e-3), 0.2, 60),
            (&|x| if x < 0.7 { -1.0 } else { 1.0 }, 0.7, 96),
            (&|x| 1.0 + x, 0.0, 96),
            (&|x| x - 2.0, 1.0, 2),
        ];
        for (k, (value, want, most)) in cases.into_iter().enumerate() {
            let mut looks = 0;
            let at = turn(&piece, 0.0, 1.0, |x| {
                looks += 1;
                value(x)
            });
            let off_s = (at - want) * piece.length_s;
            assert!((-1e-9..=1e-6).contains(&off_s), "case {k}: {off_s} s");
            assert!(looks <= most, "case {k}: {looks} looks");
        }
    }
}

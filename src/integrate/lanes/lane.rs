//! One lane: a system's own way through time, step by step.

use super::abreast::{Abreast, Task};
use super::method::Method;

use crate::integrate::pace::{Pace, SMALLEST_STEP_S, root};
use crate::integrate::rosenbrock::method::{KEEP_SLOPES_WITHIN, MOST_USES};
use crate::integrate::{Effort, EventCount, Happening, Options, Piece, System, Trajectory, Watch};
use crate::wide::Wide;

/// What a lane is ready for.
pub(super) enum Ready {
    /// To try a step.
    Step,
    /// It is at its end.
    Done,
    /// It can't be followed any further.
    Lost,
}

/// A lane's own state.
#[derive(Debug)]
pub(super) struct Lane {
    pub number: usize,
    options: Options,
    n: usize,
    t: f64,
    t_end: f64,
    stop: f64,
    /// The step that is being tried.
    h: f64,
    pace: Pace,
    y: Vec<f64>,
    rates: Vec<f64>,
    watch: Watch,
    ledgers: Vec<f64>,
    meters_from: usize,
    begins: bool,
    /// Set by a jump, until its first step is chosen.
    jumped: bool,
    fresh_rates: bool,
    fresh_slopes: bool,
    uses_left: u32,
    /// [`root`] of the tolerance.
    tolerance_root: f64,
    /// Slopes are kept while no unknown has moved by more than this since.
    keep_within: f64,
    linearised_at: f64,
    stretch: Option<usize>,
    /// Whether an event may happen that is no alarm.
    may_switch: bool,
    events: EventCount,
    effort: Effort,
    keeps: bool,
    pieces: Vec<Piece>,
    /// Room for the next piece.
    spare: Vec<f64>,
    /// The step just made, until it has been looked into.
    made: Option<Piece>,
    near_alarm: bool,
    lost: bool,
}

impl Lane {
    pub fn new<S: System>(number: usize, task: &Task<S>) -> Self {
        let n = task.start.len();
        let meters_from = task.system.ledgers();
        let ledgers = meters_from + task.system.meters();
        Self {
            number,
            options: task.options,
            n,
            t: task.span_s.0,
            t_end: task.span_s.1,
            stop: task.span_s.0,
            // None yet: the lane's last guest had one.
            h: f64::NAN,
            pace: Pace::new(),
            y: task.start.clone(),
            rates: vec![0.0; n],
            watch: Watch::new(&task.system),
            ledgers: vec![0.0; ledgers],
            meters_from,
            begins: true,
            jumped: true,
            fresh_rates: false,
            fresh_slopes: false,
            uses_left: 0,
            tolerance_root: root(task.options.tolerance),
            keep_within: KEEP_SLOPES_WITHIN * task.options.tolerance.sqrt(),
            linearised_at: f64::NAN,
            stretch: None,
            may_switch: true,
            events: EventCount::default(),
            effort: Effort::default(),
            keeps: task.keeps,
            pieces: Vec::new(),
            spare: Vec::new(),
            made: None,
            near_alarm: false,
            lost: false,
        }
    }

    /// Where the step begins that is being tried, s.
    pub const fn begin_s(&self) -> f64 {
        self.t
    }

    /// Its end, s.
    pub fn end_s(&self) -> f64 {
        self.t + self.h
    }

    /// The course it has taken.
    pub fn course(&mut self) -> Trajectory {
        Trajectory {
            pieces: std::mem::take(&mut self.pieces),
            unknowns: self.n,
            totals: Vec::new(),
            effort: self.effort,
        }
    }

    /// Begins what begins here.
    pub fn prepare<A: Abreast>(&mut self, lane: usize, all: &mut A) -> Ready {
        if !self.lost && (self.begins || self.t >= self.stop) {
            if self.t >= self.t_end {
                return Ready::Done;
            }
            self.lost = !self.begin(lane, all);
        }
        if self.lost { Ready::Lost } else { Ready::Step }
    }

    /// A new stretch, a known time, or what follows an event. Whether lanes can follow.
    fn begin<A: Abreast>(&mut self, lane: usize, all: &mut A) -> bool {
        self.begins = false;
        let Some(system) = all.one(lane) else {
            return false;
        };
        let jumped = system.begin(self.t, &mut self.y);
        if jumped {
            self.fresh_rates = false;
            self.uses_left = 0;
            self.jumped = true;
        }
        self.fresh_slopes = false;
        // What holds its setpoint has no events, and goes on having none.
        if jumped || self.may_switch {
            self.watch.arm(system, self.t, &self.y);
        }
        self.stop = system.next_break(self.t).min(self.t_end);
        let stretch = Some(system.stretch());
        let enters = self.stretch != stretch;
        self.stretch = stretch;
        all.follow_given(lane, self.t);
        // Between known times of one stretch only given courses have another line.
        let follows = !jumped && !enters || all.settle(lane, self.t, enters);
        self.may_switch = all.may_switch(lane);
        follows && self.stop > self.t
    }

    /// Whether slopes have to be worked out anew where the step begins; they are kept from an earlier one
    /// while they are nearly the same.
    pub fn wants_slopes<A: Abreast>(&mut self, lane: usize, all: &mut A, m: &Method) -> bool {
        // A rejected step is tried again from the same place: its slopes still hold.
        if self.fresh_slopes {
            return false;
        }
        let keeps = self.uses_left > 0
            && m.moved.0[lane] <= self.keep_within
            && all.keeps_slopes(lane, self.t);
        if keeps {
            self.uses_left -= 1;
            self.fresh_slopes = true;
        }
        !keeps
    }

    /// Slopes have been worked out where the step begins.
    pub fn has_slopes(&mut self) {
        self.effort.jacobians += 1;
        self.linearised_at = self.t;
        self.uses_left = MOST_USES - 1;
        self.fresh_slopes = true;
    }

    /// Chooses the step, and sees to rates. Whether the step is another than the last one.
    pub fn choose<A: Abreast>(&mut self, lane: usize, all: &mut A, m: &mut Method) -> bool {
        if std::mem::take(&mut self.jumped) {
            self.pace.begin(m.fastest_per_s(lane));
        }
        let left = self.stop - self.t;
        let h = self.pace.step_s(left, self.options.max_step_s);
        self.lost = self.effort.steps + self.effort.rejected >= self.options.max_steps
            || (h < SMALLEST_STEP_S && h < left)
            || h.is_nan();
        let Some(system) = all.one(lane).filter(|_| !self.lost) else {
            self.lost = true;
            return false;
        };
        if !self.fresh_rates {
            self.ask_rates(lane, system, m);
        }
        let is_other = h != self.h;
        self.h = h;
        m.step_s.0[lane] = h;
        is_other
    }

    fn ask_rates(&mut self, lane: usize, system: &mut impl System, m: &mut Method) {
        system.rates(self.t, &self.y, &mut self.rates, &mut self.ledgers);
        for (wide, rate) in m.rates.iter_mut().zip(&self.rates) {
            wide.0[lane] = *rate;
        }
        self.effort.evaluations += 1;
        self.fresh_rates = true;
    }

    /// Looks at the step that was tried: goes on from its end, or tries another from where it begins. What
    /// all lanes have together follows for all of them at once.
    pub fn conclude<A: Abreast>(&mut self, lane: usize, all: &mut A, m: &mut Method) {
        if self.lost {
            return;
        }
        let error = m.error.0[lane] / self.options.tolerance;
        self.effort.evaluations += 1;
        if error.is_nan() || error > 1.0 {
            self.effort.rejected += 1;
            if self.linearised_at == self.t {
                self.pace.shorten(self.h, error);
            } else {
                // Perhaps only for slopes kept too long: the same step, once more.
                self.uses_left = 0;
                self.fresh_slopes = false;
            }
            return;
        }
        self.effort.steps += 1;
        let root = m.error_root.0[lane] / self.tolerance_root;
        self.pace.go_on(self.h, error, root);
        let n = self.n;
        let mut coefficients = std::mem::take(&mut self.spare);
        coefficients.clear();
        coefficients.reserve_exact(4 * n);
        coefficients.extend_from_slice(&self.y);
        for numbers in [&m.end, &m.k1, &m.k2] {
            coefficients.extend(numbers.iter().map(|wide| wide.0[lane]));
        }
        self.y.copy_from_slice(&coefficients[n..2 * n]);
        self.made = Some(Piece {
            begin_s: self.t,
            length_s: self.h,
            stretch: self.stretch.unwrap_or(0),
            coefficients,
        });
        let left = self.stop - self.t;
        self.t = if self.h >= left {
            self.stop
        } else {
            self.t + self.h
        };
        self.fresh_rates = true;
        self.fresh_slopes = false;
        self.near_alarm = all.is_near_alarm(lane);
    }

    /// Whether a step has just been made.
    pub const fn has_made(&self) -> bool {
        self.made.is_some()
    }

    /// Whether an alarm is so close that the rates, which decide what happens next, must be those where the step
    /// ends.
    pub const fn is_near_alarm(&self) -> bool {
        self.made.is_some() && self.near_alarm
    }

    /// Takes over the rates where the step ends.
    pub fn take_rates(&mut self, lane: usize, m: &mut Method, at: &[Wide]) {
        for (wide, rate) in m.rates.iter_mut().zip(at) {
            wide.0[lane] = rate.0[lane];
        }
        self.effort.evaluations += 1;
    }

    /// Looks at what has happened in the step just made, if one was, and tells of it.
    pub fn watch<A: Abreast>(
        &mut self,
        lane: usize,
        all: &mut A,
        m: &mut Method,
        told: &mut dyn FnMut(usize, &Piece),
    ) {
        let Some(mut piece) = self.made.take() else {
            return;
        };
        let may_happen = self.may_switch || self.near_alarm;
        if may_happen {
            all.meters(lane, &mut self.ledgers[self.meters_from..]);
        }
        let Some(system) = all.one(lane) else {
            self.lost = true;
            return;
        };
        let happened = if may_happen {
            self.watch.first(system, &piece, &self.ledgers)
        } else {
            None
        };
        if let Some((what, x)) = happened {
            if x < 1.0 {
                piece = piece.cut(x);
                self.y
                    .copy_from_slice(&piece.coefficients[self.n..2 * self.n]);
                self.t = piece.end_s();
                for (wide, y) in m.y.iter_mut().zip(&self.y) {
                    wide.0[lane] = *y;
                }
            }
            if self.events.count(self.t, &mut self.effort).is_err() {
                self.lost = true;
            }
            match what {
                Happening::Event(k) => system.fire(k, self.t, &self.y),
                Happening::Alarm(k) => system.raise(k),
            }
            self.fresh_rates = false;
            self.begins = true;
            self.pace.happened(Some(what));
        } else if self.t >= self.stop {
            self.pace.happened(None);
        }
        told(self.number, &piece);
        if self.keeps {
            self.pieces.push(piece);
        } else {
            self.spare = piece.coefficients;
        }
    }
}

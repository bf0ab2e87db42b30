//! The cross-check: the explicit Runge-Kutta method Dopri5 of `ode_solvers` on the same right-hand side.
//!
//! What its version 0.6.2 needs for multi-day stiff runs: the stiffness test turned off (it would
//! end the run), the step limit raised, every known time made an end point (a pulse between two
//! long steps is never seen otherwise), `Sparse` output (the last row of `Dense` can be wrong), and
//! events located by ourselves (`solout` only stops after the step that crossed).

use super::trajectory::{Piece, Trajectory};
use super::{Effort, EventCount, Happening, IntegrationError, Options, System, Watch};
use nalgebra::DVector;
use ode_solvers::dop_shared::{IntegrationError as SolverError, OutputType};
use std::cell::RefCell;

/// A value of the stiffness-test interval that no run reaches.
const NO_STIFFNESS_TEST: u32 = u32::MAX;
/// Steps allowed between two known times.
const STEPS_PER_STRETCH: u32 = 4_000_000;

/// Shares the system with the solver, which takes it by value and calls it by shared reference.
///
/// The solver's time starts at 0 in every call, so that short steps late in a run lose no digits.
struct Shared<'a, S: System + ?Sized> {
    system: &'a RefCell<&'a mut S>,
    unknowns: usize,
    /// Rates of ledgers and meters.
    rates: RefCell<Vec<f64>>,
    begin_s: f64,
    /// Where the last step ended: solver time, state and rates.
    last: Option<(f64, DVector<f64>, DVector<f64>)>,
    watch: Option<Watch>,
    happened: &'a RefCell<Option<(Happening, f64)>>,
}

impl<S: System + ?Sized> ode_solvers::System<f64, DVector<f64>> for Shared<'_, S> {
    fn system(&self, t: f64, y: &DVector<f64>, dy: &mut DVector<f64>) {
        let (head, tail) = dy.as_mut_slice().split_at_mut(self.unknowns);
        let y = &y.as_slice()[..self.unknowns];
        let mut rates = self.rates.borrow_mut();
        self.system
            .borrow_mut()
            .rates(t + self.begin_s, y, head, &mut rates);
        for (v, rate) in tail.iter_mut().zip(rates.iter()) {
            *v = rate * LEDGER_SCALE;
        }
    }

    /// Stops the solver after a step in which something happened.
    fn solout(&mut self, t: f64, y: &DVector<f64>, _dy: &DVector<f64>) -> bool {
        if self.watch.is_none() {
            return false;
        }
        let mut rates = DVector::zeros(y.len());
        self.system(t, y, &mut rates);
        if let (Some((t0, y0, f0)), Some(watch)) = (&self.last, &mut self.watch) {
            let piece = hermite(
                (self.begin_s + t0, y0, f0),
                (self.begin_s + t, y, &rates),
                self.unknowns,
                self.unknowns,
                0,
            );
            let ledgers = self.rates.borrow();
            if let Some((what, x)) = watch.first(&mut **self.system.borrow_mut(), &piece, &ledgers)
            {
                *self.happened.borrow_mut() = Some((what, t0 + x * (t - t0)));
                return true;
            }
        }
        self.last = Some((t, y.clone(), rates));
        false
    }
}

/// Ledgers are carried in megajoules: beside kelvins their size then asks for no smaller steps.
const LEDGER_SCALE: f64 = 1e-6;

/// Integrates `system` from `t0` to `t_end`, s, with Dormand and Prince's method of order 5(4).
///
/// # Errors
/// When more steps or events are needed than allowed, or steps shrink to nothing.
pub fn integrate_explicit<S: System + ?Sized>(
    system: &mut S,
    t0: f64,
    t_end: f64,
    y0: &[f64],
    options: &Options,
) -> Result<Trajectory, IntegrationError> {
    let (n, l) = (system.unknowns(), system.ledgers());
    if !system.massless().is_empty() {
        return Err(IntegrationError::Massless);
    }
    let mut ledger_rates = vec![0.0; l + system.meters()];
    let mut effort = Effort::default();
    let mut events = EventCount::default();
    let mut pieces: Vec<Piece> = Vec::new();
    let mut state =
        DVector::from_iterator(n + l, y0.iter().copied().chain(std::iter::repeat_n(0.0, l)));
    let kept = if options.ledgers { n + l } else { n };
    let mut t = t0;
    while t < t_end {
        system.begin(t, &mut state.as_mut_slice()[..n]);
        let stop = system.next_break(t).min(t_end);
        if stop <= t {
            return Err(IntegrationError::NothingKnown { at_h: t / 3600.0 });
        }
        let mut call = Call {
            begin_s: t,
            length_s: stop - t,
            watched: true,
            options,
        };
        let (mut course, happened) = call.run(system, &state, &mut effort)?;
        let mut end = stop;
        if let Some((_, at)) = happened {
            // Step again from the last good state, exactly to where it happened.
            course.pop();
            let (from, good) = course.last().cloned().unwrap_or((0.0, state.clone()));
            end = t + at;
            if at > from {
                call = Call {
                    begin_s: t + from,
                    length_s: at - from,
                    watched: false,
                    options,
                };
                let (again, _) = call.run(system, &good, &mut effort)?;
                course.extend(again.into_iter().skip(1).map(|(x, y)| (from + x, y)));
            }
        }
        let stretch = system.stretch();
        let mut rates = DVector::zeros(n + l);
        let mut earlier: Option<(f64, DVector<f64>, DVector<f64>)> = None;
        for (x, y) in course {
            {
                let (head, tail) = rates.as_mut_slice().split_at_mut(n);
                system.rates(t + x, &y.as_slice()[..n], head, &mut ledger_rates);
                let scaled = ledger_rates.iter().map(|rate| rate * LEDGER_SCALE);
                tail.iter_mut().zip(scaled).for_each(|(v, rate)| *v = rate);
            }
            if let Some((x0, y0, f0)) = &earlier {
                pieces.push(hermite(
                    (t + x0, y0, f0),
                    (t + x, &y, &rates),
                    n,
                    kept,
                    stretch,
                ));
            }
            earlier = Some((x, y, rates.clone()));
        }
        if let Some((_, y, _)) = earlier {
            state = y;
        }
        t = end;
        if let Some((what, _)) = happened {
            events.count(t, &mut effort)?;
            match what {
                Happening::Event(k) => system.fire(k, t, &state.as_slice()[..n]),
                Happening::Alarm(k) => system.raise(k),
            }
        }
        if effort.steps > options.max_steps {
            return Err(IntegrationError::TooManySteps {
                steps: options.max_steps,
                at_h: t / 3600.0,
            });
        }
    }
    let totals = state.as_slice()[n..]
        .iter()
        .map(|v| v / LEDGER_SCALE)
        .collect();
    Ok(Trajectory {
        pieces,
        unknowns: n,
        totals,
        effort,
    })
}

type Course = Vec<(f64, DVector<f64>)>;

/// One call of the solver, over a stretch without known times inside.
struct Call<'a> {
    begin_s: f64,
    length_s: f64,
    /// Whether to stop after a step in which something happens.
    watched: bool,
    options: &'a Options,
}

impl Call<'_> {
    /// States at the ends of steps by time from the begin, and what happened in the last step.
    fn run<S: System + ?Sized>(
        &self,
        system: &mut S,
        state: &DVector<f64>,
        effort: &mut Effort,
    ) -> Result<(Course, Option<(Happening, f64)>), IntegrationError> {
        let unknowns = system.unknowns();
        let watch = self.watched.then(|| {
            let mut w = Watch::new(system);
            w.arm(system, self.begin_s, &state.as_slice()[..unknowns]);
            w
        });
        let watch = watch.filter(|_| system.events() + system.alarms() > 0);
        let system_rates = system.ledgers() + system.meters();
        let cell = RefCell::new(system);
        let happened = RefCell::new(None);
        let mut shared = Shared {
            rates: RefCell::new(vec![0.0; system_rates]),
            system: &cell,
            unknowns,
            begin_s: self.begin_s,
            last: None,
            watch,
            happened: &happened,
        };
        if shared.watch.is_some() {
            let mut rates = DVector::zeros(state.len());
            ode_solvers::System::system(&shared, 0.0, state, &mut rates);
            shared.last = Some((0.0, state.clone(), rates));
        }
        let mut solver = ode_solvers::Dopri5::from_param(
            shared,
            0.0,
            self.length_s,
            self.length_s,
            state.clone(),
            0.0,
            self.options.tolerance,
            0.9,
            0.04,
            0.2,
            10.0,
            self.options.max_step_s.min(self.length_s),
            0.0,
            STEPS_PER_STRETCH,
            NO_STIFFNESS_TEST,
            OutputType::Sparse,
        );
        let outcome = solver.integrate();
        let mut course: Course = solver
            .x_out()
            .iter()
            .copied()
            .zip(solver.y_out().iter().cloned())
            .collect();
        match outcome {
            Ok(stats) => {
                effort.steps += u64::from(stats.accepted_steps);
                effort.rejected += u64::from(stats.rejected_steps);
                effort.evaluations += u64::from(stats.num_eval);
            }
            Err(SolverError::MaxNumStepReached { x, .. }) => {
                return Err(IntegrationError::TooManySteps {
                    steps: u64::from(STEPS_PER_STRETCH),
                    at_h: (self.begin_s + x) / 3600.0,
                });
            }
            Err(SolverError::StepSizeUnderflow { x } | SolverError::StiffnessDetected { x }) => {
                return Err(IntegrationError::StepTooSmall {
                    at_h: (self.begin_s + x) / 3600.0,
                });
            }
        }
        if course.is_empty() {
            course.push((0.0, state.clone()));
        }
        Ok((course, happened.into_inner()))
    }
}

/// A cubic through states and rates at the ends of a step, `(t, y, dy/dt)`. An explicit method's
/// steps are short beside every time constant, so this loses nothing.
fn hermite(
    begin: (f64, &DVector<f64>, &DVector<f64>),
    end: (f64, &DVector<f64>, &DVector<f64>),
    unknowns: usize,
    width: usize,
    stretch: usize,
) -> Piece {
    let h = end.0 - begin.0;
    let mut c = vec![0.0; 4 * width];
    for i in 0..width {
        let unit = if i < unknowns {
            1.0
        } else {
            1.0 / LEDGER_SCALE
        };
        let (a, b) = (begin.1[i] * unit, end.1[i] * unit);
        let (f0, f1) = (begin.2[i] * unit * h, end.2[i] * unit * h);
        let rise = b - a;
        c[i] = a;
        c[width + i] = b;
        c[2 * width + i] = f0 - rise;
        c[3 * width + i] = 2.0 * rise - f0 - f1;
    }
    Piece {
        begin_s: begin.0,
        length_s: h,
        stretch,
        coefficients: c,
    }
}

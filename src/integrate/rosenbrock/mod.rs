//! The main integrator: a Rosenbrock method of order 3 with step control, exact stops and located events.

pub(super) mod chain;
pub(super) mod method;

use super::pace::{Pace, SMALLEST_STEP_S, root};
use super::trajectory::Trajectory;
use super::{Effort, EventCount, Happening, IntegrationError, Options, System, Watch};
use method::Method;

/// Integrates `system` from `t0` to `t_end`, s.
///
/// # Errors
/// When more steps or events are needed than allowed, or steps shrink to nothing.
pub fn integrate_rosenbrock<S: System + ?Sized>(
    system: &mut S,
    t0: f64,
    t_end: f64,
    y0: &[f64],
    options: &Options,
) -> Result<Trajectory, IntegrationError> {
    let mut m = Method::new(system, options);
    let mut effort = Effort::default();
    let mut events = EventCount::default();
    let mut pace = Pace::new();
    let mut pieces = Vec::with_capacity(512);
    let mut ledgers = vec![0.0; m.kept];
    let mut y = y0.to_vec();
    let mut t = t0;
    let mut watch = Watch::new(system);

    while t < t_end {
        let jumped = system.begin(t, &mut y) || t == t0;
        if jumped {
            m.fresh_rates_at = f64::NAN;
            m.forget_slopes();
        }
        m.fresh_slopes_at = f64::NAN;
        if !options.ledgers {
            system.alarm_ledgers(&mut m.linear.ledgers);
        }
        if jumped {
            m.slopes_at(system, t, &y, &mut effort);
            let fastest_per_s = (0..m.n)
                .map(|k| m.linear.jacobian[k * m.n + k].abs())
                .enumerate()
                .filter(|(k, _)| !m.massless.contains(k))
                .fold(0.0, |most, (_, slope)| f64::max(most, slope));
            pace.begin(fastest_per_s);
        }
        watch.arm(system, t, &y);
        let stop = system.next_break(t).min(t_end);
        if stop <= t {
            return Err(IntegrationError::NothingKnown { at_h: t / 3600.0 });
        }
        let mut happened = None;
        while t < stop && happened.is_none() {
            let left = stop - t;
            let h = pace.step_s(left, options.max_step_s);
            if effort.steps + effort.rejected >= options.max_steps {
                return Err(IntegrationError::TooManySteps {
                    steps: options.max_steps,
                    at_h: t / 3600.0,
                });
            }
            if h < SMALLEST_STEP_S && h < left {
                return Err(IntegrationError::StepTooSmall { at_h: t / 3600.0 });
            }
            let error = m.step(system, t, h, &y, &mut effort) / options.tolerance;
            if error.is_nan() || error > 1.0 {
                effort.rejected += 1;
                if m.linearised_at != t {
                    // Perhaps only for slopes kept too long: the same step, once more.
                    m.forget_slopes();
                    continue;
                }
                pace.shorten(h, error);
                continue;
            }
            effort.steps += 1;
            pace.go_on(h, error, root(error));
            let mut piece = m.piece(t, h, &y, &ledgers, system.stretch());
            let end = if h >= left { stop } else { t + h };
            let width = piece.width();
            y.copy_from_slice(&piece.coefficients[width..width + m.n]);
            m.carry_rates_to(end);
            if watch.is_near_alarm(system, &m.ledger_rates) {
                // Near one, the rates decide what happens next and must be the rates themselves.
                m.rates_at(system, end, &y, &mut effort);
            }
            happened = watch.first(system, &piece, &m.ledger_rates);
            t = end;
            let mut reached = 1.0;
            if let Some((_, x)) = happened
                && x < 1.0
            {
                reached = x;
                piece = piece.cut(x);
                y.copy_from_slice(&piece.coefficients[width..width + m.n]);
                t = piece.end_s();
            }
            m.totals_at(reached, &mut ledgers);
            pieces.push(piece);
        }
        pace.happened(happened.map(|(what, _)| what));
        if let Some((what, _)) = happened {
            events.count(t, &mut effort)?;
            match what {
                Happening::Event(k) => system.fire(k, t, &y),
                Happening::Alarm(k) => system.raise(k),
            }
            m.fresh_rates_at = f64::NAN;
        }
    }
    Ok(Trajectory {
        pieces,
        unknowns: m.n,
        totals: ledgers,
        effort,
    })
}

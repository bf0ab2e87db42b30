//! The main integrator: RODAS4 with step control, exact stops and located events.

use super::sparse_lu::{Factors, Pattern};
use super::tableau::{A, C, D, G, GAMMA, H, STAGES};
use super::trajectory::{Piece, Trajectory};
use super::{
    Effort, EventCount, Happening, IntegrationError, Linearisation, Options, System, Watch,
};
use crate::vector::dot;

/// First step after a start, a jump or an event, s: about the time constant of stirred air.
const FIRST_STEP_S: f64 = 5.0;
/// Where nothing is that fast, the first step may be this share of the smallest time constant.
const FIRST_STEP_SHARE: f64 = 0.1;
/// Steps below this are hopeless, s.
const SMALLEST_STEP_S: f64 = 1e-7;

/// Slopes are kept from step to step while no unknown has moved by more than this many tolerances, and
/// for so many steps at most: less than a degree or two in a chamber, over which its coefficients change
/// by a per cent.
const KEEP_SLOPES_WITHIN: f64 = 40.0;
const MOST_USES: u32 = 4;

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
    let mut firsts = FirstSteps::default();
    let mut pieces = Vec::with_capacity(512);
    let mut ledgers = vec![0.0; m.kept];
    let mut y = y0.to_vec();
    let mut t = t0;
    let mut proposed = f64::INFINITY;
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
            let first = FIRST_STEP_S.max(FIRST_STEP_SHARE / fastest_per_s);
            proposed = firsts.after_latest().unwrap_or(proposed.min(first));
        }
        watch.arm(system, t, &y);
        let stop = system.next_break(t).min(t_end);
        if stop <= t {
            return Err(IntegrationError::NothingKnown { at_h: t / 3600.0 });
        }
        let mut happened = None;
        while t < stop && happened.is_none() {
            // A step that reaches the stop, or an even share of what is left.
            let wanted = proposed.min(options.max_step_s);
            let left = stop - t;
            let h = left / (left / wanted * (1.0 - 1e-9)).ceil().max(1.0);
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
                let shrink = if error.is_finite() {
                    (0.9 * error.powf(-0.25)).clamp(0.1, 0.9)
                } else {
                    0.1
                };
                proposed = h * shrink;
                continue;
            }
            effort.steps += 1;
            firsts.note(h);
            let grow = if error > 0.0 {
                (0.9 * error.powf(-0.25)).clamp(0.2, 6.0)
            } else {
                6.0
            };
            // A step cut short by a stop says little about longer ones.
            proposed = if h < proposed {
                proposed.max(h * grow)
            } else {
                h * grow
            };
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
        firsts.latest = happened.map(|(what, _)| what);
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

/// The largest of some errors. What is not a number stays none, whatever comes after it: a node that is held has no
/// error, and a step that went nowhere must not pass for its sake.
fn largest(errors: &[f64]) -> f64 {
    errors.iter().fold(0.0, |most: f64, error| {
        if most.is_nan() || error.is_nan() {
            f64::NAN
        } else {
            most.max(error.abs())
        }
    })
}

/// How long the first step after an event could be when it last happened. What a thermostat switches begins
/// much the same every time, and trying it out costs several steps.
#[derive(Default)]
struct FirstSteps {
    known: Vec<(Happening, f64)>,
    /// What has just happened, until a step is made.
    latest: Option<Happening>,
}

impl FirstSteps {
    fn after_latest(&self) -> Option<f64> {
        let latest = self.latest?;
        let known = self.known.iter().find(|(what, _)| *what == latest);
        known.map(|(_, h)| *h)
    }

    /// Notes an accepted step; only the first after an event counts. A little longer is tried the next time.
    fn note(&mut self, h: f64) {
        const LONGER: f64 = 1.2;
        let Some(what) = self.latest.take() else {
            return;
        };
        match self.known.iter_mut().find(|(k, _)| *k == what) {
            Some((_, first)) => *first = LONGER * h,
            None => self.known.push((what, LONGER * h)),
        }
    }
}

/// The method's working room.
struct Method {
    n: usize,
    /// Ledgers integrated: all or none.
    kept: usize,
    /// Unknowns without a rate.
    massless: Vec<usize>,
    /// 1 for each unknown with a rate, 0 for others.
    masses: Vec<f64>,
    linear: Linearisation,
    pattern: Option<Pattern>,
    factors: Factors,
    /// Stages, each `n` unknowns followed by `l` ledgers.
    u: Vec<f64>,
    argument: Vec<f64>,
    stage_rates: Vec<f64>,
    stage_ledgers: Vec<f64>,
    /// Rates at the begin of the next step.
    rates: Vec<f64>,
    ledger_rates: Vec<f64>,
    k1: Vec<f64>,
    k2: Vec<f64>,
    rise: Vec<f64>,
    fresh_slopes_at: f64,
    /// Slopes are kept while no unknown has moved by more than this since `linearised_for`.
    keep_within: f64,
    linearised_for: Vec<f64>,
    linearised_at: f64,
    uses_left: u32,
    /// The step that the factors are for.
    factored_for: f64,
    fresh_rates_at: f64,
}

impl Method {
    fn new<S: System + ?Sized>(system: &S, options: &Options) -> Self {
        let n = system.unknowns();
        let kept = if options.ledgers { system.ledgers() } else { 0 };
        let (w, l) = (n + kept, system.ledgers() + system.meters());
        let massless = system.massless().to_vec();
        let mut masses = vec![1.0; n];
        massless.iter().for_each(|k| masses[*k] = 0.0);
        Self {
            n,
            kept,
            massless,
            masses,
            linear: Linearisation::new(n, l),
            pattern: None,
            factors: Factors::new(n),
            u: vec![0.0; STAGES * w],
            argument: vec![0.0; n],
            stage_rates: vec![0.0; n],
            stage_ledgers: vec![0.0; l],
            rates: vec![0.0; n],
            ledger_rates: vec![0.0; l],
            k1: vec![0.0; w],
            k2: vec![0.0; w],
            rise: vec![0.0; w],
            fresh_slopes_at: f64::NAN,
            keep_within: KEEP_SLOPES_WITHIN * options.tolerance,
            linearised_for: vec![0.0; n],
            linearised_at: f64::NAN,
            uses_left: 0,
            factored_for: f64::NAN,
            fresh_rates_at: f64::NAN,
        }
    }

    /// One step; returns the largest error estimate of any unknown.
    fn step<S: System + ?Sized>(
        &mut self,
        system: &mut S,
        t: f64,
        h: f64,
        y: &[f64],
        effort: &mut Effort,
    ) -> f64 {
        let (n, kept, w) = (self.n, self.kept, self.n + self.kept);
        self.slopes_at(system, t, y, effort);
        if self.fresh_rates_at != t {
            self.rates_at(system, t, y, effort);
        }
        let shift = 1.0 / (h * GAMMA);
        let Some(pattern) = &self.pattern else {
            return f64::NAN;
        };
        if self.factored_for != h {
            self.factored_for = f64::NAN;
            let jacobian = &self.linear.jacobian;
            if !self.factors.factor(pattern, shift, &self.masses, jacobian) {
                return f64::NAN;
            }
            self.factored_for = h;
        }
        for i in 0..STAGES {
            let (done, rest) = self.u.split_at_mut(i * w);
            let stage = &mut rest[..w];
            self.argument.copy_from_slice(y);
            stage.fill(0.0);
            for j in 0..i {
                let (a, g) = (A[i][j], G[i][j] / h);
                let uj = &done[j * w..(j + 1) * w];
                if a != 0.0 {
                    for (arg, u) in self.argument.iter_mut().zip(uj) {
                        *arg += a * u;
                    }
                }
                for (s, u) in stage.iter_mut().zip(uj) {
                    *s += g * u;
                }
            }
            let (rates, ledger_rates) = if i == 0 {
                (&self.rates, &self.ledger_rates)
            } else {
                let (r, l) = (&mut self.stage_rates, &mut self.stage_ledgers);
                system.rates(t + C[i] * h, &self.argument, r, l);
                (&self.stage_rates, &self.stage_ledgers)
            };
            let hd = h * D[i];
            let (unknowns, ledgers) = stage.split_at_mut(n);
            // What is without mass has no memory of earlier stages.
            for k in &self.massless {
                unknowns[*k] = 0.0;
            }
            for k in 0..n {
                unknowns[k] += rates[k] + hd * self.linear.with_time[k];
            }
            self.factors.solve(pattern, unknowns);
            let scale = h * GAMMA;
            for k in 0..kept {
                let row = &self.linear.ledger_jacobian[k * n..(k + 1) * n];
                let slope = dot(row, unknowns);
                ledgers[k] = scale
                    * (ledgers[k] + ledger_rates[k] + slope + hd * self.linear.ledger_with_time[k]);
            }
        }
        effort.evaluations += STAGES as u64 - 1;
        let last = &self.u[(STAGES - 1) * w..];
        largest(&last[..n])
    }

    /// Slopes at the begin of a step. Those with the unknowns are kept from an earlier step while they
    /// are nearly the same; the error estimate sees it where they are not near enough.
    fn slopes_at<S: System + ?Sized>(
        &mut self,
        system: &mut S,
        t: f64,
        y: &[f64],
        effort: &mut Effort,
    ) {
        // A rejected step is tried again from the same place: its slopes still hold.
        if self.fresh_slopes_at == t {
            return;
        }
        self.fresh_slopes_at = t;
        let near = |(a, b): (&f64, &f64)| (a - b).abs() <= self.keep_within;
        if self.uses_left > 0 && self.linearised_for.iter().zip(y).all(near) {
            self.uses_left -= 1;
            if system.renew_drift(t, y, &mut self.linear) {
                return;
            }
        }
        system.linearise(t, y, &mut self.linear);
        effort.jacobians += 1;
        self.linearised_for.copy_from_slice(y);
        self.linearised_at = t;
        self.uses_left = MOST_USES - 1;
        self.factored_for = f64::NAN;
        self.fit_pattern();
    }

    /// Asks for new slopes before the next step.
    fn forget_slopes(&mut self) {
        self.uses_left = 0;
        self.fresh_slopes_at = f64::NAN;
    }

    /// Rates at the begin of the next step; alarms look at them too.
    fn rates_at<S: System + ?Sized>(
        &mut self,
        system: &mut S,
        t: f64,
        y: &[f64],
        effort: &mut Effort,
    ) {
        system.rates(t, y, &mut self.rates, &mut self.ledger_rates);
        effort.evaluations += 1;
        self.fresh_rates_at = t;
    }

    /// Rates at the end of the step just made, from those of its last stage: the end is that stage's
    /// place moved by the error estimate, some hundredths of a kelvin, over which rates are straight.
    fn carry_rates_to(&mut self, t: f64) {
        let n = self.n;
        let w = n + self.kept;
        let moved = &self.u[(STAGES - 1) * w..(STAGES - 1) * w + n];
        let rows = self.linear.jacobian.chunks_exact(n);
        for ((rate, start), row) in self.rates.iter_mut().zip(&self.stage_rates).zip(rows) {
            *rate = start + dot(row, moved);
        }
        for k in &self.linear.ledgers {
            let row = &self.linear.ledger_jacobian[k * n..(k + 1) * n];
            self.ledger_rates[*k] = self.stage_ledgers[*k] + dot(row, moved);
        }
        self.fresh_rates_at = t;
    }

    fn fit_pattern(&mut self) {
        let jacobian = &self.linear.jacobian;
        if self.pattern.as_ref().is_some_and(|p| p.covers(jacobian)) {
            return;
        }
        let entries: Vec<bool> = jacobian.iter().map(|v| *v != 0.0).collect();
        self.pattern = Some(match self.pattern.take() {
            None => Pattern::new(self.n, &entries),
            Some(p) => p.joined(&entries),
        });
    }

    /// The step just made, as a cubic.
    fn piece(&mut self, t: f64, h: f64, y: &[f64], ledgers: &[f64], stretch: usize) -> Piece {
        let w = self.n + self.kept;
        self.k1.fill(0.0);
        self.k2.fill(0.0);
        self.rise.fill(0.0);
        for j in 0..STAGES {
            let uj = &self.u[j * w..(j + 1) * w];
            let a = if j < 5 { A[5][j] } else { 1.0 };
            let (h1, h2) = if j < 5 {
                (H[0][j], H[1][j])
            } else {
                (0.0, 0.0)
            };
            for i in 0..w {
                self.rise[i] += a * uj[i];
                self.k1[i] += h1 * uj[i];
                self.k2[i] += h2 * uj[i];
            }
        }
        let mut c = Vec::with_capacity(4 * w);
        c.extend_from_slice(y);
        c.extend_from_slice(ledgers);
        for i in 0..w {
            c.push(c[i] + self.rise[i]);
        }
        c.extend_from_slice(&self.k1);
        c.extend_from_slice(&self.k2);
        Piece {
            begin_s: t,
            length_s: h,
            stretch,
            coefficients: c,
        }
    }

    /// Advances the ledgers to place `x` of the step just made.
    fn totals_at(&self, x: f64, ledgers: &mut [f64]) {
        let n = self.n;
        for (k, total) in ledgers.iter_mut().enumerate() {
            let i = n + k;
            *total += x * (self.rise[i] + (1.0 - x) * (self.k1[i] + x * self.k2[i]));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::largest;

    #[test]
    fn an_error_that_is_no_number_is_not_forgotten() {
        assert_eq!(largest(&[0.1, -0.3, 0.0]), 0.3);
        for errors in [[f64::NAN, 0.0], [0.0, f64::NAN]] {
            assert!(largest(&errors).is_nan(), "{errors:?}");
        }
    }
}

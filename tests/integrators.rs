//! Problems with exact solutions, each run by every integrator, and the known traps of the
//! explicit ones.

use dogdays::integrate::{
    IntegrationError, Linearisation, Options, System, Trajectory, integrate_explicit,
    integrate_rosenbrock,
};

/// A problem and its exact solution.
struct Case {
    name: &'static str,
    system: fn() -> Box<dyn System>,
    start: Vec<f64>,
    end: f64,
    exact: fn(f64) -> Vec<f64>,
    /// Exact value of the ledger at the end.
    ledger: f64,
}

/// `dy/dt = A y + b(t)` with a ledger that integrates the first unknown.
struct Linear {
    n: usize,
    a: Vec<f64>,
    b: fn(f64) -> Vec<f64>,
    db: fn(f64) -> Vec<f64>,
    breaks: Vec<f64>,
}

impl System for Linear {
    fn unknowns(&self) -> usize {
        self.n
    }
    fn ledgers(&self) -> usize {
        1
    }
    fn rates(&mut self, t: f64, y: &[f64], dy: &mut [f64], ledgers: &mut [f64]) {
        let b = (self.b)(t);
        for i in 0..self.n {
            dy[i] = b[i]
                + (0..self.n)
                    .map(|j| self.a[i * self.n + j] * y[j])
                    .sum::<f64>();
        }
        ledgers[0] = y[0];
    }
    fn linearise(&mut self, t: f64, _y: &[f64], out: &mut Linearisation) {
        out.jacobian.copy_from_slice(&self.a);
        out.with_time.copy_from_slice(&(self.db)(t));
        out.ledger_jacobian.fill(0.0);
        out.ledger_jacobian[0] = 1.0;
        out.ledger_with_time[0] = 0.0;
    }
    fn next_break(&self, t: f64) -> f64 {
        self.breaks
            .iter()
            .copied()
            .find(|b| *b > t)
            .unwrap_or(f64::INFINITY)
    }
    fn begin(&mut self, _t: f64, _y: &mut [f64]) -> bool {
        true
    }
}

/// `dy/dt = -c (y^4 - 1)`: a grey body cooling to surroundings of 1 (scaled).
struct Radiating;

impl System for Radiating {
    fn unknowns(&self) -> usize {
        1
    }
    fn ledgers(&self) -> usize {
        1
    }
    fn rates(&mut self, _t: f64, y: &[f64], dy: &mut [f64], ledgers: &mut [f64]) {
        dy[0] = -RADIATING_C * (y[0].powi(4) - 0.0);
        ledgers[0] = dy[0];
    }
    fn linearise(&mut self, _t: f64, y: &[f64], out: &mut Linearisation) {
        out.jacobian[0] = -4.0 * RADIATING_C * y[0].powi(3);
        out.with_time[0] = 0.0;
        out.ledger_jacobian[0] = out.jacobian[0];
        out.ledger_with_time[0] = 0.0;
    }
    fn next_break(&self, _t: f64) -> f64 {
        f64::INFINITY
    }
    fn begin(&mut self, _t: f64, _y: &mut [f64]) -> bool {
        true
    }
}

const RADIATING_C: f64 = 0.01;

fn zero1(_t: f64) -> Vec<f64> {
    vec![0.0]
}

const DAY: f64 = 86_400.0;

/// Ten days of a body of time constant 1800 s in surroundings that swing by the day.
const W: f64 = std::f64::consts::TAU / DAY;
const K: f64 = 1.0 / 1800.0;

fn swing(t: f64) -> Vec<f64> {
    vec![K * (W * t).sin()]
}
fn swing_slope(t: f64) -> Vec<f64> {
    vec![K * W * (W * t).cos()]
}

/// Undetermined coefficients: y = C e^-kt + k (k sin wt - w cos wt) / (k2 + w2).
fn swing_exact(t: f64) -> Vec<f64> {
    let d = K * K + W * W;
    let c = 1.0 + K * W / d;
    vec![c * (-K * t).exp() + K * (K * (W * t).sin() - W * (W * t).cos()) / d]
}

fn cases() -> Vec<Case> {
    let d = K * K + W * W;
    let end = 10.0 * DAY;
    vec![
        Case {
            name: "lumped cooling: y = e^(-t/600)",
            system: || {
                Box::new(Linear {
                    n: 1,
                    a: vec![-1.0 / 600.0],
                    b: zero1,
                    db: zero1,
                    breaks: vec![],
                })
            },
            start: vec![1.0],
            end: 3600.0,
            exact: |t| vec![(-t / 600.0).exp()],
            ledger: 600.0 * (1.0 - (-6.0f64).exp()),
        },
        Case {
            name: "daily swing over ten days",
            system: || {
                Box::new(Linear {
                    n: 1,
                    a: vec![-K],
                    b: swing,
                    db: swing_slope,
                    breaks: vec![],
                })
            },
            start: vec![1.0],
            end,
            exact: swing_exact,
            // Integral of the exact solution.
            ledger: (1.0 + K * W / d) / K * (1.0 - (-K * end).exp())
                + K / d * (K / W * (1.0 - (W * end).cos()) - (W * end).sin()),
        },
        Case {
            // Two nodes, time constants 4 s and 4 h: y' = [-l1, 0; l2, -l2] y has
            // y1 = e^(-l1 t), y2 = l2 (e^(-l2 t) - e^(-l1 t)) / (l1 - l2) for y2(0) = 0.
            name: "two nodes, four seconds and four hours",
            system: || {
                let (l1, l2) = (0.25, 1.0 / 14_400.0);
                Box::new(Linear {
                    n: 2,
                    a: vec![-l1, 0.0, l2, -l2],
                    b: |_| vec![0.0; 2],
                    db: |_| vec![0.0; 2],
                    breaks: vec![],
                })
            },
            start: vec![1.0, 0.0],
            end: 36_000.0,
            exact: |t| {
                let (l1, l2): (f64, f64) = (0.25, 1.0 / 14_400.0);
                vec![
                    (-l1 * t).exp(),
                    l2 * ((-l2 * t).exp() - (-l1 * t).exp()) / (l1 - l2),
                ]
            },
            ledger: 4.0,
        },
        Case {
            // Separable: y = (y0^-3 + 3 c t)^(-1/3).
            name: "body radiating to nothing",
            system: || Box::new(Radiating),
            start: vec![2.0],
            end: 200.0,
            exact: |t| vec![(0.125 + 3.0 * RADIATING_C * t).powf(-1.0 / 3.0)],
            ledger: (0.125f64 + 6.0).powf(-1.0 / 3.0) - 2.0,
        },
    ]
}

fn run(kind: &str, case: &Case, tolerance: f64) -> Trajectory {
    let mut system = (case.system)();
    let options = Options {
        tolerance,
        ..Options::default()
    };
    match kind {
        "rosenbrock" => integrate_rosenbrock(&mut *system, 0.0, case.end, &case.start, &options),
        _ => integrate_explicit(&mut *system, 0.0, case.end, &case.start, &options),
    }
    .unwrap_or_else(|e| panic!("{}: {kind}: {e}", case.name))
}

/// Tolerance 1e-7 a step; a hundred times that is allowed for hundreds of steps and for the dense
/// output, whose order is one lower.
#[test]
fn every_integrator_solves_every_case_on_steps_and_between() {
    for case in cases() {
        for kind in ["rosenbrock", "dopri5"] {
            let trajectory = run(kind, &case, 1e-7);
            let mut y = vec![0.0; case.start.len()];
            for k in 0..=1000 {
                let t = case.end * f64::from(k) / 1000.0;
                trajectory.at(t, &mut y);
                for (got, want) in y.iter().zip((case.exact)(t)) {
                    assert!(
                        (got - want).abs() < 1e-5,
                        "{}: {kind} at {t}: {got} and {want}",
                        case.name
                    );
                }
            }
            let relative = (trajectory.totals[0] - case.ledger).abs() / case.ledger.abs();
            assert!(
                relative < 1e-5,
                "{}: {kind}: ledger {} and {}",
                case.name,
                trajectory.totals[0],
                case.ledger
            );
        }
    }
}

/// The main method is of order 3: a tolerance 10^4 times tighter must cost about twenty times the steps.
#[test]
fn the_main_method_converges_with_order_three() {
    let case = &cases()[3];
    let error = |tolerance: f64| {
        let t = run("rosenbrock", case, tolerance);
        let mut y = [0.0];
        t.at(case.end, &mut y);
        (
            (y[0] - (case.exact)(case.end)[0]).abs(),
            t.effort.steps as f64,
        )
    };
    let (coarse, few) = error(1e-5);
    let (fine, many) = error(1e-9);
    let order = (coarse / fine).ln() / (many / few).ln();
    assert!((2.7..4.0).contains(&order), "observed order {order}");
}

/// A pulse of 4 minutes at hour 61 between quiet days: seen only because it is a known time.
struct Pulse {
    known: bool,
}

impl System for Pulse {
    fn unknowns(&self) -> usize {
        1
    }
    fn ledgers(&self) -> usize {
        1
    }
    fn rates(&mut self, t: f64, _y: &[f64], dy: &mut [f64], ledgers: &mut [f64]) {
        dy[0] = if (219_600.0..219_840.0).contains(&t) {
            1.0
        } else {
            0.0
        };
        ledgers[0] = dy[0];
    }
    fn linearise(&mut self, _t: f64, _y: &[f64], out: &mut Linearisation) {
        out.jacobian[0] = 0.0;
        out.with_time[0] = 0.0;
        out.ledger_jacobian[0] = 0.0;
        out.ledger_with_time[0] = 0.0;
    }
    fn next_break(&self, t: f64) -> f64 {
        [219_600.0, 219_840.0]
            .into_iter()
            .find(|b| self.known && *b > t)
            .unwrap_or(f64::INFINITY)
    }
    fn begin(&mut self, _t: f64, _y: &mut [f64]) -> bool {
        true
    }
}

#[test]
fn a_short_pulse_at_a_known_time_is_not_missed() {
    let options = Options::default();
    let end = 435_600.0;
    for kind in ["rosenbrock", "dopri5"] {
        let run = |known: bool| {
            let mut s = Pulse { known };
            match kind {
                "rosenbrock" => integrate_rosenbrock(&mut s, 0.0, end, &[0.0], &options),
                _ => integrate_explicit(&mut s, 0.0, end, &[0.0], &options),
            }
            .unwrap()
            .totals[0]
        };
        // The last stage of a method with c = 1 touches the pulse's first or last instant; the
        // solver then steps over it in one short step at the most.
        let seen = run(true);
        assert!(
            (seen - 240.0).abs() < 240.0 * 0.2,
            "{kind} saw {seen} of 240 s"
        );
        assert!(
            run(false).abs() < 1.0,
            "{kind}: the trap is gone; the cap on steps could go too"
        );
    }
}

/// Trap: with its stiffness test on, `ode_solvers` 0.6.2 gives up on a multi-day stiff run.
#[test]
fn the_stiffness_test_of_the_explicit_solver_is_off() {
    use ode_solvers::dop_shared::{IntegrationError as E, OutputType};
    struct Stiff;
    impl ode_solvers::System<f64, nalgebra::DVector<f64>> for Stiff {
        fn system(&self, t: f64, y: &nalgebra::DVector<f64>, dy: &mut nalgebra::DVector<f64>) {
            dy[0] = -0.25 * (y[0] - (W * t).sin());
        }
    }
    let mut with_test = ode_solvers::Dopri5::from_param(
        Stiff,
        0.0,
        435_600.0,
        435_600.0,
        nalgebra::DVector::from_element(1, 1.0),
        0.0,
        1e-3,
        0.9,
        0.04,
        0.2,
        10.0,
        3600.0,
        0.0,
        4_000_000,
        1000,
        OutputType::Sparse,
    );
    assert!(matches!(
        with_test.integrate(),
        Err(E::StiffnessDetected { .. })
    ));

    let mut few_steps = ode_solvers::Dopri5::from_param(
        Stiff,
        0.0,
        4_356_000.0,
        4_356_000.0,
        nalgebra::DVector::from_element(1, 1.0),
        0.0,
        1e-3,
        0.9,
        0.04,
        0.2,
        10.0,
        3600.0,
        0.0,
        100_000,
        u32::MAX,
        OutputType::Sparse,
    );
    assert!(
        matches!(few_steps.integrate(), Err(E::MaxNumStepReached { .. })),
        "its default step limit is too low for 50 days"
    );

    let mut system = Linear {
        n: 1,
        a: vec![-0.25],
        b: |t| vec![0.25 * (W * t).sin()],
        db: |t| vec![0.25 * W * (W * t).cos()],
        breaks: vec![],
    };
    let ours = integrate_explicit(&mut system, 0.0, 4_356_000.0, &[1.0], &Options::default());
    assert!(ours.is_ok(), "{:?}", ours.err());
}

/// Trap: the last row of its `Dense` output can be wrong while it says Ok; ours ends where the run
/// ends, with the value there.
#[test]
fn the_last_row_of_the_explicit_integrator_is_the_end_of_the_run() {
    for end in [3600.0, 3601.7, 7_200.3] {
        let mut case = cases().remove(0);
        case.end = end;
        let t = run("dopri5", &case, 1e-9);
        let mut y = [0.0];
        t.at(end, &mut y);
        assert!((t.end_s() - end).abs() < 1e-9);
        assert!((y[0] - (-end / 600.0f64).exp()).abs() < 1e-7);
    }
}

/// A bang-bang thermostat on `dy/dt = 1` while on, `-1` while off, between 1 and 2: it switches
/// at every whole second from 2 on.
struct Thermostat {
    on: bool,
    switched: Vec<f64>,
}

impl System for Thermostat {
    fn unknowns(&self) -> usize {
        1
    }
    fn ledgers(&self) -> usize {
        0
    }
    fn rates(&mut self, _t: f64, _y: &[f64], dy: &mut [f64], _l: &mut [f64]) {
        dy[0] = if self.on { 1.0 } else { -1.0 };
    }
    fn linearise(&mut self, _t: f64, _y: &[f64], out: &mut Linearisation) {
        out.jacobian[0] = 0.0;
        out.with_time[0] = 0.0;
    }
    fn next_break(&self, _t: f64) -> f64 {
        f64::INFINITY
    }
    fn begin(&mut self, _t: f64, _y: &mut [f64]) -> bool {
        true
    }
    fn events(&self) -> usize {
        1
    }
    fn event_values(&mut self, _t: f64, y: &[f64], out: &mut [f64]) {
        out[0] = if self.on { y[0] - 2.0 } else { 1.0 - y[0] };
    }
    fn fire(&mut self, _event: usize, t: f64, _y: &[f64]) {
        self.on = !self.on;
        self.switched.push(t);
    }
}

/// Trap: `solout` of the explicit solver is no event location; ours is exact to a microsecond.
#[test]
fn events_are_located_by_every_integrator() {
    for kind in ["rosenbrock", "dopri5"] {
        let mut s = Thermostat {
            on: true,
            switched: vec![],
        };
        let options = Options::default();
        let t = match kind {
            "rosenbrock" => integrate_rosenbrock(&mut s, 0.0, 10.5, &[0.0], &options),
            _ => integrate_explicit(&mut s, 0.0, 10.5, &[0.0], &options),
        }
        .unwrap();
        assert_eq!(s.switched.len(), 9, "{kind}: {:?}", s.switched);
        for (k, at) in s.switched.iter().enumerate() {
            assert!(
                (at - (k as f64 + 2.0)).abs() < 1e-4,
                "{kind}: {:?}",
                s.switched
            );
        }
        let mut y = [0.0];
        t.at(10.5, &mut y);
        assert!((y[0] - 1.5).abs() < 1e-4, "{kind}: {}", y[0]);
    }
}

#[test]
fn giving_up_is_an_error_not_a_hang() {
    let mut s = Linear {
        n: 1,
        a: vec![-1.0],
        b: zero1,
        db: zero1,
        breaks: vec![],
    };
    let options = Options {
        max_steps: 3,
        ..Options::default()
    };
    let e = integrate_rosenbrock(&mut s, 0.0, 1e6, &[1.0], &options).unwrap_err();
    assert!(matches!(e, IntegrationError::TooManySteps { .. }));
    let mut bad = Linear {
        n: 1,
        a: vec![f64::NAN],
        b: zero1,
        db: zero1,
        breaks: vec![],
    };
    let e = integrate_rosenbrock(&mut bad, 0.0, 1e6, &[1.0], &Options::default()).unwrap_err();
    assert!(matches!(e, IntegrationError::StepTooSmall { .. }));
}

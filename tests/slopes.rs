//! The slopes that the integrator works with are those of the rates: against central differences.

use dogdays::chamber::Chamber;
use dogdays::integrate::{Linearisation, System};
use dogdays::network::NetworkSystem;
use dogdays::run::{Arrangement, ArrangementKind, Building, OpenSide};
use dogdays::runfile;

#[test]
fn slopes_are_those_of_the_rates_in_every_arrangement() {
    let flow_m3_per_s = 40.0 / 3600.0;
    let mut arrangements: Vec<Arrangement> = [
        ArrangementKind::Closed,
        ArrangementKind::LidOff,
        ArrangementKind::DoorOpen,
        ArrangementKind::Extracting { flow_m3_per_s },
        ArrangementKind::BlowingIn {
            flow_m3_per_s,
            fan_power_W: 5.0,
        },
        ArrangementKind::Recirculating {
            flow_m3_per_s,
            fan_power_W: 5.0,
        },
    ]
    .map(Arrangement::of)
    .to_vec();
    // Fans beside an open lid or door.
    for side in [OpenSide::Lid, OpenSide::Door] {
        let with_fan = arrangements.clone().into_iter();
        let with_fan: Vec<Arrangement> = with_fan
            .filter(|a| a.kind.has_fan() && a.open.is_none())
            .map(|a| Arrangement {
                open: Some(side),
                ..a
            })
            .collect();
        arrangements.extend(with_fan);
    }
    for arrangement in arrangements {
        for layers in [2, 4] {
            let mut run = runfile::demo().run;
            run.arrangement = arrangement.clone();
            // In four layers the room is a node too, and what is drawn out is led outdoors.
            run.room.building = (layers == 4).then_some(Building {
                volume_m3: 40.0,
                envelope_W_per_K: 30.0,
                air_changes_per_s: 1e-4,
                other_heat_W: 50.0,
                cooler_max_W: 0.0,
                cooler_setpoint_K: 298.15,
                storage_factor: 10.0,
                neighbours_W: dogdays::course::Course::Constant(0.0),
                machines: 1,
                sun_W: dogdays::course::Course::Constant(0.0),
            });
            run.machine.air_layers = layers;
            let chamber = Chamber::new(&run).unwrap();
            let mut system = chamber.system().unwrap();
            let (n, l) = (system.unknowns(), system.ledgers() + system.meters());
            let t = 60.0 * 3600.0 + 600.0;
            // Plausible temperatures, no two alike, the top warmer than the bottom; then the other
            // way round, and nearly isothermal.
            for spread in [1.0, -0.6, 0.01] {
                let mut y: Vec<f64> = (0..n)
                    .map(|i| 12.0 + spread * (((i * 7919) % 101) as f64 / 10.0 - 4.0))
                    .collect();
                for k in 0..layers {
                    y[chamber.points.air[k]] = 15.0 + spread * 3.0 * k as f64;
                }
                system.begin(t, &mut y);
                let mut linear = Linearisation::new(n, l);
                system.linearise(t, &y, &mut linear);
                let rates = |system: &mut NetworkSystem, t: f64, y: &[f64]| {
                    let (mut dy, mut dl) = (vec![0.0; n], vec![0.0; l]);
                    system.rates(t, y, &mut dy, &mut dl);
                    dy.extend(dl);
                    dy
                };
                let e = 1e-4;
                // Large terms of both signs meet on the diagonal: what is off is off by a share of them.
                let row = |i: usize| -> f64 {
                    linear.jacobian[i * n..(i + 1) * n]
                        .iter()
                        .map(|v| v.abs())
                        .sum()
                };
                for j in 0..n {
                    let (mut up, mut down) = (y.clone(), y.clone());
                    up[j] += e;
                    down[j] -= e;
                    let (a, b) = (rates(&mut system, t, &up), rates(&mut system, t, &down));
                    for i in 0..n + l {
                        // Ledger 0 is what moved inside, which nobody integrates.
                        if i == n {
                            continue;
                        }
                        let want = (a[i] - b[i]) / (2.0 * e);
                        let (got, scale) = if i < n {
                            (linear.jacobian[i * n + j], row(i))
                        } else {
                            (linear.ledger_jacobian[(i - n) * n + j], 1.0)
                        };
                        // The faces' slopes are good to a thousandth (see their own test), one-sided
                        // differences of the air's paths to a few.
                        let slack = 3e-3 * want.abs() + 1e-3 * scale + 1e-7;
                        assert!(
                            (got - want).abs() < slack,
                            "{}, {layers} layers, spread {spread}: d({i})/d({j}) is {want}, not {got}",
                            arrangement.name()
                        );
                    }
                }
                let (a, b) = (
                    rates(&mut system, t + 1.0, &y),
                    rates(&mut system, t - 1.0, &y),
                );
                for i in (0..n + l).filter(|i| *i != n) {
                    let want = (a[i] - b[i]) / 2.0;
                    let got = if i < n {
                        linear.with_time[i]
                    } else {
                        linear.ledger_with_time[i - n]
                    };
                    assert!(
                        (got - want).abs() < 1e-3 * want.abs() + 1e-7,
                        "{}: d({i})/dt is {want}, not {got}",
                        arrangement.name()
                    );
                }
            }
        }
    }
}

/// While the other slopes are kept, those with time are renewed: from twenty to four on the second
/// afternoon of the demo to ten past five the room turns from warming to cooling, at nearly the same
/// temperature. Against the rates themselves; the kept slopes are those of a part 5 % smaller and a room
/// 0.25 K warmer, so a tenth of the change may be missing.
#[test]
fn drift_is_renewed_while_slopes_are_kept() {
    let run = runfile::demo().run;
    let chamber = Chamber::new(&run).unwrap();
    let mut system = chamber.system().unwrap();
    let (n, l) = (system.unknowns(), system.ledgers() + system.meters());
    let mut y: Vec<f64> = (0..n)
        .map(|i| 12.0 + ((i * 7919) % 101) as f64 / 10.0)
        .collect();
    // Air that is warmer on top, as it is: where it turns over, its slopes would be all there is to see.
    for (k, point) in chamber.points.air.iter().enumerate() {
        y[*point] = 15.0 + 0.5 * k as f64;
    }
    let (first, later) = (32.0 * 3600.0 + 2400.0, 34.0 * 3600.0 + 600.0);
    system.begin(first, &mut y);
    let mut linear = Linearisation::new(n, l);
    system.linearise(first, &y, &mut linear);
    let (kept, before) = (linear.jacobian.clone(), linear.with_time.clone());
    let ledgers_before = linear.ledger_with_time.clone();
    assert!(system.renew_drift(later, &y, &mut linear));
    assert_eq!(linear.jacobian, kept);
    let rates = |system: &mut NetworkSystem, t: f64| {
        let (mut dy, mut dl) = (vec![0.0; n], vec![0.0; l]);
        system.rates(t, &y, &mut dy, &mut dl);
        (dy, dl)
    };
    let (up, down) = (
        rates(&mut system, later + 1.0),
        rates(&mut system, later - 1.0),
    );
    let renewed = |got: &[f64], before: &[f64], up: &[f64], down: &[f64]| {
        let (mut off, mut off_before) = (0.0, 0.0);
        for k in 0..got.len() {
            let want = (up[k] - down[k]) / 2.0;
            off += (got[k] - want).abs();
            off_before += (before[k] - want).abs();
        }
        assert!(off < 0.1 * off_before, "{off} of {off_before}");
    };
    renewed(&linear.with_time, &before, &up.0, &down.0);
    // Ledger 0 is what moved inside, which nobody integrates.
    renewed(
        &linear.ledger_with_time[1..],
        &ledgers_before[1..],
        &up.1[1..],
        &down.1[1..],
    );
    // At the begin the part doubles in an hour: slopes are not kept.
    let mut system = chamber.system().unwrap();
    let begin = chamber
        .timeline
        .stretches
        .iter()
        .find(|s| s.growth.rate_per_s > 0.0)
        .unwrap()
        .growth
        .since_s;
    system.begin(begin + 60.0, &mut y);
    system.linearise(begin + 60.0, &y, &mut linear);
    assert!(!system.renew_drift(begin + 3660.0, &y, &mut linear));
}

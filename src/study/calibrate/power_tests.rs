//! What the bed's heater took, by the model's own ledger of heat: exact, and not by the way in which the fit looks at it.

use super::log_tests::{Faults, RUN, fitted, inputs, logged};
use crate::chamber::{IntegratorKind, Simulation};
use crate::integrate::Options;
use crate::run::{Inputs, LogPower, MeanPower};

const FAULTS: Faults = Faults {
    offset_K: 0.2,
    lag_s: 40.0,
    drift_K: 0.1,
};

/// Heat that the bed's heater has brought in at times, s, in J.
fn brought_J(simulation: &Simulation, times_s: &[f64]) -> Vec<f64> {
    let reported = simulation.chamber.network.reported();
    let bed = reported
        .iter()
        .find(|(_, ledger)| ledger.name == "bed heater");
    let (id, _) = bed.expect("a ledger of the bed");
    let at = simulation.trajectory.unknowns + id.position();
    let each = times_s.iter().map(|t_s| {
        let (piece, x) = simulation.trajectory.locate(*t_s);
        piece.value(at, x)
    });
    each.collect()
}

fn with_ledgers(inputs: &Inputs) -> Simulation {
    let run = inputs.to_run().expect("a run");
    let options = Options {
        ledgers: true,
        ..Options::fine()
    };
    Simulation::of(&run, IntegratorKind::Rosenbrock, &options).expect("runs")
}

/// The bed of a run with these values, as a meter shows it that shows so many times what it should: means of ten minutes.
fn metered(inputs: &Inputs, set: &[(&str, f64)], hours: u32, times: f64) -> LogPower {
    let mut inputs = inputs.clone();
    for (key, si) in set {
        let input = inputs.input(key).expect("a key");
        inputs.set(&input, *si).expect("within limits");
    }
    let simulation = with_ledgers(&inputs);
    let ends_s: Vec<f64> = (6..=6 * hours).map(|k| 600.0 * f64::from(k)).collect();
    let brought_J = brought_J(&simulation, &ends_s);
    let rows = ends_s.windows(2).zip(brought_J.windows(2));
    LogPower {
        header: "bed_power_W".to_owned(),
        within_W: None,
        rows: rows
            .map(|(t_s, J)| MeanPower {
                from_s: t_s[0],
                to_s: t_s[1],
                power_W: times * (J[1] - J[0]) / 600.0,
            })
            .collect(),
    }
}

/// Full power, holding, an open lid, another setpoint and none: its integral is the ledger's heat.
#[test]
fn the_power_over_time_is_the_heat_of_the_ledger() {
    let text = format!(
        "{RUN}[arrangement]\nkind = \"closed\"\n[[arrangement.schedule]]\nat = \"9 h\"\nduration = \"1 h\"\nkind = \"lid off\"\n[job]\nfirst_layer_bed = \"65 degC\"\nfirst_layers = \"40 min\"\n"
    );
    let simulation = with_ledgers(&inputs(&text));
    const STEP_S: f64 = 10.0;
    let end_s = simulation.trajectory.end_s();
    for (from_h, to_h) in [(0.0, 0.2), (4.0, 8.0), (8.5, 10.5), (0.0, 30.0)] {
        let (from_s, to_s) = (from_h * 3_600.0, f64::min(to_h * 3_600.0, end_s));
        let mut sum_J = 0.0;
        let mut at_s = from_s + 0.5 * STEP_S;
        while at_s < to_s {
            sum_J += STEP_S * simulation.bed_power_W(at_s);
            at_s += STEP_S;
        }
        let ledger = brought_J(&simulation, &[from_s, to_s]);
        let is_J = ledger[1] - ledger[0];
        // Ten seconds of full power at each switch.
        let off = (sum_J - is_J).abs();
        assert!(
            is_J > 0.0 && off < 0.002 * is_J + 5_000.0,
            "{from_h}: {sum_J} {is_J}"
        );
    }
}

/// A bed at 100 degC with less insulation than it is said to have, by a meter that shows half a watt too much: thermometers
/// in the air tell a part of it, the power more. Before the fit the bed takes 6 W more than the model says.
#[test]
fn the_power_of_the_bed_tells_its_insulation() {
    let run = inputs(&RUN.replace("\"pla\"", "\"abs\""));
    let key = "machine.bed.underside_resistance";
    let truth = [(key, 0.04)];
    let mut log = logged(&run, &truth, &["feeder motor", "air top"], 9, FAULTS);
    let without = fitted(&run, &log, &[key]);
    let mut power = metered(&run, &truth, 9, 1.0);
    power.within_W = Some(1.0);
    power.rows.iter_mut().for_each(|mean| mean.power_W += 0.5);
    log.powers = vec![power];
    let with = fitted(&run, &log, &[key]);
    let (told, untold) = (&with.parameters[0], &without.parameters[0]);
    let heated = &with.powers[0];
    let seen = format!(
        "{} in {} to {}, {} left; without {}, {} left; {} W, off {} and {}",
        told.value,
        told.low,
        told.high,
        told.left,
        untold.value,
        untold.left,
        heated.mean_W(),
        heated.rms_before_W(),
        heated.rms_after_W()
    );
    assert!((told.low..told.high).contains(&0.04), "{seen}");
    assert!(told.value - 0.04 < 0.75 * (untold.value - 0.04), "{seen}");
    assert!(told.left < untold.left - 0.1, "{seen}");
    assert_eq!(heated.times_s.len(), 48);
    assert!(heated.rms_after_W() < 0.4 * heated.rms_before_W(), "{seen}");
    assert!(
        !heated.is_another() && heated.offset_W.abs() < 1.5,
        "{heated:?}"
    );
    // Thermometers are counted as without it.
    assert_eq!((with.rows(), with.columns.len()), (without.rows(), 2));
    assert!(with.rms_after_K() < 0.3);
}

/// A meter alone is no thermometer, but a column like any other.
#[test]
fn a_meter_that_agrees_moves_nothing() {
    let run = inputs(RUN);
    let mut log = logged(&run, &[], &["air top"], 9, FAULTS);
    log.powers = vec![metered(&run, &[], 9, 1.0)];
    let found = fitted(&run, &log, &["machine.bed.underside_resistance"]);
    let told = &found.parameters[0];
    assert!(
        (told.value - told.start).abs() < 0.2 * told.prior_std,
        "{told:?}"
    );
    let heated = &found.powers[0];
    assert!(
        heated.rms_before_W() < 0.005 * heated.mean_W(),
        "{}",
        heated.rms_before_W()
    );
}

/// Power that comes in steps of the thermostat shows as noise of some watts. A meter that showed half of it would have less
/// of that noise, and is no better explanation.
#[test]
fn noise_is_no_fault_of_the_meter() {
    let run = inputs(RUN);
    let mut log = logged(&run, &[], &["air top"], 24, FAULTS);
    let mut power = metered(&run, &[], 24, 1.0);
    let mut random = fastrand::Rng::with_seed(3);
    for mean in &mut power.rows {
        mean.power_W += 8.0 * (random.f64() - 0.5);
    }
    log.powers = vec![power];
    let found = fitted(&run, &log, &["machine.bed.underside_resistance"]);
    let heated = &found.powers[0];
    // A standard deviation of it is 5 %.
    assert!(heated.offset_W.abs() < 0.05 * heated.mean_W(), "{heated:?}");
    assert!(!heated.is_another());
}

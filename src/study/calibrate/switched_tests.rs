//! Logs of runs whose fan, lid or door did something else than the run file says.

use super::Calibration;
use super::log_tests::{Faults, RUN, fitted, inputs, logged};
use crate::run::{Switch, Switched};

const HOUR_S: f64 = 3_600.0;
const FAULTS: Faults = Faults {
    offset_K: 0.2,
    lag_s: 40.0,
    drift_K: 0.1,
};
const PLACES: [&str; 3] = ["feeder motor", "air top", "air bottom"];

fn switched(what: Switch, on_h: (f64, f64)) -> Switched {
    Switched {
        what,
        from_s: 0.0,
        to_s: 9.0 * HOUR_S,
        on_s: vec![(on_h.0 * HOUR_S, on_h.1 * HOUR_S)],
    }
}

/// The fan of a run that is to be extracted from all the time ran for an hour only. The log is that of a run whose file says
/// so; the column tells the same of the other, and only with it the log tells how leaky the machine is.
#[test]
fn an_hour_of_fan_in_a_column_tells_the_leakage() {
    let really = format!(
        "{RUN}[arrangement]\nkind = \"closed\"\n[[arrangement.schedule]]\nat = \"4 h\"\nduration = \"1 h\"\nkind = \"extracting\"\nflow = \"15 m3/h\"\n"
    );
    let planned = inputs(&format!(
        "{RUN}[arrangement]\nkind = \"extracting\"\nflow = \"15 m3/h\"\n"
    ));
    let truth = [
        ("coefficients.feeder_heat", 1.3),
        ("coefficients.leakage", 0.6),
    ];
    let mut log = logged(&inputs(&really), &truth, &PLACES, 9, FAULTS);
    let keys = ["coefficients.feeder_heat", "coefficients.leakage"];
    let without = fitted(&planned, &log, &keys);
    log.switched = vec![switched(Switch::Fan, (4.0, 5.0))];
    let with = fitted(&planned, &log, &keys);
    for (parameter, is) in with.parameters.iter().zip([1.3, 0.6]) {
        let range = parameter.low..parameter.high;
        assert!(range.contains(&is), "{is}: {parameter:?}");
    }
    let leakage = |found: &Calibration| {
        let mut all = found.parameters.iter();
        let found = all.find(|p| p.input.key() == "coefficients.leakage");
        found.expect("fitted").clone()
    };
    let (told, untold) = (leakage(&with), leakage(&without));
    assert!(told.high < 1.0 && told.left < 0.9, "{told:?}");
    // Air that is drawn out all the time hides every leak: it stays what it was believed to be.
    assert!(
        (untold.value - 1.0).abs() < 0.05 && untold.left > 0.99,
        "{untold:?}"
    );
    assert!(with.rms_after_K() < 0.2, "{}", with.rms_after_K());
    assert!(without.is_foreign(), "{}", without.rms_after_K());
    // What is kept from the fit is foretold with the fan as it was.
    let after_K = |found: &Calibration| found.held_out.expect("rows enough").after_K;
    assert!(after_K(&with) < 0.4, "{}", after_K(&with));
    // A clock that is right is not suspected.
    assert!(with.moved_h.is_empty(), "{:?}", with.moved_h);
}

/// A lid that was off for half an hour: nothing is left of it once the log says so.
#[test]
fn an_open_lid_in_a_column_is_part_of_the_run() {
    let really = format!(
        "{RUN}[arrangement]\nkind = \"closed\"\n[[arrangement.schedule]]\nat = \"4 h\"\nduration = \"30 min\"\nkind = \"lid off\"\n"
    );
    let mut log = logged(&inputs(&really), &[], &PLACES, 9, FAULTS);
    let planned = inputs(RUN);
    let keys = ["coefficients.feeder_heat"];
    let without = fitted(&planned, &log, &keys);
    log.switched = vec![switched(Switch::Lid, (4.0, 4.5))];
    let with = fitted(&planned, &log, &keys);
    // Before anything is fitted: the thermometers' own errors are all there is.
    assert!(with.rms_before_K() < 0.4, "{}", with.rms_before_K());
    assert!(without.rms_before_K() > 2.0 * with.rms_before_K());
}

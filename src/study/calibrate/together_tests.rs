//! What hangs together: readings of one thermometer, and values that an earlier fit found together.

use super::found::Calibration;
use super::log_tests::{RUN, inputs};
use super::tests::{fitted, of, shown, with_machine};

const HEAT: &str = "coefficients.feeder_heat";

/// Many readings of one thermometer know what it shows, and not what it is off. A value that moves what is shown by a, read
/// with an error s, goes a²/(a² + s²) of the way; of twenty readings 0.64 s² stay and 0.36 s² become a twentieth.
#[test]
fn twenty_readings_of_one_thermometer_are_not_twenty_thermometers() {
    let run = inputs(RUN);
    let keys = [HEAT.to_owned()];
    let goes = |count: u32, within_K: f64| {
        let hours = (0..count).map(|k| 15.0 + 0.5 * f64::from(k));
        let places: Vec<(&str, f64)> = hours.map(|h| ("feeder motor", h)).collect();
        let mut readings = shown(&run, &[(HEAT, 1.2)], &places);
        for reading in &mut readings {
            reading.within_K = within_K;
        }
        let found = fitted(&run, &readings, &keys).expect("fits");
        assert!(found.readings.iter().all(|r| !r.strays));
        found.known.mean[0]
    };
    let all = goes(1, 0.01);
    let share = goes(1, 6.0) / all;
    let s2 = 1.0 / share - 1.0;
    let expected = 1.0 / (1.0 + s2 * (0.64 + 0.36 / 20.0));
    let twenty = goes(20, 6.0) / all;
    assert!((0.1..0.6).contains(&share), "{share}");
    assert!(
        (twenty - expected).abs() < 0.01,
        "{share} {twenty} {expected}"
    );
}

/// A first fit to the motor's warmth can't tell its heat from how well it gives it away. A second one, from the machine's
/// file, that learns something of the one must learn it of the other too: as a fit to all readings at once does.
#[test]
fn two_fits_one_after_the_other_are_one() {
    let run = inputs(RUN);
    let truth = [(HEAT, 1.25), ("coefficients.inside_convection", 0.85)];
    let first = shown(&run, &truth, &[("feeder motor", 9.0), ("air top", 9.0)]);
    let then = shown(&run, &truth, &[("feeder motor", 0.4), ("lid inside", 20.0)]);
    let before = fitted(&run, &first, &[]).expect("fits");
    let file = run.machine_file(&before.known(), "from readings");
    let with = |file: &str| with_machine(file, &RUN.replace("bench-60", "mine"));
    let second = fitted(&with(&file), &then, &[]).expect("fits");
    // The same without what hangs together.
    let lines = file.lines().filter(|line| !line.contains("with = \""));
    let apart = lines.collect::<Vec<_>>().join("\n");
    assert!(apart.len() < file.len());
    let alone = fitted(&with(&apart), &then, &[]).expect("fits");
    let at_once = fitted(&run, &[first, then].concat(), &[]).expect("fits");
    for key in [HEAT, "coefficients.outside_convection"] {
        let is = |c: &Calibration| {
            let p = of(c, key);
            [p.value, p.high - p.low]
        };
        let (second, alone, at_once) = (is(&second), is(&alone), is(&at_once));
        let off = |it: [f64; 2], k: usize| (it[k] / at_once[k] - 1.0).abs();
        // Seen here: a tenth of what they are off apart, and up to 6 % wider, because the file tells of twelve values.
        assert!(
            off(second, 0) < 0.3 * off(alone, 0),
            "{key} {second:?} {alone:?} {at_once:?}"
        );
        let wider = second[1] / at_once[1];
        assert!((0.98..1.1).contains(&wider), "{key} {second:?} {at_once:?}");
    }
    // Taken for independent, the motor's heat would be surer than both fits together make it.
    let width = |c: &Calibration| of(c, HEAT).high - of(c, HEAT).low;
    assert!(width(&alone) < width(&at_once) && width(&second) > width(&at_once));
}

//! Makes the log of the demo's first day, `demo-data/first-day.csv`: what thermometers in an invented machine would have
//! shown that is not quite the one that the run file describes.
//!
//! `cargo run --release --example made_up_log > demo-data/first-day.csv`

use dogdays::integrate::Options;
use dogdays::runfile;
use dogdays::study::calibrate::{lag, sensors::Sensor};
use dogdays::study::many::up_to;
use std::fmt::Write;

/// What the machine really is, of all that nobody knows.
const REALLY: [(&str, f64); 4] = [
    ("coefficients.feeder_heat", 0.86),
    ("coefficients.leakage", 1.6),
    ("coefficients.mount_frame", 1.3),
    ("room.shift", 0.8),
];
/// Where thermometers were held, what they show too much, K, and what they lag behind, s.
const THERMOMETERS: [(&str, f64, f64); 4] = [
    ("room", 0.0, 20.0),
    ("feeder motor", 0.4, 45.0),
    ("air top", -0.3, 25.0),
    ("cold end", 0.2, 60.0),
];
/// A row each five minutes of a day.
const ROWS: u32 = 288;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut inputs = runfile::demo().inputs;
    for (key, is) in REALLY {
        let input = inputs.input(key)?;
        inputs.set(&input, is)?;
    }
    let run = inputs.to_run()?;
    let start = run.start;
    let fine: Vec<f64> = (0..=5 * ROWS).map(|k| f64::from(k) * 60.0).collect();
    let shown = up_to(&[run], 86_400.0, &Options::fine(), |s| {
        let each = THERMOMETERS.iter().map(|(place, _, lag_s)| {
            let sensor = Sensor::find(place, &s.chamber)?;
            let around: Vec<f64> = fine.iter().map(|t| sensor.shows_K(s, *t)).collect();
            Ok(lag::shown(&fine, &around, *lag_s))
        });
        each.collect::<Result<Vec<_>, dogdays::study::calibrate::sensors::UnknownSensor>>()
    });
    let shown = shown.into_iter().next().ok_or("one run")???;
    let mut random = fastrand::Rng::with_seed(713);
    let mut text = String::from("time");
    for (place, ..) in THERMOMETERS {
        write!(text, ",{place} (°C)")?;
    }
    text.push('\n');
    // What no model has: draughts, the sun on a wall. It comes and goes with an hour and a half.
    let kept = f64::exp(-300.0 / 5_400.0);
    let mut off = [0.0; THERMOMETERS.len()];
    for row in 0..=ROWS {
        let at_s = 300.0 * f64::from(row);
        let at = start.checked_add(jiff::SignedDuration::from_secs(300 * i64::from(row)))?;
        write!(text, "{}", at.strftime("%Y-%m-%d %H:%M"))?;
        for (k, (place, too_much_K, _)) in THERMOMETERS.iter().enumerate() {
            let new = 12.0_f64.sqrt() * (random.f64() - 0.5);
            let size_K = if *place == "room" { 0.05 } else { 0.2 };
            off[k] = kept * off[k] + size_K * (1.0 - kept * kept).sqrt() * new;
            let at = usize::try_from(5 * row)?;
            debug_assert!((fine[at] - at_s).abs() < 1e-9);
            write!(text, ",{:.1}", shown[k][at] - 273.15 + too_much_K + off[k])?;
        }
        text.push('\n');
    }
    print!("{text}");
    Ok(())
}

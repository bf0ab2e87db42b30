//! How near the hottest moment of a study is to that of a far tighter integration, over many runs: starts
//! of a year, and machines, arrangements and thermostats. `cargo bench --bench accuracy` prints the
//! largest difference of each set; `DOGDAYS_ACCURACY_STARTS` asks for more starts.

use dogdays::course::{Between, Course, Points};
use dogdays::integrate::Options;
use dogdays::run::Run;
use dogdays::study::check::{Outcome, outcome};
use rayon::prelude::*;
use std::sync::Arc;

mod heat_wave;
use heat_wave::{heat_wave, heat_wave_with};

/// Far below what is measured; at a tenth of it the peaks move by less than 0.0003 K.
const TIGHT_K: f64 = 1e-4;
const YEAR_H: usize = 8760;

/// The hours of the real week, over and over, under the swing of a year, fronts that come every 60 hours, and
/// half a kelvin of noise: hotter summers, colder winters and steeper changes than the week itself.
fn year(week_K: &[f64]) -> Vec<f64> {
    let mut r = fastrand::Rng::with_seed(13);
    let fronts: Vec<f64> = (0..200).map(|_| 10.0 * (r.f64() - 0.5)).collect();
    (0..YEAR_H + 300)
        .map(|h| {
            let day_of_year = (h as f64 - 4800.0) / YEAR_H as f64 * std::f64::consts::TAU;
            let (k, x) = (h / 60, (h % 60) as f64 / 60.0);
            week_K[h % 160] + 9.0 * day_of_year.cos() - 6.0
                + fronts[k] * (1.0 - x)
                + fronts[k + 1] * x
                + (r.f64() - 0.5)
        })
        .collect()
}

fn starting(base: &Run, year: &Arc<Points>, hour: usize) -> Run {
    let mut run = base.clone();
    run.room.weather = Course::Series {
        points: Arc::clone(year),
        between: Between::Lines,
        known: 0..year.times_s().len(),
        from_s: hour as f64 * 3600.0,
        above: 0.0,
    };
    run
}

struct Off {
    name: String,
    kelvin: f64,
    is_warm: bool,
}

fn off(name: String, run: &Run) -> Off {
    let at = |options: &Options| -> Outcome {
        match outcome(run, options) {
            Ok(found) => found,
            Err(e) => panic!("{name}: {e}"),
        }
    };
    let tight = Options {
        tolerance: TIGHT_K,
        ..Options::default()
    };
    let difference = at(&tight).margin_K - at(&Options::default()).margin_K;
    Off {
        kelvin: difference.abs(),
        is_warm: difference > 0.0,
        name,
    }
}

fn report(set: &str, mut all: Vec<Off>) {
    all.sort_by(|a, b| a.kelvin.total_cmp(&b.kelvin));
    let (Some(worst), n) = (all.last(), all.len()) else {
        return;
    };
    let cool = all.iter().filter(|o| !o.is_warm).map(|o| o.kelvin);
    println!(
        "{set}: {n} runs, largest difference {:.4} K ({}), on the cool side {:.4} K, median {:.4} K, 99 of 100 within {:.4} K",
        worst.kelvin,
        worst.name,
        cool.fold(0.0, f64::max),
        all[n / 2].kelvin,
        all[(n * 99 / 100).min(n - 1)].kelvin,
    );
}

const ARRANGEMENTS: [&str; 8] = [
    "kind = \"closed\"",
    "kind = \"lid off\"",
    "kind = \"door open\"",
    "kind = \"extracting\"\nflow = \"15 m3/h\"",
    "kind = \"extracting\"\nflow = \"60 m3/h\"",
    "kind = \"blowing in\"\nflow = \"40 m3/h\"",
    "kind = \"recirculating\"\nflow = \"40 m3/h\"",
    "kind = \"extracting\"\nflow = \"40 m3/h\"\nthermostat = { on_above = \"38 degC\", off_below = \"34 degC\" }",
];
const MACHINES: [&str; 7] = [
    "bench-110",
    "bench-20",
    "bench-220",
    "bench-60",
    "floor-500",
    "hall-1000",
    "warm-250",
];

fn main() {
    let base = heat_wave().run;
    let Course::Series { .. } = &base.room.weather else {
        panic!("a series of temperatures")
    };
    let week_K: Vec<f64> = (0..160)
        .map(|h| base.room.weather.at(h as f64 * 3600.0).0)
        .collect();
    let hours_K = year(&week_K);
    let times_s = (0..hours_K.len()).map(|h| h as f64 * 3600.0).collect();
    let points = match Points::new(times_s, hours_K) {
        Ok(points) => Arc::new(points),
        Err(e) => panic!("{e}"),
    };
    let count = std::env::var("DOGDAYS_ACCURACY_STARTS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(438);
    let starts = (0..count).into_par_iter().map(|k| {
        let hour = k * YEAR_H / count;
        off(format!("hour {hour}"), &starting(&base, &points, hour))
    });
    report("starts of a year", starts.collect());
    let cases: Vec<(&str, &str)> = MACHINES
        .iter()
        .flat_map(|m| ARRANGEMENTS.iter().map(move |a| (*m, *a)))
        .collect();
    let machines = cases.par_iter().map(|(machine, arrangement)| {
        let run = heat_wave_with(machine, arrangement).run;
        off(
            format!("{machine}, {}", arrangement.replace('\n', ", ")),
            &run,
        )
    });
    report("machines and arrangements", machines.collect());
}

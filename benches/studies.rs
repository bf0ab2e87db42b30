//! Speed of the studies that run one job many times, on the 160-hour run in real hourly weather that
//! `speed` uses. Targets on two cores: six arrangements with break-evens, and a fan chosen from the
//! whole catalogue, each below 0.3 s; a band of 256 runs below 0.25 s; sensitivities below 4 s.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use dogdays::catalogue::Catalogue;
use dogdays::integrate::Options;
use dogdays::run::Inputs;
use dogdays::run::{Log, LogColumn};
use dogdays::runfile;
use dogdays::study::band::Sampling;
use dogdays::study::breakeven::break_even;
use dogdays::study::calibrate::{Watched, calibrate, sensors::Sensor};
use dogdays::study::certainty::certainty;
use dogdays::study::check::outcome;
use dogdays::study::compare::{compare, usual};
use dogdays::study::follow::follow;
use dogdays::study::many::up_to;
use dogdays::study::remedies::remedies;
use dogdays::study::sensitivity::sensitivity;
use dogdays::study::size_fan::size_fan;

mod heat_wave;
use heat_wave::heat_wave;

/// The built-in demo runs 121 h; the heat wave 160 h, where PLA needs more than a fan.
fn studies(c: &mut Criterion) {
    let options = Options::default();
    let catalogue = Catalogue::embedded();
    let materials = catalogue.materials();
    let fans = match catalogue.fans() {
        Ok(fans) => fans,
        Err(problems) => panic!("{problems}"),
    };
    let with = |name: &str, run: &Inputs, c: &mut Criterion| {
        let whole = match run.to_run() {
            Ok(run) => run,
            Err(problems) => panic!("{problems}"),
        };
        let comes_to = match outcome(&whole, &options) {
            Ok(outcome) => outcome,
            Err(e) => panic!("{e}"),
        };
        let mut group = c.benchmark_group(name);
        group.sample_size(20);
        group.bench_function("break-even", |b| {
            b.iter(|| break_even(black_box(run), &comes_to, &options));
        });
        group.bench_function("compare six", |b| {
            b.iter(|| compare(usual(black_box(run), &options)?.candidates, None, &options));
        });
        group.bench_function("size-fan, 14 fans", |b| {
            b.iter(|| size_fan(black_box(run), &fans, None, &options));
        });
        group.bench_function("remedies", |b| {
            b.iter(|| remedies(black_box(run), &materials, &options));
        });
        group.bench_function("band of 256", |b| {
            let station = comes_to.station;
            b.iter(|| certainty(black_box(run), station, Sampling::default()));
        });
        group.sample_size(10);
        group.bench_function("sensitivity", |b| {
            let station = comes_to.station;
            b.iter(|| sensitivity(black_box(run), station, Sampling::default(), &|| ()));
        });
        group.finish();
    };
    with("heat wave of 160 h", &heat_wave().inputs, c);
    with("demo of 121 h", &runfile::demo().inputs, c);
}

/// Four thermometers over the demo's first day, a row a minute, in a machine whose motor is warmer than described.
fn day_log(inputs: &Inputs) -> Log {
    const PLACES: [&str; 4] = ["feeder motor", "drive gear", "air top", "cold end"];
    let mut warmer = inputs.clone();
    let heat = warmer.input("coefficients.feeder_heat").expect("a key");
    warmer.set(&heat, 1.2).expect("within its limits");
    let run = warmer
        .to_run()
        .unwrap_or_else(|problems| panic!("{problems}"));
    let read = up_to(&[run], 86_400.0, &Options::fine(), |s| {
        PLACES.map(|place| {
            let sensor = Sensor::find(place, &s.chamber).expect("a place");
            let minutes = (0..=24 * 60).map(|k| f64::from(k) * 60.0);
            // Some noise that is the same each time.
            let noise = |t_s: f64| 0.3 * (t_s / 4_321.0).sin();
            minutes
                .map(|t_s| (t_s, sensor.shows_K(s, t_s) + noise(t_s)))
                .collect()
        })
    });
    let read = read.into_iter().next().expect("one run");
    let columns = read.expect("it runs").into_iter().zip(PLACES);
    Log {
        name: "day.csv".to_owned(),
        columns: columns
            .map(|(rows, place)| LogColumn {
                header: place.to_owned(),
                sensor: place.to_owned(),
                within_K: 1.0,
                rows,
            })
            .collect(),
        room: Vec::new(),
        switched: Vec::new(),
        powers: Vec::new(),
    }
}

fn logs(c: &mut Criterion) {
    let inputs = runfile::demo().inputs;
    let log = day_log(&inputs);
    let watched = Watched {
        inputs: &inputs,
        readings: &[],
        logs: std::slice::from_ref(&log),
    };
    let six = [
        "feeder_heat",
        "leakage",
        "mount_frame",
        "heat_break",
        "cold_end_cooling",
        "inside_convection",
    ]
    .map(|key| format!("coefficients.{key}"));
    let mut group = c.benchmark_group("log of a day, a row a minute");
    group.sample_size(10);
    group.bench_function("calibrate six values", |b| {
        b.iter(|| calibrate(black_box(&[watched]), &six));
    });
    group.bench_function("calibrate what matters", |b| {
        b.iter(|| calibrate(black_box(&[watched]), &[]));
    });
    group.bench_function("follow", |b| {
        b.iter(|| follow(black_box(&watched), Sampling::default()));
    });
    group.finish();
}

criterion_group!(benches, studies, logs);
criterion_main!(benches);

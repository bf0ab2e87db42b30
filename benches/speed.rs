//! How long one run takes: 160 hours of the real heat wave under `tests/data`, hourly weather.

use criterion::{Criterion, criterion_group, criterion_main};
use dogdays::chamber::{Chamber, IntegratorKind, Simulation};
use dogdays::integrate::Options;
use dogdays::study;
use std::hint::black_box;

mod heat_wave;
use heat_wave::heat_wave;

/// Runs side by side: what stands in memory together.
const SIDE_BY_SIDE: usize = 32;

fn speed(c: &mut Criterion) {
    let loaded = heat_wave();
    let (run, mut inputs) = (loaded.run, loaded.inputs);
    let options = Options::default();
    let heat = inputs.input("machine.feeder.heat").ok();
    c.bench_function("a changed input, and sections to a run", |b| {
        b.iter(|| {
            let changed = heat.as_ref().map(|heat| inputs.set(heat, black_box(2.5)));
            (changed, inputs.to_run())
        });
    });
    c.bench_function("build the network", |b| {
        b.iter(|| Chamber::new(black_box(&run)))
    });
    c.bench_function("160 h, built and integrated", |b| {
        b.iter(|| Simulation::of(black_box(&run), IntegratorKind::Rosenbrock, &options));
    });
    c.bench_function("160 h, only the hottest moment", |b| {
        b.iter(|| study::check::outcome(black_box(&run), &options));
    });
    // One run's share of many side by side on one core, each in weather of its own.
    let many: Vec<_> = (0..SIDE_BY_SIDE)
        .map(|k| {
            let mut run = run.clone();
            run.room.weather = run.room.weather.raised(0.3 * k as f64 - 5.0);
            run
        })
        .collect();
    let one_core = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    if let Ok(one_core) = one_core {
        c.bench_function("160 h, only the hottest moment, 32 side by side", |b| {
            b.iter(|| one_core.install(|| study::many::outcomes(black_box(&many), &options)));
        });
    }
    c.bench_function("160 h, full check", |b| {
        b.iter(|| study::check(black_box(&run), IntegratorKind::Rosenbrock, &options));
    });
}

criterion_group!(benches, speed);
criterion_main!(benches);

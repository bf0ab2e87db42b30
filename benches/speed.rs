//! How long one run takes: 160 hours of the real heat wave under `tests/data`, hourly weather.

use criterion::{Criterion, criterion_group, criterion_main};
use dogdays::chamber::{Chamber, IntegratorKind, Simulation};
use dogdays::integrate::Options;
use dogdays::study;
use std::hint::black_box;

mod heat_wave;
use heat_wave::heat_wave;

fn speed(c: &mut Criterion) {
    let run = heat_wave();
    let options = Options::default();
    c.bench_function("build the network", |b| {
        b.iter(|| Chamber::new(black_box(&run)))
    });
    c.bench_function("160 h, built and integrated", |b| {
        b.iter(|| Simulation::of(black_box(&run), IntegratorKind::Rosenbrock, &options));
    });
    c.bench_function("160 h, only the hottest moment", |b| {
        b.iter(|| study::check::outcome(black_box(&run), &options));
    });
    c.bench_function("160 h, full check", |b| {
        b.iter(|| study::check(black_box(&run), IntegratorKind::Rosenbrock, &options));
    });
}

criterion_group!(benches, speed);
criterion_main!(benches);

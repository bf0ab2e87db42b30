//! How long one run takes: 160 hours of the real heat wave under `tests/data`, hourly weather.

use criterion::{Criterion, criterion_group, criterion_main};
use dogdays::catalogue::Catalogue;
use dogdays::chamber::{Chamber, IntegratorKind, Simulation};
use dogdays::integrate::Options;
use dogdays::runfile::{self, Run};
use dogdays::study;
use std::hint::black_box;
use std::path::Path;

fn heat_wave() -> Run {
    let text = r#"
[run]
name = "Real heat wave"
start = "2013-07-14 00:00"
duration = "160 h"
[machine]
name = "bench-220"
[material]
name = "pla"
[part]
mass = "2.3 kg"
[room]
series = "ewr-2013-07-14-20.csv"
[arrangement]
kind = "closed"
"#;
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data");
    match runfile::parse(text, "bench.toml", Some(&folder), &Catalogue::embedded()) {
        Ok(loaded) => loaded.run,
        Err(problems) => panic!("{problems}"),
    }
}

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

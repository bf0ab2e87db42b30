//! Speed of the studies that run one job many times, on the 160-hour run in real hourly weather that
//! `speed` uses. Targets on two cores: six arrangements with break-evens, and a fan chosen from the
//! whole catalogue, each below 0.3 s; a band of 256 runs below 0.25 s; sensitivities below 4 s.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use dogdays::catalogue::Catalogue;
use dogdays::integrate::Options;
use dogdays::run::Inputs;
use dogdays::runfile;
use dogdays::study::band::Sampling;
use dogdays::study::breakeven::break_even;
use dogdays::study::certainty::certainty;
use dogdays::study::check::outcome;
use dogdays::study::compare::{compare, usual};
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

criterion_group!(benches, studies);
criterion_main!(benches);

//! Speed of the studies that run one job many times. Targets on two cores: six arrangements with
//! break-evens, and the remedies of a run that softens, each below 0.3 s.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use dogdays::catalogue::Catalogue;
use dogdays::integrate::Options;
use dogdays::runfile;
use dogdays::study::breakeven::break_even;
use dogdays::study::check::outcome;
use dogdays::study::compare::{compare, usual};
use dogdays::study::remedies::remedies;

fn studies(c: &mut Criterion) {
    let run = runfile::demo().run;
    let options = Options::default();
    let materials = runfile::materials(&Catalogue::embedded());
    let margin_K = outcome(&run, &options).map_or(0.0, |o| o.margin_K);
    let mut group = c.benchmark_group("studies");
    group.sample_size(20);
    group.bench_function("outcome", |b| b.iter(|| outcome(black_box(&run), &options)));
    group.bench_function("break-even", |b| {
        b.iter(|| break_even(black_box(&run), margin_K, &options));
    });
    group.bench_function("compare six", |b| {
        b.iter(|| compare(usual(black_box(&run)).candidates, &options));
    });
    group.bench_function("remedies", |b| {
        b.iter(|| remedies(black_box(&run), &materials, &options));
    });
    group.finish();
}

criterion_group!(benches, studies);
criterion_main!(benches);

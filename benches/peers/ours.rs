//! The run that `compare.py` times beside other integrators: the heat wave of the benches, only its hottest
//! moment, as often as the first argument says. Prints the peak. Processor time is told from outside, where
//! other work on the machine can't be mistaken for ours: so many runs less one run, over their number.

use dogdays::integrate::Options;
use dogdays::study::check::outcome;
use std::hint::black_box;

#[path = "../heat_wave/mod.rs"]
mod heat_wave;

fn main() {
    let times = std::env::args()
        .nth(1)
        .and_then(|n| n.parse::<u32>().ok())
        .unwrap_or(1);
    let run = heat_wave::heat_wave().run;
    for n in 1..=times {
        match outcome(black_box(&run), &Options::default()) {
            Ok(found) if n == times => println!("{:.6}", found.peak_K),
            Ok(_) => {}
            Err(e) => panic!("{e}"),
        }
    }
}

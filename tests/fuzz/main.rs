//! Mutated files and random runs, made from a seed: whatever someone writes, the program answers.
//!
//! `cargo test --test fuzz` tries a few seconds' worth. More, and from other seeds:
//!
//! ```sh
//! DOGDAYS_FUZZ_INPUTS=200000 DOGDAYS_FUZZ_RUNS=300 cargo test --release --test fuzz -- --nocapture
//! DOGDAYS_FUZZ_SEED=7 DOGDAYS_FUZZ_INPUTS=forever cargo test --release --test fuzz mutated -- --nocapture
//! ```
//!
//! Each input has a number and is made from seed and number alone, so a finding is seen again with the seed
//! and number that it names (`DOGDAYS_FUZZ_FIRST=number`, `DOGDAYS_FUZZ_INPUTS=1`).
//!
//! What is asserted of a mutated file (`inputs.rs`): nothing panics or hangs; every problem names its file and,
//! where the file can be read, its line; what is drawn carries no control characters; what loads holds finite
//! numbers, its explained values read back, and the JSON Schema knows every key of it.
//!
//! What is asserted of a random run (`runs.rs`): it is simulated in a bounded number of steps or refused in words;
//! no temperature below everything cold or above everything that heats; heat is accounted for; a study finds
//! what `check` finds; a warmer room never makes the filament cooler, where nothing switches.

mod generate;
mod inputs;
mod logs;
mod mutate;
mod runs;
mod watch;
mod weather;
mod words;

use watch::Watch;

/// How many to try, from which seed and number on.
struct Plan {
    seed: u64,
    first: u64,
    count: u64,
}

impl Plan {
    /// From the environment, or a few.
    fn of(variable: &str, few: u64) -> Self {
        let number = |name: &str| std::env::var(name).ok().map(|text| text.parse().ok());
        let known = |name: &str, usual: u64| match number(name) {
            None => usual,
            Some(Some(number)) => number,
            // "forever", or any word.
            Some(None) => u64::MAX,
        };
        Self {
            seed: known("DOGDAYS_FUZZ_SEED", 1),
            first: known("DOGDAYS_FUZZ_FIRST", 0),
            count: known(variable, few),
        }
    }

    /// Tries each, and tells where it stands now and then.
    fn each(&self, what: &str, attempt: impl Fn(&mut fastrand::Rng, &Watch)) {
        let watch = Watch::start(what, self.seed);
        for number in self.first..self.first.saturating_add(self.count) {
            let mut random = fastrand::Rng::with_seed(
                self.seed.wrapping_mul(0x9E37_79B9_7F4A_7C15)
                    ^ number.wrapping_mul(0xD1B5_4A32_D192_ED03),
            );
            watch.begin(number);
            attempt(&mut random, &watch);
        }
        watch.end();
    }
}

#[test]
fn mutated_inputs_are_read_or_refused_in_words() {
    let shop = inputs::Shop::new();
    let plan = Plan::of("DOGDAYS_FUZZ_INPUTS", 1_500);
    plan.each("input", |random, watch| {
        inputs::attempt(&shop, random, watch)
    });
}

#[test]
fn random_runs_keep_the_laws() {
    let shop = inputs::Shop::new();
    let plan = Plan::of("DOGDAYS_FUZZ_RUNS", 6);
    plan.each("run", |random, watch| runs::attempt(&shop, random, watch));
}

//! The run both benches time.

use dogdays::catalogue::Catalogue;
use dogdays::runfile::{self, Loaded};
use std::path::Path;

/// 160 hours of the real heat wave under `tests/data`, PLA in the machine of the demo, closed.
pub fn heat_wave() -> Loaded {
    heat_wave_with("bench-220", "kind = \"closed\"")
}

/// The same in another machine, and arranged otherwise.
pub fn heat_wave_with(machine: &str, arrangement: &str) -> Loaded {
    let text = format!(
        r#"
[run]
name = "Real heat wave"
start = "2013-07-14 00:00"
duration = "160 h"
[machine]
name = "{machine}"
[material]
name = "pla"
[part]
mass = "2.3 kg"
[room]
series = "ewr-2013-07-14-20.csv"
[arrangement]
{arrangement}
"#
    );
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data");
    match runfile::parse(&text, "bench.toml", Some(&folder), &Catalogue::embedded()) {
        Ok(loaded) => loaded,
        Err(problems) => panic!("{problems}"),
    }
}

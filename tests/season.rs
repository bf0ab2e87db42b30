//! A season from shared runs against the same starts run one by one.

use dogdays::integrate::Options;
use dogdays::runfile::{self, Loaded};
use dogdays::study::check::outcome;
use dogdays::study::compare::own;
use dogdays::study::season::kept::Nothing;
use dogdays::study::season::{Moments, Reason, Season, Share, Sharing, season};
use std::fmt::Write;
use std::path::Path;

/// Days of invented weather from a date on, hourly: a year's and a day's swing, fronts that take days, and
/// disorder from hour to hour, as a logger writes it.
fn weather(first: &str, days: usize, seed: u64) -> String {
    let mut random = fastrand::Rng::with_seed(seed);
    let fronts: Vec<f64> = (0..days / 2 + 3)
        .map(|_| 10.0 * (random.f64() - 0.5))
        .collect();
    let begin: jiff::civil::DateTime = first.parse().unwrap();
    let mut text = "time,temperature_degC\n".to_owned();
    for hour in 0..=24 * days {
        let at = begin.saturating_add(jiff::SignedDuration::from_hours(hour as i64));
        let day_of_year = f64::from(at.date().day_of_year()) + f64::from(at.hour()) / 24.0;
        let season = -(std::f64::consts::TAU * (day_of_year - 20.0) / 365.25).cos();
        let day = (std::f64::consts::TAU * (f64::from(at.hour()) - 15.0) / 24.0).cos();
        let front = hour as f64 / 60.0;
        let (k, share) = (front as usize, front.fract());
        let front = fronts[k] * (1.0 - share) + fronts[k + 1] * share;
        let now = 17.0 + 8.0 * season + (4.0 + 1.5 * season) * day + front + random.f64() - 0.5;
        writeln!(text, "{},{now:.1}", at.strftime("%Y-%m-%dT%H:%M")).unwrap();
    }
    text
}

/// A run in the invented weather.
fn loaded(dir: &Path, run: &str) -> Loaded {
    let path = dir.join("run.toml");
    std::fs::write(&path, run).unwrap();
    runfile::load(&path, None).unwrap_or_else(|problems| panic!("{problems}"))
}

fn run(machine: &str, material: &str, mass: &str, hours: u32, more: &str) -> String {
    format!(
        "run = {{ name = \"season\", start = \"2025-06-01 00:00\", duration = \"{hours} h\" }}\n\
         machine.name = \"{machine}\"\n\
         material.name = \"{material}\"\n\
         part = {{ mass = \"{mass}\" }}\n\
         room.series = \"weather.csv\"\n\
         {more}\n"
    )
}

fn whole(loaded: &Loaded, every_s: f64, share: Share) -> Season {
    let own = own(&loaded.run, &loaded.inputs);
    let moments = Moments::of(&loaded.inputs, every_s).unwrap();
    season(
        &own,
        &moments,
        share,
        &Options::default(),
        &Nothing,
        &|_| (),
    )
    .unwrap()
}

/// What `check` finds for the same starts, picked at random.
fn differs_K(loaded: &Loaded, season: &Season, picked: usize, seed: u64) -> f64 {
    let mut random = fastrand::Rng::with_seed(seed);
    let mut largest_K = 0f64;
    for _ in 0..picked {
        let start = season.starts[random.usize(..season.starts.len())];
        let run = loaded.inputs.to_run_at(start.at).unwrap();
        let by_itself = outcome(&run, &Options::default()).unwrap();
        let off_K = (start.margin_K - by_itself.margin_K).abs();
        largest_K = largest_K.max(off_K);
        assert_eq!(start.verdict, by_itself.verdict, "{start:?} {by_itself:?}");
        assert!(
            off_K <= 0.01,
            "{}: {start:?}, by itself {by_itself:?}",
            loaded.run.machine.name
        );
        // Two stations may come equally close, at temperatures and limits of their own.
        if start.station == by_itself.station {
            assert!((start.peak_K - by_itself.peak_K).abs() <= 0.01);
        }
    }
    largest_K
}

/// Catalogue machines: a large one on the bench, one of the hall with walls of foam and a heavy frame, a warm one. A
/// hundred starts of each, picked at random, are what `check` says of them; how long each machine remembers its
/// start is measured, and differs.
#[test]
fn shared_runs_come_to_what_each_start_comes_to_by_itself() {
    let mut memories_s = Vec::new();
    for (machine, material, mass) in [
        ("bench-220", "pla", "2.3 kg"),
        ("hall-1000", "abs", "9 kg"),
        ("warm-250", "abs", "1.5 kg"),
    ] {
        let dir = tempfile::tempdir().unwrap();
        let text = weather("2025-06-01T00:00", 40, 7);
        std::fs::write(dir.path().join("weather.csv"), text).unwrap();
        let loaded = loaded(dir.path(), &run(machine, material, mass, 80, ""));
        let season = whole(&loaded, 3600.0, Share::Allowed);
        assert_eq!(season.starts.len(), 40 * 24 - 80 + 1);
        let Sharing::Shared {
            memory_s,
            by_themselves,
            ..
        } = season.sharing
        else {
            panic!("{machine} shares nothing: {:?}", season.sharing);
        };
        assert!(2 * by_themselves < season.starts.len(), "{by_themselves}");
        let off_K = differs_K(&loaded, &season, 100, 1);
        eprintln!(
            "{machine}: memory {} h, {by_themselves} by themselves, off by {off_K:.4} K",
            memory_s / 3600.0
        );
        memories_s.push(memory_s);
    }
    assert!(memories_s[1] > memories_s[0], "{memories_s:?}");
}

/// What cannot be shared is not, and says why; starts off the hour, a cool-down and first layers can.
#[test]
fn what_switches_on_the_way_runs_by_itself() {
    let dir = tempfile::tempdir().unwrap();
    let text = weather("2025-06-01T00:00", 24, 3);
    std::fs::write(dir.path().join("weather.csv"), text).unwrap();
    let extracting = "arrangement = { kind = \"extracting\", flow = \"20 m3/h\"";
    let cases = [
        (
            format!(
                "{extracting}, thermostat = {{ on_above = \"40 degC\", off_below = \"38 degC\" }} }}"
            ),
            Reason::Thermostat,
        ),
        (
            format!(
                "{extracting}, schedule = [ {{ kind = \"lid off\", every = \"day\", at = \"12:00\", until = \"14:00\" }} ] }}"
            ),
            Reason::Schedule,
        ),
        (
            "job.pause = [ { at = \"20 h\", duration = \"1 h\" } ]".to_owned(),
            Reason::Phases,
        ),
    ];
    for (more, because) in cases {
        let loaded = loaded(dir.path(), &run("bench-20", "pla", "0.3 kg", 48, &more));
        let season = whole(&loaded, 48.0 * 3600.0, Share::Allowed);
        assert_eq!(season.sharing, Sharing::Alone(because), "{more}");
        assert_eq!(season.starts.len(), 12);
        assert!(differs_K(&loaded, &season, 3, 2) <= 0.01);
    }
    let short = loaded(dir.path(), &run("bench-20", "pla", "0.1 kg", 12, ""));
    let season = whole(&short, 48.0 * 3600.0, Share::Allowed);
    assert_eq!(season.sharing, Sharing::Alone(Reason::Short));
    // Many starts, but in so short a time that there is nothing to compare them with.
    let text = weather("2025-06-01T00:00", 4, 3);
    std::fs::write(dir.path().join("weather.csv"), text).unwrap();
    let dense = loaded(dir.path(), &run("bench-20", "pla", "0.3 kg", 48, ""));
    let season = whole(&dense, 600.0, Share::Allowed);
    assert_eq!(season.sharing, Sharing::Alone(Reason::Few));
    let text = weather("2025-06-01T00:00", 24, 3);
    std::fs::write(dir.path().join("weather.csv"), text).unwrap();
    let job = "job = { soak = \"1 h\", first_layers = \"30 min\", first_layer_bed = \"65 degC\", cool_down = \"2 h\" }";
    let loaded = loaded(dir.path(), &run("bench-20", "pla", "0.6 kg", 60, job));
    let season = whole(&loaded, 50.0 * 60.0, Share::Allowed);
    let Sharing::Shared { .. } = season.sharing else {
        panic!("{:?}", season.sharing);
    };
    assert!(differs_K(&loaded, &season, 40, 5) <= 0.01);
}

/// The demo's summer is what its README says: nobody's weather.
#[test]
fn the_demos_summer_is_made_by_its_rule() {
    let begin = jiff::civil::date(2026, 6, 1).at(0, 0, 0, 0);
    let turn = std::f64::consts::TAU;
    let mut text = "time,temperature_degC\n".to_owned();
    for hour in 0..=2400 {
        let (d, h) = (f64::from(hour) / 24.0, f64::from(hour % 24));
        let now = 16.0
            + 9.0 * (turn * (d - 47.0) / 365.0).cos()
            + 4.2 * (turn * (h - 16.0) / 24.0).cos()
            + 3.0 * (turn * d / 9.7).sin()
            + 2.0 * (turn * d / 5.3 + 1.0).sin()
            + 1.2 * (turn * d / 3.1 + 2.0).sin();
        let at = begin.saturating_add(jiff::SignedDuration::from_hours(i64::from(hour)));
        writeln!(text, "{},{now:.1}", at.strftime("%Y-%m-%dT%H:%M")).unwrap();
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/summer.csv");
    let file = std::fs::read_to_string(path).unwrap();
    assert!(
        file == text,
        "demo-data/summer.csv is not what its rule gives"
    );
}

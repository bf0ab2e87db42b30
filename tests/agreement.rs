//! Studies of many runs and `check` tell one margin: random runs over machines, materials, arrangements,
//! kinds of rooms and jobs, each once at the tolerance of studies and once as `check` runs it.
//!
//! `DOGDAYS_AGREEMENT_RUNS=20000 cargo test --release --test agreement` makes a longer search of it, and
//! `DOGDAYS_AGREEMENT_SEED` another one.

use std::fmt::Write;
use std::sync::atomic::{AtomicUsize, Ordering};

use dogdays::catalogue::{Catalogue, Kind};
use dogdays::chamber::IntegratorKind;
use dogdays::integrate::Options;
use dogdays::run::Run;
use dogdays::runfile;
use dogdays::study::check::{Verdict, outcome};
use dogdays::study::{self};
use rayon::prelude::*;

/// By how much a study's margin may differ from that of `check`, K: what is promised.
const PROMISED_K: f64 = 0.01;

/// The same runs on every machine.
struct Random(fastrand::Rng);

impl Random {
    fn share(&mut self) -> f64 {
        self.0.f64()
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Even on a logarithmic scale.
    fn factor(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    fn chance(&mut self, p: f64) -> bool {
        self.share() < p
    }

    fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.0.usize(..from.len())]
    }
}

const KINDS: [&str; 6] = [
    "closed",
    "lid off",
    "door open",
    "extracting",
    "blowing in",
    "recirculating",
];

fn names(catalogue: &Catalogue, kind: Kind) -> Vec<String> {
    catalogue.list(kind).map(|e| e.name.clone()).collect()
}

fn arrangement(r: &mut Random, o: &mut String) {
    let kind = *r.pick(&KINDS);
    let _ = writeln!(o, "kind = \"{kind}\"");
    if matches!(kind, "extracting" | "blowing in" | "recirculating") {
        let _ = writeln!(o, "flow = \"{:.2} m3/h\"", r.factor(1.0, 200.0));
    }
}

/// Weather by the hour, or by the minute with jumps from row to row.
fn weather(r: &mut Random, hours: f64) -> String {
    let mut rows = "time,temperature_degC\n".to_owned();
    let (mean, swing) = (r.between(15.0, 36.0), r.between(0.0, 8.0));
    let (step_h, jump) = if r.chance(0.3) {
        (0.25, 4.0)
    } else {
        (1.0, 1.0)
    };
    let start = jiff::civil::date(2026, 7, 13).at(7, 0, 0, 0);
    for k in 0..=((hours / step_h).ceil() as i64 + 1) {
        let at_h = k as f64 * step_h;
        let t = start + jiff::SignedDuration::from_secs((at_h * 3600.0) as i64);
        let day = std::f64::consts::TAU * (at_h - 9.0) / 24.0;
        let v = mean + swing * day.cos() + r.between(-jump, jump);
        let _ = writeln!(rows, "{},{v:.1}", t.strftime("%Y-%m-%dT%H:%M:%S"));
    }
    rows
}

/// A run file and its weather.
fn random_run(r: &mut Random, catalogue: &Catalogue) -> (String, Option<String>) {
    let machines = names(catalogue, Kind::Machine);
    let materials = names(catalogue, Kind::Material);
    let hours = r.factor(0.5, 100.0);
    let mut o =
        format!("[run]\nname = \"r\"\nstart = \"2026-07-13 07:00\"\nduration = \"{hours:.3} h\"\n");
    let _ = writeln!(o, "[machine]\nname = \"{}\"", r.pick(&machines));
    if r.chance(0.2) {
        let _ = writeln!(
            o,
            "chamber_heater = {{ max_power = \"{:.0} W\", place = \"chamber {}\" }}",
            r.factor(100.0, 3000.0),
            r.pick(&["bottom", "top"])
        );
    }
    let heated = o.contains("chamber_heater");
    let _ = writeln!(o, "[material]\nname = \"{}\"", r.pick(&materials));
    let _ = writeln!(o, "[part]\nmass = \"{:.4} kg\"", r.factor(0.01, 2.0));
    let _ = writeln!(
        o,
        "[job]\nheat_up = \"{:.1} min\"",
        hours * 60.0 * r.between(0.0, 0.3)
    );
    if heated {
        let _ = writeln!(o, "chamber = \"{:.1} degC\"", r.between(35.0, 80.0));
    }
    if r.chance(0.3) {
        let _ = writeln!(
            o,
            "soak = \"{:.1} min\"",
            hours * 60.0 * r.between(0.0, 0.2)
        );
    }
    if r.chance(0.3) {
        let _ = writeln!(
            o,
            "cool_down = \"{:.1} min\"",
            hours * 60.0 * r.between(0.0, 0.1)
        );
    }
    if r.chance(0.3) {
        let _ = writeln!(
            o,
            "[[job.pause]]\nat = \"{:.3} h\"\nduration = \"{:.2} min\"",
            0.6 * hours,
            hours * r.between(0.1, 6.0)
        );
    }
    if r.chance(0.3) {
        let _ = writeln!(
            o,
            "[[job.spool_change]]\nat = \"{:.3} h\"\nduration = \"{:.2} min\"\ndoor = \"{}\"",
            0.75 * hours,
            hours * r.between(0.1, 3.0),
            r.pick(&["open", "shut"])
        );
    }
    let mut series = None;
    o.push_str("[room]\n");
    match r.0.usize(..3) {
        0 => {
            let _ = writeln!(o, "temperature = \"{:.2} degC\"", r.between(5.0, 42.0));
        }
        1 => {
            let _ = writeln!(
                o,
                "mean = \"{:.2} degC\"\nswing = \"{:.2} K\"\nwarmest_at = \"{:02}:00\"",
                r.between(5.0, 38.0),
                r.between(0.0, 10.0),
                r.0.usize(..24)
            );
        }
        _ => {
            o.push_str("series = \"weather.csv\"\n");
            series = Some(weather(r, hours));
        }
    }
    if r.chance(0.2) {
        let _ = writeln!(
            o,
            "building = {{ volume = \"{:.0} m3\", envelope = \"{:.0} W/K\", cooler_max = \"{:.0} W\", cooler_setpoint = \"{:.1} degC\" }}",
            r.factor(20.0, 500.0),
            r.factor(20.0, 500.0),
            r.factor(500.0, 8000.0),
            r.between(18.0, 32.0)
        );
    }
    o.push_str("[arrangement]\n");
    arrangement(r, &mut o);
    if o.contains("flow = ") && r.chance(0.4) {
        let on = r.between(25.0, 70.0);
        let _ = writeln!(
            o,
            "thermostat = {{ on_above = \"{on:.2} degC\", off_below = \"{:.2} degC\" }}",
            on - r.factor(0.3, 10.0)
        );
    }
    if r.chance(0.2) {
        let _ = writeln!(
            o,
            "[[arrangement.schedule]]\nat = \"{:.3} h\"\nduration = \"{:.2} min\"",
            0.3 * hours,
            hours * r.between(0.2, 12.0)
        );
        arrangement(r, &mut o);
    }
    (o, series)
}

/// The run of a seed, with its text; or why it is none.
fn run_of(seed: u64, catalogue: &Catalogue) -> Result<(Run, String), String> {
    let mut r = Random(fastrand::Rng::with_seed(seed));
    let (text, series) = random_run(&mut r, catalogue);
    let folder = tempfile::tempdir().map_err(|e| e.to_string())?;
    if let Some(rows) = &series {
        std::fs::write(folder.path().join("weather.csv"), rows).map_err(|e| e.to_string())?;
    }
    let loaded = runfile::parse(&text, "r.toml", Some(folder.path()), catalogue)
        .map_err(|p| p.to_string())?;
    Ok((loaded.run, text))
}

/// What differs in a run, or why it was not compared.
fn difference_K(seed: u64, catalogue: &Catalogue) -> Result<(f64, String), String> {
    let (run, text) = run_of(seed, catalogue)?;
    let quick = outcome(&run, &Options::default()).map_err(|e| e.to_string())?;
    let fine = study::check(&run, IntegratorKind::Rosenbrock, &Options::fine())
        .map_err(|e| e.to_string())?
        .outcome;
    let text = format!(
        "seed {seed}: {:+.4} K; a study has {:.4} K at the {} at {:.3} h ({}), check {:.4} K at the {} at {:.3} h ({})\n{text}",
        quick.margin_K - fine.margin_K,
        quick.margin_K,
        quick.station.name(),
        quick.peak_at_s / 3600.0,
        quick.verdict.name(),
        fine.margin_K,
        fine.station.name(),
        fine.peak_at_s / 3600.0,
        fine.verdict.name(),
    );
    // The margin of what can't run means nothing; that it can't run does.
    let cannot = |v| v == Verdict::CannotRun;
    if cannot(quick.verdict) != cannot(fine.verdict) {
        return Ok((f64::INFINITY, text));
    }
    Ok(((quick.margin_K - fine.margin_K).abs(), text))
}

/// A number from the environment.
fn number(name: &str, usual: u64) -> u64 {
    let given = std::env::var(name).ok().and_then(|v| v.parse().ok());
    given.unwrap_or(usual)
}

/// The margin of a run in steps far tighter than any study's, K: to see which of two is off.
fn far_tighter(run: &Run) -> Option<f64> {
    let options = Options {
        tolerance: 1e-5,
        ledgers: false,
        ..Options::default()
    };
    outcome(run, &options).ok().map(|o| o.margin_K)
}

/// Random runs, each in some shifted weathers and with more to print, all asked for at once: what each comes to is
/// what it comes to by itself.
#[test]
fn runs_side_by_side_come_to_what_each_does_alone() {
    /// What lanes may differ by, K.
    const WITHIN_K: f64 = 0.002;
    let seeds = number("DOGDAYS_AGREEMENT_RUNS", 40) / 2;
    let first = number("DOGDAYS_AGREEMENT_SEED", 1) * 1_000_000 + 500_000;
    let catalogue = Catalogue::embedded();
    let made: Vec<(Run, String)> = (first..first + seeds)
        .filter_map(|seed| run_of(seed, &catalogue).ok())
        .flat_map(|(run, text)| {
            [-6.0, -1.5, 0.0, 2.0, 7.5].map(|shift_K| {
                let mut run = run.clone();
                run.room.weather = run.room.weather.raised(shift_K);
                if shift_K > 0.0 {
                    run.part.mass_kg *= 1.3;
                }
                (run, format!("{shift_K} K warmer:\n{text}"))
            })
        })
        .collect();
    let runs: Vec<Run> = made.iter().map(|(run, _)| run.clone()).collect();
    let options = Options::default();
    let alone: Vec<_> = runs.par_iter().map(|run| outcome(run, &options)).collect();
    let together = study::many::outcomes(&runs, &options);
    let mut off = Vec::new();
    for ((alone, together), (run, text)) in alone.into_iter().zip(together).zip(&made) {
        let off_K = match (&alone, &together) {
            (Ok(a), Ok(t))
                if (a.verdict == Verdict::CannotRun) == (t.verdict == Verdict::CannotRun) =>
            {
                (a.margin_K - t.margin_K).abs()
            }
            (Err(a), Err(t)) if a == t => 0.0,
            _ => f64::INFINITY,
        };
        if off_K > WITHIN_K {
            off.push((
                off_K,
                format!(
                    "{off_K:.4} K, {alone:?}, {together:?}, far tighter {:?}: {text}",
                    far_tighter(run)
                ),
            ));
        }
    }
    off.sort_by(|a, b| b.0.total_cmp(&a.0));
    let worst: Vec<&str> = off.iter().take(4).map(|(_, text)| text.as_str()).collect();
    assert!(
        off.is_empty(),
        "{} of {} runs differ:\n{}",
        off.len(),
        runs.len(),
        worst.join("\n")
    );
}

#[test]
fn a_study_and_check_tell_the_same_margin() {
    let runs = number("DOGDAYS_AGREEMENT_RUNS", 40);
    let first = number("DOGDAYS_AGREEMENT_SEED", 1) * 1_000_000;
    let catalogue = Catalogue::embedded();
    let compared = AtomicUsize::new(0);
    let mut off: Vec<(f64, String)> = (first..first + runs)
        .into_par_iter()
        .filter_map(|seed| match difference_K(seed, &catalogue) {
            Ok((off_K, text)) => {
                compared.fetch_add(1, Ordering::Relaxed);
                (off_K > PROMISED_K).then_some((off_K, text))
            }
            // Two keys that do not go together are no run; whatever else is wrong would be.
            Err(problem) => problem
                .contains("integration")
                .then_some((f64::INFINITY, format!("seed {seed}: {problem}"))),
        })
        .collect();
    off.sort_by(|a, b| b.0.total_cmp(&a.0));
    let compared = compared.into_inner();
    assert!(
        compared as u64 * 10 >= runs * 7,
        "{compared} of {runs} random runs could be compared"
    );
    let worst: Vec<&str> = off.iter().take(5).map(|(_, text)| text.as_str()).collect();
    assert!(
        off.is_empty(),
        "{} of {compared} runs differ by more than {PROMISED_K} K:\n{}",
        off.len(),
        worst.join("\n")
    );
}

/// The top of a hall whose heater is up there overturns after five and a half minutes; at the tolerance of studies it does so
/// 20 s late, with the cold end 0.4 K warmer by then. Beside a run at a tolerance 500 times as fine.
#[test]
fn where_air_overturns_a_study_is_right_too() {
    let text = r#"
        [run]
        name = "r"
        start = "2026-07-13 07:00"
        duration = "16.913 h"
        [machine]
        name = "hall-1000"
        chamber_heater = { max_power = "1281 W", place = "chamber top" }
        [material]
        name = "abs"
        [part]
        mass = "0.03991 kg"
        [job]
        heat_up = "119.1 min"
        chamber = "75.3 degC"
        [room]
        mean = "26.51 degC"
        swing = "2.85 K"
        warmest_at = "06:00"
        [arrangement]
        kind = "door open"
    "#;
    let run = match runfile::parse(text, "r.toml", None, &Catalogue::embedded()) {
        Ok(loaded) => loaded.run,
        Err(problems) => panic!("{problems}"),
    };
    let tight = Options {
        tolerance: 1e-4,
        ..Options::default()
    };
    let [quick, tight] = [Options::default(), tight].map(|o| outcome(&run, &o).unwrap());
    let off_K = (quick.margin_K - tight.margin_K).abs();
    assert!(off_K < PROMISED_K, "{off_K} K");
}

/// A chamber heater whose power is just what holding the air under the lid takes: for minutes nothing but the
/// integrator's tolerance decides whether it is at its limit, and `check` ended with an error of too many switchings.
#[test]
fn a_heater_with_just_what_holding_takes_runs() {
    let text = r#"
[run]
start = "2026-07-13 07:00"
duration = "30 h"
[machine]
name = "bench-60"
chamber_heater = { max_power = "108 W", place = "chamber top" }
[material]
name = "petg"
[part]
mass = "0.02392 kg"
[job]
heat_up = "101.5 min"
chamber = "65.8 degC"
cool_down = "386.4 min"
[room]
temperature = "24.59 degC"
[arrangement]
kind = "recirculating"
flow = "8.19 m3/h"
thermostat = { on_above = "41.86 degC", off_below = "38.51 degC" }
"#;
    let catalogue = dogdays::catalogue::Catalogue::embedded();
    let loaded = dogdays::runfile::parse(text, "run.toml", None, &catalogue);
    let run = loaded.unwrap_or_else(|p| panic!("{p}")).run;
    let with = |tolerance: f64| {
        let options = Options {
            tolerance,
            ..Options::fine()
        };
        dogdays::study::check::outcome(&run, &options)
            .unwrap_or_else(|e| panic!("{tolerance} K: {e}"))
    };
    let (usual, tight) = (with(Options::fine().tolerance), with(1e-4));
    let apart_K = (usual.margin_K - tight.margin_K).abs();
    assert!(apart_K < 0.01, "{apart_K} K apart");
}

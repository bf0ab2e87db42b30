//! Remedies do what they claim, are the least that does, and mean what a run file would mean.

use super::*;
use crate::catalogue::Catalogue;
use crate::runfile;
use crate::study::breakeven::{BreakEven, TOLERANCE_K, break_even, weather_peak_K};
use crate::study::check::outcome;
use std::path::Path;

fn found(run: &Inputs) -> Remedies {
    let materials = Catalogue::embedded().materials();
    remedies(run, &materials, &Options::default()).expect("the demo can be simulated")
}

fn outcome_of(inputs: &Inputs) -> Outcome {
    let run = inputs.to_run().expect("it belongs together");
    outcome(&run, &Options::default()).expect("it can be simulated")
}

fn margin_K(inputs: &Inputs) -> f64 {
    outcome_of(inputs).margin_K
}

fn required_K(inputs: &Inputs) -> f64 {
    inputs.to_run().expect("valid").requirements.margin_K
}

/// The inputs with changes made.
fn after(actions: &[Action], inputs: &Inputs) -> Inputs {
    let mut inputs = inputs.clone();
    for action in actions {
        action.apply(&mut inputs);
    }
    inputs
}

/// The demo's run file with some of its text replaced, read as a user's would be.
fn demo_with(changes: &[(&str, &str)]) -> Inputs {
    let mut text = runfile::DEMO_RUN.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "the demo says {from}");
        text = text.replacen(from, to, 1);
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let catalogue = Catalogue::embedded();
    match runfile::parse(&text, "run.toml", Some(&folder), &catalogue) {
        Ok(loaded) => loaded.inputs,
        Err(problems) => panic!("{problems}"),
    }
}

#[test]
fn effects_come_true_when_applied() {
    let run = runfile::demo().inputs;
    let remedies = found(&run);
    assert!(remedies.before.verdict != Verdict::Holds);
    assert!(!remedies.found.is_empty());
    for r in &remedies.found {
        let margin_after_K = margin_K(&after(&r.actions, &run));
        assert!(margin_after_K >= required_K(&run), "{:?}", r.actions);
        // Ledgers do not steer the integrator: both ways of running give one course, up to the
        // rounding of sums.
        let gained_K = margin_after_K - margin_K(&run);
        assert!((gained_K - r.effect_K).abs() < 1e-6, "{:?}", r.actions);
    }
}

/// A step less than the remedy must not hold: whole m3/h, half kelvins, hundredths, 0.05 W/K.
#[test]
fn remedies_are_the_least_that_holds() {
    let mut tried = 0;
    // The demo, and the demo in a week so much cooler that less is enough.
    let demo = runfile::demo().inputs;
    let mut cooler = demo.clone();
    cooler.warm(-4.7);
    let all = [demo, cooler].map(|run| (found(&run).found, run));
    let each = all
        .iter()
        .flat_map(|(found, run)| found.iter().map(move |r| (r, run)));
    for (r, run) in each {
        let less = match &r.actions[..] {
            [Action::Extract { flow_m3_per_s }] => Action::Extract {
                flow_m3_per_s: flow_m3_per_s - 1.0 / 3600.0,
            },
            [Action::FeederCurrent { share }] => Action::FeederCurrent {
                share: share + 0.01,
            },
            [Action::FeederHeatSink { added_W_per_K }] => Action::FeederHeatSink {
                added_W_per_K: added_W_per_K - 0.05,
            },
            [Action::CoolerRoom { by_K, peak_K }] => Action::CoolerRoom {
                by_K: by_K - 0.5,
                peak_K: peak_K + 0.5,
            },
            _ => continue,
        };
        tried += 1;
        let margin_K = margin_K(&after(std::slice::from_ref(&less), run));
        assert!(margin_K < required_K(run), "{less:?}: {margin_K}");
    }
    assert!(tried >= 4, "{tried}");
}

/// Another way to the same run: the run file says it.
#[test]
fn actions_mean_what_a_run_file_says() {
    let run = runfile::demo().inputs;
    let petg = Catalogue::embedded()
        .materials()
        .into_iter()
        .find(|m| m.name == "petg")
        .expect("the catalogue has it");
    // The same volume: densities of 1270 and 1240 kg/m3 in the catalogue.
    let petg_mass = format!("mass = \"{:.9} kg\"", 2.3 * 1270.0 / 1240.0);
    let cases: [(Action, Vec<(&str, &str)>); 5] = [
        (
            Action::LaterStart { by_h: 5 },
            vec![("2026-07-13 07:00", "2026-07-13 12:00")],
        ),
        (
            Action::OtherMaterial(Box::new(petg)),
            vec![
                ("name = \"pla\"", "name = \"petg\""),
                ("mass = \"2.3 kg\"", &petg_mass),
                ("bed = \"60 degC\"", ""),
                ("nozzle = \"210 degC\"", ""),
            ],
        ),
        (
            Action::CoolerBed {
                by_K: 7.5,
                to_K: 325.65,
            },
            vec![("bed = \"60 degC\"", "bed = \"52.5 degC\"")],
        ),
        (
            Action::Extract {
                flow_m3_per_s: 30.0 / 3600.0,
            },
            vec![(
                "kind = \"closed\"",
                "kind = \"extracting\"\nflow = \"30 m3/h\"",
            )],
        ),
        (
            Action::CoolerRoom {
                by_K: 4.0,
                peak_K: 0.0,
            },
            vec![(
                "series = \"weather.csv\"",
                "series = \"weather.csv\"\nshift = \"-4 K\"",
            )],
        ),
    ];
    for (action, changes) in cases {
        let (by_action, by_file) = (
            margin_K(&after(std::slice::from_ref(&action), &run)),
            margin_K(&demo_with(&changes)),
        );
        // Equal runs up to the last digits typed above.
        assert!(
            (by_action - by_file).abs() < 1e-4,
            "{action:?}: {by_action} {by_file}"
        );
    }
}

/// A short job on a day of 27 ± 9 °C that is warmest in the afternoon: at night it is cool enough.
/// The hours at which it is come from running it at each.
#[test]
fn a_later_start_is_found_where_the_night_is_cool() {
    let run = demo_with(&[
        ("2026-07-13 07:00", "2026-07-13 12:00"),
        ("121 h", "5 h"),
        ("2.3 kg", "90 g"),
        (
            "series = \"weather.csv\"",
            "mean = \"26 degC\"\nswing = \"11 K\"\nwarmest_at = \"15:00\"",
        ),
    ]);
    let holds =
        |by_h: u32| margin_K(&after(&[Action::LaterStart { by_h }], &run)) >= required_K(&run);
    let first = (1..24).find(|by_h| holds(*by_h));
    assert!(!holds(0) && first.is_some(), "the case is a fair one");
    let remedies = found(&run);
    let named = remedies.found.iter().find_map(|r| match r.actions[..] {
        [Action::LaterStart { by_h }] => Some(by_h),
        _ => None,
    });
    assert_eq!(named, first);
}

/// Where no single change is enough, two together may be, and neither of a pair is enough alone.
#[test]
fn pairs_are_found_where_no_single_change_is_enough() {
    let run = demo_with(&[
        ("121 h", "30 h"),
        ("2.3 kg", "600 g"),
        ("series = \"weather.csv\"", "temperature = \"37 degC\""),
        ("margin = \"3 K\"", "margin = \"13 K\""),
    ]);
    let remedies = found(&run);
    let pairs: Vec<&Remedy> = remedies
        .found
        .iter()
        .filter(|r| r.actions.len() == 2)
        .collect();
    assert!(!pairs.is_empty(), "{:#?}", remedies.found);
    for pair in pairs {
        assert!(pair.outcome.verdict == Verdict::Holds);
        for alone in &pair.actions {
            let margin_K = margin_K(&after(std::slice::from_ref(alone), &run));
            assert!(margin_K < required_K(&run), "{alone:?}");
        }
    }
}

/// At the break-even the margin is the required one: the shift holds, a tolerance more does not.
#[test]
fn at_the_break_even_the_run_just_holds() {
    let options = Options::default();
    for kind in [
        crate::run::ArrangementKind::Closed,
        crate::run::ArrangementKind::LidOff,
        crate::run::ArrangementKind::Extracting {
            flow_m3_per_s: 0.01,
        },
    ] {
        let mut run = runfile::demo().inputs;
        run.arrange(&kind, &crate::run::Control::Constant);
        let found = break_even(&run, &outcome_of(&run), &options).expect("it can be simulated");
        let BreakEven::UpTo { shift_K, peak_K } = found else {
            panic!("{found:?}");
        };
        let required_K = required_K(&run);
        let shifted = |by_K: f64| {
            let mut warmer = run.clone();
            warmer.warm(by_K);
            margin_K(&warmer)
        };
        assert!(shifted(shift_K) >= required_K);
        assert!(shifted(shift_K + TOLERANCE_K) < required_K);
        // The demo's weather.csv has 35.0 °C as its warmest hour within the run.
        assert!((weather_peak_K(&run.to_run().expect("valid")) - 308.15).abs() < 1e-9);
        assert!((peak_K - 308.15 - shift_K).abs() < 1e-9);
    }
}

/// As many layers as the key takes: an open door, with the most openings, is among what was tried.
#[test]
fn the_most_layers_lose_no_remedy() {
    let door_is_tried = |layers: u32| {
        let run = demo_with(&[
            (
                "# bed.max_power = \"400 W\"",
                &format!("air_layers = {layers}"),
            ),
            ("121 h", "10 h"),
            ("2.3 kg", "200 g"),
            ("series = \"weather.csv\"", "temperature = \"38 degC\""),
        ]);
        let remedies = found(&run);
        let all = remedies.found.iter().chain(&remedies.not_enough);
        all.into_iter().any(|r| r.actions == [Action::DoorOpen])
    };
    for layers in [2, 15, 16, 20] {
        assert!(door_is_tried(layers), "{layers} layers");
    }
}

/// Nobody prints a housing of something soft, or of what is made to be washed away; and what gains nothing is no
/// remedy.
#[test]
fn nothing_is_proposed_that_nobody_would_do() {
    let remedies = found(&runfile::demo().inputs);
    let all = || remedies.found.iter().chain(&remedies.not_enough);
    for action in all().flat_map(|r| &r.actions) {
        if let Action::OtherMaterial(m) = action {
            assert!(m.name != "tpu" && m.name != "pva", "{}", m.name);
        }
    }
    for r in &remedies.not_enough {
        assert!(
            r.effect_K >= 0.1 || !r.outcome.shortfalls.is_empty(),
            "{r:?}"
        );
    }
    // A gasket is printed of nothing else.
    let soft = demo_with(&[("name = \"pla\"", "name = \"tpu\"")]);
    let others = found(&soft).found;
    assert!(
        others
            .iter()
            .flat_map(|r| &r.actions)
            .all(|a| !matches!(a, Action::OtherMaterial(_)))
    );
}

/// A chamber that is heated above what the filament bears: the heater is what to set lower.
#[test]
fn a_heated_chamber_is_set_cooler() {
    let run = demo_with(&[
        (
            "# bed.max_power = \"400 W\"",
            "chamber_heater = { max_power = \"600 W\" }",
        ),
        (
            "bed = \"60 degC\"",
            "bed = \"60 degC\"\nchamber = \"60 degC\"",
        ),
        ("series = \"weather.csv\"", "temperature = \"22 degC\""),
        ("121 h", "20 h"),
        ("2.3 kg", "400 g"),
    ]);
    let remedies = found(&run);
    let cooler = remedies.found.iter().find_map(|r| match r.actions[..] {
        [Action::CoolerChamber { by_K, to_K }] => Some((by_K, to_K)),
        _ => None,
    });
    let (by_K, to_K) = cooler.expect("it is enough");
    assert!((by_K + to_K - 333.15).abs() < 1e-9);
    let at = |by_K| margin_K(&after(&[Action::CoolerChamber { by_K, to_K: 0.0 }], &run));
    assert!(at(by_K) >= required_K(&run) && at(by_K - 0.5) < required_K(&run));
}

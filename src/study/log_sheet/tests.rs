use super::*;
use crate::catalogue::Catalogue;
use crate::chamber::IntegratorKind;
use crate::integrate::Options;
use crate::runfile::DEMO_RUN;
use crate::study::{Findings, check};

fn found(changes: &[(&str, &str)]) -> (Run, Findings) {
    // A room by hand: 30 degC by 4 K, warmest at 15:00.
    let room = (
        "series = \"weather.csv\"",
        "mean = \"30 degC\"\nswing = \"4 K\"\nwarmest_at = \"15:00\"",
    );
    let mut text = DEMO_RUN.to_owned();
    for (old, new) in [&[room], changes].concat() {
        assert!(text.contains(old), "{old}");
        text = text.replace(old, new);
    }
    let loaded = crate::runfile::parse(&text, "run.toml", None, &Catalogue::embedded());
    let run = loaded.expect("a run").run;
    let findings = check(&run, IntegratorKind::Rosenbrock, &Options::default());
    (run, findings.expect("it runs"))
}

fn times(f: &Findings, is: impl Fn(&What) -> bool) -> Vec<String> {
    let events = f.log_sheet.during.iter().filter(|event| is(&event.what));
    events
        .map(|event| event.at.strftime("%a %H:%M").to_string())
        .collect()
}

#[test]
fn the_sheet_of_a_week_in_a_shop_with_hours() {
    let tables = "[shop]\nhours = \"Mon-Thu 08:00-12:00, 13:00-16:30, Fri 08:00-12:00\"\n[spool]\nmass = \"1 kg\"\n[require]";
    let pause = "filament = \"dry\"\npause = [{ at = \"Tue 10:00\", duration = \"20 min\" }]";
    let door = "\n[[arrangement.schedule]]\nkind = \"door open\"\nat = \"Thu 09:00\"\nuntil = \"Thu 09:10\"\n";
    let tables = format!("{door}{tables}");
    let (run, f) = found(&[
        ("[require]", tables.as_str()),
        ("filament = \"dry\"", pause),
    ]);
    let sheet = &f.log_sheet;
    assert!(sheet.during.is_sorted_by_key(|event| event.at_s));
    assert_eq!(
        sheet.during.last().map(|e| (e.at_s, e.what.clone())),
        Some((435_600.0, What::End))
    );
    // By hand: 7217 min print 2.3 kg, 3137.826 min a kilogram; 15 and 20 min before, and 4 for the first change.
    let changes = times(&f, |what| matches!(what, What::SpoolChange { .. }));
    assert_eq!(changes, ["Wed 11:52", "Fri 16:14"]);
    let staffed = sheet
        .during
        .iter()
        .filter(|e| matches!(e.what, What::SpoolChange { .. }));
    assert_eq!(
        staffed.map(|e| e.staffed).collect::<Vec<_>>(),
        [Some(true), Some(false)]
    );
    assert_eq!(
        times(&f, |what| matches!(what, What::Pause { .. })),
        ["Tue 10:00"]
    );
    assert_eq!(
        times(&f, |what| matches!(what, What::Arrange { .. })),
        ["Thu 09:00"]
    );
    // Warmest at 15:00, and on Friday as late as somebody is there; nobody is on Saturday.
    let readings = times(&f, |what| matches!(what, What::ReadRoom { .. }));
    assert_eq!(
        readings,
        [
            "Mon 15:00",
            "Tue 15:00",
            "Wed 15:00",
            "Thu 15:00",
            "Fri 11:50"
        ]
    );
    for event in &sheet.during {
        if let What::ReadRoom { expected_K } = event.what
            && event.at.hour() == 15
        {
            assert!((expected_K - 307.15).abs() < 1e-3, "{expected_K}");
        }
    }
    for check in [
        Check::FilamentDry,
        Check::Bed {
            setpoint_K: Some(333.15),
        },
        Check::Shell {
            lid_on: true,
            door_shut: true,
        },
    ] {
        assert!(
            sheet.before.contains(&check),
            "{check:?} in {:?}",
            sheet.before
        );
    }
    let spools = sheet
        .before
        .iter()
        .find(|c| matches!(c, Check::Spools { .. }));
    let Some(Check::Spools {
        count: 3, drawn_kg, ..
    }) = spools
    else {
        panic!("{spools:?}");
    };
    assert!((drawn_kg - 2.3).abs() < 1e-9);
    // At 07:00, 8 h before the warmest, the room has 30 + 4 cos(2 pi 8 / 24) = 28 degC.
    let room = sheet.before.iter().find_map(|c| match c {
        Check::Room { assumed_K } => Some(*assumed_K),
        _ => None,
    });
    assert!((room.expect("a room") - 301.15).abs() < 0.05, "{room:?}");
    assert!(run.staffed.is_some());
}

/// The dated stretches add up to the hours that the check tells, the peak lies in one, and each end has its begin.
#[test]
fn stretches_above_are_the_hours_that_are_told() {
    let (run, f) = found(&[]);
    let s = &f.simulation;
    let hours = |all: &[(f64, f64)]| all.iter().map(|(a, b)| (b - a) / 3600.0).sum::<f64>();
    let (above, within) = (
        intervals_above(&run, s, 0.0),
        intervals_above(&run, s, run.requirements.margin_K),
    );
    assert!(f.hours_above_limit_h > 1.0, "the demo softens");
    assert!((hours(&above) - f.hours_above_limit_h).abs() < 1e-6);
    let told_h = f.hours_above_limit_h + f.hours_within_margin_h;
    assert!((hours(&within) - told_h).abs() < 1e-6);
    assert_eq!(
        above.first().map(|(from, _)| from / 3600.0),
        f.first_above_at_h
    );
    let peak_s = f.outcome.peak_at_s;
    assert!(
        above
            .iter()
            .any(|(from, to)| *from <= peak_s && peak_s <= *to)
    );
    assert!(above.windows(2).all(|pair| pair[0].1 < pair[1].0));
    let count = |is: fn(&What) -> bool| f.log_sheet.during.iter().filter(|e| is(&e.what)).count();
    let begins = count(|what| matches!(what, What::AboveBegins { .. }));
    assert!(begins > 1 && begins == count(|what| matches!(what, What::AboveEnds)));
    assert_eq!(count(|what| matches!(what, What::Hottest { .. })), 1);
}

/// What a damp filament loses is what dry gives: the demo's material by its own key.
#[test]
fn damp_filament_and_a_fan_are_told() {
    let fan = "kind = \"extracting\"\nflow = \"36 m3/h\"\n#";
    let (run, f) = found(&[
        ("filament = \"dry\"", "filament = \"damp\""),
        ("kind = \"closed\"", fan),
    ]);
    let dry_gives_K = run.material.damp_lowers_K;
    assert!(dry_gives_K > 0.0);
    let before = &f.log_sheet.before;
    assert!(before.contains(&Check::FilamentDamp { dry_gives_K }));
    let fan = before.iter().find(|c| matches!(c, Check::Fan { .. }));
    let Some(Check::Fan {
        flow_m3_per_s,
        runs_at_start: true,
        thermostat_K: None,
        ..
    }) = fan
    else {
        panic!("{fan:?}");
    };
    assert!((flow_m3_per_s - 0.01).abs() < 1e-12);
}

/// A spool that is used up with nobody to change it stands on the sheet and among the warnings.
#[test]
fn a_spool_without_a_change_is_told() {
    let typed = "filament = \"dry\"\nspool_change = [{ at = \"60 h\", duration = \"4 min\" }]";
    let (_, f) = found(&[
        ("filament = \"dry\"", typed),
        ("[require]", "[spool]\nmass = \"1 kg\"\n[require]"),
    ]);
    // By hand, see `spools`: 3163.261 min after Monday 07:00, and 60 h 4 min and 3148.261 min after it.
    let out = times(&f, |what| matches!(what, What::SpoolRunsOut { .. }));
    assert_eq!(out, ["Wed 11:43", "Fri 23:32"]);
    let said: Vec<_> = f.warnings.iter().map(ToString::to_string).collect();
    let said = said.join("\n");
    assert!(said.contains("spool 1 is used up on Wed 15 Jul 11:43 and is changed only on Wed 15 Jul 19:00; so is another"), "{said}");
}

//! A job's own course from a CSV table.

use super::{GOOD, says};
use crate::run::PhaseKind;
use crate::runfile::{Loaded, Problem, Problems, load};
use std::fmt::Write as _;

/// Loads a run of 100 h with a table of its job beside it.
fn load_run(run: &str, table: &str) -> Result<Loaded, Problems> {
    let folder = tempfile::tempdir().expect("temp dir");
    std::fs::write(folder.path().join("run.toml"), run).expect("write");
    std::fs::write(folder.path().join("job.csv"), table).expect("write");
    load(&folder.path().join("run.toml"), None)
}

/// The good run without what its job says, and with these lines in place of its mass and job.
fn run_with(mass: &str, job: &str) -> String {
    GOOD.replace("mass = \"2.3 kg\"\n", mass)
        .replace("bed = \"60 degC\"\n", job)
}

const TABLE: &str = "profile = \"job.csv\"\n";
const MASS: &str = "mass = \"2.3 kg\"\n";

#[track_caller]
fn loaded(table: &str) -> Loaded {
    load_run(&run_with("", TABLE), table).unwrap_or_else(|p| panic!("should be valid:\n{p}"))
}

#[track_caller]
fn only_problem(run: &str, table: &str) -> Problem {
    let problems = load_run(run, table).expect_err("refused");
    assert_eq!(problems.as_slice().len(), 1, "{problems}");
    problems.as_slice()[0].clone()
}

#[track_caller]
fn refused(table: &str, at: (usize, usize), words: &[&str]) {
    let problem = only_problem(&run_with("", TABLE), table);
    assert!(problem.file.ends_with("job.csv"), "{}", problem.file);
    let place = (problem.line, problem.column);
    assert_eq!(place, (Some(at.0), Some(at.1)), "{}", problem.render(false));
    says(&problem, words);
}

/// 0.25 h of heating up, 40 h of 20 g/h, a stop of an hour, 58 h of 30 g/h, off for the rest: 2.54 kg.
const DAY: &str = "elapsed_h,feed_g_per_h,bed_degC,nozzle_degC,motion,feeder
0,0,60,210,0,0
0.25,20,60,210,0.8,1
40.25,0,60,180,0,1
41.25,30,55,215,0.9,1
99.25,0,off,off,0,0
";

/// The same table as a spreadsheet of another country saves it.
#[test]
fn semicolons_decimal_commas_and_tabs_are_understood() {
    let plain = loaded(DAY).run.phases;
    let semicolons = DAY.replace(',', ";").replace('.', ",");
    assert_eq!(loaded(&semicolons).run.phases, plain);
    assert_eq!(loaded(&semicolons.replace('\n', ";\r\n")).run.phases, plain);
    assert_eq!(loaded(&DAY.replace(',', "\t")).run.phases, plain);
    refused(
        &semicolons.replace("99,25", "99.25"),
        (6, 1),
        &["point", "99,25"],
    );
}

#[test]
fn rows_hold_until_the_next_and_feed_what_the_part_weighs() {
    let run = loaded(DAY).run;
    use PhaseKind::{CoolDown, HeatUp, Pause, Print};
    let kinds: Vec<_> = run.phases.iter().map(|p| p.kind).collect();
    assert_eq!(kinds, [HeatUp, Print, Pause, Print, CoolDown]);
    let hours: Vec<_> = run
        .phases
        .iter()
        .map(|p| (p.begin_s / 3600.0, p.end_s / 3600.0))
        .collect();
    let by_hand = [
        (0.0, 0.25),
        (0.25, 40.25),
        (40.25, 41.25),
        (41.25, 99.25),
        (99.25, 100.0),
    ];
    assert_eq!(hours, by_hand);
    assert!(
        (run.part.mass_kg - 2.54).abs() < 1e-9,
        "{}",
        run.part.mass_kg
    );
    let p = &run.phases;
    assert!((p[1].feed_kg_per_s - 0.020 / 3600.0).abs() < 1e-12);
    assert_eq!((p[1].motion_duty, p[1].feeder_duty), (0.8, 1.0));
    assert!((p[2].nozzle_K.expect("on") - 453.15).abs() < 1e-9);
    assert!((p[3].bed_K.expect("on") - 328.15).abs() < 1e-9);
    assert_eq!((p[4].bed_K, p[4].nozzle_K), (None, None));
}

/// The same job written as phases is the same run.
#[test]
fn a_table_and_the_phases_it_stands_for_are_one_run() {
    let phases = "[[job.phase]]\nkind = \"heat up\"\nduration = \"0.25 h\"\nbed = \"60 degC\"\n\
         [[job.phase]]\nkind = \"print\"\nduration = \"40 h\"\nbed = \"60 degC\"\nfeed = \"20 g/h\"\nmotion = 0.8\n\
         [[job.phase]]\nkind = \"pause\"\nduration = \"1 h\"\nbed = \"60 degC\"\nnozzle = \"180 degC\"\nmotion = 0\n\
         [[job.phase]]\nkind = \"print\"\nduration = \"58 h\"\nbed = \"55 degC\"\nnozzle = \"215 degC\"\nfeed = \"30 g/h\"\nmotion = 0.9\n\
         [[job.phase]]\nkind = \"cool down\"\nduration = \"0.75 h\"\n";
    let text = run_with("mass = \"2.54 kg\"\n", "") + phases;
    let listed = load_run(&text, "").expect("valid").run;
    let tabled = loaded(DAY).run;
    assert_eq!(listed.phases.len(), tabled.phases.len());
    for (a, b) in listed.phases.iter().zip(&tabled.phases) {
        assert_eq!(a.kind, b.kind);
        let pairs = [
            (a.begin_s, b.begin_s),
            (a.end_s, b.end_s),
            (a.motion_duty, b.motion_duty),
            (a.feeder_duty, b.feeder_duty),
            (a.feed_kg_per_s * 1e6, b.feed_kg_per_s * 1e6),
            (a.bed_K.unwrap_or(0.0), b.bed_K.unwrap_or(0.0)),
            (a.nozzle_K.unwrap_or(0.0), b.nozzle_K.unwrap_or(0.0)),
        ];
        assert!(
            pairs.iter().all(|(a, b)| (a - b).abs() < 1e-6),
            "{a:?}\n{b:?}"
        );
    }
}

/// 1.75 mm filament of 1240 kg/m3 (the catalogue's pla) weighs 2.98255e-3 kg/m; 2 mm/s for 99 h are
/// 712.8 m: 2.12596 kg.
#[test]
fn a_feed_may_be_a_speed_of_the_filament() {
    let run = loaded("elapsed_min,feed_mm_per_s\n0,0\n60,2\n").run;
    assert!(
        (run.part.mass_kg - 2.125_96).abs() < 1e-4,
        "{}",
        run.part.mass_kg
    );
    assert!((run.phases[1].feed_kg_per_s - 5.965_1e-6).abs() < 1e-10);
}

/// Without a feed, the part's mass is spread over the rows in which the filament does not stand and the nozzle
/// is hot: 90 of these 100 h.
#[test]
fn where_only_standing_is_told_the_mass_is_spread() {
    let table = "elapsed_h,standing,nozzle_degC\n0,1,210\n5,0,210\n50,1,210\n51,0,210\n96,0,off\n";
    let run = load_run(&run_with(MASS, TABLE), table).expect("valid").run;
    let feeds: Vec<_> = run.phases.iter().map(|p| p.feed_kg_per_s * 3.6e6).collect();
    let even = 2_300.0 / 90.0;
    for (ours, by_hand) in feeds.iter().zip([0.0, even, 0.0, even, 0.0]) {
        assert!((ours - by_hand).abs() < 1e-9, "{feeds:?}");
    }
    // The bed and the motors are the job's; a stop is no rest for motors that hold.
    assert_eq!(run.phases[2].kind, PhaseKind::Pause);
    assert_eq!(run.phases[2].feeder_duty, 1.0);
    assert!(run.phases[4].bed_K.is_some());
}

#[test]
fn what_a_table_feeds_and_a_part_weighs_must_agree_within_one_per_cent() {
    for (mass, holds) in [("2.54 kg", true), ("2.52 kg", true), ("2.5 kg", false)] {
        let run = run_with(&format!("mass = \"{mass}\"\n"), TABLE);
        let made = load_run(&run, DAY);
        assert_eq!(made.is_ok(), holds, "{mass}");
    }
    let problem = only_problem(&run_with(MASS, TABLE), DAY);
    says(
        &problem,
        &["feeds 2.54 kg", "mass is 2.3 kg", "leave part.mass away"],
    );
    assert_eq!((problem.line, problem.column), (Some(12), Some(11)));
}

#[test]
fn a_part_without_mass_needs_a_table_that_feeds() {
    let problem = only_problem(&run_with("", ""), "");
    says(&problem, &["[part] needs `mass`", "mass = \"2.3 kg\""]);
    assert_eq!((problem.line, problem.column), (Some(8), Some(1)));
}

#[test]
fn a_table_and_phases_exclude_each_other() {
    for (line, column) in [
        ("heat_up = \"20 min\"", 11),
        ("soak = \"1 h\"", 8),
        ("bed = \"60 degC\"", 7),
        ("motion = 0.5", 10),
    ] {
        let key = line.split(' ').next().expect("a key");
        let job = format!("{TABLE}{line}\n");
        let problem = only_problem(&run_with("", &job), DAY);
        says(&problem, &[&format!("`job.{key}`"), "leave"]);
        assert_eq!(problem.column, Some(column), "{line}");
    }
    let phase = "[[job.phase]]\nkind = \"print\"\nduration = \"100 h\"\n";
    let problem = only_problem(&(run_with("", TABLE) + phase), DAY);
    says(&problem, &["`job.phase` can't stand beside `job.profile`"]);
}

#[test]
fn mistakes_in_a_table_are_shown_where_they_stand() {
    let head = "elapsed_h,feed_g_per_h,bed_degC\n";
    let with = |row: &str| format!("{head}0,0,60\n{row}\n");
    refused(
        "elapsed_h,fed_g_per_h\n0,1\n",
        (1, 11),
        &["no column \"fed_g_per_h\"", "feed_g_per_h"],
    );
    refused(
        "elapsed_h,feed\n0,1\n",
        (1, 11),
        &["in which unit", "feed_mm_per_s"],
    );
    refused(
        "elapsed_h,bed_degC\n0,1\n",
        (1, 1),
        &["neither what is fed", "standing"],
    );
    refused(
        "feed_g_per_h\n10\n",
        (1, 1),
        &["no column says when", "elapsed_h"],
    );
    refused("0,10\n1,20\n", (1, 1), &["does not name the columns"]);
    refused("elapsed_h;feed_g_per_h\n0;1;2\n", (2, 5), &["more than"]);
    refused(
        "elapsed_h,feed_g_per_h,feed_mm_per_s\n0,1,1\n",
        (1, 24),
        &["second column"],
    );
    refused(
        &with("1,twenty,60"),
        (3, 3),
        &["\"twenty\" is not a number", "g/h"],
    );
    refused(&with("1,\"2,5\",60"), (3, 4), &["comma", "2.5"]);
    refused(&with("1,20,"), (3, 6), &["missing", "off"]);
    refused(&with("1,20"), (3, 5), &["bed_degC is missing"]);
    refused(&with("1,20,600"), (3, 6), &["can't be 600", "250 degC"]);
    refused(&with("1,-20,60"), (3, 3), &["can't be -20"]);
    refused(&with("0,20,60"), (3, 1), &["does not come after"]);
    refused(
        &with("1,20,60\n101,0,off"),
        (4, 1),
        &["begins at 101 h", "lasts 100 h"],
    );
    refused(
        &format!("{head}1,20,60\n"),
        (2, 1),
        &["not at the start", "row at 0"],
    );
    refused(
        "elapsed_h,feed_g_per_h,standing\n0,10,1\n",
        (2, 1),
        &["while the filament stands"],
    );
    refused("elapsed_h,standing\n0,0.5\n", (2, 3), &["0 or 1"]);
    refused(
        "elapsed_h,feed_mm_per_s\n0,600\n",
        (2, 3),
        &["not fed at 600 mm/s"],
    );
}

#[test]
fn an_empty_table_says_what_to_write() {
    for table in ["", "elapsed_h,feed_g_per_h\n"] {
        let problem = only_problem(&run_with("", TABLE), table);
        says(&problem, &["this table of a job", "line"]);
    }
}

#[test]
fn a_table_that_is_not_there_is_shown_where_it_is_named() {
    let problem = only_problem(&run_with(MASS, "profile = \"jobb.csv\"\n"), DAY);
    says(&problem, &["no such file", "job.csv"]);
    assert_eq!(problem.line, Some(12));
}

/// Thousands of rows of noise, with a stop of 20 s in every tenth minute and one of two minutes every fiftieth:
/// gathered and rounded, the mass fed and the motors' heat stay, and the long stops are where they were.
#[test]
fn a_table_of_many_states_is_gathered_and_says_so() {
    let mut table = "elapsed_min,feed_g_per_h,motion\n0,0,0\n".to_owned();
    let mut minutes = Vec::new();
    for minute in 1..3_000_i32 {
        let noise = f64::from(minute * 7_919 % 1_000) / 1_000.0;
        let feed = if minute > 1 && minute % 50 < 2 {
            0.0
        } else {
            20.0 + 5.0 * noise
        };
        let motion = 0.5 + 0.4 * noise;
        writeln!(table, "{minute},{feed:.3},{motion:.3}").expect("string");
        if minute % 10 == 5 {
            writeln!(
                table,
                "{},0,1\n{},{feed:.3},{motion:.3}",
                f64::from(minute) + 1.0 / 3.0,
                f64::from(minute) + 2.0 / 3.0
            )
            .expect("string");
        }
        minutes.push((minute, feed));
    }
    let loaded = loaded(&table);
    says(&loaded.warnings[0], &["different states", "5 min", "0.5 %"]);
    let phases = &loaded.run.phases;
    assert!(phases.len() < 900, "{}", phases.len());
    let at = |minute: f64| {
        phases
            .iter()
            .find(|p| p.begin_s <= 60.0 * minute && 60.0 * minute < p.end_s)
    };
    for (minute, feed) in &minutes {
        let phase = at(f64::from(*minute) + 0.1).expect("a phase");
        assert_eq!(phase.kind == PhaseKind::Pause, *feed == 0.0, "{minute}");
        assert!(
            phase.length_s() <= 300.0 + 1e-6 || *minute == 2_999,
            "{minute}"
        );
        if *feed > 0.0 {
            let ours = phase.feed_kg_per_s * 3.6e6;
            assert!((15.0..25.2).contains(&ours), "{minute}: {ours}");
        }
    }
    // Rounding a feed is off by 0.5 % at most, either way: together far less.
    let fed: f64 = phases.iter().map(|p| p.feed_kg_per_s * p.length_s()).sum();
    assert!((fed / loaded.run.part.mass_kg - 1.0).abs() < 1e-3, "{fed}");
}

/// A stop in two rows is as long as they are together.
#[test]
fn a_stop_cut_into_rows_is_one_stop() {
    let mut table = "elapsed_s,feed_g_per_h,motion\n0,0,0\n".to_owned();
    for k in 1..300 {
        let (t, motion) = (120 * k, f64::from(k) / 300.0);
        writeln!(
            table,
            "{t},20,{motion:.4}\n{},0,0.1\n{},0,0.2",
            t + 80,
            t + 100
        )
        .expect("string");
    }
    let run = loaded(&table).run;
    // Forty seconds are more than the usual longest stop of thirty, so all 299 are left.
    let standing_s: f64 = run
        .phases
        .iter()
        .filter(|p| p.kind == PhaseKind::Pause && p.end_s < 36_000.0)
        .map(|p| p.length_s())
        .sum();
    assert!((standing_s - 298.0 * 40.0).abs() < 41.0, "{standing_s}");
}

#[test]
fn studies_change_a_table_as_they_change_phases() {
    let loaded = loaded(DAY);
    let mut inputs = loaded.inputs.clone();
    inputs.cool_bed(4.0);
    let cooler = inputs.to_run().expect("valid");
    for (a, b) in loaded.run.phases.iter().zip(&cooler.phases) {
        let by_K = a.bed_K.zip(b.bed_K).map(|(a, b)| a - b);
        assert!(by_K.is_none_or(|by_K| (by_K - 4.0).abs() < 1e-9));
        assert_eq!(a.bed_K.is_some(), b.bed_K.is_some());
    }
    // Another material: the same volume at its own temperatures, and what is off stays off.
    let mut other = loaded.run.material.clone();
    (other.density_kg_per_m3, other.bed_K, other.nozzle_K) =
        (2.0 * other.density_kg_per_m3, 350.0, 500.0);
    let mut inputs = loaded.inputs.clone();
    inputs.take_material(&other);
    let run = inputs.to_run().expect("valid");
    assert!((run.part.mass_kg - 5.08).abs() < 1e-9);
    assert!((run.part.height_m / loaded.run.part.height_m - 1.0).abs() < 1e-9);
    assert_eq!(
        (run.phases[1].bed_K, run.phases[1].nozzle_K),
        (Some(350.0), Some(500.0))
    );
    assert_eq!((run.phases[4].bed_K, run.phases[4].nozzle_K), (None, None));
}

#[test]
fn a_variant_replaces_the_table_by_phases() {
    let text = run_with("", TABLE)
        + "[[compare]]\nname = \"evenly\"\npart.mass = \"2.54 kg\"\njob.soak = \"1 h\"\n";
    let loaded = load_run(&text, DAY).expect("valid");
    let kinds: Vec<_> = loaded.compare[0]
        .run
        .phases
        .iter()
        .map(|p| p.kind)
        .collect();
    assert_eq!(
        kinds,
        [PhaseKind::HeatUp, PhaseKind::Soak, PhaseKind::Print]
    );
}

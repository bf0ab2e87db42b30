use crate::keys::problem::Problems;
use crate::run::{Arrangement, ArrangementKind, PhaseKind, Run};
use crate::runfile::{DEMO_RUN, demo};

/// The demo with other tables behind its own, and some of its job's lines replaced.
fn with(job: &str, tables: &str) -> Result<Run, Problems> {
    let text = DEMO_RUN.replace("[part]\nmass", &format!("{tables}\n[part]\nmass"));
    let text = text.replace("filament = \"dry\"", &format!("filament = \"dry\"\n{job}"));
    demo_of(&text)
}

fn demo_of(text: &str) -> Result<Run, Problems> {
    let text = text.replace("series = \"weather.csv\"", "temperature = \"31 degC\"");
    let catalogue = crate::catalogue::Catalogue::embedded();
    crate::runfile::parse(&text, "run.toml", None, &catalogue).map(|loaded| loaded.run)
}

fn of_kind(run: &Run, kind: PhaseKind) -> Vec<(f64, f64)> {
    let phases = run.phases.iter().filter(|phase| phase.kind == kind);
    phases.map(|phase| (phase.begin_s, phase.end_s)).collect()
}

fn fed_kg(run: &Run, until_s: f64) -> f64 {
    let phases = run.phases.iter();
    let each = phases.map(|p| p.feed_kg_per_s * (p.end_s.min(until_s) - p.begin_s).max(0.0));
    each.sum()
}

fn near(found: &[(f64, f64)], expected: &[(f64, f64)]) {
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for (found, expected) in found.iter().zip(expected) {
        let off = (found.0 - expected.0)
            .abs()
            .max((found.1 - expected.1).abs());
        assert!(off < 1e-6, "{found:?} is not {expected:?}");
    }
}

/// By hand: of 121 h (7260 min), 15 min heat up and two changes take 8 min, so 7237 min print 2.3 kg. The first
/// spool is used up after 7237 / 2.3 = 3146.522 min of printing, 3161.522 min after the start; the second after twice
/// the printing and one change, 15 + 6293.043 + 4 = 6312.043 min: Wed 15 July 11:41:31 and Fri 17 July 16:12:03.
#[test]
fn two_changes_of_the_demo_by_hand() {
    let run = with("", "[spool]\nmass = \"1 kg\"").expect("a run");
    let (first, second) = (3_161.521_739_130_435 * 60.0, 6_312.043_478_260_87 * 60.0);
    let expected = [(first, first + 240.0), (second, second + 240.0)];
    near(&of_kind(&run, PhaseKind::SpoolChange), &expected);
    for (number, change) in [(1.0, first), (2.0, second)] {
        assert!((fed_kg(&run, change) - number).abs() < 1e-12);
    }
    assert!((fed_kg(&run, run.duration_s) - 2.3).abs() < 1e-12);
    // The demo's spool hangs in the room: nobody opens the machine for it.
    assert!(run.schedule.is_empty());
}

/// By hand: 0.3 kg, 1.3 kg and 2.3 kg are used up; the last with the job, which wants no change.
#[test]
fn a_spool_used_up_with_the_job_is_not_changed() {
    let run = with("", "[spool]\nmass = \"1 kg\"\non_first = \"300 g\"").expect("a run");
    let rate_min_per_kg = 7_237.0 / 2.3;
    let first = (15.0 + 0.3 * rate_min_per_kg) * 60.0;
    let second = (15.0 + 1.3 * rate_min_per_kg + 4.0) * 60.0;
    let expected = [(first, first + 240.0), (second, second + 240.0)];
    near(&of_kind(&run, PhaseKind::SpoolChange), &expected);
}

/// A minute's feed is 2.3 kg / 7241 = 0.32 g: a spool that lacks 0.2 g at the end is as good as enough, one that
/// lacks 10 g (31 min) is not.
#[test]
fn what_lacks_a_minute_is_not_worth_a_change() {
    for (lacks_g, changes) in [(0.2, 0), (10.0, 1)] {
        let spool = format!("[spool]\nmass = \"{} g\"", 2_300.0 - lacks_g);
        let run = with("", &spool).expect("a run");
        assert_eq!(of_kind(&run, PhaseKind::SpoolChange).len(), changes);
    }
}

/// By hand: a pause of 600 min from 20 h on (1200 min) moves the clock on and feeds nothing. 7237 - 600 = 6637 min
/// print; the first kilogram takes 2885.652 min of them and ends 15 + 2885.652 + 600 min after the start.
#[test]
fn pauses_move_the_clock_and_not_the_mass() {
    let pause = "pause = [{ at = \"20 h\", duration = \"10 h\" }]";
    let run = with(pause, "[spool]\nmass = \"1 kg\"").expect("a run");
    let kg_min = 6_637.0 / 2.3;
    let first = (15.0 + kg_min + 600.0) * 60.0;
    let second = (15.0 + 2.0 * kg_min + 604.0) * 60.0;
    let expected = [(first, first + 240.0), (second, second + 240.0)];
    near(&of_kind(&run, PhaseKind::SpoolChange), &expected);
    assert!((fed_kg(&run, first) - 1.0).abs() < 1e-12);
}

/// By hand, one change of 4 min (spools of 2 kg), which begins 2 min before a pause of 20 min: only the 2 min before it
/// are taken from printing. So 7260 - 15 - 20 - 2 = 7223 min print, 2 kg are fed after 7223 / 1.15 = 6280.870 min, and
/// the pause that begins 2 min later lies at 6297.870 min.
#[test]
fn a_change_goes_on_in_a_pause() {
    let change_min = 15.0 + 7_223.0 / 1.15;
    let pause = format!(
        "pause = [{{ at = \"{} min\", duration = \"20 min\" }}]",
        change_min + 2.0
    );
    let run = with(&pause, "[spool]\nmass = \"2 kg\"").expect("a run");
    let at = |min: f64| (change_min + min) * 60.0;
    near(
        &of_kind(&run, PhaseKind::SpoolChange),
        &[(at(0.0), at(4.0))],
    );
    near(&of_kind(&run, PhaseKind::Pause), &[(at(4.0), at(22.0))]);
    assert!((fed_kg(&run, at(0.0)) - 2.0).abs() < 1e-9);
    assert!((fed_kg(&run, run.duration_s) - 2.3).abs() < 1e-12);
}

/// A pause within a change takes nothing from printing: 7260 - 15 - 30 = 7215 min print.
#[test]
fn a_pause_within_a_long_change_is_swallowed() {
    let change_min = 15.0 + 7_215.0 / 1.15;
    let pause = format!(
        "pause = [{{ at = \"{} min\", duration = \"5 min\" }}]",
        change_min + 10.0
    );
    let spool = "[spool]\nmass = \"2 kg\"\nchange_takes = \"30 min\"";
    let run = with(&pause, spool).expect("a run");
    let begin_s = change_min * 60.0;
    let expected = [(begin_s, begin_s + 1_800.0)];
    near(&of_kind(&run, PhaseKind::SpoolChange), &expected);
    assert!(of_kind(&run, PhaseKind::Pause).is_empty());
}

/// The door stands open where the spool hangs in the chamber, unless the run says otherwise, and what is scheduled
/// leaves room for it.
#[test]
fn the_door_follows_the_spool() {
    let inside = |spool: &str, job: &str| {
        let text = DEMO_RUN.replace(
            "name = \"bench-220\" ",
            "name = \"bench-220\"\nspool = \"chamber top\" ",
        );
        let text = text.replace("[part]\nmass", &format!("{spool}\n[part]\nmass")) + job;
        demo_of(&text).expect("a run")
    };
    let opened = |run: &Run| {
        let doors = run.schedule.iter();
        let doors = doors.filter(|s| s.arrangement == Arrangement::of(ArrangementKind::DoorOpen));
        doors.map(|s| (s.begin_s, s.end_s)).collect::<Vec<_>>()
    };
    let run = inside("[spool]\nmass = \"2 kg\"", "");
    assert_eq!(opened(&run), of_kind(&run, PhaseKind::SpoolChange));
    assert_eq!(opened(&run).len(), 1);
    let shut = inside("[spool]\nmass = \"2 kg\"\ndoor = \"shut\"", "");
    assert!(opened(&shut).is_empty());
    // 7241 min print; at 104.9 h the change is due, within what is scheduled.
    let lid =
        "\n[[arrangement.schedule]]\nkind = \"lid off\"\nat = \"100 h\"\nduration = \"10 h\"\n";
    let run = inside("[spool]\nmass = \"2 kg\"", lid);
    let names: Vec<_> = run.schedule.iter().map(|s| s.arrangement.name()).collect();
    assert_eq!(names, ["lid off", "door open", "lid off"]);
    assert_eq!(opened(&run), of_kind(&run, PhaseKind::SpoolChange));
}

/// What the job says itself is what happens.
#[test]
fn typed_changes_are_what_happens() {
    let typed = "spool_change = [{ at = \"30 h\", duration = \"6 min\" }]";
    let run = with(typed, "[spool]\nmass = \"1 kg\"").expect("a run");
    near(
        &of_kind(&run, PhaseKind::SpoolChange),
        &[(108_000.0, 108_360.0)],
    );
    let phases = DEMO_RUN.replace("heat_up = \"15 min\"\n", "")
        + "[[job.phase]]\nkind = \"print\"\n[spool]\nmass = \"1 kg\"\n";
    let run = demo_of(&phases).expect("a run");
    assert_eq!(run.phases.len(), 1);
    assert!(run.spool.is_some());
}

#[test]
fn nonsense_is_refused_with_what_to_write() {
    for (tables, said) in [
        ("[spool]\nmass = \"0 kg\"", "`spool.mass`"),
        (
            "[spool]\nmass = \"1 kg\"\nchange_takes = \"70 h\"",
            "2 spool changes of",
        ),
        (
            "[spool]\nmass = \"1 kg\"\non_first = \"2 kg\"",
            "the first spool would hold 2 kg",
        ),
        (
            "[shop]\nhours = \"eight to six\"",
            "neither a day nor a range",
        ),
        ("[shop]\nhours = \"Mon-Fri\"", "names days and no times"),
    ] {
        let problems = with("", tables).expect_err(tables).to_string();
        assert!(problems.contains(said), "{problems}");
    }
    let many = with("", "[spool]\nmass = \"10 g\"\nchange_takes = \"1 s\"");
    assert_eq!(
        of_kind(&many.expect("a run"), PhaseKind::SpoolChange).len(),
        229
    );
}

/// A run that says nothing of its spools' mass is the same as one without these keys: the same run, and the same values
/// in doubt.
#[test]
fn without_a_mass_nothing_changes() {
    let silent = with("", "").expect("a run");
    let said = with(
        "",
        "[spool]\nchange_takes = \"9 min\"\n[shop]\nhours = \"Mon-Fri 08:00-18:00\"",
    );
    let mut said = said.expect("a run");
    assert!(said.staffed.take().is_some());
    assert_eq!(said, silent);
    let catalogue = crate::catalogue::Catalogue::embedded();
    let doubtful = |tables: &str| {
        let text = format!("{DEMO_RUN}\n{tables}")
            .replace("series = \"weather.csv\"", "temperature = \"31 degC\"");
        let loaded = crate::runfile::parse(&text, "run.toml", None, &catalogue).expect("a run");
        let all = loaded.inputs.doubtful();
        all.iter()
            .map(|d| d.input.key().to_owned())
            .collect::<Vec<_>>()
    };
    assert_eq!(doubtful("[spool]\nchange_takes = \"9 min\""), doubtful(""));
    let more = doubtful("[spool]\nmass = \"1 kg\"");
    assert!(more.contains(&"spool.change_takes".to_owned()));
    assert_eq!(more.len(), doubtful("").len() + 1);
    assert_eq!(demo().run.spool, None);
}

/// Whatever pauses there are: phases follow each other without a gap, all is fed, a change begins when its spools are
/// used up, nothing is fed in a change or a typed pause, and every change lasts as long as it should.
#[test]
fn mass_and_time_agree_with_any_pauses() {
    // Numbers by a rule, so that a failure comes again (Numerical Recipes' generator, 32 bits).
    let mut state: u32 = 7;
    let mut next = |low: f64, high: f64| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        low + (high - low) * f64::from(state >> 8) / f64::from(1_u32 << 24)
    };
    let mut met = 0;
    for _ in 0..150 {
        let (full_kg, takes_s) = (next(0.05, 0.4), next(60.0, 5_000.0).round());
        let mut pauses = Vec::new();
        let mut now_s = 1_000.0;
        while now_s < 380_000.0 {
            let begin_s = (now_s + next(1.0, 40_000.0)).round();
            let end_s = (begin_s + next(60.0, 9_000.0)).round();
            pauses.push((begin_s, end_s));
            now_s = end_s;
        }
        let list: Vec<_> = pauses
            .iter()
            .map(|(from, to)| format!("{{ at = \"{from} s\", duration = \"{} s\" }}", to - from))
            .collect();
        let spool = format!("[spool]\nmass = \"{full_kg} kg\"\nchange_takes = \"{takes_s} s\"");
        let run = with(&format!("pause = [{}]", list.join(", ")), &spool).expect("a run");
        let ends = run.phases.windows(2).all(|p| p[0].end_s == p[1].begin_s);
        assert!(
            ends && run.phases.iter().all(|p| p.length_s() > 0.0),
            "{run:?}"
        );
        assert!((fed_kg(&run, run.duration_s) - 2.3).abs() < 1e-9);
        let changes = of_kind(&run, PhaseKind::SpoolChange);
        assert_eq!(changes.len(), (2.3 / full_kg).floor() as usize);
        for (k, (begin_s, end_s)) in changes.iter().enumerate() {
            let before_kg = (k + 1) as f64 * full_kg;
            assert!(
                (fed_kg(&run, *begin_s) - before_kg).abs() < 1e-6,
                "{k} of {spool} {list:?}"
            );
            assert!((end_s - begin_s - takes_s).abs() < 1e-6);
            met += pauses
                .iter()
                .filter(|(from, to)| from < end_s && begin_s < to)
                .count();
        }
        for (from, to) in &pauses {
            assert!((fed_kg(&run, *to) - fed_kg(&run, *from)).abs() < 1e-12);
        }
    }
    assert!(met > 50, "only {met} changes met a pause");
}

/// By hand, one change of 60 min (spools of 2 kg) and a pause of 60 min. If the change comes within the pause, it costs no
/// printing: 7260 - 15 - 60 = 7185 min print, and it is due at 15 + 7185 / 1.15 = 6262.826 min. If it comes beside it, 7125
/// print and it is due at 6210.652 min, before a pause that begins later. So one that begins at 6240 min can only meet it
/// just as the spool is used up: 6225 min have printed then, 6225 x 1.15 = 7158.75 in all, and the change costs the
/// 26.25 min that are missing from 7185: it ends so long after the pause.
#[test]
fn a_spool_used_up_just_as_a_pause_begins() {
    let pause = "pause = [{ at = \"6240 min\", duration = \"60 min\" }]";
    let spool = "[spool]\nmass = \"2 kg\"\nchange_takes = \"60 min\"";
    let run = with(pause, spool).expect("a run");
    let expected = [(6_266.25 * 60.0, 6_326.25 * 60.0)];
    near(&of_kind(&run, PhaseKind::SpoolChange), &expected);
    assert!((fed_kg(&run, 6_240.0 * 60.0) - 2.0).abs() < 1e-9);
}

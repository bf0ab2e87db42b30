//! Phases, pauses, spool changes.

use super::{GOOD, plus, refused, run};
use crate::run::{ArrangementKind, PhaseKind};

#[test]
fn pauses_and_spool_changes_cut_the_printing_and_feed_nothing() {
    let text = plus(
        "job",
        "heat_up = \"15 min\"\nsoak = \"45 min\"\ncool_down = \"2 h\"",
    ) + "[[job.spool_change]]\nat = \"61 h\"\nduration = \"4 min\"\ndoor = \"open\"\n[[job.pause]]\nat = \"30 h\"\nduration = \"20 min\"\n";
    let run = run(&text).run;
    use PhaseKind::{CoolDown, HeatUp, Pause, Print, Soak, SpoolChange};
    let kinds: Vec<_> = run.phases.iter().map(|p| p.kind).collect();
    assert_eq!(
        kinds,
        [
            HeatUp,
            Soak,
            Print,
            Pause,
            Print,
            SpoolChange,
            Print,
            CoolDown
        ]
    );
    for pair in run.phases.windows(2) {
        assert!(
            (pair[0].end_s - pair[1].begin_s).abs() < 1e-9,
            "no hole between phases"
        );
    }
    let at: Vec<_> = run.phases.iter().map(|p| p.begin_s / 3_600.0).collect();
    for (got, want) in at.iter().zip([
        0.0,
        0.25,
        1.0,
        30.0,
        30.0 + 1.0 / 3.0,
        61.0,
        61.0 + 1.0 / 15.0,
        98.0,
    ]) {
        assert!((got - want).abs() < 1e-9, "{at:?}");
    }
    let fed: f64 = run
        .phases
        .iter()
        .map(|p| p.feed_kg_per_s * (p.end_s - p.begin_s))
        .sum();
    assert!((fed - 2.3).abs() < 1e-9);
    let pause = &run.phases[3];
    assert!(pause.feed_kg_per_s == 0.0 && pause.bed_K.is_some() && pause.feeder_duty > 0.0);
    let cool = &run.phases[7];
    assert!(cool.bed_K.is_none() && cool.nozzle_K.is_none() && cool.motion_duty == 0.0);
    assert_eq!(run.schedule.len(), 1, "the door stands open for the spool");
    assert_eq!(run.schedule[0].arrangement.kind, ArrangementKind::DoorOpen);
    assert!((run.schedule[0].end_s - run.schedule[0].begin_s - 240.0).abs() < 1e-6);
}

#[test]
fn a_list_of_phases_is_taken_as_it_stands() {
    let text = GOOD.to_owned()
        + "[[job.phase]]\nkind = \"heat up\"\nduration = \"1 h\"\n\
           [[job.phase]]\nkind = \"print\"\nduration = \"50 h\"\nfeed = \"20 g/h\"\nbed = \"65 degC\"\n\
           [[job.phase]]\nkind = \"pause\"\nduration = \"9 h\"\nmotion = 0\n\
           [[job.phase]]\nkind = \"print\"\nduration = \"40 h\"\n";
    let run = run(&text).run;
    assert_eq!(run.phases.len(), 4);
    assert!((run.phases[1].bed_K.expect("on") - 338.15).abs() < 1e-9);
    assert!(run.phases[2].motion_duty == 0.0 && (run.phases[2].feeder_duty - 1.0).abs() < 1e-12);
    // 2.3 kg less 50 h of 20 g/h leaves 1.3 kg for 40 h.
    assert!((run.phases[3].feed_kg_per_s * 3_600.0 - 1.3 / 40.0).abs() < 1e-9);
}

fn phases(list: &str) -> String {
    GOOD.to_owned() + list
}

#[test]
fn phases_that_do_not_add_up_say_by_how_much() {
    let text = phases("[[job.phase]]\nkind = \"print\"\nduration = \"97 h\"\n");
    refused(
        &text,
        (17, 12),
        &["add up to 97 h", "lasts 100 h", "3 h longer"],
    );
    let text = phases("[[job.phase]]\nkind = \"print\"\nduration = \"101 h\"\n");
    refused(&text, (17, 12), &["60 min shorter"]);
}

/// The last phase takes the second that sums of hours may be off by. Where that is all of it, nothing would be
/// printed, and the part's mass be fed in no time.
#[test]
fn the_last_phase_is_not_rounded_away() {
    let hours = "[[job.phase]]\nkind = \"heat up\"\nduration = \"100 h\"\n";
    let print = "[[job.phase]]\nkind = \"print\"\nduration = \"1 s\"\n";
    refused(
        &phases(&format!("{hours}{print}")),
        (20, 12),
        &["the run lasts 100 h", "1 s shorter"],
    );
    let shorter = hours.replace("100 h", "359999.2 s");
    let run = run(&phases(&format!("{shorter}{print}"))).run;
    let last = run.phases.last().expect("it prints");
    let fed_kg = last.feed_kg_per_s * (last.end_s - last.begin_s);
    assert!((fed_kg - 2.3).abs() < 1e-9, "{last:?}");
}

#[test]
fn phases_must_print_and_feed_what_the_part_weighs() {
    let text = phases("[[job.phase]]\nkind = \"pause\"\nduration = \"100 h\"\n");
    refused(&text, (15, 1), &["no phase prints"]);
    let text = phases("[[job.phase]]\nkind = \"print\"\nduration = \"100 h\"\nfeed = \"20 g/h\"\n");
    refused(&text, (15, 1), &["feed 2 kg", "mass is 2.3 kg"]);
    let text = phases(
        "[[job.phase]]\nkind = \"print\"\nduration = \"99 h\"\n[[job.phase]]\nkind = \"pause\"\nduration = \"1 h\"\nfeed = \"20 g/h\"\n",
    );
    refused(&text, (21, 8), &["only a phase of kind \"print\""]);
    let text = phases("[[job.phase]]\nkind = \"printt\"\nduration = \"100 h\"\n");
    refused(&text, (16, 8), &["did you mean \"print\""]);
}

#[test]
fn a_list_of_phases_and_the_short_form_exclude_each_other() {
    let text =
        plus("job", "soak = \"1 h\"") + "[[job.phase]]\nkind = \"print\"\nduration = \"100 h\"\n";
    refused(&text, (12, 8), &["beside a list of [[job.phase]]"]);
}

#[test]
fn pauses_must_lie_within_the_printing_and_apart() {
    let text = GOOD.to_owned() + "[[job.pause]]\nat = \"130 h\"\nduration = \"20 min\"\n";
    refused(
        &text,
        (16, 6),
        &["printing lasts from 0.25 h (Mon 2026-07-13 07:15) to 100 h ("],
    );
    let text = GOOD.to_owned()
        + "[[job.pause]]\nat = \"30 h\"\nduration = \"20 min\"\n[[job.spool_change]]\nat = \"30.1 h\"\nduration = \"4 min\"\n";
    refused(
        &text,
        (19, 6),
        &["spool change begins at 30.1 h", "pause before it"],
    );
}

#[test]
fn something_must_be_left_for_printing() {
    refused(
        &plus("job", "cool_down = \"100 h\""),
        (12, 13),
        &["nothing is left for printing"],
    );
    let text = GOOD.to_owned() + "[[job.pause]]\nat = \"0.25 h\"\nduration = \"99.75 h\"\n";
    refused(&text, (11, 1), &["leave no time for printing"]);
}

/// What is fed has to melt: PLA softens at 55 degC, so that a nozzle of 25 lets nothing through.
#[test]
fn a_nozzle_colder_than_the_material_is_refused() {
    refused(
        &plus("job", "nozzle = \"25 degC\""),
        (12, 10),
        &["can't melt pla", "usual is about 210"],
    );
}

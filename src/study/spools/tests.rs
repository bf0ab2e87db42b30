use super::*;
use crate::catalogue::Catalogue;
use crate::runfile::DEMO_RUN;

/// The demo in an even room, with more in its job, and other tables.
fn run(job: &str, tables: &str) -> Run {
    let text = DEMO_RUN
        .replace("series = \"weather.csv\"", "temperature = \"31 degC\"")
        .replace("filament = \"dry\"", &format!("filament = \"dry\"\n{job}"))
        .replace("[part]\nmass", &format!("{tables}\n[part]\nmass"));
    let loaded = crate::runfile::parse(&text, "run.toml", None, &Catalogue::embedded());
    loaded.expect("a run").run
}

fn near(found: f64, expected: f64) {
    assert!(
        (found - expected).abs() < 1e-6 * expected.abs().max(1.0),
        "{found} is not {expected}"
    );
}

const HOURS: &str = "[shop]\nhours = \"Mon-Fri 08:00-16:00\"\n";

/// By hand (see the changes' own test): used up 3161.522 and 6312.043 min after Mon 07:00, which is Wed 11:41:31 and
/// Fri 16:12:03; with 4 min to change each. 0.3 kg are drawn from the third until 121 h.
#[test]
fn three_spools_of_the_demo() {
    let found = spools(&run("", &format!("{HOURS}[spool]\nmass = \"1 kg\"")));
    let (first, second) = (3_161.521_739_130_435 * 60.0, 6_312.043_478_260_87 * 60.0);
    let expected = [
        (1.0, 0.0, first, Some(first), true, true),
        (1.0, first + 240.0, second, Some(second), true, false),
        (0.3, second + 240.0, 435_600.0, None, false, false),
    ];
    assert_eq!(found.len(), 3);
    for (k, (spool, (drawn_kg, begin_s, end_s, out_s, is_changed, staffed))) in
        found.iter().zip(expected).enumerate()
    {
        assert_eq!(spool.number, k + 1);
        near(spool.drawn_kg, drawn_kg);
        near(spool.begin_s, begin_s);
        near(spool.end_s, end_s);
        assert_eq!(spool.runs_out_s.is_some(), out_s.is_some());
        near(spool.runs_out_s.unwrap_or(1.0), out_s.unwrap_or(1.0));
        assert_eq!(spool.is_changed, is_changed);
        assert_eq!(spool.staffed, Some(staffed));
        assert!(!spool.is_changed_too_late());
    }
    assert_eq!(spools(&run("", "")), []);
}

/// Of 0.3, 1 and 1 kg the last is used up with the job: nobody has to come.
#[test]
fn a_spool_that_ends_with_the_job_has_no_change() {
    let found = spools(&run("", "[spool]\nmass = \"1 kg\"\non_first = \"300 g\""));
    let drawn: Vec<f64> = found
        .iter()
        .map(|s| (s.drawn_kg * 1e6).round() / 1e6)
        .collect();
    assert_eq!(drawn, [0.3, 1.0, 1.0]);
    assert_eq!(found[2].runs_out_s, Some(435_600.0));
    assert!(!found[2].is_changed);
    assert_eq!(found[2].staffed, None);
}

/// By hand: with one change of 4 min typed at 60 h, 7241 min print 2.3 kg, 3148.261 min a kilogram: the first spool is
/// used up 3163.261 min after the start, 52.7 h, more than 7 h before its change. The second draws on from 60 h 4 min
/// and is used up 3148.261 min later, 112.54 h; no change comes any more.
#[test]
fn typed_changes_that_come_too_late_or_not_at_all() {
    let typed = "spool_change = [{ at = \"60 h\", duration = \"4 min\" }]";
    let found = spools(&run(typed, "[spool]\nmass = \"1 kg\""));
    let kg_s = 7_241.0 / 2.3 * 60.0;
    assert_eq!(found.len(), 3);
    near(found[0].runs_out_s.expect("used up"), 900.0 + kg_s);
    near(found[0].end_s, 216_000.0);
    near(found[0].drawn_kg, (216_000.0 - 900.0) / kg_s);
    assert!(found[0].is_changed_too_late());
    near(found[1].end_s, 216_240.0 + kg_s);
    near(found[1].drawn_kg, 1.0);
    assert!(!found[1].is_changed && found[1].runs_out_s == Some(found[1].end_s));
    near(found.iter().map(|s| s.drawn_kg).sum(), 2.3);
    // One that is changed early has something left.
    let early = spools(&run(
        &typed.replace("60 h", "40 h"),
        "[spool]\nmass = \"1.6 kg\"",
    ));
    assert_eq!(early[0].runs_out_s, None);
    assert!(early[0].is_changed && early.len() == 2);
}

//! Logs of a run, changed: read, or refused in words; what is read lies on the run's clock, in order, and is a temperature.

use dogdays::keys::Problems;
use dogdays::run::{Arrangement, ArrangementKind, Run};
use dogdays::runfile::logs::{Begins, LogFile, Places, of_option, read_all};
use fastrand::Rng;
use std::fmt::Write as _;
use std::path::PathBuf;

use crate::mutate::{self, pick};

/// A log of the demo's first evening.
pub fn log() -> String {
    let mut text =
        "time,feeder motor_degC,Air top (°C),T3 °F,room_degC,duty %,fan,lid,bed_W\n2026-07-13 06:50,23.1,23.0,73.5,23.0,0,off,closed,0\n"
            .to_owned();
    for k in 0..60 {
        let warm = 20.0 * (1.0 - f64::exp(-f64::from(k) / 9.0));
        let [a, b] = [23.1 + warm, 23.0 + 0.8 * warm].map(|t| (10.0 * t).round() / 10.0);
        let f = (10.0 * (73.5 + 1.5 * warm)).round() / 10.0;
        let (hour, minute) = (7 + k / 6, 10 * (k % 6));
        let room = 23.0 + f64::from(k % 4) / 10.0;
        let fan = if k % 9 < 4 { "on" } else { "off" };
        let power = if k < 4 { 400 } else { 90 + k % 5 };
        let lid = if k == 40 { "open" } else { "closed" };
        writeln!(
            text,
            "2026-07-13 {hour:02}:{minute:02},{a},{b},{f},{room},55,{fan},{lid},{power}"
        )
        .expect("string");
    }
    text
}

/// What may be said of its columns.
const SAID: [&str; 13] = [
    "T3 = drive gear",
    "T3 = drive gear within 0.5 K in degC",
    "duty % = bed in K",
    "room = nothing",
    "T3 = room",
    "duty % = fan",
    "fan = door open",
    "fan = nothing",
    "lid = door in K",
    "duty % = bed heater",
    "duty % = bed heater in W within 5 W",
    "fan = bed heater",
    "bed_W = bed heater in %",
];

/// What may be said of when it began: nothing, mostly.
const BEGINS: [Option<&str>; 6] = [
    None,
    None,
    None,
    Some("0 h"),
    Some("Mon 06:50"),
    Some("07:00"),
];

/// A log of which somebody said something.
#[derive(Debug, Clone, Copy)]
pub struct Said {
    column: &'static str,
    begins: Option<&'static str>,
}

/// The log as a logger writes it that knows no date: minutes from its begin.
fn counted() -> String {
    let log = log();
    let mut lines = log
        .lines()
        .map(|line| line.split_once(',').expect("cells").1);
    let mut text = format!("Elapsed (min),{}\n", lines.next().expect("a header"));
    for (line, k) in lines.zip(-1..) {
        writeln!(text, "{},{line}", 10 * k).expect("string");
    }
    text
}

/// The same with times of day and no date.
fn clocked() -> String {
    log().replace("2026-07-13 ", "")
}

/// A log changed, and what is said of it.
pub fn changed(random: &mut Rng) -> (String, Said) {
    let column = pick::<&str>(random, &SAID);
    let begins = pick::<Option<&str>>(random, &BEGINS);
    let log = match random.u8(..8) {
        0 => counted(),
        1 => clocked(),
        _ => log(),
    };
    (
        mutate::csv(random, &log),
        Said {
            column,
            begins: *begins,
        },
    )
}

/// Reads it as a log of that run.
pub fn read(path: PathBuf, said: Said, run: &Run) -> Result<(), Problems> {
    let names = ["feeder motor", "drive gear", "air top", "bed"].map(str::to_owned);
    let find = |words: &str| names.iter().find(|name| *name == words).cloned();
    let places = Places {
        find: &find,
        names: &names,
    };
    let column = of_option(said.column).expect("a column");
    let begins = said
        .begins
        .map(|text| Begins::of_option(text).expect("a moment"));
    let file = LogFile::at(path).begun(begins);
    for read in read_all(&[file], &[column], run, &places)? {
        let columns = read.log.columns.iter();
        let all = columns.map(|column| &column.rows).chain([&read.log.room]);
        for rows in all {
            assert!(rows.windows(2).all(|pair| pair[0].0 < pair[1].0));
            let is_sound = |(t_s, shown_K): &(f64, f64)| {
                *t_s <= run.duration_s && (233.0..=874.0).contains(shown_K)
            };
            assert!(rows.iter().all(is_sound), "{rows:?}");
        }
        for switched in &read.log.switched {
            assert!(0.0 <= switched.from_s && switched.to_s <= run.duration_s);
            let ends = switched
                .on_s
                .iter()
                .flat_map(|(begin_s, end_s)| [*begin_s, *end_s]);
            let times: Vec<f64> = ends.collect();
            assert!(times.windows(2).all(|pair| pair[0] < pair[1]), "{times:?}");
            let within = switched.from_s..=switched.to_s;
            assert!(times.iter().all(|t_s| within.contains(t_s)), "{times:?}");
        }
        for mean in read.log.powers.iter().flat_map(|power| &power.rows) {
            assert!(0.0 <= mean.from_s && mean.from_s < mean.to_s);
            assert!(
                mean.to_s <= run.duration_s + 1e-3 && mean.power_W >= 0.0,
                "{mean:?}"
            );
        }
        let columns = read.log.columns.iter();
        assert!(columns.flat_map(|c| &c.rows).all(|row| row.0 >= 0.0));
    }
    Ok(())
}

/// The demo with a fan, which the log's column switches.
pub fn extracting() -> Run {
    let mut demo = dogdays::runfile::demo().run;
    demo.arrangement = Arrangement::of(ArrangementKind::Extracting {
        flow_m3_per_s: 0.01,
    });
    demo
}

#[test]
fn the_log_is_whole_before_it_is_changed() {
    let folder = tempfile::tempdir().expect("a folder");
    let demo = extracting();
    let begun = [
        (counted(), Some("Mon 07:00")),
        (clocked(), Some("2026-07-13 06:50")),
    ];
    for (text, begins) in [(log(), None)].into_iter().chain(begun) {
        let path = folder.path().join("log.csv");
        std::fs::write(&path, text).expect("written");
        let column = SAID[0];
        let said = Said { column, begins };
        read(path, said, &demo).unwrap_or_else(|problems| panic!("{problems}"));
    }
}

//! What to measure, in text and JSON.

use serde_json::{Value, json};

use super::calibrate::counted;
use super::columns::{Column, Columns};
use super::json::{SCHEMA, rounded};
use super::screen::Screen;
use super::words::{date_and_time, iso, moment};
use crate::quantity::{System, format_count, format_difference, format_duration, format_number};
use crate::run::Run;
use crate::study::cautions::Caution;
use crate::study::plan::{Candidate, Kind, Meanwhile, Plan, When};

/// Rows of one kind on a screen of 24 lines.
const ROWS: usize = 2;
/// Less than this brings nothing that a table could show, K.
const NOTHING_K: f64 = 0.05;
/// A weekday and a time say when in a run that is no longer than this, s.
const WEEK_S: f64 = 7.0 * 86_400.0;

/// A margin's width of which so much is left is hardly narrower.
const LITTLE: f64 = 0.9;

/// The answer in a sentence.
#[must_use]
pub fn sentence(run: &Run, p: &Plan, screen: Screen) -> String {
    let mut out = String::new();
    screen.paragraph(&mut out, &answer(run, p, screen.system));
    out
}

fn answer(run: &Run, p: &Plan, system: System) -> String {
    let so_far = match p.rows {
        0 => String::new(),
        rows => format!(
            "After {} of the log, the {} decides. ",
            counted(rows, "row"),
            p.station.name()
        ),
    };
    format!("{so_far}{}", next(run, p, system))
}

/// What to do next.
fn next(run: &Run, p: &Plan, system: System) -> String {
    let width = |K: f64| format!("± {}", format_difference(K, system));
    let before = p.half_width_before_K;
    let Some(first) = p.first.map(|k| &p.candidates[k]) else {
        return format!(
            "No thermometer tells much more: the margin stays known to {}, nine runs of ten.",
            width(before.margin)
        );
    };
    let little = match first.half_width_after_K.margin > LITTLE * before.margin {
        true => ", which is little",
        false => "",
    };
    format!(
        "{}: the margin is then known to {} instead of {} (nine runs of ten){}, the filament at the {} to {} instead of {}.",
        deed(run, first),
        width(first.half_width_after_K.margin),
        width(before.margin),
        little,
        p.station.name(),
        width(first.half_width_after_K.peak),
        width(before.peak),
    )
}

/// What somebody is to do.
fn deed(run: &Run, c: &Candidate) -> String {
    let places = where_(c);
    match c.kind {
        Kind::Reading => format!("Read a thermometer at the {places} once, {}", when(run, c)),
        Kind::TwoReadings => format!("Read a thermometer at the {places} twice, {}", when(run, c)),
        Kind::TwoThermometers => {
            format!("Read a thermometer at the {places} each, {}", when(run, c))
        }
        Kind::Log => format!("Log a thermometer at the {places}, {}", when(run, c)),
        Kind::Evening => format!(
            "Log a thermometer at the {places} {}, {}",
            when(run, c),
            c.meanwhile.name()
        ),
    }
}

fn where_(c: &Candidate) -> String {
    let names: Vec<&str> = c.places.iter().map(|p| p.name.as_str()).collect();
    names.join(" and one at the ")
}

fn when(run: &Run, c: &Candidate) -> String {
    let at = |t_s: f64| date_and_time(run.start, t_s);
    match &c.when {
        When::At(times_s) => {
            let mut each: Vec<String> = times_s.iter().map(|t_s| at(*t_s)).collect();
            each.dedup();
            each.join(" and ")
        }
        When::Log(from_s, to_s) => format!("{} to {}", at(*from_s), at(*to_s)),
        When::Test(lasts_s) => {
            format!(
                "for {} on an evening before the job",
                format_duration(*lasts_s)
            )
        }
    }
}

/// What to type afterwards; `command` is how this command was called, without its options. What is to be typed is not
/// broken into lines that could not be.
fn afterwards(o: &mut String, run: &Run, c: &Candidate, command: &str, screen: Screen) {
    let degrees = match screen.system {
        System::Si => "degC",
        System::Us => "degF",
    };
    let reading = |place: &str, at: &str| format!("--reading \"{place} = ... {degrees} at {at}\"");
    match &c.when {
        When::At(times_s) => {
            let at = |t_s: f64| {
                let t = moment(run.start, t_s);
                let is_short = run.duration_s <= WEEK_S;
                let format = if is_short {
                    "%a %H:%M"
                } else {
                    "%Y-%m-%d %H:%M"
                };
                t.strftime(format).to_string()
            };
            // One place for all moments, or one for each.
            let places = c.places.iter().cycle().zip(times_s);
            let each = places.map(|(place, t_s)| reading(&place.name, &at(*t_s)));
            let each: Vec<String> = each.collect();
            o.push_str(&format!(
                "Then: {command} \\\n      {}\n",
                each.join(" \\\n      ")
            ));
        }
        When::Log(..) => o.push_str(&format!("Then: {command} --log FILE.csv\n")),
        When::Test(_) => {
            let text = "describe that evening in a run file of its own (start, duration, the room as measured, what was on), and name the machine that comes of it in this run's file:";
            screen.hanging(o, "Then: ", "      ", text);
            o.push_str("      dogdays calibrate EVENING.toml --log FILE.csv \\\n      --write my-models/machines/my-machine.toml\n");
        }
    }
}

/// The plan on a screen; `is_verbose` leaves nothing out. `command` is how this command was called, without its options.
#[must_use]
pub fn text(run: &Run, p: &Plan, command: &str, is_verbose: bool, screen: Screen) -> String {
    let mut out = sentence(run, p, screen);
    let first = p.first.map(|k| &p.candidates[k]);
    if let Some(first) = first {
        afterwards(&mut out, run, first, command, screen);
    }
    let shown: Vec<&Candidate> = shown(p, is_verbose);
    if !shown.is_empty() {
        out.push('\n');
        out.push_str(&table(run, &shown, screen));
    }
    let hidden = p.candidates.len() - shown.len();
    if hidden > 0 {
        let text = format!("{} more: --verbose", format_count(hidden));
        screen.hanging(&mut out, "  ", "  ", &text);
    }
    out.push('\n');
    screen.paragraph(&mut out, &left(p, screen.system));
    if is_verbose {
        out.push('\n');
        out.push_str(&tells(&shown, screen));
        out.push('\n');
        screen.paragraph(&mut out, &how(p));
        for caution in cautions(&shown) {
            screen.bullet(&mut out, caution.text());
        }
    } else if !shown.is_empty() {
        let brief: Vec<&str> = cautions(&shown).into_iter().map(Caution::brief).collect();
        screen.paragraph(&mut out, &format!("Mind: {}.", brief.join("; ")));
    }
    out
}

/// The candidates that a screen has room for; of a kind, the best.
fn shown(p: &Plan, is_verbose: bool) -> Vec<&Candidate> {
    let is_shown = |(k, c): &(usize, &Candidate)| {
        let before = &p.candidates[..*k];
        let place = before.iter().filter(|b| b.kind == c.kind).count();
        is_verbose || p.first == Some(*k) || (place < ROWS && c.gain_K.margin >= NOTHING_K)
    };
    let each = p.candidates.iter().enumerate().filter(is_shown);
    each.map(|(_, c)| c).collect()
}

fn table(run: &Run, shown: &[&Candidate], screen: Screen) -> String {
    let unit = screen.system.difference_unit();
    let number = |K: f64| format_number(screen.system.difference(K), 1);
    let cells = |of: &dyn Fn(&Candidate) -> String| shown.iter().map(|c| of(c)).collect();
    let columns = vec![
        Column::words(&["when"], 3, cells(&|c| when_in_short(run, c))),
        Column::numbers(
            &["margin", &format!("± {unit}")],
            0,
            cells(&|c| number(c.half_width_after_K.margin)),
        ),
        Column::numbers(&["gain", unit], 1, cells(&|c| number(c.gain_K.margin))),
        Column::numbers(
            &["filament", &format!("± {unit}")],
            2,
            cells(&|c| number(c.half_width_after_K.peak)),
        ),
    ];
    Columns {
        head: "What to measure, cheapest first".to_owned(),
        names: shown.iter().map(|c| format!("  {}", row(c))).collect(),
        columns,
    }
    .text(screen.width)
}

/// Which values are known better for it.
fn tells(shown: &[&Candidate], screen: Screen) -> String {
    let mut out = "Of which values it tells most\n".to_owned();
    for c in shown.iter().filter(|c| !c.learns.is_empty()) {
        let text = format!("{}: {}", row(c), c.learns.join(", "));
        screen.hanging(&mut out, "  ", "      ", &text);
    }
    out
}

fn row(c: &Candidate) -> String {
    let names: Vec<&str> = c.places.iter().map(|place| place.name.as_str()).collect();
    let places = names.join(" and ");
    match c.kind {
        Kind::Reading => format!("{places}, once"),
        Kind::TwoReadings => format!("{places}, twice"),
        Kind::TwoThermometers => places,
        Kind::Log => format!("{places}, logged"),
        Kind::Evening => match c.meanwhile {
            Meanwhile::AsInTheJob => format!("{places}, test"),
            other => format!("{places}, test, {}", other.name()),
        },
    }
}

fn when_in_short(run: &Run, c: &Candidate) -> String {
    let at = |t_s: f64| moment(run.start, t_s);
    let day = |t_s: f64| at(t_s).strftime("%a %H:%M").to_string();
    let hour = |t_s: f64| at(t_s).strftime("%H:%M").to_string();
    let and = |from_s: f64, to_s: f64, word: &str| {
        let same_day = at(from_s).date() == at(to_s).date();
        let to = if same_day { hour(to_s) } else { day(to_s) };
        format!("{}{word}{to}", day(from_s))
    };
    match &c.when {
        When::At(times_s) => match times_s[..] {
            [one, other] if one != other => and(one, other, ", "),
            [one, ..] => day(one),
            [] => String::new(),
        },
        When::Log(from_s, to_s) => and(*from_s, *to_s, "-"),
        When::Test(lasts_s) => format!("{}, before the job", format_duration(*lasts_s)),
    }
}

/// What no thermometer tells.
fn left(p: &Plan, system: System) -> String {
    let width = format_difference(p.half_width_left_K.margin, system);
    let mut text = format!("With all of it, everywhere, ± {width} are left");
    if !p.left.is_empty() {
        let keys = p.left.join(", ");
        text.push_str(&format!(
            ", most of it in {keys}: no thermometer tells more of these"
        ));
    }
    text.push_str(". What it would bring to know a value: check --sensitivity.");
    text
}

/// What stands behind the numbers.
fn how(p: &Plan) -> String {
    let mut readings = match p.taken {
        0 => String::new(),
        1 => ", one reading taken already".to_owned(),
        n => format!(", {} readings taken already", format_count(n)),
    };
    if p.rows > 0 {
        readings.push_str(&format!(", {} logged already", counted(p.rows, "row")));
    }
    let unknown = match p.unknown {
        0 => String::new(),
        n => format!(
            "; {} of them could not be moved, because the run then comes to nothing",
            format_count(n)
        ),
    };
    format!(
        "Reckoned from the slopes of {} values in doubt{readings}, {} runs{unknown}. A reading is 1 K off at most in 19 of 20, most of it the same for all readings of one thermometer. A test is a short job from cold, in a room as warm as when the job starts; what is known of the part, the room and the setpoints of one is not known of the other, nor is it kept in a machine's file.",
        format_count(p.doubtful),
        format_count(p.runs)
    )
}

fn cautions(shown: &[&Candidate]) -> Vec<Caution> {
    let mut found = vec![Caution::Probe];
    if shown.iter().any(|c| c.meanwhile == Meanwhile::LidOff) {
        found.push(Caution::Opening);
    }
    found
}

/// One object.
#[must_use]
pub fn json(run: &Run, p: &Plan) -> Value {
    json!({
        "schema": SCHEMA,
        "run": run.name,
        "machine": run.machine.name,
        "station": p.station.name(),
        "values_in_doubt": p.doubtful,
        "readings_taken": p.taken,
        "rows_logged": p.rows,
        "runs": p.runs,
        "half_width_before_K": rounded(p.half_width_before_K.margin, 4),
        "filament_half_width_before_K": rounded(p.half_width_before_K.peak, 4),
        "candidates": p.candidates.iter().map(|c| candidate(run, c)).collect::<Vec<_>>(),
        "first": p.first,
        "half_width_left_K": rounded(p.half_width_left_K.margin, 4),
        "filament_half_width_left_K": rounded(p.half_width_left_K.peak, 4),
        "left": p.left,
        "cautions": cautions(&p.candidates.iter().collect::<Vec<_>>())
            .into_iter()
            .map(Caution::text)
            .collect::<Vec<_>>(),
    })
}

fn candidate(run: &Run, c: &Candidate) -> Value {
    let at = |t_s: &f64| iso(moment(run.start, *t_s));
    let (times, from, to, test_h) = match &c.when {
        When::At(times_s) => (
            Some(times_s.iter().map(at).collect::<Vec<_>>()),
            None,
            None,
            None,
        ),
        When::Log(from_s, to_s) => (None, Some(at(from_s)), Some(at(to_s)), None),
        When::Test(lasts_s) => (None, None, None, Some(rounded(lasts_s / 3600.0, 4))),
    };
    json!({
        "kind": c.kind.name(),
        "meanwhile": c.meanwhile.name(),
        "sensors": c.places.iter().map(|place| &place.name).collect::<Vec<_>>(),
        "same_as": c.places.iter().map(|place| &place.or).collect::<Vec<_>>(),
        "at": times,
        "from": from,
        "to": to,
        "test_h": test_h,
        "readings": c.readings,
        "half_width_after_K": rounded(c.half_width_after_K.margin, 4),
        "gain_K": rounded(c.gain_K.margin, 4),
        "filament_half_width_after_K": rounded(c.half_width_after_K.peak, 4),
        "filament_gain_K": rounded(c.gain_K.peak, 4),
        "learns": c.learns,
    })
}

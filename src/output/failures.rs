//! What comes of failures: a clause of the verdict, a table, JSON.

use serde_json::{Value, json};

use super::columns::{Column, Columns};
use super::json_number::{degC, rounded};
use super::screen::Screen;
use super::words::{date_and_time, iso, moment};
use crate::quantity::{ShownMargin, System, format_duration};
use crate::run::{Failure, FailureKind, Run};
use crate::study::Findings;
use crate::study::failures::{FailureFindings, TimeLeft};

/// Whether a failure makes the verdict a worse one; a run that can't be had has none to lose.
fn is_worse(f: &Findings, of: &FailureFindings) -> bool {
    of.verdict > f.outcome.verdict
}

/// The failure that spoils the verdict most and soonest; none where none does.
#[must_use]
pub fn told(f: &Findings) -> Option<&FailureFindings> {
    let worse = || f.failures.iter().filter(|of| is_worse(f, of));
    let worst = worse().map(|of| of.verdict).max()?;
    let of_worst = || worse().filter(|of| of.verdict == worst);
    // That all fail together is asked by nobody whom one failure is enough.
    let single = of_worst().filter(|of| of.failures.len() == 1);
    let first = single.min_by(|a, b| sooner(a).total_cmp(&sooner(b)));
    first.or_else(|| of_worst().next())
}

/// The sentence that must be read with the verdict: what failure spoils it. Nothing where none does.
#[must_use]
pub fn but(run: &Run, f: &Findings, system: System) -> String {
    let Some(told) = told(f) else {
        return String::new();
    };
    let as_bad = f.failures.iter().filter(|of| of.verdict == told.verdict);
    let others = as_bad.filter(|of| of.failures.len() == 1).count();
    let more = match others.saturating_sub(1) {
        0 => String::new(),
        1 => ", and so does it in one more of the failures asked about".to_owned(),
        n => format!(", and so does it in {n} more of the failures asked about"),
    };
    let station = told.station.name();
    let margin = ShownMargin::new(told.hottest.margin_K(), run.requirements.margin_K, system);
    let condition = condition(run, told);
    match told.time_left {
        TimeLeft::Until(left_s) => format!(
            " But it softens if {condition}: {} left until the {station}'s limit{more}.",
            left(left_s)
        ),
        TimeLeft::None | TimeLeft::Enough => format!(
            " But it is {} if {condition}: {} below the {station}'s limit{more}.",
            told.verdict.name(),
            margin.text()
        ),
    }
}

/// For an order by urgency, s: where the limit is not reached, the less is left to it the sooner.
fn sooner(of: &FailureFindings) -> f64 {
    const NEVER_S: f64 = 1e12;
    match of.time_left {
        TimeLeft::None => 0.0,
        TimeLeft::Until(left_s) => left_s,
        TimeLeft::Enough => NEVER_S + of.hottest.margin_K(),
    }
}

/// "the fan is off from Wed 15 Jul 14:00 on".
fn condition(run: &Run, of: &FailureFindings) -> String {
    match of.failures[..] {
        [one] => {
            let what = match one.kind {
                FailureKind::FanOff => "the fan is off",
                FailureKind::AirConditionerOff => "the air conditioner is off",
                FailureKind::PowerCut => "the power is cut",
            };
            format!("{what} from {}", span(run, &one))
        }
        _ => format!(
            "all failures asked about happen, the first on {}",
            date_and_time(run.start, of.begin_s())
        ),
    }
}

/// "Wed 15 Jul 14:00 on", "Wed 15 Jul 14:00 for 20 min".
fn span(run: &Run, failure: &Failure) -> String {
    let at = date_and_time(run.start, failure.begin_s);
    if is_for_good(run, failure) {
        return format!("{at} on");
    }
    format!(
        "{at} for {}",
        format_duration(failure.end_s - failure.begin_s)
    )
}

fn is_for_good(run: &Run, failure: &Failure) -> bool {
    failure.end_s >= run.duration_s
}

/// "47 min are". What is left is never rounded up.
fn left(left_s: f64) -> String {
    match time(left_s) {
        text if text == AT_ONCE => "no time is".to_owned(),
        text => format!("{text} are"),
    }
}

const AT_ONCE: &str = "none";

/// A time that is left, rounded down to the minute.
fn time(left_s: f64) -> String {
    let minutes = (left_s / 60.0).floor();
    if minutes < 1.0 {
        return AT_ONCE.to_owned();
    }
    let hours = (minutes / 60.0).floor();
    if hours < 2.0 {
        format!("{minutes} min")
    } else if hours < 24.0 && minutes % 60.0 > 0.0 {
        format!("{hours} h {} min", minutes % 60.0)
    } else {
        format!("{hours} h")
    }
}

/// The table of failures, the most urgent ones where there are more than `most`; nothing where none are asked about.
pub(super) fn table(o: &mut String, run: &Run, f: &Findings, most: usize, screen: Screen) {
    if f.failures.is_empty() {
        return;
    }
    o.push_str(&columns(run, f, most, screen.system).text(screen.width));
    let left_out = f.failures.len() - most_urgent(f, most).len();
    if left_out > 0 {
        screen.hanging(
            o,
            "  ",
            "  ",
            &format!("{left_out} less urgent ones: --verbose"),
        );
    }
}

/// The same as a table.
pub(super) fn columns(run: &Run, f: &Findings, most: usize, system: System) -> Columns {
    let all = most_urgent(f, most);
    let cells = |text: &dyn Fn(&FailureFindings) -> String| -> Vec<String> {
        all.iter().map(|of| text(of)).collect()
    };
    let name = |of: &FailureFindings| match of.failures[..] {
        [one] => format!("  {} {}", one.kind.name(), briefly(run, one.begin_s)),
        _ => "  all of them together".to_owned(),
    };
    let lasts = |of: &FailureFindings| match of.failures[..] {
        [one] if is_for_good(run, &one) => "good".to_owned(),
        [one] => format_duration(one.end_s - one.begin_s),
        _ => String::new(),
    };
    let margin = |of: &FailureFindings| {
        ShownMargin::new(of.hottest.margin_K(), run.requirements.margin_K, system).number()
    };
    let time_left = |of: &FailureFindings| match of.time_left {
        TimeLeft::Enough => "enough".to_owned(),
        TimeLeft::None => "was above".to_owned(),
        TimeLeft::Until(left_s) => time(left_s),
    };
    let mut columns = vec![
        Column::words(&["for"], 2, cells(&lasts)),
        Column::numbers(&["time left"], 0, cells(&time_left)),
    ];
    if all.iter().any(|of| of.working_s.is_some()) {
        let without = |of: &FailureFindings| of.working_s.map_or_else(|| "enough".to_owned(), time);
        columns.push(Column::numbers(&["without it"], 1, cells(&without)));
    }
    columns.extend([
        Column::words(&["at"], 1, cells(&|of| of.station.name().to_owned())),
        Column::numbers(&["margin"], 0, cells(&margin)),
        Column::words(&["verdict"], 1, cells(&|of| of.verdict.name().to_owned())),
        Column::words(
            &["hottest at"],
            3,
            cells(&|of| date_and_time(run.start, of.hottest.max_at_s)),
        ),
    ]);
    Columns {
        head: "If it fails".to_owned(),
        names: cells(&name),
        columns,
    }
}

/// What the table's columns count from.
pub(super) fn note(o: &mut String, screen: Screen) {
    let note = format!(
        "time left: from the failure to the limit; margin, {}, and verdict: from then on",
        screen.system.difference_unit()
    );
    screen.hanging(o, "  ", "  ", &note);
}

/// So many at most, in their own order.
fn most_urgent(f: &Findings, most: usize) -> Vec<&FailureFindings> {
    let mut order: Vec<(usize, &FailureFindings)> = f.failures.iter().enumerate().collect();
    order.sort_by(|a, b| sooner(a.1).total_cmp(&sooner(b.1)));
    order.truncate(most);
    order.sort_by_key(|(k, _)| *k);
    order.into_iter().map(|(_, of)| of).collect()
}

/// "Wed 14:00", which is one moment of less than a week; else with the date.
fn briefly(run: &Run, t_s: f64) -> String {
    const WEEK_S: f64 = 7.0 * 86_400.0;
    let all = date_and_time(run.start, t_s);
    match all.split(' ').collect::<Vec<_>>()[..] {
        [weekday, _, _, time] if run.duration_s < WEEK_S => format!("{weekday} {time}"),
        _ => all,
    }
}

/// Each failure by itself, in the file's order.
pub(super) fn each(run: &Run, f: &Findings) -> Value {
    let single = f.failures.iter().filter(|of| of.failures.len() == 1);
    single.map(|of| object(run, of)).collect()
}

/// All together; null where there are fewer than two.
pub(super) fn together(run: &Run, f: &Findings) -> Value {
    let all = f.failures.iter().find(|of| of.failures.len() > 1);
    all.map_or(Value::Null, |of| object(run, of))
}

fn object(run: &Run, of: &FailureFindings) -> Value {
    let at = |t_s: f64| json!(iso(moment(run.start, t_s)));
    let h = |t_s: f64| rounded(t_s / 3600.0, 4);
    let begin_s = of.begin_s();
    let end_s = of.failures.iter().map(|one| one.end_s).fold(0.0, f64::max);
    let is_back = of.failures.iter().all(|one| !is_for_good(run, one));
    let kind = match of.failures[..] {
        [one] => one.kind.name(),
        _ => "all together",
    };
    let time_left_s = match of.time_left {
        TimeLeft::Enough => Value::Null,
        TimeLeft::None => json!(0.0),
        TimeLeft::Until(left_s) => rounded(left_s, 1),
    };
    json!({
        "kind": kind,
        "at": at(begin_s),
        "at_h": h(begin_s),
        "until": is_back.then(|| at(end_s)),
        "until_h": h(end_s),
        "time_left_s": time_left_s,
        "was_above_before": of.time_left == TimeLeft::None,
        "time_left_without_it_s": of.working_s.map(|left_s| rounded(left_s, 1)),
        "station": of.station.name(),
        "peak_station": of.hottest.station.name(),
        "peak_degC": degC(of.hottest.max_K),
        "peak_at": at(of.hottest.max_at_s),
        "peak_at_h": h(of.hottest.max_at_s),
        "limit_degC": degC(of.hottest.limit_K),
        "margin_K": rounded(of.hottest.margin_K(), 4),
        "warmer_K": rounded(of.warmer_K, 4),
        "verdict": of.verdict.name(),
    })
}

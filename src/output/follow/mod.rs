//! `follow` in text, JSON and pictures.

use serde_json::{Value, json};

#[cfg(feature = "pictures")]
mod picture;

#[cfg(feature = "pictures")]
pub use picture::draw_follow;

use super::calibrate::logs::doubts;
use super::calibrate::{of_temperatures, off};
use super::certainty::of_100;
use super::json::{SCHEMA, rounded};
use super::report::place;
use super::screen::Screen;
use super::words::{date_and_time, iso, moment};
use crate::quantity::{
    ShownMargin, System, format_difference, format_duration, format_temperature,
};
use crate::study::Verdict;
use crate::study::calibrate::{Calibration, Followed};
use crate::study::follow::Following;

/// What is known now, in some sentences.
#[must_use]
pub fn text(f: &Following, screen: Screen) -> String {
    let mut out = String::new();
    screen.paragraph(&mut out, &verdict_sentence(f, screen.system));
    let details = match f.is_over() {
        true => Vec::new(),
        false => details(f, screen.system),
    };
    for line in details {
        screen.hanging(&mut out, "  ", "  ", &line);
    }
    out
}

/// The answer in a sentence.
#[must_use]
pub fn verdict_sentence(f: &Following, system: System) -> String {
    let run = &f.run;
    let at = |t_s: f64| date_and_time(run.start, t_s);
    let now = at(f.now_s);
    if f.is_over() {
        return format!("{now}: the run is over.");
    }
    let chance = f.ahead.certainty.chance_softens();
    let margin = ShownMargin::new(f.hottest.margin_K(), run.requirements.margin_K, system);
    let from_limit = match f.verdict {
        Verdict::Holds | Verdict::CannotRun => format!("{} below its limit", margin.text()),
        // What nobody knows to hold is tight, whatever its margin.
        Verdict::Tight if f.hottest.margin_K() >= run.requirements.margin_K => {
            format!("{} below its limit", margin.text())
        }
        Verdict::Tight => format!("only {} below its limit", margin.text()),
        Verdict::Softens => format!("{} above its limit", margin.above()),
    };
    let doubt = match f.verdict == Verdict::Holds && chance > run.requirements.chance {
        true => format!(", but {} such runs soften", of_100(chance)),
        false => format!("; {} such runs soften", of_100(chance)),
    };
    let left = format_duration(left_s(f));
    match f.verdict {
        Verdict::CannotRun => {
            format!("{now}, {left} left: cannot run, a heater is too weak for what is left.")
        }
        verdict => format!(
            "{now}, {left} left: {}. The filament {} will reach {} on {}, {from_limit}{doubt}.{}",
            verdict.name(),
            place(f.hottest.station),
            format_temperature(f.hottest.max_K, system),
            at(f.hottest.max_at_s),
            departs(f, system)
        ),
    }
}

/// " But the thermometer at the cold end shows 7.4 K more than the model ..."; empty where all is well.
fn departs(f: &Following, system: System) -> String {
    let silent = f.silent.as_ref().map_or_else(String::new, |place| {
        format!(
            " But the thermometer at {place} has shown nothing of use for a while: look at the machine and at the thermometer."
        )
    });
    let departs = f.departure.as_ref().map_or_else(String::new, |d| {
        let word = if d.more_K < 0.0 { "less" } else { "more" };
        format!(
            " But of late the thermometer at {} shows {} {word} than this run would have it: look at the machine and at the thermometer.",
            d.sensor,
            format_difference(d.more_K.abs(), system)
        )
    });
    departs + &silent
}

/// To whole hours, or minutes where it is less than two of them.
fn left_s(f: &Following) -> f64 {
    let left_s = f.run.duration_s - f.now_s;
    let step_s = if left_s < 7_200.0 { 60.0 } else { 3_600.0 };
    (left_s / step_s).round().max(1.0) * step_s
}

fn details(f: &Following, system: System) -> Vec<String> {
    let run = &f.run;
    let at = |t_s: f64| date_and_time(run.start, t_s);
    let mut lines = Vec::new();
    let c = &f.calibration;
    lines.extend(doubts(c, system));
    let (before, now) = off(c, system);
    lines.push(format!(
        "the log and the model are {now} apart (root mean square; {before} before the log was used)"
    ));
    let certainty = &f.ahead.certainty;
    if let Some(band) = certainty.hottest_K(f.hottest.station) {
        lines.push(format!(
            "nine such runs of ten reach {} to {} there from now on",
            format_temperature(band.p05, system),
            format_temperature(band.p95, system)
        ));
    }
    if f.ahead.passed_before > 0.0 {
        lines.push(format!(
            "in {} such runs the limit was passed before now: if nothing has slipped so far, the true limit lies higher than the run file's",
            of_100(f.ahead.passed_before)
        ));
    }
    if let Some(passing) = f.ahead.passing() {
        let (early, late) = (at(passing.early_s), at(passing.late_s));
        lines.push(match early == late {
            true => format!("others pass it at {early}"),
            false => format!(
                "others pass it between {early} and {late}, half of them by {}",
                at(passing.middle_s)
            ),
        });
    }
    if let Some(alarm) = f.alarm {
        let (place, reading) = (
            alarm.thermometer.name(),
            format_temperature(alarm.reading_K, system),
        );
        let shows = format_temperature(f.shows_K, system);
        lines.push(match f.shows_K >= alarm.reading_K {
            true => format!("act now: the thermometer at the {place} shows {shows}, and {reading} is when to act"),
            false if !f.is_logged => format!(
                "act when a thermometer at the {place} shows {reading} (none was logged there; by the model it is at {shows} now)"
            ),
            false => format!("act when a thermometer at the {place} shows {reading} (now {shows})"),
        });
    }
    if f.is_time_to_act() {
        lines.push("what would help says `dogdays check`, under remedies".to_owned());
    }
    if f.calibration.columns.iter().any(Followed::is_restless) {
        lines.push(
            "the run differs from its description in something that comes and goes: look whether the file says what really happened (lid, fan, pauses)"
                .to_owned(),
        );
    }
    if let Some(why) = certainty.failed.first() {
        lines.push(format!(
            "{} of {} runs could not be computed and count as softening: {why}",
            certainty.failed.len(),
            certainty.failed.len() + certainty.samples.len()
        ));
    }
    lines
}

/// One object.
#[must_use]
pub fn json(f: &Following) -> Value {
    let run = &f.run;
    let degC = |K: f64| rounded(K - 273.15, 4);
    let at = |t_s: f64| json!(iso(moment(run.start, t_s)));
    let h = |t_s: f64| rounded(t_s / 3600.0, 4);
    let certainty = &f.ahead.certainty;
    let band = certainty.hottest_K(f.hottest.station);
    json!({
        "schema": SCHEMA,
        "run": run.name,
        "now": at(f.now_s),
        "now_h": h(f.now_s),
        "rows": f.calibration.rows(),
        "bed_heater_means": f.calibration.powers.iter().map(|p| p.times_s.len()).sum::<usize>(),
        "doubts": doubts(&f.calibration, System::Si),
        "rms_before_K": of_temperatures(&f.calibration, Calibration::rms_before_K),
        "rms_after_K": of_temperatures(&f.calibration, Calibration::rms_after_K),
        "verdict": f.verdict.name(),
        "station": f.hottest.station.name(),
        "peak_at": at(f.hottest.max_at_s),
        "peak_at_h": h(f.hottest.max_at_s),
        "peak_degC": degC(f.hottest.max_K),
        "limit_degC": degC(f.hottest.limit_K),
        "margin_K": rounded(f.hottest.margin_K(), 4),
        "peak": band.map(|band| json!({
            "p05_degC": degC(band.p05),
            "p50_degC": degC(band.p50),
            "p95_degC": degC(band.p95),
        })),
        "chance_softens": rounded(certainty.chance_softens(), 4),
        "passes": f.ahead.passing().map(|p| json!({
            "p05": at(p.early_s),
            "p50": at(p.middle_s),
            "p95": at(p.late_s),
        })),
        "chance_passed_before": rounded(f.ahead.passed_before, 4),
        "left_out_K": rounded(f.ahead.left_out_K, 4),
        "samples": certainty.sampling.samples,
        "failed_samples": certainty.failed.len(),
        "seed": certainty.sampling.seed,
        "alarm": f.alarm.map(|alarm| json!({
            "sensor": alarm.thermometer.name(),
            "reading_degC": degC(alarm.reading_K),
            "now_degC": degC(f.shows_K),
        })),
        "departure": f.departure.as_ref().map(|d| json!({
            "sensor": d.sensor,
            "more_K": rounded(d.more_K, 4),
        })),
        "silent": f.silent,
        "act": f.is_time_to_act(),
        "causes": f.causes().iter().map(|cause| cause.name()).collect::<Vec<_>>(),
    })
}

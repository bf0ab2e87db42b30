//! The answers to what happens while knobs turn.

use super::controls::controls;
use super::fragments;
use super::refusal::Refusal;
use super::shop::{Looked, Shop};
use super::typed::Asked;
use crate::output::json;
use crate::output::words::{date_and_time, iso, moment};
use crate::run::{ArrangementKind, Control, Inputs};
use crate::study::compare::{assumed_flow_m3_per_s, own};
use serde_json::{Value, json};

/// Most runs that are compared with at once.
const MOST_COMPARED: usize = 6;

/// The run as it is now, without how sure it is unless that is known already.
///
/// # Errors
/// When a knob takes no such value, values do not go together, or the run can't be simulated.
pub fn look(shop: &Shop, asked: &Asked) -> Result<Value, Refusal> {
    let looked = shop.look(&asked.values)?;
    answer(shop, asked, &looked)
}

/// The run as it is now with how sure that is.
///
/// # Errors
/// As `look`.
pub fn band(shop: &Shop, asked: &Asked) -> Result<Value, Refusal> {
    let looked = shop.band(&asked.values)?;
    answer(shop, asked, &looked)
}

fn answer(shop: &Shop, asked: &Asked, looked: &Looked) -> Result<Value, Refusal> {
    let system = shop.system;
    let (run, f) = (&looked.loaded.run, &looked.findings);
    let at_s = at_s(asked, looked);
    let (candidates, others) = others(looked, &asked.compare);
    let marked = asked.moment_h.map(|_| at_s);
    let plot = fragments::plot(looked, &others, marked, asked.width, system)?;
    let mut answer = json!({
        "n": asked.n,
        "verdict": fragments::word_of(f.outcome.verdict),
        "margin_K": f.outcome.margin_K,
        "peak_degC": f.outcome.peak_K - 273.15,
        "spoken": fragments::spoken(looked, system),
        "has_band": f.certainty.is_some(),
        "moment": {
            "at_h": at_s / 3_600.0,
            "of_h": run.duration_s / 3_600.0,
            "is_hottest": asked.moment_h.is_none(),
            "at": iso(moment(run.start, at_s)),
            "words": date_and_time(run.start, at_s),
        },
        "compare": candidates,
        "controls": controls(&looked.loaded, &asked.values, shop.original.catalogue(), system),
        "html": {
            "verdict": fragments::verdict(looked, system).into_string(),
            "plot": plot.into_string(),
            "moment": fragments::moment(looked, at_s, asked.width, system)?.into_string(),
            "notes": fragments::notes(looked, system).into_string(),
        },
    });
    if asked.check {
        answer["check"] = json::check(run, f);
    }
    Ok(answer)
}

/// The moment that is asked for, s from the start: within the run, and the hottest where none is.
fn at_s(asked: &Asked, looked: &Looked) -> f64 {
    let end_s = looked.findings.simulation.trajectory.end_s();
    asked
        .moment_h
        .map_or(looked.findings.outcome.peak_at_s, |h| h * 3_600.0)
        .clamp(0.0, end_s)
}

/// The names of what the run can be compared with, and the runs of those asked for: the run file's own `[[compare]]`,
/// or else the usual arrangements with the run's flow, or one that fits the chamber.
fn others(looked: &Looked, asked: &[String]) -> (Vec<String>, Vec<(String, Inputs)>) {
    let (run, inputs) = (&looked.loaded.run, &looked.loaded.inputs);
    let all: Vec<(String, Inputs)> = if looked.loaded.compare.is_empty() {
        let flow_m3_per_s = run
            .arrangement
            .kind
            .flow_m3_per_s()
            .unwrap_or_else(|| assumed_flow_m3_per_s(&run.machine));
        let kinds = [
            ArrangementKind::Closed,
            ArrangementKind::LidOff,
            ArrangementKind::DoorOpen,
            ArrangementKind::Extracting { flow_m3_per_s },
        ];
        let is_own = own(run, inputs).name;
        let others = kinds.iter().filter(|kind| kind.name() != is_own);
        others
            .map(|kind| {
                let mut other = inputs.clone();
                other.drop_schedule();
                other.arrange(kind, &Control::Constant);
                (kind.name().to_owned(), other)
            })
            .collect()
    } else {
        let variants = looked.loaded.compare.iter();
        variants
            .map(|v| (v.name.clone(), v.inputs.clone()))
            .collect()
    };
    let names = all.iter().map(|(name, _)| name.clone()).collect();
    let chosen = all.into_iter().filter(|(name, _)| asked.contains(name));
    (names, chosen.take(MOST_COMPARED).collect())
}

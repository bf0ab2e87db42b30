//! Text and JSON of the remedies that `check` names.

use std::fmt::Write;

use serde_json::{Value, json};

use super::json::rounded;
use super::report::wrap;
use crate::quantity::{System, format_difference, format_flow, format_temperature};
use crate::run::Run;
use crate::study::Verdict;
use crate::study::cautions::Caution;
use crate::study::remedies::{Action, Remedies, Remedy};

/// More remedies than these help nobody to decide.
const MOST_SHOWN: usize = 12;

/// The changes in words: "extracting 40 m³/h; bed 5.0 K cooler".
fn words(r: &Remedy, system: System) -> String {
    let actions: Vec<String> = r.actions.iter().map(|a| a.text(system)).collect();
    actions.join("; ")
}

/// Cautions of the remedies that the run itself does not have.
fn cautions(run: &Run, r: &Remedies) -> Vec<Caution> {
    let own = Caution::for_run(run);
    let shown = r.found.iter().take(MOST_SHOWN).chain(&r.nearest);
    let mut all: Vec<Caution> = shown.flat_map(|r| r.cautions.iter().copied()).collect();
    all.retain(|c| !own.contains(c));
    all.sort_unstable();
    all.dedup();
    all
}

/// The sentence for when nothing allowed helps.
fn floor_sentence(run: &Run, r: &Remedies, system: System) -> Option<String> {
    let floor = r.floor.as_ref()?;
    let needed_K = floor.outcome.limit_K - run.requirements.margin_K;
    Some(format!(
        "Nothing that is allowed is enough with this material. Even unlimited extraction ({}) leaves {} at the {}, and {} is the most for a margin of {}: the room itself is too warm for this job.",
        format_flow(floor.flow_m3_per_s, system),
        format_temperature(floor.outcome.peak_K, system),
        floor.outcome.station.name(),
        format_temperature(needed_K, system),
        format_difference(run.requirements.margin_K, system)
    ))
}

/// The text, at most 80 columns wide.
#[must_use]
pub fn text(run: &Run, r: &Remedies, system: System) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = write_text(&mut out, run, r, system);
    out
}

fn write_text(o: &mut String, run: &Run, r: &Remedies, system: System) -> std::fmt::Result {
    if r.before.verdict == Verdict::Holds {
        return writeln!(o, "Remedies     none needed: it holds as it is.");
    }
    if let Some(sentence) = floor_sentence(run, r, system) {
        for line in wrap(&sentence, 80) {
            writeln!(o, "{line}")?;
        }
    }
    if let Some(nearest) = &r.nearest {
        writeln!(o, "\nNearest to it")?;
        write_remedy(o, nearest, system)?;
    }
    if r.before.verdict == Verdict::CannotRun && r.found.is_empty() {
        writeln!(
            o,
            "Remedies     none of the usual changes lets it run: see what its heaters lack."
        )?;
    }
    if !r.found.is_empty() {
        writeln!(
            o,
            "What would make it hold, the smallest intervention first"
        )?;
        writeln!(
            o,
            "{:>10}{:>10}",
            format!("gain, {}", system.difference_unit()),
            format!("margin, {}", system.difference_unit())
        )?;
        for remedy in r.found.iter().take(MOST_SHOWN) {
            write_remedy(o, remedy, system)?;
        }
        if r.found.len() > MOST_SHOWN {
            let more = r.found.len() - MOST_SHOWN;
            writeln!(o, "  and {more} more, with --json")?;
        }
    }
    if !r.not_enough.is_empty() {
        writeln!(o, "Not enough alone, as far as each goes")?;
        for remedy in r.not_enough.iter().take(MOST_SHOWN) {
            write_remedy(o, remedy, system)?;
            if matches!(remedy.actions[..], [Action::LaterStart { .. }]) {
                let tried = r.starts_tried;
                writeln!(o, "{:>20}  (the best of the {tried} hours that follow)", "")?;
            }
        }
    }
    writeln!(o, "  Each has been simulated over the whole run.")?;
    for c in cautions(run, r) {
        for (k, line) in wrap(c.text(), 76).into_iter().enumerate() {
            writeln!(o, "  {} {line}", if k == 0 { "-" } else { " " })?;
        }
    }
    Ok(())
}

fn write_remedy(o: &mut String, r: &Remedy, system: System) -> std::fmt::Result {
    let mut text = words(r, system);
    if !r.is_allowed {
        text.push_str(" - not allowed for this run: it opens the machine");
    }
    if let Some(shortfall) = r.outcome.shortfalls.first() {
        text.push_str(&format!(" - but it cannot run: {}", shortfall.text(system)));
    }
    for drawback in &r.drawbacks {
        text.push_str(&format!(" - but {}", drawback.text(system)));
    }
    for (k, line) in wrap(&text, 58).into_iter().enumerate() {
        if k == 0 {
            // Rounded first: a change of nothing has no sign.
            let effect = (system.difference(r.effect_K) * 10.0).round() / 10.0 + 0.0;
            let margin = system.difference(r.outcome.margin_K);
            writeln!(o, "{effect:>+10.1}{margin:>10.1}  {line}")?;
        } else {
            writeln!(o, "{:>20}  {line}", "")?;
        }
    }
    Ok(())
}

/// JSON of the remedies.
#[must_use]
pub fn json(run: &Run, r: &Remedies) -> Value {
    json!({
        "needed": r.before.verdict != Verdict::Holds,
        "found": r.found.iter().map(json_remedy).collect::<Vec<_>>(),
        "not_enough": r.not_enough.iter().map(json_remedy).collect::<Vec<_>>(),
        "starts_tried": r.starts_tried,
        "nearest": r.nearest.as_ref().map(json_remedy),
        "floor": r.floor.as_ref().map(|f| json!({
            "flow_m3_per_h": rounded(f.flow_m3_per_s * 3600.0, 3),
            "peak_degC": rounded(f.outcome.peak_K - 273.15, 4),
            "station": f.outcome.station.name(),
            "margin_K": rounded(f.outcome.margin_K, 4),
        })),
        "cautions": cautions(run, r).iter().map(|c| c.text()).collect::<Vec<_>>(),
    })
}

fn json_remedy(r: &Remedy) -> Value {
    json!({
        "remedy": words(r, System::Si),
        "actions": r.actions.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "effect_K": rounded(r.effect_K, 4),
        "margin_K": rounded(r.outcome.margin_K, 4),
        "verdict": r.outcome.verdict.name(),
        "peak_degC": rounded(r.outcome.peak_K - 273.15, 4),
        "allowed": r.is_allowed,
        "drawbacks": r.drawbacks.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}

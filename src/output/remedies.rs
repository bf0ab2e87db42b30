//! Text and JSON of the remedies that `check` names.

use serde_json::{Value, json};

use super::certainty;
use super::json::rounded;
use super::screen::Screen;
use crate::quantity::{System, format_difference, format_flow, format_temperature};
use crate::run::Run;
use crate::study::Verdict;
use crate::study::cautions::Caution;
use crate::study::remedies::{Action, Remedies, Remedy};

/// More remedies than these help nobody to decide.
pub(super) const MOST_SHOWN: usize = 12;

/// The changes in words: "extracting 40 m³/h; bed 5.0 K cooler".
fn words(r: &Remedy, system: System) -> String {
    let actions: Vec<String> = r.actions.iter().map(|a| a.text(system)).collect();
    actions.join("; ")
}

/// Cautions of the remedies that the run itself does not have.
pub(super) fn cautions(run: &Run, r: &Remedies) -> Vec<Caution> {
    let own = Caution::for_run(run);
    let shown = r.found.iter().take(MOST_SHOWN).chain(&r.nearest);
    let mut all: Vec<Caution> = shown.flat_map(|r| r.cautions.iter().copied()).collect();
    all.retain(|c| !own.contains(c));
    all.sort_unstable();
    all.dedup();
    all
}

/// The sentence for when nothing allowed helps.
pub(super) fn floor_sentence(run: &Run, r: &Remedies, system: System) -> Option<String> {
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

/// The whole text.
#[must_use]
pub fn text(run: &Run, r: &Remedies, screen: Screen) -> String {
    let mut out = String::new();
    let o = &mut out;
    if r.before.verdict == Verdict::Holds {
        screen.entry(o, "Remedies", "none needed: it holds as it is.");
        return out;
    }
    instead(o, run, r, screen);
    let listed = |o: &mut String, remedies: &[Remedy]| {
        for remedy in remedies.iter().take(MOST_SHOWN) {
            row(o, remedy, screen);
            if matches!(remedy.actions[..], [Action::LaterStart { .. }])
                && remedy.outcome.verdict != Verdict::Holds
            {
                let tried = r.starts_tried;
                let text = format!("(the best of the {tried} hours that follow)");
                let indent = beside(screen, "", "");
                screen.hanging(o, &indent, &indent, &text);
            }
        }
    };
    if !r.found.is_empty() {
        head(o, HOLDS, screen);
        listed(o, &r.found);
        if r.found.len() > MOST_SHOWN {
            let more = r.found.len() - MOST_SHOWN;
            screen.hanging(o, "  ", "  ", &format!("and {more} more, with --json"));
        }
    }
    if !r.not_enough.is_empty() {
        head(o, "Not enough alone, as far as each goes", screen);
        listed(o, &r.not_enough);
    }
    screen.hanging(o, "  ", "  ", "Each has been simulated over the whole run.");
    for c in cautions(run, r) {
        screen.bullet(o, c.text());
    }
    out
}

pub(super) const HOLDS: &str = "What would make it hold, the smallest intervention first";

/// The first remedies, as many as go into so many lines (one at least) and no more than five, and how many
/// others there are.
pub(super) fn short(run: &Run, r: &Remedies, lines: usize, screen: Screen) -> String {
    /// More than these are compared, not read.
    const MOST: usize = 5;
    let mut out = String::new();
    if r.before.verdict == Verdict::Holds {
        return text(run, r, screen);
    }
    instead(&mut out, run, r, screen);
    if !r.found.is_empty() {
        head(&mut out, HOLDS, screen);
    }
    let mut shown = 0;
    for remedy in r.found.iter().take(MOST) {
        let mut longer = out.clone();
        row(&mut longer, remedy, screen);
        // The last line says how many more there are.
        let is_last = shown + 1 == r.found.len() && r.not_enough.is_empty();
        if shown > 0 && longer.lines().count() + usize::from(!is_last) > lines {
            break;
        }
        (out, shown) = (longer, shown + 1);
    }
    let more = match (r.found.len() - shown, r.not_enough.len()) {
        (0, 0) => return out,
        (0, some) => format!("{some} that are not enough alone: --verbose"),
        (more, 0) => format!("{more} more: --verbose"),
        (more, some) => format!("{more} more, and {some} that are not enough alone: --verbose"),
    };
    screen.hanging(&mut out, "  ", "  ", &more);
    out
}

/// What stands where nothing, or nothing usual, would make it hold.
fn instead(o: &mut String, run: &Run, r: &Remedies, screen: Screen) {
    if let Some(sentence) = floor_sentence(run, r, screen.system) {
        screen.paragraph(o, &sentence);
    }
    if let Some(nearest) = &r.nearest {
        head(o, "Nearest to it", screen);
        row(o, nearest, screen);
    }
    if r.before.verdict == Verdict::CannotRun && r.found.is_empty() {
        let text = "none of the usual changes lets it run: see what its heaters lack.";
        screen.entry(o, "Remedies", text);
    }
}

/// What stands beside a remedy: its gain, where there is room, and the margin then.
fn beside(screen: Screen, gain: &str, margin: &str) -> String {
    const NARROW: usize = 60;
    let unit = screen.system.difference_unit().chars().count();
    let margin = format!("  {margin:>0$}  ", "margin, ".len() + unit);
    if screen.width < NARROW {
        return margin;
    }
    format!("  {gain:>0$}{margin}", "gain, ".len() + unit)
}

fn head(o: &mut String, text: &str, screen: Screen) {
    let unit = screen.system.difference_unit();
    let first = beside(screen, &format!("gain, {unit}"), &format!("margin, {unit}"));
    screen.hanging(o, &first, &beside(screen, "", ""), text);
}

fn row(o: &mut String, r: &Remedy, screen: Screen) {
    let system = screen.system;
    let (effect, margin) = numbers(r, system);
    let first = beside(screen, &effect, &margin);
    screen.hanging(o, &first, &beside(screen, "", ""), &in_full(r, system));
}

/// Margin gained and margin then.
pub(super) fn numbers(r: &Remedy, system: System) -> (String, String) {
    // Rounded first: a change of nothing has no sign.
    let effect = (system.difference(r.effect_K) * 10.0).round() / 10.0 + 0.0;
    let margin = system.difference(r.outcome.margin_K);
    (format!("{effect:+.1}"), format!("{margin:.1}"))
}

/// A remedy with its chance and what speaks against it.
pub(super) fn in_full(r: &Remedy, system: System) -> String {
    let mut text = words(r, system);
    if let Some(chance) = r.chance_softens {
        text.push_str(&format!(" - {} soften", certainty::of_100(chance)));
    }
    if !r.is_allowed {
        text.push_str(" - not allowed for this run: it opens the machine");
    }
    if let Some(shortfall) = r.outcome.shortfalls.first() {
        text.push_str(&format!(" - but it cannot run: {}", shortfall.text(system)));
    }
    for drawback in &r.drawbacks {
        text.push_str(&format!(" - but {}", drawback.text(system)));
    }
    text
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
        "chance_softens": r.chance_softens.map(|chance| rounded(chance, 4)),
        "margin_K": rounded(r.outcome.margin_K, 4),
        "verdict": r.outcome.verdict.name(),
        "peak_degC": rounded(r.outcome.peak_K - 273.15, 4),
        "allowed": r.is_allowed,
        "drawbacks": r.drawbacks.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}

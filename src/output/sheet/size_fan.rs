//! The sheet of a fan: which one, why, and what to ask a supplier for.

use maud::{Markup, html};

use super::figure::{figure, size};
use super::frame::{Content, starts};
use super::table::table;
use super::{inputs, prose};
use crate::output::certainty::of_100;
use crate::output::chart::{self, ChartError};
use crate::output::size_fan as text;
use crate::output::words::hours;
use crate::quantity::{System, format_difference};
use crate::runfile::Loaded;
use crate::study::size_fan::Sizing;

/// What stands on the sheet of a fan.
///
/// # Errors
/// When the picture can't be drawn.
pub fn content(loaded: &Loaded, s: &Sizing, system: System) -> Result<Content, ChartError> {
    let run = &loaded.run;
    let mut sections: Vec<(&'static str, Markup)> = Vec::new();
    let first = text::first(s, system);
    if !first.is_empty() {
        sections.push((
            "Safety first",
            html! { div.warn { (prose::list(first.iter().map(|line| {
                line.strip_prefix("Safety first: ").unwrap_or(line).to_owned()
            }))) } },
        ));
    }
    let mut chart = text::chart(run, s, system);
    // The heading of the sheet says it already.
    chart.title = "Margin, pressures and fan curves".to_owned();
    let picture = figure("fans", (size(1000, 900), size(420, 980)), "", |size, id| {
        chart::inline_fans(&chart, size, id)
    })?;
    sections.push(("Margin over flow, pressures, curves", picture));
    let legend = text::legend(s, &of_100(run.requirements.chance), system);
    let by = text::chosen_by(s).map(|by| format!("in bold: {by}"));
    let mut about = String::new();
    text::about(&mut about, run, s, prose::endless(system));
    sections.push((
        "The fans",
        html! {
            (prose::text(&about))
            (table(&text::table(s, system), "Each fan at the flow it really gives, over the whole run"))
            (prose::list(by.into_iter().chain(legend)))
        },
    ));
    if let Some(c) = s.chosen() {
        let lines = text::chosen(run, s, c, system);
        sections.push((
            "The one to take",
            html! { @for line in &lines { p { (prose::words(line)) } } },
        ));
    }
    if let Some(spec) = &s.specification {
        let mut ask = String::new();
        text::ask(&mut ask, s, spec, prose::endless(system));
        let ask = ask.replacen("What to ask a supplier for\n", "", 1);
        sections.push(("What to ask a supplier for", prose::text(&ask)));
    }
    let warnings = text::warnings(s, system);
    if !warnings.is_empty() {
        sections.push((
            "Warnings",
            html! { div.warn { (prose::list(warnings.iter())) } },
        ));
    }
    sections.push(("The run as understood", inputs::typed(loaded, system)));
    Ok(Content {
        name: run.name.clone(),
        kind: "which fan is enough?",
        block: vec![
            ("Machine", run.machine.name.clone()),
            ("Material", run.material.name.clone()),
            ("Start", starts(run.start)),
            ("Length", hours(run.duration_s / 3600.0)),
            (
                "Required margin",
                format_difference(run.requirements.margin_K, system),
            ),
        ],
        verdict: None,
        is_qualified: false,
        is_about_start: false,
        answer: text::answer(run, s, system)
            .iter()
            .map(|line| prose::capital(line))
            .collect(),
        sections,
        cautions: s.cautions.clone(),
        appendix: vec![("Every value", inputs::all(loaded, system))],
    })
}

//! The sheet of a calibration: what was measured, and what the machine turned out to be.

use maud::{Markup, html};

use super::figure::{figure, size};
use super::frame::{Content, starts};
use super::table::table;
use super::{inputs, prose};
use crate::output::calibrate::{self as text, logs};
use crate::output::chart::{self, ChartError};
use crate::quantity::System;
use crate::run::Run;
use crate::runfile::Loaded;
use crate::study::calibrate::Calibration;
use crate::study::cautions::Caution;

/// What stands on the sheet of a calibration; the first run is the one asked about.
///
/// # Errors
/// When there is no run, or a picture can't be drawn.
pub fn content(
    loaded: &Loaded,
    runs: &[&Run],
    c: &Calibration,
    system: System,
) -> Result<Content, ChartError> {
    let run = runs.first().ok_or(ChartError::NoData)?;
    let mut sections: Vec<(&'static str, Markup)> = Vec::new();
    let warnings = text::warnings(c, system);
    if !warnings.is_empty() {
        sections.push((
            "Warnings",
            html! { div.warn { (prose::list(warnings.iter())) } },
        ));
    }
    if !c.columns.is_empty() {
        let chart = text::chart(runs, c, system);
        let picture = figure("log", (size(1000, 680), size(420, 640)), "", |size, id| {
            chart::inline(&chart, size, system, id)
        })?;
        sections.push(("Measured and modelled", picture));
    }
    let caption = "19 in 20 between: nineteen such fits of twenty find the value there; doubt left: how much of what was not known before is still not known";
    sections.push((
        "What was found",
        table(&text::values_table(&c.parameters), caption),
    ));
    let measured = html! {
        @if !c.readings.is_empty() {
            (table(&text::readings_table(runs, &c.readings, system), "Readings, and the model before and now"))
        }
        @if !c.columns.is_empty() { (table(&logs::table(&c.columns, system), "Thermometers that were logged")) }
        @if !c.powers.is_empty() { (table(&logs::powers(&c.powers), "Power that was logged")) }
    };
    sections.push(("What was measured", measured));
    sections.push(("The run as understood", inputs::typed(loaded, system)));
    let mut cautions = Caution::for_run(run);
    cautions.push(Caution::Probe);
    cautions.sort_unstable();
    cautions.dedup();
    Ok(Content {
        name: run.name.clone(),
        kind: "what is this machine really like?",
        block: vec![
            ("Machine", run.machine.name.clone()),
            ("Material", run.material.name.clone()),
            ("Start", starts(run.start)),
        ],
        verdict: None,
        is_qualified: false,
        is_about_start: false,
        answer: vec![prose::capital(
            text::sentence(c, prose::endless(system)).trim(),
        )],
        sections,
        cautions,
        appendix: vec![("Every value", inputs::all(loaded, system))],
    })
}

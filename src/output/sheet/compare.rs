//! The sheet of a comparison.

use maud::html;

use super::check::block;
use super::figure::{figure, size};
use super::frame::Content;
use super::table::table;
use super::{inputs, prose, section};
use crate::output::chart::{self, ChartError};
use crate::output::compare::{self, Setting, break_even_sentence};
use crate::output::compare_picture;
use crate::output::words::date_and_time;
use crate::quantity::System;
use crate::runfile::Loaded;
use crate::study::compare::Row;

/// What stands on the sheet of a comparison; the first row is the run as it is.
///
/// # Errors
/// When there are no rows, or a picture can't be drawn.
pub fn content(
    loaded: &Loaded,
    rows: &[Row],
    setting: Setting,
    system: System,
) -> Result<Content, ChartError> {
    let (Some(first), Some(mut chart)) = (rows.first(), compare_picture::chart(rows, system))
    else {
        return Err(ChartError::NoData);
    };
    chart.title = "The hottest filament of each".to_owned();
    let picture = figure(
        "compared",
        (size(1000, 640), size(400, 560)),
        "",
        |size, id| chart::inline(&chart, size, system, id),
    )?;
    let unit = system.difference_unit();
    let caption = format!(
        "Margins and changes in {unit}; \"up to\" is the warmest afternoon at which it still holds"
    );
    let compared = html! {
        (table(&compare::table(rows, system), &caption))
        (prose::list(compare::notes(rows, setting, system).iter()))
    };
    // The hottest chambers would all look alike; what differs is what is open and what flows.
    let mut drawn = Vec::new();
    for (k, row) in rows.iter().enumerate() {
        let at_s = row.findings.outcome.peak_at_s;
        let caption = format!("{}, on {}", row.name, date_and_time(row.run.start, at_s));
        let id = format!("section-{k}");
        drawn.push(figure(
            &id,
            (size(860, 520), size(400, 700)),
            &caption,
            |size, id| section::section(&row.run, &row.findings.simulation, at_s, system, size, id),
        )?);
    }
    let sections = html! { @for figure in &drawn { (figure) } };
    let answer = compare::answer(rows, prose::endless(system));
    let mut answer: Vec<String> = answer.lines().map(str::to_owned).collect();
    if answer.is_empty() {
        answer.push(break_even_sentence(first, system));
    }
    Ok(Content {
        name: first.run.name.clone(),
        kind: "which arrangement holds?",
        block: block(&first.run, &first.findings, system),
        verdict: None,
        is_qualified: false,
        is_about_start: false,
        answer,
        sections: vec![
            ("Over the run", picture),
            ("Side by side", compared),
            ("The run as understood", inputs::typed(loaded, system)),
        ],
        cautions: compare::cautions(rows),
        appendix: vec![
            ("Each at its hottest moment", sections),
            ("Every value", inputs::all(loaded, system)),
        ],
    })
}

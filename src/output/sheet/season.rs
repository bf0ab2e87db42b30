//! The sheet of a season: when a start holds.

use maud::{Markup, html};

use super::figure::{figure, size};
use super::frame::Content;
use super::table::table;
use super::{inputs, prose};
use crate::output::chart::{self, ChartError, MOST_ARRANGEMENTS};
use crate::output::season::{self as text, Titled, Told};
use crate::output::words::hours;
use crate::quantity::{System, format_difference};
use crate::run::Run;
use crate::runfile::Loaded;
use crate::study::season::{Season, Years};

fn block(run: &Run, required_K: f64, system: System) -> Vec<(&'static str, String)> {
    vec![
        ("Machine", run.machine.name.clone()),
        ("Material", run.material.name.clone()),
        ("Length", hours(run.duration_s / 3600.0)),
        ("Arrangement", run.arrangement.name().to_owned()),
        ("Required margin", format_difference(required_K, system)),
    ]
}

/// What stands on the sheet of the seasons of one weather; the first is the run's own arrangement.
///
/// # Errors
/// When there is no start, or a picture can't be drawn.
pub fn content(
    loaded: &Loaded,
    seasons: &[Season],
    titled: &Titled<'_>,
    told: &Told<'_>,
    system: System,
) -> Result<Content, ChartError> {
    let (Some(own), Some(mut calendar)) = (seasons.first(), text::calendar(seasons, titled)) else {
        return Err(ChartError::NoData);
    };
    calendar.title = "Starts by day and hour".to_owned();
    let rows = seasons.len().min(MOST_ARRANGEMENTS) as u32;
    let wide = size(1000, (360 + 300 * rows).min(2400));
    let narrow = size(420, (440 + 240 * rows).min(2600));
    let picture = figure("calendar", (wide, narrow), "", |size, id| {
        chart::inline_calendar(&calendar, size, system, id)
    })?;
    let screen = prose::endless(system);
    let mut facts = String::new();
    text::about(&mut facts, own, told, screen);
    text::when(&mut facts, own, screen);
    let mut next = String::new();
    text::next(&mut next, own, told, screen);
    let mut sections: Vec<(&'static str, Markup)> = vec![
        ("When a start holds", picture),
        (
            "In words",
            html! { (prose::text(&facts)) (prose::text(&next)) },
        ),
    ];
    if let Some(found) = told.extraction {
        let extraction = html! {
            p { (text::extraction_sentence(found, system)) }
            @if found.flows.len() > 1 { (table(&text::flows(found, system), "What smaller flows are worth")) }
        };
        sections.push(("Extraction", extraction));
    }
    if seasons.len() > 1 {
        let barred = seasons.iter().any(|s| !s.is_allowed);
        let arrangements = html! {
            (table(&text::arrangements(seasons, system), "Arrangements over the season"))
            @if barred { p.small { "* not allowed for this run: it opens a machine that must stay closed" } }
        };
        sections.push(("Arrangements", arrangements));
    }
    sections.push(("The run as understood", inputs::typed(loaded, system)));
    let extracts = told.extraction.is_some();
    let numbers = html! {
        (table(&text::by_week(own), "By week"))
        (table(&text::by_hour(own), "By hour of the day"))
        (prose::list(seasons.iter().map(text::how)))
    };
    Ok(Content {
        name: told.run.name.clone(),
        kind: "when may it start?",
        block: block(told.run, own.required_K, system),
        verdict: None,
        is_qualified: false,
        is_about_start: false,
        answer: seasons
            .iter()
            .map(|s| prose::capital(&text::answer(s, system)))
            .collect(),
        sections,
        cautions: text::cautions_of(told.run, extracts),
        appendix: vec![
            ("In numbers", numbers),
            ("Every value", inputs::all(loaded, system)),
        ],
    })
}

/// What stands on the sheet of many years; the first is the run's own arrangement.
///
/// # Errors
/// When there is none.
pub fn years(
    loaded: &Loaded,
    all: &[Years],
    required_K: f64,
    system: System,
) -> Result<Content, ChartError> {
    let own = all.first().ok_or(ChartError::NoData)?;
    let run = &loaded.run;
    let table = html! {
        (table(&text::years_table(own, required_K, true, system), "Years, the one with the worst week first"))
        p.small { "Worst week: the one whose starts have the least mean margin. Comes once in: (n + 1)/m years for the m-th worst of n years (Weibull's plotting position), whatever the trend of the climate." }
    };
    Ok(Content {
        name: run.name.clone(),
        kind: "how often is it too warm?",
        block: block(run, required_K, system),
        verdict: None,
        is_qualified: false,
        is_about_start: false,
        answer: all
            .iter()
            .map(|years| prose::capital(&text::years_answer(years, required_K, system)))
            .collect(),
        sections: vec![
            ("Year by year", table),
            ("The run as understood", inputs::typed(loaded, system)),
        ],
        cautions: text::cautions_of(run, false),
        appendix: vec![("Every value", inputs::all(loaded, system))],
    })
}

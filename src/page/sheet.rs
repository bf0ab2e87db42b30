//! The page as a whole, with the run as its file has it: it says its answer before any script has run.

use super::assets::{ASSETS, folder};
use super::controls::{Control, Shape, controls};
use super::fragments;
use super::shop::{Looked, Shop};
use super::typed::{Values, Width};
use crate::output::words::{date_and_time, hours};
use crate::quantity::System;
use maud::{DOCTYPE, Markup, html};

/// The page.
pub fn page(shop: &Shop, first: Result<&Looked, String>) -> Markup {
    let run = &shop.original.loaded().run;
    html! {
        (DOCTYPE)
        html lang="en" data-units=(if shop.system == System::Us { "us" } else { "si" }) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (run.name) " · dogdays" }
                link rel="icon" href="data:,";
                @for asset in ASSETS.iter().filter(|a| a.name.ends_with(".css")) {
                    @let href = format!("a/{}/{}", folder(), asset.name);
                    @if asset.name == "print.css" {
                        link rel="stylesheet" href=(href) media="print";
                    } @else {
                        link rel="stylesheet" href=(href);
                    }
                }
                script type="module" src=(format!("a/{}/main.js", folder())) {}
            }
            body {
                a .skip href="#answer" { "To the answer" }
                (title_block(shop))
                div #trouble role="alert" hidden {}
                main .layout {
                    section #answer .verdict aria-label="Answer" tabindex="-1" {
                        @match &first {
                            Ok(looked) => (fragments::verdict(looked, shop.system)),
                            Err(why) => p .refused { (why) },
                        }
                    }
                    p #spoken .only-spoken role="status" aria-live="polite" {}
                    (panel(shop))
                    div .work {
                        (tab_list())
                        (run_tab(shop, first.as_ref().ok().copied()))
                        (study_tab("fan", "Which fan is enough?", FAN_WORDS, None))
                        (study_tab("season", "When is it safe to start?", SEASON_WORDS, weather_words(shop)))
                    }
                }
                footer { p {
                    "An estimate, not a permit: measure the first run at the drive gear and compare. "
                    "Nothing on this page changes a file, but for “save”."
                } }
                noscript { p .refused { "Turning the knobs needs JavaScript, which is off here. The answer above is that of the run file as it is." } }
            }
        }
    }
}

const FAN_WORDS: &str = "Every fan of the catalogue over the whole run, with the knobs as they are. It takes some seconds.";
const SEASON_WORDS: &str = "The run started at every hour of the weather, with the knobs as they are. It takes some seconds.";

fn weather_words(shop: &Shop) -> Option<String> {
    if !shop.weather.is_empty() {
        let names: Vec<&str> = shop.weather.iter().map(|w| w.name.as_str()).collect();
        return Some(format!("Weather: {}", names.join(", ")));
    }
    Some(
        "The weather is the run file's own, which as a rule is short. For a season, end the program and start it with one: dogdays page RUN --weather FILE"
            .to_owned(),
    )
}

fn title_block(shop: &Shop) -> Markup {
    let run = &shop.original.loaded().run;
    html! {
        header .title-block {
            div .what { span .field { "Run" } h1 { (run.name) } }
            div { span .field { "Machine" } span .entry { (run.machine.name) } }
            div { span .field { "File" } span .entry { (shop.original.name()) } }
            div { span .field { "Length" } span .entry { (hours(run.duration_s / 3_600.0)) } }
            div { span .field { "Sheet" } span .entry { "chamber, heat and filament" } }
        }
    }
}

fn panel(shop: &Shop) -> Markup {
    let all = controls(
        shop.original.loaded(),
        &Values::new(),
        shop.original.catalogue(),
        shop.system,
    );
    let mut groups: Vec<(&str, Vec<&Control>)> = Vec::new();
    for control in &all {
        match groups.last_mut() {
            Some((name, group)) if *name == control.group => group.push(control),
            _ => groups.push((control.group, vec![control])),
        }
    }
    html! {
        form #controls .controls aria-label="Knobs" autocomplete="off" {
            @for (name, group) in &groups {
                fieldset {
                    legend { (name) }
                    @for control in group { (knob(control)) }
                }
            }
            fieldset #compare {
                legend { "Beside it in the plot" }
                div .boxes {}
            }
            fieldset .save {
                legend { "Save as run file" }
                p #save-where { "It goes " (where_saved(shop)) "." }
                div .row {
                    label for="file" { "File name" }
                    input #file type="text" value="from-page.toml" maxlength="120" spellcheck="false"
                        aria-describedby="save-where saved";
                }
                div .row {
                    label .check for="replace" { input #replace type="checkbox"; " replace it, if it is there" }
                    button #save type="button" { "Save" }
                }
                p #saved role="status" {}
            }
            div .row .all {
                button #reset-all type="button" { "All as in the run file" }
                a #report .button href="api/report" target="_blank" rel="noopener" { "Report" }
            }
        }
    }
}

fn where_saved(shop: &Shop) -> String {
    match shop.original.folder() {
        None => {
            "into the folder in which the program was started, with the demo's weather beside it"
                .to_owned()
        }
        Some(_) => "beside the run file".to_owned(),
    }
}

/// One knob: what it is called, what it is turned with, and back to the run file.
fn knob(c: &Control) -> Markup {
    let id = format!("k-{}", c.key.replace('.', "-"));
    let about = format!("{id}-about");
    html! {
        div .knob data-key=(c.key) data-idle[c.idle.is_some()] {
            label for=(id) { (c.label) }
            @match &c.shape {
                Shape::Range { value, min, max, step, low, high, unit } => {
                    div .number {
                        input .typed id=(format!("{id}-typed")) type="number" value=(value) min=(low) max=(high) step="any"
                            inputmode="decimal" aria-label=(format!("{}, {}", c.label, spoken_unit(unit)))
                            disabled[c.idle.is_some()];
                        span .unit aria-hidden="true" { (unit) }
                    }
                    input .slider id=(id) type="range" value=(value) min=(min) max=(max) step=(step) data-unit=(unit)
                        aria-valuetext=(format!("{value} {unit}")) aria-describedby=(about)
                        disabled[c.idle.is_some()];
                }
                Shape::Choice { value, words } => {
                    select id=(id) aria-describedby=(about) disabled[c.idle.is_some()] {
                        @for word in words { option value=(word) selected[word == value] { (word) } }
                    }
                }
                Shape::Moment { value } => {
                    input id=(id) type="datetime-local" value=(value.replacen(' ', "T", 1)) aria-describedby=(about)
                        disabled[c.idle.is_some()];
                }
            }
            button .reset type="button" hidden aria-label=(format!("{} as in the run file", c.label)) { "as in the run file" }
            p .about id=(about) {
                span .meaning { (c.meaning) }
                span .idle { @if let Some(why) = &c.idle { (why) } }
            }
        }
    }
}

fn spoken_unit(unit: &str) -> &str {
    if unit.is_empty() { "number" } else { unit }
}

fn tab_list() -> Markup {
    html! {
        div .tabs role="tablist" aria-label="Sheets" {
            @for (name, label) in [("run", "Run"), ("fan", "Fan"), ("season", "Season")] {
                button role="tab" id=(format!("tab-{name}")) aria-controls=(format!("sheet-{name}")) type="button"
                    aria-selected=(if name == "run" { "true" } else { "false" })
                    tabindex=(if name == "run" { "0" } else { "-1" }) { (label) }
            }
        }
    }
}

fn run_tab(shop: &Shop, first: Option<&Looked>) -> Markup {
    html! {
        section #sheet-run .sheet role="tabpanel" aria-labelledby="tab-run" tabindex="0" {
            figure .plot #plot {
                @if let Some(looked) = first
                    && let Ok(plot) = fragments::plot(looked, &[], None, Width::Wide, shop.system) { (plot) }
            }
            @let end_h = first.map_or(1.0, |l| l.loaded.run.duration_s / 3_600.0);
            @let at_s = first.map_or(0.0, |l| l.findings.outcome.peak_at_s);
            div .moment {
                label for="moment" { "Moment" }
                input #moment type="range" min="0" max=(end_h) step="0.25" value=(at_s / 3_600.0)
                    aria-valuetext=(first.map_or_else(String::new, |l| date_and_time(l.loaded.run.start, at_s)));
                output #moment-words for="moment" {}
                button #hottest type="button" { "hottest moment" }
            }
            div #at-moment {
                @if let Some(looked) = first
                    && let Ok(moment) = fragments::moment(looked, at_s, Width::Wide, shop.system) { (moment) }
            }
            div #notes .notes { @if let Some(looked) = first { (fragments::notes(looked, shop.system)) } }
        }
    }
}

fn study_tab(name: &str, title: &str, words: &str, more: Option<String>) -> Markup {
    html! {
        section .sheet id=(format!("sheet-{name}")) role="tabpanel" aria-labelledby=(format!("tab-{name}")) tabindex="0" hidden {
            h2 { (title) }
            p { (words) }
            @if let Some(more) = more { p { (more) } }
            p { button .ask type="button" data-study=(name) { "Work it out" } }
            p .progress role="status" {}
            div .found {}
        }
    }
}

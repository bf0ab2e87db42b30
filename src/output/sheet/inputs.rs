//! Every value a run was understood with, and where it came from.

use maud::{Markup, html};

use super::table::table;
use crate::keys::Stated;
use crate::output::columns::{Column, Columns};
use crate::output::explain::origin_text;
use crate::quantity::System;
use crate::runfile::Loaded;

/// Values that a title or a note is not.
fn told(loaded: &Loaded) -> Vec<&Stated> {
    let told = |s: &&Stated| !s.key.ends_with(".title") && !s.key.ends_with(".notes");
    loaded.provenance.iter().filter(told).collect()
}

/// Every value with its origin.
pub fn all(loaded: &Loaded, system: System) -> Markup {
    let all = told(loaded);
    html! {
        details.tight {
            summary { "All " (all.len()) " values, with where each came from" }
            (table(&columns(&all, system), "Every value, typed, from the catalogue, worked out or assumed"))
        }
    }
}

/// The values that somebody gave.
pub fn typed(loaded: &Loaded, system: System) -> Markup {
    let typed: Vec<&Stated> = told(loaded).into_iter().filter(|s| is_typed(s)).collect();
    let guessed = loaded.guesses().count();
    html! {
        (table(&columns(&typed, system), "What was typed for this run"))
        @if guessed > 0 {
            p { (guessed) " of these were guessed by whoever made the run file: measure them." }
        }
        @for series in &loaded.series {
            p.small { (series.understood()) }
            @if let Some(thinned) = series.thinned() { p.small { (thinned) } }
        }
        p.small { "Everything else is from the catalogue, worked out or assumed: see the last table of this sheet." }
    }
}

fn is_typed(s: &Stated) -> bool {
    matches!(s.origin, crate::keys::Origin::Typed)
}

fn columns(values: &[&Stated], system: System) -> Columns {
    let value = |s: &&Stated| match &s.moment {
        Some(moment) => format!("{} ({moment})", s.value),
        None => s.value_in(system).to_owned(),
    };
    Columns {
        head: "key".to_owned(),
        names: values.iter().map(|s| s.key.clone()).collect(),
        columns: vec![
            Column::words(&["value"], 0, values.iter().map(value).collect()),
            Column::words(
                &["from"],
                0,
                values.iter().map(|s| origin_text(s)).collect(),
            ),
        ],
    }
}

//! The run as understood: every value with its origin, and the choices of the model.

use std::fmt::Write;

use serde_json::{Value, json};

use super::columns::{Column, Columns};
use super::json::rounded;
use super::screen::Screen;
use crate::keys::{Origin, Stated};
use crate::runfile::Loaded;
use crate::study::Findings;
use crate::study::choices::{Choices, CorrelationChoice};

/// The origin in a few words.
pub(super) fn origin_text(stated: &Stated) -> String {
    match &stated.origin {
        Origin::Typed => match &stated.place {
            Some((_, line)) if stated.is_guess => format!("guessed, line {line}"),
            Some((_, line)) => format!("typed, line {line}"),
            None => "typed".to_owned(),
        },
        Origin::Catalogue(name) => format!("from {name}"),
        Origin::Default => "default".to_owned(),
        Origin::Derived(how) => format!("worked out: {how}"),
    }
}

/// The whole text. `tolerance_K` is the largest error of a step that the integrator allowed.
#[must_use]
pub fn text(
    loaded: &Loaded,
    f: &Findings,
    c: &Choices,
    tolerance_K: f64,
    screen: Screen,
) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = write_values(&mut out, loaded, screen)
        .and_then(|()| write_choices(&mut out, f, c, tolerance_K, screen));
    out
}

fn write_values(o: &mut String, loaded: &Loaded, screen: Screen) -> std::fmt::Result {
    writeln!(o, "The run as understood")?;
    // Titles and notes are for the catalogue.
    let told = |s: &&Stated| !s.key.ends_with(".title") && !s.key.ends_with(".notes");
    for s in loaded.provenance.iter().filter(told) {
        let value = match &s.moment {
            Some(moment) => format!("{} ({moment})", s.value),
            None => s.value_in(screen.system).to_owned(),
        };
        let head = format!("  {:<35}  {value:<16}", s.key);
        let origin = origin_text(s);
        if head.chars().count() + 2 + origin.chars().count() <= screen.width {
            writeln!(o, "{head}  {origin}")?;
            continue;
        }
        writeln!(o, "  {}", s.key)?;
        screen.hanging(o, "      ", "      ", &format!("{value}  {origin}"));
    }
    if !loaded.series.is_empty() {
        writeln!(o, "\nThe weather as read")?;
    }
    for series in &loaded.series {
        let lines = [Some(series.understood().to_owned()), series.thinned()];
        for line in lines.into_iter().flatten() {
            screen.hanging(o, "  ", "    ", &line);
        }
    }
    Ok(())
}

fn write_choices(
    o: &mut String,
    f: &Findings,
    c: &Choices,
    tolerance_K: f64,
    screen: Screen,
) -> std::fmt::Result {
    writeln!(o, "\nHow it is computed")?;
    let (nodes, layers) = (c.nodes, c.air_layers);
    let size = format!("{nodes} temperatures, {layers} layers of air");
    screen.hanging(o, "  ", "  ", &size);
    let effort = format!(
        "{} at {} K a step: {} steps, {} rejected, {} evaluations",
        f.integrator.name(),
        tolerance_K,
        f.effort.steps,
        f.effort.rejected,
        f.effort.evaluations
    );
    screen.hanging(o, "  ", "  ", &effort);
    let biot = c.panels.iter().map(|p| format!("{:.3}", p.biot));
    let nodes = c.panels.iter().map(|p| p.nodes.to_string());
    let panels = Columns {
        head: "Panels".to_owned(),
        names: c.panels.iter().map(|p| format!("  {}", p.name)).collect(),
        columns: vec![
            Column::numbers(&["Biot number"], 0, biot.collect()),
            Column::numbers(&["nodes"], 0, nodes.collect()),
        ],
    };
    write!(o, "\n{}", panels.text(screen.width))?;
    writeln!(o, "\nCorrelations")?;
    for k in &c.correlations {
        screen.hanging(o, "  ", "  ", k.range.name);
        screen.hanging(o, "      ", "      ", &range_text(k));
        screen.hanging(o, "      ", "      ", k.range.source);
    }
    Ok(())
}

fn range_text(k: &CorrelationChoice) -> String {
    let (q, low, high) = (k.range.quantity, k.range.low, k.range.high);
    let published = format!("published for {q} {low:.0e} to {high:.0e}");
    let (from, to) = k.met;
    let outside = if k.range.contains(from) && k.range.contains(to) {
        ""
    } else {
        " (partly outside)"
    };
    format!("{q} {from:.1e} to {to:.1e} here, {published}{outside}")
}

/// The same as a JSON object.
#[must_use]
pub fn json(loaded: &Loaded, c: &Choices) -> Value {
    json!({
        "values": values(&loaded.provenance),
        "weather": loaded.series.iter().map(|series| json!({
            "understood": series.understood(),
            "thinned": series.thinned(),
        })).collect::<Vec<_>>(),
        "nodes": c.nodes,
        "air_layers": c.air_layers,
        "panels": c.panels.iter().map(|p| json!({
            "panel": p.name,
            "biot": rounded(p.biot, 6),
            "nodes": p.nodes,
        })).collect::<Vec<_>>(),
        "correlations": c.correlations.iter().map(|k| json!({
            "name": k.range.name,
            "quantity": k.range.quantity,
            "published_from": k.range.low,
            "published_to": k.range.high,
            "met_from": significant(k.met.0),
            "met_to": significant(k.met.1),
            "faces": k.faces,
            "source": k.range.source,
        })).collect::<Vec<_>>(),
    })
}

/// Four digits, so that output is the same on every machine.
fn significant(v: f64) -> f64 {
    format!("{v:.3e}").parse().unwrap_or(v)
}

/// Values with their origins, for JSON.
#[must_use]
pub fn values(stated: &[Stated]) -> Vec<Value> {
    stated
        .iter()
        .map(|s| {
            let (origin, from) = match &s.origin {
                Origin::Typed => ("typed", None),
                Origin::Catalogue(name) => ("catalogue", Some(name.as_ref())),
                Origin::Default => ("default", None),
                Origin::Derived(how) => ("derived", Some(*how)),
            };
            json!({
                "key": s.key,
                "value": s.value,
                "moment": s.moment,
                "guessed": s.is_guess,
                "origin": origin,
                "from": from,
                "file": s.place.as_ref().map(|p| p.0.as_str()),
                "line": s.place.as_ref().map(|p| p.1),
                "meaning": s.doc,
            })
        })
        .collect()
}

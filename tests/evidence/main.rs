//! Every part of the model against something outside the project, and the page that shows it.
//!
//! `README.md` beside this file is written by the run: `DOGDAYS_WRITE_EVIDENCE=1 cargo test --test
//! evidence` rewrites it; without, a stale page fails. `DOGDAYS_REFERENCE_DIR` reads the grids of
//! the reference libraries from another folder, freshly made ones for instance.

#![allow(non_snake_case)]

mod air;
mod case;
mod conduction;
mod convection;
mod datasets;
mod ducts;
mod filament;
mod grids;
mod integrators;
mod measured_box;
mod network_known_solutions;
mod openings;
mod page;
mod plain;
mod plume;
mod radiation_view_factors;
mod reference_networks;
mod whole_model;
mod worked_examples;

use case::Case;
use std::collections::BTreeSet;

fn all() -> Vec<Case> {
    [
        air::cases(),
        convection::natural(),
        convection::forced(),
        radiation_view_factors::cases(),
        conduction::cases(),
        filament::cases(),
        plume::cases(),
        openings::cases(),
        ducts::cases(),
        network_known_solutions::cases(),
        integrators::cases(),
        worked_examples::cases(),
        datasets::cases(),
        whole_model::cases(),
        measured_box::cases(),
    ]
    .concat()
}

#[test]
fn every_check_holds_and_the_page_is_current() {
    let cases = all();
    let failed: Vec<String> = cases
        .iter()
        .filter(|c| !c.holds())
        .map(|c| {
            let value = match &c.value {
                case::Value::Number { theirs, ours } => format!("theirs {theirs}, ours {ours}"),
                case::Value::Grid(p) => {
                    let worst = p.iter().max_by(|a, b| {
                        ((a.0 - a.1) / a.0)
                            .abs()
                            .total_cmp(&((b.0 - b.1) / b.0).abs())
                    });
                    format!("worst {worst:?} of {}", p.len())
                }
            };
            format!(
                "{}: {} [{:?}]: {value}; deviation {:.3e}, allowed {:?}",
                c.subject,
                c.what,
                c.source,
                c.deviation(),
                c.tolerance
            )
        })
        .collect();
    assert!(
        failed.is_empty(),
        "{} of {} checks fail:\n{}",
        failed.len(),
        cases.len(),
        failed.join("\n")
    );

    // What was remembered of a book must at least follow from its own inputs.
    for r in worked_examples::recomputed() {
        assert!((r.again - r.printed).abs() <= r.allowed, "{r:?}");
    }

    let sources: BTreeSet<_> = cases.iter().map(|c| c.source).collect();
    assert!(cases.len() >= 100, "{} checks", cases.len());
    assert!(sources.len() >= 15, "{} sources", sources.len());

    // Fresh grids may differ in the last digit printed; the page belongs to the committed ones.
    if std::env::var_os("DOGDAYS_REFERENCE_DIR").is_some() {
        return;
    }
    let recomputed = worked_examples::recomputed();
    let page = page::page(&cases, &sources, &recomputed);
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/evidence/README.md");
    if std::env::var_os("DOGDAYS_WRITE_EVIDENCE").is_some() {
        std::fs::write(path, page).expect("the page can be written");
        return;
    }
    let there = std::fs::read_to_string(path)
        .unwrap_or_default()
        .replace("\r\n", "\n");
    let first = page.lines().zip(there.lines()).find(|(a, b)| a != b);
    assert!(
        there == page,
        "tests/evidence/README.md is stale (first difference: {first:?}); write it anew with DOGDAYS_WRITE_EVIDENCE=1 cargo test --test evidence"
    );
}

/// Another processor or mathematical library moves the last digits: the page must not change by it.
#[test]
fn the_page_is_the_same_on_another_machine() {
    if std::env::var_os("DOGDAYS_REFERENCE_DIR").is_some() {
        return;
    }
    let cases = all();
    let sources: BTreeSet<_> = cases.iter().map(|c| c.source).collect();
    let page = |scale: f64| {
        let moved: Vec<Case> = cases.iter().map(|c| c.moved(scale)).collect();
        page::page(&moved, &sources, &worked_examples::recomputed())
    };
    let here = page(0.0);
    for scale in [-1.0, 1.0] {
        let there = page(scale);
        let first = here.lines().zip(there.lines()).find(|(a, b)| a != b);
        assert_eq!(first, None, "a number too close to a rounding edge");
    }
}

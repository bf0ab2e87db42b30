//! Lays what was typed over the catalogue, and fills in defaults.

use crate::catalogue::Catalogue;
use crate::keys::complete::complete;
use crate::keys::fields::{RUN_FILE, machine::MACHINE_OVERRIDES};
use crate::keys::kinds::Kind as EntryKind;
use crate::keys::schema::{Kind, Table};
use crate::keys::section::{Data, Origin, Section, Value};
use crate::run::FilterKind;
use crate::run::derive::notes::Notes;
use std::sync::Arc;

/// The whole run as described: typed values over the catalogue's, names of panels replaced by what they
/// name, defaults where neither says anything.
pub(super) fn completed(
    mut root: Section,
    catalogue: &Catalogue,
    notes: &mut Notes<'_>,
) -> Section {
    for (key, kind, telling) in [
        ("machine", EntryKind::Machine, "width"),
        ("material", EntryKind::Material, "softening_limit"),
    ] {
        lay_over(&mut root, key, kind, telling, catalogue, notes);
    }
    coefficients_of_machine(&mut root);
    if let Some(machine) = root.section_mut("machine") {
        resolve_panels(machine, &MACHINE_OVERRIDES, catalogue, notes);
    }
    complete(&mut root, "", &RUN_FILE, notes.file, notes.problems);
    if let Some(system) = root.section_mut("system") {
        filter_pressures(system);
    }
    root
}

/// A filter of which only the kind is known takes what such filters do: what is not described must not flatter a fan.
fn filter_pressures(system: &mut Section) {
    if system.is_bad("filter_stops") {
        return;
    }
    let (clean_Pa, loaded_Pa) = FilterKind::of(system.text("filter_stops")).usual_Pa();
    let clean_Pa = match (
        system.number("filter_clean"),
        system.number("filter_loaded"),
    ) {
        (Some(typed_Pa), _) => typed_Pa,
        (None, Some(loaded_Pa)) => clean_Pa.min(loaded_Pa),
        (None, None) => clean_Pa,
    };
    for (key, usual_Pa) in [
        ("filter_clean", clean_Pa),
        ("filter_loaded", loaded_Pa.max(clean_Pa)),
    ] {
        system.entries.entry(key).or_insert_with(|| Value {
            data: Data::Number(usual_Pa),
            mark: None,
            origin: Origin::Derived("what filters of this kind usually take"),
            within: None,
        });
    }
}

/// A machine may bring coefficients that were found on it; the run's own are laid over them. They have one place
/// from here on, under `[coefficients]`.
fn coefficients_of_machine(root: &mut Section) {
    let machine = root.section_mut("machine");
    let Some(known) = machine.and_then(|m| m.entries.remove("coefficients")) else {
        return;
    };
    let (typed, known) = match (root.entries.remove("coefficients"), known) {
        (
            Some(Value {
                data: Data::Section(typed),
                mark,
                origin,
                within,
            }),
            Value {
                data: Data::Section(known),
                ..
            },
        ) => {
            let typed = Arc::unwrap_or_clone(typed);
            let all = Arc::unwrap_or_clone(known).overlaid(typed);
            let data = Data::Section(Arc::new(all));
            let all = Value {
                data,
                mark,
                origin,
                within,
            };
            (Some(all), None)
        }
        (None, known) => (None, Some(known)),
        // What is wrong with it has been reported.
        (Some(typed), _) => (Some(typed), None),
    };
    if let Some(value) = typed.or(known) {
        root.entries.insert("coefficients", value);
    }
}

/// Puts the catalogue's values under the typed ones. `telling` is a key that only a full
/// description has: with it, no name is needed.
fn lay_over(
    root: &mut Section,
    key: &'static str,
    kind: EntryKind,
    telling: &str,
    catalogue: &Catalogue,
    notes: &mut Notes<'_>,
) {
    let Some(typed) = root.section(key) else {
        return;
    };
    let mut known_name = None;
    let base = match typed.text("name") {
        Some(name) => match catalogue.get(kind, name) {
            Some(entry) => {
                known_name = Some(entry.name.clone());
                entry.section(notes.problems)
            }
            None => {
                let message = format!("there is no {} \"{name}\" in the catalogue", kind.name());
                let mut help = catalogue.suggestion(kind, name);
                help.push_str(&format!(
                    "; one of your own is a file {}/{}/{name}.toml beside the run file",
                    super::models::BESIDE,
                    kind.folder()
                ));
                notes.error(typed.mark_of("name"), message, help);
                None
            }
        },
        None if typed.is_bad("name") => None,
        None if typed.has(telling) => return,
        None => {
            let names: Vec<_> = catalogue.list(kind).map(|e| e.name.as_str()).collect();
            let message = format!("[{key}] needs `name`, or a full description");
            let help = format!("add name = \"...\" with one of {}", names.join(", "));
            notes.error(typed.mark.as_ref(), message, help);
            None
        }
    };
    let Some(value) = root.entries.get_mut(key) else {
        return;
    };
    value.data = match (base, std::mem::replace(&mut value.data, Data::Bad)) {
        (Some(base), Data::Section(typed)) => {
            let mut typed = Arc::unwrap_or_clone(typed);
            // "PETG" was typed, "petg" is its name.
            if let (Some(name), Some(value)) = (known_name, typed.entries.get_mut("name")) {
                value.data = Data::Text(name);
            }
            Data::Section(Arc::new(base.overlaid(typed)))
        }
        _ => Data::Bad,
    };
}

/// Replaces names of panels by what the catalogue says of them.
fn resolve_panels(
    section: &mut Section,
    schema: &'static Table,
    catalogue: &Catalogue,
    notes: &mut Notes<'_>,
) {
    for field in schema.fields {
        if !matches!(field.kind, Kind::Panel(_)) {
            continue;
        }
        let Some(Value { data, mark, .. }) = section.entries.get_mut(field.key) else {
            continue;
        };
        let Data::Text(name) = data else { continue };
        let name = name.clone();
        if let Some(entry) = catalogue.get(EntryKind::Panel, &name) {
            *data = entry
                .section(notes.problems)
                .map_or(Data::Bad, |mut panel| {
                    let name = Value {
                        data: Data::Text(entry.name.clone()),
                        mark: mark.clone(),
                        origin: Origin::Catalogue(entry.name.as_str().into()),
                        within: None,
                    };
                    panel.entries.insert("name", name);
                    Data::Section(Arc::new(panel))
                });
        } else {
            let message = format!("there is no panel \"{name}\" in the catalogue");
            let help = catalogue.suggestion(EntryKind::Panel, &name);
            notes.error(mark.as_ref(), message, help);
            *data = Data::Bad;
        }
    }
}

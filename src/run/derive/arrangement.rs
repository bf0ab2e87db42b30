//! From `[arrangement]` to what is open, shut or blowing, and when.

use super::job::{Plan, hours};
use super::notes::Notes;
use super::room::Span;
use crate::keys::problem::Mark;
use crate::keys::section::Section;
use crate::quantity::Quantity;
use crate::run::arrangement::has_fan;
use crate::run::{Arrangement, ArrangementKind, Control, Scheduled};

pub(super) fn arrangement(section: &Section, notes: &mut Notes<'_>) -> Option<Arrangement> {
    let kind = arrangement_kind(section, notes)?;
    if section.is_bad("thermostat") || section.is_bad("schedule") {
        return None;
    }
    let Some(thermostat) = section.section("thermostat") else {
        return Some(Arrangement {
            kind,
            control: Control::Constant,
        });
    };
    if !kind.has_fan() {
        let message = format!(
            "a thermostat works a fan, but \"{}\" has none",
            section.text("kind")?
        );
        notes.error(
            section.mark_of("thermostat"),
            message,
            "write kind = \"extracting\" with a flow, or leave the thermostat away",
        );
        return None;
    }
    let (on_above_K, off_below_K) = (
        thermostat.number("on_above")?,
        thermostat.number("off_below")?,
    );
    if off_below_K >= on_above_K {
        let text = |k| Quantity::Temperature.to_text(k, "degC");
        let message = format!(
            "the fan would stop below {} and start above {}: off_below has to be lower",
            text(off_below_K),
            text(on_above_K)
        );
        notes.error(
            thermostat.mark_of("off_below"),
            message,
            "leave a kelvin or two between them, so that the fan does not chatter",
        );
        return None;
    }
    Some(Arrangement {
        kind,
        control: Control::Thermostat {
            on_above_K,
            off_below_K,
        },
    })
}

fn arrangement_kind(section: &Section, notes: &mut Notes<'_>) -> Option<ArrangementKind> {
    let word = section.text("kind")?;
    if !has_fan(word) {
        for key in ["flow", "fan_power"] {
            if section.is_typed(key) {
                let message = format!("`{key}` has no effect: \"{word}\" has no fan");
                notes.hint(
                    section.mark_of(key),
                    message,
                    "write kind = \"extracting\" if a fan runs",
                );
            }
        }
        return Some(match word {
            "lid off" => ArrangementKind::LidOff,
            "door open" => ArrangementKind::DoorOpen,
            _ => ArrangementKind::Closed,
        });
    }
    if !section.has("flow") {
        let message = format!("\"{word}\" needs the flow of its fan");
        notes.error(section.mark_of("kind"), message, "add flow = \"40 m3/h\"");
    }
    let flow_m3_per_s = section.number("flow")?;
    Some(match word {
        "extracting" => ArrangementKind::Extracting { flow_m3_per_s },
        "blowing in" => ArrangementKind::BlowingIn { flow_m3_per_s },
        _ => ArrangementKind::Recirculating {
            flow_m3_per_s,
            fan_power_W: section.number("fan_power")?,
        },
    })
}

/// The arrangement's schedule and the door openings of spool changes, in order.
pub(super) fn schedule(
    root: &Section,
    span: Option<&Span>,
    plan: Option<&Plan>,
    notes: &mut Notes<'_>,
) -> Option<Vec<Scheduled>> {
    let duration_s = span?.duration_s;
    let mut entries: Vec<(Scheduled, Option<Mark>)> = Vec::new();
    let before = notes.errors();
    for section in root.section("arrangement")?.list("schedule") {
        let begin_s = section.number("at")?;
        let end_s = begin_s + section.number("duration")?;
        let kind = arrangement_kind(section, notes)?;
        if end_s > duration_s {
            let message = format!(
                "this lasts from {} to {}, but the run only to {}",
                hours(begin_s),
                hours(end_s),
                hours(duration_s)
            );
            notes.error(
                section.mark_of("at"),
                message,
                "`at` counts from the start of the run",
            );
        }
        let arrangement = Arrangement {
            kind,
            control: Control::Constant,
        };
        let scheduled = Scheduled {
            begin_s,
            end_s,
            arrangement,
        };
        entries.push((scheduled, section.mark_of("at").cloned()));
    }
    for (begin_s, end_s, mark) in plan
        .map(|plan| plan.door_open.as_slice())
        .unwrap_or_default()
    {
        let arrangement = Arrangement {
            kind: ArrangementKind::DoorOpen,
            control: Control::Constant,
        };
        entries.push((
            Scheduled {
                begin_s: *begin_s,
                end_s: *end_s,
                arrangement,
            },
            mark.clone(),
        ));
    }
    entries.sort_by(|a, b| a.0.begin_s.total_cmp(&b.0.begin_s));
    for pair in entries.windows(2) {
        if let [(first, _), (second, mark)] = pair
            && second.begin_s < first.end_s
        {
            let message = format!(
                "this begins at {}, while the change of arrangement before it lasts until {}",
                hours(second.begin_s),
                hours(first.end_s)
            );
            notes.error(mark.as_ref(), message, "only one arrangement can hold at a time; spool changes with an open door count as one");
        }
    }
    let after = notes.errors();
    (after == before).then(|| {
        entries
            .into_iter()
            .map(|(scheduled, _)| scheduled)
            .collect()
    })
}

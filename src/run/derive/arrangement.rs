//! From `[arrangement]` to what is open, shut or blowing, and when.

use super::job::Plan;
use super::moments::{stretches, when};
use super::notes::Notes;
use crate::keys::moment::Span;
use crate::keys::problem::Mark;
use crate::keys::section::Section;
use crate::quantity::Quantity;
use crate::run::arrangement::{RECIRCULATING_FAN_W, assumed_fan_power_W, has_fan};
use crate::run::{Arrangement, ArrangementKind, Control, Jet, OpenSide, Scheduled};

/// The power of a fan whose heat stays in the chamber, where nobody typed it. Of one that blows in: what is
/// said of the fan elsewhere, or else a thirsty one's.
pub(super) fn derive(root: &mut Section) {
    let known_W = root.section("system").and_then(|s| s.number("fan_power"));
    let Some(arrangement) = root.section_mut("arrangement") else {
        return;
    };
    derive_power(arrangement, known_W);
    for stretch in arrangement.list_mut("schedule") {
        derive_power(stretch, known_W);
    }
}

fn derive_power(section: &mut Section, known_W: Option<f64>) {
    let (power_W, how) = match (section.text("kind"), known_W, section.number("flow")) {
        (Some("recirculating"), ..) => (RECIRCULATING_FAN_W, "not known"),
        (Some("blowing in"), Some(power_W), _) => (power_W, "system.fan_power"),
        (Some("blowing in"), None, Some(flow)) => (
            assumed_fan_power_W(flow),
            "not known: 0.35 W per m3/h and no less than 10 W, on the warm side",
        ),
        _ => return,
    };
    if !section.is_bad("fan_power") {
        section.derive("fan_power", power_W, how);
    }
}

pub(super) fn arrangement(section: &Section, notes: &mut Notes<'_>) -> Option<Arrangement> {
    let all_the_time = beside(section, arrangement_kind(section, notes)?, notes)?;
    if section.is_bad("thermostat") || section.is_bad("schedule") {
        return None;
    }
    let Some(thermostat) = section.section("thermostat") else {
        return Some(all_the_time);
    };
    if !all_the_time.kind.has_fan() {
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
            "the fan would stop below {} and start above {}: off_below has to be lower than on_above",
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
        control: Control::Thermostat {
            on_above_K,
            off_below_K,
        },
        ..all_the_time
    })
}

/// What stands open beside a fan, and where it blows.
fn beside(section: &Section, kind: ArrangementKind, notes: &mut Notes<'_>) -> Option<Arrangement> {
    let with_fan = ["open", "outlet", "speed_at_bed", "speed_at_part"];
    if with_fan.iter().any(|key| section.is_bad(key)) {
        return None;
    }
    if !kind.has_fan() {
        if let Some(side) = section.text("open") {
            let message = format!(
                "`open` says what stands open while a fan runs, but \"{}\" has none",
                kind.name()
            );
            let help = if side == "lid" {
                "write kind = \"lid off\", or the fan's kind with its flow"
            } else {
                "write kind = \"door open\", or the fan's kind with its flow"
            };
            notes.error(section.mark_of("open"), message, help);
            return None;
        }
        return Some(Arrangement::of(kind));
    }
    if section.is_typed("outlet") && !matches!(kind, ArrangementKind::Recirculating { .. }) {
        notes.hint(
            section.mark_of("outlet"),
            format!(
                "`outlet` has no effect: \"{}\" has no jet inside",
                kind.name()
            ),
            "leave it away, or write kind = \"recirculating\"",
        );
    }
    let usual = Jet::default();
    Some(Arrangement {
        open: section.text("open").map(|side| match side {
            "lid" => OpenSide::Lid,
            _ => OpenSide::Door,
        }),
        jet: Jet {
            outlet_m: section.number("outlet").unwrap_or(usual.outlet_m),
            at_bed_m_per_s: section.number("speed_at_bed").unwrap_or(0.0),
            at_part_m_per_s: section.number("speed_at_part").unwrap_or(0.0),
        },
        ..Arrangement::of(kind)
    })
}

fn arrangement_kind(section: &Section, notes: &mut Notes<'_>) -> Option<ArrangementKind> {
    let word = section.text("kind")?;
    if !has_fan(word) {
        for key in [
            "flow",
            "fan_power",
            "outlet",
            "speed_at_bed",
            "speed_at_part",
        ] {
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
        "blowing in" => ArrangementKind::BlowingIn {
            flow_m3_per_s,
            fan_power_W: section.number("fan_power")?,
        },
        _ => ArrangementKind::Recirculating {
            flow_m3_per_s,
            fan_power_W: section.number("fan_power")?,
        },
    })
}

/// A change of arrangement on its way to the schedule.
struct Entry {
    scheduled: Scheduled,
    mark: Option<Mark>,
    repeats: bool,
    /// A change of spool that nobody wrote the time of.
    follows: bool,
}

/// The arrangement's schedule and the door openings of spool changes, in order. What comes every day leaves
/// room for what comes once, and both for changes that follow from the material fed.
pub(super) fn schedule(
    root: &Section,
    span: Option<&Span>,
    plan: Option<&Plan>,
    notes: &mut Notes<'_>,
) -> Option<Vec<Scheduled>> {
    let span = span?;
    let mut entries: Vec<Entry> = Vec::new();
    let before = notes.errors();
    let mut is_whole = true;
    for section in root.section("arrangement")?.list("schedule") {
        let stretches = stretches(section, span, notes);
        let kind = arrangement_kind(section, notes);
        let arrangement = kind.and_then(|kind| beside(section, kind, notes));
        let (Some(stretches), Some(arrangement)) = (stretches, arrangement) else {
            is_whole = false;
            continue;
        };
        for stretch in stretches {
            if stretch.end_s > span.duration_s {
                let message = format!(
                    "this lasts from {} to {}, but the run only to {}",
                    when(stretch.begin_s, span),
                    when(stretch.end_s, span),
                    when(span.duration_s, span)
                );
                let help = "let it end with the run, or make run.duration longer";
                notes.error(section.mark_of("at"), message, help);
            }
            entries.push(Entry {
                scheduled: Scheduled {
                    begin_s: stretch.begin_s,
                    end_s: stretch.end_s,
                    arrangement: arrangement.clone(),
                },
                mark: section.mark_of("at").cloned(),
                repeats: stretch.repeats,
                follows: false,
            });
        }
    }
    let doors = plan.map_or(&[][..], |plan| plan.door_open.as_slice());
    entries.extend(doors.iter().map(|door| Entry {
        scheduled: Scheduled {
            begin_s: door.begin_s,
            end_s: door.end_s,
            arrangement: Arrangement::of(ArrangementKind::DoorOpen),
        },
        mark: door.mark.clone(),
        repeats: false,
        follows: door.follows,
    }));
    entries.sort_by(|a, b| a.scheduled.begin_s.total_cmp(&b.scheduled.begin_s));
    let (follows, entries): (Vec<_>, Vec<_>) = entries.into_iter().partition(|entry| entry.follows);
    let (daily, single): (Vec<_>, Vec<_>) = entries.into_iter().partition(|entry| entry.repeats);
    apart(&daily, span, notes);
    apart(&single, span, notes);
    if !is_whole || notes.errors() > before {
        return None;
    }
    let alone = |entries: Vec<Entry>| entries.into_iter().map(|entry| entry.scheduled).collect();
    let single = making_way(alone(single), alone(follows));
    Some(making_way(alone(daily), single))
}

/// Stretches, and others that they leave room for, in order.
fn making_way(stretches: Vec<Scheduled>, others: Vec<Scheduled>) -> Vec<Scheduled> {
    let mut all: Vec<Scheduled> = stretches
        .into_iter()
        .flat_map(|stretch| around(stretch, &others))
        .collect();
    all.extend(others);
    all.sort_by(|a, b| a.begin_s.total_cmp(&b.begin_s));
    all
}

/// A fan that draws air out at some time is there all the time: what has no fan at work has one that stands still.
pub(super) fn stand_still(arrangement: &mut Arrangement, schedule: &mut [Scheduled]) {
    let all = || std::iter::once(&*arrangement).chain(schedule.iter().map(|s| &s.arrangement));
    if !all().any(|a| matches!(a.kind, ArrangementKind::Extracting { .. })) {
        return;
    }
    let all = std::iter::once(arrangement).chain(schedule.iter_mut().map(|s| &mut s.arrangement));
    for a in all {
        a.stopped_fan = !a.kind.has_fan();
    }
}

/// Reports changes of arrangement that overlap; each table once.
fn apart(entries: &[Entry], span: &Span, notes: &mut Notes<'_>) {
    let mut told = Vec::new();
    for pair in entries.windows(2) {
        if let [first, second] = pair
            && second.scheduled.begin_s < first.scheduled.end_s
            && !told.contains(&second.mark.as_ref())
        {
            told.push(second.mark.as_ref());
            let message = format!(
                "this begins at {}, while the change of arrangement before it lasts until {}",
                when(second.scheduled.begin_s, span),
                when(first.scheduled.end_s, span)
            );
            notes.error(second.mark.as_ref(), message, "only one arrangement can hold at a time; spool changes with an open door count as one");
        }
    }
}

/// What is left of a stretch beside others, which are in order and do not overlap.
fn around(stretch: Scheduled, others: &[Scheduled]) -> Vec<Scheduled> {
    let mut left = Vec::new();
    let mut from_s = stretch.begin_s;
    for other in others {
        if other.end_s <= from_s || other.begin_s >= stretch.end_s {
            continue;
        }
        if other.begin_s > from_s {
            left.push(Scheduled {
                begin_s: from_s,
                end_s: other.begin_s,
                ..stretch.clone()
            });
        }
        from_s = other.end_s;
    }
    if from_s < stretch.end_s {
        left.push(Scheduled {
            begin_s: from_s,
            ..stretch
        });
    }
    left
}

//! From `[[failure]]` to what may fail, and when.

use super::moments::{begin, end, one_end, when};
use super::notes::Notes;
use crate::keys::moment::Span;
use crate::keys::section::Section;
use crate::run::{Arrangement, Failure, FailureKind, Room, Scheduled};

/// Every failure asked about, in the file's order; `None` when something is wrong, which then has been reported.
pub(super) fn failures(
    root: &Section,
    span: Option<&Span>,
    arrangements: Option<(&Arrangement, &[Scheduled])>,
    room: Option<&Room>,
    notes: &mut Notes<'_>,
) -> Option<Vec<Failure>> {
    if root.is_bad("failure") {
        return None;
    }
    let before = notes.errors();
    let mut found = Vec::new();
    let mut is_whole = true;
    for section in root.list("failure") {
        let stretch = span.and_then(|span| stretch(section, span, notes));
        let kind = section.text("kind").map(kind);
        let (Some((begin_s, end_s)), Some(kind)) = (stretch, kind) else {
            is_whole = false;
            continue;
        };
        let failure = Failure {
            kind,
            begin_s,
            end_s,
        };
        match kind {
            FailureKind::FanOff => {
                if let (Some(arrangements), Some(span)) = (arrangements, span)
                    && !fan_runs(arrangements, &failure)
                {
                    no_fan(section, &failure, span, notes);
                }
            }
            FailureKind::AirConditionerOff => {
                if let Some(room) = room {
                    needs_cooler(section, room, notes);
                }
            }
            FailureKind::PowerCut => {}
        }
        found.push(failure);
    }
    (is_whole && notes.errors() == before).then_some(found)
}

/// The words have been checked against the declared ones.
fn kind(word: &str) -> FailureKind {
    match word {
        "fan off" => FailureKind::FanOff,
        "air conditioner off" => FailureKind::AirConditionerOff,
        _ => FailureKind::PowerCut,
    }
}

/// When it begins and ends: with the run, where nothing says when or that would be later.
fn stretch(section: &Section, span: &Span, notes: &mut Notes<'_>) -> Option<(f64, f64)> {
    if ["at", "duration", "until"]
        .iter()
        .any(|key| section.is_bad(key))
    {
        return None;
    }
    let is_said = section.has("duration") || section.has("until");
    if is_said {
        one_end(section, notes)?;
    }
    let begin_s = begin(section, span, notes)?;
    if begin_s >= span.duration_s {
        let message = format!(
            "this fails at {}, but the run ends at {}",
            when(begin_s, span),
            when(span.duration_s, span)
        );
        let help = "write a time within the run: by the clock, \"Wed 14:00\", or counted from its start, \"31 h\"";
        notes.error(section.mark_of("at"), message, help);
        return None;
    }
    let end_s = if is_said {
        end(section, begin_s, span, notes)?
    } else {
        span.duration_s
    };
    Some((begin_s, end_s.min(span.duration_s)))
}

/// Whether a fan runs, or may by its thermostat, at any time of a failure.
fn fan_runs((usual, schedule): (&Arrangement, &[Scheduled]), failure: &Failure) -> bool {
    let mut usual_s = failure.end_s - failure.begin_s;
    for other in schedule {
        let overlap_s = other.end_s.min(failure.end_s) - other.begin_s.max(failure.begin_s);
        if overlap_s > 0.0 {
            if other.arrangement.kind.has_fan() {
                return true;
            }
            usual_s -= overlap_s;
        }
    }
    usual.kind.has_fan() && usual_s > 1e-6
}

fn no_fan(section: &Section, failure: &Failure, span: &Span, notes: &mut Notes<'_>) {
    let message = format!(
        "no fan runs from {} to {} that could fail",
        when(failure.begin_s, span),
        when(failure.end_s, span)
    );
    let help = "a fan is that of `[arrangement]` or `[[arrangement.schedule]]`, kind = \"extracting\", \"blowing in\" or \"recirculating\" with a flow; write a time in which it runs, or leave this failure away";
    notes.error(section.mark_of("kind"), message, help);
}

fn needs_cooler(section: &Section, room: &Room, notes: &mut Notes<'_>) {
    let message = match &room.building {
        Some(building) if building.cooler_max_W > 0.0 => return,
        Some(_) => {
            "the room has no air conditioner that could fail: `room.building.cooler_power` is 0"
        }
        None => {
            "this run knows no air conditioner that could fail: the room's temperature is given as it is"
        }
    };
    let help = "describe the room under [room.building], with volume, envelope, cooler_power = \"2.5 kW\" and cooler_setpoint, and give outdoors' temperature under [room]; or leave this failure away";
    notes.error(section.mark_of("kind"), message, help);
}

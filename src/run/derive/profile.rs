//! From a job's own course to phases that fill the run.
//!
//! A row holds until the next. A few states are taken as they stand. In a table of many, rows are gathered to
//! stretches of minutes and rounded, so that states are few and recur: each is built once, and every change costs
//! an integrator some steps.

use super::job::{Duties, Frame, PHASES, Plan};
use super::moments::hours;
use super::notes::Notes;
use crate::keys::section::Section;
use crate::profile::{Profile, Row, Setpoint};
use crate::quantity::{Quantity, format_duration};
use crate::run::{Phase, PhaseKind};
use std::collections::HashSet;

/// Different states, and changes from one to another, up to which a table is taken as it stands.
const STATES_AS_TYPED: usize = 200;
const CHANGES_AS_TYPED: usize = 1_000;
/// Longest stretch over which rows of a larger table are gathered, s: short against the minutes in which a motor
/// warms, so that their mean does what they do.
const GATHERED_S: f64 = 300.0;
/// Most different states, and most changes from one to another: more would take minutes to study.
const STATES_MOST: usize = 2_000;
const CHANGES_MOST: usize = 20_000;
/// Steps to which a larger table is rounded: share of a feed, K, share of a motor's heat.
const FEED_STEP: f64 = 0.01;
const SETPOINT_STEP_K: f64 = 0.5;
const DUTY_STEP: f64 = 0.02;
/// Feeds are typed with two or three digits: so far, as a share, a table and a part's mass may differ.
pub(super) const AGREEMENT: f64 = 0.01;

/// The phases of a job that has a course of its own; `None` when something is wrong, which then has been
/// reported.
pub(super) fn plan(
    job: &Section,
    profile: &Profile,
    duties: &Duties,
    frame: &Frame<'_>,
    notes: &mut Notes<'_>,
) -> Option<Plan> {
    let before = notes.errors();
    clashes(job, profile, notes);
    for (row, begin_s, _) in profile.spans_s(frame.span.duration_s) {
        // A last row at the end says what was left on; it lasts no time.
        if begin_s > frame.span.duration_s + 1.0 {
            let message = format!(
                "this row begins at {}, but the run lasts {}",
                hours(begin_s),
                hours(frame.span.duration_s)
            );
            let help = "take rows after the run's end out, or make run.duration longer";
            notes.error(Some(&profile.mark(row)), message, help);
            break;
        }
    }
    let even_kg_per_s = if profile.feeds() {
        agree(job, profile, frame, notes);
        0.0
    } else {
        let feeding = profile
            .spans_s(frame.span.duration_s)
            .filter(|(row, ..)| may_feed(row));
        frame.mass_kg
            / feeding
                .map(|(_, begin_s, end_s)| (end_s - begin_s).max(0.0))
                .sum::<f64>()
    };
    let (mut phases, mut from) = (Vec::new(), Vec::new());
    let mut has_fed = false;
    for (row, begin_s, end_s) in profile.spans_s(frame.span.duration_s) {
        if end_s <= begin_s {
            continue;
        }
        let feed_kg_per_s = match row.feed {
            Some(feed) => feed.kg_per_s(frame.filament_kg_per_m),
            None if may_feed(row) => even_kg_per_s,
            None => 0.0,
        };
        has_fed |= feed_kg_per_s > 0.0;
        let phase = phase(row, duties, (begin_s, end_s), feed_kg_per_s, has_fed);
        if feed_kg_per_s > 0.0 && phase.nozzle_K.is_none() {
            let message = format!(
                "the job's table feeds material from {} on while the nozzle is off",
                hours(begin_s)
            );
            notes.error(
                Some(&profile.mark(row)),
                message,
                "write a nozzle temperature in every row that feeds, or a feed of 0",
            );
            return None;
        }
        phases.push(phase);
        from.push(row);
    }
    // What is off in mid-print is a pause: its motors hold, and it goes on.
    let last_fed = phases.iter().rposition(|p| p.feed_kg_per_s > 0.0);
    for (k, phase) in phases.iter_mut().enumerate() {
        if phase.kind == PhaseKind::CoolDown && Some(k) < last_fed {
            let usual = duties.phase(PhaseKind::Pause, phase.begin_s, phase.end_s);
            let row = from[k];
            phase.kind = PhaseKind::Pause;
            phase.motion_duty = row.motion.unwrap_or(usual.motion_duty);
            phase.feeder_duty = row.feeder.unwrap_or(usual.feeder_duty);
        }
    }
    if !has_fed {
        notes.error(
            job.mark_of("profile"),
            "no row of the job's table feeds material",
            "write what is fed in feed_g_per_h or feed_mm_per_s, or 0 under standing where the part is printed",
        );
    }
    if notes.errors() > before {
        return None;
    }
    let phases = bounded(phases, job, notes)?;
    Some(Plan {
        phases,
        door_open: Vec::new(),
    })
}

/// Whether a row without a feed of its own takes part in spreading the part's mass.
fn may_feed(row: &Row) -> bool {
    row.stands != Some(true) && row.nozzle != Some(Setpoint::Off)
}

/// Reports what can't stand beside a table of the job.
fn clashes(job: &Section, profile: &Profile, notes: &mut Notes<'_>) {
    for key in PHASES.into_iter().filter(|key| job.is_typed(key)) {
        let message = format!("`job.{key}` can't stand beside `job.profile`");
        notes.error(
            job.mark_of(key),
            message,
            "leave it away: the table says what holds when; or leave job.profile away",
        );
    }
    let Some(row) = profile.rows().first() else {
        return;
    };
    for (key, has) in [
        ("bed", row.bed.is_some()),
        ("nozzle", row.nozzle.is_some()),
        ("motion", row.motion.is_some()),
        ("feeder", row.feeder.is_some()),
        ("part_fan", row.part_fan.is_some()),
        ("chamber", row.chamber.is_some()),
        ("second_nozzle", row.second_nozzle.is_some()),
    ] {
        if has && job.is_typed(key) {
            let message = format!("`job.{key}` and a column of the job's table say the same");
            let help = format!("leave job.{key} away, or take the column {key} out of the table");
            notes.error(job.mark_of(key), message, help);
        }
    }
}

/// Reports a table that feeds another mass than the part has.
fn agree(job: &Section, profile: &Profile, frame: &Frame<'_>, notes: &mut Notes<'_>) {
    let fed_kg = profile.fed_kg(frame.span.duration_s, frame.filament_kg_per_m);
    if let Some(fed_kg) = fed_kg
        && (fed_kg - frame.mass_kg).abs() > AGREEMENT * frame.mass_kg
    {
        let message = format!(
            "the job's table feeds {} of material, but the part's mass is {}",
            Quantity::Mass.to_text(fed_kg, "kg"),
            Quantity::Mass.to_text(frame.mass_kg, "kg")
        );
        notes.error(
            job.mark_of("profile"),
            message,
            "leave part.mass away to take what the table feeds, or change one of the two",
        );
    }
}

fn phase(
    row: &Row,
    duties: &Duties,
    (begin_s, end_s): (f64, f64),
    feed_kg_per_s: f64,
    has_fed: bool,
) -> Phase {
    let heater = |said: Option<Setpoint>, usual_K: Option<f64>| match said {
        Some(Setpoint::Off) => None,
        Some(Setpoint::At(setpoint_K)) => Some(setpoint_K),
        Some(Setpoint::Usual) | None => usual_K,
    };
    let (bed_K, nozzle_K) = (
        heater(row.bed, Some(duties.bed_K)),
        heater(row.nozzle, Some(duties.nozzle_K)),
    );
    let kind = if feed_kg_per_s > 0.0 {
        PhaseKind::Print
    } else if !has_fed {
        PhaseKind::HeatUp
    } else if bed_K.is_none() && nozzle_K.is_none() {
        PhaseKind::CoolDown
    } else {
        PhaseKind::Pause
    };
    let usual = duties.phase(kind, begin_s, end_s);
    Phase {
        bed_K,
        nozzle_K,
        motion_duty: row.motion.unwrap_or(usual.motion_duty),
        feeder_duty: row.feeder.unwrap_or(usual.feeder_duty),
        part_fan: row.part_fan.unwrap_or(usual.part_fan),
        chamber_K: heater(row.chamber, usual.chamber_K),
        second_nozzle_K: heater(row.second_nozzle, usual.second_nozzle_K),
        feed_kg_per_s,
        ..usual
    }
}

/// The phases with equal neighbours made into one; those of a large table rounded first.
fn bounded(phases: Vec<Phase>, job: &Section, notes: &mut Notes<'_>) -> Option<Vec<Phase>> {
    let mut phases = joined(phases);
    let mut states = distinct(&phases);
    let changes = phases.len();
    if states > STATES_AS_TYPED || changes > CHANGES_AS_TYPED {
        phases = gathered(phases, job.number("longest_stop")?);
        phases.iter_mut().for_each(round);
        phases = joined(phases);
        let rounded = distinct(&phases);
        let message = format!(
            "the job's table changes {changes} times between {states} different states: rows that print are gathered over at most {}, stops up to job.longest_stop among them, and rounded, feeds by at most 0.5 %, setpoints 0.25 K, shares 0.01; {} changes between {rounded} states are left",
            format_duration(GATHERED_S),
            phases.len()
        );
        let help = format!(
            "up to {CHANGES_AS_TYPED} changes between {STATES_AS_TYPED} states are taken as they stand"
        );
        notes.hint(job.mark_of("profile"), message, help);
        states = rounded;
    }
    if states > STATES_MOST || phases.len() > CHANGES_MOST {
        let message = format!(
            "the job's table changes {} times between {states} different states; at most {CHANGES_MOST} changes between {STATES_MOST} states are worked out",
            phases.len()
        );
        let help = "round its values to fewer digits, or write its mean over every minute; keep the longest stop of the filament, which decides";
        notes.error(job.mark_of("profile"), message, help);
        return None;
    }
    Some(phases)
}

/// A state as it is told from others: all of a phase but its times, to the last bit.
fn state(phase: &Phase) -> [u64; 10] {
    let Phase {
        kind,
        begin_s: _,
        end_s: _,
        bed_K,
        nozzle_K,
        motion_duty,
        feeder_duty,
        powered,
        feed_kg_per_s,
        chamber_K,
        part_fan,
        second_nozzle_K,
    } = phase;
    let off_or = |setpoint_K: &Option<f64>| setpoint_K.unwrap_or_default().to_bits();
    [
        *kind as u64,
        off_or(bed_K),
        off_or(nozzle_K),
        motion_duty.to_bits(),
        feeder_duty.to_bits(),
        u64::from(*powered),
        feed_kg_per_s.to_bits(),
        off_or(chamber_K),
        part_fan.to_bits(),
        off_or(second_nozzle_K),
    ]
}

fn joined(phases: Vec<Phase>) -> Vec<Phase> {
    let mut all: Vec<Phase> = Vec::with_capacity(phases.len());
    for phase in phases {
        match all.last_mut() {
            Some(last) if state(last) == state(&phase) => last.end_s = phase.end_s,
            _ => all.push(phase),
        }
    }
    all
}

/// The phases with neighbours that print made into stretches with their mean feed and shares, which keep mass and
/// heat. A stop that is no longer than the job's longest is part of printing: the verdict is that of filament that has
/// stood so long anyway. Longer ones, and every other setpoint, stay by themselves.
fn gathered(phases: Vec<Phase>, longest_stop_s: f64) -> Vec<Phase> {
    // A stop may be cut into several rows: it counts as long as they are together.
    let is_long: Vec<bool> = phases
        .chunk_by(|a, b| a.feed_kg_per_s == 0.0 && b.feed_kg_per_s == 0.0)
        .flat_map(|stop| {
            let lasts_s: f64 = stop.iter().map(Phase::length_s).sum();
            let is_long = stop[0].feed_kg_per_s == 0.0 && lasts_s > longest_stop_s;
            std::iter::repeat_n(is_long, stop.len())
        })
        .collect();
    let goes_on = |p: &Phase| matches!(p.kind, PhaseKind::Print | PhaseKind::Pause);
    let heated = |p: &Phase| [p.bed_K, p.nozzle_K, p.chamber_K, p.second_nozzle_K];
    let mut all: Vec<Phase> = Vec::new();
    let mut last_is_long = true;
    for (phase, is_long) in phases.into_iter().zip(is_long) {
        match all.last_mut() {
            Some(last)
                if !last_is_long
                    && !is_long
                    && goes_on(last)
                    && goes_on(&phase)
                    && heated(last) == heated(&phase)
                    && phase.end_s - last.begin_s <= GATHERED_S =>
            {
                let (one_s, other_s) = (last.length_s(), phase.length_s());
                let mean = |a: &mut f64, b: f64| {
                    *a = (*a * one_s + b * other_s) / (one_s + other_s);
                };
                mean(&mut last.feed_kg_per_s, phase.feed_kg_per_s);
                mean(&mut last.motion_duty, phase.motion_duty);
                mean(&mut last.feeder_duty, phase.feeder_duty);
                mean(&mut last.part_fan, phase.part_fan);
                if phase.kind == PhaseKind::Print {
                    last.kind = PhaseKind::Print;
                }
                last.end_s = phase.end_s;
            }
            _ => all.push(phase),
        }
        last_is_long = is_long;
    }
    all
}

/// How many different states there are.
fn distinct(phases: &[Phase]) -> usize {
    phases.iter().map(state).collect::<HashSet<_>>().len()
}

/// Rounds a state. What is fed is told from what stands: rounding never makes one of the other.
fn round(phase: &mut Phase) {
    let to = |value: f64, step: f64| (value / step).round() * step;
    let heaters = [
        &mut phase.bed_K,
        &mut phase.nozzle_K,
        &mut phase.chamber_K,
        &mut phase.second_nozzle_K,
    ];
    for heater in heaters.into_iter().flatten() {
        *heater = to(*heater, SETPOINT_STEP_K);
    }
    let shares = [
        &mut phase.motion_duty,
        &mut phase.feeder_duty,
        &mut phase.part_fan,
    ];
    for duty in shares {
        *duty = to(*duty, DUTY_STEP);
    }
    if phase.feed_kg_per_s > 0.0 {
        let steps = phase.feed_kg_per_s.ln() / FEED_STEP.ln_1p();
        phase.feed_kg_per_s = (1.0 + FEED_STEP).powf(steps.round());
    }
}

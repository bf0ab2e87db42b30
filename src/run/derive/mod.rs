//! From completed sections to a [`Run`]: derives what was left away, and checks what belongs together.
//!
//! One file a table. Everything that is wrong or odd is noted, and the work goes on, so that whoever
//! wrote the run sees all of it at once. This is the only place that makes runs, for run files and for
//! studies alike.

mod arrangement;
mod bed;
mod building;
mod failure;
mod files;
mod forecast;
mod initial;
mod job;
mod machine;
pub(crate) mod material;
mod measured_room;
pub(crate) mod moments;
mod neighbours;
pub(crate) mod notes;
mod panel;
mod part;
mod profile;
pub(crate) mod readings;
mod requirements;
mod room;
mod shop;
mod spool;
mod sun;
mod system;

use super::coefficients::Coefficients;
use super::job::Phase;
use super::machine::Machine;
use super::material::Material;
use super::room::Room;
use super::switched;
use super::whole::{Neighbour, Run};
use crate::keys::moment::Span;
use crate::keys::problem::Mark;
use crate::keys::section::Section;
use crate::quantity::Quantity;
use files::Its;
use jiff::SignedDuration;
use neighbours::Listed;
use notes::Notes;
use std::f64::consts::FRAC_PI_4;

pub(crate) use files::{Files, Other};
pub(crate) use forecast::nth_day;
pub(crate) use job::PHASES;
pub(crate) use spool::follow as changes_follow;

/// Makes a run of completed sections, and adds to them what was worked out. `None` when something is
/// wrong, which then has been noted.
pub(crate) fn derive(
    root: &mut Section,
    files: &mut dyn Files,
    notes: &mut Notes<'_>,
) -> Option<Run> {
    derive_in(None, root, files, notes)
}

/// The same, in a room that is known already or in the one that the sections describe.
fn derive_in(
    known_room: Option<Room>,
    root: &mut Section,
    files: &mut dyn Files,
    notes: &mut Notes<'_>,
) -> Option<Run> {
    let span = root.section("run").and_then(|run| {
        Some(Span {
            start: run.date_time("start")?,
            duration_s: run.number("duration")?,
        })
    });
    if let (Some(span), Some(run)) = (&span, root.section("run")) {
        in_the_calendar(span, run.mark_of("start"), notes);
    }
    let machine = root.section("machine").and_then(|section| {
        machine::check(section, notes);
        machine::machine(section, name_of(section))
    });
    let material = root
        .section("material")
        .and_then(|section| material::material(section, name_of(section)));
    if let Some(material) = &material {
        derive_setpoints(root, material);
    }
    let table = root
        .section("job")
        .filter(|job| job.has("profile"))
        .and_then(|job| files.profile(job, notes));
    let filament_kg_per_m = machine
        .as_ref()
        .zip(material.as_ref())
        .map(|(m, material)| {
            FRAC_PI_4 * m.filament_diameter_m * m.filament_diameter_m * material.density_kg_per_m3
        });
    if let (Some(table), Some(span), Some(kg_per_m), Some(part)) = (
        table.as_deref(),
        span.as_ref(),
        filament_kg_per_m,
        root.section_mut("part"),
    ) && let Some(fed_kg) = table
        .fed_kg(span.duration_s, kg_per_m)
        .filter(|kg| *kg > 0.0)
    {
        part.derive("mass", fed_kg, "what the job's table feeds");
    }
    part::derive(root, machine.as_ref(), material.as_ref());
    let part = part::part(root, machine.as_ref(), material.as_ref(), notes);
    spool::derive(root);
    let spool_mass = spool::mass(root, notes);
    let staffed = shop::hours(root, notes);
    let plan = root.section("job").and_then(|job| {
        // A mass that is wrong elsewhere must not hide what is wrong with the phases, unless
        // they feed by themselves.
        let mass_kg = part.as_ref().map(|part| part.mass_kg);
        if mass_kg.is_none() && (job.has("phase") || job.has("profile")) {
            return None;
        }
        let frame = job::Frame {
            span: span?,
            mass_kg: mass_kg.unwrap_or(1.0),
            filament_kg_per_m: filament_kg_per_m.unwrap_or_default(),
            spools: spool::spools(root, spool_mass.flatten()),
        };
        let duties = job::Duties::read(job)?;
        if job.has("profile") {
            // A table that could not be read has been reported.
            profile::plan(job, table.as_deref()?, &duties, &frame, notes)
        } else {
            job::plan(job, &duties, &frame, notes)
        }
    });
    if let (Some(plan), Some(machine)) = (&plan, &machine) {
        asks_for_absent(root, &plan.phases, machine, notes);
    }
    let (room, neighbours) = match known_room {
        Some(room) => Some((room, Vec::new())),
        None => shared_room(root, span.as_ref(), files, notes),
    }
    .unzip();
    let sun = match root.section("sun") {
        Some(section) => sun::sun(section, span.as_ref(), notes).map(Some),
        None => (!root.is_bad("sun")).then_some(None),
    };
    arrangement::derive(root);
    let mut arrangement = root
        .section("arrangement")
        .and_then(|section| arrangement::arrangement(section, notes));
    let mut schedule = arrangement::schedule(root, span.as_ref(), plan.as_ref(), notes);
    if let (Some(arrangement), Some(schedule)) = (&mut arrangement, &mut schedule) {
        arrangement::stand_still(arrangement, schedule);
        if let Some(span) = &span {
            switched::put(arrangement, schedule, span.duration_s, files.switched());
        }
    }
    let failures = failure::failures(
        root,
        span.as_ref(),
        arrangement.as_ref().zip(schedule.as_deref()),
        room.as_ref(),
        notes,
    );
    let initial = initial::initial(root, neighbours.as_deref(), notes);
    let system = root
        .section("system")
        .and_then(|section| system::system(section, notes));
    let requirements = requirements::requirements(root, arrangement.as_ref(), notes);
    let coefficients = root.section("coefficients").and_then(Coefficients::read);
    if let Some(material) = &material {
        odd_nozzle(root, material, notes);
        if let Some(plan) = &plan {
            cold_nozzle(root, material, &plan.phases, notes);
            bed::odd(root, material, &plan.phases, room.as_ref(), notes);
        }
    }
    let span = span?;
    Some(Run {
        name: root.section("run")?.text("name")?.to_owned(),
        start: span.start,
        duration_s: span.duration_s,
        machine: machine?,
        material: material?,
        phases: plan?.phases,
        filament: root.section("job").and_then(job::filament)?,
        spool: spool_mass?,
        staffed: staffed?,
        part: part?,
        room: room?,
        neighbours: neighbours?,
        sun: sun?,
        initial: initial?,
        arrangement: arrangement?,
        schedule: schedule?,
        failures: failures?,
        fails: Vec::new(),
        system: system?,
        requirements: requirements?,
        coefficients: coefficients?,
    })
}

/// The room with all that is in it.
fn shared_room(
    root: &Section,
    span: Option<&Span>,
    files: &mut dyn Files,
    notes: &mut Notes<'_>,
) -> Option<(Room, Vec<Neighbour>)> {
    let section = root.section("room")?;
    let listed = match span {
        Some(span) => neighbours::listed(root, span, files, notes),
        None => Some(Vec::new()),
    };
    let from_s = listed.as_deref().map_or(0.0, neighbours::reach_from_s);
    let room = room::room(section, span, from_s, files, notes);
    let (listed, span, mut room) = (listed?, span?, room?);
    let K = |key| section.number(key).unwrap_or_default();
    let off_K = (K("shift"), K("thermometer"));
    measured_room::put(&mut room, files.measured_room(), off_K, span.duration_s);
    let found: Vec<Neighbour> = listed
        .iter()
        .filter_map(|listed| neighbour(listed, span, &room, notes))
        .collect();
    (found.len() == listed.len()).then_some((room, found))
}

/// Another run of the room.
fn neighbour(
    listed: &Listed,
    span: &Span,
    room: &Room,
    notes: &mut Notes<'_>,
) -> Option<Neighbour> {
    let other = &listed.other;
    let mut inner = Notes {
        file: &other.file,
        problems: notes.problems,
    };
    let room = Some(listed.room(room));
    let run = derive_in(room, &mut listed.root(span), &mut Its(other), &mut inner)?;
    Some(Neighbour {
        run: listed.until(span.duration_s, run),
        machines: listed.machines,
        begins_s: listed.begins_s,
    })
}

/// What a material brings along where the run does not say otherwise.
/// Dates are counted to the end of the year 9999; studies begin a run later than it says.
fn in_the_calendar(span: &Span, start: Option<&Mark>, notes: &mut Notes<'_>) {
    const SPARE: SignedDuration = SignedDuration::from_hours(366 * 24);
    let end = SignedDuration::try_from_secs_f64(span.duration_s)
        .ok()
        .and_then(|length| span.start.checked_add(length).ok());
    if end.is_none_or(|end| end.checked_add(SPARE).is_err()) {
        notes.error(
            start,
            "the run would end too near the year 10000, or after it: dates here end before"
                .to_owned(),
            "write the year in which it starts, for example 2026",
        );
    }
}

fn derive_setpoints(root: &mut Section, material: &Material) {
    if let Some(job) = root.section_mut("job") {
        job.derive("bed", material.bed_K, "the material's usual one");
        job.derive("nozzle", material.nozzle_K, "the material's usual one");
    }
    if let (Some(require), Some(chamber_min_K)) =
        (root.section_mut("require"), material.chamber_min_K)
    {
        require.derive("chamber_min", chamber_min_K, "the material's");
    }
}

/// Reports what the job sets and the machine does not have.
fn asks_for_absent(root: &Section, phases: &[Phase], machine: &Machine, notes: &mut Notes<'_>) {
    let Some(job) = root.section("job") else {
        return;
    };
    let any = |asks: fn(&Phase) -> bool| phases.iter().any(asks);
    for (key, asked, has, table) in [
        (
            "chamber",
            any(|p| p.chamber_K.is_some()),
            machine.chamber_heater.is_some(),
            "a heater of the chamber's air: add [machine.chamber_heater] with max_power = \"300 W\"",
        ),
        (
            "second_nozzle",
            any(|p| p.second_nozzle_K.is_some()),
            machine.second_hotend.is_some(),
            "a second hotend: add a line [machine.second_hotend]",
        ),
        (
            "part_fan",
            job.is_typed("part_fan"),
            machine.part_fan.is_some(),
            "a part-cooling fan of its own: add [machine.part_fan] with power = \"2.4 W\"",
        ),
    ] {
        if asked && !has {
            let at = if job.has(key) { key } else { "profile" };
            notes.error(
                job.mark_of(at),
                format!("the job sets `{key}`, but the machine has none"),
                format!("the machine needs {table}; or leave `{key}` away"),
            );
        }
    }
}

/// A nozzle that is colder than what softens the material lets nothing through, so that no verdict on the
/// filament would mean anything.
fn cold_nozzle(root: &Section, material: &Material, phases: &[Phase], notes: &mut Notes<'_>) {
    let coldest_K = phases
        .iter()
        .filter(|phase| phase.feed_kg_per_s > 0.0)
        .filter_map(|phase| phase.nozzle_K)
        .fold(f64::INFINITY, f64::min);
    if coldest_K < material.softening_limit_K {
        let text = |K| Quantity::Temperature.to_text(K, "degC");
        let message = format!(
            "a nozzle at {} can't melt {}, which only softens at {}: nothing would be fed",
            text(coldest_K),
            material.name,
            text(material.softening_limit_K)
        );
        let job = root.section("job");
        let mark = job.and_then(|job| {
            ["profile", "phase", "first_layer_nozzle", "nozzle"]
                .into_iter()
                .find_map(|key| job.mark_of(key).filter(|_| job.is_typed(key)))
        });
        let own = root.section("material").and_then(|section| {
            ["nozzle", "softening_limit"]
                .into_iter()
                .find_map(|key| section.mark_of(key).filter(|_| section.is_typed(key)))
        });
        let mark = mark.or(own);
        let help = if material.nozzle_K < material.softening_limit_K {
            "check material.nozzle and material.softening_limit".to_owned()
        } else {
            format!("usual is about {}", text(material.nozzle_K))
        };
        notes.error(mark, message, help);
    }
}

/// A nozzle that is legal but does not go with the material.
fn odd_nozzle(root: &Section, material: &Material, notes: &mut Notes<'_>) {
    let Some(job) = root.section("job") else {
        return;
    };
    let text = |k| Quantity::Temperature.to_text(k, "degC");
    if let Some(nozzle_K) = job.number("nozzle")
        && job.is_typed("nozzle")
        && (nozzle_K - material.nozzle_K).abs() > 60.0
        // Colder still it is an error.
        && nozzle_K >= material.softening_limit_K
    {
        let message = format!(
            "a nozzle at {} is unusual for {}; usual is about {}",
            text(nozzle_K),
            material.name,
            text(material.nozzle_K)
        );
        notes.hint(
            job.mark_of("nozzle"),
            message,
            "check job.nozzle and material.name",
        );
    }
}

fn name_of(section: &Section) -> String {
    section
        .text("name")
        .or_else(|| section.text("title"))
        .unwrap_or("own")
        .to_owned()
}

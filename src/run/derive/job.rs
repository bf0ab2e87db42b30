//! From `[job]` to phases that fill the run.

use super::moments::{end, hours, one_end, stretches, when};
use super::notes::Notes;
use super::spool::{self, Spools};
use crate::keys::moment::Span;
use crate::keys::problem::Mark;
use crate::keys::section::Section;
use crate::quantity::{Quantity, format_duration};
use crate::run::{Filament, Phase, PhaseKind};

/// Keys that say how the job goes on: those that a table of the job, or a list of phases, takes the place of.
pub(crate) const PHASES: [&str; 9] = [
    "heat_up",
    "soak",
    "cool_down",
    "first_layers",
    "first_layer_bed",
    "first_layer_nozzle",
    "pause",
    "spool_change",
    "phase",
];

/// What the rest of the run says that the job depends on.
pub(super) struct Frame<'a> {
    pub span: Span,
    pub mass_kg: f64,
    /// Mass of the filament by its length; only a table of the job asks for it.
    pub filament_kg_per_m: f64,
    /// Spools that are changed when they are used up.
    pub spools: Option<Spools<'a>>,
}

/// Phases, and the stretches in which the door stands open for a spool.
pub(super) struct Plan {
    pub phases: Vec<Phase>,
    pub door_open: Vec<DoorOpen>,
}

/// A stretch in which the door stands open for a spool.
pub(super) struct DoorOpen {
    pub begin_s: f64,
    pub end_s: f64,
    pub mark: Option<Mark>,
    /// Nobody wrote when: whatever else is scheduled leaves room for it.
    pub follows: bool,
}

/// How the filament is kept and fed.
pub(super) fn filament(job: &Section) -> Option<Filament> {
    Some(Filament {
        is_damp: job.text("filament")? == "damp",
        longest_stop_s: job.number("longest_stop")?,
    })
}

/// Setpoints and duties while printing.
pub(super) struct Duties {
    pub bed_K: f64,
    pub nozzle_K: f64,
    motion: f64,
    feeder: f64,
    part_fan: f64,
    chamber_K: Option<f64>,
    second_nozzle_K: Option<f64>,
}

impl Duties {
    /// What the job says, when none of it is missing or bad.
    pub fn read(job: &Section) -> Option<Self> {
        Some(Self {
            bed_K: job.number("bed")?,
            nozzle_K: job.number("nozzle")?,
            motion: job.number("motion")?,
            feeder: job.number("feeder")?,
            part_fan: job.number("part_fan")?,
            chamber_K: job.number("chamber"),
            second_nozzle_K: job.number("second_nozzle"),
        })
    }

    pub fn phase(&self, kind: PhaseKind, begin_s: f64, end_s: f64) -> Phase {
        let is_hot = kind != PhaseKind::CoolDown;
        // Stepper motors that stand still hold with full current: a pause is no rest for them.
        // Before the first move they are not energised.
        let motors_on = matches!(
            kind,
            PhaseKind::Print | PhaseKind::Pause | PhaseKind::SpoolChange
        );
        Phase {
            kind,
            begin_s,
            end_s,
            bed_K: is_hot.then_some(self.bed_K),
            nozzle_K: is_hot.then_some(self.nozzle_K),
            motion_duty: if motors_on { self.motion } else { 0.0 },
            feeder_duty: if motors_on { self.feeder } else { 0.0 },
            powered: true,
            feed_kg_per_s: 0.0,
            chamber_K: self.chamber_K.filter(|_| is_hot),
            part_fan: if kind == PhaseKind::Print {
                self.part_fan
            } else {
                0.0
            },
            second_nozzle_K: self.second_nozzle_K.filter(|_| is_hot),
        }
    }
}

/// The phases of a job that has no table; `None` when something is wrong, which then has been reported.
pub(super) fn plan(
    job: &Section,
    duties: &Duties,
    frame: &Frame<'_>,
    notes: &mut Notes<'_>,
) -> Option<Plan> {
    if !job.has("phase") {
        return from_shorthand(job, duties, frame, notes);
    }
    let mut clashes = PHASES
        .into_iter()
        .filter(|key| *key != "phase" && job.is_typed(key))
        .peekable();
    if clashes.peek().is_some() {
        for key in clashes {
            let message = format!("`job.{key}` can't stand beside a list of [[job.phase]]");
            notes.error(
                job.mark_of(key),
                message,
                "either write all phases out, or leave [[job.phase]] away",
            );
        }
        return None;
    }
    from_list(job, duties, frame, notes)
}

struct Break<'a> {
    kind: PhaseKind,
    begin_s: f64,
    end_s: f64,
    door_open: bool,
    mark: Option<&'a Mark>,
    /// Worked out from the material fed.
    follows: bool,
}

impl Break<'_> {
    const fn name(&self) -> &'static str {
        if matches!(self.kind, PhaseKind::SpoolChange) {
            "spool change"
        } else {
            "pause"
        }
    }
}

fn from_shorthand(
    job: &Section,
    duties: &Duties,
    frame: &Frame<'_>,
    notes: &mut Notes<'_>,
) -> Option<Plan> {
    let heat_up_s = job.number("heat_up")?;
    let soak_s = job.number("soak")?;
    let cool_down_s = job.number("cool_down")?;
    let print_from_s = heat_up_s + soak_s;
    let print_to_s = frame.span.duration_s - cool_down_s;
    if print_to_s <= print_from_s {
        let key = ["cool_down", "soak", "heat_up"]
            .into_iter()
            .find(|key| job.is_typed(key));
        let message = format!(
            "heating up, soaking and cooling down take {}, and the whole run {}: nothing is left for printing",
            format_duration(print_from_s + cool_down_s),
            format_duration(frame.span.duration_s)
        );
        notes.error(
            job.mark_of(key.unwrap_or("heat_up")),
            message,
            "shorten heat_up, soak or cool_down under [job], or make run.duration longer",
        );
        return None;
    }
    let printing = (print_from_s, print_to_s);
    let breaks = breaks(job, printing, &frame.span, notes)?;
    let breaks = with_changes(breaks, printing, frame, notes)?;
    let mut phases = Vec::new();
    let mut push = |kind, begin_s: f64, end_s: f64| {
        if end_s > begin_s {
            phases.push(duties.phase(kind, begin_s, end_s));
        }
    };
    push(PhaseKind::HeatUp, 0.0, heat_up_s);
    push(PhaseKind::Soak, heat_up_s, print_from_s);
    let mut now_s = print_from_s;
    for stop in &breaks {
        push(PhaseKind::Print, now_s, stop.begin_s);
        push(stop.kind, stop.begin_s, stop.end_s);
        now_s = stop.end_s;
    }
    push(PhaseKind::Print, now_s, print_to_s);
    push(PhaseKind::CoolDown, print_to_s, frame.span.duration_s);
    let mut phases = first_layers(job, phases, (print_from_s, print_to_s), notes)?;
    let printing_s: f64 = printing_s(&phases);
    if printing_s <= 0.0 {
        notes.error(
            job.mark.as_ref(),
            "the pauses leave no time for printing",
            "shorten the pauses, or make run.duration longer",
        );
        return None;
    }
    for phase in phases
        .iter_mut()
        .filter(|phase| phase.kind == PhaseKind::Print)
    {
        phase.feed_kg_per_s = frame.mass_kg / printing_s;
    }
    let door_open = breaks
        .iter()
        .filter(|stop| stop.door_open)
        .map(|stop| DoorOpen {
            begin_s: stop.begin_s,
            end_s: stop.end_s,
            mark: stop.mark.cloned(),
            follows: stop.follows,
        })
        .collect();
    Some(Plan { phases, door_open })
}

/// The pauses with the spool changes that follow from the material fed. A pause that one of them meets is what is
/// left of it beside the change.
fn with_changes<'a>(
    pauses: Vec<Break<'a>>,
    printing: (f64, f64),
    frame: &Frame<'_>,
    notes: &mut Notes<'_>,
) -> Option<Vec<Break<'a>>> {
    let Some(spools) = &frame.spools else {
        return Some(pauses);
    };
    let stops: Vec<_> = pauses.iter().map(|p| (p.begin_s, p.end_s)).collect();
    let changes = spool::changes(spools, frame.mass_kg, printing, &stops, notes)?;
    let mut all: Vec<Break<'a>> = Vec::new();
    for pause in &pauses {
        let left = spool::beside((pause.begin_s, pause.end_s), &changes);
        all.extend(left.into_iter().map(|(begin_s, end_s)| Break {
            begin_s,
            end_s,
            ..*pause
        }));
    }
    all.extend(changes.into_iter().map(|(begin_s, end_s)| Break {
        kind: PhaseKind::SpoolChange,
        begin_s,
        end_s,
        door_open: spools.door_open,
        mark: None,
        follows: true,
    }));
    all.sort_by(|a, b| a.begin_s.total_cmp(&b.begin_s));
    Some(all)
}

/// The phases with those of the first layers set apart: their setpoints hold from the start, and the
/// part-cooling fan stands, until so long after the start of printing.
fn first_layers(
    job: &Section,
    phases: Vec<Phase>,
    (print_from_s, print_to_s): (f64, f64),
    notes: &mut Notes<'_>,
) -> Option<Vec<Phase>> {
    let lasts_s = job.number("first_layers")?;
    let (bed_K, nozzle_K) = (
        job.number("first_layer_bed"),
        job.number("first_layer_nozzle"),
    );
    if lasts_s == 0.0 {
        let mut alone = ["first_layer_bed", "first_layer_nozzle"].into_iter();
        if let Some(key) = alone.find(|key| job.has(key)) {
            notes.error(
                job.mark_of(key),
                format!("`job.{key}` needs `job.first_layers`"),
                "add first_layers = \"20 min\": how long they take from the start of printing",
            );
            return None;
        }
        return Some(phases);
    }
    let until_s = print_from_s + lasts_s;
    if until_s >= print_to_s {
        let message = format!(
            "the first layers take {}, but printing only {}",
            format_duration(lasts_s),
            format_duration(print_to_s - print_from_s)
        );
        notes.error(
            job.mark_of("first_layers"),
            message,
            "make first_layers shorter: only what differs from the rest of the job counts",
        );
        return None;
    }
    let mut all = Vec::with_capacity(phases.len() + 1);
    for phase in phases {
        let first = |end_s: f64| Phase {
            end_s,
            bed_K: bed_K.or(phase.bed_K),
            nozzle_K: nozzle_K.or(phase.nozzle_K),
            part_fan: 0.0,
            ..phase.clone()
        };
        if phase.end_s <= until_s {
            all.push(first(phase.end_s));
        } else if phase.begin_s < until_s {
            all.push(first(until_s));
            all.push(Phase {
                begin_s: until_s,
                ..phase
            });
        } else {
            all.push(phase);
        }
    }
    Some(all)
}

fn printing_s(phases: &[Phase]) -> f64 {
    let printing = phases.iter().filter(|phase| phase.kind == PhaseKind::Print);
    printing.map(|phase| phase.end_s - phase.begin_s).sum()
}

/// Pauses and spool changes in order of time; `None` when they overlap or miss the printing.
fn breaks<'a>(
    job: &'a Section,
    (from_s, to_s): (f64, f64),
    span: &Span,
    notes: &mut Notes<'_>,
) -> Option<Vec<Break<'a>>> {
    let mut breaks = Vec::new();
    let mut is_whole = true;
    for (key, kind) in [
        ("pause", PhaseKind::Pause),
        ("spool_change", PhaseKind::SpoolChange),
    ] {
        if job.is_bad(key) {
            return None;
        }
        for section in job.list(key) {
            let Some(stretches) = stretches(section, span, notes) else {
                is_whole = false;
                continue;
            };
            for stretch in stretches {
                let (begin_s, end_s) = if stretch.repeats {
                    // Of what comes every day, the days before and after printing have nothing.
                    (stretch.begin_s.max(from_s), stretch.end_s.min(to_s))
                } else {
                    (stretch.begin_s, stretch.end_s)
                };
                if end_s <= begin_s {
                    continue;
                }
                breaks.push(Break {
                    kind,
                    begin_s,
                    end_s,
                    door_open: section.text("door") == Some("open"),
                    mark: section.mark_of("at"),
                    follows: false,
                });
            }
        }
    }
    breaks.sort_by(|a, b| a.begin_s.total_cmp(&b.begin_s));
    let before = notes.errors();
    let mut told = Vec::new();
    for stop in &breaks {
        if stop.begin_s < from_s || stop.end_s > to_s {
            let message = format!(
                "this {} lasts from {} to {}, but printing lasts from {} to {}",
                stop.name(),
                when(stop.begin_s, span),
                when(stop.end_s, span),
                when(from_s, span),
                when(to_s, span)
            );
            notes.error(
                stop.mark,
                message,
                "write a time while it prints: by the clock, \"Wed 14:00\", or counted from the start of the run with heating up included, \"31 h\"; or a shorter duration",
            );
        }
    }
    for pair in breaks.windows(2) {
        if let [first, second] = pair
            && second.begin_s < first.end_s
            // What comes every day is told of once.
            && !told.contains(&second.mark)
        {
            told.push(second.mark);
            let message = format!(
                "this {} begins at {}, while the {} before it lasts until {}",
                second.name(),
                when(second.begin_s, span),
                first.name(),
                when(first.end_s, span)
            );
            notes.error(
                second.mark,
                message,
                "let it begin later, or make the two into one",
            );
        }
    }
    (is_whole && notes.errors() == before).then_some(breaks)
}

fn from_list(
    job: &Section,
    duties: &Duties,
    frame: &Frame<'_>,
    notes: &mut Notes<'_>,
) -> Option<Plan> {
    if job.is_bad("phase") {
        return None;
    }
    let sections = job.list("phase");
    let mut phases = Vec::new();
    let mut feeds = Vec::new();
    let mut now_s = 0.0;
    let before = notes.errors();
    for (at, section) in sections.iter().enumerate() {
        let kind = phase_kind(section.text("kind")?);
        let is_last = at + 1 == sections.len();
        let end_s = phase_end(section, now_s, is_last, &frame.span, notes)?;
        let mut phase = duties.phase(kind, now_s, end_s);
        phase.bed_K = section.number("bed").or(phase.bed_K);
        phase.nozzle_K = section.number("nozzle").or(phase.nozzle_K);
        phase.motion_duty = section.number("motion").unwrap_or(phase.motion_duty);
        phase.feeder_duty = section.number("feeder").unwrap_or(phase.feeder_duty);
        phase.part_fan = section.number("part_fan").unwrap_or(phase.part_fan);
        phase.chamber_K = section.number("chamber").or(phase.chamber_K);
        phase.second_nozzle_K = section.number("second_nozzle").or(phase.second_nozzle_K);
        if kind != PhaseKind::Print && section.number("feed").is_some_and(|feed| feed > 0.0) {
            notes.error(
                section.mark_of("feed"),
                "only a phase of kind \"print\" feeds material",
                "leave `feed` away here, or write kind = \"print\"",
            );
        }
        feeds.push(section.number("feed").filter(|_| kind == PhaseKind::Print));
        phases.push(phase);
        now_s = end_s;
    }
    let difference_s = frame.span.duration_s - now_s;
    // A second is less than anyone plans, and more than sums of typed hours are off by; but it must leave
    // something of the last phase, which takes it.
    let last_s = phases.last().map_or(0.0, |p| p.end_s - p.begin_s);
    if difference_s.abs() > 1.0 || last_s + difference_s <= 0.0 {
        let message = format!(
            "the phases add up to {}, but the run lasts {}",
            hours(now_s),
            hours(frame.span.duration_s)
        );
        let (verb, by) = if difference_s > 0.0 {
            ("longer", difference_s)
        } else {
            ("shorter", -difference_s)
        };
        let help = format!(
            "make a phase {} {verb}, or change run.duration",
            format_duration(by)
        );
        let key = |last: &Section| {
            if last.has("until") {
                "until"
            } else {
                "duration"
            }
        };
        let mark = sections.last().and_then(|last| last.mark_of(key(last)));
        notes.error(mark, message, help);
    }
    if printing_s(&phases) <= 0.0 {
        notes.error(
            job.mark_of("phase"),
            "no phase prints",
            "one phase needs kind = \"print\"",
        );
    }
    if notes.errors() > before {
        return None;
    }
    if let Some(last) = phases.last_mut() {
        last.end_s = frame.span.duration_s;
    }
    spread_feed(&mut phases, &feeds, job, frame, notes)?;
    Some(Plan {
        phases,
        door_open: Vec::new(),
    })
}

/// When a phase ends; the last one need not say it.
fn phase_end(
    section: &Section,
    begin_s: f64,
    is_last: bool,
    span: &Span,
    notes: &mut Notes<'_>,
) -> Option<f64> {
    if section.is_bad("duration") || section.is_bad("until") {
        return None;
    }
    let is_open = !section.has("duration") && !section.has("until");
    if is_last && is_open && begin_s < span.duration_s {
        return Some(span.duration_s);
    }
    one_end(section, notes)?;
    end(section, begin_s, span, notes)
}

/// Feeds what the phases say, and spreads the rest of the part's mass over the printing phases
/// that say nothing.
fn spread_feed(
    phases: &mut [Phase],
    feeds: &[Option<f64>],
    job: &Section,
    frame: &Frame<'_>,
    notes: &mut Notes<'_>,
) -> Option<()> {
    let mut fed_kg = 0.0;
    let mut open_s = 0.0;
    for (phase, feed) in phases.iter_mut().zip(feeds) {
        let lasts_s = phase.end_s - phase.begin_s;
        match feed {
            Some(feed) => {
                phase.feed_kg_per_s = *feed;
                fed_kg += feed * lasts_s;
            }
            None if phase.kind == PhaseKind::Print => open_s += lasts_s,
            None => {}
        }
    }
    let rest_kg = frame.mass_kg - fed_kg;
    // Feeds are typed with two or three digits: one per cent is agreement.
    let agrees = rest_kg.abs() <= 0.01 * frame.mass_kg;
    if (open_s == 0.0 && !agrees) || (open_s > 0.0 && rest_kg < -0.01 * frame.mass_kg) {
        let message = format!(
            "the phases feed {} of material, but the part's mass is {}",
            Quantity::Mass.to_text(fed_kg, "kg"),
            Quantity::Mass.to_text(frame.mass_kg, "kg")
        );
        notes.error(
            job.mark_of("phase"),
            message,
            "change `feed`, or leave it away to spread the part's mass evenly, or change part.mass",
        );
        return None;
    }
    for (phase, feed) in phases.iter_mut().zip(feeds) {
        if phase.kind == PhaseKind::Print && feed.is_none() {
            phase.feed_kg_per_s = rest_kg.max(0.0) / open_s;
        }
    }
    Some(())
}

/// The words have been checked against the declared ones.
fn phase_kind(word: &str) -> PhaseKind {
    match word {
        "heat up" => PhaseKind::HeatUp,
        "soak" => PhaseKind::Soak,
        "pause" => PhaseKind::Pause,
        "spool change" => PhaseKind::SpoolChange,
        "cool down" => PhaseKind::CoolDown,
        _ => PhaseKind::Print,
    }
}

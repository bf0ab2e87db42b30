//! The rules of changing a run, each once: what a change replaces, and what must not live on beside it.
//!
//! Studies change [`Inputs`] by the methods here; `[[compare]]` lays what was typed over a run's own text,
//! and asks `make_way` what has to go. Either way the run is made anew from its sections, so that
//! whatever follows from a changed value follows. Studies may go beyond the limits that a person's typing is
//! held to: nobody's room is 40 K cooler, and yet that is how a break-even is bracketed.

use super::arrangement::{ArrangementKind, Control, has_fan};
use super::derive::material::keys_of;
use super::derive::{PHASES, nth_day};
use super::inputs::Inputs;
use super::material::Material;
use crate::keys::moment::{Moment, Span};
use crate::keys::section::{Data, Section, Value};
use crate::weather::asked::KEYS;
use jiff::SignedDuration;
use jiff::civil::{DateTime, Time};
use std::sync::Arc;

mod evening;
mod season;

/// The ways of saying how warm a room is.
const WEATHER: [&str; 4] = ["temperature", "mean", "series", "day"];
/// What a fan has and an arrangement without one has not.
const FAN: [&str; 7] = [
    "flow",
    "fan_power",
    "open",
    "outlet",
    "speed_at_bed",
    "speed_at_part",
    "thermostat",
];
/// What one kind of arrangement with a fan does not hand on to another.
const OWN: [&str; 3] = ["open", "speed_at_bed", "speed_at_part"];
/// What a sharp-edged opening passes of what its area would (textbook value).
pub(crate) const SHARP_EDGED: f64 = 0.6;
/// What another material brings along.
const SETPOINTS: [&str; 4] = ["bed", "nozzle", "first_layer_bed", "first_layer_nozzle"];

/// Takes out of a run's sections what must not live on when others are laid over them: another machine or
/// material brings all its values, another material its bed and nozzle, another kind of weather
/// replaces the old one, and what has no fan has no flow.
pub(crate) fn make_way(root: &mut Section, changes: &Section) {
    let names_another = |table: &str| changes.section(table).is_some_and(|s| s.has("name"));
    for table in ["machine", "material"] {
        if names_another(table) {
            root.remove(&[table]);
        }
    }
    if names_another("material") {
        forget(root, "job", &SETPOINTS);
    }
    if let Some(job) = changes.section("job") {
        // A table of the job and phases of any kind replace each other.
        if job.has("profile") {
            forget(root, "job", &PHASES);
        } else if PHASES.iter().any(|key| job.has(key)) {
            forget(root, "job", &["profile"]);
        }
    }
    if let Some(room) = changes.section("room")
        && WEATHER.iter().any(|key| room.has(key))
    {
        forget(root, "room", &WEATHER);
        forget(root, "room", &["swing"]);
        forget(root, "room", &KEYS);
    }
    // How warm the room gets is said by one of these.
    if let Some(room) = changes.section("room") {
        for [new, old] in [
            ["building", "above_outdoors"],
            ["above_outdoors", "building"],
        ] {
            if room.has(new) {
                forget(root, "room", &[old]);
            }
        }
    }
    if let Some(kind) = changes.section("arrangement").and_then(|s| s.text("kind")) {
        let now = root.section("arrangement").and_then(|s| s.text("kind"));
        if !has_fan(kind) {
            forget(root, "arrangement", &FAN);
        } else if now != Some(kind) {
            forget(root, "arrangement", &OWN);
        }
    }
}

fn forget(root: &mut Section, table: &str, keys: &[&str]) {
    if let Some(section) = root.section_mut(table) {
        section.remove(keys);
    }
}

impl Inputs {
    /// The run starts later by so many hours, in the weather of then. What is said by the clock stays with the
    /// clock, what counts from the start goes along. A change of arrangement that is over by then does not
    /// come; a pause that is over by then makes a run that is refused.
    pub fn start_later(&mut self, by_h: u32) {
        let by = SignedDuration::from_hours(i64::from(by_h));
        let Some(run) = self.root.section_mut("run") else {
            return;
        };
        let (Some(start), Some(duration_s)) = (run.date_time("start"), run.number("duration"))
        else {
            return;
        };
        run.put("start", Data::DateTime(start.saturating_add(by)));
        self.pin_days(start);
        let span = Span { start, duration_s };
        if let Some(job) = self.root.section_mut("job") {
            for list in ["pause", "spool_change"] {
                for stop in job.list_mut(list) {
                    pin(stop, &span);
                }
            }
            pin_phases(job.list_mut("phase"), &span);
        }
        if let Some(arrangement) = self.root.section_mut("arrangement") {
            pin_stretches(arrangement, "schedule", &span, by.as_secs_f64());
        }
        let room = self.root.section_mut("room");
        if let Some(building) = room.and_then(|room| room.section_mut("building")) {
            pin_stretches(building, "sun", &span, by.as_secs_f64());
        }
    }

    /// Days of a forecast without a date count from the run's first day; the weather does not move with it.
    fn pin_days(&mut self, start: DateTime) {
        let days = self
            .root
            .section_mut("room")
            .map(|room| room.list_mut("day"));
        for (at, day) in days.into_iter().flatten().enumerate() {
            if let Some(date) = nth_day(start.date(), at).filter(|_| !day.has("date")) {
                day.put("date", Data::DateTime(date.to_datetime(Time::midnight())));
            }
        }
    }

    /// The whole weather is warmer by so much, K.
    pub fn warm(&mut self, by_K: f64) {
        self.number("room", "shift", |shift_K| shift_K + by_K);
    }

    /// Every setpoint of the bed is lower by so much, K.
    pub fn cool_bed(&mut self, by_K: f64) {
        let usual_K = self.root.section("material").and_then(|m| m.number("bed"));
        let Some(job) = self.root.section_mut("job") else {
            return;
        };
        if let Some(bed_K) = job.number("bed").or(usual_K) {
            job.put("bed", Data::Number(bed_K - by_K));
        }
        if let Some(bed_K) = job.number("first_layer_bed") {
            job.put("first_layer_bed", Data::Number(bed_K - by_K));
        }
        for phase in job.list_mut("phase") {
            if let Some(bed_K) = phase.number("bed") {
                phase.put("bed", Data::Number(bed_K - by_K));
            }
        }
        if let Some(table) = &mut self.files.profile {
            Arc::make_mut(table).cool_bed(by_K);
        }
    }

    /// Every setpoint of the chamber's heater is lower by so much, K.
    pub fn cool_chamber(&mut self, by_K: f64) {
        let Some(job) = self.root.section_mut("job") else {
            return;
        };
        change_number(job, "chamber", |chamber_K| chamber_K - by_K);
        for phase in job.list_mut("phase") {
            change_number(phase, "chamber", |chamber_K| chamber_K - by_K);
        }
        if let Some(table) = &mut self.files.profile {
            Arc::make_mut(table).cool_chamber(by_K);
        }
    }

    /// The air conditioner of the room, where it is a node of its own, is set lower by so much, K.
    pub fn cool_setpoint(&mut self, by_K: f64) {
        let building = self.root.section_mut("room");
        if let Some(building) = building.and_then(|room| room.section_mut("building"))
            && let Some(setpoint_K) = building.number("cooler_setpoint")
        {
            building.put("cooler_setpoint", Data::Number(setpoint_K - by_K));
        }
    }

    /// The feeder motor's heat, times a factor.
    pub fn scale_feeder_heat(&mut self, factor: f64) {
        self.feeder("heat", |heat_W| heat_W * factor);
    }

    /// The feeder motor's heat sink passes so much more, W/K.
    pub fn add_heat_sink(&mut self, added_W_per_K: f64) {
        self.feeder("heat_sink", |sink_W_per_K| sink_W_per_K + added_W_per_K);
    }

    /// No sun falls into the chamber.
    pub fn shade(&mut self) {
        self.root.remove(&["sun"]);
    }

    /// The filament is fed dry.
    pub fn dry_filament(&mut self) {
        if let Some(job) = self.root.section_mut("job") {
            job.put("filament", Data::Text("dry".to_owned()));
        }
    }

    /// The spool hangs in the room.
    pub fn put_spool_in_room(&mut self) {
        if let Some(machine) = self.root.section_mut("machine") {
            machine.put("spool", Data::Text("room".to_owned()));
        }
    }

    /// No more of the guide tube than so much is left in the chamber, m.
    pub fn shorten_guide_tube(&mut self, to_m: f64) {
        self.number("machine", "guide_tube", |tube_m| tube_m.min(to_m));
    }

    /// Another arrangement holds, apart from stretches with one of their own.
    pub fn arrange(&mut self, kind: &ArrangementKind, control: &Control) {
        let Some(arrangement) = self.root.section_mut("arrangement") else {
            return;
        };
        put_kind(arrangement, kind);
        arrangement.remove(&["thermostat", "open"]);
        if let Control::Thermostat {
            on_above_K,
            off_below_K,
        } = control
        {
            let mut thermostat = Section::default();
            thermostat.put("on_above", Data::Number(*on_above_K));
            thermostat.put("off_below", Data::Number(*off_below_K));
            arrangement.put("thermostat", Data::Section(thermostat.into()));
        }
    }

    /// One arrangement holds for the whole run: no stretches with one of their own, but for what the job's
    /// pauses and spool changes open.
    pub fn drop_schedule(&mut self) {
        forget(&mut self.root, "arrangement", &["schedule"]);
    }

    /// The fan runs whenever its arrangement holds.
    pub fn drop_thermostat(&mut self) {
        forget(&mut self.root, "arrangement", &["thermostat"]);
    }

    /// The word of the run's arrangement.
    #[must_use]
    pub fn arrangement_word(&self) -> Option<&str> {
        self.root.section("arrangement")?.text("kind")
    }

    /// Whether the run file gives stretches an arrangement of their own, or lets a thermostat run the fan.
    #[must_use]
    pub fn changes_arrangement(&self) -> bool {
        let arrangement = self.root.section("arrangement");
        arrangement.is_some_and(|a| a.has("thermostat") || !a.list("schedule").is_empty())
    }

    /// A make-up opening more.
    pub fn add_vent(&mut self, area_m2: f64, height_m: f64) {
        let Some(machine) = self.root.section_mut("machine") else {
            return;
        };
        let mut vent = Section::default();
        for (key, number) in [
            ("area", area_m2),
            ("height", height_m),
            ("discharge", SHARP_EDGED),
        ] {
            vent.put(key, Data::Number(number));
        }
        let mut vents = machine.list("vent").to_vec();
        vents.push(vent);
        machine.put("vent", Data::List(vents));
    }

    /// A fan extracts so much, m3/s, and no more than that in stretches in which the run extracts by
    /// itself: it is one fan. At nothing, the machine is closed. A thermostat that runs a fan goes on
    /// doing so, and what stands open beside an extracting fan stays open.
    pub fn extract(&mut self, flow_m3_per_s: f64) {
        let kind_at = |flow_m3_per_s: f64, open: Option<&str>| match open {
            _ if flow_m3_per_s > 0.0 => ArrangementKind::Extracting { flow_m3_per_s },
            Some("lid") => ArrangementKind::LidOff,
            Some("door") => ArrangementKind::DoorOpen,
            _ => ArrangementKind::Closed,
        };
        let Some(arrangement) = self.root.section_mut("arrangement") else {
            return;
        };
        if arrangement.text("kind") != Some("extracting") {
            arrangement.remove(&OWN);
        }
        let kind = kind_at(flow_m3_per_s, arrangement.text("open"));
        put_kind(arrangement, &kind);
        for stretch in arrangement.list_mut("schedule") {
            if stretch.text("kind") == Some("extracting") {
                let own = stretch.number("flow").unwrap_or(flow_m3_per_s);
                let kind = kind_at(own.min(flow_m3_per_s), stretch.text("open"));
                put_kind(stretch, &kind);
            }
        }
    }

    /// One fan draws so much out, m3/s, whenever the run draws air out: in the stretches that do, and all the time where
    /// its own arrangement does, moves air another way, or no stretch does. A thermostat that runs a fan goes on doing
    /// so; lid and door are shut, but in stretches that open them. At nothing, the machine is closed.
    pub fn fit_fan(&mut self, flow_m3_per_s: f64) {
        let kind = if flow_m3_per_s > 0.0 {
            ArrangementKind::Extracting { flow_m3_per_s }
        } else {
            ArrangementKind::Closed
        };
        let by_schedule = self.fan_is_scheduled();
        let Some(arrangement) = self.root.section_mut("arrangement") else {
            return;
        };
        arrangement.remove(&OWN);
        put_kind(
            arrangement,
            if by_schedule {
                &ArrangementKind::Closed
            } else {
                &kind
            },
        );
        for stretch in arrangement.list_mut("schedule") {
            if stretch.text("kind") == Some("extracting") {
                stretch.remove(&OWN);
                put_kind(stretch, &kind);
            }
        }
    }

    /// Whether the run draws air out in stretches of its schedule and moves none by a fan otherwise.
    #[must_use]
    pub fn fan_is_scheduled(&self) -> bool {
        let Some(arrangement) = self.root.section("arrangement") else {
            return false;
        };
        let mut stretches = arrangement.list("schedule").iter();
        !arrangement.text("kind").is_some_and(has_fan)
            && stretches.any(|stretch| stretch.text("kind") == Some("extracting"))
    }

    /// Another material, with its own bed and nozzle; the part keeps its shape. A lowest chamber
    /// temperature that the run asks for stays, unless the material needs a higher one.
    pub fn take_material(&mut self, material: &Material) {
        let now = self.root.section("material");
        let denser = now
            .and_then(|m| m.number("density"))
            .map_or(1.0, |density| material.density_kg_per_m3 / density);
        self.root
            .put("material", Data::Section(keys_of(material).into()));
        self.number("part", "mass", |mass_kg| mass_kg * denser);
        forget(&mut self.root, "job", &SETPOINTS);
        if let Some(job) = self.root.section_mut("job") {
            for phase in job.list_mut("phase") {
                if phase.text("kind") != Some("cool down") {
                    phase.remove(&SETPOINTS);
                }
                if let Some(feed) = phase.number("feed") {
                    phase.put("feed", Data::Number(feed * denser));
                }
            }
        }
        if let Some(table) = &mut self.files.profile {
            Arc::make_mut(table).take_material(denser);
        }
        if let Some(require) = self.root.section_mut("require")
            && require.number("chamber_min") < material.chamber_min_K
        {
            require.remove(&["chamber_min"]);
        }
    }

    fn feeder(&mut self, key: &'static str, change: impl Fn(f64) -> f64) {
        let feeder = self.root.section_mut("machine");
        if let Some(feeder) = feeder.and_then(|machine| machine.section_mut("feeder")) {
            change_number(feeder, key, change);
        }
    }

    fn number(&mut self, table: &str, key: &'static str, change: impl Fn(f64) -> f64) {
        if let Some(section) = self.root.section_mut(table) {
            change_number(section, key, change);
        }
    }
}

/// Ties stretches to dates, and leaves out those that are over when the run starts later by so much.
fn pin_stretches(section: &mut Section, list: &'static str, span: &Span, by_s: f64) {
    for stretch in section.list_mut(list) {
        pin(stretch, span);
    }
    if let Some(Data::List(all)) = section.entries.get_mut(list).map(|v| &mut v.data) {
        all.retain_mut(|stretch| is_left(stretch, span, by_s));
    }
}

/// Ties what a table says by the clock to dates, so that another start can't move it to another week.
fn pin(section: &mut Section, span: &Span) {
    if section.has("every") {
        return;
    }
    if let Some(moment) = section.moment("at") {
        section.put("at", Data::Moment(moment.pinned(span)));
    }
    let begin_s = match section.moment("at") {
        Some(moment) => moment.within(span).ok(),
        None => section.number("at"),
    };
    pin_end(section, begin_s, span);
}

fn pin_phases(phases: &mut [Section], span: &Span) {
    let mut begin_s = Some(0.0);
    for phase in phases {
        begin_s = pin_end(phase, begin_s, span);
    }
}

/// The same for the end of what begins then; when that is, s from the start.
fn pin_end(section: &mut Section, begin_s: Option<f64>, span: &Span) -> Option<f64> {
    let Some(moment) = section.moment("until") else {
        let lasts = section.number("duration").zip(begin_s);
        return lasts.map_or_else(|| section.number("until"), |(a, b)| Some(a + b));
    };
    let end_s = moment.after(begin_s?, span);
    let date = span.date_time(end_s);
    section.put("until", Data::Moment(Moment::On(date)));
    Some(end_s)
}

/// Whether anything of a stretch tied to dates is left when the run starts later by so much; what has begun by
/// then is cut.
fn is_left(stretch: &mut Section, span: &Span, by_s: f64) -> bool {
    let (Some(at), false) = (stretch.moment("at"), stretch.has("every")) else {
        return true;
    };
    let Ok(begin_s) = at.within(span) else {
        return true;
    };
    if begin_s >= by_s {
        return true;
    }
    let end_s = match (stretch.number("duration"), stretch.moment("until")) {
        (Some(lasts_s), _) => begin_s + lasts_s,
        (None, Some(until)) => until.after(begin_s, span),
        // It counts from the start, and goes along.
        (None, None) => return true,
    };
    if end_s <= by_s {
        return false;
    }
    stretch.put("at", Data::Number(0.0));
    if stretch.has("duration") {
        stretch.put("duration", Data::Number(end_s - by_s));
    }
    true
}

fn change_number(section: &mut Section, key: &'static str, change: impl Fn(f64) -> f64) {
    if let Some(Value {
        data: Data::Number(number),
        ..
    }) = section.entries.get_mut(key)
    {
        *number = change(*number);
    }
}

/// What an arrangement's keys say of its kind.
fn put_kind(section: &mut Section, kind: &ArrangementKind) {
    let (flow_m3_per_s, fan_power_W) = match *kind {
        ArrangementKind::Closed | ArrangementKind::LidOff | ArrangementKind::DoorOpen => {
            section.remove(&FAN);
            (None, None)
        }
        ArrangementKind::Extracting { flow_m3_per_s } => (Some(flow_m3_per_s), None),
        ArrangementKind::BlowingIn {
            flow_m3_per_s,
            fan_power_W,
        }
        | ArrangementKind::Recirculating {
            flow_m3_per_s,
            fan_power_W,
        } => (Some(flow_m3_per_s), Some(fan_power_W)),
    };
    if section.text("kind") != Some(kind.name()) {
        section.remove(&["speed_at_bed", "speed_at_part"]);
    }
    section.put("kind", Data::Text(kind.name().to_owned()));
    if let Some(flow_m3_per_s) = flow_m3_per_s {
        section.put("flow", Data::Number(flow_m3_per_s));
    }
    if let Some(fan_power_W) = fan_power_W {
        section.put("fan_power", Data::Number(fan_power_W));
    }
}

#[cfg(test)]
mod tests;

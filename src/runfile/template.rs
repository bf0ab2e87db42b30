//! A commented run file for a new user, from the few values that matter.

use crate::keys::write::quoted;
use std::fmt::{Result, Write};

/// The values a new run file is made from, as texts that a run file takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answers {
    /// Name of the run.
    pub name: String,
    /// Local date and time of the start.
    pub start: Answer,
    /// Length of the run, with its unit.
    pub duration: Answer,
    /// Folder with models of the user's own, where it would not be found by itself.
    pub models: Option<String>,
    /// Machine in the catalogue.
    pub machine: Answer,
    /// Where the feeder sits, in the words of `machine.feeder.place`.
    pub feeder: Answer,
    /// Where the spool hangs, in the words of `machine.spool`.
    pub spool: Answer,
    /// Material in the catalogue.
    pub material: Answer,
    /// The material's usual values, shown as comments: softening limit, bed, nozzle.
    pub usual: Usual,
    /// Mass of the part, with its unit.
    pub mass: Answer,
    /// Whether the filament is fed damp or dry, in the words of `job.filament`.
    pub filament: Answer,
    /// How warm the room is.
    pub room: Room,
    /// Whether the machine must stay closed: true or false.
    pub must_stay_closed: Answer,
}

/// How warm the room is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Room {
    /// Day and night alike.
    Same(Answer),
    /// Warmest in the afternoon, coolest at night.
    Swing {
        /// Mean of the two.
        mean: Answer,
        /// Half their difference.
        swing: Answer,
    },
}

/// A material's values as the catalogue has them, with their units.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Usual {
    /// Softening limit.
    pub softening_limit: String,
    /// Bed temperature.
    pub bed: String,
    /// Nozzle temperature.
    pub nozzle: String,
}

/// An answer, or a guess in place of one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// As a run file writes it, without quotes.
    pub text: String,
    /// Whether nobody said so.
    pub is_guess: bool,
}

/// The name under which run files look for their schema, in their own folder.
pub const SCHEMA_FILE: &str = "dogdays.schema.json";

/// A run file that runs as it is.
#[must_use]
pub fn template(a: &Answers) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = write_template(&mut out, a);
    out
}

impl Answers {
    /// Every answer under its key, in the order of the file.
    #[must_use]
    pub fn by_key(&self) -> Vec<(&'static str, &Answer)> {
        let mut all = vec![
            ("run.start", &self.start),
            ("run.duration", &self.duration),
            ("machine.name", &self.machine),
            ("machine.feeder.place", &self.feeder),
            ("machine.spool", &self.spool),
            ("material.name", &self.material),
            ("part.mass", &self.mass),
            ("job.filament", &self.filament),
        ];
        match &self.room {
            Room::Same(temperature) => all.push(("room.temperature", temperature)),
            Room::Swing { mean, swing } => {
                all.extend([("room.mean", mean), ("room.swing", swing)]);
            }
        }
        all.push((MUST_STAY_CLOSED, &self.must_stay_closed));
        all
    }
}

const MUST_STAY_CLOSED: &str = "require.must_stay_closed";

fn write_template(o: &mut String, a: &Answers) -> Result {
    writeln!(o, "#:schema ./{SCHEMA_FILE}")?;
    writeln!(
        o,
        "# A run for dogdays. Every value carries its unit; what follows a # is a comment. The line
# above is for editors: `dogdays new --schema {SCHEMA_FILE}` writes the file it names."
    )?;
    guessed(o, a)?;
    writeln!(o, "\n[run]")?;
    value(o, "name", &a.name, "")?;
    value(o, "start", &a.start.text, "local date and time")?;
    let whole = "the whole run, heating up included";
    value(o, "duration", &a.duration.text, whole)?;
    if let Some(models) = &a.models {
        value(o, "models", models, "machines and so on of your own")?;
    }
    machine(o, a)?;
    writeln!(o, "\n[material]")?;
    let list = "`dogdays catalogue` lists them";
    value(o, "name", &a.material.text, list)?;
    let usual = &a.usual;
    let limit = "if your supplier's data sheet says otherwise";
    value(o, "# softening_limit", &usual.softening_limit, limit)?;
    writeln!(o, "\n[part]")?;
    value(o, "mass", &a.mass.text, "when finished, supports included")?;
    let area = "area on the bed; worked out if absent";
    value(o, "# footprint", "180 cm2", area)?;
    value(o, "# height", "170 mm", "")?;
    job(o, a)?;
    room(o, &a.room)?;
    arrangement(o)?;
    writeln!(o, "\n[require]")?;
    value(o, "margin", "3 K", "how far below its softening limit")?;
    let key = format!("must_stay_closed = {}", a.must_stay_closed.text);
    let why = "certified process, fumes, safety";
    writeln!(o, "{key:<32} # {why}")
}

/// The answers that nobody gave, first of all.
fn guessed(o: &mut String, a: &Answers) -> Result {
    let mut guesses = a.by_key();
    guesses.retain(|(_, answer)| answer.is_guess);
    if guesses.is_empty() {
        return Ok(());
    }
    writeln!(
        o,
        "
# Nobody gave these values, and `dogdays check` says so for as long as they stand below as here.
# Change them below; of one that is right as it is, take the line away here.
[guessed]"
    )?;
    for (key, answer) in guesses {
        if key == MUST_STAY_CLOSED {
            writeln!(o, "{key} = {}", answer.text)?;
        } else {
            value(o, key, &answer.text, "")?;
        }
    }
    Ok(())
}

fn machine(o: &mut String, a: &Answers) -> Result {
    let name = &a.machine.text;
    writeln!(o, "\n[machine]")?;
    value(o, "name", name, "`dogdays catalogue` lists them")?;
    let places = "\"room\", \"chamber bottom\" or \"chamber top\"";
    value(o, "feeder.place", &a.feeder.text, places)?;
    value(o, "spool", &a.spool.text, "the same")?;
    writeln!(
        o,
        "# Any value of the catalogue's entry may be replaced; `dogdays catalogue {name}` shows them:"
    )?;
    let tube = "filament's way inside, ahead of the drive gear";
    value(o, "# guide_tube", "450 mm", tube)?;
    value(o, "# leak_area", "20 cm2", "gaps, added up")?;
    value(o, "# bed.max_power", "400 W", "")?;
    writeln!(
        o,
        "# A heater of the chamber's air, which holds job.chamber:
# chamber_heater = {{ max_power = \"300 W\", place = \"chamber bottom\" }}"
    )
}

fn job(o: &mut String, a: &Answers) -> Result {
    let usual = &a.usual;
    writeln!(o, "\n[job]")?;
    value(o, "# bed", &usual.bed, "absent: usual for the material")?;
    value(o, "# nozzle", &usual.nozzle, "")?;
    let heater = "needs machine.chamber_heater";
    value(o, "# chamber", "45 degC", heater)?;
    value(o, "heat_up", "15 min", "before anything is fed")?;
    let filament = "\"dry\" from a sealed box, \"damp\" from the room's air";
    value(o, "filament", &a.filament.text, filament)?;
    let stop = "for which it stands still now and then while printing";
    value(o, "# longest_stop", "30 s", stop)?;
    writeln!(
        o,
        "# The job's own course of feed and setpoints, instead of phases worked out from these:"
    )?;
    let columns = "elapsed_h,feed_g_per_h,bed_degC,nozzle_degC";
    value(o, "# profile", "job.csv", columns)?;
    writeln!(
        o,
        "# A change of spool, with the door open or shut; repeat for each:
# [[job.spool_change]]"
    )?;
    let at = "from the start; or \"Wed 14:00\", \"2026-07-15 14:00\"";
    value(o, "# at", "30 h", at)?;
    value(o, "# duration", "4 min", "")?;
    value(o, "# door", "open", "")?;
    writeln!(
        o,
        "# Or changes that follow from what is fed, by the filament on a full spool:
# [spool]"
    )?;
    value(o, "# mass", "1 kg", "net, as on its label")?;
    let first = "left on the first; absent: it is full";
    value(o, "# on_first", "600 g", first)?;
    writeln!(o, "# When somebody is there to change it:\n# [shop]")?;
    let hours = "Mon-Fri 08:00-18:00, Sat 09:00-13:00";
    value(o, "# hours", hours, "")
}

fn room(o: &mut String, room: &Room) -> Result {
    writeln!(o, "\n[room]")?;
    match room {
        Room::Same(temperature) => {
            let shade = "beside the machine, in the shade, day and night";
            value(o, "temperature", &temperature.text, shade)?;
            writeln!(o, "# Or a day's swing instead of temperature:")?;
            value(o, "# mean", "29 degC", "of afternoon and night")?;
            value(o, "# swing", "3 K", "half of afternoon less night")?;
        }
        Room::Swing { mean, swing } => {
            let shade = "beside the machine, in the shade";
            value(o, "mean", &mean.text, shade)?;
            value(o, "swing", &swing.text, "half of afternoon less night")?;
            writeln!(o, "# Or one temperature instead of mean and swing:")?;
            value(o, "# temperature", "29 degC", "")?;
        }
    }
    writeln!(o, "# Or a series from a logger, as it wrote it:")?;
    value(o, "# series", "weather.csv", "")?;
    writeln!(
        o,
        "# Or a forecast's high and low of each day, from the run's first on; repeat for each:
# [[room.day]]"
    )?;
    value(o, "# high", "34 degC", "")?;
    value(o, "# low", "22 degC", "")?;
    writeln!(o, "# Sun through clear panels, on every day:\n# [sun]")?;
    value(o, "# area", "900 cm2", "clear area that it falls on")?;
    value(o, "# from", "14:00", "")?;
    value(o, "# to", "18:00", "")?;
    writeln!(
        o,
        "# A start right after another job; what is not named has the room's temperature:
# [initial]"
    )?;
    value(o, "# air", "45 degC", "")?;
    value(o, "# bed", "60 degC", "")?;
    value(o, "# motors", "55 degC", "")
}

fn arrangement(o: &mut String) -> Result {
    writeln!(o, "\n[arrangement]")?;
    let kinds = "or \"lid off\", \"door open\", \"extracting\",";
    value(o, "kind", "closed", kinds)?;
    writeln!(o, "{:<32} # \"blowing in\", \"recirculating\"", "")?;
    value(o, "# flow", "40 m3/h", "for the last three")?;
    writeln!(
        o,
        "# A fan that runs by the temperature of the air under the lid:
# thermostat = {{ on_above = \"42 degC\", off_below = \"40 degC\" }}
# Another arrangement for a while, such as a fan in the afternoons; repeat for each:
# [[arrangement.schedule]]"
    )?;
    value(o, "# kind", "extracting", "")?;
    value(o, "# flow", "30 m3/h", "")?;
    value(o, "# every", "day", "or \"workday\"; absent: once")?;
    let at = "once: \"Wed 14:00\", or from the start \"31 h\"";
    value(o, "# at", "12:00", at)?;
    value(o, "# until", "20:00", "or duration = \"8 h\"")
}

/// `key = "text"  # comment`, the comments in one column.
fn value(o: &mut String, key: &str, text: &str, comment: &str) -> Result {
    let line = format!("{key} = {}", quoted(text));
    if comment.is_empty() {
        writeln!(o, "{line}")
    } else {
        writeln!(o, "{line:<32} # {comment}")
    }
}

//! The knobs of the page: which keys of a run file they turn, and how far.
//!
//! Unit, limits, words and meaning of each are those declared of its key; here stands only which keys are on the
//! page, under which short name, and where a slider that reaches over all usual values would be too coarse.

use super::typed::{Typed, Values};
use crate::catalogue::Catalogue;
use crate::keys::fields::RUN_FILE;
use crate::keys::kinds::Kind as EntryKind;
use crate::keys::schema::{Field, Kind, Need, Range};
use crate::quantity::{self, Quantity, System, Unit};
use crate::run::PhaseKind;
use crate::run::arrangement::has_fan;
use crate::runfile::Loaded;
use serde::Serialize;

/// Whether sun falls into the chamber: the table itself.
pub const SUN: &str = "sun";
/// How many spool changes there are.
pub const CHANGES: &str = "job.spool_change.number";
/// How long each of them takes.
pub const CHANGE_LASTS: &str = "job.spool_change.duration";
/// Whether the door is open meanwhile.
pub const CHANGE_DOOR: &str = "job.spool_change.door";
/// Spool changes that the page offers at most.
pub const MOST_CHANGES: usize = 12;
/// What is open, shut or blowing.
pub const ARRANGEMENT: &str = "arrangement.kind";
/// The flow of the fan.
pub const FLOW: &str = "arrangement.flow";
/// The material.
pub const MATERIAL: &str = "material.name";
/// When the run starts.
pub const START: &str = "run.start";
/// The bed's setpoint.
pub const BED: &str = "job.bed";

/// A knob before anything is known of the run.
#[derive(Debug)]
struct Declared {
    key: &'static str,
    label: &'static str,
    group: &'static str,
    /// How far its slider goes, in the unit declared of the key; without it, over all usual values.
    reach: Option<(f64, f64)>,
}

const fn knob(group: &'static str, key: &'static str, label: &'static str) -> Declared {
    Declared {
        key,
        label,
        group,
        reach: None,
    }
}

const fn reaching(mut knob: Declared, low: f64, high: f64) -> Declared {
    knob.reach = Some((low, high));
    knob
}

const KNOBS: &[Declared] = &[
    knob("Air", ARRANGEMENT, "Arrangement"),
    reaching(knob("Air", FLOW, "Fan flow"), 5.0, 200.0),
    knob("Air", "room.shift", "Room warmer by"),
    reaching(knob("Job", BED, "Bed"), 15.0, 130.0),
    knob("Job", MATERIAL, "Material"),
    knob("Job", START, "Start"),
    reaching(
        knob(
            "Machine",
            "machine.feeder.heat_sink",
            "Cooling of the feeder's motor",
        ),
        0.0,
        1.0,
    ),
    knob("Machine", "machine.spool", "Spool hangs in"),
    knob("Spool changes", CHANGES, "Spool changes, evenly spaced"),
    reaching(knob("Spool changes", CHANGE_LASTS, "Each takes"), 1.0, 60.0),
    knob("Spool changes", CHANGE_DOOR, "Door meanwhile"),
    knob("Sun", SUN, "Sun through clear panels"),
    reaching(
        knob("Sun", "sun.irradiance", "Sun on the panel"),
        0.0,
        1_000.0,
    ),
    reaching(knob("Sun", "sun.area", "Area it falls on"), 10.0, 5_000.0),
];

/// What a knob is turned with.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Shape {
    /// A slider with a field for the number.
    Range {
        /// The number.
        value: f64,
        /// Ends of the slider.
        min: f64,
        /// Ends of the slider.
        max: f64,
        /// Its step.
        step: f64,
        /// The least that may be typed.
        low: f64,
        /// The most that may be typed.
        high: f64,
        /// The unit as people read it.
        unit: String,
    },
    /// One of some words.
    Choice {
        /// The word.
        value: String,
        /// All of them.
        words: Vec<String>,
    },
    /// A local date and time.
    Moment {
        /// As a run file has it.
        value: String,
    },
}

/// A knob as it stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Control {
    /// Its key in the run file.
    pub key: &'static str,
    /// Its name on the page.
    pub label: &'static str,
    /// What it belongs to.
    pub group: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// What it is turned with.
    #[serde(flatten)]
    pub shape: Shape,
    /// Why it does nothing at present, if so.
    pub idle: Option<String>,
}

/// The unit in which a knob shows a quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    quantity: Quantity,
    /// As a run file has it.
    unit: &'static Unit,
    /// Numbers shown in one of the unit: 1.8 where a difference is read in °F, which run files do not know.
    times: f64,
    /// As people read it.
    pub shown: String,
}

impl Scale {
    /// Of a range in a system's units; `si` is a value for which the unit should be handy.
    pub fn new(range: &Range, si: f64, system: System) -> Self {
        let Range { quantity, unit, .. } = *range;
        if (quantity, system) == (Quantity::TemperatureDifference, System::Us) {
            return Self {
                quantity,
                unit: unit_of(quantity, unit),
                times: system.difference(1.0),
                shown: system.difference_unit().to_owned(),
            };
        }
        let text = quantity.in_system(si, unit, system);
        let symbol = text.split_once(' ').map_or("", |(_, symbol)| symbol);
        Self {
            quantity,
            unit: unit_of(quantity, symbol),
            times: 1.0,
            shown: pretty(symbol),
        }
    }

    /// The number shown for a value in SI.
    pub fn number(&self, si: f64) -> f64 {
        tidy(self.unit.from_si(si) * self.times)
    }

    /// The text in a run file for a number that is shown.
    pub fn text(&self, number: f64) -> String {
        let si = self.unit.to_si(number / self.times);
        self.quantity.to_text(si, self.unit.symbol)
    }
}

fn unit_of(quantity: Quantity, symbol: &str) -> &'static Unit {
    let units = quantity.units();
    let found = units.iter().find(|unit| unit.symbol == symbol);
    found.unwrap_or(&units[0])
}

/// Without what rounding left behind.
fn tidy(number: f64) -> f64 {
    (number * 1e6).round() / 1e6
}

/// A unit as people read it.
fn pretty(symbol: &str) -> String {
    symbol
        .replace("deg", "°")
        .replace("m2", "m²")
        .replace("m3", "m³")
        .replace("in2", "in²")
        .replace("ft2", "ft²")
}

/// What is declared of a knob's key.
pub fn field(key: &str) -> Option<&'static Field> {
    RUN_FILE.at(key)
}

/// The range that is declared of a knob's key.
pub fn range(key: &str) -> Option<Range> {
    match field(key)?.kind {
        Kind::Quantity(range) | Kind::Moment(range) => Some(range),
        _ => None,
    }
}

/// Whether the page has such a knob.
pub fn is_knob(key: &str) -> bool {
    KNOBS.iter().any(|knob| knob.key == key)
}

/// The knobs' keys.
pub fn keys() -> impl Iterator<Item = &'static str> {
    KNOBS.iter().map(|knob| knob.key)
}

/// The value that a key's declaration gives as an example, or else its default, without quotes.
pub fn example(key: &str) -> Option<String> {
    let field = field(key)?;
    let text = match (field.example, field.need) {
        ("", Need::Default(text) | Need::Tacit(text, _)) => text,
        (example, _) => example,
    };
    Some(text.trim_matches('"').to_owned())
}

/// The value of a key in a run, as a run file would write it; none where the run has none.
pub fn stated<'a>(loaded: &'a Loaded, key: &str) -> Option<&'a str> {
    let mut all = loaded.provenance.iter();
    all.find(|stated| stated.key == key)
        .map(|stated| stated.value.as_str())
}

/// How many spool changes the run has.
pub fn spool_changes(loaded: &Loaded) -> usize {
    let has = |k: &usize| {
        let table = format!("job.spool_change.{k}.");
        loaded.provenance.iter().any(|s| s.key.starts_with(&table))
    };
    (1..).take_while(has).count()
}

/// All knobs of a run; `values` are those that were turned.
pub fn controls(
    loaded: &Loaded,
    values: &Values,
    catalogue: &Catalogue,
    system: System,
) -> Vec<Control> {
    KNOBS
        .iter()
        .filter_map(|knob| {
            Some(Control {
                key: knob.key,
                label: knob.label,
                group: knob.group,
                meaning: meaning(knob.key),
                shape: shape(knob, loaded, values, catalogue, system)?,
                idle: idle(knob.key, loaded),
            })
        })
        .collect()
}

fn meaning(key: &str) -> &'static str {
    match key {
        CHANGES => "Pauses for a new spool, spread evenly over the run.",
        SUN => "Whether the sun falls into the chamber in the afternoon.",
        key => field(key).map_or("", |field| field.doc),
    }
}

fn shape(
    knob: &Declared,
    loaded: &Loaded,
    values: &Values,
    catalogue: &Catalogue,
    system: System,
) -> Option<Shape> {
    let key = knob.key;
    let choice = |value: String, words: Vec<String>| Some(Shape::Choice { value, words });
    match key {
        SUN => {
            let value = if loaded.run.sun.is_some() {
                "on"
            } else {
                "off"
            };
            return choice(value.to_owned(), vec!["off".to_owned(), "on".to_owned()]);
        }
        CHANGES => {
            #[expect(clippy::cast_precision_loss, reason = "a handful")]
            let [value, most] = [spool_changes(loaded), MOST_CHANGES].map(|n| n as f64);
            return Some(Shape::Range {
                value,
                min: 0.0,
                max: most.max(value),
                step: 1.0,
                low: 0.0,
                high: most.max(value),
                unit: String::new(),
            });
        }
        _ => {}
    }
    let stated = match key {
        CHANGE_LASTS => stated(loaded, "job.spool_change.1.duration"),
        CHANGE_DOOR => stated(loaded, "job.spool_change.1.door"),
        key => stated(loaded, key),
    };
    let typed = match values.get(key) {
        Some(Typed::Text(text)) => Some(text.clone()),
        _ => None,
    };
    let text = stated
        .map(str::to_owned)
        .or(typed)
        .or_else(|| example(key))?;
    match field(key)?.kind {
        Kind::Quantity(range) | Kind::Moment(range) => {
            let si = quantity::parse(text.split(" ±").next()?, range.quantity).ok()?;
            let reach = knob.reach.unwrap_or(range.usual);
            let scale = Scale::new(&range, range.si(reach.1), system);
            // A knob that does nothing at present keeps where it was turned to.
            let value = match (stated, values.get(key)) {
                (None, Some(Typed::Number(number))) => *number,
                _ => scale.number(si),
            };
            Some(slider(&range, reach, &scale, value))
        }
        Kind::Choice(words) => choice(text, words.iter().map(|w| (*w).to_owned()).collect()),
        Kind::Name(EntryKind::Material) => choice(text, catalogue.names(EntryKind::Material)),
        Kind::DateTime => Some(Shape::Moment { value: text }),
        _ => None,
    }
}

fn slider(range: &Range, reach: (f64, f64), scale: &Scale, value: f64) -> Shape {
    let ends = |(low, high)| (scale.number(range.si(low)), scale.number(range.si(high)));
    let (min, max) = ends(reach);
    let (low, high) = ends(range.hard);
    let step = step(max - min);
    Shape::Range {
        value,
        // Round numbers, and never without the value itself.
        min: tidy((min / step).floor() * step).max(low).min(value),
        max: tidy((max / step).ceil() * step).min(high).max(value),
        step,
        low,
        high,
        unit: scale.shown.clone(),
    }
}

/// A round step of which some two to four hundred make the range.
fn step(range: f64) -> f64 {
    let fine = range / 300.0;
    let ten = 10f64.powf(fine.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|k| tidy(k * ten));
    steps.into_iter().rfind(|s| *s <= fine * 1.5).unwrap_or(ten)
}

/// Why a knob does nothing in this run.
fn idle(key: &str, loaded: &Loaded) -> Option<String> {
    let written_out = || {
        let has = |table: &str| loaded.provenance.iter().any(|s| s.key.starts_with(table));
        if has("job.profile") {
            Some("the job's own table says it".to_owned())
        } else if has("job.phase.") {
            Some("this run writes its phases out one by one".to_owned())
        } else {
            None
        }
    };
    let from_mass = || {
        let phases = loaded.run.phases.iter();
        let changes = phases.filter(|p| p.kind == PhaseKind::SpoolChange).count();
        (loaded.run.spool.is_some() && spool_changes(loaded) == 0).then(|| {
            format!("they follow from the material fed: {changes} in this run (spool.mass)")
        })
    };
    match key {
        FLOW => {
            let kind = stated(loaded, ARRANGEMENT).unwrap_or_default();
            (!has_fan(kind)).then(|| format!("no fan runs while the arrangement is “{kind}”"))
        }
        BED => written_out(),
        CHANGES => written_out().or_else(from_mass),
        CHANGE_LASTS | CHANGE_DOOR => written_out().or_else(from_mass).or_else(|| {
            (spool_changes(loaded) == 0).then(|| "there are no spool changes".to_owned())
        }),
        "sun.irradiance" | "sun.area" => loaded
            .run
            .sun
            .is_none()
            .then(|| "no sun falls in".to_owned()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::runfile::demo;

    fn find(system: System, key: &str) -> Control {
        let all = controls(&demo(), &Values::new(), &Catalogue::embedded(), system);
        all.into_iter().find(|c| c.key == key).expect("a knob")
    }

    #[test]
    fn every_knob_has_a_shape_and_a_meaning() {
        let all = controls(&demo(), &Values::new(), &Catalogue::embedded(), System::Si);
        assert_eq!(all.len(), KNOBS.len());
        assert!(all.iter().all(|c| !c.meaning.is_empty()));
    }

    /// The demo's bed is 60 °C, which is 140 °F; the key takes 0 to 250 °C, 32 to 482 °F.
    #[test]
    fn units_are_those_asked_for_and_limits_those_of_the_key() {
        let Shape::Range {
            value,
            low,
            high,
            unit,
            ..
        } = find(System::Us, BED).shape
        else {
            panic!("a slider");
        };
        assert_eq!(
            (value, low, high, unit.as_str()),
            (140.0, 32.0, 482.0, "°F")
        );
        let Shape::Range {
            value,
            low,
            high,
            unit,
            ..
        } = find(System::Si, BED).shape
        else {
            panic!("a slider");
        };
        assert_eq!((value, low, high, unit.as_str()), (60.0, 0.0, 250.0, "°C"));
    }

    /// 9 °F of difference are 5 K; 100 cfm are 170 m³/h.
    #[test]
    fn numbers_become_texts_of_a_run_file() {
        let scale = |key: &str, system| {
            let range = range(key).unwrap();
            Scale::new(&range, range.si(range.usual.1), system)
        };
        assert_eq!(scale("room.shift", System::Us).text(9.0), "5 K");
        assert_eq!(scale("room.shift", System::Si).text(-2.5), "-2.5 K");
        assert_eq!(scale(FLOW, System::Si).text(40.0), "40 m3/h");
        assert_eq!(scale(FLOW, System::Us).text(100.0), "100 cfm");
        assert_eq!(scale(BED, System::Si).text(0.1 + 0.2), "0.3 degC");
    }

    #[test]
    fn what_does_nothing_says_why() {
        assert!(find(System::Si, FLOW).idle.unwrap().contains("closed"));
        assert!(find(System::Si, "sun.area").idle.is_some());
        assert!(find(System::Si, CHANGE_DOOR).idle.is_some());
        assert_eq!(find(System::Si, BED).idle, None);
    }

    #[test]
    fn steps_are_round() {
        assert_eq!(
            [30.0, 115.0, 195.0, 1.0, 1_000.0].map(step),
            [0.1, 0.5, 0.5, 0.005, 5.0]
        );
    }
}

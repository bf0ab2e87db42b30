//! What the machine's places are called, and which of them a header names.

use crate::keys::nearest::did_you_mean;
use crate::quantity::{Quantity, unit_by_symbol};

/// The places of a machine, as whoever knows it tells them.
pub struct Places<'a> {
    /// The machine's own name of a place, by words in any order; none where there is no such place.
    pub find: &'a dyn Fn(&str) -> Option<String>,
    /// What they are called.
    pub names: &'a [String],
}

/// Names of the room's air.
const ROOM: [&[&str]; 6] = [
    &["room"],
    &["room", "air"],
    &["air", "room"],
    &["ambient"],
    &["ambient", "air"],
    &["air", "ambient"],
];
/// Words in headers that don't say where.
const FILLERS: [&str; 12] = [
    "temp",
    "temperature",
    "temperatures",
    "temperatur",
    "the",
    "of",
    "at",
    "sensor",
    "probe",
    "thermometer",
    "thermocouple",
    "reading",
];
/// Words of the input of a logger, with or without its number.
const CHANNELS: [&str; 7] = ["", "ch", "channel", "tc", "t", "input", "no"];

impl Places<'_> {
    /// What a header or somebody's words name; none if that is neither a place nor the room.
    pub(super) fn named(&self, words: &str) -> Option<Holds> {
        let words = words_of(words);
        self.by_words(&words).or_else(|| {
            let rest: Vec<String> = words.iter().filter(|w| !is_channel(w)).cloned().collect();
            (rest.len() < words.len()).then(|| self.by_words(&rest))?
        })
    }

    fn by_words(&self, words: &[String]) -> Option<Holds> {
        if ROOM.iter().any(|room| words == *room) {
            return Some(Holds::Room);
        }
        if words.is_empty() {
            return None;
        }
        (self.find)(&words.join(" ")).map(Holds::Place)
    }

    /// "did you mean "feeder motor"?", where something is near.
    pub(super) fn near(&self, words: &str) -> Option<String> {
        let words = words_of(words).join(" ");
        let names = self.names.iter().map(String::as_str);
        did_you_mean(&words, names, |name| format!("\"{name}\""))
    }

    /// What they are called, the many layers aside.
    pub(super) fn listed(&self) -> String {
        let names = self.names.iter().filter(|name| !name.contains("layer"));
        let names: Vec<&str> = names.map(String::as_str).collect();
        names.join(", ")
    }
}

/// What a column holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Holds {
    /// A place, by the machine's own name.
    Place(String),
    /// The room's air.
    Room,
}

impl Holds {
    /// What it is called.
    pub fn name(&self) -> &str {
        match self {
            Self::Place(name) => name,
            Self::Room => "room",
        }
    }
}

/// The words of a header that may say where, without its unit.
pub(super) fn words_of(header: &str) -> Vec<String> {
    let mut spaced = String::with_capacity(header.len() + 8);
    let mut before = ' ';
    for c in header.chars() {
        // FeederMotor, but degC.
        if c.is_uppercase() && before.is_lowercase() && !spaced.ends_with("deg") {
            spaced.push(' ');
        }
        match c {
            '°' | 'º' => spaced.push_str(" deg"),
            c => spaced.extend(c.to_lowercase()),
        }
        before = c;
    }
    let parts = |c: char| c.is_whitespace() || "_-()[]{},;/:.#\"'".contains(c);
    let words: Vec<&str> = spaced.split(parts).filter(|w| !w.is_empty()).collect();
    let last = words.len().saturating_sub(1);
    let is_unit = |at: usize, word: &str| {
        // A single letter is a unit at the end only: further in it may be anything.
        (at == last || word.len() > 1)
            && unit_by_symbol(word, Quantity::Temperature)
                .or_else(|| unit_by_symbol(&word.to_uppercase(), Quantity::Temperature))
                .is_some()
    };
    let each = words.iter().enumerate();
    each.filter(|(at, word)| !is_unit(*at, word) && !FILLERS.contains(word))
        .map(|(_, word)| (*word).to_owned())
        .collect()
}

fn is_channel(word: &str) -> bool {
    let letters = word.trim_end_matches(|c: char| c.is_ascii_digit());
    CHANNELS.contains(&letters)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(header: &str) -> Option<Holds> {
        let find = |words: &str| {
            let mut words: Vec<&str> = words.split(' ').collect();
            words.sort_unstable();
            let known = [
                "feeder motor",
                "air top",
                "drive gear",
                "air layer 2",
                "bed",
            ];
            let is_it = |name: &&&str| {
                let mut own: Vec<&str> = name.split(' ').collect();
                own.sort_unstable();
                own == words
            };
            known.iter().find(is_it).map(|name| (*name).to_owned())
        };
        let places = Places {
            find: &find,
            names: &[],
        };
        places.named(header)
    }

    #[test]
    fn headers_name_places_in_any_order_of_words() {
        for (header, place) in [
            ("feeder_motor_degC", "feeder motor"),
            ("Air top (°C)", "air top"),
            ("Top air °F", "air top"),
            ("Temp drive gear [°F]", "drive gear"),
            ("DriveGear_C", "drive gear"),
            ("T1 feeder motor, °C", "feeder motor"),
            ("CH3: Feeder Motor (C)", "feeder motor"),
            ("2 feeder motor", "feeder motor"),
            ("Temperature of the bed, K", "bed"),
            ("air layer 2 degC", "air layer 2"),
            ("feeder motor degF", "feeder motor"),
            ("bed", "bed"),
        ] {
            let want = Some(Holds::Place(place.to_owned()));
            assert_eq!(named(header), want, "{header}");
        }
        for header in ["room_degC", "Ambient (°C)", "Room air", "T4 room °F"] {
            assert_eq!(named(header), Some(Holds::Room), "{header}");
        }
        for header in [
            "T1",
            "feeder motor duty (%)",
            "bed %",
            "bed_W",
            "Bed power (W)",
            "temperature",
            "feeder motor min °C",
            "",
        ] {
            assert_eq!(named(header), None, "{header}");
        }
    }
}

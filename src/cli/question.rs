//! The questions that `dogdays new` asks, and what may answer them.

use crate::catalogue::{Catalogue, Kind};
use crate::keys::fields::{part::PART, room::ROOM, run_file::RUN};
use crate::keys::moment::local_date_time;
use crate::keys::nearest::nearest;
use crate::keys::reader::says_no_time;
use crate::keys::schema::{self, Table};
use crate::quantity;

/// What the file needs to know.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Question {
    /// Machine in the catalogue.
    Machine,
    /// Material in the catalogue.
    Material,
    /// Length of the run.
    Duration,
    /// When it begins.
    Start,
    /// Mass of the part.
    Mass,
    /// Whether the machine must stay closed.
    StaysClosed,
    /// Where the feeder sits.
    Feeder,
    /// Where the spool hangs.
    Spool,
    /// How the filament is kept.
    Filament,
    /// Whether a heat wave is forecast.
    HeatWave,
    /// Temperature of the room in the afternoon.
    Room,
    /// Temperature of the room at night.
    Night,
}

impl Question {
    /// The option that answers it.
    pub const fn option(self) -> &'static str {
        match self {
            Self::Machine => "--machine",
            Self::Material => "--material",
            Self::Duration => "--duration",
            Self::Start => "--start",
            Self::Mass => "--mass",
            Self::StaysClosed => "--stays-closed",
            Self::Feeder => "--feeder",
            Self::Spool => "--spool",
            Self::Filament => "--filament",
            Self::HeatWave => "--heat-wave",
            Self::Room => "--room",
            Self::Night => "--night",
        }
    }

    /// How it is asked.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Machine => "Machine",
            Self::Material => "Material",
            Self::Duration => "How long does the whole run take",
            Self::Start => "When does it start (local date and time)",
            Self::Mass => "Mass of the finished part",
            Self::StaysClosed => {
                "Must the machine stay closed while it runs (interlock, certified process, fumes): yes or no"
            }
            Self::Feeder => "Where is the feeder's motor: outside, chamber top or chamber bottom",
            Self::Spool => "Where does the spool hang: outside, chamber top or chamber bottom",
            Self::Filament => {
                "Is the filament dry (fed from a sealed box with a drying agent) or damp (it hangs in the room's air)"
            }
            Self::HeatWave => "Is a heat wave forecast for these days: yes or no",
            Self::Room => {
                "How warm does it get beside the machine in the afternoon, on the hottest day"
            }
            Self::Night => "How cool does it get there at night (Enter: no cooler)",
        }
    }

    /// The catalogue's kind that answers it, if one does.
    pub const fn kind(self) -> Option<Kind> {
        match self {
            Self::Machine => Some(Kind::Machine),
            Self::Material => Some(Kind::Material),
            _ => None,
        }
    }

    /// The table and key that declare unit and limits.
    const fn declared(self) -> Option<(&'static Table, &'static str)> {
        match self {
            Self::Duration => Some((&RUN, "duration")),
            Self::Room | Self::Night => Some((&ROOM, "temperature")),
            Self::Mass => Some((&PART, "mass")),
            _ => None,
        }
    }

    /// The few words that may answer it: as people write them, and as a run file does.
    const fn choices(self) -> &'static [(&'static str, &'static str)] {
        match self {
            Self::StaysClosed => &[
                ("yes", "true"),
                ("no", "false"),
                ("y", "true"),
                ("n", "false"),
            ],
            Self::HeatWave => &[("yes", "yes"), ("no", "no"), ("y", "yes"), ("n", "no")],
            Self::Filament => &[("dry", "dry"), ("damp", "damp")],
            // "inside" alone is the warm side.
            Self::Feeder | Self::Spool => &[
                ("outside", "room"),
                ("chamber top", "chamber top"),
                ("chamber bottom", "chamber bottom"),
                ("room", "room"),
                ("inside", "chamber top"),
                ("top", "chamber top"),
                ("bottom", "chamber bottom"),
            ],
            _ => &[],
        }
    }

    /// An answer as a run file writes it, in the words in which it is asked.
    pub fn asked_as(self, text: &str) -> &str {
        let choices = self.choices().iter();
        let mut meant = choices.filter(|(_, written)| *written == text);
        meant.next().map_or(text, |(word, _)| word)
    }

    /// The answer tidied, or what is wrong with it and what to write.
    pub fn check(self, text: &str, catalogue: &Catalogue) -> Result<String, String> {
        let text = text.trim();
        if let Some(kind) = self.kind() {
            return catalogue
                .get(kind, text)
                .map(|e| e.name.clone())
                .ok_or_else(|| {
                    format!(
                        "no {} is called \"{text}\"; {}",
                        kind.name(),
                        catalogue.suggestion(kind, text)
                    )
                });
        }
        if !self.choices().is_empty() {
            return self.choose(text);
        }
        if self == Self::Start {
            let time = local_date_time(text)
                .map_err(|what| format!("{what}; write it as \"2026-07-13 07:00\""))?;
            if says_no_time(text) {
                let example = time.strftime("%Y-%m-%d 07:00");
                return Err(format!(
                    "\"{text}\" does not say at which time of day; write it as \"{example}\""
                ));
            }
        }
        if let Some((table, key)) = self.declared()
            && let Some(schema::Kind::Quantity(range)) = table.field(key).map(|f| f.kind)
        {
            let si = quantity::parse(text, range.quantity)
                .map_err(|e| format!("\"{text}\": {e}; {}", e.help(range.quantity, range.unit)))?;
            if !range.is_within(si, range.hard) {
                return Err(format!(
                    "\"{text}\" is out of range; {} are possible",
                    range.limits_text(range.hard)
                ));
            }
        }
        Ok(text.to_owned())
    }

    fn choose(self, text: &str) -> Result<String, String> {
        let fold = |word: &str| word.trim().to_lowercase().replace(['-', '_'], " ");
        let found = self.choices().iter().find(|(word, _)| *word == fold(text));
        found
            .map(|(_, written)| (*written).to_owned())
            .ok_or_else(|| {
                let words: Vec<&str> = self
                    .choices()
                    .iter()
                    .map(|(word, _)| *word)
                    .take_while(|word| !matches!(*word, "y" | "room"))
                    .collect();
                let near = nearest(text, words.iter().copied()).map_or_else(String::new, |near| {
                    format!("did you mean {near}? Otherwise ")
                });
                let (last, others) = words.split_last().unwrap_or((&"", &[]));
                format!(
                    "\"{text}\" is no answer; {near}write {} or {last}",
                    others.join(", ")
                )
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::keys::fields::machine::PLACES;

    #[test]
    fn places_are_those_of_a_run_file() {
        for question in [Question::Feeder, Question::Spool] {
            for (word, written) in question.choices() {
                assert!(PLACES.contains(written), "{word}");
            }
        }
    }

    #[test]
    fn answers_are_checked_as_in_a_run_file() {
        let catalogue = Catalogue::embedded();
        let check = |q: Question, text: &str| q.check(text, &catalogue);
        assert_eq!(check(Question::Material, "PETG").as_deref(), Ok("petg"));
        assert!(check(Question::Machine, "bench-6").is_err_and(|e| e.contains("bench-60")));
        assert!(check(Question::Duration, "90").is_err_and(|e| e.contains("90 h")));
        assert!(check(Question::Duration, "90 degC").is_err());
        assert!(check(Question::Room, "130 degC").is_err_and(|e| e.contains("60 degC")));
        assert!(check(Question::Start, "tomorrow").is_err_and(|e| e.contains("2026-07-13")));
        assert!(check(Question::Start, "2026-02-30 07:00").is_err());
        assert!(check(Question::Start, "2026-07-13").is_err_and(|e| e.contains("time of day")));
    }

    /// What is written is what a run file takes, and a guess is asked in the words that answer it.
    #[test]
    fn words_are_taken_as_people_write_them() {
        let catalogue = Catalogue::embedded();
        for (question, typed, written, asked) in [
            (Question::StaysClosed, "Yes", "true", "yes"),
            (Question::StaysClosed, "n", "false", "no"),
            (Question::Feeder, "outside", "room", "outside"),
            (Question::Feeder, "inside", "chamber top", "chamber top"),
            (
                Question::Spool,
                "Chamber-Bottom",
                "chamber bottom",
                "chamber bottom",
            ),
            (Question::Filament, "DRY", "dry", "dry"),
            (Question::HeatWave, "y", "yes", "yes"),
        ] {
            assert_eq!(question.check(typed, &catalogue).as_deref(), Ok(written));
            assert_eq!(question.asked_as(written), asked);
        }
        for question in [Question::StaysClosed, Question::Spool, Question::Filament] {
            let said = question
                .check("perhaps", &catalogue)
                .expect_err("no answer");
            assert!(said.contains("\"perhaps\" is no answer; write "), "{said}");
        }
        let said = Question::Spool
            .check("outsid", &catalogue)
            .expect_err("no answer");
        assert!(said.contains("did you mean outside?"), "{said}");
    }
}

//! The questions that `dogdays new` asks, and what may answer them.

use std::io::{BufRead, Write};

use super::common::Failure;
use crate::catalogue::{Catalogue, Kind};
use crate::keys::fields::{part::PART, room::ROOM, run_file::RUN};
use crate::keys::moment::local_date_time;
use crate::keys::schema::{self, Table};
use crate::quantity;
use crate::runfile::template::Answer;

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
    /// Temperature of the room.
    Room,
    /// Mass of the part.
    Mass,
}

impl Question {
    /// The option that answers it.
    pub const fn option(self) -> &'static str {
        match self {
            Self::Machine => "--machine",
            Self::Material => "--material",
            Self::Duration => "--duration",
            Self::Start => "--start",
            Self::Room => "--room",
            Self::Mass => "--mass",
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Machine => "Machine",
            Self::Material => "Material",
            Self::Duration => "How long does the whole run take",
            Self::Start => "When does it start (local date and time)",
            Self::Room => "How warm is it beside the machine",
            Self::Mass => "Mass of the finished part",
        }
    }

    /// The catalogue's kind that answers it, if one does.
    const fn kind(self) -> Option<Kind> {
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
            Self::Room => Some((&ROOM, "temperature")),
            Self::Mass => Some((&PART, "mass")),
            Self::Machine | Self::Material | Self::Start => None,
        }
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
        if self == Self::Start {
            local_date_time(text)
                .map_err(|what| format!("{what}; write it as \"2026-07-13 07:00\""))?;
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
}

/// Asks until the answer fits; an empty one takes the guess, and stays one.
pub fn ask(q: Question, guess: &str, catalogue: &Catalogue) -> Result<Answer, Failure> {
    if let Some(kind) = q.kind() {
        tell(&format!("{}:\n", kind.folder()))?;
        for entry in catalogue.list(kind) {
            tell(&format!("  {:<14} {}\n", entry.name, entry.title()))?;
        }
    }
    loop {
        let typed = ask_line(q.words(), guess)?;
        let is_guess = typed.is_empty();
        let text = if is_guess { guess } else { &typed };
        match q.check(text, catalogue) {
            Ok(text) => return Ok(Answer { text, is_guess }),
            Err(what) => tell(&format!("  {what}\n"))?,
        }
    }
}

/// A line from the terminal, trimmed; the guess is what an empty one will stand for.
pub fn ask_line(words: &str, guess: &str) -> Result<String, Failure> {
    tell(&format!("{words} [{guess}]? "))?;
    let mut line = String::new();
    let read = std::io::stdin()
        .lock()
        .read_line(&mut line)
        .map_err(|e| Failure::Other(format!("cannot read the answer: {e}")))?;
    if read == 0 {
        tell("\n")?;
        return Err(Failure::Usage(
            "the answers ended early; nothing is written".to_owned(),
        ));
    }
    Ok(line.trim().to_owned())
}

/// Questions go to stderr, so that the file may go to stdout.
pub fn tell(text: &str) -> Result<(), Failure> {
    let mut err = std::io::stderr();
    err.write_all(text.as_bytes())
        .and_then(|()| err.flush())
        .map_err(|e| Failure::Other(format!("cannot ask: {e}")))
}

#[cfg(test)]
mod tests {
    use super::*;

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
    }
}

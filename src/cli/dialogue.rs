//! Questions on one stream, answers from another.

use std::io::{BufRead, Write};

use super::common::Failure;
use super::question::Question;
use crate::catalogue::Catalogue;
use crate::runfile::template::Answer;

/// Where answers come from and questions go.
pub struct Dialogue<'a> {
    /// One answer a line.
    pub answers: &'a mut dyn BufRead,
    /// Questions, and what was wrong with an answer.
    pub questions: &'a mut dyn Write,
}

impl Dialogue<'_> {
    /// Asks until the answer fits; an empty one takes the guess, and stays one.
    pub fn ask(
        &mut self,
        question: Question,
        guess: &str,
        catalogue: &Catalogue,
    ) -> Result<Answer, Failure> {
        if let Some(kind) = question.kind() {
            self.tell(&format!("{}:\n", kind.folder()))?;
            for entry in catalogue.list(kind) {
                self.tell(&format!("  {:<14} {}\n", entry.name, entry.title()))?;
            }
        }
        let asked = question.asked_as(guess);
        self.ask_until(question.words(), asked, |text| {
            question.check(text, catalogue)
        })
    }

    /// Asks until `check` takes the answer; it says what is wrong with one that it does not take.
    pub fn ask_until(
        &mut self,
        words: &str,
        guess: &str,
        check: impl Fn(&str) -> Result<String, String>,
    ) -> Result<Answer, Failure> {
        loop {
            let typed = self.line(words, guess)?;
            let is_guess = typed.is_empty();
            match check(if is_guess { guess } else { &typed }) {
                Ok(text) => return Ok(Answer { text, is_guess }),
                Err(what) => self.tell(&format!("  {what}\n"))?,
            }
        }
    }

    /// A line, trimmed; the guess is what an empty one will stand for.
    fn line(&mut self, words: &str, guess: &str) -> Result<String, Failure> {
        self.tell(&format!("{words} [{guess}]? "))?;
        let mut line = String::new();
        let read = self
            .answers
            .read_line(&mut line)
            .map_err(|e| Failure::Other(format!("cannot read the answer: {e}")))?;
        if read == 0 {
            self.tell("\n")?;
            return Err(Failure::Usage(
                "the answers ended early; nothing is written".to_owned(),
            ));
        }
        // What a key sends that is no letter is no part of an answer.
        line.retain(|c| !c.is_control());
        Ok(line.trim().to_owned())
    }

    /// Says something that asks nothing.
    pub fn tell(&mut self, text: &str) -> Result<(), Failure> {
        self.questions
            .write_all(text.as_bytes())
            .and_then(|()| self.questions.flush())
            .map_err(|e| Failure::Other(format!("cannot ask: {e}")))
    }
}

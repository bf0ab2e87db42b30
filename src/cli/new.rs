//! `dogdays new`.

use std::io::{IsTerminal, stderr, stdin};
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use jiff::ToSpan;
use jiff::civil::date;

use super::common::{Failure, ModelOptions, Outcome, note, print};
use super::dialogue::Dialogue;
use super::outputs::{Output, Outputs, ReplaceOptions};
use super::question::Question;
use crate::catalogue::{Catalogue, Entry, Kind};
use crate::keys::json_schema::json_schema;
use crate::output::ours::Kind as OutputKind;
use crate::quantity::{self, Quantity};
use crate::runfile;
use crate::runfile::template::{Answer, Answers, Room, Usual, template};

/// Options of `new`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays new                          asks what matters
  dogdays new my.toml --machine bench-60 --material petg --duration \"90 h\"
  dogdays new my.toml --machine bench-220 --material pla --duration \"121 h\" \\
      --room \"34 degC\" --night \"24 degC\" --stays-closed yes --filament dry
  dogdays new --schema dogdays.schema.json
                                       lets editors check run files while you type

What is not given is guessed, on the warm side, and listed under [guessed] in the
file; `dogdays check` repeats it until you change it.")]
pub struct NewOptions {
    /// The file to write; without it, standard output (or asked for).
    #[arg(value_name = "FILE")]
    file: Option<PathBuf>,
    /// Machine in the catalogue.
    #[arg(long, value_name = "NAME")]
    machine: Option<String>,
    /// Material in the catalogue.
    #[arg(long, value_name = "NAME")]
    material: Option<String>,
    /// Length of the whole run, for example "90 h" or "4 day".
    #[arg(long, value_name = "TIME")]
    duration: Option<String>,
    /// Local date and time at which it starts, for example "2026-07-13 07:00".
    #[arg(long, value_name = "WHEN")]
    start: Option<String>,
    /// Mass of the finished part, for example "1.8 kg".
    #[arg(long, value_name = "MASS")]
    mass: Option<String>,
    /// Whether the machine must stay closed while it runs: yes or no.
    #[arg(long, value_name = "YES|NO")]
    stays_closed: Option<String>,
    /// Where the feeder's motor is: outside, "chamber top" or "chamber bottom".
    #[arg(long, value_name = "PLACE")]
    feeder: Option<String>,
    /// Where the spool hangs: outside, "chamber top" or "chamber bottom".
    #[arg(long, value_name = "PLACE")]
    spool: Option<String>,
    /// Whether the filament is fed dry, from a sealed box, or damp: dry or damp.
    #[arg(long, value_name = "WORD")]
    filament: Option<String>,
    /// Whether a heat wave is forecast: yes or no. A room temperature that is not given is guessed by it.
    #[arg(long, value_name = "YES|NO")]
    heat_wave: Option<String>,
    /// Temperature beside the machine in the afternoon of the hottest day, for example "34 degC" or
    /// "93 degF"; without --night, day and night.
    #[arg(long, value_name = "TEMPERATURE")]
    room: Option<String>,
    /// Temperature beside the machine at night.
    #[arg(long, value_name = "TEMPERATURE")]
    night: Option<String>,
    /// A name for reports and pictures.
    #[arg(long, value_name = "TEXT")]
    name: Option<String>,
    #[command(flatten)]
    replace: ReplaceOptions,
    /// Ask for everything that no option says, even where the answers come from a pipe.
    #[arg(long)]
    ask: bool,
    /// Write the JSON Schema of run files instead.
    #[arg(long, conflicts_with_all = ["machine", "material", "duration", "start", "room", "mass", "name", "ask",
        "stays_closed", "feeder", "spool", "filament", "heat_wave", "night"])]
    schema: bool,
    #[command(flatten)]
    models: ModelOptions,
}

/// Writes a run file, or the schema of run files.
pub fn run(o: &NewOptions) -> Result<Outcome, Failure> {
    let folder = o.file.as_deref().and_then(Path::parent);
    let catalogue = o
        .models
        .catalogue_in(folder.unwrap_or_else(|| Path::new("")))?;
    let inputs: Vec<PathBuf> = catalogue.files().map(Path::to_owned).collect();
    let output = output(o.file.as_deref(), &inputs, o.replace)?;
    if o.schema {
        let text = format!("{:#}\n", json_schema(&|kind| catalogue.names(kind)));
        match &output {
            Some(output) => output.save_bytes("the schema", text.as_bytes())?,
            None => print(&text)?,
        }
        return Ok(Outcome { exit_code: 0 });
    }
    let (answers, asked) = answers(o, &catalogue, &inputs)?;
    let output = output.or(asked);
    let text = template(&answers);
    // What fits each key by itself may not fit together: the run file's own check has the last word.
    let name = output.as_ref().map_or_else(
        || "the new run file".to_owned(),
        |output| output.path().display().to_string(),
    );
    runfile::parse(&text, &name, None, &catalogue).map_err(Failure::Input)?;
    let guesses = guesses(&answers);
    if !guesses.is_empty() {
        note(&format!("guessed, and listed under [guessed]: {guesses}"));
    }
    match &output {
        Some(output) => {
            output.save_bytes("a run file", text.as_bytes())?;
            note(&format!("next: dogdays check {}", output.path().display()));
        }
        None => print(&text)?,
    }
    Ok(Outcome { exit_code: 0 })
}

/// Where to write, if a file is named.
fn output(
    path: Option<&Path>,
    inputs: &[PathBuf],
    replace: ReplaceOptions,
) -> Result<Option<Output>, Failure> {
    Outputs::new(inputs, replace, false).add("new", path, OutputKind::RunFile)
}

/// Answers from options, from the dialogue, or guessed; and where to write, if that had to be asked.
fn answers(
    o: &NewOptions,
    catalogue: &Catalogue,
    inputs: &[PathBuf],
) -> Result<(Answers, Option<Output>), Failure> {
    let needed = [Question::Machine, Question::Material, Question::Duration];
    let missing: Vec<_> = needed
        .iter()
        .filter(|q| o.given(**q).is_none())
        .map(|q| q.option())
        .collect();
    let can_ask = o.ask || (stdin().is_terminal() && stderr().is_terminal());
    if !missing.is_empty() && !can_ask {
        return Err(Failure::Usage(format!(
            "{} {} missing; for example: dogdays new --machine bench-60 --material petg --duration \"90 h\" my.toml",
            missing.join(" and "),
            if missing.len() == 1 { "is" } else { "are" }
        )));
    }
    // Questions go to stderr, so that the file may go to stdout.
    let (mut typed, mut asked) = (stdin().lock(), stderr());
    let mut answering = Answering {
        options: o,
        catalogue,
        dialogue: (o.ask || !missing.is_empty()).then_some(Dialogue {
            answers: &mut typed,
            questions: &mut asked,
        }),
    };
    let machine = answering.to(Question::Machine, "bench-60")?;
    let material = answering.to(Question::Material, "pla")?;
    let duration = answering.to(Question::Duration, "48 h")?;
    let of_machine = |key| value_of(catalogue, Kind::Machine, &machine.text, key);
    let answers = Answers {
        name: o.name.clone().unwrap_or_else(|| "My run".to_owned()),
        start: answering.to(Question::Start, &tomorrow_morning())?,
        mass: answering.to(Question::Mass, &usual_mass(&duration.text))?,
        must_stay_closed: answering.to(Question::StaysClosed, "true")?,
        feeder: answering.to(Question::Feeder, &of_machine("feeder.place"))?,
        spool: answering.to(Question::Spool, &of_machine("spool"))?,
        filament: answering.to(Question::Filament, "damp")?,
        room: answering.room()?,
        models: models(o, catalogue, [&machine.text, &material.text]),
        usual: usual(&material.text, catalogue),
        machine,
        material,
        duration,
    };
    let asked = match (&o.file, &mut answering.dialogue) {
        (None, Some(dialogue)) => {
            let free = |text: &str| match output(Some(Path::new(text)), inputs, o.replace) {
                Err(Failure::Usage(what)) => Err(what),
                _ => Ok(text.to_owned()),
            };
            let answer = dialogue.ask_until("Write it to which file", "my.toml", free)?;
            output(Some(Path::new(&answer.text)), inputs, o.replace)?
        }
        _ => None,
    };
    Ok((answers, asked))
}

impl NewOptions {
    const fn given(&self, question: Question) -> Option<&String> {
        let option = match question {
            Question::Machine => &self.machine,
            Question::Material => &self.material,
            Question::Duration => &self.duration,
            Question::Start => &self.start,
            Question::Mass => &self.mass,
            Question::StaysClosed => &self.stays_closed,
            Question::Feeder => &self.feeder,
            Question::Spool => &self.spool,
            Question::Filament => &self.filament,
            Question::HeatWave => &self.heat_wave,
            Question::Room => &self.room,
            Question::Night => &self.night,
        };
        option.as_ref()
    }
}

/// Where answers come from.
struct Answering<'a> {
    options: &'a NewOptions,
    catalogue: &'a Catalogue,
    /// Nobody is asked without one.
    dialogue: Option<Dialogue<'a>>,
}

impl Answering<'_> {
    /// What the option says, or else what is answered, or else the guess.
    fn to(&mut self, question: Question, guess: &str) -> Result<Answer, Failure> {
        if let Some(text) = self.options.given(question) {
            let text = question
                .check(text, self.catalogue)
                .map_err(|what| Failure::Usage(format!("{}: {what}", question.option())))?;
            return Ok(Answer {
                text,
                is_guess: false,
            });
        }
        match &mut self.dialogue {
            Some(dialogue) => dialogue.ask(question, guess, self.catalogue),
            None => Ok(Answer {
                text: guess.to_owned(),
                is_guess: true,
            }),
        }
    }

    fn room(&mut self) -> Result<Room, Failure> {
        let heat_wave = match self.options.given(Question::Room) {
            // Whoever says how warm it gets has counted the heat wave in.
            Some(_) if self.options.heat_wave.is_none() => "no".to_owned(),
            _ => self.to(Question::HeatWave, "no")?.text,
        };
        let usual = if heat_wave == "yes" {
            "35 degC"
        } else {
            "30 degC"
        };
        let afternoon = self.to(Question::Room, usual)?;
        let by_day_K = temperature_K(&afternoon.text);
        loop {
            let night = self.to(Question::Night, &afternoon.text)?;
            let by_night_K = temperature_K(&night.text);
            if by_night_K <= by_day_K {
                return Ok(room_of(afternoon, by_day_K, by_night_K));
            }
            let what = "it can't be warmer at night than in the afternoon";
            match (self.options.given(Question::Night), &mut self.dialogue) {
                (None, Some(dialogue)) => dialogue.tell(&format!("  {what}\n"))?,
                _ => {
                    let option = Question::Night.option();
                    return Err(Failure::Usage(format!("{option}: {what}")));
                }
            }
        }
    }
}

/// The room of two temperatures, in the afternoon's unit. Where they are the same, or nobody spoke of the
/// night, it is as warm then: the warm side.
fn room_of(afternoon: Answer, by_day_K: f64, by_night_K: f64) -> Room {
    if by_day_K - by_night_K < 0.01 {
        return Room::Same(afternoon);
    }
    let unit = if afternoon.text.contains(['F', 'f']) {
        "degF"
    } else {
        "degC"
    };
    let is_guess = afternoon.is_guess;
    let answer = |text| Answer { text, is_guess };
    Room::Swing {
        mean: answer(Quantity::Temperature.to_text(0.5 * (by_day_K + by_night_K), unit)),
        swing: answer(Quantity::TemperatureDifference.to_text(0.5 * (by_day_K - by_night_K), "K")),
    }
}

/// Of a text that has been checked.
fn temperature_K(text: &str) -> f64 {
    quantity::parse(text, Quantity::Temperature).unwrap_or(f64::NAN)
}

/// The folder of models to name in the file: the one given with `--models`, if something of it is used.
fn models(o: &NewOptions, catalogue: &Catalogue, names: [&str; 2]) -> Option<String> {
    let folder = o.models.models.as_ref()?;
    let [machine, material] = names;
    let is_own = [(Kind::Machine, machine), (Kind::Material, material)]
        .into_iter()
        .filter_map(|(kind, name)| catalogue.get(kind, name))
        .any(|entry| !entry.is_embedded);
    let is_here = o.file.as_deref().and_then(Path::parent) == Some(Path::new(""));
    // What is relative to here is relative to the run file only where that is here too.
    let named = if is_here {
        Ok(folder.clone())
    } else {
        std::path::absolute(folder)
    };
    is_own.then(|| {
        named
            .unwrap_or_else(|_| folder.clone())
            .display()
            .to_string()
    })
}

/// The material's values in the catalogue, to be shown beside the user's.
fn usual(material: &str, catalogue: &Catalogue) -> Usual {
    let value = |key| value_of(catalogue, Kind::Material, material, key);
    Usual {
        softening_limit: value("softening_limit"),
        bed: value("bed"),
        nozzle: value("nozzle"),
    }
}

/// A value of an entry of the catalogue, as a run file writes it.
fn value_of(catalogue: &Catalogue, kind: Kind, name: &str, key: &str) -> String {
    let values = catalogue.get(kind, name).map(Entry::values);
    let mut values = values.unwrap_or_default().into_iter();
    values
        .find(|stated| stated.key == key)
        .map(|stated| stated.value)
        .unwrap_or_default()
}

fn guesses(a: &Answers) -> String {
    let mut all = a.by_key();
    all.retain(|(_, answer)| answer.is_guess);
    let texts = all
        .iter()
        .map(|(key, answer)| format!("{key} {}", answer.text));
    texts.collect::<Vec<_>>().join(", ")
}

/// Tomorrow at seven; the date in UTC, which is near enough for a guess.
fn tomorrow_morning() -> String {
    let seconds = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |d| d.as_secs());
    let days = i64::try_from(seconds / 86_400).unwrap_or(0) + 1;
    let day = date(1970, 1, 1).saturating_add(days.days());
    format!("{day} 07:00")
}

/// What a nozzle of 0.4 mm lays down at a usual pace, 20 g/h, over the run, to two digits.
fn usual_mass(duration: &str) -> String {
    let hours = quantity::parse(duration, Quantity::Time).map_or(48.0, |s| s / 3_600.0);
    let grams = (20.0 * hours).clamp(1.0, 20_000.0);
    let digit = 10_f64.powf(grams.log10().floor() - 1.0);
    let grams = (grams / digit).round() * digit;
    Quantity::Mass.to_text(grams / 1_000.0, if grams < 1_000.0 { "g" } else { "kg" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_guessed_mass_grows_with_the_run_and_is_round() {
        assert_eq!(usual_mass("90 h"), "1.8 kg");
        assert_eq!(usual_mass("121 h"), "2.4 kg");
        assert_eq!(usual_mass("5 h"), "100 g");
    }

    #[test]
    fn an_afternoon_and_a_night_are_a_swing_in_the_unit_in_which_they_were_said() {
        let room = |afternoon: &str, night: &str| {
            let answer = Answer {
                text: afternoon.to_owned(),
                is_guess: false,
            };
            match room_of(answer, temperature_K(afternoon), temperature_K(night)) {
                Room::Same(answer) => answer.text,
                Room::Swing { mean, swing } => format!("{} +- {}", mean.text, swing.text),
            }
        };
        assert_eq!(room("34 degC", "24 degC"), "29 degC +- 5 K");
        assert_eq!(room("95 degF", "77 degF"), "86 degF +- 5 K");
        assert_eq!(room("95 degF", "35 degC"), "95 degF");
    }
}

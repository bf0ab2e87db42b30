//! `dogdays new`.

use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use jiff::ToSpan;
use jiff::civil::date;

use super::common::{Failure, ModelOptions, Outcome, note, print};
use super::outputs::{Output, Outputs, ReplaceOptions};
use super::question::{Question, ask, ask_line, tell};
use crate::catalogue::{Catalogue, Entry, Kind};
use crate::keys::json_schema::json_schema;
use crate::output::ours::Kind as OutputKind;
use crate::quantity::{self, Quantity};
use crate::runfile;
use crate::runfile::template::{Answer, Answers, Usual, template};

/// Options of `new`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays new                          asks what matters
  dogdays new my.toml --machine bench-60 --material petg --duration \"90 h\"
  dogdays new --schema dogdays.schema.json
                                       lets editors check run files while you type

What is not given is guessed and marked GUESS in the file.")]
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
    /// Temperature beside the machine, for example "29 degC" or "84 degF".
    #[arg(long, value_name = "TEMPERATURE")]
    room: Option<String>,
    /// Mass of the finished part, for example "1.8 kg".
    #[arg(long, value_name = "MASS")]
    mass: Option<String>,
    /// A name for reports and pictures.
    #[arg(long, value_name = "TEXT")]
    name: Option<String>,
    #[command(flatten)]
    replace: ReplaceOptions,
    /// Write the JSON Schema of run files instead.
    #[arg(long, conflicts_with_all = ["machine", "material", "duration", "start", "room", "mass", "name"])]
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
        note(&format!("guessed, and marked in the file: {guesses}"));
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

/// Answers from options, from the terminal, or guessed; and where to write, if that had to be asked.
fn answers(
    o: &NewOptions,
    catalogue: &Catalogue,
    inputs: &[PathBuf],
) -> Result<(Answers, Option<Output>), Failure> {
    let given = |question| match question {
        Question::Machine => &o.machine,
        Question::Material => &o.material,
        Question::Duration => &o.duration,
        Question::Start => &o.start,
        Question::Room => &o.room,
        Question::Mass => &o.mass,
    };
    let checked = |q: Question| -> Result<Option<String>, Failure> {
        given(q)
            .as_ref()
            .map(|text| q.check(text, catalogue))
            .transpose()
            .map_err(|what| Failure::Usage(format!("{}: {what}", q.option())))
    };
    let needed = [Question::Machine, Question::Material, Question::Duration];
    let missing: Vec<_> = needed
        .iter()
        .filter(|q| given(**q).is_none())
        .map(|q| q.option())
        .collect();
    let can_ask = std::io::stdin().is_terminal() && std::io::stderr().is_terminal();
    if !missing.is_empty() && !can_ask {
        return Err(Failure::Usage(format!(
            "{} {} missing; for example: dogdays new --machine bench-60 --material petg --duration \"90 h\" my.toml",
            missing.join(" and "),
            if missing.len() == 1 { "is" } else { "are" }
        )));
    }
    let ask_all = !missing.is_empty();
    let answer = |q: Question, guess: &str| -> Result<Answer, Failure> {
        Ok(match checked(q)? {
            Some(text) => said(text),
            None if ask_all => ask(q, guess, catalogue)?,
            None => Answer {
                text: guess.to_owned(),
                is_guess: true,
            },
        })
    };
    let machine = answer(Question::Machine, "bench-60")?.text;
    let material = answer(Question::Material, "pla")?.text;
    let duration = answer(Question::Duration, "48 h")?.text;
    let answers = Answers {
        name: o.name.clone().unwrap_or_else(|| "My run".to_owned()),
        start: answer(Question::Start, &tomorrow_morning())?,
        room: answer(Question::Room, "28 degC")?,
        mass: answer(Question::Mass, &usual_mass(&duration))?,
        usual: usual(&material, catalogue),
        machine,
        material,
        duration,
    };
    let asked = if ask_all && o.file.is_none() {
        ask_file(inputs, o.replace)?
    } else {
        None
    };
    Ok((answers, asked))
}

/// The material's values in the catalogue, to be shown beside the user's.
fn usual(material: &str, catalogue: &Catalogue) -> Usual {
    let values = catalogue
        .get(Kind::Material, material)
        .map(Entry::values)
        .unwrap_or_default();
    let value = |key: &str| {
        values
            .iter()
            .find(|s| s.key == key)
            .map(|s| s.value.clone())
            .unwrap_or_default()
    };
    Usual {
        softening_limit: value("softening_limit"),
        bed: value("bed"),
        nozzle: value("nozzle"),
    }
}

const fn said(text: String) -> Answer {
    Answer {
        text,
        is_guess: false,
    }
}

fn guesses(a: &Answers) -> String {
    let all = [
        ("start", &a.start),
        ("room temperature", &a.room),
        ("mass of the part", &a.mass),
    ];
    all.iter()
        .filter(|(_, answer)| answer.is_guess)
        .map(|(what, answer)| format!("{what} {}", answer.text))
        .collect::<Vec<_>>()
        .join(", ")
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

fn ask_file(inputs: &[PathBuf], replace: ReplaceOptions) -> Result<Option<Output>, Failure> {
    loop {
        const USUAL: &str = "my.toml";
        let typed = ask_line("Write it to which file", USUAL)?;
        let path = PathBuf::from(if typed.is_empty() { USUAL } else { &typed });
        match output(Some(&path), inputs, replace) {
            Err(Failure::Usage(what)) => tell(&format!("  {what}\n"))?,
            done => return done,
        }
    }
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
}

//! What every subcommand shares: reading a run, writing results, failing politely.

use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};

use super::terminal;
pub use super::terminal::note;
use crate::answer::AnswerError;
use crate::catalogue::Catalogue;
use crate::chamber::IntegratorKind;
use crate::integrate::Options;
use crate::keys::Problems;
use crate::output::chart::{Format, Size};
use crate::output::file::WriteError;
use crate::plain::{plain, plain_with_colours};
use crate::quantity::{self, Quantity};
use crate::runfile::{self, Loaded, ModelFolders, ModelsUsed, Original};

/// Exit code for wrong input or usage.
pub const WRONG_INPUT: u8 = 2;
/// Exit code for anything else.
pub const OTHER: u8 = 1;

/// How a subcommand ended.
#[derive(Debug)]
pub struct Outcome {
    /// The exit code.
    pub exit_code: u8,
}

/// Why a subcommand failed.
#[derive(Debug)]
pub enum Failure {
    /// Problems in input files, drawn with their lines.
    Input(Problems),
    /// Anything else the user can mend: one sentence.
    Usage(String),
    /// The rest.
    Other(String),
}

impl Failure {
    /// Says what is wrong on stderr and returns the exit code.
    pub fn report(&self) -> u8 {
        // Drawn with colours; the stream takes them out where none are wanted.
        let (text, code) = match self {
            Self::Input(p) => (p.render(true), WRONG_INPUT),
            Self::Usage(s) => (labelled(s), WRONG_INPUT),
            Self::Other(s) => (labelled(s), OTHER),
        };
        terminal::error(&text);
        code
    }
}

impl From<WriteError> for Failure {
    fn from(e: WriteError) -> Self {
        Self::Usage(e.to_string())
    }
}

impl From<crate::chamber::simulation::SimulationError> for Failure {
    fn from(e: crate::chamber::simulation::SimulationError) -> Self {
        Self::Usage(e.to_string())
    }
}

impl From<crate::study::StudyError> for Failure {
    fn from(e: crate::study::StudyError) -> Self {
        match e {
            crate::study::StudyError::Inputs(problems) => Self::Input(problems),
            crate::study::StudyError::Simulation(e) => e.into(),
        }
    }
}

impl From<AnswerError> for Failure {
    fn from(e: AnswerError) -> Self {
        match e {
            AnswerError::Input(problems) => Self::Input(problems),
            e => Self::Usage(e.to_string()),
        }
    }
}

/// Where models of the user's own are.
#[derive(Debug, clap::Args)]
pub struct ModelOptions {
    /// A folder with machines, materials and so on of your own, laid out as `dogdays catalogue --help`
    /// says. Without it: the one that the run file names, the folder my-models beside the run file, or
    /// the folder `dogdays` in the platform's usual place for data.
    #[arg(long, value_name = "DIR")]
    pub models: Option<PathBuf>,
}

impl ModelOptions {
    /// Where models may be, apart from what a run file says.
    pub fn folders(&self) -> ModelFolders {
        ModelFolders {
            named: self.models.clone(),
            usual: Catalogue::usual_folder(),
        }
    }

    /// The program's models with the user's, as a run file in this folder would see them; what was left out of
    /// the user's is told.
    pub fn catalogue_in(&self, folder: &Path) -> Result<Catalogue, Failure> {
        let catalogue = self.catalogue_untold(folder)?;
        for left_out in catalogue.notes() {
            note(&left_out.render(true));
        }
        Ok(catalogue)
    }

    /// The same without a word about what was left out: an entry that is copied into the folder begins as an
    /// empty file.
    pub fn catalogue_untold(&self, folder: &Path) -> Result<Catalogue, Failure> {
        let Some(used) = self.folders().find(None, folder) else {
            return Ok(Catalogue::embedded());
        };
        tell_models(&used);
        used.catalogue().map_err(Failure::Input)
    }
}

/// Options of every study.
#[derive(Debug, clap::Args)]
pub struct RunOptions {
    /// The run file; without it, the built-in demo.
    #[arg(value_name = "RUN")]
    pub run: Option<PathBuf>,
    #[command(flatten)]
    pub models: ModelOptions,
}

impl RunOptions {
    /// Reads the run and tells its warnings; without a file, the demo, and says so.
    pub fn load(&self) -> Result<Loaded, Failure> {
        let loaded = match self.path()? {
            Some(path) => {
                runfile::load_with(path, &self.models.folders()).map_err(Failure::Input)?
            }
            None => runfile::demo(),
        };
        tell(&loaded);
        Ok(loaded)
    }

    /// The same with the text it was read from.
    pub fn load_original(&self) -> Result<Original, Failure> {
        let original = match self.path()? {
            Some(path) => Original::load(path, &self.models.folders()).map_err(Failure::Input)?,
            None => Original::demo(),
        };
        tell(original.loaded());
        Ok(original)
    }

    /// The run file's path; none for the demo, which is told.
    fn path(&self) -> Result<Option<&Path>, Failure> {
        if let Some(path) = &self.run {
            terminal::detail(&format!("reading {}", path.display()));
        } else if self.models.models.is_some() {
            return Err(Failure::Usage(
                "--models needs a run file: the demo uses the program's own models".to_owned(),
            ));
        } else {
            note("no run file given: this is the built-in demo (shop, machine, weather: invented)");
        }
        Ok(self.run.as_deref())
    }
}

/// Tells what is odd about a run, and what of it nobody gave.
fn tell(loaded: &Loaded) {
    if let Some(used) = &loaded.models {
        tell_models(used);
    }
    let warnings = Problems::new(loaded.warnings.clone());
    let shown = warnings.shown();
    for w in shown.problems {
        note(&w.render(true));
    }
    for others in &shown.others {
        note(others);
    }
    if let Some(line) = guessed(loaded, terminal::screen().width) {
        note(&line);
    }
    for series in loaded.series.iter().filter(|series| !series.is_plain()) {
        note(&format!("read {}", series.understood()));
    }
}

/// Says, where a run file asks about failures, that this command does not look at them.
pub fn note_failures(loaded: &Loaded) {
    if !loaded.run.failures.is_empty() {
        note("failures in the run file ([[failure]]) are looked at by `dogdays check` only");
    }
}

/// One line: a path in it can't begin another.
fn labelled(what: &str) -> String {
    format!("{}{}", terminal::error_label(), plain(what))
}

/// The size of a plot.
#[derive(Debug, clap::Args)]
pub struct PlotSize {
    /// Size of the plot in pixels; at 700x500 its letters can be read on a phone.
    #[arg(long, value_name = "WxH", default_value_t = Size::default(), requires = "plot")]
    pub plot_size: Size,
}

fn tell_models(used: &ModelsUsed) {
    terminal::detail(&plain(&format!("models of your own: {used}")));
}

/// One line of the keys whose values nobody gave, as many as it holds.
fn guessed(loaded: &Loaded, width: usize) -> Option<String> {
    let keys: Vec<&str> = loaded.guesses().map(|stated| stated.key.as_str()).collect();
    let line = |shown: usize| {
        let more = match keys.len() - shown {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        format!(
            "guessed: {}{more} (see [guessed])",
            keys[..shown].join(", ")
        )
    };
    let fits = |shown: &usize| line(*shown).chars().count() <= width;
    let most = (1..=keys.len()).rev().find(fits).unwrap_or(1);
    (!keys.is_empty()).then(|| line(most))
}

/// Writes a result to stdout, without its colours where none are wanted. A closed pipe is no error.
pub fn print(text: &str) -> Result<(), Failure> {
    write_out(&plain_with_colours(text))
}

/// Writes the text of a file as it is; to a terminal, only what is harmless there.
pub fn print_file(text: &str) -> Result<(), Failure> {
    if io::stdout().is_terminal() {
        print(&text.replace("\r\n", "\n"))
    } else {
        write_out(text)
    }
}

fn write_out(text: &str) -> Result<(), Failure> {
    let mut out = anstream::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(Failure::Other(format!(
            "cannot write to standard output: {e}"
        ))),
        _ => Ok(()),
    }
}

/// `--integrator`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Integrator {
    /// The main one (a Rosenbrock method): stiff, error-controlled.
    Stiff,
    /// The cross-check (Dopri5).
    Explicit,
}

impl Integrator {
    /// Kind and options. The explicit cross-check runs at a tolerance far below the main one's, so
    /// that a difference is the main one's error.
    pub fn choose(self) -> (IntegratorKind, Options) {
        let main = Options::fine();
        let check = Options {
            tolerance: 1e-6,
            ..main
        };
        match self {
            Self::Stiff => (IntegratorKind::Rosenbrock, main),
            Self::Explicit => (IntegratorKind::Explicit, check),
        }
    }
}

/// Reads a time with its unit from an option.
pub fn time_s(option: &str, text: &str) -> Result<f64, Failure> {
    match quantity::parse(text, Quantity::Time) {
        Ok(t) if t > 0.0 => Ok(t),
        Ok(_) => Err(Failure::Usage(format!(
            "{option} {text:?}: it must be longer than nothing, for example \"10 min\""
        ))),
        Err(e) => Err(Failure::Usage(format!(
            "{option} {text:?}: {e}; {}",
            e.help(Quantity::Time, "min")
        ))),
    }
}

/// The format a plot's file name asks for.
pub fn plot_format(path: &Path) -> Result<Format, Failure> {
    Format::from_path(path).ok_or_else(|| {
        Failure::Usage(format!(
            "--plot {}: a plot is written as .svg or .png; end the file name with one of them",
            path.display()
        ))
    })
}

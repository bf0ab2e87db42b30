//! From a run file's text to a [`Loaded`] run: reads what was typed, has it completed and made into a run,
//! and the same for every variant.

use super::fetch::{Fetch, SeriesName, find_profile, find_series};
use super::guesses;
use super::logs::{self, LogFile};
use super::models::{Found, ModelsUsed};
use super::others::find_other;
use super::overlay::completed;
use super::readings;
use super::variants::{self, Variant};
use crate::catalogue::Catalogue;
use crate::keys::explain::{Stated, explain};
use crate::keys::fields::RUN_FILE;
use crate::keys::problem::{Problem, Problems, Source};
use crate::keys::reader::read_source;
use crate::keys::section::{Origin, Section};
use crate::plain::plain;
use crate::profile::Profile;
use crate::run::derive::notes::Notes;
use crate::run::derive::{Files, Other, derive};
use crate::run::inputs::Known;
use crate::run::{Inputs, Reading as Measured, Run};
use crate::weather::Series;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A valid run with what is known about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded {
    /// The run.
    pub run: Run,
    /// What it was made from, for studies that change it.
    pub inputs: Inputs,
    /// Hints about values that are legal but odd.
    pub warnings: Vec<Problem>,
    /// Every value of the run file's keys and where it came from, in the order of the keys.
    pub provenance: Vec<Stated>,
    /// The variants named under `[[compare]]`, in the order of the file.
    pub compare: Vec<Variant>,
    /// What was measured during the run, in the order of the file.
    pub readings: Vec<Measured>,
    /// The logs of the run that it names, in the order of the file; none of them has been read.
    pub logs: Vec<LogFile>,
    /// The files it was read from, those of the catalogue included; none for text that came with the program.
    pub files: Vec<PathBuf>,
    /// The weather series that it names, and how each was understood.
    pub series: Vec<Arc<Series>>,
    /// The folder of the user's own models that was used, if one was.
    pub models: Option<ModelsUsed>,
}

impl Loaded {
    /// The models that the run could choose from.
    ///
    /// # Errors
    /// When something is wrong with the user's folder, which is read anew.
    pub fn catalogue(&self) -> Result<Catalogue, Problems> {
        match &self.models {
            Some(used) => used.catalogue(),
            None => Ok(Catalogue::embedded()),
        }
    }

    /// The values that nobody gave.
    pub fn guesses(&self) -> impl Iterator<Item = &Stated> {
        self.provenance.iter().filter(|stated| stated.is_guess)
    }
}

/// Which models a run chooses from.
pub(super) enum Models<'a> {
    /// These.
    Given(&'a Catalogue),
    /// Those of the folder that is found when `run.models` says this.
    Found(&'a dyn Fn(Option<&str>) -> Option<ModelsUsed>),
}

pub(super) fn parse_with(
    text: &str,
    file_name: &str,
    fetch: Fetch<'_>,
    models: Models<'_>,
) -> Result<Loaded, Problems> {
    if text.trim().is_empty() {
        let problem = Problem::in_file(file_name, "this file is empty")
            .help("a run file has the tables [run], [machine], [material], [part] and [room]");
        return Err(problem.into());
    }
    let source = Source::new(file_name, text);
    let mut reading = Reading {
        file: file_name,
        text,
        catalogue: Catalogue::embedded(),
        fetch,
        problems: Vec::new(),
        series: Vec::new(),
        profiles: Vec::new(),
        others: Vec::new(),
    };
    let mut used = None;
    let made = reading.typed(&source).and_then(|mut typed| {
        used = reading.models(&typed, models)?;
        let named = variants::take(&mut typed);
        let guessed = guesses::take(&mut typed);
        let measured = readings::take(&mut typed);
        let logged = logs::take(&mut typed);
        let mut run = reading.run(typed.clone())?;
        guesses::mark(&guessed, &typed, &mut run.provenance);
        tell_models(used.as_ref(), &mut run.provenance);
        let measured = readings::made(measured, &run.run, &mut reading.notes());
        let logged = logs::named(logged, &mut reading.notes());
        let compare = reading.variants(&typed, named);
        Some((run, compare, measured, logged))
    });
    let files = reading.catalogue.files().map(Path::to_owned).collect();
    let series = reading.series.into_iter().map(|(_, series)| series);
    let (errors, hints): (Vec<_>, Vec<_>) =
        reading.problems.into_iter().partition(Problem::is_error);
    match made {
        Some((made, compare, readings, logs)) if errors.is_empty() => Ok(Loaded {
            run: made.run,
            inputs: made.inputs,
            warnings: Problems::new(hints).as_slice().to_vec(),
            provenance: made.provenance,
            compare,
            readings,
            logs,
            files,
            models: used,
            series: series.collect(),
        }),
        // Hints stay out of the way while there are errors to mend.
        _ if errors.is_empty() => Err(Problem::in_file(
            file_name,
            "this run could not be understood, and the program can't say why",
        )
        .help("please report this, with the run file")
        .into()),
        _ => Err(Problems::new(errors)),
    }
}

struct Made {
    run: Run,
    inputs: Inputs,
    provenance: Vec<Stated>,
}

/// Collects what is wrong while a file and its variants are read.
struct Reading<'a> {
    file: &'a str,
    text: &'a str,
    catalogue: Catalogue,
    fetch: Fetch<'a>,
    problems: Vec<Problem>,
    /// The weather read so far, each file once.
    series: Vec<(SeriesName, Arc<Series>)>,
    /// The tables of jobs read so far, each file once.
    profiles: Vec<(String, Arc<Profile>)>,
    /// The other runs of the room read so far, each file once.
    others: Vec<(String, Arc<Other>)>,
}

impl Reading<'_> {
    fn typed(&mut self, source: &Arc<Source>) -> Option<Section> {
        read_source(source, &RUN_FILE, Origin::Typed, &mut self.problems)
    }

    /// Takes the models that the run chooses from; `None` when something is wrong with them.
    fn models(&mut self, typed: &Section, models: Models<'_>) -> Option<Option<ModelsUsed>> {
        let run = typed.section("run");
        let find = match models {
            Models::Given(catalogue) => {
                self.catalogue = catalogue.clone();
                return Some(None);
            }
            Models::Found(find) => find,
        };
        let Some(used) = find(run.and_then(|run| run.text("models"))) else {
            return Some(None);
        };
        match used.catalogue() {
            Ok(catalogue) => {
                self.problems.extend_from_slice(catalogue.notes());
                self.catalogue = catalogue;
                Some(Some(used))
            }
            Err(problems) => {
                let mark = run.and_then(|run| run.mark_of("models"));
                for problem in problems.as_slice() {
                    // A folder that can't be used is best shown where it is named.
                    if problem.line.is_none() && used.found == Found::RunFile {
                        let message =
                            format!("`run.models`, {}: {}", problem.file, problem.message);
                        let help = problem.help.clone().unwrap_or_default();
                        self.notes().error(mark, message, help);
                    } else {
                        self.problems.push(problem.clone());
                    }
                }
                None
            }
        }
    }

    /// The runs of every `[[compare]]`. Mistakes of the run itself are shown first and alone.
    fn variants(&mut self, typed: &Section, named: Vec<Section>) -> Vec<Variant> {
        let mut made: Vec<Variant> = Vec::new();
        if self.problems.iter().any(Problem::is_error) {
            return made;
        }
        for mut changes in named {
            let header = changes.mark.clone();
            let Some((name, mark)) = variants::take_name(&mut changes) else {
                let help = "add a line name = \"cooler bed\"";
                let message = "this [[compare]] needs a `name`";
                self.notes().error(header.as_ref(), message, help);
                continue;
            };
            if made.iter().any(|v| v.name == name) {
                let message = format!("there are two [[compare]] of the name \"{name}\"");
                let help = "give each a name of its own";
                self.notes().error(mark.as_ref(), message, help);
                continue;
            }
            let known = self.problems.len();
            let run = self.run(variants::changed(typed, changes));
            variants::own_problems(&mut self.problems, known, &name);
            if let Some(Made { run, inputs, .. }) = run {
                made.push(Variant { name, run, inputs });
            }
        }
        made
    }

    fn run(&mut self, typed: Section) -> Option<Made> {
        let Self {
            file,
            catalogue,
            problems,
            ..
        } = self;
        let mut inputs = completed(typed, catalogue, &mut Notes { file, problems });
        let mut root = inputs.clone();
        // What may fail is asked about of the run itself: what a study makes of it may have no fan that could.
        inputs.remove(&["failure"]);
        let Self {
            file,
            text,
            catalogue,
            fetch,
            problems,
            series,
            profiles,
            others,
        } = self;
        let mut finder = Finder {
            text,
            catalogue,
            fetch: *fetch,
            series,
            profiles,
            others,
            found: Known::default(),
        };
        let run = derive(&mut root, &mut finder, &mut Notes { file, problems })?;
        let found = finder.found;
        drop_idle_defaults(&mut root);
        let mut provenance = Vec::new();
        explain(&root, "", &RUN_FILE, &mut provenance);
        Some(Made {
            run,
            inputs: Inputs::new(self.file, inputs, found),
            provenance,
        })
    }

    fn notes(&mut self) -> Notes<'_> {
        Notes {
            file: self.file,
            problems: &mut self.problems,
        }
    }
}

/// Says among the values of a run which folder of models was used.
fn tell_models(used: Option<&ModelsUsed>, stated: &mut Vec<Stated>) {
    let Some(used) = used.filter(|used| used.found != Found::RunFile) else {
        return;
    };
    let told = Stated {
        key: "run.models".to_owned(),
        value: plain(&used.folder.display().to_string()).into_owned(),
        value_us: None,
        moment: None,
        is_guess: false,
        origin: Origin::Derived(used.found.words()),
        place: None,
        doc: "Folder with models of your own.",
    };
    stated.retain(|stated| stated.key != told.key);
    let run = stated
        .iter()
        .take_while(|stated| stated.key.starts_with("run."))
        .count();
    stated.insert(run, told);
}

/// Finds the files of one run, and keeps what it found.
struct Finder<'a> {
    text: &'a str,
    catalogue: &'a Catalogue,
    fetch: Fetch<'a>,
    series: &'a mut Vec<(SeriesName, Arc<Series>)>,
    profiles: &'a mut Vec<(String, Arc<Profile>)>,
    others: &'a mut Vec<(String, Arc<Other>)>,
    found: Known,
}

impl Files for Finder<'_> {
    fn series(&mut self, room: &Section, notes: &mut Notes<'_>) -> Option<Arc<Series>> {
        self.found.series = find_series(room, self.fetch, self.series, notes);
        self.found.series.clone()
    }

    fn profile(&mut self, job: &Section, notes: &mut Notes<'_>) -> Option<Arc<Profile>> {
        self.found.profile = find_profile(job, self.fetch, self.profiles, notes);
        self.found.profile.clone()
    }

    fn other(&mut self, entry: &Section, notes: &mut Notes<'_>) -> Option<Arc<Other>> {
        let Self {
            text,
            catalogue,
            fetch,
            others,
            ..
        } = self;
        let other = find_other(entry, text, *fetch, catalogue, others, notes)?;
        let name = entry.text("run")?.to_owned();
        if !self.found.others.iter().any(|(known, _)| *known == name) {
            self.found.others.push((name, Arc::clone(&other)));
        }
        Some(other)
    }
}

/// Defaults of keys that have no part in this run would only puzzle whoever reads it explained.
fn drop_idle_defaults(root: &mut Section) {
    let mut drop = |table: &str, key: &str, is_used: &dyn Fn(&Section) -> bool| {
        if let Some(section) = root.section_mut(table)
            && !section.is_typed(key)
            && !is_used(section)
        {
            section.remove(&[key]);
        }
    };
    for key in ["heat_up", "soak", "cool_down"] {
        drop("job", key, &|job| !job.has("phase") && !job.has("profile"));
    }
    drop("room", "warmest_at", &|room| room.has("mean"));
}

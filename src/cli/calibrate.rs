//! `dogdays calibrate`.

use std::path::{Path, PathBuf};

use super::common::{Failure, Outcome, PlotSize, RunOptions, note, plot_format, print};
use super::logs::LogOptions;
use super::outputs::{Outputs, ReplaceOptions};
use super::plan;
use super::sheet::{self, SheetOptions};
use super::terminal::{self, Progress};
use crate::answer::calibrate::{Measured, nothing_measured, taken};
use crate::catalogue::{self, Catalogue};
use crate::keys::Origin;
use crate::output::calibrate as output;
use crate::output::ours::Kind;
use crate::output::sheet::calibrate::content;
use crate::run::{Known, Log, Run};
use crate::runfile::{self, Loaded};
use crate::study::calibrate::{CalibrateError, Watched, calibrate};

/// Options of `calibrate`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays calibrate my.toml --log evening.csv
  dogdays calibrate my.toml --log evening.csv --column \"T1 = feeder motor\" \\
      --column \"T4 = room\"
  dogdays calibrate my.toml --reading \"feeder motor = 49 degC at Wed 15:20\"
  dogdays calibrate my.toml --reading \"air top = 44 degC at 31 h within 2 K\" \\
      --write my-models/machines/my-machine.toml
  dogdays calibrate my.toml --plan

A reading says where, what the thermometer showed, when (by the clock or from
the start of the run) and how far off it may be; without \"within\", 1 K. Places
are called as in `dogdays check --verbose`. Readings may stand in the run file
too, as [[reading]] tables, and logs as [[log]] tables. The run file describes the
run during which they were taken: its room and its job as they really were.

A log is a table of local times and temperatures with a line that names the
columns, as a logger saves it. Columns whose headers name a place and a unit, such
as feeder motor_degC, need no more words; of others --column says what they hold.
Another run of the same machine, --and vented.toml with its own [[log]] or
[[reading]] tables, tells apart what one run does not.

Exit codes: 0 fitted, 2 wrong input or usage, 1 anything else.")]
pub struct CalibrateOptions {
    #[command(flatten)]
    run: RunOptions,
    #[command(flatten)]
    logs: LogOptions,
    /// What a thermometer showed: "feeder motor = 49 degC at 15:20 within 1 K"; may be repeated.
    #[arg(long, value_name = "READING")]
    reading: Vec<String>,
    /// Another run of the same machine, whose run file has `[[log]]` or `[[reading]]` tables; may be repeated.
    #[arg(long, value_name = "RUN")]
    and: Vec<PathBuf>,
    /// A value in doubt to fit, by its key; may be repeated. Without it, those that matter most to
    /// what was read, twelve at most.
    #[arg(long, value_name = "KEY")]
    parameter: Vec<String>,
    /// Write the machine with what was found to this file, .toml, which a run file names under `[machine]`.
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
    /// Say what to measure next: which thermometer, where, when and doing what, by what it would bring;
    /// readings and logs there are already count.
    #[arg(long, conflicts_with_all = ["and", "parameter", "write", "plot", "report", "force"])]
    plan: bool,
    /// Draw what was logged beside what the model says, before and now, .svg or .png.
    #[arg(long, value_name = "FILE")]
    plot: Option<PathBuf>,
    #[command(flatten)]
    size: PlotSize,
    /// One JSON object on standard output and nothing else.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    sheet: SheetOptions,
    #[command(flatten)]
    replace: ReplaceOptions,
}

/// Fits, prints what was found and writes the file asked for.
pub fn run(o: &CalibrateOptions) -> Result<Outcome, Failure> {
    let of_catalogue = o.write.as_deref().and_then(|path| {
        let name = path.file_stem()?.to_str()?;
        let embedded = Catalogue::embedded();
        embedded.get(catalogue::Kind::Machine, name).map(|_| name)
    });
    if let Some(name) = of_catalogue {
        return Err(Failure::Usage(format!(
            "--write: \"{name}\" is a machine of the catalogue, and runs that name it would get this one; choose a name of your own, such as my-{name}.toml"
        )));
    }
    if let Some(path) = &o.write
        && path.extension().is_none_or(|e| e != "toml")
    {
        return Err(Failure::Usage(format!(
            "--write {}: a machine is written as .toml; end the file name with it",
            path.display()
        )));
    }
    let format = o.plot.as_deref().map(plot_format).transpose()?;
    let loaded = o.run.load()?;
    if o.plan {
        let readings = taken(&loaded, &o.reading)?;
        let logs = o.logs.read(&loaded, &readings)?;
        let measured = Measured { readings, logs };
        return plan::run(&o.run, &loaded, &measured, o.json);
    }
    let others = others(o)?;
    let runs: Vec<&Run> = std::iter::once(&loaded)
        .chain(&others)
        .map(|loaded| &loaded.run)
        .collect();
    let of_others = others.iter().flat_map(|other| &other.files);
    let files = loaded.files.iter().chain(&o.logs.log).chain(of_others);
    let files: Vec<PathBuf> = files.cloned().collect();
    let run_files: Vec<&PathBuf> = o.run.run.iter().chain(&o.and).collect();
    let is_kept = |file: &&PathBuf| {
        run_files.contains(file) || runs.iter().any(|run| !is_another_machine(file, run))
    };
    let inputs: Vec<PathBuf> = files.iter().filter(is_kept).cloned().collect();
    let mut outputs = Outputs::new(&inputs, o.replace, o.json);
    let to = outputs.add("--write", o.write.as_deref(), Kind::RunFile)?;
    let plot = outputs.add("--plot", o.plot.as_deref(), Kind::Picture)?;
    let report = o.sheet.add(&mut outputs)?;
    let readings = taken(&loaded, &o.reading)?;
    let logs = o.logs.read(&loaded, &readings)?;
    let mut measured = vec![(readings, logs)];
    for other in &others {
        let none = LogOptions {
            log: Vec::new(),
            log_begins: None,
            column: Vec::new(),
        };
        let logs = none.read(other, &other.readings)?;
        measured.push((other.readings.clone(), logs));
    }
    if measured
        .iter()
        .all(|(readings, logs)| readings.is_empty() && logs.is_empty())
    {
        return Err(nothing_measured().into());
    }
    let has_thermometer = |logs: &[Log]| logs.iter().any(|log| !log.columns.is_empty());
    if plot.is_some() && !measured.iter().any(|(_, logs)| has_thermometer(logs)) {
        return Err(Failure::Usage(
            "--plot draws thermometers over time: give a log of some, --log evening.csv".to_owned(),
        ));
    }
    let progress = Progress::start(&format!("fitting {}", loaded.run.name), None);
    let each = std::iter::once(&loaded).chain(&others).zip(&measured);
    let watched: Vec<Watched<'_>> = each
        .map(|(loaded, (readings, logs))| Watched {
            inputs: &loaded.inputs,
            readings,
            logs,
        })
        .collect();
    let found = calibrate(&watched, &o.parameter)?;
    drop(progress);
    if to.is_some() && !found.is_trusted() {
        return Err(Failure::Usage(format!(
            "no machine is written: no likely values make the model fit what was measured ({} off); look at that first (without --write, what was found is shown)",
            output::off(&found, terminal::units()).1
        )));
    }
    if let Some(to) = &to {
        let known = found.known();
        let notes = output::notes(&runs, &found);
        let text = loaded.inputs.machine_file(&known, &notes);
        to.save_bytes("the machine", text.as_bytes())?;
        tell_use(&loaded, to.path(), &known);
        let stay: Vec<&str> = found
            .parameters
            .iter()
            .filter(|p| !p.is_the_machines())
            .map(|p| p.input.key())
            .collect();
        if !stay.is_empty() {
            note(&format!(
                "not in it, because they are this run's and not the machine's: {}",
                stay.join(", ")
            ));
        }
    }
    if let (Some(plot), Some(format)) = (&plot, format) {
        let system = terminal::units();
        let bytes = output::draw_logs(&runs, &found, format, o.size.plot_size, system)
            .map_err(|e| Failure::Other(e.to_string()))?;
        plot.save_bytes("the plot", &bytes)?;
    }
    if let Some(report) = &report {
        sheet::save(
            report,
            content(&loaded, &runs, &found, terminal::units()),
            &files,
        )?;
    }
    if o.json {
        print(&format!("{:#}\n", output::json(&runs, &found)))?;
    } else if terminal::is_quiet() {
        print(&output::sentence(&found, terminal::screen()))?;
    } else {
        let is_verbose = terminal::is_verbose();
        print(&output::text(&runs, &found, is_verbose, terminal::screen()))?;
    }
    Ok(Outcome { exit_code: 0 })
}

/// Whether a file beside the run files is a machine of a folder of models that this run does not use: it is read with
/// the others, and may be written anew.
fn is_another_machine(file: &Path, run: &Run) -> bool {
    let folder = file.parent().and_then(Path::file_name);
    let name = file.file_stem().and_then(|stem| stem.to_str());
    folder.is_some_and(|folder| folder == "machines")
        && file.extension().is_some_and(|e| e == "toml")
        && name != Some(run.machine.name.as_str())
}

/// The other runs of the machine, each with what was measured in it.
fn others(o: &CalibrateOptions) -> Result<Vec<Loaded>, Failure> {
    let mut others = Vec::new();
    for path in &o.and {
        terminal::detail(&format!("reading {}", path.display()));
        let folders = o.run.models.folders();
        let other = runfile::load_with(path, &folders).map_err(Failure::Input)?;
        if other.readings.is_empty() && other.logs.is_empty() {
            return Err(Failure::Usage(format!(
                "--and {}: nothing was measured in this run: its run file needs [[log]] or [[reading]] tables",
                path.display()
            )));
        }
        others.push(other);
    }
    Ok(others)
}

/// How the file is used, and what stands in its way.
fn tell_use(loaded: &Loaded, path: &Path, known: &[Known]) {
    let name = path.file_stem().map(|stem| stem.to_string_lossy());
    note(&format!(
        "to use it: name = \"{}\" under [machine] in the run file, the file in my-models/machines beside it",
        name.unwrap_or_default()
    ));
    let typed: Vec<&str> = loaded
        .provenance
        .iter()
        .filter(|stated| stated.origin == Origin::Typed)
        .map(|stated| stated.key.as_str())
        .filter(|key| known.iter().any(|k| k.input.key() == *key))
        .collect();
    if !typed.is_empty() {
        note(&format!(
            "take {} out of the run file then: what stands there counts before the machine's file",
            typed.join(", ")
        ));
    }
}

impl From<CalibrateError> for Failure {
    fn from(e: CalibrateError) -> Self {
        match e {
            CalibrateError::Study(e) => e.into(),
            e => Self::Usage(e.to_string()),
        }
    }
}

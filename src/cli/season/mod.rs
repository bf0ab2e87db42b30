//! `dogdays season`.

mod describe;
mod state;
pub mod weather;

use std::io;
use std::path::PathBuf;

use super::common::{
    Failure, Outcome, PlotSize, RunOptions, note_failures, plot_format, print, time_s,
};
use super::outputs::{Outputs, ReplaceOptions};
use super::sheet::{self, SheetOptions};
use super::terminal::{self, Progress};
use crate::answer::compare::own_and_named;
use crate::answer::season::{Asked, Weather, moment};
use crate::output::ours::Kind;
use crate::output::season as output;
use crate::output::sheet::season as page;
use crate::study::Verdict;
use state::{Fingerprint, State};

/// Options of `season`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays season my.toml --weather 2025.csv           every hour of a year
  dogdays season my.toml --from \"2026-07-13 18:00\"    the next safe starts
  dogdays season my.toml --weather 2025.csv --least-flow
  dogdays season my.toml --weather years/             many years: how often?
  dogdays season my.toml --weather 2025.csv --csv starts.csv
  dogdays season my.toml --weather 2025.csv --plot summer.svg   for the wall
  dogdays season my.toml --weather 2025.csv --report my.html    for the shop's file
  dogdays season --describe 2025.csv                  what is in a weather file

The arrangements of the run file's [[compare]] tables are asked about too.

The exit code is that of the worst start of the run as it is: 0 all hold, 10 one
is tight, 20 one softens, 30 one cannot run; 2 wrong input or usage, 1 anything
else.")]
pub struct SeasonOptions {
    #[command(flatten)]
    run: RunOptions,
    /// The weather: a file, several, or a folder, each a series as `[room]` takes one. Without it, the run file's
    /// own series.
    #[arg(long, value_name = "FILE", num_args = 1..)]
    weather: Vec<PathBuf>,
    #[command(flatten)]
    reading: weather::ReadingOptions,
    /// Only say what these weather files hold: span, extremes, hottest week, gaps, a chart of the months.
    /// A folder stands for the weather files in it.
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with_all = ["run", "weather", "csv", "plot", "report", "from", "least_flow", "resume"])]
    describe: Vec<PathBuf>,
    /// Say which starts hold from this moment on.
    #[arg(long, value_name = "TIME")]
    from: Option<String>,
    /// Time between starts.
    #[arg(long, value_name = "TIME", default_value = "1 h")]
    starts: String,
    /// Find the least extraction flow that makes every start hold, and what smaller flows are worth: some six times
    /// the work.
    #[arg(long)]
    least_flow: bool,
    /// One JSON object on standard output and nothing else.
    #[arg(long)]
    json: bool,
    /// Write every start to this CSV file.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Draw a calendar to this file, .svg or .png: days, hours of the day, margins as colours; one for each
    /// arrangement.
    #[arg(long, value_name = "FILE")]
    plot: Option<PathBuf>,
    #[command(flatten)]
    size: PlotSize,
    /// Keep what is done in this file, and go on from there after an interruption.
    #[arg(long, value_name = "FILE")]
    resume: Option<PathBuf>,
    #[command(flatten)]
    sheet: SheetOptions,
    #[command(flatten)]
    replace: ReplaceOptions,
}

/// Runs the season, prints the answer and writes the files asked for.
pub fn run(o: &SeasonOptions) -> Result<Outcome, Failure> {
    if !o.describe.is_empty() {
        return describe::run(&o.describe, &o.reading, o.json);
    }
    let every_s = time_s("--starts", &o.starts)?;
    let from = o.from.as_deref();
    let from = from.map(|text| moment("--from", text)).transpose()?;
    let format = o.plot.as_deref().map(plot_format).transpose()?;
    let mut loaded = o.run.load()?;
    note_failures(&loaded);
    let candidates = own_and_named(&loaded);
    let weathers = if o.weather.is_empty() {
        vec![Weather::own()]
    } else {
        let years = weather::years(&o.weather, &o.reading)?;
        loaded
            .files
            .extend(years.series.iter().map(|y| y.path.clone()));
        let named = years.series.into_iter().map(|y| Weather {
            name: y.name,
            series: Some(y.series),
        });
        named.collect()
    };
    let mut outputs = Outputs::new(&loaded.files, o.replace, o.json);
    let csv = outputs.add("--csv", o.csv.as_deref(), Kind::Table)?;
    let plot = outputs.add("--plot", o.plot.as_deref(), Kind::Picture)?;
    let report = o.sheet.add(&mut outputs)?;
    let resume = outputs.add("--resume", o.resume.as_deref(), Kind::SeasonState)?;
    let state = match &resume {
        Some(file) => {
            let mut fingerprint = Fingerprint::new();
            fingerprint.add(&every_s.to_le_bytes());
            fingerprint.add(format!("{:?}", o.reading).as_bytes());
            loaded.files.iter().for_each(|f| fingerprint.add_file(f));
            State::open(file.path(), &fingerprint)?
        }
        None => State::none(),
    };
    let asked = Asked {
        candidates: &candidates,
        weathers: &weathers,
        every_s,
    };
    let total = asked.starts()?;
    let progress = Progress::start(&format!("season of {}", loaded.run.name), Some(total));
    let many = asked.is_of_years();
    if many && (o.from.is_some() || o.least_flow || plot.is_some()) {
        return Err(Failure::Usage(
            "--from, --least-flow and --plot are for one weather file: name one with --weather"
                .to_owned(),
        ));
    }
    let mut found = asked.nothing_found(&loaded.run);
    let kept = |weather, arrangement| state.of(weather, arrangement);
    let count = |more| progress.advance(more);
    match &csv {
        Some(csv) => {
            let mut failed = None;
            let saved = csv.save("the starts", |to| {
                let mut rows = output::Rows::begin(to)?;
                let done = asked.run(kept, &count, |weather, season| {
                    rows.add(&weather.name, &season)
                        .map_err(|e| Failure::Usage(format!("--csv: {e}")))?;
                    found.add(weather, season);
                    Ok::<(), Failure>(())
                });
                done.map_err(|e| {
                    failed = Some(e);
                    io::Error::other("the season was not finished")
                })
            });
            if let Some(failed) = failed {
                return Err(failed);
            }
            saved?;
        }
        None => asked.run(kept, &count, |weather, season| {
            found.add(weather, season);
            Ok::<(), Failure>(())
        })?,
    }
    let extraction = o.least_flow.then(|| asked.least_flow()).transpose()?;
    drop(progress);
    let is_typical_year = found.is_typical_year;
    let weather = &weathers[0];
    let titled = output::Titled {
        run: &loaded.run,
        weather: weather
            .series
            .as_ref()
            .map_or("the run file", |_| &weather.name),
        station: weather.series.as_ref().and_then(|s| s.station()),
        is_typical_year,
    };
    if let (Some(plot), Some(format)) = (&plot, format) {
        let size = o.size.plot_size;
        let bytes = output::draw(&found.seasons, &titled, format, size, terminal::units())
            .map_err(|e| Failure::Other(e.to_string()))?;
        plot.save_bytes("the plot", &bytes)?;
    }
    let told = output::Told {
        run: &loaded.run,
        from: from.map(|at| found.from(at)),
        is_typical_year,
        extraction: extraction.as_ref(),
        verbose: terminal::is_verbose(),
    };
    let screen = terminal::screen();
    let (seasons, years) = (&found.seasons, &found.years);
    if let Some(report) = &report {
        let content = match many {
            true => page::years(&loaded, years, found.required_K, screen.system),
            false => page::content(&loaded, seasons, &titled, &told, screen.system),
        };
        sheet::save(report, content, &loaded.files)?;
    }
    let text = match (o.json, many) {
        (true, _) => format!("{:#}\n", found.json(&told)),
        (false, false) if terminal::is_quiet() => seasons
            .iter()
            .map(|s| format!("{}\n", output::answer(s, screen.system)))
            .collect(),
        (false, true) if terminal::is_quiet() => years
            .iter()
            .map(|y| {
                format!(
                    "{}\n",
                    output::years_answer(y, found.required_K, screen.system)
                )
            })
            .collect(),
        (false, false) => output::text(seasons, &told, screen),
        (false, true) => output::years_text(years, found.required_K, &told, screen),
    };
    print(&text)?;
    Ok(Outcome {
        exit_code: found.counts().worst().map_or(0, Verdict::exit_code),
    })
}

//! `dogdays season`.

mod describe;
mod weather;

use std::path::PathBuf;

use super::common::{Failure, Outcome, RunOptions, print, time_s};
use super::outputs::{Outputs, ReplaceOptions};
use super::terminal::{self, Progress};
use crate::integrate::Options;
use crate::output::ours::Kind;
use crate::output::season as output;
use crate::study::Verdict;
use crate::study::compare::{Candidate, own};
use crate::study::season::{Moments, season};

/// Options of `season`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays season my.toml --weather 2025.csv           every hour of a year
  dogdays season my.toml --weather 2025.csv --json    the same for other programs
  dogdays season my.toml --weather 2025.csv --csv starts.csv
  dogdays season --describe 2025.csv                  what is in a weather file

The exit code is that of the worst start: 0 all hold, 10 one is tight, 20 one
softens, 30 one cannot run; 2 wrong input or usage, 1 anything else.")]
pub struct SeasonOptions {
    #[command(flatten)]
    run: RunOptions,
    /// The weather of the season, hourly, as [room] takes a series; without it, the run file's own series.
    #[arg(long, value_name = "FILE")]
    weather: Option<PathBuf>,
    #[command(flatten)]
    reading: weather::ReadingOptions,
    /// Only say what these weather files hold: span, extremes, hottest week, gaps, a chart of the months.
    /// A folder stands for the weather files in it.
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with_all = ["run", "weather", "csv"])]
    describe: Vec<PathBuf>,
    /// Time between starts.
    #[arg(long, value_name = "TIME", default_value = "1 h")]
    starts: String,
    /// One JSON object on standard output and nothing else.
    #[arg(long)]
    json: bool,
    /// Write every start to this CSV file.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    #[command(flatten)]
    replace: ReplaceOptions,
}

/// Runs the season, prints the answer and writes the files asked for.
pub fn run(o: &SeasonOptions) -> Result<Outcome, Failure> {
    if !o.describe.is_empty() {
        return describe::run(&o.describe, &o.reading, o.json);
    }
    let every_s = time_s("--starts", &o.starts)?;
    let mut loaded = o.run.load()?;
    let mut candidates = vec![own(&loaded.run, &loaded.inputs)];
    candidates.extend(loaded.compare.iter().map(|v| Candidate {
        name: v.name.clone(),
        inputs: v.inputs.clone(),
    }));
    if let Some(path) = &o.weather {
        let series = weather::read(path, &o.reading)?;
        for candidate in &mut candidates {
            candidate.inputs.take_series(&series);
        }
        loaded.files.push(path.clone());
    }
    let mut outputs = Outputs::new(&loaded.files, o.replace, o.json);
    let csv = outputs.add("--csv", o.csv.as_deref(), Kind::Table)?;
    let moments = Moments::of(&candidates[0].inputs, every_s).ok_or_else(|| {
        Failure::Usage(
            "this run's weather is no series: name the season's with --weather FILE, a CSV file with the columns time,temperature_degC"
                .to_owned(),
        )
    })?;
    if moments.count == 0 {
        return Err(Failure::Usage(
            "the job takes longer than the weather lasts, so that no start is possible: name a longer series with --weather FILE"
                .to_owned(),
        ));
    }
    let all = moments.count * candidates.len();
    let progress = Progress::start(&format!("season of {}", loaded.run.name), Some(all));
    let seasons = candidates
        .iter()
        .map(|c| season(c, &moments, &Options::default(), &|| progress.advance()))
        .collect::<Result<Vec<_>, _>>()?;
    drop(progress);
    if let Some(csv) = &csv {
        csv.save("the starts", |to| output::csv(&seasons, to))?;
    }
    if o.json {
        print(&format!("{:#}\n", output::json(&loaded.run, &seasons)))?;
    } else {
        print(&output::text(&loaded.run, &seasons, terminal::screen()))?;
    }
    let worst = seasons[0].counts().worst();
    Ok(Outcome {
        exit_code: worst.map_or(0, Verdict::exit_code),
    })
}

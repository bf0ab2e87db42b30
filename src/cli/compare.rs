//! `dogdays compare`.

use std::path::PathBuf;

use super::common::{Failure, Outcome, PlotSize, RunOptions, note_failures, print};
use super::outputs::{Outputs, ReplaceOptions};
use super::sheet::{self, SheetOptions};
use super::sure::BandOptions;
use super::terminal::{self, Progress};
use crate::answer::compare::candidates;
use crate::integrate::Options;
use crate::output::ours::Kind;
use crate::output::sheet::compare::content;
use crate::output::{compare, compare_picture};
use crate::study::compare::compare as run_all;

/// Options of `compare`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays compare                              the built-in demo
  dogdays compare my.toml --plot compare.svg   a table and a picture
  dogdays compare my.toml --csv compare.csv    the table for a spreadsheet
  dogdays compare my.toml --report my.html     a page for the shop's file

With [[compare]] tables in the run file, each a name and any keys with other
values, those are compared; without, the usual arrangements: closed, lid off,
door open, extracting, blowing in, recirculating. The first row is the run as it
is, and the exit code is its verdict's.

Exit codes: 0 holds, 10 tight, 20 softens, 30 cannot run, 2 wrong input or
usage, 1 anything else.")]
pub struct CompareOptions {
    #[command(flatten)]
    run: RunOptions,
    /// One JSON object on standard output and nothing else.
    #[arg(long)]
    json: bool,
    /// Write the table to this CSV file.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Draw the hottest filament of every arrangement to this file, .svg or .png.
    #[arg(long, value_name = "FILE")]
    plot: Option<PathBuf>,
    #[command(flatten)]
    size: PlotSize,
    #[command(flatten)]
    band: BandOptions,
    #[command(flatten)]
    sheet: SheetOptions,
    #[command(flatten)]
    replace: ReplaceOptions,
}

/// Compares arrangements, prints the table and writes the files asked for.
pub fn run(o: &CompareOptions) -> Result<Outcome, Failure> {
    let format = o
        .plot
        .as_deref()
        .map(super::common::plot_format)
        .transpose()?;
    let loaded = o.run.load()?;
    note_failures(&loaded);
    let mut outputs = Outputs::new(&loaded.files, o.replace, o.json);
    let csv = outputs.add("--csv", o.csv.as_deref(), Kind::Table)?;
    let plot = outputs.add("--plot", o.plot.as_deref(), Kind::Picture)?;
    let report = o.sheet.add(&mut outputs)?;
    let system = terminal::units();
    let options = Options::default();
    let progress = Progress::start(&format!("comparing {}", loaded.run.name), None);
    let (candidates, setting) = candidates(&loaded, &options)?;
    let rows = run_all(candidates, o.band.sampling(), &options)?;
    drop(progress);
    if let Some(csv) = &csv {
        let bytes = compare::csv(&rows).map_err(|e| Failure::Other(e.to_string()))?;
        csv.save_bytes("the table", &bytes)?;
    }
    if let (Some(plot), Some(format)) = (&plot, format) {
        let bytes = compare_picture::draw(&rows, format, o.size.plot_size, system)
            .map_err(|e| Failure::Other(e.to_string()))?;
        plot.save_bytes("the plot", &bytes)?;
    }
    if let Some(report) = &report {
        let content = content(&loaded, &rows, setting, system);
        sheet::save(report, content, &loaded.files)?;
    }
    if o.json {
        print(&format!("{:#}\n", compare::json(&rows, setting)))?;
    } else if terminal::is_quiet() {
        print(&compare::answer(&rows, terminal::screen()))?;
    } else {
        print(&compare::text(&rows, setting, terminal::screen()))?;
    }
    let first = rows
        .first()
        .ok_or_else(|| Failure::Other("there is no run to compare".to_owned()))?;
    Ok(Outcome {
        exit_code: first.findings.outcome.verdict.exit_code(),
    })
}

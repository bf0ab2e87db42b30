//! `dogdays compare`.

use std::path::PathBuf;

use super::common::{Failure, Outcome, RunOptions, note, print, save};
use crate::integrate::Options;
use crate::output::chart::{Size, Units};
use crate::output::{compare, compare_picture};
use crate::study::compare::{Candidate, compare as run_all, own, usual};

/// Options of `compare`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "The first row is the run as it is, and the exit code is its verdict's.\nWith [[compare]] tables in the run file, each a name and any keys with other values, those are compared; without, the usual arrangements: closed, lid off, door open, extracting, blowing in, recirculating."
)]
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
}

/// Compares arrangements, prints the table and writes the files asked for.
pub fn run(o: &CompareOptions) -> Result<Outcome, Failure> {
    let format = o
        .plot
        .as_deref()
        .map(super::common::plot_format)
        .transpose()?;
    let loaded = o.run.load()?;
    let (candidates, setting) = if loaded.compare.is_empty() {
        let usual = usual(&loaded.run);
        let flow = usual.is_flow_assumed.then_some(usual.flow_m3_per_s);
        let setting = compare::Setting {
            assumed_flow_m3_per_s: flow,
        };
        (usual.candidates, setting)
    } else {
        let named = loaded.compare.into_iter().map(|v| Candidate {
            name: v.name,
            run: v.run,
        });
        let candidates = std::iter::once(own(&loaded.run)).chain(named).collect();
        let setting = compare::Setting {
            assumed_flow_m3_per_s: None,
        };
        (candidates, setting)
    };
    let rows = run_all(candidates, &Options::default())?;
    if let Some(path) = &o.csv {
        let bytes = compare::csv(&rows).map_err(|e| Failure::Other(e.to_string()))?;
        save(path, &bytes, "the table")?;
    }
    if let (Some(path), Some(format)) = (&o.plot, format) {
        let bytes = compare_picture::draw(&rows, format, Size::default(), Units::Si)
            .map_err(|e| Failure::Other(e.to_string()))?;
        save(path, &bytes, "the plot")?;
    }
    if o.json {
        print(&format!("{:#}\n", compare::json(&rows, setting)))?;
    } else {
        print(&compare::text(&rows, setting))?;
    }
    let first = rows.first().ok_or_else(|| {
        note("nothing was compared");
        Failure::Other("there is no run to compare".to_owned())
    })?;
    Ok(Outcome {
        exit_code: first.findings.outcome.verdict.exit_code(),
    })
}

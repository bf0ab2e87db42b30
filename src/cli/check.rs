//! `dogdays check`.

use std::path::PathBuf;

use super::common::{Failure, Integrator, Outcome, RunOptions, print, save};
use crate::integrate::Options;
use crate::output::chart::{Size, Units};
use crate::output::{json, remedies, report, run_picture, table};
use crate::runfile;
use crate::study::{self, Verdict};

/// Options of `check`.
#[derive(Debug, clap::Args)]
pub struct CheckOptions {
    #[command(flatten)]
    run: RunOptions,
    /// One JSON object on standard output and nothing else.
    #[arg(long)]
    json: bool,
    /// Write every node and station over time to this CSV file.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Time between rows of the CSV, with its unit.
    #[arg(long, value_name = "TIME", default_value = "10 min")]
    every: String,
    /// Draw the run to this file, .svg or .png.
    #[arg(long, value_name = "FILE")]
    plot: Option<PathBuf>,
    /// Name what would make it hold, also when it holds already; without this, only when it does not.
    #[arg(long)]
    remedies: bool,
    /// Which integrator to use; the explicit ones are slow and serve as cross-check.
    #[arg(long, value_enum, default_value_t = Integrator::Stiff)]
    integrator: Integrator,
}

/// Checks a run, prints the findings and writes the files asked for.
pub fn run(o: &CheckOptions) -> Result<Outcome, Failure> {
    let every_s = super::common::time_s("--every", &o.every)?;
    let format = o
        .plot
        .as_deref()
        .map(super::common::plot_format)
        .transpose()?;
    let loaded = o.run.load()?;
    let (integrator, options) = o.integrator.choose();
    let findings = study::check(&loaded.run, integrator, &options)?;
    if let Some(path) = &o.csv {
        let bytes = table::check(&loaded.run, &findings.simulation, every_s)
            .map_err(|e| Failure::Other(e.to_string()))?;
        save(path, &bytes, "the table")?;
    }
    if let (Some(path), Some(format)) = (&o.plot, format) {
        let bytes =
            run_picture::draw_run(&loaded.run, &findings, format, Size::default(), Units::Si)
                .map_err(|e| Failure::Other(e.to_string()))?;
        save(path, &bytes, "the plot")?;
    }
    let remedies = if o.remedies || findings.outcome.verdict != Verdict::Holds {
        let materials = runfile::materials(&o.run.catalogue()?);
        let found = study::remedies::remedies(&loaded.run, &materials, &Options::default())?;
        Some(found)
    } else {
        None
    };
    if o.json {
        let mut value = json::check(&loaded.run, &findings);
        if let Some(r) = &remedies {
            value["remedies"] = remedies::json(&loaded.run, r);
        }
        print(&format!("{value:#}\n"))?;
    } else {
        let mut text = report::check(&loaded.run, &findings);
        if let Some(r) = &remedies {
            text.push('\n');
            text.push_str(&remedies::text(&loaded.run, r));
        }
        print(&text)?;
    }
    Ok(Outcome {
        exit_code: findings.outcome.verdict.exit_code(),
    })
}

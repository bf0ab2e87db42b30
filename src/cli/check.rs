//! `dogdays check`.

use std::path::PathBuf;
use std::time::Instant;

use super::common::{Failure, Integrator, Outcome, PlotSize, RunOptions, print};
use super::outputs::{Outputs, ReplaceOptions};
use super::sheet::{self, SheetOptions};
use super::sure::BandOptions;
use super::terminal::{self, Progress};
use crate::answer::check::{self as answer, Check};
use crate::chamber::StationKind;
use crate::output::ours::Kind;
use crate::output::sensitivity as output_sensitivity;
use crate::output::sheet::check::content;
use crate::output::{brief, explain, network, remedies, report, run_picture, table};
use crate::runfile::Loaded;
use crate::study::Verdict;
use crate::study::band::Sampling;
use crate::study::sensitivity::{MOST_SETS, Sensitivity, sensitivity};

/// Options of `check`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays check                        the built-in demo
  dogdays check my.toml --plot my.svg  a verdict and a picture
  dogdays check my.toml --report my.html  a page for the shop's file
  dogdays check my.toml --explain      with every value and where it came from
  dogdays check my.toml --sensitivity  what makes it doubtful, what to measure
  dogdays check my.toml --json         for programs
  dogdays check my.toml --csv my.csv --every \"5 min\"

With [[failure]] tables in the run file it also says how much time is left when
the fan, the air conditioner or the power fails.

Exit codes: 0 holds, 10 tight, 20 softens, 30 cannot run, 2 wrong input or
usage, 1 anything else. They are those of the run with everything working.")]
pub struct CheckOptions {
    #[command(flatten)]
    run: RunOptions,
    /// One JSON object on standard output and nothing else.
    #[arg(long)]
    json: bool,
    /// Add the run as understood: each value and where it came from, and what the model chose.
    #[arg(long)]
    explain: bool,
    /// Write every node and station over time to this CSV file.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Time between rows of the CSV, with its unit.
    #[arg(long, value_name = "TIME", default_value = "10 min")]
    every: String,
    /// Write the network to this JSON file: nodes, links with their laws, sources and schedule.
    #[arg(long, value_name = "FILE")]
    export_network: Option<PathBuf>,
    /// Draw the run to this file, .svg or .png.
    #[arg(long, value_name = "FILE")]
    plot: Option<PathBuf>,
    #[command(flatten)]
    size: PlotSize,
    #[command(flatten)]
    sheet: SheetOptions,
    #[command(flatten)]
    band: BandOptions,
    #[command(flatten)]
    replace: ReplaceOptions,
    /// Name what would make it hold, also when it holds already; without this, only when it does not.
    #[arg(long)]
    remedies: bool,
    /// Say which of the values in doubt matter, and what is worth measuring: some 5,000 runs.
    #[arg(long, conflicts_with = "no_band")]
    sensitivity: bool,
    /// Which integrator to use; the explicit one is slow and serves as cross-check.
    #[arg(long, value_enum, default_value_t = Integrator::Stiff)]
    integrator: Integrator,
}

/// Checks a run, prints the findings and writes the files asked for.
pub fn run(o: &CheckOptions) -> Result<Outcome, Failure> {
    let every_s = every_s(&o.every)?;
    let format = o
        .plot
        .as_deref()
        .map(super::common::plot_format)
        .transpose()?;
    let loaded = o.run.load()?;
    let mut outputs = Outputs::new(&loaded.files, o.replace, o.json);
    let csv = outputs.add("--csv", o.csv.as_deref(), Kind::Table)?;
    let exported = outputs.add(
        "--export-network",
        o.export_network.as_deref(),
        Kind::Network,
    )?;
    let plot = outputs.add("--plot", o.plot.as_deref(), Kind::Picture)?;
    let report = o.sheet.add(&mut outputs)?;
    let (integrator, options) = o.integrator.choose();
    let begin = Instant::now();
    let progress = Progress::start(&format!("computing {}", loaded.run.name), None);
    let findings = answer::findings(&loaded, integrator, &options, o.band.sampling())?;
    let mut check = Check::of(findings);
    let findings = &check.findings;
    drop(progress);
    terminal::detail(&format!(
        "{}: {} steps, {} rejected, {:.2} s",
        integrator.name(),
        findings.effort.steps,
        findings.effort.rejected,
        begin.elapsed().as_secs_f64()
    ));
    let system = terminal::units();
    if let Some(csv) = &csv {
        csv.save("the table", |to| {
            table::check(&loaded.run, &findings.simulation, every_s, to)
        })?;
    }
    if let Some(exported) = &exported {
        let description = findings.simulation.chamber.describe();
        let bytes = network::network(&loaded.run, &description)
            .map_err(|e| Failure::Other(e.to_string()))?;
        exported.save_bytes("the network", &bytes)?;
    }
    if let (Some(plot), Some(format)) = (&plot, format) {
        let bytes = run_picture::draw_run(&loaded.run, findings, format, o.size.plot_size, system)
            .map_err(|e| Failure::Other(e.to_string()))?;
        plot.save_bytes("the plot", &bytes)?;
    }
    if o.remedies || findings.outcome.verdict != Verdict::Holds {
        check.remedies = Some(answer::remedies(&loaded, o.band.sampling())?);
    }
    if let Some(report) = &report {
        let content = content(&loaded, &check.findings, check.remedies.as_ref(), system);
        sheet::save(report, content, &loaded.files)?;
    }
    if let (true, Some(sampling)) = (o.sensitivity, o.band.sampling()) {
        let station = check.findings.outcome.station;
        check.sensitivity = Some(sensitive(&loaded, station, sampling));
    }
    if o.explain {
        check.explain();
    }
    let Check {
        findings,
        remedies,
        sensitivity,
        choices,
    } = &check;
    if o.json {
        print(&format!("{:#}\n", check.json(&loaded)))?;
    } else {
        let verdict = findings.outcome.verdict;
        let screen = terminal::screen();
        let sentence = || report::verdict_sentence_in(&loaded.run, findings, system);
        let all = remedies.as_ref().map(|r| {
            let text = remedies::text(&loaded.run, r, screen);
            format!("\n{text}")
        });
        let all = all.unwrap_or_default();
        let mut text = if terminal::is_quiet() {
            let asked = if o.remedies { all } else { String::new() };
            format!("{}\n{asked}", sentence())
        } else if terminal::is_verbose() {
            report::check(&loaded.run, findings, screen) + &all
        } else {
            brief::check(&loaded.run, findings, remedies.as_ref(), screen)
        };
        if let Some(s) = sensitivity {
            text.push('\n');
            text.push_str(&output_sensitivity::text(s, screen));
        }
        if let Some(choices) = choices {
            text.push('\n');
            text.push_str(&explain::text(
                &loaded,
                findings,
                choices,
                options.tolerance,
                screen,
            ));
        }
        print(&terminal::paint_verdict(&text, verdict))?;
    }
    Ok(Outcome {
        exit_code: findings.outcome.verdict.exit_code(),
    })
}

fn sensitive(loaded: &Loaded, station: StationKind, sampling: Sampling) -> Sensitivity {
    let what = format!("varying what is in doubt of {}", loaded.run.name);
    let progress = Progress::start(&what, Some(MOST_SETS));
    sensitivity(&loaded.inputs, station, sampling, &|| progress.advance(1))
}

/// Rows of a table are told apart by whole seconds.
fn every_s(text: &str) -> Result<f64, Failure> {
    let every_s = super::common::time_s("--every", text)?;
    if every_s < table::SHORTEST_STEP_S {
        return Err(Failure::Usage(format!(
            "--every {text:?}: the table counts whole seconds; write \"1 s\" or more"
        )));
    }
    Ok(every_s)
}

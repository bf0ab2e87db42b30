//! `dogdays size-fan`.

use std::path::PathBuf;

use super::common::{Failure, Outcome, PlotSize, RunOptions, note_failures, print};
use super::outputs::{Outputs, ReplaceOptions};
use super::sheet::{self, SheetOptions};
use super::sure::BandOptions;
use super::terminal::{self, Progress};
use crate::answer::size_fan::{curve_files, fans};
use crate::integrate::Options;
use crate::output::ours::Kind;
use crate::output::sheet::size_fan::content;
use crate::output::size_fan as output;
use crate::study::size_fan::size_fan;

/// Options of `size-fan`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays size-fan                              the built-in demo, every fan known
  dogdays size-fan my.toml --plot fans.svg      margin over flow, pressures, fan curves
  dogdays size-fan my.toml --report my.html     a page for the shop's file
  dogdays size-fan my.toml --fan axial-80       one fan of the catalogue
  dogdays size-fan my.toml --fan measured.csv   a curve of your own

A curve file has the columns flow_m3_per_h,pressure_Pa from still air to the
fan blowing freely, and in any row what else is known of the fan: power_W,
size_mm, air_max_degC, sound_dBA, life_h, life_at_degC, settable, flap, supply.

Exit codes: 0 no fan is needed, or the one to take holds with a loaded filter and
as surely as the run requires (with --no-band: with a quarter more flow than is
needed); 10 a fan holds by the best estimate only, or only with a clean filter,
or what holds makes the chamber too cool; 20 none looked at holds, or no flow
does; 30 no flow at which the heaters hold their setpoints; 2 wrong input or
usage, 1 anything else.")]
pub struct SizeFanOptions {
    #[command(flatten)]
    run: RunOptions,
    /// A fan of the catalogue, or a CSV file of your own; may be repeated.
    /// Without it, every fan of the catalogue.
    #[arg(long, value_name = "NAME|CSV")]
    fan: Vec<String>,
    /// One JSON object on standard output and nothing else.
    #[arg(long)]
    json: bool,
    /// Write the table of fans to this CSV file.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Draw margin over flow, pressures and fan curves to this file, .svg or .png.
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

/// Sizes the fan, prints the answer and writes the files asked for.
pub fn run(o: &SizeFanOptions) -> Result<Outcome, Failure> {
    let format = o
        .plot
        .as_deref()
        .map(super::common::plot_format)
        .transpose()?;
    let mut loaded = o.run.load()?;
    note_failures(&loaded);
    let fans = fans(&loaded, &o.fan)?;
    loaded.files.extend(curve_files(&o.fan));
    let mut outputs = Outputs::new(&loaded.files, o.replace, o.json);
    let csv = outputs.add("--csv", o.csv.as_deref(), Kind::Table)?;
    let plot = outputs.add("--plot", o.plot.as_deref(), Kind::Picture)?;
    let report = o.sheet.add(&mut outputs)?;
    let system = terminal::units();
    let progress = Progress::start(&format!("sizing a fan for {}", loaded.run.name), None);
    let sizing = size_fan(
        &loaded.inputs,
        &fans,
        o.band.sampling(),
        &Options::default(),
    )?;
    drop(progress);
    let other = |e: String| Failure::Other(e);
    if let Some(csv) = &csv {
        let bytes = output::csv(&sizing).map_err(|e| other(e.to_string()))?;
        csv.save_bytes("the table", &bytes)?;
    }
    if let (Some(plot), Some(format)) = (&plot, format) {
        let bytes = output::draw(&loaded.run, &sizing, format, o.size.plot_size, system)
            .map_err(|e| other(e.to_string()))?;
        plot.save_bytes("the plot", &bytes)?;
    }
    if let Some(report) = &report {
        sheet::save(report, content(&loaded, &sizing, system), &loaded.files)?;
    }
    if o.json {
        print(&format!("{:#}\n", output::json(&loaded.run, &sizing)))?;
    } else if terminal::is_quiet() {
        // What can hurt somebody is told however little is asked for.
        let mut lines = output::first(&sizing, system);
        lines.push(output::sentence(&loaded.run, &sizing, system));
        print(&format!("{}\n", lines.join("\n")))?;
    } else {
        print(&output::text(&loaded.run, &sizing, terminal::screen()))?;
    }
    Ok(Outcome {
        exit_code: sizing.verdict().exit_code(),
    })
}

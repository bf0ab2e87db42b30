//! `dogdays follow`.

use std::path::PathBuf;
use std::process::Command;
use std::time::{Duration, Instant};

use super::common::{Failure, Outcome, PlotSize, RunOptions, note, plot_format, print, time_s};
use super::logs::LogOptions;
use super::outputs::{Output, Outputs, ReplaceOptions};
use super::sure::SampleOptions;
use super::terminal::{self, Progress};
use crate::output::chart::Format;
use crate::output::follow as output;
use crate::output::ours::Kind;
use crate::quantity::format_duration;
use crate::runfile::Loaded;
use crate::study::calibrate::Watched;
use crate::study::follow::{Cause, Following, follow};

/// Options of `follow`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays follow my.toml --log live.csv
  dogdays follow my.toml --log live.csv --every \"5 min\" --on-alarm ./tell-me.sh
  dogdays follow my.toml --log live.csv --plot now.svg

The log is a table of times and temperatures that a logger is still writing; its
columns are named or told as for `dogdays calibrate`. The room's own column counts
more than any forecast. What it says corrects the model, and the rest of the run is
foretold with the weather of the run file.

--on-alarm runs when softening is likelier than require.chance (5 % unless the run
file says otherwise), when the thermometer to act by shows as much as asks for it, or
when thermometers depart from what this run would have them show; while watching,
also when no new row comes or the log can't be read, and once for each cause each
time it begins. It finds what is known as one JSON object on its standard input.

A forecast is no guard: nothing here switches anything off, and a machine that runs
unattended needs what its maker and local rules ask for.

Exit codes: 0 holds, 10 tight, 20 softens, 30 cannot run, each for what is left;
2 wrong input or usage, 1 anything else.")]
pub struct FollowOptions {
    #[command(flatten)]
    run: RunOptions,
    #[command(flatten)]
    log: LogOptions,
    /// Look again each time so much has passed, such as "5 min", until the run is over.
    #[arg(long, value_name = "TIME")]
    every: Option<String>,
    /// A command to run when somebody should act.
    #[arg(long, value_name = "COMMAND")]
    on_alarm: Option<String>,
    #[command(flatten)]
    drawn: SampleOptions,
    /// Draw the run with what was measured and what is to come, .svg or .png.
    #[arg(long, value_name = "FILE")]
    plot: Option<PathBuf>,
    #[command(flatten)]
    size: PlotSize,
    /// One JSON object on standard output and nothing else; with --every, one in each line.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    replace: ReplaceOptions,
}

/// Looks at the log, once or again and again.
pub fn run(o: &FollowOptions) -> Result<Outcome, Failure> {
    let every_s = match &o.every {
        Some(text) => Some(time_s("--every", text)?),
        None => None,
    };
    let format = o.plot.as_deref().map(plot_format).transpose()?;
    let loaded = o.run.load()?;
    let mut files = loaded.files.clone();
    files.extend(o.log.log.iter().cloned());
    let mut outputs = Outputs::new(&files, o.replace, o.json);
    let plot = outputs.add("--plot", o.plot.as_deref(), Kind::Picture)?;
    let plot = plot.as_ref().zip(format);
    let mut watch = Watch::new();
    loop {
        let last = match look(o, &loaded) {
            Ok((f, step_s)) => {
                watch.seen(o, &f, step_s, plot, every_s)?;
                Some(f)
            }
            // A file that is being written, moved or not there yet ends no watch.
            Err(failure) if every_s.is_some() => {
                watch.failed(o, &failure)?;
                None
            }
            Err(failure) => return Err(failure),
        };
        match (every_s, last) {
            (Some(every_s), last) if last.as_ref().is_none_or(|f| !f.is_over()) => {
                std::thread::sleep(Duration::from_secs_f64(every_s));
            }
            (_, Some(f)) => {
                return Ok(Outcome {
                    exit_code: f.verdict.exit_code(),
                });
            }
            (_, None) => {}
        }
    }
}

/// So many looks that come to nothing, one after the other, are told to whoever is called.
const PATIENCE: u32 = 3;

/// What a watch remembers from look to look.
struct Watch {
    /// The last row, s from the start, and when it was first seen.
    last: Option<(f64, Instant)>,
    /// Why somebody was called at the last look.
    causes: Vec<Cause>,
    is_stale: bool,
    failures: u32,
}

impl Watch {
    const fn new() -> Self {
        Self {
            last: None,
            causes: Vec::new(),
            is_stale: false,
            failures: 0,
        }
    }

    /// Tells what a look found, and calls somebody for each cause that is new.
    fn seen(
        &mut self,
        o: &FollowOptions,
        f: &Following,
        step_s: f64,
        plot: Option<(&Output, Format)>,
        every_s: Option<f64>,
    ) -> Result<(), Failure> {
        self.failures = 0;
        let since = match self.last {
            Some((at_s, since)) if at_s >= f.now_s => since,
            _ => {
                let now = Instant::now();
                self.last = Some((f.now_s, now));
                self.is_stale = false;
                tell(o, f, plot, every_s.is_some())?;
                now
            }
        };
        let waited_s = since.elapsed().as_secs_f64();
        if waited_s > 0.5 * every_s.unwrap_or(f64::INFINITY) {
            note(&format!(
                "no new row for {}",
                format_duration(waited_s.round())
            ));
        }
        let causes = f.causes();
        let new = causes.iter().any(|cause| !self.causes.contains(cause));
        self.causes = causes;
        if new {
            alarm(o, &output::json(f))?;
        }
        let is_late = waited_s > f64::from(PATIENCE) * every_s.unwrap_or(0.0).max(step_s);
        if is_late && every_s.is_some() && !self.is_stale && !f.is_over() {
            self.is_stale = true;
            note("is the logger still running?");
            let mut object = output::json(f);
            object["act"] = true.into();
            object["causes"] = vec!["no new row"].into();
            alarm(o, &object)?;
        }
        Ok(())
    }

    /// Tells what went wrong with a look, and calls somebody when it stays so.
    fn failed(&mut self, o: &FollowOptions, failure: &Failure) -> Result<(), Failure> {
        failure.report();
        note("looking again");
        self.failures += 1;
        if self.failures == PATIENCE {
            let object = serde_json::json!({
                "act": true,
                "causes": ["the log can't be read"],
            });
            alarm(o, &object)?;
        }
        Ok(())
    }
}

/// Reads the log as it is now and foretells the rest; also the usual time between rows, s.
fn look(o: &FollowOptions, loaded: &Loaded) -> Result<(Following, f64), Failure> {
    let logs = o.log.read(loaded, &loaded.readings)?;
    if logs.is_empty() && loaded.readings.is_empty() {
        return Err(Failure::Usage(
            "there is nothing to follow: name the log that is being written, --log live.csv"
                .to_owned(),
        ));
    }
    let progress = Progress::start(&format!("following {}", loaded.run.name), None);
    let watched = Watched {
        inputs: &loaded.inputs,
        readings: &loaded.readings,
        logs: &logs,
    };
    let found = follow(&watched, o.drawn.sampling())?;
    drop(progress);
    let columns = logs.iter().flat_map(|log| &log.columns);
    let steps = columns.flat_map(|c| c.rows.windows(2).map(|w| w[1].0 - w[0].0));
    let mut steps: Vec<f64> = steps.collect();
    steps.sort_by(f64::total_cmp);
    let step_s = steps.get(steps.len() / 2).copied().unwrap_or(0.0);
    Ok((found, step_s))
}

fn tell(
    o: &FollowOptions,
    f: &Following,
    plot: Option<(&Output, Format)>,
    is_watching: bool,
) -> Result<(), Failure> {
    let (system, screen) = (terminal::units(), terminal::screen());
    if let Some((plot, format)) = plot {
        let bytes = output::draw_follow(f, format, o.size.plot_size, system)
            .map_err(|e| Failure::Other(e.to_string()))?;
        plot.save_bytes("the plot", &bytes)?;
    }
    if o.json {
        let object = output::json(f);
        return match is_watching {
            true => print(&format!("{object}\n")),
            false => print(&format!("{object:#}\n")),
        };
    }
    let text = if terminal::is_quiet() {
        format!("{}\n", output::verdict_sentence(f, system))
    } else {
        output::text(f, screen)
    };
    print(&terminal::paint_verdict(&text, f.verdict))
}

/// Runs the command that was asked for; what it says goes where this program's words go.
fn alarm(o: &FollowOptions, told: &serde_json::Value) -> Result<(), Failure> {
    let Some(command) = &o.on_alarm else {
        return Ok(());
    };
    let (shell, flag) = match cfg!(windows) {
        true => ("cmd", "/C"),
        false => ("sh", "-c"),
    };
    let said = |e: std::io::Error| Failure::Other(format!("--on-alarm {command:?}: {e}"));
    let mut child = Command::new(shell)
        .args([flag, command.as_str()])
        .stdin(std::process::Stdio::piped())
        .stdout(std::io::stderr())
        .spawn()
        .map_err(said)?;
    if let Some(mut to) = child.stdin.take() {
        // A command that does not read what it is told is no failure.
        let _ = std::io::Write::write_all(&mut to, told.to_string().as_bytes());
    }
    let status = child.wait().map_err(said)?;
    if !status.success() {
        // Nobody was called: that must be seen, also where words are few.
        Failure::Other(format!(
            "--on-alarm {command:?} ended with {status}: nobody may have been told"
        ))
        .report();
    }
    Ok(())
}

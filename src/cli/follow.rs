//! `dogdays follow`.

use std::path::PathBuf;
use std::process::Command;
use std::time::Duration;

use super::common::{Failure, Outcome, PlotSize, RunOptions, note, plot_format, print, time_s};
use super::logs::LogOptions;
use super::outputs::{Output, Outputs, ReplaceOptions};
use super::terminal::{self, Progress};
use crate::output::chart::Format;
use crate::output::follow as output;
use crate::output::ours::Kind;
use crate::runfile::Loaded;
use crate::study::band::Sampling;
use crate::study::calibrate::Watched;
use crate::study::certainty::points::MOST_POINTS;
use crate::study::follow::{Following, follow};

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
file says otherwise), or when the thermometer to act by shows as much as asks for it;
while watching, each time that begins. It finds what is known as one JSON object on
its standard input.

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
    /// Foretell with so many runs.
    #[arg(
        long,
        value_name = "N",
        default_value_t = Sampling::default().samples,
        value_parser = clap::value_parser!(u32).range(2..=i64::from(MOST_POINTS))
    )]
    samples: u32,
    /// Which values they take: the same number gives the same result.
    #[arg(long, value_name = "N", default_value_t = Sampling::default().seed)]
    seed: u32,
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
    let mut rang = false;
    loop {
        let f = look(o, &loaded)?;
        tell(o, &f, plot, every_s.is_some())?;
        let rings = f.is_time_to_act();
        if rings && !rang {
            alarm(o, &f)?;
        }
        rang = rings;
        let Some(every_s) = every_s.filter(|_| f.now_s < f.run.duration_s) else {
            return Ok(Outcome {
                exit_code: f.verdict.exit_code(),
            });
        };
        std::thread::sleep(Duration::from_secs_f64(every_s));
    }
}

/// Reads the log as it is now and foretells the rest.
fn look(o: &FollowOptions, loaded: &Loaded) -> Result<Following, Failure> {
    let logs = o.log.read(loaded)?;
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
    let sampling = Sampling {
        samples: o.samples,
        seed: o.seed,
    };
    let found = follow(&watched, sampling)?;
    drop(progress);
    Ok(found)
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
fn alarm(o: &FollowOptions, f: &Following) -> Result<(), Failure> {
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
        let _ = std::io::Write::write_all(&mut to, output::json(f).to_string().as_bytes());
    }
    let status = child.wait().map_err(said)?;
    if !status.success() {
        note(&format!("--on-alarm {command:?} ended with {status}"));
    }
    Ok(())
}

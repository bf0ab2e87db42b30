//! Manners towards a terminal: colour, units, how much is said, and a line of progress.
//!
//! The global options are settled once, before a subcommand runs, and asked for from anywhere in
//! this room. Everything on stderr passes through here.

use std::io::{IsTerminal, Write};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, OnceLock, mpsc};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use anstream::ColorChoice;
use clap::builder::styling::{AnsiColor, Style};

use crate::output::screen::Screen;
use crate::plain::{plain, plain_with_colours};
use crate::quantity::System;
use crate::study::Verdict;

/// Options that every subcommand takes.
#[derive(Debug, Clone, Copy, Default, clap::Args)]
#[command(next_help_heading = "Everywhere")]
pub struct Manners {
    /// Colour on the terminal. `auto` also heeds NO_COLOR.
    #[arg(long, global = true, value_enum, default_value_t = Color::Auto, value_name = "WHEN")]
    color: Color,
    /// Units in text and pictures; files for programs (JSON, CSV) keep theirs.
    #[arg(long, global = true, value_enum, default_value_t = Units::Si, value_name = "SYSTEM")]
    units: Units,
    /// Say only the answer: no notes, no hints, no progress.
    #[arg(long, short, global = true, conflicts_with = "verbose")]
    quiet: bool,
    /// Say everything: in `check` also chamber, heat and cautions; on stderr what is done.
    #[arg(long, short, global = true)]
    verbose: bool,
}

/// `--color`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, clap::ValueEnum)]
enum Color {
    /// On a terminal, unless NO_COLOR is set.
    #[default]
    Auto,
    /// Even into a pipe.
    Always,
    /// Never.
    Never,
}

impl Color {
    const fn choice(self) -> ColorChoice {
        match self {
            Self::Auto => ColorChoice::Auto,
            Self::Always => ColorChoice::Always,
            Self::Never => ColorChoice::Never,
        }
    }
}

/// `--units`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, clap::ValueEnum)]
enum Units {
    /// °C, m³/h, Pa, kg.
    #[default]
    Si,
    /// °F, cfm, inches of water, lb.
    Us,
}

static MANNERS: OnceLock<Manners> = OnceLock::new();

fn manners() -> Manners {
    MANNERS.get().copied().unwrap_or_default()
}

impl Manners {
    /// Makes these hold for the rest of the program's life.
    pub fn settle(self) {
        self.color.choice().write_global();
        // A second call would come from a second run in one process; the first one's stay.
        let _ = MANNERS.set(self);
    }
}

/// What `--color` says in arguments that are not parsed yet, so that help and usage errors, which
/// end the parsing, heed it too.
pub fn color_of_raw(arguments: &[std::ffi::OsString]) -> clap::ColorChoice {
    let mut found = clap::ColorChoice::Auto;
    let mut words = arguments.iter().filter_map(|a| a.to_str()).peekable();
    while let Some(word) = words.next() {
        let value = match word {
            "--" => break,
            "--color" => words.peek().copied(),
            _ => word.strip_prefix("--color="),
        };
        found = match value {
            Some("always") => clap::ColorChoice::Always,
            Some("never") => clap::ColorChoice::Never,
            _ => found,
        };
    }
    found
}

/// The units people asked for.
pub fn units() -> System {
    match manners().units {
        Units::Si => System::Si,
        Units::Us => System::Us,
    }
}

/// What texts on stdout are written on: as wide as the terminal, or as COLUMNS says, or 80 columns.
pub fn screen() -> Screen {
    let terminal = terminal_size::terminal_size_of(std::io::stdout());
    let columns = || std::env::var("COLUMNS").ok()?.trim().parse::<usize>().ok();
    let width = terminal
        .map(|(width, _)| usize::from(width.0))
        .or_else(columns)
        .filter(|width| *width > 0);
    Screen::new(width.unwrap_or(Screen::USUAL), units())
}

/// Whether everything is wanted.
pub fn is_verbose() -> bool {
    manners().verbose
}

/// Whether only the answer is wanted.
pub fn is_quiet() -> bool {
    manners().quiet
}

/// Tells something on stderr, unless `--quiet`.
pub fn note(text: &str) {
    if !is_quiet() {
        error(text);
    }
}

/// Tells something on stderr with `--verbose`.
pub fn detail(text: &str) {
    if manners().verbose {
        error(text);
    }
}

/// Tells an error on stderr, always.
pub fn error(text: &str) {
    let text = plain_with_colours(text.trim_end());
    // One sentence is broken between words; what is drawn over several lines stays as it is. Into a pipe nothing is
    // broken, so that one message stays one line.
    let width = terminal_size::terminal_size_of(std::io::stderr());
    let mut lines = String::new();
    match width {
        Some((width, _)) if !text.contains('\n') => {
            Screen::new(usize::from(width.0), units()).paragraph(&mut lines, &text);
        }
        _ => lines = format!("{text}\n"),
    }
    let _ = write!(anstream::stderr(), "{lines}");
}

/// Tells what is wrong with the arguments, which may be anything, in the colours asked for.
pub fn usage(text: &clap::builder::StyledStr, color: clap::ColorChoice) {
    let choice = match color {
        clap::ColorChoice::Auto => ColorChoice::Auto,
        clap::ColorChoice::Always => ColorChoice::Always,
        clap::ColorChoice::Never => ColorChoice::Never,
    };
    let mut stderr = anstream::AutoStream::new(std::io::stderr(), choice);
    let _ = write!(stderr, "{}", plain_with_colours(&text.ansi().to_string()));
}

/// "error:" as other messages draw it.
pub fn error_label() -> String {
    let style = Style::new()
        .bold()
        .fg_color(Some(AnsiColor::BrightRed.into()));
    format!("{style}error{style:#}: ")
}

/// The text with its first word, the verdict, in the verdict's colour. The word says the same, so
/// nothing is lost without colour.
pub fn paint_verdict(text: &str, verdict: Verdict) -> String {
    let color = match verdict {
        Verdict::Holds => AnsiColor::Green,
        Verdict::Tight => AnsiColor::Yellow,
        Verdict::Softens | Verdict::CannotRun => AnsiColor::Red,
    };
    let style = Style::new().bold().fg_color(Some(color.into()));
    match text.strip_prefix(verdict.name()) {
        Some(rest) => format!("{style}{}{style:#}{rest}", verdict.name()),
        None => text.to_owned(),
    }
}

/// Work shorter than this needs no line of progress.
const SHORT: Duration = Duration::from_millis(500);
/// Time between two looks of the line.
const REDRAW: Duration = Duration::from_millis(200);

/// A line of progress on stderr while it lives: what is done, how much of it, for how long. Silent
/// for the first half second, when stderr is no terminal, and with `--quiet`.
#[derive(Debug)]
pub struct Progress {
    done: Arc<AtomicUsize>,
    /// Dropped first: its end is the sign to stop.
    stop: Option<mpsc::Sender<()>>,
    drawer: Option<JoinHandle<()>>,
}

impl Progress {
    /// Begins. `total` counts what [`Progress::advance`] counts; none for work that can't tell.
    pub fn start(what: &str, total: Option<usize>) -> Self {
        let done = Arc::new(AtomicUsize::new(0));
        if is_quiet() || !std::io::stderr().is_terminal() {
            return Self {
                done,
                stop: None,
                drawer: None,
            };
        }
        let (stop, stopped) = mpsc::channel();
        let (what, counter) = (plain(what).into_owned(), Arc::clone(&done));
        let drawer = std::thread::spawn(move || draw_until(&stopped, &what, &counter, total));
        Self {
            done,
            stop: Some(stop),
            drawer: Some(drawer),
        }
    }

    /// So many more are done; any thread may say so.
    pub fn advance(&self, more: usize) {
        self.done.fetch_add(more, Ordering::Relaxed);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        drop(self.stop.take());
        if let Some(drawer) = self.drawer.take() {
            // The drawer only writes to stderr; should it have failed, there is nothing to undo.
            let _ = drawer.join();
        }
    }
}

fn draw_until(stopped: &mpsc::Receiver<()>, what: &str, done: &AtomicUsize, total: Option<usize>) {
    let begin = Instant::now();
    let (mut pause, mut widest) = (SHORT, 0);
    let mut stderr = std::io::stderr();
    while stopped.recv_timeout(pause) == Err(mpsc::RecvTimeoutError::Timeout) {
        pause = REDRAW;
        let line = line(what, done.load(Ordering::Relaxed), total, begin.elapsed());
        widest = widest.max(line.chars().count());
        let _ = write!(stderr, "\r{line:<widest$}");
        let _ = stderr.flush();
    }
    if widest > 0 {
        // Spaces, not a control code: the plainest terminal understands them.
        let _ = write!(stderr, "\r{:<widest$}\r", "");
        let _ = stderr.flush();
    }
}

fn line(what: &str, done: usize, total: Option<usize>, elapsed: Duration) -> String {
    let seconds = elapsed.as_secs();
    match total {
        Some(total) if total > 0 => {
            let share = 100 * done.min(total) / total;
            format!("{what}: {done} of {total} ({share} %), {seconds} s")
        }
        _ => format!("{what}: {seconds} s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn color_is_found_before_parsing() {
        let find = |words: &[&str]| {
            color_of_raw(
                &words
                    .iter()
                    .map(std::ffi::OsString::from)
                    .collect::<Vec<_>>(),
            )
        };
        assert_eq!(
            find(&["dogdays", "--color=never"]),
            clap::ColorChoice::Never
        );
        assert_eq!(
            find(&["dogdays", "check", "--color", "always", "--help"]),
            clap::ColorChoice::Always
        );
        assert_eq!(
            find(&["dogdays", "check", "--", "--color=never"]),
            clap::ColorChoice::Auto
        );
    }

    #[test]
    fn a_line_of_progress_fits_a_terminal_and_counts() {
        let text = line(
            "starts of the season",
            30,
            Some(120),
            Duration::from_secs(7),
        );
        assert_eq!(text, "starts of the season: 30 of 120 (25 %), 7 s");
        assert_eq!(
            line("one run", 0, None, Duration::from_secs(2)),
            "one run: 2 s"
        );
    }
}

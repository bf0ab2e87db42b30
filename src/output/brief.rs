//! The answer of `check` on one screen; everything else is a question away.

use super::failures;
use super::prose::wrap;
use super::remedies;
use super::report::{shortfalls, stations, verdict_sentence_in};
use super::room;
use super::screen::Screen;
use super::words::{date_and_time, hours};
use crate::run::Run;
use crate::study::cautions::Caution;
use crate::study::remedies::Remedies;
use crate::study::{Findings, Verdict};

/// Lines at 80 columns: a screen of 24, less the prompt.
const LINES: usize = 23;
/// Lines that warnings may take at 80 columns.
const WARNING_LINES: usize = 4;

/// Failures that are shown.
const FAILURES: usize = 6;

const MORE: &str = "More: --verbose (chamber, heat, cautions), --plot FILE, compare, size-fan";

/// Verdict, stations, the first remedies, warnings, and what else can be asked.
#[must_use]
pub fn check(run: &Run, f: &Findings, remedies: Option<&Remedies>, screen: Screen) -> String {
    // A narrow screen is scrolled; it shows as much as a wide one.
    let lines = |at_80: usize| at_80 * Screen::USUAL / screen.width.min(Screen::USUAL);
    let mut out = String::new();
    screen.paragraph(&mut out, &verdict_sentence_in(run, f, screen.system));
    shortfalls(&mut out, f, 1, screen);
    out.push('\n');
    screen.entry(&mut out, "Run", &run.name);
    let what = format!(
        "{} from {}, {}; {} in {}",
        hours(run.duration_s / 3600.0),
        date_and_time(run.start, 0.0),
        run.arrangement.name(),
        run.material.name,
        run.machine.name
    );
    screen.entry(&mut out, "", &what);
    if let Some(words) = room::words(run, screen.system) {
        screen.entry(&mut out, "Room", &words);
    }
    // How warm the filament would be in a run that can't be had decides nothing.
    if f.outcome.verdict != Verdict::CannotRun {
        out.push('\n');
        out.push_str(&stations(run, f, screen));
        if !f.failures.is_empty() {
            out.push('\n');
            failures::table(&mut out, run, f, FAILURES, screen);
        }
    }

    let mut end = String::new();
    warnings(&mut end, f, lines(WARNING_LINES), screen);
    end.push('\n');
    screen.hanging(&mut end, "", "", &mind(run, f, remedies));
    screen.paragraph(&mut end, MORE);
    if let Some(r) = remedies {
        out.push('\n');
        let taken = out.lines().count() + end.lines().count();
        let left = lines(LINES).saturating_sub(taken);
        out.push_str(&remedies::short(run, r, left, screen));
    }
    out + &end
}

/// Whole warnings, as many as go into so many lines, one at least.
fn warnings(o: &mut String, f: &Findings, lines: usize, screen: Screen) {
    let texts: Vec<String> = f.warnings.iter().map(|w| w.text(screen.system)).collect();
    let mut taken = 0;
    for (k, text) in texts.iter().enumerate() {
        taken += wrap(text, screen.width - 4).len();
        if k > 0 && taken > lines {
            let more = format!("  {} more warnings: --verbose", texts.len() - k);
            screen.paragraph(o, &more);
            return;
        }
        screen.hanging(o, "  ! ", "    ", text);
    }
}

/// The cautions of the run and of the remedies, each in a few words.
fn mind(run: &Run, f: &Findings, remedies: Option<&Remedies>) -> String {
    let mut all: Vec<Caution> = f.cautions.clone();
    all.extend(remedies.iter().flat_map(|r| remedies::cautions(run, r)));
    all.sort_unstable();
    all.dedup();
    let all: Vec<&str> = all.into_iter().map(Caution::brief).collect();
    format!("Mind: {}.", all.join("; "))
}

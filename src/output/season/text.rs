//! A season in words.

use crate::output::screen::Screen;
use crate::quantity::format_count;
use crate::run::Run;
use crate::study::season::Season;

/// The answer: how many starts hold.
#[must_use]
pub fn text(run: &Run, seasons: &[Season], screen: Screen) -> String {
    let mut out = String::new();
    for season in seasons {
        let counts = season.counts();
        let sentence = format!(
            "{}, {}: of {} starts {} hold, {} are tight, {} soften, {} cannot run.",
            run.name,
            season.name,
            format_count(season.starts.len()),
            format_count(counts.holds),
            format_count(counts.tight),
            format_count(counts.softens),
            format_count(counts.cannot_run),
        );
        screen.paragraph(&mut out, &sentence);
    }
    out
}

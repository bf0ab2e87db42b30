//! What to look after before and during a job, with boxes to tick.

use maud::{Markup, html};

use crate::quantity::System;
use crate::run::Run;
use crate::study::Findings;

/// The log sheet of a run.
pub fn part(_run: &Run, _f: &Findings, _system: System) -> Markup {
    html! {}
}

/// What the run takes from the mains.
pub fn electricity(_run: &Run, _f: &Findings) -> Markup {
    html! {}
}

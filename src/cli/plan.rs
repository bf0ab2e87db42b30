//! `dogdays calibrate --plan`.

use super::common::{Failure, Outcome, RunOptions, note_failures, print};
use super::terminal::{self, Progress};
use crate::answer::calibrate::Measured;
use crate::output::plan as output;
use crate::runfile::Loaded;
use crate::study::calibrate::Watched;
use crate::study::plan::{PlanError, plan};

/// Finds what to measure next and prints it.
pub fn run(
    o: &RunOptions,
    loaded: &Loaded,
    measured: &Measured,
    is_json: bool,
) -> Result<Outcome, Failure> {
    note_failures(loaded);
    let progress = Progress::start(&format!("planning for {}", loaded.run.name), None);
    let found = plan(&Watched {
        inputs: &loaded.inputs,
        readings: &measured.readings,
        logs: &measured.logs,
    })?;
    drop(progress);
    let run = &loaded.run;
    let screen = terminal::screen();
    if is_json {
        print(&format!("{:#}\n", output::json(run, &found)))?;
    } else if terminal::is_quiet() {
        print(&output::sentence(run, &found, screen))?;
    } else {
        let file = o.run.as_ref().map(|path| format!(" {}", path.display()));
        let command = format!("dogdays calibrate{}", file.unwrap_or_default());
        let is_verbose = terminal::is_verbose();
        print(&output::text(run, &found, &command, is_verbose, screen))?;
    }
    Ok(Outcome { exit_code: 0 })
}

impl From<PlanError> for Failure {
    fn from(e: PlanError) -> Self {
        match e {
            PlanError::Study(e) => e.into(),
            PlanError::Fit(e) => e.into(),
            e => Self::Usage(e.to_string()),
        }
    }
}

//! `dogdays calibrate --plan`.

use super::common::{Failure, Outcome, RunOptions, note_failures, print};
use super::terminal::{self, Progress};
use crate::output::plan as output;
use crate::run::Reading;
use crate::runfile::Loaded;
use crate::study::plan::{PlanError, plan};

/// Finds what to measure next and prints it.
pub fn run(
    o: &RunOptions,
    loaded: &Loaded,
    taken: &[Reading],
    is_json: bool,
) -> Result<Outcome, Failure> {
    note_failures(loaded);
    if !loaded.logs.is_empty() {
        return Err(Failure::Usage(
            "a plan counts readings, and no logs: fit the logs first, `dogdays calibrate RUN --write my-models/machines/my-machine.toml`, and plan with a run file that names that machine and has no [[log]]".to_owned(),
        ));
    }
    let progress = Progress::start(&format!("planning for {}", loaded.run.name), None);
    let found = plan(&loaded.inputs, taken)?;
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
            PlanError::Sensor(e) => Self::Usage(e.to_string()),
        }
    }
}

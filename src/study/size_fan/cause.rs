//! What keeps a fan from doing what it could: a thermostat that starts it too late, a schedule that rests it.

use super::answer::{Cause, CauseKind};
use super::flow::Flows;
use crate::integrate::Options;
use crate::run::Inputs;
use crate::study::StudyError;

/// Why no flow is enough, where a fan that runs all the time would be: the least change that makes it so.
pub(super) fn cause(inputs: &Inputs, options: &Options) -> Result<Option<Cause>, StudyError> {
    if !inputs.changes_arrangement() {
        return Ok(None);
    }
    let without = |thermostat: bool, schedule: bool| {
        let mut inputs = inputs.clone();
        if thermostat {
            inputs.drop_thermostat();
        }
        if schedule {
            inputs.drop_schedule();
        }
        inputs
    };
    for (control, thermostat, schedule) in [
        (CauseKind::Thermostat, true, false),
        (CauseKind::Schedule, false, true),
        (CauseKind::Both, true, true),
    ] {
        let changed = without(thermostat, schedule);
        if changed == *inputs {
            continue;
        }
        let run = changed.to_run()?;
        let least = Flows::new(&run, &changed, options)?.least()?;
        if let Some(without_m3_per_s) = least {
            return Ok(Some(Cause {
                control,
                without_m3_per_s,
            }));
        }
    }
    Ok(None)
}

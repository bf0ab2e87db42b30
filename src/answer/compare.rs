//! Arrangements side by side.

use super::AnswerError;
use crate::integrate::Options;
use crate::output::compare::Setting;
use crate::runfile::Loaded;
use crate::study::compare::{Candidate, own, usual};

/// What is compared, the run as it is first: with `[[compare]]` tables in the run file those, without, the usual
/// arrangements.
///
/// # Errors
/// When one of the usual arrangements can't be made of this run.
pub fn candidates(
    loaded: &Loaded,
    options: &Options,
) -> Result<(Vec<Candidate>, Setting), AnswerError> {
    if loaded.compare.is_empty() {
        let usual = usual(&loaded.inputs, options)?;
        let flow = Some((usual.flow_m3_per_s, usual.flow_basis));
        return Ok((usual.candidates, Setting { flow }));
    }
    Ok((own_and_named(loaded), Setting { flow: None }))
}

/// The run as it is, and those of its `[[compare]]` tables.
#[must_use]
pub fn own_and_named(loaded: &Loaded) -> Vec<Candidate> {
    let named = loaded.compare.iter().map(|v| Candidate {
        name: v.name.clone(),
        inputs: v.inputs.clone(),
    });
    std::iter::once(own(&loaded.run, &loaded.inputs))
        .chain(named)
        .collect()
}

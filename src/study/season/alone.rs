//! Starts that run by themselves.

use super::Asked;
use super::start::Start;
use crate::study::StudyError;
use crate::study::check::Outcome;
use crate::study::many;

/// Starts that are computed together: few enough for little memory, enough for all cores.
const TOGETHER: usize = 256;

/// Every start of a season by itself.
pub(super) fn alone(asked: &Asked<'_>) -> Result<Vec<Start>, StudyError> {
    let numbers: Vec<usize> = (0..asked.moments.count).collect();
    let mut starts = Vec::with_capacity(numbers.len());
    for (block, part) in numbers.chunks(TOGETHER).enumerate() {
        let known = asked.kept.block(block).filter(|b| b.len() == part.len());
        if let Some(known) = known {
            starts.extend(known);
        } else {
            let new: Vec<Start> = part
                .iter()
                .zip(outcomes(asked, part)?)
                .map(|(k, outcome)| Start::of(asked.moments.at(*k), &outcome))
                .collect();
            asked.kept.keep(block, &new);
            starts.extend(new);
        }
        (asked.done)(part.len());
    }
    Ok(starts)
}

/// What the starts of these numbers come to.
pub(super) fn outcomes(asked: &Asked<'_>, numbers: &[usize]) -> Result<Vec<Outcome>, StudyError> {
    let mut found = Vec::with_capacity(numbers.len());
    for part in numbers.chunks(TOGETHER) {
        let runs = asked.runs(part)?;
        for outcome in many::outcomes(&runs, asked.options) {
            found.push(outcome?);
        }
    }
    Ok(found)
}

//! Will it hold?

use super::AnswerError;
use crate::chamber::IntegratorKind;
use crate::integrate::Options;
use crate::output::{
    explain, json, remedies as output_remedies, sensitivity as output_sensitivity,
};
use crate::runfile::Loaded;
use crate::study::band::Sampling;
use crate::study::certainty::certainty;
use crate::study::choices::{Choices, choices};
use crate::study::remedies::{Remedies, add_chances, remedies as find_remedies};
use crate::study::sensitivity::Sensitivity;
use crate::study::{self, Findings};
use serde_json::Value;

/// Everything that was found.
#[derive(Debug)]
pub struct Check {
    /// The run over its time, its verdict and, where it was asked for, how sure that is.
    pub findings: Findings,
    /// What would make it hold, where somebody looked.
    pub remedies: Option<Remedies>,
    /// Which of the values in doubt matter, where it was asked.
    pub sensitivity: Option<Sensitivity>,
    /// What the model chose, where the run as understood is asked for.
    pub choices: Option<Choices>,
}

/// The run over its time; with how sure it is, where samples are asked for.
///
/// # Errors
/// When the run can't be simulated.
pub fn findings(
    loaded: &Loaded,
    integrator: IntegratorKind,
    options: &Options,
    sampling: Option<Sampling>,
) -> Result<Findings, AnswerError> {
    let mut findings = study::check(&loaded.run, integrator, options)?;
    if let Some(sampling) = sampling {
        let station = findings.outcome.station;
        findings.certainty = Some(certainty(&loaded.inputs, station, sampling));
    }
    Ok(findings)
}

/// What would make the run hold; with how likely it would soften all the same, where samples are asked for.
///
/// # Errors
/// When something is wrong with the user's models, or a changed run can't be simulated.
pub fn remedies(loaded: &Loaded, sampling: Option<Sampling>) -> Result<Remedies, AnswerError> {
    let materials = loaded.catalogue()?.materials();
    let mut found = find_remedies(&loaded.inputs, &materials, &Options::default())?;
    if let Some(sampling) = sampling {
        add_chances(&mut found, &loaded.inputs, sampling);
    }
    Ok(found)
}

impl Check {
    /// The findings alone.
    #[must_use]
    pub const fn of(findings: Findings) -> Self {
        Self {
            findings,
            remedies: None,
            sensitivity: None,
            choices: None,
        }
    }

    /// Looks up what the model chose.
    pub fn explain(&mut self) {
        self.choices = Some(choices(&self.findings));
    }

    /// One object, `"schema": 1`: temperatures in °C, the rest in the units at the end of names.
    #[must_use]
    pub fn json(&self, loaded: &Loaded) -> Value {
        let mut object = json::check(&loaded.run, &self.findings);
        let guesses = loaded.guesses();
        object["guessed"] = guesses.map(|stated| stated.key.as_str()).collect();
        if let Some(r) = &self.remedies {
            object["remedies"] = output_remedies::json(&loaded.run, r);
        }
        if let Some(s) = &self.sensitivity {
            object["sensitivity"] = output_sensitivity::json(s);
        }
        if let Some(choices) = &self.choices {
            object["explain"] = explain::json(loaded, choices);
        }
        object
    }
}

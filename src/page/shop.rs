//! The run whose knobs are turned, and what of it was looked at lately.

use super::changes::changes;
use super::refusal::Refusal;
use super::typed::Values;
use crate::chamber::IntegratorKind;
use crate::integrate::Options;
use crate::quantity::System;
use crate::runfile::edit::changed;
use crate::runfile::{Loaded, Original};
use crate::study::band::Sampling;
use crate::study::certainty::certainty;
use crate::study::{Findings, check};
use crate::weather::Series;
use jiff::civil::DateTime;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Who changes the text, in messages.
const BY: &str = "the page";
/// Looks that are kept, so that another moment of one needs no new run: those of a few people at once.
const KEPT: usize = 6;

/// A weather that a season is asked in.
#[derive(Debug, Clone)]
pub struct Weather {
    /// Its name.
    pub name: String,
    /// Its temperatures.
    pub series: Arc<Series>,
}

/// A run with what was made of it.
#[derive(Debug)]
pub struct Looked {
    /// The run file's text with what was changed.
    pub text: String,
    /// The run.
    pub loaded: Loaded,
    /// What a check finds.
    pub findings: Findings,
}

/// All that the page is about.
#[derive(Debug)]
pub struct Shop {
    /// The run as its file has it.
    pub original: Original,
    /// Units that people see.
    pub system: System,
    /// What a season is asked in; without any, in the run's own series.
    pub weather: Vec<Weather>,
    /// What tells the time, for reports.
    pub now: fn() -> DateTime,
    looked: Mutex<VecDeque<Arc<Looked>>>,
}

impl Shop {
    /// Of a run.
    #[must_use]
    pub fn new(
        original: Original,
        system: System,
        weather: Vec<Weather>,
        now: fn() -> DateTime,
    ) -> Self {
        Self {
            original,
            system,
            weather,
            now,
            looked: Mutex::default(),
        }
    }

    /// The run file's text with what was turned.
    ///
    /// # Errors
    /// When a knob takes no such value.
    pub fn text(&self, values: &Values) -> Result<String, Refusal> {
        let changes = changes(values, self.original.loaded(), self.system)?;
        Ok(changed(self.original.text(), BY, &changes)?)
    }

    /// The run with what was turned, and what a check finds in it: the very same as `dogdays check --no-band`.
    ///
    /// # Errors
    /// When a knob takes no such value, values do not go together, or the run can't be simulated.
    pub fn look(&self, values: &Values) -> Result<Arc<Looked>, Refusal> {
        let text = self.text(values)?;
        if let Some(known) = self.kept().iter().find(|known| known.text == text) {
            return Ok(Arc::clone(known));
        }
        let loaded = self.original.read(&text)?;
        let findings = check(&loaded.run, IntegratorKind::Rosenbrock, &Options::fine())?;
        Ok(self.keep(Looked {
            text,
            loaded,
            findings,
        }))
    }

    /// The same with how sure it is.
    ///
    /// # Errors
    /// As [`Shop::look`].
    pub fn band(&self, values: &Values) -> Result<Arc<Looked>, Refusal> {
        let looked = self.look(values)?;
        if looked.findings.certainty.is_some() {
            return Ok(looked);
        }
        let mut findings = looked.findings.clone();
        let station = findings.outcome.station;
        findings.certainty = Some(certainty(
            &looked.loaded.inputs,
            station,
            Sampling::default(),
        ));
        Ok(self.keep(Looked {
            text: looked.text.clone(),
            loaded: looked.loaded.clone(),
            findings,
        }))
    }

    /// A panic elsewhere leaves the list whole.
    fn kept(&self) -> MutexGuard<'_, VecDeque<Arc<Looked>>> {
        self.looked.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn keep(&self, looked: Looked) -> Arc<Looked> {
        let looked = Arc::new(looked);
        let mut kept = self.kept();
        kept.retain(|known| known.text != looked.text);
        kept.push_front(Arc::clone(&looked));
        kept.truncate(KEPT);
        looked
    }
}

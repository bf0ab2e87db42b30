//! What would make a run hold, the smallest intervention first.
//!
//! Every remedy is a changed run that has been simulated; nothing is estimated. A change that
//! comes in steps (flow, kelvins, current) is taken at its least step that holds. Where no single
//! change is enough, pairs are tried; where nothing is, the floor is named.

mod action;
mod least;
mod levers;
#[cfg(test)]
mod tests;

use rayon::prelude::*;

pub use action::Action;

use super::StudyError;
use super::band::Sampling;
use super::cautions::Caution;
use super::certainty::certainty;
use super::check::{Findings, Outcome, Verdict, check};
use super::heaters::Wait;
use super::many::outcomes;
use super::warnings::Warning;
use crate::chamber::IntegratorKind;
use crate::integrate::Options;
use crate::keys::Problems;
use crate::run::{Inputs, Material, Run};
use least::Least;
use levers::{Lever, levers, starts};

/// A gain smaller than this is none, K: nobody would change anything for it.
const WORTH_DOING_K: f64 = 0.1;

/// Fineness with which a pair is reduced: both go the same share of their way, in steps of 1/16.
const PAIR_STEPS: usize = 16;

/// A change, or two, with what they do.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// The changes, one or two.
    pub actions: Vec<Action>,
    /// What the changed run comes to.
    pub outcome: Outcome,
    /// Margin gained, K.
    pub effect_K: f64,
    /// The chance that it softens all the same, where that was asked: see [`add_chances`].
    pub chance_softens: Option<f64>,
    /// False when the run must stay closed and this opens the machine.
    pub is_allowed: bool,
    /// What the changed run warns of and the run itself does not.
    pub drawbacks: Vec<Warning>,
    /// What the user must mind.
    pub cautions: Vec<Caution>,
    /// Whether any station gains by it, if not the one that decides.
    helps: bool,
}

impl Remedy {
    /// The run with all changes made.
    ///
    /// # Errors
    /// When these inputs are others than those that the remedy was found for, and the changed ones do not
    /// belong together.
    pub fn apply(&self, inputs: &Inputs) -> Result<Run, Problems> {
        changed(inputs, &self.actions)
    }

    /// Whether it may be done and costs nothing else.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.is_allowed && self.drawbacks.is_empty()
    }
}

/// The lowest peak that extraction alone can reach.
#[derive(Debug, Clone, PartialEq)]
pub struct Floor {
    /// The flow, m3/s: so much that more changes nothing.
    pub flow_m3_per_s: f64,
    /// The outcome with it.
    pub outcome: Outcome,
}

/// What would make a run hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedies {
    /// The run as it is.
    pub before: Outcome,
    /// Remedies that hold, the smallest intervention first; those with drawbacks after the clean
    /// ones, those that are not allowed last.
    pub found: Vec<Remedy>,
    /// What was tried alone, as far as it goes, and is not enough; the largest gain first.
    pub not_enough: Vec<Remedy>,
    /// How many later starts, an hour apart, were tried.
    pub starts_tried: usize,
    /// Where nothing allowed holds with this material: the pair that comes nearest.
    pub nearest: Option<Remedy>,
    /// Where nothing allowed holds with this material: the floor.
    pub floor: Option<Floor>,
}

/// Searches the remedies of a run; `materials` are the others that could be tried. A run that
/// holds needs none. For one that cannot run, [`Shortfall::ways_out`] says in words what its heaters
/// need; here are found the single changes with which it would run and hold.
///
/// [`Shortfall::ways_out`]: super::heaters::Shortfall::ways_out
///
/// # Errors
/// When the run itself cannot be simulated. Changed runs that cannot are passed over.
pub fn remedies(
    inputs: &Inputs,
    materials: &[Material],
    options: &Options,
) -> Result<Remedies, StudyError> {
    let run = &inputs.to_run()?;
    let findings = check(run, IntegratorKind::Rosenbrock, options)?;
    let mut remedies = Remedies {
        before: findings.outcome.clone(),
        found: Vec::new(),
        not_enough: Vec::new(),
        starts_tried: 0,
        nearest: None,
        floor: None,
    };
    if remedies.before.verdict == Verdict::Holds {
        return Ok(remedies);
    }
    let search = Search {
        run,
        inputs,
        options,
        before_K: remedies.before.margin_K,
        runs_before: remedies.before.verdict != Verdict::CannotRun,
        margins_K: margins_K(&findings).collect(),
        warnings: findings.warnings,
    };
    let levers = levers(run);
    let starts = starts(run);
    remedies.starts_tried = starts.len();
    let best_start = search.best(starts);
    let each: Vec<_> = levers
        .iter()
        .map(|lever| (lever.steps, |k| vec![(lever.at)(k)]))
        .collect();
    let tried: Vec<(usize, Remedy)> = search
        .least(&each)
        .into_par_iter()
        .enumerate()
        .filter_map(|(k, actions)| Some((k, search.remedy(actions)?)))
        .collect();
    // What no station gains by is no half of a pair either; what others than the deciding one do may be.
    let helps = |lever: usize| tried.iter().any(|(k, r)| *k == lever && r.helps);
    let half: Vec<&Lever> = (0..levers.len())
        .filter(|k| helps(*k))
        .map(|k| &levers[k])
        .collect();
    let alone = tried
        .iter()
        .map(|(_, r)| r.clone())
        .chain(best_start.clone());
    let (mut found, mut not_enough): (Vec<Remedy>, Vec<Remedy>) = alone.partition(holds);
    // What leaves a heater too weak is no step on the way, and what gains nothing is none either. The gain of
    // what cannot run means nothing.
    let could_run = remedies.before.verdict != Verdict::CannotRun;
    not_enough.retain(|r| match could_run {
        true => r.effect_K >= WORTH_DOING_K || !r.outcome.shortfalls.is_empty(),
        false => r.outcome.verdict != Verdict::CannotRun,
    });
    not_enough.sort_by(|a, b| b.effect_K.total_cmp(&a.effect_K));
    remedies.not_enough = not_enough;
    found.extend(search.materials(materials));
    if could_run && !found.iter().any(is_enough) {
        let start = best_start.as_ref().filter(|r| r.helps);
        let (pairs, nearest) = search.pairs(&half, start);
        found.extend(pairs);
        if !found.iter().any(is_enough) {
            remedies.nearest = nearest.filter(|r| !holds(r));
            remedies.floor = search.floor(&levers);
        }
    }
    let rank = |r: &Remedy| {
        let effort: f64 = r.actions.iter().map(|a| a.effort(run)).sum();
        (!r.is_allowed, !r.drawbacks.is_empty(), effort)
    };
    found.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        (a.0, a.1).cmp(&(b.0, b.1)).then(a.2.total_cmp(&b.2))
    });
    remedies.found = found;
    Ok(remedies)
}

fn holds(r: &Remedy) -> bool {
    r.outcome.verdict == Verdict::Holds
}

/// Whether a shop can stop searching: allowed, without drawback, and still the same material.
fn is_enough(r: &Remedy) -> bool {
    let is_other_material = matches!(r.actions[..], [Action::OtherMaterial(_)]);
    r.is_clean() && !is_other_material
}

fn margins_K(findings: &Findings) -> impl Iterator<Item = f64> {
    findings.stations.iter().map(|s| s.limit_K - s.max_K)
}

fn changed(inputs: &Inputs, actions: &[Action]) -> Result<Run, Problems> {
    changed_inputs(inputs, actions).to_run()
}

fn changed_inputs(inputs: &Inputs, actions: &[Action]) -> Inputs {
    let mut inputs = inputs.clone();
    for action in actions {
        action.apply(&mut inputs);
    }
    inputs
}

/// Adds to every remedy that holds the chance that it softens all the same. Remedies are proposals: a quarter of the
/// samples has to do, until one of them is checked by itself.
pub fn add_chances(remedies: &mut Remedies, inputs: &Inputs, sampling: Sampling) {
    let sampling = Sampling {
        samples: sampling.samples.div_ceil(4),
        ..sampling
    };
    for remedy in &mut remedies.found {
        let changed = changed_inputs(inputs, &remedy.actions);
        let station = remedy.outcome.station;
        let certainty = certainty(&changed, station, sampling);
        remedy.chance_softens = Some(certainty.chance_softens());
    }
}

struct Search<'a> {
    run: &'a Run,
    inputs: &'a Inputs,
    options: &'a Options,
    before_K: f64,
    runs_before: bool,
    /// Of each station, K.
    margins_K: Vec<f64>,
    warnings: Vec<Warning>,
}

impl Search<'_> {
    /// What runs changed in these ways come to, in their order; none where one can't be made or simulated.
    fn outcomes<'a>(
        &self,
        changes: impl IntoIterator<Item = &'a [Action]>,
    ) -> Vec<Option<Outcome>> {
        let changes = changes.into_iter();
        let runs: Vec<Option<Run>> = changes.map(|c| changed(self.inputs, c).ok()).collect();
        let made: Vec<Run> = runs.iter().flatten().cloned().collect();
        let mut found = outcomes(&made, self.options).into_iter();
        let each = runs.iter();
        each.map(|run| run.as_ref().and_then(|_| found.next()?.ok()))
            .collect()
    }

    fn excess_K(&self, outcome: &Outcome) -> f64 {
        outcome.excess_K(self.run.requirements.margin_K)
    }

    /// Runs the changed run in full, with its warnings.
    fn remedy(&self, actions: Vec<Action>) -> Option<Remedy> {
        let run = changed(self.inputs, &actions).ok()?;
        let findings = check(&run, IntegratorKind::Rosenbrock, self.options).ok()?;
        let is_new = |w: &Warning| match w {
            Warning::Beyond(_)
            | Warning::ChamberTooCool { .. }
            | Warning::NotReached { .. }
            | Warning::Waits(Wait { until_s: None, .. })
            | Warning::RapidThermostat { .. }
            | Warning::LargePressure { .. } => !self
                .warnings
                .iter()
                .any(|known| std::mem::discriminant(known) == std::mem::discriminant(w)),
            Warning::Besides(b) => !self.warnings.iter().any(|known| match known {
                Warning::Besides(k) => std::mem::discriminant(k) == std::mem::discriminant(b),
                _ => false,
            }),
            // The first is about the model, not the shop; the second has its own mark.
            // A machine that waits a while does what it should.
            // Spools are changed as before.
            Warning::OutOfRange { .. }
            | Warning::OpensClosedMachine { .. }
            | Warning::Waits(_)
            | Warning::SpoolRunsOut { .. } => false,
        };
        let helps = margins_K(&findings)
            .zip(&self.margins_K)
            .any(|(now_K, before_K)| now_K >= before_K + WORTH_DOING_K);
        Some(Remedy {
            helps,
            effect_K: findings.outcome.margin_K - self.before_K,
            chance_softens: None,
            is_allowed: !run.requirements.must_stay_closed || run.arrangement.stays_closed(),
            cautions: findings.cautions,
            outcome: findings.outcome,
            drawbacks: findings.warnings.into_iter().filter(is_new).collect(),
            actions,
        })
    }

    /// Of each thing that comes in steps the changes at its least step that holds, or its most worth looking at when
    /// even that does not. All are searched side by side.
    fn least<F: Fn(usize) -> Vec<Action>>(&self, each: &[(usize, F)]) -> Vec<Vec<Action>> {
        let begun = each
            .iter()
            .map(|(steps, _)| Least::new(*steps, self.runs_before));
        let mut searches: Vec<Least> = begun.collect();
        loop {
            let trials: Vec<(usize, Vec<Action>)> = searches
                .iter()
                .enumerate()
                .filter_map(|(k, search)| Some((k, (each[k].1)(search.next().ok()?))))
                .collect();
            if trials.is_empty() {
                break;
            }
            let found = self.outcomes(trials.iter().map(|(_, actions)| &actions[..]));
            for ((k, _), outcome) in trials.into_iter().zip(found) {
                searches[k].learn(outcome.map(|o| o.verdict));
            }
        }
        let ends = searches.iter().zip(each);
        ends.map(|(search, (_, at))| {
            let (Ok(step) | Err(step)) = search.next();
            at(step)
        })
        .collect()
    }

    /// The best of several single changes, whether it holds or not; the earliest among equals.
    fn best(&self, actions: Vec<Action>) -> Option<Remedy> {
        let found = self.outcomes(actions.iter().map(std::slice::from_ref));
        let tried: Vec<(Action, f64)> = actions
            .into_iter()
            .zip(found)
            .filter_map(|(a, outcome)| Some((a, self.excess_K(&outcome?))))
            .collect();
        // The first that holds, or else the one with the largest margin.
        let first = tried.iter().find(|(_, excess_K)| *excess_K >= 0.0);
        let (action, _) = first.or_else(|| tried.iter().max_by(|a, b| a.1.total_cmp(&b.1)))?;
        self.remedy(vec![action.clone()])
    }

    /// The other materials of the same use that hold and that the machine can work: heaters that reach their
    /// setpoints, a chamber warm enough.
    fn materials(&self, materials: &[Material]) -> Vec<Remedy> {
        materials
            .par_iter()
            .filter(|m| m.name != self.run.material.name)
            .filter(|m| m.printed_for == self.run.material.printed_for)
            .filter_map(|m| self.remedy(vec![Action::OtherMaterial(Box::new(m.clone()))]))
            .filter(|r| holds(r) && r.drawbacks.is_empty())
            .collect()
    }

    /// Pairs of levers that hold, each reduced as far as it goes, and the pair that comes nearest.
    fn pairs(&self, levers: &[&Lever], start: Option<&Remedy>) -> (Vec<Remedy>, Option<Remedy>) {
        type Part<'l> = Box<dyn Fn(usize) -> Action + Sync + Send + 'l>;
        // A share of the lever's way, finer at its beginning, where most is gained; what is only
        // done or not is always done.
        let mut parts: Vec<Part<'_>> = levers
            .iter()
            .filter(|l| (l.at)(l.steps).keeps_closed() || !self.run.requirements.must_stay_closed)
            .map(|l| -> Part<'_> {
                Box::new(|k| {
                    let step = (l.steps * k * k).div_ceil(PAIR_STEPS * PAIR_STEPS);
                    (l.at)(step.clamp(1, l.steps))
                })
            })
            .collect();
        if let Some(Remedy { actions, .. }) = start {
            parts.push(Box::new(|_| actions[0].clone()));
        }
        let both = |a: &Part<'_>, b: &Part<'_>, k: usize| vec![a(k), b(k)];
        let mut pairs = Vec::new();
        for (i, a) in parts.iter().enumerate() {
            for b in &parts[i + 1..] {
                if !excludes(&a(1), &b(1)) {
                    pairs.push((a, b));
                }
            }
        }
        let each: Vec<_> = pairs
            .iter()
            .map(|(a, b)| (PAIR_STEPS, |k| both(a, b, k)))
            .collect();
        let least = self.least(&each);
        let found = self.outcomes(least.iter().map(|actions| &actions[..]));
        let tried: Vec<(Vec<Action>, f64)> = least
            .into_iter()
            .zip(found)
            .filter_map(|(actions, outcome)| Some((actions, self.excess_K(&outcome?))))
            .collect();
        let nearest = tried.iter().max_by(|a, b| a.1.total_cmp(&b.1));
        let nearest = nearest.and_then(|(actions, _)| self.remedy(actions.clone()));
        let found = tried
            .into_iter()
            .filter(|(_, excess_K)| *excess_K >= 0.0)
            .filter_map(|(actions, _)| self.remedy(actions))
            .collect();
        (found, nearest)
    }

    /// What extraction at its most comes to, where that is not enough.
    fn floor(&self, levers: &[Lever]) -> Option<Floor> {
        let most = levers.iter().find_map(|l| match (l.at)(l.steps) {
            action @ Action::Extract { flow_m3_per_s } => Some(Floor {
                flow_m3_per_s,
                outcome: self.outcomes([std::slice::from_ref(&action)]).pop()??,
            }),
            _ => None,
        });
        most.filter(|floor| floor.outcome.verdict != Verdict::Holds)
    }
}

/// Whether two changes replace each other instead of adding up.
fn excludes(a: &Action, b: &Action) -> bool {
    let changes_arrangement = |x: &Action| {
        matches!(
            x,
            Action::Extract { .. } | Action::LidOff | Action::DoorOpen
        )
    };
    changes_arrangement(a) && changes_arrangement(b)
}

//! What each spool of a job gives, when it is used up, and whether somebody is there to change it.

use crate::run::{PhaseKind, Run};

/// Masses that differ by less, as a share, are equal: sums of typed decimals are off by their last digit.
const SAME: f64 = 1e-9;
/// A spool that lacks no more than so much feeding is enough, s: spools of one label differ by more.
const ENOUGH_S: f64 = 60.0;

/// A spool over the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spool {
    /// Its number, from 1.
    pub number: usize,
    /// What it holds when it is put on, kg.
    pub holds_kg: f64,
    /// What is fed while it is on, kg. More than it holds where it is changed too late.
    pub drawn_kg: f64,
    /// When it begins, s from the start of the run: the run's own start, or the end of the change.
    pub begin_s: f64,
    /// When it ends, s: it is changed, or the next one has to follow without a change in the plan, or nothing more is
    /// fed.
    pub end_s: f64,
    /// When it is used up, s; none where something is left on it at its end. Before its end where the run changes it
    /// too late.
    pub runs_out_s: Option<f64>,
    /// Whether the run changes it at its end.
    pub is_changed: bool,
    /// Whether its end lies within the staffed hours; none where these are not known.
    pub staffed: Option<bool>,
}

impl Spool {
    /// Whether nobody planned to change it when it is used up, of so many spools: it is changed too late, or not at all
    /// and another would have to follow.
    pub(super) fn lacks_change(&self, of: usize) -> bool {
        self.is_changed_too_late() || (!self.is_changed && self.number != of)
    }

    /// Whether the run goes on feeding from it when nothing is left.
    #[must_use]
    pub fn is_changed_too_late(&self) -> bool {
        self.is_changed && self.runs_out_s.is_some_and(|at_s| at_s < self.end_s)
    }
}

/// The spools of a run, in order; none where it does not say what they hold.
///
/// Changes are the phases of that kind, whether they were typed or follow from the material fed. A spool is full when
/// it is put on. One that is used up after the last change in the plan is followed by the next one at once, and
/// counts as not changed. What lacks less than a minute's feed is no lack.
#[must_use]
pub fn spools(run: &Run) -> Vec<Spool> {
    let Some(mass) = run.spool else {
        return Vec::new();
    };
    let changes = changes(run);
    let fed_kg: f64 = run
        .phases
        .iter()
        .map(|p| p.feed_kg_per_s * p.length_s())
        .sum();
    let last_fed_s = run.phases.iter().rev().find(|p| p.feed_kg_per_s > 0.0);
    let last_fed_s = last_fed_s.map_or(0.0, |p| p.end_s);
    let mut found = Vec::new();
    let mut left_kg = fed_kg;
    let mut on = On::new(0.0, mass.of_kg(0));
    let mut coming = changes.iter().peekable();
    let end = |number: usize, on: &On, end_s: f64, is_changed: bool| Spool {
        number,
        holds_kg: on.holds_kg,
        drawn_kg: on.drawn_kg,
        begin_s: on.begin_s,
        end_s,
        runs_out_s: on.used_up(end_s),
        is_changed,
        staffed: run
            .staffed
            .as_ref()
            .map(|hours| hours.contain(run.date_time(end_s))),
    };
    for phase in &run.phases {
        if let Some((_, end_s)) = coming.next_if(|(begin_s, _)| phase.begin_s >= *begin_s) {
            found.push(end(found.len() + 1, &on, phase.begin_s, true));
            on = On::new(*end_s, mass.of_kg(found.len()));
        }
        let feed = phase.feed_kg_per_s;
        if feed <= 0.0 {
            continue;
        }
        let mut now_s = phase.begin_s;
        on.feed_kg_per_s = feed;
        loop {
            let fed_kg = feed * (phase.end_s - now_s);
            let rest_kg = on.holds_kg - on.drawn_kg;
            if on.empty_s.is_some() || fed_kg <= rest_kg * (1.0 + SAME) {
                on.drawn_kg += fed_kg;
                left_kg -= fed_kg;
                break;
            }
            let empty_s = now_s + rest_kg.max(0.0) / feed;
            let is_last = left_kg - rest_kg <= ENOUGH_S * feed;
            if coming.peek().is_some() || is_last {
                // It stays on, with nothing on it.
                on.empty_s = Some(empty_s);
                continue;
            }
            on.drawn_kg = on.holds_kg;
            left_kg -= rest_kg;
            found.push(end(found.len() + 1, &on, empty_s, false));
            on = On::new(empty_s, mass.of_kg(found.len()));
            on.feed_kg_per_s = feed;
            now_s = empty_s;
        }
    }
    found.push(end(found.len() + 1, &on, last_fed_s.max(on.begin_s), false));
    found
}

/// Begins and ends of spool changes, s; those that touch are one.
pub(super) fn changes(run: &Run) -> Vec<(f64, f64)> {
    stretches(run, PhaseKind::SpoolChange)
}

/// Begins and ends of phases of a kind, s; those that touch are one.
pub(super) fn stretches(run: &Run, kind: PhaseKind) -> Vec<(f64, f64)> {
    let mut found: Vec<(f64, f64)> = Vec::new();
    for phase in run.phases.iter().filter(|p| p.kind == kind) {
        match found.last_mut() {
            Some((_, end_s)) if *end_s == phase.begin_s => *end_s = phase.end_s,
            _ => found.push((phase.begin_s, phase.end_s)),
        }
    }
    found
}

/// The spool that is on.
struct On {
    begin_s: f64,
    holds_kg: f64,
    drawn_kg: f64,
    empty_s: Option<f64>,
    feed_kg_per_s: f64,
}

impl On {
    const fn new(begin_s: f64, holds_kg: f64) -> Self {
        Self {
            begin_s,
            holds_kg,
            drawn_kg: 0.0,
            empty_s: None,
            feed_kg_per_s: 0.0,
        }
    }

    /// When it was used up, if it ends then, s.
    fn used_up(&self, end_s: f64) -> Option<f64> {
        let lacks_kg = self.drawn_kg - self.holds_kg;
        if lacks_kg > ENOUGH_S * self.feed_kg_per_s {
            self.empty_s
        } else {
            (lacks_kg >= -SAME * self.holds_kg).then_some(end_s)
        }
    }
}

#[cfg(test)]
mod tests;

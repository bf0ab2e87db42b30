//! How much extraction a season needs: the least flow at which every start holds, what smaller flows are worth,
//! and on how many days the fan would be needed at all.

use super::kept::Nothing;
use super::moments::Moments;
use super::start::{Counts, Season, later};
use super::{Asked, Share, season};
use crate::chamber::StationKind;
use crate::integrate::Options;
use crate::run::Run;
use crate::study::StudyError;
use crate::study::check::{Outcome, Verdict};
use crate::study::compare::Candidate;
use crate::study::many;
use crate::study::size_fan::{GRAIN_M3_PER_S, MOST_FLOW_M3_PER_S};
use jiff::civil::Date;
use std::collections::BTreeSet;

/// Starts on which the flow is searched, of those with the least margins.
const WORST: usize = 6;
/// So far apart, s: neighbours tell the same.
const APART_S: f64 = 24.0 * 3600.0;
/// How often starts that fail in the whole season are added to the worst ones.
const ROUNDS: usize = 4;
/// Smaller flows that are told of, as shares of the least.
const SMALLER: [f64; 3] = [0.25, 0.5, 0.75];

/// What extraction does for a season.
#[derive(Debug, Clone, PartialEq)]
pub struct Extraction {
    /// The least flow at which every start holds, m3/s, in steps of 0.1 m3/h; 0 where none is needed, nothing
    /// where none is enough.
    pub least_m3_per_s: Option<f64>,
    /// What smaller flows come to, and the least, from none on.
    pub flows: Vec<AtFlow>,
    /// Days on which the filament of a job under way would come closer to its limit than required without a fan.
    pub days: usize,
    /// Days looked at.
    pub of_days: usize,
}

/// A season at one flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtFlow {
    /// The flow, m3/s.
    pub flow_m3_per_s: f64,
    /// Its starts.
    pub counts: Counts,
    /// Of the starts that do not hold without a fan, the share that do with it, 0 to 1.
    pub rescued: f64,
}

/// Finds the least flow on the worst starts, and confirms it by the whole season.
///
/// # Errors
/// When a run cannot be made or simulated.
pub fn extraction(
    candidate: &Candidate,
    moments: &Moments,
    options: &Options,
    done: &(dyn Fn(usize) + Sync),
) -> Result<Extraction, StudyError> {
    let at_flow = |flow_m3_per_s: f64| {
        let mut inputs = candidate.inputs.clone();
        inputs.extract(flow_m3_per_s);
        Candidate {
            name: candidate.name.clone(),
            inputs,
        }
    };
    let whole = |flow: f64| {
        season(
            &at_flow(flow),
            moments,
            Share::Allowed,
            options,
            &Nothing,
            done,
        )
    };
    let without = whole(0.0)?;
    let (days, of_days) = days(&at_flow(0.0), moments, options)?;
    let mut flows = vec![AtFlow::of(0.0, &without, &without)];
    let mut worst = worst_of(&without, WORST);
    let mut least_m3_per_s = None;
    let mut last = without.clone();
    let mut from = 0.0;
    for _ in 0..=ROUNDS {
        if last.counts().holds == last.starts.len() {
            least_m3_per_s = Some(from);
            break;
        }
        let search = Search {
            moments,
            options,
            at_flow: &at_flow,
            starts: &worst,
        };
        let Some(flow) = search.least_from(from)? else {
            break;
        };
        last = whole(flow)?;
        from = flow;
        worst.extend(worst_of(&last, WORST));
    }
    if let Some(least) = least_m3_per_s.filter(|least| *least > 0.0) {
        for share in SMALLER {
            let flow = (share * least / GRAIN_M3_PER_S).round() * GRAIN_M3_PER_S;
            flows.push(AtFlow::of(flow, &whole(flow)?, &without));
        }
    }
    if from > 0.0 {
        flows.push(AtFlow::of(from, &last, &without));
    }
    Ok(Extraction {
        least_m3_per_s,
        flows,
        days,
        of_days,
    })
}

impl AtFlow {
    fn of(flow_m3_per_s: f64, season: &Season, without: &Season) -> Self {
        let counts = season.counts();
        let bad = without.starts.len() - without.counts().holds;
        let both = without.starts.iter().zip(&season.starts);
        let rescued = both
            .filter(|(a, b)| a.verdict != Verdict::Holds && b.verdict == Verdict::Holds)
            .count();
        Self {
            flow_m3_per_s,
            counts,
            rescued: if bad == 0 {
                0.0
            } else {
                rescued as f64 / bad as f64
            },
        }
    }
}

/// Numbers of the starts with the least margins that do not hold, none near another.
fn worst_of(season: &Season, most: usize) -> Vec<usize> {
    let mut by_margin: Vec<usize> = (0..season.starts.len())
        .filter(|k| season.starts[*k].verdict != Verdict::Holds)
        .collect();
    by_margin.sort_by(|a, b| {
        let [a, b] = [a, b].map(|k| &season.starts[*k]);
        let can = |verdict| verdict != Verdict::CannotRun;
        (can(a.verdict).cmp(&can(b.verdict))).then(a.margin_K.total_cmp(&b.margin_K))
    });
    let apart = APART_S / season.every_s;
    let mut found: Vec<usize> = Vec::new();
    for k in by_margin {
        if found
            .iter()
            .all(|other| (*other as f64 - k as f64).abs() >= apart)
        {
            found.push(k);
        }
        if found.len() == most {
            break;
        }
    }
    found
}

struct Search<'a> {
    moments: &'a Moments,
    options: &'a Options,
    at_flow: &'a dyn Fn(f64) -> Candidate,
    starts: &'a [usize],
}

impl Search<'_> {
    /// How far the worst of the starts lies above what is required at a flow, K.
    fn excess_K(&self, flow_m3_per_s: f64) -> Result<f64, StudyError> {
        let candidate = (self.at_flow)(flow_m3_per_s);
        let asked = Asked {
            inputs: &candidate.inputs,
            moments: self.moments,
            options: self.options,
            done: &|_| (),
            kept: &Nothing,
        };
        let runs = asked.runs(self.starts)?;
        let required_K = runs.first().map_or(0.0, |r: &Run| r.requirements.margin_K);
        let outcomes: Vec<Outcome> = many::outcomes(&runs, self.options)
            .into_iter()
            .collect::<Result<_, _>>()?;
        Ok(outcomes
            .iter()
            .map(|o| o.excess_K(required_K))
            .fold(f64::INFINITY, f64::min))
    }

    /// The least flow above one that does not hold at which all of the starts do.
    fn least_from(&self, too_little: f64) -> Result<Option<f64>, StudyError> {
        let grains = |flow: f64| (flow / GRAIN_M3_PER_S).round();
        let most = grains(MOST_FLOW_M3_PER_S);
        let (mut low, mut high) = (grains(too_little), grains(too_little) + 100.0);
        // Up by thirds until it holds; more flow may also cool too far for a heater, so not to the end at once.
        let mut excess_K = self.excess_K(high.min(most) * GRAIN_M3_PER_S)?;
        while excess_K < 0.0 {
            if high >= most {
                return Ok(None);
            }
            low = high;
            high = (high * 1.6).ceil().min(most);
            excess_K = self.excess_K(high * GRAIN_M3_PER_S)?;
        }
        while high - low > 1.5 {
            let middle = (0.5 * (low + high)).round();
            if self.excess_K(middle * GRAIN_M3_PER_S)? < 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok(Some(high * GRAIN_M3_PER_S))
    }
}

/// Days on which some job that is under way would come closer to a limit than required, and all days that jobs
/// reach: from jobs that follow each other by a third of their length.
fn days(
    candidate: &Candidate,
    moments: &Moments,
    options: &Options,
) -> Result<(usize, usize), StudyError> {
    let asked = Asked {
        inputs: &candidate.inputs,
        moments,
        options,
        done: &|_| (),
        kept: &Nothing,
    };
    let first = candidate.inputs.to_run_at(moments.first)?;
    let required_K = first.requirements.margin_K;
    let step = ((first.duration_s / 3.0 / moments.every_s) as usize).max(1);
    let mut numbers: Vec<usize> = (0..moments.count).step_by(step).collect();
    numbers.extend(moments.count.checked_sub(1));
    let (mut bad, mut all): (BTreeSet<Date>, BTreeSet<Date>) = Default::default();
    for part in numbers.chunks(64) {
        let runs = asked.runs(part)?;
        for (k, course) in part.iter().zip(many::feed_courses(&runs, options)) {
            let course = course?;
            let at = moments.at(*k);
            for piece in &course.pieces {
                let date = later(at, piece.begin_s + 0.5 * piece.length_s).date();
                all.insert(date);
                let is_near = (0..StationKind::ALL.len())
                    .any(|s| course.limits_K[s] - piece.stations[s].largest().0 < required_K);
                if is_near {
                    bad.insert(date);
                }
            }
        }
    }
    Ok((bad.len(), all.len()))
}

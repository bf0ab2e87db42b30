//! A season from shared runs, with whatever these can't tell run by itself.

use rayon::prelude::*;

use super::Asked;
use super::alike::alike;
use super::alone::outcomes;
use super::field::{Field, SAMPLE_S, STATIONS, samples};
use super::measure::{LONGEST_FORGOTTEN_S, Measured, measure};
use super::reading::{Hottest, hottest};
use super::sharing::{Reason, Sharing, Steady, is_by_the_clock};
use super::start::{Start, later};
use super::witness::Witness;
use crate::chamber::StationKind;
use crate::integrate::{CHECK_TOLERANCE_K, Options};
use crate::run::Run;
use crate::study::StudyError;
use crate::study::check::Verdict;
use crate::study::many;

/// Shared runs start so often, s, unless the job is short or they do not agree then.
const EVERY_S: f64 = 16.0 * 3600.0;
/// And at least so often in a job, s.
const IN_A_JOB: f64 = 7.5;
/// So much later another run is looked at, s, to tell what goes by the clock.
const LATER_S: f64 = 26.0 * 3600.0;
/// Long steps leave up to a tenth of a kelvin inside them where the weather has a kink, which is where shared runs are
/// read. Short ones for all leave less than the tolerance of `check`, and are fewer than it asks for.
const EVEN_STEP_S: f64 = 1800.0;
/// What else a step may be wrong by, K.
const EVEN_TOLERANCE_K: f64 = 0.02;
/// Runs that are computed together,
const TOGETHER: usize = 64;
/// and short ones.
const SHORT_TOGETHER: usize = 256;
/// Runs made for comparison, besides those of the warmest and the coldest start.
const WITNESSES: usize = 22;
/// Fewer shared runs than this after the first ones have forgotten their start leave no room for comparing.
const LEAST_SHARED: f64 = 12.0;
/// What a start comes to by sharing differs from what it comes to by itself by no more than this, K, or nothing
/// is shared.
const SAME_K: f64 = 0.006;
/// A start whose margin comes so close to where another verdict begins is run by itself, K.
const BORDER_K: f64 = 0.02;
/// A hottest moment that is run once more is followed for so long after, s.
const AFTER_S: f64 = 2.0 * 3600.0;
/// And is found so near to where it was read, s, or is another.
const SAME_MOMENT_S: f64 = 3600.0;
/// What is farther off than this when it is run once more, K, has not been read well: all that are like it are run.
const WRONG_K: f64 = 0.03;
/// Fewer starts than this for each shared run are not worth it.
const WORTH: usize = 3;

/// The starts of a season; or why they can't share runs.
pub(super) fn shared(
    asked: &Asked<'_>,
    run: &Run,
) -> Result<Result<(Vec<Start>, Sharing), Reason>, StudyError> {
    let steady = match Steady::of(run) {
        Ok(steady) => steady,
        Err(reason) => return Ok(Err(reason)),
    };
    let whole = |s: f64| (s / SAMPLE_S).floor() * SAMPLE_S;
    let every_s = whole(EVERY_S.min(run.duration_s / IN_A_JOB));
    let mut reason = Reason::Few;
    // Another time of day, and perhaps another day of work.
    let number = (LATER_S / asked.moments.every_s).ceil();
    if (number as usize) < asked.moments.count {
        let later_s = number * asked.moments.every_s;
        let other = asked
            .inputs
            .to_run_at(later(asked.moments.first, later_s))?;
        if later_s < run.duration_s && !is_by_the_clock(run, &other, later_s) {
            return Ok(Err(Reason::FromTheStart));
        }
    }
    let fine = Options {
        tolerance: CHECK_TOLERANCE_K,
        ..*asked.options
    };
    let even = Options {
        tolerance: EVEN_TOLERANCE_K,
        max_step_s: EVEN_STEP_S,
        ..*asked.options
    };
    // Where runs do not agree, all steps are as careful as those of `check`; then runs are made twice as often.
    for (every_s, options) in [
        (every_s, &even),
        (every_s, &fine),
        (whole(0.5 * every_s), &fine),
    ] {
        let needed = asked.moments.every_s * WORTH as f64;
        let too_few = asked.moments.count < 12 * WITNESSES;
        // Runs for comparison lie between shared ones that have forgotten their start.
        let last_s = asked.moments.every_s * asked.moments.count as f64;
        let is_too_short = last_s < steady.from_s + LONGEST_FORGOTTEN_S + LEAST_SHARED * every_s;
        if every_s < needed || too_few || is_too_short {
            break;
        }
        let found = Season::of(asked, run, steady, every_s, options)?;
        if let Some(found) = found {
            return Ok(Ok(found));
        }
        reason = Reason::LongMemory;
    }
    Ok(Err(reason))
}

struct Season<'a> {
    asked: &'a Asked<'a>,
    /// How the shared runs are run.
    options: &'a Options,
    steady: Steady,
    field: Field,
    limits_K: [f64; STATIONS],
    required_K: f64,
    /// The shared runs in which a heater is too weak.
    weak: Vec<usize>,
    /// Temperature outside at each start, K.
    outside_K: Vec<f64>,
}

impl<'a> Season<'a> {
    fn of(
        asked: &'a Asked<'a>,
        run: &Run,
        steady: Steady,
        every_s: f64,
        options: &'a Options,
    ) -> Result<Option<(Vec<Start>, Sharing)>, StudyError> {
        let mut season = Season {
            asked,
            options,
            steady,
            field: Field {
                every_s,
                to_s: steady.to_s,
                runs: Vec::new(),
                outside_K: Vec::new(),
            },
            limits_K: StationKind::ALL.map(|s| s.limit_K(run)),
            required_K: run.requirements.margin_K,
            weak: Vec::new(),
            outside_K: Vec::new(),
        };
        season.fill()?;
        let witnesses = season.witnesses()?;
        let from_s = season.steady.from_s;
        let measured = measure(
            &season.field,
            &witnesses,
            &season.limits_K,
            from_s,
            run.duration_s,
        );
        let Some(measured) = measured else {
            return Ok(None);
        };
        season.read(&measured, &witnesses)
    }

    fn last_s(&self) -> f64 {
        self.start_s(self.asked.moments.count - 1)
    }

    fn start_s(&self, k: usize) -> f64 {
        self.asked.moments.every_s * k as f64
    }

    /// Runs the shared runs, some at a time.
    fn fill(&mut self) -> Result<(), StudyError> {
        let moments = self.asked.moments;
        let every_s = self.field.every_s;
        let count = (self.last_s() / every_s) as usize + 1;
        let starts: Vec<f64> = (0..count).map(|k| k as f64 * every_s).collect();
        for (part, starts) in starts.chunks(TOGETHER).enumerate() {
            let runs = starts
                .par_iter()
                .map(|s| Ok(self.asked.inputs.to_run_at(later(moments.first, *s))?))
                .collect::<Result<Vec<Run>, StudyError>>()?;
            for (run, from_s) in runs.iter().zip(starts) {
                self.field.outside_K.push(run.room.weather.at(0.0).0);
                while self.outside_K.len() < moments.count
                    && self.start_s(self.outside_K.len()) < from_s + every_s
                {
                    let t_s = self.start_s(self.outside_K.len()) - from_s;
                    self.outside_K.push(run.room.weather.at(t_s).0);
                }
            }
            for (k, course) in many::feed_courses(&runs, self.options)
                .into_iter()
                .enumerate()
            {
                let course = course?;
                if !course.shortfalls.is_empty() {
                    self.weak.push(part * TOGETHER + k);
                }
                self.field.runs.push(samples(&course));
            }
            (self.asked.done)((starts.len() as f64 * every_s / moments.every_s) as usize);
        }
        Ok(())
    }

    /// Runs some starts for comparison: spread over the season and between the shared ones, the warmest start, and
    /// the coldest.
    fn witnesses(&self) -> Result<Vec<Witness>, StudyError> {
        let every_s = self.field.every_s;
        // What is read of the first and last of them needs shared runs before and after.
        let forgotten_s = self.steady.from_s + LONGEST_FORGOTTEN_S;
        let from_s = forgotten_s + 3.0 * every_s;
        let to_s = self.last_s() - 3.0 * every_s;
        let golden = 0.5 * (5f64.sqrt() - 1.0);
        let mut numbers: Vec<usize> = (0..WITNESSES)
            .map(|k| {
                let share = (k as f64 + 0.5) / WITNESSES as f64;
                let near_s = ((from_s + share * (to_s - from_s)) / every_s).floor() * every_s;
                let between = 0.06 + 0.88 * (k as f64 * golden).fract();
                ((near_s + between * every_s) / self.asked.moments.every_s).round() as usize
            })
            .collect();
        let inside = |k: &usize| (from_s..=to_s).contains(&self.start_s(*k));
        let all = || (0..self.outside_K.len()).filter(inside);
        let by = |a: &usize, b: &usize| self.outside_K[*a].total_cmp(&self.outside_K[*b]);
        numbers.extend(all().max_by(by));
        numbers.extend(all().min_by(by));
        numbers.retain(inside);
        let runs = self.asked.runs(&numbers)?;
        let courses = many::feed_courses(&runs, self.options);
        let found = outcomes(self.asked, &numbers)?;
        numbers
            .into_iter()
            .zip(courses)
            .zip(found)
            .map(|((number, course), outcome)| {
                Ok(Witness {
                    number,
                    start_s: self.start_s(number),
                    outside_K: self.outside_K[number],
                    samples: samples(&course?),
                    outcome,
                })
            })
            .collect()
    }

    fn read(
        &self,
        measured: &Measured<'_>,
        witnesses: &[Witness],
    ) -> Result<Option<(Vec<Start>, Sharing)>, StudyError> {
        let count = self.asked.moments.count;
        let read: Vec<Option<Hottest>> = (0..count)
            .into_par_iter()
            .map(|k| {
                let (start_s, outside_K) = (self.start_s(k), self.outside_K[k]);
                hottest(&self.field, measured, &self.limits_K, start_s, outside_K)
                    .filter(|h| !h.may_be_later && !self.is_near_a_weak_one(k))
            })
            .collect();
        let mut starts: Vec<Option<Start>> = (0..count)
            .map(|k| read[k].as_ref().map(|h| self.start(k, h)))
            .collect();
        let looked_at = self.look_at_hottest_moments(&read, &mut starts)?;
        let first_hours: Vec<(usize, f64)> = (0..count)
            .filter_map(|k| Some((k, read[k]?.may_be_to_s?)))
            .collect();
        self.look_at_first_hours(&first_hours, &mut starts)?;
        for witness in witnesses {
            let by_itself = &witness.outcome;
            // One that can't run beside shared runs that can is told by none of them.
            if let Some(start) = &starts[witness.number]
                && (by_itself.verdict == Verdict::CannotRun
                    || (start.margin_K - by_itself.margin_K).abs() > SAME_K)
            {
                return Ok(None);
            }
        }
        let is_at_a_border = |margin_K: f64| {
            [0.0, self.required_K]
                .iter()
                .any(|border_K| (margin_K - border_K).abs() < BORDER_K)
        };
        let alone: Vec<usize> = (0..count)
            .filter(|k| starts[*k].is_none_or(|s| is_at_a_border(s.margin_K)))
            .collect();
        for (k, outcome) in alone.iter().zip(outcomes(self.asked, &alone)?) {
            starts[*k] = Some(Start::of(self.asked.moments.at(*k), &outcome));
        }
        for witness in witnesses {
            let at = self.asked.moments.at(witness.number);
            starts[witness.number] = Some(Start::of(at, &witness.outcome));
        }
        let sharing = Sharing::Shared {
            every_s: self.field.every_s,
            memory_s: measured.memory_s,
            by_themselves: alone.len() + first_hours.len() + looked_at + witnesses.len(),
        };
        Ok(Some((starts.into_iter().flatten().collect(), sharing)))
    }

    /// Whether a heater is too weak in one of the shared runs around a start.
    fn is_near_a_weak_one(&self, k: usize) -> bool {
        let place = self.start_s(k) / self.field.every_s;
        self.weak
            .iter()
            .any(|weak| (*weak as f64 - place).abs() <= 1.0)
    }

    fn start(&self, k: usize, hottest: &Hottest) -> Start {
        let at = self.asked.moments.at(k);
        Start {
            at,
            margin_K: hottest.margin_K,
            verdict: Verdict::of(hottest.margin_K, self.required_K),
            peak_K: self.limits_K[hottest.station] - hottest.margin_K,
            station: StationKind::ALL[hottest.station],
            peak_at: later(at, hottest.at_s),
        }
    }

    /// Runs one start of all whose hottest moment is the same to a little after it, and takes over by how much it differs
    /// from what was read. Returns how many were run.
    fn look_at_hottest_moments(
        &self,
        read: &[Option<Hottest>],
        starts: &mut [Option<Start>],
    ) -> Result<usize, StudyError> {
        let alike = alike(read, |k| self.start_s(k));
        for part in alike.chunks(SHORT_TOGETHER) {
            let picked: Vec<usize> = part.iter().map(|a| a.picked).collect();
            let mut runs = self.asked.runs(&picked)?;
            for (run, k) in runs.iter_mut().zip(&picked) {
                if let Some(hottest) = &read[*k] {
                    run.duration_s = run.duration_s.min(hottest.at_s + AFTER_S);
                }
            }
            let outcomes = many::outcomes(&runs, self.asked.options);
            for (alike, outcome) in part.iter().zip(outcomes) {
                let (outcome, Some(hottest)) = (outcome?, &read[alike.picked]) else {
                    continue;
                };
                if outcome.verdict == Verdict::CannotRun {
                    continue;
                }
                let is_same = outcome.station == StationKind::ALL[hottest.station]
                    && (outcome.peak_at_s - hottest.at_s).abs() < SAME_MOMENT_S;
                let off_K = outcome.margin_K - hottest.margin_K;
                for k in &alike.starts {
                    starts[*k] = read[*k]
                        .as_ref()
                        .filter(|_| off_K.abs() <= WRONG_K)
                        .map(|h| {
                            // Elsewhere only what is warmer counts.
                            let off_K = if is_same { off_K } else { off_K.min(0.0) };
                            let margin_K = h.margin_K + off_K;
                            self.start(*k, &Hottest { margin_K, ..*h })
                        });
                }
            }
        }
        Ok(alike.len())
    }

    /// Runs the first hours of some starts, to an age, s, and takes over what decides there.
    fn look_at_first_hours(
        &self,
        numbers: &[(usize, f64)],
        starts: &mut [Option<Start>],
    ) -> Result<(), StudyError> {
        for part in numbers.chunks(SHORT_TOGETHER) {
            let numbers: Vec<usize> = part.iter().map(|(k, _)| *k).collect();
            let mut runs = self.asked.runs(&numbers)?;
            for (run, (_, to_s)) in runs.iter_mut().zip(part) {
                // The phases stay as they are, so that the part grows as in the whole job.
                run.duration_s = *to_s;
            }
            for (k, outcome) in numbers
                .iter()
                .zip(many::outcomes(&runs, self.asked.options))
            {
                let outcome = outcome?;
                if outcome.verdict == Verdict::CannotRun {
                    // What is short for some hours may only have to wait; the whole job tells.
                    starts[*k] = None;
                } else if starts[*k].is_some_and(|s| outcome.margin_K < s.margin_K) {
                    starts[*k] = Some(Start::of(self.asked.moments.at(*k), &outcome));
                }
            }
        }
        Ok(())
    }
}

//! Break-even: how warm the room may get before an arrangement no longer holds.
//!
//! The whole weather is shifted up or down until the run's margin is just the required one. Each
//! trial is a whole run; the shift is found to [`TOLERANCE_K`].

use super::StudyError;
use super::check::Outcome;
use super::many::outcomes;
use crate::integrate::Options;
use crate::run::{Inputs, Run};

/// Width of the bracket at which the search ends, K.
pub const TOLERANCE_K: f64 = 0.05;
/// Farthest the weather is shifted either way, K: beyond that no room is workable.
const FARTHEST_K: f64 = 40.0;
/// Most runs in a bracket. Every third halves it, which alone closes the widest one in 33.
const MOST_RUNS: usize = 40;

/// Up to which room temperature a run holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BreakEven {
    /// It holds while the warmest moment of the weather is no warmer than this.
    UpTo {
        /// Shift of the whole weather, K (negative: the room would have to be cooler).
        shift_K: f64,
        /// Warmest moment of the shifted weather, K: outdoors, where the room is told from there.
        peak_K: f64,
    },
    /// Not even in weather 40 K cooler.
    Never,
    /// Even in weather 40 K warmer.
    Always,
}

impl BreakEven {
    /// The warmest moment it may have, K; none when never or always.
    #[must_use]
    pub const fn peak_K(&self) -> Option<f64> {
        match self {
            Self::UpTo { peak_K, .. } => Some(*peak_K),
            Self::Never | Self::Always => None,
        }
    }
}

/// The warmest moment of the weather during the run, K: outdoors, where the room is told from there.
#[must_use]
pub fn weather_peak_K(run: &Run) -> f64 {
    run.room.weather_peak_K(run.duration_s)
}

/// The break-even of a run, given what it comes to in its own weather. Weather in which it cannot run is
/// weather in which it does not hold.
///
/// The reported shift holds; [`TOLERANCE_K`] more does not.
///
/// # Errors
/// When a run in shifted weather cannot be made or simulated.
pub fn break_even(
    inputs: &Inputs,
    in_own_weather: &Outcome,
    options: &Options,
) -> Result<BreakEven, StudyError> {
    let mut all = break_evens(&[(inputs, in_own_weather)], options)?;
    // One run has one.
    Ok(all.pop().unwrap_or(BreakEven::Never))
}

/// The break-evens of several runs, searched for side by side: a trial of each at a time.
///
/// # Errors
/// As for [`break_even`], of the first run of which that is so.
pub fn break_evens(
    each: &[(&Inputs, &Outcome)],
    options: &Options,
) -> Result<Vec<BreakEven>, StudyError> {
    let runs: Vec<Run> = each
        .iter()
        .map(|(inputs, _)| inputs.to_run())
        .collect::<Result<_, _>>()?;
    let mut searches: Vec<Search> = each
        .iter()
        .zip(&runs)
        .map(|((_, outcome), run)| Search::new(outcome.excess_K(run.requirements.margin_K)))
        .collect();
    loop {
        let mut asking = Vec::new();
        let mut trials = Vec::new();
        for (k, (search, (inputs, _))) in searches.iter().zip(each).enumerate() {
            if let Next::Try(shift_K) = search.next() {
                let mut warmer = (*inputs).clone();
                warmer.warm(shift_K);
                asking.push((k, shift_K));
                trials.push(warmer.to_run()?);
            }
        }
        if trials.is_empty() {
            break;
        }
        let found = outcomes(&trials, options);
        for ((k, shift_K), outcome) in asking.into_iter().zip(found) {
            let excess_K = outcome?.excess_K(runs[k].requirements.margin_K);
            searches[k].learn(shift_K, excess_K);
        }
    }
    let ends = searches
        .iter()
        .zip(&runs)
        .map(|(search, run)| match search.next() {
            Next::Found(Found::At(shift_K)) => BreakEven::UpTo {
                shift_K,
                peak_K: weather_peak_K(run) + shift_K,
            },
            Next::Found(Found::Below) | Next::Try(_) => BreakEven::Never,
            Next::Found(Found::Above) => BreakEven::Always,
        });
    Ok(ends.collect())
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Found {
    At(f64),
    Below,
    Above,
}

/// What a search is at.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Next {
    /// It asks for the value there.
    Try(f64),
    /// It is at its end.
    Found(Found),
}

/// Searches the largest shift at which a value is not negative, to [`TOLERANCE_K`]. Filament follows the room about
/// kelvin by kelvin, so the first guess is good and a search takes four or five runs.
#[derive(Debug, Clone, Copy)]
enum Search {
    /// One end of the bracket is where we stand; walk until the other end is on the far side.
    Walk {
        /// 1 where it holds and warmer is looked for, else -1.
        sign: f64,
        near: (f64, f64),
        step: f64,
        walked: f64,
    },
    /// Between a shift that holds and one that does not.
    Close {
        low: (f64, f64),
        high: (f64, f64),
        round: usize,
    },
    /// Not within what is tried.
    Nowhere(Found),
}

impl Search {
    /// From the value without shift.
    fn new(at_zero: f64) -> Self {
        Self::Walk {
            sign: if at_zero >= 0.0 { 1.0 } else { -1.0 },
            near: (0.0, at_zero),
            step: at_zero.abs() + 0.5 * TOLERANCE_K,
            walked: 0.0,
        }
    }

    fn next(&self) -> Next {
        match *self {
            Self::Walk {
                sign, near, step, ..
            } => Next::Try((near.0 + sign * step).clamp(-FARTHEST_K, FARTHEST_K)),
            Self::Close { low, high, round } => {
                let width = high.0 - low.0;
                if width <= TOLERANCE_K || round >= MOST_RUNS {
                    return Next::Found(Found::At(low.0));
                }
                let secant = low.0 + width * low.1 / (low.1 - high.1);
                // Aim just past the root, on either side in turn, so that the bracket closes from both;
                // halve now and then, for a course with a kink.
                let aim = match round % 3 {
                    0 => secant - 0.4 * TOLERANCE_K,
                    1 => secant + 0.4 * TOLERANCE_K,
                    _ => low.0 + 0.5 * width,
                };
                let least = f64::min(0.3 * TOLERANCE_K, 0.25 * width);
                Next::Try(aim.clamp(low.0 + least, high.0 - least))
            }
            Self::Nowhere(found) => Next::Found(found),
        }
    }

    fn learn(&mut self, shift: f64, value: f64) {
        match self {
            Self::Walk {
                sign,
                near,
                step,
                walked,
            } => {
                let far = (shift, value);
                if (value >= 0.0) != (*sign > 0.0) {
                    let (low, high) = if *sign > 0.0 {
                        (*near, far)
                    } else {
                        (far, *near)
                    };
                    *self = Self::Close {
                        low,
                        high,
                        round: 0,
                    };
                    return;
                }
                if shift.abs() >= FARTHEST_K {
                    *self = Self::Nowhere(if *sign > 0.0 {
                        Found::Above
                    } else {
                        Found::Below
                    });
                    return;
                }
                let slope = (near.1 - value).abs() / (shift - near.0).abs();
                *near = far;
                // Longer from step to step, so that even a course that creeps along the limit is crossed.
                *walked += 1.0;
                let rest = if slope > 0.0 {
                    value.abs() / slope
                } else {
                    *step
                };
                *step = (1.2 * rest + TOLERANCE_K).clamp(0.25 * *walked, FARTHEST_K);
            }
            Self::Close { low, high, round } => {
                *round += 1;
                let end = if value >= 0.0 { low } else { high };
                *end = (shift, value);
            }
            Self::Nowhere(_) => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn find(f: impl Fn(f64) -> f64) -> (Found, usize) {
        let (mut search, mut runs) = (Search::new(f(0.0)), 0);
        loop {
            match search.next() {
                Next::Found(found) => return (found, runs),
                Next::Try(x) => search.learn(x, f(x)),
            }
            runs += 1;
        }
    }

    /// Exact roots are known by construction: straight, bent, kinked, jumping and steep courses.
    #[test]
    fn finds_known_roots_from_below() {
        type Course = fn(f64) -> f64;
        let cases: [(&str, f64, Course); 6] = [
            ("straight", 3.3, |x| 3.3 - x),
            ("from the failing side", -7.25, |x| -7.25 - x),
            ("bent", 2.0, |x| 4.0 - x * x.abs()),
            ("kinked", 12.0, |x| {
                if x < 11.0 {
                    11.5 - x * 0.5 - 5.0
                } else {
                    12.0 - x
                }
            }),
            ("a jump", 5.0, |x| if x <= 5.0 { 3.0 } else { -0.2 }),
            ("flat", -21.0, |x| -0.05 * (x + 21.0)),
        ];
        for (name, root, f) in cases {
            let (found, runs) = find(f);
            let Found::At(shift) = found else {
                panic!("{name}: {found:?}");
            };
            assert!(
                shift <= root + 1e-12 && root - shift <= TOLERANCE_K,
                "{name}: {shift} for {root}"
            );
            // A few runs to bracket the root, then three to each of at most seven halvings.
            assert!(runs <= 24, "{name}: {runs} runs");
        }
        assert!(find(|x| 3.3 - x).1 <= 4);
    }

    #[test]
    fn says_when_there_is_no_root() {
        assert_eq!(find(|x| 100.0 - x).0, Found::Above);
        assert_eq!(find(|x| -100.0 - x).0, Found::Below);
        assert_eq!(find(|_| 0.01).0, Found::Above);
    }
}

//! The search for the least step of a change that holds.

use crate::study::Verdict;

/// Searches the least step that holds, by halving, given that more never softens more than less; or the largest worth
/// looking at where none holds. More may well be too much for a heater, such as air drawn over a bed: then the
/// largest that still runs counts as the most.
#[derive(Debug, Clone, Copy)]
pub(super) struct Least {
    at: At,
    runs_before: bool,
}

#[derive(Debug, Clone, Copy)]
enum At {
    /// What the most comes to; the second time, the most that still runs.
    Most { step: usize, again: bool },
    /// Where heaters begin to be too weak: not at `low`, but at `high`.
    TooMuch { low: usize, high: usize },
    /// Where it begins to hold: not at `low`, but at `high`.
    Enough { low: usize, high: usize },
    /// None holds, and this is the most.
    Never { step: usize },
}

impl Least {
    /// Of so many steps; and whether the run without any of them can run.
    pub const fn new(steps: usize, runs_before: bool) -> Self {
        Self {
            at: At::Most {
                step: steps,
                again: false,
            },
            runs_before,
        }
    }

    /// The step whose verdict is asked for; or the end of the search.
    pub const fn next(&self) -> Result<usize, usize> {
        match self.at {
            At::Most { step, .. } => Ok(step),
            At::TooMuch { low, high } => Ok(low + (high - low) / 2),
            At::Enough { low, high } if high - low > 1 => Ok(low + (high - low) / 2),
            At::Enough { high, .. } => Err(high),
            At::Never { step } => Err(step),
        }
    }

    /// Takes note of that verdict; none where the changed run can't be made.
    pub fn learn(&mut self, verdict: Option<Verdict>) {
        let cannot = verdict == Some(Verdict::CannotRun);
        let holds = verdict == Some(Verdict::Holds);
        let (Ok(asked) | Err(asked)) = self.next();
        self.at = match self.at {
            At::Most { step, again } if cannot && self.runs_before && !again => {
                Self::too_much(0, step)
            }
            At::Most { step, .. } if holds => At::Enough { low: 0, high: step },
            At::Most { step, .. } => At::Never { step },
            At::TooMuch { low, .. } if cannot => Self::too_much(low, asked),
            At::TooMuch { high, .. } => Self::too_much(asked, high),
            At::Enough { low, .. } if holds => At::Enough { low, high: asked },
            At::Enough { high, .. } => At::Enough { low: asked, high },
            At::Never { step } => At::Never { step },
        };
    }

    /// The most that still runs, or the search for it goes on.
    const fn too_much(low: usize, high: usize) -> At {
        match (low, high) {
            (0, 0 | 1) => At::Never { step: 1 },
            (low, high) if high - low <= 1 => At::Most {
                step: low,
                again: true,
            },
            (low, high) => At::TooMuch { low, high },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The end of a search in which steps from one on hold and from another on cannot run, and its trials.
    fn end(steps: usize, holds_from: usize, cannot_from: usize) -> (usize, usize) {
        let (mut search, mut trials) = (Least::new(steps, true), 0);
        loop {
            match search.next() {
                Err(end) => return (end, trials),
                Ok(k) => {
                    assert!((1..=steps).contains(&k));
                    search.learn(Some(if k >= cannot_from {
                        Verdict::CannotRun
                    } else if k >= holds_from {
                        Verdict::Holds
                    } else {
                        Verdict::Tight
                    }));
                    trials += 1;
                }
            }
        }
    }

    #[test]
    fn the_least_step_is_found_wherever_it_lies() {
        for steps in [1, 2, 7, 16, 100] {
            for holds in 1..=steps {
                for cannot in (holds + 1)..=(steps + 1) {
                    let (found, trials) = end(steps, holds, cannot);
                    assert_eq!(found, holds, "of {steps}, {cannot} is too much");
                    assert!(trials <= 2 + 2 * 7, "{trials}");
                }
            }
            // None is enough: the most; the most that runs; or, where not even one does, the first.
            assert_eq!(end(steps, steps + 1, steps + 1).0, steps);
            for cannot in 1..=steps {
                assert_eq!(end(steps, steps + 1, cannot).0, (cannot - 1).max(1));
            }
        }
    }
}

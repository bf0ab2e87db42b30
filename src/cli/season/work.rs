//! The seasons one after the other: each weather, each arrangement.

use super::state::{State, WHOLE};
use crate::cli::common::Failure;
use crate::cli::terminal::Progress;
use crate::integrate::Options;
use crate::study::compare::Candidate;
use crate::study::season::kept::Kept;
use crate::study::season::{Moments, Season, Share, Sharing, season};
use crate::weather::Series;
use std::sync::Arc;

/// A series and its name; none: the run's own.
pub struct Weather {
    pub name: String,
    pub series: Option<Arc<Series>>,
}

/// What is to be done.
pub struct Work<'a> {
    pub candidates: &'a [Candidate],
    pub weathers: &'a [Weather],
    pub every_s: f64,
    pub state: &'a State,
}

impl Work<'_> {
    /// The arrangements in one weather.
    pub fn in_weather(&self, weather: &Weather) -> Vec<Candidate> {
        let mut candidates = self.candidates.to_vec();
        if let Some(series) = &weather.series {
            for candidate in &mut candidates {
                candidate.inputs.take_series(series);
            }
        }
        candidates
    }

    /// The moments of a start in the weather of an arrangement.
    pub fn moments(&self, candidate: &Candidate) -> Result<Moments, Failure> {
        let moments = Moments::of(&candidate.inputs, self.every_s).ok_or_else(|| {
            Failure::Usage(
                "this run's weather is no series: name the season's with --weather FILE, a CSV file with the columns time,temperature_degC"
                    .to_owned(),
            )
        })?;
        if moments.count == 0 {
            return Err(Failure::Usage(
                "the job takes longer than the weather lasts, so that no start is possible: name a longer series with --weather FILE"
                    .to_owned(),
            ));
        }
        Ok(moments)
    }

    /// How many starts there are in all.
    pub fn starts(&self) -> Result<usize, Failure> {
        let mut all = 0;
        for weather in self.weathers {
            for candidate in self.in_weather(weather) {
                all += self.moments(&candidate)?.count;
            }
        }
        Ok(all)
    }

    /// Runs them all and hands each season on.
    pub fn run(
        &self,
        progress: &Progress,
        mut take: impl FnMut(&Weather, Season) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        for (w, weather) in self.weathers.iter().enumerate() {
            for (a, candidate) in self.in_weather(weather).iter().enumerate() {
                let moments = self.moments(candidate)?;
                let kept = self.state.of(w, a);
                let done = |more| progress.advance(more);
                let options = Options::default();
                let found = match kept.block(WHOLE).filter(|b| b.len() == moments.count) {
                    Some(starts) => {
                        done(moments.count);
                        Season {
                            starts,
                            ..Season::without_starts(candidate, &moments)?
                        }
                    }
                    None => season(candidate, &moments, Share::Allowed, &options, &kept, &done)?,
                };
                // Blocks of starts by themselves are kept already.
                if matches!(found.sharing, Sharing::Shared { .. }) {
                    kept.keep(WHOLE, &found.starts);
                }
                take(weather, found)?;
            }
        }
        Ok(())
    }
}

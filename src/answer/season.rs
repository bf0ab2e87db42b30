//! When is it safe to start?

use super::AnswerError;
use crate::integrate::Options;
use crate::keys::moment::local_date_time;
use crate::output::season as output;
use crate::run::Run;
use crate::study::compare::Candidate;
use crate::study::season::kept::Kept;
use crate::study::season::{
    Counts, Extraction, Moments, Season, Share, Sharing, Years, extraction, season,
};
use crate::weather::Series;
use jiff::civil::DateTime;
use serde_json::Value;
use std::sync::Arc;

/// The number under which a whole season is kept; those of blocks are smaller.
pub const WHOLE: usize = usize::MAX >> 12;

/// A series and its name; none: the run's own.
#[derive(Debug, Clone)]
pub struct Weather {
    /// Its name.
    pub name: String,
    /// Its temperatures.
    pub series: Option<Arc<Series>>,
}

impl Weather {
    /// The run's own.
    #[must_use]
    pub fn own() -> Self {
        Self {
            name: "the run's own".to_owned(),
            series: None,
        }
    }
}

/// What is to be looked at.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// Arrangements, the run as it is first.
    pub candidates: &'a [Candidate],
    /// At least one.
    pub weathers: &'a [Weather],
    /// Time between starts, s.
    pub every_s: f64,
}

/// All that was found: seasons where there is one weather, years where there are several.
#[derive(Debug)]
pub struct Found {
    /// One an arrangement; none with several weathers.
    pub seasons: Vec<Season>,
    /// One an arrangement; none with one weather.
    pub years: Vec<Years>,
    /// The margin that is asked for, K.
    pub required_K: f64,
    /// Whether the year of the weather stands for any.
    pub is_typical_year: bool,
}

impl Asked<'_> {
    /// Whether there is more than one weather.
    #[must_use]
    pub const fn is_of_years(&self) -> bool {
        self.weathers.len() > 1
    }

    /// The arrangements in one weather.
    #[must_use]
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
    ///
    /// # Errors
    /// When its weather is no series, or ends before the job does.
    pub fn moments(&self, candidate: &Candidate) -> Result<Moments, AnswerError> {
        let moments = Moments::of(&candidate.inputs, self.every_s).ok_or_else(|| {
            AnswerError::Asked(
                "this run's weather is no series: name the season's with --weather FILE, a CSV file with the columns time,temperature_degC"
                    .to_owned(),
            )
        })?;
        if moments.count == 0 {
            return Err(AnswerError::Asked(
                "the job takes longer than the weather lasts, so that no start is possible: name a longer series with --weather FILE"
                    .to_owned(),
            ));
        }
        Ok(moments)
    }

    /// How many starts there are in all.
    ///
    /// # Errors
    /// As [`Asked::moments`].
    pub fn starts(&self) -> Result<usize, AnswerError> {
        let mut all = 0;
        for weather in self.weathers {
            for candidate in self.in_weather(weather) {
                all += self.moments(&candidate)?.count;
            }
        }
        Ok(all)
    }

    /// Runs them all and hands each season on. `kept` holds what was done before, by the numbers of weather and
    /// arrangement; `done` is told of so many more starts, from any thread.
    ///
    /// # Errors
    /// As [`Asked::moments`]; when a run can't be made or simulated; what `take` returns.
    pub fn run<K: Kept, E: From<AnswerError>>(
        &self,
        kept: impl Fn(usize, usize) -> K,
        done: &(dyn Fn(usize) + Sync),
        mut take: impl FnMut(&Weather, Season) -> Result<(), E>,
    ) -> Result<(), E> {
        for (w, weather) in self.weathers.iter().enumerate() {
            for (a, candidate) in self.in_weather(weather).iter().enumerate() {
                take(weather, self.one(candidate, &kept(w, a), done)?)?;
            }
        }
        Ok(())
    }

    fn one(
        &self,
        candidate: &Candidate,
        kept: &impl Kept,
        done: &(dyn Fn(usize) + Sync),
    ) -> Result<Season, AnswerError> {
        let moments = self.moments(candidate)?;
        if let Some(starts) = kept.block(WHOLE).filter(|b| b.len() == moments.count) {
            done(moments.count);
            return Ok(Season {
                starts,
                ..Season::without_starts(candidate, &moments)?
            });
        }
        let options = Options::default();
        let found = season(candidate, &moments, Share::Allowed, &options, kept, done)?;
        // Blocks of starts by themselves are kept already.
        if matches!(found.sharing, Sharing::Shared { .. }) {
            kept.keep(WHOLE, &found.starts);
        }
        Ok(found)
    }

    /// The least extraction flow that makes every start of the first weather hold, and what smaller ones are worth.
    ///
    /// # Errors
    /// As [`Asked::moments`]; when a run can't be made or simulated.
    pub fn least_flow(&self) -> Result<Extraction, AnswerError> {
        let own = &self.in_weather(&self.weathers[0])[0];
        let moments = self.moments(own)?;
        Ok(extraction(own, &moments, &Options::default(), &|_| ())?)
    }

    /// What a season of this run begins with.
    #[must_use]
    pub fn nothing_found(&self, run: &Run) -> Found {
        let years = self.candidates.iter().map(|c| Years::new(&c.name));
        let own = self.in_weather(&self.weathers[0]);
        Found {
            seasons: Vec::new(),
            years: if self.is_of_years() {
                years.collect()
            } else {
                Vec::new()
            },
            required_K: run.requirements.margin_K,
            is_typical_year: own.first().is_some_and(|c| c.inputs.has_typical_year()),
        }
    }
}

impl Found {
    /// Adds a season in that weather.
    pub fn add(&mut self, weather: &Weather, season: Season) {
        self.required_K = season.required_K;
        if self.years.is_empty() {
            self.seasons.push(season);
        } else if let Some(years) = self.years.iter_mut().find(|y| y.name == season.name) {
            years.add(&weather.name, &season);
        }
    }

    /// What became of the starts of the run as it is.
    #[must_use]
    pub fn counts(&self) -> Counts {
        match (self.seasons.first(), self.years.first()) {
            (Some(own), _) => own.counts(),
            (None, Some(own)) => own.counts,
            (None, None) => Counts::default(),
        }
    }

    /// The moment from which starts are asked for; in a typical year, the same day and hour of that.
    #[must_use]
    pub fn from(&self, at: DateTime) -> DateTime {
        if self.is_typical_year {
            in_season(at, &self.seasons)
        } else {
            at
        }
    }

    /// One object, `"schema": 1`: of the season, or of the years.
    #[must_use]
    pub fn json(&self, told: &output::Told<'_>) -> Value {
        if self.years.is_empty() {
            output::json(&self.seasons, told)
        } else {
            output::years_json(&self.years, told)
        }
    }
}

/// Reads the moment from which starts are asked for; `option` is what it was given as.
///
/// # Errors
/// When the text is no local date and time.
pub fn moment(option: &str, text: &str) -> Result<DateTime, AnswerError> {
    local_date_time(text).map_err(|told| {
        AnswerError::Asked(format!(
            "{option} {text:?}: {told}; write a local date and time, for example {option} \"2026-07-13 18:00\""
        ))
    })
}

/// The same day and hour in the season's year.
fn in_season(at: DateTime, seasons: &[Season]) -> DateTime {
    let Some((first, last)) = seasons
        .first()
        .and_then(|s| Some((s.starts.first()?.at, s.starts.last()?.at)))
    else {
        return at;
    };
    if (first..=last).contains(&at) {
        return at;
    }
    let moved = jiff::civil::Date::new(first.year(), at.month(), at.day());
    let moved = moved.map_or(at, |date| date.to_datetime(at.time()));
    if (first..=last).contains(&moved) {
        moved
    } else {
        at
    }
}

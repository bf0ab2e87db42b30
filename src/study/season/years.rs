//! Many years: how often a start holds, and how often a week as bad as the worst comes.
//!
//! Of each year only counts are kept, so that memory does not grow with the years but for a line each.

use super::pattern::Week;
use super::start::{Counts, Season, Start};
use crate::study::check::Verdict;
use std::collections::BTreeMap;

/// What became of all years so far, for one arrangement.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Years {
    /// Name of the arrangement.
    pub name: String,
    /// One line a year, in the order in which they came.
    pub years: Vec<Year>,
    /// The starts of each month, day and hour, of all years.
    pub cells: BTreeMap<Place, Share>,
    /// All starts.
    pub counts: Counts,
    /// Starts left out because the job would outlast the weather.
    pub left_out: usize,
    /// The start with the least margin of all.
    pub worst: Option<Start>,
}

/// A place in the year: month, day, hour. Starts off the hour count to theirs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// Month, 1 to 12.
    pub month: i8,
    /// Day of the month.
    pub day: i8,
    /// Hour of the day.
    pub hour: i8,
}

/// How many years have starts at a place, and in how many all of them hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Share {
    /// Years.
    pub years: u32,
    /// Of them, those in which it holds.
    pub holds: u32,
    /// The year counted last, so that several starts in one hour are one.
    last: Option<(usize, bool)>,
}

/// One year.
#[derive(Debug, Clone, PartialEq)]
pub struct Year {
    /// Its name: that of its file, and its calendar year where the file holds several.
    pub name: String,
    /// Its starts.
    pub counts: Counts,
    /// Its week with the least mean margin, of those with at least `WHOLE_WEEK` of their starts.
    pub worst_week: Option<Week>,
    /// How often a week as bad comes, in years: see `Years::rank`.
    pub return_period_years: Option<f64>,
}

/// A week counts with this share of its starts; others lie at an end of the weather.
pub const WHOLE_WEEK: f64 = 0.9;

impl Years {
    /// None yet.
    #[must_use]
    pub fn new(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            ..Self::default()
        }
    }

    /// Adds the season of a file; each calendar year of its starts is a year.
    pub fn add(&mut self, file: &str, season: &Season) {
        self.left_out += season.left_out;
        let year_of = |s: &Start| s.at.year();
        let several = season.starts.first().map(year_of) != season.starts.last().map(year_of);
        for starts in season.starts.chunk_by(|a, b| year_of(a) == year_of(b)) {
            let number = self.years.len();
            let part = Season {
                starts: starts.to_vec(),
                ..season.clone_without_starts()
            };
            for start in starts {
                self.count(number, start);
            }
            let name = if several {
                format!("{file} {}", year_of(&starts[0]))
            } else {
                file.to_owned()
            };
            self.years.push(Year {
                name,
                counts: part.counts(),
                worst_week: worst_week(&part),
                return_period_years: None,
            });
            let worst = part.worst().copied();
            let least = |s: &Option<Start>| s.map_or(f64::INFINITY, |s| s.margin_K);
            if least(&worst) < least(&self.worst) {
                self.worst = worst;
            }
        }
        self.rank();
    }

    fn count(&mut self, number: usize, start: &Start) {
        self.counts.add(start.verdict);
        let place = Place {
            month: start.at.month(),
            day: start.at.day(),
            hour: start.at.hour(),
        };
        let holds = start.verdict == Verdict::Holds;
        let cell = self.cells.entry(place).or_default();
        match cell.last {
            Some((year, held)) if year == number => {
                if held && !holds {
                    cell.holds -= 1;
                    cell.last = Some((number, false));
                }
            }
            _ => {
                cell.years += 1;
                cell.holds += u32::from(holds);
                cell.last = Some((number, holds));
            }
        }
    }

    /// Ranks the years by the mean margin of their worst weeks, the least first.
    ///
    /// The m-th of n years comes once in (n + 1)/m years: the plotting position m/(n + 1) of W. Weibull (1939),
    /// which is what the order statistics of independent years give whatever their distribution
    /// (L. Makkonen, J. Appl. Meteorol. Climatol. 45, 2006, 334-340).
    fn rank(&mut self) {
        let mut order: Vec<(usize, f64)> = self
            .years
            .iter()
            .enumerate()
            .filter_map(|(k, year)| Some((k, year.worst_week?.mean_margin_K)))
            .collect();
        order.sort_by(|a, b| a.1.total_cmp(&b.1));
        let n = order.len() as f64;
        for (m, (k, _)) in order.into_iter().enumerate() {
            self.years[k].return_period_years = Some((n + 1.0) / (m as f64 + 1.0));
        }
    }
}

fn worst_week(season: &Season) -> Option<Week> {
    let whole = 7.0 * 24.0 * 3600.0 / season.every_s;
    season
        .weeks()
        .into_iter()
        .filter(|week| week.counts.all() as f64 >= WHOLE_WEEK * whole)
        .min_by(|a, b| a.mean_margin_K.total_cmp(&b.mean_margin_K))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chamber::StationKind;
    use crate::study::season::{Reason, Sharing, later};
    use jiff::civil::date;

    /// Daily starts of some weeks from a Monday on, all with one margin.
    fn season(year: i16, weeks_K: &[f64]) -> Season {
        let first = date(year, 6, 29).at(6, 0, 0, 0);
        let starts = weeks_K.iter().enumerate().flat_map(|(week, margin_K)| {
            (0..7).map(move |day| {
                let at = later(first, 86_400.0 * (7 * week + day) as f64);
                Start {
                    at,
                    margin_K: *margin_K,
                    verdict: Verdict::of(*margin_K, 3.0),
                    peak_K: 323.15 - margin_K,
                    station: StationKind::DriveGear,
                    peak_at: at,
                }
            })
        });
        Season {
            name: "closed".to_owned(),
            required_K: 3.0,
            duration_s: 1e5,
            is_allowed: true,
            every_s: 86_400.0,
            starts: starts.collect(),
            left_out: 2,
            sharing: Sharing::Alone(Reason::Few),
        }
    }

    /// By hand: of three years the worst week comes once in (3 + 1)/1 years, the next one in 4/2, the last in 4/3.
    #[test]
    fn years_are_ranked_by_their_worst_weeks() {
        let mut years = Years::new("closed");
        // 29 June is a Monday in 2015, 2020 and 2026.
        years.add("a", &season(2015, &[4.0, 2.0, 5.0, 5.0]));
        years.add("b", &season(2020, &[4.0, -1.0, 5.0, 5.0]));
        years.add("c", &season(2026, &[4.0, 4.0, 3.5, 5.0]));
        let periods: Vec<f64> = years
            .years
            .iter()
            .filter_map(|y| y.return_period_years)
            .collect();
        assert_eq!(periods, [2.0, 4.0, 4.0 / 3.0]);
        let week = years.years[1].worst_week.unwrap();
        assert_eq!((week.monday, week.mean_margin_K), (date(2020, 7, 6), -1.0));
        assert_eq!(years.left_out, 6);
        assert_eq!(years.worst.map(|s| s.at.year()), Some(2020));
        // Each start of the second week holds in one year of three, the others in all.
        let share = |month, day| {
            let cell = years.cells[&Place {
                month,
                day,
                hour: 6,
            }];
            (cell.holds, cell.years)
        };
        assert_eq!((share(7, 6), share(7, 13)), ((1, 3), (3, 3)));
        assert_eq!(years.cells.len(), 28);
        assert_eq!(years.counts.all(), 84);
    }

    /// A file of several years is several years; a start each half hour counts its hour once.
    #[test]
    fn a_file_may_hold_several_years() {
        let mut both = season(2015, &[4.0]);
        let mut later_year = season(2026, &[2.0]).starts;
        let mut half_past = later_year[0];
        half_past.at = later(half_past.at, 1800.0);
        half_past.verdict = Verdict::Holds;
        later_year.insert(1, half_past);
        both.starts.extend(later_year);
        let mut years = Years::new("closed");
        years.add("log", &both);
        let names: Vec<&str> = years.years.iter().map(|y| y.name.as_str()).collect();
        assert_eq!(names, ["log 2015", "log 2026"]);
        let cell = years.cells[&Place {
            month: 6,
            day: 29,
            hour: 6,
        }];
        assert_eq!((cell.holds, cell.years), (1, 2));
    }
}

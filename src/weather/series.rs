//! A weather series in memory: the points of a file, read once and shared by every run that asks for them.

use super::asked::{Asked, By};
use super::clock::Clock;
use super::fill::{Fill, Filled, Hole, filled, holes};
use super::format::{is_named_epw, not_epw, recognised};
use super::gaps;
use super::hourly::HOUR_S;
use super::rows::{Format, Places, Rows};
use super::station::Station;
use super::steps::{LONGEST_STEP_S, Limit, Steps};
use super::thin::thinned;
use super::understood::{hours_understood, moment};
use super::{epw, file, isd_lite, tmy3};
use crate::course::{Course, Points};
use crate::keys::problem::Problem;
use crate::quantity::format_count;
use crate::table::{DataFile, Encoding, Mistakes, Table};
use jiff::civil::DateTime;
use std::sync::Arc;

/// A file of local times and temperatures, in order of time.
#[derive(Debug, PartialEq)]
pub struct Series {
    /// Kept to show where a gap is.
    places: Places,
    format: Format,
    station: Option<Station>,
    /// The file's clock: that of its rows.
    begin: DateTime,
    clock: Clock,
    /// What a year lasts whose end is followed by its beginning, s.
    round_s: Option<f64>,
    steps: Steps,
    /// On the series' own clock, which begins with its first row. Those of a round year come twice.
    points: Arc<Points>,
    usual_s: f64,
    holes: Vec<Hole>,
    filled: Filled,
    understood: String,
    is_plain: bool,
    thinned_within_K: f64,
    by: By,
}

/// Why a series gives no course for a run.
#[derive(Debug)]
pub(crate) enum NoCourse {
    /// It does not reach from the run's start to its end.
    TooShort,
    /// Rows that the run needs are missing.
    Gaps(Vec<Problem>),
}

/// How much weather after the run's end is kept: enough to ask whether a start up to a day later
/// would do, s.
const KEPT_AFTER_S: f64 = 24.0 * 3_600.0;

impl Series {
    /// The series of a file; `None` when something is wrong, which then has been reported.
    pub(crate) fn read(file: DataFile, asked: &Asked, problems: &mut Vec<Problem>) -> Option<Self> {
        let mut mistakes = Mistakes::default();
        let rows = rows(file, asked, &mut mistakes);
        let rows = rows.map(|mut rows| {
            if asked.is_round && mistakes.is_empty() {
                wrap(&mut rows, &mut mistakes);
            }
            rows
        });
        if mistakes.is_empty() {
            return Self::of(rows?, asked);
        }
        mistakes.report(problems);
        None
    }

    fn of(mut rows: Rows, asked: &Asked) -> Option<Self> {
        let is_strict = rows.format != Format::Table || asked.fill != Fill::Never;
        let limit = match rows.format {
            Format::Epw | Format::Tmy3 => Limit::Known(HOUR_S),
            Format::IsdLite | Format::Table if is_strict => Limit::Every,
            Format::IsdLite | Format::Table => Limit::Loose,
        };
        let mut times_s = rows.times_s.clone();
        if let Some(period_s) = rows.round_s {
            times_s.extend(rows.times_s.iter().map(|t| t + period_s));
            times_s.push(rows.times_s[0] + 2.0 * period_s);
        }
        let steps = Steps::of(&times_s, limit);
        let usual_s = match limit {
            Limit::Known(step_s) => step_s,
            Limit::Loose | Limit::Every => steps.usual_s(),
        };
        let holes = holes(&rows, usual_s);
        let filled = filled(&mut rows, &holes, usual_s, asked.fill);
        let begins_s = filled.stretches_s().iter().map(|(from_s, _)| *from_s);
        let steps = match rows.round_s {
            None => steps.bridged(begins_s.collect()),
            Some(period_s) => {
                let begins_s: Vec<f64> = begins_s.collect();
                let again = begins_s.iter().map(|from_s| from_s + period_s);
                steps.bridged(begins_s.iter().copied().chain(again).collect())
            }
        };
        if let Some(period_s) = rows.round_s {
            let n = rows.times_s.len();
            for k in 0..=n {
                let again_s = rows.times_s[k % n] + period_s * (1 + k / n) as f64;
                rows.times_s.push(again_s);
                rows.temperatures_K.push(rows.temperatures_K[k % n]);
            }
        }
        let thin = thinned(rows.times_s, rows.temperatures_K, LONGEST_STEP_S);
        // Rising times and finite values are what the rows have been checked for.
        let points = Points::new(thin.times_s, thin.values).ok()?;
        if let Some(words) = filled.words() {
            rows.understood = format!("{}; {words}", rows.understood);
        }
        Some(Self {
            places: rows.places,
            format: rows.format,
            station: rows.station,
            begin: rows.begin,
            clock: rows.clock,
            round_s: rows.round_s,
            steps,
            points: Arc::new(points),
            usual_s,
            holes,
            filled,
            understood: rows.understood,
            is_plain: rows.is_plain,
            thinned_within_K: thin.within,
            by: asked.by,
        })
    }

    /// Times of the first and the last row on the run's clock. Of a typical year, its first and its last
    /// midnight in a nominal year.
    #[must_use]
    pub fn span(&self) -> (DateTime, DateTime) {
        match self.round_s {
            None => (
                self.clock.of_shop(self.begin),
                self.clock
                    .of_shop(moment(self.begin, self.steps.whole_s().1)),
            ),
            Some(period_s) => {
                let begin = self
                    .begin
                    .first_of_year()
                    .date()
                    .to_datetime(jiff::civil::Time::midnight());
                (begin, moment(begin, period_s))
            }
        }
    }

    /// Whether it is one nominal year, whose December is followed by its January: a run of any year finds its
    /// weather in it by month, day and hour. Of a year that has no 29 February, a start on that day gets 1 March.
    #[must_use]
    pub const fn is_typical_year(&self) -> bool {
        self.round_s.is_some()
    }

    /// The air at a time of the run's clock, K, on the straight line between the rows around it; none where
    /// there are no rows around it, or a gap is between them.
    #[must_use]
    pub fn temperature_K(&self, at: DateTime) -> Option<f64> {
        // A minute of course begins and ends at rows.
        self.course(at, 60.0).ok().map(|course| course.at(0.0).0)
    }

    /// What was filled in by the rule that was asked for.
    #[must_use]
    pub const fn filled(&self) -> &Filled {
        &self.filled
    }

    /// Whether any air from a start on, for so many seconds, was filled in.
    #[must_use]
    pub fn has_filled(&self, start: DateTime, duration_s: f64) -> bool {
        let from_s = self.own_s(start);
        let touches = |from_s| self.filled.touches(from_s, from_s + duration_s);
        touches(from_s)
            || self
                .round_s
                .is_some_and(|period_s| touches(from_s - period_s))
    }

    /// Which kind of file it is from.
    #[must_use]
    pub const fn format(&self) -> Format {
        self.format
    }

    /// The place that the file's header names.
    #[must_use]
    pub const fn station(&self) -> Option<&Station> {
        self.station.as_ref()
    }

    /// What was understood of the file, in one line.
    #[must_use]
    pub fn understood(&self) -> &str {
        &self.understood
    }

    /// Whether the file is laid out as the program's own examples are, so that nothing had to be found out.
    #[must_use]
    pub const fn is_plain(&self) -> bool {
        self.is_plain
    }

    /// How the rows were thinned, in one line; none where each is kept.
    #[must_use]
    pub fn thinned(&self) -> Option<String> {
        (self.thinned_within_K > 0.0).then(|| {
            format!(
                "{} rows thinned to {} points, joined by straight lines: nowhere cooler than a row, at most {} K warmer, each day's peak as logged",
                format_count(self.steps.rows()),
                format_count(self.points.times_s().len()),
                self.thinned_within_K
            )
        })
    }

    /// The points of the series on its own clock, each time once, s and K; those of a round year end with its
    /// first again, so that no time is left out.
    pub(super) fn points(&self) -> impl Iterator<Item = (f64, f64)> {
        let course = Course::series(Arc::clone(&self.points));
        let end_s = self.round_s.unwrap_or(f64::INFINITY);
        let points: Vec<(f64, f64)> = course
            .points()
            .take_while(|(t_s, _)| *t_s <= end_s)
            .collect();
        points.into_iter()
    }

    /// A time of the series' own clock on the run's; in a round year, on the day of its nominal year.
    pub(super) fn shop_time(&self, own_s: f64) -> DateTime {
        let time = self.clock.of_shop(moment(self.begin, own_s));
        if self.round_s.is_none() || time.year() == self.begin.year() {
            return time;
        }
        jiff::civil::Date::new(self.begin.year(), time.month(), time.day())
            .map_or(time, |day| day.to_datetime(time.time()))
    }

    /// How the file's clock and the run's lie to each other.
    pub(super) const fn clock(&self) -> &Clock {
        &self.clock
    }

    /// How many rows the file has, and what is usually between two, s.
    pub(super) fn rows(&self) -> (usize, f64) {
        let rows = self.steps.rows();
        let once = self.round_s.map_or(rows, |_| (rows - 1) / 2);
        (once, self.usual_s)
    }

    /// What is missing and not filled, each with the line of the row after it.
    pub(super) fn open_holes(&self) -> impl Iterator<Item = (&Hole, usize)> {
        let filled = self.filled.stretches_s();
        let is_open = |hole: &&Hole| !filled.iter().any(|(from_s, _)| *from_s == hole.from_s);
        self.holes
            .iter()
            .filter(is_open)
            .map(|hole| (hole, self.line_after(hole)))
    }

    fn line_after(&self, hole: &Hole) -> usize {
        let row = self.steps.row_at(hole.to_s);
        self.places.line(row % self.rows().0.max(1))
    }

    /// What is missing anywhere in the series: for a season, which needs all of it.
    #[must_use]
    pub fn gaps(&self) -> Vec<Problem> {
        let (from_s, to_s) = self.steps.whole_s();
        self.missing((from_s, self.round_s.unwrap_or(to_s)))
    }

    fn missing(&self, part_s: (f64, f64)) -> Vec<Problem> {
        self.steps
            .too_long(part_s)
            .map_or_else(Vec::new, |too_long| {
                let told = gaps::Told {
                    places: &self.places,
                    rows: self.rows().0,
                    holes: &self.holes,
                    begin: self.begin,
                    clock: &self.clock,
                    round_s: self.round_s,
                    by: self.by,
                };
                vec![told.problem(&too_long)]
            })
    }

    /// A time of the run's clock on the series' own.
    fn own_s(&self, start: DateTime) -> f64 {
        let start = self.clock.of_file(start);
        let Some(period_s) = self.round_s else {
            return start.duration_since(self.begin).as_secs_f64();
        };
        // The same month, day and hour in the series' year.
        let year = self.begin.year();
        let midnight = jiff::civil::Date::new(year, start.month(), start.day())
            .or_else(|_| jiff::civil::Date::new(year, 3, 1));
        let start = midnight.map_or(start, |day| day.to_datetime(start.time()));
        let own_s = start.duration_since(self.begin).as_secs_f64();
        own_s.rem_euclid(period_s)
    }

    /// The temperatures, K, on the clock of a run that starts at a local time and lasts so long: from the
    /// last point not after its start to the first one not before its end, and as many of the following
    /// day as come without a gap.
    pub(crate) fn course(&self, start: DateTime, duration_s: f64) -> Result<Course, NoCourse> {
        let from_s = self.own_s(start);
        let times_s = self.points.times_s();
        let first = times_s.partition_point(|t| t - from_s <= 0.0);
        let last = times_s.partition_point(|t| t - from_s < duration_s);
        if first == 0 || last == times_s.len() {
            return Err(NoCourse::TooShort);
        }
        let kept_s = from_s + duration_s + KEPT_AFTER_S;
        let known_s = self.steps.without_gap_s(times_s[last], kept_s);
        let kept = times_s.partition_point(|t| *t < kept_s);
        let known = times_s.partition_point(|t| *t <= known_s);
        let end = (kept + 1).min(known).clamp(last + 1, times_s.len());
        let gaps = self.missing((from_s, times_s[end - 1]));
        if !gaps.is_empty() {
            return Err(NoCourse::Gaps(gaps));
        }
        let series = Course::series(Arc::clone(&self.points)).only(first - 1..end);
        Ok(series.from_later(from_s))
    }
}

/// Lets the end of a year of one's own be followed by its beginning, if it is a whole one.
fn wrap(rows: &mut Rows, mistakes: &mut Mistakes) {
    /// At most so much may be missing at its end, s.
    const MISSING_S: f64 = 24.0 * 3_600.0;
    if rows.round_s.is_some() {
        return;
    }
    let end = rows.begin.checked_add(jiff::Span::new().years(1));
    let period_s = end.map_or(0.0, |end| end.duration_since(rows.begin).as_secs_f64());
    let last_s = rows.times_s.last().copied().unwrap_or_default();
    if last_s < period_s - MISSING_S {
        let message = format!(
            "this series is no whole year, whose end could be followed by its beginning: it ends on {}",
            rows.clock.of_shop(moment(rows.begin, last_s))
        );
        let last = rows.times_s.len().saturating_sub(1);
        let help = "leave --wrap away, or name a file of a whole year";
        mistakes.push(rows.places.problem(last, &message).help(help));
        return;
    }
    let once = rows.times_s.partition_point(|t| *t < period_s);
    rows.times_s.truncate(once);
    rows.temperatures_K.truncate(once);
    rows.absent_s.retain(|t| *t < period_s);
    rows.round_s = Some(period_s);
}

/// The rows of a file of whatever format it is; what is wrong is added to the mistakes.
fn rows(file: DataFile, asked: &Asked, mistakes: &mut Mistakes) -> Option<Rows> {
    let is_named_epw = is_named_epw(&file.name);
    let table = file
        .unpacked()
        .and_then(|file| file.table(asked.sheet.as_deref()));
    let (table, encoding) = match table {
        Ok(table) => table,
        Err(problem) => {
            mistakes.push(*problem);
            return None;
        }
    };
    let format = match encoding {
        Encoding::Sheet => Format::Table,
        Encoding::Utf8 | Encoding::Utf16 | Encoding::Windows1252 => recognised(&table.source.text),
    };
    if is_named_epw && format != Format::Epw {
        mistakes.push(not_epw(&table.source, format));
        return None;
    }
    let mut rows = match format {
        Format::Table => return file::read(table, encoding, asked, mistakes),
        Format::Epw => epw::read(&table.source, mistakes)?,
        Format::Tmy3 => tmy3::read(&table.source, mistakes)?,
        Format::IsdLite => isd_lite::read(&table.source, mistakes)?,
    };
    rows.clock = clock(&rows, &table, asked, mistakes)?;
    rows.understood = hours_understood(&rows);
    Some(rows)
}

/// How the clock of a standard format and the shop's lie to each other.
fn clock(rows: &Rows, table: &Table, asked: &Asked, mistakes: &mut Mistakes) -> Option<Clock> {
    let station = rows.station.as_ref();
    let file_s = station.map_or(Some(0), |station| station.standard_time_s)?;
    match (&asked.clock, station, asked.by) {
        (Some(shop), ..) => Some(Clock::Shop(shop.clone(), file_s)),
        // A place's standard time is the clock of whoever lives there, but for summer time.
        (None, Some(_), _) | (None, None, By::Looking) => Some(Clock::Same),
        (None, None, By::RunFile | By::Options | By::Log) => {
            let message = "this file's hours are in UTC, and the run's clock is local";
            mistakes
                .push(Problem::in_file(table.source.name.clone(), message).help(asked.by.clock()));
            None
        }
    }
}

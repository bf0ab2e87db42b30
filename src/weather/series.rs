//! A weather series in memory: the rows of a file, read once and shared by every run that asks for them.

use super::file::{self, Columns, LONGEST_STEP_S, Row};
use crate::course::{Course, Points};
use crate::keys::problem::{Problem, Source};
use jiff::civil::DateTime;
use std::sync::Arc;

/// The rows of a file of local times and temperatures, in order of time.
#[derive(Debug, PartialEq)]
pub struct Series {
    source: Arc<Source>,
    rows: Vec<Row>,
    /// The same on the series' own clock, which begins with its first row.
    points: Arc<Points>,
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
    /// The series of a CSV text; `None` when something is wrong, which then has been reported.
    pub(crate) fn read(
        source: &Arc<Source>,
        columns: &Columns<'_>,
        problems: &mut Vec<Problem>,
    ) -> Option<Self> {
        let rows = file::read(source, columns, problems)?;
        let begin = rows.first()?.time;
        let times_s = rows.iter().map(|row| seconds(begin, row.time)).collect();
        let temperatures_K = rows.iter().map(|row| row.temperature_K).collect();
        // Rising times and finite values are what the rows have been checked for.
        let points = Points::new(times_s, temperatures_K).ok()?;
        Some(Self {
            source: Arc::clone(source),
            points: Arc::new(points),
            rows,
        })
    }

    /// Local times of the first and the last row.
    #[must_use]
    pub fn span(&self) -> (DateTime, DateTime) {
        (self.rows[0].time, self.rows[self.rows.len() - 1].time)
    }

    /// What is missing anywhere in the series.
    pub(crate) fn gaps(&self) -> Vec<Problem> {
        file::gaps(&self.source, &self.rows)
    }

    /// The temperatures, K, on the clock of a run that starts at a local time and lasts so long: from the
    /// last row not after its start to the first one not before its end, and as many of the following
    /// day as come without a gap.
    pub(crate) fn course(&self, start: DateTime, duration_s: f64) -> Result<Course, NoCourse> {
        let from_s = seconds(self.rows[0].time, start);
        let times_s = self.points.times_s();
        let first = times_s.partition_point(|t| t - from_s <= 0.0);
        let last = times_s.partition_point(|t| t - from_s < duration_s);
        if first == 0 || last == times_s.len() {
            return Err(NoCourse::TooShort);
        }
        let first = first - 1;
        let more = times_s[last..]
            .windows(2)
            .take_while(|pair| {
                let is_kept = pair[0] - from_s < duration_s + KEPT_AFTER_S;
                is_kept && pair[1] - pair[0] <= LONGEST_STEP_S
            })
            .count();
        let needed = first..last + more + 1;
        if file::has_gaps(&times_s[needed.clone()]) {
            return Err(NoCourse::Gaps(file::gaps(&self.source, &self.rows[needed])));
        }
        let series = Course::series(Arc::clone(&self.points)).only(needed);
        Ok(series.from_later(from_s))
    }
}

fn seconds(from: DateTime, to: DateTime) -> f64 {
    to.duration_since(from).as_secs_f64()
}

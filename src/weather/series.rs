//! A weather series in memory: the points of a file, read once and shared by every run that asks for them.

use super::asked::Asked;
use super::file;
use super::steps::{LONGEST_STEP_S, Steps, TooLong};
use super::thin::thinned;
use super::understood::{moment, understood};
use crate::course::{Course, Points};
use crate::keys::problem::Problem;
use crate::quantity::{format_count, format_duration};
use crate::table::{DataFile, Encoding, Mistakes, Table};
use jiff::civil::DateTime;
use std::ops::ControlFlow;
use std::sync::Arc;

/// A file of local times and temperatures, in order of time.
#[derive(Debug, PartialEq)]
pub struct Series {
    /// Kept to show where a gap is.
    table: Table,
    first_line: usize,
    time_at: usize,
    begin: DateTime,
    steps: Steps,
    /// On the series' own clock, which begins with its first row.
    points: Arc<Points>,
    understood: String,
    is_plain: bool,
    thinned_within_K: f64,
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
        let (table, encoding) = match file.table(asked.sheet.as_deref()) {
            Ok(table) => table,
            Err(problem) => {
                problems.push(*problem);
                return None;
            }
        };
        let rows = file::read(table, asked, problems)?;
        let understood = understood(&rows, encoding);
        let is_plain = rows.layout.is_plain
            && encoding == Encoding::Utf8
            && rows.survey.is_as_in_examples()
            && *asked == Asked::default();
        let steps = Steps::of(&rows.times_s);
        let thin = thinned(rows.times_s, rows.temperatures_K, LONGEST_STEP_S);
        // Rising times and finite values are what the rows have been checked for.
        let points = Points::new(thin.times_s, thin.values).ok()?;
        Some(Self {
            table: rows.table,
            first_line: rows.layout.first,
            time_at: rows.layout.time.at(),
            begin: rows.begin,
            steps,
            points: Arc::new(points),
            understood,
            is_plain,
            thinned_within_K: thin.within,
        })
    }

    /// Local times of the first and the last row.
    #[must_use]
    pub fn span(&self) -> (DateTime, DateTime) {
        (self.begin, moment(self.begin, self.steps.whole_s().1))
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

    /// What is missing anywhere in the series.
    pub(crate) fn gaps(&self) -> Vec<Problem> {
        self.told(self.steps.too_long(self.steps.whole_s()))
    }

    /// The temperatures, K, on the clock of a run that starts at a local time and lasts so long: from the
    /// last point not after its start to the first one not before its end, and as many of the following
    /// day as come without a gap.
    pub(crate) fn course(&self, start: DateTime, duration_s: f64) -> Result<Course, NoCourse> {
        let from_s = start.duration_since(self.begin).as_secs_f64();
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
        let too_long = self.steps.too_long((from_s, times_s[end - 1]));
        if too_long.is_some() {
            return Err(NoCourse::Gaps(self.told(too_long)));
        }
        let series = Course::series(Arc::clone(&self.points)).only(first - 1..end);
        Ok(series.from_later(from_s))
    }

    /// Steps that are too long, each shown at its later row.
    fn told(&self, too_long: Option<TooLong>) -> Vec<Problem> {
        let mut mistakes = Mistakes::default();
        match too_long {
            None => {}
            Some(TooLong::Usual { step_s, row }) => {
                let message = format!("the rows are {} apart", format_duration(step_s));
                let help = "a day's weather needs a row every 3 hours or more often";
                self.at_row(row, |problem| mistakes.push(problem), message, help);
            }
            Some(TooLong::Gaps { usual_s, gaps }) => {
                let usual = format_duration(usual_s);
                let help = "fill it by a rule you choose, such as the same hours of the day before";
                for gap in gaps {
                    mistakes.add("gaps", || {
                        let message = format!(
                            "there is a gap between {} and {}; the other rows are {usual} apart",
                            moment(self.begin, gap.from_s),
                            moment(self.begin, gap.to_s),
                        );
                        let mut told = Problem::in_file(self.table.source.name.clone(), "");
                        self.at_row(gap.row, |problem| told = problem, message, help);
                        told
                    });
                }
            }
        }
        let mut problems = Vec::new();
        mistakes.report(&mut problems);
        problems
    }

    fn at_row(&self, row: usize, tell: impl FnOnce(Problem), message: String, help: &str) {
        let (mut tell, mut rows) = (Some(tell), 0);
        self.table.lines(|line| {
            if line.at < self.first_line || line.is_blank() {
                return ControlFlow::Continue(());
            }
            rows += 1;
            if rows <= row {
                return ControlFlow::Continue(());
            }
            if let Some(tell) = tell.take() {
                tell(line.problem(self.time_at, message.as_str()).help(help));
            }
            ControlFlow::Break(())
        });
    }
}

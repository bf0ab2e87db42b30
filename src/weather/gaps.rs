//! Gaps told: how many, how long, where; the longest first.

use super::asked::By;
use super::clock::Clock;
use super::fill::Hole;
use super::rows::Places;
use super::steps::{Gap, TooLong};
use super::understood::moment;
use crate::keys::problem::Problem;
use crate::quantity::{format_count, format_duration};
use jiff::civil::DateTime;

/// More gaps than these help nobody.
const MOST_SHOWN: usize = 8;

/// What is needed to tell gaps.
pub(super) struct Told<'a> {
    pub places: &'a Places,
    /// Rows of the file.
    pub rows: usize,
    pub holes: &'a [Hole],
    pub begin: DateTime,
    pub clock: &'a Clock,
    pub round_s: Option<f64>,
    pub by: By,
}

impl Told<'_> {
    /// Steps that are too long as one problem, shown at the row after the longest.
    pub fn problem(&self, too_long: &TooLong) -> Problem {
        match too_long {
            TooLong::Usual { step_s, row } => {
                let message = format!("the rows are {} apart", format_duration(*step_s));
                let help = "a day's weather needs a row every 3 hours or more often";
                self.places.problem(*row, &message).help(help)
            }
            TooLong::Gaps { usual_s, gaps } => self.gaps(*usual_s, gaps),
        }
    }

    fn gaps(&self, usual_s: f64, gaps: &[Gap]) -> Problem {
        let mut longest: Vec<&Gap> = gaps.iter().collect();
        longest.sort_by(|a, b| (b.to_s - b.from_s).total_cmp(&(a.to_s - a.from_s)));
        let usual = format_duration(usual_s);
        let Some(first) = longest.first() else {
            return Problem::in_file(self.places.name(), "there is a gap");
        };
        let message = if let [only] = longest[..] {
            format!(
                "there is a gap between {} and {}{}; the other rows are {usual} apart",
                self.time(only.from_s),
                self.time(only.to_s),
                self.without(only)
            )
        } else {
            let together_s: f64 = gaps.iter().map(|gap| gap.to_s - gap.from_s - usual_s).sum();
            let shown: Vec<String> = longest
                .iter()
                .take(MOST_SHOWN)
                .map(|gap| {
                    format!(
                        "{} before line {} ({} to {}{})",
                        format_duration(gap.to_s - gap.from_s - usual_s),
                        self.places.line(self.row(gap)),
                        self.time(gap.from_s),
                        self.time(gap.to_s),
                        self.without(gap)
                    )
                })
                .collect();
            let more = match longest.len().saturating_sub(MOST_SHOWN) {
                0 => String::new(),
                more => format!("; and {} shorter or as short", format_count(more)),
            };
            format!(
                "there are {} gaps, {} in all where rows are {usual} apart; the longest first: {}{more}",
                format_count(gaps.len()),
                format_duration(together_s),
                shown.join("; ")
            )
        };
        self.places
            .problem(self.row(first), &message)
            .help(self.by.fill(first.to_s - first.from_s - usual_s))
    }

    /// Rows of a round year are there twice.
    fn row(&self, gap: &Gap) -> usize {
        gap.row % self.rows.max(1)
    }

    fn time(&self, at_s: f64) -> DateTime {
        self.clock.of_shop(moment(self.begin, at_s))
    }

    /// How many rows in it are there without a value.
    fn without(&self, gap: &Gap) -> String {
        let from_s = self
            .round_s
            .map_or(gap.from_s, |s| gap.from_s.rem_euclid(s));
        let at = self
            .holes
            .partition_point(|hole| hole.from_s < from_s - 1e-6);
        match self.holes.get(at) {
            Some(hole) if (hole.from_s - from_s).abs() < 1e-6 && hole.values > 0 => {
                let rows = match hole.rows {
                    0 => String::new(),
                    rows => format!(", {rows} not there"),
                };
                format!(", {} without a value{rows}", hole.values)
            }
            _ => String::new(),
        }
    }
}

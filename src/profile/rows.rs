//! The rows of a job's own course, and how a study changes them.

use crate::keys::problem::{Mark, Source};
use std::ops::Range;
use std::sync::Arc;

/// What is fed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Feed {
    /// Mass, kg/s.
    Mass(f64),
    /// Speed of the filament, m/s.
    Speed(f64),
}

impl Feed {
    /// Mass fed, kg/s, for filament of so many kg/m.
    ///
    /// ```
    /// use dogdays::profile::Feed;
    /// // 2 mm/s of 1.75 mm filament of 1240 kg/m3: 2.405e-6 m2 x 1240 x 0.002 = 5.965e-6 kg/s.
    /// let section_m2 = std::f64::consts::FRAC_PI_4 * 1.75e-3_f64.powi(2);
    /// let feed = Feed::Speed(2e-3).kg_per_s(section_m2 * 1240.0);
    /// assert!((feed - 5.965e-6).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn kg_per_s(self, kg_per_m: f64) -> f64 {
        match self {
            Self::Mass(kg_per_s) => kg_per_s,
            Self::Speed(m_per_s) => m_per_s * kg_per_m,
        }
    }
}

/// What a heater is set to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Setpoint {
    /// It is off.
    Off,
    /// A temperature, K.
    At(f64),
    /// What the job says.
    Usual,
}

/// What holds from a moment until that of the next row; the last one's until the run ends. What the table has
/// no column for is none.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// When it begins, s from the start of the run.
    pub begin_s: f64,
    /// What is fed.
    pub feed: Option<Feed>,
    /// The bed's heater.
    pub bed: Option<Setpoint>,
    /// The hotend's heater.
    pub nozzle: Option<Setpoint>,
    /// Share of the motion motors' heat, 0 to 1.
    pub motion: Option<f64>,
    /// Share of the feeder motor's heat, 0 to 1.
    pub feeder: Option<f64>,
    /// Share of the part-cooling fan, 0 to 1.
    pub part_fan: Option<f64>,
    /// The chamber's heater.
    pub chamber: Option<Setpoint>,
    /// The second hotend's heater.
    pub second_nozzle: Option<Setpoint>,
    /// Whether the filament stands: nothing is fed, and everything else goes on.
    pub stands: Option<bool>,
    /// Where its time stands in the file.
    pub(crate) span: Range<usize>,
}

/// A job's own course.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    source: Arc<Source>,
    rows: Vec<Row>,
}

impl Profile {
    pub(super) const fn new(source: Arc<Source>, rows: Vec<Row>) -> Self {
        Self { source, rows }
    }

    /// The rows in order of time; the first at 0.
    #[must_use]
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// Whether it says what is fed.
    #[must_use]
    pub fn feeds(&self) -> bool {
        self.rows.iter().any(|row| row.feed.is_some())
    }

    /// When each row begins and ends in a run of that length, s.
    pub fn spans_s(&self, duration_s: f64) -> impl Iterator<Item = (&Row, f64, f64)> {
        let ends = self.rows.iter().skip(1).map(|row| row.begin_s);
        let ends = ends.chain(std::iter::once(duration_s));
        self.rows
            .iter()
            .zip(ends)
            .map(move |(row, end_s)| (row, row.begin_s, end_s.min(duration_s)))
    }

    /// What the table feeds in a run of that length, kg, of filament of so many kg/m; none where it does not
    /// say.
    #[must_use]
    pub fn fed_kg(&self, duration_s: f64, kg_per_m: f64) -> Option<f64> {
        let fed = self
            .spans_s(duration_s)
            .filter_map(|(row, begin_s, end_s)| {
                let feed = row.feed?;
                Some(feed.kg_per_s(kg_per_m) * (end_s - begin_s).max(0.0))
            });
        self.feeds().then(|| fed.sum())
    }

    /// Where a row stands.
    pub(crate) fn mark(&self, row: &Row) -> Mark {
        Mark {
            source: Arc::clone(&self.source),
            span: row.span.clone(),
        }
    }

    /// Every temperature of the bed is lower by so much, K.
    pub(crate) fn cool_bed(&mut self, by_K: f64) {
        for row in &mut self.rows {
            if let Some(Setpoint::At(bed_K)) = &mut row.bed {
                *bed_K -= by_K;
            }
        }
    }

    /// Every temperature of the chamber's heater is lower by so much, K.
    pub(crate) fn cool_chamber(&mut self, by_K: f64) {
        for row in &mut self.rows {
            if let Some(Setpoint::At(chamber_K)) = &mut row.chamber {
                *chamber_K -= by_K;
            }
        }
    }

    /// For a material so many times as dense: the same volume is fed, and heaters that are on are set to
    /// what is usual for it.
    pub(crate) fn take_material(&mut self, denser: f64) {
        for row in &mut self.rows {
            if let Some(Feed::Mass(kg_per_s)) = &mut row.feed {
                *kg_per_s *= denser;
            }
            for heater in [&mut row.bed, &mut row.nozzle].into_iter().flatten() {
                if matches!(heater, Setpoint::At(_)) {
                    *heater = Setpoint::Usual;
                }
            }
        }
    }
}

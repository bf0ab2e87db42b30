//! A number given over time: the temperature of a room, the power of a source.
//!
//! It knows no unit and no calendar. Times are seconds on whatever clock the asker has; a course made of
//! straight lines tells where its kinks are, so that an integrator can stop there.

use std::ops::Range;
use std::sync::Arc;

/// A number given over time, ready to be asked often. Copies are cheap: a series is shared.
#[derive(Debug, Clone, PartialEq)]
pub enum Course {
    /// Always the same.
    Constant(f64),
    /// A cosine of 24 hours.
    Swing {
        /// Its mean.
        mean: f64,
        /// Half the difference of largest and smallest.
        amplitude: f64,
        /// A moment at which it is largest, s.
        crest_s: f64,
    },
    /// Points; before the first and after the last, what is next to it goes on.
    Series {
        /// The points.
        points: Arc<Points>,
        /// What lies between them.
        between: Between,
        /// Those of them that count; the others are as if they were not there.
        known: Range<usize>,
        /// The asker's time 0 on the points' clock, s.
        from_s: f64,
        /// Added to every value.
        above: f64,
    },
}

/// What lies between the points of a series.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Between {
    /// Straight lines.
    Lines,
    /// Each value until the next point, where it jumps.
    Steps,
}

/// Points in order of time.
#[derive(Debug, Clone, PartialEq)]
pub struct Points {
    times_s: Vec<f64>,
    values: Vec<f64>,
    /// How many there are in a second, were they even; 0 for one.
    per_s: f64,
}

/// Why points make no course.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CourseError {
    /// None, or not as many times as values.
    #[error(
        "a course needs a value for each of its times, and one point at least: {times} times, {values} values"
    )]
    Lengths {
        /// Number of times.
        times: usize,
        /// Number of values.
        values: usize,
    },
    /// A time that does not come after the one before it, or is not a number.
    #[error("the times of a course must rise: the one at position {0} does not")]
    Disorder(usize),
    /// A value that is not a finite number.
    #[error("the value at position {0} of a course is not a finite number")]
    NotFinite(usize),
}

impl Points {
    /// Points from strictly rising times, s, and as many values.
    ///
    /// # Errors
    /// See [`CourseError`].
    pub fn new(times_s: Vec<f64>, values: Vec<f64>) -> Result<Self, CourseError> {
        if times_s.is_empty() || times_s.len() != values.len() {
            return Err(CourseError::Lengths {
                times: times_s.len(),
                values: values.len(),
            });
        }
        let rises = |w: &[f64]| w[0].is_finite() && w[1].is_finite() && w[0] < w[1];
        if let Some(k) = times_s.windows(2).position(|w| !rises(w)) {
            return Err(CourseError::Disorder(k + 1));
        }
        match values.iter().position(|v| !v.is_finite()) {
            Some(k) => Err(CourseError::NotFinite(k)),
            None => {
                let lasts_s = times_s[times_s.len() - 1] - times_s[0];
                let per_s = if lasts_s > 0.0 {
                    (times_s.len() - 1) as f64 / lasts_s
                } else {
                    0.0
                };
                Ok(Self {
                    times_s,
                    values,
                    per_s,
                })
            }
        }
    }

    /// Times of the points, s.
    #[must_use]
    pub fn times_s(&self) -> &[f64] {
        &self.times_s
    }

    fn of(&self, known: &Range<usize>) -> (&[f64], &[f64]) {
        (&self.times_s[known.clone()], &self.values[known.clone()])
    }
}

/// Means of rows of time, s, and value that lie in the same stretch of so long, s, at their mean times. Times rise.
pub fn means(rows: &[(f64, f64)], together_s: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
    let place = move |row: &(f64, f64)| (row.0 / together_s).floor();
    rows.chunk_by(move |a, b| place(a) == place(b)).map(|rows| {
        #[expect(clippy::cast_precision_loss, reason = "rows of hours")]
        let count = rows.len() as f64;
        let mean = |of: fn(&(f64, f64)) -> f64| rows.iter().map(of).sum::<f64>() / count;
        (mean(|row| row.0), mean(|row| row.1))
    })
}

const DAY_S: f64 = 86_400.0;

/// A stretch of a course that runs straight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StraightLine {
    from_s: f64,
    to_s: f64,
    at_s: f64,
    value: f64,
    slope: f64,
}

impl StraightLine {
    /// Whether a time lies on it.
    #[must_use]
    pub fn holds(&self, t_s: f64) -> bool {
        self.from_s <= t_s && t_s <= self.to_s
    }

    /// The value at a time.
    #[must_use]
    pub fn at(&self, t_s: f64) -> f64 {
        self.value + self.slope * (t_s - self.at_s)
    }

    /// Its slope, per second.
    #[must_use]
    pub fn slope(&self) -> f64 {
        self.slope
    }
}

impl Course {
    /// Straight lines between points.
    #[must_use]
    pub fn series(points: Arc<Points>) -> Self {
        Self::of(points, Between::Lines)
    }

    /// Each value until the next point.
    #[must_use]
    pub fn steps(points: Arc<Points>) -> Self {
        Self::of(points, Between::Steps)
    }

    fn of(points: Arc<Points>, between: Between) -> Self {
        Self::Series {
            known: 0..points.times_s.len(),
            points,
            between,
            from_s: 0.0,
            above: 0.0,
        }
    }

    /// Whether its value jumps at kinks.
    #[must_use]
    pub fn jumps(&self) -> bool {
        matches!(
            self,
            Self::Series {
                between: Between::Steps,
                ..
            }
        )
    }

    /// Whether it has kinks that it knows of, see [`Course::next_kink`].
    #[must_use]
    pub const fn has_kinks(&self) -> bool {
        matches!(self, Self::Series { .. })
    }

    /// The same course, of whose points only these count (at least one of those that do now). Others are
    /// as they were.
    #[must_use]
    pub fn only(mut self, these: Range<usize>) -> Self {
        if let Self::Series { known, .. } = &mut self {
            let begin = these.start.clamp(known.start, known.end - 1);
            *known = begin..these.end.clamp(begin + 1, known.end);
        }
        self
    }

    /// The same course, larger by a constant.
    #[must_use]
    pub fn raised(mut self, by: f64) -> Self {
        match &mut self {
            Self::Constant(v) | Self::Swing { mean: v, .. } | Self::Series { above: v, .. } => {
                *v += by;
            }
        }
        self
    }

    /// The same course with every value so many times as large.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        match self {
            Self::Constant(v) => Self::Constant(factor * v),
            Self::Swing {
                mean,
                amplitude,
                crest_s,
            } => Self::Swing {
                mean: factor * mean,
                amplitude: factor * amplitude,
                crest_s: *crest_s,
            },
            Self::Series { between, .. } => {
                let (times_s, values) = self.points().map(|(t_s, v)| (t_s, factor * v)).unzip();
                // Times that have risen still do.
                Points::new(times_s, values).map_or(Self::Constant(f64::NAN), |points| {
                    Self::of(Arc::new(points), *between)
                })
            }
        }
    }

    /// The same course as asked by someone who starts later by so many seconds.
    #[must_use]
    pub fn from_later(mut self, by_s: f64) -> Self {
        match &mut self {
            Self::Constant(_) => {}
            Self::Swing { crest_s, .. } => *crest_s -= by_s,
            Self::Series { from_s, .. } => *from_s += by_s,
        }
        self
    }

    /// The points of a series on the asker's clock: time, s, and value. None for other courses.
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let series = match self {
            Self::Series {
                points,
                known,
                from_s,
                above,
                ..
            } => {
                let (times_s, values) = points.of(known);
                Some((times_s.iter().zip(values), from_s, above))
            }
            Self::Constant(_) | Self::Swing { .. } => None,
        };
        series
            .into_iter()
            .flat_map(|(points, from_s, above)| points.map(move |(t, v)| (t - from_s, v + above)))
    }

    /// Until when something is known of it, s: the last point of a series.
    #[must_use]
    pub fn known_until_s(&self) -> f64 {
        self.points().last().map_or(f64::INFINITY, |(t_s, _)| t_s)
    }

    /// Value, and slope per second, at a time. At a kink both are the later ones.
    #[must_use]
    pub fn at(&self, t_s: f64) -> (f64, f64) {
        match self {
            Self::Constant(v) => (*v, 0.0),
            Self::Swing {
                mean,
                amplitude,
                crest_s,
            } => {
                let w = std::f64::consts::TAU / DAY_S;
                let (sin, cos) = (w * (t_s - crest_s)).sin_cos();
                (mean + amplitude * cos, -amplitude * w * sin)
            }
            Self::Series { .. } => self
                .line_at(t_s)
                .map_or((f64::NAN, 0.0), |l| (l.at(t_s), l.slope)),
        }
    }

    /// The largest value between two times, `from_s <= to_s`.
    #[must_use]
    pub fn largest(&self, from_s: f64, to_s: f64) -> f64 {
        if let Self::Swing { crest_s, .. } = self {
            let crest_s = crest_s + ((from_s - crest_s) / DAY_S).ceil() * DAY_S;
            if crest_s <= to_s {
                return self.at(crest_s).0;
            }
        }
        self.points()
            .filter(|(t_s, _)| (from_s..=to_s).contains(t_s))
            .map(|(_, v)| v)
            .chain([self.at(from_s).0, self.at(to_s).0])
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// Coefficients of 1, x, x2 and x3 over a step without a kink inside, `x` from 0 to 1. A swing is
    /// followed within 2e-5 of its amplitude over an hour.
    #[must_use]
    pub fn over(&self, begin_s: f64, length_s: f64) -> [f64; 4] {
        if let Some(series) = self.as_series() {
            let k = series.line_after(begin_s);
            let a = series.line(k).at(begin_s);
            if self.jumps() {
                return [a, 0.0, 0.0, 0.0];
            }
            // Mostly the same line still holds, up to its very end.
            let end_s = begin_s + length_s;
            let k = if series.reaches(k, end_s) {
                k
            } else {
                series.line_after(end_s)
            };
            return [a, series.line(k).at(end_s) - a, 0.0, 0.0];
        }
        if let Self::Constant(v) = self {
            return [*v, 0.0, 0.0, 0.0];
        }
        let ((a, a_slope), (b, b_slope)) = (self.at(begin_s), self.at(begin_s + length_s));
        let (rise_a, rise_b) = (a_slope * length_s, b_slope * length_s);
        [
            a,
            rise_a,
            3.0 * (b - a) - 2.0 * rise_a - rise_b,
            2.0 * (a - b) + rise_a + rise_b,
        ]
    }

    /// The straight line that holds at a time, where the course is made of such lines.
    #[must_use]
    pub fn line_at(&self, t_s: f64) -> Option<StraightLine> {
        match self {
            Self::Constant(v) => Some(StraightLine {
                from_s: f64::NEG_INFINITY,
                to_s: f64::INFINITY,
                at_s: 0.0,
                value: *v,
                slope: 0.0,
            }),
            Self::Swing { .. } => None,
            Self::Series { .. } => {
                let series = self.as_series()?;
                Some(series.line(series.line_after(t_s)))
            }
        }
    }

    fn as_series(&self) -> Option<Series<'_>> {
        match self {
            Self::Series {
                points,
                between,
                known,
                from_s,
                above,
            } => {
                let (times_s, values) = points.of(known);
                Some(Series {
                    times_s,
                    values,
                    per_s: points.per_s,
                    between: *between,
                    from_s: *from_s,
                    above: *above,
                })
            }
            Self::Constant(_) | Self::Swing { .. } => None,
        }
    }

    /// The next kink after `t_s`; infinite if there is none.
    #[must_use]
    pub fn next_kink(&self, t_s: f64) -> f64 {
        match self {
            Self::Series {
                points,
                known,
                from_s,
                ..
            } => {
                let (times_s, _) = points.of(known);
                let k = first_after(times_s, points.per_s, t_s + from_s + 1e-9);
                times_s.get(k).map_or(f64::INFINITY, |t| t - from_s)
            }
            Self::Constant(_) | Self::Swing { .. } => f64::INFINITY,
        }
    }
}

/// A series with those of its points that count.
struct Series<'a> {
    times_s: &'a [f64],
    values: &'a [f64],
    per_s: f64,
    between: Between,
    from_s: f64,
    above: f64,
}

impl Series<'_> {
    /// Number of the line that holds at a time: the point at its end.
    fn line_after(&self, t_s: f64) -> usize {
        let last = self.times_s.len() - 1;
        let k = first_after(self.times_s, self.per_s, t_s + self.from_s);
        // Steps stay after the last point; lines go on along the last line.
        match self.between {
            Between::Lines => k.clamp(1, last.max(1)).min(last),
            Between::Steps => k.max(1),
        }
    }

    /// Whether a line reaches a time.
    fn reaches(&self, k: usize, t_s: f64) -> bool {
        self.times_s
            .get(k)
            .is_some_and(|end| t_s + self.from_s <= *end)
    }

    fn line(&self, k: usize) -> StraightLine {
        let before = k.saturating_sub(1);
        let (begin_s, value) = (self.times_s[before], self.values[before]);
        let end_s = self.times_s.get(k).copied().unwrap_or(f64::INFINITY);
        let slope = match self.between {
            Between::Lines if end_s > begin_s => (self.values[k] - value) / (end_s - begin_s),
            Between::Lines | Between::Steps => 0.0,
        };
        StraightLine {
            from_s: begin_s - self.from_s,
            to_s: end_s - self.from_s,
            at_s: begin_s - self.from_s,
            value: value + self.above,
            slope,
        }
    }
}

/// Position of the first of rising times after `t_s`. Series mostly come at even times: looked for
/// first where it is then.
fn first_after(times_s: &[f64], per_s: f64, t_s: f64) -> usize {
    if let Some(first) = times_s.first() {
        let k = (((t_s - first) * per_s) as usize).min(times_s.len()) + 1;
        // A time of a point may be rounded to before it.
        for k in [k, k + 1] {
            if k < times_s.len() && times_s[k - 1] <= t_s && t_s < times_s[k] {
                return k;
            }
        }
    }
    times_s.partition_point(|x| *x <= t_s)
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOUR_S: f64 = 3600.0;

    fn swing(mean: f64, amplitude: f64, crest_h: f64) -> Course {
        Course::Swing {
            mean,
            amplitude,
            crest_s: crest_h * HOUR_S,
        }
    }

    fn series(times_h: &[f64], values: &[f64]) -> Course {
        let times_s = times_h.iter().map(|h| h * HOUR_S).collect();
        Course::series(Arc::new(Points::new(times_s, values.to_vec()).unwrap()))
    }

    #[track_caller]
    #[test]
    fn rows_are_taken_together_at_their_mean_times() {
        let rows = [
            (0.0, 1.0),
            (30.0, 2.0),
            (59.0, 3.0),
            (60.0, 7.0),
            (200.0, 9.0),
        ];
        let found: Vec<_> = means(&rows, 60.0).collect();
        assert_eq!(found.len(), 3);
        near(found[0].0, 89.0 / 3.0);
        near(found[0].1, 2.0);
        assert_eq!(&found[1..], &[(60.0, 7.0), (200.0, 9.0)]);
    }

    fn near(ours: f64, by_hand: f64) {
        assert!((ours - by_hand).abs() < 1e-9, "{ours}, by hand {by_hand}");
    }

    /// By hand, on lines of 10 an hour up and 5 an hour down: inside a line, up to a kink, from it on, and on the
    /// last line beyond its end.
    #[test]
    fn a_line_is_followed_up_to_its_kinks() {
        let given = series(&[1.0, 2.0, 4.0], &[100.0, 110.0, 100.0])
            .from_later(HOUR_S)
            .raised(7.0);
        for (begin_h, length_h, value, rise) in [
            (0.5, 0.25, 112.0, 2.5),
            (0.5, 0.5, 112.0, 5.0),
            (1.0, 1.0, 117.0, -5.0),
            (2.5, 1.0, 109.5, -5.0),
        ] {
            let [a, b, c, d] = given.over(begin_h * HOUR_S, length_h * HOUR_S);
            near(a, value);
            near(b, rise);
            assert_eq!([c, d], [0.0, 0.0]);
        }
    }

    /// The cosine itself is the reference; a cubic through both ends with their slopes is off by
    /// (w h)^4/384 of the amplitude, 1.2e-5 for an hour of a day.
    #[test]
    fn a_swing_is_followed_over_an_hour() {
        let given = swing(300.0, 5.0, 9.0);
        for hour in 0..24 {
            let begin_s = HOUR_S * f64::from(hour);
            let [a, b, c, d] = given.over(begin_s, HOUR_S);
            for x in [0.0, 0.3, 0.5, 1.0] {
                let h = f64::from(hour) + x;
                let want = 300.0 + 5.0 * (std::f64::consts::TAU * (h - 9.0) / 24.0).cos();
                let got = a + x * (b + x * (c + x * d));
                assert!((got - want).abs() < 1e-4, "{hour} h, {x}: {got} {want}");
            }
        }
    }

    /// Looked up by even spacing or by search, the line is the one between the neighbours.
    #[test]
    fn series_are_read_between_their_neighbours() {
        let even = [0.0, 1.0, 2.0, 3.0];
        let uneven = [0.0, 1.0 / 6.0, 2.0, 3.0];
        for times_h in [even, uneven] {
            let given = series(&times_h, &[290.0, 296.0, 293.0, 299.0]);
            let times_s = times_h.map(|h| h * HOUR_S);
            for k in 0..3 {
                let (from, to) = (times_s[k], times_s[k + 1]);
                let (low, high) = ([290.0, 296.0, 293.0][k], [296.0, 293.0, 299.0][k]);
                for x in [0.0, 0.25, 0.9] {
                    let (value, slope) = given.at(from + x * (to - from));
                    near(value, low + x * (high - low));
                    assert!((slope - (high - low) / (to - from)).abs() < 1e-12);
                }
                assert_eq!(given.next_kink(from), to);
                assert_eq!(given.next_kink(0.5 * (from + to)), to);
            }
            assert_eq!(given.next_kink(times_s[3]), f64::INFINITY);
        }
    }

    /// A cosine: its crest at its hour, its trough twelve hours on, and the steepest fall of 2 pi
    /// amplitudes a day half way.
    #[test]
    fn a_swing_is_largest_at_its_hour() {
        let s = swing(300.0, 4.0, 8.5);
        for (hours, value, falls_per_day) in [
            (8.5, 304.0, 0.0),
            (14.5, 300.0, 8.0 * std::f64::consts::PI),
            (20.5, 296.0, 0.0),
            (26.5, 300.0, -8.0 * std::f64::consts::PI),
            (32.5, 304.0, 0.0),
        ] {
            let (got, slope) = s.at(hours * HOUR_S);
            near(got, value);
            near(slope, -falls_per_day / DAY_S);
        }
        near(s.largest(0.0, 24.0 * HOUR_S), 304.0);
        // Between crests the ends count: 300 + 4 cos(2 pi 1.5/24) at ten, less later.
        let at_ten = 300.0 + 4.0 * (std::f64::consts::PI / 8.0).cos();
        near(s.largest(10.0 * HOUR_S, 20.0 * HOUR_S), at_ten);
    }

    #[test]
    fn a_series_runs_straight_from_point_to_point() {
        let s = series(&[0.0, 1.0, 2.0, 4.0], &[300.0, 303.0, 302.0, 306.0]);
        // The end belongs to the last line: a run may be as long as its weather.
        for (hours, value, slope_per_h) in [
            (0.0, 300.0, 3.0),
            (0.5, 301.5, 3.0),
            (1.0, 303.0, -1.0),
            (1.25, 302.75, -1.0),
            (3.0, 304.0, 2.0),
            (4.0, 306.0, 2.0),
        ] {
            let (got, slope) = s.at(hours * HOUR_S);
            near(got, value);
            near(slope, slope_per_h / HOUR_S);
        }
        let line = s.line_at(1.5 * HOUR_S).unwrap();
        let holds = [0.9, 1.0, 1.5, 2.0, 2.1].map(|hours| line.holds(hours * HOUR_S));
        assert_eq!(holds, [false, true, true, true, false]);
        let kinks = [0.0, 0.5, 1.0, 2.0, 4.0].map(|hours| s.next_kink(hours * HOUR_S) / HOUR_S);
        assert_eq!(kinks, [1.0, 1.0, 2.0, 4.0, f64::INFINITY]);
        assert_eq!(s.largest(0.0, 2.0 * HOUR_S), 303.0);
        near(s.largest(1.5 * HOUR_S, 2.5 * HOUR_S), 303.0);
        assert_eq!(s.known_until_s(), 4.0 * HOUR_S);
    }

    /// A heater's power by the clock: nothing until seven, 1000 W until seventeen, nothing after.
    #[test]
    fn steps_hold_each_value_until_the_next() {
        let times_s = [0.0, 7.0, 17.0].map(|h| h * HOUR_S).to_vec();
        let points = Points::new(times_s, vec![0.0, 1000.0, 0.0]).unwrap();
        let course = Course::steps(points.into());
        assert!(course.jumps());
        let at = |h: f64| course.at(h * HOUR_S);
        let seen = [0.0, 6.9, 7.0, 16.9, 17.0, 40.0].map(|h| at(h).0);
        assert_eq!(seen, [0.0, 0.0, 1000.0, 1000.0, 0.0, 0.0]);
        assert!([1.0, 8.0, 20.0].iter().all(|h| at(*h).1 == 0.0));
        assert_eq!(course.next_kink(HOUR_S), 7.0 * HOUR_S);
        assert_eq!(course.next_kink(17.0 * HOUR_S), f64::INFINITY);
        // A line taken at its begin holds to its very end.
        let line = course.line_at(7.0 * HOUR_S).unwrap();
        assert_eq!(line.at(17.0 * HOUR_S), 1000.0);
        assert_eq!(course.over(16.0 * HOUR_S, HOUR_S), [1000.0, 0.0, 0.0, 0.0]);
    }

    /// Someone who starts an hour later sees at 0 what was at 1 h; all values rise together.
    #[test]
    fn courses_are_shifted_without_copies() {
        let plain = series(&[0.0, 1.0, 2.0, 4.0], &[300.0, 303.0, 302.0, 306.0]);
        for course in [plain, swing(300.0, 4.0, 8.5), Course::Constant(301.0)] {
            let shifted = course.clone().from_later(HOUR_S).raised(2.0);
            for h in [0.25, 0.5, 1.5, 2.5] {
                let (then, later) = (course.at((h + 1.0) * HOUR_S), shifted.at(h * HOUR_S));
                near(later.0, then.0 + 2.0);
                near(later.1, then.1);
                let (kink, kink_later) = (
                    course.next_kink((h + 1.0) * HOUR_S),
                    shifted.next_kink(h * HOUR_S),
                );
                assert!(kink == kink_later + HOUR_S);
            }
        }
    }

    /// Of a series of a year, a run of days sees its own days: the same as if the others were cut away.
    #[test]
    fn a_part_of_a_series_is_as_if_the_rest_were_not_there() {
        let times = [0.0, 1.0, 2.0, 4.0, 5.0];
        let values = [310.0, 303.0, 302.0, 306.0, 299.0];
        let part = series(&times, &values).only(1..4);
        let alone = series(&times[1..4], &values[1..4]);
        for h in [0.5, 1.0, 1.5, 3.0, 4.0, 4.5] {
            assert_eq!(part.at(h * HOUR_S), alone.at(h * HOUR_S));
            assert_eq!(part.next_kink(h * HOUR_S), alone.next_kink(h * HOUR_S));
        }
        assert_eq!(part.known_until_s(), 4.0 * HOUR_S);
        assert_eq!(part.largest(HOUR_S, 4.0 * HOUR_S), 306.0);
        assert!(part.points().eq(alone.points()));
        // Nothing is left over of what is asked for in vain.
        assert_eq!(part.clone().only(7..9).points().count(), 1);
        assert_eq!(part.only(0..2).points().count(), 1);
    }

    #[test]
    fn one_value_holds_for_ever() {
        for s in [Course::Constant(301.0), series(&[0.0], &[301.0])] {
            assert_eq!(s.at(0.0), (301.0, 0.0));
            assert_eq!(s.at(5.0 * HOUR_S), (301.0, 0.0));
            assert_eq!(s.next_kink(0.0), f64::INFINITY);
        }
    }

    #[test]
    fn what_is_no_course_is_refused() {
        let new = |t: &[f64], v: &[f64]| Points::new(t.to_vec(), v.to_vec()).unwrap_err();
        let lengths = |times, values| CourseError::Lengths { times, values };
        assert_eq!(new(&[], &[]), lengths(0, 0));
        assert_eq!(new(&[0.0], &[1.0, 2.0]), lengths(1, 2));
        assert_eq!(new(&[0.0, 1.0, 1.0], &[0.0; 3]), CourseError::Disorder(2));
        assert_eq!(new(&[0.0, f64::NAN], &[0.0; 2]), CourseError::Disorder(1));
        let infinite = [0.0, f64::INFINITY];
        assert_eq!(new(&[0.0, 1.0], &infinite), CourseError::NotFinite(1));
    }
}

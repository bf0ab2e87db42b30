//! When a thermometer is worth reading: late enough that something shows, soon enough that something can be done.

/// A log has a row so often whose error is its own, s.
pub const STEP_S: f64 = 1800.0;
/// An evening, s.
pub const EVENING_S: f64 = 4.0 * 3600.0;
/// Hours after the begin at which somebody may look, beside those of an evening.
const HOURS: [f64; 7] = [6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 24.0];
/// People read to five minutes.
const ROUND_S: f64 = 300.0;

/// From when on readings may be taken, and until when they come soon enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Begin, s from the start.
    pub from_s: f64,
    /// End, s from the start.
    pub until_s: f64,
}

impl Window {
    /// That of a run so long, s, whose margin is least at a moment, s, and in which readings were taken until another,
    /// s; nothing of it where the last was taken at its end.
    ///
    /// A reading at the worst moment itself would tell most, and too late: what is asked for comes within a day, and
    /// leaves at least as long again until it gets worst.
    #[must_use]
    pub fn of(duration_s: f64, worst_at_s: f64, last_read_s: f64) -> Self {
        let from_s = last_read_s.max(0.0);
        let ahead_s = if worst_at_s > from_s {
            0.5 * (worst_at_s - from_s)
        } else {
            // The worst is over; what is learned is for the next such run.
            duration_s - from_s
        };
        Self {
            from_s,
            until_s: from_s + ahead_s.clamp(0.0, 24.0 * 3600.0),
        }
    }

    /// The rows of a log over its first evening, s from the start of the run.
    #[must_use]
    pub fn evening_s(self) -> Vec<f64> {
        let until_s = self.until_s.min(self.from_s + EVENING_S);
        (1..)
            .map(|k| self.from_s + STEP_S * f64::from(k))
            .take_while(|t_s| *t_s <= until_s + 1e-6)
            .collect()
    }

    /// Every moment at which to look, s from the start of the run, in order: each half hour of an evening, some hours of
    /// a day, and these others, s, where they lie within. Those of an evening come first and no two lie nearer
    /// than half an hour.
    #[must_use]
    pub fn moments_s(self, others_s: &[f64]) -> Vec<f64> {
        let mut found = self.evening_s();
        let round = |t_s: &f64| (t_s / ROUND_S).round() * ROUND_S;
        let hours = HOURS.map(|h| self.from_s + 3600.0 * h);
        for t_s in others_s.iter().map(round).chain(hours) {
            let is_within = t_s > self.from_s && t_s <= self.until_s + 1e-6;
            let is_new = found.iter().all(|known| (known - t_s).abs() >= STEP_S);
            if is_within && is_new {
                found.push(t_s);
            }
        }
        found.sort_by(f64::total_cmp);
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const H: f64 = 3600.0;

    #[test]
    fn readings_are_asked_for_soon_enough() {
        // The worst on the third afternoon of five days: the first day.
        let window = Window::of(121.0 * H, 58.0 * H, 0.0);
        assert_eq!((window.from_s, window.until_s), (0.0, 24.0 * H));
        let moments = window.moments_s(&[10.02 * H, 57.0 * H]);
        assert_eq!(moments[..8], window.evening_s()[..]);
        assert!(moments.contains(&(10.0 * H)));
        assert!(moments.iter().all(|t_s| *t_s <= 24.0 * H));
        assert!(moments.windows(2).all(|pair| pair[1] - pair[0] >= STEP_S));
        // The worst of a short run after two hours: within the first.
        let window = Window::of(3.0 * H, 2.0 * H, 0.0);
        assert_eq!(window.moments_s(&[]), [0.5 * H, H]);
        // After a reading: between it and the worst.
        let window = Window::of(121.0 * H, 58.0 * H, 50.0 * H);
        assert_eq!((window.from_s, window.until_s), (50.0 * H, 54.0 * H));
        assert_eq!(window.evening_s().len(), 8);
        // At the end there is nothing left to read.
        let window = Window::of(121.0 * H, 58.0 * H, 121.0 * H);
        assert!(window.moments_s(&[]).is_empty());
    }
}

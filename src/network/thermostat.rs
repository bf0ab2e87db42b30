//! What a schedule's thermostat is doing, and what becomes of one that would switch without end.
//!
//! Air with a fan in it settles in seconds, so two temperatures that lie close together make a run of
//! thousands of starts, each of which costs the integrator a handful of steps. A fan that would start more
//! often than every [`RAPID_S`] is counted as one whose speed is controlled, and holds the measured
//! temperature. That is done at the top of the thermostat's band, on the warm side of what the switching
//! comes to on average, and costs next to nothing.

use super::evaluate::Scratch;
use super::parts::Index;
use super::running::Running;
use super::schedule::Thermostat;
use crate::physics::smooth;

/// Starts that follow each other faster than this are too many, s: no fan or relay is meant for it (common
/// practice, no source).
pub const RAPID_S: f64 = 120.0;
/// How many such starts in a row it takes: a door or a jump of the weather may make one or two.
const RAPID_STARTS: usize = 6;
/// Where in the band, from where it stops to where it starts, a throttled fan begins to turn. While a fan rests,
/// air warms ever more slowly towards where it would come to rest, so where the fan hardly ever runs the mean over
/// a cycle lies high in the band: three quarters of it if that place is a fiftieth of the band above where
/// the fan starts. From here on up, no cycle of air with one capacity has a warmer mean (tested below), down to
/// places three thousandths of the band above.
const FROM_SHARE: f64 = 0.85;
/// It works fully by this share of the band higher.
const RISE_SHARE: f64 = 0.15;
/// By so much at the least, K: over less, rates would turn faster than the integrator can follow.
const LEAST_RISE_K: f64 = 0.2;

impl Thermostat {
    /// The share of its full work that it does at a temperature while it is throttled, and the slope of it,
    /// 1/K.
    #[must_use]
    pub fn share_throttled(&self, measured_K: f64) -> (f64, f64) {
        let band_K = self.on_above_K - self.off_below_K;
        let rise_K = (RISE_SHARE * band_K).max(LEAST_RISE_K);
        let above_K = measured_K - self.off_below_K - FROM_SHARE * band_K;
        let (share, slope) = smooth::step_with_slope(above_K / rise_K);
        (share, slope / rise_K)
    }

    /// What it does at a temperature at which something else begins to hold.
    pub(super) fn taken_over(&self, before: Running, measured_K: f64) -> Running {
        match before {
            Running::Rests if measured_K <= self.on_above_K => Running::Rests,
            Running::Works | Running::Throttled if measured_K <= self.off_below_K => Running::Rests,
            Running::Throttled => Running::Throttled,
            Running::Works | Running::Rests => Running::Works,
        }
    }

    /// Value of the event by which it switches; it happens when it turns from negative to not.
    pub(super) fn event(&self, running: Running, measured_K: f64) -> f64 {
        match running {
            Running::Rests => measured_K - self.on_above_K,
            Running::Works | Running::Throttled => self.off_below_K - measured_K,
        }
    }
}

/// The latest starts.
#[derive(Debug, Clone, Default)]
pub(super) struct Starts {
    times_s: Vec<f64>,
}

impl Starts {
    /// Notes a start; whether they follow each other too fast.
    pub fn note(&mut self, t_s: f64) -> bool {
        if self.times_s.len() == RAPID_STARTS {
            self.times_s.remove(0);
        }
        self.times_s.push(t_s);
        self.times_s.len() == RAPID_STARTS
            && t_s - self.times_s[0] < (RAPID_STARTS - 1) as f64 * RAPID_S
    }
}

/// Whether the air swings around what a throttled fan should hold: air that is blown in low down takes seconds to the
/// top, where it is measured, and a strong fan then overshoots for ever. It shows in the steps that the integrator
/// needs. Such a fan goes back to switching.
#[derive(Debug, Clone, Default)]
pub(super) struct Swinging {
    since_s: f64,
    steps: u32,
    seen: bool,
}

impl Swinging {
    /// Longer than any settling, s.
    const WATCHED_S: f64 = 600.0;
    /// Settling takes some tens.
    const MOST_STEPS: u32 = 200;

    /// Notes a step of the integrator while the fan is throttled.
    pub fn step(&mut self, t_s: f64) {
        if t_s - self.since_s > Self::WATCHED_S {
            (self.since_s, self.steps) = (t_s, 0);
        }
        self.steps += 1;
        self.seen |= self.steps > Self::MOST_STEPS;
    }

    pub const fn is_seen(&self) -> bool {
        self.seen
    }
}

/// Moves the values of a working configuration towards those of the resting one, which it does its share of.
pub(super) fn blend_values(works: &mut Scratch, rests: &Scratch, share: f64) {
    for (w, r) in [
        (&mut works.gains, &rests.gains),
        (&mut works.ledgers, &rests.ledgers),
    ] {
        for (w, r) in w.iter_mut().zip(r) {
            *w = r + share * (*w - r);
        }
    }
}

/// The same for slopes. The share itself changes with the temperature measured, `per_K`; both rooms hold
/// the values of their own configurations.
pub(super) fn blend_slopes(
    works: &mut Scratch,
    rests: &Scratch,
    (share, per_K): (f64, f64),
    measures: Index,
) {
    let points = works.gains.len();
    for (w, r) in [
        (&mut works.gain_slopes, &rests.gain_slopes),
        (&mut works.ledger_slopes, &rests.ledger_slopes),
        (&mut works.gain_rates, &rests.gain_rates),
        (&mut works.ledger_rates, &rests.ledger_rates),
    ] {
        for (w, r) in w.iter_mut().zip(r) {
            *w = r + share * (*w - r);
        }
    }
    for (slopes, w, r) in [
        (&mut works.gain_slopes, &works.gains, &rests.gains),
        (&mut works.ledger_slopes, &works.ledgers, &rests.ledgers),
    ] {
        for (row, (w, r)) in slopes.chunks_exact_mut(points).zip(w.iter().zip(r)) {
            row[measures] += (w - r) * per_K;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const THERMOSTAT: Thermostat = Thermostat {
        resting: 0,
        measures: 0,
        on_above_K: 315.0,
        off_below_K: 314.0,
    };

    /// It begins above most of the band and works fully a little above it.
    #[test]
    fn a_throttled_fan_works_at_the_top_of_the_band() {
        let share = |K| THERMOSTAT.share_throttled(K).0;
        assert_eq!([share(314.5), share(314.84)], [0.0, 0.0]);
        assert!((share(314.95) - 0.5).abs() < 1e-9);
        assert_eq!(share(315.06), 1.0);
        let (_, slope) = THERMOSTAT.share_throttled(314.92);
        let by_hand = (share(314.921) - share(314.919)) / 0.002;
        assert!((slope - by_hand).abs() < 0.02, "{slope} {by_hand}");
    }

    /// Air of one capacity, switched between two temperatures, by the closed solution of dT/dt = (T0 - T)/tau:
    /// with the fan at rest T0 lies `above` the band and tau is 1, with it at work T0 lies `below` the band and
    /// tau is `quicker`. In shares of the band, the throttled fan holds no less than the mean over a cycle.
    #[test]
    fn a_throttled_fan_is_no_cooler_than_switching_on_average() {
        let thermostat = Thermostat {
            on_above_K: 324.0,
            ..THERMOSTAT
        };
        let mean = |above: f64, below: f64, quicker: f64| {
            let rests = ((1.0 + above) / above).ln();
            let works = quicker * ((1.0 + below) / below).ln();
            let sum = (1.0 + above) * rests - 1.0 - below * works + quicker;
            sum / (rests + works)
        };
        let holds = |above: f64, below: f64, quicker: f64| {
            let (mut low, mut high) = (0.0, 1.5);
            for _ in 0..60 {
                let at = 0.5 * (low + high);
                let (share, _) = thermostat.share_throttled(314.0 + 10.0 * at);
                let rate = (1.0 - share) * (1.0 + above - at) - share * (below + at) / quicker;
                if rate > 0.0 {
                    low = at;
                } else {
                    high = at;
                }
            }
            low
        };
        for above in [0.003, 0.01, 0.02, 0.1, 1.0, 10.0] {
            for below in [0.003, 0.05, 0.5, 5.0, 100.0] {
                for quicker in [0.02, 0.1, 0.5, 1.0] {
                    let (held, switched) =
                        (holds(above, below, quicker), mean(above, below, quicker));
                    assert!(
                        held >= switched && held <= 1.0,
                        "{above} {below} {quicker}: {held} {switched}"
                    );
                }
            }
        }
    }

    /// The closed solution against sums over one cycle's rest.
    #[test]
    fn air_that_warms_up_has_its_mean_above_the_middle() {
        for (x, known) in [(0.02, 0.77), (0.1, 0.68), (10.0, 0.50)] {
            let formula = 1.0 + x - 1.0 / f64::ln((x + 1.0) / x);
            let length = f64::ln((x + 1.0) / x);
            let at = |k: i32| 1.0 + x - (x + 1.0) * (-(f64::from(k) + 0.5) * length / 1000.0).exp();
            let sum = (0..1000).map(at).sum::<f64>() / 1000.0;
            assert!((formula - sum).abs() < 1e-4, "{formula} {sum}");
            assert!((formula - known).abs() < 0.01, "{formula}");
        }
    }

    #[test]
    fn only_many_quick_starts_are_too_many() {
        let mut starts = Starts::default();
        let mut noted = |every_s: f64, from_s: f64| {
            let times = (0..RAPID_STARTS).map(|k| from_s + every_s * k as f64);
            times.map(|t| starts.note(t)).collect::<Vec<_>>()
        };
        assert!(noted(1.01 * RAPID_S, 0.0).iter().all(|rapid| !rapid));
        let later = noted(0.99 * RAPID_S, 1e5);
        assert_eq!(later.iter().filter(|rapid| **rapid).count(), 1);
        assert!(later[RAPID_STARTS - 1]);
    }

    #[test]
    fn many_short_steps_are_a_swing() {
        let mut swinging = Swinging::default();
        (0..1000).for_each(|k| swinging.step(10.0 * f64::from(k)));
        assert!(!swinging.is_seen());
        (0..300).for_each(|k| swinging.step(2e4 + f64::from(k)));
        assert!(swinging.is_seen());
    }

    #[test]
    fn between_its_temperatures_it_goes_on_with_what_it_did() {
        use Running::{Rests, Throttled, Works};
        for (before, at_K, then) in [
            (Rests, 314.5, Rests),
            (Rests, 315.5, Works),
            (Works, 314.5, Works),
            (Works, 313.5, Rests),
            (Throttled, 314.5, Throttled),
            (Throttled, 315.5, Throttled),
            (Throttled, 313.5, Rests),
        ] {
            assert_eq!(
                THERMOSTAT.taken_over(before, at_K),
                then,
                "{before:?} {at_K}"
            );
        }
    }
}

//! Fewer points for the same weather: straight lines between some of a series' rows that stay close above all
//! of them.
//!
//! An integrator stops at every kink, so a row a minute costs sixty times what a row an hour does and tells
//! hardly more. Each row allows the line a range, from the row's own value to a little above it, and a line is
//! drawn on until no straight one passes all ranges; there the next begins. With the start of each line
//! fixed, the slopes that pass are an interval that each row narrows, so one look at each row is enough.
//! Method: J. O'Rourke, An on-line algorithm for fitting straight lines between data ranges, Communications of
//! the ACM 24 (1981) 574-578, in its simple form with a fixed start (the "swinging door" of process logging).
//!
//! The range lies above the row and never below: the thinned weather is nowhere cooler than the logged one.
//! It ends at the day's warmest row, so that the peak by which a day is judged stays what it was.

/// How far above a row the line may be, K: the first that leaves few enough points is taken.
const LADDER_K: [f64; 8] = [0.02, 0.03, 0.05, 0.1, 0.15, 0.2, 0.3, LARGEST_K];
/// Weather that needs more than this is left with more points.
const LARGEST_K: f64 = 0.5;
/// Points an hour that are few enough: a step for each, where hourly rows take one.
const FEW_PER_HOUR: f64 = 2.0;
/// Rows no closer than this on average are kept as they are, s: half an hour, as weather services give them.
const CLOSE_ROWS_S: f64 = 1_200.0;
const DAY_S: f64 = 86_400.0;

/// Points in place of rows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Thinned {
    pub times_s: Vec<f64>,
    pub values: Vec<f64>,
    /// How far above a row the line may be; 0 where every row is kept.
    pub within: f64,
}

/// Rows that follow each other closely, thinned; others as they are. Times rise; a point is kept on either
/// side of a step longer than `longest_step_s`.
pub(super) fn thinned(times_s: Vec<f64>, values: Vec<f64>, longest_step_s: f64) -> Thinned {
    let length_s = times_s.last().unwrap_or(&0.0) - times_s.first().unwrap_or(&0.0);
    if times_s.len() < 3 || length_s / (times_s.len() - 1) as f64 >= CLOSE_ROWS_S {
        return Thinned {
            times_s,
            values,
            within: 0.0,
        };
    }
    let few = (FEW_PER_HOUR * length_s / 3600.0) as usize + 2;
    let caps = warmest_of_days(&times_s, &values);
    for within in LADDER_K {
        let most = if within < LARGEST_K { few } else { usize::MAX };
        let points = lines(&times_s, &values, &caps, within, longest_step_s, most);
        if let Some((times_s, values)) = points {
            return Thinned {
                times_s,
                values,
                within,
            };
        }
    }
    Thinned {
        times_s,
        values,
        within: 0.0,
    }
}

/// The largest value of each day of 24 hours from the first row.
fn warmest_of_days(times_s: &[f64], values: &[f64]) -> Vec<f64> {
    let mut caps = Vec::new();
    for (t, v) in times_s.iter().zip(values) {
        let day = day_of(*t, times_s[0]);
        if day >= caps.len() {
            caps.resize(day + 1, f64::NEG_INFINITY);
        }
        caps[day] = f64::max(caps[day], *v);
    }
    caps
}

fn day_of(t: f64, first: f64) -> usize {
    ((t - first) / DAY_S) as usize
}

/// The line's points, if they are no more than `most`. Each lies at a row, within the row's range.
fn lines(
    times_s: &[f64],
    values: &[f64],
    caps: &[f64],
    within: f64,
    longest_step_s: f64,
    most: usize,
) -> Option<(Vec<f64>, Vec<f64>)> {
    let range = |k: usize| {
        let cap = caps[day_of(times_s[k], times_s[0])];
        (values[k], (values[k] + within).min(cap))
    };
    let middle = |k: usize| {
        let (low, high) = range(k);
        0.5 * (low + high)
    };
    let (mut out_s, mut out) = (vec![times_s[0]], vec![middle(0)]);
    let last = times_s.len() - 1;
    let (mut begin, mut value) = (0, middle(0));
    while begin < last {
        if out.len() >= most {
            return None;
        }
        // The slopes that pass every range so far.
        let (mut least, mut steepest) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut end = begin;
        while end < last {
            let next = end + 1;
            let is_gap = times_s[next] - times_s[end] > longest_step_s;
            if is_gap && end > begin {
                break;
            }
            let (low, high) = range(next);
            let length = times_s[next] - times_s[begin];
            let passes = (
                f64::max(least, (low - value) / length),
                f64::min(steepest, (high - value) / length),
            );
            if passes.0 > passes.1 {
                break;
            }
            (least, steepest) = passes;
            end = next;
            if is_gap {
                break;
            }
        }
        let slope = 0.5 * (least + steepest);
        let on_line = |k: usize| value + slope * (times_s[k] - times_s[begin]);
        let is_whole = end == last || times_s[end + 1] - times_s[end] > longest_step_s;
        if !is_whole {
            end = good_end(begin, end, |k| (on_line(k) - middle(k)).abs() / within);
        }
        let (low, high) = range(end);
        // Rounding must not leave the range.
        value = on_line(end).clamp(low, high);
        out_s.push(times_s[end]);
        out.push(value);
        begin = end;
    }
    Some((out_s, out))
}

/// A line that goes as far as it can ends at the edge of a range, and whatever begins there does not get far:
/// better it ends a little earlier, near a middle. Looked for in its second half only, so that all
/// looking takes no longer than drawing.
fn good_end(begin: usize, end: usize, off_middle: impl Fn(usize) -> f64) -> usize {
    const NEAR: f64 = 0.12;
    let mut best = (end, f64::INFINITY);
    for k in (begin + (end - begin).div_ceil(2)..=end).rev() {
        let off = off_middle(k);
        if off < best.1 {
            best = (k, off);
        }
        if off <= NEAR {
            break;
        }
    }
    best.0
}

#[cfg(test)]
mod tests {
    use super::*;

    const LONGEST_S: f64 = 10_800.0;

    /// A day's swing with what a logger makes of it: noise, and steps of its resolution.
    fn logged(days: f64, every_s: f64, noise: f64, resolution: f64) -> (Vec<f64>, Vec<f64>) {
        let mut seed = 1_u64;
        let mut random = || {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (seed >> 33) as f64 / (1_u64 << 31) as f64 - 0.5
        };
        let count = (days * DAY_S / every_s) as usize;
        let times_s: Vec<f64> = (0..=count).map(|k| k as f64 * every_s).collect();
        let values = times_s
            .iter()
            .map(|t| {
                let v =
                    28.0 + 6.0 * (t / DAY_S * std::f64::consts::TAU).sin() + 2.0 * noise * random();
                if resolution > 0.0 {
                    (v / resolution).round() * resolution
                } else {
                    v
                }
            })
            .collect();
        (times_s, values)
    }

    fn at(thin: &Thinned, t: f64) -> f64 {
        let k = thin
            .times_s
            .partition_point(|x| *x <= t)
            .clamp(1, thin.times_s.len() - 1);
        let (a, b) = (thin.times_s[k - 1], thin.times_s[k]);
        let x = (t - a) / (b - a);
        thin.values[k - 1] + x * (thin.values[k] - thin.values[k - 1])
    }

    /// The promise at every row, whatever the weather: not cooler, not warmer than stated, the day's peak exact.
    #[test]
    fn no_row_is_cooler_and_none_much_warmer() {
        for (every_s, noise, resolution, within_at_most, per_hour_at_most) in [
            (60.0, 0.0, 0.0, 0.02, 2.02),
            (60.0, 0.0, 0.1, 0.2, 2.02),
            (60.0, 0.05, 0.01, 0.2, 2.02),
            (1.0, 0.0, 0.01, 0.05, 2.02),
            (600.0, 0.0, 0.0, 0.02, 2.02),
            // What jumps by half a kelvin from row to row keeps its points: they are weather.
            (60.0, 0.5, 0.0, 0.5, 60.0),
        ] {
            let (times_s, values) = logged(5.0, every_s, noise, resolution);
            let thin = thinned(times_s.clone(), values.clone(), LONGEST_S);
            assert!(
                thin.within <= within_at_most,
                "{every_s} {noise} {resolution}: {}",
                thin.within
            );
            let per_hour = thin.times_s.len() as f64 / 120.0;
            assert!(
                per_hour <= per_hour_at_most,
                "{every_s} {noise} {resolution}: {per_hour} an hour"
            );
            for (t, v) in times_s.iter().zip(&values) {
                let above = at(&thin, *t) - v;
                assert!(
                    (-1e-9..=thin.within + 1e-9).contains(&above),
                    "{t}: {above}"
                );
            }
            let peak = |values: &[f64]| values.iter().copied().fold(0.0, f64::max);
            assert_eq!(peak(&thin.values), peak(&values));
        }
    }

    #[test]
    fn hourly_rows_and_a_handful_stay_as_they_are() {
        for (times_s, values) in [
            logged(5.0, 3600.0, 1.0, 0.1),
            logged(2.0, 1800.0, 0.0, 0.0),
            (vec![0.0, 60.0], vec![1.0, 2.0]),
        ] {
            let thin = thinned(times_s.clone(), values.clone(), LONGEST_S);
            assert_eq!(
                (thin.times_s, thin.values, thin.within),
                (times_s, values, 0.0)
            );
        }
    }

    /// A steady room is one line, but what lies beyond a gap is not part of it.
    #[test]
    fn a_gap_has_a_point_on_either_side() {
        let mut times_s: Vec<f64> = (0..100).map(|k| f64::from(k) * 60.0).collect();
        times_s.extend((0..100).map(|k| 20_000.0 + f64::from(k) * 60.0));
        let thin = thinned(times_s, vec![300.0; 200], LONGEST_S);
        assert_eq!(thin.times_s, [0.0, 5_940.0, 20_000.0, 25_940.0]);
    }
}

//! Means over windows: a thermostat's on and off becomes what it comes to.

use crate::run::{MeanPower, Run};

/// A window is no shorter than this, s: a bed's thermostat switches within a minute or two.
const LEAST_S: f64 = 600.0;
/// A window has so many rows, and so many where they are on and off: only so these tell a mean.
const ROWS: f64 = 2.0;
const ROWS_OF_TWO: f64 = 20.0;
/// So many windows are made of a column at most: more say nothing that is not in them.
const MOST: f64 = 200.0;
/// A row counts for no longer than so many usual steps; what is between rows that are further apart is not known.
const STEPS: f64 = 3.0;
/// A window of which less than this share is known is left out.
const KNOWN: f64 = 0.9;
/// With this share of all it has a heater is on its way to its setpoint.
const FULL: f64 = 0.95;
/// So long after that, and after another setpoint, what it takes is its control's doing, s.
const AFTER_S: f64 = 1_800.0;

/// The means of power over time (s, W), how long each window is, s, and how many were left out. Rows of a logger's clock
/// stand for the time half-way to their neighbours, others hold until the next.
pub(super) fn means(
    rows: &[(f64, f64)],
    is_sampled: bool,
    run: &Run,
) -> (Vec<MeanPower>, f64, usize) {
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else {
        return (Vec::new(), LEAST_S, 0);
    };
    let usual_s = usual_s(rows);
    let (begin_s, end_s) = (first.0.max(0.0), last.0.min(run.duration_s));
    let largest_W = rows.iter().map(|row| row.1).fold(0.0, f64::max);
    let is_off = |row: &(f64, f64)| row.1 == 0.0;
    let is_two =
        rows.iter().any(is_off) && rows.iter().all(|row| is_off(row) || row.1 == largest_W);
    let rows_s = match (is_sampled, is_two) {
        (false, _) => 0.0,
        (true, false) => ROWS * usual_s,
        (true, true) => ROWS_OF_TWO * usual_s,
    };
    let length_s = LEAST_S.max(rows_s).max((end_s - begin_s) / MOST);
    let most_W = run.machine.bed.max_power_W;
    let longest_s = if is_sampled {
        STEPS * usual_s
    } else {
        f64::INFINITY
    };
    let holds: Vec<(f64, f64, f64)> = (0..rows.len())
        .map(|k| hold(rows, k, is_sampled, longest_s))
        .collect();
    let (mut means, mut left_out, mut from) = (Vec::new(), 0, 0);
    let mut full_until_s = f64::NEG_INFINITY;
    let mut from_s = begin_s;
    while from_s + length_s <= end_s + 1e-6 {
        let to_s = from_s + length_s;
        from += holds[from..].partition_point(|(_, end_s, _)| *end_s <= from_s);
        let (mut known_s, mut energy_J) = (0.0, 0.0);
        for (begin_s, end_s, power_W) in &holds[from..] {
            if *begin_s >= to_s {
                break;
            }
            let lasts_s = (end_s.min(to_s) - begin_s.max(from_s)).max(0.0);
            known_s += lasts_s;
            energy_J += lasts_s * power_W;
        }
        if known_s >= KNOWN * length_s {
            let power_W = energy_J / known_s;
            if power_W >= FULL * most_W {
                full_until_s = to_s;
            }
            if from_s >= full_until_s + AFTER_S && is_held(run, from_s - AFTER_S, to_s) {
                means.push(MeanPower {
                    from_s,
                    to_s,
                    power_W,
                });
            } else {
                left_out += 1;
            }
        }
        from_s = to_s;
    }
    (means, length_s, left_out)
}

/// Begin and end of what a row stands for, s, and its power.
fn hold(rows: &[(f64, f64)], k: usize, is_sampled: bool, longest_s: f64) -> (f64, f64, f64) {
    let (at_s, power_W) = rows[k];
    let next_s = rows.get(k + 1).map_or(at_s, |next| next.0);
    if !is_sampled {
        return (at_s, next_s, power_W);
    }
    let before_s = if k > 0 { rows[k - 1].0 } else { at_s };
    let half = |step_s: f64| {
        if step_s > longest_s {
            0.0
        } else {
            0.5 * step_s
        }
    };
    (
        at_s - half(at_s - before_s),
        at_s + half(next_s - at_s),
        power_W,
    )
}

/// Whether the run file has the bed held at one temperature through a time, s.
fn is_held(run: &Run, from_s: f64, to_s: f64) -> bool {
    let mut during = run
        .phases
        .iter()
        .filter(|phase| phase.begin_s < to_s && phase.end_s > from_s.max(0.0));
    let first = during.next().and_then(|phase| phase.bed_K);
    first.is_some() && from_s > 0.0 && during.all(|phase| phase.bed_K == first)
}

/// The middle one of the steps between rows, s.
fn usual_s(rows: &[(f64, f64)]) -> f64 {
    let mut steps_s: Vec<f64> = rows.windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
    let middle = steps_s.len() / 2;
    if steps_s.is_empty() {
        return 0.0;
    }
    *steps_s.select_nth_unstable_by(middle, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::runfile::demo;

    /// On for 20 s of every 60 s: a third of what it has; nothing is told of two hours without rows.
    #[test]
    fn on_and_off_become_their_mean() {
        let mut run = demo().run;
        run.machine.bed.max_power_W = 300.0;
        let rows: Vec<(f64, f64)> = (0..4_000)
            .map(|k| (10.0 * f64::from(k), if k % 6 < 2 { 300.0 } else { 0.0 }))
            .filter(|(t_s, _)| !(20_000.0..27_200.0).contains(t_s))
            .collect();
        let (means, length_s, left_out) = means(&rows, true, &run);
        assert_eq!(length_s, 600.0);
        assert!(
            left_out > 0,
            "the first half hour, and the change to the next layers"
        );
        assert!(means.len() > 40, "{}", means.len());
        for mean in &means {
            assert!((mean.power_W - 100.0).abs() < 2.6, "{mean:?}");
            assert!(mean.to_s <= 20_060.0 || mean.from_s >= 27_100.0, "{mean:?}");
        }
        // The same as a log of changes: 100 W exactly, if windows are whole minutes.
        let events: Vec<(f64, f64)> = (0..600)
            .flat_map(|k| {
                [
                    (60.0 * f64::from(k), 300.0),
                    (60.0 * f64::from(k) + 20.0, 0.0),
                ]
            })
            .collect();
        let (means, ..) = super::means(&events, false, &run);
        assert!(means.len() > 40);
        assert!(means.iter().all(|mean| (mean.power_W - 100.0).abs() < 1e-6));
    }

    /// Full power, and half an hour after it, tell nothing; nor does a heater that is off in the run file.
    #[test]
    fn warming_up_is_left_out() {
        let mut run = demo().run;
        run.machine.bed.max_power_W = 300.0;
        let begin_s = 36_000.0;
        let rows: Vec<(f64, f64)> = (0..240)
            .map(|k| {
                let power_W = if k < 60 { 297.0 } else { 90.0 };
                (begin_s + 60.0 * f64::from(k), power_W)
            })
            .collect();
        let (means, ..) = means(&rows, true, &run);
        let first = means.first().expect("some");
        // An hour of it, half an hour after it, in windows of twenty minutes.
        assert!(first.from_s >= begin_s + 5_400.0 - 61.0, "{first:?}");
        assert!(means.iter().all(|mean| (mean.power_W - 90.0).abs() < 1e-9));
        for phase in &mut run.phases {
            phase.bed_K = None;
        }
        assert!(super::means(&rows, true, &run).0.is_empty());
    }
}

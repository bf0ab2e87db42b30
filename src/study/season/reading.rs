//! The hottest moment of a start, read between shared runs.

use super::field::{Field, PER_HOUR, SAMPLE_S, STATIONS};
use super::measure::{Hour, Measured};

/// A moment inside an hour may be warmer than the hour's ends by so much, K: hours that come so close to the
/// hottest are looked into.
const INSIDE_K: f64 = 0.5;

/// The smallest margin of a start after its first hours.
#[derive(Debug, Clone, Copy)]
pub(super) struct Hottest {
    /// Margin, K.
    pub margin_K: f64,
    /// Station.
    pub station: usize,
    /// When, s from the start.
    pub at_s: f64,
    /// The age up to which the first hours may come closer, s; none where they may not.
    pub may_be_to_s: Option<f64>,
    /// Whether what follows the long stretch may.
    pub may_be_later: bool,
}

/// The smallest margin of a start, by its time after the season's first, s, and the temperature outside then; none where
/// it lies too near the season's begin or end for shared runs.
pub(super) fn hottest(
    field: &Field,
    measured: &Measured<'_>,
    limits_K: &[f64; STATIONS],
    start_s: f64,
    outside_K: f64,
) -> Option<Hottest> {
    let own = measured.reading.own(start_s, outside_K)?;
    let margins = |t_s: f64| {
        let at = own.at(t_s)?;
        let mut least = (f64::INFINITY, 0);
        for station in &measured.stations {
            let margin_K = limits_K[*station] - at.station_K(*station);
            if margin_K < least.0 {
                least = (margin_K, *station);
            }
        }
        Some(least)
    };
    let (begin_s, end_s) = (start_s + measured.memory_s, start_s + field.to_s);
    let mut hourly = Vec::with_capacity((field.to_s / 3600.0) as usize + 2);
    // Hours of the clock, on which samples lie; the begin and the end by themselves.
    let hour_s = SAMPLE_S * PER_HOUR as f64;
    let first_s = (begin_s / hour_s).ceil() * hour_s;
    hourly.push((begin_s, margins(begin_s)?));
    let mut t_s = first_s;
    while t_s < end_s {
        if t_s > begin_s {
            hourly.push((t_s, margins(t_s)?));
        }
        t_s += hour_s;
    }
    hourly.push((end_s, margins(end_s)?));
    let mut least = hourly
        .iter()
        .copied()
        .min_by(|a, b| a.1.0.total_cmp(&b.1.0))?;
    let close_K = least.1.0 + INSIDE_K;
    for pair in hourly.windows(2) {
        let ((from_s, a), (to_s, b)) = (pair[0], pair[1]);
        if a.0.min(b.0) > close_K {
            continue;
        }
        let mut t_s = (from_s / SAMPLE_S).floor() * SAMPLE_S + SAMPLE_S;
        while t_s < to_s {
            let here = margins(t_s)?;
            if here.0 < least.1.0 {
                least = (t_s, here);
            }
            t_s += SAMPLE_S;
        }
    }
    let (mut at_s, (mut margin_K, station)) = least;
    // The top of the parabola through the hottest sample and its neighbours.
    if at_s - SAMPLE_S >= begin_s && at_s + SAMPLE_S <= end_s {
        let at = |t_s: f64| Some(limits_K[station] - own.at(t_s)?.station_K(station));
        let (a, c) = (at(at_s - SAMPLE_S)?, at(at_s + SAMPLE_S)?);
        let bend = a + c - 2.0 * margin_K;
        if bend > 0.0 && a >= margin_K && c >= margin_K {
            let x = 0.5 * (a - c) / bend;
            margin_K -= 0.25 * (a - c) * x;
            at_s += x * SAMPLE_S;
        }
    }
    // Whether an hour that is not read may come closer.
    let may_be_in = |hour: &Hour| {
        let [begin_s, end_s] = [hour.ages_s.0, hour.ages_s.1].map(|age_s| start_s + age_s);
        let (at_begin, at_end) = (own.at(begin_s)?, own.at(end_s)?);
        Some(measured.stations.iter().any(|s| {
            let read_K = f64::max(at_begin.station_K(*s), at_end.station_K(*s));
            limits_K[*s] - read_K - hour.rises_K[*s] < margin_K
        }))
    };
    let mut may_be_to_s = None;
    for hour in measured.before.iter().rev() {
        if may_be_in(hour)? {
            may_be_to_s = Some(hour.ages_s.1);
            break;
        }
    }
    let mut may_be_later = false;
    for hour in &measured.after {
        may_be_later |= may_be_in(hour)?;
    }
    Some(Hottest {
        margin_K,
        station,
        at_s: at_s - start_s,
        may_be_to_s,
        may_be_later,
    })
}

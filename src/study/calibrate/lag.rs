//! What a probe shows that takes its time: one with a mass of its own, in a case, held by tape. Knows no chambers.

/// What a probe of this time constant, s, shows of what is around it, given at rising times, s, with straight lines
/// between. At the first it has come to rest.
///
/// `y' = (x - y) / lag`; for a step of `x`, `y` has come `1 - exp(-t / lag)` of the way after `t`.
#[must_use]
pub fn shown(times_s: &[f64], around: &[f64], lag_s: f64) -> Vec<f64> {
    let mut shown = Vec::with_capacity(around.len());
    shown.extend(around.first());
    for k in 1..around.len() {
        let step_s = times_s[k] - times_s[k - 1];
        let slope = (around[k] - around[k - 1]) / step_s;
        // Behind a straight line it runs along, so far below.
        let behind = slope * lag_s;
        let begin = shown[k - 1] - (around[k - 1] - behind);
        shown.push(around[k] - behind + begin * (-step_s / lag_s).exp());
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A first-order element answers a step by 1 - exp(-t/lag): 0.283469 after 10 s of 30 s (any handbook of
    /// control).
    #[test]
    fn a_step_is_followed_as_handbooks_say() {
        let times = [0.0, 1e-9, 10.0 + 1e-9, 20.0 + 1e-9];
        let shown = shown(&times, &[0.0, 1.0, 1.0, 1.0], 30.0);
        for (k, want) in [(2, 0.283_468_687), (3, 1.0 - (-20.0_f64 / 30.0).exp())] {
            assert!((shown[k] - want).abs() < 1e-8, "{k}: {}", shown[k]);
        }
    }

    /// Behind a ramp it runs its lag late (the same handbooks).
    #[test]
    fn a_ramp_is_shown_its_lag_late() {
        let times: Vec<f64> = (0..200).map(|k| f64::from(k) * 7.0).collect();
        let ramp: Vec<f64> = times.iter().map(|t| 20.0 + 0.01 * t).collect();
        let shown = shown(&times, &ramp, 60.0);
        let last = shown.last().expect("rows");
        assert!((last - (20.0 + 0.01 * (199.0 * 7.0 - 60.0))).abs() < 1e-9);
    }

    /// However finely a straight line is cut, the same is shown.
    #[test]
    fn steps_do_not_matter() {
        let fine: Vec<f64> = (0..=100).map(f64::from).collect();
        let of = |times: &[f64]| {
            let around: Vec<f64> = times.iter().map(|t| 0.3 * t).collect();
            *shown(times, &around, 25.0).last().expect("rows")
        };
        assert!((of(&fine) - of(&[0.0, 100.0])).abs() < 1e-9);
    }
}

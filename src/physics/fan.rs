//! A fan's pressure over its flow, the fan laws, and where a fan and a system meet.

use super::duct::RATING_DENSITY_KG_PER_M3;

/// Why measured points are no fan curve.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CurveError {
    /// Fewer than two points.
    #[error(
        "a fan curve needs at least two points, from still air to free delivery, but there is {0}"
    )]
    TooFew(usize),
    /// A value below zero, or none at all.
    #[error(
        "point {0} of the fan curve has a negative value or none: flow and pressure are 0 or more"
    )]
    Negative(usize),
    /// Flows do not rise.
    #[error(
        "point {0} of the fan curve has no larger flow than the one before it: list the points by rising flow"
    )]
    Unsorted(usize),
    /// Pressure never falls.
    #[error(
        "the fan curve rises everywhere: a fan's pressure falls with its flow; are the columns swapped?"
    )]
    Rising,
    /// The fan gives no pressure at still air.
    #[error("the fan curve gives no pressure at its smallest flow: add the point of still air")]
    NoPressure,
}

/// Pressure over flow: a monotone cubic (PCHIP) through measured points.
///
/// Between two points the curve has no hump that the points do not have. Below the first point it
/// stays at that point's pressure; beyond the last it falls on in a straight line, along the steepest of
/// three slopes (its own at that point, the last chord's, and the one from still air to that point), so
/// that a curve that ends above zero still reaches it (see [`FanCurve::last_flow_m3_per_s`]).
///
/// Reference: Fritsch & Butland 1984, SIAM J. Sci. Stat. Comput. 5, 300-304,
/// doi:10.1137/0905021; pressures as in ISO 5801 ratings.
#[derive(Debug, Clone, PartialEq)]
pub struct FanCurve {
    flows_m3_per_s: Vec<f64>,
    pressures_Pa: Vec<f64>,
    slopes: Vec<f64>,
}

impl FanCurve {
    /// From points (flow m3/s, pressure Pa), by rising flow, in standard air.
    ///
    /// # Errors
    /// See [`CurveError`]; points count from 1.
    pub fn new(points: &[(f64, f64)]) -> Result<Self, CurveError> {
        if points.len() < 2 {
            return Err(CurveError::TooFew(points.len()));
        }
        let bad = |v: f64| !v.is_finite() || v < 0.0;
        if let Some(k) = points.iter().position(|(q, p)| bad(*q) || bad(*p)) {
            return Err(CurveError::Negative(k + 1));
        }
        if let Some(k) = points.windows(2).position(|w| w[1].0 <= w[0].0) {
            return Err(CurveError::Unsorted(k + 2));
        }
        if points.windows(2).all(|w| w[1].1 >= w[0].1) {
            return Err(CurveError::Rising);
        }
        if points[0].1 <= 0.0 {
            return Err(CurveError::NoPressure);
        }
        let flows_m3_per_s: Vec<f64> = points.iter().map(|p| p.0).collect();
        let pressures_Pa: Vec<f64> = points.iter().map(|p| p.1).collect();
        let slopes = pchip_slopes(&flows_m3_per_s, &pressures_Pa);
        Ok(Self {
            flows_m3_per_s,
            pressures_Pa,
            slopes,
        })
    }

    /// Pressure at a flow, Pa; below zero beyond free delivery.
    #[must_use]
    pub fn pressure_Pa(&self, flow_m3_per_s: f64) -> f64 {
        let (x, y, d) = (&self.flows_m3_per_s, &self.pressures_Pa, &self.slopes);
        let last = x.len() - 1;
        if flow_m3_per_s <= x[0] {
            return y[0];
        }
        if flow_m3_per_s >= x[last] {
            let chord = (y[last] - y[last - 1]) / (x[last] - x[last - 1]);
            // A last piece that is flat or rises would never come down.
            let steepest = d[last].min(chord).min(-y[0] / x[last]);
            return y[last] + steepest * (flow_m3_per_s - x[last]);
        }
        let k = x.partition_point(|v| *v <= flow_m3_per_s) - 1;
        let h = x[k + 1] - x[k];
        let s = (flow_m3_per_s - x[k]) / h;
        let r = 1.0 - s;
        (1.0 + 2.0 * s) * r * r * y[k] + s * r * r * h * d[k] + s * s * (3.0 - 2.0 * s) * y[k + 1]
            - s * s * r * h * d[k + 1]
    }

    /// Largest measured flow, m3/s; beyond it the curve is a guess.
    #[must_use]
    pub fn last_flow_m3_per_s(&self) -> f64 {
        self.flows_m3_per_s[self.flows_m3_per_s.len() - 1]
    }

    /// Highest measured pressure, Pa.
    #[must_use]
    pub fn highest_Pa(&self) -> f64 {
        self.pressures_Pa.iter().copied().fold(0.0, f64::max)
    }

    /// Flow at which the pressure is zero, m3/s.
    #[must_use]
    pub fn free_delivery_m3_per_s(&self) -> f64 {
        let last = self.last_flow_m3_per_s();
        let left = self.pressure_Pa(last);
        let fall = left - self.pressure_Pa(2.0 * last);
        last + left.max(0.0) * last / fall.max(f64::MIN_POSITIVE)
    }

    /// Flow below which the fan works unsteadily: the top of the last part of the curve that rises
    /// with flow. None where it never rises.
    #[must_use]
    pub fn unstable_below_m3_per_s(&self) -> Option<f64> {
        self.pressures_Pa
            .windows(2)
            .rposition(|w| w[1] > w[0])
            .map(|k| self.flows_m3_per_s[k + 1])
    }

    /// The same fan at another speed and in other air.
    ///
    /// Fan laws: flow goes with n, pressure with n^2 rho (power with n^3 rho).
    ///
    /// * `speed_ratio`: n over the rated speed, above zero. `density_kg_per_m3`: of the air at the
    ///   fan; ratings are for 1.2 kg/m3.
    ///
    /// Published range: speeds that change the Reynolds number little, 0.5 to 1.5 of the rated.
    /// Worked example: 6000 cfm at 1.13 in of water and 600 rpm become 6500 cfm at 1.33 in at
    /// 650 rpm.
    ///
    /// Reference: ISO 5801:2017; ASHRAE Handbook HVAC Systems and Equipment, chapter on fans
    /// (example from memory).
    #[must_use]
    pub fn at(&self, speed_ratio: f64, density_kg_per_m3: f64) -> Self {
        let pressure = speed_ratio * speed_ratio * density_kg_per_m3 / RATING_DENSITY_KG_PER_M3;
        self.scaled(speed_ratio, pressure)
    }

    /// Several of the same fan, one behind the other: pressures add.
    #[must_use]
    pub fn in_series(&self, count: u32) -> Self {
        self.scaled(1.0, f64::from(count))
    }

    /// Several of the same fan side by side: flows add.
    #[must_use]
    pub fn in_parallel(&self, count: u32) -> Self {
        self.scaled(f64::from(count), 1.0)
    }

    fn scaled(&self, flow: f64, pressure: f64) -> Self {
        Self {
            flows_m3_per_s: self.flows_m3_per_s.iter().map(|q| q * flow).collect(),
            pressures_Pa: self.pressures_Pa.iter().map(|p| p * pressure).collect(),
            slopes: self.slopes.iter().map(|d| d * pressure / flow).collect(),
        }
    }
}

/// Power of a fan at another speed and in other air, W: n^3 rho; see [`FanCurve::at`].
#[must_use]
pub fn power_at_W(rated_W: f64, speed_ratio: f64, density_kg_per_m3: f64) -> f64 {
    rated_W * speed_ratio.powi(3) * density_kg_per_m3 / RATING_DENSITY_KG_PER_M3
}

/// Sound pressure level of several fans at another speed, dB(A): 50 dB more for ten times the speed, 3 dB for twice
/// as many.
///
/// * `rated_dBA`: of one at its rated speed. `speed_ratio`: n over the rated speed, above zero.
///
/// Published range: the same duty on the fan's own curve; throttled, a fan is louder than its data sheet says.
/// Worked example: 40 dB(A) at half the speed: 40 + 50 log10 0.5 = 24.9 dB(A).
///
/// Reference: fan laws for sound; the factor 50 is common practice, no source.
#[must_use]
pub fn sound_dBA(rated_dBA: f64, speed_ratio: f64, count: u32) -> f64 {
    rated_dBA + 50.0 * speed_ratio.log10() + 10.0 * f64::from(count).log10()
}

/// Slopes of the monotone cubic: weighted harmonic means inside, one-sided three-point formula at
/// the ends, held back where it would overshoot.
fn pchip_slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let n = x.len();
    let h: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
    let chord: Vec<f64> = (0..n - 1).map(|k| (y[k + 1] - y[k]) / h[k]).collect();
    if n == 2 {
        return vec![chord[0]; 2];
    }
    let mut d = vec![0.0; n];
    for k in 1..n - 1 {
        if chord[k - 1] * chord[k] > 0.0 {
            let (w1, w2) = (2.0 * h[k] + h[k - 1], h[k] + 2.0 * h[k - 1]);
            d[k] = (w1 + w2) / (w1 / chord[k - 1] + w2 / chord[k]);
        }
    }
    let end = |h0: f64, h1: f64, c0: f64, c1: f64| {
        let slope = ((2.0 * h0 + h1) * c0 - h0 * c1) / (h0 + h1);
        if slope * c0 <= 0.0 {
            0.0
        } else if c0 * c1 < 0.0 && slope.abs() > 3.0 * c0.abs() {
            3.0 * c0
        } else {
            slope
        }
    };
    d[0] = end(h[0], h[1], chord[0], chord[1]);
    d[n - 1] = end(h[n - 2], h[n - 3], chord[n - 2], chord[n - 3]);
    d
}

/// Where a fan and a system meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duty {
    /// Flow, m3/s.
    pub flow_m3_per_s: f64,
    /// Pressure, Pa.
    pub pressure_Pa: f64,
    /// Whether the fan may work unsteadily there: on or left of the rising part of its curve, or
    /// where the curves cross more than once.
    pub unstable: bool,
    /// Whether the flow lies beyond the last measured point.
    pub beyond_curve: bool,
}

impl Duty {
    /// Whether something outside presses air back through the fan: it gives less pressure than that.
    #[must_use]
    pub fn flows_back(&self) -> bool {
        self.flow_m3_per_s < 0.0
    }
}

/// Places at which the two curves are compared before the crossing is pinned down.
const SCAN: u32 = 256;

/// The crossing of a fan's curve with a system's, whose pressure rises with flow. Of
/// several crossings the one with the largest flow is taken. Always ends: a scan, then bisection.
///
/// Where the system presses harder at no flow than the fan does at any, as wind on its outlet may, air flows back
/// and the flow is negative; the fan then holds what it gives at still air. A fan pressed back holds rather more: that
/// says more flow back than there is.
///
/// * `system_Pa`: pressure over flow, m3/s, of either sign.
#[must_use]
pub fn duty_point(curve: &FanCurve, system_Pa: impl Fn(f64) -> f64) -> Duty {
    crossing(curve, SCAN, system_Pa)
}

/// The same with so many places compared: fewer where it is asked very often, and two crossings close to each other
/// do not matter.
#[must_use]
pub fn crossing(curve: &FanCurve, places: u32, system_Pa: impl Fn(f64) -> f64) -> Duty {
    let excess = |q: f64| curve.pressure_Pa(q) - system_Pa(q);
    // Where something draws air through the fan besides, it passes more than blowing freely.
    let mut end = curve.free_delivery_m3_per_s();
    for _ in 0..12 {
        if excess(end) <= 0.0 {
            break;
        }
        end *= 1.5;
    }
    let step = end / f64::from(places);
    let (mut bracket, mut crossings) = (None, 0);
    let mut before = excess(0.0);
    for k in 1..=places {
        let q = step * f64::from(k);
        let here = excess(q);
        if (before > 0.0) != (here > 0.0) {
            crossings += 1;
            if here <= 0.0 {
                bracket = Some((q - step, q));
            }
        }
        before = here;
    }
    let (mut low, mut high) = bracket.unwrap_or_else(|| {
        if excess(0.0) >= 0.0 {
            return (0.0, step);
        }
        // Back through the fan; what nothing holds back goes as fast as this and is told as such.
        let mut back = -step;
        while excess(back) < 0.0 && back > -1e3 * step * f64::from(places) {
            back *= 2.0;
        }
        (back, 0.0)
    });
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if excess(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    let flow_m3_per_s = 0.5 * (low + high);
    Duty {
        flow_m3_per_s,
        pressure_Pa: system_Pa(flow_m3_per_s),
        unstable: crossings > 1
            || curve
                .unstable_below_m3_per_s()
                .is_some_and(|q| flow_m3_per_s < q),
        beyond_curve: flow_m3_per_s > curve.last_flow_m3_per_s(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `scipy` 1.17.1, PchipInterpolator([0,10,25,40,60], [50,40,42,30,0]): the same published
    /// method, so only rounding differs.
    #[test]
    fn curve_is_scipys_pchip() {
        let curve = FanCurve::new(&[
            (0.0, 50.0),
            (10.0, 40.0),
            (25.0, 42.0),
            (40.0, 30.0),
            (60.0, 0.0),
        ])
        .expect("a curve");
        for (q, p) in [
            (5.0, 43.183_333_333_333_33),
            (15.0, 40.518_518_518_518_52),
            (20.0, 41.481_481_481_481_48),
            (30.0, 40.031_746_031_746_03),
            (50.0, 17.178_571_428_571_43),
            (58.0, 3.732_857_142_857_142_7),
        ] {
            assert!((curve.pressure_Pa(q) - p).abs() < 1e-9, "{q}");
        }
        assert_eq!(curve.unstable_below_m3_per_s(), Some(25.0));
    }

    /// By hand: a straight fan 100 - 1000 Q against a system 10000 Q^2 meets it where
    /// 10000 Q^2 + 1000 Q - 100 = 0: Q = (5^(1/2) - 1)/20 = 0.061803 m3/s, 38.197 Pa.
    #[test]
    fn duty_point_by_hand() {
        let curve = FanCurve::new(&[(0.0, 100.0), (0.04, 60.0), (0.1, 0.0)]).expect("a curve");
        let duty = duty_point(&curve, |q| 1e4 * q * q);
        assert!((duty.flow_m3_per_s - 0.061_803_398_9).abs() < 1e-9);
        assert!((duty.pressure_Pa - 38.196_601).abs() < 1e-5);
        assert!(!duty.unstable && !duty.beyond_curve);
    }

    /// ASHRAE Handbook HVAC Systems and Equipment, chapter on fans, figure that applies the fan
    /// laws (from memory): 6000 cfm and 1.13 in at 600 rpm become 6500 cfm and 1.33 in at 650 rpm.
    /// The book rounds to 0.01 in. At a fixed speed pressure goes with density (ISO 5801).
    #[test]
    fn fan_laws() {
        let curve = FanCurve::new(&[(0.0, 1.5), (6000.0, 1.13), (9000.0, 0.0)]).expect("a curve");
        let faster = curve.at(650.0 / 600.0, RATING_DENSITY_KG_PER_M3);
        assert!((faster.pressure_Pa(6500.0) - 1.33).abs() < 0.005);
        let thin = curve.at(1.0, 0.6);
        assert!((thin.pressure_Pa(6000.0) - 0.565).abs() < 1e-9);
        assert!((power_at_W(10.0, 2.0, RATING_DENSITY_KG_PER_M3) - 80.0).abs() < 1e-12);
    }

    /// By hand: 50 log10 0.5 = -15.05, 10 log10 2 = 3.01 (common practice, no source; the sum of two equal incoherent
    /// sources is 3 dB by definition).
    #[test]
    fn sound_goes_with_the_fifth_power_of_speed() {
        assert!((sound_dBA(40.0, 0.5, 1) - 24.95).abs() < 0.005);
        assert!((sound_dBA(40.0, 1.0, 2) - 43.01).abs() < 0.005);
        assert_eq!(sound_dBA(40.0, 1.0, 1), 40.0);
    }

    /// Against the same orifice two fans in series hold twice the pressure at a flow, two in
    /// parallel pass twice the flow at a pressure (definition).
    #[test]
    fn two_of_a_kind() {
        let curve = FanCurve::new(&[(0.0, 50.0), (0.02, 30.0), (0.03, 0.0)]).expect("a curve");
        assert!((curve.in_series(2).pressure_Pa(0.02) - 60.0).abs() < 1e-12);
        assert!((curve.in_parallel(2).pressure_Pa(0.04) - 30.0).abs() < 1e-12);
    }

    #[test]
    fn stall_is_seen_and_a_curve_that_ends_high_comes_down() {
        let stall = FanCurve::new(&[(0.0, 60.0), (0.01, 40.0), (0.02, 48.0), (0.04, 0.0)])
            .expect("a curve");
        // Crosses within the dip, left of the hump.
        assert!(duty_point(&stall, |q| 3e5 * q * q).unstable);
        assert!(!duty_point(&stall, |q| 1e4 * q * q).unstable);
        let short = FanCurve::new(&[(0.0, 60.0), (0.01, 50.0)]).expect("a curve");
        let duty = duty_point(&short, |q| 1e3 * q);
        assert!(duty.beyond_curve && duty.flow_m3_per_s.is_finite());
    }

    /// By hand: 40 Pa of wind on the outlet of a fan that gives 10 Pa at most press back through a system
    /// of 10000 Q|Q|: Q = -((40 - 10)/10000)^(1/2) = -0.054772 m3/s. And 4 Pa only weaken it: a straight fan
    /// 10 - 100 Q meets 10000 Q^2 + 4 where 10000 Q^2 + 100 Q - 6 = 0: Q = (-100 + 250000^(1/2))/20000 = 0.02 m3/s.
    #[test]
    fn wind_presses_back_through_a_weak_fan_by_hand() {
        let curve = FanCurve::new(&[(0.0, 10.0), (0.05, 5.0), (0.1, 0.0)]).expect("a curve");
        let with = |wind_Pa: f64| duty_point(&curve, |q| 1e4 * q * q.abs() + wind_Pa);
        let back = with(40.0);
        assert!(
            (back.flow_m3_per_s + 0.054_772_256).abs() < 1e-8,
            "{back:?}"
        );
        assert!(back.flows_back() && (back.pressure_Pa - 10.0).abs() < 1e-6);
        let weaker = with(4.0);
        assert!((weaker.flow_m3_per_s - 0.02).abs() < 1e-9, "{weaker:?}");
        assert!(!weaker.flows_back());
        // And one that draws: 20 Pa more than it gives at any flow: 10000 Q^2 + 100 Q - 30 = 0 to its free delivery and
        // beyond it along the same slope: Q = (-100 + 1210000^(1/2))/20000 = 0.05 m3/s.
        let drawn = with(-20.0);
        assert!((drawn.flow_m3_per_s - 0.05).abs() < 1e-9, "{drawn:?}");
        // So hard that it is beyond free delivery: 10000 Q^2 + 100 Q - 210 = 0: Q = 0.14 m3/s.
        let hard = with(-200.0);
        assert!(
            (hard.flow_m3_per_s - 0.14).abs() < 1e-9 && hard.beyond_curve,
            "{hard:?}"
        );
        // Few places find the same.
        let few = crossing(&curve, 24, |q| 1e4 * q * q.abs() + 4.0);
        assert!((few.flow_m3_per_s - 0.02).abs() < 1e-9);
    }

    /// So tight that nothing moves: still a point, and at almost no flow.
    #[test]
    fn a_blocked_system_has_a_duty_point() {
        let curve = FanCurve::new(&[(0.0, 50.0), (0.03, 0.0)]).expect("a curve");
        let duty = duty_point(&curve, |q| 1e14 * q * q);
        assert!(duty.flow_m3_per_s < 1e-6 && duty.flow_m3_per_s >= 0.0);
        assert!((duty.pressure_Pa - 50.0).abs() < 0.1);
    }

    #[test]
    fn what_is_no_curve_is_refused() {
        let new = |p: &[(f64, f64)]| FanCurve::new(p).expect_err("no curve");
        assert_eq!(new(&[]), CurveError::TooFew(0));
        assert_eq!(new(&[(0.0, 1.0)]), CurveError::TooFew(1));
        assert_eq!(new(&[(0.0, 9.0), (1.0, -1.0)]), CurveError::Negative(2));
        assert_eq!(new(&[(0.0, f64::NAN), (1.0, 1.0)]), CurveError::Negative(1));
        assert_eq!(
            new(&[(0.0, 9.0), (2.0, 5.0), (2.0, 0.0)]),
            CurveError::Unsorted(3)
        );
        assert_eq!(new(&[(0.0, 1.0), (1.0, 2.0)]), CurveError::Rising);
        assert_eq!(
            new(&[(0.0, 0.0), (1.0, 2.0), (2.0, 1.0)]),
            CurveError::NoPressure
        );
    }

    /// By hand, from the published rules: a slope between chords of different sign is zero, at an end it
    /// is the three-point formula, held at three times the chord where the next chord turns. Half way
    /// between two points the cubic is their mean plus h (d0 - d1)/8.
    #[test]
    fn slopes_at_the_ends_by_hand() {
        let at =
            |points: &[(f64, f64)], q: f64| FanCurve::new(points).expect("a curve").pressure_Pa(q);
        // Chords -0.1 and 1.1: the formula's -0.7 is held at -0.3.
        let held = [(0.0, 50.0), (10.0, 49.0), (20.0, 60.0), (30.0, 0.0)];
        assert!((at(&held, 5.0) - 49.125).abs() < 1e-12);
        // Chords -1 and 0.5: the formula's -1.75 stands.
        let free = [(0.0, 50.0), (10.0, 40.0), (20.0, 45.0), (30.0, 0.0)];
        assert!((at(&free, 5.0) - 42.8125).abs() < 1e-12);
        // Flat at first: no hump.
        let flat = [(0.0, 50.0), (10.0, 50.0), (20.0, 30.0)];
        assert_eq!([at(&flat, 2.0), at(&flat, 5.0), at(&flat, 8.0)], [50.0; 3]);
        // Uneven points; at the end -2/3, before it the harmonic mean -90/(50/1.5 + 40).
        let uneven = [
            (0.0, 50.0),
            (10.0, 45.0),
            (30.0, 35.0),
            (40.0, 20.0),
            (60.0, 0.0),
        ];
        let by_hand = 10.0 + 20.0 / 8.0 * (2.0 / 3.0 - 90.0 / (50.0 / 1.5 + 40.0));
        assert!((at(&uneven, 50.0) - by_hand).abs() < 1e-12);
    }

    /// Beyond its last point a curve falls on as steeply as its last slope, as its last chord, or as from
    /// still air to the last point, whichever is steepest; by hand.
    #[test]
    fn beyond_the_last_point_a_curve_comes_down() {
        for (points, falls_Pa_s_per_m3) in [
            // The three-point formula: (0.06 * 5000 - 0.01 * 250)/0.05.
            ([(0.0, 100.0), (0.04, 90.0), (0.05, 40.0)], 5950.0),
            // The chord, before which the curve was steeper: (0.03 * 1500 - 0.01 * 2000)/0.02 is less.
            ([(0.05, 50.0), (0.06, 30.0), (0.07, 15.0)], 1500.0),
            // Still air to the last point.
            ([(0.0, 60.0), (0.01, 55.0), (0.02, 50.0)], 3000.0),
        ] {
            let curve = FanCurve::new(&points).expect("a curve");
            let (last, left) = points[2];
            let below = curve.pressure_Pa(last + 0.001);
            assert!(
                (below - (left - 0.001 * falls_Pa_s_per_m3)).abs() < 1e-9,
                "{below}"
            );
            let free = curve.free_delivery_m3_per_s();
            assert!(
                (free - (last + left / falls_Pa_s_per_m3)).abs() < 1e-9,
                "{free}"
            );
            assert!(curve.pressure_Pa(free).abs() < 1e-9);
            assert_eq!(curve.last_flow_m3_per_s(), last);
            assert_eq!(curve.highest_Pa(), points[0].1);
        }
        // One that ends at zero delivers that flow, and what is flat does not rise.
        let whole = FanCurve::new(&[(0.0, 50.0), (0.01, 50.0), (0.02, 0.0)]).expect("a curve");
        assert_eq!(whole.free_delivery_m3_per_s(), 0.02);
        assert_eq!(whole.unstable_below_m3_per_s(), None);
        let hump = FanCurve::new(&[(0.0, 50.0), (0.01, 60.0), (0.02, 0.0)]).expect("a curve");
        assert_eq!(hump.highest_Pa(), 60.0);
    }

    /// The fan laws hold between the points too: the scaled curve is the curve, scaled.
    #[test]
    fn fan_laws_between_the_points() {
        let curve = FanCurve::new(&[(0.0, 50.0), (0.02, 30.0), (0.03, 0.0)]).expect("a curve");
        let (faster, series) = (curve.at(1.5, 0.9), curve.in_series(3));
        for q in [0.003, 0.013, 0.024, 0.029] {
            let p = curve.pressure_Pa(q);
            assert!((faster.pressure_Pa(1.5 * q) - 2.25 * 0.75 * p).abs() < 1e-9);
            assert!((series.pressure_Pa(q) - 3.0 * p).abs() < 1e-9);
            assert!((curve.in_parallel(2).pressure_Pa(2.0 * q) - p).abs() < 1e-9);
        }
    }

    /// A system whose curve meets the fan's dip, its hump and its fall: the crossing of the largest flow
    /// is taken, right of the hump, and is told to be one of several.
    #[test]
    fn several_crossings_are_told() {
        let stall = FanCurve::new(&[(0.0, 60.0), (0.01, 40.0), (0.02, 48.0), (0.04, 0.0)])
            .expect("a curve");
        let system = |q: f64| (46.0 * q / 0.008).min(46.0);
        let duty = duty_point(&stall, system);
        assert!(duty.flow_m3_per_s > 0.02 && duty.unstable, "{duty:?}");
        assert!((stall.pressure_Pa(duty.flow_m3_per_s) - 46.0).abs() < 1e-9);
    }
}

//! A scale of colours for margins: dark where filament softens, light where much is left.
//!
//! Our own: a path through CIELAB (CIE 15) whose lightness rises evenly from end to end, so that the order is seen by
//! everyone and in a grey print, while the hue turns from plum over brick and ochre to a pale green. No margin and
//! the same colour always belong together: a season that holds throughout is a light picture, one that softens
//! throughout a dark one.

use super::scene::Colour;
use super::srgb::channel;

/// Lightness L* at both ends.
const LIGHTNESS: (f64, f64) = (18.0, 95.0);
/// Share of the path, chroma, hue in degrees. Every colour between lies within sRGB.
const STOPS: [(f64, f64, f64); 6] = [
    (0.0, 34.0, 330.0),
    (0.25, 48.0, 368.0),
    (0.45, 60.0, 405.0),
    (0.65, 56.0, 440.0),
    (0.85, 38.0, 480.0),
    (1.0, 16.0, 510.0),
];
/// Where on the path no margin lies.
const AT_NOTHING: f64 = 0.45;
/// Widths of a class, K.
const STEPS_K: [f64; 10] = [0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0];
/// Most classes: neighbours further along can no longer be told apart.
const MOST_CLASSES: f64 = 40.0;
/// Least that is shown on either side of the marks, as a share of the whole.
const LEAST_SHARE: f64 = 0.2;

/// The colour of a share of the path, 0 (dark) to 1 (light).
pub fn colour(share: f64) -> Colour {
    let share = share.clamp(0.0, 1.0);
    let lightness = LIGHTNESS.0 + (LIGHTNESS.1 - LIGHTNESS.0) * share;
    let (chroma, hue) =
        STOPS
            .windows(2)
            .find(|pair| share <= pair[1].0)
            .map_or((STOPS[5].1, STOPS[5].2), |pair| {
                let x = (share - pair[0].0) / (pair[1].0 - pair[0].0);
                (
                    pair[0].1 + (pair[1].1 - pair[0].1) * x,
                    pair[0].2 + (pair[1].2 - pair[0].2) * x,
                )
            });
    let (sin, cos) = hue.to_radians().sin_cos();
    of_lab(lightness, chroma * cos, chroma * sin)
}

/// CIELAB (white D65) to sRGB (IEC 61966-2-1).
fn of_lab(lightness: f64, a: f64, b: f64) -> Colour {
    let y = (lightness + 16.0) / 116.0;
    let back = |f: f64| {
        let edge = 6.0 / 29.0;
        if f > edge {
            f.powi(3)
        } else {
            3.0 * edge * edge * (f - 4.0 / 29.0)
        }
    };
    let (x, y, z) = (
        0.950_47 * back(y + a / 500.0),
        back(y),
        1.088_83 * back(y - b / 200.0),
    );
    Colour(
        channel(3.2406 * x - 1.5372 * y - 0.4986 * z),
        channel(-0.9689 * x + 1.8758 * y + 0.0415 * z),
        channel(0.0557 * x - 0.2040 * y + 1.0570 * z),
    )
}

/// A scale of margins in classes of one width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Width of a class, K.
    pub step_K: f64,
    /// The lowest class, and the one behind the highest; class 0 begins at no margin.
    pub classes: (i32, i32),
    /// Margin over which the path runs from end to end, K.
    whole_K: f64,
}

impl Scale {
    /// The scale of some margins, with room below none and above those required.
    pub fn of(margins_K: impl Iterator<Item = f64>, required_K: f64) -> Self {
        let (low, high) = margins_K.fold((0.0, required_K.max(0.0)), |(low, high), m: f64| {
            (m.min(low), m.max(high))
        });
        let room = LEAST_SHARE * (high - low).max(2.0);
        let (low, high) = (low.min(-room), high.max(required_K + room));
        let step_K = STEPS_K
            .into_iter()
            .find(|step| (high - low) / step <= MOST_CLASSES)
            .unwrap_or_else(|| (high - low) / MOST_CLASSES);
        let classes = (
            (low / step_K).floor() as i32,
            ((high / step_K).floor() as i32).saturating_add(1),
        );
        let (low, high) = (f64::from(classes.0) * step_K, f64::from(classes.1) * step_K);
        Self {
            step_K,
            classes,
            whole_K: (-low / AT_NOTHING).max(high / (1.0 - AT_NOTHING)),
        }
    }

    /// Lowest and highest margin of the scale, K.
    pub fn ends_K(&self) -> (f64, f64) {
        (
            f64::from(self.classes.0) * self.step_K,
            f64::from(self.classes.1) * self.step_K,
        )
    }

    /// The class of a margin.
    pub fn class(&self, margin_K: f64) -> i32 {
        ((margin_K / self.step_K).floor() as i32).clamp(self.classes.0, self.classes.1 - 1)
    }

    /// The colour of a class.
    pub fn colour(&self, class: i32) -> Colour {
        colour(AT_NOTHING + (f64::from(class) + 0.5) * self.step_K / self.whole_K)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Matrix = [[f64; 3]; 3];

    const NORMAL: Matrix = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    /// Full loss of one kind of cone, on linear RGB: Machado, Oliveira and Fernandes, "A physiologically-based model
    /// for simulation of color vision deficiency", IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291, severity 1.0.
    const PROTANOPIA: Matrix = [
        [0.152_286, 1.052_583, -0.204_868],
        [0.114_503, 0.786_281, 0.099_216],
        [-0.003_882, -0.048_116, 1.051_998],
    ];
    const DEUTERANOPIA: Matrix = [
        [0.367_322, 0.860_646, -0.227_968],
        [0.280_085, 0.672_501, 0.047_413],
        [-0.011_820, 0.042_940, 0.968_881],
    ];
    const TRITANOPIA: Matrix = [
        [1.255_528, -0.076_749, -0.178_779],
        [-0.078_411, 0.930_809, 0.147_602],
        [0.004_733, 0.691_367, 0.303_900],
    ];

    fn times(m: &Matrix, v: [f64; 3]) -> [f64; 3] {
        m.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
    }

    /// L*, a*, b* as someone sees it, by the definitions and not by the way back above.
    fn lab(Colour(r, g, b): Colour, eye: &Matrix) -> [f64; 3] {
        let linear = [r, g, b].map(|c| {
            let c = f64::from(c) / 255.0;
            if c <= 0.040_45 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        });
        let seen = times(eye, linear).map(|c| c.clamp(0.0, 1.0));
        let to_xyz = [
            [0.4124, 0.3576, 0.1805],
            [0.2126, 0.7152, 0.0722],
            [0.0193, 0.1192, 0.9505],
        ];
        let [x, y, z] = times(&to_xyz, seen);
        let f = |t: f64| {
            if t > (6.0_f64 / 29.0).powi(3) {
                t.cbrt()
            } else {
                t * (29.0_f64 / 6.0).powi(2) / 3.0 + 4.0 / 29.0
            }
        };
        let (x, y, z) = (f(x / 0.950_47), f(y), f(z / 1.088_83));
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    fn path() -> impl Iterator<Item = Colour> {
        (0..=200).map(|k| colour(f64::from(k) / 200.0))
    }

    /// White is 100, and #777777 has L* 50.03 (a value often tabulated).
    #[test]
    fn lightness_is_that_of_the_cie() {
        assert!((lab(Colour::WHITE, &NORMAL)[0] - 100.0).abs() < 0.01);
        assert!((lab(Colour(0x77, 0x77, 0x77), &NORMAL)[0] - 50.03).abs() < 0.02);
    }

    /// In every eye lighter means more margin. Half a per cent of the path is 0.385 of lightness, less than a step of
    /// eight bits can be, so five per cent are compared beside that.
    #[test]
    fn lightness_rises_evenly_in_every_eye() {
        for eye in [&NORMAL, &PROTANOPIA, &DEUTERANOPIA, &TRITANOPIA] {
            let seen: Vec<f64> = path().map(|c| lab(c, eye)[0]).collect();
            for (k, ends) in seen.windows(11).enumerate() {
                let rise = ends[10] - ends[0];
                assert!(rise > 2.0, "{eye:?} at {k}: {rise}");
            }
        }
        for (k, colour) in path().enumerate() {
            let wanted = 18.0 + 77.0 * k as f64 / 200.0;
            let got = lab(colour, &NORMAL)[0];
            assert!((got - wanted).abs() < 0.35, "{k}: {got}, not {wanted}");
        }
    }

    /// The chroma asked for is there: nothing is cut off at the edge of what a screen can show.
    #[test]
    fn every_colour_lies_within_the_screens() {
        for (share, chroma, _) in STOPS {
            let [_, a, b] = lab(colour(share), &NORMAL);
            assert!((a.hypot(b) - chroma).abs() < 1.5, "{share}");
        }
    }

    /// A distance of 2.3 is just seen (Mahy, Van Eycken and Oosterlinck 1994).
    #[test]
    fn a_twentieth_of_the_path_is_seen_by_everyone() {
        let colours: Vec<Colour> = path().collect();
        for eye in [&NORMAL, &PROTANOPIA, &DEUTERANOPIA, &TRITANOPIA] {
            let seen: Vec<[f64; 3]> = colours.iter().map(|c| lab(*c, eye)).collect();
            for one in 0..seen.len() {
                for other in one + 10..seen.len() {
                    let far = (0..3).map(|i| (seen[one][i] - seen[other][i]).powi(2));
                    let far = far.sum::<f64>().sqrt();
                    assert!(far > 2.3, "{eye:?}: {one} and {other} are {far} apart");
                }
            }
        }
    }

    #[test]
    fn no_margin_has_one_colour_in_every_season() {
        let middle = lab(colour(AT_NOTHING), &NORMAL)[0];
        for margins in [
            vec![1.0],
            vec![-40.0, -20.0],
            vec![30.0, 60.0],
            vec![-2.0, 5.0],
            vec![0.0],
        ] {
            let scale = Scale::of(margins.iter().copied(), 3.0);
            let around = [scale.colour(-1), scale.colour(0)].map(|c| lab(c, &NORMAL)[0]);
            assert!(around[0] < middle && middle < around[1], "{margins:?}");
            assert!(around[1] - around[0] < 77.0 / 20.0, "{margins:?}");
            let (low, high) = scale.ends_K();
            assert!(low < 0.0 && high > 3.0, "{scale:?}");
            for margin in margins {
                assert!(low <= margin && margin <= high);
                let class = scale.class(margin);
                let from = f64::from(class) * scale.step_K;
                assert!(from <= margin && margin < from + scale.step_K, "{margin}");
            }
        }
        // All that holds by far is light, all that softens by far is dark.
        let scale = Scale::of([40.0, 60.0].into_iter(), 3.0);
        assert!(lab(scale.colour(scale.class(40.0)), &NORMAL)[0] > 70.0);
        let scale = Scale::of([-60.0, -40.0].into_iter(), 3.0);
        assert!(lab(scale.colour(scale.class(-40.0)), &NORMAL)[0] < 35.0);
    }

    #[test]
    fn huge_and_single_margins_have_a_scale() {
        for margins in [vec![], vec![1e12, -1e12], vec![5000.0]] {
            let scale = Scale::of(margins.iter().copied(), 0.0);
            let (low, high) = scale.ends_K();
            assert!(low.is_finite() && high > low, "{scale:?}");
            assert!(scale.classes.1 - scale.classes.0 <= 43, "{scale:?}");
        }
    }
}

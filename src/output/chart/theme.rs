//! What a colour on white paper becomes on a dark screen.
//!
//! Lightness is turned around in OKLab (Ottosson 2020; its two matrices are from the published definition), hue and
//! as much of the chroma as the screen can show are kept: what stood out of white stands out of the dark ground, and
//! a scale that darkened with heat brightens with it.

use super::scene::Colour;
use super::srgb::{channel, linear};

/// Lightness of the ground, OKLab.
const GROUND: f64 = 0.21;
/// Lightness of what was black.
const BRIGHTEST: f64 = 0.95;
/// Below one: middle tones, in which most lines are, go further from the ground than in proportion.
const BEND: f64 = 0.62;

/// The colour on a dark ground.
pub fn dark(colour: Colour) -> Colour {
    let [lightness, a, b] = lab(colour);
    let turned = GROUND + (BRIGHTEST - GROUND) * (1.0 - lightness).max(0.0).powf(BEND);
    // Less chroma until the screen can show it.
    let mut share: f64 = 1.0;
    loop {
        let linear = linear_of([turned, share * a, share * b]);
        if share <= 0.0 || linear.iter().all(|c| (-1e-4..=1.0001).contains(c)) {
            return Colour(channel(linear[0]), channel(linear[1]), channel(linear[2]));
        }
        share -= 0.05;
    }
}

fn lab(colour: Colour) -> [f64; 3] {
    let [r, g, b] = [colour.0, colour.1, colour.2].map(linear);
    let l = (0.412_221_470_8 * r + 0.536_332_536_3 * g + 0.051_445_992_9 * b).cbrt();
    let m = (0.211_903_498_2 * r + 0.680_699_545_1 * g + 0.107_396_956_6 * b).cbrt();
    let s = (0.088_302_461_9 * r + 0.281_718_837_6 * g + 0.629_978_700_5 * b).cbrt();
    [
        0.210_454_255_3 * l + 0.793_617_785_0 * m - 0.004_072_046_8 * s,
        1.977_998_495_1 * l - 2.428_592_205_0 * m + 0.450_593_709_9 * s,
        0.025_904_037_1 * l + 0.782_771_766_2 * m - 0.808_675_766_0 * s,
    ]
}

fn linear_of([lightness, a, b]: [f64; 3]) -> [f64; 3] {
    let l = (lightness + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
    let m = (lightness - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
    let s = (lightness - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
    [
        4.076_741_662_1 * l - 3.307_711_591_3 * m + 0.230_969_929_2 * s,
        -1.268_438_004_6 * l + 2.609_757_401_1 * m - 0.341_319_396_5 * s,
        -0.004_196_086_3 * l - 0.703_418_614_7 * m + 1.707_614_701_0 * s,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::chart::style::{self, luminance};
    use crate::output::chart::{MOST_ARRANGEMENTS, Role};

    fn contrast(one: Colour, other: Colour) -> f64 {
        let (a, b) = (luminance(one) + 0.05, luminance(other) + 0.05);
        a.max(b) / a.min(b)
    }

    /// White and black are the ends of OKLab by its definition, and pure red is 0.62796, 0.22486, 0.12585 there
    /// (the published conversion, from memory).
    #[test]
    fn oklab_is_the_published_one() {
        for (colour, known) in [
            (Colour(255, 255, 255), [1.0, 0.0, 0.0]),
            (Colour(0, 0, 0), [0.0, 0.0, 0.0]),
            (Colour(255, 0, 0), [0.627_96, 0.224_86, 0.125_85]),
        ] {
            for (value, known) in lab(colour).iter().zip(known) {
                assert!((value - known).abs() < 1e-4, "{colour:?}: {value}");
            }
            let back = linear_of(lab(colour));
            assert!((linear(colour.0) - back[0]).abs() < 1e-4);
        }
    }

    /// WCAG 2.2 asks 4.5 of text (1.4.3) and 3 of lines that carry meaning (1.4.11).
    #[test]
    fn text_and_lines_stand_out_of_the_dark_ground_too() {
        let ground = dark(Colour::WHITE);
        for ink in [Colour::INK, Colour::QUIET] {
            assert!(contrast(dark(ink), ground) >= 4.5, "{ink:?}");
            assert!(contrast(ink, Colour::WHITE) >= 4.5, "{ink:?}");
        }
        let lines = (0..MOST_ARRANGEMENTS).map(Role::Arrangement).chain([
            Role::DriveGear,
            Role::ColdEnd,
            Role::GuideTube,
            Role::Spool,
            Role::Room,
            Role::Outdoors,
            Role::AirLayer(0, 2),
            Role::AirLayer(1, 2),
        ]);
        for role in lines {
            let colour = style::stroke(role, 1.0).colour;
            let found = contrast(dark(colour), ground);
            assert!(found >= 3.0, "{role:?}: {found}");
            // What is written in a line's colour is made legible on white first.
            let written = contrast(dark(style::legible(colour)), ground);
            assert!(written >= 4.5, "{role:?}: {written}");
        }
    }
}

//! Colours, widths and dashes.
//!
//! Hues come from the palette of Okabe and Ito (2008), made to stay apart under the common kinds of
//! colour blindness, some darkened for white paper. For grey prints, lines that appear together also
//! differ in lightness, width or dashes, and each name carries a sample of its line.

use super::data::{MarkKind, Role};
use super::fan_data::CurveKind;
use super::scene::{Colour, Stroke};
use super::srgb::linear;

const VERMILION: Colour = Colour(0xd5, 0x5e, 0x00);
const BLUE: Colour = Colour(0x00, 0x72, 0xb2);
const GREEN: Colour = Colour(0x00, 0x8f, 0x68);
const PURPLE: Colour = Colour(0xa8, 0x3f, 0x80);
const ORANGE: Colour = Colour(0xe6, 0x9f, 0x00);
const SKY: Colour = Colour(0x56, 0xb4, 0xe9);
const BLACK: Colour = Colour(0x26, 0x26, 0x26);
const BROWN: Colour = Colour(0x6e, 0x4a, 0x10);
const GREY: Colour = Colour(0x70, 0x75, 0x7c);

/// The limit line; the band below it is a wash of the second.
pub const LIMIT: Colour = Colour(0x14, 0x14, 0x14);
pub const MARGIN: Colour = Colour(0xf0, 0xb4, 0x30);
pub const MARGIN_OPACITY: f64 = 0.28;
/// Of what a line lies between, in the line's colour.
pub const BAND_OPACITY: f64 = 0.16;
/// Below a margin of nothing.
pub const SOFT: Colour = VERMILION;
pub const SOFT_OPACITY: f64 = 0.09;
/// What is needed: a flow, and the margin it is needed for.
pub const NEEDED: Colour = Colour(0x0b, 0x6e, 0x7a);
/// A best estimate of which nothing else has the colour.
pub const BEST: Colour = BLACK;
/// Nights.
pub const NIGHT: Colour = Colour(0x3c, 0x50, 0x78);
pub const NIGHT_OPACITY: f64 = 0.07;

const SOLID: &[f64] = &[];
const LONG: &[f64] = &[9.0, 3.5];
const SHORT: &[f64] = &[4.0, 2.5];
const DOTS: &[f64] = &[1.8, 2.4];
const DASH_DOT: &[f64] = &[9.0, 2.5, 2.0, 2.5];
const DASH_DOT_DOT: &[f64] = &[9.0, 2.2, 1.8, 2.2, 1.8, 2.2];
const FAR: &[f64] = &[14.0, 5.0];
const LONG_SHORT: &[f64] = &[10.0, 2.5, 4.0, 2.5];
const PAIRS: &[f64] = &[8.0, 2.5, 8.0, 7.0];
const TRIPLETS: &[f64] = &[2.0, 2.0, 2.0, 2.0, 2.0, 6.0];
const FAR_DOTS: &[f64] = &[2.4, 6.0];

type Look = (Colour, f64, &'static [f64]);

/// Looks of what is compared: no two have colour and dashes in common.
const ARRANGEMENTS: [Look; 16] = [
    (VERMILION, 2.4, SOLID),
    (BLUE, 2.0, LONG),
    (GREEN, 1.8, SHORT),
    (PURPLE, 2.0, DASH_DOT),
    (ORANGE, 2.2, SOLID),
    (BLACK, 1.5, DOTS),
    (SKY, 2.2, FAR),
    (BROWN, 1.6, DASH_DOT_DOT),
    (BLACK, 1.6, SOLID),
    (VERMILION, 2.0, PAIRS),
    (BLUE, 2.0, LONG_SHORT),
    (GREEN, 2.0, TRIPLETS),
    (PURPLE, 2.4, FAR_DOTS),
    (ORANGE, 2.0, LONG),
    (SKY, 2.2, SHORT),
    (BROWN, 1.6, FAR),
];

/// How many lines of a comparison can be told apart.
pub const MOST_ARRANGEMENTS: usize = ARRANGEMENTS.len();

const SOURCES: [Look; 6] = [
    (VERMILION, 2.0, SOLID),
    (ORANGE, 2.0, LONG),
    (PURPLE, 1.8, SHORT),
    (BROWN, 1.6, DASH_DOT),
    (BLACK, 1.5, DOTS),
    (VERMILION, 1.5, FAR),
];

const SINKS: [Look; 6] = [
    (BLUE, 2.0, SOLID),
    (SKY, 2.2, LONG),
    (GREEN, 1.8, SHORT),
    (BLUE, 1.5, DASH_DOT),
    (GREY, 1.6, DOTS),
    (GREEN, 1.5, FAR),
];

/// Thermometers are told apart by colour and by where they are; what was measured and what is modelled by dashes.
fn thermometer(number: usize) -> Colour {
    [VERMILION, BLUE, GREEN, PURPLE, BROWN, BLACK][number % 6]
}

/// How the line of a role is drawn; `k` scales it to the picture.
pub fn stroke(role: Role, k: f64) -> Stroke {
    let look: Look = match role {
        Role::DriveGear => (VERMILION, 2.6, SOLID),
        Role::ColdEnd => (PURPLE, 2.0, LONG),
        Role::GuideTube => (GREEN, 2.0, DASH_DOT),
        Role::Spool => (ORANGE, 2.0, SHORT),
        Role::Failing => (VERMILION, 1.6, SHORT),
        Role::Nozzle => (BLACK, 1.5, FAR),
        Role::AirLayer(index, count) => layer(index, count),
        Role::Room => (GREY, 1.8, DOTS),
        Role::Outdoors => (GREY, 1.8, LONG_SHORT),
        Role::Bed => (BROWN, 1.8, DASH_DOT_DOT),
        Role::Part => (BLACK, 1.4, SHORT),
        Role::Source(number) => SOURCES[number % SOURCES.len()],
        Role::Sink(number) => SINKS[number % SINKS.len()],
        Role::Arrangement(number) => ARRANGEMENTS[number % ARRANGEMENTS.len()],
        Role::Measured(number) => (thermometer(number), 2.4, SOLID),
        Role::Modelled(number) => (thermometer(number), 1.6, LONG),
        Role::Before(number) => (thermometer(number), 1.4, DOTS),
    };
    scaled(look, k)
}

/// How a curve over any quantity is drawn.
pub fn curve(kind: CurveKind, k: f64) -> Stroke {
    let look: Look = match kind {
        CurveKind::Main(number) => ARRANGEMENTS[number % ARRANGEMENTS.len()],
        CurveKind::Against(0) => (BLACK, 2.0, SOLID),
        CurveKind::Against(1) => (BLACK, 1.6, LONG),
        CurveKind::Against(_) => (BLACK, 1.4, DOTS),
    };
    scaled(look, k)
}

/// How the part of a curve is drawn on which nobody can rely.
pub fn unstable(kind: CurveKind, k: f64) -> Stroke {
    let Stroke { colour, width, .. } = curve(kind, 1.0);
    scaled((colour, 0.65 * width, DOTS), k)
}

/// What parts of a whole are filled with, from the bottom to the top. They have their names beside them; greys keep
/// clear of the hues that stand for something, and any two neighbours differ in lightness.
pub fn part(number: usize) -> Colour {
    const PARTS: [Colour; 6] = [
        Colour(0x3d, 0x49, 0x59),
        Colour(0xa9, 0xb6, 0xc4),
        Colour(0x6a, 0x7a, 0x8d),
        Colour(0xd0, 0xd8, 0xe0),
        Colour(0x52, 0x60, 0x72),
        Colour(0xbc, 0xc7, 0xd2),
    ];
    PARTS[number % PARTS.len()]
}

fn scaled((colour, width, dash): Look, k: f64) -> Stroke {
    Stroke {
        colour,
        width: width * k,
        // To a hundredth of a pixel, as the SVG is written: over a long line a smaller rest would
        // add up to another pattern than the PNG's.
        dash: dash
            .iter()
            .map(|length| (length * k * 100.0).round() / 100.0)
            .collect(),
    }
}

/// Light and thin at the bottom, dark and strong at the top: one family of blues.
fn layer(index: usize, count: usize) -> Look {
    let height = if count > 1 {
        index.min(count - 1) as f64 / (count - 1) as f64
    } else {
        1.0
    };
    let mix = |low: f64, high: f64| (low + (high - low) * height).round() as u8;
    let colour = Colour(mix(112.0, 8.0), mix(186.0, 62.0), mix(232.0, 122.0));
    (colour, 1.4 + 0.7 * height, SOLID)
}

/// Colour of a mark.
pub fn mark(kind: MarkKind) -> Colour {
    match kind {
        MarkKind::DoorOpen => Colour(0x0b, 0x6e, 0x7a),
        MarkKind::SpoolChange => Colour(0x6a, 0x3d, 0x9a),
        MarkKind::Pause => Colour(0x55, 0x5b, 0x63),
        MarkKind::HeatUp => Colour(0xa5, 0x4a, 0x08),
        MarkKind::CoolDown => Colour(0x1f, 0x5f, 0x99),
        MarkKind::FanOn => Colour(0x1f, 0x73, 0x4c),
        MarkKind::Failure => Colour(0xb0, 0x1e, 0x2e),
    }
}

/// The colour itself, or a darker one with a contrast of at least 4.5 to 1 against white, which
/// WCAG 2.2 (success criterion 1.4.3) asks of small text.
pub fn legible(colour: Colour) -> Colour {
    let mut colour = colour;
    while contrast_with_white(colour) < 4.5 {
        let darker = |channel: u8| (f64::from(channel) * 0.95) as u8;
        colour = Colour(darker(colour.0), darker(colour.1), darker(colour.2));
    }
    colour
}

/// Contrast ratio with white as WCAG 2.2 defines it.
fn contrast_with_white(colour: Colour) -> f64 {
    1.05 / (luminance(colour) + 0.05)
}

/// Relative luminance as WCAG 2.2 defines it, 0 to 1.
pub fn luminance(colour: Colour) -> f64 {
    0.2126 * linear(colour.0) + 0.7152 * linear(colour.1) + 0.0722 * linear(colour.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pairs often quoted from the WCAG's own examples: #767676 on white is 4.54, #777777 is 4.48
    /// (from memory of the published contrast tables).
    #[test]
    fn contrast_agrees_with_published_pairs() {
        assert!((contrast_with_white(Colour(0x76, 0x76, 0x76)) - 4.54).abs() < 0.005);
        assert!((contrast_with_white(Colour(0x77, 0x77, 0x77)) - 4.48).abs() < 0.005);
        assert!((contrast_with_white(Colour(0, 0, 0)) - 21.0).abs() < 1e-9);
    }

    /// Lines that stand in one panel can be told apart in grey: any two differ in dashes, or
    /// clearly in lightness or width.
    #[test]
    fn lines_differ_without_colour() {
        let upper = [
            Role::DriveGear,
            Role::ColdEnd,
            Role::GuideTube,
            Role::Spool,
            Role::Nozzle,
            Role::AirLayer(0, 2),
            Role::AirLayer(1, 2),
            Role::Room,
            Role::Outdoors,
            Role::Bed,
            Role::Part,
        ];
        let arrangements: Vec<Role> = (0..MOST_ARRANGEMENTS).map(Role::Arrangement).collect();
        let flows: Vec<Role> = (0..6)
            .flat_map(|n| [Role::Source(n), Role::Sink(n)])
            .collect();
        for group in [&upper[..], &arrangements] {
            for (position, &one) in group.iter().enumerate() {
                for &other in &group[position + 1..] {
                    let (a, b) = (stroke(one, 1.0), stroke(other, 1.0));
                    let lightness = (luminance(a.colour).sqrt() - luminance(b.colour).sqrt()).abs();
                    let width = (a.width - b.width).abs();
                    assert!(
                        a.dash != b.dash || lightness > 0.15 || width >= 0.5,
                        "{one:?} and {other:?}"
                    );
                }
            }
        }
        // Nor do any two of a comparison look the same in colour.
        for (position, &one) in arrangements.iter().enumerate() {
            for &other in &arrangements[position + 1..] {
                let (a, b) = (stroke(one, 1.0), stroke(other, 1.0));
                assert_ne!((a.colour, a.dash), (b.colour, b.dash), "{one:?} {other:?}");
            }
        }
        // Sources and sinks may share a dash pattern: their colours and signs differ.
        for (position, &one) in flows.iter().enumerate() {
            for &other in &flows[position + 1..] {
                assert_ne!(stroke(one, 1.0), stroke(other, 1.0), "{one:?} {other:?}");
            }
        }
    }

    #[test]
    fn neighbouring_parts_differ_without_colour() {
        for number in 0..12 {
            let lightness = |n: usize| luminance(part(n)).sqrt();
            let apart = (lightness(number) - lightness(number + 1)).abs();
            assert!(apart > 0.15, "{number}: {apart}");
        }
    }

    #[test]
    fn every_label_can_be_read() {
        for number in 0..MOST_ARRANGEMENTS {
            let colour = legible(stroke(Role::Arrangement(number), 1.0).colour);
            assert!(contrast_with_white(colour) >= 4.5);
        }
    }
}

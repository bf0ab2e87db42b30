//! The built-in font of the charts: measures text and hands out letter shapes.
//!
//! Charts must look the same on a machine that has no fonts at all, so two small TrueType files are
//! part of the program; `README.md` beside this file says where they come from and how they were
//! made. `ttf-parser` reads them. This room knows nothing of charts.

use std::sync::OnceLock;

use ttf_parser::{Face, GlyphId, OutlineBuilder};

/// The weights there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Weight {
    /// For labels and numbers.
    Regular,
    /// For titles and what matters most.
    Semibold,
}

/// A font, read and ready to measure.
pub struct Font {
    face: Face<'static>,
    /// Font units in one em (the nominal size of the letters).
    pub units_per_em: f64,
}

/// A letter's number inside its font, the same for the same shape, and the distance to the next
/// letter in font units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glyph {
    /// The number.
    pub id: u16,
    /// The distance.
    pub advance: f64,
}

/// The file of a weight, for pages that carry the font with them.
pub const fn file(weight: Weight) -> &'static [u8] {
    match weight {
        Weight::Regular => include_bytes!("chart-regular.ttf"),
        Weight::Semibold => include_bytes!("chart-semibold.ttf"),
    }
}

impl Font {
    /// The font of a weight; read once, then kept.
    ///
    /// `None` only if the embedded file cannot be read, which a test rules out.
    pub fn of(weight: Weight) -> Option<&'static Font> {
        static REGULAR: OnceLock<Option<Font>> = OnceLock::new();
        static SEMIBOLD: OnceLock<Option<Font>> = OnceLock::new();
        let kept = match weight {
            Weight::Regular => &REGULAR,
            Weight::Semibold => &SEMIBOLD,
        };
        kept.get_or_init(|| {
            let face = Face::parse(file(weight), 0).ok()?;
            let units_per_em = f64::from(face.units_per_em());
            Some(Font { face, units_per_em })
        })
        .as_ref()
    }

    /// The glyph of a character; a hollow box for one the font lacks.
    pub fn glyph(&self, character: char) -> Glyph {
        let id = self.face.glyph_index(character).unwrap_or_default();
        let advance = self.face.glyph_hor_advance(id).unwrap_or_default();
        Glyph {
            id: id.0,
            advance: f64::from(advance),
        }
    }

    /// Whether the font has a letter of its own for a character.
    pub fn has(&self, character: char) -> bool {
        self.face.glyph_index(character).is_some()
    }

    /// Hands a glyph's closed contours to a builder, in font units with y upwards; `false` for one
    /// without ink, as a space.
    pub fn outline(&self, glyph: u16, builder: &mut dyn OutlineBuilder) -> bool {
        self.face.outline_glyph(GlyphId(glyph), builder).is_some()
    }

    /// Width of a text in the unit of `size` (the em), usually pixels.
    pub fn width(&self, text: &str, size: f64) -> f64 {
        let units: f64 = text.chars().map(|c| self.glyph(c).advance).sum();
        units * size / self.units_per_em
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sums the area inside an outline, by Green's theorem; negative for the clockwise contours of
    /// TrueType.
    #[derive(Default)]
    struct AreaPen {
        at: (f64, f64),
        begin: (f64, f64),
        twice: f64,
    }

    impl AreaPen {
        fn straight(&mut self, to: (f64, f64)) {
            self.twice += cross(self.at, to);
            self.at = to;
        }
    }

    fn cross(a: (f64, f64), b: (f64, f64)) -> f64 {
        a.0 * b.1 - a.1 * b.0
    }

    impl OutlineBuilder for AreaPen {
        fn move_to(&mut self, x: f32, y: f32) {
            self.at = (x.into(), y.into());
            self.begin = self.at;
        }
        fn line_to(&mut self, x: f32, y: f32) {
            self.straight((x.into(), y.into()));
        }
        fn quad_to(&mut self, px: f32, py: f32, x: f32, y: f32) {
            let (from, pull, to) = (self.at, (px.into(), py.into()), (x.into(), y.into()));
            // A parabola cuts two thirds off the triangle of its control points.
            let triangle = cross(from, pull) + cross(pull, to) + cross(to, from);
            self.twice += 2.0 / 3.0 * triangle;
            self.straight(to);
        }
        fn curve_to(&mut self, _: f32, _: f32, _: f32, _: f32, _: f32, _: f32) {
            panic!("TrueType has no cubic curves");
        }
        fn close(&mut self) {
            self.straight(self.begin);
        }
    }

    #[test]
    fn both_weights_can_be_read() {
        for weight in [Weight::Regular, Weight::Semibold] {
            let font = Font::of(weight).expect("embedded font");
            // Printed by fonttools 4.x for the same files: unitsPerEm.
            assert_eq!(font.units_per_em, 2048.0);
        }
    }

    /// Advances printed by fonttools (`font["hmtx"][font.getBestCmap()[ord(c)]]`).
    #[test]
    fn widths_are_those_of_the_file() {
        let font = Font::of(Weight::Regular).expect("embedded font");
        for (character, advance) in ADVANCES {
            assert_eq!(font.glyph(character).advance, advance, "{character}");
        }
        let sum: f64 = ADVANCES.iter().map(|a| a.1).sum();
        let text: String = ADVANCES.iter().map(|a| a.0).collect();
        assert!((font.width(&text, 2048.0) - sum).abs() < 1e-9);
    }
    const ADVANCES: [(char, f64); 6] = [
        ('0', 1171.0),
        ('i', 518.0),
        ('W', 1896.0),
        ('°', 877.0),
        ('é', 1149.0),
        ('→', 1280.0),
    ];

    /// Areas printed by fonttools (`fontTools.pens.areaPen`): each point of an outline counts.
    #[test]
    fn outlines_are_those_of_the_file() {
        for (weight, character, area) in [
            (Weight::Regular, 'l', -258_296.0),
            (Weight::Regular, '→', -190_800.0),
            (Weight::Regular, '°', -184_384.833),
            (Weight::Regular, 'é', -537_116.25),
            (Weight::Semibold, '8', -816_375.833),
        ] {
            let font = Font::of(weight).expect("embedded font");
            let mut pen = AreaPen::default();
            assert!(font.outline(font.glyph(character).id, &mut pen));
            assert!((pen.twice / 2.0 - area).abs() < 1e-3, "{character}");
        }
    }

    #[test]
    fn the_signs_charts_need_are_there() {
        for weight in [Weight::Regular, Weight::Semibold] {
            let font = Font::of(weight).expect("embedded font");
            let has_ink = |c: char| font.outline(font.glyph(c).id, &mut AreaPen::default());
            for character in "09azAZ–°²³·−×≤≥→≈%µΔäéøßñж…".chars() {
                assert_ne!(font.glyph(character).id, 0, "{character} in {weight:?}");
                assert!(has_ink(character), "{character} in {weight:?}");
            }
            assert_ne!(font.glyph(' ').id, 0);
            assert!(!has_ink(' '));
            assert_eq!(font.glyph('漢').id, 0);
        }
    }
}

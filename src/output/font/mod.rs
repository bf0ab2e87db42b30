//! The built-in font of the charts: measures text and hands out letter shapes.
//!
//! Charts must look the same on a machine that has no fonts at all, so two small TrueType files are
//! part of the program. This room reads their outlines; it knows nothing of charts. It understands
//! only what these files contain (simple glyphs, one character map); see `README.md` beside it for
//! where they come from and how they were made.

use std::sync::OnceLock;

/// The weights there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Weight {
    /// For labels and numbers.
    Regular,
    /// For titles and what matters most.
    Semibold,
}

impl Weight {
    /// The TrueType file of this weight.
    pub fn file(self) -> &'static [u8] {
        match self {
            Weight::Regular => include_bytes!("chart-regular.ttf"),
            Weight::Semibold => include_bytes!("chart-semibold.ttf"),
        }
    }
}

/// One piece of a letter's outline, in font units with y upwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// Start of a closed contour.
    Move(f32, f32),
    /// Straight line to a point.
    Line(f32, f32),
    /// Quadratic curve: control point, end point.
    Curve(f32, f32, f32, f32),
}

/// A letter: its width and its shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Glyph {
    /// Number inside the font, the same for the same shape.
    pub id: u16,
    /// Distance to the next letter, font units.
    pub advance: f32,
    /// Left edge of the shape, font units.
    pub left: f32,
    /// Upper edge of the shape above the baseline, font units.
    pub top: f32,
    /// The closed contours; empty for a space.
    pub outline: Vec<Step>,
}

/// A font, read and ready to measure.
#[derive(Debug)]
pub struct Font {
    /// Font units in one em (the nominal size of the letters).
    pub units_per_em: f32,
    /// From the highest to the lowest line of the font, font units.
    pub height: f32,
    glyphs: Vec<Glyph>,
    /// Character and index into `glyphs`, sorted by character.
    characters: Vec<(char, usize)>,
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
        kept.get_or_init(|| read(weight.file())).as_ref()
    }

    /// The glyph of a character; a hollow box for one the font lacks.
    pub fn glyph(&self, character: char) -> Option<&Glyph> {
        let index = self
            .characters
            .binary_search_by_key(&character, |entry| entry.0)
            .map_or(0, |found| self.characters[found].1);
        self.glyphs.get(index)
    }

    #[cfg(test)]
    fn has(&self, character: char) -> bool {
        self.characters
            .binary_search_by_key(&character, |entry| entry.0)
            .is_ok()
    }

    /// Width of a text in the unit of `size` (the em), usually pixels.
    pub fn width(&self, text: &str, size: f64) -> f64 {
        let units: f32 = text
            .chars()
            .filter_map(|character| self.glyph(character))
            .map(|glyph| glyph.advance)
            .sum();
        f64::from(units) * size / f64::from(self.units_per_em)
    }
}

/// Reads big-endian numbers; `None` past the end.
#[derive(Clone, Copy)]
struct Bytes<'a>(&'a [u8]);

impl<'a> Bytes<'a> {
    fn from(self, offset: usize) -> Option<Bytes<'a>> {
        self.0.get(offset..).map(Bytes)
    }
    fn u8(self, offset: usize) -> Option<u8> {
        self.0.get(offset).copied()
    }
    fn u16(self, offset: usize) -> Option<u16> {
        let pair = self.0.get(offset..offset.checked_add(2)?)?;
        Some(u16::from_be_bytes([pair[0], pair[1]]))
    }
    fn i16(self, offset: usize) -> Option<i16> {
        self.u16(offset).map(|value| value as i16)
    }
    fn u32(self, offset: usize) -> Option<usize> {
        let high = usize::from(self.u16(offset)?);
        Some(high << 16 | usize::from(self.u16(offset + 2)?))
    }
    fn table(self, tag: &[u8; 4]) -> Option<Bytes<'a>> {
        (0..usize::from(self.u16(4)?))
            .map(|entry| 12 + 16 * entry)
            .find(|&entry| self.0.get(entry..entry + 4) == Some(tag))
            .and_then(|entry| self.from(self.u32(entry + 8)?))
    }
}

/// Reads a TrueType file (ISO/IEC 14496-22) with simple glyphs and a format-4 character map.
fn read(file: &[u8]) -> Option<Font> {
    let file = Bytes(file);
    let head = file.table(b"head")?;
    let hhea = file.table(b"hhea")?;
    let hmtx = file.table(b"hmtx")?;
    let loca = file.table(b"loca")?;
    let glyf = file.table(b"glyf")?;
    let count = file.table(b"maxp")?.u16(4)?;
    let long_offsets = head.i16(50)? == 1;
    let measured = hhea.u16(34)?.max(1);
    let offset = |index: usize| {
        if long_offsets {
            loca.u32(4 * index)
        } else {
            loca.u16(2 * index).map(|half| 2 * usize::from(half))
        }
    };
    let mut glyphs = Vec::with_capacity(usize::from(count));
    for id in 0..count {
        let index = usize::from(id);
        let advance = hmtx.u16(4 * usize::from(id.min(measured - 1)))?;
        let (begin, end) = (offset(index)?, offset(index + 1)?);
        let (left, top, outline) = if end > begin {
            let shape = glyf.from(begin)?;
            (shape.i16(2)?, shape.i16(8)?, outline(shape)?)
        } else {
            (0, 0, Vec::new())
        };
        glyphs.push(Glyph {
            id,
            advance: f32::from(advance),
            left: f32::from(left),
            top: f32::from(top),
            outline,
        });
    }
    Some(Font {
        units_per_em: f32::from(head.u16(18)?),
        height: f32::from(hhea.i16(4)?) - f32::from(hhea.i16(6)?),
        glyphs,
        characters: characters(file.table(b"cmap")?)?,
    })
}

/// The character map, format 4 (segments of the basic plane).
fn characters(cmap: Bytes) -> Option<Vec<(char, usize)>> {
    let map = (0..usize::from(cmap.u16(2)?))
        .filter_map(|entry| cmap.from(cmap.u32(8 + 8 * entry)?))
        .find(|map| map.u16(0) == Some(4))?;
    let twice = usize::from(map.u16(6)?);
    let mut found = Vec::new();
    for segment in (0..twice).step_by(2) {
        let last = map.u16(14 + segment)?;
        let first = map.u16(16 + twice + segment)?;
        let delta = map.u16(16 + 2 * twice + segment)?;
        let at = 16 + 3 * twice + segment;
        let range = usize::from(map.u16(at)?);
        for code in first..=last {
            let glyph = if range == 0 {
                code.wrapping_add(delta)
            } else {
                match map.u16(at + range + 2 * usize::from(code - first))? {
                    0 => 0,
                    plain => plain.wrapping_add(delta),
                }
            };
            if let (Some(character), true) = (char::from_u32(u32::from(code)), glyph != 0) {
                found.push((character, usize::from(glyph)));
            }
        }
    }
    found.sort_unstable();
    Some(found)
}

/// The contours of a simple glyph; `None` for one built from parts.
fn outline(shape: Bytes) -> Option<Vec<Step>> {
    let contours = usize::try_from(shape.i16(0)?).ok()?;
    let ends = (0..contours)
        .map(|contour| shape.u16(10 + 2 * contour).map(usize::from))
        .collect::<Option<Vec<_>>>()?;
    let points = ends.last().map_or(0, |last| last + 1);
    let mut at = 10 + 2 * contours;
    at += 2 + usize::from(shape.u16(at)?);

    let mut flags = Vec::with_capacity(points);
    while flags.len() < points {
        let flag = shape.u8(at)?;
        at += 1;
        flags.push(flag);
        if flag & 8 != 0 {
            let repeats = usize::from(shape.u8(at)?);
            at += 1;
            flags.extend(std::iter::repeat_n(flag, repeats));
        }
    }
    let mut coordinates = |short: u8, same: u8| {
        let mut position = 0.0f32;
        let mut read = Vec::with_capacity(points);
        for flag in &flags {
            if flag & short != 0 {
                let step = f32::from(shape.u8(at)?);
                at += 1;
                position += if flag & same != 0 { step } else { -step };
            } else if flag & same == 0 {
                position += f32::from(shape.i16(at)?);
                at += 2;
            }
            read.push(position);
        }
        Some(read)
    };
    let x = coordinates(2, 16)?;
    let y = coordinates(4, 32)?;

    let mut steps = Vec::new();
    let mut first = 0;
    for last in ends {
        let contour: Vec<(f32, f32, bool)> = (first..=last)
            .map(|point| Some((*x.get(point)?, *y.get(point)?, flags.get(point)? & 1 != 0)))
            .collect::<Option<_>>()?;
        contour_steps(&contour, &mut steps);
        first = last + 1;
    }
    Some(steps)
}

/// Turns on-curve and off-curve points into steps: between two off-curve points the middle is
/// on the curve.
fn contour_steps(points: &[(f32, f32, bool)], steps: &mut Vec<Step>) {
    let Some(&head) = points.first() else { return };
    let middle = |a: (f32, f32, bool), b: (f32, f32, bool)| ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0);
    let start = points.iter().position(|point| point.2);
    let (begin, from) = match start {
        Some(index) => ((points[index].0, points[index].1), index + 1),
        // A contour of curves only starts between its last and first point.
        None => (middle(points[points.len() - 1], head), 0),
    };
    steps.push(Step::Move(begin.0, begin.1));
    let mut control: Option<(f32, f32, bool)> = None;
    let rest = if start.is_some() {
        points.len() - 1
    } else {
        points.len()
    };
    for index in 0..rest {
        let point = points[(from + index) % points.len()];
        match (control, point.2) {
            (None, true) => steps.push(Step::Line(point.0, point.1)),
            (None, false) => control = Some(point),
            (Some(pull), true) => {
                steps.push(Step::Curve(pull.0, pull.1, point.0, point.1));
                control = None;
            }
            (Some(pull), false) => {
                let (x, y) = middle(pull, point);
                steps.push(Step::Curve(pull.0, pull.1, x, y));
                control = Some(point);
            }
        }
    }
    if let Some(pull) = control {
        steps.push(Step::Curve(pull.0, pull.1, begin.0, begin.1));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_weights_can_be_read() {
        for weight in [Weight::Regular, Weight::Semibold] {
            let font = Font::of(weight).expect("embedded font");
            // Printed by fonttools 4.x for the same files: unitsPerEm, hhea ascent and descent.
            assert_eq!(font.units_per_em, 2048.0);
            assert_eq!(font.height, 2189.0 + 600.0);
        }
    }

    /// Advances printed by fonttools (`font["hmtx"][font.getBestCmap()[ord(c)]]`).
    #[test]
    fn widths_are_those_of_the_file() {
        let font = Font::of(Weight::Regular).expect("embedded font");
        for (character, advance) in ADVANCES {
            let glyph = font.glyph(character).expect("glyph");
            assert_eq!(glyph.advance, advance, "{character}");
        }
        let sum = f64::from(ADVANCES.iter().map(|a| a.1).sum::<f32>());
        let text: String = ADVANCES.iter().map(|a| a.0).collect();
        assert!((font.width(&text, 2048.0) - sum).abs() < 1e-9);
    }
    const ADVANCES: [(char, f32); 6] = [
        ('0', 1171.0),
        ('i', 518.0),
        ('W', 1896.0),
        ('°', 877.0),
        ('é', 1149.0),
        ('→', 1280.0),
    ];

    #[test]
    fn the_signs_charts_need_are_there() {
        for weight in [Weight::Regular, Weight::Semibold] {
            let font = Font::of(weight).expect("embedded font");
            for character in "09azAZ–°²³·−×≤≥→≈%µΔäéøßñж…".chars() {
                assert!(font.has(character), "{character} in {weight:?}");
                assert!(!font.glyph(character).expect("glyph").outline.is_empty());
            }
            assert!(font.glyph(' ').expect("space").outline.is_empty());
            assert!(!font.has('漢'));
        }
    }

    /// A file cut short anywhere gives `None`, never a panic.
    #[test]
    fn a_damaged_file_is_refused() {
        let file = Weight::Regular.file();
        for length in (0..file.len() - 1).step_by(97) {
            let _ = read(&file[..length]);
        }
        assert!(read(&file[..200]).is_none());
    }
}

//! A laid-out picture: shapes and texts at known places, in pixels with y downwards.
//!
//! The writers draw it as it is; tests read it to see that no two texts touch.

use super::data::{ChartError, Size};
use crate::output::font::{Font, Weight};
use crate::output::prose;

/// An opaque colour: red, green, blue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

impl Colour {
    pub const WHITE: Colour = Colour(255, 255, 255);
    /// Titles and values.
    pub const INK: Colour = Colour(0x1c, 0x20, 0x26);
    /// Axis labels and small print; 4.5:1 against white at least.
    pub const QUIET: Colour = Colour(0x5a, 0x62, 0x6c);
    /// Ticks and frames.
    pub const RULE: Colour = Colour(0x9a, 0xa2, 0xac);
    /// Grid lines.
    pub const GRID: Colour = Colour(0xe3, 0xe6, 0xea);
}

/// A box of pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    pub left: f64,
    pub top: f64,
    pub width: f64,
    pub height: f64,
}

impl Area {
    /// The square that reaches so far to each side of a point.
    pub fn around((x, y): (f64, f64), reach: f64) -> Area {
        Area {
            left: x - reach,
            top: y - reach,
            width: 2.0 * reach,
            height: 2.0 * reach,
        }
    }
    pub fn right(self) -> f64 {
        self.left + self.width
    }
    pub fn bottom(self) -> f64 {
        self.top + self.height
    }
    pub fn grown(self, by: f64) -> Area {
        Area {
            left: self.left - by,
            top: self.top - by,
            width: self.width + 2.0 * by,
            height: self.height + 2.0 * by,
        }
    }
    pub fn overlaps(self, other: Area) -> bool {
        self.left < other.right()
            && other.left < self.right()
            && self.top < other.bottom()
            && other.top < self.bottom()
    }
    pub fn holds(self, other: Area) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && self.right() >= other.right()
            && self.bottom() >= other.bottom()
    }
}

/// How a line is drawn; dash lengths (on, off, ...) in pixels, empty for solid.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    pub colour: Colour,
    pub width: f64,
    pub dash: Vec<f64>,
}

impl Stroke {
    pub fn solid(colour: Colour, width: f64) -> Stroke {
        Stroke {
            colour,
            width,
            dash: Vec::new(),
        }
    }
}

/// One line of text, placed by its left end and baseline.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    pub x: f64,
    pub baseline: f64,
    /// Em, px.
    pub size: f64,
    pub weight: Weight,
    pub colour: Colour,
    pub text: String,
    /// Measured width, px.
    pub width: f64,
}

/// Highest and lowest ink of a line of text above and below its baseline, em: an accented capital
/// and a descender of the built-in font stay within.
pub const ASCENT_EM: f64 = 0.78;
pub const DESCENT_EM: f64 = 0.24;

impl Text {
    /// The box its ink stays in.
    pub fn area(&self) -> Area {
        Area {
            left: self.x,
            top: self.baseline - ASCENT_EM * self.size,
            width: self.width,
            height: (ASCENT_EM + DESCENT_EM) * self.size,
        }
    }
}

/// What can be drawn, from the back to the front.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    Box {
        area: Area,
        fill: Colour,
        opacity: f64,
    },
    /// Boxes of one colour without smooth edges: where they lie side by side no ground shines through.
    Cells {
        areas: Vec<Area>,
        fill: Colour,
    },
    /// What lies within an outline.
    Region {
        outline: Vec<(f64, f64)>,
        fill: Colour,
        opacity: f64,
    },
    Line {
        points: Vec<(f64, f64)>,
        stroke: Stroke,
    },
    Disc {
        centre: (f64, f64),
        radius: f64,
        fill: Colour,
    },
    Text(Text),
}

/// Where the given x of a text lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    Left,
    Centre,
    Right,
}

/// Size, weight and colour of a text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Type {
    pub size: f64,
    pub weight: Weight,
    pub colour: Colour,
}

/// A picture being laid out.
pub struct Scene {
    pub size: Size,
    /// For people who cannot see the picture.
    pub title: String,
    pub description: String,
    pub shapes: Vec<Shape>,
    fonts: [&'static Font; 2],
}

impl Scene {
    pub fn new(size: Size, title: &str, description: &str) -> Result<Scene, ChartError> {
        let font = |weight| Font::of(weight).ok_or(ChartError::Font);
        Ok(Scene {
            size,
            title: one_line(title),
            description: one_line(description),
            shapes: Vec::new(),
            fonts: [font(Weight::Regular)?, font(Weight::Semibold)?],
        })
    }

    pub fn font(&self, weight: Weight) -> &'static Font {
        match weight {
            Weight::Regular => self.fonts[0],
            Weight::Semibold => self.fonts[1],
        }
    }

    /// Width of a text, px.
    pub fn width(&self, text: &str, kind: Type) -> f64 {
        self.font(kind.weight).width(&one_line(text), kind.size)
    }

    /// The text, cut with an ellipsis if it is wider than `most`.
    pub fn fitted(&self, text: &str, kind: Type, most: f64) -> String {
        let text = one_line(text);
        if self.width(&text, kind) <= most {
            return text;
        }
        let mut cut: Vec<char> = text.chars().collect();
        while cut.pop().is_some() {
            let shorter = format!("{}…", cut.iter().collect::<String>().trim_end());
            if self.width(&shorter, kind) <= most {
                return shorter;
            }
        }
        String::new()
    }

    /// A name with a tail, such as a verdict. If both are wider than `most`, the name is shortened in its
    /// middle; the tail stays whole.
    pub fn shortened(&self, name: &str, tail: &str, kind: Type, most: f64) -> String {
        let name: Vec<char> = one_line(name).chars().collect();
        let part = |letters: &[char]| letters.iter().collect::<String>();
        let whole = format!("{}{tail}", part(&name));
        if self.width(&whole, kind) <= most {
            return whole;
        }
        for kept in (0..name.len()).rev() {
            let (begin, end) = (kept.div_ceil(2), kept / 2);
            let begin = part(&name[..begin]);
            let end = part(&name[name.len() - end..]);
            let shorter = format!("{}…{}{tail}", begin.trim_end(), end.trim_start());
            if self.width(&shorter, kind) <= most {
                return shorter;
            }
        }
        self.fitted(tail.trim_start(), kind, most)
    }

    /// Breaks a text into lines no wider than `most` and as even as words allow; what does not fit in `lines`
    /// is cut.
    pub fn wrapped(&self, text: &str, kind: Type, most: f64, lines: usize) -> Vec<String> {
        let pieces = prose::pieces(&one_line(text));
        let mut done = self.filled(&pieces, kind, most);
        if done.len() > lines {
            let rest = done.split_off(lines - 1).join(" ");
            done.push(self.fitted(&rest, kind, most));
        } else if done.len() > 1 {
            // The narrowest column with as many lines has the most even ones.
            let (mut low, mut high) = (0.0, most);
            while high - low > 0.5 {
                let width = f64::midpoint(low, high);
                if self.filled(&pieces, kind, width).len() > done.len() {
                    low = width;
                } else {
                    high = width;
                }
            }
            done = self.filled(&pieces, kind, high);
        }
        done.iter()
            .map(|line| self.fitted(line, kind, most))
            .collect()
    }

    /// Lines filled one after the other; a piece that is wider than a line has one to itself.
    fn filled(&self, pieces: &[String], kind: Type, most: f64) -> Vec<String> {
        let mut done: Vec<String> = Vec::new();
        for piece in pieces {
            match done.last_mut() {
                Some(line) if self.width(&format!("{line} {piece}"), kind) <= most => {
                    line.push(' ');
                    line.push_str(piece);
                }
                _ => done.push(piece.clone()),
            }
        }
        done
    }

    /// Writes one line of text and returns the box it takes.
    pub fn text(&mut self, text: &str, at: (f64, f64), align: Align, kind: Type) -> Area {
        let text = one_line(text);
        let width = self.width(&text, kind);
        let x = match align {
            Align::Left => at.0,
            Align::Centre => at.0 - width / 2.0,
            Align::Right => at.0 - width,
        };
        let placed = Text {
            x,
            baseline: at.1,
            size: kind.size,
            weight: kind.weight,
            colour: kind.colour,
            text,
            width,
        };
        let area = placed.area();
        if !placed.text.is_empty() {
            self.shapes.push(Shape::Text(placed));
        }
        area
    }

    pub fn fill(&mut self, area: Area, fill: Colour, opacity: f64) {
        if area.width > 0.0 && area.height > 0.0 {
            self.shapes.push(Shape::Box {
                area,
                fill,
                opacity,
            });
        }
    }

    pub fn cells(&mut self, areas: Vec<Area>, fill: Colour) {
        if !areas.is_empty() {
            self.shapes.push(Shape::Cells { areas, fill });
        }
    }

    pub fn line(&mut self, points: Vec<(f64, f64)>, stroke: Stroke) {
        if points.len() > 1 {
            self.shapes.push(Shape::Line { points, stroke });
        }
    }

    /// A sharp upright line one pixel wide or a whole multiple of it.
    pub fn upright(&mut self, x: f64, from: f64, to: f64, stroke: Stroke) {
        let x = snapped(x, stroke.width);
        self.line(vec![(x, from), (x, to)], stroke);
    }

    /// A sharp level line.
    pub fn level(&mut self, y: f64, from: f64, to: f64, stroke: Stroke) {
        let y = snapped(y, stroke.width);
        self.line(vec![(from, y), (to, y)], stroke);
    }

    pub fn disc(&mut self, centre: (f64, f64), radius: f64, fill: Colour) {
        self.shapes.push(Shape::Disc {
            centre,
            radius,
            fill,
        });
    }

    /// The boxes of all texts written so far.
    pub fn text_areas(&self) -> Vec<Area> {
        self.shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Text(text) => Some(text.area()),
                _ => None,
            })
            .collect()
    }
}

/// Where the middle of a line must lie for its edges to fall between pixels. A place a hundredth or
/// two short of a pixel's edge, as plotters' last place of an axis is, counts as on it.
fn snapped(position: f64, width: f64) -> f64 {
    if (width.round() as i64) % 2 == 1 {
        (position + 0.02).floor() + 0.5
    } else {
        position.round()
    }
}

/// Texts are single lines; a line break or another control character becomes a space, which also
/// keeps the SVG well-formed.
fn one_line(text: &str) -> String {
    text.chars()
        .map(|character| {
            if character.is_control() || matches!(character, '\u{fffe}' | '\u{ffff}') {
                ' '
            } else {
                character
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scene() -> (Scene, Type) {
        let kind = Type {
            size: 21.0,
            weight: Weight::Semibold,
            colour: Colour::INK,
        };
        (Scene::new(Size::default(), "", "").expect("fonts"), kind)
    }

    /// Wherever a title breaks, a number and its unit stay in one line, no word is lost, and the last line is
    /// no lone word if it can be helped.
    #[test]
    fn a_title_breaks_evenly_and_a_number_keeps_its_unit() {
        let (scene, kind) = scene();
        let title = "axial-60: 24.8 m³/h at day 3, 17:03, margin −3.2 K, a little above.";
        let mut breaks = std::collections::BTreeSet::new();
        for most in 150..700 {
            let lines = scene.wrapped(title, kind, f64::from(most), 9);
            assert_eq!(lines.join(" "), title, "{most} px");
            for line in &lines[..lines.len() - 1] {
                let last = line.split(' ').next_back().expect("a word").to_owned();
                assert!(
                    !["24.8", "−3.2", "day"].contains(&last.as_str()),
                    "{lines:?}"
                );
                breaks.insert(last);
            }
            let words = |line: &String| line.split(' ').count();
            let is_alone = lines.len() > 1 && lines.last().map(words) == Some(1);
            assert!(!is_alone, "{most} px: {lines:?}");
        }
        assert!(breaks.len() > 5, "{breaks:?}");
    }

    #[test]
    fn a_name_is_shortened_in_its_middle_and_its_verdict_stays() {
        let (scene, kind) = scene();
        let name = "recirculating through a carbon filter";
        let whole = format!("{name}: softens");
        let most = scene.width(&whole, kind);
        assert_eq!(scene.shortened(name, ": softens", kind, most), whole);
        for share in [0.9, 0.6, 0.4] {
            let text = scene.shortened(name, ": softens", kind, share * most);
            assert!(scene.width(&text, kind) <= share * most, "{text}");
            assert!(text.starts_with("re") && text.contains('…'), "{text}");
            assert!(text.ends_with("er: softens"), "{text}");
        }
        // The verdict is the last to go.
        let verdict = scene.width(": softens", kind);
        let text = scene.shortened(name, ": softens", kind, verdict);
        assert_eq!(text, ": softens");
    }
}

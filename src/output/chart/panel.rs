//! One framed panel: scales, grid, axis title, and data turned into pixels.

use super::axis::{self, Scale};
use super::decimate;
use super::labels;
use super::scene::{Align, Area, Colour, Scene, Stroke, Type};
use crate::output::font::Weight;

/// Least distance between two values on a y axis, px: a low panel needs a few, a high one not dozens.
fn ticks_apart(scale: Scale, k: f64) -> f64 {
    ((scale.from - scale.to).abs() / 9.0).clamp(28.0 * k, 44.0 * k)
}

/// Sizes of everything, scaled to the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measures {
    /// Factor on every length: 1 at 1200 × 800.
    pub k: f64,
}

impl Measures {
    pub fn of(size: super::Size) -> Measures {
        let by_width = f64::from(size.width) / 1200.0;
        let by_height = f64::from(size.height) / 800.0;
        // Below 0.85 the small print could no longer be read.
        Measures {
            k: by_width.min(by_height).clamp(0.85, 3.0),
        }
    }
    fn kind(self, size: f64, weight: Weight, colour: Colour) -> Type {
        Type {
            size: size * self.k,
            weight,
            colour,
        }
    }
    pub fn title(self) -> Type {
        self.kind(21.0, Weight::Semibold, Colour::INK)
    }
    pub fn subtitle(self) -> Type {
        self.kind(13.5, Weight::Regular, Colour::QUIET)
    }
    /// Names of lines.
    pub fn name(self) -> f64 {
        13.0 * self.k
    }
    pub fn tick(self) -> Type {
        self.kind(12.0, Weight::Regular, Colour::QUIET)
    }
    pub fn axis_title(self) -> Type {
        self.kind(12.0, Weight::Semibold, Colour::INK)
    }
    pub fn small(self) -> Type {
        self.kind(11.0, Weight::Regular, Colour::QUIET)
    }
    pub fn value(self) -> Type {
        self.kind(13.0, Weight::Semibold, Colour::INK)
    }
    pub fn pad(self) -> f64 {
        24.0 * self.k
    }
}

/// A panel and its two scales.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Panel {
    pub area: Area,
    pub x: Scale,
    pub y: Scale,
}

impl Panel {
    pub fn new(area: Area, x: (f64, f64), y: (f64, f64)) -> Panel {
        Panel {
            area,
            x: Scale {
                low: x.0,
                high: x.1,
                from: area.left,
                to: area.right(),
            },
            y: Scale {
                low: y.0,
                high: y.1,
                from: area.bottom(),
                to: area.top,
            },
        }
    }

    pub fn at(&self, point: (f64, f64)) -> (f64, f64) {
        (self.x.at(point.0), self.y.at(point.1))
    }

    /// A line of data in pixels, thinned and cut at the panel's edges; more than one piece if it
    /// leaves and comes back.
    pub fn path(&self, points: &[(f64, f64)]) -> Vec<Vec<(f64, f64)>> {
        // One point before and one after the visible part, for the way to the edge.
        let first = points.partition_point(|point| point.0 < self.x.low);
        let last = points.partition_point(|point| point.0 <= self.x.high);
        let visible = points
            .get(first.saturating_sub(1)..(last + 1).min(points.len()))
            .unwrap_or(&[]);
        let pixels: Vec<(f64, f64)> = visible.iter().map(|&point| self.at(point)).collect();
        self.cut(&decimate::thinned(&pixels))
    }

    /// A curve that may run in any direction, in pixels, cut at the edges.
    pub fn curve(&self, points: &[(f64, f64)]) -> Vec<Vec<(f64, f64)>> {
        let pixels: Vec<(f64, f64)> = points.iter().map(|&point| self.at(point)).collect();
        self.cut(&pixels)
    }

    fn cut(&self, pixels: &[(f64, f64)]) -> Vec<Vec<(f64, f64)>> {
        if let [only] = pixels {
            let inside = labels::clip(*only, *only, self.area.grown(0.01)).is_some();
            return if inside {
                vec![vec![*only]]
            } else {
                Vec::new()
            };
        }
        let mut pieces: Vec<Vec<(f64, f64)>> = Vec::new();
        for pair in pixels.windows(2) {
            let Some((from, to)) = labels::clip(pair[0], pair[1], self.area) else {
                continue;
            };
            match pieces.last_mut() {
                Some(piece) if piece.last() == Some(&from) => piece.push(to),
                _ => pieces.push(vec![from, to]),
            }
        }
        pieces
    }

    /// Draws pieces of a line; a lone point becomes a dot.
    pub fn draw(&self, scene: &mut Scene, pieces: &[Vec<(f64, f64)>], stroke: &Stroke) {
        for piece in pieces {
            if let [only] = piece.as_slice() {
                scene.disc(*only, 1.6 * stroke.width, stroke.colour);
            } else {
                scene.line(piece.clone(), stroke.clone());
            }
        }
    }

    /// Level grid lines with their values left of the panel; a zero inside gets a stronger line.
    pub fn y_axis(&self, scene: &mut Scene, measures: Measures) {
        let k = measures.k;
        let (ticks, decimals) = self.y.ticks(ticks_apart(self.y, k));
        for value in ticks {
            let y = self.y.at(value);
            let colour = if value == 0.0 {
                Colour::RULE
            } else {
                Colour::GRID
            };
            scene.level(
                y,
                self.area.left,
                self.area.right(),
                Stroke::solid(colour, 1.0),
            );
            let kind = measures.tick();
            let at = (self.area.left - 7.0 * k, y + 0.35 * kind.size);
            scene.text(&axis::fixed(value, decimals), at, Align::Right, kind);
        }
    }

    /// The axis line at the bottom and the quiet lines at the left and right.
    pub fn frame(&self, scene: &mut Scene) {
        let rule = || Stroke::solid(Colour::RULE, 1.0);
        let Area { left, top, .. } = self.area;
        let (right, bottom) = (self.area.right(), self.area.bottom());
        scene.level(bottom, left, right, rule());
        scene.upright(left, top, bottom, rule());
        scene.upright(right, top, bottom, Stroke::solid(Colour::GRID, 1.0));
    }
}

/// Width of the widest value a y scale will get, px.
pub fn y_label_width(scene: &Scene, scale: Scale, measures: Measures) -> f64 {
    let (ticks, decimals) = scale.ticks(ticks_apart(scale, measures.k));
    ticks
        .iter()
        .map(|&value| scene.width(&axis::fixed(value, decimals), measures.tick()))
        .fold(0.0, f64::max)
}

/// Writes title and subtitle and returns the y below them.
pub fn head(scene: &mut Scene, title: &str, subtitle: &str, measures: Measures) -> f64 {
    let k = measures.k;
    let width = f64::from(scene.size.width) - 2.0 * measures.pad();
    let mut baseline = 12.0 * k;
    for line in scene.wrapped(title, measures.title(), width, 2) {
        baseline += 1.22 * measures.title().size;
        scene.text(
            &line,
            (measures.pad(), baseline),
            Align::Left,
            measures.title(),
        );
    }
    baseline += 3.0 * k;
    for line in scene.wrapped(subtitle, measures.subtitle(), width, 2) {
        baseline += 1.3 * measures.subtitle().size;
        scene.text(
            &line,
            (measures.pad(), baseline),
            Align::Left,
            measures.subtitle(),
        );
    }
    baseline + 0.3 * measures.subtitle().size + 8.0 * k
}

/// Writes the small print at the bottom and returns the y above it.
pub fn foot(scene: &mut Scene, note: &str, measures: Measures) -> f64 {
    let kind = measures.small();
    let width = f64::from(scene.size.width) - 2.0 * measures.pad();
    let lines = scene.wrapped(note, kind, width, 3);
    let step = 1.35 * kind.size;
    let bottom = f64::from(scene.size.height) - 12.0 * measures.k;
    let top = bottom - step * lines.len() as f64;
    for (row, line) in lines.iter().enumerate() {
        let baseline = top + step * (row as f64 + 0.85);
        scene.text(line, (measures.pad(), baseline), Align::Left, kind);
    }
    top
}

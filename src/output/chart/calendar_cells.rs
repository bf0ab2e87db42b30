//! How the cells of a calendar look: colours by margin, hatching where there is none, borders between verdicts.

use super::calendar_data::ComesTo;
use super::calendar_grid::{Border, Grid};
use super::colour_scale::Scale;
use super::labels::clip;
use super::scene::{Area, Colour, Scene, Stroke};

/// The look of a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Look {
    /// The job would outlast the weather.
    Outlasts,
    /// A heater is too weak.
    CannotRun,
    /// A class of the scale.
    Class(i32),
}

/// Which way lines of hatching run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hatch {
    /// Up to the right.
    Rising,
    /// Down to the right.
    Falling,
}

impl Look {
    /// The look of what becomes of a start.
    pub fn of(comes_to: ComesTo, scale: &Scale) -> Look {
        match comes_to {
            ComesTo::Margin(margin_K, _) => Look::Class(scale.class(margin_K)),
            ComesTo::CannotRun => Look::CannotRun,
            ComesTo::Outlasts => Look::Outlasts,
        }
    }

    /// What it means; a class is told by the scale.
    pub const fn means(self) -> &'static str {
        match self {
            Look::Outlasts => "not known: the job would outlast the weather",
            Look::CannotRun => "cannot run: a heater is too weak",
            Look::Class(_) => "",
        }
    }

    /// Draws areas that have neither margin nor colour of their own. A class is drawn with its colour, see `cells`.
    pub fn draw(self, scene: &mut Scene, areas: &[Area], k: f64) {
        let (ground, lines, way) = match self {
            Look::Outlasts => (Colour(0xf3, 0xf4, 0xf6), Colour::RULE, Hatch::Rising),
            Look::CannotRun => (
                Colour(0xb9, 0xbe, 0xc5),
                Colour(0x4a, 0x52, 0x5c),
                Hatch::Falling,
            ),
            Look::Class(_) => return,
        };
        scene.cells(areas.to_vec(), ground);
        for ends in hatching(areas, 6.0 * k, way) {
            scene.line(ends.to_vec(), Stroke::solid(lines, (0.9 * k).max(0.7)));
        }
    }
}

/// Draws the cells of a calendar; `area` tells where days and rows lie.
pub fn draw_cells(
    scene: &mut Scene,
    grid: &Grid,
    scale: &Scale,
    k: f64,
    area: &dyn Fn((usize, usize), (usize, usize)) -> Area,
) {
    for (look, blocks) in grid.blocks(|c| Some(Look::of(c, scale))) {
        let areas: Vec<Area> = blocks.iter().map(|b| area(b.days, b.rows)).collect();
        match look {
            Look::Class(class) => scene.cells(areas, scale.colour(class)),
            Look::Outlasts | Look::CannotRun => look.draw(scene, &areas, k),
        }
    }
}

/// A border in ink on white, so that it is seen on dark cells and on light ones.
pub fn draw_border(scene: &mut Scene, points: &[(f64, f64)], border: Border, k: f64) {
    let (width, edge) = match border {
        Border::Softens => (2.0, 3.6),
        Border::Holds => (0.9, 2.3),
    };
    let k = k.max(0.5);
    scene.line(points.to_vec(), Stroke::solid(Colour::WHITE, edge * k));
    scene.line(points.to_vec(), Stroke::solid(Colour::INK, width * k));
}

/// Slanting lines over areas, so far apart. They meet over the edges of areas that lie side by side, and are one line
/// there.
fn hatching(areas: &[Area], apart: f64, way: Hatch) -> Vec<[(f64, f64); 2]> {
    let sign = match way {
        Hatch::Rising => 1.0,
        Hatch::Falling => -1.0,
    };
    // On one line x + sign * y is the same.
    let mut pieces: Vec<(i64, f64, f64)> = Vec::new();
    for area in areas {
        let sums = [area.top, area.bottom()].map(|y| sign * y);
        let low = area.left + sums[0].min(sums[1]);
        let high = area.right() + sums[0].max(sums[1]);
        let (first, last) = ((low / apart).ceil() as i64, (high / apart).floor() as i64);
        for number in first..=last {
            let sum = number as f64 * apart;
            let at = |y: f64| (sum - sign * y, y);
            if let Some(((a, _), (b, _))) = clip(at(area.bottom()), at(area.top), *area)
                && (a - b).abs() > 0.05
            {
                pieces.push((number, a.min(b), a.max(b)));
            }
        }
    }
    pieces.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut lines: Vec<(i64, f64, f64)> = Vec::new();
    for piece in pieces {
        match lines.last_mut() {
            Some(last) if last.0 == piece.0 && piece.1 - last.2 < 0.05 => {
                last.2 = last.2.max(piece.2);
            }
            _ => lines.push(piece),
        }
    }
    let ends = |(number, from, to): (i64, f64, f64)| {
        [from, to].map(|x| (x, sign * (number as f64 * apart - x)))
    };
    lines.into_iter().map(ends).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a square of 10 px at (20, 30) has sums from 50 to 70 and differences from -20 to 0.
    #[test]
    fn hatching_stays_within_and_goes_on_over_edges() {
        let square = |left: f64| Area {
            left,
            top: 30.0,
            width: 10.0,
            height: 10.0,
        };
        let lines = hatching(&[square(20.0)], 5.0, Hatch::Rising);
        assert_eq!(lines.len(), 3, "sums 55, 60, 65: {lines:?}");
        assert!(lines.contains(&[(20.0, 40.0), (30.0, 30.0)]));
        let falling = hatching(&[square(20.0)], 5.0, Hatch::Falling);
        assert!(
            falling.contains(&[(20.0, 30.0), (30.0, 40.0)]),
            "{falling:?}"
        );
        // Two squares side by side: the sums 55 to 75, each one line.
        let both = hatching(&[square(20.0), square(30.0)], 5.0, Hatch::Rising);
        assert_eq!(both.len(), 5, "{both:?}");
    }
}

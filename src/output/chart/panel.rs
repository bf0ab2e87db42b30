//! One framed panel: a plotters chart of two axes on the scene.

use plotters::chart::{ChartBuilder, ChartContext, LabelAreaPosition};
use plotters::coord::cartesian::Cartesian2d;
use plotters::coord::ranged1d::Ranged;
use plotters::drawing::IntoDrawingArea;
use plotters::series::LineSeries;
use plotters::style::TRANSPARENT;

use super::axis::{Axis, Label};
use super::data::ChartError;
use super::ink::{self, Ink, failed, fine, letters, pen};
use super::labels;
use super::scene::{Align, Area, Colour, Scene, Shape, Stroke, Type};
use crate::output::font::Weight;

/// An upright axis of so many pixels: a low panel gets a few values, a high one not dozens.
pub fn y_axis(range: (f64, f64), height: f64, k: f64) -> Axis {
    Axis::of_numbers(range, height, (height / 9.0).clamp(28.0 * k, 44.0 * k))
}

/// Sizes of everything, scaled to the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measures {
    /// Factor on every length: 1 at 1200 × 800.
    pub k: f64,
    /// For a phone: relatively larger letters, and so fewer of them.
    pub is_small: bool,
}

/// Share of 1200 × 800 and the factor there. A picture of 700 × 500 is looked at on a phone, which shows it at
/// half its size: its letters are larger than in proportion. One of 400 × 300 is shown as it is.
const SCALES: [(f64, f64); 4] = [
    (1.0 / 3.0, 0.85),
    (7.0 / 12.0, 1.15),
    (1.0, 1.0),
    (3.0, 3.0),
];

impl Measures {
    pub fn of(size: super::Size) -> Measures {
        let by_width = f64::from(size.width) / 1200.0;
        let by_height = f64::from(size.height) / 800.0;
        let share = by_width.min(by_height).clamp(SCALES[0].0, SCALES[3].0);
        let k = SCALES
            .windows(2)
            .find(|pair| share <= pair[1].0)
            .map_or(SCALES[3].1, |pair| {
                let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
                y0 + (y1 - y0) * (share - x0) / (x1 - x0)
            });
        Measures {
            k,
            is_small: share < 0.7,
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
        let size = if self.is_small { 16.0 } else { 21.0 };
        self.kind(size, Weight::Semibold, Colour::INK)
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
        let pad = if self.is_small { 12.0 } else { 24.0 };
        pad * self.k
    }
    /// Most of the width belongs to the lines, however long their names are.
    pub fn names_share(self) -> f64 {
        if self.is_small { 0.42 } else { 0.34 }
    }
}

/// A panel and its two axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    pub area: Area,
    pub x: Axis,
    pub y: Axis,
}

/// A panel as plotters draws it.
pub type PanelChart<'a> = ChartContext<'static, Ink<'a>, Cartesian2d<Axis, Axis>>;

impl Panel {
    /// Where a point lies in the picture, px.
    pub fn at(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let Area { left, top, .. } = self.area;
        let x = self.x.map(&x, (fine(left), fine(self.area.right())));
        let y = self.y.map(&y, (fine(self.area.bottom()), fine(top)));
        ink::pixels((x, y))
    }

    /// The panel as a chart whose paths have these dashes.
    pub fn chart<'a>(
        &self,
        scene: &'a mut Scene,
        dash: &[f64],
    ) -> Result<PanelChart<'a>, ChartError> {
        let (width, height) = (f64::from(scene.size.width), f64::from(scene.size.height));
        let dash = dash.to_vec();
        let root = Ink { scene, dash }.into_drawing_area();
        ChartBuilder::on(&root)
            .margin_top(fine(self.area.top))
            .margin_right(fine(width - self.area.right()))
            .y_label_area_size(fine(self.area.left))
            .x_label_area_size(fine(height - self.area.bottom()))
            .build_cartesian_2d(self.x.clone(), self.y.clone())
            .map_err(failed)
    }

    /// Grid lines, the lines of the axes, ticks and what is written at them.
    pub fn axes(
        &self,
        scene: &mut Scene,
        measures: Measures,
        upright: Colour,
    ) -> Result<(), ChartError> {
        let k = measures.k;
        let rule = pen(Colour::RULE, 1.0);
        let mut chart = self.chart(scene, &[])?;
        chart
            .configure_mesh()
            .disable_y_mesh()
            .disable_y_axis()
            .light_line_style(pen(upright, 1.0))
            .bold_line_style(TRANSPARENT)
            .axis_style(rule)
            .label_style(letters(measures.tick()))
            .set_tick_mark_size(LabelAreaPosition::Bottom, fine(4.0 * k))
            .draw()
            .map_err(failed)?;
        chart
            .configure_mesh()
            .disable_x_mesh()
            .disable_x_axis()
            .light_line_style(pen(Colour::GRID, 1.0))
            .bold_line_style(TRANSPARENT)
            .axis_style(rule)
            .label_style(letters(measures.tick()))
            .set_tick_mark_size(LabelAreaPosition::Left, fine(3.5 * k))
            .draw()
            .map_err(failed)?;
        let end = self.x.high;
        let edge = LineSeries::new(
            [(end, self.y.low), (end, self.y.high)],
            pen(Colour::GRID, 1.0),
        );
        chart.draw_series(edge).map_err(failed)?;
        if self.y.low < 0.0 && self.y.high > 0.0 {
            let zero = LineSeries::new([(self.x.low, 0.0), (self.x.high, 0.0)], rule);
            chart.draw_series(zero).map_err(failed)?;
        }
        Ok(())
    }

    /// Draws a line of data, cut at the panel's edges, and returns its pieces in pixels: more than
    /// one if it leaves and comes back. A lone point becomes a dot.
    pub fn series(
        &self,
        scene: &mut Scene,
        points: &[(f64, f64)],
        stroke: &Stroke,
    ) -> Result<Vec<Vec<(f64, f64)>>, ChartError> {
        let first = scene.shapes.len();
        let mut chart = self.chart(scene, &stroke.dash)?;
        for piece in self.cut(points) {
            let line = LineSeries::new(piece, pen(stroke.colour, stroke.width));
            chart.draw_series(line).map_err(failed)?;
        }
        drop(chart);
        let drawn = scene.shapes[first..]
            .iter()
            .filter_map(|shape| match shape {
                Shape::Line { points, .. } => Some(points.clone()),
                Shape::Disc { centre, .. } => Some(vec![*centre]),
                Shape::Box { .. } | Shape::Cells { .. } | Shape::Region { .. } | Shape::Text(_) => {
                    None
                }
            });
        Ok(drawn.collect())
    }

    /// The parts of a line of data that lie on the panel.
    fn cut(&self, points: &[(f64, f64)]) -> Vec<Vec<(f64, f64)>> {
        // In the units of the axes, where nothing is rounded yet.
        let plane = Area {
            left: self.x.low,
            top: self.y.low,
            width: self.x.high - self.x.low,
            height: self.y.high - self.y.low,
        };
        if let [only] = points {
            let inside = labels::clip(*only, *only, plane).is_some();
            return if inside { vec![vec![*only]] } else { vec![] };
        }
        let mut pieces: Vec<Vec<(f64, f64)>> = Vec::new();
        for pair in points.windows(2) {
            let Some((from, to)) = labels::clip(pair[0], pair[1], plane) else {
                continue;
            };
            match pieces.last_mut() {
                Some(piece) if piece.last() == Some(&from) => piece.push(to),
                _ => pieces.push(vec![from, to]),
            }
        }
        pieces
    }
}

/// Width of the widest value of an axis, px.
pub fn widest(scene: &Scene, axis: &Axis, measures: Measures) -> f64 {
    let width = |tick: &Label| scene.width(&tick.text, measures.tick());
    axis.ticks.iter().map(width).fold(0.0, f64::max)
}

/// Writes title and subtitle and returns the y below them.
pub fn head(scene: &mut Scene, title: &str, subtitle: &str, measures: Measures) -> f64 {
    let k = measures.k;
    let width = f64::from(scene.size.width) - 2.0 * measures.pad();
    let mut baseline = 12.0 * k;
    for line in scene.wrapped(title, measures.title(), width, 4) {
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

#[cfg(test)]
mod tests {
    use super::*;

    /// A line that leaves the panel and comes back, by hand: 1 px a unit, cut where it crosses y = 10.
    #[test]
    fn a_line_is_cut_at_the_panel() {
        let area = Area::around((150.0, 150.0), 50.0);
        let axis = |low| Axis::of_numbers((low, low + 100.0), 100.0, 40.0);
        let (x, y) = (axis(0.0), axis(10.0));
        let panel = Panel { area, x, y };
        let mut scene = Scene::new(crate::output::chart::Size::default(), "", "").expect("fonts");
        let line = [
            (-5.0, 20.0),
            (20.0, 20.0),
            (40.0, 0.0),
            (60.0, 20.0),
            (80.0, 15.0),
        ];
        let stroke = Stroke::solid(Colour::INK, 2.0);
        let pieces = panel.series(&mut scene, &line, &stroke).expect("drawn");
        let expected = [
            vec![(100.0, 190.0), (120.0, 190.0), (130.0, 200.0)],
            vec![(150.0, 200.0), (160.0, 190.0), (180.0, 195.0)],
        ];
        assert_eq!(pieces.len(), expected.len());
        for (place, wanted) in pieces.iter().flatten().zip(expected.iter().flatten()) {
            let off = (place.0 - wanted.0).hypot(place.1 - wanted.1);
            assert!(off < 0.03, "{place:?} and not {wanted:?}");
        }
        let at = panel.at((1e12, -1e12));
        assert!(at.0 > 199.9 && at.1 > 199.9 && at.0.is_finite());
    }
}

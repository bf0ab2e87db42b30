//! What stands around a panel of numbers: a heading, what its axes are called, an upright line's name.

use super::axis::{self, Axis};
use super::data::ChartError;
use super::fan_data::VerticalLine;
use super::panel::{self, Measures, Panel};
use super::scene::{Align, Area, Colour, Scene, Stroke, Type};
use super::style;
use crate::output::font::Weight;

/// A panel of numbers before it has a place.
pub struct Frame<'a> {
    /// May be empty.
    pub heading: &'a str,
    /// Whether the upright line's name stands beside the name of y, to save a row.
    pub one_row: bool,
    pub x_label: &'a str,
    pub y_label: &'a str,
    pub vertical: Option<&'a VerticalLine>,
    /// Lowest and highest value of each axis.
    pub x: (f64, f64),
    pub y: (f64, f64),
}

/// What ticks and the name of x need below a panel, in units of `k`.
const BELOW: f64 = 42.0;
/// How far below the panel the name of x stands, in units of `k`.
pub const X_LABEL: f64 = 35.0;

impl Frame<'_> {
    /// Room that the values of y need left of the panel in so high a region, px.
    pub fn gutter(&self, scene: &Scene, height: f64, measures: Measures) -> f64 {
        let guess = panel::y_axis(self.y, height, measures.k);
        panel::widest(scene, &guess, measures) + 8.0 * measures.k
    }

    /// The panel that is left of a region when all around it has its room.
    pub fn panel(&self, scene: &Scene, region: Area, gutter: f64, measures: Measures) -> Panel {
        let k = measures.k;
        let row = 1.9 * measures.axis_title().size;
        let has_flag = self.vertical.is_some() && !self.one_row;
        let flag = if has_flag { row } else { 0.0 };
        let left = region.left + gutter;
        let area = Area {
            left,
            top: region.top + row + flag,
            width: region.right() - left,
            height: region.bottom() - BELOW * k - region.top - row - flag,
        };
        Panel {
            area,
            x: x_axis(scene, self.x, area.width, measures),
            y: panel::y_axis(self.y, area.height, k),
        }
    }

    /// Axes and names.
    pub fn draw(
        &self,
        scene: &mut Scene,
        panel: &Panel,
        region: Area,
        measures: Measures,
    ) -> Result<(), ChartError> {
        panel.axes(scene, measures, Colour::GRID)?;
        let kind = measures.axis_title();
        let at = (
            panel.area.right(),
            panel.area.bottom() + X_LABEL * measures.k,
        );
        scene.text(self.x_label, at, Align::Right, kind);
        let at = (region.left, region.top + heading_baseline(measures));
        if self.heading.is_empty() {
            scene.text(self.y_label, at, Align::Left, kind);
        } else {
            // A heading may be cut, what is measured may not.
            let plain = Type {
                weight: Weight::Regular,
                ..kind
            };
            let gap = 0.8 * kind.size;
            let most = region.width - scene.width(self.y_label, plain) - gap;
            let heading = scene.fitted(self.heading, measures.value(), most);
            let written = scene.text(&heading, at, Align::Left, measures.value());
            let at = (written.right() + gap, at.1);
            scene.text(self.y_label, at, Align::Left, plain);
        }
        Ok(())
    }

    /// Draws the upright line with its name above the panel, and returns its path.
    pub fn draw_vertical(
        &self,
        scene: &mut Scene,
        panel: &Panel,
        region: Area,
        measures: Measures,
    ) -> Option<Vec<(f64, f64)>> {
        let line = self.vertical?;
        let k = measures.k;
        let (x, _) = panel.at((line.x, panel.y.low));
        let kind = Type {
            colour: style::NEEDED,
            ..measures.axis_title()
        };
        let (top, bottom) = (panel.area.top, panel.area.bottom());
        scene.upright(
            x,
            top - 5.0 * k,
            bottom,
            Stroke {
                colour: style::NEEDED,
                width: (2.0 * k).round(),
                dash: vec![6.0 * k, 3.0 * k],
            },
        );
        let (mut from, to) = (panel.area.left, panel.area.right());
        if self.one_row {
            from = from.max(region.left + scene.width(self.y_label, kind) + kind.size);
        }
        let text = scene.fitted(&line.label, kind, to - from);
        let half = scene.width(&text, kind) / 2.0;
        let middle = x.max(from + half).min(to - half);
        scene.text(&text, (middle, top - 9.0 * k), Align::Centre, kind);
        Some(vec![(x, top), (x, bottom)])
    }
}

/// How far below a region's top its heading stands, px.
pub fn heading_baseline(measures: Measures) -> f64 {
    1.3 * measures.axis_title().size
}

/// An axis whose values have room beside each other.
fn x_axis(scene: &Scene, range: (f64, f64), width: f64, measures: Measures) -> Axis {
    let k = measures.k;
    let widest = [range.0, range.1]
        .iter()
        .map(|&value| scene.width(&axis::fixed(value, 1), measures.tick()))
        .fold(0.0, f64::max);
    Axis::of_numbers(range, width, (widest + 30.0 * k).max(70.0 * k))
}

/// A range that begins at zero if nothing is below, with a little air above.
pub fn from_zero((low, high): (f64, f64)) -> (f64, f64) {
    let low = if low >= 0.0 { 0.0 } else { low };
    (low, high + 0.06 * (high - low))
}

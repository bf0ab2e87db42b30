//! Where plotters draws: its backend onto the scene.
//!
//! plotters counts in whole units. Here one unit is a hundredth of a pixel, as fine as the SVG is
//! written, so nothing is rounded to pixels but level and upright lines, which are sharp that way.

use std::convert::Infallible;
use std::fmt::Display;

use plotters::style::{Color, FontDesc, FontFamily, FontStyle, RGBColor, ShapeStyle, TextStyle};
use plotters_backend::text_anchor::{HPos, VPos};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
    rasterizer,
};

use super::data::ChartError;
use super::decimate;
use super::scene::{Align, Area, Colour, DESCENT_EM, Scene, Shape, Stroke, Type};
use crate::output::font::Weight;

/// Units in a pixel.
const FINE: f64 = 100.0;

/// Pixels in plotters' units.
pub fn fine(pixels: f64) -> i32 {
    (FINE * pixels).round() as i32
}

/// plotters' units in pixels.
pub fn pixels((x, y): BackendCoord) -> (f64, f64) {
    (f64::from(x) / FINE, f64::from(y) / FINE)
}

fn rgb(colour: Colour) -> RGBColor {
    RGBColor(colour.0, colour.1, colour.2)
}

/// A pen of a width in pixels.
pub fn pen(colour: Colour, width: f64) -> ShapeStyle {
    ShapeStyle::from(rgb(colour)).stroke_width(fine(width).unsigned_abs())
}

/// A filling that lets shine through what lies behind.
pub fn wash(colour: Colour, opacity: f64) -> ShapeStyle {
    rgb(colour).mix(opacity).filled()
}

/// Letters of the built-in font, anchored at their upper left.
pub fn letters(kind: Type) -> TextStyle<'static> {
    let style = match kind.weight {
        Weight::Regular => FontStyle::Normal,
        Weight::Semibold => FontStyle::Bold,
    };
    FontDesc::new(FontFamily::SansSerif, FINE * kind.size, style).color(&rgb(kind.colour))
}

/// What plotters answers when it cannot draw, which it does only if the chart is built wrongly.
pub fn failed(error: impl Display) -> ChartError {
    ChartError::Layout(error.to_string())
}

/// A scene that plotters can draw on.
pub struct Ink<'a> {
    pub scene: &'a mut Scene,
    /// Dashes of every path, px: a style of plotters has none.
    pub dash: Vec<f64>,
}

type Done = Result<(), DrawingErrorKind<Infallible>>;

fn colour(color: BackendColor) -> Colour {
    Colour(color.rgb.0, color.rgb.1, color.rgb.2)
}

/// Height of a digit, em: what hangs from a place above hangs by it.
const DIGIT_EM: f64 = 0.7;

impl DrawingBackend for Ink<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        let size = self.scene.size;
        (FINE as u32 * size.width, FINE as u32 * size.height)
    }

    fn ensure_prepared(&mut self) -> Done {
        Ok(())
    }

    fn present(&mut self) -> Done {
        Ok(())
    }

    fn draw_pixel(&mut self, point: BackendCoord, color: BackendColor) -> Done {
        self.draw_rect(point, (point.0 + 1, point.1 + 1), &color, true)
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Done {
        self.draw_path([from, to], style)
    }

    /// A path of one point is a dot.
    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Done {
        let colour = colour(style.color());
        let width = f64::from(style.stroke_width()) / FINE;
        let points: Vec<(f64, f64)> = path.into_iter().map(pixels).collect();
        let stroke = Stroke {
            dash: self.dash.clone(),
            ..Stroke::solid(colour, width)
        };
        match decimate::thinned(&points).as_slice() {
            _ if style.color().alpha == 0.0 => {}
            [centre] => self.scene.disc(*centre, 1.6 * width, colour),
            [from, to] if from.0 == to.0 => self.scene.upright(from.0, from.1, to.1, stroke),
            [from, to] if from.1 == to.1 => self.scene.level(from.1, from.0, to.0, stroke),
            points => self.scene.line(points.to_vec(), stroke),
        }
        Ok(())
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        upper_left: BackendCoord,
        bottom_right: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Done {
        if !fill {
            return rasterizer::draw_rect(self, upper_left, bottom_right, style, fill);
        }
        let (left, top) = pixels(upper_left);
        let (right, bottom) = pixels(bottom_right);
        let area = Area {
            left,
            top,
            width: right - left,
            height: bottom - top,
        };
        let color = style.color();
        self.scene.fill(area, colour(color), color.alpha);
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        outline: I,
        style: &S,
    ) -> Done {
        let color = style.color();
        self.scene.shapes.push(Shape::Region {
            outline: outline.into_iter().map(pixels).collect(),
            fill: colour(color),
            opacity: color.alpha,
        });
        Ok(())
    }

    /// Texts are level, whatever turn is asked for.
    fn draw_text<S: BackendTextStyle>(&mut self, text: &str, style: &S, at: BackendCoord) -> Done {
        let kind = Type {
            size: style.size() / FINE,
            weight: match style.style() {
                FontStyle::Bold => Weight::Semibold,
                FontStyle::Normal | FontStyle::Oblique | FontStyle::Italic => Weight::Regular,
            },
            colour: colour(style.color()),
        };
        let anchor = style.anchor();
        let align = match anchor.h_pos {
            HPos::Left => Align::Left,
            HPos::Center => Align::Centre,
            HPos::Right => Align::Right,
        };
        let drop = match anchor.v_pos {
            VPos::Top => DIGIT_EM,
            VPos::Center => DIGIT_EM / 2.0,
            VPos::Bottom => -DESCENT_EM,
        };
        let (x, y) = pixels(at);
        self.scene
            .text(text, (x, y + drop * kind.size), align, kind);
        Ok(())
    }
}

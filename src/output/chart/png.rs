//! Writes a scene as PNG: `tiny-skia` paints the shapes with smooth edges, `png` packs the pixels.

use std::fmt::Display;

use tiny_skia::{
    Color, FillRule, LineJoin, Paint, Path, PathBuilder, Pixmap, Rect, StrokeDash, Transform,
};
use ttf_parser::OutlineBuilder;

use super::data::ChartError;
use super::scene::{Area, Colour, Scene, Shape, Stroke, Text};
use crate::output::signature::PNG as MAKER;

/// The scene as a complete PNG file.
pub fn write(scene: &Scene) -> Result<Vec<u8>, ChartError> {
    let (width, height) = (scene.size.width, scene.size.height);
    let mut pixmap =
        Pixmap::new(width, height).ok_or_else(|| failed("there is no room for its pixels"))?;
    pixmap.fill(Color::WHITE);
    for shape in &scene.shapes {
        paint(&mut pixmap, scene, shape);
    }
    // All pixels are opaque: what they stand on is.
    let opaque = |pixel: &[u8]| [pixel[0], pixel[1], pixel[2]];
    let pixels: Vec<u8> = pixmap.data().chunks_exact(4).flat_map(opaque).collect();

    let mut file = Vec::new();
    let mut encoder = ::png::Encoder::new(&mut file, width, height);
    encoder.set_color(::png::ColorType::Rgb);
    encoder.set_depth(::png::BitDepth::Eight);
    // Flat areas and repeated letters compress best as they are; packing them harder takes twice the
    // time for 2 % less.
    encoder.set_compression(::png::Compression::Balanced);
    encoder.set_filter(::png::Filter::NoFilter);
    encoder
        .add_text_chunk("Software".to_owned(), MAKER.to_owned())
        .map_err(failed)?;
    let mut writer = encoder.write_header().map_err(failed)?;
    writer.write_image_data(&pixels).map_err(failed)?;
    writer.finish().map_err(failed)?;
    Ok(file)
}

fn failed(error: impl Display) -> ChartError {
    ChartError::Encode(error.to_string())
}

/// Paints a shape. A path that `tiny-skia` finds empty shows nothing, as in the SVG.
fn paint(pixmap: &mut Pixmap, scene: &Scene, shape: &Shape) {
    match shape {
        Shape::Box {
            area,
            fill,
            opacity,
        } => {
            fill_box(pixmap, *area, &ink(*fill, *opacity));
        }
        Shape::Cells { areas, fill } => {
            let mut paint = ink(*fill, 1.0);
            paint.anti_alias = false;
            for area in areas {
                fill_box(pixmap, *area, &paint);
            }
        }
        Shape::Region {
            outline,
            fill,
            opacity,
        } => {
            let mut builder = through(outline);
            builder.close();
            if let Some(path) = builder.finish() {
                let (paint, rule) = (ink(*fill, *opacity), FillRule::Winding);
                pixmap.fill_path(&path, &paint, rule, Transform::identity(), None);
            }
        }
        Shape::Line { points, stroke } => line(pixmap, points, stroke),
        Shape::Disc {
            centre: (x, y),
            radius,
            fill,
        } => {
            let circle = PathBuilder::from_circle(*x as f32, *y as f32, *radius as f32);
            fill_path(pixmap, circle, *fill);
        }
        Shape::Text(text) => fill_path(pixmap, letters(scene, text), text.colour),
    }
}

fn fill_box(pixmap: &mut Pixmap, area: Area, paint: &Paint) {
    let [left, top, right, bottom] =
        [area.left, area.top, area.right(), area.bottom()].map(|place| place as f32);
    if let Some(rect) = Rect::from_ltrb(left, top, right, bottom) {
        pixmap.fill_rect(rect, paint, Transform::identity(), None);
    }
}

fn ink(colour: Colour, opacity: f64) -> Paint<'static> {
    let mut paint = Paint::default();
    let alpha = (255.0 * opacity).round() as u8;
    paint.set_color_rgba8(colour.0, colour.1, colour.2, alpha);
    paint
}

fn fill_path(pixmap: &mut Pixmap, path: Option<Path>, colour: Colour) {
    if let Some(path) = path {
        let (paint, rule) = (ink(colour, 1.0), FillRule::Winding);
        pixmap.fill_path(&path, &paint, rule, Transform::identity(), None);
    }
}

/// A path through points, one after the other.
fn through(points: &[(f64, f64)]) -> PathBuilder {
    let mut builder = PathBuilder::new();
    for (index, &(x, y)) in points.iter().enumerate() {
        let (x, y) = (x as f32, y as f32);
        if index == 0 {
            builder.move_to(x, y);
        } else {
            builder.line_to(x, y);
        }
    }
    builder
}

fn line(pixmap: &mut Pixmap, points: &[(f64, f64)], stroke: &Stroke) {
    if let Some(path) = through(points).finish() {
        let pen = tiny_skia::Stroke {
            width: stroke.width as f32,
            line_join: LineJoin::Round,
            dash: StrokeDash::new(stroke.dash.iter().map(|&d| d as f32).collect(), 0.0),
            ..tiny_skia::Stroke::default()
        };
        let paint = ink(stroke.colour, 1.0);
        pixmap.stroke_path(&path, &paint, &pen, Transform::identity(), None);
    }
}

/// The outlines of a text's letters at their places.
fn letters(scene: &Scene, text: &Text) -> Option<Path> {
    let font = scene.font(text.weight);
    let scale = text.size / font.units_per_em;
    let mut all = PathBuilder::new();
    let mut x = text.x;
    for character in text.text.chars() {
        let glyph = font.glyph(character);
        let mut letter = Letter(PathBuilder::new());
        font.outline(glyph.id, &mut letter);
        let (scale_x, scale_y) = (scale as f32, -scale as f32);
        let place = Transform::from_row(scale_x, 0.0, 0.0, scale_y, x as f32, text.baseline as f32);
        if let Some(path) = letter.0.finish().and_then(|path| path.transform(place)) {
            all.push_path(&path);
        }
        x += glyph.advance * scale;
    }
    all.finish()
}

/// An outline in font units, with y upwards.
struct Letter(PathBuilder);

impl OutlineBuilder for Letter {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to(x, y);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to(x, y);
    }
    fn quad_to(&mut self, px: f32, py: f32, x: f32, y: f32) {
        self.0.quad_to(px, py, x, y);
    }
    fn curve_to(&mut self, px: f32, py: f32, qx: f32, qy: f32, x: f32, y: f32) {
        self.0.cubic_to(px, py, qx, qy, x, y);
    }
    fn close(&mut self) {
        self.0.close();
    }
}

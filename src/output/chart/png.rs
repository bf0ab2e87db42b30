//! Writes a scene as PNG.
//!
//! The picture is painted four times as large (twice, for a very large one) on a plotters bitmap and
//! averaged down. That smooths every edge alike and places shapes to a quarter of a pixel, where the
//! bitmap itself knows only whole ones.

use std::fmt::Display;
use std::sync::OnceLock;

use plotters::backend::{BitMapBackend, DrawingBackend};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, RGBAColor, RGBColor, register_font};

use super::ChartError;
use super::scene::{Area, Colour, Scene, Shape, Stroke, Text};
use crate::output::font::Weight;

/// Above this many pixels the painting is only twice as large, to bound the memory it takes.
const FINE_PIXELS: u64 = 4_000_000;

/// The scene as a complete PNG file.
pub fn write(scene: &Scene) -> Result<Vec<u8>, ChartError> {
    let (width, height) = (scene.size.width, scene.size.height);
    let fine = u64::from(width) * u64::from(height) <= FINE_PIXELS;
    let scale: u32 = if fine { 4 } else { 2 };
    let large = (width * scale, height * scale);
    let mut buffer = vec![255u8; 3 * large.0 as usize * large.1 as usize];
    {
        let bitmap = BitMapBackend::with_buffer(&mut buffer, large);
        let mut painter = Painter {
            bitmap,
            scale: f64::from(scale),
        };
        for shape in &scene.shapes {
            painter.shape(scene, shape)?;
        }
        painter.bitmap.present().map_err(failed)?;
    }
    let pixels = averaged(&buffer, large.0 as usize, scale as usize);

    let mut file = Vec::new();
    let mut encoder = ::png::Encoder::new(&mut file, width, height);
    encoder.set_color(::png::ColorType::Rgb);
    encoder.set_depth(::png::BitDepth::Eight);
    encoder.set_compression(::png::Compression::High);
    // Flat areas and repeated letters compress best as they are.
    encoder.set_filter(::png::Filter::NoFilter);
    let mut writer = encoder.write_header().map_err(failed)?;
    writer.write_image_data(&pixels).map_err(failed)?;
    writer.finish().map_err(failed)?;
    Ok(file)
}

fn failed(error: impl Display) -> ChartError {
    ChartError::Encode(error.to_string())
}

/// Each pixel is the mean of `scale` × `scale` painted ones.
fn averaged(buffer: &[u8], large_width: usize, scale: usize) -> Vec<u8> {
    let width = large_width / scale;
    let mut sums = vec![0u32; 3 * width];
    let mut pixels = Vec::with_capacity(buffer.len() / (scale * scale));
    let share = (scale * scale) as u32;
    for rows in buffer.chunks_exact(3 * large_width * scale) {
        sums.fill(0);
        for row in rows.chunks_exact(3 * large_width) {
            for (sum, group) in sums.chunks_exact_mut(3).zip(row.chunks_exact(3 * scale)) {
                for pixel in group.chunks_exact(3) {
                    for channel in 0..3 {
                        sum[channel] += u32::from(pixel[channel]);
                    }
                }
            }
        }
        pixels.extend(sums.iter().map(|sum| ((sum + share / 2) / share) as u8));
    }
    pixels
}

/// Name of the built-in font in plotters' table.
fn family(weight: Weight) -> &'static str {
    match weight {
        Weight::Regular => "dogdays-chart",
        Weight::Semibold => "dogdays-chart-semibold",
    }
}

fn fonts_are_known() -> bool {
    static KNOWN: OnceLock<bool> = OnceLock::new();
    *KNOWN.get_or_init(|| {
        [Weight::Regular, Weight::Semibold]
            .iter()
            .all(|&weight| register_font(family(weight), FontStyle::Normal, weight.file()).is_ok())
    })
}

struct Painter<'a> {
    bitmap: BitMapBackend<'a>,
    scale: f64,
}

impl Painter<'_> {
    fn whole(&self, position: f64) -> i32 {
        (position * self.scale).round() as i32
    }

    fn shape(&mut self, scene: &Scene, shape: &Shape) -> Result<(), ChartError> {
        match shape {
            Shape::Box {
                area,
                fill,
                opacity,
            } => self.area(*area, ink(*fill, *opacity)),
            Shape::Line { points, stroke } => self.line(points, stroke),
            Shape::Disc {
                centre,
                radius,
                fill,
            } => self.disc(*centre, *radius, ink(*fill, 1.0)),
            Shape::Text(text) => self.text(scene, text),
        }
    }

    fn area(&mut self, area: Area, ink: RGBAColor) -> Result<(), ChartError> {
        // The bitmap counts the lower right corner as part of the box.
        let from = (self.whole(area.left), self.whole(area.top));
        let to = (self.whole(area.right()) - 1, self.whole(area.bottom()) - 1);
        self.bitmap.draw_rect(from, to, &ink, true).map_err(failed)
    }

    fn polygon(&mut self, points: &[(f64, f64)], ink: RGBAColor) -> Result<(), ChartError> {
        let corners: Vec<(i32, i32)> = points
            .iter()
            .map(|&(x, y)| (self.whole(x), self.whole(y)))
            .collect();
        self.bitmap.fill_polygon(corners, &ink).map_err(failed)
    }

    fn disc(&mut self, centre: (f64, f64), radius: f64, ink: RGBAColor) -> Result<(), ChartError> {
        let centre = (self.whole(centre.0), self.whole(centre.1));
        let radius = self.whole(radius).max(1) as u32;
        self.bitmap
            .draw_circle(centre, radius, &ink, true)
            .map_err(failed)
    }

    /// A stroke as a row of rectangles with discs at the joints: the bitmap's own thick paths grow
    /// spikes where a line turns sharply.
    fn line(&mut self, points: &[(f64, f64)], stroke: &Stroke) -> Result<(), ChartError> {
        let ink = ink(stroke.colour, 1.0);
        // The bitmap paints the rim of a polygon too: a quarter of a painted pixel on each side,
        // as measured against other renderers of the same SVG.
        let half = stroke.width / 2.0;
        let rim = 0.25 / self.scale;
        for piece in dashes(points, &stroke.dash) {
            for pair in piece.windows(2) {
                let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
                if x0 == x1 || y0 == y1 {
                    self.area(straight(pair[0], pair[1], half), ink)?;
                    continue;
                }
                let length = (x1 - x0).hypot(y1 - y0);
                let reach = (half - rim).max(rim) / length;
                let (dx, dy) = ((y1 - y0) * reach, (x0 - x1) * reach);
                let corners = [
                    (x0 + dx, y0 + dy),
                    (x1 + dx, y1 + dy),
                    (x1 - dx, y1 - dy),
                    (x0 - dx, y0 - dy),
                ];
                self.polygon(&corners, ink)?;
            }
            for &joint in piece.iter().skip(1).take(piece.len().saturating_sub(2)) {
                self.disc(joint, half - rim, ink)?;
            }
        }
        Ok(())
    }

    /// Letter by letter, each at its own place: plotters would set a whole word without the space
    /// in front of a letter and to whole pixels.
    fn text(&mut self, scene: &Scene, text: &Text) -> Result<(), ChartError> {
        if !fonts_are_known() {
            return Err(ChartError::Font);
        }
        let font = scene.font(text.weight);
        let unit = text.size * self.scale / f64::from(font.units_per_em);
        let height = f64::from(font.height) * unit;
        let letters = FontDesc::new(
            FontFamily::Name(family(text.weight)),
            height,
            FontStyle::Normal,
        );
        let colour = RGBColor(text.colour.0, text.colour.1, text.colour.2);
        let baseline = self.whole(text.baseline);
        let mut x = text.x * self.scale;
        for character in text.text.chars() {
            let Some(glyph) = font.glyph(character) else {
                continue;
            };
            if !glyph.outline.is_empty() {
                let left = x.round() as i32 + (f64::from(glyph.left) * unit).floor() as i32;
                let top = (-f64::from(glyph.top) * unit).floor();
                // Undo the shift plotters adds, so that the baseline falls where it should.
                let shift = (height / 2.0 + top) as i32;
                let at = (left, baseline + top as i32 - shift);
                let bitmap = &mut self.bitmap;
                letters
                    .draw(character.encode_utf8(&mut [0; 4]), at, |px, py, cover| {
                        let cover = f64::from(cover).clamp(0.0, 1.0);
                        bitmap.draw_pixel((px, py), colour.mix(cover).to_backend_color())
                    })
                    .map_err(failed)?
                    .map_err(failed)?;
            }
            x += f64::from(glyph.advance) * unit;
        }
        Ok(())
    }
}

fn ink(colour: Colour, opacity: f64) -> RGBAColor {
    RGBColor(colour.0, colour.1, colour.2).mix(opacity)
}

/// The box of a level or upright stroke.
fn straight(from: (f64, f64), to: (f64, f64), half: f64) -> Area {
    let (left, right) = (from.0.min(to.0), from.0.max(to.0));
    let (top, bottom) = (from.1.min(to.1), from.1.max(to.1));
    let (grow_x, grow_y) = if top == bottom {
        (0.0, half)
    } else {
        (half, 0.0)
    };
    Area {
        left: left - grow_x,
        top: top - grow_y,
        width: right - left + 2.0 * grow_x,
        height: bottom - top + 2.0 * grow_y,
    }
}

/// Cuts a line into its dashes; the whole line if it has none.
fn dashes(points: &[(f64, f64)], pattern: &[f64]) -> Vec<Vec<(f64, f64)>> {
    let total: f64 = pattern.iter().sum();
    if pattern.is_empty() || total <= 0.0 {
        return vec![points.to_vec()];
    }
    let mut pieces = Vec::new();
    let mut piece: Vec<(f64, f64)> = points.first().copied().into_iter().collect();
    let mut index = 0;
    let mut left = pattern[0];
    for pair in points.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        let length = (x1 - x0).hypot(y1 - y0);
        let mut done = 0.0;
        while length - done > left {
            done += left;
            let share = done / length;
            let at = (x0 + (x1 - x0) * share, y0 + (y1 - y0) * share);
            if index % 2 == 0 {
                piece.push(at);
                pieces.push(std::mem::take(&mut piece));
            } else {
                piece = vec![at];
            }
            index = (index + 1) % pattern.len();
            left = pattern[index];
        }
        left -= length - done;
        if index % 2 == 0 {
            piece.push(pair[1]);
        }
    }
    if piece.len() > 1 {
        pieces.push(piece);
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The dash rule of SVG 1.1, section 11.4: lengths alternate on and off along the line, across
    /// its corners.
    #[test]
    fn dashes_follow_the_line_around_a_corner() {
        let line = [(0.0, 0.0), (5.0, 0.0), (5.0, 5.0)];
        let pieces = dashes(&line, &[4.0, 2.0]);
        assert_eq!(
            pieces,
            vec![vec![(0.0, 0.0), (4.0, 0.0)], vec![(5.0, 1.0), (5.0, 5.0)],]
        );
    }

    #[test]
    fn averaging_keeps_flat_colour_and_mixes_edges() {
        // Two pixels wide, one high, painted at twice the size: left white, right half black.
        let row = [255, 255, 255, 255, 255, 255, 0, 0, 0, 255, 255, 255];
        let buffer = [row, row].concat();
        assert_eq!(averaged(&buffer, 4, 2), [255, 255, 255, 128, 128, 128]);
    }
}

//! Writes a scene as SVG 1.1.
//!
//! Letters are outlines, each shape stored once and used many times, because fonts cannot be relied
//! on: many programs and web pages ignore a font embedded in an SVG. The words themselves are kept
//! in `aria-label` for search and screen readers.

use std::collections::BTreeSet;
use std::fmt::Write;

use ttf_parser::OutlineBuilder;

use super::scene::{Area, Colour, Scene, Shape, Stroke, Text};
use crate::output::font::{Font, Weight};
use crate::output::signature::SVG as MARK;

/// The scene as a complete SVG document, UTF-8.
pub fn write(scene: &Scene) -> Vec<u8> {
    let (width, height) = (scene.size.width, scene.size.height);
    let mut out = String::new();
    // Writing to a string cannot fail, so the results of `write!` are dropped here and below.
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" \
         width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" role=\"img\">\n{MARK}\n\
         <title>{}</title>\n<desc>{}</desc>",
        escaped(&scene.title),
        escaped(&scene.description)
    );
    letters(scene, &mut out);
    let _ = writeln!(
        out,
        "<rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>"
    );
    for shape in &scene.shapes {
        match shape {
            Shape::Box {
                area,
                fill,
                opacity,
            } => {
                let _ = write!(
                    out,
                    "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\"",
                    short(area.left),
                    short(area.top),
                    short(area.width),
                    short(area.height),
                    hex(*fill)
                );
                if *opacity < 1.0 {
                    let _ = write!(out, " fill-opacity=\"{}\"", short(*opacity));
                }
                out.push_str("/>\n");
            }
            Shape::Region {
                outline,
                fill,
                opacity,
            } => region(outline, *fill, *opacity, &mut out),
            Shape::Cells { areas, fill } => cells(areas, *fill, &mut out),
            Shape::Line { points, stroke } => line(points, stroke, &mut out),
            Shape::Disc {
                centre,
                radius,
                fill,
            } => {
                let _ = writeln!(
                    out,
                    "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{}\"/>",
                    short(centre.0),
                    short(centre.1),
                    short(*radius),
                    hex(*fill)
                );
            }
            Shape::Text(placed) => text(scene, placed, &mut out),
        }
    }
    out.push_str("</svg>\n");
    out.into_bytes()
}

fn region(outline: &[(f64, f64)], fill: Colour, opacity: f64, out: &mut String) {
    out.push_str("<path d=\"");
    for (k, (x, y)) in outline.iter().enumerate() {
        let way = if k == 0 { 'M' } else { 'L' };
        let _ = write!(out, "{way}{} {}", short(*x), short(*y));
    }
    let (fill, opacity) = (hex(fill), short(opacity));
    let _ = writeln!(out, "Z\" fill=\"{fill}\" fill-opacity=\"{opacity}\"/>");
}

/// One path: a box takes thirty bytes in it. Corners are written as places and not as lengths, so that neighbours
/// have the same.
fn cells(areas: &[Area], fill: Colour, out: &mut String) {
    let _ = write!(
        out,
        "<path fill=\"{}\" shape-rendering=\"crispEdges\" d=\"",
        hex(fill)
    );
    for area in areas {
        let _ = write!(
            out,
            "M{} {}H{}V{}H{}z",
            short(area.left),
            short(area.top),
            short(area.right()),
            short(area.bottom()),
            short(area.left)
        );
    }
    out.push_str("\"/>\n");
}

fn line(points: &[(f64, f64)], stroke: &Stroke, out: &mut String) {
    let _ = write!(
        out,
        "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" \
         stroke-linejoin=\"round\"",
        list(points),
        hex(stroke.colour),
        short(stroke.width)
    );
    if !stroke.dash.is_empty() {
        let dashes: Vec<String> = stroke.dash.iter().map(|&length| short(length)).collect();
        let _ = write!(out, " stroke-dasharray=\"{}\"", dashes.join(","));
    }
    out.push_str("/>\n");
}

fn text(scene: &Scene, placed: &Text, out: &mut String) {
    let font = scene.font(placed.weight);
    let scale = placed.size / font.units_per_em;
    let _ = write!(
        out,
        "<g aria-label=\"{}\" fill=\"{}\" transform=\"translate({},{}) scale({:.6},-{:.6})\">",
        escaped(&placed.text),
        hex(placed.colour),
        short(placed.x),
        short(placed.baseline),
        scale,
        scale
    );
    let mut x = 0.0;
    for character in placed.text.chars() {
        let glyph = font.glyph(character);
        if !outline(font, glyph.id).is_empty() {
            let name = name(placed.weight, glyph.id);
            let _ = write!(out, "<use xlink:href=\"#{name}\" x=\"{x}\"/>");
        }
        x += glyph.advance;
    }
    out.push_str("</g>\n");
}

/// The outline of each letter that is used, once.
fn letters(scene: &Scene, out: &mut String) {
    let mut used = BTreeSet::new();
    for shape in &scene.shapes {
        if let Shape::Text(placed) = shape {
            let font = scene.font(placed.weight);
            let glyphs = placed.text.chars().map(|c| font.glyph(c).id);
            used.extend(glyphs.map(|glyph| (placed.weight, glyph)));
        }
    }
    out.push_str("<defs>\n");
    for (weight, glyph) in used {
        let path = outline(scene.font(weight), glyph);
        if !path.is_empty() {
            let name = name(weight, glyph);
            let _ = writeln!(out, "<path id=\"{name}\" d=\"{path}\"/>");
        }
    }
    out.push_str("</defs>\n");
}

/// The data of a glyph's path, in font units; empty for a space.
fn outline(font: &Font, glyph: u16) -> String {
    let mut path = PathData(String::new());
    font.outline(glyph, &mut path);
    path.0
}

struct PathData(String);

impl OutlineBuilder for PathData {
    fn move_to(&mut self, x: f32, y: f32) {
        let _ = write!(self.0, "M{x} {y}");
    }
    fn line_to(&mut self, x: f32, y: f32) {
        let _ = write!(self.0, "L{x} {y}");
    }
    fn quad_to(&mut self, px: f32, py: f32, x: f32, y: f32) {
        let _ = write!(self.0, "Q{px} {py} {x} {y}");
    }
    fn curve_to(&mut self, px: f32, py: f32, qx: f32, qy: f32, x: f32, y: f32) {
        let _ = write!(self.0, "C{px} {py} {qx} {qy} {x} {y}");
    }
    fn close(&mut self) {
        self.0.push('Z');
    }
}

fn name(weight: Weight, glyph: u16) -> String {
    match weight {
        Weight::Regular => format!("r{glyph}"),
        Weight::Semibold => format!("s{glyph}"),
    }
}

fn list(points: &[(f64, f64)]) -> String {
    let pairs: Vec<String> = points
        .iter()
        .map(|&(x, y)| format!("{},{}", short(x), short(y)))
        .collect();
    pairs.join(" ")
}

fn hex(colour: Colour) -> String {
    format!("#{:02x}{:02x}{:02x}", colour.0, colour.1, colour.2)
}

/// Two decimals, and none that say nothing.
pub fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

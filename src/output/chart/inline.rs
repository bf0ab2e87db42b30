//! Writes a scene as a part of a web page: SVG with text that is text, in colours for a light and a dark ground.
//!
//! A page carries the charts' own font, so that words are as wide as they were measured; one with letters that the
//! font lacks is held to its width.

use maud::{Markup, html};

use super::scene::{Colour, Scene, Shape, Stroke, Text};
use super::svg::short;
use super::theme::dark;
use crate::output::font::Weight;

/// The scene as an `svg` element. `id` tells it from every other one of the page.
pub fn write(scene: &Scene, id: &str) -> Markup {
    let (width, height) = (scene.size.width, scene.size.height);
    let (title, desc) = (format!("{id}-title"), format!("{id}-desc"));
    html! {
        svg class="drawing" id=(id) role="img" width=(width) height=(height)
            viewBox=(format!("0 0 {width} {height}"))
            aria-labelledby=(format!("{title} {desc}")) {
            title id=(title) { (scene.title) }
            desc id=(desc) { (scene.description) }
            @for shape in &scene.shapes { (drawn(scene, shape)) }
        }
    }
}

fn drawn(scene: &Scene, shape: &Shape) -> Markup {
    match shape {
        Shape::Box {
            area,
            fill,
            opacity,
        } => html! {
            rect x=(short(area.left)) y=(short(area.top)) width=(short(area.width)) height=(short(area.height))
                fill=(paint(*fill)) fill-opacity=[seen(*opacity)] {}
        },
        Shape::Region {
            outline,
            fill,
            opacity,
        } => html! {
            polygon points=(list(outline)) fill=(paint(*fill)) fill-opacity=[seen(*opacity)] {}
        },
        Shape::Cells { areas, fill } => {
            let mut path = String::new();
            for area in areas {
                path.push_str(&format!(
                    "M{} {}H{}V{}H{}z",
                    short(area.left),
                    short(area.top),
                    short(area.right()),
                    short(area.bottom()),
                    short(area.left)
                ));
            }
            html! { path d=(path) fill=(paint(*fill)) shape-rendering="crispEdges" {} }
        }
        Shape::Line { points, stroke } => line(points, stroke),
        Shape::Disc {
            centre,
            radius,
            fill,
        } => html! {
            circle cx=(short(centre.0)) cy=(short(centre.1)) r=(short(*radius)) fill=(paint(*fill)) {}
        },
        Shape::Text(placed) => text(scene, placed),
    }
}

fn line(points: &[(f64, f64)], stroke: &Stroke) -> Markup {
    let dashes = (!stroke.dash.is_empty()).then(|| {
        let dashes: Vec<String> = stroke.dash.iter().map(|&length| short(length)).collect();
        dashes.join(",")
    });
    html! {
        polyline points=(list(points)) fill="none" stroke=(paint(stroke.colour)) stroke-width=(short(stroke.width))
            stroke-linejoin="round" stroke-dasharray=[dashes] {}
    }
}

fn text(scene: &Scene, placed: &Text) -> Markup {
    let font = scene.font(placed.weight);
    let has_all = placed.text.chars().all(|letter| font.has(letter));
    let held = (!has_all).then(|| short(placed.width));
    let adjust = held.as_ref().map(|_| "spacingAndGlyphs");
    let bold = (placed.weight == Weight::Semibold).then_some("600");
    html! {
        text x=(short(placed.x)) y=(short(placed.baseline)) font-size=(short(placed.size)) fill=(paint(placed.colour))
            font-weight=[bold] textLength=[held] lengthAdjust=[adjust] { (placed.text) }
    }
}

fn seen(opacity: f64) -> Option<String> {
    (opacity < 1.0).then(|| short(opacity))
}

/// Places to a tenth of a pixel: there are thousands of them, and a live page asks for them while a hand moves.
fn list(points: &[(f64, f64)]) -> String {
    let mut out = String::with_capacity(12 * points.len());
    for (k, &(x, y)) in points.iter().enumerate() {
        if k > 0 {
            out.push(' ');
        }
        push_tenths(&mut out, x);
        out.push(',');
        push_tenths(&mut out, y);
    }
    out
}

fn push_tenths(out: &mut String, value: f64) {
    let tenths = (10.0 * value).round() as i64;
    if tenths < 0 {
        out.push('-');
    }
    let (whole, part) = (tenths.unsigned_abs() / 10, tenths.unsigned_abs() % 10);
    out.push_str(&whole.to_string());
    if part > 0 {
        out.push('.');
        out.push_str(&part.to_string());
    }
}

/// A colour for either ground, as CSS Color 5 has it.
fn paint(colour: Colour) -> String {
    format!("light-dark({},{})", hex(colour), hex(dark(colour)))
}

fn hex(colour: Colour) -> String {
    format!("#{:02x}{:02x}{:02x}", colour.0, colour.1, colour.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_written_to_a_tenth() {
        let points = [(0.0, -0.04), (12.34, -7.96), (100.05, 3.0)];
        assert_eq!(list(&points), "0,0 12.3,-8 100.1,3");
    }
}

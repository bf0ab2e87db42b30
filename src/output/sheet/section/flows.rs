//! Arrows of air through the shell, as wide as the flow is large.

use super::frame::Frame;
use super::place::{Flow, Place};
use crate::chamber::things::WayOut;
use crate::output::chart::scene::{Align, Area, Colour, Scene, Shape, Stroke, Type};
use crate::output::chart::style;
use crate::quantity::System;

/// Width of the arrow of 100 m3/h, px; others go by the root of their flow, so that a leak can still be seen.
const WIDTH_OF_100: f64 = 16.0;

pub fn draw(scene: &mut Scene, place: &Place, frame: &Frame, units: System, small: Type) {
    let mut taken: Vec<Area> = scene.text_areas();
    for flow in &place.flows {
        let length = 26.0;
        let (x, y) = frame.at(flow.at);
        let outward = flow.out_m3_per_s > 0.0;
        let wide = (WIDTH_OF_100 * (flow.out_m3_per_s.abs() * 36.0).sqrt()).clamp(3.0, 22.0);
        let (direction, shift) = match (flow.way, flow.at.0 > 0.5 * place.depth_m) {
            (WayOut::Lid, _) => ((0.0, -1.0), if outward { 24.0 } else { 0.0 }),
            (_, true) => ((1.0, 0.0), 0.0),
            (_, false) => ((-1.0, 0.0), 0.0),
        };
        let x = x + 2.0 * shift;
        // Outside the panel, pointing away from the chamber or into it.
        let near = (x + 12.0 * direction.0, y + 12.0 * direction.1);
        let far = (near.0 + length * direction.0, near.1 + length * direction.1);
        let (from, to) = if outward { (near, far) } else { (far, near) };
        arrow(scene, from, to, wide, style::NEEDED);
        if flow.way == WayOut::Fan {
            blades(scene, near);
        }
        label(scene, flow, (near, far), units, small, &mut taken);
    }
    if place.inner_m3_per_s > 0.0 {
        let x = 0.93 * place.depth_m;
        let (top, bottom) = (
            frame.at((x, 0.85 * place.height_m)),
            frame.at((x, 0.12 * place.height_m)),
        );
        let wide = (WIDTH_OF_100 * (place.inner_m3_per_s * 36.0).sqrt()).clamp(3.0, 22.0);
        arrow(scene, top, bottom, wide, style::NEEDED);
    }
}

fn arrow(scene: &mut Scene, from: (f64, f64), to: (f64, f64), wide: f64, fill: Colour) {
    let length = (to.0 - from.0).hypot(to.1 - from.1);
    let (ux, uy) = ((to.0 - from.0) / length, (to.1 - from.1) / length);
    let head = (0.45 * length).min(12.0);
    let neck = (to.0 - head * ux, to.1 - head * uy);
    let side = |at: (f64, f64), reach: f64| (at.0 - reach * uy, at.1 + reach * ux);
    let half = 0.5 * wide;
    let point = half + 4.0;
    scene.shapes.push(Shape::Region {
        outline: vec![
            side(from, half),
            side(neck, half),
            side(neck, point),
            to,
            side(neck, -point),
            side(neck, -half),
            side(from, -half),
        ],
        fill,
        opacity: 1.0,
    });
}

/// A fan in the wall.
fn blades(scene: &mut Scene, (x, y): (f64, f64)) {
    scene.disc((x - 3.0, y), 10.0, Colour::INK);
    scene.disc((x - 3.0, y), 8.6, Colour::WHITE);
    for k in 0..3 {
        let angle = f64::from(k) * std::f64::consts::TAU / 3.0;
        let (sin, cos) = angle.sin_cos();
        let end = (x - 3.0 + 7.5 * cos, y + 7.5 * sin);
        scene.line(vec![(x - 3.0, y), end], Stroke::solid(Colour::INK, 3.2));
    }
}

/// What flows there, above or below its arrow, where it touches nothing.
fn label(
    scene: &mut Scene,
    flow: &Flow,
    (near, far): ((f64, f64), (f64, f64)),
    units: System,
    small: Type,
    taken: &mut Vec<Area>,
) {
    let text = match flow.way {
        WayOut::Vent | WayOut::Leak => flow.amount(units),
        _ => format!("{} {}", flow.name(), flow.amount(units)),
    };
    let width = scene.width(&text, small);
    let (least, most) = (2.0, f64::from(scene.size.width) - width - 2.0);
    // Away from the shell.
    let left = match far.0 < near.0 {
        true => near.0 - width,
        false => near.0,
    };
    let left = left.clamp(least, most.max(least));
    for below in [18.0, -12.0, 31.0, -25.0, 44.0, -38.0] {
        let baseline = near.1 + below + 0.4 * small.size;
        let area = Area {
            left,
            top: baseline - small.size,
            width,
            height: 1.3 * small.size,
        };
        if taken.iter().all(|other| !other.grown(1.0).overlaps(area)) {
            scene.fill(area.grown(1.0), Colour::WHITE, 0.75);
            taken.push(scene.text(&text, (left, baseline), Align::Left, small));
            return;
        }
    }
}

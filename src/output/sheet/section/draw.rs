//! The chamber itself: air, panels, what stands inside, the filament's way.

use super::frame::Frame;
use super::place::{self, Place};
use super::scale::Scale;
use crate::output::chart::scene::{Area, Colour, Scene, Shape, Stroke};

/// Least width of a panel in the drawing, px: thinner ones could not be seen.
const THINNEST_PX: f64 = 7.0;

fn outline() -> Stroke {
    Stroke::solid(Colour::INK, 1.1)
}

fn ghost() -> Stroke {
    Stroke {
        colour: Colour::QUIET,
        width: 1.0,
        dash: vec![3.0, 3.0],
    }
}

fn framed(scene: &mut Scene, area: Area, fill: Colour, stroke: Stroke) {
    scene.fill(area, fill, 1.0);
    border(scene, area, stroke);
}

fn border(scene: &mut Scene, area: Area, stroke: Stroke) {
    let (l, t, r, b) = (area.left, area.top, area.right(), area.bottom());
    scene.line(vec![(l, t), (r, t), (r, b), (l, b), (l, t)], stroke);
}

pub fn draw(scene: &mut Scene, place: &Place, scale: &Scale, frame: &Frame) {
    let (depth, height) = (place.depth_m, place.height_m);
    for layer in &place.air {
        let area = frame.area((0.0, layer.from_m), (depth, layer.to_m));
        scene.fill(area, scale.colour(layer.temperature_K), 1.0);
    }
    panels(scene, place, scale, frame);
    border(
        scene,
        frame.area((0.0, 0.0), (depth, height)),
        Stroke::solid(Colour::INK, 0.8),
    );
    if let Some((low, high)) = place.part_when_done {
        border(scene, frame.area(low, high), ghost());
    }
    for body in &place.bodies {
        let area = frame.area(body.low, body.high);
        framed(scene, area, scale.colour(body.temperature_K), outline());
    }
    feed_path(scene, place, scale, frame);
}

/// Panels outside the chamber's box, each in two halves: the inside face's temperature and the outside one's.
fn panels(scene: &mut Scene, place: &Place, scale: &Scale, frame: &Frame) {
    for panel in &place.panels {
        let wide = (panel.thickness_m * frame.px_per_m).max(THINNEST_PX);
        let inside = frame.area(panel.from, panel.to);
        let half = 0.5 * wide;
        let (inner, outer, whole) = match panel.side {
            place::Edge::Front => (
                Area {
                    left: inside.left - half,
                    width: half,
                    ..inside
                },
                Area {
                    left: inside.left - wide,
                    width: half,
                    ..inside
                },
                Area {
                    left: inside.left - wide,
                    width: wide,
                    ..inside
                },
            ),
            place::Edge::Back => (
                Area {
                    left: inside.right(),
                    width: half,
                    ..inside
                },
                Area {
                    left: inside.right() + half,
                    width: half,
                    ..inside
                },
                Area {
                    left: inside.right(),
                    width: wide,
                    ..inside
                },
            ),
            place::Edge::Top => (
                Area {
                    top: inside.top - half,
                    height: half,
                    ..inside
                },
                Area {
                    top: inside.top - wide,
                    height: half,
                    ..inside
                },
                Area {
                    top: inside.top - wide,
                    height: wide,
                    ..inside
                },
            ),
            place::Edge::Bottom => (
                Area {
                    top: inside.bottom(),
                    height: half,
                    ..inside
                },
                Area {
                    top: inside.bottom() + half,
                    height: half,
                    ..inside
                },
                Area {
                    top: inside.bottom(),
                    height: wide,
                    ..inside
                },
            ),
        };
        if panel.is_open {
            border(scene, whole, ghost());
            continue;
        }
        scene.fill(inner, scale.colour(panel.inside_K), 1.0);
        scene.fill(outer, scale.colour(panel.outside_K), 1.0);
        border(scene, whole, Stroke::solid(Colour::INK, 0.8));
    }
    for vent in place.flows.iter().filter(|f| f.opens) {
        // A gap in the panel: the ground shows through.
        let reach = 0.5 * vent.size_m.unwrap_or(0.0) * frame.px_per_m;
        let (x, y) = frame.at(vent.at);
        let gap = Area {
            left: x + 0.5,
            top: y - reach.max(2.0),
            width: THINNEST_PX + 1.0,
            height: 2.0 * reach.max(2.0),
        };
        scene.fill(gap, Colour::WHITE, 1.0);
    }
}

/// Spool, guide tube, drive gear, and the filament down to the nozzle.
fn feed_path(scene: &mut Scene, place: &Place, scale: &Scale, frame: &Frame) {
    let spool = &place.spool;
    let radius = spool.radius_m * frame.px_per_m;
    let centre = frame.at(spool.at);
    scene.disc(centre, radius, Colour::INK);
    scene.disc(centre, radius - 1.2, scale.colour(spool.temperature_K));
    scene.disc(centre, 0.36 * radius, Colour::INK);
    scene.disc(centre, 0.36 * radius - 1.2, Colour::WHITE);
    let tube: Vec<(f64, f64)> = place.tube.iter().map(|spot| frame.at(*spot)).collect();
    scene.line(tube.clone(), Stroke::solid(Colour::INK, 5.0));
    let colour = scale.colour(place.tube_K);
    scene.line(tube, Stroke::solid(colour, 3.0));
    let down: Vec<(f64, f64)> = place.filament.iter().map(|spot| frame.at(*spot)).collect();
    scene.line(down, Stroke::solid(Colour::INK, 1.6));
    let gear = frame.at(place.gear);
    let radius = (place.gear_radius_m * frame.px_per_m).max(6.0);
    scene.disc(gear, radius, Colour::INK);
    scene.disc(gear, radius - 1.2, scale.colour(place.gear_K));
    // Toothed, so that it is no second spool.
    for tooth in 0..8 {
        let angle = f64::from(tooth) * std::f64::consts::FRAC_PI_4;
        let (sin, cos) = angle.sin_cos();
        let end = |reach: f64| (gear.0 + reach * radius * cos, gear.1 + reach * radius * sin);
        scene.line(vec![end(0.95), end(1.35)], Stroke::solid(Colour::INK, 1.4));
    }
    // The nozzle's tip.
    let (x, y) = frame.at(place.nozzle);
    let wide = (0.010 * frame.px_per_m).max(4.0);
    scene.shapes.push(Shape::Region {
        outline: vec![
            (x - wide, y - 1.3 * wide),
            (x + wide, y - 1.3 * wide),
            (x, y),
        ],
        fill: Colour::INK,
        opacity: 1.0,
    });
}

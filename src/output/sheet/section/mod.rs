//! The chamber cut from front to back, to scale, coloured by temperature at one moment.
//!
//! Dimensions, heights and openings are the run's own; what the model knows no shape of (hotend, motors, gear, the
//! spool's place) is a symbol at its height. `place` says where things are, in metres; `column` writes names beside
//! the drawing so that none touch; here it is drawn.

mod column;
mod flows;
mod place;
mod scale;

use maud::Markup;

use self::column::{Item, Side};
use self::place::{Place, Spot};
use self::scale::Scale;
use crate::chamber::{Simulation, StationKind};
use crate::output::chart::scene::{Align, Area, Colour, Scene, Shape, Stroke, Type};
use crate::output::chart::{ChartError, Size, inline_scene};
use crate::output::font::Weight;
use crate::output::words::date_and_time;
use crate::quantity::{System, format_length, format_temperature};
use crate::run::{BedMotion, Run};

/// Least width of a panel in the drawing, px: thinner ones could not be seen.
const THINNEST_PX: f64 = 7.0;

/// Narrower drawings have no columns of names, px.
const NARROW_PX: u32 = 600;

/// Sizes of letters.
#[derive(Debug, Clone, Copy)]
struct Letters {
    name: Type,
    value: Type,
    deciding: Type,
    small: Type,
}

impl Letters {
    fn of(size: Size) -> Self {
        let k = if size.width < NARROW_PX { 0.95 } else { 1.0 };
        let kind = |size: f64, weight, colour| Type {
            size: k * size,
            weight,
            colour,
        };
        Self {
            name: kind(12.0, Weight::Regular, Colour::QUIET),
            value: kind(13.0, Weight::Regular, Colour::INK),
            deciding: kind(13.0, Weight::Semibold, Colour::INK),
            small: kind(11.5, Weight::Regular, Colour::QUIET),
        }
    }
}

/// The section of a run's chamber at a time, s from the start, as a part of a web page; `id` tells it from every other
/// picture there.
///
/// # Errors
/// [`ChartError`] if the fonts can't be read.
pub fn section(
    run: &Run,
    s: &Simulation,
    at_s: f64,
    units: System,
    size: Size,
    id: &str,
) -> Result<Markup, ChartError> {
    Ok(inline_scene(&scene(run, s, at_s, units, size)?, id))
}

/// The same as shapes.
fn scene(
    run: &Run,
    s: &Simulation,
    at_s: f64,
    units: System,
    size: Size,
) -> Result<Scene, ChartError> {
    let when = date_and_time(run.start, at_s);
    let title = format!("The chamber in section on {when}");
    let place = Place::of(run, s, at_s);
    let scale = Scale::of(run, s, &place);
    let mut scene = Scene::new(size, &title, &description(run, &place, units, &when))?;
    let letters = Letters::of(size);
    let (left, right) = (
        column::left(&place, units),
        column::right(&place, run, units),
    );
    let (width, height) = (f64::from(size.width), f64::from(size.height));
    let small = letters.small;
    let top = 8.0 + 2.0 * small.size;
    let key_height = 4.0 * small.size + 22.0;
    // On a phone there is no room beside the drawing: what is named has a number there, and stands below.
    let is_narrow = size.width < NARROW_PX;
    let below = if is_narrow {
        column::height_below(left.len() + right.len(), letters)
    } else {
        0.0
    };
    let sides = match is_narrow {
        true => (6.0, 6.0),
        false => (
            column::width(&scene, &left, letters),
            column::width(&scene, &right, letters),
        ),
    };
    let free = Area {
        left: sides.0,
        top,
        width: width - sides.0 - sides.1,
        height: height - top - below - key_height - 10.0,
    };
    let key = Area {
        left: 10.0,
        top: free.bottom() + 10.0,
        width: width - 20.0,
        height: key_height,
    };
    let frame = Frame::fit(&place, free);
    let inside = format!(
        "inside {} wide, {} deep, {} high: {:.0} litres",
        format_length(run.machine.width_m, units),
        format_length(run.machine.depth_m, units),
        format_length(run.machine.height_m, units),
        1e3 * run.machine.width_m * run.machine.depth_m * run.machine.height_m
    );
    let heading = scene.fitted(&inside, small, width - 8.0);
    scene.text(
        &heading,
        (0.5 * width, small.size + 2.0),
        Align::Centre,
        small,
    );
    draw(&mut scene, &place, &scale, &frame);
    if is_narrow {
        let all: Vec<Item> = left.into_iter().chain(right).collect();
        column::numbered(&mut scene, &frame, &all, key.bottom(), letters);
    } else {
        let bounds = (free.top, free.bottom());
        column::write(&mut scene, &frame, Side::Left, &left, bounds, letters);
        column::write(&mut scene, &frame, Side::Right, &right, bounds, letters);
    }
    scale.key(&mut scene, key, units, small);
    frame.bar(&mut scene, key, units, small);
    // Last, because what flows is written where nothing else stands.
    flows::draw(&mut scene, &place, &frame, units, small);
    Ok(scene)
}

/// From metres in the section to pixels.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    px_per_m: f64,
    /// The inside corner of front and floor, px.
    corner: (f64, f64),
    /// What is free for the drawing.
    free: Area,
}

impl Frame {
    fn fit(place: &Place, free: Area) -> Self {
        let (from, to) = (place.low, place.high);
        let (width_m, height_m) = (to.0 - from.0, to.1 - from.1);
        let px_per_m = (free.width / width_m).min(free.height / height_m);
        let spare = free.width - px_per_m * width_m;
        Self {
            px_per_m,
            corner: (
                free.left + 0.5 * spare - px_per_m * from.0,
                free.bottom() + px_per_m * from.1,
            ),
            free,
        }
    }

    /// Where a place in the section lies, px.
    fn at(&self, (x_m, z_m): Spot) -> (f64, f64) {
        (
            self.corner.0 + self.px_per_m * x_m,
            self.corner.1 - self.px_per_m * z_m,
        )
    }

    /// A box from one corner to the other, m.
    fn area(&self, one: Spot, other: Spot) -> Area {
        let ((a, b), (c, d)) = (self.at(one), self.at(other));
        Area {
            left: a.min(c),
            top: b.min(d),
            width: (c - a).abs(),
            height: (d - b).abs(),
        }
    }

    /// A bar of a round length, to see how large the machine is.
    fn bar(&self, scene: &mut Scene, key: Area, units: System, small: Type) {
        const ROUND_M: [f64; 7] = [0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0];
        let most = 0.22 * key.width;
        let length_m = ROUND_M
            .into_iter()
            .rev()
            .find(|length| length * self.px_per_m <= most)
            .unwrap_or(ROUND_M[0]);
        let length = length_m * self.px_per_m;
        let right = key.right();
        let y = key.top + 12.0;
        let stroke = Stroke::solid(Colour::INK, 1.6);
        scene.level(y, right - length, right, stroke.clone());
        for x in [right - length, right] {
            scene.upright(x, y - 4.0, y + 4.0, stroke.clone());
        }
        let text = format_length(length_m, units);
        scene.text(&text, (right, y + 1.5 * small.size), Align::Right, small);
    }
}

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

fn draw(scene: &mut Scene, place: &Place, scale: &Scale, frame: &Frame) {
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

/// For screen readers: what the drawing shows, in words.
fn description(run: &Run, place: &Place, units: System, when: &str) -> String {
    let mut text = format!("{}, {when}.", run.machine.name);
    let items = column::left(place, units);
    let items = items
        .iter()
        .chain(column::right(place, run, units).iter())
        .map(words)
        .collect::<Vec<_>>();
    text.push(' ');
    text.push_str(&items.join(", "));
    text.push('.');
    for flow in &place.flows {
        text.push_str(&format!(" {}.", flow.words(units)));
    }
    text
}

fn words(item: &Item) -> String {
    format!("{} {}", item.name, item.value)
}

/// The head's filament against its limit, as it is written beside the station that decides.
fn against(temperature_K: f64, limit_K: f64, units: System) -> String {
    format!(
        "{} (limit {:.1})",
        format_temperature(temperature_K, units),
        units.temperature(limit_K)
    )
}

/// Height of the plate's upper face when so much of the part is there, m.
fn plate_m(run: &Run, share: f64) -> f64 {
    let bed = &run.machine.bed;
    match bed.moves {
        BedMotion::Stays => bed.height_m,
        BedMotion::Down => (bed.height_m - share * run.part.height_m).max(0.0),
    }
}

/// The station whose limit is nearest at a moment.
fn deciding(run: &Run, s: &Simulation, at_s: f64) -> StationKind {
    let margin_K = |station: &StationKind| station.limit_K(run) - s.filament_K(*station, at_s);
    let mut all = StationKind::ALL.to_vec();
    all.sort_by(|a, b| margin_K(a).total_cmp(&margin_K(b)));
    all[0]
}

#[cfg(test)]
mod tests;

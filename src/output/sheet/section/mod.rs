//! The chamber cut from front to back, to scale, coloured by temperature at one moment.
//!
//! Dimensions, heights and openings are the run's own; what the model knows no shape of (hotend, motors, gear, the
//! spool's place) is a symbol at its height. `place` says where things are, in metres; `column` writes names beside
//! the drawing so that none touch; `draw` and `flows` draw.

mod column;
mod draw;
mod flows;
mod frame;
mod place;
mod scale;

use maud::Markup;

use self::column::{Item, Side};
use self::frame::{Frame, Letters, NARROW_PX};
use self::place::Place;
use self::scale::Scale;
use crate::chamber::Simulation;
use crate::output::chart::scene::{Align, Area, Scene};
use crate::output::chart::{ChartError, Size, inline_scene};
use crate::output::words::date_and_time;
use crate::quantity::{System, format_length};
use crate::run::Run;

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
    draw::draw(&mut scene, &place, &scale, &frame);
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

#[cfg(test)]
mod tests;

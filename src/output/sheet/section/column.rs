//! Names and temperatures in a column beside the drawing, each with a line to what it names; none touches another.

use super::frame::{Frame, Letters};
use super::place::{Edge, Place, Spot};
use crate::output::chart::scene::{Align, Area, Colour, Scene, Stroke, Type};
use crate::output::font::Weight;
use crate::quantity::{System, format_temperature};
use crate::run::Run;

/// From a text to the line that leads away from it, px.
const GAP: f64 = 5.0;
/// Layers of air that are named one by one.
const MOST_LAYERS: usize = 4;

/// One thing that is named.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    pub name: String,
    pub value: String,
    pub anchor: Spot,
    /// Whether it is what decides.
    pub decides: bool,
}

/// Which side of the drawing a column is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    Left,
    Right,
}

/// What is named on the left: shell and air.
pub fn left(place: &Place, units: System) -> Vec<Item> {
    let mut all = Vec::new();
    let shown = |one_K: f64, other_K: f64| {
        let one = format!("{:.1}", units.temperature(one_K));
        format!("{one} in, {} out", format_temperature(other_K, units))
    };
    for panel in &place.panels {
        let anchor = match panel.side {
            Edge::Top => (0.12 * place.depth_m, place.height_m),
            Edge::Front => (0.0, 0.30 * place.height_m),
            Edge::Bottom => (0.12 * place.depth_m, 0.0),
            Edge::Back => continue,
        };
        let value = match panel.is_open {
            true => "open".to_owned(),
            false => shown(panel.inside_K, panel.outside_K),
        };
        all.push(item(panel.name, value, anchor));
    }
    let count = place.air.len();
    for (k, layer) in place.air.iter().enumerate() {
        let is_told = count <= MOST_LAYERS || k == 0 || k + 1 == count || k == count / 2;
        if is_told {
            let middle = 0.5 * (layer.from_m + layer.to_m);
            let value = format_temperature(layer.temperature_K, units);
            all.push(item(&layer.name, value, (0.07 * place.depth_m, middle)));
        }
    }
    named(place, units, true, &mut all);
    all
}

/// What is named on the right: the filament's way, and what is warm.
pub fn right(place: &Place, run: &Run, units: System) -> Vec<Item> {
    let mut all = Vec::new();
    for (station, temperature_K) in place.stations {
        let anchor = match station {
            crate::chamber::StationKind::Spool => place.spool.at,
            crate::chamber::StationKind::GuideTube => place.tube[place.tube.len() / 2],
            crate::chamber::StationKind::DriveGear => place.gear,
            crate::chamber::StationKind::ColdEnd => place.cold_end,
        };
        all.push(Item {
            name: format!("filament, {}", station.name()),
            value: against(temperature_K, station.limit_K(run), units),
            anchor,
            decides: station == place.deciding,
        });
    }
    named(place, units, false, &mut all);
    let walls: Vec<_> = place
        .panels
        .iter()
        .filter(|p| p.side == Edge::Back)
        .collect();
    if let Some(top) = walls.last() {
        let value = format!(
            "{:.1} in, {} out",
            units.temperature(top.inside_K),
            format_temperature(top.outside_K, units)
        );
        let middle = (place.depth_m, 0.5 * (top.from.1 + top.to.1));
        all.push(item(top.name, value, middle));
    }
    all.push(item(
        "room",
        format_temperature(place.room_K, units),
        (place.high.0 - 0.02 * place.depth_m, 0.06 * place.height_m),
    ));
    all
}

fn named(place: &Place, units: System, on_left: bool, all: &mut Vec<Item>) {
    for body in place.bodies.iter().filter(|body| body.is_named) {
        let middle = (
            0.5 * (body.low.0 + body.high.0),
            0.5 * (body.low.1 + body.high.1),
        );
        if (middle.0 < 0.3 * place.depth_m) == on_left {
            let value = format_temperature(body.temperature_K, units);
            // Where the line ends it hides nothing else.
            let at = match on_left {
                true => middle.0,
                false => 0.15 * body.low.0 + 0.85 * body.high.0,
            };
            all.push(item(body.name, value, (at, middle.1)));
        }
    }
}

fn item(name: &str, value: String, anchor: Spot) -> Item {
    Item {
        name: name.to_owned(),
        value,
        anchor,
        decides: false,
    }
}

/// The head's filament against its limit, as it is written beside the station that decides.
pub fn against(temperature_K: f64, limit_K: f64, units: System) -> String {
    format!(
        "{} (limit {:.1})",
        format_temperature(temperature_K, units),
        units.temperature(limit_K)
    )
}

/// Room that a column takes, px: for the widest values there are, so that it stays while temperatures change.
pub fn width(scene: &Scene, items: &[Item], letters: Letters) -> f64 {
    let widest = items.iter().map(|item| {
        let digits: String = item
            .value
            .chars()
            .map(|c| if c.is_ascii_digit() { '0' } else { c })
            .collect();
        let value = scene.width(&digits, letters.deciding);
        value.max(scene.width(&item.name, letters.name))
    });
    widest.fold(0.0, f64::max) + 2.0 * GAP + 6.0
}

/// Writes a column between two heights, px.
pub fn write(
    scene: &mut Scene,
    frame: &Frame,
    side: Side,
    items: &[Item],
    (top, bottom): (f64, f64),
    letters: Letters,
) {
    let mut items: Vec<(&Item, (f64, f64))> =
        items.iter().map(|i| (i, frame.at(i.anchor))).collect();
    items.sort_by(|a, b| a.1.1.total_cmp(&b.1.1));
    let wanted: Vec<f64> = items.iter().map(|(_, at)| at.1).collect();
    let two_lines = letters.name.size + letters.value.size + 5.0;
    let room = (bottom - top) / items.len().max(1) as f64;
    let middles = spread(&wanted, two_lines.min(room), (top, bottom));
    for ((item, anchor), middle) in items.into_iter().zip(middles) {
        let (x, align, edge) = match side {
            Side::Left => (4.0, Align::Left, frame.free.left - 6.0),
            Side::Right => (
                f64::from(scene.size.width) - 4.0,
                Align::Right,
                frame.free.right() + 6.0,
            ),
        };
        let kind = if item.decides {
            letters.deciding
        } else {
            letters.value
        };
        let name = scene.text(&item.name, (x, middle - 2.0), align, letters.name);
        let value = scene.text(&item.value, (x, middle + letters.value.size), align, kind);
        let reach = match side {
            Side::Left => name.right().max(value.right()) + GAP,
            Side::Right => name.left.min(value.left) - GAP,
        };
        let from = match side {
            Side::Left => reach.min(edge),
            Side::Right => reach.max(edge),
        };
        lead(scene, vec![(from, middle), (edge, middle), anchor]);
    }
}

/// A line to what is named: light below, so that it can be followed over any colour.
fn lead(scene: &mut Scene, points: Vec<(f64, f64)>) {
    let end = points.last().copied().unwrap_or_default();
    scene.line(points.clone(), Stroke::solid(Colour::WHITE, 2.6));
    scene.line(points, Stroke::solid(Colour::QUIET, 0.9));
    scene.disc(end, 3.0, Colour::WHITE);
    scene.disc(end, 2.0, Colour::INK);
}

/// Columns of names below a narrow drawing.
const BELOW: usize = 2;

/// What so many names take below a drawing, px.
pub fn height_below(count: usize, letters: Letters) -> f64 {
    count.div_ceil(BELOW) as f64 * row(letters) + 6.0
}

fn row(letters: Letters) -> f64 {
    letters.name.size + letters.value.size + 7.0
}

/// Numbers in the drawing, and what they stand for below a height, px.
pub fn numbered(scene: &mut Scene, frame: &Frame, items: &[Item], top: f64, letters: Letters) {
    const RADIUS: f64 = 8.0;
    let digits = Type {
        size: 10.5,
        weight: Weight::Semibold,
        colour: Colour::INK,
    };
    let mut order: Vec<&Item> = items.iter().collect();
    order.sort_by(|a, b| frame.at(a.anchor).1.total_cmp(&frame.at(b.anchor).1));
    let mut taken: Vec<(f64, f64)> = Vec::new();
    let width = f64::from(scene.size.width);
    let rows = order.len().div_ceil(BELOW);
    for (k, item) in order.iter().enumerate() {
        let anchor = frame.at(item.anchor);
        let at = beside(
            anchor,
            &taken,
            2.0 * RADIUS + 2.0,
            frame.free.grown(4.0),
            RADIUS,
        );
        taken.push(at);
        lead(scene, vec![at, anchor]);
        scene.disc(at, RADIUS, Colour::INK);
        scene.disc(at, RADIUS - 1.0, Colour::WHITE);
        let number = (k + 1).to_string();
        scene.text(
            &number,
            (at.0, at.1 + 0.36 * digits.size),
            Align::Centre,
            digits,
        );
        let column = 4.0 + (k / rows) as f64 * 0.5 * width;
        let y = top + (k % rows) as f64 * row(letters) + letters.name.size + 3.0;
        let kind = if item.decides {
            letters.deciding
        } else {
            letters.value
        };
        scene.text(&number, (column + 14.0, y), Align::Right, letters.name);
        let room = 0.5 * width - 24.0;
        for (text, y, kind) in [
            (&item.name, y, letters.name),
            (&item.value, y + letters.value.size + 2.0, kind),
        ] {
            let text = scene.fitted(text, kind, room);
            scene.text(&text, (column + 20.0, y), Align::Left, kind);
        }
    }
}

/// A place near an anchor that is so far from all others.
fn beside(
    anchor: (f64, f64),
    taken: &[(f64, f64)],
    apart: f64,
    within: Area,
    radius: f64,
) -> (f64, f64) {
    let is_free = |at: &(f64, f64)| {
        let inside = within.holds(Area::around(*at, radius));
        inside
            && taken
                .iter()
                .all(|t| (t.0 - at.0).hypot(t.1 - at.1) >= apart)
    };
    let around = (1..12).flat_map(|ring| {
        (0..16).map(move |k| {
            let angle = f64::from(k) * std::f64::consts::TAU / 16.0;
            let reach = 14.0 * f64::from(ring);
            (
                anchor.0 + reach * angle.cos(),
                anchor.1 - reach * angle.sin(),
            )
        })
    });
    let mut all = std::iter::once(anchor).chain(around);
    all.find(is_free).unwrap_or(anchor)
}

/// Places so near to those wanted as a distance between neighbours lets them be, in order and between two ends.
fn spread(wanted: &[f64], apart: f64, (top, bottom): (f64, f64)) -> Vec<f64> {
    let mut at: Vec<f64> = Vec::with_capacity(wanted.len());
    for (k, &want) in wanted.iter().enumerate() {
        let least = match k {
            0 => top + 0.5 * apart,
            _ => at[k - 1] + apart,
        };
        at.push(want.max(least));
    }
    let mut most = bottom - 0.5 * apart;
    for place in at.iter_mut().rev() {
        *place = place.min(most);
        most = *place - apart;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::spread;

    #[test]
    fn names_keep_apart_and_in_order() {
        // By hand: three at one place go downwards one after the other, and up again from the lower end.
        assert_eq!(
            spread(&[50.0, 50.0, 50.0], 10.0, (0.0, 100.0)),
            [50.0, 60.0, 70.0]
        );
        assert_eq!(spread(&[98.0, 99.0], 10.0, (0.0, 100.0)), [85.0, 95.0]);
        assert_eq!(spread(&[1.0, 60.0], 10.0, (0.0, 100.0)), [5.0, 60.0]);
    }
}

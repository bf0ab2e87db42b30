//! Writes names beside lines and points, where there is room.

use super::labels::{self, Space};
use super::panel::Measures;
use super::scene::{Align, Area, Colour, Scene, Stroke, Type};

/// An anchor and what it costs to be farther from the best one, px.
pub type Anchor = ((f64, f64), f64);

/// Writes lines of text, cut to less than half of the space, as [`free_text`] does.
pub fn free_label(
    scene: &mut Scene,
    lines: &[(&str, Type)],
    anchors: &[Anchor],
    space: &mut Space,
    measures: Measures,
    reach: &[f64],
) -> bool {
    let most = 0.45 * space.bounds.width;
    let lines: Vec<(String, Type)> = lines
        .iter()
        .map(|&(text, kind)| (scene.fitted(text, kind, most), kind))
        .filter(|(text, _)| !text.is_empty())
        .collect();
    free_text(scene, &lines, anchors, space, measures, reach)
}

/// Writes lines of text at the best free place near an anchor, with a leader if it is some way off, and says
/// whether there was one. What finds no place at all is left out rather than written over another.
pub fn free_text(
    scene: &mut Scene,
    lines: &[(String, Type)],
    anchors: &[Anchor],
    space: &mut Space,
    measures: Measures,
    reach: &[f64],
) -> bool {
    let k = measures.k;
    let Some(&(_, first)) = lines.first() else {
        return false;
    };
    let widest = lines
        .iter()
        .map(|(text, kind)| scene.width(text, *kind))
        .fold(0.0, f64::max);
    let height: f64 = lines.iter().map(|(_, kind)| 1.2 * kind.size).sum();
    let reach: Vec<f64> = reach.iter().map(|step| step * k).collect();
    let Some(place) = space.best(anchors, (widest + 4.0 * k, height), &reach) else {
        return false;
    };
    let corner = place.corner;
    if (corner.0 - place.anchor.0).hypot(corner.1 - place.anchor.1) > 12.0 * k {
        let leader = Stroke::solid(first.colour, 0.8 * k);
        scene.line(vec![place.anchor, corner], leader);
        space.lines.push(vec![place.anchor, corner]);
    }
    if place.crossings > 0 {
        scene.fill(place.area, Colour::WHITE, 0.82);
    }
    let mut top = place.area.top;
    for (text, kind) in lines {
        let at = (place.area.left + 2.0 * k, top + 0.93 * kind.size);
        scene.text(text, at, Align::Left, *kind);
        top += 1.2 * kind.size;
    }
    space.taken.push(place.area.grown(1.0));
    true
}

/// Writes a text at the first of some places where it covers nothing at all, and says whether there was one. A place
/// is the side it is written from and its middle height.
pub fn clear_label(
    scene: &mut Scene,
    text: &str,
    kind: Type,
    places: impl IntoIterator<Item = (Align, (f64, f64))>,
    space: &mut Space,
) -> bool {
    let width = scene.width(text, kind);
    for (align, (x, y)) in places {
        let area = Area {
            left: match align {
                Align::Left => x,
                Align::Centre => x - width / 2.0,
                Align::Right => x - width,
            },
            top: y - 0.55 * kind.size,
            width,
            height: 1.1 * kind.size,
        };
        // A letter's breadth from what else is beside it.
        let with_air = Area {
            left: area.left - 0.4 * kind.size,
            width: area.width + 0.8 * kind.size,
            ..area
        };
        if width > 0.0 && space.is_clear(with_air) {
            scene.text(text, (x, y + 0.33 * kind.size), align, kind);
            space.taken.push(area.grown(1.0));
            return true;
        }
    }
    false
}

/// Writes a curve's name beside it.
pub fn curve_label(
    scene: &mut Scene,
    label: &str,
    kind: Type,
    pieces: &[Vec<(f64, f64)>],
    space: &mut Space,
    measures: Measures,
) -> bool {
    let points: Vec<(f64, f64)> = pieces.iter().flatten().copied().collect();
    // The last third is the best place to look for a name.
    let anchors = anchors_along(&points, 0.8, space);
    let reach = [3.0, 8.0, 16.0, 34.0, 60.0];
    free_label(scene, &[(label, kind)], &anchors, space, measures, &reach)
}

/// Anchors all along a line where nothing hides it, the best a share of the way along.
pub fn anchors_along(points: &[(f64, f64)], best: f64, space: &Space) -> Vec<Anchor> {
    (0..40)
        .filter_map(|step| {
            let share = 0.99 - f64::from(step) / 41.0;
            let anchor = along(points, share)?;
            let hidden = space
                .taken
                .iter()
                .any(|t| labels::clip(anchor, anchor, *t).is_some());
            (!hidden).then_some((anchor, (share - best).abs() * 12.0))
        })
        .collect()
}

/// The point a share of the way along a line.
fn along(points: &[(f64, f64)], share: f64) -> Option<(f64, f64)> {
    let step = |pair: &[(f64, f64)]| (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1);
    let mut left = share * points.windows(2).map(step).sum::<f64>();
    for pair in points.windows(2) {
        let length = step(pair);
        if left <= length && length > 0.0 {
            let part = left / length;
            return Some((
                pair[0].0 + (pair[1].0 - pair[0].0) * part,
                pair[0].1 + (pair[1].1 - pair[0].1) * part,
            ));
        }
        left -= length;
    }
    points.last().copied()
}

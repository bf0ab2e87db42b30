//! Lays out curves over any quantity, such as pressure over flow for fans and systems.

use super::axis::{self, Axis};
use super::data::{ChartError, Size, drawable};
use super::labels::{self, Space};
use super::panel::{self, Measures, Panel};
use super::scene::{Align, Area, Colour, Scene, Stroke, Type};
use super::style;
use super::xy_data::{Curve, CurveKind, VerticalLine, XyChart, XyPoint};
use crate::output::font::Weight;

/// Turns a chart into shapes.
pub fn lay_out(chart: &XyChart, size: Size) -> Result<Scene, ChartError> {
    check(chart)?;
    let measures = Measures::of(size);
    let k = measures.k;
    let description = format!("{} over {}.", chart.y_label, chart.x_label);
    let mut scene = Scene::new(size, &chart.title, &description)?;
    let points = || {
        let curves = chart
            .curves
            .iter()
            .flat_map(|curve| curve.points.iter().copied());
        curves.chain(chart.points.iter().map(|point| (point.x, point.y)))
    };
    let vertical = chart.vertical.iter().map(|line| line.x);
    let x = axis::range(points().map(|p| p.0).chain(vertical), 1e-9).ok_or(ChartError::NoData)?;
    let y = axis::range(points().map(|p| p.1), 1e-9).ok_or(ChartError::NoData)?;
    if chart.curves.iter().all(|curve| curve.points.is_empty()) {
        return Err(ChartError::NoData);
    }
    let (x, y) = (from_zero(x), from_zero(y));

    let top = panel::head(&mut scene, &chart.title, &chart.subtitle, measures);
    let bottom = panel::foot(&mut scene, &chart.note, measures) - 6.0 * k;
    let guess = panel::y_axis(y, bottom - top, k);
    let left = measures.pad() + panel::widest(&scene, &guess, measures) + 8.0 * k;
    let row = 1.9 * measures.axis_title().size;
    let flag = if chart.vertical.is_some() { row } else { 0.0 };
    let area = Area {
        left,
        top: top + row + flag,
        width: f64::from(size.width) - measures.pad() - left,
        height: bottom - 42.0 * k - top - row - flag,
    };
    let panel = Panel {
        area,
        x: x_axis(&scene, x, area.width, measures),
        y: panel::y_axis(y, area.height, k),
    };
    panel.axes(&mut scene, measures, Colour::GRID)?;
    let at = (area.right(), area.bottom() + 35.0 * k);
    scene.text(&chart.x_label, at, Align::Right, measures.axis_title());
    let at = (measures.pad(), top + 1.3 * measures.axis_title().size);
    scene.text(&chart.y_label, at, Align::Left, measures.axis_title());

    let mut paths = Vec::new();
    for curve in &chart.curves {
        let stroke = style::curve(curve.kind, k);
        paths.push(panel.series(&mut scene, &curve.points, &stroke)?);
    }
    if let Some(line) = &chart.vertical {
        paths.push(vec![vertical_line(&mut scene, &panel, line, measures)]);
    }
    let mut space = Space {
        bounds: area.grown(-1.0),
        taken: scene.text_areas(),
        lines: paths.iter().flatten().cloned().collect(),
        grounds: Vec::new(),
    };
    for point in &chart.points {
        let centre = panel.at((point.x, point.y));
        space.taken.push(Area::around(centre, radius(point, k)));
    }
    // The one that matters chooses its place first; then curves, those all others are held against
    // before the rest; then the other points.
    for point in chart.points.iter().filter(|point| point.strong) {
        point_label(&mut scene, &panel, point, &mut space, measures);
    }
    for against in [true, false] {
        for (curve, pieces) in chart.curves.iter().zip(&paths) {
            if matches!(curve.kind, CurveKind::Against(_)) == against {
                curve_label(&mut scene, curve, pieces, &mut space, measures);
            }
        }
    }
    for point in chart.points.iter().filter(|point| !point.strong) {
        point_label(&mut scene, &panel, point, &mut space, measures);
    }
    for point in &chart.points {
        let centre = panel.at((point.x, point.y));
        scene.disc(centre, radius(point, k), Colour::INK);
        if !point.strong {
            scene.disc(centre, radius(point, k) - 1.7 * k, Colour::WHITE);
        }
    }
    Ok(scene)
}

fn radius(point: &XyPoint, k: f64) -> f64 {
    if point.strong { 6.0 * k } else { 4.5 * k }
}

fn check(chart: &XyChart) -> Result<(), ChartError> {
    for curve in &chart.curves {
        if curve
            .points
            .iter()
            .any(|p| !drawable(p.0) || !drawable(p.1))
        {
            return Err(ChartError::NotFinite(curve.label.clone()));
        }
    }
    for point in &chart.points {
        if !drawable(point.x) || !drawable(point.y) {
            return Err(ChartError::NotFinite(point.label.clone()));
        }
    }
    match &chart.vertical {
        Some(line) if !drawable(line.x) => Err(ChartError::NotFinite(line.label.clone())),
        _ => Ok(()),
    }
}

/// A range that begins at zero if nothing is below, with a little air above.
fn from_zero((low, high): (f64, f64)) -> (f64, f64) {
    let low = if low >= 0.0 { 0.0 } else { low };
    (low, high + 0.06 * (high - low))
}

/// An axis whose values have room beside each other.
fn x_axis(scene: &Scene, range: (f64, f64), width: f64, measures: Measures) -> Axis {
    let k = measures.k;
    let widest = [range.0, range.1]
        .iter()
        .map(|&value| scene.width(&axis::fixed(value, 1), measures.tick()))
        .fold(0.0, f64::max);
    Axis::of_numbers(range, width, (widest + 30.0 * k).max(70.0 * k))
}

/// Draws the upright line with its name above the panel, and returns its path.
fn vertical_line(
    scene: &mut Scene,
    panel: &Panel,
    line: &VerticalLine,
    measures: Measures,
) -> Vec<(f64, f64)> {
    let k = measures.k;
    let (x, _) = panel.at((line.x, panel.y.low));
    let colour = Colour(0x0b, 0x6e, 0x7a);
    let kind = Type {
        colour,
        ..measures.axis_title()
    };
    let (top, bottom) = (panel.area.top, panel.area.bottom());
    scene.upright(
        x,
        top - 5.0 * k,
        bottom,
        Stroke {
            colour,
            width: (2.0 * k).round(),
            dash: vec![6.0 * k, 3.0 * k],
        },
    );
    let text = scene.fitted(&line.label, kind, panel.area.width);
    let half = scene.width(&text, kind) / 2.0;
    let middle = x.clamp(panel.area.left + half, panel.area.right() - half);
    scene.text(&text, (middle, top - 9.0 * k), Align::Centre, kind);
    vec![(x, top), (x, bottom)]
}

fn curve_label(
    scene: &mut Scene,
    curve: &Curve,
    pieces: &[Vec<(f64, f64)>],
    space: &mut Space,
    measures: Measures,
) {
    let points: Vec<(f64, f64)> = pieces.iter().flatten().copied().collect();
    let kind = Type {
        size: measures.name(),
        weight: Weight::Regular,
        colour: style::legible(style::curve(curve.kind, measures.k).colour),
    };
    // Anchors all along the curve; its last third is the best place to look for a name.
    let anchors: Vec<((f64, f64), f64)> = (0..40)
        .filter_map(|step| {
            let share = 0.99 - f64::from(step) / 41.0;
            let anchor = along(&points, share)?;
            let hidden = space
                .taken
                .iter()
                .any(|t| labels::clip(anchor, anchor, *t).is_some());
            (!hidden).then_some((anchor, (share - 0.8).abs() * 12.0))
        })
        .collect();
    free_label(
        scene,
        &curve.label,
        &anchors,
        kind,
        space,
        measures,
        &[3.0, 8.0, 16.0, 34.0, 60.0],
    );
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

fn point_label(
    scene: &mut Scene,
    panel: &Panel,
    point: &XyPoint,
    space: &mut Space,
    measures: Measures,
) {
    let kind = if point.strong {
        measures.value()
    } else {
        measures.small()
    };
    let kind = Type {
        colour: Colour::INK,
        ..kind
    };
    let anchor = panel.at((point.x, point.y));
    let reach = [8.0, 14.0, 24.0, 40.0, 60.0, 90.0, 130.0, 180.0, 240.0];
    free_label(
        scene,
        &point.label,
        &[(anchor, 0.0)],
        kind,
        space,
        measures,
        &reach,
    );
}

/// Writes a text at the best free place near an anchor, with a leader if it is some way off. A text
/// that finds no place at all is left out rather than written over another.
fn free_label(
    scene: &mut Scene,
    text: &str,
    anchors: &[((f64, f64), f64)],
    kind: Type,
    space: &mut Space,
    measures: Measures,
    reach: &[f64],
) {
    let k = measures.k;
    let text = scene.fitted(text, kind, 0.45 * space.bounds.width);
    if text.is_empty() {
        return;
    }
    let size = (scene.width(&text, kind) + 4.0 * k, 1.2 * kind.size);
    let reach: Vec<f64> = reach.iter().map(|step| step * k).collect();
    let Some(place) = space.best(anchors, size, &reach) else {
        return;
    };
    let corner = place.corner;
    if (corner.0 - place.anchor.0).hypot(corner.1 - place.anchor.1) > 12.0 * k {
        let leader = Stroke::solid(kind.colour, 0.8 * k);
        scene.line(vec![place.anchor, corner], leader);
        space.lines.push(vec![place.anchor, corner]);
    }
    if place.crossings > 0 {
        scene.fill(place.area, Colour::WHITE, 0.82);
    }
    let at = (place.area.left + 2.0 * k, place.area.top + 0.93 * kind.size);
    scene.text(&text, at, Align::Left, kind);
    space.taken.push(place.area.grown(1.0));
}

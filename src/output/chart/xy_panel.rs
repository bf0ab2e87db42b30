//! Curves over any quantity in a panel of their own, such as pressure over flow for fans and systems.

use super::axis;
use super::data::{ChartError, drawable};
use super::fan_data::CurveKind;
use super::fan_data::{PanelCurve, PanelPoint, XyPanel};
use super::frame::{Frame, from_zero};
use super::free_label::{anchors_along, curve_label, free_label};
use super::labels::Space;
use super::panel::{Measures, Panel};
use super::scene::{Area, Colour, Scene, Stroke, Type};
use super::style;
use crate::output::font::Weight;

type Path = Vec<(f64, f64)>;

/// Whether there is a curve to draw.
pub fn has_curves(panel: &XyPanel) -> bool {
    panel.curves.iter().any(|curve| !curve.points.is_empty())
}

/// # Errors
/// Names the first of what has a value that can't be drawn.
pub fn check(panel: &XyPanel) -> Result<(), ChartError> {
    let refused = |label: &str| Err(ChartError::NotFinite(label.to_owned()));
    for curve in &panel.curves {
        let mut values = curve.points.iter().flat_map(|p| [p.0, p.1]);
        if !values.all(drawable) || !curve.unstable_below.is_none_or(drawable) {
            return refused(&curve.label);
        }
    }
    for point in &panel.points {
        if !drawable(point.x) || !drawable(point.y) {
            return refused(&point.label);
        }
    }
    match &panel.vertical {
        Some(line) if !drawable(line.x) => refused(&line.label),
        _ => Ok(()),
    }
}

/// # Errors
/// [`ChartError::NoData`] where no curve has a point.
pub fn frame(panel: &XyPanel) -> Result<Frame<'_>, ChartError> {
    if !has_curves(panel) {
        return Err(ChartError::NoData);
    }
    let curves = panel.curves.iter().flat_map(|c| c.points.iter().copied());
    let points = || {
        let marked = panel.points.iter().map(|point| (point.x, point.y));
        curves.clone().chain(marked)
    };
    let vertical = panel.vertical.iter().map(|line| line.x);
    let x = axis::range(points().map(|p| p.0).chain(vertical), 1e-9);
    let y = axis::range(points().map(|p| p.1), 1e-9);
    Ok(Frame {
        heading: &panel.heading,
        one_row: false,
        x_label: &panel.x_label,
        y_label: &panel.y_label,
        vertical: panel.vertical.as_ref(),
        x: from_zero(x.ok_or(ChartError::NoData)?),
        y: from_zero(y.ok_or(ChartError::NoData)?),
    })
}

/// Draws the panel into a region whose values of y get `gutter` pixels.
pub fn draw(
    scene: &mut Scene,
    content: &XyPanel,
    region: Area,
    gutter: f64,
    measures: Measures,
) -> Result<(), ChartError> {
    let k = measures.k;
    let frame = frame(content)?;
    let panel = frame.panel(scene, region, gutter, measures);
    frame.draw(scene, &panel, region, measures)?;
    let Drawn { stable, unstable } = draw_curves(scene, content, &panel, k)?;
    let vertical = frame.draw_vertical(scene, &panel, region, measures);
    let lines = stable.iter().chain(&unstable).flatten().cloned();
    let mut space = Space {
        bounds: panel.area.grown(-1.0),
        taken: scene.text_areas(),
        lines: lines.chain(vertical).collect(),
        grounds: Vec::new(),
    };
    for point in &content.points {
        let centre = panel.at((point.x, point.y));
        space.taken.push(Area::around(centre, radius(point, k)));
    }
    // The one that matters chooses its place first; then curves, those all others are held against
    // before the rest; then the other points.
    for point in content.points.iter().filter(|point| point.strong) {
        point_label(scene, &panel, point, &mut space, measures);
    }
    for against in [true, false] {
        for (number, curve) in content.curves.iter().enumerate() {
            if matches!(curve.kind, CurveKind::Against(_)) == against {
                let pieces = if stable[number].is_empty() {
                    &unstable[number]
                } else {
                    &stable[number]
                };
                let kind = name_type(curve.kind, measures);
                curve_label(scene, &curve.label, kind, pieces, &mut space, measures);
            }
        }
    }
    unstable_label(scene, content, &unstable, &mut space, measures);
    for point in content.points.iter().filter(|point| !point.strong) {
        point_label(scene, &panel, point, &mut space, measures);
    }
    for point in &content.points {
        let centre = panel.at((point.x, point.y));
        let colour = point
            .kind
            .map_or(Colour::INK, |kind| style::curve(kind, k).colour);
        mark(scene, centre, radius(point, k), colour, point.filled, k);
    }
    Ok(())
}

/// The paths of each curve: where it can be relied on and where it can't.
struct Drawn {
    stable: Vec<Vec<Path>>,
    unstable: Vec<Vec<Path>>,
}

fn draw_curves(
    scene: &mut Scene,
    content: &XyPanel,
    panel: &Panel,
    k: f64,
) -> Result<Drawn, ChartError> {
    let (mut stable, mut unstable) = (Vec::new(), Vec::new());
    for curve in &content.curves {
        let whole = style::curve(curve.kind, k);
        let thin = style::unstable(curve.kind, k);
        let (mut reliable, mut not) = (Vec::new(), Vec::new());
        for (is_stable, points) in parts(curve) {
            let (stroke, paths): (&Stroke, _) = if is_stable {
                (&whole, &mut reliable)
            } else {
                (&thin, &mut not)
            };
            paths.extend(panel.series(scene, &points, stroke)?);
        }
        stable.push(reliable);
        unstable.push(not);
    }
    Ok(Drawn { stable, unstable })
}

/// The parts of a curve, and whether each can be relied on. Parts of one curve end where the next begins.
fn parts(curve: &PanelCurve) -> Vec<(bool, Path)> {
    let Some(limit) = curve.unstable_below else {
        return vec![(true, curve.points.clone())];
    };
    let mut parts: Vec<(bool, Path)> = Vec::new();
    for &(x, y) in &curve.points {
        let is_stable = x >= limit;
        match parts.last_mut() {
            Some((known, points)) if *known == is_stable => points.push((x, y)),
            Some((_, points)) => {
                let from = points.last().copied().unwrap_or((x, y));
                let share = (limit - from.0) / (x - from.0);
                let cut = (limit, from.1 + share * (y - from.1));
                points.push(cut);
                parts.push((is_stable, vec![cut, (x, y)]));
            }
            None => parts.push((is_stable, vec![(x, y)])),
        }
    }
    parts
}

/// Names unstable parts once, at the longest that has room.
fn unstable_label(
    scene: &mut Scene,
    content: &XyPanel,
    unstable: &[Vec<Path>],
    space: &mut Space,
    measures: Measures,
) {
    let length = |pieces: &[Path]| -> f64 {
        let pairs = pieces.iter().flat_map(|piece| piece.windows(2));
        pairs
            .map(|p| (p[1].0 - p[0].0).hypot(p[1].1 - p[0].1))
            .sum()
    };
    let mut order: Vec<usize> = (0..unstable.len()).collect();
    order.retain(|&number| !unstable[number].is_empty());
    order.sort_by(|&a, &b| length(&unstable[b]).total_cmp(&length(&unstable[a])));
    for number in order {
        let kind = Type {
            size: measures.small().size,
            ..name_type(content.curves[number].kind, measures)
        };
        let points: Path = unstable[number].iter().flatten().copied().collect();
        let anchors = anchors_along(&points, 0.5, space);
        let text = [(content.unstable_label.as_str(), kind)];
        if free_label(
            scene,
            &text,
            &anchors,
            space,
            measures,
            &[3.0, 8.0, 16.0, 34.0],
        ) {
            return;
        }
    }
}

/// Letters of a curve's name.
pub fn name_type(kind: CurveKind, measures: Measures) -> Type {
    Type {
        size: measures.name(),
        weight: Weight::Regular,
        colour: style::legible(style::curve(kind, measures.k).colour),
    }
}

fn radius(point: &PanelPoint, k: f64) -> f64 {
    mark_radius(point.strong, k)
}

/// How large a mark is, px.
pub fn mark_radius(strong: bool, k: f64) -> f64 {
    if strong { 6.0 * k } else { 4.5 * k }
}

/// Draws an open or a filled mark.
pub fn mark(scene: &mut Scene, at: (f64, f64), radius: f64, colour: Colour, filled: bool, k: f64) {
    scene.disc(at, radius, colour);
    if !filled {
        scene.disc(at, radius - 1.7 * k, Colour::WHITE);
    }
}

fn point_label(
    scene: &mut Scene,
    panel: &Panel,
    point: &PanelPoint,
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
    let text = [(point.label.as_str(), kind)];
    free_label(scene, &text, &[(anchor, 0.0)], space, measures, &FAR);
}

/// How far from a point its label may stand, in units of `k`.
pub const FAR: [f64; 9] = [8.0, 14.0, 24.0, 40.0, 60.0, 90.0, 130.0, 180.0, 240.0];

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a line of slope 1 cut at x = 4 between its points at 0 and 10.
    #[test]
    fn a_curve_is_cut_where_it_becomes_stable() {
        let mut curve = PanelCurve {
            label: String::new(),
            kind: CurveKind::Main(0),
            points: vec![(0.0, 1.0), (10.0, 11.0), (20.0, 0.0)],
            unstable_below: Some(4.0),
        };
        let first = vec![(0.0, 1.0), (4.0, 5.0)];
        let second = vec![(4.0, 5.0), (10.0, 11.0), (20.0, 0.0)];
        let wanted = vec![(false, first), (true, second)];
        assert_eq!(parts(&curve), wanted);
        // Beyond an end, or at it, nothing is left over.
        for (limit, is_stable) in [(-1.0, true), (0.0, true), (21.0, false)] {
            curve.unstable_below = Some(limit);
            assert_eq!(parts(&curve), vec![(is_stable, curve.points.clone())]);
        }
        // From the right to the left it is the same cut.
        curve.points.reverse();
        curve.unstable_below = Some(4.0);
        let cut = parts(&curve);
        assert_eq!(cut.len(), 2);
        assert_eq!(cut[0].1.last(), Some(&(4.0, 5.0)));
        assert_eq!(cut[1], (false, vec![(4.0, 5.0), (0.0, 1.0)]));
    }
}

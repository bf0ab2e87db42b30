//! Draws a margin over a flow: what is enough, what more brings, and where fans are.

use plotters::element::{Polygon, Rectangle};

use super::axis;
use super::data::{ChartError, drawable};
use super::fan_data::MarginPanel;
use super::frame::{Frame, X_LABEL};
use super::free_label::curve_label;
use super::ink::{failed, wash};
use super::labels::Space;
use super::margin_labels::{band_label, fan_label, gain_labels, level_label, levels};
use super::panel::{Measures, Panel};
use super::scene::{Align, Area, Colour, Scene, Stroke, Type};
use super::style;
use super::xy_panel::{mark, mark_radius};
use crate::output::font::Weight;

/// # Errors
/// [`ChartError::NoData`] without a curve; names the first of what has a value that can't be drawn.
pub fn check(margin: &MarginPanel) -> Result<(), ChartError> {
    if margin.curve.is_empty() {
        return Err(ChartError::NoData);
    }
    let pair = |p: (f64, f64)| drawable(p.0) && drawable(p.1);
    let refused = |label: &str| Err(ChartError::NotFinite(label.to_owned()));
    if !margin.curve.iter().all(|&p| pair(p)) {
        return refused(&margin.y_label);
    }
    let mut band = margin
        .band
        .iter()
        .flat_map(|&(x, low, high)| [x, low, high]);
    if !band.all(drawable) {
        return refused(&margin.band_label);
    }
    for (value, label) in margin.required.iter().chain(&margin.bound) {
        if !drawable(*value) {
            return refused(label);
        }
    }
    for gain in &margin.gains {
        if !pair(gain.x) || !pair(gain.y) {
            return refused(&gain.label);
        }
    }
    for fan in &margin.fans {
        if !pair(fan.clean) || !pair(fan.loaded) {
            return refused(&fan.name);
        }
    }
    match &margin.needed {
        Some(line) if !drawable(line.x) => refused(&line.label),
        _ => Ok(()),
    }
}

/// A panel that is `is_alone` in a small picture has no heading: the title says it.
///
/// # Errors
/// [`ChartError::NoData`] without a curve.
pub fn frame(margin: &MarginPanel, is_alone: bool) -> Result<Frame<'_>, ChartError> {
    let marked = margin.fans.iter().flat_map(|fan| [fan.clean, fan.loaded]);
    let points = || margin.curve.iter().copied().chain(marked.clone());
    let steps = margin.gains.iter();
    let x = points()
        .map(|p| p.0)
        .chain(margin.band.iter().map(|&(x, ..)| x))
        .chain(margin.needed.iter().map(|line| line.x))
        .chain(steps.clone().flat_map(|gain| [gain.x.0, gain.x.1]));
    let levels = margin.required.iter().chain(&margin.bound);
    let y = points()
        .map(|p| p.1)
        .chain(margin.band.iter().flat_map(|&(_, low, high)| [low, high]))
        .chain(levels.map(|(value, _)| *value))
        .chain(margin.zero.iter().map(|_| 0.0))
        .chain(steps.flat_map(|gain| [gain.y.0, gain.y.1]));
    let x = axis::range(x, 1e-9).ok_or(ChartError::NoData)?;
    let (low, high) = axis::range(y, 1e-9).ok_or(ChartError::NoData)?;
    // The highest line has its name above it.
    let above = margin.required.iter().chain(&margin.bound);
    let highest = above.map(|(value, _)| *value).fold(low, f64::max);
    let air = 0.07 * (high - low);
    let room = 0.13 * (high - low) - (high - highest);
    Ok(Frame {
        heading: if is_alone { "" } else { &margin.heading },
        one_row: is_alone,
        x_label: &margin.x_label,
        y_label: &margin.y_label,
        vertical: margin.needed.as_ref(),
        x: (x.0, x.1 + 0.02 * (x.1 - x.0)),
        y: (low - air, high + air.max(room)),
    })
}

/// Draws the panel with its frame into a region whose values of y get `gutter` pixels; returns where it lies.
pub fn draw(
    scene: &mut Scene,
    margin: &MarginPanel,
    frame: &Frame,
    region: Area,
    gutter: f64,
    measures: Measures,
) -> Result<Area, ChartError> {
    let k = measures.k;
    let panel = frame.panel(scene, region, gutter, measures);
    ground(scene, margin, &panel)?;
    frame.draw(scene, &panel, region, measures)?;
    let key_end = key(scene, margin, &panel, measures);

    let levels = levels(margin, k);
    let mut lines = Vec::new();
    for level in &levels {
        let ends = [(panel.x.low, level.value), (panel.x.high, level.value)];
        lines.push(panel.series(scene, &ends, &level.stroke)?.concat());
    }
    lines.extend(frame.draw_vertical(scene, &panel, region, measures));
    // Steps would be one line too many among few pixels.
    let gains = if measures.is_small {
        &[]
    } else {
        margin.gains.as_slice()
    };
    for gain in gains {
        let corner = (gain.x.1, gain.y.0);
        let step = [(gain.x.0, gain.y.0), corner, (gain.x.1, gain.y.1)];
        let path = panel.series(scene, &step, &Stroke::solid(Colour::QUIET, 1.0 * k))?;
        lines.push(path.concat());
    }
    let best = Stroke::solid(style::BEST, 2.6 * k);
    let curve = panel.series(scene, &margin.curve, &best)?;
    lines.extend(curve.iter().cloned());

    let mut space = Space {
        bounds: panel.area.grown(-1.0),
        taken: scene.text_areas(),
        lines,
        grounds: Vec::new(),
    };
    for fan in &margin.fans {
        for place in [fan.clean, fan.loaded] {
            let reach = mark_radius(fan.strong, k);
            space.taken.push(Area::around(panel.at(place), reach));
        }
    }
    // What decides chooses its place first.
    for strong in [true, false] {
        for fan in margin.fans.iter().filter(|fan| fan.strong == strong) {
            fan_label(scene, fan, &panel, &mut space, measures);
        }
        if strong {
            for (level, place) in levels.iter().zip(space.lines.clone()) {
                level_label(scene, level, &place, &mut space, measures);
            }
            gain_labels(scene, gains, &panel, &mut space, measures);
        }
    }
    let kind = Type {
        size: measures.name(),
        weight: Weight::Regular,
        colour: style::BEST,
    };
    curve_label(
        scene,
        &margin.curve_label,
        kind,
        &curve,
        &mut space,
        measures,
    );
    band_label(scene, margin, &panel, key_end, &mut space, measures);
    fan_marks(scene, margin, &panel, k);
    Ok(panel.area)
}

/// Where it softens, and between what the curve lies.
fn ground(scene: &mut Scene, margin: &MarginPanel, panel: &Panel) -> Result<(), ChartError> {
    let (x, y) = (&panel.x, &panel.y);
    let mut drawing = panel.chart(scene, &[])?;
    if margin.zero.is_some() {
        let soft = wash(style::SOFT, style::SOFT_OPACITY);
        let below = Rectangle::new([(x.low, y.low), (x.high, 0.0f64.max(y.low))], soft);
        drawing.draw_series([below]).map_err(failed)?;
    }
    if margin.band.len() > 1 {
        let lows = margin.band.iter().map(|&(x, low, _)| (x, low));
        let highs = margin.band.iter().map(|&(x, _, high)| (x, high)).rev();
        let outline: Vec<(f64, f64)> = lows.chain(highs).collect();
        let region = Polygon::new(outline, wash(style::BEST, style::BAND_OPACITY));
        drawing.draw_series([region]).map_err(failed)?;
    }
    Ok(())
}

/// What open and filled marks stand for, left of the name of x. Returns where the next could be said.
fn key(scene: &mut Scene, margin: &MarginPanel, panel: &Panel, measures: Measures) -> f64 {
    if margin.fans.is_empty() {
        return panel.area.left;
    }
    let k = measures.k;
    let kind = measures.small();
    let name = scene.width(&margin.x_label, measures.axis_title());
    let end = panel.area.right() - name - 12.0 * k;
    let baseline = panel.area.bottom() + X_LABEL * k;
    let radius = mark_radius(false, k);
    let mut left = panel.area.left;
    for (text, filled) in margin.mark_labels.iter().zip([false, true]) {
        let begin = left + 2.0 * radius + 5.0 * k;
        if text.is_empty() || begin + scene.width(text, kind) > end {
            continue;
        }
        let centre = (left + radius, baseline - 0.36 * kind.size);
        mark(scene, centre, radius, Colour::QUIET, filled, k);
        let written = scene.text(text, (begin, baseline), Align::Left, kind);
        left = written.right() + 16.0 * k;
    }
    left
}

/// The recommended one lies above all others.
fn fan_marks(scene: &mut Scene, margin: &MarginPanel, panel: &Panel, k: f64) {
    for strong in [false, true] {
        for fan in margin.fans.iter().filter(|fan| fan.strong == strong) {
            let colour = style::curve(fan.kind, k).colour;
            let (clean, loaded) = (panel.at(fan.clean), panel.at(fan.loaded));
            scene.line(vec![clean, loaded], Stroke::solid(colour, 1.4 * k));
            let radius = mark_radius(strong, k);
            mark(scene, clean, radius, colour, false, k);
            mark(scene, loaded, radius, colour, true, k);
        }
    }
}

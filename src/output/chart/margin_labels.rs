//! Names what is on the panel of a margin over a flow.

use super::fan_data::{FanMark, Gain, MarginPanel};
use super::frame::X_LABEL;
use super::free_label::{anchors_along, clear_label, free_label, free_text};
use super::labels::Space;
use super::panel::{Measures, Panel};
use super::scene::{Align, Area, Colour, Scene, Stroke, Type};
use super::style;
use super::xy_panel::{FAR, name_type};
use crate::output::font::Weight;

/// How far from its line a level's name may stand, in units of `k`.
const NEAR: [f64; 5] = [2.0, 8.0, 16.0, 30.0, 50.0];

/// A level line and its name.
pub struct Level<'a> {
    pub value: f64,
    pub label: &'a str,
    /// Whether it is named for what lies below.
    pub is_below: bool,
    pub stroke: Stroke,
}

/// The lines that a margin is held against.
pub fn levels(margin: &MarginPanel, k: f64) -> Vec<Level<'_>> {
    let dashed = |colour, width: f64| Stroke {
        colour,
        width,
        dash: vec![6.0 * k, 3.0 * k],
    };
    let width = |width: f64| (width * k).round().max(1.0);
    let required = margin.required.iter().map(|(value, label)| Level {
        value: *value,
        label,
        is_below: false,
        stroke: Stroke::solid(style::NEEDED, width(2.0)),
    });
    let zero = margin.zero.iter().map(|label| Level {
        value: 0.0,
        label,
        is_below: true,
        stroke: Stroke::solid(style::LIMIT, width(1.6)),
    });
    let bound = margin.bound.iter().map(|(value, label)| Level {
        value: *value,
        label,
        is_below: false,
        stroke: dashed(Colour::QUIET, width(1.4)),
    });
    required.chain(zero).chain(bound).collect()
}

pub fn level_label(
    scene: &mut Scene,
    level: &Level,
    path: &[(f64, f64)],
    space: &mut Space,
    measures: Measures,
) {
    let kind = Type {
        colour: level.stroke.colour,
        ..measures.axis_title()
    };
    let text = scene.fitted(level.label, kind, 0.9 * space.bounds.width);
    // From the right to the left just above the line, then just below; what is so below the line has its name there.
    let (Some(&(from, y)), Some(&(to, _))) = (path.first(), path.last()) else {
        return;
    };
    let gap = 8.0 * measures.k;
    let off = 0.72 * kind.size + level.stroke.width / 2.0;
    let rights = |y: f64| {
        let right = move |step: u32| to - gap - (to - from) * f64::from(step) / 40.0;
        (0..40).map(move |step| (Align::Right, (right(step), y)))
    };
    let (first, then) = if level.is_below {
        (off, -off)
    } else {
        (-off, off)
    };
    let places = rights(y + first).chain(rights(y + then));
    if clear_label(scene, &text, kind, places, space) {
        return;
    }
    // Over a line or with a leader, and cut only if that does not help either.
    let anchors = anchors_along(path, 0.9, space);
    let whole = [(text, kind)];
    if !free_text(scene, &whole, &anchors, space, measures, &NEAR) {
        let text = [(level.label, kind)];
        free_label(scene, &text, &anchors, space, measures, &NEAR);
    }
}

/// What each step brings, right of its rise, below its tread, or left of its rise; left out where lines or labels are.
pub fn gain_labels(
    scene: &mut Scene,
    gains: &[Gain],
    panel: &Panel,
    space: &mut Space,
    measures: Measures,
) {
    let kind = measures.small();
    let gap = 4.0 * measures.k;
    for gain in gains {
        let (right, middle) = panel.at((gain.x.1, f64::midpoint(gain.y.0, gain.y.1)));
        let (centre, tread) = panel.at((f64::midpoint(gain.x.0, gain.x.1), gain.y.0));
        let places = [
            (Align::Left, (right + gap, middle)),
            (Align::Centre, (centre, tread + 0.9 * kind.size)),
            (Align::Right, (right - gap, middle)),
        ];
        clear_label(scene, &gain.label, kind, places, space);
    }
}

pub fn fan_label(
    scene: &mut Scene,
    fan: &FanMark,
    panel: &Panel,
    space: &mut Space,
    measures: Measures,
) {
    let name = Type {
        weight: if fan.strong {
            Weight::Semibold
        } else {
            Weight::Regular
        },
        ..name_type(fan.kind, measures)
    };
    let small = Type {
        colour: Colour::INK,
        ..measures.small()
    };
    let anchors = [(panel.at(fan.loaded), 0.0), (panel.at(fan.clean), 2.0)];
    let text = [(fan.name.as_str(), name), (fan.label.as_str(), small)];
    free_label(scene, &text, &anchors, space, measures, &FAR);
}

/// In the band, off the curve and off its edges, as far to the right as may be; else beside what marks stand for;
/// else anywhere with a leader into it.
pub fn band_label(
    scene: &mut Scene,
    margin: &MarginPanel,
    panel: &Panel,
    key_end: f64,
    space: &mut Space,
    measures: Measures,
) {
    let k = measures.k;
    let (label, kind) = (&margin.band_label, measures.small());
    let along = |share: f64| -> Vec<(f64, f64)> {
        let at = |&(x, low, high): &(f64, f64, f64)| panel.at((x, low + share * (high - low)));
        margin.band.iter().map(at).collect()
    };
    let known = space.lines.len();
    space.lines.extend([along(0.0), along(1.0)]);
    let mut places: Vec<(Align, (f64, f64))> = [0.15, 0.85, 0.25, 0.75, 0.35, 0.65]
        .into_iter()
        .flat_map(|share| anchors_along(&along(share), 1.0, space))
        .map(|(anchor, _)| (Align::Centre, anchor))
        .collect();
    places.sort_by(|a, b| b.1.0.total_cmp(&a.1.0));
    let is_written = clear_label(scene, label, kind, places, space);
    space.lines.truncate(known);
    if is_written || label.is_empty() || margin.band.len() < 2 {
        return;
    }
    let baseline = panel.area.bottom() + X_LABEL * k;
    let patch = Area {
        left: key_end,
        top: baseline - 0.75 * kind.size,
        width: 14.0 * k,
        height: 0.8 * kind.size,
    };
    let left = patch.right() + 5.0 * k;
    let room = panel.area.right() - scene.width(&margin.x_label, measures.axis_title()) - left;
    if scene.width(label, kind) + 8.0 * k <= room {
        scene.fill(patch, style::BEST, 2.0 * style::BAND_OPACITY);
        scene.text(label, (left, baseline), Align::Left, kind);
    } else {
        let anchors = anchors_along(&along(0.15), 0.8, space);
        free_label(scene, &[(label, kind)], &anchors, space, measures, &FAR);
    }
}

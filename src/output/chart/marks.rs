//! The strip above the upper panel: what happened when, as flags and bars.
//!
//! A flag stands on a pole at the begin of its mark and is written to the right of it. Flags that
//! would touch go to a higher row; when there are too many, those of one name share one flag that
//! counts them, and the rest keep a short pole.

use super::data::{Mark, MarkKind};
use super::scene::{Align, Area, DESCENT_EM, Scene, Stroke, Type};
use super::style;
use crate::output::font::Weight;

/// Rows of flags at most.
const ROWS: usize = 4;

/// A flag with its place: row 0 is next to the panel.
#[derive(Debug, Clone, PartialEq)]
struct Flag {
    mark: usize,
    text: String,
    row: usize,
    /// Left end of the text, px.
    left: f64,
    /// Where the pole stands, px.
    pole: f64,
}

/// The strip, planned: its height is known before the panel's place is.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    flags: Vec<Flag>,
    row_height: f64,
    bar: f64,
    /// Height of the whole strip, px; 0 without marks.
    pub height: f64,
}

/// What is being placed: which mark, with which text.
type Wanted = (usize, String);

/// Plans the strip. `at` turns seconds into pixels; flags stay between `left` and `right`.
pub fn plan(
    scene: &Scene,
    marks: &[Mark],
    at: &dyn Fn(f64) -> f64,
    (left, right): (f64, f64),
    kind: Type,
) -> Strip {
    let gap = 0.45 * kind.size;
    let mut wanted: Vec<Wanted> = (0..marks.len())
        .map(|index| (index, marks[index].label.clone()))
        .collect();
    let mut most_rows = 2;
    let flags = loop {
        let (placed, failed) = place(
            scene,
            marks,
            &wanted,
            at,
            (left, right),
            kind,
            gap,
            most_rows,
        );
        if failed == 0 {
            break placed;
        }
        // Too many: let the most frequent name count its marks instead.
        if let Some(shared) = share(marks, &wanted) {
            wanted = shared;
        } else if most_rows < ROWS {
            most_rows += 1;
        } else {
            break placed;
        }
    };
    let rows = flags.iter().map(|flag| flag.row + 1).max().unwrap_or(0);
    let bar = if marks.is_empty() {
        0.0
    } else {
        0.75 * kind.size
    };
    let row_height = 1.3 * kind.size;
    Strip {
        flags,
        row_height,
        bar,
        height: bar + rows as f64 * row_height,
    }
}

/// From right to left, each in the lowest free row: a pole then never runs through an earlier text.
#[expect(clippy::too_many_arguments, reason = "one call, private to this file")]
fn place(
    scene: &Scene,
    marks: &[Mark],
    wanted: &[Wanted],
    at: &dyn Fn(f64) -> f64,
    (left, right): (f64, f64),
    kind: Type,
    gap: f64,
    rows: usize,
) -> (Vec<Flag>, usize) {
    let mut order: Vec<&Wanted> = wanted.iter().collect();
    order.sort_by(|a, b| marks[b.0].begin_s.total_cmp(&marks[a.0].begin_s));
    let mut flags: Vec<Flag> = Vec::new();
    let mut failed = 0;
    for (index, text) in order {
        let pole = at(marks[*index].begin_s).clamp(left, right);
        let width = scene.width(text, kind);
        // Near the right edge the flag hangs to the left.
        let text_left = if pole + gap + width <= right {
            pole + gap
        } else {
            (pole - gap - width).max(left)
        };
        let free = |row: usize| {
            flags.iter().all(|flag| {
                let flag_right = flag.left + scene.width(&flag.text, kind);
                let apart = text_left > flag_right + gap || text_left + width + gap < flag.left;
                // My pole through a lower text, another's pole through mine.
                let pole_clear =
                    pole < flag.left - 1.0 || pole > flag_right + 1.0 || flag.row >= row;
                let other_clear = flag.pole < text_left - 1.0
                    || flag.pole > text_left + width + 1.0
                    || flag.row <= row;
                (flag.row != row || apart) && pole_clear && other_clear
            })
        };
        match (0..rows).find(|&row| free(row)) {
            Some(row) => flags.push(Flag {
                mark: *index,
                text: text.clone(),
                row,
                left: text_left,
                pole,
            }),
            None => failed += 1,
        }
    }
    (flags, failed)
}

/// Replaces the flags of the most frequent name by one that counts; `None` if all names are single.
fn share(marks: &[Mark], wanted: &[Wanted]) -> Option<Vec<Wanted>> {
    let count = |mark: &Mark| {
        wanted
            .iter()
            .filter(|(other, _)| same(&marks[*other], mark))
            .count()
    };
    let (first, most) = wanted
        .iter()
        .map(|(index, _)| (*index, count(&marks[*index])))
        .filter(|(_, count)| *count > 1)
        .max_by(|a, b| a.1.cmp(&b.1).then(b.0.cmp(&a.0)))?;
    let mut shared: Vec<Wanted> = wanted
        .iter()
        .filter(|(index, _)| *index == first || !same(&marks[*index], &marks[first]))
        .cloned()
        .collect();
    for entry in &mut shared {
        if entry.0 == first {
            entry.1 = format!("{} (×{most})", marks[first].label);
        }
    }
    Some(shared)
}

fn same(one: &Mark, other: &Mark) -> bool {
    one.kind == other.kind && one.label == other.label
}

/// The bands of the marks inside a panel: openings, spool changes and pauses. Each with its kind, and whether it is
/// but a stroke.
pub fn bands(
    marks: &[Mark],
    at: &dyn Fn(f64) -> f64,
    panel: Area,
    k: f64,
) -> Vec<(MarkKind, Area, bool)> {
    let has_band = |mark: &&Mark| match mark.kind {
        MarkKind::DoorOpen | MarkKind::SpoolChange | MarkKind::Pause => true,
        MarkKind::HeatUp | MarkKind::CoolDown | MarkKind::FanOn | MarkKind::Failure => false,
    };
    let band = |mark: &Mark| {
        let from = at(mark.begin_s).clamp(panel.left, panel.right());
        let to = at(mark.end_s).clamp(panel.left, panel.right());
        let least = (2.0 * k).max(2.0);
        let narrow = to - from < 2.0 * least;
        let width = (to - from).max(least);
        let area = Area {
            left: from.min(panel.right() - width),
            width,
            ..panel
        };
        (mark.kind, area, narrow)
    };
    marks.iter().filter(has_band).map(band).collect()
}

/// Draws them.
pub fn draw_bands(scene: &mut Scene, marks: &[Mark], at: &dyn Fn(f64) -> f64, panel: Area, k: f64) {
    for (kind, area, is_narrow) in bands(marks, at, panel, k) {
        // A thin band has to be stronger to be seen at all.
        let opacity = if is_narrow { 0.6 } else { 0.11 };
        scene.fill(area, style::mark(kind), opacity);
    }
}

impl Strip {
    /// Draws flags, poles and bars; `bottom` is the panel's upper edge.
    pub fn draw(
        &self,
        scene: &mut Scene,
        marks: &[Mark],
        at: &dyn Fn(f64) -> f64,
        panel: Area,
        kind: Type,
    ) {
        let bottom = panel.top;
        let k = kind.size / 11.0;
        for mark in marks {
            let colour = style::mark(mark.kind);
            let from = at(mark.begin_s).clamp(panel.left, panel.right());
            let to = at(mark.end_s).clamp(panel.left, panel.right());
            let width = (to - from).max(2.0 * k);
            let bar = Area {
                left: from.min(panel.right() - width),
                top: bottom - 4.0 * k,
                width,
                height: 3.0 * k,
            };
            scene.fill(bar, colour, 1.0);
        }
        for flag in &self.flags {
            let colour = style::mark(marks[flag.mark].kind);
            let baseline =
                bottom - self.bar - flag.row as f64 * self.row_height - DESCENT_EM * kind.size;
            scene.upright(
                flag.pole,
                baseline - 0.72 * kind.size,
                bottom - 1.0 * k,
                Stroke::solid(colour, 1.0),
            );
            let kind = Type {
                colour: style::legible(colour),
                weight: Weight::Regular,
                ..kind
            };
            scene.text(&flag.text, (flag.left, baseline), Align::Left, kind);
        }
    }
}

//! Places labels so that they touch neither each other nor, if it can be helped, a line.

use super::scene::{Align, Area, Colour, DESCENT_EM, Scene, Stroke, Type};
use super::style;
use crate::output::font::Weight;

/// What stands before a name at the right edge, to tell lines apart in grey.
#[derive(Debug, Clone, PartialEq)]
pub enum Sample {
    /// A piece of the line.
    Stroke(Stroke),
    /// A patch of a band.
    Patch(Colour, f64),
}

/// What a line is called.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Name {
    /// Shortened where there is no room.
    pub label: String,
    /// Never shortened; may be empty.
    pub tail: String,
    pub weight: Weight,
}

/// The name of a line, to be written at the right edge near its end.
#[derive(Debug, Clone, PartialEq)]
pub struct SideLabel {
    /// Where the line ends, px.
    pub end: (f64, f64),
    pub name: Name,
    pub sample: Sample,
}

/// Space a side label takes besides its text, in units of `k`.
const LEADER: f64 = 16.0;
const SAMPLE: f64 = 20.0;
const GAP: f64 = 6.0;

/// Width of the widest label with leader and sample, px.
pub fn side_width(scene: &Scene, labels: &[Name], size: f64, k: f64) -> f64 {
    let text = labels
        .iter()
        .map(|name| {
            let kind = side_type(size, name.weight, Colour::INK);
            scene.width(&format!("{}{}", name.label, name.tail), kind)
        })
        .fold(0.0, f64::max);
    text + (LEADER + SAMPLE + GAP) * k
}

fn side_type(size: f64, weight: Weight, colour: Colour) -> Type {
    Type {
        size,
        weight,
        colour,
    }
}

/// Height one side label needs, in em.
pub const SIDE_LINE_EM: f64 = 1.32;

/// Writes labels right of `panel`, each as near to its line's end as the others allow, with a thin
/// leader, in a column of `width` pixels.
pub fn write_side(
    scene: &mut Scene,
    mut labels: Vec<SideLabel>,
    panel: Area,
    width: f64,
    size: f64,
    k: f64,
) {
    labels.sort_by(|a, b| a.end.1.total_cmp(&b.end.1));
    let count = labels.len();
    let half = 0.5 * size;
    let (top, bottom) = (panel.top + half, panel.bottom() - half);
    let most = if count > 1 {
        (bottom - top) / (count - 1) as f64
    } else {
        f64::INFINITY
    };
    // A crowd that does not fit gets smaller letters rather than touching ones.
    let line = (SIDE_LINE_EM * size).min(most);
    let size = size.min(line / (1.02 + DESCENT_EM / 4.0));
    let targets: Vec<f64> = labels.iter().map(|label| label.end.1).collect();
    let rows = spread(&targets, line, top, bottom);

    for (label, y) in labels.iter().zip(rows) {
        let colour = match &label.sample {
            Sample::Stroke(stroke) => stroke.colour,
            Sample::Patch(..) => Colour(0x6b, 0x4a, 0x00),
        };
        let edge = panel.right();
        let bend = edge + LEADER * k;
        let leader = Stroke::solid(colour, 0.8 * k);
        let begin = (label.end.0 + 1.5 * k, label.end.1);
        scene.line(
            vec![begin, (edge + 4.0 * k, label.end.1), (bend - 3.0 * k, y)],
            leader,
        );
        let end = bend + SAMPLE * k;
        match &label.sample {
            Sample::Stroke(stroke) => scene.line(vec![(bend, y), (end, y)], stroke.clone()),
            Sample::Patch(fill, opacity) => {
                let patch = Area {
                    left: bend,
                    top: y - 0.32 * size,
                    width: SAMPLE * k,
                    height: 0.64 * size,
                };
                scene.fill(patch, *fill, (2.0 * opacity).min(1.0));
            }
        }
        let Name {
            label,
            tail,
            weight,
        } = &label.name;
        let kind = side_type(size, *weight, style::legible(colour));
        let text = scene.shortened(label, tail, kind, width - (LEADER + SAMPLE + GAP) * k);
        let at = (end + GAP * k, y + 0.35 * size);
        scene.text(&text, at, Align::Left, kind);
    }
}

/// Moves sorted places apart to at least `gap`, within `top` and `bottom`, as little as possible
/// (least squares: pooling adjacent violators).
pub fn spread(targets: &[f64], gap: f64, top: f64, bottom: f64) -> Vec<f64> {
    // With the gaps taken out, the task is to find the nearest non-falling row.
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (index, target) in targets.iter().enumerate() {
        let mut pool = (target - index as f64 * gap, 1);
        while let Some(&(mean, count)) = pools.last() {
            if mean <= pool.0 {
                break;
            }
            pools.pop();
            let total = count + pool.1;
            pool = (
                (mean * count as f64 + pool.0 * pool.1 as f64) / total as f64,
                total,
            );
        }
        pools.push(pool);
    }
    let highest = bottom - gap * targets.len().saturating_sub(1) as f64;
    pools
        .iter()
        .flat_map(|&(mean, count)| std::iter::repeat_n(mean, count))
        .enumerate()
        .map(|(index, place)| place.min(highest).max(top) + index as f64 * gap)
        .collect()
}

/// Where free labels may go.
#[derive(Debug, Clone)]
pub struct Space {
    /// Labels stay inside.
    pub bounds: Area,
    /// Texts and marks that must not be covered.
    pub taken: Vec<Area>,
    /// Lines that had better not be covered, px.
    pub lines: Vec<Vec<(f64, f64)>>,
    /// Grounds that had better not be covered, such as the time a door stood open.
    pub grounds: Vec<Area>,
}

/// A place found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    pub area: Area,
    /// Which of the offered anchors it belongs to.
    pub anchor: (f64, f64),
    /// The point of the box nearest to the anchor: where a leader ends.
    pub corner: (f64, f64),
    /// Lines it covers.
    pub crossings: usize,
}

impl Space {
    /// The best place for a label of `size` beside one of the anchors, which are offered in order
    /// of preference with a penalty each; `reach` lists distances to try, px. `None` if every place
    /// would cover something taken.
    pub fn best(
        &self,
        anchors: &[((f64, f64), f64)],
        size: (f64, f64),
        reach: &[f64],
    ) -> Option<Place> {
        let mut best: Option<(f64, Place)> = None;
        for &(anchor, penalty) in anchors {
            for &distance in reach {
                for step in 0..16 {
                    let angle = f64::from(step) * std::f64::consts::TAU / 16.0;
                    // Upwards first: that is where charts have air.
                    let (dx, dy) = (angle.sin(), -angle.cos());
                    let out = distance + dx.abs() * size.0 / 2.0 + dy.abs() * size.1 / 2.0;
                    let area = Area {
                        left: anchor.0 + dx * out - size.0 / 2.0,
                        top: anchor.1 + dy * out - size.1 / 2.0,
                        width: size.0,
                        height: size.1,
                    };
                    let score = penalty + distance + 4.0 * (1.0 + dy);
                    if best.is_some_and(|(known, _)| known <= score) {
                        continue;
                    }
                    if !self.bounds.holds(area) || self.taken.iter().any(|t| t.overlaps(area)) {
                        continue;
                    }
                    let corner = nearest(area, anchor);
                    if self.blocked(anchor, corner) {
                        continue;
                    }
                    let grounds = self.grounds.iter().filter(|g| g.overlaps(area)).count();
                    let crossings = self.crossings(area);
                    let crossed = self.crossed(anchor, corner);
                    let score =
                        score + COVERED * (crossings + grounds) as f64 + CROSSED * crossed as f64;
                    if best.is_none_or(|(known, _)| score < known) {
                        best = Some((
                            score,
                            Place {
                                area,
                                anchor,
                                corner,
                                crossings,
                            },
                        ));
                    }
                }
            }
        }
        best.map(|(_, place)| place)
    }

    /// Whether a label may stand just there without covering anything.
    pub fn is_clear(&self, area: Area) -> bool {
        self.bounds.holds(area)
            && !self.taken.iter().any(|taken| taken.overlaps(area))
            && self.crossings(area) == 0
    }

    /// Whether a leader would run through something taken; what the anchor itself lies in does not
    /// count.
    fn blocked(&self, anchor: (f64, f64), corner: (f64, f64)) -> bool {
        self.taken.iter().any(|taken| {
            clip(anchor, anchor, *taken).is_none() && clip(anchor, corner, *taken).is_some()
        })
    }

    /// How many lines a leader would cross; where it begins some line always runs.
    fn crossed(&self, anchor: (f64, f64), corner: (f64, f64)) -> usize {
        const CLEAR: f64 = 9.0;
        let (dx, dy) = (corner.0 - anchor.0, corner.1 - anchor.1);
        let length = dx.hypot(dy);
        if length <= CLEAR {
            return 0;
        }
        let share = CLEAR / length;
        let from = (anchor.0 + share * dx, anchor.1 + share * dy);
        let is_crossed = |line: &&Vec<(f64, f64)>| {
            line.windows(2)
                .any(|pair| crosses(from, corner, pair[0], pair[1]))
        };
        self.lines.iter().filter(is_crossed).count()
    }

    /// How many lines run through the box.
    fn crossings(&self, area: Area) -> usize {
        self.lines
            .iter()
            .filter(|line| {
                line.windows(2)
                    .any(|pair| clip(pair[0], pair[1], area).is_some())
            })
            .count()
    }
}

/// Whether two pieces of straight lines cross.
fn crosses(a: (f64, f64), b: (f64, f64), c: (f64, f64), d: (f64, f64)) -> bool {
    let side = |p: (f64, f64), q: (f64, f64), r: (f64, f64)| {
        (q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0)
    };
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// What it is worth not to cover a line with a label, and not to cross one with its leader, in pixels of
/// distance.
const COVERED: f64 = 150.0;
const CROSSED: f64 = 25.0;

/// The point of a box nearest to another point.
fn nearest(area: Area, to: (f64, f64)) -> (f64, f64) {
    (
        to.0.clamp(area.left, area.right()),
        to.1.clamp(area.top, area.bottom()),
    )
}

/// The part of a straight line inside a box (Liang and Barsky 1984); `None` if it misses it.
pub fn clip(from: (f64, f64), to: (f64, f64), area: Area) -> Option<((f64, f64), (f64, f64))> {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let (mut enter, mut leave) = (0.0f64, 1.0f64);
    for (step, room) in [
        (-dx, from.0 - area.left),
        (dx, area.right() - from.0),
        (-dy, from.1 - area.top),
        (dy, area.bottom() - from.1),
    ] {
        if step == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if step < 0.0 {
            enter = enter.max(room / step);
        } else {
            leave = leave.min(room / step);
        }
    }
    // An end that is inside is kept to the last digit, so that pieces of one line join.
    let at = |share: f64| match share {
        1.0 => to,
        _ => (from.0 + share * dx, from.1 + share * dy),
    };
    (enter <= leave).then(|| (at(enter), at(leave)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_with_room_stay_where_they_are() {
        assert_eq!(
            spread(&[10.0, 50.0, 90.0], 15.0, 0.0, 100.0),
            [10.0, 50.0, 90.0]
        );
    }

    /// Two that collide move apart evenly: the least-squares answer by hand.
    #[test]
    fn a_pair_moves_apart_evenly() {
        assert_eq!(spread(&[50.0, 52.0], 12.0, 0.0, 100.0), [45.0, 57.0]);
        assert_eq!(
            spread(&[50.0, 50.0, 50.0], 10.0, 0.0, 100.0),
            [40.0, 50.0, 60.0]
        );
    }

    #[test]
    fn a_crowd_stays_inside() {
        assert_eq!(
            spread(&[2.0, 3.0, 4.0], 10.0, 0.0, 100.0),
            [0.0, 10.0, 20.0]
        );
        assert_eq!(
            spread(&[98.0, 99.0, 99.5], 10.0, 0.0, 100.0),
            [80.0, 90.0, 100.0]
        );
        assert!(spread(&[], 10.0, 0.0, 100.0).is_empty());
    }

    #[test]
    fn lines_are_cut_at_the_box() {
        let area = Area {
            left: 0.0,
            top: 0.0,
            width: 10.0,
            height: 10.0,
        };
        assert_eq!(
            clip((-5.0, 5.0), (15.0, 5.0), area),
            Some(((0.0, 5.0), (10.0, 5.0)))
        );
        assert_eq!(clip((-5.0, -1.0), (15.0, -1.0), area), None);
        assert_eq!(
            clip((2.0, 2.0), (3.0, 3.0), area),
            Some(((2.0, 2.0), (3.0, 3.0)))
        );
    }

    #[test]
    fn a_free_label_avoids_what_is_there() {
        let bounds = Area {
            left: 0.0,
            top: 0.0,
            width: 200.0,
            height: 200.0,
        };
        let above = Area {
            left: 0.0,
            top: 0.0,
            width: 200.0,
            height: 95.0,
        };
        let space = Space {
            bounds,
            taken: vec![above],
            lines: vec![],
            grounds: vec![],
        };
        let place = space
            .best(&[((100.0, 100.0), 0.0)], (40.0, 12.0), &[6.0, 20.0])
            .expect("there is room below");
        assert!(!place.area.overlaps(above));
        let full = Space {
            taken: vec![bounds],
            ..space
        };
        assert_eq!(
            full.best(&[((100.0, 100.0), 0.0)], (40.0, 12.0), &[6.0]),
            None
        );
    }

    /// A line just above and a band to the right: the label goes where neither is, though that is farther.
    #[test]
    fn a_free_label_goes_round_lines_and_grounds() {
        let bounds = Area {
            left: 0.0,
            top: 0.0,
            width: 300.0,
            height: 300.0,
        };
        let band = Area {
            left: 110.0,
            width: 60.0,
            ..bounds
        };
        let space = Space {
            bounds,
            taken: vec![],
            lines: vec![
                vec![(0.0, 90.0), (300.0, 90.0)],
                vec![(0.0, 130.0), (300.0, 130.0)],
            ],
            grounds: vec![band],
        };
        let place = space
            .best(
                &[((100.0, 150.0), 0.0)],
                (40.0, 12.0),
                &[6.0, 20.0, 60.0, 120.0],
            )
            .expect("there is room");
        assert_eq!(place.crossings, 0);
        assert!(!place.area.overlaps(band), "{place:?}");
        assert!(
            place.area.top > 130.0,
            "its leader crosses no line: {place:?}"
        );
        assert!(crosses((0.0, 0.0), (2.0, 2.0), (0.0, 2.0), (2.0, 0.0)));
        assert!(!crosses((0.0, 0.0), (2.0, 2.0), (0.0, 2.0), (0.5, 1.5)));
    }
}

//! Draws how a pressure is made up: stacked columns on one scale, each part with its name and value beside it.

use super::axis;
use super::data::{ChartError, drawable};
use super::fan_data::{SplitColumn, SplitPanel};
use super::frame::heading_baseline;
use super::labels;
use super::panel::Measures;
use super::scene::{Align, Area, Colour, Scene, Stroke, Type};
use super::style;
use crate::output::font::Weight;

/// # Errors
/// Names the first part that has a value that can't be drawn.
pub fn check(split: &SplitPanel) -> Result<(), ChartError> {
    let mut parts = split.columns.iter().flat_map(|column| &column.parts);
    match parts.find(|(_, value)| !drawable(*value)) {
        Some((name, _)) => Err(ChartError::NotFinite(name.clone())),
        None => Ok(()),
    }
}

/// Shares of a column's room that its bar takes at least and at most, and how far right of it names begin, in units
/// of `k`.
const BAR: f64 = 0.23;
const WIDEST: f64 = 0.36;
const NAME: f64 = 13.0;

/// The width that all names and values have room in, px.
pub fn width(scene: &Scene, split: &SplitPanel, measures: Measures) -> f64 {
    beside(scene, split, measures) / (1.0 - BAR) * split.columns.len() as f64
}

/// The width of the longest name and value with what is around them, px.
fn beside(scene: &Scene, split: &SplitPanel, measures: Measures) -> f64 {
    let decimals = decimals_of(split);
    let parts = split.columns.iter().flat_map(|column| &column.parts);
    let widest = parts
        .map(|(name, value)| {
            let text = format!("{name}{}", valued(*value, decimals));
            scene.width(&text, name_type(measures))
        })
        .fold(0.0, f64::max);
    widest + (NAME + 6.0) * measures.k
}

fn name_type(measures: Measures) -> Type {
    Type {
        weight: Weight::Regular,
        colour: Colour::INK,
        ..measures.axis_title()
    }
}

/// A value as it stands behind a name.
fn valued(value: f64, decimals: usize) -> String {
    format!(" {}", axis::fixed(value, decimals))
}

/// A part in its place.
struct Block<'a> {
    name: &'a str,
    value: f64,
    /// Which of all parts it is, from the bottom.
    number: usize,
    /// Its two ends, in the unit.
    from: f64,
    to: f64,
}

/// Parts on top of each other; those below zero hang from it.
fn stacked(column: &SplitColumn) -> Vec<Block<'_>> {
    let (mut up, mut down) = (0.0, 0.0);
    let mut blocks = Vec::new();
    for (number, (name, value)) in column.parts.iter().enumerate() {
        let end = if *value < 0.0 { &mut down } else { &mut up };
        let from = *end;
        *end += value;
        let block = Block {
            name,
            value: *value,
            number,
            from,
            to: *end,
        };
        if *value != 0.0 {
            blocks.push(block);
        }
    }
    blocks
}

/// Draws the columns between the heading and the region's bottom, where their line stands; their names stand below.
pub fn draw(scene: &mut Scene, split: &SplitPanel, region: Area, measures: Measures) {
    let k = measures.k;
    let heading = measures.value();
    let mut top = region.top;
    for (row, line) in scene
        .wrapped(&split.heading, heading, region.width, 2)
        .iter()
        .enumerate()
    {
        let baseline = region.top + heading_baseline(measures) + 1.3 * heading.size * row as f64;
        scene.text(line, (region.left, baseline), Align::Left, heading);
        top = baseline;
    }
    let columns: Vec<Vec<Block>> = split.columns.iter().map(stacked).collect();
    let ends = columns.iter().flatten().map(|block| block.to);
    let (low, high) = ends.fold((0.0f64, 0.0f64), |(a, b), end| (a.min(end), b.max(end)));
    // The total has its row above the highest column.
    let top = top + 2.2 * heading.size;
    let scale = Scale {
        zero: region.bottom() - (region.bottom() - top) * (-low) / (high - low).max(1e-300),
        per_unit: (region.bottom() - top) / (high - low).max(1e-300),
    };
    let decimals = decimals_of(split);
    let slot = region.width / columns.len() as f64;
    for (number, (column, blocks)) in split.columns.iter().zip(&columns).enumerate() {
        let place = Area {
            left: region.left + slot * number as f64,
            top,
            width: slot,
            height: region.bottom() - top,
        };
        let bar = Area {
            left: place.left + 4.0 * k,
            width: (slot - beside(scene, split, measures)).clamp(BAR * slot, WIDEST * slot),
            ..place
        };
        for block in blocks {
            scene.fill(scale.area(block, bar), style::part(block.number), 1.0);
        }
        let ends = (bar.left - 4.0 * k, bar.right() + 4.0 * k);
        let line = Stroke::solid(Colour::QUIET, k.round().max(1.0));
        scene.level(scale.zero, ends.0, ends.1, line);
        names(scene, blocks, (bar, place), &scale, decimals, measures);
        let highest = blocks.iter().map(|block| block.to).fold(0.0, f64::max);
        let text = format!("{} {}", axis::fixed(total(column), decimals), split.unit);
        let text = scene.fitted(&text, measures.value(), slot - 8.0 * k);
        let at = (bar.left, scale.y(highest) - 6.0 * k);
        scene.text(&text, at, Align::Left, measures.value());
        let kind = measures.tick();
        let text = scene.fitted(&column.label, kind, slot - 8.0 * k);
        let at = (bar.left, region.bottom() + 4.0 * k + 1.1 * kind.size);
        scene.text(&text, at, Align::Left, kind);
    }
}

/// Where values lie.
struct Scale {
    /// y of zero, px.
    zero: f64,
    /// Pixels of one unit.
    per_unit: f64,
}

impl Scale {
    fn y(&self, value: f64) -> f64 {
        self.zero - value * self.per_unit
    }

    fn area(&self, block: &Block, bar: Area) -> Area {
        let (low, high) = (block.from.min(block.to), block.from.max(block.to));
        Area {
            top: self.y(high),
            height: self.y(low) - self.y(high),
            ..bar
        }
    }
}

/// Writes names and values beside the parts, moved apart where parts are thin. Where there is no room for all, the
/// smallest go without.
fn names(
    scene: &mut Scene,
    blocks: &[Block],
    (bar, place): (Area, Area),
    scale: &Scale,
    decimals: usize,
    measures: Measures,
) {
    let k = measures.k;
    let kind = name_type(measures);
    let line = 1.25 * kind.size;
    let (top, bottom) = (
        place.top + 0.4 * kind.size,
        place.bottom() - 0.5 * kind.size,
    );
    let most = ((bottom - top) / line).max(0.0) as usize + 1;
    let mut named: Vec<&Block> = blocks.iter().collect();
    named.sort_by(|a, b| b.value.abs().total_cmp(&a.value.abs()));
    named.truncate(most);
    let middle = |block: &Block| scale.y(f64::midpoint(block.from, block.to));
    named.sort_by(|a, b| middle(a).total_cmp(&middle(b)));
    let targets: Vec<f64> = named.iter().map(|block| middle(block)).collect();
    let rows = labels::spread(&targets, line, top, bottom);
    for ((block, target), y) in named.iter().zip(&targets).zip(rows) {
        let leader = vec![
            (bar.right() + 1.0 * k, *target),
            (bar.right() + 4.0 * k, *target),
            (bar.right() + 10.0 * k, y),
        ];
        scene.line(leader, Stroke::solid(Colour::RULE, 0.8 * k));
        let left = bar.right() + NAME * k;
        let value = valued(block.value, decimals);
        let text = scene.shortened(block.name, &value, kind, place.right() - left);
        scene.text(&text, (left, y + 0.35 * kind.size), Align::Left, kind);
    }
}

fn total(column: &SplitColumn) -> f64 {
    column.parts.iter().map(|(_, value)| value).sum()
}

/// As many as give three figures of the largest total.
fn decimals_of(split: &SplitPanel) -> usize {
    let totals = split.columns.iter().map(|column| total(column).abs());
    let largest = totals.fold(0.0, f64::max);
    if largest > 0.0 {
        (2.0 - largest.log10().floor()).clamp(0.0, 4.0) as usize
    } else {
        1
    }
}

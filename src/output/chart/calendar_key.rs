//! What colours, lines and hatching of a calendar mean: the key below it.

use super::axis::Axis;
use super::calendar_cells::{Look, draw_border};
use super::calendar_grid::Border;
use super::colour_scale::Scale;
use super::panel::Measures;
use super::scene::{Align, Area, Colour, Scene, Stroke, Type};
use crate::quantity::{System, format_difference};

/// A key that knows where it stands.
pub struct Key {
    scale: Scale,
    units: System,
    measures: Measures,
    /// The margin at which the second line is drawn, if it has one place.
    required_K: Option<f64>,
    /// Boxes with their meaning, line by line: the place from the left, px.
    items: Vec<Vec<(f64, Look, &'static str)>>,
    /// The scale's bar, from the left of the picture and the top of the key.
    bar: Area,
}

impl Key {
    /// The key of a scale and of the looks that occur beside it.
    pub fn new(
        scene: &Scene,
        scale: Scale,
        required_K: Option<f64>,
        looks: &[Look],
        measures: Measures,
        units: System,
    ) -> Key {
        let k = measures.k;
        let left = measures.pad();
        let right = f64::from(scene.size.width) - left;
        let title = scene.width(&title(units), measures.axis_title()) + 12.0 * k;
        let bar = Area {
            left: left + title,
            top: 18.0 * k,
            width: (460.0 * k).min(right - left - title - 10.0 * k),
            height: 13.0 * k,
        };
        let kind = measures.tick();
        let mut items: Vec<Vec<(f64, Look, &'static str)>> = vec![Vec::new()];
        // "holds" may reach beyond the bar.
        let mut x = bar.right() + scene.width("holds", kind) + 16.0 * k;
        for look in looks {
            let width = SWATCH * k + 6.0 * k + scene.width(look.means(), kind) + 20.0 * k;
            if x + width - 20.0 * k > right && x > left {
                items.push(Vec::new());
                x = left;
            }
            if let Some(line) = items.last_mut() {
                line.push((x, *look, look.means()));
            }
            x += width;
        }
        Key {
            scale,
            units,
            measures,
            required_K,
            items,
            bar,
        }
    }

    /// Its height, px.
    pub fn height(&self) -> f64 {
        let k = self.measures.k;
        (50.0 + 20.0 * (self.items.len() - 1) as f64) * k
    }

    /// Draws it from a height on.
    pub fn draw(&self, scene: &mut Scene, top: f64) {
        let k = self.measures.k;
        let bar = Area {
            top: top + self.bar.top,
            ..self.bar
        };
        let (low, high) = self.scale.ends_K();
        let place = |margin_K: f64| bar.left + bar.width * (margin_K - low) / (high - low);
        for class in self.scale.classes.0..self.scale.classes.1 {
            let from = f64::from(class) * self.scale.step_K;
            let (left, right) = (place(from), place(from + self.scale.step_K));
            let area = Area {
                left,
                width: right - left,
                ..bar
            };
            scene.cells(vec![area], self.scale.colour(class));
        }
        let baseline = bar.top + 0.86 * bar.height;
        let title = title(self.units);
        let at = (self.measures.pad(), baseline);
        scene.text(&title, at, Align::Left, self.measures.axis_title());
        self.numbers(scene, bar, (low, high));
        self.zones(scene, bar, &place);
        for (row, line) in self.items.iter().enumerate() {
            let down = if row == 0 {
                0.0
            } else {
                (32.0 + 20.0 * (row - 1) as f64) * k
            };
            for (x, look, text) in line {
                let area = Area {
                    left: *x,
                    top: bar.top + down,
                    width: SWATCH * k,
                    height: bar.height,
                };
                look.draw(scene, &[area], k);
                let at = (area.right() + 6.0 * k, baseline + down);
                scene.text(text, at, Align::Left, self.ink());
            }
        }
    }

    fn ink(&self) -> Type {
        Type {
            colour: Colour::INK,
            ..self.measures.tick()
        }
    }

    /// Values below the bar.
    fn numbers(&self, scene: &mut Scene, bar: Area, (low, high): (f64, f64)) {
        let k = self.measures.k;
        let shown = |margin_K: f64| self.units.difference(margin_K);
        let range = (shown(low), shown(high));
        let axis = Axis::of_numbers(range, bar.width, 38.0 * k);
        for tick in &axis.ticks {
            let x = bar.left + bar.width * (tick.at - range.0) / (range.1 - range.0);
            let rule = Stroke::solid(Colour::RULE, 1.0);
            scene.upright(x, bar.bottom(), bar.bottom() + 3.5 * k, rule);
            let at = (x, bar.bottom() + 15.0 * k);
            scene.text(&tick.text, at, Align::Centre, self.measures.tick());
        }
    }

    /// The borders on the bar, and above it what lies between them.
    fn zones(&self, scene: &mut Scene, bar: Area, place: &dyn Fn(f64) -> f64) {
        let k = self.measures.k;
        let kind = self.ink();
        let (top, bottom) = (bar.top - 4.0 * k, bar.bottom());
        let baseline = bar.top - 6.0 * k;
        let gap = 5.0 * k;
        let nothing = place(0.0);
        let line = |scene: &mut Scene, x: f64, border: Border| {
            draw_border(scene, &[(x, top), (x, bottom)], border, k);
        };
        line(scene, nothing, Border::Softens);
        if nothing - gap - scene.width("softens", kind) > 0.0 {
            let at = (nothing - gap, baseline);
            scene.text("softens", at, Align::Right, kind);
        }
        let (from, word) = match self.required_K {
            Some(required_K) if required_K > 0.0 => {
                let required = place(required_K);
                line(scene, required, Border::Holds);
                if required - nothing > scene.width("tight", kind) + 2.0 * gap {
                    let middle = f64::midpoint(nothing, required);
                    scene.text("tight", (middle, baseline), Align::Centre, kind);
                }
                let value = format_difference(required_K, self.units);
                (required, format!("holds, from {value}"))
            }
            Some(_) => (nothing, "holds".to_owned()),
            None => (nothing, "tight or holds".to_owned()),
        };
        let right = f64::from(scene.size.width) - from - gap;
        let words = [word.as_str(), "holds"];
        let fitting = words.iter().find(|w| scene.width(w, kind) < right);
        if let Some(word) = fitting {
            scene.text(word, (from + gap, baseline), Align::Left, kind);
        }
    }
}

/// Width of a box beside its meaning, px at `k` = 1.
const SWATCH: f64 = 24.0;

fn title(units: System) -> String {
    format!("least margin, {}", units.difference_unit())
}

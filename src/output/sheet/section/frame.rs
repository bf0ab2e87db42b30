//! From metres to pixels, and the sizes of letters.

use super::place::{Place, Spot};
use crate::output::chart::Size;
use crate::output::chart::scene::{Align, Area, Colour, Scene, Stroke, Type};
use crate::output::font::Weight;
use crate::quantity::{System, format_length};

/// Narrower drawings have no columns of names, px.
pub const NARROW_PX: u32 = 600;

/// Sizes of letters.
#[derive(Debug, Clone, Copy)]
pub struct Letters {
    pub name: Type,
    pub value: Type,
    pub deciding: Type,
    pub small: Type,
}

impl Letters {
    pub fn of(size: Size) -> Self {
        let k = if size.width < NARROW_PX { 0.95 } else { 1.0 };
        let kind = |size: f64, weight, colour| Type {
            size: k * size,
            weight,
            colour,
        };
        Self {
            name: kind(12.0, Weight::Regular, Colour::QUIET),
            value: kind(13.0, Weight::Regular, Colour::INK),
            deciding: kind(13.0, Weight::Semibold, Colour::INK),
            small: kind(11.5, Weight::Regular, Colour::QUIET),
        }
    }
}

/// From metres in the section to pixels.
#[derive(Debug, Clone, Copy)]
pub struct Frame {
    pub px_per_m: f64,
    /// The inside corner of front and floor, px.
    corner: (f64, f64),
    /// What is free for the drawing.
    pub free: Area,
}

impl Frame {
    pub fn fit(place: &Place, free: Area) -> Self {
        let (from, to) = (place.low, place.high);
        let (width_m, height_m) = (to.0 - from.0, to.1 - from.1);
        let px_per_m = (free.width / width_m).min(free.height / height_m);
        let spare = free.width - px_per_m * width_m;
        Self {
            px_per_m,
            corner: (
                free.left + 0.5 * spare - px_per_m * from.0,
                free.bottom() + px_per_m * from.1,
            ),
            free,
        }
    }

    /// Where a place in the section lies, px.
    pub fn at(&self, (x_m, z_m): Spot) -> (f64, f64) {
        (
            self.corner.0 + self.px_per_m * x_m,
            self.corner.1 - self.px_per_m * z_m,
        )
    }

    /// A box from one corner to the other, m.
    pub fn area(&self, one: Spot, other: Spot) -> Area {
        let ((a, b), (c, d)) = (self.at(one), self.at(other));
        Area {
            left: a.min(c),
            top: b.min(d),
            width: (c - a).abs(),
            height: (d - b).abs(),
        }
    }

    /// A bar of a round length, to see how large the machine is.
    pub fn bar(&self, scene: &mut Scene, key: Area, units: System, small: Type) {
        const ROUND_M: [f64; 7] = [0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0];
        let most = 0.22 * key.width;
        let length_m = ROUND_M
            .into_iter()
            .rev()
            .find(|length| length * self.px_per_m <= most)
            .unwrap_or(ROUND_M[0]);
        let length = length_m * self.px_per_m;
        let right = key.right();
        let y = key.top + 12.0;
        let stroke = Stroke::solid(Colour::INK, 1.6);
        scene.level(y, right - length, right, stroke.clone());
        for x in [right - length, right] {
            scene.upright(x, y - 4.0, y + 4.0, stroke.clone());
        }
        let text = format_length(length_m, units);
        scene.text(&text, (right, y + 1.5 * small.size), Align::Right, small);
    }
}

//! The colours of temperatures: one scale, light where it is cool and dark where it is hot, with numbers on it.
//!
//! It spans what the chamber's air and the filament see. What is hotter, as bed and hotend are, has the last colour,
//! and its number beside it.

use super::place::Place;
use crate::chamber::Simulation;
use crate::output::chart::colour_scale;
use crate::output::chart::scene::{Align, Area, Colour, Scene, Stroke, Type};
use crate::quantity::{System, format_temperature};
use crate::run::Run;

/// Colours that are told apart on the key.
const STEPS: usize = 48;
/// How far the scale goes beyond the softening limit, K.
const BEYOND_LIMIT_K: f64 = 10.0;

/// From a temperature to a colour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    low_K: f64,
    high_K: f64,
    limit_K: f64,
}

impl Scale {
    /// The scale of a whole run: the same at each of its moments.
    pub fn of(run: &Run, s: &Simulation, place: &Place) -> Self {
        let limit_K = place.deciding.limit_K(run);
        let points = &s.chamber.points;
        let span = (s.trajectory.begin_s(), s.trajectory.end_s());
        let (mut low_K, mut high_K) = (f64::INFINITY, limit_K + BEYOND_LIMIT_K);
        for k in 0..=96 {
            let at_s = span.0 + (span.1 - span.0) * f64::from(k) / 96.0;
            low_K = low_K.min(s.temperature_K(points.room, at_s));
            for point in &points.air {
                let air_K = s.temperature_K(*point, at_s);
                (low_K, high_K) = (low_K.min(air_K), high_K.max(air_K));
            }
        }
        let five = |value: f64, up: bool| {
            let steps = (value - 273.15) / 5.0;
            273.15 + 5.0 * if up { steps.ceil() } else { steps.floor() }
        };
        Self {
            low_K: five(low_K, false),
            high_K: five(high_K, true).max(five(low_K, false) + 5.0),
            limit_K,
        }
    }

    pub fn colour(&self, temperature_K: f64) -> Colour {
        let share = (temperature_K - self.low_K) / (self.high_K - self.low_K);
        let step = (share.clamp(0.0, 1.0) * STEPS as f64)
            .min(STEPS as f64 - 1.0)
            .floor();
        colour_scale::colour(1.0 - (step + 0.5) / STEPS as f64)
    }

    /// The scale with its numbers, and where the limit lies.
    pub fn key(&self, scene: &mut Scene, area: Area, units: System, small: Type) {
        let bar = Area {
            left: area.left + 4.0,
            top: area.top + 4.0 + small.size,
            width: 0.66 * area.width,
            height: 11.0,
        };
        for step in 0..STEPS {
            let share = step as f64 / STEPS as f64;
            let cell = Area {
                left: bar.left + share * bar.width,
                width: bar.width / STEPS as f64,
                ..bar
            };
            let middle = self.low_K + (share + 0.5 / STEPS as f64) * (self.high_K - self.low_K);
            scene.cells(vec![cell], self.colour(middle));
        }
        let x = |temperature_K: f64| {
            bar.left + (temperature_K - self.low_K) / (self.high_K - self.low_K) * bar.width
        };
        let span = units.difference(self.high_K - self.low_K);
        let step = [5.0, 10.0, 20.0, 50.0, 100.0, 200.0]
            .into_iter()
            .find(|step| span / step <= 6.0)
            .unwrap_or(500.0);
        let (low, high) = (
            units.temperature(self.low_K),
            units.temperature(self.high_K),
        );
        let mut value = (low / step).ceil() * step;
        let last = (high / step + 1e-9).floor() * step;
        while value <= high + 1e-9 {
            let at = bar.left + (value - low) / (high - low) * bar.width;
            scene.upright(
                at,
                bar.bottom(),
                bar.bottom() + 3.0,
                Stroke::solid(Colour::INK, 1.0),
            );
            let text = match (value - last).abs() < 1e-9 {
                true => format!("{value:.0} {} and above", units.temperature_unit()),
                false => format!("{value:.0}"),
            };
            let align = match (value - last).abs() < 1e-9 {
                true => Align::Left,
                false => Align::Centre,
            };
            let from = match align {
                Align::Left => at - 0.5 * scene.width(&format!("{value:.0}"), small),
                _ => at,
            };
            scene.text(&text, (from, bar.bottom() + 4.0 + small.size), align, small);
            value += step;
        }
        let limit = x(self.limit_K);
        scene.upright(
            limit,
            bar.top - 3.0,
            bar.bottom(),
            Stroke::solid(Colour::INK, 2.0),
        );
        let text = format!("limit {}", format_temperature(self.limit_K, units));
        scene.text(&text, (limit, bar.top - 5.0), Align::Centre, small);
    }
}

//! Where the heat of a chamber comes from and where it goes, as bands as wide as they are strong.

use maud::Markup;

use crate::chamber::Simulation;
use crate::network::{Direction, HeatAudit};
use crate::output::chart::scene::{Align, Area, Colour, Scene, Shape, Type};
use crate::output::chart::{ChartError, Role, Size, inline_scene, style};
use crate::output::font::Weight;
use crate::quantity::format_power;

/// What is weaker than this share of the whole goes together.
const SMALL_SHARE: f64 = 0.012;
/// Over so long a time around a moment heat is averaged, s: a heater's switching is no flow.
const WINDOW_S: f64 = 1800.0;
/// Weaker than this is written as nothing, W.
const NOTHING_W: f64 = 0.05;
const REST: &str = "the rest";

/// Heat flows, W, all of them positive, the strongest first.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatFlows {
    /// Names and powers of what brings heat.
    pub into: Vec<(String, f64)>,
    /// Names and powers of what takes it, and what is stored.
    pub out: Vec<(String, f64)>,
}

impl HeatFlows {
    /// The means over a whole run of so many seconds.
    #[must_use]
    pub fn of_run(heat: &HeatAudit, duration_s: f64) -> Self {
        let mean = |side: &[(String, f64)]| -> Vec<(String, f64)> {
            let each = side.iter();
            each.map(|(name, q)| (name.clone(), q / duration_s))
                .collect()
        };
        Self::of(mean(&heat.in_J), mean(&heat.out_J))
    }

    /// The means of the half hour around a moment, s from the start.
    #[must_use]
    pub fn at(s: &Simulation, at_s: f64) -> Self {
        let (begin, end) = (s.trajectory.begin_s(), s.trajectory.end_s());
        let from = (at_s - 0.5 * WINDOW_S).clamp(begin, (end - WINDOW_S).max(begin));
        let to = (from + WINDOW_S).min(end);
        let n = s.trajectory.unknowns;
        let (mut into, mut out) = (Vec::new(), Vec::new());
        for (id, entry) in s.chamber.network.reported() {
            let k = n + id.position();
            let ledger = |t: f64| {
                let (piece, x) = s.trajectory.locate(t);
                piece.value(k, x)
            };
            let mean_W = (ledger(to) - ledger(from)) / (to - from);
            match entry.direction {
                Direction::In => into.push((entry.name.clone(), mean_W)),
                Direction::Out => out.push((entry.name.clone(), -mean_W)),
            }
        }
        Self::of(into, out)
    }

    /// Sorts both sides; what flows backwards stands on the other side, and what is left over is stored or given back.
    fn of(into: Vec<(String, f64)>, out: Vec<(String, f64)>) -> Self {
        let (mut ins, mut outs) = (Vec::new(), Vec::new());
        for (name, q) in into {
            match q >= 0.0 {
                true => ins.push((name, q)),
                false => outs.push((name, -q)),
            }
        }
        for (name, q) in out {
            match q >= 0.0 {
                true => outs.push((name, q)),
                false => ins.push((name, -q)),
            }
        }
        let sum = |side: &[(String, f64)]| side.iter().map(|(_, q)| q).sum::<f64>();
        let stored = sum(&ins) - sum(&outs);
        match stored >= 0.0 {
            true => outs.push(("stored".to_owned(), stored)),
            false => ins.push(("given back from store".to_owned(), -stored)),
        }
        let total = sum(&ins);
        Self {
            into: gathered(ins, total),
            out: gathered(outs, total),
        }
    }

    /// All that comes in, W; as much goes out.
    #[must_use]
    pub fn total_W(&self) -> f64 {
        self.into.iter().map(|(_, q)| q).sum()
    }
}

/// The strong ones by strength, and the weak ones together.
fn gathered(all: Vec<(String, f64)>, total: f64) -> Vec<(String, f64)> {
    let (mut strong, weak): (Vec<_>, Vec<_>) = all
        .into_iter()
        .filter(|(_, q)| *q >= NOTHING_W)
        .partition(|(_, q)| *q >= SMALL_SHARE * total);
    strong.sort_by(|a, b| b.1.total_cmp(&a.1));
    match &weak[..] {
        [] => {}
        [one] => strong.push(one.clone()),
        many => strong.push((REST.to_owned(), many.iter().map(|(_, q)| q).sum())),
    }
    strong
}

/// The flows as a part of a web page; `id` tells it from every other picture there.
///
/// # Errors
/// [`ChartError`] if the fonts can't be read.
pub fn picture(flows: &HeatFlows, title: &str, size: Size, id: &str) -> Result<Markup, ChartError> {
    Ok(inline_scene(&scene(flows, title, size)?, id))
}

/// A band's place beside the bar in the middle and at its own end, px.
#[derive(Debug, Clone, Copy)]
struct Band {
    at_bar: f64,
    at_end: f64,
    wide: f64,
}

fn scene(flows: &HeatFlows, title: &str, size: Size) -> Result<Scene, ChartError> {
    let mut scene = Scene::new(size, title, &description(flows))?;
    let small = size.width < 600;
    let kind = |size: f64, weight, colour| Type {
        size,
        weight,
        colour,
    };
    let (name, value) = (
        kind(
            if small { 11.0 } else { 12.5 },
            Weight::Regular,
            Colour::QUIET,
        ),
        kind(
            if small { 11.5 } else { 13.0 },
            Weight::Semibold,
            Colour::INK,
        ),
    );
    let (width, height) = (f64::from(size.width), f64::from(size.height));
    let slot = name.size + value.size + 9.0;
    let side_width = if small { 0.31 } else { 0.26 } * width;
    let head = 2.2 * value.size;
    let free = height - head - 6.0;
    // So many pixels a watt that either side has room for its names.
    let total = flows.total_W().max(1e-9);
    let taken = |per_W: f64, side: &[(String, f64)]| -> f64 {
        side.iter().map(|(_, q)| (q * per_W).max(slot) + 4.0).sum()
    };
    let (mut low, mut high) = (0.0, 0.8 * free / total);
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        let fits = taken(middle, &flows.into).max(taken(middle, &flows.out)) <= free;
        (low, high) = if fits { (middle, high) } else { (low, middle) };
    }
    let per_W = low;
    let bar = Area {
        left: 0.5 * width - 9.0,
        top: head + 0.5 * (free - total * per_W),
        width: 18.0,
        height: total * per_W,
    };
    let text = format!("{} in, and out or stored", format_power(total));
    scene.text(&text, (0.5 * width, value.size + 2.0), Align::Centre, value);
    for (side, is_in) in [(&flows.into, true), (&flows.out, false)] {
        let colour = match is_in {
            true => style::stroke(Role::Source(0), 1.0).colour,
            false => style::stroke(Role::Sink(0), 1.0).colour,
        };
        let mut from_bar = bar.top;
        let mut from_end = head + 0.5 * (free - taken(per_W, side));
        for (label, q) in side {
            let wide = q * per_W;
            let room = wide.max(slot) + 4.0;
            let band = Band {
                at_bar: from_bar,
                at_end: from_end + 0.5 * (room - wide),
                wide,
            };
            let (end_x, bar_x) = match is_in {
                true => (side_width, bar.left),
                false => (width - side_width, bar.right()),
            };
            let fill = if label == "stored" || label.starts_with("given back") {
                Colour::QUIET
            } else {
                colour
            };
            scene.shapes.push(Shape::Region {
                outline: outline(band, end_x, bar_x),
                fill,
                opacity: 0.62,
            });
            let middle = band.at_end + 0.5 * wide;
            let (x, align) = match is_in {
                true => (side_width - 8.0, Align::Right),
                false => (width - side_width + 8.0, Align::Left),
            };
            let shown = scene.fitted(label, name, side_width - 12.0);
            scene.text(&shown, (x, middle - 2.0), align, name);
            scene.text(&format_power(*q), (x, middle + value.size), align, value);
            from_bar += wide;
            from_end += room;
        }
    }
    scene.fill(bar, Colour::INK, 1.0);
    Ok(scene)
}

/// A band that leaves its end level and meets the bar level.
fn outline(band: Band, end_x: f64, bar_x: f64) -> Vec<(f64, f64)> {
    let ease = |u: f64| u * u * (3.0 - 2.0 * u);
    let edge = |shift: f64| {
        (0..=24).map(move |k| {
            let u = f64::from(k) / 24.0;
            let y = band.at_end + (band.at_bar - band.at_end) * ease(u) + shift;
            (end_x + (bar_x - end_x) * u, y)
        })
    };
    let mut points: Vec<(f64, f64)> = edge(0.0).collect();
    let back: Vec<(f64, f64)> = edge(band.wide.max(0.6)).collect();
    points.extend(back.into_iter().rev());
    points
}

fn description(flows: &HeatFlows) -> String {
    let list = |side: &[(String, f64)]| -> String {
        let each: Vec<String> = side
            .iter()
            .map(|(name, q)| format!("{name} {}", format_power(*q)))
            .collect();
        each.join(", ")
    };
    format!(
        "Heat comes from: {}. It goes to: {}.",
        list(&flows.into),
        list(&flows.out)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chamber::IntegratorKind;

    fn named(side: &[(&str, f64)]) -> Vec<(String, f64)> {
        side.iter().map(|(n, q)| ((*n).to_owned(), *q)).collect()
    }

    /// By hand: 100 W in, of which 5 W flow back where they came from; 80 W out; so 95 - 80 = 15 W are stored, and two
    /// flows below 1.2 W stand together.
    #[test]
    fn both_sides_balance() {
        let into = named(&[("bed", 98.0), ("sun", -5.0), ("a", 1.0), ("b", 1.0)]);
        let flows = HeatFlows::of(into, named(&[("lid", 80.0)]));
        assert_eq!(flows.into, named(&[("bed", 98.0), (REST, 2.0)]));
        let out = named(&[("lid", 80.0), ("stored", 15.0), ("sun", 5.0)]);
        assert_eq!(flows.out, out);
        assert_eq!(flows.total_W(), 100.0);
    }

    /// The means over many moments are the means over the run.
    #[test]
    fn moments_add_up_to_the_run() {
        let run = crate::runfile::demo().run;
        let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Default::default()).unwrap();
        let whole = HeatFlows::of_run(&s.heat(), run.duration_s);
        let steps = (run.duration_s / WINDOW_S) as usize;
        let of = |flows: &HeatFlows, name: &str| {
            let found = flows.into.iter().find(|(n, _)| n == name);
            found.map_or(0.0, |(_, q)| *q)
        };
        let strongest = &whole.into[0].0;
        let sum: f64 = (0..steps)
            .map(|k| of(&HeatFlows::at(&s, (k as f64 + 0.5) * WINDOW_S), strongest))
            .sum();
        let (mean, known) = (sum / steps as f64, whole.into[0].1);
        assert!((mean / known - 1.0).abs() < 1e-6, "{mean} and {known}");
    }

    #[test]
    fn no_two_texts_touch() {
        let many: Vec<(String, f64)> = (0..14).map(|k| (format!("source {k}"), 10.0)).collect();
        let flows = HeatFlows::of(many.clone(), many);
        for (width, height) in [(860, 420), (360, 640)] {
            let scene = scene(&flows, "heat", Size { width, height }).unwrap();
            let areas = scene.text_areas();
            for (k, one) in areas.iter().enumerate() {
                for other in &areas[k + 1..] {
                    assert!(!one.overlaps(*other), "{width}: {one:?} {other:?}");
                }
            }
        }
    }
}

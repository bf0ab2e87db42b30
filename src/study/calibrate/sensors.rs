//! Where a thermometer may be, in the words a technician has for it.

use crate::chamber::points::Chain;
use crate::chamber::simulation::SimulationError;
use crate::chamber::{Chamber, Simulation};
use crate::keys::nearest::did_you_mean;
use crate::run::Run;
use std::borrow::Cow;

/// A place that can be measured: a point of the network, or the mean of several.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sensor {
    /// What it is called.
    pub name: String,
    places: Vec<usize>,
    /// How many points the network has that it was found in.
    points: usize,
}

/// There is no such place.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no place \"{sensor}\" in this machine; {}", near.as_ref().map_or_else(|| format!("it has {}", known.join(", ")), Clone::clone))]
pub struct UnknownSensor {
    /// What was asked for.
    pub sensor: String,
    /// "did you mean ...?", where something is near.
    pub near: Option<String>,
    /// The places there are.
    pub known: Vec<String>,
}

impl Sensor {
    /// The place of that name. The order of words does not matter ("top air"), nor do capitals and underscores.
    ///
    /// # Errors
    /// When there is none.
    pub fn find(words: &str, chamber: &Chamber) -> Result<Self, UnknownSensor> {
        let all = Self::all(chamber);
        let asked = folded(words);
        if let Some(found) = all.iter().find(|s| folded(&s.name) == asked) {
            return Ok(found.clone());
        }
        let names: Vec<&str> = all.iter().map(|s| s.name.as_str()).collect();
        let near = did_you_mean(words, names.iter().copied(), |name| format!("\"{name}\""));
        // What lies within a panel nobody measures.
        let known = names.iter().filter(|name| !name.contains("slice"));
        Err(UnknownSensor {
            sensor: words.to_owned(),
            near,
            known: known.map(ToString::to_string).collect(),
        })
    }

    /// Every place of a machine: its nodes, the room, and means of what is one thing to a thermometer.
    #[must_use]
    pub fn all(chamber: &Chamber) -> Vec<Self> {
        let points = &chamber.points;
        let count = chamber.network.names().count();
        let names = chamber.network.names().enumerate();
        let mut all: Vec<Self> = names
            .map(|(point, name)| Self {
                name: name.to_owned(),
                places: vec![point],
                points: count,
            })
            .collect();
        let face = |face: fn(&Chain) -> usize| points.walls.iter().map(face).collect();
        for (name, places) in [
            ("air", points.air.clone()),
            ("walls inside", face(|chain| chain.inner)),
            ("walls outside", face(|chain| chain.outer)),
        ] {
            if all.iter().all(|known| known.name != name) {
                all.push(Self {
                    name: name.to_owned(),
                    places,
                    points: count,
                });
            }
        }
        all
    }

    /// The places at which one thermometer can be held: no means, nothing within a panel, and neither the part's inside
    /// nor a heated block, whose own sensor holds it.
    #[must_use]
    pub fn reachable(chamber: &Chamber) -> Vec<Self> {
        let points = &chamber.points;
        let inner = points.chains().flat_map(|chain| {
            let within = |point: &usize| *point != chain.inner && *point != chain.outer;
            let nodes = chain
                .links
                .iter()
                .flat_map(|(one, other, _)| [*one, *other]);
            nodes.filter(move |point| within(point))
        });
        let mut hidden: Vec<usize> = inner.collect();
        hidden.extend([points.part, points.hotend]);
        hidden.extend(points.second_hotend.map(|(block, _)| block));
        hidden.extend(points.outdoors);
        let all = Self::all(chamber).into_iter();
        all.filter(|sensor| matches!(sensor.places[..], [point] if !hidden.contains(&point)))
            .collect()
    }

    /// Whether it is at that point and nowhere else.
    #[must_use]
    pub fn is_at(&self, point: usize) -> bool {
        self.places == [point]
    }

    /// The same place in another chamber of the same machine: a value that makes a panel thicker may move how many points
    /// it has, and so where all others stand.
    #[must_use]
    pub fn in_chamber(&self, chamber: &Chamber) -> Cow<'_, Self> {
        if chamber.network.names().count() == self.points {
            return Cow::Borrowed(self);
        }
        let mut its = Self::all(chamber).into_iter();
        let found = its.find(|place| place.name == self.name);
        found.map_or(Cow::Borrowed(self), Cow::Owned)
    }

    /// What it would show at a time, s, in K.
    #[must_use]
    pub fn shows_K(&self, simulation: &Simulation, at_s: f64) -> f64 {
        let each = self.places.iter();
        let sum: f64 = each.map(|p| simulation.temperature_K(*p, at_s)).sum();
        #[expect(clippy::cast_precision_loss, reason = "some twenty layers at most")]
        let mean = sum / self.places.len() as f64;
        mean
    }
}

/// The chamber of a run in which places are found. Other machines in its room are left away: they add none.
///
/// # Errors
/// See [`SimulationError`].
pub fn chamber_of(run: &Run) -> Result<Chamber, SimulationError> {
    let mut alone = run.clone();
    alone.neighbours.clear();
    Ok(Chamber::new(&alone)?)
}

/// The words that tell places apart, in an order of their own.
fn folded(name: &str) -> Vec<String> {
    let lower = name.to_lowercase();
    let words = lower.split(|c: char| c.is_whitespace() || matches!(c, '_' | '-'));
    let mut words: Vec<String> = words
        .filter(|word| !matches!(*word, "" | "temperature" | "the"))
        .map(str::to_owned)
        .collect();
    words.sort();
    words
}

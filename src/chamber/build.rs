//! From a run to a chamber.

use super::build_error::BuildError;
use super::built::Chamber;
use super::enclosure::Enclosures;
use super::points::Points;
use super::site::{Openness, Site};
use super::start::start;
use super::stations::Stations;
use super::things::{Things, share_of_hotend};
use super::timeline::{Recipe, Timeline};
use crate::network::{Builder, Configuration, Network, Schedule, checked};
use crate::physics::air::pressure_at_altitude_Pa;
use crate::run::Run;

impl Chamber {
    /// Builds the network of a run.
    ///
    /// # Errors
    /// When the run makes no network: see [`BuildError`].
    pub fn new(run: &Run) -> Result<Self, BuildError> {
        build(run, &Enclosures::default())
    }

    /// The same, where enclosures that are known need not be solved again.
    ///
    /// # Errors
    /// When the run makes no network: see [`BuildError`].
    pub fn with(run: &Run, enclosures: &Enclosures) -> Result<Self, BuildError> {
        build(run, enclosures)
    }
}

fn build(run: &Run, enclosures: &Enclosures) -> Result<Chamber, BuildError> {
    let layers = run.machine.air_layers;
    if layers < 2 {
        return Err(BuildError::Layers { layers });
    }
    if !run.neighbours.is_empty() {
        return Err(BuildError::Neighbours);
    }
    let timeline = Timeline::new(run)?;
    // Everything starts at the room's temperature unless it is said otherwise, and heat counts from there.
    let reference_K = run.room.weather.at(0.0).0;
    let builder = Builder::new(reference_K, pressure_at_altitude_Pa(run.room.altitude_m));
    let (things, mut network) = Things::new(run, &timeline, builder);
    let points = things.points();
    start(&run.initial, &points, &mut network);
    let mut configurations: Vec<Configuration> = Vec::with_capacity(timeline.recipes.len());
    for recipe in &timeline.recipes {
        // All have nearly the same elements.
        let before = configurations.last();
        let mut c = before.map_or_else(Configuration::default, Configuration::room_for_as_many);
        elements(run, recipe, &points, &network, &things, enclosures, &mut c)?;
        configurations.push(c);
    }
    let stations = configurations
        .iter()
        .map(|c| Stations::of(&c.streams[0], share_of_hotend(run), points.hotend))
        .collect();
    let schedule = Schedule::new(configurations, timeline.schedule(points.top()))?;
    checked(&network, &schedule)?;
    Ok(Chamber {
        run: run.clone(),
        network,
        schedule,
        timeline,
        points,
        stations,
    })
}

/// Adds the elements of a chamber, as it is in one phase and arrangement.
pub(super) fn elements(
    run: &Run,
    recipe: &Recipe,
    points: &Points,
    network: &Network,
    things: &Things,
    enclosures: &Enclosures,
    c: &mut Configuration,
) -> Result<(), BuildError> {
    let open = Openness::of(&recipe.arrangement);
    let site = Site {
        run,
        p: points,
        recipe,
        open,
        network,
    };
    let enclosure = enclosures.of(&site, things)?;
    c.enclosures.push(enclosure);
    for thing in things.all() {
        thing.elements(&site, c)?;
    }
    Ok(())
}

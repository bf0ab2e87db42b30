//! From a run to a chamber.

use std::sync::Arc;

use super::site::{Openness, Site};
use super::stations::Stations;
use super::things::Things;
use super::timeline::Timeline;
use super::{Chamber, enclosure};
use crate::network::elements::control::ControlError;
use crate::network::elements::enclosure::EnclosureError;
use crate::network::elements::plume::PlumeError;
use crate::network::{
    Builder, Configuration, Enclosure, NetworkError, NetworkSystem, Schedule, ScheduleError,
};
use crate::physics::air::pressure_at_altitude_Pa;
use crate::run::Run;

/// Why a chamber could not be built.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BuildError {
    /// Too few air layers.
    #[error("`machine.air_layers` is {layers}; the model takes 2 or more")]
    Layers {
        /// As asked.
        layers: usize,
    },
    /// Phases that leave gaps or end before the run.
    #[error("the phases of the job do not fill the run: {0}")]
    Phases(#[from] ScheduleError),
    /// Surfaces that make no enclosure.
    #[error(transparent)]
    Enclosure(#[from] EnclosureError),
    /// Layers that make no plume.
    #[error(transparent)]
    Plume(#[from] PlumeError),
    /// A heater or cooler that makes no sense.
    #[error(transparent)]
    Control(#[from] ControlError),
    /// A network that can't be run.
    #[error(transparent)]
    Network(#[from] NetworkError),
}

pub(super) fn build(run: &Run) -> Result<Chamber, BuildError> {
    let layers = run.machine.air_layers;
    if layers < 2 {
        return Err(BuildError::Layers { layers });
    }
    let timeline = Timeline::new(run)?;
    // Everything starts at the room's temperature, and heat counts from there.
    let reference_K = run.room.weather.at(0.0).0;
    let builder = Builder::new(reference_K, pressure_at_altitude_Pa(run.room.altitude_m));
    let (things, network) = Things::new(run, &timeline, builder);
    let points = things.points();
    let mut enclosures: Vec<(Openness, Arc<Enclosure>)> = Vec::new();
    let mut configurations = Vec::with_capacity(timeline.recipes.len());
    for recipe in &timeline.recipes {
        let open = Openness::of(&recipe.arrangement);
        let site = Site {
            run,
            p: &points,
            recipe,
            open,
            network: &network,
        };
        let known = enclosures.iter().find(|(o, _)| *o == open);
        let enclosure = match known {
            Some((_, e)) => Arc::clone(e),
            None => {
                let e = Arc::new(enclosure::enclosure(&site, &things)?);
                enclosures.push((open, Arc::clone(&e)));
                e
            }
        };
        let mut c = Configuration {
            enclosures: vec![enclosure],
            ..Configuration::default()
        };
        for thing in things.all() {
            thing.elements(&site, &mut c)?;
        }
        configurations.push(c);
    }
    let stations = configurations
        .iter()
        .map(|c| Stations::of(&c.streams[0]))
        .collect();
    let schedule = Schedule::new(configurations, timeline.schedule(points.top()))?;
    NetworkSystem::new(&network, &schedule)?;
    Ok(Chamber {
        run: run.clone(),
        network,
        schedule,
        timeline,
        points,
        stations,
    })
}

//! From a run to a network: every link of the chamber is made here.

use std::sync::Arc;

use super::Chamber;
use super::feed_path;
use super::geometry::{self, Openness};
use super::nodes::{self, Entry, Points};
use super::timeline::{Recipe, Timeline};
use crate::network::air_paths::MAX_OPENINGS;
use crate::network::elements::{Area, Convector, Enclosure, MAX_MEMBERS};
use crate::network::plume::MAX_LAYERS;
use crate::network::{Configuration, Index, Network};
use crate::physics::air::{AirTable, pressure_at_altitude_Pa};
use crate::physics::convection::{ConvectiveFace, Face};
use crate::run::Coefficient as K;
use crate::run::Run;
use crate::run::{ArrangementKind, Place};

/// Why a chamber could not be built.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BuildError {
    /// Too many air layers.
    #[error("`machine.air_layers` is {layers}; the model takes 2 to {most}")]
    Layers {
        /// As asked.
        layers: usize,
        /// The most.
        most: usize,
    },
    /// Too many openings.
    #[error(
        "the machine has {openings} openings (vents, leaks, strips of an open door); the model takes {most}: take fewer vents or air layers"
    )]
    Openings {
        /// As asked.
        openings: usize,
        /// The most.
        most: usize,
    },
}

/// Temperature of everything at the start: the room's.
pub(super) fn initial_K(run: &Run) -> f64 {
    run.room.weather.at(0.0).0
}

pub(super) fn build(run: &Run) -> Result<Chamber, BuildError> {
    let m = &run.machine;
    if m.air_layers < 2 || m.air_layers > MAX_LAYERS {
        return Err(BuildError::Layers {
            layers: m.air_layers,
            most: MAX_LAYERS,
        });
    }
    let (nodes, boundaries, points) = nodes::nodes(run);
    let pressure_Pa = pressure_at_altitude_Pa(run.room.altitude_m);
    let network = Network {
        nodes,
        boundaries,
        ledgers: Entry::ledgers(),
        air: AirTable::new(pressure_Pa),
        reference_K: initial_K(run),
    };
    let timeline = Timeline::new(run, points.part);
    let mut enclosures: Vec<(Openness, Arc<Enclosure>)> = Vec::new();
    let mut configurations = Vec::with_capacity(timeline.recipes.len());
    for recipe in &timeline.recipes {
        let open = Openness {
            lid_off: recipe.arrangement == ArrangementKind::LidOff,
            door_open: recipe.arrangement == ArrangementKind::DoorOpen,
        };
        let known = enclosures
            .iter()
            .find(|(o, _)| *o == open)
            .map(|(_, e)| Arc::clone(e));
        let enclosure = known.unwrap_or_else(|| {
            let e = Arc::new(geometry::enclosure(run, &points, open));
            enclosures.push((open, Arc::clone(&e)));
            e
        });
        debug_assert!(enclosure.members.len() <= MAX_MEMBERS);
        let configuration = Builder {
            run,
            p: &points,
            recipe,
            open,
            pressure_Pa,
            air: &network.air,
        }
        .configuration(enclosure);
        let openings = configuration
            .air_paths
            .as_ref()
            .map_or(0, |a| a.openings.len());
        if openings > MAX_OPENINGS {
            return Err(BuildError::Openings {
                openings,
                most: MAX_OPENINGS,
            });
        }
        configurations.push(configuration);
    }
    let biot = vec![
        (format!("lid ({})", m.lid.name), points.lid.biot),
        (format!("walls ({})", m.walls.name), points.walls[0].biot),
        (format!("door ({})", m.door.name), points.door.biot),
        (format!("floor ({})", m.floor.name), points.floor.biot),
    ];
    Ok(Chamber {
        initial_K: network.reference_K,
        network,
        configurations,
        timeline,
        surroundings: run.room.weather.clone(),
        points,
        duration_s: run.duration_s,
        biot,
    })
}

pub(super) struct Builder<'a> {
    pub(super) run: &'a Run,
    pub(super) p: &'a Points,
    pub(super) recipe: &'a Recipe,
    pub(super) open: Openness,
    pub(super) pressure_Pa: f64,
    pub(super) air: &'a AirTable,
}

impl Builder<'_> {
    pub(super) fn k(&self, c: K) -> f64 {
        self.run.coefficients.get(c)
    }

    pub(super) fn layers(&self) -> usize {
        self.p.air.len()
    }

    pub(super) fn top(&self) -> Index {
        self.p.air[self.layers() - 1]
    }

    pub(super) fn section_m2(&self) -> f64 {
        self.run.machine.width_m * self.run.machine.depth_m
    }

    /// The point around something that is in the chamber or outside it.
    pub(super) fn around(&self, place: Place) -> Index {
        match place {
            Place::ChamberBottom => self.p.air[0],
            Place::ChamberTop => self.top(),
            Place::Room => self.p.room,
        }
    }

    /// Air speed over the faces inside, m/s.
    fn speed_inside(&self) -> f64 {
        let fan = match self.recipe.arrangement {
            ArrangementKind::BlowingIn { flow_m3_per_s }
            | ArrangementKind::Extracting { flow_m3_per_s }
            | ArrangementKind::Recirculating { flow_m3_per_s, .. } => {
                flow_m3_per_s / self.section_m2()
            }
            ArrangementKind::Closed | ArrangementKind::LidOff | ArrangementKind::DoorOpen => 0.0,
        };
        self.k(K::StirringSpeed) * self.recipe.phase.motion_duty + fan
    }

    pub(super) fn inside(&self, face: Face, length_m: f64) -> ConvectiveFace {
        ConvectiveFace {
            face,
            length_m,
            speed_m_per_s: self.speed_inside(),
            forced_length_m: length_m,
            multiplier: self.k(K::InsideConvection),
        }
    }

    pub(super) fn outside(&self, face: Face, length_m: f64) -> ConvectiveFace {
        ConvectiveFace {
            face,
            length_m,
            speed_m_per_s: 0.0,
            forced_length_m: length_m,
            multiplier: self.k(K::OutsideConvection),
        }
    }

    pub(super) fn configuration(&self, enclosure: Arc<Enclosure>) -> Configuration {
        let mut c = Configuration {
            enclosures: vec![enclosure],
            ..Configuration::default()
        };
        self.shell(&mut c);
        self.bed_and_part(&mut c);
        self.frame_and_motors(&mut c);
        self.hotend_and_cold_end(&mut c);
        self.sources(&mut c);
        self.room(&mut c);
        c.air_paths = Some(self.air_paths());
        c.stream = Some(feed_path::stream(self.run, self.p, &self.recipe.phase, self.air).0);
        c
    }

    pub(super) fn convector(
        &self,
        surface: Index,
        air: Index,
        area: Area,
        face: ConvectiveFace,
        ledger: usize,
    ) -> Convector {
        Convector::new(surface, air, area, face, ledger, self.air)
    }

    /// Characteristic length of a horizontal rectangle: area over perimeter.
    pub(super) fn plate_length_m(width_m: f64, depth_m: f64) -> f64 {
        width_m * depth_m / (2.0 * (width_m + depth_m))
    }
}

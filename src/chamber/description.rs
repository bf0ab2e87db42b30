//! A chamber in words and numbers: what a person needs to rebuild its equations without this
//! program. Each link is named by its law and carries what the law needs; nothing that a law gives
//! (coefficients of convection, view factors, flows of air) is worked out here.
//!
//! Names end in their units. Points are named as in the CSV of a run. What each law says stands in
//! `docs/network.md`, which names belong to it in `docs/network.schema.json`.

use super::built::Chamber;
use super::points::Chain;
use super::stations::StationKind;
use super::things::panel::{Slicing, slicing};
use super::timeline::FIRST_LAYER;
use crate::network::Index;
use crate::network::description::{
    CourseDescription, HeaterDescription, Link, SourceDescription, Store,
};
use crate::network::elements::air_paths::LAMINAR_BELOW_PA;
use crate::network::elements::plume::{FADE_W, REACH_K};
use crate::physics::GRAVITY_M_PER_S2;
use crate::physics::air::{GAS_CONSTANT_J_PER_KGK, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::convection::EQUAL_BAND_K;
use crate::physics::openings::WEAK_EXCHANGE_K;
use crate::physics::overturning::OVERTURNING_BAND_K;
use crate::physics::plume::WEAK_PLUME_W;
use crate::run::Coefficient as K;
use crate::run::{Panel, PhaseKind};
use serde::Serialize;

/// The whole chamber.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Description {
    /// Length of the run, s.
    pub duration_s: f64,
    /// Temperature from which stored heat and the filament's heat are counted, K.
    pub reference_K: f64,
    /// Height of the place above the sea, m.
    pub altitude_m: f64,
    /// Machines that do the run in the room at the same time: the room's air, links, sources and heaters below are
    /// the share of one.
    pub machines_in_room: u32,
    /// Constants of air.
    pub air: AirConstants,
    /// How corners and steps of the laws are rounded.
    pub roundings: Roundings,
    /// How panels are cut into slices.
    pub slicing: Slicing,
    /// What stores heat.
    pub nodes: Vec<NodeDescription>,
    /// The point whose temperature is given.
    pub given: Given,
    /// The panels, from inside to outside.
    pub panels: Vec<PanelDescription>,
    /// How the part grows.
    pub growth: GrowthDescription,
    /// What of the filament is read at its stations.
    pub reading: FilamentReading,
    /// Links, sources and heaters of each combination of phase and arrangement.
    pub configurations: Vec<ConfigurationDescription>,
    /// Which configuration holds when.
    pub stretches: Vec<StretchDescription>,
}

/// What of the filament is read at its stations: once it has stood there, its mean, unless said otherwise.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FilamentReading {
    /// Where it is its surface, or its mean if that is warmer.
    pub surface_at: &'static str,
    /// Where it is drawn towards a point by conduction along it.
    pub drawn_at: &'static str,
    /// That point.
    pub drawn_to: String,
    /// Length of the neck between the two, m.
    pub neck_m: f64,
    /// How far ahead of the neck, m.
    pub ahead_m: f64,
    /// Coefficient between filament and bore, W/(m2 K).
    pub bore_W_per_m2K: f64,
}

/// Constants of air that the model takes as such.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AirConstants {
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Gas constant, J/(kg K).
    pub gas_constant_J_per_kgK: f64,
    /// Gravity, m/s2.
    pub gravity_m_per_s2: f64,
}

/// Widths of the roundings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Roundings {
    /// Difference of face and air within which convection is rounded, K.
    pub equal_temperatures_K: f64,
    /// Difference below which the exchange through a horizontal opening fades, K.
    pub weak_exchange_K: f64,
    /// Difference over which overturning sets in, K.
    pub overturning_K: f64,
    /// Pressure that rounds an opening's square root, Pa.
    pub orifice_Pa: f64,
    /// Convective power below which a plume's cube root fades, W.
    pub weak_plume_W: f64,
    /// Convective power over which a plume begins, W.
    pub plume_fade_W: f64,
    /// How much warmer than the top layer a face must be for all its heat to rise there, K.
    pub plume_reach_K: f64,
}

/// A node.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NodeDescription {
    /// Name, as in the CSV.
    pub name: String,
    /// Heat capacity, J/K; of the part when fully grown.
    pub capacity_J_per_K: f64,
    /// Temperature at the start, K.
    pub initial_K: f64,
    /// What the capacity is made of.
    pub stores: Store,
}

/// The given temperature.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Given {
    /// Name of the point.
    pub name: String,
    /// Its course.
    pub temperature: CourseDescription,
}

/// A panel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PanelDescription {
    /// Name.
    pub name: String,
    /// Area, m2.
    pub area_m2: f64,
    /// Its nodes, from inside to outside.
    pub nodes: Vec<String>,
    /// Its layers, from inside to outside.
    pub layers: Vec<LayerDescription>,
}

/// A layer of a panel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LayerDescription {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Conductivity, W/(m K).
    pub conductivity_W_per_mK: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
}

/// The growing part: its capacity is that of the share laid down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GrowthDescription {
    /// The node.
    pub node: String,
    /// Share that is there at the start.
    pub first_layer_share: f64,
}

/// A combination of phase and arrangement.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ConfigurationDescription {
    /// Kind of phase.
    pub phase: &'static str,
    /// Arrangement.
    pub arrangement: &'static str,
    /// What moves heat.
    pub links: Vec<Link>,
    /// Heat set free.
    pub sources: Vec<SourceDescription>,
    /// Heaters and coolers.
    pub heaters: Vec<HeaterDescription>,
}

/// A stretch of time with one configuration.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StretchDescription {
    /// Begin, s.
    pub begin_s: f64,
    /// End, s.
    pub end_s: f64,
    /// Configuration, counted from 0.
    pub configuration: usize,
    /// A thermostat's other configuration and its temperatures of the top layer.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thermostat: Option<ThermostatDescription>,
    /// Share of the part that is there at the beginning.
    pub part_share: f64,
    /// Growth of the share, 1/s.
    pub part_growth_per_s: f64,
}

/// A thermostat.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ThermostatDescription {
    /// Configuration while it rests.
    pub resting_configuration: usize,
    /// The point it measures.
    pub measures: String,
    /// Starts above, K.
    pub on_above_K: f64,
    /// Stops below, K.
    pub off_below_K: f64,
}

impl Chamber {
    /// What this chamber is made of, law by law.
    #[must_use]
    pub fn describe(&self) -> Description {
        let (network, run) = (&self.network, self.run());
        let name = |point: Index| network.name(point).to_owned();
        let given = &network.given_points()[0];
        let nodes = network.nodes().iter().enumerate();
        Description {
            duration_s: run.duration_s,
            reference_K: network.reference_K(),
            altitude_m: run.room.altitude_m,
            machines_in_room: run.room.building.as_ref().map_or(1, |b| b.machines),
            air: AirConstants {
                heat_capacity_J_per_kgK: HEAT_CAPACITY_J_PER_KGK,
                gas_constant_J_per_kgK: GAS_CONSTANT_J_PER_KGK,
                gravity_m_per_s2: GRAVITY_M_PER_S2,
            },
            roundings: Roundings {
                equal_temperatures_K: EQUAL_BAND_K,
                weak_exchange_K: WEAK_EXCHANGE_K,
                overturning_K: OVERTURNING_BAND_K,
                orifice_Pa: LAMINAR_BELOW_PA,
                weak_plume_W: WEAK_PLUME_W,
                plume_fade_W: FADE_W,
                plume_reach_K: REACH_K,
            },
            slicing: slicing(),
            nodes: nodes
                .map(|(k, node)| NodeDescription {
                    name: node.name.clone(),
                    capacity_J_per_K: node.capacity_J_per_K,
                    initial_K: network.initial_K(k),
                    stores: node.stores.clone(),
                })
                .collect(),
            given: Given {
                name: given.name.clone(),
                temperature: (&given.course).into(),
            },
            panels: self.panels(),
            reading: FilamentReading {
                surface_at: StationKind::DriveGear.name(),
                drawn_at: StationKind::ColdEnd.name(),
                drawn_to: name(self.points.hotend),
                neck_m: run.machine.hotend.neck_m,
                ahead_m: run.coefficients.get(K::SoftLength),
                bore_W_per_m2K: run.coefficients.get(K::BoreContact),
            },
            growth: GrowthDescription {
                node: name(self.points.part),
                first_layer_share: FIRST_LAYER,
            },
            configurations: self.configurations(&name),
            stretches: self.stretches(&name),
        }
    }

    fn panels(&self) -> Vec<PanelDescription> {
        let m = &self.run().machine;
        let panel = |chain: &Chain, panel: &Panel| PanelDescription {
            name: chain.name.clone(),
            area_m2: chain.area_m2,
            nodes: (chain.inner..=chain.outer)
                .map(|k| self.network.name(k).to_owned())
                .collect(),
            layers: panel
                .layers
                .iter()
                .map(|l| LayerDescription {
                    thickness_m: l.thickness_m,
                    conductivity_W_per_mK: l.conductivity_W_per_mK,
                    density_kg_per_m3: l.density_kg_per_m3,
                    heat_capacity_J_per_kgK: l.heat_capacity_J_per_kgK,
                })
                .collect(),
        };
        let made_of = [&m.lid, &m.door, &m.floor];
        let made_of = made_of.into_iter().chain(std::iter::repeat(&m.walls));
        self.points
            .chains()
            .zip(made_of)
            .map(|(c, p)| panel(c, p))
            .collect()
    }

    fn configurations(&self, name: &dyn Fn(Index) -> String) -> Vec<ConfigurationDescription> {
        let all = self.schedule.configurations().iter();
        let told = all.zip(&self.timeline.recipes).map(|(c, recipe)| {
            let chains = self.points.chains().filter(|chain| !chain.links.is_empty());
            let mut links: Vec<Link> = chains
                .map(|chain| Link::PanelConduction {
                    panel: chain.name.clone(),
                })
                .collect();
            links.extend(c.links(name));
            ConfigurationDescription {
                phase: phase_name(recipe.phase.kind),
                arrangement: recipe.arrangement.name(),
                links,
                sources: c.source_descriptions(name),
                heaters: c.heater_descriptions(name),
            }
        });
        told.collect()
    }

    fn stretches(&self, name: &dyn Fn(Index) -> String) -> Vec<StretchDescription> {
        let stretches = self.timeline.stretches.iter();
        stretches
            .map(|s| StretchDescription {
                begin_s: s.begin_s,
                end_s: s.end_s,
                configuration: s.on,
                thermostat: s.thermostat.map(|t| ThermostatDescription {
                    resting_configuration: t.off,
                    measures: name(self.points.top()),
                    on_above_K: t.on_above_K,
                    off_below_K: t.off_below_K,
                }),
                part_share: s.growth.at(s.begin_s),
                part_growth_per_s: s.growth.rate_per_s,
            })
            .collect()
    }
}

const fn phase_name(kind: PhaseKind) -> &'static str {
    match kind {
        PhaseKind::HeatUp => "heat up",
        PhaseKind::Soak => "soak",
        PhaseKind::Print => "print",
        PhaseKind::Pause => "pause",
        PhaseKind::SpoolChange => "spool change",
        PhaseKind::CoolDown => "cool down",
    }
}

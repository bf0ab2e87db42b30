//! From a chamber to its [`Description`].

use super::description::{
    AirConstants, AirDescription, ConfigurationDescription, Course, Description,
    EnclosureDescription, FaceDescription, FanDescription, FilamentDescription, FilamentInAir,
    Given, GrowingArea, GrowthDescription, HeaterDescription, LayerDescription, Link,
    NodeDescription, OpeningDescription, PanelDescription, Roundings, Slicing, SourceDescription,
    StationDescription, Store, StretchDescription, SurfaceDescription, ThermostatDescription,
};
use super::feed_path::{self, StationKind};
use super::links::UNDERSIDE_EMISSIVITY;
use super::nodes::{Chain, FACE_W_PER_M2K, MOST_SLICES, MOTOR_J_PER_KGK, UNDERSIDE_J_PER_M2K};
use super::timeline::{FIRST_LAYER, Recipe};
use super::{Chamber, geometry};
use crate::network::air_paths::LAMINAR_BELOW_PA;
use crate::network::elements::Area;
use crate::network::plume::{FADE_W, REACH_K};
use crate::network::{Configuration, Convector, Index, Radiator};
use crate::physics::GRAVITY_M_PER_S2;
use crate::physics::air::{GAS_CONSTANT_J_PER_KGK, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::conduction::{SHEET_BIOT, SLICE_BIOT};
use crate::physics::convection::{EQUAL_BAND_K, Face};
use crate::physics::openings::WEAK_EXCHANGE_K;
use crate::physics::plume::WEAK_PLUME_W;
use crate::run::Coefficient;
use crate::run::Run;
use crate::run::{ArrangementKind, Panel, PhaseKind, Place};

impl Chamber {
    /// What this chamber is made of, law by law. `run` is the one it was built from.
    #[must_use]
    pub fn describe(&self, run: &Run) -> Description {
        let d = Describer { chamber: self, run };
        Description {
            duration_s: self.duration_s,
            reference_K: self.network.reference_K,
            altitude_m: run.room.altitude_m,
            air: AirConstants {
                heat_capacity_J_per_kgK: HEAT_CAPACITY_J_PER_KGK,
                gas_constant_J_per_kgK: GAS_CONSTANT_J_PER_KGK,
                gravity_m_per_s2: GRAVITY_M_PER_S2,
            },
            roundings: Roundings {
                equal_temperatures_K: EQUAL_BAND_K,
                weak_exchange_K: WEAK_EXCHANGE_K,
                orifice_Pa: LAMINAR_BELOW_PA,
                weak_plume_W: WEAK_PLUME_W,
                plume_fade_W: FADE_W,
                plume_reach_K: REACH_K,
            },
            slicing: Slicing {
                face_W_per_m2K: FACE_W_PER_M2K,
                slice_biot: SLICE_BIOT,
                sheet_biot: SHEET_BIOT,
                most_slices: MOST_SLICES,
            },
            nodes: d.nodes(),
            given: d.given(),
            panels: d.chains().map(|(c, p)| d.panel(c, p)).collect(),
            growth: GrowthDescription {
                node: d.name(self.points.part),
                first_layer_share: FIRST_LAYER,
            },
            configurations: self
                .configurations
                .iter()
                .zip(&self.timeline.recipes)
                .map(|(c, r)| d.configuration(c, r))
                .collect(),
            stretches: d.stretches(),
        }
    }
}

struct Describer<'a> {
    chamber: &'a Chamber,
    run: &'a Run,
}

impl<'a> Describer<'a> {
    fn name(&self, point: Index) -> String {
        let network = &self.chamber.network;
        let n = network.nodes.len();
        match network.nodes.get(point) {
            Some(node) => node.name.clone(),
            None => network.boundaries[point - n].clone(),
        }
    }

    fn names(&self, points: &[Index]) -> Vec<String> {
        points.iter().map(|p| self.name(*p)).collect()
    }

    /// Every panel with what it is made of.
    fn chains(&self) -> impl Iterator<Item = (&'a Chain, &'a Panel)> + use<'a> {
        let (m, p) = (&self.run.machine, &self.chamber.points);
        let walls = p.walls.iter().map(|w| (w, &m.walls));
        [(&p.lid, &m.lid), (&p.door, &m.door), (&p.floor, &m.floor)]
            .into_iter()
            .chain(walls)
    }

    /// A panel's name: that of its nodes, without what tells them apart.
    fn panel_name(&self, chain: &Chain) -> String {
        let name = self.name(chain.inner);
        match name.strip_suffix(" inside") {
            Some(short) => short.to_owned(),
            None => name,
        }
    }

    fn panel(&self, chain: &Chain, panel: &Panel) -> PanelDescription {
        PanelDescription {
            name: self.panel_name(chain),
            area_m2: chain.area_m2,
            nodes: (chain.inner..=chain.outer).map(|k| self.name(k)).collect(),
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
        }
    }

    fn nodes(&self) -> Vec<NodeDescription> {
        let nodes = self.chamber.network.nodes.iter().enumerate();
        nodes
            .map(|(k, node)| NodeDescription {
                name: node.name.clone(),
                capacity_J_per_K: node.capacity_J_per_K,
                initial_K: self.chamber.initial_K,
                stores: self.store(k),
            })
            .collect()
    }

    fn store(&self, node: Index) -> Store {
        let (run, m, p) = (self.run, &self.run.machine, &self.chamber.points);
        let mass = |mass_kg: f64, heat_capacity_J_per_kgK: f64| Store::Mass {
            mass_kg,
            heat_capacity_J_per_kgK,
        };
        if let Some((chain, _)) = self
            .chains()
            .find(|(c, _)| (c.inner..=c.outer).contains(&node))
        {
            return Store::Panel {
                panel: self.panel_name(chain),
                position: node - chain.inner,
            };
        }
        if p.air.contains(&node) {
            return Store::Air {
                volume_m3: m.width_m * m.depth_m * m.height_m / p.air.len() as f64,
                storage_factor: 1.0,
            };
        }
        if p.underside == Some(node) {
            return Store::Sheet {
                area_m2: m.bed.width_m * m.bed.depth_m,
                capacity_J_per_m2K: UNDERSIDE_J_PER_M2K,
            };
        }
        match (node, &run.room.building) {
            (n, _) if n == p.bed => mass(m.bed.mass_kg, m.bed.heat_capacity_J_per_kgK),
            (n, _) if n == p.part => mass(run.part.mass_kg, run.material.heat_capacity_J_per_kgK),
            (n, _) if n == p.frame => mass(m.frame_mass_kg, m.frame_heat_capacity_J_per_kgK),
            (n, _) if n == p.motion => mass(m.motion.mass_kg, MOTOR_J_PER_KGK),
            (n, _) if n == p.feeder => mass(m.feeder.motor.mass_kg, MOTOR_J_PER_KGK),
            (n, _) if n == p.hotend => mass(m.hotend.mass_kg, m.hotend.heat_capacity_J_per_kgK),
            (n, Some(b)) if n == p.room => Store::Air {
                volume_m3: b.volume_m3,
                storage_factor: b.storage_factor,
            },
            _ => mass(m.cold_end.mass_kg, m.cold_end.heat_capacity_J_per_kgK),
        }
    }

    fn given(&self) -> Given {
        let weather = &self.run.room.weather;
        let temperature = match weather {
            crate::course::Course::Constant(temperature_K) => Course::Constant {
                temperature_K: *temperature_K,
            },
            crate::course::Course::Swing {
                mean,
                amplitude,
                crest_s,
            } => Course::DailySwing {
                mean_K: *mean,
                amplitude_K: *amplitude,
                warmest_at_s: *crest_s,
            },
            crate::course::Course::Series { .. } => {
                let (times_s, temperatures_K) = weather.points().unzip();
                Course::Series {
                    times_s,
                    temperatures_K,
                }
            }
        };
        Given {
            name: self.name(self.chamber.network.nodes.len()),
            temperature,
        }
    }

    fn stretches(&self) -> Vec<StretchDescription> {
        let air = &self.chamber.points.air;
        let top = air[air.len() - 1];
        let stretches = self.chamber.timeline.stretches.iter();
        stretches
            .map(|s| StretchDescription {
                begin_s: s.begin_s,
                end_s: s.end_s,
                configuration: s.on,
                thermostat: s.thermostat.map(|t| ThermostatDescription {
                    resting_configuration: t.off,
                    measures: self.name(top),
                    on_above_K: t.on_above_K,
                    off_below_K: t.off_below_K,
                }),
                part_share: s.growth.at(s.begin_s),
                part_growth_per_s: s.growth.rate_per_s,
            })
            .collect()
    }

    fn configuration(&self, c: &Configuration, recipe: &Recipe) -> ConfigurationDescription {
        let mut links: Vec<Link> = Vec::new();
        for (chain, _) in self.chains().filter(|(c, _)| !c.links.is_empty()) {
            links.push(Link::PanelConduction {
                panel: self.panel_name(chain),
            });
        }
        self.conductances(c, &mut links);
        links.extend(
            c.convectors
                .iter()
                .map(|e| Link::Convection { face: self.face(e) }),
        );
        links.extend(c.radiators.iter().map(|e| self.radiation(e)));
        links.extend(c.contacts.iter().map(|e| Link::GrowingContact {
            body: self.name(e.body),
            base: self.name(e.base),
            area_m2: e.area_m2,
            contact_W_per_m2K: e.contact_W_per_m2K,
            height_m: e.height_m,
            conductivity_W_per_mK: e.conductivity_W_per_mK,
        }));
        links.push(Link::GreyEnclosure(self.enclosure(&recipe.arrangement)));
        self.air(c, &mut links);
        self.plume(c, &mut links);
        links.push(Link::Filament(self.filament(recipe)));
        ConfigurationDescription {
            phase: phase_name(recipe.phase.kind),
            arrangement: arrangement_name(&recipe.arrangement),
            links,
            sources: c
                .sources
                .iter()
                .map(|s| SourceDescription {
                    point: self.name(s.node),
                    power_W: s.power_W,
                    per_K: s.per_K,
                })
                .collect(),
            heaters: c
                .controls
                .iter()
                .map(|h| HeaterDescription {
                    node: self.name(h.node),
                    setpoint_K: h.setpoint_K,
                    max_power_W: h.max_power_W,
                })
                .collect(),
        }
    }

    /// Conductances outside the panels: what was given as resistance is told as resistance.
    fn conductances(&self, c: &Configuration, links: &mut Vec<Link>) {
        let (m, p) = (&self.run.machine, &self.chamber.points);
        let within = |a: Index, b: Index| {
            self.chains()
                .any(|(c, _)| (c.inner..=c.outer).contains(&a) && (c.inner..=c.outer).contains(&b))
        };
        for e in c.conductors.iter().filter(|e| !within(e.a, e.b)) {
            let (a, b) = (self.name(e.a), self.name(e.b));
            let resistance = if p.underside == Some(e.b) && e.a == p.bed {
                Some((
                    m.bed.width_m * m.bed.depth_m,
                    m.bed.underside_resistance_m2K_per_W,
                ))
            } else if e.a == p.floor.outer {
                let bench = Coefficient::BenchResistance;
                Some((p.floor.area_m2, self.run.coefficients.get(bench)))
            } else {
                None
            };
            links.push(match resistance {
                Some((area_m2, resistance_m2K_per_W)) => Link::Resistance {
                    a,
                    b,
                    area_m2,
                    resistance_m2K_per_W,
                },
                None => Link::GivenConductance {
                    a,
                    b,
                    conductance_W_per_K: e.conductance_W_per_K,
                },
            });
        }
    }

    fn face(&self, e: &Convector) -> FaceDescription {
        FaceDescription {
            surface: self.name(e.surface),
            air: self.name(e.air),
            area: growing(e.area),
            orientation: match e.face.face {
                Face::Vertical => "vertical",
                Face::Up => "up",
                Face::Down => "down",
                Face::Cylinder => "cylinder",
            },
            length_m: e.face.length_m,
            forced_length_m: e.face.forced_length_m,
            speed_m_per_s: e.face.speed_m_per_s,
            natural_multiplier: e.face.multiplier,
        }
    }

    fn radiation(&self, e: &Radiator) -> Link {
        let (m, p) = (&self.run.machine, &self.chamber.points);
        let (a, b) = (self.name(e.a), self.name(e.b));
        if e.b == p.floor.inner {
            return Link::RadiationParallelPlates {
                a,
                b,
                area_m2: m.bed.width_m * m.bed.depth_m,
                emissivity_a: UNDERSIDE_EMISSIVITY,
                emissivity_b: m.floor.emissivity_inside,
            };
        }
        let mut found = self.chains().filter_map(|(chain, panel)| {
            if e.a == chain.outer {
                Some((chain.area_m2, panel.emissivity_outside))
            } else if e.a == chain.inner {
                Some((chain.area_m2, panel.emissivity_inside))
            } else {
                None
            }
        });
        let (area_m2, emissivity) = found.next().unwrap_or_else(|| {
            let motor = if e.a == p.motion {
                &m.motion
            } else {
                &m.feeder.motor
            };
            (motor.area_m2, geometry::MOTOR_EMISSIVITY)
        });
        Link::RadiationToSurroundings {
            a,
            b,
            area_m2,
            emissivity,
        }
    }

    fn enclosure(&self, arrangement: &ArrangementKind) -> EnclosureDescription {
        let (run, m, p) = (self.run, &self.run.machine, &self.chamber.points);
        let surface = |role: &'static str, point: Index, emissivity: f64| SurfaceDescription {
            role,
            point: self.name(point),
            emissivity,
            from_to_m: None,
            area_m2: None,
        };
        let side = |role, open: bool, chain: &Chain, panel: &Panel| {
            if open {
                surface(role, p.room, 1.0)
            } else {
                surface(role, chain.inner, panel.emissivity_inside)
            }
        };
        let lid_off = *arrangement == ArrangementKind::LidOff;
        let door_open = *arrangement == ArrangementKind::DoorOpen;
        let mut surfaces = vec![
            surface("bed", p.bed, m.bed.emissivity),
            surface("floor", p.floor.inner, m.floor.emissivity_inside),
            side("lid", lid_off, &p.lid, &m.lid),
            side("door", door_open, &p.door, &m.door),
        ];
        let slice = m.height_m / p.walls.len() as f64;
        for (k, wall) in p.walls.iter().enumerate() {
            surfaces.push(SurfaceDescription {
                from_to_m: Some([slice * k as f64, slice * (k + 1) as f64]),
                ..surface("walls", wall.inner, m.walls.emissivity_inside)
            });
        }
        let part_full_m2 = run.part.footprint_m2 + geometry::part_sides_m2(run);
        let mut body = |role, point, emissivity, area_m2: f64| {
            surfaces.push(SurfaceDescription {
                area_m2: Some(area_m2),
                ..surface(role, point, emissivity)
            });
        };
        body("body", p.frame, geometry::FRAME_EMISSIVITY, m.frame_area_m2);
        body("part", p.part, geometry::PART_EMISSIVITY, part_full_m2);
        for (point, motor) in [(p.motion, &m.motion), (p.feeder, &m.feeder.motor)] {
            if motor.place != Place::Room {
                body("body", point, geometry::MOTOR_EMISSIVITY, motor.area_m2);
            }
        }
        EnclosureDescription {
            width_m: m.width_m,
            depth_m: m.depth_m,
            height_m: m.height_m,
            bed_width_m: m.bed.width_m.min(m.width_m),
            bed_depth_m: m.bed.depth_m.min(m.depth_m),
            bed_free_m2: geometry::free_bed_m2(run),
            surfaces,
            part_area: GrowingArea {
                fixed_m2: run.part.footprint_m2,
                grown_m2: geometry::part_sides_m2(run),
            },
            part_full_m2,
        }
    }

    fn air(&self, c: &Configuration, links: &mut Vec<Link>) {
        let Some(e) = &c.air_paths else { return };
        let layers = self.names(&e.layers);
        links.push(Link::AirPaths(AirDescription {
            layers: layers.clone(),
            tops_m: e.tops_m.clone(),
            room: self.name(e.room),
            openings: e
                .openings
                .iter()
                .map(|o| OpeningDescription {
                    height_m: o.height_m,
                    area_m2: o.area_m2,
                    discharge: o.discharge,
                    layer: layers[o.layer].clone(),
                })
                .collect(),
            fans: e
                .draughts
                .iter()
                .map(|d| FanDescription {
                    layer: layers[d.layer].clone(),
                    outward_m3_per_s: d.outward_m3_per_s,
                })
                .collect(),
            short_circuit: e.short_circuit,
        }));
        if let Some((area_m2, rim_m)) = e.open_top {
            links.push(Link::OpenTop {
                layer: layers[layers.len() - 1].clone(),
                room: self.name(e.room),
                area_m2,
                rim_m,
            });
        }
        if e.inner_m3_per_s > 0.0 {
            links.push(Link::InnerCirculation {
                layers,
                flow_m3_per_s: e.inner_m3_per_s,
            });
        }
    }

    fn plume(&self, c: &Configuration, links: &mut Vec<Link>) {
        let Some(e) = &c.plume else { return };
        let m = &self.run.machine;
        let layers = self.names(&e.layers);
        let slice = m.height_m / layers.len() as f64;
        links.push(Link::Plume {
            faces: e.faces.iter().map(|f| self.face(f)).collect(),
            layers: layers.clone(),
            passes_m: (1..layers.len()).map(|k| slice * k as f64).collect(),
            source_area_m2: m.bed.width_m * m.bed.depth_m,
            multiplier: e.multiplier,
        });
        links.push(Link::LayerExchange {
            layers,
            section_m2: e.section_m2,
            stirring_m_per_s: e.stirring_m3_per_s / e.section_m2,
        });
    }

    fn filament(&self, recipe: &Recipe) -> FilamentDescription {
        let (run, m, p) = (self.run, &self.run.machine, &self.chamber.points);
        let (stream, kinds) = feed_path::stream(run, p, &recipe.phase, &self.chamber.network.air);
        let tubes = kinds.iter().filter(|k| **k == StationKind::GuideTube);
        let tube_m = m.guide_tube_m / tubes.count().max(1) as f64;
        let coefficient = |c| Some(run.coefficients.get(c));
        let stations = kinds.iter().zip(&stream.stations).map(|(kind, station)| {
            let (length_m, coefficient_W_per_m2K) = match kind {
                StationKind::DriveGear => (
                    m.feeder.grip_length_m,
                    coefficient(Coefficient::GearContact),
                ),
                StationKind::ColdEnd => {
                    (m.cold_end.length_m, coefficient(Coefficient::BoreContact))
                }
                StationKind::Spool | StationKind::GuideTube => (tube_m, None),
            };
            StationDescription {
                name: kind.name(),
                around: self.name(station.surroundings),
                length_m,
                coefficient_W_per_m2K,
            }
        });
        let (filament_K, air_K) = feed_path::IN_AIR_K;
        FilamentDescription {
            diameter_m: m.filament_diameter_m,
            feed_kg_per_s: recipe.phase.feed_kg_per_s,
            heat_capacity_J_per_kgK: run.material.heat_capacity_J_per_kgK,
            spool: self.name(stream.store),
            stations: stations.collect(),
            nozzle: self.name(stream.outlet),
            laid_on: self.name(stream.receiver),
            in_air: FilamentInAir {
                filament_K,
                air_K,
                emissivity: feed_path::FILAMENT_EMISSIVITY,
            },
        }
    }
}

fn growing(area: Area) -> GrowingArea {
    GrowingArea {
        fixed_m2: area.fixed_m2,
        grown_m2: area.grown_m2,
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

const fn arrangement_name(kind: &ArrangementKind) -> &'static str {
    match kind {
        ArrangementKind::Closed => "closed",
        ArrangementKind::LidOff => "lid off",
        ArrangementKind::DoorOpen => "door open",
        ArrangementKind::Extracting { .. } => "extracting",
        ArrangementKind::BlowingIn { .. } => "blowing in",
        ArrangementKind::Recirculating { .. } => "recirculating",
    }
}

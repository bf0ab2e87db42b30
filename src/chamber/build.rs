//! From a run to a network: every link of the chamber is made here.

use std::sync::Arc;

use super::Chamber;
use super::feed_path;
use super::geometry::{self, Openness};
use super::nodes::{self, Chain, Entry, Points};
use super::surroundings::Surroundings;
use super::timeline::{Recipe, Timeline};
use crate::coefficients::Coefficient as K;
use crate::network::air_paths::{AirPaths, Draught, MAX_OPENINGS, Opening};
use crate::network::elements::{
    Area, COPPER_PER_K, Conductor, Contact, Control, Convector, Enclosure, INTERNAL, MAX_MEMBERS,
    Radiator, Source,
};
use crate::network::plume::{MAX_LAYERS, Plume};
use crate::network::{Configuration, Index, Network};
use crate::physics::air::{Air, AirTable, HEAT_CAPACITY_J_PER_KGK, pressure_at_altitude_Pa};
use crate::physics::convection::{ConvectiveFace, Face};
use crate::physics::plume::virtual_origin_m;
use crate::runfile::Run;
use crate::runfile::model::{ArrangementKind, Place};

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

/// Typical size of the frame's bars, m: their convection is a cylinder's.
const FRAME_BAR_M: f64 = 0.04;
/// Discharge coefficient of cracks and doors (sharp-edged openings: 0.6, common in ventilation
/// handbooks, from memory).
const LEAK_DISCHARGE: f64 = 0.6;
/// Least leak area of any machine, m2.
const TIGHTEST_M2: f64 = 1e-6;
/// Heights of the leaks as shares of the chamber's: seams at floor and lid, holes between.
const LEAK_HEIGHTS: [f64; 4] = [0.02, 0.35, 0.65, 0.98];
/// Strips that stand for an open door in each air layer.
const DOOR_STRIPS: usize = 8;
/// Thickness of the rim around an open lid, m.
const LID_RIM_M: f64 = 0.01;
/// Share of the cold end's conductance that is left when its fan stands still.
const COLD_END_STILL: f64 = 0.2;
/// Share of the layer mixing that is left when nothing moves.
const MIXING_STILL: f64 = 0.2;

/// Temperature of everything at the start: the room's.
pub(super) fn initial_K(run: &Run) -> f64 {
    Surroundings::new(&run.room.weather, run.start).at(0.0).0
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
        surroundings: Surroundings::new(&run.room.weather, run.start),
        points,
        duration_s: run.duration_s,
        biot,
    })
}

struct Builder<'a> {
    run: &'a Run,
    p: &'a Points,
    recipe: &'a Recipe,
    open: Openness,
    pressure_Pa: f64,
    air: &'a AirTable,
}

impl Builder<'_> {
    fn k(&self, c: K) -> f64 {
        self.run.coefficients.get(c)
    }

    fn layers(&self) -> usize {
        self.p.air.len()
    }

    fn top(&self) -> Index {
        self.p.air[self.layers() - 1]
    }

    fn section_m2(&self) -> f64 {
        self.run.machine.width_m * self.run.machine.depth_m
    }

    /// The point around something that is in the chamber or outside it.
    fn around(&self, place: Place) -> Index {
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

    fn inside(&self, face: Face, length_m: f64) -> ConvectiveFace {
        ConvectiveFace {
            face,
            length_m,
            speed_m_per_s: self.speed_inside(),
            forced_length_m: length_m,
            multiplier: self.k(K::InsideConvection),
        }
    }

    fn outside(&self, face: Face, length_m: f64) -> ConvectiveFace {
        ConvectiveFace {
            face,
            length_m,
            speed_m_per_s: 0.0,
            forced_length_m: length_m,
            multiplier: self.k(K::OutsideConvection),
        }
    }

    fn configuration(&self, enclosure: Arc<Enclosure>) -> Configuration {
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

    /// Characteristic length of a horizontal rectangle: area over perimeter.
    fn plate_length_m(width_m: f64, depth_m: f64) -> f64 {
        width_m * depth_m / (2.0 * (width_m + depth_m))
    }

    fn shell(&self, c: &mut Configuration) {
        let (m, p) = (&self.run.machine, self.p);
        let plate = Self::plate_length_m(m.width_m, m.depth_m);
        for chain in p.walls.iter().chain([&p.lid, &p.door, &p.floor]) {
            for (a, b, g) in &chain.links {
                c.conductors.push(Conductor {
                    a: *a,
                    b: *b,
                    conductance_W_per_K: *g,
                    ledger: INTERNAL,
                });
            }
        }
        let inside = |surface: Index, air: Index, area: f64, face: ConvectiveFace| Convector {
            surface,
            air,
            area: Area::constant(area),
            face,
            ledger: INTERNAL,
        };
        // A lid taken off or a door swung open stands in the room: its inside face too.
        let lid_air = if self.open.lid_off {
            p.room
        } else {
            self.top()
        };
        let mut lid = inside(
            p.lid.inner,
            lid_air,
            p.lid.area_m2,
            self.inside(Face::Down, plate),
        );
        if self.open.lid_off {
            lid.ledger = Entry::Lid as usize;
            lid.face = self.outside(Face::Down, plate);
            c.radiators.push(self.to_room(
                &p.lid,
                p.lid.inner,
                m.lid.emissivity_inside,
                Entry::Lid,
            ));
        }
        c.convectors.push(lid);
        let layers = self.layers();
        for (k, wall) in p.walls.iter().enumerate() {
            c.convectors.push(inside(
                wall.inner,
                p.air[k],
                wall.area_m2,
                self.inside(Face::Vertical, m.height_m),
            ));
            c.convectors.push(Convector {
                surface: wall.outer,
                air: p.room,
                area: Area::constant(wall.area_m2),
                face: self.outside(Face::Vertical, m.height_m),
                ledger: Entry::Walls as usize,
            });
            c.radiators.push(self.to_room(
                wall,
                wall.outer,
                m.walls.emissivity_outside,
                Entry::Walls,
            ));
        }
        if self.open.door_open {
            c.convectors.push(Convector {
                ledger: Entry::Door as usize,
                ..inside(
                    p.door.inner,
                    p.room,
                    p.door.area_m2,
                    self.outside(Face::Vertical, m.height_m),
                )
            });
            c.radiators.push(self.to_room(
                &p.door,
                p.door.inner,
                m.door.emissivity_inside,
                Entry::Door,
            ));
        } else {
            for air in &p.air {
                let area = p.door.area_m2 / layers as f64;
                c.convectors.push(inside(
                    p.door.inner,
                    *air,
                    area,
                    self.inside(Face::Vertical, m.height_m),
                ));
            }
        }
        c.convectors.push(inside(
            p.floor.inner,
            p.air[0],
            p.floor.area_m2,
            self.inside(Face::Up, plate),
        ));
        for (chain, face, length, emissivity, entry) in [
            (
                &p.lid,
                Face::Up,
                plate,
                m.lid.emissivity_outside,
                Entry::Lid,
            ),
            (
                &p.door,
                Face::Vertical,
                m.height_m,
                m.door.emissivity_outside,
                Entry::Door,
            ),
        ] {
            c.convectors.push(Convector {
                surface: chain.outer,
                air: p.room,
                area: Area::constant(chain.area_m2),
                face: self.outside(face, length),
                ledger: entry as usize,
            });
            c.radiators
                .push(self.to_room(chain, chain.outer, emissivity, entry));
        }
        c.conductors.push(Conductor {
            a: p.floor.outer,
            b: p.room,
            conductance_W_per_K: p.floor.area_m2 / self.k(K::BenchResistance),
            ledger: Entry::Floor as usize,
        });
    }

    fn to_room(&self, chain: &Chain, face: Index, emissivity: f64, entry: Entry) -> Radiator {
        Radiator {
            a: face,
            b: self.p.room,
            exchange_area_m2: emissivity * chain.area_m2,
            ledger: entry as usize,
        }
    }

    fn bed_and_part(&self, c: &mut Configuration) {
        let (run, m, p) = (self.run, &self.run.machine, self.p);
        let bed_area = m.bed.width_m * m.bed.depth_m;
        let plate = Self::plate_length_m(m.bed.width_m, m.bed.depth_m);
        // Below the bed: insulation, if any, then air and floor.
        let under = match p.underside {
            None => p.bed,
            Some(under) => {
                c.conductors.push(Conductor {
                    a: p.bed,
                    b: under,
                    conductance_W_per_K: bed_area / m.bed.underside_resistance_m2K_per_W,
                    ledger: INTERNAL,
                });
                under
            }
        };
        c.convectors.push(Convector {
            surface: under,
            air: p.air[0],
            area: Area::constant(bed_area),
            face: self.inside(Face::Down, plate),
            ledger: INTERNAL,
        });
        // Bed and floor are close, large and parallel: 1 / (1/e1 + 1/e2 - 1).
        let floor = m.floor.emissivity_inside;
        c.radiators.push(Radiator {
            a: under,
            b: p.floor.inner,
            exchange_area_m2: bed_area / (1.0 / UNDERSIDE_EMISSIVITY + 1.0 / floor - 1.0),
            ledger: INTERNAL,
        });
        c.contacts.push(Contact {
            body: p.part,
            base: p.bed,
            area_m2: run.part.footprint_m2,
            contact_W_per_m2K: self.k(K::PartContact),
            height_m: run.part.height_m,
            conductivity_W_per_mK: run.material.conductivity_W_per_mK,
        });
        let warm = |surface: Index, area: Area, face: ConvectiveFace| Convector {
            surface,
            air: p.air[0],
            area,
            face,
            ledger: INTERNAL,
        };
        let part = Area {
            fixed_m2: run.part.footprint_m2,
            grown_m2: geometry::part_sides_m2(run),
        };
        let free = geometry::free_bed_m2(run);
        let slice = m.height_m / self.layers() as f64;
        let duty = self.recipe.phase.motion_duty.clamp(0.0, 1.0);
        let stirring = self.k(K::LayerMixing) * 1e-3 * (MIXING_STILL + (1.0 - MIXING_STILL) * duty);
        c.plume = Some(Plume {
            faces: vec![
                warm(p.bed, Area::constant(free), self.inside(Face::Up, plate)),
                warm(p.part, part, self.inside(Face::Vertical, run.part.height_m)),
            ],
            layers: p.air.clone(),
            interfaces_m: (1..self.layers()).map(|k| slice * k as f64).collect(),
            virtual_origin_m: virtual_origin_m((4.0 * bed_area / std::f64::consts::PI).sqrt()),
            multiplier: self.k(K::Plume),
            section_m2: self.section_m2(),
            stirring_m3_per_s: stirring * self.section_m2(),
        });
    }

    fn frame_and_motors(&self, c: &mut Configuration) {
        let (m, p) = (&self.run.machine, self.p);
        for air in &p.air {
            c.convectors.push(Convector {
                surface: p.frame,
                air: *air,
                area: Area::constant(m.frame_area_m2 / self.layers() as f64),
                face: self.inside(Face::Cylinder, FRAME_BAR_M),
                ledger: INTERNAL,
            });
        }
        for (node, motor, sink) in [
            (p.motion, &m.motion, 0.0),
            (p.feeder, &m.feeder.motor, m.feeder.heat_sink_W_per_K),
        ] {
            let air = self.around(motor.place);
            let out = motor.place == Place::Room;
            let ledger = if out {
                Entry::Outside as usize
            } else {
                INTERNAL
            };
            let edge = (motor.area_m2 / 6.0).sqrt();
            let face = if out {
                self.outside(Face::Vertical, edge)
            } else {
                self.inside(Face::Vertical, edge)
            };
            c.convectors.push(Convector {
                surface: node,
                air,
                area: Area::constant(motor.area_m2),
                face,
                ledger,
            });
            if out {
                c.radiators.push(Radiator {
                    a: node,
                    b: p.room,
                    exchange_area_m2: geometry::MOTOR_EMISSIVITY * motor.area_m2,
                    ledger,
                });
            }
            if sink > 0.0 {
                c.conductors.push(Conductor {
                    a: node,
                    b: air,
                    conductance_W_per_K: sink,
                    ledger,
                });
            }
        }
    }

    fn hotend_and_cold_end(&self, c: &mut Configuration) {
        let (m, p) = (&self.run.machine, self.p);
        let fan = if self.recipe.phase.powered {
            1.0
        } else {
            COLD_END_STILL
        };
        for (a, b, g) in [
            (
                p.hotend,
                self.top(),
                m.hotend.loss_W_per_K * self.k(K::HotendLoss),
            ),
            (
                p.hotend,
                p.cold_end,
                m.hotend.heat_break_W_per_K * self.k(K::HeatBreak),
            ),
            (
                p.cold_end,
                self.top(),
                m.cold_end.cooling_W_per_K * self.k(K::ColdEndCooling) * fan,
            ),
        ] {
            c.conductors.push(Conductor {
                a,
                b,
                conductance_W_per_K: g,
                ledger: INTERNAL,
            });
        }
    }

    fn sources(&self, c: &mut Configuration) {
        let (m, p, phase) = (&self.run.machine, self.p, &self.recipe.phase);
        let mut add = |node: Index, power_W: f64, per_K: f64, entry: Entry| {
            if power_W != 0.0 {
                c.sources.push(Source {
                    node,
                    power_W,
                    per_K,
                    ledger: entry as usize,
                });
            }
        };
        add(
            p.motion,
            m.motion.heat_W * phase.motion_duty * self.k(K::MotionHeat),
            COPPER_PER_K,
            Entry::Motion,
        );
        add(
            p.feeder,
            m.feeder.motor.heat_W * phase.feeder_duty * self.k(K::FeederHeat),
            COPPER_PER_K,
            Entry::Feeder,
        );
        if phase.powered {
            for air in &p.air {
                add(
                    *air,
                    m.electronics_W / self.layers() as f64,
                    0.0,
                    Entry::Electronics,
                );
            }
        }
        if let ArrangementKind::Recirculating { fan_power_W, .. } = self.recipe.arrangement {
            add(p.air[0], fan_power_W, 0.0, Entry::FilterFan);
        }
        for (node, setpoint, max_power_W, entry) in [
            (p.bed, phase.bed_K, m.bed.max_power_W, Entry::Bed),
            (
                p.hotend,
                phase.nozzle_K,
                m.hotend.max_power_W,
                Entry::Hotend,
            ),
        ] {
            if let Some(setpoint_K) = setpoint {
                c.controls.push(Control {
                    node,
                    setpoint_K,
                    max_power_W,
                    ledger: entry as usize,
                });
            }
        }
    }

    /// The room's own links, where it is a node.
    fn room(&self, c: &mut Configuration) {
        let (Some(b), Some(outdoors)) = (&self.run.room.building, self.p.outdoors) else {
            return;
        };
        let air = Air::at(initial_K(self.run), self.pressure_Pa).density_kg_per_m3;
        let changes = air * HEAT_CAPACITY_J_PER_KGK * b.volume_m3 * b.air_changes_per_s;
        c.conductors.push(Conductor {
            a: self.p.room,
            b: outdoors,
            conductance_W_per_K: b.envelope_W_per_K + changes,
            ledger: INTERNAL,
        });
        c.sources.push(Source {
            node: self.p.room,
            power_W: b.other_heat_W,
            per_K: 0.0,
            ledger: INTERNAL,
        });
        if b.cooler_max_W > 0.0 {
            c.controls.push(Control {
                node: self.p.room,
                setpoint_K: b.cooler_setpoint_K,
                max_power_W: -b.cooler_max_W,
                ledger: Entry::RoomCooler as usize,
            });
        }
    }

    fn air_paths(&self) -> AirPaths {
        let (m, p) = (&self.run.machine, self.p);
        let layers = self.layers();
        let slice = m.height_m / layers as f64;
        let layer_at = |z: f64| ((z / slice) as usize).min(layers - 1);
        // Even the tightest shell lets some air through; without any, a fan would move none.
        let leak =
            (m.leak_area_m2 * self.k(K::Leakage)).max(TIGHTEST_M2) / LEAK_HEIGHTS.len() as f64;
        let mut openings: Vec<Opening> = LEAK_HEIGHTS
            .iter()
            .map(|share| Opening {
                height_m: share * m.height_m,
                area_m2: leak,
                discharge: LEAK_DISCHARGE,
                layer: layer_at(share * m.height_m),
            })
            .collect();
        openings.extend(m.vents.iter().filter(|v| v.area_m2 > 0.0).map(|v| Opening {
            height_m: v.height_m.clamp(0.0, m.height_m),
            area_m2: v.area_m2,
            discharge: v.discharge,
            layer: layer_at(v.height_m),
        }));
        if self.open.door_open {
            let height = m.door_opening_height_m.min(m.height_m);
            let sill = 0.5 * (m.height_m - height);
            let strips = DOOR_STRIPS * layers;
            openings.extend((0..strips).map(|k| {
                let z = sill + height * (k as f64 + 0.5) / strips as f64;
                Opening {
                    height_m: z,
                    area_m2: m.door_opening_m2 / strips as f64,
                    discharge: LEAK_DISCHARGE,
                    layer: layer_at(z),
                }
            }));
        }
        if self.open.lid_off {
            openings.push(Opening {
                height_m: m.height_m,
                area_m2: m.lid_opening_m2,
                discharge: LEAK_DISCHARGE,
                layer: layers - 1,
            });
        }
        let mut draughts = Vec::new();
        let mut inner_m3_per_s = 0.0;
        match self.recipe.arrangement {
            ArrangementKind::Extracting { flow_m3_per_s } => draughts.push(Draught {
                layer: layer_at(m.extraction_height_m),
                outward_m3_per_s: flow_m3_per_s,
            }),
            ArrangementKind::BlowingIn { flow_m3_per_s } => draughts.push(Draught {
                layer: layer_at(m.inlet_height_m),
                outward_m3_per_s: -flow_m3_per_s,
            }),
            ArrangementKind::Recirculating { flow_m3_per_s, .. } => inner_m3_per_s = flow_m3_per_s,
            ArrangementKind::Closed | ArrangementKind::LidOff | ArrangementKind::DoorOpen => {}
        }
        AirPaths {
            layers: p.air.clone(),
            tops_m: (1..=layers).map(|k| slice * k as f64).collect(),
            room: p.room,
            pressure_Pa: self.pressure_Pa,
            openings,
            draughts,
            open_top: self.open.lid_off.then_some((m.lid_opening_m2, LID_RIM_M)),
            inner_m3_per_s,
            short_circuit: self.k(K::ShortCircuit),
            ledger: Entry::Air as usize,
        }
    }
}

/// Emissivity of a bed's underside: heater mat or felt (handbook values for rubber and mineral
/// materials around 0.9, from memory).
const UNDERSIDE_EMISSIVITY: f64 = 0.9;

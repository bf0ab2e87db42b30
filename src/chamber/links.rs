//! The links of a chamber: shell, bed and part, frame and motors, hotend and cold end, sources.

use super::build::{Builder, initial_K};
use super::geometry;
use super::nodes::{Chain, Entry};
use crate::network::elements::{
    Area, COPPER_PER_K, Conductor, Contact, Control, INTERNAL, Radiator, Source,
};
use crate::network::plume::Plume;
use crate::network::{Configuration, Index};
use crate::physics::air::{Air, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::convection::{ConvectiveFace, Face};
use crate::physics::plume::virtual_origin_m;
use crate::run::Coefficient as K;
use crate::run::{ArrangementKind, Place};

/// Typical size of the frame's bars, m: their convection is a cylinder's.
const FRAME_BAR_M: f64 = 0.04;
/// Share of the cold end's conductance that is left when its fan stands still.
const COLD_END_STILL: f64 = 0.2;
/// Share of the layer mixing that is left when nothing moves.
const MIXING_STILL: f64 = 0.2;
/// Emissivity of a bed's underside: heater mat or felt (handbook values for rubber and mineral
/// materials around 0.9, from memory).
pub(super) const UNDERSIDE_EMISSIVITY: f64 = 0.9;

impl Builder<'_> {
    pub(super) fn shell(&self, c: &mut Configuration) {
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
        let inside = |surface: Index, air: Index, area: f64, face: ConvectiveFace| {
            self.convector(surface, air, Area::constant(area), face, INTERNAL)
        };
        // A lid taken off or a door swung open stands in the room: its inside face too.
        let lid_area = Area::constant(p.lid.area_m2);
        let lid = if self.open.lid_off {
            c.radiators.push(self.to_room(
                &p.lid,
                p.lid.inner,
                m.lid.emissivity_inside,
                Entry::Lid,
            ));
            self.convector(
                p.lid.inner,
                p.room,
                lid_area,
                self.outside(Face::Down, plate),
                Entry::Lid as usize,
            )
        } else {
            self.convector(
                p.lid.inner,
                self.top(),
                lid_area,
                self.inside(Face::Down, plate),
                INTERNAL,
            )
        };
        c.convectors.push(lid);
        let layers = self.layers();
        for (k, wall) in p.walls.iter().enumerate() {
            c.convectors.push(inside(
                wall.inner,
                p.air[k],
                wall.area_m2,
                self.inside(Face::Vertical, m.height_m),
            ));
            c.convectors.push(self.convector(
                wall.outer,
                p.room,
                Area::constant(wall.area_m2),
                self.outside(Face::Vertical, m.height_m),
                Entry::Walls as usize,
            ));
            c.radiators.push(self.to_room(
                wall,
                wall.outer,
                m.walls.emissivity_outside,
                Entry::Walls,
            ));
        }
        if self.open.door_open {
            c.convectors.push(self.convector(
                p.door.inner,
                p.room,
                Area::constant(p.door.area_m2),
                self.outside(Face::Vertical, m.height_m),
                Entry::Door as usize,
            ));
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
            c.convectors.push(self.convector(
                chain.outer,
                p.room,
                Area::constant(chain.area_m2),
                self.outside(face, length),
                entry as usize,
            ));
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

    pub(super) fn to_room(
        &self,
        chain: &Chain,
        face: Index,
        emissivity: f64,
        entry: Entry,
    ) -> Radiator {
        Radiator {
            a: face,
            b: self.p.room,
            exchange_area_m2: emissivity * chain.area_m2,
            ledger: entry as usize,
        }
    }

    pub(super) fn bed_and_part(&self, c: &mut Configuration) {
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
        c.convectors.push(self.convector(
            under,
            p.air[0],
            Area::constant(bed_area),
            self.inside(Face::Down, plate),
            INTERNAL,
        ));
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
        let warm = |surface: Index, area: Area, face: ConvectiveFace| {
            self.convector(surface, p.air[0], area, face, INTERNAL)
        };
        let part = Area {
            fixed_m2: run.part.footprint_m2,
            grown_m2: geometry::part_sides_m2(run),
        };
        let free = geometry::free_bed_m2(run);
        let slice = m.height_m / self.layers() as f64;
        let duty = self.recipe.phase.motion_duty.clamp(0.0, 1.0);
        let stirring = self.k(K::LayerMixing) * (MIXING_STILL + (1.0 - MIXING_STILL) * duty);
        c.plume = Some(Plume {
            faces: vec![
                warm(p.bed, Area::constant(free), self.inside(Face::Up, plate)),
                warm(p.part, part, self.inside(Face::Vertical, run.part.height_m)),
            ],
            layers: p.air.clone(),
            spreads: Plume::spreads(
                &(1..self.layers())
                    .map(|k| slice * k as f64)
                    .collect::<Vec<_>>(),
                virtual_origin_m((4.0 * bed_area / std::f64::consts::PI).sqrt()),
            ),
            multiplier: self.k(K::Plume),
            section_m2: self.section_m2(),
            stirring_m3_per_s: stirring * self.section_m2(),
        });
    }

    pub(super) fn frame_and_motors(&self, c: &mut Configuration) {
        let (m, p) = (&self.run.machine, self.p);
        for air in &p.air {
            c.convectors.push(self.convector(
                p.frame,
                *air,
                Area::constant(m.frame_area_m2 / self.layers() as f64),
                self.inside(Face::Cylinder, FRAME_BAR_M),
                INTERNAL,
            ));
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
            c.convectors.push(self.convector(
                node,
                air,
                Area::constant(motor.area_m2),
                face,
                ledger,
            ));
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

    pub(super) fn hotend_and_cold_end(&self, c: &mut Configuration) {
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

    pub(super) fn sources(&self, c: &mut Configuration) {
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
    pub(super) fn room(&self, c: &mut Configuration) {
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
}

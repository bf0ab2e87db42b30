//! The shell: lid, walls, door and floor, and what passes through them.

use super::air::layer_word;
use super::panel;
use super::thing::{Thing, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::layers::{from_to_m, tops_m};
use crate::chamber::points::Chain;
use crate::chamber::site::{Site, plate_length_m};
use crate::network::elements::conductor::Basis;
use crate::network::{
    Area, Builder, Conductor, Configuration, Direction, INTERNAL, Index, LedgerId, Radiator,
};
use crate::physics::convection::{ConvectiveFace, Face};
use crate::run::Coefficient as K;
use crate::run::{Panel, Run};

/// Lid, walls, door and floor.
pub struct Shell {
    pub lid: Chain,
    /// Left, right and back together, one chain a layer of air, bottom to top.
    pub walls: Vec<Chain>,
    pub door: Chain,
    pub floor: Chain,
    ledgers: Ledgers,
}

struct Ledgers {
    lid: LedgerId,
    walls: LedgerId,
    door: LedgerId,
    floor: LedgerId,
}

/// A face of the shell: its panel, its node, the air before it, the share of its area, how it faces
/// that air, and where what leaves is booked.
struct ShellFace<'a> {
    chain: &'a Chain,
    node: Index,
    air: Index,
    share: f64,
    face: ConvectiveFace,
    ledger: LedgerId,
    /// Emissivity towards the room, where it faces the room.
    emissivity: Option<f64>,
}

impl Shell {
    pub fn new(run: &Run, b: &mut Builder) -> Self {
        let m = &run.machine;
        let layers = m.air_layers;
        let section = m.width_m * m.depth_m;
        let tops_m = tops_m(run);
        let wall = |k, b: &mut Builder| {
            let (from_m, to_m) = from_to_m(&tops_m, k);
            let wall_area = (2.0 * m.depth_m + m.width_m) * (to_m - from_m);
            let name = format!("walls {}", layer_word(k, layers));
            panel::chain(b, &name, &m.walls, wall_area)
        };
        Self {
            lid: panel::chain(b, "lid", &m.lid, section),
            walls: (0..layers).map(|k| wall(k, b)).collect(),
            door: panel::chain(b, "door", &m.door, m.width_m * m.height_m),
            floor: panel::chain(b, "floor", &m.floor, section),
            ledgers: Ledgers {
                lid: ledger(b, "lid", Direction::Out, 10),
                walls: ledger(b, "walls", Direction::Out, 20),
                door: ledger(b, "door", Direction::Out, 30),
                floor: ledger(b, "floor", Direction::Out, 40),
            },
        }
    }

    /// Every face with the air before it. A lid taken off or a door swung open stands in the room: its
    /// inside face too.
    fn faces(&self, site: &Site<'_>) -> Vec<ShellFace<'_>> {
        let (m, p) = (&site.run.machine, site.p);
        let plate = plate_length_m(m.width_m, m.depth_m);
        let upright = m.height_m;
        let inside = |chain, node, air, share, face, length| ShellFace {
            chain,
            node,
            air,
            share,
            face: match face {
                Face::Up | Face::Down => site.inside_plate(face, (m.width_m, m.depth_m)),
                Face::Vertical | Face::Cylinder => site.inside(face, length),
            },
            ledger: INTERNAL,
            emissivity: None,
        };
        let outside = |chain, node, face, length, ledger, emissivity| ShellFace {
            chain,
            node,
            air: p.room,
            share: 1.0,
            face: site.outside(face, length),
            ledger,
            emissivity: Some(emissivity),
        };
        let of = |panel: &Panel| (panel.emissivity_inside, panel.emissivity_outside);
        let Ledgers {
            lid: by_lid,
            walls: by_walls,
            door: by_door,
            ..
        } = self.ledgers;
        let (lid, door, floor) = (&self.lid, &self.door, &self.floor);
        let mut faces = Vec::new();
        faces.push(if site.open.lid_off {
            outside(lid, lid.inner, Face::Down, plate, by_lid, of(&m.lid).0)
        } else {
            inside(lid, lid.inner, site.top(), 1.0, Face::Down, plate)
        });
        for (wall, air) in self.walls.iter().zip(&p.air) {
            let emissivity = of(&m.walls).1;
            faces.push(inside(wall, wall.inner, *air, 1.0, Face::Vertical, upright));
            faces.push(outside(
                wall,
                wall.outer,
                Face::Vertical,
                upright,
                by_walls,
                emissivity,
            ));
        }
        if site.open.door_open {
            let emissivity = of(&m.door).0;
            faces.push(outside(
                door,
                door.inner,
                Face::Vertical,
                upright,
                by_door,
                emissivity,
            ));
        } else {
            let before = |(air, share): (&Index, f64)| {
                inside(door, door.inner, *air, share, Face::Vertical, upright)
            };
            faces.extend(p.air.iter().zip(site.shares()).map(before));
        }
        faces.push(inside(floor, floor.inner, p.air[0], 1.0, Face::Up, plate));
        let (lid_out, door_out) = (of(&m.lid).1, of(&m.door).1);
        faces.push(outside(lid, lid.outer, Face::Up, plate, by_lid, lid_out));
        faces.push(outside(
            door,
            door.outer,
            Face::Vertical,
            upright,
            by_door,
            door_out,
        ));
        faces
    }
}

impl Thing for Shell {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let walls_first = self
            .walls
            .iter()
            .chain([&self.lid, &self.door, &self.floor]);
        for (a, b, conductance_W_per_K) in walls_first.flat_map(|chain| &chain.links) {
            c.conductors.push(Conductor {
                basis: Basis::Slice,
                ..Conductor::new(*a, *b, *conductance_W_per_K)
            });
        }
        for f in self.faces(site) {
            let area = Area::constant(f.chain.area_m2 * f.share);
            c.convectors
                .push(site.convector(f.node, f.air, area, f.face, f.ledger));
            if let Some(emissivity) = f.emissivity {
                let radiator =
                    Radiator::to_surroundings(f.node, f.air, f.chain.area_m2, emissivity);
                c.radiators.push(radiator.booked(f.ledger));
            }
        }
        let floor = &self.floor;
        let bench = site.k(K::BenchResistance);
        let below = Conductor::of_resistance(floor.outer, site.p.room, floor.area_m2, bench);
        c.conductors.push(below.booked(self.ledgers.floor));
        Ok(())
    }
}

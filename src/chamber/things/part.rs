//! The part being made: it grows on the bed, and both send a plume up.

use super::part_fan;
use super::thing::{Body, Thing};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::chamber::timeline::Timeline;
use crate::network::{Area, BodyId, Builder, Configuration, Contact, INTERNAL, Index, Node, Store};
use crate::physics::convection::{ConvectiveFace, Face};
use crate::run::Coefficient as K;
use crate::run::Run;

/// Emissivity of plastic parts (handbook values for plastics 0.90-0.95, from memory).
const PART_EMISSIVITY: f64 = 0.92;

/// The part.
pub struct Part {
    pub node: Index,
    grows: BodyId,
}

/// Sides and top of the part, m2.
#[must_use]
pub fn part_sides_m2(run: &Run) -> f64 {
    4.0 * run.part.footprint_m2.sqrt() * run.part.height_m
}

/// The part of the bed's upper face that the part leaves free, m2.
#[must_use]
pub fn free_bed_m2(run: &Run) -> f64 {
    let bed = run.machine.bed.width_m * run.machine.bed.depth_m;
    (bed - run.part.footprint_m2).max(0.02 * bed)
}

impl Part {
    pub fn new(run: &Run, timeline: &Timeline, b: &mut Builder) -> Self {
        let cp = run.material.heat_capacity_J_per_kgK;
        let stores = Store::Mass {
            mass_kg: run.part.mass_kg,
            heat_capacity_J_per_kgK: cp,
        };
        let node = b.node(Node::storing("part", run.part.mass_kg * cp, stores));
        Self {
            node,
            grows: b.growing(node, timeline.part_share()),
        }
    }
}

impl Thing for Part {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let (run, p) = (site.run, site.p);
        let bed = &run.machine.bed;
        c.contacts.push(Contact {
            body: self.node,
            base: p.bed,
            grows: self.grows,
            area_m2: run.part.footprint_m2,
            contact_W_per_m2K: site.k(K::PartContact),
            height_m: run.part.height_m,
            conductivity_W_per_mK: run.material.conductivity_W_per_mK,
        });
        let plate_m = site.plate_m();
        let warm = |surface: Index, area: Area, face: ConvectiveFace| {
            site.convector(surface, site.air_at(plate_m), area, face, INTERNAL)
        };
        let sides = Area::growing(run.part.footprint_m2, part_sides_m2(run), self.grows);
        let jet = &site.recipe.arrangement.jet;
        let faces = vec![
            warm(
                p.bed,
                Area::constant(free_bed_m2(run)),
                site.blown_at_plate(Face::Up, (bed.width_m, bed.depth_m), jet.at_bed_m_per_s),
            ),
            warm(
                self.node,
                sides,
                site.blown_at(
                    Face::Vertical,
                    run.part.height_m,
                    f64::max(jet.at_part_m_per_s, part_fan::speed_m_per_s(site)),
                ),
            ),
        ];
        site.rise(plate_m, bed.width_m * bed.depth_m, faces, vec![], c)
    }

    fn body(&self, run: &Run) -> Option<Body> {
        let area_m2 = run.part.footprint_m2 + part_sides_m2(run);
        let grown = part_sides_m2(run) / area_m2;
        Some(Body {
            role: "part",
            point: self.node,
            area_m2,
            emissivity: PART_EMISSIVITY,
            grows: Some(Area::growing(1.0 - grown, grown, self.grows)),
        })
    }
}

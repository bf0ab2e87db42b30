//! Frame and gantry inside the panels: the slow mass.

use super::thing::{Body, Thing};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::network::{Area, Builder, Configuration, INTERNAL, Index, Node, Store};
use crate::physics::convection::Face;
use crate::run::Run;

/// Emissivity of frame and gantry: painted and bright metal mixed (handbooks give 0.8-0.95 for
/// paint and 0.05-0.2 for bright aluminium; common practice, no source for the mix).
const FRAME_EMISSIVITY: f64 = 0.5;
/// Typical size of the frame's bars, m: their convection is a cylinder's.
const FRAME_BAR_M: f64 = 0.04;

/// The frame.
pub struct Frame {
    pub node: Index,
}

impl Frame {
    pub fn new(run: &Run, b: &mut Builder) -> Self {
        let m = &run.machine;
        let (mass_kg, heat_capacity_J_per_kgK) = (m.frame_mass_kg, m.frame_heat_capacity_J_per_kgK);
        let stores = Store::Mass {
            mass_kg,
            heat_capacity_J_per_kgK,
        };
        let capacity = mass_kg * heat_capacity_J_per_kgK;
        Self {
            node: b.node(Node::storing("frame", capacity, stores)),
        }
    }
}

impl Thing for Frame {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        for (air, share) in site.p.air.iter().zip(site.shares()) {
            let area = Area::constant(site.run.machine.frame_area_m2 * share);
            let bars = site.inside(Face::Cylinder, FRAME_BAR_M);
            c.convectors
                .push(site.convector(self.node, *air, area, bars, INTERNAL));
        }
        Ok(())
    }

    fn body(&self, run: &Run) -> Option<Body> {
        Some(Body {
            role: "body",
            point: self.node,
            area_m2: run.machine.frame_area_m2,
            emissivity: FRAME_EMISSIVITY,
            grows: None,
        })
    }
}

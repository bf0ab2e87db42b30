//! The feeder: its motor, the drive gear on the shaft, and what both are mounted on.

use super::motor::Motor;
use super::thing::{Body, Thing};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::network::{Area, Builder, Conductor, Configuration, Index, LedgerId, Node, Store};
use crate::physics::convection::Face;
use crate::run::Coefficient as K;
use crate::run::Run;

/// The feeder.
pub struct Feeder {
    motor: Motor,
    /// The drive gear.
    pub gear: Index,
    /// The mount, where there is one.
    pub mount: Option<Index>,
}

impl Feeder {
    pub fn new(run: &Run, outside: LedgerId, b: &mut Builder) -> Self {
        let feeder = &run.machine.feeder;
        let motor = Motor::new("feeder motor", &feeder.motor, 40, outside, b);
        let mut mass = |name: &str, mass_kg: f64, heat_capacity_J_per_kgK: f64| {
            let stores = Store::Mass {
                mass_kg,
                heat_capacity_J_per_kgK,
            };
            b.node(Node::storing(
                name,
                mass_kg * heat_capacity_J_per_kgK,
                stores,
            ))
        };
        let gear = &feeder.gear;
        Self {
            motor,
            gear: mass("drive gear", gear.mass_kg, gear.heat_capacity_J_per_kgK),
            mount: feeder
                .mount
                .as_ref()
                .map(|m| mass("feeder mount", m.mass_kg, m.heat_capacity_J_per_kgK)),
        }
    }

    pub const fn node(&self) -> Index {
        self.motor.node
    }
}

impl Thing for Feeder {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let feeder = &site.run.machine.feeder;
        let motor = &feeder.motor;
        let heat_W = motor.heat_W * site.recipe.phase.feeder_duty * site.k(K::FeederHeat);
        self.motor.elements(motor, heat_W, site, c)?;
        let (air, lost) = (site.around(motor.place), self.motor.lost(motor));
        let sink = feeder.heat_sink_W_per_K * site.k(K::HeatSink);
        if sink > 0.0 {
            let fins = Conductor::new(self.node(), air, sink);
            c.conductors.push(fins.booked(lost));
        }
        // Bright metal: what gear and mount radiate is left out, which is on the warm side.
        let mut in_air = |node: Index, area_m2: f64| {
            let face = site.beside(motor.place, Face::Vertical, (0.5 * area_m2).sqrt());
            let area = Area::constant(area_m2);
            c.convectors
                .push(site.convector(node, air, area, face, lost));
        };
        in_air(self.gear, feeder.gear.area_m2);
        if let (Some(node), Some(mount)) = (self.mount, &feeder.mount) {
            in_air(node, mount.area_m2);
        }
        let mut joint = |a: Index, b: Index, conductance_W_per_K: f64| {
            if conductance_W_per_K > 0.0 {
                c.conductors.push(Conductor::new(a, b, conductance_W_per_K));
            }
        };
        let shaft = feeder.gear.shaft_W_per_K * site.k(K::Shaft);
        joint(self.node(), self.gear, shaft);
        if let (Some(node), Some(mount)) = (self.mount, &feeder.mount) {
            let (frame, cold_end) = (site.p.frame, site.p.cold_end);
            joint(
                self.node(),
                node,
                mount.motor_W_per_K * site.k(K::MountFace),
            );
            joint(self.gear, node, mount.gear_W_per_K * site.k(K::GearSeat));
            joint(node, frame, mount.frame_W_per_K * site.k(K::MountFrame));
            let touch = mount.cold_end_W_per_K * site.k(K::MountColdEnd);
            joint(node, cold_end, touch);
        }
        Ok(())
    }

    fn body(&self, run: &Run) -> Option<Body> {
        self.motor.body(&run.machine.feeder.motor)
    }
}

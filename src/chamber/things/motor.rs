//! What motors have in common: copper and iron that lose heat to the air and by radiation, and whose
//! losses rise with temperature.

use super::thing::{Body, is_inside, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::course::Course;
use crate::network::elements::source::COPPER_PER_K;
use crate::network::{
    Area, Builder, Configuration, Direction, INTERNAL, Index, LedgerId, Node, Radiator, Source,
    Store,
};
use crate::physics::convection::Face;
use crate::run;

/// Heat capacity of motors: copper and iron, J/(kg K) (between copper's 385 and iron's 450,
/// handbook values from memory).
const MOTOR_J_PER_KGK: f64 = 430.0;
/// Emissivity of motors with painted or oxidised cases (handbook values for paint, from memory).
const MOTOR_EMISSIVITY: f64 = 0.8;

/// A motor, or several taken as one.
pub struct Motor {
    pub node: Index,
    heat: LedgerId,
    /// Ledger of what motors outside the chamber lose.
    outside: LedgerId,
}

/// Ledger of what motors outside the chamber lose.
pub fn outside(b: &mut Builder) -> LedgerId {
    ledger(b, "feeder outside", Direction::Out, 70)
}

impl Motor {
    pub fn new(
        name: &str,
        motor: &run::Motor,
        place: u16,
        outside: LedgerId,
        b: &mut Builder,
    ) -> Self {
        let stores = Store::Mass {
            mass_kg: motor.mass_kg,
            heat_capacity_J_per_kgK: MOTOR_J_PER_KGK,
        };
        let capacity = motor.mass_kg * MOTOR_J_PER_KGK;
        Self {
            node: b.node(Node::storing(name, capacity, stores)),
            heat: ledger(b, name, Direction::In, place),
            outside,
        }
    }

    /// Where what it loses is booked.
    pub fn lost(&self, motor: &run::Motor) -> LedgerId {
        if is_inside(motor.place) {
            INTERNAL
        } else {
            self.outside
        }
    }

    /// Its losses to the air and the room, and the heat of its windings, W at 20 degC.
    ///
    /// # Errors
    /// When the layers above it make no plume.
    pub fn elements(
        &self,
        motor: &run::Motor,
        heat_W: f64,
        site: &Site<'_>,
        c: &mut Configuration,
    ) -> Result<(), BuildError> {
        let edge = (motor.area_m2 / 6.0).sqrt();
        let face = site.beside(motor.place, Face::Vertical, edge);
        let (air, area) = (site.around(motor.place), Area::constant(motor.area_m2));
        let to_air = site.convector(self.node, air, area, face, self.lost(motor));
        match site.height_m(motor.place) {
            Some(height_m) => {
                site.rise(height_m, motor.area_m2 / 6.0, vec![to_air], vec![], c)?;
            }
            None => c.convectors.push(to_air),
        }
        // Inside, it is one of the bodies of the enclosure.
        if !is_inside(motor.place) {
            let room = site.p.room;
            let radiator =
                Radiator::to_surroundings(self.node, room, motor.area_m2, MOTOR_EMISSIVITY);
            c.radiators.push(radiator.booked(self.outside));
        }
        if heat_W != 0.0 {
            c.sources.push(Source {
                per_K: COPPER_PER_K,
                ..Source::new(self.node, Course::Constant(heat_W), self.heat)
            });
        }
        Ok(())
    }

    /// What it is to the radiation inside.
    pub fn body(&self, motor: &run::Motor) -> Option<Body> {
        is_inside(motor.place).then_some(Body {
            role: "body",
            point: self.node,
            area_m2: motor.area_m2,
            emissivity: MOTOR_EMISSIVITY,
            grows: None,
        })
    }
}

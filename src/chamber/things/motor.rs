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

/// Copper's losses at constant current, as a multiple of those at 20 degC: 1 + 0.00393 (T - 293.15 K).
///
/// * `temperature_K`: of the winding, K; anything above 40 K.
///
/// Worked example: at 60 degC 1.157: 2.2 W read at a motor of 60 degC are 1.90 W at 20 degC.
///
/// Reference: IEC 60028, the temperature coefficient of annealed copper at 20 degC.
fn rise_from_20_degC(temperature_K: f64) -> f64 {
    1.0 + COPPER_PER_K * (temperature_K - 293.15)
}

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

    /// Its losses to the air and the room, and the heat of its windings, W at the temperature that the motor's
    /// heat is stated for.
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
            let at_20_degC = Course::Constant(heat_W / rise_from_20_degC(motor.heat_at_K));
            c.sources.push(Source {
                per_K: COPPER_PER_K,
                ..Source::new(self.node, at_20_degC, self.heat)
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

#[cfg(test)]
mod tests {
    use crate::chamber::{Chamber, IntegratorKind, Simulation};
    use crate::integrate::Options;
    use crate::network::elements::source::COPPER_PER_K;
    use crate::run::Run;
    use crate::runfile;

    /// The demo's run with the feeder's watts stated for a temperature, K.
    fn stated_at(heat_at_K: f64) -> Run {
        let mut run = runfile::demo().run;
        run.machine.feeder.motor.heat_at_K = heat_at_K;
        run
    }

    /// Power of the motor at a temperature, W, while it works.
    fn power_W(run: &Run, at_K: f64) -> f64 {
        let chamber = Chamber::new(run).unwrap();
        let node = chamber.points.feeder;
        let works = chamber.schedule.configurations().iter();
        let sources = works.flat_map(|c| &c.sources).filter(|s| s.node == node);
        let at_20_W = sources.map(|s| s.power_W.at(0.0).0).fold(0.0, f64::max);
        at_20_W * (1.0 + COPPER_PER_K * (at_K - 293.15))
    }

    /// What a meter read is what the motor gives at the temperature it was read at; by hand 1/1.1572 of it cold
    /// for 60 degC.
    #[test]
    fn watts_hold_where_they_were_measured() {
        for at_K in [293.15, 333.15, 353.15] {
            let run = stated_at(at_K);
            let heat_W = run.machine.feeder.motor.heat_W;
            assert!((power_W(&run, at_K) / heat_W - 1.0).abs() < 1e-12);
        }
        let (cold, warm) = (stated_at(293.15), stated_at(333.15));
        let ratio = power_W(&warm, 293.15) / power_W(&cold, 293.15);
        assert!((ratio - 1.0 / 1.1572).abs() < 1e-12, "{ratio}");
    }

    /// Watts measured warm and taken for cold ones make the gear too warm, by a kelvin or two.
    #[test]
    fn watts_measured_warm_make_a_cooler_gear() {
        let gear_K = |run: &Run| {
            let s = Simulation::of(run, IntegratorKind::Rosenbrock, &Options::default()).unwrap();
            s.temperature_K(s.chamber.points.feeder, 58.0 * 3600.0)
        };
        let cooler_K = gear_K(&stated_at(293.15)) - gear_K(&stated_at(333.15));
        assert!((0.5..6.0).contains(&cooler_K), "{cooler_K} K");
    }
}

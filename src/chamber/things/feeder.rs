//! The feeder motor with the drive gear on its shaft.

use super::motor::Motor;
use super::thing::{Body, Thing};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::network::{Builder, Conductor, Configuration, Index, LedgerId};
use crate::run::Coefficient as K;
use crate::run::Run;

/// The feeder.
pub struct Feeder(Motor);

impl Feeder {
    pub fn new(run: &Run, outside: LedgerId, b: &mut Builder) -> Self {
        let motor = &run.machine.feeder.motor;
        Self(Motor::new("feeder motor", motor, 40, outside, b))
    }

    pub const fn node(&self) -> Index {
        self.0.node
    }
}

impl Thing for Feeder {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let feeder = &site.run.machine.feeder;
        let motor = &feeder.motor;
        let heat_W = motor.heat_W * site.recipe.phase.feeder_duty * site.k(K::FeederHeat);
        self.0.elements(motor, heat_W, site, c);
        let sink = feeder.heat_sink_W_per_K;
        if sink > 0.0 {
            let air = site.around(motor.place);
            let fins = Conductor::new(self.0.node, air, sink);
            c.conductors.push(fins.booked(self.0.lost(motor)));
        }
        Ok(())
    }

    fn body(&self, run: &Run) -> Option<Body> {
        self.0.body(&run.machine.feeder.motor)
    }
}

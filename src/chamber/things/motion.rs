//! The motors that move head and bed, taken as one.

use super::motor::Motor;
use super::thing::{Body, Thing};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::network::{Builder, Configuration, Index, LedgerId};
use crate::run::Coefficient as K;
use crate::run::Run;

/// The motion motors.
pub struct Motion(Motor);

impl Motion {
    pub fn new(run: &Run, outside: LedgerId, b: &mut Builder) -> Self {
        let motor = &run.machine.motion;
        Self(Motor::new("motion motors", motor, 30, outside, b))
    }

    pub const fn node(&self) -> Index {
        self.0.node
    }
}

impl Thing for Motion {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let motor = &site.run.machine.motion;
        let heat_W = motor.heat_W * site.recipe.phase.motion_duty * site.k(K::MotionHeat);
        self.0.elements(motor, heat_W, site, c)
    }

    fn body(&self, run: &Run) -> Option<Body> {
        self.0.body(&run.machine.motion)
    }
}

//! Boards, lights and small fans: heat in the chamber's air while the machine is on.

use super::thing::{Thing, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::course::Course;
use crate::network::{Builder, Configuration, Direction, LedgerId, Source};

/// The electronics.
pub struct Electronics {
    heat: LedgerId,
}

impl Electronics {
    pub fn new(b: &mut Builder) -> Self {
        Self {
            heat: ledger(b, "electronics", Direction::In, 50),
        }
    }
}

impl Thing for Electronics {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let power_W = site.run.machine.electronics_W;
        if site.recipe.phase.powered && power_W != 0.0 {
            for (air, share) in site.p.air.iter().zip(site.shares()) {
                let power = Course::Constant(power_W * share);
                c.sources.push(Source::new(*air, power, self.heat));
            }
        }
        Ok(())
    }
}

//! The part-cooling fan: its power is heat in the air around the head. What its air does to the part is made where
//! the part is.

use super::thing::{Thing, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::course::Course;
use crate::network::{Builder, Configuration, Direction, LedgerId, Source};
use crate::run::Run;

/// The part-cooling fan.
pub struct PartFan {
    /// Opened where there is something to book.
    heat: Option<LedgerId>,
}

/// Speed of its air over the part, m/s.
pub fn speed_m_per_s(site: &Site<'_>) -> f64 {
    let fan = site.run.machine.part_fan.as_ref();
    fan.map_or(0.0, |fan| fan.speed_m_per_s * site.recipe.phase.part_fan)
}

impl PartFan {
    pub fn new(run: &Run, b: &mut Builder) -> Self {
        let there = run.machine.part_fan.is_some();
        Self {
            heat: there.then(|| ledger(b, "part-cooling fan", Direction::In, 55)),
        }
    }
}

impl Thing for PartFan {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let fan = site.run.machine.part_fan.as_ref();
        // A fan at half its speed takes less than half its power: in proportion errs on the warm side.
        let power_W = fan.map_or(0.0, |fan| fan.power_W * site.recipe.phase.part_fan);
        if let Some(heat) = self.heat.filter(|_| power_W > 0.0) {
            c.sources.push(Source::new(
                site.around_head(),
                Course::Constant(power_W),
                heat,
            ));
        }
        Ok(())
    }
}

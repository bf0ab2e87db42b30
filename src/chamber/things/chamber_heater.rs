//! A heater of the chamber's air. It holds the layer that it heats, so it needs no other thermometer.

use super::thing::{Thing, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::network::{Builder, Configuration, Control, Direction, LedgerId, Side};
use crate::run::{Place, Run};

/// The chamber's heater.
pub struct ChamberHeater {
    /// Opened where there is something to book.
    heat: Option<LedgerId>,
}

impl ChamberHeater {
    pub fn new(run: &Run, b: &mut Builder) -> Self {
        let there = run.machine.chamber_heater.is_some();
        Self {
            heat: there.then(|| ledger(b, "chamber heater", Direction::In, 25)),
        }
    }
}

impl Thing for ChamberHeater {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let heater = &site.run.machine.chamber_heater;
        let setpoint_K = site.recipe.phase.chamber_K;
        if let (Some(heater), Some(setpoint_K), Some(heat)) = (heater, setpoint_K, self.heat) {
            let air = match heater.place {
                Place::ChamberTop => site.top(),
                Place::ChamberBottom | Place::Room => site.p.air[0],
            };
            let heats = Side {
                setpoint_K,
                most_W: heater.max_power_W,
                hysteresis_K: 0.0,
            };
            c.controls.push(Control::new(air, Some(heats), None, heat)?);
        }
        Ok(())
    }
}

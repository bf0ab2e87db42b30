//! The hotend block: it gives heat to the air and, through the heat break, to the cold end.

use super::thing::{Thing, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::network::{
    Builder, Conductor, Configuration, Control, Direction, Index, LedgerId, Node, Side, Store,
};
use crate::run::Coefficient as K;
use crate::run::Run;

/// Area of a heater block seen from above, m2: the source of its plume (common practice, no source).
pub const BLOCK_M2: f64 = 5e-4;

/// The hotend.
pub struct Hotend {
    pub node: Index,
    heater: LedgerId,
}

impl Hotend {
    pub fn new(run: &Run, b: &mut Builder) -> Self {
        let hotend = &run.machine.hotend;
        let stores = Store::Mass {
            mass_kg: hotend.mass_kg,
            heat_capacity_J_per_kgK: hotend.heat_capacity_J_per_kgK,
        };
        let capacity = hotend.mass_kg * hotend.heat_capacity_J_per_kgK;
        Self {
            node: b.node(Node::storing("hotend", capacity, stores)),
            heater: ledger(b, "hotend heater", Direction::In, 20),
        }
    }
}

impl Thing for Hotend {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let hotend = &site.run.machine.hotend;
        let loss = hotend.loss_W_per_K * site.k(K::HotendLoss);
        let heat_break = hotend.heat_break_W_per_K * site.k(K::HeatBreak);
        let head_m = site.run.machine.head_height_m;
        let to_air = Conductor::new(self.node, site.around_head(), loss);
        site.rise(head_m, BLOCK_M2, vec![], vec![to_air], c)?;
        c.conductors
            .push(Conductor::new(self.node, site.p.cold_end, heat_break));
        if let Some(setpoint_K) = site.recipe.phase.nozzle_K {
            let heats = Side {
                setpoint_K,
                most_W: hotend.max_power_W,
                hysteresis_K: 0.0,
            };
            c.controls
                .push(Control::new(self.node, Some(heats), None, self.heater)?);
        }
        Ok(())
    }
}

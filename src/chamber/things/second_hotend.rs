//! A second hotend beside the first: a block that gives heat to the air and to a cold end of its own, which the
//! first's cold end feels through what both are screwed to.

use super::cold_end::COLD_END_STILL;
use super::hotend::BLOCK_M2;
use super::thing::{Thing, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::network::{
    Builder, Conductor, Configuration, Control, Direction, Index, LedgerId, Node, Side, Store,
};
use crate::run::Coefficient as K;
use crate::run::Run;

/// The second hotend with its cold end.
pub struct SecondHotend {
    /// Block and cold end, where the machine has them.
    pub nodes: Option<(Index, Index)>,
    heater: Option<LedgerId>,
}

impl SecondHotend {
    pub fn new(run: &Run, b: &mut Builder) -> Self {
        let first_J_per_kgK = run.machine.cold_end.heat_capacity_J_per_kgK;
        let mut node = |name: &str, mass_kg: f64, heat_capacity_J_per_kgK: f64| {
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
        let nodes = run.machine.second_hotend.as_ref().map(|second| {
            (
                node(
                    "second hotend",
                    second.mass_kg,
                    second.heat_capacity_J_per_kgK,
                ),
                node("second cold end", second.cold_end_mass_kg, first_J_per_kgK),
            )
        });
        Self {
            nodes,
            heater: nodes.map(|_| ledger(b, "second hotend heater", Direction::In, 22)),
        }
    }
}

impl Thing for SecondHotend {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let second = &site.run.machine.second_hotend;
        let (Some(second), Some((block, cold_end))) = (second, self.nodes) else {
            return Ok(());
        };
        let fan = if site.recipe.phase.powered {
            1.0
        } else {
            COLD_END_STILL
        };
        let loss = second.loss_W_per_K * site.k(K::HotendLoss);
        if loss > 0.0 {
            let head_m = site.run.machine.head_height_m;
            let to_air = Conductor::new(block, site.around_head(), loss);
            site.rise(head_m, BLOCK_M2, vec![], vec![to_air], c)?;
        }
        for (a, b, conductance_W_per_K) in [
            (
                block,
                cold_end,
                second.heat_break_W_per_K * site.k(K::HeatBreak),
            ),
            (
                cold_end,
                site.around_head(),
                second.cooling_W_per_K * site.k(K::ColdEndCooling) * fan,
            ),
            (cold_end, site.p.cold_end, second.beside_W_per_K),
        ] {
            if conductance_W_per_K > 0.0 {
                c.conductors.push(Conductor::new(a, b, conductance_W_per_K));
            }
        }
        let setpoint_K = site.recipe.phase.second_nozzle_K;
        if let (Some(setpoint_K), Some(heat)) = (setpoint_K, self.heater) {
            let heats = Side {
                setpoint_K,
                most_W: second.max_power_W,
                hysteresis_K: 0.0,
            };
            c.controls
                .push(Control::new(block, Some(heats), None, heat)?);
        }
        Ok(())
    }
}

//! The cold end above the heat break, cooled by its own fan.

use super::thing::Thing;
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::network::{Builder, Conductor, Configuration, Index, Node, Store};
use crate::run::Coefficient as K;
use crate::run::Run;

/// Share of the cold end's conductance that is left when its fan stands still.
pub const COLD_END_STILL: f64 = 0.2;

/// The cold end.
pub struct ColdEnd {
    pub node: Index,
}

impl ColdEnd {
    pub fn new(run: &Run, b: &mut Builder) -> Self {
        let cold_end = &run.machine.cold_end;
        let stores = Store::Mass {
            mass_kg: cold_end.mass_kg,
            heat_capacity_J_per_kgK: cold_end.heat_capacity_J_per_kgK,
        };
        let capacity = cold_end.mass_kg * cold_end.heat_capacity_J_per_kgK;
        Self {
            node: b.node(Node::storing("cold end", capacity, stores)),
        }
    }
}

impl Thing for ColdEnd {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let fan = if site.recipe.phase.powered {
            1.0
        } else {
            COLD_END_STILL
        };
        let cooling = site.run.machine.cold_end.cooling_W_per_K * site.k(K::ColdEndCooling) * fan;
        c.conductors
            .push(Conductor::new(self.node, site.around_head(), cooling));
        Ok(())
    }
}

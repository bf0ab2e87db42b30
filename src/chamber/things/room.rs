//! The room the machine stands in: given, or a node of its own that its machines warm.

use super::air::density_kg_per_m3;
use super::thing::Thing;
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::course::Course;
use crate::network::{
    Builder, Conductor, Configuration, Control, Direction, INTERNAL, Index, Ledger, LedgerId,
    Network, Node, Side, Source, Store,
};
use crate::physics::air::HEAT_CAPACITY_J_PER_KGK;
use crate::run::Run;

/// The room's air, and outdoors where the room is a node.
pub struct Room {
    pub air: Index,
    pub outdoors: Option<Index>,
    cooler: LedgerId,
}

/// A room of which only its node is there, where it is one.
pub struct Unfinished {
    node: Option<Index>,
    cooler: LedgerId,
}

impl Room {
    pub fn begin(run: &Run, b: &mut Builder) -> Unfinished {
        let node = run.room.building.as_ref().map(|building| {
            let per_m3K = density_kg_per_m3(run) * HEAT_CAPACITY_J_PER_KGK;
            let capacity = per_m3K * building.volume_m3 * building.storage_factor;
            let stores = Store::Air {
                volume_m3: building.volume_m3,
                storage_factor: building.storage_factor,
            };
            b.node(Node::storing("room", capacity, stores).not_audited())
        });
        // The room's own exchange with outdoors and its cooler are no part of the chamber's audit.
        let cooler = b.open(Ledger {
            name: "room cooler".to_owned(),
            direction: Direction::Out,
            audited: false,
            place: 0,
        });
        Unfinished { node, cooler }
    }
}

impl Unfinished {
    /// Adds the given temperature.
    pub fn given(self, run: &Run, network: &mut Network) -> Room {
        let weather = run.room.weather.clone();
        let (air, outdoors) = match self.node {
            None => (network.given("room", weather), None),
            Some(node) => (node, Some(network.given("outdoors", weather))),
        };
        Room {
            air,
            outdoors,
            cooler: self.cooler,
        }
    }
}

impl Thing for Room {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let (Some(b), Some(outdoors)) = (&site.run.room.building, self.outdoors) else {
            return Ok(());
        };
        let air = density_kg_per_m3(site.run);
        let changes = air * HEAT_CAPACITY_J_PER_KGK * b.volume_m3 * b.air_changes_per_s;
        let loss = b.envelope_W_per_K + changes;
        c.conductors.push(Conductor::new(self.air, outdoors, loss));
        let others_W = Course::Constant(b.other_heat_W);
        c.sources.push(Source::new(self.air, others_W, INTERNAL));
        if b.cooler_max_W > 0.0 {
            let cools = Side {
                setpoint_K: b.cooler_setpoint_K,
                most_W: b.cooler_max_W,
                hysteresis_K: 0.0,
            };
            c.controls
                .push(Control::new(self.air, None, Some(cools), self.cooler)?);
        }
        Ok(())
    }
}

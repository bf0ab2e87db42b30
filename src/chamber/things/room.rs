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

#[cfg(test)]
mod tests {
    use crate::chamber::Chamber;
    use crate::course::Course;
    use crate::run::{ArrangementKind, Building, Phase, PhaseKind, Run};

    /// Temperature at which a room of 30 m3 with a machine that is switched off, 150 W of other heat and
    /// 80 m3/h drawn through the machine comes to rest, 30 degC outdoors, K.
    fn resting_room_K(led_outdoors: bool) -> f64 {
        let mut run: Run = crate::runfile::demo().run;
        run.room.weather = Course::Constant(303.15);
        run.room.building = Some(Building {
            volume_m3: 30.0,
            envelope_W_per_K: 7.3,
            air_changes_per_s: 0.5 / 3600.0,
            other_heat_W: 150.0,
            cooler_max_W: 0.0,
            cooler_setpoint_K: 298.15,
            storage_factor: 10.0,
        });
        run.phases = vec![Phase {
            kind: PhaseKind::CoolDown,
            begin_s: 0.0,
            end_s: run.duration_s,
            bed_K: None,
            nozzle_K: None,
            feed_kg_per_s: 0.0,
            chamber_K: None,
            part_fan: 0.0,
            second_nozzle_K: None,
            motion_duty: 0.0,
            feeder_duty: 0.0,
            powered: false,
        }];
        run.arrangement.kind = ArrangementKind::Extracting {
            flow_m3_per_s: 80.0 / 3600.0,
        };
        run.system.led_outdoors = led_outdoors;
        let chamber = Chamber::new(&run).unwrap();
        let mut system = chamber.system().unwrap();
        let start = system.initial();
        let rest = system.steady(0.0, &start).unwrap();
        rest[chamber.points.room] + chamber.network.reference_K()
    }

    /// By hand: air at 101325 Pa, 20 m and 30 to 42 degC has 1.12 to 1.165 kg/m3 and 1005 J/(kg K). Half a
    /// change an hour of 30 m3 is 4.87 W/K, with the envelope 12.17: 150 W warm the room by 12.3 K. Outdoor air
    /// for 80 m3/h of air at 34 degC adds 1.147 * 1005 * 80/3600 = 25.6 W/K: 3.97 K. The machine is switched
    /// off and takes on the room's temperature. Tolerance 0.1 K: densities at the place's pressure.
    #[test]
    fn what_is_led_outdoors_comes_in_from_there() {
        for (led_outdoors, rise_K) in [(true, 3.97), (false, 12.33)] {
            let ours = resting_room_K(led_outdoors) - 303.15;
            assert!((ours - rise_K).abs() < 0.1, "{ours} against {rise_K}");
        }
    }
}

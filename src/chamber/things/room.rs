//! The room the machine stands in: given, or a node of its own that its machines warm.
//!
//! Several machines that do the same at the same time make one room with as many equal flows of heat into it. Its
//! balance divided by their number is that of a room with a single machine and a share of all the rest: air,
//! walls, air changes, cooler, sun and other heat. That is exact, so it is what the network holds.

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
            let volume_m3 = building.share() * building.volume_m3;
            let capacity = per_m3K * volume_m3 * building.storage_factor;
            let stores = Store::Air {
                volume_m3,
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
        let (share, air) = (b.share(), density_kg_per_m3(site.run));
        let changes = air * HEAT_CAPACITY_J_PER_KGK * b.volume_m3 * b.air_changes_per_s;
        let loss = share * (b.envelope_W_per_K + changes);
        c.conductors.push(Conductor::new(self.air, outdoors, loss));
        let others_W = Course::Constant(share * b.other_heat_W);
        c.sources.push(Source::new(self.air, others_W, INTERNAL));
        for heat_W in [&b.sun_W, &b.neighbours_W] {
            if *heat_W != Course::Constant(0.0) {
                c.sources
                    .push(Source::new(self.air, heat_W.times(share), INTERNAL));
            }
        }
        if b.cooler_max_W > 0.0 && site.recipe.cooler_works {
            let cools = Side {
                setpoint_K: b.cooler_setpoint_K,
                most_W: share * b.cooler_max_W,
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
    use crate::chamber::{Chamber, IntegratorKind, Simulation};
    use crate::course::Course;
    use crate::run::{ArrangementKind, Building, Phase, PhaseKind, Run};

    /// A room of 30 m3 that loses 7.3 W/K, with 150 W of other heat.
    fn building() -> Building {
        Building {
            volume_m3: 30.0,
            envelope_W_per_K: 7.3,
            air_changes_per_s: 0.5 / 3600.0,
            other_heat_W: 150.0,
            cooler_max_W: 0.0,
            cooler_setpoint_K: 298.15,
            storage_factor: 10.0,
            neighbours_W: Course::Constant(0.0),
            machines: 1,
            sun_W: Course::Constant(0.0),
        }
    }

    /// A machine in which nothing works but its electronics, if those do, 30 degC outdoors.
    fn idle(building: Building, powered: bool) -> Run {
        let mut run: Run = crate::runfile::demo().run;
        run.room.weather = Course::Constant(303.15);
        run.room.building = Some(building);
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
            powered,
        }];
        run
    }

    /// Temperature of the room at the end of five days in which nothing changes, K.
    fn settled_K(run: &Run) -> f64 {
        let options = Default::default();
        let s = Simulation::of(run, IntegratorKind::Rosenbrock, &options).unwrap();
        s.temperature_K(s.chamber.points.room, run.duration_s)
    }

    /// Temperature at which the room comes to rest, K.
    fn resting_K(run: &Run) -> f64 {
        let chamber = Chamber::new(run).unwrap();
        let mut system = chamber.system().unwrap();
        let start = system.initial();
        let rest = system.steady(0.0, &start).unwrap();
        rest[chamber.points.room] + chamber.network.reference_K()
    }

    /// The same with 80 m3/h drawn through the machine.
    fn resting_room_K(led_outdoors: bool, machines: u32) -> f64 {
        let mut run = idle(
            Building {
                machines,
                ..building()
            },
            false,
        );
        run.arrangement.kind = ArrangementKind::Extracting {
            flow_m3_per_s: 80.0 / 3600.0,
        };
        run.system.led_outdoors = led_outdoors;
        resting_K(&run)
    }

    /// By hand: air at 101325 Pa, 20 m and 30 to 42 degC has 1.12 to 1.165 kg/m3 and 1005 J/(kg K). Half a
    /// change an hour of 30 m3 is 4.87 W/K, with the envelope 12.17: 150 W warm the room by 12.3 K. Outdoor air
    /// for 80 m3/h of air at 34 degC adds 1.147 * 1005 * 80/3600 = 25.6 W/K: 3.97 K. The machine is switched
    /// off and takes on the room's temperature. Three such machines draw in three times as much: 150 / (12.17 +
    /// 76.9) = 1.68 K; none of it if the air goes back into the room. Tolerance 0.1 K: densities at the place's
    /// pressure.
    #[test]
    fn what_is_led_outdoors_comes_in_from_there() {
        for (led_outdoors, machines, rise_K) in [
            (true, 1, 3.97),
            (false, 1, 12.33),
            (true, 3, 1.68),
            (false, 3, 12.33),
        ] {
            let ours = resting_room_K(led_outdoors, machines) - 303.15;
            assert!((ours - rise_K).abs() < 0.1, "{ours} against {rise_K}");
        }
    }

    /// By hand: six machines whose electronics give off 25 W, 150 W of other heat and 90 W of sun are 390 W, which a
    /// room that loses 40 W/K, and 4.87 W/K with half a change an hour of 30 m3 (1.155 kg/m3), keeps 8.69 K above
    /// outdoors. A cooler of 200 W leaves 190 W: 4.23 K; one of 2 kW holds its setpoint of 25 degC, 5 K below.
    /// The heat is the room's wherever it is set free; 0.02 K for the air's density.
    #[test]
    fn machines_sun_and_cooler_in_a_hand_balance() {
        for (cooler_max_W, rise_K) in [(0.0, 8.69), (200.0, 4.23), (2000.0, -5.0)] {
            let mut run = idle(
                Building {
                    envelope_W_per_K: 40.0,
                    machines: 6,
                    sun_W: Course::Constant(90.0),
                    cooler_max_W,
                    ..building()
                },
                true,
            );
            run.machine.electronics_W = 25.0;
            let ours = settled_K(&run) - 303.15;
            assert!(
                (ours - rise_K).abs() < 0.02,
                "{cooler_max_W} W: {ours} against {rise_K}"
            );
        }
    }

    /// Six machines of a room are, to the last bit of rounding, one with a sixth of it; and the heat of each is
    /// accounted for as that of one.
    #[test]
    fn machines_share_a_room_evenly() {
        let run = |building: Building| {
            let mut run: Run = crate::runfile::demo().run;
            run.room.building = Some(building);
            let options = Default::default();
            Simulation::of(&run, IntegratorKind::Rosenbrock, &options).unwrap()
        };
        let sun_W = Course::Constant(120.0);
        let (whole, sixth) = (
            run(Building {
                volume_m3: 120.0,
                envelope_W_per_K: 150.0,
                other_heat_W: 300.0,
                cooler_max_W: 500.0,
                machines: 6,
                sun_W: sun_W.clone(),
                ..building()
            }),
            run(Building {
                volume_m3: 20.0,
                envelope_W_per_K: 25.0,
                other_heat_W: 50.0,
                cooler_max_W: 500.0 / 6.0,
                sun_W: sun_W.times(1.0 / 6.0),
                ..building()
            }),
        );
        for hour in [3.0, 40.0, 60.0, 120.0] {
            for point in [whole.chamber.points.room, whole.chamber.points.gear] {
                let t_s = 3600.0 * hour;
                let (a, b) = (
                    whole.temperature_K(point, t_s),
                    sixth.temperature_K(point, t_s),
                );
                assert!((a - b).abs() < 1e-6, "{hour} h: {a} {b}");
            }
        }
        assert!(whole.heat().unaccounted_relative < 1e-6);
    }
}

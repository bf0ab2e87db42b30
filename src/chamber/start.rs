//! What the run finds when it starts, where that is not the room's temperature.

use super::points::{Chain, Points};
use crate::network::{Index, Network};
use crate::run::Initial;

/// Lets nodes start at their own temperatures. Panels start at one temperature throughout, the insulation
/// under the bed and the first layer at the bed's.
pub(super) fn start(initial: &Initial, p: &Points, network: &mut Network) {
    let under_and_on_bed = p.underside.into_iter().chain([p.bed, p.part]);
    let of_panels = p.chains().flat_map(nodes);
    let of_motors = [p.motion, p.feeder, p.gear].into_iter().chain(p.mount);
    let of_hotends = [p.hotend].into_iter().chain(p.second_hotend.map(|s| s.0));
    let of_cold_ends = [p.cold_end].into_iter().chain(p.second_hotend.map(|s| s.1));
    // Where the room is no node, its temperature is given throughout.
    let room = p.outdoors.map(|_| p.room);
    let starts: [(Option<f64>, Vec<Index>); 8] = [
        (initial.air_K, p.air.clone()),
        (initial.bed_K, under_and_on_bed.collect()),
        (initial.panels_K, of_panels.collect()),
        (initial.frame_K, vec![p.frame]),
        (initial.motors_K, of_motors.collect()),
        (initial.hotend_K, of_hotends.collect()),
        (initial.cold_end_K, of_cold_ends.collect()),
        (initial.room_K, room.into_iter().collect()),
    ];
    for (temperature_K, nodes) in starts {
        let Some(temperature_K) = temperature_K else {
            continue;
        };
        for node in nodes {
            network.start_at(node, temperature_K);
        }
    }
}

/// Every node of a panel.
fn nodes(chain: &Chain) -> impl Iterator<Item = Index> + '_ {
    let further = chain.links.iter().map(|(_, next, _)| *next);
    [chain.inner].into_iter().chain(further)
}

#[cfg(test)]
mod tests {
    use crate::chamber::{Chamber, IntegratorKind, Simulation};
    use crate::run::{Building, Initial};

    /// Every node starts at the temperature of its group, told apart by their size; and the heat found is no
    /// heat gained: the audit still closes.
    #[test]
    fn everything_starts_as_it_is_said_to() {
        let mut run = crate::runfile::demo().run;
        run.room.building = Some(Building {
            volume_m3: 60.0,
            envelope_W_per_K: 45.0,
            air_changes_per_s: 1e-4,
            other_heat_W: 0.0,
            cooler_max_W: 0.0,
            cooler_setpoint_K: 298.15,
            storage_factor: 10.0,
            neighbours_W: crate::course::Course::Constant(0.0),
            machines: 1,
            sun_W: crate::course::Course::Constant(0.0),
        });
        run.initial = Initial {
            air_K: Some(311.0),
            bed_K: Some(333.0),
            panels_K: Some(308.0),
            frame_K: Some(310.0),
            motors_K: Some(325.0),
            hotend_K: Some(470.0),
            cold_end_K: Some(320.0),
            room_K: Some(306.0),
        };
        let chamber = Chamber::new(&run).unwrap();
        for (k, node) in chamber.network.nodes().iter().enumerate() {
            let name = node.name.as_str();
            let want_K = match name {
                "bed" | "bed underside" | "part" => 333.0,
                "frame" => 310.0,
                "hotend" => 470.0,
                "cold end" => 320.0,
                "room" => 306.0,
                _ if name.starts_with("air") => 311.0,
                _ if ["motor", "gear", "mount"]
                    .iter()
                    .any(|word| name.contains(word)) =>
                {
                    325.0
                }
                _ => 308.0,
            };
            assert_eq!(chamber.network.initial_K(k), want_K, "{name}");
        }
        let options = Default::default();
        let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &options).unwrap();
        assert!((s.temperature_K(s.chamber.points.bed, 0.0) - 333.0).abs() < 1e-9);
        assert!(s.heat().unaccounted_relative < 1e-8);
    }

    /// A machine as warm as the room was all along: the run is the one without a word about the start.
    #[test]
    fn a_start_at_the_rooms_temperature_changes_nothing() {
        let mut run = crate::runfile::demo().run;
        run.duration_s = 7200.0;
        for phase in &mut run.phases {
            phase.end_s = phase.end_s.min(run.duration_s);
        }
        run.phases.retain(|p| p.begin_s < p.end_s);
        let peak = |run: &crate::run::Run| {
            let options = Default::default();
            let s = Simulation::of(run, IntegratorKind::Rosenbrock, &options).unwrap();
            s.temperature_K(s.chamber.points.top(), 7200.0)
        };
        let plain = peak(&run);
        let room_K = run.room.weather.at(0.0).0;
        run.initial.air_K = Some(room_K);
        run.initial.bed_K = Some(room_K);
        run.initial.panels_K = Some(room_K);
        assert_eq!(peak(&run), plain);
    }
}

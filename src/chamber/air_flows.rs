//! How much air passes the shell at one moment, and where: for drawings and reports.

use super::simulation::Simulation;
use super::things::{WayOut, ways};
use crate::network::Draught;

/// Air that passes one opening or fan at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirFlow {
    /// What it passes.
    pub way: WayOut,
    /// Height above the floor, m.
    pub height_m: f64,
    /// Free area, m2; none of a fan.
    pub area_m2: Option<f64>,
    /// Mass that leaves, kg/s (negative: comes in).
    pub out_kg_per_s: f64,
    /// The same as volume at its own temperature, m3/s.
    pub out_m3_per_s: f64,
    /// What a fan moves in all, m3/s; some of it bypasses the chamber.
    pub at_fan_m3_per_s: Option<f64>,
}

impl Simulation {
    /// What passes the shell at a time, s from the start: leaks, vents, an open door by strips, an open lid, fans.
    ///
    /// Through an open lid air goes both ways at once. Made anew for each question.
    #[must_use]
    pub fn air_flows(&self, at_s: f64) -> Vec<AirFlow> {
        let (piece, x) = self.trajectory.locate(at_s);
        let mut t = Vec::new();
        self.points_at(piece, x, &mut t);
        let run = self.chamber.run();
        let mut found = Vec::new();
        for paths in &self.elements_of(piece).air_paths {
            let volume = |out_kg_per_s: f64, layer: usize| {
                let point = if out_kg_per_s > 0.0 {
                    paths.layers[layer]
                } else {
                    paths.room
                };
                out_kg_per_s / paths.density_kg_per_m3(t[point])
            };
            let through = paths.through_openings_kg_per_s(&t);
            for ((o, way), out) in paths
                .openings
                .iter()
                .zip(ways(run, &paths.openings))
                .zip(through)
            {
                found.push(AirFlow {
                    way,
                    height_m: o.height_m,
                    area_m2: Some(o.area_m2),
                    out_kg_per_s: out,
                    out_m3_per_s: volume(out, o.layer),
                    at_fan_m3_per_s: None,
                });
            }
            // Warm air that rises out of an open top, and as much that sinks in beside it.
            if let Some(out) = paths.exchange_at_top_kg_per_s(&t) {
                let top = paths.layers.len() - 1;
                for out_kg_per_s in [out, -out] {
                    found.push(AirFlow {
                        way: WayOut::Lid,
                        height_m: run.machine.height_m,
                        area_m2: None,
                        out_kg_per_s,
                        out_m3_per_s: volume(out_kg_per_s, top),
                        at_fan_m3_per_s: None,
                    });
                }
            }
            let height_m = |d: &Draught| match d.outward_m3_per_s > 0.0 {
                true => run.machine.extraction_height_m,
                false => run.machine.inlet_height_m,
            };
            for (d, out) in paths.draughts.iter().zip(paths.through_fans_kg_per_s(&t)) {
                found.push(AirFlow {
                    way: WayOut::Fan,
                    height_m: height_m(d),
                    area_m2: None,
                    out_kg_per_s: out,
                    out_m3_per_s: volume(out, d.layer),
                    at_fan_m3_per_s: Some(d.outward_m3_per_s.abs()),
                });
            }
        }
        found
    }

    /// How much of the part is there at a time, s from the start: 0 to 1.
    #[must_use]
    pub fn part_share(&self, at_s: f64) -> f64 {
        let (piece, _) = self.trajectory.locate(at_s);
        self.stretch_of(piece).growth.at(at_s).clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chamber::IntegratorKind;
    use crate::run::{Arrangement, ArrangementKind, Vent};

    fn flows(kind: ArrangementKind, at_s: f64) -> Vec<AirFlow> {
        let mut run = crate::runfile::demo().run;
        run.arrangement = Arrangement::of(kind);
        run.machine.vents = vec![Vent {
            area_m2: 4e-4,
            height_m: 0.1,
            discharge: 0.6,
        }];
        let made = Simulation::of(&run, IntegratorKind::Rosenbrock, &Default::default());
        made.unwrap().air_flows(at_s)
    }

    /// Continuity: as much mass comes in as goes out, whatever is open; and a closed warm box draws in below and
    /// lets out above.
    #[test]
    fn what_comes_in_goes_out() {
        let extracting = ArrangementKind::Extracting {
            flow_m3_per_s: 0.01,
        };
        for kind in [
            ArrangementKind::Closed,
            ArrangementKind::DoorOpen,
            ArrangementKind::LidOff,
            extracting,
        ] {
            let flows = flows(kind.clone(), 200_000.0);
            let sum: f64 = flows.iter().map(|f| f.out_kg_per_s).sum();
            let most = flows
                .iter()
                .map(|f| f.out_kg_per_s.abs())
                .fold(0.0, f64::max);
            assert!(sum.abs() < 1e-6 * most, "{kind:?}: {sum} of {most}");
        }
        let closed = flows(ArrangementKind::Closed, 200_000.0);
        assert!(closed.first().unwrap().out_kg_per_s < 0.0);
        assert!(closed[3].out_kg_per_s > 0.0 && closed[3].height_m > closed[0].height_m);
    }

    #[test]
    fn each_opening_is_known_for_what_it_is() {
        let count = |kind, way| {
            let flows = flows(kind, 200_000.0);
            flows.iter().filter(|f| f.way == way).count()
        };
        assert_eq!(count(ArrangementKind::Closed, WayOut::Leak), 4);
        assert_eq!(count(ArrangementKind::Closed, WayOut::Vent), 1);
        assert_eq!(count(ArrangementKind::Closed, WayOut::Fan), 0);
        assert_eq!(count(ArrangementKind::LidOff, WayOut::Lid), 3);
        assert!(count(ArrangementKind::DoorOpen, WayOut::Door) >= 8);
        let blowing = ArrangementKind::BlowingIn {
            flow_m3_per_s: 0.01,
            fan_power_W: 5.0,
        };
        assert_eq!(count(blowing, WayOut::Fan), 1);
    }

    /// The audit's own heat: what flows out at a moment, by its temperature above the room's and 1,006 J/(kg K), carries
    /// what is booked as air exchange around then.
    #[test]
    fn what_flows_out_carries_what_is_booked() {
        let extracting = ArrangementKind::Extracting {
            flow_m3_per_s: 0.01,
        };
        for kind in [ArrangementKind::LidOff, extracting, ArrangementKind::Closed] {
            let mut run = crate::runfile::demo().run;
            run.arrangement = Arrangement::of(kind.clone());
            let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Default::default()).unwrap();
            let at_s = 200_000.0;
            let points = &s.chamber.points;
            let room_K = s.temperature_K(points.room, at_s);
            let carried_W: f64 = s
                .air_flows(at_s)
                .iter()
                .filter(|f| f.out_kg_per_s > 0.0)
                .map(|f| {
                    let air_K = s.temperature_K(points.air_at(f.height_m), at_s);
                    1006.0 * f.out_kg_per_s * (air_K - room_K)
                })
                .sum();
            let (id, _) = s
                .chamber
                .network
                .reported()
                .into_iter()
                .find(|(_, entry)| entry.name == "air exchange")
                .unwrap();
            let ledger = |t_s: f64| {
                let (piece, x) = s.trajectory.locate(t_s);
                piece.value(s.trajectory.unknowns + id.position(), x)
            };
            let booked_W = (ledger(at_s - 60.0) - ledger(at_s + 60.0)) / 120.0;
            let off = carried_W / booked_W - 1.0;
            assert!(off.abs() < 0.02, "{kind:?}: {carried_W} and {booked_W} W");
        }
    }
}

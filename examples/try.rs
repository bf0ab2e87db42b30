use dogdays::chamber::*;
use dogdays::coefficients::*;
use dogdays::integrate::Options;
use dogdays::runfile::Run;
use dogdays::runfile::model::*;
use std::time::Instant;
pub fn run(kind: ArrangementKind, weather: Weather) -> Run {
    let pc = Panel {
        name: "pc".into(),
        layers: vec![Layer {
            material: "pc".into(),
            thickness_m: 0.004,
            conductivity_W_per_mK: 0.2,
            density_kg_per_m3: 1200.0,
            heat_capacity_J_per_kgK: 1200.0,
        }],
        emissivity_inside: 0.9,
        emissivity_outside: 0.9,
    };
    let steel = Panel {
        name: "steel".into(),
        layers: vec![Layer {
            material: "steel".into(),
            thickness_m: 0.001,
            conductivity_W_per_mK: 50.0,
            density_kg_per_m3: 7850.0,
            heat_capacity_J_per_kgK: 460.0,
        }],
        emissivity_inside: 0.9,
        emissivity_outside: 0.9,
    };
    let dur = 121.0 * 3600.0;
    let ph = |kind, b: f64, e: f64, bed: Option<f64>, noz: Option<f64>, m, f, feed| Phase {
        kind,
        begin_s: b,
        end_s: e,
        bed_K: bed,
        nozzle_K: noz,
        motion_duty: m,
        feeder_duty: f,
        powered: true,
        feed_kg_per_s: feed,
    };
    Run {
        name: "try".into(),
        start: "2026-07-13T07:00".parse().unwrap(),
        duration_s: dur,
        machine: Machine {
            name: "m".into(),
            title: "".into(),
            width_m: 0.55,
            depth_m: 0.55,
            height_m: 0.70,
            air_layers: 2,
            frame_mass_kg: 12.0,
            frame_heat_capacity_J_per_kgK: 700.0,
            frame_area_m2: 1.0,
            lid: pc.clone(),
            walls: pc.clone(),
            door: pc.clone(),
            floor: steel,
            door_opening_m2: 0.3,
            door_opening_height_m: 0.6,
            lid_opening_m2: 0.28,
            leak_area_m2: 0.003,
            vents: vec![Vent {
                area_m2: 0.003,
                height_m: 0.05,
                discharge: 0.6,
            }],
            extraction_height_m: 0.65,
            inlet_height_m: 0.1,
            bed: Bed {
                width_m: 0.36,
                depth_m: 0.36,
                mass_kg: 2.5,
                heat_capacity_J_per_kgK: 900.0,
                max_power_W: 400.0,
                emissivity: 0.9,
                underside_resistance_m2K_per_W: 0.2,
            },
            hotend: Hotend {
                mass_kg: 0.06,
                heat_capacity_J_per_kgK: 800.0,
                max_power_W: 50.0,
                loss_W_per_K: 0.06,
                heat_break_W_per_K: 0.03,
            },
            cold_end: ColdEnd {
                mass_kg: 0.05,
                heat_capacity_J_per_kgK: 900.0,
                cooling_W_per_K: 0.8,
                length_m: 0.03,
            },
            motion: Motor {
                heat_W: 16.0,
                mass_kg: 1.2,
                area_m2: 0.05,
                place: Place::ChamberTop,
            },
            feeder: Feeder {
                motor: Motor {
                    heat_W: 2.5,
                    mass_kg: 0.25,
                    area_m2: 0.012,
                    place: Place::ChamberTop,
                },
                grip_length_m: 0.012,
                heat_sink_W_per_K: 0.0,
            },
            electronics_W: 12.0,
            spool: Place::ChamberBottom,
            guide_tube_m: 0.6,
            filament_diameter_m: 0.00175,
        },
        material: Material {
            name: "pla".into(),
            title: "".into(),
            softening_limit_K: 273.15 + 57.0,
            softening_basis: "".into(),
            density_kg_per_m3: 1240.0,
            heat_capacity_J_per_kgK: 1800.0,
            conductivity_W_per_mK: 0.13,
            bed_K: 333.15,
            nozzle_K: 483.15,
            chamber_min_K: None,
        },
        phases: vec![
            ph(
                PhaseKind::HeatUp,
                0.0,
                900.0,
                Some(333.15),
                Some(483.15),
                0.0,
                0.5,
                0.0,
            ),
            ph(
                PhaseKind::Print,
                900.0,
                dur,
                Some(333.15),
                Some(483.15),
                1.0,
                1.0,
                2.3 / (dur - 900.0),
            ),
        ],
        part: Part {
            mass_kg: 2.3,
            footprint_m2: 0.018,
            height_m: 0.18,
        },
        room: Room {
            weather,
            building: None,
            altitude_m: 200.0,
        },
        arrangement: Arrangement {
            kind,
            control: Control::Constant,
        },
        schedule: vec![],
        system: Default::default(),
        requirements: Requirements {
            margin_K: 3.0,
            must_stay_closed: true,
            chamber_min_K: None,
        },
        coefficients: Coefficients::default(),
    }
}
fn main() {
    let mut times = vec![];
    let mut temps = vec![];
    for i in 0..=125 {
        let t = i as f64 * 3600.0;
        times.push(t);
        let h = 7.0 + i as f64;
        temps.push(
            273.15
                + 29.0
                + 5.0 * ((h - 16.0) / 24.0 * std::f64::consts::TAU).cos()
                + 0.7 * (i as f64 * 1.7).sin(),
        );
    }
    let series = Weather::Series {
        times_s: times,
        temperatures_K: temps,
    };
    for k in [
        ArrangementKind::Closed,
        ArrangementKind::LidOff,
        ArrangementKind::DoorOpen,
        ArrangementKind::Extracting {
            flow_m3_per_s: 40.0 / 3600.0,
        },
        ArrangementKind::BlowingIn {
            flow_m3_per_s: 40.0 / 3600.0,
        },
        ArrangementKind::Recirculating {
            flow_m3_per_s: 40.0 / 3600.0,
            fan_power_W: 4.0,
        },
    ] {
        let r = run(k.clone(), series.clone());
        let t0 = Instant::now();
        let c = Chamber::new(&r).unwrap();
        let t1 = Instant::now();
        let o = Options {
            keep_ledgers: true,
            ..Options::default()
        };
        let s = c.simulate(&r, IntegratorKind::Rosenbrock, &o).unwrap();
        let t2 = Instant::now();
        let peak = |s: &Simulation, p: usize| {
            s.trajectory
                .pieces
                .iter()
                .map(|q| s.point_at(q, 1.0, p))
                .fold(0.0, f64::max)
                - 273.15
        };
        println!(
            "{k:?}\n  build {:?} run {:?} effort {:?}",
            t1 - t0,
            t2 - t1,
            s.trajectory.effort
        );
        let p = s.chamber.points.clone();
        println!(
            "  air {:?} gear {:.2} cold {:.2} frame {:.2} bed {:.2} part {:.2} motion {:.2} lid {:.2}",
            p.air
                .iter()
                .map(|a| (peak(&s, *a) * 100.0).round() / 100.0)
                .collect::<Vec<_>>(),
            peak(&s, p.feeder),
            peak(&s, p.cold_end),
            peak(&s, p.frame),
            peak(&s, p.bed),
            peak(&s, p.part),
            peak(&s, p.motion),
            peak(&s, p.lid.inner)
        );
        let h = s.heat();
        println!(
            "  in {:?}",
            h.in_J
                .iter()
                .map(|(n, q)| format!("{n} {:.1}", q / r.duration_s))
                .collect::<Vec<_>>()
        );
        println!(
            "  out {:?} unacc {:.1e}",
            h.out_J
                .iter()
                .map(|(n, q)| format!("{n} {:.1}", q / r.duration_s))
                .collect::<Vec<_>>(),
            h.unaccounted_relative
        );
        let tight = Chamber::new(&r)
            .unwrap()
            .simulate(
                &r,
                IntegratorKind::Rosenbrock,
                &Options {
                    tolerance: 1e-7,
                    ..Options::default()
                },
            )
            .unwrap();
        let mut worst: f64 = 0.0;
        let mut who = 0;
        for i in 0..=2000 {
            let t = r.duration_s * i as f64 / 2000.0;
            for n in 0..s.chamber.network.nodes.len() {
                let d = (s.temperature_K(n, t) - tight.temperature_K(n, t)).abs();
                if d > worst {
                    worst = d;
                    who = n;
                }
            }
        }
        println!(
            "  vs tight: {worst:.4} K at {} ; peak gear {:.4} {:.4}; tight steps {}",
            s.chamber.network.nodes[who].name,
            peak(&s, p.feeder),
            peak(&tight, p.feeder),
            tight.trajectory.effort.steps
        );
        if std::env::args().len() > 1 {
            let t3 = Instant::now();
            let e = Chamber::new(&r)
                .unwrap()
                .simulate(
                    &r,
                    IntegratorKind::Explicit,
                    &Options {
                        tolerance: 1e-5,
                        ..Options::default()
                    },
                )
                .unwrap();
            let mut worst: f64 = 0.0;
            for i in 0..=2000 {
                let t = r.duration_s * i as f64 / 2000.0;
                for n in 0..s.chamber.network.nodes.len() {
                    let d = (s.temperature_K(n, t) - e.temperature_K(n, t)).abs();
                    if d > worst {
                        worst = d;
                        who = n;
                    }
                }
            }
            println!(
                "  vs explicit: {worst:.4} K at {} in {:?} {:?} unacc {:.1e}",
                s.chamber.network.nodes[who].name,
                t3.elapsed(),
                e.trajectory.effort,
                e.heat().unaccounted_relative
            );
        }
    }
}

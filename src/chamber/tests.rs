//! Chambers as built from runs, against counting and geometry by hand.

use super::enclosure::Enclosures;
use super::timeline::arrangement_at;
use super::{BuildError, Chamber, IntegratorKind, Simulation, StationKind};
use crate::integrate::System;
use crate::network::{Configuration, Enclosure, Index, LedgerId, Running, Schedule, ScheduleError};
use crate::run::Coefficient as K;
use crate::run::Run;
use crate::run::{
    Arrangement, ArrangementKind, BedMotion, Building, Control, Place, Scheduled, Vent,
};
use crate::runfile;

fn demo() -> Run {
    runfile::demo().run
}

fn four_hours() -> Run {
    let mut run = demo();
    run.duration_s = 4.0 * 3600.0;
    for phase in &mut run.phases {
        phase.end_s = phase.end_s.min(run.duration_s);
    }
    run.phases.retain(|p| p.begin_s < p.end_s);
    run
}

/// What a member gives to all others by radiation, as an exchange area, m2.
fn seen_m2(e: &Enclosure, member: usize) -> f64 {
    e.exchange_areas_m2(member).iter().sum()
}

/// The ledger of that name.
fn ledger(chamber: &Chamber, name: &str) -> LedgerId {
    let found = chamber.network.reported();
    let found = found.into_iter().find(|(_, l)| l.name == name);
    found.unwrap_or_else(|| panic!("no ledger {name}")).0
}

/// One layer has no top and bottom; more are a matter of patience only.
#[test]
fn a_chamber_needs_two_layers_and_takes_any_number() {
    for (layers, holds) in [(1, false), (2, true), (40, true)] {
        let mut run = demo();
        run.machine.air_layers = layers;
        match Chamber::new(&run) {
            Ok(_) => assert!(holds, "{layers} layers"),
            Err(e) => assert!(!holds && e == BuildError::Layers { layers }, "{e}"),
        }
    }
}

/// Four leaks, eight strips of the door a layer, and the vents, however many; a vent without area is none.
#[test]
fn openings_are_counted() {
    let mut run = demo();
    run.machine.air_layers = 15;
    run.arrangement.kind = ArrangementKind::DoorOpen;
    let vent = |k: usize| Vent {
        area_m2: if k == 0 { 0.0 } else { 1e-4 },
        height_m: 0.005 * k as f64,
        discharge: 0.6,
    };
    run.machine.vents = (0..=100).map(vent).collect();
    let (_, c) = printing(&run);
    assert_eq!(c.air_paths[0].openings.len(), 4 + 8 * 15 + 100);
}

/// What holds after the last phase nobody has said.
#[test]
fn a_run_longer_than_its_phases_is_refused() {
    let mut run = demo();
    run.duration_s += 7200.0;
    let refused = ScheduleError::TooShort {
        run_h: 123.0,
        end_h: 121.0,
    };
    let e = Chamber::new(&run).unwrap_err();
    assert_eq!(e, BuildError::Phases(refused));
    assert!(e.to_string().contains("121.00 h"), "{e}");
    let mut run = demo();
    run.phases.remove(0);
    assert!(matches!(Chamber::new(&run), Err(BuildError::Phases(_))));
}

/// While the door stands open, and only then, the inside sees the room through it.
#[test]
fn the_inside_sees_the_room_while_the_door_is_open() {
    let mut run = demo();
    run.schedule = [(1, ArrangementKind::DoorOpen), (3, ArrangementKind::LidOff)]
        .map(|(hour, kind)| Scheduled {
            begin_s: 3600.0 * f64::from(hour),
            end_s: 3600.0 * f64::from(hour + 1),
            arrangement: Arrangement::of(kind),
        })
        .to_vec();
    for (hour, kind) in [
        (0.5, ArrangementKind::Closed),
        (1.0, ArrangementKind::DoorOpen),
        (1.5, ArrangementKind::DoorOpen),
        (2.0, ArrangementKind::Closed),
        (3.5, ArrangementKind::LidOff),
        (4.5, ArrangementKind::Closed),
    ] {
        assert_eq!(arrangement_at(&run, 3600.0 * hour).kind, kind, "{hour} h");
    }
    let chamber = Chamber::new(&run).unwrap();
    for stretch in &chamber.timeline.stretches {
        let middle_s = 0.5 * (stretch.begin_s + stretch.end_s);
        let holds = &chamber.timeline.recipes[stretch.on].arrangement;
        assert_eq!(holds, arrangement_at(&run, middle_s), "{middle_s} s");
    }
    let mut kinds = 0;
    for (recipe, c) in chamber
        .timeline
        .recipes
        .iter()
        .zip(chamber.schedule.configurations())
    {
        let e = &c.enclosures[0];
        let sees = |point| e.members().iter().any(|m| m.point == point);
        let points = &chamber.points;
        let (door, lid) = match recipe.arrangement.kind {
            ArrangementKind::DoorOpen => (true, false),
            ArrangementKind::LidOff => (false, true),
            _ => (false, false),
        };
        kinds += usize::from(door) + 2 * usize::from(lid);
        assert_eq!(sees(points.door.inner), !door, "{:?}", recipe.arrangement);
        assert_eq!(sees(points.lid.inner), !lid, "{:?}", recipe.arrangement);
        let open_side = ledger(&chamber, "radiation through the opening");
        let to_room = e.members().iter().filter(|m| m.ledger == open_side);
        assert!(to_room.clone().all(|m| m.point == points.room));
        assert_eq!(to_room.count(), usize::from(door || lid));
    }
    assert!(kinds >= 3);
}

/// A surface gives no more by radiation than a black one of its area would, times its emissivity: the
/// floor that is left beside a large bed is a rim, and none is left under a bed of the chamber's size.
#[test]
fn the_floor_beside_the_bed_is_what_the_bed_leaves() {
    for share in [0.5, 0.9, 1.0] {
        let mut run = demo();
        let m = &mut run.machine;
        (m.bed.width_m, m.bed.depth_m) = (share * m.width_m, m.depth_m);
        m.bed.height_m = 0.0;
        let chamber = Chamber::new(&run).unwrap();
        let (m, e) = (
            &run.machine,
            &chamber.schedule.configurations()[0].enclosures[0],
        );
        let floor = e
            .members()
            .iter()
            .position(|m| m.point == chamber.points.floor.inner);
        // Under a bed of the chamber's size a thousandth is kept, so that nothing divides by zero.
        let rim_m2 = (1.0 - share).max(1e-3) * m.width_m * m.depth_m;
        let seen_m2 = seen_m2(e, floor.unwrap());
        let most_m2 = m.floor.emissivity_inside * rim_m2;
        assert!(
            seen_m2 <= most_m2 * (1.0 + 1e-9),
            "{share}: {seen_m2} m2 of {most_m2}"
        );
    }
}

/// The configuration of the phase that prints, and its chamber.
fn printing(run: &Run) -> (Chamber, Configuration) {
    let chamber = Chamber::new(run).unwrap();
    let recipes = chamber.timeline.recipes.iter();
    let at = recipes.clone().position(|r| r.phase.feed_kg_per_s > 0.0);
    let c = chamber.schedule.configurations()[at.unwrap()].clone();
    (chamber, c)
}

fn conductance_W_per_K(c: &Configuration, a: Index, b: Index) -> f64 {
    let joins = |l: &&crate::network::Conductor| (l.a, l.b) == (a, b) || (l.a, l.b) == (b, a);
    c.conductors
        .iter()
        .filter(joins)
        .map(|l| l.conductance_W_per_K)
        .sum()
}

#[track_caller]
fn same(ours: f64, by_hand: f64) {
    assert!(
        (ours / by_hand - 1.0).abs() < 1e-12,
        "{ours}, by hand {by_hand}"
    );
}

/// Each coefficient does what its explanation says, worked out by hand from the machine's own numbers.
#[test]
fn coefficients_scale_what_they_are_said_to() {
    let mut run = demo();
    run.machine.leak_area_m2 = 5e-4;
    run.machine.vents.clear();
    for phase in &mut run.phases {
        (phase.motion_duty, phase.feeder_duty) = (0.7, 0.4);
    }
    for (coefficient, value) in [
        (K::InsideConvection, 0.85),
        (K::OutsideConvection, 1.2),
        (K::Leakage, 1.7),
        (K::Plume, 0.8),
        (K::LayerMixing, 2e-3),
        (K::StirringSpeed, 0.08),
        (K::MotionHeat, 1.1),
        (K::FeederHeat, 1.3),
        (K::HotendLoss, 0.9),
        (K::HeatBreak, 1.4),
        (K::ColdEndCooling, 0.75),
        (K::PartContact, 90.0),
        (K::ShortCircuit, 0.2),
        (K::BenchResistance, 0.3),
    ] {
        run.coefficients.set(coefficient, value);
    }
    let (chamber, c) = printing(&run);
    let (m, p) = (&run.machine, &chamber.points);
    let top = p.air[p.air.len() - 1];
    let section_m2 = m.width_m * m.depth_m;

    same(
        conductance_W_per_K(&c, p.hotend, top),
        0.9 * m.hotend.loss_W_per_K,
    );
    same(
        conductance_W_per_K(&c, p.hotend, p.cold_end),
        1.4 * m.hotend.heat_break_W_per_K,
    );
    same(
        conductance_W_per_K(&c, p.cold_end, top),
        0.75 * m.cold_end.cooling_W_per_K,
    );
    same(
        conductance_W_per_K(&c, p.floor.outer, p.room),
        section_m2 / 0.3,
    );
    same(c.contacts[0].contact_W_per_m2K, 90.0);

    let heat_W = |node| {
        c.sources
            .iter()
            .filter(|s| s.node == node)
            .map(|s| s.power_W.at(0.0).0)
            .sum()
    };
    same(heat_W(p.motion), 0.7 * 1.1 * m.motion.heat_W);
    same(heat_W(p.feeder), 0.4 * 1.3 * m.feeder.motor.heat_W);

    let air = &c.air_paths[0];
    same(air.openings.iter().map(|o| o.area_m2).sum(), 1.7 * 5e-4);
    same(air.short_circuit, 0.2);

    // Stirring falls to a fifth when nothing moves, in proportion to the duty between.
    let plume = &c.plumes[0];
    same(plume.multiplier, 0.8);
    same(
        c.layerings[0].stirring_m3_per_s,
        0.002 * (0.2 + 0.8 * 0.7) * section_m2,
    );

    for face in c.faces() {
        let (multiplier, speed_m_per_s) = match face.air == p.room {
            true => (1.2, 0.0),
            false => (0.85, 0.08 * 0.7),
        };
        same(face.face.multiplier, multiplier);
        assert!((face.face.speed_m_per_s - speed_m_per_s).abs() < 1e-12);
    }
}

/// When the machine is off, the cold end's fan stands and a fifth of its conductance is left.
#[test]
fn a_cold_end_without_its_fan_keeps_a_fifth() {
    let mut run = demo();
    for phase in &mut run.phases {
        phase.powered = false;
    }
    let (chamber, c) = printing(&run);
    let p = &chamber.points;
    let ours = conductance_W_per_K(&c, p.cold_end, *p.air.last().unwrap());
    same(ours, 0.2 * run.machine.cold_end.cooling_W_per_K);
    // Nor does its electronics give any heat.
    assert!(c.sources.iter().all(|s| !p.air.contains(&s.node)));
}

/// Even a shell without cracks lets through a square millimetre.
#[test]
fn the_tightest_shell_leaks_a_square_millimetre() {
    let mut run = demo();
    run.machine.vents.clear();
    run.machine.leak_area_m2 = 0.0;
    let (_, c) = printing(&run);
    same(
        c.air_paths[0].openings.iter().map(|o| o.area_m2).sum(),
        1e-6,
    );
}

/// Heights come into the layer that they lie in, both ends of the chamber included.
#[test]
fn vents_open_into_the_layer_at_their_height() {
    let mut run = demo();
    run.machine.air_layers = 4;
    run.machine.bed.height_m = 0.0;
    let height_m = run.machine.height_m;
    let vent = |share: f64| Vent {
        area_m2: 1e-4,
        height_m: share * height_m,
        discharge: 0.6,
    };
    run.machine.vents = [0.0, 0.2, 0.3, 0.6, 0.8, 1.0].map(vent).to_vec();
    let (_, c) = printing(&run);
    let openings = &c.air_paths[0].openings;
    let layers: Vec<usize> = openings[4..].iter().map(|o| o.layer).collect();
    assert_eq!(layers, [0, 0, 1, 2, 3, 3]);
}

/// Bed, head and motors warm the layer at their height, and what rises from them passes the layers above. By
/// hand: layers of a fifth of the height, the plate at two of them, the head at 0.7.
#[test]
fn things_warm_the_air_at_their_height() {
    let mut run = demo();
    let m = &mut run.machine;
    m.air_layers = 5;
    (m.head_height_m, m.bed.height_m) = (0.7 * m.height_m, 0.4 * m.height_m);
    m.motion.place = Place::ChamberBottom;
    let height_m = m.height_m;
    let (chamber, c) = printing(&run);
    let p = &chamber.points;
    let plume_of = |point: Index| {
        let fed = |plume: &&crate::network::Plume| {
            plume.faces.iter().any(|f| f.surface == point)
                || plume.losses.iter().any(|l| l.a == point)
        };
        c.plumes.iter().find(fed).expect("a plume")
    };
    for (point, layer, source_m) in [(p.bed, 2, 0.4), (p.hotend, 3, 0.7), (p.motion, 0, 0.0)] {
        let plume = plume_of(point);
        assert_eq!(plume.layers(), &p.air[layer..]);
        for (k, pass_m) in plume.passes_m().iter().enumerate() {
            let by_hand = (0.2 * (layer + k + 1) as f64 - source_m) * height_m;
            assert!((pass_m - by_hand).abs() < 1e-12, "{pass_m} {by_hand}");
        }
    }
    let under = p.underside.unwrap_or(p.bed);
    let below = c.convectors.iter().find(|f| f.surface == under);
    assert_eq!(below.expect("the underside").air, p.air[1]);
    // A bed that goes down is taken at its mean height, and never below the floor.
    run.machine.bed.moves = BedMotion::Down;
    run.part.height_m = 0.4 * height_m;
    let (chamber, c) = printing(&run);
    let plate = |c: &Configuration| c.plumes[0].layers()[0];
    assert_eq!(plate(&c), chamber.points.air[1]);
    run.part.height_m = 2.0 * height_m;
    let (chamber, c) = printing(&run);
    assert_eq!(plate(&c), chamber.points.air[0]);
}

/// Moved air runs along a plate's depth; natural convection goes by area over perimeter. A lid of 0.5 m by
/// 0.8 m in air of 0.25 m/s at 320 K (k = 0.0278 W/(m K), nu = 17.9e-6 m2/s, Pr = 0.703 from tables): Re =
/// 11 200, Nu = 0.664 Re^(1/2) Pr^(1/3) = 62.4, 2.17 W/(m2 K) by forced convection alone.
#[test]
fn moved_air_runs_along_a_plates_depth() {
    let mut run = demo();
    (run.machine.width_m, run.machine.depth_m) = (0.5, 0.8);
    (run.machine.bed.width_m, run.machine.bed.depth_m) = (0.3, 0.4);
    run.coefficients.set(K::StirringSpeed, 0.25);
    run.coefficients.set(K::InsideConvection, 0.0);
    for phase in &mut run.phases {
        phase.motion_duty = 1.0;
    }
    let (chamber, c) = printing(&run);
    let face = |point: Index| c.faces().find(|f| f.surface == point).unwrap().face;
    let lid = face(chamber.points.lid.inner);
    same(lid.length_m, 0.5 * 0.8 / 2.6);
    same(lid.forced_length_m, 0.8);
    same(face(chamber.points.bed).forced_length_m, 0.4);
    let ours = lid.coefficient(325.0, 315.0, chamber.network.air());
    assert!((ours / 2.17 - 1.0).abs() < 0.005, "{ours} W/(m2 K)");
}

/// A plate just above the floor exchanges what one on the floor does; higher up it sees less of the walls,
/// and its underside, in closed surroundings, all that its area allows and no more.
#[test]
fn a_raised_bed_parts_the_radiation_above_from_that_below() {
    let mut run = demo();
    run.machine.bed.underside_resistance_m2K_per_W = 0.1;
    let seen = |height_m: f64| {
        let mut run = run.clone();
        run.machine.bed.height_m = height_m;
        let chamber = Chamber::new(&run).unwrap();
        let e = &chamber.schedule.configurations()[0].enclosures[0];
        let p = &chamber.points;
        let of = |point: Index| e.members().iter().position(|m| m.point == point);
        let bed = of(p.bed).unwrap();
        let to_lid = e.exchange_areas_m2(bed)[of(p.lid.inner).unwrap()];
        let to_lowest = e.exchange_areas_m2(bed)[of(p.walls[0].inner).unwrap()];
        let under = p.underside.and_then(of).map(|k| seen_m2(e, k));
        (seen_m2(e, bed), to_lid, to_lowest, under)
    };
    let (floor, low, high) = (seen(0.0), seen(1e-3), seen(0.4 * run.machine.height_m));
    assert_eq!(floor.3, None);
    // A millimetre of 700 changes view factors by some thousandths; the floor under the plate now is one with
    // the floor beside it.
    for (a, b) in [(floor.0, low.0), (floor.1, low.1)] {
        assert!((a / b - 1.0).abs() < 0.02, "{a} {b} m2");
    }
    assert!(
        high.1 > 1.1 * low.1,
        "nearer to the lid: {} {}",
        high.1,
        low.1
    );
    // What is left between bed and lowest walls goes by way of other surfaces.
    assert!(high.2 < 0.5 * low.2, "{} {}", high.2, low.2);
    let bed = &run.machine.bed;
    let most_m2 = 0.9 * bed.width_m * bed.depth_m;
    for under in [low.3.unwrap(), high.3.unwrap()] {
        assert!(
            under > 0.5 * most_m2 && under < most_m2,
            "{under} of {most_m2} m2"
        );
    }
}

/// A bare bed faces air and floor itself; insulation stands between.
#[test]
fn insulation_under_the_bed_is_a_node_of_its_own() {
    for resistance_m2K_per_W in [0.0, 0.2] {
        let mut run = demo();
        run.machine.bed.underside_resistance_m2K_per_W = resistance_m2K_per_W;
        run.machine.bed.height_m = 0.0;
        let (chamber, c) = printing(&run);
        let (p, bed) = (&chamber.points, &run.machine.bed);
        assert_eq!(p.underside.is_some(), resistance_m2K_per_W > 0.0);
        let under = p.underside.unwrap_or(p.bed);
        let sees_floor = |r: &&crate::network::Radiator| (r.a, r.b) == (under, p.floor.inner);
        assert_eq!(c.radiators.iter().filter(sees_floor).count(), 1);
        if let Some(under) = p.underside {
            let by_hand = bed.width_m * bed.depth_m / 0.2;
            same(conductance_W_per_K(&c, p.bed, under), by_hand);
        }
    }
}

/// Air too cool for the thermostat finds its fan at rest; the fan then works and rests in turn.
#[test]
fn a_piece_has_the_elements_that_held_in_it() {
    let mut run = four_hours();
    let off_below_K = 311.15;
    run.arrangement = Arrangement {
        control: Control::Thermostat {
            on_above_K: 312.15,
            off_below_K,
        },
        ..Arrangement::of(ArrangementKind::Extracting {
            flow_m3_per_s: 0.01,
        })
    };
    let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Default::default()).unwrap();
    let top = *s.chamber.points.air.last().unwrap();
    let (mut works, mut rests) = (0, 0);
    for piece in &s.trajectory.pieces {
        let elements = s.elements_of(piece);
        let blows = !elements.air_paths[0].draughts.is_empty();
        let warmest_K = f64::max(s.point_at(piece, 0.0, top), s.point_at(piece, 1.0, top));
        assert!(!blows || warmest_K > off_below_K - 0.01, "{warmest_K} K");
        works += usize::from(blows);
        rests += usize::from(!blows);
    }
    assert!(
        works > 5 && rests > 5,
        "{works} pieces with the fan, {rests} without"
    );
}

/// Gear, bore and spool have the temperature of what they are part of.
#[test]
fn stations_lie_in_what_surrounds_them() {
    let mut run = four_hours();
    run.machine.spool = Place::ChamberBottom;
    let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Default::default()).unwrap();
    let p = &s.chamber.points;
    for piece in &s.trajectory.pieces {
        for (station, point) in [
            (StationKind::Spool, p.air[0]),
            (StationKind::GuideTube, *p.air.last().unwrap()),
            (StationKind::DriveGear, p.gear),
            (StationKind::ColdEnd, p.cold_end),
        ] {
            let (ours, by_hand) = (
                s.surroundings_over(piece, station),
                s.point_at(piece, 0.5, point),
            );
            assert!((ours.at(0.5) - by_hand).abs() < 1e-9, "{station:?}");
        }
    }
}

/// What is said to come in, less what is said to go out, is what is stored: worked out from temperatures.
#[test]
fn the_audit_adds_up() {
    let mut run = four_hours();
    run.arrangement.kind = ArrangementKind::Extracting {
        flow_m3_per_s: 0.01,
    };
    let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Default::default()).unwrap();
    let (audit, end_s) = (s.heat(), run.duration_s);
    let (network, part) = (&s.chamber.network, s.chamber.points.part);
    let stored = |t_s: f64| -> f64 {
        let nodes = network
            .nodes()
            .iter()
            .enumerate()
            .filter(|(_, n)| n.audited);
        nodes
            .map(|(i, node)| {
                let growth = &s.chamber.timeline.stretches.last().unwrap().growth;
                let there = if i == part { growth.at(t_s) } else { 1.0 };
                node.capacity_J_per_K * there * (s.temperature_K(i, t_s) - network.reference_K())
            })
            .sum()
    };
    let stored_J = stored(end_s) - stored(0.0);
    let sum = |list: &[(String, f64)]| list.iter().map(|(_, q)| q).sum::<f64>();
    let (in_J, out_J) = (sum(&audit.in_J), sum(&audit.out_J));
    assert!(in_J > 0.0 && out_J > 0.0 && stored_J > 0.0);
    // Rounding of sums of 1e6 J.
    assert!(
        (audit.stored_J - stored_J).abs() < 1e-3,
        "{stored_J} J stored"
    );
    assert!(
        (in_J - out_J - stored_J).abs() < 1e-2,
        "{in_J} in, {out_J} out, {stored_J} stored"
    );
    assert!(audit.unaccounted_relative < 1e-8);
    // A share: what is missing over what came in, whatever its size.
    let mut wrong = s.clone();
    let lid = ledger(&wrong.chamber, "lid").position();
    wrong.trajectory.totals[lid] += 0.1 * in_J;
    assert!((wrong.heat().unaccounted_relative - 0.1).abs() < 1e-6);
}

/// A bed above a new, lower setpoint cools without power until it is there, and is held from then on.
#[test]
fn a_bed_above_its_setpoint_is_not_heated() {
    let mut run = four_hours();
    run.room.weather = crate::course::Course::Constant(293.15);
    let mut last = run.phases.pop().unwrap();
    let mut cooler = last.clone();
    let change_s = 0.5 * (last.begin_s + last.end_s);
    (last.end_s, cooler.begin_s) = (change_s, change_s);
    let setpoint_K = last.bed_K.unwrap() - 15.0;
    cooler.bed_K = Some(setpoint_K);
    run.phases.extend([last, cooler]);
    let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Default::default()).unwrap();
    let bed = s.chamber.points.bed;
    let course: Vec<f64> = (0..=60)
        .map(|minutes| s.temperature_K(bed, change_s + 60.0 * f64::from(minutes)))
        .collect();
    assert!((course[0] - (setpoint_K + 15.0)).abs() < 0.01);
    for (before, after) in course.iter().zip(&course[1..]) {
        assert!(*after < before + 0.01, "warmer: {before} to {after} K");
    }
    assert!((course[60] - setpoint_K).abs() < 0.01, "{} K", course[60]);
}

/// Rates at a moment at which the bed stands on its setpoint and everything else is `beside_K` warmer:
/// how fast the bed warms, K/s, and its heater's power, W.
fn bed_on_setpoint(beside_K: f64, max_power_W: f64) -> (f64, f64) {
    let mut run = demo();
    run.machine.bed.max_power_W = max_power_W;
    let chamber = Chamber::new(&run).unwrap();
    let mut system = chamber.system().unwrap();
    let printing = chamber
        .timeline
        .stretches
        .iter()
        .find(|s| s.growth.rate_per_s > 0.0);
    let t_s = printing.unwrap().begin_s + 60.0;
    let bed = chamber.points.bed;
    let setpoint = run.phases.iter().find_map(|p| p.bed_K).unwrap() - chamber.network.reference_K();
    let mut y = vec![setpoint + beside_K; system.unknowns()];
    y[bed] = setpoint;
    y[chamber.points.part] *= chamber.timeline.stretches[0].growth.fraction;
    system.begin(t_s, &mut y);
    let (mut dy, mut ledgers) = (
        vec![0.0; system.unknowns()],
        vec![0.0; system.ledgers() + system.meters()],
    );
    system.rates(t_s, &y, &mut dy, &mut ledgers);
    (dy[bed], ledgers[ledger(&chamber, "bed heater").position()])
}

/// A heater gives what balance asks for, but no less than nothing and no more than it has.
#[test]
fn a_heater_gives_what_is_asked_within_its_limits() {
    let (rate, power_W) = bed_on_setpoint(-10.0, 250.0);
    assert!(
        rate == 0.0 && power_W > 1.0 && power_W < 250.0,
        "{rate} K/s, {power_W} W"
    );
    let needed_W = power_W;
    let (rate, power_W) = bed_on_setpoint(-10.0, 1.0);
    let by_hand = (1.0 - needed_W) / capacity_of_bed();
    assert!(
        power_W == 1.0 && (rate / by_hand - 1.0).abs() < 1e-9,
        "{rate} K/s, {power_W} W"
    );
    let (rate, power_W) = bed_on_setpoint(10.0, 250.0);
    assert!(rate > 0.0 && power_W == 0.0, "{rate} K/s, {power_W} W");
}

/// The heaters' limits are watched by the meters of the heaters, which follow the ledgers.
#[test]
fn alarms_look_at_the_heaters_meters() {
    let chamber = Chamber::new(&demo()).unwrap();
    let mut system = chamber.system().unwrap();
    let mut y = system.initial();
    system.begin(0.0, &mut y);
    let mut watched = vec![3];
    system.alarm_ledgers(&mut watched);
    let first = chamber.network.ledgers().len();
    assert_eq!(watched, [first, first + 1]);
    // Both heat up at full power, and what the meters say is what is booked.
    let (mut dy, mut rates) = (vec![0.0; y.len()], vec![0.0; first + system.meters()]);
    system.rates(0.0, &y, &mut dy, &mut rates);
    let m = &chamber.run().machine;
    assert_eq!(rates[first..], [m.bed.max_power_W, m.hotend.max_power_W]);
    for (k, name) in ["bed heater", "hotend heater"].into_iter().enumerate() {
        assert_eq!(rates[ledger(&chamber, name).position()], rates[first + k]);
    }
}

fn capacity_of_bed() -> f64 {
    let bed = demo().machine.bed;
    bed.mass_kg * bed.heat_capacity_J_per_kgK
}

/// Between its two temperatures a thermostat goes on with what it did; outside, it does what they say.
#[test]
fn a_thermostat_remembers_between_its_temperatures() {
    let mut run = demo();
    let extracting = |flow_m3_per_s| Arrangement {
        control: Control::Thermostat {
            on_above_K: 315.0,
            off_below_K: 313.0,
        },
        ..Arrangement::of(ArrangementKind::Extracting { flow_m3_per_s })
    };
    run.arrangement = extracting(0.01);
    run.schedule = vec![Scheduled {
        begin_s: 7200.0,
        end_s: 10_800.0,
        arrangement: extracting(0.02),
    }];
    let chamber = Chamber::new(&run).unwrap();
    // Of the top layer, at the begin of the run and of the next stretch: whether the fan runs then.
    for (first_K, then_K, first, then) in [
        (316.0, 314.0, true, true),
        (316.0, 312.0, true, false),
        (314.0, 314.0, false, false),
        (312.0, 316.0, false, true),
    ] {
        let mut system = chamber.system().unwrap();
        for (t_s, top_K, runs) in [(0.0, first_K, first), (7200.0, then_K, then)] {
            let mut y = system.initial();
            y[*chamber.points.air.last().unwrap()] = top_K - chamber.network.reference_K();
            assert!(system.begin(t_s, &mut y));
            assert_eq!(
                Schedule::by_number(system.stretch()).1 == Running::Works,
                runs,
                "{first_K} K, {then_K} K"
            );
        }
    }
}

/// A room without an air conditioner has no control beside bed and hotend.
#[test]
fn a_cooler_without_power_is_none() {
    for (cooler_max_W, controls) in [(0.0, 2), (300.0, 3)] {
        let mut run = demo();
        run.room.building = Some(Building {
            volume_m3: 60.0,
            envelope_W_per_K: 45.0,
            air_changes_per_s: 1e-4,
            other_heat_W: 100.0,
            cooler_max_W,
            cooler_setpoint_K: 298.15,
            storage_factor: 10.0,
            neighbours_W: crate::course::Course::Constant(0.0),
            machines: 1,
            sun_W: crate::course::Course::Constant(0.0),
        });
        assert_eq!(printing(&run).1.controls.len(), controls);
    }
}

/// In tables and exports things are told apart by their names.
#[test]
fn no_two_share_a_name() {
    let chamber = Chamber::new(&demo()).unwrap();
    let ledgers = chamber.network.ledgers().iter();
    let mut names: Vec<&str> = ledgers.map(|l| l.name.as_str()).collect();
    names.extend(StationKind::ALL.map(StationKind::name));
    names.extend([IntegratorKind::Rosenbrock, IntegratorKind::Explicit].map(IntegratorKind::name));
    assert!(names.iter().all(|n| !n.is_empty()));
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count);
}

/// Tables are remembered by what they follow from, as are enclosures: what was built before, elsewhere or never, changes
/// no bit of a network. A new thread remembers nothing.
#[test]
fn a_network_is_the_same_whatever_was_built_before() {
    let told = |run: &Run, known: &Enclosures| {
        let c = Chamber::with(run, known).unwrap();
        format!("{:?} {:?}", c.network, c.schedule)
    };
    let demo = demo();
    let changed = |change: fn(&mut Run)| {
        let mut run = demo.clone();
        change(&mut run);
        run
    };
    let runs = [
        demo.clone(),
        changed(|r| r.room.altitude_m += 1500.0),
        changed(|r| r.coefficients.set(K::StirringSpeed, 0.3)),
        changed(|r| r.coefficients.set(K::BoreContact, 300.0)),
        changed(|r| r.machine.lid.emissivity_inside = 0.5),
    ];
    let alone = runs.each_ref().map(|run| {
        std::thread::scope(|s| {
            s.spawn(|| told(run, &Enclosures::default()))
                .join()
                .unwrap()
        })
    });
    for k in 1..runs.len() {
        assert!(alone[0] != alone[k], "{k}");
    }
    let known = Enclosures::default();
    for k in [4, 3, 2, 1, 0, 1, 2, 3, 4] {
        assert!(told(&runs[k], &known) == alone[k], "{k}");
    }
}

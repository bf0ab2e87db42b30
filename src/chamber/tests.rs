//! Chambers as built from runs, against counting and geometry by hand.

use super::nodes::Entry;
use super::{BuildError, Chamber};
use crate::network::air_paths::MAX_OPENINGS;
use crate::network::elements::Enclosure;
use crate::network::plume::MAX_LAYERS;
use crate::runfile::model::{Arrangement, ArrangementKind, Control, Scheduled, Vent};
use crate::runfile::{self, Run};

fn demo() -> Run {
    runfile::demo().run
}

/// What a member gives to all others by radiation, as an exchange area, m2.
fn seen_m2(e: &Enclosure, member: usize) -> f64 {
    let n = e.members.len();
    e.exchange_areas_m2[member * n..(member + 1) * n]
        .iter()
        .sum()
}

#[test]
fn layers_outside_what_the_network_holds_are_refused() {
    for (layers, holds) in [
        (1, false),
        (2, true),
        (MAX_LAYERS, true),
        (MAX_LAYERS + 1, false),
    ] {
        let mut run = demo();
        run.machine.air_layers = layers;
        let refused = BuildError::Layers {
            layers,
            most: MAX_LAYERS,
        };
        match Chamber::new(&run) {
            Ok(_) => assert!(holds, "{layers} layers"),
            Err(e) => assert!(!holds && e == refused, "{layers} layers: {e}"),
        }
    }
}

/// Four leaks, eight strips of the door a layer, and the vents: 4 + 8 * 15 + 4 = 128.
#[test]
fn openings_are_counted_and_too_many_refused() {
    for (vents, holds) in [(4, true), (5, false)] {
        let mut run = demo();
        run.machine.air_layers = 15;
        run.arrangement.kind = ArrangementKind::DoorOpen;
        let vent = |k: usize| Vent {
            area_m2: 1e-4,
            height_m: 0.01 * k as f64,
            discharge: 0.6,
        };
        run.machine.vents = (0..vents).map(vent).collect();
        // A vent without area is none.
        run.machine.vents.push(Vent {
            area_m2: 0.0,
            height_m: 0.1,
            discharge: 0.6,
        });
        let refused = BuildError::Openings {
            openings: 124 + vents,
            most: MAX_OPENINGS,
        };
        match Chamber::new(&run) {
            Ok(_) => assert!(holds, "{vents} vents"),
            Err(e) => assert!(!holds && e == refused, "{vents} vents: {e}"),
        }
    }
}

/// While the door stands open, and only then, the inside sees the room through it.
#[test]
fn the_inside_sees_the_room_while_the_door_is_open() {
    let mut run = demo();
    let arrangement = |kind| Arrangement {
        kind,
        control: Control::Constant,
    };
    run.schedule = [(1, ArrangementKind::DoorOpen), (3, ArrangementKind::LidOff)]
        .map(|(hour, kind)| Scheduled {
            begin_s: 3600.0 * f64::from(hour),
            end_s: 3600.0 * f64::from(hour + 1),
            arrangement: arrangement(kind),
        })
        .to_vec();
    let chamber = Chamber::new(&run).unwrap();
    let mut kinds = 0;
    for (recipe, c) in chamber.timeline.recipes.iter().zip(&chamber.configurations) {
        let e = &c.enclosures[0];
        let sees = |point| e.members.iter().any(|m| m.point == point);
        let points = &chamber.points;
        let (door, lid) = match recipe.arrangement {
            ArrangementKind::DoorOpen => (true, false),
            ArrangementKind::LidOff => (false, true),
            _ => (false, false),
        };
        kinds += usize::from(door) + 2 * usize::from(lid);
        assert_eq!(sees(points.door.inner), !door, "{:?}", recipe.arrangement);
        assert_eq!(sees(points.lid.inner), !lid, "{:?}", recipe.arrangement);
        let to_room = e
            .members
            .iter()
            .filter(|m| m.ledger == Entry::OpenSide as usize);
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
        let chamber = Chamber::new(&run).unwrap();
        let (m, e) = (&run.machine, &chamber.configurations[0].enclosures[0]);
        let floor = e
            .members
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

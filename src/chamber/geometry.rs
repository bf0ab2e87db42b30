//! The chamber as a box of grey surfaces: exchange areas among bed, floor, lid, walls by layer,
//! door, frame, part and motors.
//!
//! The shell's exchange areas are those of real rectangles. Bodies inside (frame, part, motors)
//! are seen in proportion to area, and take away view from the shell: closure and reciprocity are
//! restored by symmetric scaling.

use crate::network::elements::{Area, Enclosure, INTERNAL, Member};
use crate::physics::radiation::{
    Axis, Rectangle, close_exchange_areas, exchange_area_m2, radiosity_exchange,
};
use crate::run::Place;
use crate::run::Run;
use nalgebra::DMatrix;

use super::nodes::{Entry, Points};

/// Emissivity of frame and gantry: painted and bright metal mixed (handbooks give 0.8-0.95 for
/// paint and 0.05-0.2 for bright aluminium; common practice, no source for the mix).
pub const FRAME_EMISSIVITY: f64 = 0.5;
/// Emissivity of motors with painted or oxidised cases (handbook values for paint, from memory).
pub const MOTOR_EMISSIVITY: f64 = 0.8;
/// Emissivity of plastic parts (handbook values for plastics 0.90-0.95, from memory).
pub const PART_EMISSIVITY: f64 = 0.92;

/// A surface of the enclosure before its links are known.
struct Face {
    rectangles: Vec<Rectangle>,
    area_m2: f64,
    emissivity: f64,
    member: Member,
}

/// A rectangle by its lower corner and its extents.
fn rectangle(axis: Axis, looks_along: bool, low_m: [f64; 3], size_m: [f64; 3]) -> Rectangle {
    let high_m = [
        low_m[0] + size_m[0],
        low_m[1] + size_m[1],
        low_m[2] + size_m[2],
    ];
    Rectangle {
        low_m,
        high_m,
        axis,
        looks_along,
    }
}

/// What the lid and door look like from inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Openness {
    /// The lid is off.
    pub lid_off: bool,
    /// The door stands open.
    pub door_open: bool,
}

/// Sides and top of the part, m2.
#[must_use]
pub fn part_sides_m2(run: &Run) -> f64 {
    4.0 * run.part.footprint_m2.sqrt() * run.part.height_m
}

/// The part of the bed's upper face that the part leaves free, m2.
#[must_use]
pub fn free_bed_m2(run: &Run) -> f64 {
    let bed = run.machine.bed.width_m * run.machine.bed.depth_m;
    (bed - run.part.footprint_m2).max(0.02 * bed)
}

/// The enclosure's exchange areas, radiosity solved.
#[must_use]
pub fn enclosure(run: &Run, p: &Points, open: Openness) -> Enclosure {
    let m = &run.machine;
    let (w, d, h) = (m.width_m, m.depth_m, m.height_m);
    let shell = |emissivity: f64, point: usize| {
        (
            emissivity,
            Member {
                point,
                ledger: INTERNAL,
            },
        )
    };
    let opening = (
        1.0,
        Member {
            point: p.room,
            ledger: Entry::OpenSide as usize,
        },
    );
    let face = |rectangles: Vec<Rectangle>, (emissivity, member): (f64, Member)| Face {
        area_m2: rectangles.iter().map(Rectangle::area_m2).sum(),
        rectangles,
        emissivity,
        member,
    };
    let (bw, bd) = (m.bed.width_m.min(w), m.bed.depth_m.min(d));
    let bed = rectangle(
        Axis::Z,
        true,
        [0.5 * (w - bw), 0.5 * (d - bd), 0.0],
        [bw, bd, 0.0],
    );
    let bottom = rectangle(Axis::Z, true, [0.0; 3], [w, d, 0.0]);
    let mut faces = vec![
        face(vec![bed], shell(m.bed.emissivity, p.bed)),
        face(
            vec![bottom],
            shell(m.floor.emissivity_inside, p.floor.inner),
        ),
        face(
            vec![rectangle(Axis::Z, false, [0.0, 0.0, h], [w, d, 0.0])],
            if open.lid_off {
                opening.clone()
            } else {
                shell(m.lid.emissivity_inside, p.lid.inner)
            },
        ),
        face(
            vec![rectangle(Axis::Y, true, [0.0; 3], [w, 0.0, h])],
            if open.door_open {
                opening
            } else {
                shell(m.door.emissivity_inside, p.door.inner)
            },
        ),
    ];
    let n = p.walls.len();
    let slice = h / n as f64;
    for (k, wall) in p.walls.iter().enumerate() {
        let z = slice * k as f64;
        faces.push(face(
            vec![
                rectangle(Axis::X, true, [0.0, 0.0, z], [0.0, d, slice]),
                rectangle(Axis::X, false, [w, 0.0, z], [0.0, d, slice]),
                rectangle(Axis::Y, false, [0.0, d, z], [w, 0.0, slice]),
            ],
            shell(m.walls.emissivity_inside, wall.inner),
        ));
    }
    let shell_count = faces.len();
    let mut direct = shell_exchange(&faces);
    // The floor is what the bed leaves of the bottom; the part covers some of the bed.
    for j in 0..shell_count {
        let seen = direct[(1, j)] - direct[(0, j)];
        direct[(1, j)] = seen;
        direct[(j, 1)] = seen;
    }
    let bed_area = bed.area_m2();
    faces[1].area_m2 = (faces[1].area_m2 - bed_area).max(1e-3 * bed_area);
    let free = free_bed_m2(run).min(bed_area);
    for j in 0..shell_count {
        direct[(0, j)] *= free / bed_area;
        direct[(j, 0)] = direct[(0, j)];
    }
    faces[0].area_m2 = free;

    let part_area = run.part.footprint_m2 + part_sides_m2(run);
    let mut bodies = vec![
        (m.frame_area_m2, FRAME_EMISSIVITY, p.frame),
        (part_area, PART_EMISSIVITY, p.part),
    ];
    let part_row = shell_count + 1;
    if m.motion.place != Place::Room {
        bodies.push((m.motion.area_m2, MOTOR_EMISSIVITY, p.motion));
    }
    if m.feeder.motor.place != Place::Room {
        bodies.push((m.feeder.motor.area_m2, MOTOR_EMISSIVITY, p.feeder));
    }
    for (area_m2, emissivity, point) in bodies {
        faces.push(Face {
            rectangles: vec![],
            area_m2,
            emissivity,
            member: Member {
                point,
                ledger: INTERNAL,
            },
        });
    }
    let count = faces.len();
    let shell_area: f64 = faces[..shell_count].iter().map(|f| f.area_m2).sum();
    let mut exchange = DMatrix::zeros(count, count);
    exchange
        .view_mut((0, 0), (shell_count, shell_count))
        .copy_from(&direct);
    for b in shell_count..count {
        for s in 0..shell_count {
            let seen = faces[b].area_m2 * faces[s].area_m2 / shell_area;
            exchange[(b, s)] = seen;
            exchange[(s, b)] = seen;
        }
    }
    let areas: Vec<f64> = faces.iter().map(|f| f.area_m2).collect();
    let emissivities: Vec<f64> = faces.iter().map(|f| f.emissivity).collect();
    close_exchange_areas(&mut exchange, &areas);
    let total = radiosity_exchange(&exchange, &areas, &emissivities);
    let mut exchange_areas_m2 = vec![0.0; count * count];
    for i in 0..count {
        for j in 0..count {
            exchange_areas_m2[i * count + j] = 0.5 * (total[(i, j)] + total[(j, i)]);
        }
    }
    let grown = part_sides_m2(run) / part_area;
    let grows = Area {
        fixed_m2: 1.0 - grown,
        grown_m2: grown,
    };
    let members = faces.into_iter().map(|f| f.member).collect();
    Enclosure::new(members, exchange_areas_m2, Some((part_row, grows)))
}

/// Direct exchange areas among the shell's faces, with the whole bottom as face 1.
fn shell_exchange(faces: &[Face]) -> DMatrix<f64> {
    let n = faces.len();
    let mut s = DMatrix::zeros(n, n);
    for i in 0..n {
        for j in i..n {
            let mut sum = 0.0;
            for a in &faces[i].rectangles {
                for b in &faces[j].rectangles {
                    sum += exchange_area_m2(a, b);
                }
            }
            s[(i, j)] = sum;
            s[(j, i)] = sum;
        }
    }
    s
}

//! Radiation inside: the chamber as a box of grey surfaces, with bodies in it.
//!
//! The shell's view factors are those of aligned rectangles; bodies (part, frame, motors) see each face of the
//! shell by its share of the area. Radiosity is solved once for each way in which lid and door stand.

use super::build_error::BuildError;
use super::layers::from_to_m;
use super::site::Site;
use super::things::{Body, Things, UNDERSIDE_EMISSIVITY, free_bed_m2, part_sides_m2};
use crate::network::description::{EnclosureDescription, GrowingArea, SurfaceDescription};
use crate::network::{Enclosure, INTERNAL, Index, LedgerId, Member};
use crate::physics::radiation::{
    Axis, Rectangle, close_exchange_areas, exchange_area_m2, radiosity_exchange,
};
use nalgebra::DMatrix;
use std::sync::{Arc, Mutex, PoisonError};

/// A surface of the enclosure before its links are known.
#[derive(Debug, Clone, PartialEq)]
struct Face {
    role: &'static str,
    rectangles: Vec<Rectangle>,
    area_m2: f64,
    emissivity: f64,
    point: Index,
    ledger: LedgerId,
    /// Lower and upper edge, of walls, m.
    from_to_m: Option<[f64; 2]>,
    /// Whether it is a body that stands inside.
    stands_inside: bool,
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

/// The faces of the shell: bed, whole bottom, lid, door, walls from bottom to top, and the underside of a bed
/// above the floor. An open side is black and
/// has the room's temperature.
fn shell(site: &Site<'_>, open_side: LedgerId) -> Vec<Face> {
    let (m, p) = (&site.run.machine, site.p);
    let (w, d, h) = (m.width_m, m.depth_m, m.height_m);
    let face = |role, rectangles: Vec<Rectangle>, emissivity: f64, point: Index| Face {
        role,
        area_m2: rectangles.iter().map(Rectangle::area_m2).sum(),
        rectangles,
        emissivity,
        point,
        ledger: INTERNAL,
        from_to_m: None,
        stands_inside: false,
    };
    let side = |role, rectangle: Rectangle, is_open: bool, emissivity: f64, point: Index| {
        if is_open {
            Face {
                ledger: open_side,
                ..face(role, vec![rectangle], 1.0, p.room)
            }
        } else {
            face(role, vec![rectangle], emissivity, point)
        }
    };
    let (bw, bd) = (m.bed.width_m.min(w), m.bed.depth_m.min(d));
    let plate_m = site.plate_m();
    let corner = [0.5 * (w - bw), 0.5 * (d - bd), plate_m];
    let bed = rectangle(Axis::Z, true, corner, [bw, bd, 0.0]);
    let bottom = rectangle(Axis::Z, true, [0.0; 3], [w, d, 0.0]);
    let lid = rectangle(Axis::Z, false, [0.0, 0.0, h], [w, d, 0.0]);
    let door = rectangle(Axis::Y, true, [0.0; 3], [w, 0.0, h]);
    let (open, of_lid, of_door) = (site.open, m.lid.emissivity_inside, m.door.emissivity_inside);
    let mut faces = vec![
        face("bed", vec![bed], m.bed.emissivity, p.bed),
        face(
            "floor",
            vec![bottom],
            m.floor.emissivity_inside,
            p.floor.inner,
        ),
        side("lid", lid, open.lid_off, of_lid, p.lid.inner),
        side("door", door, open.door_open, of_door, p.door.inner),
    ];
    for (k, wall) in p.walls.iter().enumerate() {
        let (z, top_m) = from_to_m(&p.tops_m, k);
        let slice = top_m - z;
        let rectangles = vec![
            rectangle(Axis::X, true, [0.0, 0.0, z], [0.0, d, slice]),
            rectangle(Axis::X, false, [w, 0.0, z], [0.0, d, slice]),
            rectangle(Axis::Y, false, [0.0, d, z], [w, 0.0, slice]),
        ];
        faces.push(Face {
            from_to_m: Some([z, top_m]),
            ..face("walls", rectangles, m.walls.emissivity_inside, wall.inner)
        });
    }
    if plate_m > 0.0 {
        let under = rectangle(Axis::Z, false, corner, [bw, bd, 0.0]);
        let point = p.underside.unwrap_or(p.bed);
        faces.push(face(
            "bed underside",
            vec![under],
            UNDERSIDE_EMISSIVITY,
            point,
        ));
    }
    faces
}

/// Everything that an enclosure follows from.
#[derive(Debug, Clone, PartialEq)]
struct Surfaces {
    shell: Vec<Face>,
    bodies: Vec<Body>,
    plate_m: f64,
    /// What the part leaves of the bed, m2.
    free_m2: f64,
    words: EnclosureDescription,
}

/// Enclosures whose radiosity has been solved: it is work that runs of one machine share, on all cores.
#[derive(Debug, Default)]
pub struct Enclosures {
    known: Mutex<Vec<(Surfaces, Arc<Enclosure>)>>,
}

/// So many are remembered.
const MOST_KNOWN: usize = 16;

impl Enclosures {
    /// The enclosure, radiosity solved.
    ///
    /// # Errors
    /// When the surfaces make none.
    pub(super) fn of(
        &self,
        site: &Site<'_>,
        things: &Things,
    ) -> Result<Arc<Enclosure>, BuildError> {
        let shell = shell(site, things.open_side());
        let bodies = things.all().into_iter().filter_map(|t| t.body(site.run));
        let bodies: Vec<Body> = bodies.collect();
        let surfaces = Surfaces {
            plate_m: site.plate_m(),
            free_m2: free_bed_m2(site.run).min(shell[0].area_m2),
            words: description(site),
            shell,
            bodies,
        };
        // What another thread left half done there is a list all the same.
        let known = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, known)) = known().iter().find(|(s, _)| *s == surfaces) {
            return Ok(Arc::clone(known));
        }
        // Others go on meanwhile; that two solve the same does no harm.
        let solved = Arc::new(enclosure(&surfaces, site)?);
        let mut known = known();
        if known.len() == MOST_KNOWN {
            known.remove(0);
        }
        known.push((surfaces, Arc::clone(&solved)));
        Ok(solved)
    }
}

fn enclosure(surfaces: &Surfaces, site: &Site<'_>) -> Result<Enclosure, BuildError> {
    let mut faces = surfaces.shell.clone();
    let shell_count = faces.len();
    let bed_area = faces[0].area_m2;
    let plate_m = surfaces.plate_m;
    let mut direct = if plate_m > 0.0 {
        around_plate(&faces, plate_m)
    } else {
        // The floor is what the bed leaves of the bottom.
        let mut direct = shell_exchange(&faces);
        for j in 0..shell_count {
            let seen = direct[(1, j)] - direct[(0, j)];
            direct[(1, j)] = seen;
            direct[(j, 1)] = seen;
        }
        faces[1].area_m2 = (faces[1].area_m2 - bed_area).max(1e-3 * bed_area);
        direct
    };
    // The part covers some of the bed.
    let free = surfaces.free_m2;
    for j in 0..shell_count {
        direct[(0, j)] *= free / bed_area;
        direct[(j, 0)] = direct[(0, j)];
    }
    faces[0].area_m2 = free;

    let mut growing = None;
    for body in &surfaces.bodies {
        let Body {
            role,
            point,
            area_m2,
            emissivity,
            grows,
        } = *body;
        growing = growing.or(grows.map(|area| (faces.len(), area)));
        faces.push(Face {
            role,
            rectangles: vec![],
            area_m2,
            emissivity,
            point,
            ledger: INTERNAL,
            from_to_m: None,
            stands_inside: true,
        });
    }
    let count = faces.len();
    let mut exchange = DMatrix::zeros(count, count);
    exchange
        .view_mut((0, 0), (shell_count, shell_count))
        .copy_from(&direct);
    // A body sees the shell's faces in proportion to their areas; closing decides how much of each.
    for b in shell_count..count {
        for s in 0..shell_count {
            exchange[(b, s)] = faces[s].area_m2;
            exchange[(s, b)] = faces[s].area_m2;
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
    let members = faces.iter().map(|f| Member {
        point: f.point,
        ledger: f.ledger,
    });
    let enclosure = Enclosure::new(members.collect(), exchange_areas_m2, growing)?;
    let described = faces.iter().map(|f| SurfaceDescription {
        role: f.role,
        point: site.network.name(f.point).to_owned(),
        emissivity: f.emissivity,
        from_to_m: f.from_to_m,
        area_m2: f.stands_inside.then_some(f.area_m2),
    });
    Ok(enclosure.of_box(EnclosureDescription {
        surfaces: described.collect(),
        ..surfaces.words.clone()
    }))
}

/// The box in words and numbers, but for its surfaces.
fn description(site: &Site<'_>) -> EnclosureDescription {
    let (run, m) = (site.run, &site.run.machine);
    EnclosureDescription {
        width_m: m.width_m,
        depth_m: m.depth_m,
        height_m: m.height_m,
        bed_width_m: m.bed.width_m.min(m.width_m),
        bed_depth_m: m.bed.depth_m.min(m.depth_m),
        bed_height_m: site.plate_m(),
        bed_free_m2: free_bed_m2(run),
        surfaces: Vec::new(),
        part_area: GrowingArea {
            fixed_m2: run.part.footprint_m2,
            grown_m2: part_sides_m2(run),
        },
        part_full_m2: run.part.footprint_m2 + part_sides_m2(run),
    }
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

/// Direct exchange areas among the shell's faces around a plate above the floor: bed first, its underside last.
///
/// The plate hides from each other what lies below and above it. Of what it receives from below it would let
/// through to each face above what it gives to that face itself, spread evenly: exact for a plate on the floor
/// and, summed over all faces of either side, at any height.
fn around_plate(faces: &[Face], plate_m: f64) -> DMatrix<f64> {
    let (bed, under) = (0, faces.len() - 1);
    let seen_by = |plate: usize, low_m: f64, high_m: f64, face: &Face| -> f64 {
        let parts = face.rectangles.iter();
        let parts = parts.filter_map(|r| between_heights(r, low_m, high_m));
        let from = &faces[plate].rectangles[0];
        parts.map(|r| exchange_area_m2(from, &r)).sum()
    };
    let others = 1..under;
    let mut s = shell_exchange(faces);
    let (mut up, mut down) = (vec![0.0; faces.len()], vec![0.0; faces.len()]);
    for j in others.clone() {
        up[j] = seen_by(bed, plate_m, f64::INFINITY, &faces[j]);
        down[j] = seen_by(under, 0.0, plate_m, &faces[j]);
    }
    let area_m2 = faces[bed].area_m2;
    for i in others.clone() {
        for j in others.clone() {
            let hidden = (down[i] * up[j] + up[i] * down[j]) / area_m2;
            s[(i, j)] = (s[(i, j)] - hidden).max(0.0);
        }
    }
    for (plate, seen) in [(bed, &up), (under, &down)] {
        for j in 0..faces.len() {
            s[(plate, j)] = seen[j];
            s[(j, plate)] = seen[j];
        }
    }
    s
}

/// What of a rectangle lies between two heights.
fn between_heights(r: &Rectangle, low_m: f64, high_m: f64) -> Option<Rectangle> {
    let mut part = *r;
    part.low_m[2] = r.low_m[2].max(low_m);
    part.high_m[2] = r.high_m[2].min(high_m);
    let is_flat = r.low_m[2] == r.high_m[2];
    let is_there = part.low_m[2] < part.high_m[2] || (is_flat && part.low_m[2] == part.high_m[2]);
    is_there.then_some(part)
}

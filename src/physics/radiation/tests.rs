use super::*;

fn close(ours: f64, theirs: f64, tolerance: f64, what: &str) {
    assert!(
        (ours - theirs).abs() <= tolerance,
        "{what}: {ours} against {theirs}"
    );
}

const SQUARE: Rect = Rect {
    x_m: [0.0, 1.0],
    y_m: [0.0, 1.0],
};

/// Howell, A Catalog of Radiation Configuration Factors, tables of C-11 and C-14 (from memory):
/// half a unit of the last digit.
#[test]
fn unit_squares_of_the_catalogue() {
    close(
        rectangles_parallel(SQUARE, SQUARE, 1.0),
        0.19982,
        5e-6,
        "parallel",
    );
    close(
        rectangles_perpendicular(SQUARE, SQUARE),
        0.20004,
        5e-6,
        "perpendicular",
    );
}

/// Gauss-Legendre quadrature of cos cos/(pi r^2) over both faces, 40^4 points, NumPy 2.4.6;
/// from 24^4 to 40^4 points it moves by less than 1e-15.
#[test]
fn rectangles_anywhere_against_quadrature() {
    let parallel = rectangles_parallel(
        Rect {
            x_m: [0.0, 0.36],
            y_m: [0.1, 0.46],
        },
        Rect {
            x_m: [-0.1, 0.45],
            y_m: [0.2, 0.75],
        },
        0.7,
    );
    close(parallel, 0.018_073_159_143_885, 1e-14, "parallel");
    let perpendicular = rectangles_perpendicular(
        Rect {
            x_m: [0.1, 0.5],
            y_m: [0.0, 0.3],
        },
        Rect {
            x_m: [0.15, 0.7],
            y_m: [0.2, 0.9],
        },
    );
    close(perpendicular, 0.011_080_648_989_817, 1e-14, "perpendicular");
}

/// A bed inside a box sees only the part of a wall above it (quadrature as above, whole wall
/// from 0 to 0.7 m, bed at 0.2 m).
#[test]
fn what_lies_behind_is_not_seen() {
    let bed = Rectangle {
        low_m: [0.1, 0.1, 0.2],
        high_m: [0.46, 0.46, 0.2],
        axis: Axis::Z,
        looks_along: true,
    };
    let wall = Rectangle {
        low_m: [0.0, 0.0, 0.0],
        high_m: [0.0, 0.55, 0.7],
        axis: Axis::X,
        looks_along: true,
    };
    close(
        exchange_area_m2(&bed, &wall),
        0.023_749_854_839_730,
        1e-14,
        "bed to wall",
    );
    close(
        exchange_area_m2(&wall, &bed),
        0.023_749_854_839_730,
        1e-14,
        "wall to bed",
    );
    let away = Rectangle {
        looks_along: false,
        ..wall
    };
    assert_eq!(exchange_area_m2(&bed, &away), 0.0);
    let level = Rectangle {
        low_m: [0.5, 0.5, 0.2],
        high_m: [0.6, 0.6, 0.2],
        ..bed
    };
    assert_eq!(exchange_area_m2(&bed, &level), 0.0);
    let above = Rectangle {
        low_m: [0.1, 0.1, 0.7],
        high_m: [0.46, 0.46, 0.7],
        ..bed
    };
    assert_eq!(exchange_area_m2(&bed, &above), 0.0, "both look up");
}

/// A closed box: each face's exchange areas add up to its area, and the matrix is symmetric.
#[test]
fn a_box_is_closed_and_reciprocal() {
    let faces = Rectangle::box_faces([0.1, -0.2, 0.3], [0.65, 0.35, 1.0]);
    for a in &faces {
        let sum: f64 = faces.iter().map(|b| exchange_area_m2(a, b)).sum();
        // Sums of 16 terms of the size of an area, rounded.
        close(sum, a.area_m2(), 1e-14, "row");
        for b in &faces {
            close(
                exchange_area_m2(a, b),
                exchange_area_m2(b, a),
                1e-15,
                "reciprocity",
            );
        }
    }
}

/// Splitting a face changes nothing (view factor algebra).
#[test]
fn parts_add_up() {
    let lower = Rect {
        x_m: [0.0, 0.4],
        y_m: [0.0, 1.0],
    };
    let upper = Rect {
        x_m: [0.4, 1.0],
        y_m: [0.0, 1.0],
    };
    let whole = rectangles_perpendicular(SQUARE, SQUARE);
    let parts = rectangles_perpendicular(SQUARE, lower) + rectangles_perpendicular(SQUARE, upper);
    close(parts, whole, 1e-15, "parts");
}

#[test]
fn closing_restores_row_sums_and_keeps_symmetry() {
    let faces = Rectangle::box_faces([0.0; 3], [0.55, 0.55, 0.7]);
    let areas: Vec<f64> = faces.iter().map(Rectangle::area_m2).collect();
    let exact = DMatrix::from_fn(6, 6, |i, j| exchange_area_m2(&faces[i], &faces[j]));
    // Spoiled symmetrically by up to 6 %.
    let mut s = DMatrix::from_fn(6, 6, |i, j| {
        exact[(i, j)] * (0.94 + 0.01 * ((i * j + i + j) % 7) as f64)
    });
    let left = close_exchange_areas(&mut s, &areas);
    assert!(left < 1e-12, "left {left}");
    for i in 0..6 {
        close(s.row(i).sum(), areas[i], 1e-12, "row");
        for j in 0..6 {
            assert_eq!(s[(i, j)].to_bits(), s[(j, i)].to_bits());
            close(
                s[(i, j)],
                exact[(i, j)],
                0.06 * areas[i],
                "not far from the exact one",
            );
        }
    }
}

#[test]
fn an_enclosure_that_cannot_be_closed_is_told() {
    let mut s = DMatrix::from_row_slice(2, 2, &[0.0, 1.0, 1.0, 0.0]);
    assert!(close_exchange_areas(&mut s, &[1.0, 2.0]) > 0.1);
}

/// Two-surface enclosures: every handbook, e.g. Incropera & DeWitt, table 13.3: large plates
/// 1/(1/e1 + 1/e2 - 1); small convex body in a cavity 1/(1/e1 + (A1/A2)(1 - e2)/e2).
#[test]
fn two_surface_enclosures() {
    let plates = DMatrix::from_row_slice(2, 2, &[0.0, 1.0, 1.0, 0.0]);
    close(
        radiosity_exchange(&plates, &[1.0, 1.0], &[0.8, 0.5])[(0, 1)],
        4.0 / 9.0,
        1e-15,
        "plates",
    );
    let cavity = DMatrix::from_row_slice(2, 2, &[0.0, 1.0, 1.0, 3.0]);
    let g = radiosity_exchange(&cavity, &[1.0, 4.0], &[0.7, 0.3]);
    close(
        g[(0, 1)],
        1.0 / (1.0 / 0.7 + 0.25 * 0.7 / 0.3),
        1e-15,
        "cavity",
    );
    // Emissivity 1: the direct exchange areas. Foil: 1/(2/e - 1).
    close(
        radiosity_exchange(&cavity, &[1.0, 4.0], &[1.0, 1.0])[(0, 1)],
        1.0,
        1e-15,
        "black",
    );
    close(
        radiosity_exchange(&plates, &[1.0, 1.0], &[1e-4, 1e-4])[(0, 1)],
        1.0 / 19_999.0,
        1e-15,
        "foil",
    );
    let none = radiosity_exchange(&plates, &[1.0, 1.0], &[0.0, 0.0]);
    assert!(
        none.iter().all(|g| *g == 0.0),
        "mirrors exchange nothing: {none}"
    );
}

/// Two squares joined by a reradiating wall: the network of Incropera & DeWitt, section 13.3,
/// 1/{(1-e1)/(e1 A1) + 1/(A1 F12 + 1/(1/(A1 F1R) + 1/(A2 F2R))) + (1-e2)/(e2 A2)}; with
/// e1 = 0.8, e2 = 0.5 and F12 = 0.199825: 0.342829.
#[test]
fn a_reradiating_wall_adds_its_path() {
    let f = rectangles_parallel(SQUARE, SQUARE, 1.0);
    let r = 1.0 - f;
    let s = DMatrix::from_row_slice(3, 3, &[0.0, f, r, f, 0.0, r, r, r, 4.0 - 2.0 * r]);
    // The wall of emissivity 0 stores nothing: what it gets it passes on.
    let g = radiosity_exchange(&s, &[1.0, 1.0, 4.0], &[0.8, 0.5, 0.0]);
    close(g[(0, 1)], 0.342_828_552_6, 1e-9, "through the wall");
    assert_eq!(g[(0, 2)], 0.0);
}

/// Kirchhoff: within a closed enclosure a face's total exchange areas, its own included, add up
/// to emissivity times area.
#[test]
fn row_sums_are_emissivity_times_area() {
    let faces = Rectangle::box_faces([0.0; 3], [0.55, 0.55, 0.7]);
    let areas: Vec<f64> = faces.iter().map(Rectangle::area_m2).collect();
    let s = DMatrix::from_fn(6, 6, |i, j| exchange_area_m2(&faces[i], &faces[j]));
    let emissivities = [0.9, 0.1, 1.0, 0.05, 0.6, 0.84];
    let g = radiosity_exchange(&s, &areas, &emissivities);
    for i in 0..6 {
        close(g.row(i).sum(), emissivities[i] * areas[i], 1e-14, "row");
        for j in 0..6 {
            assert_eq!(g[(i, j)].to_bits(), g[(j, i)].to_bits());
        }
    }
}

/// Two plates one above the other that look the same way see nothing of each other, whichever is asked.
#[test]
fn plates_that_look_the_same_way_do_not_see_each_other() {
    let plate = |z: f64, looks_along: bool| Rectangle {
        low_m: [0.0, 0.0, z],
        high_m: [0.4, 0.4, z],
        axis: Axis::Z,
        looks_along,
    };
    for looks_along in [true, false] {
        let (low, high) = (plate(0.0, looks_along), plate(0.5, looks_along));
        assert_eq!(exchange_area_m2(&low, &high), 0.0);
        assert_eq!(exchange_area_m2(&high, &low), 0.0);
    }
    assert!(exchange_area_m2(&plate(0.0, true), &plate(0.5, false)) > 0.0);
    assert_eq!(exchange_area_m2(&plate(0.0, false), &plate(0.5, true)), 0.0);
}

/// A face that sees nothing, or has no area, does not keep the others from being closed.
#[test]
fn a_face_that_sees_nothing_leaves_the_others_closed() {
    for (to_third, area) in [(0.0, 0.3), (1e-6, 0.0)] {
        let mut s = DMatrix::from_row_slice(
            3,
            3,
            &[
                0.1, 0.9, to_third, 0.9, 0.3, to_third, to_third, to_third, 0.0,
            ],
        );
        close_exchange_areas(&mut s, &[1.1, 1.0, area]);
        close(s[(0, 0)] + s[(0, 1)] + s[(0, 2)], 1.1, 1e-9, "row");
        close(s[(1, 0)] + s[(1, 1)] + s[(1, 2)], 1.0, 1e-9, "row");
    }
}

/// Two faces that see little but each other close slowly, by half a per cent a round, but they do: face 2
/// sees only face 1, so all of its 0.99 m2 goes there and 0.01 m2 are left for face 1 itself.
#[test]
fn a_slow_closure_is_carried_to_its_end() {
    let mut s = DMatrix::from_row_slice(2, 2, &[0.01, 1.0, 1.0, 0.0]);
    assert!(close_exchange_areas(&mut s, &[1.0, 0.99]) < 1e-12);
    close(s[(0, 1)], 0.99, 1e-11, "between");
    close(s[(0, 0)], 0.01, 1e-11, "of face 1 to itself");
}

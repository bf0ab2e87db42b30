//! How the chamber's air is cut into layers.

use crate::run::Run;

/// A layer is at least this share of an even one: a thinner one would hold next to no air.
const THINNEST: f64 = 0.25;

/// Tops of the layers, bottom to top, m. They are even but for one: the air steps in temperature where the bed
/// stands, so the boundary nearest to its plate lies at the plate. Without that the result would hang on
/// how the number of layers happens to fall on the bed's height.
pub(super) fn tops_m(run: &Run) -> Vec<f64> {
    let (layers, height_m) = (run.machine.air_layers, run.machine.height_m);
    let even_m = height_m / layers as f64;
    let mut tops_m: Vec<f64> = (1..=layers).map(|k| even_m * k as f64).collect();
    let plate_m = run.plate_m();
    let last = layers - 2;
    let nearest = ((plate_m / even_m).round() as usize).clamp(1, last + 1) - 1;
    let below_m = if nearest == 0 {
        0.0
    } else {
        tops_m[nearest - 1]
    };
    let thinnest_m = THINNEST * even_m;
    if plate_m - below_m >= thinnest_m && tops_m[nearest + 1] - plate_m >= thinnest_m {
        tops_m[nearest] = plate_m;
    }
    tops_m
}

/// The layer at a height above the floor: of two that meet there the upper one.
pub(super) fn layer_at(tops_m: &[f64], height_m: f64) -> usize {
    let below = tops_m.iter().take_while(|top| **top <= height_m).count();
    below.min(tops_m.len() - 1)
}

/// Bottom and top of a layer, m.
pub(super) fn from_to_m(tops_m: &[f64], layer: usize) -> (f64, f64) {
    let from_m = if layer == 0 { 0.0 } else { tops_m[layer - 1] };
    (from_m, tops_m[layer])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_boundary_lies_at_the_plate_and_the_rest_is_even() {
        let mut run = crate::runfile::demo().run;
        run.machine.height_m = 0.7;
        run.machine.air_layers = 7;
        for (plate_m, boundary, at_m) in [
            (0.0, 0, 0.1),
            (0.02, 0, 0.1),
            (0.03, 0, 0.03),
            (0.12, 0, 0.12),
            (0.16, 1, 0.16),
            (0.25, 2, 0.25),
            (0.66, 5, 0.66),
            (0.69, 5, 0.6),
        ] {
            run.machine.bed.height_m = plate_m;
            let tops_m = tops_m(&run);
            for (k, top_m) in tops_m.iter().enumerate() {
                let expected_m = if k == boundary {
                    at_m
                } else {
                    0.1 * (k + 1) as f64
                };
                assert!((top_m - expected_m).abs() < 1e-12, "{plate_m}: {tops_m:?}");
            }
            // The plate's air is the layer above it.
            let (from_m, to_m) = from_to_m(&tops_m, layer_at(&tops_m, plate_m));
            assert!(from_m <= plate_m && plate_m < to_m);
        }
        assert_eq!(layer_at(&tops_m(&run), 5.0), 6);
    }
}

//! What the Prandtl number makes of natural convection: the factors of Churchill and Chu, which the table
//! of air holds ready and the correlations of convection use.

/// 0.387/[1 + (c/Pr)^(9/16)]^(8/27) and its logarithmic slope in Pr.
fn churchill_chu_factor(c: f64, pr: f64) -> (f64, f64) {
    let x = (c / pr).powf(9.0 / 16.0);
    (0.387 / (1.0 + x).powf(8.0 / 27.0), x / (6.0 * (1.0 + x)))
}

/// Factor of Ra^(1/6) on a vertical plate and its logarithmic slope in Pr.
pub(crate) fn vertical_prandtl_factor(pr: f64) -> (f64, f64) {
    churchill_chu_factor(0.492, pr)
}

/// Factor of Ra^(1/6) on a horizontal cylinder and its logarithmic slope in Pr.
pub(crate) fn cylinder_prandtl_factor(pr: f64) -> (f64, f64) {
    churchill_chu_factor(0.559, pr)
}

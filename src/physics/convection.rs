//! Convection from a face to air: natural by orientation and by which side is warmer, forced, mixed.

use super::air::AirTable;
use super::prandtl::{cylinder_prandtl_factor, vertical_prandtl_factor};
use super::roots::{cbrt, fifth_root};
use super::smooth;

/// Where a correlation was published to hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Name of the correlation, as told to users.
    pub name: &'static str,
    /// The quantity it is limited by: "Ra" or "Re".
    pub quantity: &'static str,
    /// Lower end, a dimensionless number.
    pub low: f64,
    /// Upper end, likewise.
    pub high: f64,
    /// Where it was published.
    pub source: &'static str,
}

impl Range {
    /// Whether a value lies in the published range, ends included.
    #[must_use]
    pub fn contains(&self, x: f64) -> bool {
        (self.low..=self.high).contains(&x)
    }
}

/// Range of [`nusselt_vertical_plate`].
pub const VERTICAL_PLATE: Range = Range {
    name: "natural convection on a vertical plate",
    quantity: "Ra",
    low: 0.1,
    high: 1e12,
    source: "Churchill & Chu 1975, Int. J. Heat Mass Transfer 18, 1323-1329",
};
/// Range of [`nusselt_horizontal_away`].
pub const HORIZONTAL_AWAY: Range = Range {
    name: "natural convection on a horizontal face, buoyancy away from it",
    quantity: "Ra",
    low: 1e4,
    high: 1e11,
    source: "Lloyd & Moran 1974, J. Heat Transfer 96, 443-447; range as in Incropera",
};
/// Range of [`nusselt_horizontal_toward`].
pub const HORIZONTAL_TOWARD: Range = Range {
    name: "natural convection on a horizontal face, buoyancy toward it",
    quantity: "Ra",
    low: 1e4,
    high: 1e9,
    source: "Radziemska & Lewandowski 2001, Applied Energy 68, 347-366; range as in Incropera",
};
/// Range of [`nusselt_horizontal_cylinder`].
pub const HORIZONTAL_CYLINDER: Range = Range {
    name: "natural convection on a horizontal cylinder",
    quantity: "Ra",
    low: 1e-5,
    high: 1e12,
    source: "Churchill & Chu 1975, Int. J. Heat Mass Transfer 18, 1049-1053",
};
/// Range of [`nusselt_flat_plate_forced`].
pub const FLAT_PLATE_FORCED: Range = Range {
    name: "forced convection along a flat plate",
    quantity: "Re",
    low: 1e3,
    high: 1e8,
    source: "Pohlhausen 1921 (laminar); mixed boundary layer as in Incropera, transition at 5e5",
};
/// Range of [`nusselt_cylinder_forced`], as a range of Re for air (Re Pr above 0.2).
pub const CYLINDER_FORCED: Range = Range {
    name: "forced convection across a cylinder",
    quantity: "Re",
    low: 0.28,
    high: 1e7,
    source: "Churchill & Bernstein 1977, J. Heat Transfer 99, 300-306",
};

/// Rayleigh number below which the horizontal correlations bend to a constant. It is chosen so that
/// both end near 2/pi = 0.637, the conduction limit of one side of an isothermal disc in still
/// air with L = A/P; it lies far below their published range.
pub(crate) const HORIZONTAL_STILL_RA: f64 = 5.0;

/// Rayleigh numbers, a factor of two either side of 1e7, between which the two branches of
/// [`nusselt_horizontal_away`] are blended.
pub(crate) const AWAY_BAND: (f64, f64) = (5e6, 2e7);

/// Nu = 0.54 Ra^(1/4), 0.15 Ra^(1/3), 0.52 Ra^(1/5): the factors of [`nusselt_horizontal_away`], laminar and
/// turbulent, and of [`nusselt_horizontal_toward`].
pub(crate) const AWAY_LAMINAR: f64 = 0.54;
pub(crate) const AWAY_TURBULENT: f64 = 0.15;
pub(crate) const TOWARD: f64 = 0.52;

/// Reynolds numbers between which [`nusselt_flat_plate_forced`] goes from laminar to mixed.
const PLATE_BAND: (f64, f64) = (4e5, 6.25e5);

/// Nusselt number of still fluid around a long cylinder in Churchill and Bernstein's form.
const CYLINDER_STILL_NUSSELT: f64 = 0.3;

#[inline]
fn vertical_with_factor(ra: f64, factor: f64) -> f64 {
    let root = 0.825 + factor * cbrt(smooth::abs(ra, VERTICAL_PLATE.low)).sqrt();
    root * root
}

#[inline]
fn cylinder_with_factor(ra: f64, factor: f64) -> f64 {
    let root = 0.60 + factor * cbrt(smooth::abs(ra, HORIZONTAL_CYLINDER.low)).sqrt();
    root * root
}

/// Mean Nusselt number of natural convection on an isothermal vertical plate.
///
/// Nu = {0.825 + 0.387 Ra^(1/6)/[1 + (0.492/Pr)^(9/16)]^(8/27)}^2
///
/// * `ra`: Rayleigh number on the height; published for 0.1 to 1e12. Below 0.1 it bends smoothly to
///   a constant.
/// * `pr`: Prandtl number, any.
///
/// Worked example: Ra = 1.813e9, Pr = 0.690 give Nu = 147 (Incropera & DeWitt, glass-door
/// firescreen).
///
/// Reference: Churchill & Chu 1975, Int. J. Heat Mass Transfer 18, 1323-1329,
/// doi:10.1016/0017-9310(75)90243-4.
#[must_use]
#[inline]
pub fn nusselt_vertical_plate(ra: f64, pr: f64) -> f64 {
    vertical_with_factor(ra, vertical_prandtl_factor(pr).0)
}

/// Mean Nusselt number of a horizontal face from which buoyancy carries the air away: a warm face
/// looking up, a cold face looking down.
///
/// Nu = 0.54 Ra^(1/4) up to about 1e7, 0.15 Ra^(1/3) above; between 5e6 and 2e7 a blend in ln Ra
/// that lies between the two.
///
/// * `ra`: Rayleigh number on L = area/perimeter; published for 1e4 to 1e11. Below 5 it bends
///   smoothly to 0.63.
///
/// Worked example: Ra = 1.38e8 gives Nu = 77.5 (Incropera & DeWitt, top of a heating duct,
/// 0.15 Ra^(1/3); from memory).
///
/// Reference: Lloyd & Moran 1974, J. Heat Transfer 96, 443-447, doi:10.1115/1.3450224.
#[must_use]
#[inline]
pub fn nusselt_horizontal_away(ra: f64) -> f64 {
    let ra = smooth::abs(ra, HORIZONTAL_STILL_RA);
    if ra <= AWAY_BAND.0 {
        return AWAY_LAMINAR * ra.sqrt().sqrt();
    }
    let turbulent = AWAY_TURBULENT * cbrt(ra);
    if ra >= AWAY_BAND.1 {
        return turbulent;
    }
    let laminar = AWAY_LAMINAR * ra.sqrt().sqrt();
    laminar + log_step(ra, AWAY_BAND) * (turbulent - laminar)
}

/// Smooth step in ln x over a band.
#[inline]
fn log_step(x: f64, band: (f64, f64)) -> f64 {
    smooth::step((x / band.0).ln() / (band.1 / band.0).ln())
}

/// Mean Nusselt number of a horizontal face onto which buoyancy presses the air: a cold face
/// looking up, a warm face looking down.
///
/// Nu = 0.52 Ra^(1/5)
///
/// * `ra`: Rayleigh number on L = area/perimeter; published for 1e4 to 1e9. Below 5 it bends
///   smoothly to 0.59.
///
/// Worked example: Ra = 1e5 gives 0.52 * 10 = 5.2.
///
/// Reference: Radziemska & Lewandowski 2001, Applied Energy 68, 347-366,
/// doi:10.1016/S0306-2619(01)00004-1. Older handbooks give 0.27 Ra^(1/4) (McAdams).
#[must_use]
#[inline]
pub fn nusselt_horizontal_toward(ra: f64) -> f64 {
    TOWARD * fifth_root(smooth::abs(ra, HORIZONTAL_STILL_RA))
}

/// Mean Nusselt number of natural convection on an isothermal horizontal cylinder.
///
/// Nu = {0.60 + 0.387 Ra^(1/6)/[1 + (0.559/Pr)^(9/16)]^(8/27)}^2
///
/// * `ra`: Rayleigh number on the diameter; published for 1e-5 to 1e12. Below 1e-5 it bends
///   smoothly to a constant.
/// * `pr`: Prandtl number, any.
///
/// Worked example: Ra = 5.073e6, Pr = 0.697 give Nu = 23.3 (Incropera & DeWitt, high-pressure
/// steam pipe).
///
/// Reference: Churchill & Chu 1975, Int. J. Heat Mass Transfer 18, 1049-1053,
/// doi:10.1016/0017-9310(75)90222-7.
#[must_use]
#[inline]
pub fn nusselt_horizontal_cylinder(ra: f64, pr: f64) -> f64 {
    cylinder_with_factor(ra, cylinder_prandtl_factor(pr).0)
}

/// Mean Nusselt number of forced flow along an isothermal flat plate.
///
/// Laminar 0.664 Re^(1/2) Pr^(1/3); with a turbulent rear part (0.037 Re^0.8 - 871) Pr^(1/3);
/// between Re = 4e5 and 6.25e5 a blend in ln Re that lies between the two.
///
/// * `re`: Reynolds number on the length along the flow; published for about 1e3 to 1e8,
///   transition at 5e5. Zero at rest.
/// * `pr`: Prandtl number, 0.6 to 60.
///
/// Worked example: Re = 9597, Pr = 0.687 give Nu = 57.4 (Incropera & DeWitt, air at 300 degC over
/// a plate 0.5 m long).
///
/// Reference: Pohlhausen 1921 (laminar); mixed layer as in Incropera & DeWitt, Fundamentals of
/// Heat and Mass Transfer.
#[must_use]
#[inline]
pub fn nusselt_flat_plate_forced(re: f64, pr: f64) -> f64 {
    let re = re.max(0.0);
    let root = cbrt(pr);
    let laminar = 0.664 * re.sqrt() * root;
    if re <= PLATE_BAND.0 {
        return laminar;
    }
    let mixed = (0.037 * re / fifth_root(re) - 871.0) * root;
    laminar + log_step(re, PLATE_BAND) * (mixed - laminar)
}

/// By how much, as a factor, a short plate may give off more than its laminar boundary layer does.
///
/// 1 + 2.0 Re^(-3/8)
///
/// Pohlhausen's law is the limit of long plates. The flow speeds up before a trailing edge, which adds to the
/// friction 2.67 Re^(-7/8) beside Blasius' 1.328 Re^(-1/2); that sum follows measured friction down to
/// Re of about 10. Heat gains less than friction does, because the pressure that speeds the flow up carries
/// none: the law without the factor is a lower bound, with it an upper one.
///
/// * `re`: Reynolds number on the length along the flow, 10 or more.
///
/// Worked example: Re = 100 gives 1 + 2.0/5.62 = 1.36.
///
/// Reference: Stewartson 1969, Mathematika 16, 106-121; Messiter 1970, SIAM J. Appl. Math. 18, 241-257; 2.67
/// by Jobe & Burggraf 1974, Proc. R. Soc. A 340, 91-111 (all from memory).
#[must_use]
pub fn short_plate_factor(re: f64) -> f64 {
    const MORE: f64 = 2.67 / 1.328;
    if re <= 0.0 {
        return 1.0;
    }
    1.0 + MORE / re.powf(0.375)
}

/// Mean Nusselt number of flow across a cylinder.
///
/// Nu = 0.3 + 0.62 Re^(1/2) Pr^(1/3)/[1 + (0.4/Pr)^(2/3)]^(1/4) [1 + (Re/282000)^(5/8)]^(4/5)
///
/// * `re`: Reynolds number on the diameter; published for Re Pr above 0.2 up to about 1e7.
/// * `pr`: Prandtl number.
///
/// Worked example: Re = 6071, Pr = 0.70 give Nu = 40.6 (Incropera & DeWitt, cylinder of 12.7 mm in
/// air at 10 m/s).
///
/// Reference: Churchill & Bernstein 1977, J. Heat Transfer 99, 300-306, doi:10.1115/1.3450685.
#[must_use]
pub fn nusselt_cylinder_forced(re: f64, pr: f64) -> f64 {
    let re = re.max(0.0);
    let p = cbrt(0.4 / pr);
    let laminar = 0.62 * re.sqrt() * cbrt(pr) / (1.0 + p * p).sqrt().sqrt();
    // Powers 5/8 and 4/5 by roots.
    let x = (re / 282_000.0).sqrt();
    let y = 1.0 + x * x.sqrt().sqrt();
    CYLINDER_STILL_NUSSELT + laminar * y / fifth_root(y)
}

/// Mixed convection: (F^3 + N^3)^(1/3).
///
/// * `forced`, `natural`: Nusselt numbers on the same length, or coefficients in the same unit, not
///   negative; assisting or crossing flows.
///
/// Worked example: 3 and 3 give 3.780 (2^(1/3) times 3).
///
/// Reference: Churchill 1977, AIChE J. 23, 10-16, doi:10.1002/aic.690230103.
#[must_use]
#[inline]
pub fn nusselt_mixed(forced: f64, natural: f64) -> f64 {
    cbrt(forced * forced * forced + natural * natural * natural)
}

/// The direction a face looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Face {
    /// Sideways.
    Vertical,
    /// Up: the air is above it.
    Up,
    /// Down: the air is below it.
    Down,
    /// A horizontal rod with air all round.
    Cylinder,
}

/// The range of the natural correlation used for a face.
#[must_use]
pub fn range(face: Face, surface_warmer: bool) -> &'static Range {
    match (face, surface_warmer) {
        (Face::Vertical, _) => &VERTICAL_PLATE,
        (Face::Up, true) | (Face::Down, false) => &HORIZONTAL_AWAY,
        (Face::Up, false) | (Face::Down, true) => &HORIZONTAL_TOWARD,
        (Face::Cylinder, _) => &HORIZONTAL_CYLINDER,
    }
}

/// The range of the forced correlation used for a face.
#[must_use]
pub fn forced_range(face: Face) -> &'static Range {
    match face {
        Face::Vertical | Face::Up | Face::Down => &FLAT_PLATE_FORCED,
        Face::Cylinder => &CYLINDER_FORCED,
    }
}

/// Temperature difference below which the correlations are rounded, K. Heat at such differences is
/// negligible, and the integrator needs a slope there.
pub const EQUAL_BAND_K: f64 = 0.05;

/// A face that gives heat to air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConvectiveFace {
    /// The direction it looks.
    pub face: Face,
    /// Length for natural convection, m: height of a vertical face, area/perimeter of a horizontal
    /// one, diameter of a rod.
    pub length_m: f64,
    /// Air speed imposed by a fan or by motion, m/s; 0 for still air.
    pub speed_m_per_s: f64,
    /// Length along that flow, m (of a rod its diameter is taken instead).
    pub forced_length_m: f64,
    /// Multiplies natural convection; dimensionless.
    pub multiplier: f64,
}

impl ConvectiveFace {
    /// Heat transfer coefficient, W/(m2 K), with properties at the mean of both temperatures.
    ///
    /// The heat flow per area, coefficient times (surface - air), has a continuous slope
    /// everywhere. Within [`EQUAL_BAND_K`] of equal temperatures the two correlations of a horizontal
    /// face are blended, and |dT| is rounded to a small positive value; outside, the correlations are
    /// exact.
    #[must_use]
    #[inline]
    pub fn coefficient(&self, surface_K: f64, air_K: f64, table: &AirTable) -> f64 {
        let film_K = 0.5 * (surface_K + air_K);
        let film = table.film(film_K);
        let warmer_K = surface_K - air_K;
        let l = self.length_m;
        let ra = film.buoyancy_per_m3K * smooth::abs(warmer_K, EQUAL_BAND_K) * l * l * l;
        let natural = match self.face {
            Face::Vertical => vertical_with_factor(ra, film.vertical_factor),
            Face::Cylinder => cylinder_with_factor(ra, film.cylinder_factor),
            Face::Up => horizontal(ra, warmer_K),
            Face::Down => horizontal(ra, -warmer_K),
        } * self.multiplier;
        let k = film.conductivity_W_per_mK;
        if self.speed_m_per_s <= 0.0 {
            return natural * k / l;
        }
        let stream = table.stream(film_K);
        let nu = stream.kinematic_viscosity_m2_per_s;
        match self.face {
            Face::Cylinder => {
                let re = self.speed_m_per_s * l / nu;
                let forced = nusselt_cylinder_forced(re, table.prandtl(film_K));
                let still = CYLINDER_STILL_NUSSELT;
                (still + nusselt_mixed(forced - still, natural - still)) * k / l
            }
            Face::Vertical | Face::Up | Face::Down => {
                let along = self.forced_length_m;
                let re = self.speed_m_per_s * along / nu;
                let forced = if re <= PLATE_BAND.0 {
                    0.664 * (self.speed_m_per_s / along).sqrt() * stream.plate_factor
                } else {
                    nusselt_flat_plate_forced(re, table.prandtl(film_K)) * k / along
                };
                nusselt_mixed(forced, natural * k / l)
            }
        }
    }

    /// Rayleigh number, to be compared with [`range`].
    #[must_use]
    #[inline]
    pub fn rayleigh(&self, surface_K: f64, air_K: f64, table: &AirTable) -> f64 {
        let l = self.length_m;
        table.buoyancy(0.5 * (surface_K + air_K)) * (surface_K - air_K).abs() * l * l * l
    }

    /// Reynolds number, to be compared with [`forced_range`]; 0 in still air.
    #[must_use]
    pub fn reynolds(&self, surface_K: f64, air_K: f64, table: &AirTable) -> f64 {
        let along = match self.face {
            Face::Cylinder => self.length_m,
            Face::Vertical | Face::Up | Face::Down => self.forced_length_m,
        };
        self.speed_m_per_s.max(0.0) * along / table.kinematic_viscosity(0.5 * (surface_K + air_K))
    }
}

/// Nusselt number of a horizontal face; `away_K` is positive when buoyancy leaves the face.
#[inline]
fn horizontal(ra: f64, away_K: f64) -> f64 {
    if away_K >= EQUAL_BAND_K {
        return nusselt_horizontal_away(ra);
    }
    if away_K <= -EQUAL_BAND_K {
        return nusselt_horizontal_toward(ra);
    }
    let share = smooth::step(0.5 * (away_K / EQUAL_BAND_K + 1.0));
    let toward = nusselt_horizontal_toward(ra);
    toward + share * (nusselt_horizontal_away(ra) - toward)
}

#[cfg(test)]
mod tests;

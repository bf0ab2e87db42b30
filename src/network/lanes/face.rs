//! Convection of a face in lanes: the same coefficient as
//! [`PreparedFace::coefficient`](crate::physics::prepared::PreparedFace::coefficient), with polynomials for its
//! tables, which lanes can't look up.

use super::corners::{narrow_step_with_slope, rounded_with_slope};
use super::films::{FORCED, Films};
use super::gains::Gains;
use super::slopes::GainSlopes;
use crate::network::elements::Convector;
use crate::physics::air::SEA_LEVEL_PRESSURE_PA;
use crate::physics::convection::{
    AWAY_LAMINAR, AWAY_TURBULENT, EQUAL_BAND_K, Face, HORIZONTAL_CYLINDER, HORIZONTAL_STILL_RA,
    TOWARD, VERTICAL_PLATE,
};
use crate::physics::prepared::{
    CYLINDER_AT_REST, CYLINDER_STILL, ForcedTable, VERTICAL_STILL, forced_at,
};
use crate::wide::{LANES, Narrow, Wide};
use std::sync::Arc;

/// How well it has to follow the table.
const FORCED_WITHIN: f64 = 1e-5;

/// What makes faces of several runs one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct FaceKey {
    pub surface: usize,
    pub air: usize,
    face: Face,
    body: usize,
}

impl FaceKey {
    pub fn of(c: &Convector) -> Self {
        Self {
            surface: c.surface,
            air: c.air,
            face: c.face.face,
            body: c.area.body().map_or(0, |b| b.0),
        }
    }
}

/// Forced convection in lanes.
#[derive(Debug, Clone)]
struct Forced {
    coefficients: [Narrow; FORCED],
    /// 0 in lanes without.
    is_forced: Narrow,
    /// What was last fitted to a table. Lanes mostly have the same one.
    fitted: Option<(Arc<ForcedTable>, Fit)>,
}

/// The polynomial fitted to a table of forced convection.
#[derive(Debug, Clone, Copy)]
struct Fit {
    coefficients: [f64; FORCED],
    /// Whether it follows the table well enough.
    is_near: bool,
}

impl Forced {
    const NONE: Self = Self {
        coefficients: [Narrow::ZERO; FORCED],
        is_forced: Narrow::ZERO,
        fitted: None,
    };
}

impl Fit {
    fn to(table: &ForcedTable, films: &Films) -> Self {
        let coefficients = films.forced_fit(&|k| forced_at(table, films.forced_place(k)).0);
        let is_near = films.forced_checks().all(|film_K| {
            let ours = films.forced_by(&coefficients, film_K);
            (ours / forced_at(table, film_K).0 - 1.0).abs() < FORCED_WITHIN
        });
        Self {
            coefficients,
            is_near,
        }
    }
}

/// A face in lanes.
#[derive(Debug, Clone)]
pub(super) struct Faces {
    pub key: FaceKey,
    fixed_m2: Narrow,
    grown_m2: Narrow,
    /// Logarithm to the base 2 of what the Rayleigh number has beside properties of air at sea level and the
    /// difference of temperatures.
    log_scale: Narrow,
    per_length: Narrow,
    multiplier: Narrow,
    /// Forced convection, where any lane has ever had it. Apart: most faces have none, and all of them together are
    /// what a processor has next to it.
    forced: Option<Box<Forced>>,
    /// Lanes in which Rayleigh numbers may be so small that they are rounded; lanes with forced convection.
    small: u32,
    blown: u32,
    /// Lanes that have the face.
    active: u32,
    /// Where coefficients are asked for: the film's place, by how much the face is warmer than the air, K, and its
    /// area, m2;
    film: Narrow,
    warmer: Narrow,
    area_m2: Narrow,
    /// and what is found: heat to the air, W/m2, and how it answers to that difference, W/(m2 K).
    heat: Narrow,
    slope: Narrow,
}

impl Faces {
    pub fn new(key: FaceKey) -> Self {
        Self {
            key,
            fixed_m2: Narrow::ZERO,
            grown_m2: Narrow::ZERO,
            log_scale: Narrow::ZERO,
            per_length: Narrow::all(1.0),
            multiplier: Narrow::ZERO,
            forced: None,
            small: 0,
            blown: 0,
            active: 0,
            film: Narrow::ZERO,
            warmer: Narrow::ZERO,
            area_m2: Narrow::ZERO,
            heat: Narrow::ZERO,
            slope: Narrow::ZERO,
        }
    }

    /// Takes the face out of a lane.
    pub fn clear(&mut self, lane: usize) {
        self.fixed_m2.0[lane] = 0.0;
        self.grown_m2.0[lane] = 0.0;
        if let Some(forced) = &mut self.forced {
            forced.is_forced.0[lane] = 0.0;
        }
        self.small &= !(1 << lane);
        self.blown &= !(1 << lane);
        self.active &= !(1 << lane);
    }

    /// Puts it in; whether it can be followed.
    pub fn load(&mut self, lane: usize, c: &Convector, pressure_Pa: f64, films: &Films) -> bool {
        self.active |= 1 << lane;
        self.fixed_m2.0[lane] = c.area.fixed_m2 as f32;
        self.grown_m2.0[lane] = c.area.grown_m2.map_or(0.0, |(m2, _)| m2 as f32);
        let face = &c.face;
        let cube = face.length_m * face.length_m * face.length_m;
        let denser = pressure_Pa / SEA_LEVEL_PRESSURE_PA;
        let scale = cube * denser * denser;
        self.log_scale.0[lane] = scale.log2() as f32;
        self.per_length.0[lane] = (1.0 / face.length_m) as f32;
        self.multiplier.0[lane] = face.multiplier as f32;
        if films.least_rayleigh(scale) < Self::rounded_below(face.face) {
            self.small |= 1 << lane;
        }
        let Some(table) = c.forced() else {
            return true;
        };
        let forced = self.forced.get_or_insert_with(|| Box::new(Forced::NONE));
        let fit = match &forced.fitted {
            Some((known, fit)) if Arc::ptr_eq(known, table) => *fit,
            _ => {
                let fit = Fit::to(table, films);
                forced.fitted = Some((Arc::clone(table), fit));
                fit
            }
        };
        for (wide, c) in forced.coefficients.iter_mut().zip(fit.coefficients) {
            wide.0[lane] = c as f32;
        }
        forced.is_forced.0[lane] = 1.0;
        self.blown |= 1 << lane;
        fit.is_near
    }

    fn rounded_below(face: Face) -> f64 {
        match face {
            Face::Vertical => VERTICAL_PLATE.low,
            Face::Cylinder => HORIZONTAL_CYLINDER.low,
            Face::Up | Face::Down => HORIZONTAL_STILL_RA,
        }
    }

    /// Finds the heat of faces, and how it answers where `SLOPES`.
    ///
    /// In passes from memory to memory: so all eight numbers go through one register, and several faces at a time.
    #[inline(always)]
    pub fn find<const SLOPES: bool>(all: &mut [Self], t: &[Wide], shares: &[Wide], films: &Films) {
        for face in &mut *all {
            let FaceKey {
                surface, air, body, ..
            } = face.key;
            face.film = films.place((t[surface] + t[air]) * 0.5);
            face.warmer = (t[surface] - t[air]).narrow();
            face.area_m2 = face.fixed_m2.plus(face.grown_m2, shares[body].narrow());
        }
        for face in all {
            if face.active != 0 {
                let (coefficient, rises) = face.coefficient(face.film, face.warmer, films);
                face.heat = coefficient * face.warmer;
                if SLOPES {
                    face.slope = coefficient.plus(rises, face.warmer);
                }
            }
        }
    }

    #[inline(always)]
    pub fn give(&self, g: &mut Gains<'_>) {
        if self.active != 0 {
            g.transfer(self.key.surface, self.key.air, self.flow());
        }
    }

    #[inline(always)]
    pub fn slopes(&self, s: &mut GainSlopes) {
        let FaceKey { surface, air, .. } = self.key;
        if self.active != 0 {
            let slope = self.slope * self.area_m2;
            s.transfer_narrow(surface, air, surface, slope);
            s.transfer_narrow(surface, air, air, -slope);
        }
    }

    /// Heat from the face to the air, W.
    #[inline(always)]
    pub fn flow(&self) -> Wide {
        (self.heat * self.area_m2).wide()
    }

    /// How it answers to the difference of temperatures, W/K: what their mean, which properties of air go by, adds to
    /// that is some hundredths at most.
    #[inline(always)]
    pub fn flow_rises(&self) -> Wide {
        (self.slope * self.area_m2).wide()
    }

    /// How it grows, W/s, where the share of its body does so by these, 1/s; none where it does not in any lane.
    #[inline(always)]
    pub fn flow_grows(&self, growth: &[Wide]) -> Option<Wide> {
        let grows = self.active != 0 && self.grown_m2 != Narrow::ZERO;
        grows.then(|| (self.heat * self.grown_m2).wide() * growth[self.key.body])
    }

    /// The coefficient, and how it answers to the difference of temperatures, W/(m2 K2).
    #[inline(always)]
    fn coefficient(&self, film: Narrow, warmer: Narrow, films: &Films) -> (Narrow, Narrow) {
        let powers = &films.powers;
        let (size, size_rises) = rounded_with_slope(warmer.abs(), EQUAL_BAND_K as f32);
        let mut log_ra = films.log_buoyancy(film) + self.log_scale + size.log2(powers);
        // How the Rayleigh number's natural logarithm answers, 1/K.
        let mut ra_rises = size_rises / size;
        if self.small != 0 {
            let ra = log_ra.exp2(powers);
            let low = Self::rounded_below(self.key.face) as f32;
            let (small, rises) = rounded_with_slope(ra, low);
            ra_rises = ra_rises * rises * ra / small;
            log_ra = ra.above(Narrow::all(low), log_ra, small.log2(powers));
        }
        let ra_rises = warmer.above(Narrow::ZERO, ra_rises, -ra_rises);
        let one = Narrow::all(1.0);
        let (nu, nu_rises) = match self.key.face {
            Face::Vertical | Face::Cylinder => {
                let (still, factor) = if self.key.face == Face::Vertical {
                    (VERTICAL_STILL, films.vertical(film))
                } else {
                    (CYLINDER_STILL, films.cylinder(film))
                };
                let by_power = factor * (log_ra * (1.0 / 6.0)).exp2(powers);
                let root = by_power + still as f32;
                (root * root, root * by_power * (1.0 / 3.0) * ra_rises)
            }
            Face::Up => horizontal(log_ra, ra_rises, warmer, one, films),
            Face::Down => horizontal(log_ra, ra_rises, -warmer, -one, films),
        };
        let k = films.conductivity(film) * self.per_length;
        let of_nu = self.multiplier * k;
        let (natural, natural_rises) = (nu * of_nu, nu_rises * of_nu);
        let Some(own) = self.forced.as_deref().filter(|_| self.blown != 0) else {
            return (natural, natural_rises);
        };
        let forced = films.forced_film(film).polynomial(&own.coefficients);
        let rest = match self.key.face {
            Face::Cylinder => k * CYLINDER_AT_REST as f32,
            Face::Vertical | Face::Up | Face::Down => Narrow::ZERO,
        };
        let above = natural - rest;
        let cubes = (forced * forced * forced).plus(above * above, above);
        let root = films.cube_root(cubes);
        // The root is nothing where neither moves air; then nor does it answer.
        let share = above / root.max(Narrow::all(1e-20));
        let is_forced = own.is_forced;
        (
            is_forced.above(Narrow::ZERO, rest + root, natural),
            is_forced.above(Narrow::ZERO, natural_rises * share * share, natural_rises),
        )
    }
}

/// A horizontal face whose air is driven away where `lighter` is positive, and how it answers to the difference of
/// temperatures, to which `lighter` answers by `sign`.
#[inline(always)]
fn horizontal(
    log_ra: Narrow,
    ra_rises: Narrow,
    lighter: Narrow,
    sign: Narrow,
    films: &Films,
) -> (Narrow, Narrow) {
    const EQUAL: f32 = (0.5 / EQUAL_BAND_K) as f32;
    let powers = &films.powers;
    let (none, one) = (Narrow::ZERO, Narrow::all(1.0));
    let (away_share, away_rises) = narrow_step_with_slope(lighter * EQUAL + 0.5);
    let (turbulent_share, turbulent_rises) =
        narrow_step_with_slope((log_ra - films.away_from) * films.away_per);
    // Of most lanes one law holds, and one power is enough.
    let is_away = away_share.above(Narrow::all(0.5), one, none);
    let is_turbulent = turbulent_share.above(Narrow::all(0.5), one, none);
    let of = |turbulent: f64, laminar: f64, toward: f64| {
        let away = is_turbulent.above(
            none,
            Narrow::all(turbulent as f32),
            Narrow::all(laminar as f32),
        );
        is_away.above(none, away, Narrow::all(toward as f32))
    };
    let power = of(1.0 / 3.0, 0.25, 0.2);
    let factor = of(AWAY_TURBULENT, AWAY_LAMINAR, TOWARD);
    let main = (log_ra * power).exp2(powers) * factor;
    let main_rises = main * power * ra_rises;
    let mixed = |share: Narrow| (share * (one - share)).any_above(0.0);
    if !mixed(away_share) && !mixed(turbulent_share) {
        return (main, main_rises);
    }
    let laminar = (log_ra * 0.25).exp2(powers) * AWAY_LAMINAR as f32;
    let turbulent = (log_ra * (1.0 / 3.0)).exp2(powers) * AWAY_TURBULENT as f32;
    let toward = (log_ra * 0.2).exp2(powers) * TOWARD as f32;
    let away = laminar + turbulent_share * (turbulent - laminar);
    let blend = toward + away_share * (away - toward);
    // Of a logarithm to the base 2.
    let turbulent_rises = turbulent_rises * (films.away_per * std::f32::consts::LOG2_E);
    let by_ra = laminar * 0.25
        + turbulent_share * (turbulent * (1.0 / 3.0) - laminar * 0.25)
        + turbulent_rises * (turbulent - laminar);
    let by_ra = toward * 0.2 + away_share * (by_ra - toward * 0.2);
    let blend_rises = (by_ra * ra_rises).plus(away_rises * EQUAL * sign, away - toward);
    let (mut out, mut rises) = (main, main_rises);
    for l in 0..LANES {
        let pure = |s: f32| s == 0.0 || s == 1.0;
        let is_main =
            pure(away_share.0[l]) && (away_share.0[l] == 0.0 || pure(turbulent_share.0[l]));
        out.0[l] = if is_main { main.0[l] } else { blend.0[l] };
        rises.0[l] = if is_main {
            main_rises.0[l]
        } else {
            blend_rises.0[l]
        };
    }
    (out, rises)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::elements::Area;
    use crate::network::parts::INTERNAL;
    use crate::physics::air::AirTable;
    use crate::physics::convection::ConvectiveFace;

    /// Heat and its slope, across every rounded corner (equal temperatures, small Rayleigh numbers, where air turns
    /// turbulent), with and without forced convection, are those of the plain face: its central difference with the
    /// film held.
    #[test]
    fn heat_and_slopes_are_those_of_the_plain_face() {
        const FILM_K: f64 = 320.0;
        const MOVED_K: f64 = 1e-4;
        let (air, films) = (AirTable::new(SEA_LEVEL_PRESSURE_PA), Films::new());
        for face in [Face::Vertical, Face::Cylinder, Face::Up, Face::Down] {
            for (length_m, speed_m_per_s) in [
                (0.004, 0.0),
                (0.05, 0.0),
                (0.35, 0.0),
                (0.05, 0.4),
                (0.35, 0.4),
            ] {
                let of = ConvectiveFace {
                    face,
                    length_m,
                    speed_m_per_s,
                    forced_length_m: length_m,
                    multiplier: 1.3,
                };
                let c = Convector::new(0, 1, Area::constant(0.2), of, INTERNAL, &air);
                let mut faces = [Faces::new(FaceKey::of(&c))];
                assert!((0..LANES).all(|l| faces[0].load(l, &c, SEA_LEVEL_PRESSURE_PA, &films)));
                let plain_W = |warmer_K: f64| {
                    let (surface_K, air_K) = (FILM_K + 0.5 * warmer_K, FILM_K - 0.5 * warmer_K);
                    0.2 * warmer_K * of.coefficient(surface_K, air_K, &air)
                };
                for k in -60..=60 {
                    // From hundredths of a kelvin to forty.
                    let warmer_K = 0.01 * f64::from(k) * (1.0 + f64::from(k * k) / 55.0);
                    let t = [FILM_K + 0.5 * warmer_K, FILM_K - 0.5 * warmer_K].map(Wide::all);
                    Faces::find::<true>(&mut faces, &t, &[Wide::all(1.0)], &films);
                    let (is, slope) = (faces[0].flow().0[3], faces[0].flow_rises().0[3]);
                    let by_hand = (plain_W(warmer_K + MOVED_K) - plain_W(warmer_K - MOVED_K))
                        / (2.0 * MOVED_K);
                    let what = format!("{face:?} {length_m} m, {speed_m_per_s} m/s, {warmer_K} K");
                    let want_W = plain_W(warmer_K);
                    // The table of forced convection is off by some hundred-thousandths.
                    assert!(
                        (is - want_W).abs() <= 1e-4 * want_W.abs() + 1e-7,
                        "{what}: {is} {want_W}"
                    );
                    assert!(
                        (slope / by_hand - 1.0).abs() < 2e-3,
                        "{what}: {slope} {by_hand}"
                    );
                }
            }
        }
    }
}

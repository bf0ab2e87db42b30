//! Convection of a face in lanes: the same coefficient as
//! [`PreparedFace::coefficient`](crate::physics::prepared::PreparedFace::coefficient), with polynomials for its
//! tables, which lanes can't look up.

use super::corners::{rounded, step};
use super::films::{FORCED, Films};
use super::gains::Gains;
use super::slopes::{GainSlopes, MOVED_K};
use crate::network::elements::Convector;
use crate::physics::air::SEA_LEVEL_PRESSURE_PA;
use crate::physics::convection::{
    AWAY_LAMINAR, AWAY_TURBULENT, EQUAL_BAND_K, Face, HORIZONTAL_CYLINDER, HORIZONTAL_STILL_RA,
    TOWARD, VERTICAL_PLATE,
};
use crate::physics::prepared::{CYLINDER_AT_REST, CYLINDER_STILL, VERTICAL_STILL};
use crate::wide::{LANES, Wide};

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

/// A face in lanes.
#[derive(Debug, Clone)]
pub(super) struct Faces {
    pub key: FaceKey,
    fixed_m2: Wide,
    grown_m2: Wide,
    /// Logarithm to the base 2 of what the Rayleigh number has beside properties of air at sea level and the
    /// difference of temperatures.
    log_scale: Wide,
    per_length: Wide,
    multiplier: Wide,
    /// Forced convection, and its share: 0 in lanes without.
    forced: [Wide; FORCED],
    is_forced: Wide,
    /// Lanes in which Rayleigh numbers may be so small that they are rounded; lanes with forced convection.
    small: u32,
    blown: u32,
    /// Lanes that have the face.
    active: u32,
}

impl Faces {
    pub fn new(key: FaceKey) -> Self {
        Self {
            key,
            fixed_m2: Wide::ZERO,
            grown_m2: Wide::ZERO,
            log_scale: Wide::ZERO,
            per_length: Wide::all(1.0),
            multiplier: Wide::ZERO,
            forced: [Wide::ZERO; FORCED],
            is_forced: Wide::ZERO,
            small: 0,
            blown: 0,
            active: 0,
        }
    }

    /// The body that its area grows with.
    pub const fn body(&self) -> usize {
        self.key.body
    }

    /// Takes the face out of a lane.
    pub fn clear(&mut self, lane: usize) {
        self.fixed_m2.0[lane] = 0.0;
        self.grown_m2.0[lane] = 0.0;
        self.is_forced.0[lane] = 0.0;
        self.small &= !(1 << lane);
        self.blown &= !(1 << lane);
        self.active &= !(1 << lane);
    }

    /// Puts it in; whether it can be followed.
    pub fn load(&mut self, lane: usize, c: &Convector, pressure_Pa: f64, films: &Films) -> bool {
        self.active |= 1 << lane;
        self.fixed_m2.0[lane] = c.area.fixed_m2;
        self.grown_m2.0[lane] = c.area.grown_m2.map_or(0.0, |(m2, _)| m2);
        let face = &c.face;
        let cube = face.length_m * face.length_m * face.length_m;
        let denser = pressure_Pa / SEA_LEVEL_PRESSURE_PA;
        let scale = cube * denser * denser;
        self.log_scale.0[lane] = scale.log2();
        self.per_length.0[lane] = 1.0 / face.length_m;
        self.multiplier.0[lane] = face.multiplier;
        if films.least_rayleigh(scale) < Self::rounded_below(face.face) {
            self.small |= 1 << lane;
        }
        let Some(forced) = c.forced(films.forced_place(0)) else {
            return true;
        };
        let at = |k: usize| c.forced(films.forced_place(k)).unwrap_or(forced);
        let coefficients = films.forced_fit(&at);
        for (wide, c) in self.forced.iter_mut().zip(coefficients) {
            wide.0[lane] = c;
        }
        self.is_forced.0[lane] = 1.0;
        self.blown |= 1 << lane;
        films.forced_checks().all(|film_K| {
            let table = c.forced(film_K).unwrap_or(forced);
            let ours = films.forced_by(&coefficients, film_K);
            (ours / table - 1.0).abs() < FORCED_WITHIN
        })
    }

    fn rounded_below(face: Face) -> f64 {
        match face {
            Face::Vertical => VERTICAL_PLATE.low,
            Face::Cylinder => HORIZONTAL_CYLINDER.low,
            Face::Up | Face::Down => HORIZONTAL_STILL_RA,
        }
    }

    #[inline(always)]
    pub fn give(&self, t: &[Wide], shares: &[Wide], films: &Films, g: &mut Gains<'_>) {
        let FaceKey { surface, air, .. } = self.key;
        if self.active != 0 {
            let q = self.flow(t[surface], t[air], shares[self.key.body], films);
            g.transfer(surface, air, q);
        }
    }

    #[inline(always)]
    pub fn slopes(&self, t: &[Wide], shares: &[Wide], films: &Films, s: &mut GainSlopes) {
        let FaceKey { surface, air, .. } = self.key;
        if self.active != 0 {
            let (_, slope) = self.flow_with_slope(t[surface], t[air], shares[self.key.body], films);
            s.transfer(surface, air, surface, slope);
            s.transfer(surface, air, air, -slope);
        }
    }

    /// [`Faces::flow`], and how it answers to the difference of temperatures, W/K: what its mean, which properties of
    /// air go by, adds to that is some hundredths at most.
    #[inline(always)]
    pub fn flow_with_slope(
        &self,
        surface_K: Wide,
        air_K: Wide,
        share: Wide,
        films: &Films,
    ) -> (Wide, Wide) {
        let half = 0.5 * MOVED_K;
        let q = self.flow(surface_K, air_K, share, films);
        let moved = self.flow(surface_K + half, air_K - half, share, films);
        (q, (moved - q) * (1.0 / MOVED_K))
    }

    /// Whether its area grows with a body in any lane.
    #[inline(always)]
    pub fn grows(&self) -> bool {
        self.grown_m2 != Wide::ZERO
    }

    /// Heat from the face to the air, W.
    #[inline(always)]
    pub fn flow(&self, surface_K: Wide, air_K: Wide, share: Wide, films: &Films) -> Wide {
        let area = self.fixed_m2.plus(self.grown_m2, share);
        area * (self.coefficient(surface_K, air_K, films) * (surface_K - air_K))
    }

    #[inline(always)]
    fn coefficient(&self, surface_K: Wide, air_K: Wide, films: &Films) -> Wide {
        let film = films.place((surface_K + air_K) * 0.5);
        let warmer = surface_K - air_K;
        let size = rounded(warmer.abs(), EQUAL_BAND_K);
        let mut log_ra = films.log_buoyancy(film) + self.log_scale + size.log2(&films.powers);
        if self.small != 0 {
            let ra = log_ra.exp2(&films.powers);
            let low = Self::rounded_below(self.key.face);
            let small = rounded(ra, low).log2(&films.powers);
            log_ra = ra.above(Wide::all(low), log_ra, small);
        }
        let nu = match self.key.face {
            Face::Vertical => {
                let power = (log_ra * (1.0 / 6.0)).exp2(&films.powers);
                let root = Wide::all(VERTICAL_STILL).plus(films.vertical(film), power);
                root * root
            }
            Face::Cylinder => {
                let power = (log_ra * (1.0 / 6.0)).exp2(&films.powers);
                let root = Wide::all(CYLINDER_STILL).plus(films.cylinder(film), power);
                root * root
            }
            Face::Up => horizontal(log_ra, warmer, films),
            Face::Down => horizontal(log_ra, -warmer, films),
        };
        let k = films.conductivity(film) * self.per_length;
        let natural = nu * self.multiplier * k;
        if self.blown == 0 {
            return natural;
        }
        let forced = films.forced_film(film).own_polynomial(&self.forced);
        let rest = match self.key.face {
            Face::Cylinder => k * CYLINDER_AT_REST,
            Face::Vertical | Face::Up | Face::Down => Wide::ZERO,
        };
        let above = natural - rest;
        let cubes = (forced * forced * forced).plus(above * above, above);
        let root = films.cube_root(cubes);
        self.is_forced.above(Wide::ZERO, rest + root, natural)
    }
}

/// A horizontal face whose air is driven away where `lighter` is positive.
#[inline(always)]
fn horizontal(log_ra: Wide, lighter: Wide, films: &Films) -> Wide {
    let (none, one) = (Wide::ZERO, Wide::all(1.0));
    let away_share = step((lighter * (1.0 / EQUAL_BAND_K) + 1.0) * 0.5);
    let turbulent_share = step((log_ra - films.away_from) * films.away_per);
    // Of most lanes one law holds, and one power is enough.
    let is_away = away_share.above(Wide::all(0.5), one, none);
    let is_turbulent = turbulent_share.above(Wide::all(0.5), one, none);
    let power = is_away.above(
        none,
        is_turbulent.above(none, Wide::all(1.0 / 3.0), Wide::all(0.25)),
        Wide::all(0.2),
    );
    let factor = is_away.above(
        none,
        is_turbulent.above(none, Wide::all(AWAY_TURBULENT), Wide::all(AWAY_LAMINAR)),
        Wide::all(TOWARD),
    );
    let main = (log_ra * power).exp2(&films.powers) * factor;
    let mixed = |share: Wide| (share * (one - share)).any_above(0.0);
    if !mixed(away_share) && !mixed(turbulent_share) {
        return main;
    }
    let laminar = (log_ra * 0.25).exp2(&films.powers) * AWAY_LAMINAR;
    let turbulent = (log_ra * (1.0 / 3.0)).exp2(&films.powers) * AWAY_TURBULENT;
    let toward = (log_ra * 0.2).exp2(&films.powers) * TOWARD;
    let away = laminar + turbulent_share * (turbulent - laminar);
    let blend = toward + away_share * (away - toward);
    let mut out = main;
    for l in 0..LANES {
        let pure = |s: f64| s == 0.0 || s == 1.0;
        let is_main =
            pure(away_share.0[l]) && (away_share.0[l] == 0.0 || pure(turbulent_share.0[l]));
        out.0[l] = if is_main { main.0[l] } else { blend.0[l] };
    }
    out
}

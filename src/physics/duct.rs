//! Pressure that air loses in ducts, fittings, filters and openings on its way out of a chamber.

use std::f64::consts::PI;

/// Loss coefficient of a sharp-edged duct entry (handbook value 0.5, from memory).
pub const SHARP_ENTRY: f64 = 0.5;
/// Loss coefficient of a free exit: the whole velocity pressure.
pub const FREE_EXIT: f64 = 1.0;
/// Density at which fans and filters are rated, kg/m3 (ISO 5801 standard air).
pub const RATING_DENSITY_KG_PER_M3: f64 = 1.2;
/// Viscosity of air at 20 degC and one atmosphere, Pa s (Sutherland's law of ISO 2533).
pub const RATING_VISCOSITY_PA_S: f64 = 1.813e-5;
/// Reynolds numbers between which a round duct goes over from laminar to turbulent.
const TRANSITION: (f64, f64) = (2300.0, 4000.0);

/// Darcy friction factor of a round duct.
///
/// Below Re = 2300: 64/Re. Above 4000: Colebrook, 1/f^(1/2) = -2 log10(e/3.7 + 2.51/(Re f^(1/2))),
/// iterated from Haaland's explicit form until it stands still (five rounds do). Between the two a
/// straight blend, so that the pressure of a duct rises steadily with its flow.
///
/// * `reynolds`: w D/nu, above zero. `relative_roughness`: roughness over diameter, 0 to 0.05.
///
/// Published range: Re 4000 to 1e8, relative roughness up to 0.05 (Moody's chart).
/// Worked example: Re = 1e5, 1e-4 gives 0.018514.
///
/// Reference: Colebrook 1939, J. Inst. Civ. Eng. 11, 133-156, doi:10.1680/ijoti.1939.13150;
/// Haaland 1983, J. Fluids Eng. 105, 89-90, doi:10.1115/1.3240948.
#[must_use]
pub fn friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    let laminar = 64.0 / reynolds.max(1e-9);
    let (low, high) = TRANSITION;
    if reynolds <= low {
        return laminar;
    }
    let turbulent = colebrook(reynolds, relative_roughness.max(0.0));
    if reynolds >= high {
        return turbulent;
    }
    laminar + (turbulent - laminar) * (reynolds - low) / (high - low)
}

fn colebrook(reynolds: f64, e: f64) -> f64 {
    let mut inverse_root = -1.8 * ((e / 3.7).powf(1.11) + 6.9 / reynolds).log10();
    for _ in 0..12 {
        inverse_root = -2.0 * (e / 3.7 + 2.51 * inverse_root / reynolds).log10();
    }
    1.0 / (inverse_root * inverse_root)
}

/// A round duct with its fittings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duct {
    /// Inside diameter, m, above zero.
    pub diameter_m: f64,
    /// Length along its axis, m.
    pub length_m: f64,
    /// Roughness of its wall, m: smooth tube 0.00001, sheet metal 0.00009, flexible hose 0.001.
    pub roughness_m: f64,
    /// Sum of the loss coefficients of entry, bends and exit.
    pub fittings: f64,
}

impl Duct {
    /// Pressure lost from the air at rest before it to the air at rest behind it, Pa.
    ///
    /// dp = (f L/D + sum of K) rho w^2/2, w = 4 Q/(pi D^2).
    ///
    /// * `flow_m3_per_s`: Q, m3/s, zero or more. `density_kg_per_m3`: rho. `viscosity_Pa_s`.
    ///
    /// Published range: see [`friction_factor`]; speeds far below that of sound.
    /// Worked example: 0.1 m, 1.5 m long, roughness 1 mm, no fittings, 40 m3/h of air at
    /// 1.12 kg/m3 and 1.9e-5 Pa s: 0.740 Pa (`fluids` 1.0.27, `one_phase_dP`).
    ///
    /// Reference: Darcy-Weisbach; ASHRAE Handbook Fundamentals, chapter on duct design.
    #[must_use]
    pub fn pressure_Pa(
        &self,
        flow_m3_per_s: f64,
        density_kg_per_m3: f64,
        viscosity_Pa_s: f64,
    ) -> f64 {
        if flow_m3_per_s <= 0.0 {
            return 0.0;
        }
        let d = self.diameter_m;
        let speed = self.speed_m_per_s(flow_m3_per_s);
        let reynolds = density_kg_per_m3 * speed * d / viscosity_Pa_s;
        let friction = friction_factor(reynolds, self.roughness_m / d) * self.length_m / d;
        (friction + self.fittings) * 0.5 * density_kg_per_m3 * speed * speed
    }

    /// Mean air speed, m/s.
    #[must_use]
    pub fn speed_m_per_s(&self, flow_m3_per_s: f64) -> f64 {
        4.0 * flow_m3_per_s / (PI * self.diameter_m * self.diameter_m)
    }
}

/// A grille or filter, known by its pressure at one flow (or face velocity: for a given face the
/// ratio is the same).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Screen {
    /// Pressure at the rated flow in standard air, Pa.
    pub rated_Pa: f64,
    /// The rated flow, m3/s, above zero.
    pub rated_flow_m3_per_s: f64,
    /// Share of the rated pressure that grows linearly with flow, 0 (a grille) to 1 (a dense mat).
    pub linear: f64,
}

impl Screen {
    /// Pressure at a flow, Pa: rated_Pa (s x mu/mu0 + (1 - s) x^2 rho/rho0), x the flow over the
    /// rated flow, s the linear share.
    ///
    /// Slow flow through fibres follows Darcy's law (pressure goes with speed and viscosity), flow
    /// through holes goes with density and speed squared; real media lie between (Forchheimer).
    ///
    /// * `flow_m3_per_s`, `density_kg_per_m3`, `viscosity_Pa_s`: of the air that passes.
    ///
    /// Published range: 0.2 to 1.5 times the rated flow.
    /// Worked example: 40 Pa at 50 m3/h, half linear; 25 m3/h of standard air: 0.5 20 + 0.25 20
    /// = 15 Pa.
    ///
    /// Reference: Forchheimer 1901, as in handbooks on air filtration (from memory).
    #[must_use]
    pub fn pressure_Pa(
        &self,
        flow_m3_per_s: f64,
        density_kg_per_m3: f64,
        viscosity_Pa_s: f64,
    ) -> f64 {
        let x = flow_m3_per_s.max(0.0) / self.rated_flow_m3_per_s;
        let linear = self.linear * x * viscosity_Pa_s / RATING_VISCOSITY_PA_S;
        let square = (1.0 - self.linear) * x * x * density_kg_per_m3 / RATING_DENSITY_KG_PER_M3;
        self.rated_Pa * (linear + square)
    }
}

/// Pressure that draws a volume flow through openings side by side, Pa: rho/2 (Q/CA)^2.
///
/// * `flow_m3_per_s`: Q, at the density that follows. `effective_area_m2`: sum of discharge
///   coefficient times free area, CA, above zero. `density_kg_per_m3`: rho of the air that enters.
///
/// Published range: turbulent orifice flow, Re above some 100.
/// Worked example: 0.024495 m3/s through 0.6 x 0.01 m2 at 1.2 kg/m3: 10 Pa; the inverse of
/// [`super::openings::orifice_flow_kg_per_s`] away from its rounding at zero.
///
/// Reference: orifice equation, ASHRAE Handbook Fundamentals, chapter on ventilation and
/// infiltration.
#[must_use]
pub fn orifice_pressure_Pa(
    flow_m3_per_s: f64,
    effective_area_m2: f64,
    density_kg_per_m3: f64,
) -> f64 {
    let speed = flow_m3_per_s.max(0.0) / effective_area_m2;
    0.5 * density_kg_per_m3 * speed * speed
}

/// Speed on the axis of a round free jet, m/s: 6.2 u0 (A0)^(1/2)/x, never above u0.
///
/// * `outlet_m_per_s`: u0. `area_m2`: A0, area of the jet where it is narrowest. `distance_m`: x.
///
/// Published range: x above about 6 diameters, free of walls, same temperature.
/// Worked example: 5 m/s from 0.001 m2 at 0.5 m: 1.96 m/s.
///
/// Reference: ASHRAE Handbook Fundamentals, chapter on space air diffusion, zone 3 with a constant
/// near 6 (5.7 to 7) for round openings (from memory).
#[must_use]
pub fn jet_speed_m_per_s(outlet_m_per_s: f64, area_m2: f64, distance_m: f64) -> f64 {
    (6.2 * outlet_m_per_s * area_m2.max(0.0).sqrt() / distance_m.max(1e-9)).min(outlet_m_per_s)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::openings::orifice_flow_kg_per_s;

    /// `fluids` 1.0.27, `friction.Colebrook` (an exact solution of the equation). Iterating ends
    /// below 1e-9 relative.
    #[test]
    fn friction_factor_is_colebrooks() {
        for (re, e, f) in [
            (1e5, 1e-4, 0.018_513_866_077_471_648),
            (1e4, 0.01, 0.043_126_584_706_811_72),
            (5000.0, 0.05, 0.075_947_798_482_726_05),
        ] {
            assert!((friction_factor(re, e) / f - 1.0).abs() < 1e-9, "{re} {e}");
        }
        assert!((friction_factor(1000.0, 0.0) - 0.064).abs() < 1e-15);
    }

    /// White, Fluid Mechanics, example on 200 ft of 6-in asphalted cast-iron pipe with water at
    /// 6 ft/s (from memory): f = 0.0201, 4.5 ft of head, 280 lbf/ft2. The book reads the chart and
    /// rounds to two figures: 2 %.
    #[test]
    fn pipe_of_a_textbook() {
        let duct = Duct {
            diameter_m: 0.1524,
            length_m: 60.96,
            roughness_m: 0.0004 * 0.3048,
            fittings: 0.0,
        };
        let flow = 6.0 * 0.3048 * PI * 0.1524_f64.powi(2) / 4.0;
        let density = 1.94 * 515.379;
        let viscosity = density * 1.1e-5 * 0.092_903;
        let published = 280.0 * 47.8803;
        let got = duct.pressure_Pa(flow, density, viscosity);
        assert!((got / published - 1.0).abs() < 0.02, "{got} {published}");
    }

    /// `fluids` 1.0.27: one_phase_dP(m=1.12*40/3600, rho=1.12, mu=1.9e-5, D=0.1, roughness=1e-3,
    /// L=1.5) = 0.73996 Pa. Both iterate Colebrook, the library to its own explicit solution
    /// (Clamond), equal to 1e-6.
    #[test]
    fn hose_as_the_library_has_it() {
        let duct = Duct {
            diameter_m: 0.1,
            length_m: 1.5,
            roughness_m: 1e-3,
            fittings: 0.0,
        };
        let got = duct.pressure_Pa(40.0 / 3600.0, 1.12, 1.9e-5);
        assert!((got / 0.739_955_057_398_020_3 - 1.0).abs() < 1e-6, "{got}");
        // Two bends of 0.3, entry 0.5, exit 1: 2.1 velocity pressures of 0.5 1.12 1.4147^2 by hand.
        let fitted = Duct {
            fittings: 2.1,
            ..duct
        };
        let more = fitted.pressure_Pa(40.0 / 3600.0, 1.12, 1.9e-5) - got;
        assert!((more - 2.3537).abs() < 1e-3, "{more}");
    }

    /// A pressure must not fall when the flow rises, across the change from laminar to turbulent
    /// either: the duty point would not be one.
    #[test]
    fn pressure_rises_with_flow() {
        let duct = Duct {
            diameter_m: 0.05,
            length_m: 3.0,
            roughness_m: 1e-4,
            fittings: 0.0,
        };
        let mut last = 0.0;
        for k in 1..400 {
            let p = duct.pressure_Pa(f64::from(k) * 1e-5, 1.2, 1.8e-5);
            assert!(p > last, "at {k}");
            last = p;
        }
    }

    /// By hand: 10 Pa over 0.01 m2 with C = 0.6 and 1.2 kg/m3 is 4.0825 m/s in the vena contracta
    /// and 0.024495 m3/s; and back. The network's orifice is rounded at zero, by less than 1e-6
    /// here.
    #[test]
    fn orifice_goes_both_ways() {
        let dp = orifice_pressure_Pa(0.024_495, 0.006, 1.2);
        assert!((dp - 10.0).abs() < 1e-3, "{dp}");
        let m = orifice_flow_kg_per_s(10.0, 0.01, 0.6, 1.2, 2e-3);
        assert!((m / 1.2 - 0.024_495).abs() < 1e-6, "{m}");
    }

    /// By hand, see the docstrings.
    #[test]
    fn screens_and_jets_by_hand() {
        let s = Screen {
            rated_Pa: 40.0,
            rated_flow_m3_per_s: 50.0 / 3600.0,
            linear: 0.5,
        };
        let p = s.pressure_Pa(
            25.0 / 3600.0,
            RATING_DENSITY_KG_PER_M3,
            RATING_VISCOSITY_PA_S,
        );
        assert!((p - 15.0).abs() < 1e-9);
        assert!((jet_speed_m_per_s(5.0, 0.001, 0.5) - 1.961).abs() < 1e-3);
        assert!((jet_speed_m_per_s(5.0, 0.001, 0.01) - 5.0).abs() < 1e-12);
    }

    /// Between Re 2300 and 4000 the factor goes straight from 64/Re to Colebrook's (by hand, with
    /// Colebrook's values at these Reynolds numbers worked out by bisection of the equation).
    #[test]
    fn friction_goes_straight_from_laminar_to_turbulent() {
        for (re, share) in [(2300.0, 0.0), (2725.0, 0.25), (3150.0, 0.5), (4000.0, 1.0)] {
            let e = 0.01;
            let (mut low, mut high): (f64, f64) = (0.01, 0.2);
            for _ in 0..60 {
                let f: f64 = 0.5 * (low + high);
                let root = 1.0 / f.sqrt();
                // Too small a factor leaves 1/f^(1/2) above what the equation makes of it.
                if root > -2.0 * (e / 3.7 + 2.51 * root / re).log10() {
                    low = f;
                } else {
                    high = f;
                }
            }
            let by_hand = 64.0 / re + share * (low - 64.0 / re);
            let ours = friction_factor(re, e);
            assert!(
                (ours / by_hand - 1.0).abs() < 1e-9,
                "{re}: {ours}, by hand {by_hand}"
            );
        }
    }
}

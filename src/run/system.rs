//! What extracted air has to pass.

use std::f64::consts::PI;

use crate::physics::duct::{Duct, FREE_EXIT, SHARP_ENTRY, Screen};

/// What extracted air has to pass between chamber and outlet, besides the machine's own vents and
/// leaks; pressures are those of standard air.
#[derive(Debug, Clone, PartialEq)]
pub struct ExtractionSystem {
    /// Grille in front of the duct.
    pub grille: Screen,
    /// The filter when new.
    pub filter_clean: Screen,
    /// The filter when it is due for change.
    pub filter_loaded: Screen,
    /// What the filter is rated for.
    pub filter: FilterKind,
    /// Duct with entry, bends and exit.
    pub duct: Duct,
    /// Whether the air is led outdoors; else it stays in the room.
    pub led_outdoors: bool,
    /// Whether a burner draws its air from the room.
    pub burner_in_room: bool,
    /// Pressure that wind puts on an outlet outdoors, Pa, against the fan where above zero.
    pub wind_Pa: f64,
    /// Whether the way out is shut while the fan stands still.
    pub flap: bool,
    /// Whether the fan sits at the far end of the duct and draws through it.
    pub fan_at_outlet: bool,
    /// By how much the filter's pressure at its rated flow rises in an hour of running, Pa/h, where that is known.
    pub filter_rise_Pa_per_h: Option<f64>,
    /// How long the fan is to run in a season or year, s, where that is known.
    pub season_s: Option<f64>,
    /// What a kilowatt hour costs, where that is known.
    pub price_per_kWh: Option<f64>,
    /// Electrical power of the fan that extracts or blows in, W, where it is known.
    pub fan_power_W: Option<f64>,
}

/// What a filter is rated for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FilterKind {
    /// Nobody said.
    NotSaid,
    /// There is no filter.
    None,
    /// Particles only.
    Particles,
    /// Particles and fumes.
    ParticlesAndFumes,
}

/// Buoyancy by which air goes through a fan that stands still, Pa: that of a chamber half a metre high and 15 K
/// warmer than the room.
const STANDING_PA: f64 = 0.3;
/// Loss coefficient of a fan's blades that stand still, on the speed in the duct (common practice, no source).
const BLADES: f64 = 10.0;

impl ExtractionSystem {
    /// Area of a frictionless opening that lets as much air through as the way out does while the fan stands still,
    /// m2, with a loaded filter: that is the warmer side.
    ///
    /// * `density_kg_per_m3`, `viscosity_Pa_s`: of the air that passes.
    #[must_use]
    pub fn standing_m2(&self, density_kg_per_m3: f64, viscosity_Pa_s: f64) -> f64 {
        let duct = Duct {
            fittings: self.duct.fittings + BLADES,
            ..self.duct
        };
        let lost_Pa = |q: f64| {
            self.grille
                .pressure_Pa(q, density_kg_per_m3, viscosity_Pa_s)
                + self
                    .filter_loaded
                    .pressure_Pa(q, density_kg_per_m3, viscosity_Pa_s)
                + duct.pressure_Pa(q, density_kg_per_m3, viscosity_Pa_s)
        };
        // Free of friction no more goes through than this.
        let speed_m_per_s = (2.0 * STANDING_PA / density_kg_per_m3).sqrt();
        let (mut low, mut high) = (
            0.0,
            0.25 * PI * duct.diameter_m * duct.diameter_m * speed_m_per_s,
        );
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if lost_Pa(middle) < STANDING_PA {
                low = middle;
            } else {
                high = middle;
            }
        }
        low / speed_m_per_s
    }
}

impl FilterKind {
    /// What such a filter usually takes at its rated flow, Pa, clean and loaded (common practice for small filters
    /// of these kinds, no source): one that is not described is none that flatters the fan.
    #[must_use]
    pub const fn usual_Pa(self) -> (f64, f64) {
        match self {
            Self::None => (0.0, 0.0),
            Self::Particles => (60.0, 150.0),
            Self::ParticlesAndFumes | Self::NotSaid => (100.0, 200.0),
        }
    }

    /// That of the word in a run file.
    #[must_use]
    pub(crate) fn of(word: Option<&str>) -> Self {
        match word {
            None => Self::NotSaid,
            Some("nothing") => Self::None,
            Some("particles") => Self::Particles,
            Some(_) => Self::ParticlesAndFumes,
        }
    }
}

impl Default for ExtractionSystem {
    /// A grille, a filter for particles and fumes and two metres of flexible hose outdoors: the defaults of the run
    /// file's `[system]`.
    fn default() -> Self {
        let screen = |rated_Pa, linear| Screen {
            rated_Pa,
            rated_flow_m3_per_s: 40.0 / 3600.0,
            linear,
        };
        Self {
            grille: screen(2.0, 0.0),
            filter_clean: screen(FilterKind::NotSaid.usual_Pa().0, 0.7),
            filter_loaded: screen(FilterKind::NotSaid.usual_Pa().1, 0.7),
            filter: FilterKind::NotSaid,
            duct: Duct {
                diameter_m: 0.1,
                length_m: 2.0,
                roughness_m: 1e-3,
                fittings: SHARP_ENTRY + 2.0 * 0.4 + FREE_EXIT,
            },
            led_outdoors: true,
            burner_in_room: false,
            wind_Pa: 0.0,
            flap: true,
            fan_at_outlet: false,
            filter_rise_Pa_per_h: None,
            season_s: None,
            price_per_kWh: None,
            fan_power_W: None,
        }
    }
}

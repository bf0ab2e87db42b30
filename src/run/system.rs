//! What extracted air has to pass.

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
    /// Electrical power of the fan that extracts or blows in, W, where it is known.
    pub fan_power_W: Option<f64>,
}

/// What a filter is rated for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FilterKind {
    /// There is no filter.
    None,
    /// Particles only.
    Particles,
    /// Particles and fumes.
    ParticlesAndFumes,
}

impl Default for ExtractionSystem {
    /// A grille, a small filter and two metres of flexible hose outdoors: the defaults of the run
    /// file's `[system]`.
    fn default() -> Self {
        let screen = |rated_Pa, linear| Screen {
            rated_Pa,
            rated_flow_m3_per_s: 40.0 / 3600.0,
            linear,
        };
        Self {
            grille: screen(2.0, 0.0),
            filter_clean: screen(8.0, 0.7),
            filter_loaded: screen(20.0, 0.7),
            filter: FilterKind::ParticlesAndFumes,
            duct: Duct {
                diameter_m: 0.1,
                length_m: 2.0,
                roughness_m: 1e-3,
                fittings: SHARP_ENTRY + 2.0 * 0.4 + FREE_EXIT,
            },
            led_outdoors: true,
            burner_in_room: false,
            fan_power_W: None,
        }
    }
}

//! From `[system]` to what extracted air has to pass.

use super::notes::Notes;
use crate::keys::section::Section;
use crate::physics::duct::{Duct, Screen};
use crate::quantity::Quantity;
use crate::run::{ExtractionSystem, FilterKind};

pub(super) fn system(section: &Section, notes: &mut Notes<'_>) -> Option<ExtractionSystem> {
    let rated_flow_m3_per_s = section.number("rated_flow")?;
    let screen = |pressure: &str, linear: f64| {
        Some(Screen {
            rated_Pa: section.number(pressure)?,
            rated_flow_m3_per_s,
            linear,
        })
    };
    let linear = section.number("filter_linear")?;
    let system = ExtractionSystem {
        grille: screen("grille", 0.0)?,
        filter_clean: screen("filter_clean", linear)?,
        filter_loaded: screen("filter_loaded", linear)?,
        filter: FilterKind::of(section.text("filter_stops")),
        duct: Duct {
            diameter_m: section.number("duct_diameter")?,
            length_m: section.number("duct_length")?,
            roughness_m: section.number("duct_roughness")?,
            fittings: section.number("entry_loss")?
                + section.number("bends")? * section.number("bend_loss")?
                + section.number("exit_loss")?,
        },
        led_outdoors: section.text("led_to")? == "outdoors",
        burner_in_room: section.flag("burner_in_room")?,
        wind_Pa: section.number("wind")?,
        flap: section.flag("flap")?,
        fan_at_outlet: section.text("fan_at")? == "outlet",
        filter_rise_Pa_per_h: section.number("filter_rise").map(|Pa| Pa / 100.0),
        season_s: section.number("season"),
        price_per_kWh: section.number("price_per_kWh"),
        fan_power_W: section.number("fan_power"),
    };
    if system.filter_loaded.rated_Pa < system.filter_clean.rated_Pa {
        let text = |Pa| Quantity::Pressure.to_text(Pa, "Pa");
        let message = format!(
            "the loaded filter holds back less ({}) than the clean one ({})",
            text(system.filter_loaded.rated_Pa),
            text(system.filter_clean.rated_Pa)
        );
        let key = if section.is_typed("filter_clean") {
            "filter_clean"
        } else {
            "filter_loaded"
        };
        notes.error(
            section.mark_of(key),
            message,
            "give both system.filter_clean and system.filter_loaded, at the same rated_flow",
        );
        return None;
    }
    if system.duct.roughness_m > 0.05 * system.duct.diameter_m {
        notes.hint(
            section.mark_of("duct_roughness"),
            "the duct's wall is rougher than a twentieth of its diameter; the friction formula is published up to that",
            "check system.duct_roughness and system.duct_diameter",
        );
    }
    Some(system)
}

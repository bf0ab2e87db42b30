//! From a panel's keys to the panel.

use crate::keys::section::Section;
use crate::run::{Layer, Panel};

/// The panel, when none of its values is missing or bad.
pub(super) fn panel(section: &Section) -> Option<Panel> {
    let layers = section.list("layer").iter().map(|layer| {
        Some(Layer {
            material: layer.text("material")?.to_owned(),
            thickness_m: layer.number("thickness")?,
            conductivity_W_per_mK: layer.number("conductivity")?,
            density_kg_per_m3: layer.number("density")?,
            heat_capacity_J_per_kgK: layer.number("heat_capacity")?,
        })
    });
    Some(Panel {
        name: section
            .text("name")
            .or_else(|| section.text("title"))?
            .to_owned(),
        layers: layers.collect::<Option<_>>()?,
        emissivity_inside: section.number("emissivity_inside")?,
        emissivity_outside: section.number("emissivity_outside")?,
    })
}

//! From a material's keys to the material, and back.

use crate::keys::section::{Data, Section};
use crate::run::{Material, MaterialUse};

/// What a limit is based on that a run states without saying.
const AS_GIVEN: &str = "as given in the run file";

/// The material, when none of its values is missing or bad.
pub(crate) fn material(section: &Section, name: String) -> Option<Material> {
    // A limit that the run states is that of its own filament, damp or dry.
    let is_own = section.is_typed("softening_limit") && section.has("name");
    let basis = if is_own && !section.is_typed("softening_basis") {
        AS_GIVEN
    } else {
        section.text("softening_basis")?
    };
    Some(Material {
        name,
        title: section.text("title")?.to_owned(),
        softening_limit_K: section.number("softening_limit")?,
        softening_basis: basis.to_owned(),
        damp_lowers_K: if is_own {
            0.0
        } else {
            section.number("damp_lowers")?
        },
        caveat: section.text("caveat").map(str::to_owned),
        fumes: section.text("fumes").map(str::to_owned),
        printed_for: match section.text("use")? {
            "flexible" => MaterialUse::Flexible,
            "support" => MaterialUse::Support,
            _ => MaterialUse::Structural,
        },
        density_kg_per_m3: section.number("density")?,
        heat_capacity_J_per_kgK: section.number("heat_capacity")?,
        conductivity_W_per_mK: section.number("conductivity")?,
        bed_K: section.number("bed")?,
        nozzle_K: section.number("nozzle")?,
        chamber_min_K: section.number("chamber_min"),
    })
}

/// The keys of a material that takes the place of another.
pub(in crate::run) fn keys_of(material: &Material) -> Section {
    let mut section = Section::default();
    for (key, text) in [
        ("name", &material.name),
        ("title", &material.title),
        ("softening_basis", &material.softening_basis),
    ] {
        section.put(key, Data::Text(text.clone()));
    }
    section.put("use", Data::Text(material.printed_for.name().to_owned()));
    for (key, text) in [("caveat", &material.caveat), ("fumes", &material.fumes)] {
        if let Some(text) = text {
            section.put(key, Data::Text(text.clone()));
        }
    }
    for (key, number) in [
        ("softening_limit", material.softening_limit_K),
        ("damp_lowers", material.damp_lowers_K),
        ("density", material.density_kg_per_m3),
        ("heat_capacity", material.heat_capacity_J_per_kgK),
        ("conductivity", material.conductivity_W_per_mK),
        ("bed", material.bed_K),
        ("nozzle", material.nozzle_K),
    ] {
        section.put(key, Data::Number(number));
    }
    if let Some(chamber_min_K) = material.chamber_min_K {
        section.put("chamber_min", Data::Number(chamber_min_K));
    }
    section
}

//! The part: what may be left away of its shape, and whether it fits.

use super::notes::Notes;
use crate::keys::section::Section;
use crate::quantity::Quantity;
use crate::run::{Machine, Material, Part};

/// Infill, shells and supports taken together: what a part's outline weighs compared with the
/// solid, when its height or footprint is not given (common practice, no source).
const BULK_SHARE: f64 = 0.6;

/// Works out footprint and height where they are left away, and notes how.
pub(super) fn derive(root: &mut Section, machine: Option<&Machine>, material: Option<&Material>) {
    let bed_m2 = machine.map_or(f64::INFINITY, |m| m.bed.width_m * m.bed.depth_m);
    if let (Some(part), Some(material)) = (root.section_mut("part"), material)
        && let Some(mass_kg) = part.number("mass")
        && !part.is_bad("footprint")
        && !part.is_bad("height")
    {
        let volume_m3 = mass_kg / (BULK_SHARE * material.density_kg_per_m3);
        match part.number("height") {
            Some(height_m) => {
                part.derive(
                    "footprint",
                    volume_m3 / height_m,
                    "from mass and height, at a bulk density of 60 % of the material's",
                );
            }
            None => part.derive(
                "footprint",
                volume_m3.cbrt().powi(2).min(bed_m2),
                "that of a cube, or the bed's area if that is less, at a bulk density of 60 % of the material's",
            ),
        }
        if let Some(footprint_m2) = part.number("footprint") {
            part.derive(
                "height",
                volume_m3 / footprint_m2,
                "from mass and footprint, at a bulk density of 60 % of the material's",
            );
        }
    }
}

/// The part, when none of its values is missing or bad.
pub(super) fn part(
    root: &Section,
    machine: Option<&Machine>,
    material: Option<&Material>,
    notes: &mut Notes<'_>,
) -> Option<Part> {
    let section = root.section("part")?;
    // A table of the job that could not be read might have said it, and has been reported.
    if !section.has("mass") && !root.section("job").is_some_and(|job| job.has("profile")) {
        notes.error(
            section.mark.as_ref(),
            "[part] needs `mass`",
            "add mass = \"2.3 kg\". Mass when finished, supports included.",
        );
    }
    let part = Part {
        mass_kg: section.number("mass")?,
        footprint_m2: section.number("footprint")?,
        height_m: section.number("height")?,
    };
    let area = |m2| Quantity::Area.to_text(m2, "cm2");
    let length = |m| Quantity::Length.to_text(m, "mm");
    if let Some(machine) = machine {
        let bed_m2 = machine.bed.width_m * machine.bed.depth_m;
        if part.footprint_m2 > bed_m2 * 1.001 {
            let message = format!(
                "the part covers {}, but the bed has only {}",
                area(part.footprint_m2),
                area(bed_m2)
            );
            notes.error(
                section.mark_of("footprint"),
                message,
                "change part.footprint, or give part.height, or take a larger machine",
            );
        }
        if part.height_m > machine.height_m {
            let key = if section.is_typed("height") {
                "height"
            } else {
                "mass"
            };
            let message = format!(
                "the part is {} high, but the chamber only {}",
                length(part.height_m),
                length(machine.height_m)
            );
            let help = "change part.height, part.footprint or part.mass; a height that is not given is worked out at a bulk density of 60 %";
            notes.error(section.mark_of(key), message, help);
        }
    }
    if let Some(material) = material {
        let bulk = part.mass_kg / (part.footprint_m2 * part.height_m);
        // Footprints are rough; 5 % above the solid can still be a solid part.
        if bulk > 1.05 * material.density_kg_per_m3 {
            let message = format!(
                "a part of {} on {} and {} high would be denser than solid {}",
                Quantity::Mass.to_text(part.mass_kg, "kg"),
                area(part.footprint_m2),
                length(part.height_m),
                material.name
            );
            notes.error(
                section.mark_of("mass"),
                message,
                "check part.mass, part.footprint, part.height and material.density",
            );
        }
    }
    Some(part)
}

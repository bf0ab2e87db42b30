//! From `[machine]` to the machine.

use super::notes::Notes;
use super::panel::panel;
use crate::keys::section::Section;
use crate::run::{
    Bed, BedMotion, ChamberHeater, ColdEnd, Feeder, Gear, Hotend, Machine, Motor, Mount, PartFan,
    Place, SecondHotend, Vent,
};

/// Height of the head as a share of the chamber's where nobody says: right under the lid, where the air is
/// warmest.
const HEAD_SHARE: f64 = 0.9;
/// Height of the bed as a share of the chamber's where nobody says (common practice, no source).
const BED_SHARE: f64 = 0.15;

/// The machine, when none of its values is missing or bad.
pub(super) fn machine(section: &Section, name: String) -> Option<Machine> {
    let frame = section.section("frame")?;
    let bed = section.section("bed")?;
    let hotend = section.section("hotend")?;
    let cold_end = section.section("cold_end")?;
    let vents = section.list("vent").iter().map(|vent| {
        Some(Vent {
            area_m2: vent.number("area")?,
            height_m: vent.number("height")?,
            discharge: vent.number("discharge")?,
        })
    });
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "2 to 20"
    )]
    let air_layers = section.number("air_layers")? as usize;
    Some(Machine {
        name,
        title: section.text("title")?.to_owned(),
        width_m: section.number("width")?,
        depth_m: section.number("depth")?,
        height_m: section.number("height")?,
        head_height_m: match section.number("head_height") {
            Some(height_m) => height_m,
            None => HEAD_SHARE * section.number("height")?,
        },
        air_layers,
        frame_mass_kg: frame.number("mass")?,
        frame_heat_capacity_J_per_kgK: frame.number("heat_capacity")?,
        frame_area_m2: frame.number("area")?,
        lid: panel(section.section("lid")?)?,
        walls: panel(section.section("walls")?)?,
        door: panel(section.section("door")?)?,
        floor: panel(section.section("floor")?)?,
        door_opening_m2: section.number("door_opening")?,
        door_opening_height_m: section.number("door_opening_height")?,
        lid_opening_m2: section.number("lid_opening")?,
        leak_area_m2: section.number("leak_area")?,
        vents: vents.collect::<Option<_>>()?,
        extraction_height_m: section.number("extraction_height")?,
        inlet_height_m: section.number("inlet_height")?,
        bed: Bed {
            height_m: match bed.number("height") {
                Some(height_m) => height_m,
                None => BED_SHARE * section.number("height")?,
            },
            moves: match bed.text("moves")? {
                "down" => BedMotion::Down,
                _ => BedMotion::Stays,
            },
            width_m: bed.number("width")?,
            depth_m: bed.number("depth")?,
            mass_kg: bed.number("mass")?,
            heat_capacity_J_per_kgK: bed.number("heat_capacity")?,
            max_power_W: bed.number("max_power")?,
            emissivity: bed.number("emissivity")?,
            underside_resistance_m2K_per_W: bed.number("underside_resistance")?,
        },
        hotend: Hotend {
            mass_kg: hotend.number("mass")?,
            heat_capacity_J_per_kgK: hotend.number("heat_capacity")?,
            max_power_W: hotend.number("max_power")?,
            loss_W_per_K: hotend.number("loss")?,
            heat_break_W_per_K: hotend.number("heat_break")?,
            neck_m: hotend.number("neck")?,
        },
        cold_end: ColdEnd {
            mass_kg: cold_end.number("mass")?,
            heat_capacity_J_per_kgK: cold_end.number("heat_capacity")?,
            cooling_W_per_K: cold_end.number("cooling")?,
            length_m: cold_end.number("length")?,
        },
        motion: motor(section.section("motion")?)?,
        feeder: self::feeder(section.section("feeder")?)?,
        chamber_heater: optional(section, "chamber_heater", |heater| {
            Some(ChamberHeater {
                max_power_W: heater.number("max_power")?,
                place: place(heater.text("place")?),
            })
        })?,
        part_fan: optional(section, "part_fan", |fan| {
            Some(PartFan {
                power_W: fan.number("power")?,
                speed_m_per_s: fan.number("speed")?,
            })
        })?,
        second_hotend: optional(section, "second_hotend", second_hotend)?,
        electronics_W: section.number("electronics")?,
        spool: place(section.text("spool")?),
        guide_tube_m: section.number("guide_tube")?,
        filament_diameter_m: section.number("filament_diameter")?,
    })
}

fn feeder(section: &Section) -> Option<Feeder> {
    let gear = section.section("gear")?;
    let mount = |mount: &Section| {
        Some(Mount {
            mass_kg: mount.number("mass")?,
            heat_capacity_J_per_kgK: mount.number("heat_capacity")?,
            area_m2: mount.number("area")?,
            motor_W_per_K: mount.number("motor")?,
            gear_W_per_K: mount.number("gear")?,
            frame_W_per_K: mount.number("frame")?,
            cold_end_W_per_K: mount.number("cold_end")?,
        })
    };
    if section.is_bad("mount") {
        return None;
    }
    Some(Feeder {
        motor: motor(section)?,
        grip_length_m: section.number("grip_length")?,
        heat_sink_W_per_K: section.number("heat_sink")?,
        gear: Gear {
            mass_kg: gear.number("mass")?,
            heat_capacity_J_per_kgK: gear.number("heat_capacity")?,
            area_m2: gear.number("area")?,
            shaft_W_per_K: gear.number("shaft")?,
        },
        mount: match section.section("mount") {
            None => None,
            Some(section) => Some(mount(section)?),
        },
    })
}

/// What a table describes that a machine need not have: `Some(None)` where there is none, `None` where
/// something in it is missing or bad.
fn optional<T>(
    section: &Section,
    key: &str,
    read: impl Fn(&Section) -> Option<T>,
) -> Option<Option<T>> {
    match section.section(key) {
        Some(inner) => read(inner).map(Some),
        None => (!section.is_bad(key)).then_some(None),
    }
}

fn second_hotend(section: &Section) -> Option<SecondHotend> {
    Some(SecondHotend {
        mass_kg: section.number("mass")?,
        heat_capacity_J_per_kgK: section.number("heat_capacity")?,
        max_power_W: section.number("max_power")?,
        loss_W_per_K: section.number("loss")?,
        heat_break_W_per_K: section.number("heat_break")?,
        cold_end_mass_kg: section.number("cold_end_mass")?,
        cooling_W_per_K: section.number("cooling")?,
        beside_W_per_K: section.number("beside")?,
    })
}

fn motor(section: &Section) -> Option<Motor> {
    Some(Motor {
        heat_W: section.number("heat")?,
        heat_at_K: section.number("heat_at")?,
        mass_kg: section.number("mass")?,
        area_m2: section.number("area")?,
        place: place(section.text("place")?),
    })
}

/// The words have been checked against the declared ones.
fn place(word: &str) -> Place {
    match word {
        "room" => Place::Room,
        "chamber bottom" => Place::ChamberBottom,
        _ => Place::ChamberTop,
    }
}

/// Reports what does not fit together in a machine.
pub(super) fn check(section: &Section, notes: &mut Notes<'_>) {
    let text = |m: f64| crate::quantity::Quantity::Length.to_text(m, "mm");
    let area_text = |m2: f64| crate::quantity::Quantity::Area.to_text(m2, "cm2");
    // Where two values don't go together, the one that the user typed is shown, and of the other is said
    // that it is the catalogue's: nobody can mend a file of the program.
    let mut report = |one: (&Section, &str, &str), others: &[&str], message: String, help: &str| {
        let (place, table, key) = one;
        let typed = others.iter().find(|other| section.is_typed(other));
        match typed.filter(|_| !place.is_typed(key)) {
            Some(typed) => {
                let message = format!("{message} (`{table}{key}` is the catalogue's)");
                notes.error(section.mark_of(typed), message, help);
            }
            None => notes.error(place.mark_of(key), message, help),
        }
    };
    let inside = |key: &str| section.number(key);
    if let Some(bed) = section.section("bed") {
        for key in ["width", "depth"] {
            if let (Some(bed_m), Some(inside_m)) = (bed.number(key), inside(key))
                && bed_m > inside_m
            {
                let message = format!(
                    "the bed's {key} is {}, but the chamber's inside {key} is only {}",
                    text(bed_m),
                    text(inside_m)
                );
                report(
                    (bed, "bed.", key),
                    &[key],
                    message,
                    "measure both again; the bed has to fit in",
                );
            }
        }
    }
    if let Some(height_m) = inside("height") {
        let heights = [
            "head_height",
            "extraction_height",
            "inlet_height",
            "door_opening_height",
        ];
        let here = heights.iter().map(|key| (section, "", *key));
        let vents = section.list("vent").iter();
        let vents = vents.map(|vent| (vent, "vent.", "height"));
        let bed = section.section("bed").map(|bed| (bed, "bed.", "height"));
        for (place, table, key) in here.chain(vents).chain(bed) {
            if let Some(at_m) = place.number(key)
                && at_m > height_m
            {
                let message = format!(
                    "`{key}` is {}, but the chamber is only {} high",
                    text(at_m),
                    text(height_m)
                );
                report(
                    (place, table, key),
                    &["height"],
                    message,
                    "heights are measured inside, from the floor",
                );
            }
        }
    }
    let lid_m2 = inside("width").zip(inside("depth")).map(|(w, d)| w * d);
    let front_m2 = inside("width").zip(inside("height")).map(|(w, h)| w * h);
    for (key, face, whole_m2, others) in [
        ("lid_opening", "lid", lid_m2, ["width", "depth"]),
        ("door_opening", "front", front_m2, ["width", "height"]),
    ] {
        // A tape measure is good to a few per cent.
        if let (Some(open_m2), Some(whole_m2)) = (section.number(key), whole_m2)
            && open_m2 > 1.05 * whole_m2
        {
            let message = format!(
                "`{key}` is {}, but the whole {face} is only {}",
                area_text(open_m2),
                area_text(whole_m2)
            );
            report(
                (section, "", key),
                &others,
                message,
                "an opening can't be larger than the face it is in",
            );
        }
    }
}

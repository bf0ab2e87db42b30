//! The machine.

use super::panel::Panel;

/// A machine as measured with a tape, a watt meter and a thermometer.
#[derive(Debug, Clone, PartialEq)]
pub struct Machine {
    /// Name in the catalogue.
    pub name: String,
    /// One line of description.
    pub title: String,
    /// Inside width (left to right), m.
    pub width_m: f64,
    /// Inside depth (front to back), m.
    pub depth_m: f64,
    /// Inside height, m.
    pub height_m: f64,
    /// Height above the floor of the head and whatever is at the chamber's top, m.
    pub head_height_m: f64,
    /// Air layers, bottom to top (2 or more).
    pub air_layers: usize,
    /// Mass of frame and gantry inside the panels, kg.
    pub frame_mass_kg: f64,
    /// Heat capacity of the frame, J/(kg K).
    pub frame_heat_capacity_J_per_kgK: f64,
    /// Surface of the frame, m2.
    pub frame_area_m2: f64,
    /// Lid, walls, door and floor.
    pub lid: Panel,
    /// Left, right and back wall.
    pub walls: Panel,
    /// Door: the whole front.
    pub door: Panel,
    /// Floor.
    pub floor: Panel,
    /// Area of the door's opening when open, m2.
    pub door_opening_m2: f64,
    /// Height of the door's opening, m.
    pub door_opening_height_m: f64,
    /// Area of the opening when the lid is off, m2.
    pub lid_opening_m2: f64,
    /// Free area of all cracks and cable holes together, m2.
    pub leak_area_m2: f64,
    /// Openings meant for make-up air or exhaust.
    pub vents: Vec<Vent>,
    /// Height above the floor of the point at which air is extracted, m.
    pub extraction_height_m: f64,
    /// Height above the floor at which a fan blows air in, m.
    pub inlet_height_m: f64,
    /// The bed.
    pub bed: Bed,
    /// The hotend.
    pub hotend: Hotend,
    /// The cold end.
    pub cold_end: ColdEnd,
    /// The motors that move head and bed.
    pub motion: Motor,
    /// The feeder.
    pub feeder: Feeder,
    /// A heater of the chamber's air, if there is one.
    pub chamber_heater: Option<ChamberHeater>,
    /// The part-cooling fan, if it is not counted among the electronics.
    pub part_fan: Option<PartFan>,
    /// A second hotend, if there is one.
    pub second_hotend: Option<SecondHotend>,
    /// Heat of electronics, lights and fans that is set free in the chamber air while the machine is on, W.
    pub electronics_W: f64,
    /// Where the spool is.
    pub spool: Place,
    /// Length of guide tube inside the chamber, m.
    pub guide_tube_m: f64,
    /// Diameter of the filament, m.
    pub filament_diameter_m: f64,
}

/// A heater of the chamber's air.
#[derive(Debug, Clone, PartialEq)]
pub struct ChamberHeater {
    /// Largest power, W.
    pub max_power_W: f64,
    /// Which air it heats and measures: the top layer, or the bottom one for any other place.
    pub place: Place,
}

/// The part-cooling fan.
#[derive(Debug, Clone, PartialEq)]
pub struct PartFan {
    /// Electrical power, W.
    pub power_W: f64,
    /// Mean air speed over the part, m/s.
    pub speed_m_per_s: f64,
}

/// A second hotend beside the first.
#[derive(Debug, Clone, PartialEq)]
pub struct SecondHotend {
    /// Mass of its block, kg.
    pub mass_kg: f64,
    /// Heat capacity of its block, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Largest heater power, W.
    pub max_power_W: f64,
    /// Conductance to the chamber, W/K.
    pub loss_W_per_K: f64,
    /// Conductance to its cold end, W/K.
    pub heat_break_W_per_K: f64,
    /// Mass of its cold end, kg; its heat capacity is that of the first's.
    pub cold_end_mass_kg: f64,
    /// Conductance of its cold end to the air with its fan running, W/K.
    pub cooling_W_per_K: f64,
    /// Conductance between the two cold ends, W/K.
    pub beside_W_per_K: f64,
}

/// Inside or outside the chamber.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// In the chamber air, bottom layer.
    ChamberBottom,
    /// In the chamber air, top layer.
    ChamberTop,
    /// In the room.
    Room,
}

/// An opening in the chamber's shell.
#[derive(Debug, Clone, PartialEq)]
pub struct Vent {
    /// Free area, m2.
    pub area_m2: f64,
    /// Height of its middle above the floor, m.
    pub height_m: f64,
    /// Discharge coefficient.
    pub discharge: f64,
}

/// What a bed does while the part grows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BedMotion {
    /// It keeps its height, and the head rises.
    Stays,
    /// It goes down by the part's height, and the head keeps its own.
    Down,
}

/// The heated bed.
#[derive(Debug, Clone, PartialEq)]
pub struct Bed {
    /// Height of the plate's upper face above the floor when the first layer is laid, m.
    pub height_m: f64,
    /// What it does while the part grows.
    pub moves: BedMotion,
    /// Width, m.
    pub width_m: f64,
    /// Depth, m.
    pub depth_m: f64,
    /// Mass of plate and heater, kg.
    pub mass_kg: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Largest heater power, W.
    pub max_power_W: f64,
    /// Emissivity of the upper face.
    pub emissivity: f64,
    /// Resistance of the insulation under the plate, m2 K/W (0: bare).
    pub underside_resistance_m2K_per_W: f64,
}

/// The hotend block.
#[derive(Debug, Clone, PartialEq)]
pub struct Hotend {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Largest heater power, W.
    pub max_power_W: f64,
    /// Conductance to the chamber air and walls at working temperature, W/K.
    pub loss_W_per_K: f64,
    /// Conductance through the heat break to the cold end, W/K.
    pub heat_break_W_per_K: f64,
    /// Length of the heat break's thin neck, m.
    pub neck_m: f64,
}

/// The cold end above the heat break.
#[derive(Debug, Clone, PartialEq)]
pub struct ColdEnd {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Conductance to the surrounding air with its fan running, W/K.
    pub cooling_W_per_K: f64,
    /// Length of filament path inside, m.
    pub length_m: f64,
}

/// A motor, or several taken as one.
#[derive(Debug, Clone, PartialEq)]
pub struct Motor {
    /// Heat while working, W, at `heat_at_K` (rises with temperature as copper's resistance does).
    pub heat_W: f64,
    /// Temperature at which it gives off that much, K.
    pub heat_at_K: f64,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Surface, m2.
    pub area_m2: f64,
    /// Where it is.
    pub place: Place,
}

/// The feeder: its motor, the drive gear on the shaft, and what both are mounted on.
#[derive(Debug, Clone, PartialEq)]
pub struct Feeder {
    /// Its motor.
    pub motor: Motor,
    /// Length of filament gripped by or close to the gear, m.
    pub grip_length_m: f64,
    /// Extra conductance of a heat sink or fan on the motor, W/K.
    pub heat_sink_W_per_K: f64,
    /// The gear.
    pub gear: Gear,
    /// The mount; none counts for nothing.
    pub mount: Option<Mount>,
}

/// The drive gear with what it presses the filament against.
#[derive(Debug, Clone, PartialEq)]
pub struct Gear {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Surface in the air, m2.
    pub area_m2: f64,
    /// Conductance from the motor through its shaft or gear train, W/K.
    pub shaft_W_per_K: f64,
}

/// What motor and gear are mounted on.
#[derive(Debug, Clone, PartialEq)]
pub struct Mount {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Surface in the air, m2.
    pub area_m2: f64,
    /// Conductance from the motor's face, W/K.
    pub motor_W_per_K: f64,
    /// Conductance to the gear through its lever and bearings, W/K.
    pub gear_W_per_K: f64,
    /// Conductance to the frame or gantry, W/K (0: does not touch).
    pub frame_W_per_K: f64,
    /// Conductance to the cold end, W/K (0: does not touch).
    pub cold_end_W_per_K: f64,
}

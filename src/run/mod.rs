//! What a run file means: valid, complete, in SI units. Temperatures are kelvin.
//!
//! Nothing here parses or validates; [`crate::runfile`] makes these values from what was typed,
//! and studies make many of them from one by changing values.

use crate::coefficients::Coefficients;
use crate::course::Course;
use crate::physics::duct::{Duct, FREE_EXIT, SHARP_ENTRY, Screen};
use jiff::civil::DateTime;

/// One job on one machine in one stretch of weather.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Name given by the user.
    pub name: String,
    /// Local date and time at which the run starts.
    pub start: DateTime,
    /// Length of the whole run, s.
    pub duration_s: f64,
    /// The machine.
    pub machine: Machine,
    /// The material.
    pub material: Material,
    /// The job's phases, in order, filling the run from 0 to `duration_s`.
    pub phases: Vec<Phase>,
    /// The part.
    pub part: Part,
    /// The room.
    pub room: Room,
    /// What is open, shut or blowing through the whole run.
    pub arrangement: Arrangement,
    /// Stretches in which another arrangement holds (a door opened for minutes), in order, not overlapping.
    pub schedule: Vec<Scheduled>,
    /// What extracted air has to pass.
    pub system: ExtractionSystem,
    /// What the run must fulfil.
    pub requirements: Requirements,
    /// The uncertain coefficients.
    pub coefficients: Coefficients,
}

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
    /// The feeder motor with its drive gear.
    pub feeder: Feeder,
    /// Heat of electronics, lights and fans that is set free in the chamber air while the machine is on, W.
    pub electronics_W: f64,
    /// Where the spool is.
    pub spool: Place,
    /// Length of guide tube inside the chamber, m.
    pub guide_tube_m: f64,
    /// Diameter of the filament, m.
    pub filament_diameter_m: f64,
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

/// A panel build-up.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Name in the catalogue.
    pub name: String,
    /// Layers from inside to outside (at least one).
    pub layers: Vec<Layer>,
    /// Emissivity of the inside face.
    pub emissivity_inside: f64,
    /// Emissivity of the outside face.
    pub emissivity_outside: f64,
}

/// One layer of a panel. An air gap is a layer with its effective conductivity and air's density.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// What it is made of.
    pub material: String,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Conductivity, W/(m K).
    pub conductivity_W_per_mK: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
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

/// The heated bed.
#[derive(Debug, Clone, PartialEq)]
pub struct Bed {
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
    /// Heat at 20 degC winding temperature while working, W (rises with temperature as copper does).
    pub heat_W: f64,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Surface, m2.
    pub area_m2: f64,
    /// Where it is.
    pub place: Place,
}

/// The feeder motor with the drive gear on its shaft.
#[derive(Debug, Clone, PartialEq)]
pub struct Feeder {
    /// Its motor.
    pub motor: Motor,
    /// Length of filament gripped by or close to the gear, m.
    pub grip_length_m: f64,
    /// Extra conductance of a heat sink or fan on the motor, W/K.
    pub heat_sink_W_per_K: f64,
}

/// A material.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Name in the catalogue.
    pub name: String,
    /// One line of description.
    pub title: String,
    /// Softening limit, K.
    pub softening_limit_K: f64,
    /// On what the softening limit is based, e.g. "glass transition, ISO 11357-2".
    pub softening_basis: String,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Conductivity, W/(m K).
    pub conductivity_W_per_mK: f64,
    /// Usual bed temperature, K.
    pub bed_K: f64,
    /// Usual nozzle temperature, K.
    pub nozzle_K: f64,
    /// Lowest useful chamber temperature, K, where there is one.
    pub chamber_min_K: Option<f64>,
}

/// The part being made.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Mass when finished, kg.
    pub mass_kg: f64,
    /// Footprint on the bed, m2.
    pub footprint_m2: f64,
    /// Height when finished, m.
    pub height_m: f64,
}

/// What a phase is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhaseKind {
    /// Bed and hotend heat up; nothing is fed.
    HeatUp,
    /// The chamber warms through; nothing is fed.
    Soak,
    /// Material is fed.
    Print,
    /// Feeding stops, heaters stay on, filament is parked in the path.
    Pause,
    /// As pause, for a change of spool (the door stands open if the phase's arrangement says so).
    SpoolChange,
    /// Heaters off, motors off.
    CoolDown,
}

/// A stretch of the job with its own setpoints and duties.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// What it is for.
    pub kind: PhaseKind,
    /// Begin, s from the start of the run.
    pub begin_s: f64,
    /// End, s from the start of the run.
    pub end_s: f64,
    /// Bed setpoint, K; none: heater off.
    pub bed_K: Option<f64>,
    /// Nozzle setpoint, K; none: heater off.
    pub nozzle_K: Option<f64>,
    /// Share of the motion motors' heat, 0 to 1.
    pub motion_duty: f64,
    /// Share of the feeder motor's heat, 0 to 1.
    pub feeder_duty: f64,
    /// Whether electronics, lights and the cold end's fan are on.
    pub powered: bool,
    /// Material fed, kg/s.
    pub feed_kg_per_s: f64,
}

/// The room the machine stands in.
#[derive(Debug, Clone, PartialEq)]
pub struct Room {
    /// Temperature of the air outside the shell, or outside the building where the room is a node of its
    /// own, K, on the run's clock.
    pub weather: Course,
    /// The room as a node of its own; none: the weather is the room's air temperature.
    pub building: Option<Building>,
    /// Altitude, m above sea level.
    pub altitude_m: f64,
}

/// A room warmed by its machines and cooled by its envelope, its air changes and its air conditioner.
#[derive(Debug, Clone, PartialEq)]
pub struct Building {
    /// Volume, m3.
    pub volume_m3: f64,
    /// Conductance of walls, windows and roof to outdoors, W/K.
    pub envelope_W_per_K: f64,
    /// Air changes with outdoors, 1/s.
    pub air_changes_per_s: f64,
    /// Heat of everything else in the room, W.
    pub other_heat_W: f64,
    /// Largest cooling power of the air conditioner, W (0: none).
    pub cooler_max_W: f64,
    /// Setpoint of the air conditioner, K.
    pub cooler_setpoint_K: f64,
    /// Heat stored by walls and furniture, as a multiple of the air's (10 or so).
    pub storage_factor: f64,
}

/// What is open, shut or blowing.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrangement {
    /// The name users see: "closed", "lid off", "door open", "extracting", "blowing in", "recirculating".
    pub kind: ArrangementKind,
    /// When it works.
    pub control: Control,
}

/// The kinds of arrangement with their numbers.
#[derive(Debug, Clone, PartialEq)]
pub enum ArrangementKind {
    /// Everything shut.
    Closed,
    /// The lid is taken off.
    LidOff,
    /// The door stands open.
    DoorOpen,
    /// A fan draws air out of the chamber.
    Extracting {
        /// Volume flow at the fan, m3/s.
        flow_m3_per_s: f64,
    },
    /// A fan blows room air in.
    BlowingIn {
        /// Volume flow at the fan, m3/s.
        flow_m3_per_s: f64,
    },
    /// A fan inside drives air through a filter from the top layer to the bottom one.
    Recirculating {
        /// Volume flow at the fan, m3/s.
        flow_m3_per_s: f64,
        /// Electrical power of the fan, all of which becomes heat in the chamber, W.
        fan_power_W: f64,
    },
}

/// When a fan works.
#[derive(Debug, Clone, PartialEq)]
pub enum Control {
    /// Always.
    Constant,
    /// By the temperature of the top air layer, with hysteresis.
    Thermostat {
        /// Starts above, K.
        on_above_K: f64,
        /// Stops below, K.
        off_below_K: f64,
    },
}

/// Another arrangement for a stretch of the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Scheduled {
    /// Begin, s from the start of the run.
    pub begin_s: f64,
    /// End, s from the start of the run.
    pub end_s: f64,
    /// The arrangement.
    pub arrangement: Arrangement,
}

/// What the run must fulfil.
#[derive(Debug, Clone, PartialEq)]
pub struct Requirements {
    /// Margin below the softening limit, K.
    pub margin_K: f64,
    /// Whether the machine has to stay closed.
    pub must_stay_closed: bool,
    /// Lowest chamber temperature while printing, K (the material's, unless the run says otherwise).
    pub chamber_min_K: Option<f64>,
}

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

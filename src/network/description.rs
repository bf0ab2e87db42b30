//! Elements in words and numbers: what a person needs to rebuild a network's equations without this
//! program. Each link is named by its law and carries what the law needs; nothing that a law gives
//! (coefficients of convection, view factors, flows of air) is worked out here.
//!
//! Names end in their units. What each law says stands in `docs/network.md`, which names belong to it in
//! `docs/network.schema.json`.

use crate::course::Course;
use serde::Serialize;

/// What stores heat in a node.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Store {
    /// A volume of air at its density at the start, times a factor for what stands in it.
    Air {
        /// Volume, m3.
        volume_m3: f64,
        /// Heat stored over that of the air alone.
        storage_factor: f64,
    },
    /// A mass.
    Mass {
        /// Mass, kg.
        mass_kg: f64,
        /// Heat capacity, J/(kg K).
        heat_capacity_J_per_kgK: f64,
    },
    /// A sheet known by its capacity per area.
    Sheet {
        /// Area, m2.
        area_m2: f64,
        /// Capacity, J/(m2 K).
        capacity_J_per_m2K: f64,
    },
    /// The capacity is itself what was measured or given.
    Given,
    /// A node of a panel.
    Panel {
        /// The panel.
        panel: String,
        /// Position from inside.
        position: usize,
    },
}

/// An area that grows with the part's share `f`: fixed + grown f.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GrowingArea {
    /// Area at a share of 0, m2.
    pub fixed_m2: f64,
    /// What the full part adds, m2.
    pub grown_m2: f64,
}

/// A face that gives heat to air.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FaceDescription {
    /// The face.
    pub surface: String,
    /// The air.
    pub air: String,
    /// Its area.
    pub area: GrowingArea,
    /// "vertical", "up", "down" or "cylinder": where the face looks.
    pub orientation: &'static str,
    /// Length for natural convection, m.
    pub length_m: f64,
    /// Length for forced convection, m.
    pub forced_length_m: f64,
    /// Imposed air speed, m/s.
    pub speed_m_per_s: f64,
    /// Multiplies natural convection; dimensionless.
    pub natural_multiplier: f64,
}

/// A conductance from something warm to the air.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LossDescription {
    /// What is warm.
    pub surface: String,
    /// The air.
    pub air: String,
    /// Conductance, W/K.
    pub conductance_W_per_K: f64,
}

/// A link, by its law.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "law", rename_all = "snake_case")]
pub enum Link {
    /// Conduction through a panel from node to node.
    PanelConduction {
        /// The panel.
        panel: String,
    },
    /// A resistance per area.
    Resistance {
        /// One point.
        a: String,
        /// The other.
        b: String,
        /// Area, m2.
        area_m2: f64,
        /// Resistance, m2 K/W.
        resistance_m2K_per_W: f64,
    },
    /// A conductance that is itself what was measured or given.
    GivenConductance {
        /// One point.
        a: String,
        /// The other.
        b: String,
        /// Conductance, W/K.
        conductance_W_per_K: f64,
    },
    /// Radiation between two surfaces by an exchange area that was given.
    RadiationByExchangeArea {
        /// One surface.
        a: String,
        /// The other.
        b: String,
        /// Exchange area, m2.
        exchange_area_m2: f64,
    },
    /// Radiation among surfaces by total exchange areas that were given.
    EnclosureByExchangeAreas {
        /// The surfaces.
        surfaces: Vec<String>,
        /// Exchange areas, row by row, m2.
        exchange_areas_m2: Vec<f64>,
    },
    /// Natural, forced or mixed convection.
    Convection {
        /// The face.
        #[serde(flatten)]
        face: FaceDescription,
    },
    /// Radiation to large surroundings.
    RadiationToSurroundings {
        /// The face.
        a: String,
        /// The surroundings.
        b: String,
        /// Area, m2.
        area_m2: f64,
        /// Emissivity of the face.
        emissivity: f64,
    },
    /// Radiation between close, large, parallel plates.
    RadiationParallelPlates {
        /// One plate.
        a: String,
        /// The other.
        b: String,
        /// Area, m2.
        area_m2: f64,
        /// Emissivity of one.
        emissivity_a: f64,
        /// Emissivity of the other.
        emissivity_b: f64,
    },
    /// The part on the bed: contact in series with half its present height.
    GrowingContact {
        /// The part.
        body: String,
        /// The bed.
        base: String,
        /// Footprint, m2.
        area_m2: f64,
        /// Contact coefficient, W/(m2 K).
        contact_W_per_m2K: f64,
        /// Height when fully grown, m.
        height_m: f64,
        /// Conductivity, W/(m K).
        conductivity_W_per_mK: f64,
    },
    /// Radiosity among grey surfaces of a box.
    GreyEnclosure(EnclosureDescription),
    /// One hydrostatic balance over all openings and fans.
    AirPaths(AirDescription),
    /// Two-way exchange of the top layer with the room through an open lid.
    OpenTop {
        /// The layer below.
        layer: String,
        /// The room.
        room: String,
        /// Area of the opening, m2.
        area_m2: f64,
        /// Thickness of its rim, m.
        rim_m: f64,
    },
    /// What moving air inside adds to the exchange through an opening, before one layer.
    StirredOpening {
        /// The layer inside.
        layer: String,
        /// The room.
        room: String,
        /// Area of the opening before that layer, m2.
        area_m2: f64,
        /// Thickness of a horizontal opening's rim, m.
        #[serde(skip_serializing_if = "Option::is_none")]
        rim_m: Option<f64>,
        /// Height of a vertical opening as a whole, m.
        #[serde(skip_serializing_if = "Option::is_none")]
        height_m: Option<f64>,
        /// Discharge coefficient of a vertical one.
        #[serde(skip_serializing_if = "Option::is_none")]
        discharge: Option<f64>,
        /// Air speed inside, m/s.
        speed_m_per_s: f64,
        /// Share of that speed at which air is exchanged.
        factor: f64,
    },
    /// A fan that takes air from the top layer and returns it to the bottom one.
    InnerCirculation {
        /// Layers, bottom to top.
        layers: Vec<String>,
        /// Flow at the top layer's density, m3/s.
        flow_m3_per_s: f64,
    },
    /// The plume over something warm.
    Plume {
        /// The faces that feed it.
        faces: Vec<FaceDescription>,
        /// Conductances that feed it.
        losses: Vec<LossDescription>,
        /// Layers, from the source's to the top one.
        layers: Vec<String>,
        /// Heights above the source at which layers meet, m.
        passes_m: Vec<f64>,
        /// Area of the source, m2.
        source_area_m2: f64,
        /// Multiplies the plume's flow.
        multiplier: f64,
    },
    /// Neighbouring layers: overturning where the lower one is warmer, and stirring.
    LayerExchange {
        /// Layers, bottom to top.
        layers: Vec<String>,
        /// Section of the chamber, m2.
        section_m2: f64,
        /// Height of all layers together, m.
        height_m: f64,
        /// Speed of stirring, m/s.
        stirring_m_per_s: f64,
    },
    /// Filament that moves past stations.
    Filament(FilamentDescription),
}

/// The chamber as a box of grey surfaces.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EnclosureDescription {
    /// Inside width (x), m.
    pub width_m: f64,
    /// Inside depth (y, away from the door), m.
    pub depth_m: f64,
    /// Inside height, m.
    pub height_m: f64,
    /// Width of the bed, in the middle of the section, m.
    pub bed_width_m: f64,
    /// Depth of the bed, m.
    pub bed_depth_m: f64,
    /// Height of its upper face above the floor, m; at 0 it has no underside to be seen.
    pub bed_height_m: f64,
    /// Area of the bed that the part leaves free, m2.
    pub bed_free_m2: f64,
    /// The surfaces.
    pub surfaces: Vec<SurfaceDescription>,
    /// Area of the part that radiates, as it grows; `part_full_m2` is what the factors are made for.
    pub part_area: GrowingArea,
    /// Area of the full part, m2.
    pub part_full_m2: f64,
}

/// A surface of the enclosure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SurfaceDescription {
    /// "bed", "bed underside", "floor", "lid", "door", "walls" (left, right and back), "body" or "part".
    pub role: &'static str,
    /// The point whose temperature it has.
    pub point: String,
    /// Emissivity; 1 for an opening.
    pub emissivity: f64,
    /// Lower and upper edge, of walls, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from_to_m: Option<[f64; 2]>,
    /// Area, of bodies, m2.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub area_m2: Option<f64>,
}

/// Openings and fans.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AirDescription {
    /// Layers, bottom to top.
    pub layers: Vec<String>,
    /// Upper edge of each, m.
    pub tops_m: Vec<f64>,
    /// The room.
    pub room: String,
    /// Openings.
    pub openings: Vec<OpeningDescription>,
    /// Fans through the shell.
    pub fans: Vec<FanDescription>,
    /// Share of a fan's air that bypasses the chamber.
    pub short_circuit: f64,
    /// Where what fans draw out is led, if not into the room; the room takes in as much from there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub led_to: Option<String>,
}

/// An opening.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OpeningDescription {
    /// Height above the floor, m.
    pub height_m: f64,
    /// Area, m2.
    pub area_m2: f64,
    /// Discharge coefficient.
    pub discharge: f64,
    /// The layer it opens into.
    pub layer: String,
}

/// A fan through the shell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FanDescription {
    /// The layer it takes from or blows into.
    pub layer: String,
    /// Volume flow out of the chamber at the density of the air moved, m3/s; negative: into it.
    pub outward_m3_per_s: f64,
}

/// The filament's way.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FilamentDescription {
    /// Diameter, m.
    pub diameter_m: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Conductivity, W/(m K).
    pub conductivity_W_per_mK: f64,
    /// How long it stands still now and then while it is fed, s.
    pub stands_s: f64,
    /// Material fed, kg/s.
    pub feed_kg_per_s: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// The point whose temperature it sets out with.
    pub spool: String,
    /// The stations along its way.
    pub stations: Vec<StationDescription>,
    /// The point that brings it to its own temperature.
    pub nozzle: String,
    /// Where it is laid down.
    pub laid_on: String,
    /// The state at which the coefficient in air is taken.
    pub in_air: FilamentInAir,
}

/// A station.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StationDescription {
    /// Name.
    pub name: &'static str,
    /// What surrounds the filament.
    pub around: String,
    /// Length, m.
    pub length_m: f64,
    /// Coefficient on the filament's surface, W/(m2 K); none in air, where it is that of a thin rod.
    pub coefficient_W_per_m2K: Option<f64>,
}

/// The state at which the coefficient of filament in still air is taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FilamentInAir {
    /// Filament, K.
    pub filament_K: f64,
    /// Air, K.
    pub air_K: f64,
    /// Emissivity.
    pub emissivity: f64,
}

/// Heat set free in a point: power (1 + per_K (T - 293.15 K)).
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SourceDescription {
    /// The point.
    pub point: String,
    /// Power at 20 degC at the start, W.
    pub power_W: f64,
    /// The same over time, where it changes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power_over_time: Option<PowerDescription>,
    /// Rise with temperature, 1/K.
    pub per_K: f64,
}

/// A heater (or, with negative power, a cooler): full power up to the setpoint, then what holds it; with a
/// hysteresis, nothing until the temperature is so far from the setpoint again.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeaterDescription {
    /// The node.
    pub node: String,
    /// Setpoint, K.
    pub setpoint_K: f64,
    /// Largest power, W.
    pub max_power_W: f64,
    /// The node whose temperature it follows, where that is another.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measures: Option<String>,
    /// Difference of switching on and off, K, where it switches.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hysteresis_K: Option<f64>,
}

/// A given temperature over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum CourseDescription {
    /// Always the same.
    Constant {
        /// Temperature, K.
        temperature_K: f64,
    },
    /// A cosine of 24 hours.
    DailySwing {
        /// Mean, K.
        mean_K: f64,
        /// Half of the difference between warmest and coolest, K.
        amplitude_K: f64,
        /// A moment at which it is warmest, from the start, s.
        warmest_at_s: f64,
    },
    /// Values that hold until the next point.
    Steps {
        /// Times from the start, s.
        times_s: Vec<f64>,
        /// Temperatures, K.
        temperatures_K: Vec<f64>,
    },
    /// Straight lines between points.
    Series {
        /// Times from the start, s.
        times_s: Vec<f64>,
        /// Temperatures, K.
        temperatures_K: Vec<f64>,
    },
}

impl From<&Course> for CourseDescription {
    fn from(course: &Course) -> Self {
        let (times_s, temperatures_K) = course.points().unzip();
        match course {
            Course::Constant(value) => Self::Constant {
                temperature_K: *value,
            },
            Course::Swing {
                mean,
                amplitude,
                crest_s,
            } => Self::DailySwing {
                mean_K: *mean,
                amplitude_K: *amplitude,
                warmest_at_s: *crest_s,
            },
            Course::Series { .. } if course.jumps() => Self::Steps {
                times_s,
                temperatures_K,
            },
            Course::Series { .. } => Self::Series {
                times_s,
                temperatures_K,
            },
        }
    }
}

/// A power over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum PowerDescription {
    /// Always the same.
    Constant {
        /// Power, W.
        power_W: f64,
    },
    /// A cosine of 24 hours.
    DailySwing {
        /// Mean, W.
        mean_W: f64,
        /// Half of the difference between most and least, W.
        amplitude_W: f64,
        /// A moment at which it is most, from the start, s.
        most_at_s: f64,
    },
    /// Values that hold until the next point.
    Steps {
        /// Times from the start, s.
        times_s: Vec<f64>,
        /// Powers, W.
        powers_W: Vec<f64>,
    },
    /// Straight lines between points.
    Series {
        /// Times from the start, s.
        times_s: Vec<f64>,
        /// Powers, W.
        powers_W: Vec<f64>,
    },
}

impl From<&Course> for PowerDescription {
    fn from(course: &Course) -> Self {
        let (times_s, powers_W) = course.points().unzip();
        match course {
            Course::Constant(value) => Self::Constant { power_W: *value },
            Course::Swing {
                mean,
                amplitude,
                crest_s,
            } => Self::DailySwing {
                mean_W: *mean,
                amplitude_W: *amplitude,
                most_at_s: *crest_s,
            },
            Course::Series { .. } if course.jumps() => Self::Steps { times_s, powers_W },
            Course::Series { .. } => Self::Series { times_s, powers_W },
        }
    }
}

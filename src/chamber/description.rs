//! A chamber in words and numbers: what a person needs to rebuild its equations without this
//! program. Each link is named by its law and carries what the law needs; nothing that a law gives
//! (coefficients of convection, view factors, flows of air) is worked out here.
//!
//! Names end in their units. Points are named as in the CSV of a run. What each law says stands in
//! `models/README.md`.

use serde::Serialize;

/// The whole chamber.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Description {
    /// Length of the run, s.
    pub duration_s: f64,
    /// Temperature from which stored heat and the filament's heat are counted, K.
    pub reference_K: f64,
    /// Height of the place above the sea, m.
    pub altitude_m: f64,
    /// Constants of air.
    pub air: AirConstants,
    /// How corners and steps of the laws are rounded.
    pub roundings: Roundings,
    /// How panels are cut into slices.
    pub slicing: Slicing,
    /// What stores heat.
    pub nodes: Vec<NodeDescription>,
    /// The point whose temperature is given.
    pub given: Given,
    /// The panels, from inside to outside.
    pub panels: Vec<PanelDescription>,
    /// How the part grows.
    pub growth: GrowthDescription,
    /// Links, sources and heaters of each combination of phase and arrangement.
    pub configurations: Vec<ConfigurationDescription>,
    /// Which configuration holds when.
    pub stretches: Vec<StretchDescription>,
}

/// Constants of air that the model takes as such.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AirConstants {
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Gas constant, J/(kg K).
    pub gas_constant_J_per_kgK: f64,
    /// Gravity, m/s2.
    pub gravity_m_per_s2: f64,
}

/// Widths of the roundings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Roundings {
    /// Difference of face and air within which convection is rounded, K.
    pub equal_temperatures_K: f64,
    /// Difference below which the exchange through a horizontal opening fades, K.
    pub weak_exchange_K: f64,
    /// Pressure that rounds an opening's square root, Pa.
    pub orifice_Pa: f64,
    /// Convective power below which a plume's cube root fades, W.
    pub weak_plume_W: f64,
    /// Convective power over which a plume begins, W.
    pub plume_fade_W: f64,
    /// How much warmer than the top layer a face must be for all its heat to rise there, K.
    pub plume_reach_K: f64,
}

/// The rule by which panels are cut.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Slicing {
    /// Coefficient assumed on both faces, W/(m2 K).
    pub face_W_per_m2K: f64,
    /// Largest Biot number of a slice.
    pub slice_biot: f64,
    /// Biot number below which a panel is one node and a layer a skin.
    pub sheet_biot: f64,
    /// Most slices of one layer.
    pub most_slices: usize,
}

/// A node.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NodeDescription {
    /// Name, as in the CSV.
    pub name: String,
    /// Heat capacity, J/K; of the part when fully grown.
    pub capacity_J_per_K: f64,
    /// Temperature at the start, K.
    pub initial_K: f64,
    /// What the capacity is made of.
    pub stores: Store,
}

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
    /// A node of a panel.
    Panel {
        /// The panel.
        panel: String,
        /// Position from inside.
        position: usize,
    },
}

/// The given temperature.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Given {
    /// Name of the point.
    pub name: String,
    /// Its course.
    pub temperature: Course,
}

/// A temperature over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Course {
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
    /// Straight lines between points.
    Series {
        /// Times from the start, s.
        times_s: Vec<f64>,
        /// Temperatures, K.
        temperatures_K: Vec<f64>,
    },
}

/// A panel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PanelDescription {
    /// Name.
    pub name: String,
    /// Area, m2.
    pub area_m2: f64,
    /// Its nodes, from inside to outside.
    pub nodes: Vec<String>,
    /// Its layers, from inside to outside.
    pub layers: Vec<LayerDescription>,
}

/// A layer of a panel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LayerDescription {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Conductivity, W/(m K).
    pub conductivity_W_per_mK: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
}

/// The growing part: its capacity is that of the share laid down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GrowthDescription {
    /// The node.
    pub node: String,
    /// Share that is there at the start.
    pub first_layer_share: f64,
}

/// A combination of phase and arrangement.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ConfigurationDescription {
    /// Kind of phase.
    pub phase: &'static str,
    /// Arrangement.
    pub arrangement: &'static str,
    /// What moves heat.
    pub links: Vec<Link>,
    /// Heat set free.
    pub sources: Vec<SourceDescription>,
    /// Heaters and coolers.
    pub heaters: Vec<HeaterDescription>,
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
    /// Multiplies natural convection.
    pub natural_multiplier: f64,
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
    /// A fan that takes air from the top layer and returns it to the bottom one.
    InnerCirculation {
        /// Layers, bottom to top.
        layers: Vec<String>,
        /// Flow at the top layer's density, m3/s.
        flow_m3_per_s: f64,
    },
    /// The plume over warm faces at the bottom.
    Plume {
        /// The faces.
        faces: Vec<FaceDescription>,
        /// Layers, bottom to top.
        layers: Vec<String>,
        /// Heights at which layers meet, m.
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
    /// Width of the bed, in the middle of the bottom, m.
    pub bed_width_m: f64,
    /// Depth of the bed, m.
    pub bed_depth_m: f64,
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
    /// "bed", "floor", "lid", "door", "walls" (left, right and back), "body" or "part".
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
    /// Power at 20 degC, W.
    pub power_W: f64,
    /// Rise with temperature, 1/K.
    pub per_K: f64,
}

/// A heater (or, with negative power, a cooler): full power up to the setpoint, then what holds it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeaterDescription {
    /// The node.
    pub node: String,
    /// Setpoint, K.
    pub setpoint_K: f64,
    /// Largest power, W.
    pub max_power_W: f64,
}

/// A stretch of time with one configuration.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StretchDescription {
    /// Begin, s.
    pub begin_s: f64,
    /// End, s.
    pub end_s: f64,
    /// Configuration, counted from 0.
    pub configuration: usize,
    /// A thermostat's other configuration and its temperatures of the top layer.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thermostat: Option<ThermostatDescription>,
    /// Share of the part that is there at the beginning.
    pub part_share: f64,
    /// Growth of the share, 1/s.
    pub part_growth_per_s: f64,
}

/// A thermostat.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ThermostatDescription {
    /// Configuration while it rests.
    pub resting_configuration: usize,
    /// The point it measures.
    pub measures: String,
    /// Starts above, K.
    pub on_above_K: f64,
    /// Stops below, K.
    pub off_below_K: f64,
}

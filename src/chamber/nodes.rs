//! The nodes of a chamber and where each thing is in the network.

use crate::network::elements::INTERNAL;
use crate::network::{Direction, Index, Ledger, Node};
use crate::physics::air::{Air, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::conduction::{Slab, slices_at_most};
use crate::run::Panel;
use crate::run::Run;

/// Coefficients assumed on a panel's faces when it is cut into slices, W/(m2 K): natural
/// convection and radiation together (ISO 6946, 7.69 inside; outside taken the same indoors).
pub(super) const FACE_W_PER_M2K: f64 = 1.0 / 0.13;

/// Most slices of one layer. Foam would need 70 for a Biot number of 0.1 in each, and stores next to
/// nothing: six follow a day's swing as closely (see the test beside the panel's exact solution).
pub(super) const MOST_SLICES: usize = 6;

/// A panel's chain of nodes from inside to outside.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    /// Node of the inside face.
    pub inner: Index,
    /// Node of the outside face (the same for thin metal).
    pub outer: Index,
    /// Area, m2.
    pub area_m2: f64,
    /// Conductances between neighbours, from inside to outside: node, next node, W/K.
    pub links: Vec<(Index, Index, f64)>,
    /// Biot number of the whole panel.
    pub biot: f64,
}

/// Where things are in the network.
#[derive(Debug, Clone, PartialEq)]
pub struct Points {
    /// Air layers, bottom to top.
    pub air: Vec<Index>,
    /// Bed.
    pub bed: Index,
    /// Insulation under the bed, where there is one.
    pub underside: Option<Index>,
    /// Part.
    pub part: Index,
    /// Frame.
    pub frame: Index,
    /// Motion motors.
    pub motion: Index,
    /// Feeder motor with drive gear.
    pub feeder: Index,
    /// Hotend block.
    pub hotend: Index,
    /// Cold end.
    pub cold_end: Index,
    /// Lid.
    pub lid: Chain,
    /// Walls, one chain a layer, bottom to top.
    pub walls: Vec<Chain>,
    /// Door.
    pub door: Chain,
    /// Floor.
    pub floor: Chain,
    /// The room's air: a boundary, or a node where the room is one.
    pub room: Index,
    /// Outdoors, where the room is a node.
    pub outdoors: Option<Index>,
}

/// Ledger entries of a chamber.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(usize)]
pub enum Entry {
    /// Moves between audited nodes only.
    Internal = INTERNAL,
    /// Bed heater.
    Bed,
    /// Hotend heater.
    Hotend,
    /// Motion motors.
    Motion,
    /// Feeder motor.
    Feeder,
    /// Electronics, lights and small fans.
    Electronics,
    /// The fan of a filter inside.
    FilterFan,
    /// Heat the filament brings from the spool, relative to the room at the start.
    Filament,
    /// Through the lid.
    Lid,
    /// Through the walls.
    Walls,
    /// Through the door.
    Door,
    /// Through the floor.
    Floor,
    /// With air.
    Air,
    /// By radiation through an open lid or door.
    OpenSide,
    /// Parts that lie outside the chamber.
    Outside,
    /// The room's own exchange with outdoors and its cooler; not part of the audit.
    RoomCooler,
}

impl Entry {
    /// Every entry, in ledger order.
    pub const ALL: [Self; 16] = [
        Self::Internal,
        Self::Bed,
        Self::Hotend,
        Self::Motion,
        Self::Feeder,
        Self::Electronics,
        Self::FilterFan,
        Self::Filament,
        Self::Lid,
        Self::Walls,
        Self::Door,
        Self::Floor,
        Self::Air,
        Self::OpenSide,
        Self::Outside,
        Self::RoomCooler,
    ];

    /// Name in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Internal => "internal",
            Self::Bed => "bed heater",
            Self::Hotend => "hotend heater",
            Self::Motion => "motion motors",
            Self::Feeder => "feeder motor",
            Self::Electronics => "electronics",
            Self::FilterFan => "filter fan",
            Self::Filament => "filament",
            Self::Lid => "lid",
            Self::Walls => "walls",
            Self::Door => "door",
            Self::Floor => "floor",
            Self::Air => "air exchange",
            Self::OpenSide => "radiation through the opening",
            Self::Outside => "feeder outside",
            Self::RoomCooler => "room cooler",
        }
    }

    /// How it is reported.
    #[must_use]
    pub const fn direction(self) -> Direction {
        match self {
            Self::Internal
            | Self::Bed
            | Self::Hotend
            | Self::Motion
            | Self::Feeder
            | Self::Electronics
            | Self::FilterFan
            | Self::Filament => Direction::In,
            Self::Lid
            | Self::Walls
            | Self::Door
            | Self::Floor
            | Self::Air
            | Self::OpenSide
            | Self::Outside
            | Self::RoomCooler => Direction::Out,
        }
    }

    /// The ledgers of a chamber.
    #[must_use]
    pub fn ledgers() -> Vec<Ledger> {
        Self::ALL
            .iter()
            .map(|e| Ledger {
                name: e.name().to_owned(),
                direction: e.direction(),
            })
            .collect()
    }
}

/// Makes the nodes of a run's chamber.
pub(super) fn nodes(run: &Run) -> (Vec<Node>, Vec<String>, Points) {
    let m = &run.machine;
    let mut list = List(Vec::new());
    let section = m.width_m * m.depth_m;
    let layers = m.air_layers;
    let pressure = crate::physics::air::pressure_at_altitude_Pa(run.room.altitude_m);
    let density = Air::at(super::build::initial_K(run), pressure).density_kg_per_m3;
    let layer_capacity = density * HEAT_CAPACITY_J_PER_KGK * section * m.height_m / layers as f64;
    let air = (0..layers)
        .map(|k| list.add(layer_name(k, layers), layer_capacity))
        .collect();
    let bed = list.add("bed".into(), m.bed.mass_kg * m.bed.heat_capacity_J_per_kgK);
    let bed_area = m.bed.width_m * m.bed.depth_m;
    let insulated = m.bed.underside_resistance_m2K_per_W > 0.0;
    let underside =
        insulated.then(|| list.add("bed underside".into(), UNDERSIDE_J_PER_M2K * bed_area));
    let part = list.add(
        "part".into(),
        run.part.mass_kg * run.material.heat_capacity_J_per_kgK,
    );
    let frame = list.add(
        "frame".into(),
        m.frame_mass_kg * m.frame_heat_capacity_J_per_kgK,
    );
    let motion = list.add("motion motors".into(), m.motion.mass_kg * MOTOR_J_PER_KGK);
    let feeder = list.add(
        "feeder motor".into(),
        m.feeder.motor.mass_kg * MOTOR_J_PER_KGK,
    );
    let hotend = list.add(
        "hotend".into(),
        m.hotend.mass_kg * m.hotend.heat_capacity_J_per_kgK,
    );
    let cold_end = list.add(
        "cold end".into(),
        m.cold_end.mass_kg * m.cold_end.heat_capacity_J_per_kgK,
    );
    let lid = list.chain("lid", &m.lid, section);
    let wall_area = (2.0 * m.depth_m + m.width_m) * m.height_m / layers as f64;
    let walls = (0..layers)
        .map(|k| {
            list.chain(
                &format!("walls {}", layer_word(k, layers)),
                &m.walls,
                wall_area,
            )
        })
        .collect();
    let door = list.chain("door", &m.door, m.width_m * m.height_m);
    let floor = list.chain("floor", &m.floor, section);
    let mut boundaries = Vec::new();
    let (room, outdoors) = match &run.room.building {
        None => {
            boundaries.push("room".to_owned());
            (list.0.len(), None)
        }
        Some(b) => {
            let capacity = density * HEAT_CAPACITY_J_PER_KGK * b.volume_m3 * b.storage_factor;
            let room = list.add("room".into(), capacity);
            list.0[room].audited = false;
            boundaries.push("outdoors".to_owned());
            (room, Some(list.0.len()))
        }
    };
    let points = Points {
        air,
        bed,
        underside,
        part,
        frame,
        motion,
        feeder,
        hotend,
        cold_end,
        lid,
        walls,
        door,
        floor,
        room,
        outdoors,
    };
    (list.0, boundaries, points)
}

/// Heat capacity of motors: copper and iron, J/(kg K) (between copper's 385 and iron's 450,
/// handbook values from memory).
pub(super) const MOTOR_J_PER_KGK: f64 = 430.0;
/// Heat capacity of the insulation under a bed, J/(m2 K): about a centimetre of mineral felt.
pub(super) const UNDERSIDE_J_PER_M2K: f64 = 500.0;

/// Name of an air layer.
#[must_use]
pub fn layer_name(k: usize, layers: usize) -> String {
    format!("air {}", layer_word(k, layers))
}

fn layer_word(k: usize, layers: usize) -> String {
    match (k, layers) {
        (0, _) => "bottom".to_owned(),
        (k, n) if k + 1 == n => "top".to_owned(),
        (1, 3) => "middle".to_owned(),
        (k, _) => format!("layer {}", k + 1),
    }
}

struct List(Vec<Node>);

impl List {
    fn add(&mut self, name: String, capacity_J_per_K: f64) -> Index {
        self.0.push(Node {
            name,
            capacity_J_per_K,
            audited: true,
        });
        self.0.len() - 1
    }

    fn chain(&mut self, name: &str, panel: &Panel, area_m2: f64) -> Chain {
        let slabs: Vec<Slab> = panel
            .layers
            .iter()
            .map(|l| Slab {
                thickness_m: l.thickness_m,
                conductivity_W_per_mK: l.conductivity_W_per_mK,
                density_kg_per_m3: l.density_kg_per_m3,
                heat_capacity_J_per_kgK: l.heat_capacity_J_per_kgK,
            })
            .collect();
        let cut = slices_at_most(&slabs, FACE_W_PER_M2K, FACE_W_PER_M2K, MOST_SLICES);
        let count = cut.capacities_J_per_m2K.len();
        let first = self.0.len();
        for (k, c) in cut.capacities_J_per_m2K.iter().enumerate() {
            let suffix = match k {
                _ if count == 1 => String::new(),
                0 => " inside".to_owned(),
                k if k + 1 == count => " outside".to_owned(),
                k => format!(" slice {}", k + 1),
            };
            self.add(format!("{name}{suffix}"), c * area_m2);
        }
        let links = cut
            .conductances_W_per_m2K
            .iter()
            .enumerate()
            .map(|(k, g)| (first + k, first + k + 1, g * area_m2))
            .collect();
        Chain {
            inner: first,
            outer: first + count - 1,
            area_m2,
            links,
            biot: cut.biot,
        }
    }
}

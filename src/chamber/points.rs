//! Where things are in the network of a chamber.

use super::layers::layer_at;
use crate::network::Index;

/// A panel's chain of nodes from inside to outside.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    /// Name of the place: "lid", "walls bottom".
    pub name: String,
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
    /// Their tops, m above the floor.
    pub tops_m: Vec<f64>,
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
    /// Feeder motor.
    pub feeder: Index,
    /// Drive gear.
    pub gear: Index,
    /// What motor and gear are mounted on, where there is something.
    pub mount: Option<Index>,
    /// Hotend block.
    pub hotend: Index,
    /// Cold end.
    pub cold_end: Index,
    /// Block and cold end of the second hotend, where there is one.
    pub second_hotend: Option<(Index, Index)>,
    /// Lid.
    pub lid: Chain,
    /// Walls, one chain a layer, bottom to top.
    pub walls: Vec<Chain>,
    /// Door.
    pub door: Chain,
    /// Floor.
    pub floor: Chain,
    /// The room's air: given, or a node where the room is one.
    pub room: Index,
    /// Outdoors, where the room is a node.
    pub outdoors: Option<Index>,
}

impl Points {
    /// The top air layer.
    #[must_use]
    pub fn top(&self) -> Index {
        self.air[self.air.len() - 1]
    }

    /// The air at a height above the floor, m: of two layers that meet there the upper one.
    #[must_use]
    pub fn air_at(&self, height_m: f64) -> Index {
        self.air[layer_at(&self.tops_m, height_m)]
    }

    /// Every panel's chain: lid, door, floor, then walls from bottom to top.
    pub fn chains(&self) -> impl Iterator<Item = &Chain> {
        [&self.lid, &self.door, &self.floor]
            .into_iter()
            .chain(&self.walls)
    }
}

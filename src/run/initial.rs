//! What the run finds when it starts.

/// Temperatures at the start, K; none: the room's.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Initial {
    /// Air in the chamber.
    pub air_K: Option<f64>,
    /// Bed, with the first layer on it.
    pub bed_K: Option<f64>,
    /// Lid, walls, door and floor.
    pub panels_K: Option<f64>,
    /// Frame and gantry.
    pub frame_K: Option<f64>,
    /// Motors, with the drive gear and what they are mounted on.
    pub motors_K: Option<f64>,
    /// Hotend block, of a second hotend too.
    pub hotend_K: Option<f64>,
    /// Cold end, of a second hotend too.
    pub cold_end_K: Option<f64>,
    /// Air of a room that is a node of its own.
    pub room_K: Option<f64>,
}

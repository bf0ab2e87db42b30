//! The chamber's air in layers.
//!
//! What moves it is made where it is moved: the plume by the part and bed, openings and fans by themselves.

use crate::network::{Builder, Index, Node, Store};
use crate::physics::air::{Air as Properties, HEAT_CAPACITY_J_PER_KGK, pressure_at_altitude_Pa};
use crate::run::Run;

/// The layers of air.
pub struct Air {
    /// Bottom to top.
    pub layers: Vec<Index>,
}

/// Density of air at the start of a run, kg/m3.
pub fn density_kg_per_m3(run: &Run) -> f64 {
    let pressure_Pa = pressure_at_altitude_Pa(run.room.altitude_m);
    Properties::at(run.room.weather.at(0.0).0, pressure_Pa).density_kg_per_m3
}

impl Air {
    pub fn new(run: &Run, b: &mut Builder) -> Self {
        let m = &run.machine;
        let layers = m.air_layers;
        let section = m.width_m * m.depth_m;
        let per_m3K = density_kg_per_m3(run) * HEAT_CAPACITY_J_PER_KGK;
        let capacity = per_m3K * section * m.height_m / layers as f64;
        let volume_m3 = m.width_m * m.depth_m * m.height_m / layers as f64;
        let stores = Store::Air {
            volume_m3,
            storage_factor: 1.0,
        };
        let layer = |k| Node::storing(layer_name(k, layers), capacity, stores.clone());
        Self {
            layers: (0..layers).map(|k| b.node(layer(k))).collect(),
        }
    }
}

/// Name of an air layer.
#[must_use]
pub fn layer_name(k: usize, layers: usize) -> String {
    format!("air {}", layer_word(k, layers))
}

/// Which layer, in a word.
pub fn layer_word(k: usize, layers: usize) -> String {
    match (k, layers) {
        (0, _) => "bottom".to_owned(),
        (k, n) if k + 1 == n => "top".to_owned(),
        (1, 3) => "middle".to_owned(),
        (k, _) => format!("layer {}", k + 1),
    }
}

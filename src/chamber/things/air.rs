//! The chamber's air in layers.
//!
//! It turns over by itself where it is warmer below, and the gantry stirs it. What else moves it is made where
//! it is moved: plumes by what is warm, openings and fans by themselves.

use super::thing::Thing;
use crate::chamber::build_error::BuildError;
use crate::chamber::layers::{from_to_m, tops_m};
use crate::chamber::site::Site;
use crate::network::{Builder, Configuration, Index, Layering, Node, Store};
use crate::physics::air::{Air as Properties, HEAT_CAPACITY_J_PER_KGK, pressure_at_altitude_Pa};
use crate::run::Coefficient as K;
use crate::run::Run;

/// Share of the layer mixing that is left when nothing moves.
const MIXING_STILL: f64 = 0.2;

/// The layers of air.
pub struct Air {
    /// Bottom to top.
    pub layers: Vec<Index>,
    /// Their tops, m above the floor.
    pub tops_m: Vec<f64>,
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
        let tops_m = tops_m(run);
        let layer = |k| {
            let (from_m, to_m) = from_to_m(&tops_m, k);
            let volume_m3 = section * (to_m - from_m);
            let stores = Store::Air {
                volume_m3,
                storage_factor: 1.0,
            };
            Node::storing(layer_name(k, layers), per_m3K * volume_m3, stores)
        };
        Self {
            layers: (0..layers).map(|k| b.node(layer(k))).collect(),
            tops_m,
        }
    }
}

impl Thing for Air {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let duty = site.recipe.phase.motion_duty.clamp(0.0, 1.0);
        let stirring = site.k(K::LayerMixing) * (MIXING_STILL + (1.0 - MIXING_STILL) * duty);
        let section_m2 = site.section_m2();
        c.layerings.push(Layering {
            layers: self.layers.clone(),
            section_m2,
            height_m: site.run.machine.height_m,
            stirring_m3_per_s: stirring * section_m2,
        });
        Ok(())
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

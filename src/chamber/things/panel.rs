//! A panel of the shell as a chain of nodes.

use crate::chamber::points::Chain;
use crate::network::{Builder, Node, Store};
use crate::physics::conduction::{SHEET_BIOT, SLICE_BIOT, Slab, slices_at_most};
use crate::run::Panel;
use serde::Serialize;
use std::borrow::Cow;

/// Coefficients assumed on a panel's faces when it is cut into slices, W/(m2 K): natural
/// convection and radiation together (ISO 6946, 7.69 inside; outside taken the same indoors).
const FACE_W_PER_M2K: f64 = 1.0 / 0.13;

/// Most slices of one layer. Foam would need 70 for a Biot number of 0.1 in each, and stores next to
/// nothing: six follow a day's swing as closely (see the test beside the panel's exact solution).
const MOST_SLICES: usize = 6;

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

/// The rule in use.
#[must_use]
pub fn slicing() -> Slicing {
    Slicing {
        face_W_per_m2K: FACE_W_PER_M2K,
        slice_biot: SLICE_BIOT,
        sheet_biot: SHEET_BIOT,
        most_slices: MOST_SLICES,
    }
}

/// Cuts a panel into nodes, from inside to outside.
pub fn chain(b: &mut Builder, name: &str, panel: &Panel, area_m2: f64) -> Chain {
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
    let mut slice = |position: usize| {
        let suffix = match position {
            _ if count == 1 => Cow::Borrowed(""),
            0 => " inside".into(),
            k if k + 1 == count => " outside".into(),
            k => format!(" slice {}", k + 1).into(),
        };
        let stores = Store::Panel {
            panel: name.to_owned(),
            position,
        };
        let capacity = cut.capacities_J_per_m2K[position] * area_m2;
        b.node(Node::storing([name, &suffix].concat(), capacity, stores))
    };
    let nodes: Vec<_> = (0..count).map(&mut slice).collect();
    let links = nodes.windows(2).zip(&cut.conductances_W_per_m2K);
    Chain {
        name: name.to_owned(),
        inner: nodes[0],
        outer: nodes[count - 1],
        area_m2,
        links: links.map(|(w, g)| (w[0], w[1], g * area_m2)).collect(),
        biot: cut.biot,
    }
}

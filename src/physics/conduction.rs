//! Conduction through layered panels: how many nodes, where, with which capacity and conductance.
//!
//! Called once a panel, when a run's network is built.

/// One layer of a panel, from inside to outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slab {
    /// Thickness, m, above zero.
    pub thickness_m: f64,
    /// Conductivity, W/(m K), above zero; of an air gap the effective one.
    pub conductivity_W_per_mK: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
}

impl Slab {
    /// Resistance, m2 K/W.
    #[must_use]
    pub fn resistance_m2K_per_W(&self) -> f64 {
        self.thickness_m / self.conductivity_W_per_mK
    }

    /// Capacity, J/(m2 K).
    #[must_use]
    pub fn capacity_J_per_m2K(&self) -> f64 {
        self.thickness_m * self.density_kg_per_m3 * self.heat_capacity_J_per_kgK
    }

    /// A gap filled with gas: it resists and stores next to nothing.
    fn is_gap(&self) -> bool {
        self.density_kg_per_m3 < GAS_DENSITY_KG_PER_M3
    }
}

/// Below this density a layer is taken for a gas-filled gap, kg/m3: five times the density of air,
/// and a third of the lightest foams.
const GAS_DENSITY_KG_PER_M3: f64 = 6.0;

/// Largest Biot number of a slice.
pub const SLICE_BIOT: f64 = 0.1;

/// Biot number below which a whole panel is one node, and a layer a skin without nodes of its own.
pub const SHEET_BIOT: f64 = 0.001;

/// The nodes of a panel, from the inside face to the outside face.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelNodes {
    /// Capacity of each node, J/(m2 K).
    pub capacities_J_per_m2K: Vec<f64>,
    /// Conductance between consecutive nodes, W/(m2 K): one fewer than nodes.
    pub conductances_W_per_m2K: Vec<f64>,
    /// Biot number of the whole panel: the larger surface coefficient times its resistance.
    pub biot: f64,
    /// Largest Biot number of a slice of a layer that stores heat.
    pub slice_biot: f64,
}

/// Splits a panel into nodes so that each slice's Biot number h dx/k is at most [`SLICE_BIOT`].
///
/// A node sits on each face and between slices; each slice gives half its capacity to either end,
/// so total capacity and total resistance are those of the layers. A panel whose Biot number is
/// below [`SHEET_BIOT`] is one node (its resistance, below a thousandth of the surface's, is dropped).
/// A layer that thin is a skin: its capacity joins the node where it lies, its resistance the
/// neighbouring slice, so that no stiff pair of nodes arises. A gas-filled gap is one slice.
///
/// * `layers`: from inside to outside, at least one; none gives one node without capacity.
/// * `h_inside`, `h_outside`: surface coefficients, convection and radiation together, W/(m2 K).
///
/// Worked example: 4 mm of polycarbonate (0.2 W/(m K)) at 8 W/(m2 K): Bi = 0.16, two slices, three
/// nodes.
///
/// Reference: lumped bodies at Bi below 0.1: Incropera & DeWitt, chapter 5; halves of slices on the
/// nodes: Patankar 1980, Numerical Heat Transfer and Fluid Flow, section 4.2.
#[must_use]
pub fn slices(layers: &[Slab], h_inside: f64, h_outside: f64) -> PanelNodes {
    slices_at_most(layers, h_inside, h_outside, 1000)
}

/// As [`slices`], with at most `most_per_layer` slices a layer (at least one).
///
/// The limit of 0.1 is strict for insulation: 25 mm of foam would get some 70 slices, though heat
/// takes minutes to cross it. A handful follows changes slower than that just as well; the
/// result's `slice_biot` tells what was reached.
#[must_use]
pub fn slices_at_most(
    layers: &[Slab],
    h_inside: f64,
    h_outside: f64,
    most_per_layer: usize,
) -> PanelNodes {
    let h = h_inside.max(h_outside);
    let capacity: f64 = layers.iter().map(Slab::capacity_J_per_m2K).sum();
    let resistance: f64 = layers.iter().map(Slab::resistance_m2K_per_W).sum();
    let biot = h * resistance;
    if biot < SHEET_BIOT {
        return PanelNodes {
            capacities_J_per_m2K: vec![capacity],
            conductances_W_per_m2K: Vec::new(),
            biot,
            slice_biot: biot,
        };
    }
    let is_skin = |layer: &Slab| h * layer.resistance_m2K_per_W() < SHEET_BIOT;
    if layers.iter().all(is_skin) {
        // Many skins that together are more than one: a single slice over all of them.
        return PanelNodes {
            capacities_J_per_m2K: vec![0.5 * capacity; 2],
            conductances_W_per_m2K: vec![1.0 / resistance],
            biot,
            slice_biot: biot,
        };
    }
    let mut capacities = vec![0.0];
    let mut resistances: Vec<f64> = Vec::new();
    // Resistance of skins before the first slice, to be added to it.
    let mut waiting = 0.0;
    let mut slice_biot = 0.0_f64;
    for layer in layers {
        let (c, r) = (layer.capacity_J_per_m2K(), layer.resistance_m2K_per_W());
        let here = capacities.len() - 1;
        if is_skin(layer) {
            capacities[here] += c;
            match resistances.last_mut() {
                Some(last) => *last += r,
                None => waiting += r,
            }
            continue;
        }
        let n = if layer.is_gap() {
            1
        } else {
            let n = ((h * r / SLICE_BIOT).ceil() as usize).clamp(1, most_per_layer.max(1));
            slice_biot = slice_biot.max(h * r / n as f64);
            n
        };
        for slice in 0..n {
            let here = capacities.len() - 1;
            capacities[here] += 0.5 * c / n as f64;
            capacities.push(0.5 * c / n as f64);
            resistances.push(r / n as f64 + if slice == 0 { waiting } else { 0.0 });
            waiting = 0.0;
        }
    }
    PanelNodes {
        capacities_J_per_m2K: capacities,
        conductances_W_per_m2K: resistances.into_iter().map(|r| 1.0 / r).collect(),
        biot,
        slice_biot,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEEL: Slab = Slab {
        thickness_m: 0.001,
        conductivity_W_per_mK: 50.0,
        density_kg_per_m3: 7850.0,
        heat_capacity_J_per_kgK: 460.0,
    };
    const FOAM: Slab = Slab {
        thickness_m: 0.025,
        conductivity_W_per_mK: 0.035,
        density_kg_per_m3: 30.0,
        heat_capacity_J_per_kgK: 1400.0,
    };
    const POLYCARBONATE: Slab = Slab {
        thickness_m: 0.004,
        conductivity_W_per_mK: 0.2,
        density_kg_per_m3: 1200.0,
        heat_capacity_J_per_kgK: 1200.0,
    };
    const GAP: Slab = Slab {
        thickness_m: 0.016,
        conductivity_W_per_mK: 0.08,
        density_kg_per_m3: 1.2,
        heat_capacity_J_per_kgK: 1006.0,
    };
    const PANE: Slab = Slab {
        thickness_m: 0.004,
        conductivity_W_per_mK: 1.0,
        density_kg_per_m3: 2500.0,
        heat_capacity_J_per_kgK: 840.0,
    };

    /// Checks what must hold of every panel: capacity and resistance are conserved.
    fn conserved(layers: &[Slab], nodes: &PanelNodes) {
        let capacity: f64 = layers.iter().map(Slab::capacity_J_per_m2K).sum();
        let resistance: f64 = layers.iter().map(Slab::resistance_m2K_per_W).sum();
        let ours: f64 = nodes.capacities_J_per_m2K.iter().sum();
        assert!(
            (ours / capacity - 1.0).abs() < 1e-13,
            "capacity {ours} against {capacity}"
        );
        let ours: f64 = nodes.conductances_W_per_m2K.iter().map(|g| 1.0 / g).sum();
        assert!(
            (ours / resistance - 1.0).abs() < 1e-13,
            "resistance {ours} against {resistance}"
        );
        assert_eq!(
            nodes.conductances_W_per_m2K.len() + 1,
            nodes.capacities_J_per_m2K.len()
        );
        assert!(nodes.capacities_J_per_m2K.iter().all(|c| *c > 0.0));
    }

    #[test]
    fn sheet_metal_is_one_node() {
        let nodes = slices(&[STEEL], 10.0, 8.0);
        // 1 mm * 7850 kg/m3 * 460 J/(kg K).
        assert_eq!(nodes.capacities_J_per_m2K.len(), 1);
        assert!((nodes.capacities_J_per_m2K[0] - 3611.0).abs() < 1e-9);
        assert!(nodes.conductances_W_per_m2K.is_empty());
        assert!((nodes.biot - 2e-4).abs() < 1e-12);
    }

    #[test]
    fn polycarbonate_gets_a_middle() {
        let nodes = slices(&[POLYCARBONATE], 8.0, 6.0);
        assert_eq!(nodes.capacities_J_per_m2K.len(), 3);
        assert!((nodes.biot - 0.16).abs() < 1e-12);
        assert!((nodes.slice_biot - 0.08).abs() < 1e-12);
        // Half a slice on each face, two halves in the middle.
        let c = &nodes.capacities_J_per_m2K;
        assert!((c[1] / c[0] - 2.0).abs() < 1e-12 && (c[2] / c[0] - 1.0).abs() < 1e-12);
        conserved(&[POLYCARBONATE], &nodes);
    }

    #[test]
    fn skins_join_the_faces_of_what_they_cover() {
        let layers = [STEEL, FOAM, STEEL];
        let nodes = slices(&layers, 10.0, 10.0);
        conserved(&layers, &nodes);
        assert!(nodes.slice_biot <= SLICE_BIOT + 1e-12);
        let c = &nodes.capacities_J_per_m2K;
        assert!(c[0] > 3611.0 && c[c.len() - 1] > 3611.0 && c[1] < 100.0);
        // No pair stiffer than a foam slice.
        let foam_slice = 10.0 / SLICE_BIOT;
        assert!(
            nodes
                .conductances_W_per_m2K
                .iter()
                .all(|g| *g < 1.1 * foam_slice)
        );
        let few = slices_at_most(&layers, 10.0, 10.0, 4);
        conserved(&layers, &few);
        assert_eq!(few.capacities_J_per_m2K.len(), 5);
        assert!(few.slice_biot > 1.0, "told honestly: {}", few.slice_biot);
    }

    #[test]
    fn a_gas_gap_is_one_resistance() {
        let layers = [PANE, GAP, PANE];
        let nodes = slices(&layers, 10.0, 10.0);
        conserved(&layers, &nodes);
        assert_eq!(nodes.capacities_J_per_m2K.len(), 4);
    }

    #[test]
    fn many_skins_are_one_slice_and_nothing_is_nothing() {
        let layers = [STEEL; 9];
        let nodes = slices(&layers, 10.0, 10.0);
        conserved(&layers, &nodes);
        assert_eq!(nodes.capacities_J_per_m2K.len(), 2);
        assert_eq!(slices(&[], 10.0, 10.0).capacities_J_per_m2K, vec![0.0]);
    }

    /// Plane wall of half-thickness L cooled on both faces, Bi = h L/k = 1: the first term of the
    /// series has zeta 0.8603 and C1 1.1191 (Incropera & DeWitt, table 5.1), so the middle is at
    /// 1.1191 exp(-0.8603^2 Fo) for Fo above 0.2. Nodes are second order: with 20 slices over
    /// 2 L the error is about zeta^4/12 (dx/L)^2 Fo = 0.05 %, and the table has four digits.
    #[test]
    fn slices_follow_the_series_for_a_plane_wall() {
        let wall = Slab {
            thickness_m: 2.0,
            conductivity_W_per_mK: 1.0,
            density_kg_per_m3: 1000.0,
            heat_capacity_J_per_kgK: 0.001,
        };
        let nodes = slices(&[wall], 1.0, 1.0);
        let n = nodes.capacities_J_per_m2K.len();
        assert_eq!(n, 21);
        let mut t = vec![1.0; n];
        let dt = 1e-4;
        for step in 1..=15_000 {
            let mut flow = vec![0.0; n];
            flow[0] -= t[0];
            flow[n - 1] -= t[n - 1];
            for i in 0..n - 1 {
                let q = nodes.conductances_W_per_m2K[i] * (t[i] - t[i + 1]);
                flow[i] -= q;
                flow[i + 1] += q;
            }
            for i in 0..n {
                t[i] += dt * flow[i] / nodes.capacities_J_per_m2K[i];
            }
            for fo in [0.5, 1.0, 1.5] {
                if (step as f64 * dt - fo).abs() < 0.5 * dt {
                    let exact = 1.1191 * f64::exp(-0.8603 * 0.8603 * fo);
                    let ours = t[n / 2];
                    assert!(
                        (ours / exact - 1.0).abs() < 1.5e-3,
                        "Fo {fo}: {ours} against {exact}"
                    );
                }
            }
        }
    }
}

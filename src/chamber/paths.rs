//! The paths of air through the shell: leaks, vents, an open door or lid, fans.

use super::build::Builder;
use super::nodes::Entry;
use crate::network::air_paths::{AirPaths, Draught, Opening};
use crate::run::ArrangementKind;
use crate::run::Coefficient as K;

/// Discharge coefficient of cracks and doors (sharp-edged openings: 0.6, common in ventilation
/// handbooks, from memory).
const LEAK_DISCHARGE: f64 = 0.6;
/// Least leak area of any machine, m2.
const TIGHTEST_M2: f64 = 1e-6;
/// Strips that stand for an open door in each air layer.
const DOOR_STRIPS: usize = 8;
/// Thickness of the rim around an open lid, m.
const LID_RIM_M: f64 = 0.01;
/// Heights of the leaks as shares of the chamber's: seams at floor and lid, holes between.
const LEAK_HEIGHTS: [f64; 4] = [0.02, 0.35, 0.65, 0.98];

impl Builder<'_> {
    pub(super) fn air_paths(&self) -> AirPaths {
        let (m, p) = (&self.run.machine, self.p);
        let layers = self.layers();
        let slice = m.height_m / layers as f64;
        let layer_at = |z: f64| ((z / slice) as usize).min(layers - 1);
        // Even the tightest shell lets some air through; without any, a fan would move none.
        let leak =
            (m.leak_area_m2 * self.k(K::Leakage)).max(TIGHTEST_M2) / LEAK_HEIGHTS.len() as f64;
        let mut openings: Vec<Opening> = LEAK_HEIGHTS
            .iter()
            .map(|share| Opening {
                height_m: share * m.height_m,
                area_m2: leak,
                discharge: LEAK_DISCHARGE,
                layer: layer_at(share * m.height_m),
            })
            .collect();
        openings.extend(m.vents.iter().filter(|v| v.area_m2 > 0.0).map(|v| Opening {
            height_m: v.height_m.clamp(0.0, m.height_m),
            area_m2: v.area_m2,
            discharge: v.discharge,
            layer: layer_at(v.height_m),
        }));
        if self.open.door_open {
            let height = m.door_opening_height_m.min(m.height_m);
            let sill = 0.5 * (m.height_m - height);
            let strips = DOOR_STRIPS * layers;
            openings.extend((0..strips).map(|k| {
                let z = sill + height * (k as f64 + 0.5) / strips as f64;
                Opening {
                    height_m: z,
                    area_m2: m.door_opening_m2 / strips as f64,
                    discharge: LEAK_DISCHARGE,
                    layer: layer_at(z),
                }
            }));
        }
        if self.open.lid_off {
            openings.push(Opening {
                height_m: m.height_m,
                area_m2: m.lid_opening_m2,
                discharge: LEAK_DISCHARGE,
                layer: layers - 1,
            });
        }
        let mut draughts = Vec::new();
        let mut inner_m3_per_s = 0.0;
        match self.recipe.arrangement {
            ArrangementKind::Extracting { flow_m3_per_s } => draughts.push(Draught {
                layer: layer_at(m.extraction_height_m),
                outward_m3_per_s: flow_m3_per_s,
            }),
            ArrangementKind::BlowingIn { flow_m3_per_s } => draughts.push(Draught {
                layer: layer_at(m.inlet_height_m),
                outward_m3_per_s: -flow_m3_per_s,
            }),
            ArrangementKind::Recirculating { flow_m3_per_s, .. } => inner_m3_per_s = flow_m3_per_s,
            ArrangementKind::Closed | ArrangementKind::LidOff | ArrangementKind::DoorOpen => {}
        }
        AirPaths {
            layers: p.air.clone(),
            tops_m: (1..=layers).map(|k| slice * k as f64).collect(),
            room: p.room,
            pressure_Pa: self.pressure_Pa,
            openings,
            draughts,
            open_top: self.open.lid_off.then_some((m.lid_opening_m2, LID_RIM_M)),
            inner_m3_per_s,
            short_circuit: self.k(K::ShortCircuit),
            ledger: Entry::Air as usize,
        }
    }
}

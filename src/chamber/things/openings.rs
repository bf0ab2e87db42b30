//! Leaks, vents, an open door or lid, and the fan: the paths of air through the shell.

use super::thing::{Thing, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::course::Course;
use crate::network::{
    AirPaths, Builder, Configuration, Direction, Draught, LedgerId, Opening, Source,
};
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

/// Everything that air passes.
pub struct Openings {
    exchange: LedgerId,
    /// What is radiated through an open side.
    pub open_side: LedgerId,
    filter_fan: LedgerId,
}

impl Openings {
    pub fn new(b: &mut Builder) -> Self {
        Self {
            exchange: ledger(b, "air exchange", Direction::Out, 50),
            open_side: ledger(b, "radiation through the opening", Direction::Out, 60),
            filter_fan: ledger(b, "filter fan", Direction::In, 60),
        }
    }

    fn openings(site: &Site<'_>, layer_at: impl Fn(f64) -> usize) -> Vec<Opening> {
        let m = &site.run.machine;
        let opening = |height_m: f64, area_m2: f64, discharge: f64| Opening {
            height_m,
            area_m2,
            discharge,
            layer: layer_at(height_m),
        };
        // Even the tightest shell lets some air through; without any, a fan would move none.
        let leak =
            (m.leak_area_m2 * site.k(K::Leakage)).max(TIGHTEST_M2) / LEAK_HEIGHTS.len() as f64;
        let mut all: Vec<Opening> = LEAK_HEIGHTS
            .iter()
            .map(|share| opening(share * m.height_m, leak, LEAK_DISCHARGE))
            .collect();
        let vents = m.vents.iter().filter(|v| v.area_m2 > 0.0);
        all.extend(
            vents.map(|v| opening(v.height_m.clamp(0.0, m.height_m), v.area_m2, v.discharge)),
        );
        if site.open.door_open {
            let height = m.door_opening_height_m.min(m.height_m);
            let sill = 0.5 * (m.height_m - height);
            let strips = DOOR_STRIPS * site.layers();
            let strip_m2 = m.door_opening_m2 / strips as f64;
            let middle = |k: usize| sill + height * (k as f64 + 0.5) / strips as f64;
            all.extend((0..strips).map(|k| opening(middle(k), strip_m2, LEAK_DISCHARGE)));
        }
        if site.open.lid_off {
            all.push(opening(m.height_m, m.lid_opening_m2, LEAK_DISCHARGE));
        }
        all
    }
}

impl Thing for Openings {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let (m, p) = (&site.run.machine, site.p);
        let layers = site.layers();
        let slice = site.slice_m();
        let layer_at = |z: f64| ((z / slice) as usize).min(layers - 1);
        let draught = |height_m: f64, outward_m3_per_s: f64| Draught {
            layer: layer_at(height_m),
            outward_m3_per_s,
        };
        let mut draughts = Vec::new();
        let mut inner_m3_per_s = 0.0;
        match site.recipe.arrangement {
            ArrangementKind::Extracting { flow_m3_per_s } => {
                draughts.push(draught(m.extraction_height_m, flow_m3_per_s));
            }
            ArrangementKind::BlowingIn { flow_m3_per_s } => {
                draughts.push(draught(m.inlet_height_m, -flow_m3_per_s));
            }
            ArrangementKind::Recirculating {
                flow_m3_per_s,
                fan_power_W,
            } => {
                inner_m3_per_s = flow_m3_per_s;
                if fan_power_W != 0.0 {
                    let power_W = Course::Constant(fan_power_W);
                    c.sources
                        .push(Source::new(p.air[0], power_W, self.filter_fan));
                }
            }
            ArrangementKind::Closed | ArrangementKind::LidOff | ArrangementKind::DoorOpen => {}
        }
        c.air_paths.push(AirPaths {
            layers: p.air.clone(),
            tops_m: (1..=layers).map(|k| slice * k as f64).collect(),
            room: p.room,
            pressure_Pa: site.network.air().pressure_Pa(),
            openings: Self::openings(site, layer_at),
            draughts,
            open_top: site.open.lid_off.then_some((m.lid_opening_m2, LID_RIM_M)),
            inner_m3_per_s,
            short_circuit: site.k(K::ShortCircuit),
            led_to: p.outdoors.filter(|_| site.run.system.led_outdoors),
            ledger: self.exchange,
        });
        Ok(())
    }
}

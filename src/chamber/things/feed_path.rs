//! The filament on its way: spool, guide tube, drive gear, cold end, nozzle.

use super::thing::{Thing, is_inside, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::chamber::stations::StationKind;
use crate::network::elements::stream::{InAir, Rod};
use crate::network::{Builder, Configuration, Direction, LedgerId, Stream};
use crate::physics::filament::{conduction_length_m, share_of_neck};
use crate::run::Coefficient as K;
use crate::run::{Place, Run};

/// Filament and air for which the coefficient in still air is taken, K: a few kelvins of difference
/// at chamber temperature; the result hardly depends on them. Emissivity of filament and guide tube:
/// handbook values for plastics 0.90-0.95, from memory.
const IN_AIR: InAir = InAir {
    rod_K: 313.15,
    air_K: 308.15,
    emissivity: 0.92,
};

/// The filament.
pub struct FeedPath {
    filament: LedgerId,
}

/// How far filament that stands in the cold end, as far ahead of the heat break as it may be soft, is drawn
/// towards the hotend's temperature.
pub fn share_of_hotend(run: &Run) -> f64 {
    let conduction_m = conduction_length_m(
        run.material.conductivity_W_per_mK,
        run.machine.filament_diameter_m,
        run.coefficients.get(K::BoreContact).max(1e-3),
    );
    let ahead_m = run.coefficients.get(K::SoftLength);
    share_of_neck(conduction_m, run.machine.hotend.neck_m, ahead_m)
}

impl FeedPath {
    pub fn new(b: &mut Builder) -> Self {
        Self {
            filament: ledger(b, "filament", Direction::In, 70),
        }
    }
}

impl Thing for FeedPath {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let (run, m, p) = (site.run, &site.run.machine, site.p);
        let rod = Rod {
            feed_kg_per_s: site.recipe.phase.feed_kg_per_s,
            heat_capacity_J_per_kgK: run.material.heat_capacity_J_per_kgK,
            density_kg_per_m3: run.material.density_kg_per_m3,
            conductivity_W_per_mK: run.material.conductivity_W_per_mK,
            diameter_m: m.filament_diameter_m,
            stands_s: run.filament.longest_stop_s,
        };
        // A spool at the bottom is as high as the bed: it takes the air half way up.
        let spool = match m.spool {
            Place::ChamberBottom => site.air_at(0.5 * site.plate_m()),
            Place::ChamberTop | Place::Room => site.around(m.spool),
        };
        let ends = (spool, p.hotend, p.part);
        let mut stream = Stream::new(rod, IN_AIR, site.network.air(), ends, self.filament);
        let gear = |stream: &mut Stream| {
            stream.pass(
                StationKind::DriveGear.name(),
                p.gear,
                m.feeder.grip_length_m,
                Some(site.k(K::GearContact)),
            );
        };
        if !is_inside(m.feeder.motor.place) {
            gear(&mut stream);
        }
        // From a spool at the bottom the tube rises through every layer; otherwise it runs at the top.
        let rises = m.spool == Place::ChamberBottom;
        for (layer, share) in p.air.iter().zip(site.shares()) {
            let share = match (rises, *layer == p.top()) {
                (true, _) => share,
                (false, at_top) => f64::from(at_top),
            };
            if share > 0.0 {
                let length_m = m.guide_tube_m * share;
                stream.pass(StationKind::GuideTube.name(), *layer, length_m, None);
            }
        }
        if is_inside(m.feeder.motor.place) {
            gear(&mut stream);
        }
        stream.pass(
            StationKind::ColdEnd.name(),
            p.cold_end,
            m.cold_end.length_m,
            Some(site.k(K::BoreContact)),
        );
        c.streams.push(stream);
        Ok(())
    }
}

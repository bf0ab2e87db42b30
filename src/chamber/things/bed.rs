//! The heated bed, and the insulation under it.

use super::thing::{Thing, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::network::{
    Area, Builder, Conductor, Configuration, Control, Direction, INTERNAL, Index, LedgerId, Node,
    Radiator, Side, Store,
};
use crate::physics::convection::Face;
use crate::run::Run;

/// Heat capacity of the insulation under a bed, J/(m2 K): about a centimetre of mineral felt.
const UNDERSIDE_J_PER_M2K: f64 = 500.0;
/// Emissivity of a bed's underside: heater mat or felt (handbook values for rubber and mineral
/// materials around 0.9, from memory).
pub const UNDERSIDE_EMISSIVITY: f64 = 0.9;

/// Plate and insulation.
pub struct Bed {
    pub plate: Index,
    /// The insulation, where there is some.
    pub underside: Option<Index>,
    heater: LedgerId,
}

fn area_m2(run: &Run) -> f64 {
    run.machine.bed.width_m * run.machine.bed.depth_m
}

impl Bed {
    pub fn new(run: &Run, b: &mut Builder) -> Self {
        let bed = &run.machine.bed;
        let capacity = bed.mass_kg * bed.heat_capacity_J_per_kgK;
        let stores = Store::Mass {
            mass_kg: bed.mass_kg,
            heat_capacity_J_per_kgK: bed.heat_capacity_J_per_kgK,
        };
        let plate = b.node(Node::storing("bed", capacity, stores));
        let sheet = Store::Sheet {
            area_m2: area_m2(run),
            capacity_J_per_m2K: UNDERSIDE_J_PER_M2K,
        };
        let capacity = UNDERSIDE_J_PER_M2K * area_m2(run);
        let insulated = bed.underside_resistance_m2K_per_W > 0.0;
        let felt = Node::storing("bed underside", capacity, sheet);
        Self {
            plate,
            underside: insulated.then(|| b.node(felt)),
            heater: ledger(b, "bed heater", Direction::In, 10),
        }
    }
}

impl Thing for Bed {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let (m, p) = (&site.run.machine, site.p);
        let area = area_m2(site.run);
        // Below the bed: insulation, if any, then air and floor.
        let under = self.underside.unwrap_or(self.plate);
        if self.underside.is_some() {
            let resistance = m.bed.underside_resistance_m2K_per_W;
            c.conductors.push(Conductor::of_resistance(
                self.plate, under, area, resistance,
            ));
        }
        c.convectors.push(site.convector(
            under,
            // Where layers meet at the plate, the one below it.
            site.air_at(site.plate_m() - 1e-6),
            Area::constant(area),
            site.inside_plate(Face::Down, (m.bed.width_m, m.bed.depth_m)),
            INTERNAL,
        ));
        // Higher up its underside is a surface of the enclosure.
        if site.plate_m() <= 0.0 {
            c.radiators.push(Radiator::between_plates(
                under,
                p.floor.inner,
                area,
                UNDERSIDE_EMISSIVITY,
                m.floor.emissivity_inside,
            ));
        }
        if let Some(setpoint_K) = site.recipe.phase.bed_K {
            let heats = Side {
                setpoint_K,
                most_W: m.bed.max_power_W,
                hysteresis_K: 0.0,
            };
            c.controls
                .push(Control::new(self.plate, Some(heats), None, self.heater)?);
        }
        Ok(())
    }
}

//! The feed path: spool, guide tube, drive gear and cold end, and the filament moving past them.

use crate::network::{Index, Station, Stream};
use crate::physics::air::AirTable;
use crate::physics::filament::{air_coefficient, decay_length_m, fraction_exchanged};
use crate::run::Coefficient;
use crate::run::Run;
use crate::run::{Phase, Place};

use super::nodes::{Entry, Points};

/// Emissivity of filament and guide tube (handbook values for plastics 0.90-0.95, from memory).
pub(super) const FILAMENT_EMISSIVITY: f64 = 0.92;

/// Filament and air for which the coefficient in still air is taken, K: a few kelvins of difference
/// at chamber temperature; the result hardly depends on them.
pub(super) const IN_AIR_K: (f64, f64) = (313.15, 308.15);

/// The stations of the feed path.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum StationKind {
    /// The spool.
    Spool,
    /// The guide tube.
    GuideTube,
    /// The drive gear.
    DriveGear,
    /// The cold end.
    ColdEnd,
}

impl StationKind {
    /// Every station, along the path.
    pub const ALL: [Self; 4] = [Self::Spool, Self::GuideTube, Self::DriveGear, Self::ColdEnd];

    /// Name in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Spool => "spool",
            Self::GuideTube => "guide tube",
            Self::DriveGear => "drive gear",
            Self::ColdEnd => "cold end",
        }
    }
}

/// The point whose temperature the spool has.
#[must_use]
pub fn spool_point(run: &Run, p: &Points) -> Index {
    match run.machine.spool {
        Place::ChamberBottom => p.air[0],
        Place::ChamberTop => p.air[p.air.len() - 1],
        Place::Room => p.room,
    }
}

/// The filament's way in one phase, and the kind of each of its stations.
pub(super) fn stream(
    run: &Run,
    p: &Points,
    phase: &Phase,
    air: &AirTable,
) -> (Stream, Vec<StationKind>) {
    let m = &run.machine;
    let (feed, cp) = (phase.feed_kg_per_s, run.material.heat_capacity_J_per_kgK);
    let diameter = m.filament_diameter_m;
    let exchanged =
        |length: f64, h: f64| fraction_exchanged(length, decay_length_m(feed, cp, diameter, h));
    let (filament_K, air_K) = IN_AIR_K;
    let still_air = air_coefficient(filament_K, air_K, diameter, FILAMENT_EMISSIVITY, 0.0, air);
    let top = p.air.len() - 1;
    // From a spool at the bottom the tube rises through every layer; otherwise it runs at the top.
    let through: Vec<Index> = match m.spool {
        Place::ChamberBottom => p.air.clone(),
        Place::ChamberTop | Place::Room => vec![p.air[top]],
    };
    let tube = through.iter().map(|layer| {
        let fraction = exchanged(m.guide_tube_m / through.len() as f64, still_air);
        (StationKind::GuideTube, *layer, fraction)
    });
    let gear = (
        StationKind::DriveGear,
        p.feeder,
        exchanged(
            m.feeder.grip_length_m,
            run.coefficients.get(Coefficient::GearContact),
        ),
    );
    let bore = (
        StationKind::ColdEnd,
        p.cold_end,
        exchanged(
            m.cold_end.length_m,
            run.coefficients.get(Coefficient::BoreContact),
        ),
    );
    let mut path = Vec::new();
    if m.feeder.motor.place == Place::Room {
        path.push(gear);
        path.extend(tube);
    } else {
        path.extend(tube);
        path.push(gear);
    }
    path.push(bore);
    let kinds = path.iter().map(|(kind, _, _)| *kind).collect();
    let stations = path
        .into_iter()
        .map(|(kind, surroundings, fraction)| Station {
            name: kind.name(),
            surroundings,
            fraction,
        })
        .collect();
    let stream = Stream {
        capacity_rate_W_per_K: feed * cp,
        store: spool_point(run, p),
        stations,
        outlet: p.hotend,
        receiver: p.part,
        ledger: Entry::Filament as usize,
    };
    (stream, kinds)
}

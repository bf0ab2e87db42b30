//! Material moving past nodes: it takes on their temperatures bit by bit.
//!
//! The material comes to each station with one temperature throughout and leaves it with its mean at
//! `T_out = T_in + e (T_surroundings - T_in)`, `e` from the conduction across a cylinder; the heat
//! `m cp (T_out - T_in)` comes from the station. Its surface is nearer to the station's temperature than its
//! mean, and where it stops, both go on towards it: neither is heat that is carried, only a reading.
//! At the end the material is raised to the temperature of `outlet` (the nozzle) and laid down at
//! that temperature in `receiver` (the part).

use super::law::{Law, Moment};
use crate::network::balance::Sink;
use crate::network::description::{FilamentDescription, FilamentInAir, Link, StationDescription};
use crate::network::parts::{Index, LedgerId};
use crate::number::Number;
use crate::physics::air::AirTable;
use crate::physics::cylinder::{Left, difference_left};
use crate::physics::filament::{air_coefficient, fourier_on_the_way, fourier_standing};

/// A rod that is fed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rod {
    /// Material fed, kg/s (0 while nothing moves).
    pub feed_kg_per_s: f64,
    /// Heat capacity, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Conductivity, W/(m K).
    pub conductivity_W_per_mK: f64,
    /// Diameter, m.
    pub diameter_m: f64,
    /// How long it stands still now and then while it is fed, s.
    pub stands_s: f64,
}

/// What of a rod is read at a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The mean over its section.
    Mean,
    /// Its surface.
    Surface,
}

/// A rod in still air: the state at which its coefficient is taken. The result hardly depends on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InAir {
    /// Rod, K.
    pub rod_K: f64,
    /// Air, K.
    pub air_K: f64,
    /// Emissivity of the rod.
    pub emissivity: f64,
}

/// A stretch of the path with one surrounding temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Name in results; several stretches may share one.
    pub name: &'static str,
    /// What surrounds the material.
    pub surroundings: Index,
    /// Length, m.
    length_m: f64,
    /// Coefficient on the rod's surface, W/(m2 K); none in still air.
    coefficient_W_per_m2K: Option<f64>,
    /// What is left of the difference to the surroundings at the end of the stretch, on steady feed.
    moving: Left,
    /// And once it has stood there.
    standing: Left,
}

impl Station {
    /// Share of the difference that the mean has given up at the stretch's end, on steady feed.
    #[inline(always)]
    fn fraction(&self) -> f64 {
        1.0 - self.moving.mean
    }
}

/// The material's way from its store to the receiver.
#[derive(Debug, Clone, PartialEq)]
pub struct Stream {
    rod: Rod,
    in_air: InAir,
    /// Capacity rate m cp, W/K.
    capacity_rate_W_per_K: f64,
    still_air_W_per_m2K: f64,
    /// Point whose temperature the material has when it sets out.
    pub store: Index,
    stations: Vec<Station>,
    /// Heats the material to its own temperature.
    pub outlet: Index,
    /// Where it is laid down.
    pub receiver: Index,
    /// Ledger entry for the heat the material brings with it, relative to the reference.
    pub ledger: LedgerId,
}

impl Stream {
    /// A rod on its way from a store through an outlet to a receiver; stations are added in order.
    #[must_use]
    pub fn new(
        rod: Rod,
        in_air: InAir,
        air: &AirTable,
        (store, outlet, receiver): (Index, Index, Index),
        ledger: LedgerId,
    ) -> Self {
        let InAir {
            rod_K,
            air_K,
            emissivity,
        } = in_air;
        Self {
            rod,
            in_air,
            capacity_rate_W_per_K: rod.feed_kg_per_s * rod.heat_capacity_J_per_kgK,
            still_air_W_per_m2K: air_coefficient(
                rod_K,
                air_K,
                rod.diameter_m,
                emissivity,
                0.0,
                air,
            ),
            store,
            stations: Vec::new(),
            outlet,
            receiver,
            ledger,
        }
    }

    /// Adds a station: what surrounds it, its length, m, and the coefficient on the rod's surface,
    /// W/(m2 K); none in still air.
    pub fn pass(
        &mut self,
        name: &'static str,
        surroundings: Index,
        length_m: f64,
        coefficient_W_per_m2K: Option<f64>,
    ) {
        let Rod {
            feed_kg_per_s,
            heat_capacity_J_per_kgK: cp,
            density_kg_per_m3: density,
            conductivity_W_per_mK: k,
            diameter_m,
            stands_s,
        } = self.rod;
        let h = coefficient_W_per_m2K.unwrap_or(self.still_air_W_per_m2K);
        let biot = 0.5 * h * diameter_m / k;
        let on_the_way = fourier_on_the_way(feed_kg_per_s, cp, k, length_m);
        let stood = fourier_standing(density, cp, k, diameter_m, stands_s);
        self.stations.push(Station {
            name,
            surroundings,
            length_m,
            coefficient_W_per_m2K,
            moving: difference_left(biot, on_the_way),
            standing: difference_left(biot, on_the_way + stood),
        });
    }

    /// The stations in order.
    #[must_use]
    pub fn stations(&self) -> &[Station] {
        &self.stations
    }

    /// Capacity rate m cp, W/K.
    #[cfg(feature = "lanes")]
    pub(in crate::network) const fn capacity_rate_W_per_K(&self) -> f64 {
        self.capacity_rate_W_per_K
    }

    /// Of each station what surrounds it, and the share of the difference to it that the material gives up.
    #[cfg(feature = "lanes")]
    pub(in crate::network) fn given_up(&self) -> impl Iterator<Item = (Index, f64)> {
        self.stations.iter().map(|s| (s.surroundings, s.fraction()))
    }

    /// The material's temperature after station `k`, on steady feed, as shares of points:
    /// `T = sum share T_point`.
    ///
    /// While nothing moves, the material has the temperature of its surroundings.
    pub fn shares_after(&self, k: usize, part: Part, f: impl FnMut(Index, f64)) {
        self.shares(k, part, self.stations[k].moving, f);
    }

    /// The same once the material has stood still at the end of station `k`.
    pub fn shares_standing(&self, k: usize, part: Part, f: impl FnMut(Index, f64)) {
        self.shares(k, part, self.stations[k].standing, f);
    }

    fn shares(&self, k: usize, part: Part, left: Left, mut f: impl FnMut(Index, f64)) {
        if self.capacity_rate_W_per_K == 0.0 {
            f(self.stations[k].surroundings, 1.0);
            return;
        }
        let mut rest = match part {
            Part::Mean => left.mean,
            Part::Surface => left.surface,
        };
        f(self.stations[k].surroundings, 1.0 - rest);
        for s in self.stations[..k].iter().rev() {
            f(s.surroundings, rest * s.fraction());
            rest *= 1.0 - s.fraction();
        }
        f(self.store, rest);
    }
}

impl Law for Stream {
    fn ends(&self, f: &mut dyn FnMut(Index)) {
        let around = self.stations.iter().map(|s| s.surroundings);
        [self.store, self.outlet, self.receiver]
            .into_iter()
            .chain(around)
            .for_each(f);
    }

    fn ledgers(&self, f: &mut dyn FnMut(LedgerId)) {
        f(self.ledger);
    }

    #[inline(always)]
    fn heat<D: Number>(&self, t: impl Fn(Index) -> D, m: &Moment<'_>, out: &mut impl Sink<D>) {
        if self.capacity_rate_W_per_K == 0.0 {
            return;
        }
        let (w, reference) = (D::of(self.capacity_rate_W_per_K), D::of(m.reference_K));
        let mut material = t(self.store);
        out.book(self.ledger, w * (material - reference));
        for s in &self.stations {
            let rise = D::of(s.fraction()) * (t(s.surroundings) - material);
            out.give(s.surroundings, -(w * rise));
            material = material + rise;
        }
        out.give(self.outlet, -(w * (t(self.outlet) - material)));
        out.give(self.receiver, w * (t(self.outlet) - reference));
    }

    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        let stations = self.stations.iter().map(|s| StationDescription {
            name: s.name,
            around: name(s.surroundings),
            length_m: s.length_m,
            coefficient_W_per_m2K: s.coefficient_W_per_m2K,
        });
        out.push(Link::Filament(FilamentDescription {
            diameter_m: self.rod.diameter_m,
            density_kg_per_m3: self.rod.density_kg_per_m3,
            conductivity_W_per_mK: self.rod.conductivity_W_per_mK,
            stands_s: self.rod.stands_s,
            feed_kg_per_s: self.rod.feed_kg_per_s,
            heat_capacity_J_per_kgK: self.rod.heat_capacity_J_per_kgK,
            spool: name(self.store),
            stations: stations.collect(),
            nozzle: name(self.outlet),
            laid_on: name(self.receiver),
            in_air: FilamentInAir {
                filament_K: self.in_air.rod_K,
                air_K: self.in_air.air_K,
                emissivity: self.in_air.emissivity,
            },
        }));
    }
}

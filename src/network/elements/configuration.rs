//! The elements that hold at the same time.

use super::air_paths::AirPaths;
use super::conductor::Conductor;
use super::contact::Contact;
use super::control::Control;
use super::convector::Convector;
use super::enclosure::Enclosure;
use super::law::{Element, Visitor};
use super::layering::Layering;
use super::plume::Plume;
use super::radiator::Radiator;
use super::source::Source;
use super::stirred_opening::StirredOpening;
use super::stream::Stream;
use crate::course::Course;
use crate::network::description::{HeaterDescription, Link, SourceDescription};
use crate::network::parts::Index;
use std::sync::Arc;

/// The elements that hold at the same time.
#[derive(Debug, Clone, Default)]
pub struct Configuration {
    /// Linear conductances.
    pub conductors: Vec<Conductor>,
    /// Convection between a face and air.
    pub convectors: Vec<Convector>,
    /// Radiation between two surfaces.
    pub radiators: Vec<Radiator>,
    /// Contacts through a growing thickness.
    pub contacts: Vec<Contact>,
    /// Radiation among all surfaces of an enclosure.
    pub enclosures: Vec<Arc<Enclosure>>,
    /// Air driven through openings by buoyancy and fans.
    pub air_paths: Vec<AirPaths>,
    /// What moving air inside adds to the exchange through openings.
    pub stirred_openings: Vec<StirredOpening>,
    /// Plumes over what is warm.
    pub plumes: Vec<Plume>,
    /// Layers of air that turn over and are stirred.
    pub layerings: Vec<Layering>,
    /// Material moving past nodes.
    pub streams: Vec<Stream>,
    /// Heat sources.
    pub sources: Vec<Source>,
    /// Heaters and coolers that follow a temperature.
    pub controls: Vec<Control>,
}

impl Configuration {
    /// Nothing yet, with room for as many elements of each kind as there are here.
    #[must_use]
    pub fn room_for_as_many(&self) -> Self {
        fn room<E>(elements: &[E]) -> Vec<E> {
            Vec::with_capacity(elements.len())
        }
        Self {
            conductors: room(&self.conductors),
            convectors: room(&self.convectors),
            radiators: room(&self.radiators),
            contacts: room(&self.contacts),
            enclosures: room(&self.enclosures),
            air_paths: room(&self.air_paths),
            stirred_openings: room(&self.stirred_openings),
            plumes: room(&self.plumes),
            layerings: room(&self.layerings),
            streams: room(&self.streams),
            sources: room(&self.sources),
            controls: room(&self.controls),
        }
    }

    /// Shows every element but the controls: the one list of kinds.
    #[inline(always)]
    pub fn each(&self, v: &mut impl Visitor) {
        fn all<E: Element>(elements: &[E], v: &mut impl Visitor) {
            for (at, e) in elements.iter().enumerate() {
                v.visit(at, e);
            }
        }
        all(&self.conductors, v);
        all(&self.convectors, v);
        all(&self.radiators, v);
        all(&self.contacts, v);
        for (at, e) in self.enclosures.iter().enumerate() {
            v.visit(at, &**e);
        }
        all(&self.air_paths, v);
        all(&self.stirred_openings, v);
        all(&self.plumes, v);
        all(&self.layerings, v);
        all(&self.streams, v);
        all(&self.sources, v);
    }

    /// Every face that gives heat to air by convection, those under plumes last.
    pub fn faces(&self) -> impl Iterator<Item = &Convector> {
        let under_plumes = self.plumes.iter().flat_map(|p| &p.faces);
        self.convectors.iter().chain(under_plumes)
    }

    /// Every link, its law and parameters, points by name.
    #[must_use]
    pub fn links(&self, name: &dyn Fn(Index) -> String) -> Vec<Link> {
        struct All<'a>(&'a dyn Fn(Index) -> String, Vec<Link>);
        impl Visitor for All<'_> {
            fn visit<E: Element>(&mut self, _: usize, element: &E) {
                element.describe(self.0, &mut self.1);
            }
        }
        let mut all = All(name, Vec::new());
        self.each(&mut all);
        all.1
    }

    /// Heat set free.
    #[must_use]
    pub fn source_descriptions(&self, name: &dyn Fn(Index) -> String) -> Vec<SourceDescription> {
        let told = self.sources.iter().map(|s| SourceDescription {
            point: name(s.node),
            power_W: s.power_W.at(0.0).0,
            power_over_time: match &s.power_W {
                Course::Constant(_) => None,
                course => Some(course.into()),
            },
            per_K: s.per_K,
        });
        told.collect()
    }

    /// Heaters and coolers.
    #[must_use]
    pub fn heater_descriptions(&self, name: &dyn Fn(Index) -> String) -> Vec<HeaterDescription> {
        let mut all = Vec::new();
        self.controls
            .iter()
            .for_each(|c| c.describe(name, &mut all));
        all
    }
}

//! The elements of several configurations side by side: a slot for each that joins the same points, and in each
//! lane the numbers of its own configuration.

use super::face::{FaceKey, Faces};
use super::films::Films;
use super::flows::{Air, AirKey};
use super::gains::Gains;
use super::parts::{Fed, Layers, Link, MOST_STATIONS, Room, Standing, Stirred};
use super::plumes::{MOST_LAYERS, PlumeKey, Rising};
use super::slopes::GainSlopes;
use crate::network::elements::{Configuration, Pair};
use crate::wide::Wide;

/// A slot for every element that any lane has had.
#[derive(Debug, Clone, Default)]
pub(super) struct Slots {
    conductors: Vec<Link>,
    faces: Vec<Faces>,
    radiators: Vec<Link>,
    contacts: Vec<Standing>,
    rooms: Vec<Room>,
    air: Vec<Air>,
    stirred: Vec<Stirred>,
    plumes: Vec<Rising>,
    layerings: Vec<Layers>,
    streams: Vec<Fed>,
    finder: Finder,
}

/// Finds slots; elements mostly come in the order of the slots.
#[derive(Debug, Clone, Default)]
struct Finder {
    taken: Vec<bool>,
    next: usize,
}

impl Finder {
    fn begin(&mut self) {
        self.taken.clear();
        self.next = 0;
    }

    /// The next free slot that fits, or a new one.
    fn find<'s, S>(
        &mut self,
        slots: &'s mut Vec<S>,
        fits: impl Fn(&S) -> bool,
        new: impl FnOnce() -> S,
    ) -> &'s mut S {
        self.taken.resize(slots.len(), false);
        let from = self.next;
        let found = (from..slots.len())
            .chain(0..from.min(slots.len()))
            .find(|k| !self.taken[*k] && fits(&slots[*k]));
        let k = found.unwrap_or_else(|| {
            slots.push(new());
            self.taken.push(false);
            slots.len() - 1
        });
        self.taken[k] = true;
        self.next = k + 1;
        &mut slots[k]
    }
}

impl Slots {
    /// Puts a configuration into a lane in place of what was there; whether lanes can follow it. Sources and controls
    /// are not the slots'.
    pub fn load(
        &mut self,
        lane: usize,
        configuration: &Configuration,
        pressure_Pa: f64,
        films: &Films,
    ) -> bool {
        self.clear(lane);
        // Every kind by name: a new one is not forgotten.
        let Configuration {
            conductors,
            convectors,
            radiators,
            contacts,
            enclosures,
            air_paths,
            stirred_openings,
            plumes,
            layerings,
            streams,
            sources: _,
            controls: _,
        } = configuration;
        let mut fits = true;
        let find = &mut self.finder;
        find.begin();
        for c in conductors {
            let key = c.joins();
            let slot = find.find(&mut self.conductors, |s| s.key == key, || Link::new(key));
            slot.load(lane, c);
        }
        find.begin();
        for c in convectors {
            let key = FaceKey::of(c);
            let slot = find.find(&mut self.faces, |s| s.key == key, || Faces::new(key));
            fits &= slot.load(lane, c, pressure_Pa, films);
        }
        find.begin();
        for r in radiators {
            let key = r.joins();
            let slot = find.find(&mut self.radiators, |s| s.key == key, || Link::new(key));
            slot.load_radiator(lane, r);
        }
        find.begin();
        for c in contacts {
            let key = Standing::key_of(c);
            let slot = find.find(&mut self.contacts, |s| s.key == key, || Standing::new(key));
            slot.load(lane, c);
        }
        find.begin();
        for e in enclosures {
            let key = Room::key_of(e);
            let slot = find.find(&mut self.rooms, |s| s.key == key, || Room::new(key.clone()));
            slot.load(lane, e);
        }
        find.begin();
        for a in air_paths {
            let key = AirKey::of(a);
            let slot = find.find(&mut self.air, |s| s.key == key, || Air::new(key.clone(), a));
            slot.load(lane, a);
        }
        find.begin();
        for s in stirred_openings {
            let key = Stirred::key_of(s);
            let slot = find.find(&mut self.stirred, |s| s.key == key, || Stirred::new(key));
            slot.load(lane, s, pressure_Pa);
        }
        find.begin();
        for p in plumes {
            // No slot for what can't be followed: it would stay when the lane is left.
            if p.layers().len() > MOST_LAYERS {
                return false;
            }
            let key = PlumeKey::of(p);
            let slot = find.find(
                &mut self.plumes,
                |s| s.key == key,
                || Rising::new(key.clone()),
            );
            fits &= slot.load(lane, p, pressure_Pa, films);
        }
        find.begin();
        for l in layerings {
            let slot = find.find(
                &mut self.layerings,
                |s| s.key == l.layers,
                || Layers::new(l.layers.clone()),
            );
            slot.load(lane, l, pressure_Pa);
        }
        find.begin();
        for s in streams {
            let key = Fed::key_of(s);
            if key.3.len() > MOST_STATIONS {
                return false;
            }
            let slot = find.find(
                &mut self.streams,
                |s| s.key == key,
                || Fed::new(key.clone()),
            );
            slot.load(lane, s);
        }
        fits
    }

    /// Takes everything out of a lane.
    pub fn clear(&mut self, lane: usize) {
        self.conductors.iter_mut().for_each(|s| s.clear(lane));
        self.faces.iter_mut().for_each(|s| s.clear(lane));
        self.radiators.iter_mut().for_each(|s| s.clear(lane));
        self.contacts.iter_mut().for_each(|s| s.clear(lane));
        self.rooms.iter_mut().for_each(|s| s.clear(lane));
        self.air.iter_mut().for_each(|s| s.clear(lane));
        self.stirred.iter_mut().for_each(|s| s.clear(lane));
        self.plumes.iter_mut().for_each(|s| s.clear(lane));
        self.layerings.iter_mut().for_each(|s| s.clear(lane));
        self.streams.iter_mut().for_each(|s| s.clear(lane));
    }

    /// Adds the heat that every element moves.
    #[inline(always)]
    pub fn give(
        &mut self,
        t: &[Wide],
        shares: &[Wide],
        reference_K: Wide,
        films: &Films,
        g: &mut Gains<'_>,
    ) {
        for s in &self.conductors {
            s.conduct(t, g);
        }
        Faces::find::<false>(&mut self.faces, t, shares, films);
        for s in &self.faces {
            s.give(g);
        }
        for s in &self.radiators {
            s.radiate(t, g);
        }
        for s in &self.contacts {
            s.give(t, shares, g);
        }
        for s in &mut self.rooms {
            s.give(t, shares, g);
        }
        for s in &mut self.air {
            s.give(t, g);
        }
        for s in &self.stirred {
            s.give(t, g);
        }
        for s in &mut self.plumes {
            s.give(t, shares, films, g);
        }
        for s in &self.layerings {
            s.give(t, g);
        }
        for s in &self.streams {
            s.give(t, reference_K, g);
        }
    }

    /// Adds how the heat that every element moves answers to temperatures, and to `g` how it grows where the shares of
    /// bodies do so by these, 1/s. `room` has a place for as many points.
    #[inline(always)]
    pub fn slopes(
        &mut self,
        t: &[Wide],
        room: &mut [Wide],
        (shares, growth): (&[Wide], &[Wide]),
        films: &Films,
        out: &mut GainSlopes,
        g: &mut Gains<'_>,
    ) {
        for s in &self.conductors {
            s.conduct_slopes(out);
        }
        Faces::find::<true>(&mut self.faces, t, shares, films);
        for s in &self.faces {
            s.slopes(out);
            if let Some(grows) = s.flow_grows(growth) {
                g.transfer(s.key.surface, s.key.air, grows);
            }
        }
        for s in &self.radiators {
            s.radiate_slopes(t, out);
        }
        for s in &self.contacts {
            s.slopes(shares, out);
            s.grow(t, shares, growth, g);
        }
        for s in &self.rooms {
            s.slopes(t, shares, out);
            s.grow(t, growth, g);
        }
        for s in &mut self.air {
            s.slopes(t, room, out);
        }
        for s in &self.stirred {
            s.slopes(t, out);
        }
        for s in &mut self.plumes {
            s.slopes(t, (shares, growth), films, out, g);
        }
        for s in &self.layerings {
            s.slopes(t, out);
        }
        for s in &self.streams {
            s.slopes(out);
        }
    }
}

//! The things in and around a chamber, one a file: its nodes, its elements, its ledger entries and its
//! words.
//!
//! To add one: a file here, and in this one a line each to declare it, to name its place in [`Things`], to
//! make it and to list it. Nothing else knows how many things there are.

mod air;
mod bed;
mod cold_end;
mod electronics;
mod feed_path;
mod feeder;
mod frame;
mod hotend;
mod motion;
mod motor;
mod openings;
mod panel;
mod part;
mod room;
mod shell;

pub use air::layer_name;
pub use part::{free_bed_m2, part_sides_m2};

pub(super) use panel::slicing;

use super::BuildError;
use super::points::Points;
use super::site::Site;
use super::timeline::Timeline;
use crate::network::{Area, Builder, Configuration, Direction, Index, Ledger, LedgerId, Network};
use crate::run::{Place, Run};

/// Something in or around a chamber.
pub(super) trait Thing {
    /// Adds what moves heat to, from or in it.
    ///
    /// # Errors
    /// When what the run asks for makes no element.
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError>;

    /// What it is to the radiation inside, if it stands there as a body.
    fn body(&self, run: &Run) -> Option<Body> {
        let _ = run;
        None
    }
}

/// A body that radiates inside.
pub(super) struct Body {
    /// What exports call it.
    pub role: &'static str,
    pub point: Index,
    pub area_m2: f64,
    pub emissivity: f64,
    /// The share of its area that is there, where it grows.
    pub grows: Option<Area>,
}

/// Opens a ledger with its place among those of its direction in reports.
fn ledger(b: &mut Builder, name: &str, direction: Direction, place: u16) -> LedgerId {
    b.open(Ledger {
        name: name.to_owned(),
        direction,
        audited: true,
        place,
    })
}

/// Whether something there stands in the chamber.
fn is_inside(place: Place) -> bool {
    place != Place::Room
}

/// All things of a chamber.
pub(super) struct Things {
    air: air::Air,
    bed: bed::Bed,
    part: part::Part,
    frame: frame::Frame,
    motion: motion::Motion,
    feeder: feeder::Feeder,
    hotend: hotend::Hotend,
    cold_end: cold_end::ColdEnd,
    shell: shell::Shell,
    electronics: electronics::Electronics,
    openings: openings::Openings,
    feed_path: feed_path::FeedPath,
    room: room::Room,
}

impl Things {
    /// Makes them, and the network of their nodes. Nodes are numbered in this order.
    pub fn new(run: &Run, timeline: &Timeline, mut b: Builder) -> (Self, Network) {
        let outside = motor::outside(&mut b);
        let air = air::Air::new(run, &mut b);
        let bed = bed::Bed::new(run, &mut b);
        let part = part::Part::new(run, timeline, &mut b);
        let frame = frame::Frame::new(run, &mut b);
        let motion = motion::Motion::new(run, outside, &mut b);
        let feeder = feeder::Feeder::new(run, outside, &mut b);
        let hotend = hotend::Hotend::new(run, &mut b);
        let cold_end = cold_end::ColdEnd::new(run, &mut b);
        let shell = shell::Shell::new(run, &mut b);
        let electronics = electronics::Electronics::new(&mut b);
        let openings = openings::Openings::new(&mut b);
        let feed_path = feed_path::FeedPath::new(&mut b);
        let room = room::Room::new(run, &mut b);
        let mut network = b.finish();
        let room = room.given(run, &mut network);
        let things = Self {
            air,
            bed,
            part,
            frame,
            motion,
            feeder,
            hotend,
            cold_end,
            shell,
            electronics,
            openings,
            feed_path,
            room,
        };
        (things, network)
    }

    /// Every thing. Elements are made, and bodies inside listed, in this order.
    pub fn all(&self) -> [&dyn Thing; 13] {
        [
            &self.shell,
            &self.air,
            &self.bed,
            &self.frame,
            &self.part,
            &self.motion,
            &self.feeder,
            &self.hotend,
            &self.cold_end,
            &self.electronics,
            &self.openings,
            &self.feed_path,
            &self.room,
        ]
    }

    /// Ledger of what is radiated through an opening.
    pub fn open_side(&self) -> LedgerId {
        self.openings.open_side
    }

    /// Where they are.
    pub fn points(&self) -> Points {
        Points {
            air: self.air.layers.clone(),
            bed: self.bed.plate,
            underside: self.bed.underside,
            part: self.part.node,
            frame: self.frame.node,
            motion: self.motion.node(),
            feeder: self.feeder.node(),
            hotend: self.hotend.node,
            cold_end: self.cold_end.node,
            lid: self.shell.lid.clone(),
            walls: self.shell.walls.clone(),
            door: self.shell.door.clone(),
            floor: self.shell.floor.clone(),
            room: self.room.air,
            outdoors: self.room.outdoors,
        }
    }
}

//! All things of a chamber.

use super::thing::Thing;
use super::{
    air, bed, chamber_heater, cold_end, electronics, feed_path, feeder, frame, hotend, motion,
    motor, openings, part, part_fan, room, second_hotend, shell, sun,
};
use crate::chamber::points::Points;
use crate::chamber::timeline::Timeline;
use crate::network::{Builder, LedgerId, Network};
use crate::run::Run;

/// All things of a chamber.
pub struct Things {
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
    chamber_heater: chamber_heater::ChamberHeater,
    part_fan: part_fan::PartFan,
    second_hotend: second_hotend::SecondHotend,
    sun: sun::Sun,
    room: room::Room,
}

impl Things {
    /// Makes them, and the network of their nodes.
    pub fn new(run: &Run, timeline: &Timeline, mut b: Builder) -> (Self, Network) {
        let begun = Self::begin(run, timeline, &mut b);
        let mut network = b.finish();
        let things = begun(run, &mut network);
        (things, network)
    }

    /// Makes their nodes, numbered in this order, and what is left to do once all nodes are there.
    pub fn begin(
        run: &Run,
        timeline: &Timeline,
        b: &mut Builder,
    ) -> impl FnOnce(&Run, &mut Network) -> Self + use<> {
        let outside = motor::outside(b);
        let air = air::Air::new(run, b);
        let bed = bed::Bed::new(run, b);
        let part = part::Part::new(run, timeline, b);
        let frame = frame::Frame::new(run, b);
        let motion = motion::Motion::new(run, outside, b);
        let feeder = feeder::Feeder::new(run, outside, b);
        let hotend = hotend::Hotend::new(run, b);
        let cold_end = cold_end::ColdEnd::new(run, b);
        let shell = shell::Shell::new(run, b);
        let electronics = electronics::Electronics::new(b);
        let openings = openings::Openings::new(b);
        let feed_path = feed_path::FeedPath::new(b);
        let chamber_heater = chamber_heater::ChamberHeater::new(run, b);
        let part_fan = part_fan::PartFan::new(run, b);
        let second_hotend = second_hotend::SecondHotend::new(run, b);
        let sun = sun::Sun::new(run, b);
        let room = room::Room::begin(run, b);
        move |run, network| Self {
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
            chamber_heater,
            part_fan,
            second_hotend,
            sun,
            room: room.given(run, network),
        }
    }

    /// Every thing. Elements are made, and bodies inside
    /// listed, in this order.
    pub fn all(&self) -> [&dyn Thing; 17] {
        [
            &self.shell,
            &self.bed,
            &self.frame,
            &self.part,
            &self.air,
            &self.motion,
            &self.feeder,
            &self.hotend,
            &self.cold_end,
            &self.electronics,
            &self.openings,
            &self.feed_path,
            &self.chamber_heater,
            &self.part_fan,
            &self.second_hotend,
            &self.sun,
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
            tops_m: self.air.tops_m.clone(),
            bed: self.bed.plate,
            underside: self.bed.underside,
            part: self.part.node,
            frame: self.frame.node,
            motion: self.motion.node(),
            feeder: self.feeder.node(),
            gear: self.feeder.gear,
            mount: self.feeder.mount,
            hotend: self.hotend.node,
            cold_end: self.cold_end.node,
            second_hotend: self.second_hotend.nodes,
            lid: self.shell.lid.clone(),
            walls: self.shell.walls.clone(),
            door: self.shell.door.clone(),
            floor: self.shell.floor.clone(),
            room: self.room.air,
            outdoors: self.room.outdoors,
        }
    }
}

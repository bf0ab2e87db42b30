//! What a thing may know of its surroundings when its elements are made: the run, the phase and the
//! arrangement, and where the other things are.

use super::build_error::BuildError;
use super::layers;
use super::points::Points;
use super::timeline::Recipe;
use crate::network::{Area, Conductor, Configuration, Convector, Index, LedgerId, Network, Plume};
use crate::physics::convection::{ConvectiveFace, Face};
use crate::physics::jet::stirring_speed_m_per_s;
use crate::run::Coefficient as K;
use crate::run::{Arrangement, ArrangementKind, OpenSide, Place, Run};

/// What the lid and door look like from inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Openness {
    /// The lid is off.
    pub lid_off: bool,
    /// The door stands open.
    pub door_open: bool,
}

impl Openness {
    /// Of an arrangement.
    #[must_use]
    pub fn of(arrangement: &Arrangement) -> Self {
        Self {
            lid_off: arrangement.opens(OpenSide::Lid),
            door_open: arrangement.opens(OpenSide::Door),
        }
    }
}

/// The surroundings of a thing in one configuration.
pub struct Site<'a> {
    pub run: &'a Run,
    pub p: &'a Points,
    pub recipe: &'a Recipe,
    pub open: Openness,
    pub network: &'a Network,
}

impl Site<'_> {
    /// The value of a coefficient.
    pub fn k(&self, c: K) -> f64 {
        self.run.coefficients.get(c)
    }

    pub fn layers(&self) -> usize {
        self.p.air.len()
    }

    pub fn top(&self) -> Index {
        self.p.top()
    }

    /// Of each layer, bottom to top, the share of the chamber's height that it takes.
    pub fn shares(&self) -> impl Iterator<Item = f64> {
        let tops_m = &self.p.tops_m;
        (0..tops_m.len()).map(|k| {
            let (from_m, to_m) = layers::from_to_m(tops_m, k);
            (to_m - from_m) / self.run.machine.height_m
        })
    }

    pub fn section_m2(&self) -> f64 {
        self.run.machine.width_m * self.run.machine.depth_m
    }

    /// The layer at a height above the floor: of two that meet there the upper one.
    pub fn layer_at(&self, height_m: f64) -> usize {
        layers::layer_at(&self.p.tops_m, height_m)
    }

    /// The air at a height above the floor.
    pub fn air_at(&self, height_m: f64) -> Index {
        self.p.air_at(height_m)
    }

    /// See [`Run::plate_m`].
    pub fn plate_m(&self) -> f64 {
        self.run.plate_m()
    }

    /// The air around the head.
    pub fn around_head(&self) -> Index {
        self.air_at(self.run.machine.head_height_m)
    }

    /// Height above the floor of something in the chamber, m; none in the room.
    pub fn height_m(&self, place: Place) -> Option<f64> {
        match place {
            Place::ChamberBottom => Some(0.0),
            Place::ChamberTop => Some(self.run.machine.head_height_m),
            Place::Room => None,
        }
    }

    /// The point around something that is in the chamber or outside it.
    pub fn around(&self, place: Place) -> Index {
        let height_m = self.height_m(place);
        height_m.map_or(self.p.room, |height_m| self.air_at(height_m))
    }

    /// Lets what warms the air at a height rise from there to the top: faces and conductances of a source
    /// with an area, seen from above.
    ///
    /// # Errors
    /// When the layers make no plume.
    pub fn rise(
        &self,
        height_m: f64,
        source_area_m2: f64,
        faces: Vec<Convector>,
        losses: Vec<Conductor>,
        c: &mut Configuration,
    ) -> Result<(), BuildError> {
        let from = self.layer_at(height_m);
        // In the top layer there is nothing to rise through.
        if from + 1 == self.layers() {
            c.convectors.extend(faces);
            c.conductors.extend(losses);
            return Ok(());
        }
        let meet_m = &self.p.tops_m[from..self.layers() - 1];
        let passes_m = meet_m.iter().map(|z| z - height_m).collect();
        let mut plume = Plume::new(self.p.air[from..].to_vec(), passes_m, source_area_m2)?;
        plume.multiplier = self.k(K::Plume);
        (plume.faces, plume.losses) = (faces, losses);
        c.plumes.push(plume);
        Ok(())
    }

    /// Air speed over the faces inside, m/s.
    fn speed_inside(&self) -> f64 {
        let fan = match self.recipe.arrangement.kind {
            // Make-up air comes from all sides. So does, for want of better, what is blown in: its jet would
            // cool more.
            ArrangementKind::BlowingIn { flow_m3_per_s, .. }
            | ArrangementKind::Extracting { flow_m3_per_s } => flow_m3_per_s / self.section_m2(),
            ArrangementKind::Recirculating { .. }
            | ArrangementKind::Closed
            | ArrangementKind::LidOff
            | ArrangementKind::DoorOpen => self.jet_speed(),
        };
        self.k(K::StirringSpeed) * self.recipe.phase.motion_duty + fan
    }

    /// Mean speed that the jet of a fan inside keeps the air at, m/s.
    pub fn jet_speed(&self) -> f64 {
        let arrangement = &self.recipe.arrangement;
        let ArrangementKind::Recirculating { flow_m3_per_s, .. } = arrangement.kind else {
            return 0.0;
        };
        let volume_m3 = self.section_m2() * self.run.machine.height_m;
        let outlet_m = arrangement.jet.outlet_m;
        self.k(K::JetStirring) * stirring_speed_m_per_s(flow_m3_per_s, outlet_m, volume_m3)
    }

    /// A face in the chamber.
    pub fn inside(&self, face: Face, length_m: f64) -> ConvectiveFace {
        ConvectiveFace {
            face,
            length_m,
            speed_m_per_s: self.speed_inside(),
            forced_length_m: length_m,
            multiplier: self.k(K::InsideConvection),
        }
    }

    /// A face in the chamber at which a fan may blow.
    pub fn blown_at(&self, face: Face, length_m: f64, at_m_per_s: f64) -> ConvectiveFace {
        blown(self.inside(face, length_m), at_m_per_s)
    }

    /// A horizontal face in the chamber at which a fan may blow; see [`Self::inside_plate`].
    pub fn blown_at_plate(
        &self,
        face: Face,
        size_m: (f64, f64),
        at_m_per_s: f64,
    ) -> ConvectiveFace {
        blown(self.inside_plate(face, size_m), at_m_per_s)
    }

    /// A horizontal face in the chamber. Natural convection goes by area over perimeter; air that a fan or the
    /// gantry moves runs along the depth, from the front with its door and vents to the back.
    pub fn inside_plate(&self, face: Face, (width_m, depth_m): (f64, f64)) -> ConvectiveFace {
        ConvectiveFace {
            forced_length_m: depth_m,
            ..self.inside(face, plate_length_m(width_m, depth_m))
        }
    }

    /// A face in the room.
    pub fn outside(&self, face: Face, length_m: f64) -> ConvectiveFace {
        ConvectiveFace {
            face,
            length_m,
            speed_m_per_s: 0.0,
            forced_length_m: length_m,
            multiplier: self.k(K::OutsideConvection),
        }
    }

    /// A face in the chamber or outside it.
    pub fn beside(&self, place: Place, face: Face, length_m: f64) -> ConvectiveFace {
        match place {
            Place::ChamberBottom | Place::ChamberTop => self.inside(face, length_m),
            Place::Room => self.outside(face, length_m),
        }
    }

    pub fn convector(
        &self,
        surface: Index,
        air: Index,
        area: Area,
        face: ConvectiveFace,
        ledger: LedgerId,
    ) -> Convector {
        Convector::new(surface, air, area, face, ledger, self.network.air())
    }
}

/// A face with air that moves over it at least so fast.
fn blown(face: ConvectiveFace, at_m_per_s: f64) -> ConvectiveFace {
    ConvectiveFace {
        speed_m_per_s: face.speed_m_per_s.max(at_m_per_s),
        ..face
    }
}

/// Characteristic length of a horizontal rectangle: area over perimeter, m.
pub fn plate_length_m(width_m: f64, depth_m: f64) -> f64 {
    width_m * depth_m / (2.0 * (width_m + depth_m))
}

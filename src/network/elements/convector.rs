//! Convection between a face and the air before it.

use super::law::{Moment, Pair};
use crate::network::description::{FaceDescription, GrowingArea, Link};
use crate::network::parts::{BodyId, Index, LedgerId};
use crate::number::Number;
use crate::physics::air::AirTable;
use crate::physics::convection::{ConvectiveFace, Face};
#[cfg(feature = "lanes")]
use crate::physics::prepared::ForcedTable;
use crate::physics::prepared::PreparedFace;
#[cfg(feature = "lanes")]
use std::sync::Arc;

/// An area that may grow with a body: fixed + grown × the body's share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Area at a share of 0, m2.
    pub fixed_m2: f64,
    /// What full growth adds, m2, and the body that grows.
    pub grown_m2: Option<(f64, BodyId)>,
}

impl Area {
    /// An area that does not change, m2.
    #[must_use]
    pub const fn constant(area_m2: f64) -> Self {
        Self {
            fixed_m2: area_m2,
            grown_m2: None,
        }
    }

    /// An area, m2, that grows with a body.
    #[must_use]
    pub const fn growing(fixed_m2: f64, grown_m2: f64, body: BodyId) -> Self {
        Self {
            fixed_m2,
            grown_m2: Some((grown_m2, body)),
        }
    }

    /// The area at a moment, m2.
    #[inline(always)]
    pub fn at<D: Number>(&self, m: &Moment<'_>) -> D {
        match self.grown_m2 {
            None => D::of(self.fixed_m2),
            Some((grown_m2, body)) => D::of(self.fixed_m2) + D::of(grown_m2) * m.share(body),
        }
    }

    /// The growing body it depends on.
    #[must_use]
    pub fn body(&self) -> Option<BodyId> {
        self.grown_m2.map(|(_, body)| body)
    }
}

impl From<Area> for GrowingArea {
    fn from(area: Area) -> Self {
        Self {
            fixed_m2: area.fixed_m2,
            grown_m2: area.grown_m2.map_or(0.0, |(grown_m2, _)| grown_m2),
        }
    }
}

/// Convection between a face and the air before it.
#[derive(Debug, Clone, PartialEq)]
pub struct Convector {
    /// The face.
    pub surface: Index,
    /// The air.
    pub air: Index,
    /// Its area.
    pub area: Area,
    /// Orientation, length, imposed speed.
    pub face: ConvectiveFace,
    /// The same, made ready to be asked often.
    prepared: PreparedFace,
    /// Ledger entry for heat that leaves from the face.
    pub ledger: LedgerId,
}

impl Convector {
    /// Makes a convector for air at one pressure.
    #[must_use]
    pub fn new(
        surface: Index,
        around: Index,
        area: Area,
        face: ConvectiveFace,
        ledger: LedgerId,
        air: &AirTable,
    ) -> Self {
        Self {
            surface,
            air: around,
            area,
            prepared: PreparedFace::new(&face, air),
            face,
            ledger,
        }
    }

    /// See [`PreparedFace::forced`].
    #[cfg(feature = "lanes")]
    pub(in crate::network) fn forced(&self) -> Option<&Arc<ForcedTable>> {
        self.prepared.forced()
    }

    /// The face with what natural and forced convection need of it.
    pub(super) fn description(&self, name: &dyn Fn(Index) -> String) -> FaceDescription {
        FaceDescription {
            surface: name(self.surface),
            air: name(self.air),
            area: self.area.into(),
            orientation: match self.face.face {
                Face::Vertical => "vertical",
                Face::Up => "up",
                Face::Down => "down",
                Face::Cylinder => "cylinder",
            },
            length_m: self.face.length_m,
            forced_length_m: self.face.forced_length_m,
            speed_m_per_s: self.face.speed_m_per_s,
            natural_multiplier: self.face.multiplier,
        }
    }
}

impl Pair for Convector {
    fn joins(&self) -> (Index, Index) {
        (self.surface, self.air)
    }
    fn ledger(&self) -> LedgerId {
        self.ledger
    }
    fn body(&self) -> Option<BodyId> {
        self.area.body()
    }
    #[inline(always)]
    fn flow<D: Number>(&self, s: D, a: D, m: &Moment<'_>) -> D {
        self.area.at::<D>(m) * (self.prepared.coefficient(s, a, m.air) * (s - a))
    }
    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        out.push(Link::Convection {
            face: self.description(name),
        });
    }
}

//! The stations of the feed path: spool, guide tube, drive gear and cold end.

use crate::network::Stream;
use crate::run::{Coefficient as K, Run};

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

    /// The temperature that filament must stay below here, K: the material's limit, less what this station
    /// allows for.
    #[must_use]
    pub fn limit_K(self, run: &Run) -> f64 {
        let allowance = match self {
            Self::Spool => K::SpoolAllowance,
            Self::GuideTube => K::TubeAllowance,
            Self::DriveGear => K::GearAllowance,
            Self::ColdEnd => K::ColdEndAllowance,
        };
        run.softening_limit_K() - run.coefficients.get(allowance)
    }
}

/// Of each station, the last stretch of the filament's way that belongs to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stations([Option<usize>; StationKind::ALL.len()]);

impl Stations {
    pub fn of(stream: &Stream) -> Self {
        let last = |kind: StationKind| {
            stream
                .stations()
                .iter()
                .rposition(|s| s.name == kind.name())
        };
        Self(StationKind::ALL.map(last))
    }

    /// The last stretch there; none at the spool, where the filament sets out.
    pub const fn last(&self, kind: StationKind) -> Option<usize> {
        self.0[kind as usize]
    }
}

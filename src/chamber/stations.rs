//! The stations of the feed path: spool, guide tube, drive gear and cold end.

use crate::network::elements::stream::Part;
use crate::network::{Index, Stream};
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

/// How the feed path's stations are read in one configuration.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stations {
    each: [Station; StationKind::ALL.len()],
    /// All parts of all stations, one after the other: part, point, share.
    shares: Vec<(usize, Index, f64)>,
}

#[derive(Debug, Clone, PartialEq)]
struct Station {
    /// The last stretch of the filament's way that belongs to it.
    last: Option<usize>,
    /// Of what a limit is held against: the points that filament which has stood there follows, each by its share.
    standing: Vec<Vec<(Index, f64)>>,
}

/// What of the filament a station's limit is held against.
pub(super) const fn parts(station: StationKind) -> &'static [Part] {
    match station {
        StationKind::DriveGear => &[Part::Surface, Part::Mean],
        StationKind::Spool | StationKind::GuideTube | StationKind::ColdEnd => &[Part::Mean],
    }
}

/// So many parts there are of all stations together.
pub(super) const PARTS: usize = {
    let (mut all, mut k) = (0, 0);
    while k < StationKind::ALL.len() {
        all += parts(StationKind::ALL[k]).len();
        k += 1;
    }
    all
};

impl Stations {
    /// The stations along a stream; the filament in the cold end follows the hotend by a share.
    pub fn of(stream: &Stream, share_of_hotend: f64, hotend: Index) -> Self {
        let each = StationKind::ALL.map(|kind| {
            let mut along = stream.stations().iter();
            let last = along.rposition(|s| s.name == kind.name());
            let share = match kind {
                StationKind::ColdEnd => share_of_hotend,
                StationKind::Spool | StationKind::GuideTube | StationKind::DriveGear => 0.0,
            };
            let standing = parts(kind).iter().map(|part| {
                let mut shares: Vec<(Index, f64)> = Vec::new();
                let mut add = |point, share| {
                    if share == 0.0 {
                        return;
                    }
                    match shares.iter_mut().find(|(p, _)| *p == point) {
                        Some((_, known)) => *known += share,
                        None => shares.push((point, share)),
                    }
                };
                match last {
                    Some(k) => stream.shares_standing(k, *part, |point, of_air| {
                        add(point, of_air * (1.0 - share));
                    }),
                    None => add(stream.store, 1.0),
                }
                add(hotend, share);
                shares
            });
            Station {
                last,
                standing: standing.collect(),
            }
        });
        let standing = each.iter().flat_map(|station| &station.standing);
        let shares = standing.enumerate().flat_map(|(part, shares)| {
            let each = shares.iter();
            each.map(move |(point, share)| (part, *point, *share))
        });
        Self {
            shares: shares.collect(),
            each,
        }
    }

    /// Of all [`PARTS`] the points that filament which has stood there follows: part, point, share.
    pub fn shares(&self) -> &[(usize, Index, f64)] {
        &self.shares
    }

    /// The last stretch there; none at the spool, where the filament sets out.
    pub const fn last(&self, kind: StationKind) -> Option<usize> {
        self.each[kind as usize].last
    }

    /// Of each of [`parts`]: the points that filament which has stood there follows, each by its share.
    pub fn standing(&self, kind: StationKind) -> &[Vec<(Index, f64)>] {
        &self.each[kind as usize].standing
    }
}

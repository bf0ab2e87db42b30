//! The cautions that go with results, in one place.

use crate::run::ArrangementKind;
use crate::run::Run;

/// A caution for the person who acts on a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Caution {
    /// Always: an estimate is no permit.
    Estimate,
    /// Opening a machine meant to run closed.
    Opening,
    /// Air led out of the chamber.
    ExtractedAir,
    /// Fitting a fan.
    Wiring,
    /// Hours and days of heat with nobody there.
    Unattended,
}

impl Caution {
    /// The caution in words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Estimate => {
                "this is an estimate, not a permit: measure the first run at the drive gear and compare"
            }
            Self::Opening => {
                "opening a machine that is meant to run closed can defeat interlocks and breach the shop's certified way of working: ask whoever holds the certificate first"
            }
            Self::ExtractedAir => {
                "extracted air carries fumes and particles: filter it or lead it outdoors as local codes say, and mind where the make-up air comes from"
            }
            Self::Wiring => {
                "mains wiring is licensed work: have fans and thermostats fitted by someone who may"
            }
            Self::Unattended => {
                "unattended heat needs the fire precautions that local rules require"
            }
        }
    }

    /// The cautions that fit a run.
    #[must_use]
    pub fn for_run(run: &Run) -> Vec<Self> {
        let kinds = std::iter::once(&run.arrangement)
            .chain(run.schedule.iter().map(|s| &s.arrangement))
            .map(|a| &a.kind);
        let mut found = vec![Self::Estimate, Self::Unattended];
        for kind in kinds {
            match kind {
                ArrangementKind::Closed => {}
                ArrangementKind::LidOff | ArrangementKind::DoorOpen => found.push(Self::Opening),
                ArrangementKind::Extracting { .. } | ArrangementKind::BlowingIn { .. } => {
                    found.extend([Self::ExtractedAir, Self::Wiring]);
                }
                ArrangementKind::Recirculating { .. } => found.push(Self::Wiring),
            }
        }
        found.sort_unstable();
        found.dedup();
        found
    }
}

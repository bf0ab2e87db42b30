//! The cautions that go with results, in one place.

use crate::run::ArrangementKind;
use crate::run::Run;

/// A caution for the person who acts on a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Caution {
    /// Always: an estimate is no permit.
    Estimate,
    /// Opening a machine meant to run closed.
    Opening,
    /// Air led out of the chamber.
    ExtractedAir,
    /// A duct, fan or vent cut into the machine.
    ChangedMachine,
    /// A fan that a run depends on.
    FlowAlarm,
    /// Fitting a fan.
    Wiring,
    /// Fitting a stronger heater.
    StrongerHeater,
    /// Hours and days of heat with nobody there.
    Unattended,
    /// A thermometer inside the machine.
    Probe,
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
            Self::ChangedMachine => {
                "a fan, duct or vent cut into the machine changes what was certified: ask whoever holds the certificate and the maker first, keep interlocks, guards and the parts that hold back fire as they are, and cut with the machine unplugged"
            }
            Self::FlowAlarm => {
                "days of work hang on this fan: let a flow or pressure switch behind the filter pause the job and call somebody when the air stops, fitted by someone who may"
            }
            Self::Wiring => {
                "mains wiring is licensed work: have fans and thermostats fitted by someone who may"
            }
            Self::StrongerHeater => {
                "a stronger heater needs wiring, a supply and an over-temperature cut-out made for it, fitted by someone who may"
            }
            Self::Unattended => {
                "unattended heat needs the fire precautions that local rules require"
            }
            Self::Probe => {
                "fix probe and cable before the start, with the machine cold, standing still and unplugged, clear of whatever moves or is hot, as the machine's own instructions say; nobody reaches into it while it runs, and opening it lets its warm air out"
            }
        }
    }

    /// The caution in a few words, where many stand in one line.
    #[must_use]
    pub const fn brief(self) -> &'static str {
        match self {
            Self::Estimate => "an estimate - measure the first run",
            Self::Opening => "opening can defeat interlocks",
            Self::ExtractedAir => "filter extracted air",
            Self::ChangedMachine => "a cut vent changes a certified machine",
            Self::FlowAlarm => "let a flow switch pause the job",
            Self::Wiring => "mains wiring is licensed work",
            Self::StrongerHeater => "a stronger heater needs its own cut-out",
            Self::Unattended => "unattended heat: fire rules",
            Self::Probe => {
                "fix probes before the start, machine cold and unplugged; no hand in it while it is hot or moves"
            }
        }
    }

    /// The cautions that fit a run.
    #[must_use]
    pub fn for_run(run: &Run) -> Vec<Self> {
        let arrangements =
            std::iter::once(&run.arrangement).chain(run.schedule.iter().map(|s| &s.arrangement));
        let mut found = vec![Self::Estimate, Self::Unattended];
        for arrangement in arrangements {
            if !arrangement.stays_closed() {
                found.push(Self::Opening);
            }
            match arrangement.kind {
                ArrangementKind::Closed | ArrangementKind::LidOff | ArrangementKind::DoorOpen => {}
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::{Arrangement, OpenSide};

    /// An open side has its caution whatever fan runs, and the fan its own whatever is open.
    #[test]
    fn a_fan_beside_an_open_lid_has_both_cautions() {
        let mut run = crate::runfile::demo().run;
        run.arrangement = Arrangement {
            open: Some(OpenSide::Lid),
            ..Arrangement::of(ArrangementKind::Extracting {
                flow_m3_per_s: 0.01,
            })
        };
        let found = Caution::for_run(&run);
        for caution in [Caution::Opening, Caution::ExtractedAir, Caution::Wiring] {
            assert!(found.contains(&caution), "{caution:?}");
        }
    }
}

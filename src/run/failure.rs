//! What may fail on the way.

/// Something that does not work for a stretch of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Failure {
    /// What.
    pub kind: FailureKind,
    /// Begin, s from the start of the run.
    pub begin_s: f64,
    /// End, s from the start of the run; the run's own where it never works again.
    pub end_s: f64,
}

/// What fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FailureKind {
    /// The fan of whatever arrangement holds.
    FanOff,
    /// The air conditioner of the room.
    AirConditionerOff,
    /// The power of the building: the machine, its fan, the air conditioner.
    PowerCut,
}

impl FailureKind {
    /// The word for it in run files and reports.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::FanOff => "fan off",
            Self::AirConditionerOff => "air conditioner off",
            Self::PowerCut => "power cut",
        }
    }
}

/// What does not work at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Off {
    /// The arrangement's fan.
    pub fan: bool,
    /// The room's air conditioner.
    pub air_conditioner: bool,
    /// Everything in the machine that takes power.
    pub machine: bool,
}

impl Off {
    /// Whatever any of the failures turns off at that moment, s.
    #[must_use]
    pub fn at(failures: &[Failure], t_s: f64) -> Self {
        let mut off = Self::default();
        for failure in failures {
            if failure.begin_s <= t_s && t_s < failure.end_s {
                match failure.kind {
                    FailureKind::FanOff => off.fan = true,
                    FailureKind::AirConditionerOff => off.air_conditioner = true,
                    FailureKind::PowerCut => {
                        off = Self {
                            fan: true,
                            air_conditioner: true,
                            machine: true,
                        };
                    }
                }
            }
        }
        off
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each moment has whatever any failure turns off, ends excluded; a power cut takes all.
    #[test]
    fn what_is_off_is_the_union() {
        let failure = |kind, begin_s, end_s| Failure {
            kind,
            begin_s,
            end_s,
        };
        let all = [
            failure(FailureKind::FanOff, 0.0, 20.0),
            failure(FailureKind::FanOff, 10.0, 30.0),
            failure(FailureKind::AirConditionerOff, 20.0, 60.0),
            failure(FailureKind::PowerCut, 40.0, 50.0),
        ];
        let off = |t_s| {
            let off = Off::at(&all, t_s);
            (off.fan, off.air_conditioner, off.machine)
        };
        assert_eq!(off(-1.0), (false, false, false));
        assert_eq!(off(0.0), (true, false, false));
        assert_eq!(off(29.0), (true, true, false));
        assert_eq!(off(30.0), (false, true, false));
        assert_eq!(off(40.0), (true, true, true));
        assert_eq!(off(50.0), (false, true, false));
        assert_eq!(off(60.0), (false, false, false));
    }
}

//! Where a thermometer can be held in every machine: the few places that studies of thousands of runs look at without
//! asking for their names.

use crate::chamber::Simulation;

/// Where a thermometer can be held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Thermometer {
    /// The feeder's motor.
    FeederMotor,
    /// The drive gear.
    DriveGear,
    /// The cold end.
    ColdEnd,
    /// The motion motors.
    MotionMotors,
    /// The air under the lid.
    TopAir,
    /// The air over the floor.
    BottomAir,
}

impl Thermometer {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::FeederMotor,
        Self::DriveGear,
        Self::ColdEnd,
        Self::MotionMotors,
        Self::TopAir,
        Self::BottomAir,
    ];

    /// As the tables of `check` call the place.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::FeederMotor => "feeder motor",
            Self::DriveGear => "drive gear",
            Self::ColdEnd => "cold end",
            Self::MotionMotors => "motion motors",
            Self::TopAir => "air top",
            Self::BottomAir => "air bottom",
        }
    }

    /// The point of the network it is at.
    #[must_use]
    pub fn point(self, s: &Simulation) -> Option<usize> {
        let points = &s.chamber.points;
        match self {
            Self::FeederMotor => Some(points.feeder),
            Self::DriveGear => Some(points.gear),
            Self::ColdEnd => Some(points.cold_end),
            Self::MotionMotors => Some(points.motion),
            Self::TopAir => points.air.last().copied(),
            Self::BottomAir => points.air.first().copied(),
        }
    }
}

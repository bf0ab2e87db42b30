//! At which reading of a thermometer to act.
//!
//! Nobody reads the filament; a thermometer on the motor beside it, or in the air around it, is read. The reading told
//! is the lowest at which the filament could come to its limit less the required margin, by how far both are apart
//! whenever the filament is about as warm as it gets: so it is passed no later than that.

use super::thermometer::Thermometer;
use crate::chamber::{Simulation, StationKind};
use crate::run::{Place, Run};

/// What counts as about as warm as it gets, K.
const ABOUT_K: f64 = 5.0;
/// Places within each piece of the course that are looked at.
const LOOKS: u32 = 4;

/// When to act.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Alarm {
    /// Where the thermometer is.
    pub thermometer: Thermometer,
    /// What it shows then, K.
    pub reading_K: f64,
}

/// The alarm for a station whose hottest filament is so warm, K; none where no thermometer in the machine tells of it.
#[must_use]
pub fn alarm(run: &Run, s: &Simulation, station: StationKind, peak_K: f64) -> Option<Alarm> {
    let thermometer = match station {
        StationKind::DriveGear => Thermometer::FeederMotor,
        StationKind::ColdEnd => Thermometer::ColdEnd,
        StationKind::GuideTube => Thermometer::TopAir,
        StationKind::Spool if run.machine.spool == Place::Room => return None,
        StationKind::Spool => Thermometer::TopAir,
    };
    let point = thermometer.point(s)?;
    let target_K = station.limit_K(run) - run.requirements.margin_K;
    let from_K = target_K.min(peak_K - ABOUT_K);
    let mut reading_K = f64::INFINITY;
    for piece in &s.trajectory.pieces {
        let filament = s.filament_over(piece, station);
        for look in 0..=LOOKS {
            let x = f64::from(look) / f64::from(LOOKS);
            let filament_K = filament.at(x);
            if filament_K >= from_K {
                let apart_K = s.point_at(piece, x, point) - filament_K;
                reading_K = reading_K.min(target_K + apart_K);
            }
        }
    }
    reading_K.is_finite().then_some(Alarm {
        thermometer,
        reading_K,
    })
}

#[cfg(test)]
mod tests {
    use crate::chamber::IntegratorKind;
    use crate::integrate::Options;
    use crate::runfile::demo;
    use crate::study::check;

    /// The filament is never nearer its limit than required while the thermometer still shows less, whether the run
    /// softens or holds, and the alarm does not ring for nothing.
    #[test]
    fn it_rings_before_the_margin_is_gone() {
        let mut cooler = demo().inputs;
        let room = cooler.input("room.shift").expect("a room");
        cooler.set(&room, -8.0).expect("cooler");
        for (inputs, softens) in [(demo().inputs, true), (cooler, false)] {
            let run = inputs.to_run().expect("a run");
            let f = check(&run, IntegratorKind::Rosenbrock, &Options::fine()).expect("it runs");
            let (station, s) = (f.outcome.station, &f.simulation);
            let alarm = f.alarm.expect("a motor is there");
            let point = alarm.thermometer.point(s).expect("there");
            let target_K = station.limit_K(&run) - run.requirements.margin_K;
            let mut rang = false;
            for minute in 0..121 * 60 {
                let at_s = f64::from(minute) * 60.0;
                let rings = s.temperature_K(point, at_s) >= alarm.reading_K - 0.02;
                rang |= rings;
                let is_near = s.filament_K(station, at_s) >= target_K;
                assert!(rings || !is_near, "{at_s} s");
            }
            assert_eq!(rang, softens);
            // The motor is some kelvins warmer than the filament beside it.
            assert!(
                (alarm.reading_K - target_K).abs() < 8.0,
                "{alarm:?}, {target_K}"
            );
        }
    }
}

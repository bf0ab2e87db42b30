//! What a shop checks before a long job and does during it: all that follows from the run itself, in order of time.
//! No prose: that is for whoever prints it.

use super::above::intervals_above;
use super::alarm::Alarm;
use super::hottest::Hottest;
use super::spools::{Spool, changes, stretches};
use super::thermometer::Thermometer;
use crate::chamber::{Simulation, StationKind};
use crate::run::{Arrangement, Control, Hours, OpenSide, PhaseKind, Run};
use jiff::civil::DateTime;

/// The sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct LogSheet {
    /// What to check before the start.
    pub before: Vec<Check>,
    /// What comes during the run, in order of time.
    pub during: Vec<Event>,
}

/// Something to check before the start.
#[derive(Debug, Clone, PartialEq)]
pub enum Check {
    /// The filament is dry and has to stay so: it is kept in its sealed box.
    FilamentDry,
    /// The filament is damp.
    FilamentDamp {
        /// How much higher its softening limit would be if it were fed dry, K.
        dry_gives_K: f64,
    },
    /// Spools at hand.
    Spools {
        /// How many, the first included.
        count: usize,
        /// What a full one holds, kg.
        full_kg: f64,
        /// What the first holds, kg.
        first_kg: f64,
        /// What is drawn from all of them, kg.
        drawn_kg: f64,
    },
    /// The bed's setpoint at the start; and what holds the part down.
    Bed {
        /// Setpoint, K; none: the bed stays cold.
        setpoint_K: Option<f64>,
    },
    /// The room's temperature.
    Room {
        /// As assumed at the start, K.
        assumed_K: f64,
    },
    /// What is open and what is shut at the start.
    Shell {
        /// Whether the lid is on.
        lid_on: bool,
        /// Whether the door is shut.
        door_shut: bool,
    },
    /// The fan of the arrangement, at the start or in some stretch of the run.
    Fan {
        /// The arrangement's name.
        arrangement: &'static str,
        /// Volume flow, m3/s.
        flow_m3_per_s: f64,
        /// Whether it should run from the start: it is neither scheduled for later nor run by a thermostat.
        runs_at_start: bool,
        /// Above and below which temperature of the air a thermostat starts and stops it, K, where one does.
        thermostat_K: Option<(f64, f64)>,
    },
    /// A thermometer to be in place.
    Alarm {
        /// Where.
        thermometer: Thermometer,
        /// At which reading to act, K.
        reading_K: f64,
    },
}

/// Something during the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// When, s from the start.
    pub at_s: f64,
    /// When, local date and time.
    pub at: DateTime,
    /// Whether that is within the staffed hours; none where they are not known.
    pub staffed: Option<bool>,
    /// What.
    pub what: What,
}

/// What happens, or is to be done.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// A spool is changed.
    SpoolChange {
        /// Number of the spool that is put on, the first being 1; by the changes of the plan.
        spool: usize,
        /// When the change is done, s from the start.
        until_s: f64,
        /// Whether the door stands open meanwhile.
        door_open: bool,
    },
    /// A spool is used up, and the plan has no change then.
    SpoolRunsOut {
        /// Its number.
        spool: usize,
    },
    /// A pause begins.
    Pause {
        /// When it ends, s from the start.
        until_s: f64,
    },
    /// Another arrangement begins.
    Arrange {
        /// Its name.
        arrangement: &'static str,
        /// When it ends, s from the start.
        until_s: f64,
    },
    /// The filament comes nearer to its limit than required.
    MarginBegins {
        /// When that ends, s from the start.
        until_s: f64,
    },
    /// It no longer is.
    MarginEnds,
    /// The filament passes its limit.
    AboveBegins {
        /// When that ends, s from the start.
        until_s: f64,
    },
    /// It falls below it again.
    AboveEnds,
    /// The hottest moment.
    Hottest {
        /// Where.
        station: StationKind,
        /// Filament that has stood there, K.
        filament_K: f64,
        /// The limit there, K.
        limit_K: f64,
    },
    /// The room's temperature is read: the warmest moment of the day at which somebody is there.
    ReadRoom {
        /// What it should be, K.
        expected_K: f64,
    },
    /// The job ends.
    End,
}

/// Stretches that are apart by less are one on the sheet, s: nobody writes down every stroke of a thermostat.
const APART_S: f64 = 900.0;
/// The room is looked at so often, s.
const LOOK_S: f64 = 600.0;
/// Where nobody says who is there, a day of the run is worth a reading from so long on, s.
const WORTH_READING_S: f64 = 12.0 * 3600.0;

/// The sheet of a run.
///
/// * `hottest`: its hottest moment.
/// * `alarm`: at which reading to act, where a thermometer tells.
/// * `spools`: those of the run, as [`spools`](super::spools::spools) gives them.
#[must_use]
pub fn log_sheet(
    run: &Run,
    simulation: &Simulation,
    hottest: &Hottest,
    alarm: Option<&Alarm>,
    spools: &[Spool],
) -> LogSheet {
    LogSheet {
        before: before(run, simulation, alarm, spools),
        during: during(run, simulation, hottest, spools),
    }
}

fn before(
    run: &Run,
    simulation: &Simulation,
    alarm: Option<&Alarm>,
    spools: &[Spool],
) -> Vec<Check> {
    let filament = if run.filament.is_damp {
        Check::FilamentDamp {
            dry_gives_K: run.material.damp_lowers_K,
        }
    } else {
        Check::FilamentDry
    };
    let mut found = vec![filament];
    found.extend(run.spool.map(|mass| Check::Spools {
        count: spools.len(),
        full_kg: mass.full_kg,
        first_kg: mass.first_kg,
        drawn_kg: spools.iter().map(|spool| spool.drawn_kg).sum(),
    }));
    found.push(Check::Bed {
        setpoint_K: run.phases.first().and_then(|phase| phase.bed_K),
    });
    found.push(Check::Room {
        assumed_K: simulation.temperature_K(simulation.chamber.points.room, 0.0),
    });
    let scheduled = run.schedule.iter().find(|s| s.begin_s <= 0.0);
    let at_start = scheduled.map_or(&run.arrangement, |s| &s.arrangement);
    found.push(Check::Shell {
        lid_on: !at_start.opens(OpenSide::Lid),
        door_shut: !at_start.opens(OpenSide::Door),
    });
    let later = run.schedule.iter().map(|s| &s.arrangement);
    let all = std::iter::once(at_start)
        .chain([&run.arrangement])
        .chain(later);
    found.extend(all.into_iter().find_map(|fan| {
        let thermostat_K = match fan.control {
            Control::Constant => None,
            Control::Thermostat {
                on_above_K,
                off_below_K,
            } => Some((on_above_K, off_below_K)),
        };
        Some(Check::Fan {
            arrangement: fan.name(),
            flow_m3_per_s: fan.kind.flow_m3_per_s()?,
            runs_at_start: std::ptr::eq(fan, at_start) && thermostat_K.is_none(),
            thermostat_K,
        })
    }));
    found.extend(alarm.map(|alarm| Check::Alarm {
        thermometer: alarm.thermometer,
        reading_K: alarm.reading_K,
    }));
    found
}

fn during(run: &Run, simulation: &Simulation, hottest: &Hottest, spools: &[Spool]) -> Vec<Event> {
    let mut found: Vec<(f64, What)> = Vec::new();
    let changes = changes(run);
    let opens = |arrangement: &Arrangement| arrangement.opens(OpenSide::Door);
    let opens_at = |at_s: f64| {
        let holds = run
            .schedule
            .iter()
            .find(|s| s.begin_s <= at_s && at_s < s.end_s);
        opens(holds.map_or(&run.arrangement, |s| &s.arrangement))
    };
    found.extend(changes.iter().enumerate().map(|(k, (begin_s, until_s))| {
        let change = What::SpoolChange {
            spool: k + 2,
            until_s: *until_s,
            door_open: opens_at(*begin_s),
        };
        (*begin_s, change)
    }));
    let missed = spools.iter().filter(|s| s.lacks_change(spools.len()));
    found.extend(missed.filter_map(|spool| {
        let at_s = spool.runs_out_s?;
        Some((
            at_s,
            What::SpoolRunsOut {
                spool: spool.number,
            },
        ))
    }));
    let pauses = stretches(run, PhaseKind::Pause);
    found.extend(
        pauses
            .iter()
            .map(|(at_s, until_s)| (*at_s, What::Pause { until_s: *until_s })),
    );
    // A door that is opened for a spool is told of with it.
    let is_change = |begin_s: f64| {
        changes
            .iter()
            .any(|(from, to)| *from <= begin_s && begin_s < *to)
    };
    let others = run
        .schedule
        .iter()
        .filter(|s| !(is_change(s.begin_s) && opens(&s.arrangement)));
    found.extend(others.map(|s| {
        let arrangement = s.arrangement.name();
        let until_s = s.end_s;
        (
            s.begin_s,
            What::Arrange {
                arrangement,
                until_s,
            },
        )
    }));
    for (from_s, until_s) in joined(intervals_above(run, simulation, run.requirements.margin_K)) {
        found.push((from_s, What::MarginBegins { until_s }));
        found.push((until_s, What::MarginEnds));
    }
    for (from_s, until_s) in joined(intervals_above(run, simulation, 0.0)) {
        found.push((from_s, What::AboveBegins { until_s }));
        found.push((until_s, What::AboveEnds));
    }
    let peak = What::Hottest {
        station: hottest.station,
        filament_K: hottest.max_K,
        limit_K: hottest.limit_K,
    };
    found.push((hottest.max_at_s, peak));
    found.extend(room_readings(run, simulation));
    found.push((run.duration_s, What::End));
    // The end comes last: the sort is stable.
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let staffed = run.staffed.as_ref();
    let event = |(at_s, what)| {
        let at = run.date_time(at_s);
        Event {
            at_s,
            at,
            staffed: staffed.map(|hours: &Hours| hours.contain(at)),
            what,
        }
    };
    found.into_iter().map(event).collect()
}

/// Stretches that are all but one, as one.
fn joined(stretches: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let mut found: Vec<(f64, f64)> = Vec::new();
    for (from_s, to_s) in stretches {
        match found.last_mut() {
            Some((_, end_s)) if from_s - *end_s < APART_S => *end_s = to_s,
            _ => found.push((from_s, to_s)),
        }
    }
    found
}

/// Once in each day on which somebody is there, when the room is warmest meanwhile.
fn room_readings(run: &Run, simulation: &Simulation) -> Vec<(f64, What)> {
    let room = simulation.chamber.points.room;
    let is_staffed = |at: DateTime| run.staffed.as_ref().is_none_or(|hours| hours.contain(at));
    let looks = (run.duration_s / LOOK_S).floor() as u32;
    // Of each day: how often somebody could look, and what is warmest then.
    let mut days: Vec<(jiff::civil::Date, u32, (f64, f64))> = Vec::new();
    for look in 0..=looks {
        let at_s = f64::from(look) * LOOK_S;
        let at = run.date_time(at_s);
        if !is_staffed(at) {
            continue;
        }
        let room_K = simulation.temperature_K(room, at_s);
        match days.last_mut() {
            Some((day, looks, warmest)) if *day == at.date() => {
                *looks += 1;
                if room_K > warmest.1 {
                    *warmest = (at_s, room_K);
                }
            }
            _ => days.push((at.date(), 1, (at_s, room_K))),
        }
    }
    let is_worth = |looks: u32| {
        run.staffed.is_some()
            || run.duration_s < WORTH_READING_S
            || f64::from(looks) * LOOK_S >= WORTH_READING_S
    };
    days.into_iter()
        .filter(|(_, looks, _)| is_worth(*looks))
        .map(|(_, _, (at_s, expected_K))| (at_s, What::ReadRoom { expected_K }))
        .collect()
}

#[cfg(test)]
mod tests;

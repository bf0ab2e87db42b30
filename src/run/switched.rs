//! What a log says was done at the machine: a fan switched, a lid or a door opened.
//!
//! Over the time that a log tells of, what it says holds in the place of the run file's arrangement; before and after,
//! the run file's plan does.

use super::arrangement::{Arrangement, ArrangementKind, Control, OpenSide, Scheduled};
use super::whole::Run;

/// What is switched or opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Switch {
    /// The fan of the run file's arrangement.
    Fan,
    /// The lid.
    Lid,
    /// The door.
    Door,
}

/// When something was on, or open.
#[derive(Debug, Clone, PartialEq)]
pub struct Switched {
    /// What.
    pub what: Switch,
    /// Begin of the time that the log tells of, s from the start of the run.
    pub from_s: f64,
    /// End of that time, s.
    pub to_s: f64,
    /// When it was on or open within that time: begins and ends, s, in order, not touching.
    pub on_s: Vec<(f64, f64)>,
}

impl Switched {
    /// Whether it is on or open at a time, s; none outside of the time that the log tells of.
    #[must_use]
    pub fn at(&self, t_s: f64) -> Option<bool> {
        (self.from_s <= t_s && t_s < self.to_s).then(|| {
            let next = self.on_s.partition_point(|(_, end_s)| *end_s <= t_s);
            self.on_s
                .get(next)
                .is_some_and(|(begin_s, _)| *begin_s <= t_s)
        })
    }

    /// How long it is on or open, s.
    #[must_use]
    pub fn lasts_s(&self) -> f64 {
        self.on_s
            .iter()
            .map(|(begin_s, end_s)| end_s - begin_s)
            .sum()
    }

    /// How often it changes.
    #[must_use]
    pub fn changes(&self) -> usize {
        self.cuts_s()
            .filter(|t_s| self.from_s < *t_s && *t_s < self.to_s)
            .count()
    }

    /// The same so much later, s.
    #[must_use]
    pub fn later(&self, by_s: f64) -> Self {
        let moved = |(begin_s, end_s): &(f64, f64)| (begin_s + by_s, end_s + by_s);
        Self {
            what: self.what,
            from_s: self.from_s + by_s,
            to_s: self.to_s + by_s,
            on_s: self.on_s.iter().map(moved).collect(),
        }
    }

    fn cuts_s(&self) -> impl Iterator<Item = f64> {
        self.on_s
            .iter()
            .flat_map(|(begin_s, end_s)| [*begin_s, *end_s])
    }
}

impl Run {
    /// This run as it was done. A fan that is on without any in the run stays off.
    #[must_use]
    pub fn as_switched(&self, switched: &[Switched]) -> Self {
        let mut run = self.clone();
        put(
            &run.arrangement,
            &mut run.schedule,
            run.duration_s,
            switched,
        );
        run
    }

    /// The arrangement whose fan a log may switch: the run's own, or else the first scheduled one that has a fan.
    #[must_use]
    pub fn fan(&self) -> Option<&Arrangement> {
        fan_of(&self.arrangement, &self.schedule)
    }
}

fn fan_of<'a>(arrangement: &'a Arrangement, schedule: &'a [Scheduled]) -> Option<&'a Arrangement> {
    std::iter::once(arrangement)
        .chain(schedule.iter().map(|s| &s.arrangement))
        .find(|a| a.kind.has_fan())
}

/// Puts what was done in the place of what was planned, as long as a log tells of it. Of two logs that tell of the
/// same the later one counts.
pub(super) fn put(
    arrangement: &Arrangement,
    schedule: &mut Vec<Scheduled>,
    duration_s: f64,
    switched: &[Switched],
) {
    if switched.is_empty() {
        return;
    }
    let fan = fan_of(arrangement, schedule);
    let mut cuts_s = vec![0.0, duration_s];
    cuts_s.extend(schedule.iter().flat_map(|s| [s.begin_s, s.end_s]));
    cuts_s.extend(switched.iter().flat_map(|s| [s.from_s, s.to_s]));
    cuts_s.extend(switched.iter().flat_map(Switched::cuts_s));
    cuts_s.retain(|t_s| (0.0..=duration_s).contains(t_s));
    cuts_s.sort_by(f64::total_cmp);
    cuts_s.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let mut done: Vec<Scheduled> = Vec::new();
    let mut is_other = false;
    for pair in cuts_s.windows(2) {
        let middle_s = 0.5 * (pair[0] + pair[1]);
        let told = |what| {
            let its = switched.iter().rev().filter(|s| s.what == what);
            its.filter_map(|s| s.at(middle_s)).next()
        };
        let planned = planned(arrangement, schedule, middle_s);
        let told = Told {
            fan: told(Switch::Fan),
            lid: told(Switch::Lid),
            door: told(Switch::Door),
        };
        let is = told.instead_of(planned, fan);
        is_other |= is != *planned;
        match done.last_mut() {
            Some(last) if last.arrangement == is => last.end_s = pair[1],
            _ => done.push(Scheduled {
                begin_s: pair[0],
                end_s: pair[1],
                arrangement: is,
            }),
        }
    }
    if is_other {
        done.retain(|s| s.arrangement != *arrangement);
        *schedule = done;
    }
}

fn planned<'a>(
    arrangement: &'a Arrangement,
    schedule: &'a [Scheduled],
    t_s: f64,
) -> &'a Arrangement {
    let next = schedule.partition_point(|s| s.end_s <= t_s);
    let scheduled = schedule.get(next).filter(|s| s.begin_s <= t_s);
    scheduled.map_or(arrangement, |s| &s.arrangement)
}

/// What logs tell of a moment.
#[derive(Debug, Clone, Copy)]
struct Told {
    fan: Option<bool>,
    lid: Option<bool>,
    door: Option<bool>,
}

impl Told {
    /// What then holds in the place of what was planned. A fan that runs where none was planned is the one given.
    fn instead_of(self, planned: &Arrangement, fan: Option<&Arrangement>) -> Arrangement {
        if [self.fan, self.lid, self.door] == [None; 3] {
            return planned.clone();
        }
        let side = self.side(planned);
        let its = Some(planned).filter(|p| p.kind.has_fan()).or(fan);
        let runs = self.fan.unwrap_or_else(|| planned.kind.has_fan());
        if let Some(its) = its.filter(|_| runs) {
            return Arrangement {
                kind: its.kind.clone(),
                open: side,
                jet: its.jet,
                // Whatever worked it, it ran.
                control: match self.fan {
                    Some(_) => Control::Constant,
                    None => its.control.clone(),
                },
                stopped_fan: false,
            };
        }
        let kind = match side {
            None => ArrangementKind::Closed,
            Some(OpenSide::Lid) => ArrangementKind::LidOff,
            Some(OpenSide::Door) => ArrangementKind::DoorOpen,
        };
        let extracts = matches!(planned.kind, ArrangementKind::Extracting { .. });
        Arrangement {
            stopped_fan: planned.stopped_fan || extracts,
            ..Arrangement::of(kind)
        }
    }

    /// The side that stands open: of both the lid, through which more goes.
    fn side(self, planned: &Arrangement) -> Option<OpenSide> {
        let is_open = |told: Option<bool>, side| told.unwrap_or_else(|| planned.opens(side));
        if is_open(self.lid, OpenSide::Lid) {
            Some(OpenSide::Lid)
        } else {
            is_open(self.door, OpenSide::Door).then_some(OpenSide::Door)
        }
    }
}

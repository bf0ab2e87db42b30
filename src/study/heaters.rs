//! Heaters that can't do what a job asks of them: too weak, or not warm yet when printing begins.
//!
//! A heater is *short* while printing when it works at full power and is more than [`SHORT_K`] below its
//! setpoint. That can mean two things. Either the machine would only have to wait: the power is enough
//! to hold the setpoint, and time is lacking. Or it would wait for ever: holding the setpoint takes more
//! than there is. The second is no question of softening any more; the job can't run. Which of the two it
//! is, is read from the heat balance of the heated body *at its setpoint*, everything around it as it is
//! at that moment.

use crate::chamber::{Chamber, Points, Simulation};
use crate::integrate::Piece;
use crate::integrate::trajectory::Cubic;
use crate::network::{Configuration, Side, Way};
use crate::quantity::{
    System, format_difference, format_duration, format_power, format_temperature,
};
use crate::run::PhaseKind;

/// A heater so far below its setpoint is short, K: twice what the control of a bed or nozzle wavers by
/// (common practice, no source), and more than a part forgives.
pub const SHORT_K: f64 = 5.0;

/// A machine that has to wait longer than this for a heater without the power to hold the setpoint, until the
/// chamber has warmed enough to help, is one that can't run, s (common practice, no source).
const LONGEST_WAIT_S: f64 = 3.0 * 3600.0;

/// A setpoint is worth lowering by so much, K; a nozzle that would have to be set lower melts nothing.
const WORTH_LOWERING_K: f64 = 40.0;

/// What is heated to a setpoint of the job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Heater {
    /// The bed.
    Bed,
    /// The nozzle, by the hotend's heater.
    Nozzle,
    /// The second hotend's.
    SecondNozzle,
}

impl Heater {
    const ALL: [Self; 3] = [Self::Bed, Self::Nozzle, Self::SecondNozzle];

    /// The word.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bed => "bed",
            Self::Nozzle => "nozzle",
            Self::SecondNozzle => "second nozzle",
        }
    }

    /// The key of its power.
    #[must_use]
    pub const fn power_key(self) -> &'static str {
        match self {
            Self::Bed => "machine.bed.max_power",
            Self::Nozzle => "machine.hotend.max_power",
            Self::SecondNozzle => "machine.second_hotend.max_power",
        }
    }

    const fn setpoint_key(self) -> &'static str {
        match self {
            Self::Bed => "job.bed",
            Self::Nozzle => "job.nozzle",
            Self::SecondNozzle => "job.second_nozzle",
        }
    }

    fn point(self, p: &Points) -> Option<usize> {
        match self {
            Self::Bed => Some(p.bed),
            Self::Nozzle => Some(p.hotend),
            Self::SecondNozzle => p.second_hotend.map(|(block, _)| block),
        }
    }
}

/// In which way a heater is too weak, the least of them first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Failing {
    /// It gets to its setpoint when printing has long begun.
    Lags,
    /// It never gets there.
    Stays,
    /// It had reached the setpoint and loses it.
    Falls,
}

/// A heater too weak for the job.
#[derive(Debug, Clone, PartialEq)]
pub struct Shortfall {
    /// Which.
    pub heater: Heater,
    /// Its setpoint, K.
    pub setpoint_K: f64,
    /// In which way.
    pub failing: Failing,
    /// The lowest temperature it falls to while printing; the highest it gets to where it stays below; the
    /// one at which printing should begin where it lags, K.
    pub reached_K: f64,
    /// When that is, s from the start.
    pub at_s: f64,
    /// Since when it is short, s from the start.
    pub from_s: f64,
    /// How long it is short while printing, s.
    pub lasts_s: f64,
    /// Power that would hold the setpoint then, W.
    pub needed_W: f64,
    /// The part of it that the material takes up, W.
    pub feed_W: f64,
    /// Power it has, W.
    pub available_W: f64,
}

/// A heater that is on its way to its setpoint when printing should begin or go on.
#[derive(Debug, Clone, PartialEq)]
pub struct Wait {
    /// Which.
    pub heater: Heater,
    /// Its setpoint, K.
    pub setpoint_K: f64,
    /// How much is lacking at first, K.
    pub short_by_K: f64,
    /// Since when printing would wait, s from the start.
    pub from_s: f64,
    /// When it is there, s from the start; none: not while it is asked to be.
    pub until_s: Option<f64>,
    /// Whether it is the first layer that would wait.
    pub at_first: bool,
}

/// What a job's heaters lack.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lacks {
    /// Those too weak, each once.
    pub short: Vec<Shortfall>,
    /// Those that need more time.
    pub waits: Vec<Wait>,
}

impl Lacks {
    /// Looks at a course while printing.
    #[must_use]
    pub fn of(simulation: &Simulation) -> Self {
        let mut found = Self::default();
        for heater in Heater::ALL {
            if let Some(point) = heater.point(&simulation.chamber.points) {
                Follower::new(simulation, heater, point, &mut found).follow();
            }
        }
        found
    }
}

/// Places in a piece at which heaters are looked at.
const PLACES: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// Whether a heater is so far below its setpoint in a piece while printing that [`Lacks`] may tell of it.
pub(super) fn may_lack(chamber: &Chamber, piece: &Piece) -> bool {
    let configuration = chamber.schedule.configuration_of(piece.stretch);
    let phase = chamber.stretch_of(piece).phase;
    if chamber.run().phases[phase].kind != PhaseKind::Print {
        return false;
    }
    let controls = &chamber.schedule.configurations()[configuration].controls;
    let points = Heater::ALL.iter().filter_map(|h| h.point(&chamber.points));
    for point in points {
        let controls = controls.iter().filter(|c| c.node() == point);
        let Some(side) = controls.into_iter().find_map(|c| c.side(Way::Heat)) else {
            continue;
        };
        let mut cubic = Cubic::default();
        chamber.network.point_over(piece, point, 1.0, &mut cubic);
        // Mostly it holds its setpoint, or is far above the limit all along.
        let [begin_K, rises @ ..] = cubic.c;
        let falls_K: f64 = rises.iter().map(|c| c.min(0.0)).sum();
        if side.setpoint_K - (begin_K + falls_K) <= SHORT_K {
            continue;
        }
        if PLACES
            .iter()
            .any(|x| side.setpoint_K - cubic.at(*x) > SHORT_K)
        {
            return true;
        }
    }
    false
}

/// A moment at which a heater was short.
#[derive(Clone, Copy)]
struct Low<'a> {
    piece: &'a Piece,
    x: f64,
    temperature_K: f64,
}

impl Low<'_> {
    fn time_s(&self) -> f64 {
        self.piece.begin_s + self.x * self.piece.length_s
    }
}

/// A time in which a heater is short, pauses left out.
#[derive(Clone, Copy)]
struct Episode<'a> {
    side: Side,
    from_s: f64,
    printing_s: f64,
    first: Low<'a>,
    lowest: Low<'a>,
    highest: Low<'a>,
}

impl<'a> Episode<'a> {
    const fn begin(side: Side, low: Low<'a>, from_s: f64) -> Self {
        Self {
            side,
            from_s,
            printing_s: 0.0,
            first: low,
            lowest: low,
            highest: low,
        }
    }

    fn add(&mut self, low: Low<'a>, lasts_s: f64) {
        self.printing_s += lasts_s;
        if low.temperature_K < self.lowest.temperature_K {
            self.lowest = low;
        }
        if low.temperature_K > self.highest.temperature_K {
            self.highest = low;
        }
    }
}

/// Goes through a run beside one heater.
struct Follower<'a, 'f> {
    simulation: &'a Simulation,
    heater: Heater,
    point: usize,
    found: &'f mut Lacks,
    /// What the heater is asked for now.
    side: Option<Side>,
    /// Whether it has been there since it was asked.
    reached: bool,
    /// On its way there while printing should go on.
    wait: Option<Episode<'a>>,
    /// Fallen from there.
    fall: Option<Episode<'a>>,
    falling: bool,
}

impl<'a, 'f> Follower<'a, 'f> {
    fn new(simulation: &'a Simulation, heater: Heater, point: usize, found: &'f mut Lacks) -> Self {
        Self {
            simulation,
            heater,
            point,
            found,
            side: None,
            reached: false,
            wait: None,
            fall: None,
            falling: false,
        }
    }

    fn follow(mut self) {
        let s = self.simulation;
        for piece in &s.trajectory.pieces {
            let controls = s.elements_of(piece).controls.iter();
            let side = controls
                .filter(|c| c.node() == self.point)
                .find_map(|c| c.side(Way::Heat));
            if side != self.side {
                // A setpoint raised on the way prolongs the way; one lowered or switched off was not reached.
                match (&mut self.wait, self.side, side) {
                    (Some(wait), Some(before), Some(now))
                        if now.setpoint_K >= before.setpoint_K =>
                    {
                        wait.side = now;
                    }
                    _ => self.end_wait(None),
                }
                self.end_fall();
                self.side = side;
                self.reached = false;
            }
            let Some(side) = side else { continue };
            let phase = s.stretch_of(piece).phase;
            let prints = s.chamber.run().phases[phase].kind == PhaseKind::Print;
            for x in PLACES {
                let temperature_K = s.point_at(piece, x, self.point);
                let low = Low {
                    piece,
                    x,
                    temperature_K,
                };
                let lasts_s = if x > 0.0 { 0.25 * piece.length_s } else { 0.0 };
                self.look(side, low, prints, lasts_s);
            }
        }
        self.end_wait(None);
        self.end_fall();
    }

    fn look(&mut self, side: Side, low: Low<'a>, prints: bool, lasts_s: f64) {
        if side.setpoint_K - low.temperature_K <= SHORT_K {
            self.reached = true;
            self.falling = false;
            self.end_wait(Some(low.time_s()));
            return;
        }
        if !prints {
            // A door opened, a heater just switched on: it may warm up again.
            self.reached = false;
            self.falling = false;
            return;
        }
        if self.reached && !self.falling {
            if self.needed_W(&low, side) > side.most_W {
                self.falling = true;
            } else {
                self.reached = false;
            }
        }
        let episode = if self.reached {
            &mut self.fall
        } else {
            &mut self.wait
        };
        episode
            .get_or_insert_with(|| Episode::begin(side, low, low.time_s() - lasts_s))
            .add(low, lasts_s);
    }

    fn end_wait(&mut self, until_s: Option<f64>) {
        let Some(e) = self.wait.take() else { return };
        let is_weak = |low: &Low<'_>| self.needed_W(low, e.side) > e.side.most_W;
        let is_hopeless = match until_s {
            Some(_) => e.printing_s > LONGEST_WAIT_S && is_weak(&e.first),
            None => is_weak(&e.highest),
        };
        if is_hopeless {
            let (at, failing) = match until_s {
                Some(_) => (e.first, Failing::Lags),
                None => (e.highest, Failing::Stays),
            };
            let shortfall = self.shortfall(&e, at, failing);
            self.tell(shortfall);
            return;
        }
        let phases = &self.simulation.chamber.run().phases;
        let first = phases.iter().find(|p| p.kind == PhaseKind::Print);
        self.found.waits.push(Wait {
            heater: self.heater,
            setpoint_K: e.side.setpoint_K,
            short_by_K: e.side.setpoint_K - e.first.temperature_K,
            from_s: e.from_s,
            until_s,
            at_first: first.is_some_and(|p| (p.begin_s - e.from_s).abs() < 1.0),
        });
    }

    fn end_fall(&mut self) {
        self.falling = false;
        if let Some(e) = self.fall.take() {
            let shortfall = self.shortfall(&e, e.lowest, Failing::Falls);
            self.tell(shortfall);
        }
    }

    /// Of what is found about one heater, the worst is told, with all the time that it is short.
    fn tell(&mut self, new: Shortfall) {
        let Some(known) = self.found.short.iter_mut().find(|s| s.heater == new.heater) else {
            self.found.short.push(new);
            return;
        };
        let lasts_s = known.lasts_s + new.lasts_s;
        let from_s = known.from_s.min(new.from_s);
        let lacks_K = |s: &Shortfall| s.setpoint_K - s.reached_K;
        if (new.failing, lacks_K(&new)) > (known.failing, lacks_K(known)) {
            *known = new;
        }
        (known.lasts_s, known.from_s) = (lasts_s, from_s);
    }

    fn shortfall(&self, e: &Episode<'_>, at: Low<'_>, failing: Failing) -> Shortfall {
        let needed_W = self.needed_W(&at, e.side);
        let without_feed = Configuration {
            streams: Vec::new(),
            ..self.simulation.elements_of(at.piece).clone()
        };
        Shortfall {
            heater: self.heater,
            setpoint_K: e.side.setpoint_K,
            reached_K: at.temperature_K,
            at_s: at.time_s(),
            failing,
            from_s: e.from_s,
            lasts_s: e.printing_s,
            needed_W,
            feed_W: needed_W - self.needed_by_W(&without_feed, &at, e.side),
            available_W: e.side.most_W,
        }
    }

    /// Power that would hold the setpoint at that moment, W.
    fn needed_W(&self, at: &Low<'_>, side: Side) -> f64 {
        self.needed_by_W(self.simulation.elements_of(at.piece), at, side)
    }

    fn needed_by_W(&self, elements: &Configuration, at: &Low<'_>, side: Side) -> f64 {
        let reading = self.simulation.reading();
        reading.power_to_hold_W(elements, at.piece, at.x, self.point, side.setpoint_K)
    }
}

impl Shortfall {
    /// What is wrong, without the time: "the nozzle falls to 38.2 °C instead of 210.0 °C: ...".
    #[must_use]
    pub fn text(&self, system: System) -> String {
        let name = self.heater.name();
        let reached = format_temperature(self.reached_K, system);
        let setpoint = format_temperature(self.setpoint_K, system);
        let (needed, has) = (format_power(self.needed_W), format_power(self.available_W));
        match self.failing {
            Failing::Falls => format!(
                "the {name} falls to {reached} while printing and is set to {setpoint}; holding that takes {needed}, and its heater has {has}"
            ),
            Failing::Stays => format!(
                "the {name} gets no further than {reached} while printing and is set to {setpoint}; holding that takes {needed}, and its heater has {has}"
            ),
            Failing::Lags => format!(
                "the {name} is still at {reached} when it should print and takes hours to its setpoint of {setpoint}; holding that takes {needed} at first, and its heater has {has}"
            ),
        }
    }

    /// How many times as long the printing has to take at least for the heater to keep up; none where the
    /// material is not what it lacks.
    #[must_use]
    pub fn times_as_long(&self) -> Option<f64> {
        let spare_W = self.available_W - (self.needed_W - self.feed_W);
        (self.feed_W > 0.0 && spare_W > 0.0).then(|| self.feed_W / spare_W)
    }

    /// What would let it run, in words, the smallest intervention first. None of it has been simulated.
    #[must_use]
    pub fn ways_out(&self, system: System) -> Vec<String> {
        let name = self.heater.name();
        let mut ways = Vec::new();
        if let Some(times) = self.times_as_long() {
            // Rounded up, so that what is said is enough.
            let times = (times * 10.0).ceil() / 10.0;
            ways.push(format!(
                "feed less an hour: melting the material alone takes {} of the {} needed; the printing has to take at least {times:.1} times as long (`run.duration`), or the part has to be lighter (`part.mass`)",
                format_power(self.feed_W),
                format_power(self.needed_W)
            ));
        }
        let lacks_K = self.setpoint_K - self.reached_K;
        if self.failing != Failing::Lags && lacks_K <= WORTH_LOWERING_K {
            ways.push(format!(
                "set the {name} lower (`{}`), to about {} or less, if material and part allow it",
                self.heater.setpoint_key(),
                format_temperature(self.reached_K, system)
            ));
        }
        if self.heater == Heater::Bed {
            ways.push(
                "let the bed lose less: machine closed, less air drawn through it, more insulation under the plate (`machine.bed.underside_resistance`)"
                    .to_owned(),
            );
        }
        ways.push(format!(
            "a heater of more than {} with some reserve (`{}`), if the label says less than it really has or a stronger one can be fitted",
            format_power(self.needed_W),
            self.heater.power_key()
        ));
        ways
    }
}

impl Wait {
    /// The wait in words, with what to change.
    #[must_use]
    pub fn text(&self, system: System) -> String {
        let name = self.heater.name();
        let lacks = format!(
            "is still {} short of its setpoint of {}",
            format_difference(self.short_by_K, system),
            format_temperature(self.setpoint_K, system)
        );
        let minutes = |time_s: f64| format_duration((time_s / 60.0).ceil() * 60.0);
        let when = format_duration(self.from_s);
        match (self.until_s, self.at_first) {
            (Some(until_s), true) => format!(
                "the {name} {lacks} when printing should begin, {when} after the start: the machine waits for it, and this run does not; give heating up and soaking {} together (`job.heat_up`)",
                minutes(until_s)
            ),
            (Some(until_s), false) => format!(
                "the {name} {lacks} when printing should go on, {when} after the start: the machine waits for it, {} more than planned; make that phase longer",
                minutes(until_s - self.from_s)
            ),
            (None, _) => format!(
                "the {name} {lacks} {when} after the start and does not get there while that is asked for, though its power would hold it: give heating up far more time (`job.heat_up`), or a stronger heater (`{}`)",
                self.heater.power_key()
            ),
        }
    }
}

#[cfg(test)]
mod tests;

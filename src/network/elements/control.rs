//! Heaters and coolers that follow a temperature.
//!
//! One [`Control`] may heat, cool, or both. A side without hysteresis holds its setpoint with whatever
//! power that takes, within its limit: the node it heats is then fixed, and the power is what balance asks
//! for. A side with hysteresis works fully or not at all, by the node it measures, which may be another
//! than the one it heats.

use crate::network::description::HeaterDescription;
use crate::network::parts::{Index, LedgerId};

/// Temperatures this close to a setpoint count as on it, K.
const ON_SETPOINT_K: f64 = 1e-6;
/// What has just changed its mode changes it again only when the temperature has moved by so much, K. On the
/// very spot nothing has happened yet: where nothing moves the temperature, as in a room exactly as warm as
/// the setpoint, a control would begin and end its work for ever.
const MOVED_K: f64 = 0.5 * ON_SETPOINT_K;
/// What has just changed its mode so many times in quick succession does nothing any more by being told apart so
/// finely: temperatures are known to the tolerance of the integrator, and where a heater has just as much as holding
/// takes, that tolerance decides. Each time its thresholds are twice as far apart, until they are this far, K,
const MOST_MOVED_K: f64 = 5e-3;
/// and until holding may take this share more than there is.
const MOST_BEYOND_LIMITS: f64 = 1e-3;
/// Changes within this time of each other are in quick succession, s.
const QUICK_S: f64 = 1.0;
/// What holding takes may lie beyond its limits by this share of the largest power before it ends: with
/// exactly nothing to give, or exactly everything, it goes on.
const BEYOND_LIMITS: f64 = 1e-9;

/// How often a control has changed its mode in quick succession, and when last.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Haste {
    last_s: f64,
    times: u8,
}

impl Default for Haste {
    fn default() -> Self {
        Self {
            last_s: f64::NEG_INFINITY,
            times: 0,
        }
    }
}

impl Haste {
    /// Its mode has changed at that time, s.
    pub(crate) fn note(&mut self, t_s: f64) {
        let quick = t_s - self.last_s < QUICK_S;
        self.times = if quick {
            self.times.saturating_add(1)
        } else {
            0
        };
        self.last_s = t_s;
    }

    /// Something small, as often doubled as it changed, up to a largest.
    fn widened(self, small: f64, most: f64) -> f64 {
        (small * f64::from(self.times).exp2()).min(most)
    }

    /// How far a temperature has to move before the mode changes again, K.
    fn moved_K(self) -> f64 {
        self.widened(MOVED_K, MOST_MOVED_K)
    }

    /// How far beyond its limits holding may go, as a share of the largest power.
    fn beyond_limits(self) -> f64 {
        self.widened(BEYOND_LIMITS, MOST_BEYOND_LIMITS)
    }
}

/// A heater, a cooler, or both in one.
#[derive(Debug, Clone, PartialEq)]
pub struct Control {
    node: Index,
    measures: Index,
    heating: Option<Side>,
    cooling: Option<Side>,
    ledger: LedgerId,
}

/// Heating or cooling.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// Setpoint, K.
    pub setpoint_K: f64,
    /// Largest power, W, above zero.
    pub most_W: f64,
    /// 0: whatever holds the setpoint. Else fully on until the setpoint is reached, and off until the
    /// temperature is so far from it again, K.
    pub hysteresis_K: f64,
}

/// Which way heat is moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Into the node.
    Heat,
    /// Out of it.
    Cool,
}

impl Way {
    /// 1 for heating, -1 for cooling.
    const fn sign(self) -> f64 {
        match self {
            Self::Heat => 1.0,
            Self::Cool => -1.0,
        }
    }
}

/// What a [`Control`] is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// No power.
    Off,
    /// Largest power.
    Full(Way),
    /// Whatever holds the setpoint.
    Hold(Way),
}

/// Why a control can't be built.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ControlError {
    /// It neither heats nor cools.
    #[error("a control must heat, cool or both")]
    Idle,
    /// A power, setpoint or hysteresis that makes no sense.
    #[error(
        "a control's largest power must be above 0 W, its setpoint above 0 K and its hysteresis at least 0 K: {most_W} W, {setpoint_K} K, {hysteresis_K} K"
    )]
    Side {
        /// Setpoint, K.
        setpoint_K: f64,
        /// Largest power, W.
        most_W: f64,
        /// Hysteresis, K.
        hysteresis_K: f64,
    },
    /// It would heat and cool at once.
    #[error(
        "a control can't heat to {heating_K} K and cool to {cooling_K} K at once: the heating setpoint lies above the cooling one"
    )]
    Crossed {
        /// Heating setpoint, K.
        heating_K: f64,
        /// Cooling setpoint, K.
        cooling_K: f64,
    },
    /// It should hold a temperature that its power does not act on directly.
    #[error("a control that measures another node than it heats or cools needs a hysteresis")]
    Elsewhere,
}

impl Control {
    /// A control of a node by its own temperature.
    ///
    /// # Errors
    /// See [`ControlError`].
    pub fn new(
        node: Index,
        heating: Option<Side>,
        cooling: Option<Side>,
        ledger: LedgerId,
    ) -> Result<Self, ControlError> {
        Self::measuring(node, node, heating, cooling, ledger)
    }

    /// A control of a node by the temperature of another.
    ///
    /// # Errors
    /// See [`ControlError`].
    pub fn measuring(
        node: Index,
        measures: Index,
        heating: Option<Side>,
        cooling: Option<Side>,
        ledger: LedgerId,
    ) -> Result<Self, ControlError> {
        if heating.is_none() && cooling.is_none() {
            return Err(ControlError::Idle);
        }
        for side in heating.iter().chain(&cooling) {
            let sane = side.most_W > 0.0 && side.setpoint_K > 0.0 && side.hysteresis_K >= 0.0;
            if !sane
                || ![side.most_W, side.setpoint_K, side.hysteresis_K]
                    .iter()
                    .all(|v| v.is_finite())
            {
                return Err(ControlError::Side {
                    setpoint_K: side.setpoint_K,
                    most_W: side.most_W,
                    hysteresis_K: side.hysteresis_K,
                });
            }
            if side.hysteresis_K == 0.0 && measures != node {
                return Err(ControlError::Elsewhere);
            }
        }
        if let (Some(h), Some(c)) = (heating, cooling)
            && h.setpoint_K > c.setpoint_K
        {
            return Err(ControlError::Crossed {
                heating_K: h.setpoint_K,
                cooling_K: c.setpoint_K,
            });
        }
        Ok(Self {
            node,
            measures,
            heating,
            cooling,
            ledger,
        })
    }

    /// The node it heats or cools.
    #[must_use]
    pub const fn node(&self) -> Index {
        self.node
    }

    /// The node whose temperature it follows.
    #[must_use]
    pub const fn measures(&self) -> Index {
        self.measures
    }

    /// Ledger entry of its power.
    #[must_use]
    pub const fn ledger(&self) -> LedgerId {
        self.ledger
    }

    /// Its heating side.
    #[must_use]
    pub const fn heating(&self) -> Option<Side> {
        self.heating
    }

    /// Whether one of its sides holds a setpoint.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.sides().any(|(_, side)| side.hysteresis_K == 0.0)
    }

    pub(crate) fn sides(&self) -> impl Iterator<Item = (Way, Side)> {
        let heating = self.heating.map(|s| (Way::Heat, s));
        heating
            .into_iter()
            .chain(self.cooling.map(|s| (Way::Cool, s)))
    }

    pub(crate) fn side(&self, way: Way) -> Option<Side> {
        match way {
            Way::Heat => self.heating,
            Way::Cool => self.cooling,
        }
    }

    /// Power at full work, W; negative for cooling.
    pub(crate) fn full_W(&self, way: Way) -> f64 {
        self.side(way).map_or(0.0, |s| way.sign() * s.most_W)
    }

    /// How far beyond a side's setpoint the measured temperature is, K: positive where it needs nothing.
    pub(crate) fn over_K(way: Way, side: Side, measured_K: f64) -> f64 {
        way.sign() * (measured_K - side.setpoint_K)
    }

    /// How far beyond its setpoint the temperature has to be for a side to begin or end its work, K, where a mode
    /// began at this temperature.
    pub(crate) fn margin_K(&self, way: Way, mode: Mode, measured_K: f64, haste: Haste) -> f64 {
        let Some(side) = self.side(way) else {
            return 0.0;
        };
        let over = Self::over_K(way, side, measured_K);
        match mode {
            Mode::Full(now) if now == way => (over + haste.moved_K()).max(0.0),
            Mode::Off => haste.moved_K() - over.min(0.0),
            Mode::Full(_) | Mode::Hold(_) => 0.0,
        }
    }

    /// Value of the event by which a side begins or ends its work; it happens when it turns from negative
    /// to not. For the margin see [`Control::margin_K`].
    pub(crate) fn event(&self, way: Way, mode: Mode, measured_K: f64, margin_K: f64) -> f64 {
        let Some(side) = self.side(way) else {
            return -1.0;
        };
        let over = Self::over_K(way, side, measured_K);
        match mode {
            Mode::Full(now) if now == way => over - margin_K,
            // What is off begins at the setpoint, or a hysteresis away from it.
            Mode::Off => -over - side.hysteresis_K.max(margin_K),
            Mode::Full(_) | Mode::Hold(_) => -1.0,
        }
    }

    /// What it does after that event.
    pub(crate) fn after_event(&self, way: Way, mode: Mode) -> Mode {
        let holds = self.side(way).is_some_and(|s| s.hysteresis_K == 0.0);
        match mode {
            _ if holds => Mode::Hold(way),
            Mode::Full(_) | Mode::Hold(_) => Mode::Off,
            Mode::Off => Mode::Full(way),
        }
    }

    /// What it does by where the measured temperature stands. One that switches and did something `before`
    /// goes on with it inside its hysteresis.
    pub(crate) fn settled(&self, measured_K: f64, before: Option<Mode>) -> Mode {
        for (way, side) in self.sides() {
            let over = Self::over_K(way, side, measured_K);
            if side.hysteresis_K == 0.0 && over.abs() <= ON_SETPOINT_K {
                return Mode::Hold(way);
            }
            let goes_on = over < 0.0 && before == Some(Mode::Full(way));
            if over < -side.hysteresis_K || goes_on {
                return Mode::Full(way);
            }
        }
        Mode::Off
    }

    /// Values of the two alarms of holding at that share of the largest power: it needs more than there is;
    /// it needs less than nothing. One goes off where it is not negative.
    pub(crate) fn alarms(share: f64, haste: Haste) -> (f64, f64) {
        let beyond = haste.beyond_limits();
        (share - 1.0 - beyond, -share - beyond)
    }

    /// What holding becomes when it would take that share of the largest power.
    pub(crate) fn held(way: Way, share: f64, haste: Haste) -> Mode {
        match Self::alarms(share, haste) {
            (more, _) if more >= 0.0 => Mode::Full(way),
            (_, less) if less >= 0.0 => Mode::Off,
            _ => Mode::Hold(way),
        }
    }

    /// Each side as a heater of its own; a cooler's power is negative.
    pub(crate) fn describe(
        &self,
        name: &dyn Fn(Index) -> String,
        out: &mut Vec<HeaterDescription>,
    ) {
        out.extend(self.sides().map(|(way, side)| HeaterDescription {
            node: name(self.node),
            setpoint_K: side.setpoint_K,
            max_power_W: way.sign() * side.most_W,
            measures: (self.measures != self.node).then(|| name(self.measures)),
            hysteresis_K: (side.hysteresis_K > 0.0).then_some(side.hysteresis_K),
        }));
    }
}

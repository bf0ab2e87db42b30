//! What is open, shut or blowing, and when.

/// What is open, shut or blowing.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrangement {
    /// What is open, shut or blowing, in one word.
    pub kind: ArrangementKind,
    /// What stands open while a fan runs.
    pub open: Option<OpenSide>,
    /// What the fan's air does in the chamber.
    pub jet: Jet,
    /// When it works.
    pub control: Control,
    /// Whether a fan to the outside is there and stands still: its way out is shut by a flap or is not.
    pub stopped_fan: bool,
}

/// The kinds of arrangement with their numbers.
#[derive(Debug, Clone, PartialEq)]
pub enum ArrangementKind {
    /// Everything shut.
    Closed,
    /// The lid is taken off.
    LidOff,
    /// The door stands open.
    DoorOpen,
    /// A fan draws air out of the chamber.
    Extracting {
        /// Volume flow at the fan, m3/s.
        flow_m3_per_s: f64,
    },
    /// A fan blows room air in.
    BlowingIn {
        /// Volume flow at the fan, m3/s.
        flow_m3_per_s: f64,
        /// Electrical power of the fan, all of which warms what it blows, W.
        fan_power_W: f64,
    },
    /// A fan inside drives air through a filter from the top layer to the bottom one.
    Recirculating {
        /// Volume flow at the fan, m3/s.
        flow_m3_per_s: f64,
        /// Electrical power of the fan, all of which becomes heat in the chamber, W.
        fan_power_W: f64,
    },
}

/// A side of the chamber that opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OpenSide {
    /// The lid.
    Lid,
    /// The door.
    Door,
}

/// What a fan's air does in the chamber.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jet {
    /// Diameter of the outlet through which a recirculating fan blows, m.
    pub outlet_m: f64,
    /// Air speed at the bed where the fan blows at it, m/s; 0: it does not.
    pub at_bed_m_per_s: f64,
    /// Air speed at the part where the fan blows at it, m/s; 0: it does not.
    pub at_part_m_per_s: f64,
}

impl Default for Jet {
    /// The run file's defaults.
    fn default() -> Self {
        Self {
            outlet_m: 0.12,
            at_bed_m_per_s: 0.0,
            at_part_m_per_s: 0.0,
        }
    }
}

/// When a fan works.
#[derive(Debug, Clone, PartialEq)]
pub enum Control {
    /// Always.
    Constant,
    /// By the temperature of the top air layer, with hysteresis.
    Thermostat {
        /// Starts above, K.
        on_above_K: f64,
        /// Stops below, K.
        off_below_K: f64,
    },
}

/// Another arrangement for a stretch of the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Scheduled {
    /// Begin, s from the start of the run.
    pub begin_s: f64,
    /// End, s from the start of the run.
    pub end_s: f64,
    /// The arrangement.
    pub arrangement: Arrangement,
}

impl Arrangement {
    /// One of the six kinds, all the time and with nothing beside it.
    #[must_use]
    pub fn of(kind: ArrangementKind) -> Self {
        Self {
            kind,
            open: None,
            jet: Jet::default(),
            control: Control::Constant,
            stopped_fan: false,
        }
    }

    /// The name users see: the word of its kind, and what stands open beside its fan.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        use ArrangementKind::{BlowingIn, Extracting, Recirculating};
        match (&self.kind, self.open) {
            (Extracting { .. }, Some(OpenSide::Lid)) => "extracting, lid off",
            (Extracting { .. }, Some(OpenSide::Door)) => "extracting, door open",
            (BlowingIn { .. }, Some(OpenSide::Lid)) => "blowing in, lid off",
            (BlowingIn { .. }, Some(OpenSide::Door)) => "blowing in, door open",
            (Recirculating { .. }, Some(OpenSide::Lid)) => "recirculating, lid off",
            (Recirculating { .. }, Some(OpenSide::Door)) => "recirculating, door open",
            (kind, _) => kind.name(),
        }
    }

    /// Whether that side stands open.
    #[must_use]
    pub fn opens(&self, side: OpenSide) -> bool {
        let by_kind = match self.kind {
            ArrangementKind::LidOff => Some(OpenSide::Lid),
            ArrangementKind::DoorOpen => Some(OpenSide::Door),
            _ => None,
        };
        by_kind == Some(side) || self.open == Some(side)
    }

    /// Whether it leaves the machine closed.
    #[must_use]
    pub fn stays_closed(&self) -> bool {
        !self.opens(OpenSide::Lid) && !self.opens(OpenSide::Door)
    }

    /// What is left while a thermostat rests its fan, or once it has failed.
    #[must_use]
    pub fn at_rest(&self) -> Self {
        let kind = match self.open {
            None => ArrangementKind::Closed,
            Some(OpenSide::Lid) => ArrangementKind::LidOff,
            Some(OpenSide::Door) => ArrangementKind::DoorOpen,
        };
        Self {
            stopped_fan: matches!(self.kind, ArrangementKind::Extracting { .. }),
            ..Self::of(kind)
        }
    }
}

impl ArrangementKind {
    /// The word for it in run files and reports.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Closed => "closed",
            Self::LidOff => "lid off",
            Self::DoorOpen => "door open",
            Self::Extracting { .. } => "extracting",
            Self::BlowingIn { .. } => "blowing in",
            Self::Recirculating { .. } => "recirculating",
        }
    }

    /// Whether a fan runs, which a thermostat may work.
    #[must_use]
    pub const fn has_fan(&self) -> bool {
        self.flow_m3_per_s().is_some()
    }

    /// Volume flow at its fan, m3/s.
    #[must_use]
    pub const fn flow_m3_per_s(&self) -> Option<f64> {
        match *self {
            Self::Closed | Self::LidOff | Self::DoorOpen => None,
            Self::Extracting { flow_m3_per_s }
            | Self::BlowingIn { flow_m3_per_s, .. }
            | Self::Recirculating { flow_m3_per_s, .. } => Some(flow_m3_per_s),
        }
    }
}

/// Power of a fan that blows in and of which only the flow is known, W: on the warm side. Small axial fans
/// take a fifth of it, radial and ducted ones at half their free flow up to nine tenths (the catalogue's;
/// common practice, no source).
#[must_use]
pub fn assumed_fan_power_W(flow_m3_per_s: f64) -> f64 {
    const LEAST_W: f64 = 10.0;
    /// 0.35 W per m3/h.
    const PER_FLOW_J_PER_M3: f64 = 0.35 * 3600.0;
    LEAST_W.max(PER_FLOW_J_PER_M3 * flow_m3_per_s)
}

/// Power of a recirculating fan of which nothing else is known, W (common practice, no source).
pub const RECIRCULATING_FAN_W: f64 = 10.0;

/// Whether a fan runs in an arrangement of that word.
pub(crate) fn has_fan(word: &str) -> bool {
    matches!(word, "extracting" | "blowing in" | "recirculating")
}

//! What is open, shut or blowing, and when.

/// What is open, shut or blowing.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrangement {
    /// The name users see: "closed", "lid off", "door open", "extracting", "blowing in", "recirculating".
    pub kind: ArrangementKind,
    /// When it works.
    pub control: Control,
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
    },
    /// A fan inside drives air through a filter from the top layer to the bottom one.
    Recirculating {
        /// Volume flow at the fan, m3/s.
        flow_m3_per_s: f64,
        /// Electrical power of the fan, all of which becomes heat in the chamber, W.
        fan_power_W: f64,
    },
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

    /// Whether it leaves the machine closed.
    #[must_use]
    pub const fn stays_closed(&self) -> bool {
        !matches!(self, Self::LidOff | Self::DoorOpen)
    }

    /// Whether a fan runs, which a thermostat may work.
    #[must_use]
    pub const fn has_fan(&self) -> bool {
        !matches!(self, Self::Closed | Self::LidOff | Self::DoorOpen)
    }
}

/// Whether a fan runs in an arrangement of that word.
pub(super) fn has_fan(word: &str) -> bool {
    matches!(word, "extracting" | "blowing in" | "recirculating")
}

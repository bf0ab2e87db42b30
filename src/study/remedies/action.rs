//! What a shop can change about a run, and how the changed run is made.

use crate::quantity::{System, format_difference, format_flow, format_length, format_temperature};
use crate::run::{ArrangementKind, Control, Inputs, Material, Run};
use crate::study::compare::assumed_flow_m3_per_s;

/// Guide tube that stays in the chamber when the rest is led outside, m: the bend above the feeder.
pub const TUBE_LEFT_M: f64 = 0.1;

/// One change.
#[derive(Debug, Clone, PartialEq)]
pub enum Action {
    /// The bed's setpoints lower.
    CoolerBed {
        /// By, K.
        by_K: f64,
        /// The highest setpoint then, K.
        to_K: f64,
    },
    /// The setpoints of the chamber's heater lower.
    CoolerChamber {
        /// By, K.
        by_K: f64,
        /// The highest setpoint then, K.
        to_K: f64,
    },
    /// The start later.
    LaterStart {
        /// By, h.
        by_h: u32,
    },
    /// The feeder motor's current reduced; its heat goes with the square.
    FeederCurrent {
        /// Share of the present current.
        share: f64,
    },
    /// Filament fed dry, from a sealed box with a drying agent.
    DryFilament,
    /// The spool moved from the chamber to the room.
    SpoolInRoom,
    /// The guide tube led outside the chamber down to the feeder.
    TubeOutside,
    /// A heat sink on the feeder motor, or a small fan blowing on it.
    FeederHeatSink {
        /// Conductance added, W/K.
        added_W_per_K: f64,
    },
    /// The room cooler throughout.
    CoolerRoom {
        /// By, K.
        by_K: f64,
        /// The weather's warmest moment then, K.
        peak_K: f64,
    },
    /// The air conditioner of the room set lower.
    CoolerSetpoint {
        /// By, K.
        by_K: f64,
        /// Setpoint then, K.
        to_K: f64,
    },
    /// Air drawn out of the chamber.
    Extract {
        /// Volume flow at the fan, m3/s.
        flow_m3_per_s: f64,
    },
    /// The sun kept off the clear panels.
    Shade,
    /// The lid taken off.
    LidOff,
    /// The door left open.
    DoorOpen,
    /// Another material, with its own bed and nozzle temperatures; the part keeps its shape.
    OtherMaterial(Box<Material>),
}

impl Action {
    /// Makes the change.
    pub fn apply(&self, inputs: &mut Inputs) {
        match self {
            Self::CoolerBed { by_K, .. } => inputs.cool_bed(*by_K),
            Self::CoolerChamber { by_K, .. } => inputs.cool_chamber(*by_K),
            Self::LaterStart { by_h } => inputs.start_later(*by_h),
            Self::FeederCurrent { share } => inputs.scale_feeder_heat(share * share),
            Self::DryFilament => inputs.dry_filament(),
            Self::SpoolInRoom => inputs.put_spool_in_room(),
            Self::TubeOutside => inputs.shorten_guide_tube(TUBE_LEFT_M),
            Self::FeederHeatSink { added_W_per_K } => inputs.add_heat_sink(*added_W_per_K),
            Self::CoolerRoom { by_K, .. } => inputs.warm(-by_K),
            Self::CoolerSetpoint { by_K, .. } => inputs.cool_setpoint(*by_K),
            Self::Extract { flow_m3_per_s } => inputs.extract(*flow_m3_per_s),
            Self::Shade => inputs.shade(),
            Self::LidOff => inputs.arrange(&ArrangementKind::LidOff, &Control::Constant),
            Self::DoorOpen => inputs.arrange(&ArrangementKind::DoorOpen, &Control::Constant),
            Self::OtherMaterial(material) => inputs.take_material(material),
        }
    }

    /// How much of an intervention it is: settings first, then waiting, then small mechanical
    /// work, then a fan or a cooler room, then another material. A ranking by what each costs a
    /// shop (common practice, no source); only its order matters.
    #[must_use]
    pub fn effort(&self, run: &Run) -> f64 {
        match self {
            Self::CoolerBed { by_K, .. } => 1.0 + by_K / 5.0,
            // Nobody heats the air for nothing: after the bed, before anything that has to be built.
            Self::CoolerChamber { by_K, .. } => 1.2 + by_K / 10.0,
            Self::Shade => 0.5,
            Self::LaterStart { by_h } => 1.5 + f64::from(*by_h) / 24.0,
            Self::FeederCurrent { share } => 1.5 + 5.0 * (1.0 - share),
            Self::DryFilament => 1.4,
            Self::SpoolInRoom => 2.5,
            Self::TubeOutside => 2.6,
            Self::CoolerSetpoint { by_K, .. } => 1.5 + by_K / 3.0,
            Self::FeederHeatSink { added_W_per_K } => 3.0 + added_W_per_K,
            Self::CoolerRoom { by_K, .. } => 2.0 + by_K / 2.0,
            Self::LidOff | Self::DoorOpen => 3.5,
            Self::Extract { flow_m3_per_s } => {
                3.5 + flow_m3_per_s / assumed_flow_m3_per_s(&run.machine)
            }
            // The nearest to what is printed now: it asks least of machine and part.
            Self::OtherMaterial(m) => {
                8.0 + (m.nozzle_K - run.material.nozzle_K).abs() / 100.0
                    + (m.bed_K - run.material.bed_K).abs() / 100.0
            }
        }
    }

    /// Whether the machine stays closed with it.
    #[must_use]
    pub const fn keeps_closed(&self) -> bool {
        !matches!(self, Self::LidOff | Self::DoorOpen)
    }
}

impl std::fmt::Display for Action {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.text(System::Si))
    }
}

impl Action {
    /// The change in words, in the reader's units.
    #[must_use]
    pub fn text(&self, system: System) -> String {
        let by = |K: &f64| format_difference(*K, system);
        let to = |K: &f64| format_temperature(*K, system);
        let about = |K: &f64| {
            let degrees = system.temperature(*K);
            format!("{degrees:.0} {}", system.temperature_unit())
        };
        match self {
            Self::CoolerBed { by_K, to_K } => {
                format!("bed {} cooler, at {}", by(by_K), to(to_K))
            }
            Self::CoolerChamber { by_K, to_K } => format!(
                "chamber heater {} cooler, at {} (`job.chamber`)",
                by(by_K),
                to(to_K)
            ),
            Self::LaterStart { by_h } => format!("start {by_h} h later"),
            Self::FeederCurrent { share } => format!(
                "feeder motor at {:.0} % of its current (see that it still feeds)",
                100.0 * share
            ),
            Self::DryFilament => {
                "filament dried before the run and fed from a sealed box with a drying agent"
                    .to_owned()
            }
            Self::SpoolInRoom => "spool moved out of the chamber into the room".to_owned(),
            Self::TubeOutside => format!(
                "guide tube led outside the chamber, {} of it left inside",
                format_length(TUBE_LEFT_M, system)
            ),
            Self::FeederHeatSink { added_W_per_K } => {
                format!("heat sink or small fan on the feeder motor, {added_W_per_K:.2} W/K more")
            }
            Self::CoolerRoom { by_K, peak_K } => format!(
                "room {} cooler, afternoons of {} at most",
                by(by_K),
                to(peak_K)
            ),
            Self::CoolerSetpoint { by_K, to_K } => {
                format!("air conditioner set {} lower, to {}", by(by_K), to(to_K))
            }
            Self::Extract { flow_m3_per_s } => {
                format!("extracting {}", format_flow(*flow_m3_per_s, system))
            }
            Self::Shade => "clear panels shaded from the sun, outside the chamber".to_owned(),
            Self::LidOff => "lid off".to_owned(),
            Self::DoorOpen => "door open".to_owned(),
            Self::OtherMaterial(m) => {
                let caveat = m.caveat.as_ref();
                format!(
                    "{} instead, where the part allows it, bed {}, nozzle {}{}",
                    m.name,
                    about(&m.bed_K),
                    about(&m.nozzle_K),
                    caveat.map_or_else(String::new, |c| format!(" ({c})"))
                )
            }
        }
    }
}

//! The uncertain coefficients of the model: one name, unit, default, plausible spread and
//! explanation each, here and nowhere else.
//!
//! A machine can be measured with a tape and a watt meter, but nobody knows its leaks or how well
//! its air mixes. Those numbers live in this table. Calibration, uncertainty, remedies and
//! sensitivities all address them by [`Coefficient::name`]; the run file may set them under
//! `[coefficients]`.

/// An uncertain number of the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Coefficient {
    /// Multiplies every natural-convection coefficient inside the chamber.
    InsideConvection,
    /// Multiplies every natural-convection coefficient on the outside faces.
    OutsideConvection,
    /// Multiplies the machine's leak area.
    Leakage,
    /// Multiplies the plume's volume flow over the warm bed.
    Plume,
    /// Speed at which motion stirs air between neighbouring layers, m/s.
    LayerMixing,
    /// Air speed over the faces inside while the machine prints, m/s.
    StirringSpeed,
    /// Multiplies the heat of the motion motors.
    MotionHeat,
    /// Multiplies the heat of the feeder motor.
    FeederHeat,
    /// Multiplies the hotend's loss to the air.
    HotendLoss,
    /// Multiplies the conductance of the heat break.
    HeatBreak,
    /// Multiplies the cold end's conductance to the air.
    ColdEndCooling,
    /// Contact coefficient between part and bed, W/(m2 K).
    PartContact,
    /// Heat transfer coefficient between the drive gear and the filament, W/(m2 K).
    GearContact,
    /// Heat transfer coefficient between the cold end's bore and the filament, W/(m2 K).
    BoreContact,
    /// Share of the make-up air that reaches the extraction point without cooling the chamber.
    ShortCircuit,
    /// Contact resistance between the machine's underside and what it stands on, m2 K/W.
    BenchResistance,
}

/// What is known of a [`Coefficient`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Description {
    /// Name in run files and reports.
    pub name: &'static str,
    /// Unit as written in run files; empty for a pure number.
    pub unit: &'static str,
    /// Value used when the run says nothing.
    pub default: f64,
    /// Lower end of the plausible range (about one in forty machines lies below).
    pub low: f64,
    /// Upper end of the plausible range (about one in forty machines lies above).
    pub high: f64,
    /// What it is, in one sentence, and where the default comes from.
    pub explanation: &'static str,
}

impl Coefficient {
    /// Every coefficient, in the order reports list them.
    pub const ALL: [Self; 16] = [
        Self::InsideConvection,
        Self::OutsideConvection,
        Self::Leakage,
        Self::Plume,
        Self::LayerMixing,
        Self::StirringSpeed,
        Self::MotionHeat,
        Self::FeederHeat,
        Self::HotendLoss,
        Self::HeatBreak,
        Self::ColdEndCooling,
        Self::PartContact,
        Self::GearContact,
        Self::BoreContact,
        Self::ShortCircuit,
        Self::BenchResistance,
    ];

    /// Name, unit, default, spread and explanation.
    #[must_use]
    pub const fn describe(self) -> Description {
        const fn d(
            name: &'static str,
            unit: &'static str,
            default: f64,
            low: f64,
            high: f64,
            explanation: &'static str,
        ) -> Description {
            Description {
                name,
                unit,
                default,
                low,
                high,
                explanation,
            }
        }
        match self {
            Self::InsideConvection => d(
                "inside_convection",
                "",
                1.0,
                0.7,
                1.4,
                "multiplies natural convection on every face inside; plate correlations carry 10-30 % in real enclosures (common practice, no source)",
            ),
            Self::OutsideConvection => d(
                "outside_convection",
                "",
                1.0,
                0.7,
                1.5,
                "multiplies natural convection on the outside faces; draughts raise it, a wall close by lowers it (common practice, no source)",
            ),
            Self::Leakage => d(
                "leakage",
                "",
                1.0,
                0.3,
                3.0,
                "multiplies the machine's leak area, which is rarely known better than by a factor (common practice, no source)",
            ),
            Self::Plume => d(
                "plume",
                "",
                1.0,
                0.6,
                1.5,
                "multiplies the air carried up by the plume over the warm bed; the point-source law is stretched by a wide bed in a low chamber (common practice, no source)",
            ),
            Self::LayerMixing => d(
                "layer_mixing",
                "mm/s",
                1.0,
                0.2,
                5.0,
                "speed at which the moving gantry and stray draughts exchange air between neighbouring layers (common practice, no source)",
            ),
            Self::StirringSpeed => d(
                "stirring_speed",
                "m/s",
                0.05,
                0.0,
                0.2,
                "air speed over the faces inside while printing, from the moving gantry and part-cooling fan (common practice, no source)",
            ),
            Self::MotionHeat => d(
                "motion_heat",
                "",
                1.0,
                0.7,
                1.3,
                "multiplies the heat of the motion motors as described with the machine",
            ),
            Self::FeederHeat => d(
                "feeder_heat",
                "",
                1.0,
                0.6,
                1.4,
                "multiplies the heat of the feeder motor as described with the machine",
            ),
            Self::HotendLoss => d(
                "hotend_loss",
                "",
                1.0,
                0.6,
                1.5,
                "multiplies the hotend's loss to the chamber air; a sock lowers it, a bare block raises it (common practice, no source)",
            ),
            Self::HeatBreak => d(
                "heat_break",
                "",
                1.0,
                0.6,
                1.6,
                "multiplies the conductance of the heat break",
            ),
            Self::ColdEndCooling => d(
                "cold_end_cooling",
                "",
                1.0,
                0.6,
                1.4,
                "multiplies the cold end's conductance to the air; dust on the fins lowers it (common practice, no source)",
            ),
            Self::PartContact => d(
                "part_contact",
                "W/(m2 K)",
                150.0,
                50.0,
                500.0,
                "contact coefficient between part and bed through the build surface (common practice, no source)",
            ),
            Self::GearContact => d(
                "gear_contact",
                "W/(m2 K)",
                300.0,
                100.0,
                1000.0,
                "coefficient between the teeth of the drive gear and the filament they squeeze (common practice, no source)",
            ),
            Self::BoreContact => d(
                "bore_contact",
                "W/(m2 K)",
                60.0,
                30.0,
                150.0,
                "coefficient between the cold end's bore and the filament across a thin air gap: conductivity of air over a gap of about 0.4 mm",
            ),
            Self::ShortCircuit => d(
                "short_circuit",
                "",
                0.1,
                0.0,
                0.4,
                "share of the make-up air that runs from inlet to extraction point without cooling the chamber (common practice, no source)",
            ),
            Self::BenchResistance => d(
                "bench_resistance",
                "m2 K/W",
                0.15,
                0.05,
                0.5,
                "resistance from the machine's underside through feet, air gap and bench to the room (common practice, no source)",
            ),
        }
    }

    /// Name in run files and reports.
    #[must_use]
    pub const fn name(self) -> &'static str {
        self.describe().name
    }

    /// The coefficient of that name.
    #[must_use]
    pub fn by_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|c| c.name() == name)
    }
}

/// A value for every [`Coefficient`], in the unit of its description.
#[derive(Debug, Clone, PartialEq)]
pub struct Coefficients([f64; Coefficient::ALL.len()]);

impl Default for Coefficients {
    fn default() -> Self {
        Self(Coefficient::ALL.map(|c| c.describe().default))
    }
}

impl Coefficients {
    /// The value of one coefficient, in the unit of its description.
    #[must_use]
    pub const fn get(&self, c: Coefficient) -> f64 {
        self.0[c as usize]
    }

    /// Sets one coefficient, in the unit of its description.
    pub const fn set(&mut self, c: Coefficient, value: f64) {
        self.0[c as usize] = value;
    }
}

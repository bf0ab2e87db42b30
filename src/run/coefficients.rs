//! The uncertain numbers of the model, in SI. What is known of each is declared with its key, in
//! [`crate::keys::fields::coefficients`].

use crate::keys::section::Section;

macro_rules! coefficients {
    ($($name:ident = $key:literal,)*) => {
        /// An uncertain number of the model, called as its key is.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Coefficient {
            $(
                #[doc = concat!("`coefficients.", $key, "`")]
                $name,
            )*
        }

        impl Coefficient {
            /// Every coefficient, in the order of their keys.
            pub const ALL: [Self; [$($key),*].len()] = [$(Self::$name),*];

            /// Its key under `[coefficients]`.
            #[must_use]
            pub const fn key(self) -> &'static str {
                match self {
                    $(Self::$name => $key,)*
                }
            }
        }
    };
}

coefficients! {
    InsideConvection = "inside_convection",
    OutsideConvection = "outside_convection",
    Leakage = "leakage",
    Plume = "plume",
    LayerMixing = "layer_mixing",
    StirringSpeed = "stirring_speed",
    JetStirring = "jet_stirring",
    OpeningStirring = "opening_stirring",
    MotionHeat = "motion_heat",
    FeederHeat = "feeder_heat",
    HeatSink = "heat_sink",
    Shaft = "shaft",
    GearSeat = "gear_seat",
    MountFace = "mount_face",
    MountFrame = "mount_frame",
    MountColdEnd = "mount_cold_end",
    HotendLoss = "hotend_loss",
    HeatBreak = "heat_break",
    ColdEndCooling = "cold_end_cooling",
    PartContact = "part_contact",
    GearContact = "gear_contact",
    BoreContact = "bore_contact",
    SpoolAllowance = "spool_allowance",
    TubeAllowance = "tube_allowance",
    GearAllowance = "gear_allowance",
    ColdEndAllowance = "cold_end_allowance",
    SoftLength = "soft_length",
    ShortCircuit = "short_circuit",
    BenchResistance = "bench_resistance",
}

/// A value for every [`Coefficient`], in SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Coefficients([f64; Coefficient::ALL.len()]);

impl Coefficients {
    /// The coefficients of a completed section, when none of its values is bad.
    pub(super) fn read(section: &Section) -> Option<Self> {
        let mut values = [0.0; Coefficient::ALL.len()];
        for (value, coefficient) in values.iter_mut().zip(Coefficient::ALL) {
            *value = section.number(coefficient.key())?;
        }
        Some(Self(values))
    }

    /// The value of one coefficient, in SI.
    #[must_use]
    pub const fn get(&self, c: Coefficient) -> f64 {
        self.0[c as usize]
    }

    /// Sets one coefficient, in SI.
    pub const fn set(&mut self, c: Coefficient, value: f64) {
        self.0[c as usize] = value;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::keys::fields::coefficients::COEFFICIENTS;

    #[test]
    fn the_coefficients_are_the_keys_that_are_declared() {
        let named: Vec<&str> = Coefficient::ALL.iter().map(|c| c.key()).collect();
        let declared: Vec<&str> = COEFFICIENTS.fields.iter().map(|f| f.key).collect();
        assert_eq!(named, declared);
    }
}

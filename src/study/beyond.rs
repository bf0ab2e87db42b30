//! What no answer may rest on: temperatures for which the model has not been made.

use crate::physics::air::CHECKED_K;
use crate::quantity::{System, format_temperature};

/// The hottest air measured on Earth, K: 56.7 °C in 1913 (World Meteorological Organization, archive of
/// extremes; from memory).
const HOTTEST_AIR_ON_EARTH_K: f64 = 329.85;

/// Something outside of what the model knows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Beyond {
    /// The room, or outdoors, is warmer than any air on Earth has been.
    Room {
        /// Highest, K.
        highest_K: f64,
    },
    /// The chamber's air gets warmer than its properties are known for.
    HotChamber {
        /// Highest, K.
        highest_K: f64,
    },
    /// Air, and with it filament, gets colder than properties are known for.
    Cold {
        /// Lowest, K.
        lowest_K: f64,
    },
}

impl Beyond {
    /// In words.
    #[must_use]
    pub fn text(&self, system: System) -> String {
        let degrees = |K: f64| format_temperature(K, system);
        match self {
            Self::Room { highest_K } => format!(
                "do not rely on this answer: the room reaches {}, and no air on Earth has been warmer than {}: check the temperatures under [room]",
                degrees(*highest_K),
                degrees(HOTTEST_AIR_ON_EARTH_K)
            ),
            Self::HotChamber { highest_K } => format!(
                "do not rely on this answer: the chamber's air reaches {}, and beyond {} the model has been held against nothing: check heaters, setpoints and openings",
                degrees(*highest_K),
                degrees(*CHECKED_K.end())
            ),
            Self::Cold { lowest_K } => format!(
                "do not rely on this answer: the air falls to {}, and below {} the model has been held against nothing: check the temperatures under [room] and [initial]",
                degrees(*lowest_K),
                degrees(*CHECKED_K.start())
            ),
        }
    }
}

/// What of a run lies beyond the model. From the lowest and highest temperature of the room and of the
/// chamber's air, K.
pub(super) fn beyond(room_K: (f64, f64), air_K: (f64, f64)) -> Vec<Beyond> {
    let mut found = Vec::new();
    if room_K.1 > HOTTEST_AIR_ON_EARTH_K {
        found.push(Beyond::Room {
            highest_K: room_K.1,
        });
    }
    if air_K.1 > *CHECKED_K.end() {
        found.push(Beyond::HotChamber { highest_K: air_K.1 });
    }
    let lowest_K = room_K.0.min(air_K.0);
    if lowest_K < *CHECKED_K.start() {
        found.push(Beyond::Cold { lowest_K });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_no_shop_has_is_told_and_a_heat_wave_is_not() {
        let kelvin = |low: f64, high: f64| (low + 273.15, high + 273.15);
        assert_eq!(beyond(kelvin(-30.0, 50.0), kelvin(-30.0, 190.0)), []);
        let found = beyond(kelvin(-60.0, 60.0), kelvin(20.0, 300.0));
        let texts: Vec<String> = found.iter().map(|b| b.text(System::Si)).collect();
        assert_eq!(texts.len(), 3);
        for (text, says) in texts.iter().zip(["60.0 °C", "300.0 °C", "−60.0 °C"]) {
            assert!(text.contains(says), "{text}");
        }
    }
}

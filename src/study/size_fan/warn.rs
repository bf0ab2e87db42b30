//! What practice warns of in fans, filters and openings, in words.

use crate::quantity::{System, format_flow, format_length, format_pressure};
use std::fmt;

/// A warning about an extraction fan.
#[derive(Debug, Clone, PartialEq)]
pub enum FanWarning {
    /// The chamber's openings throttle the fan.
    SmallOpening {
        /// Shell pressure at the flow, Pa.
        pressure_Pa: f64,
        /// Flow, m3/s.
        flow_m3_per_s: f64,
        /// Free area to add, m2.
        add_m2: f64,
    },
    /// A fan works on or left of the rising part of its curve.
    Unstable {
        /// The fan.
        fan: String,
    },
    /// The fan's flow is a guess.
    BeyondCurve {
        /// The fan.
        fan: String,
    },
    /// Fresh air is drawn off before it has cooled anything.
    NextToInlet {
        /// Distance in height, m.
        distance_m: f64,
    },
    /// The chamber, and with it the room, is pulled below the pressure outdoors.
    Burner {
        /// Pressure of the chamber below the room, Pa.
        pressure_Pa: f64,
    },
    /// The jet of make-up air may reach the part.
    Draught {
        /// Speed at the part, m/s.
        speed_m_per_s: f64,
    },
    /// Fumes pass the filter.
    Fumes {
        /// Whether they stay in the room.
        into_room: bool,
    },
    /// What holds the filament solid makes the chamber too cool.
    TooCool {
        /// Least flow, m3/s.
        needed_m3_per_s: f64,
        /// Most flow, m3/s.
        most_m3_per_s: f64,
    },
    /// Even closed, the chamber stays too cool.
    CoolWhenClosed,
    /// Hardly any air moves.
    TooTight {
        /// The fan.
        fan: String,
    },
}

impl fmt::Display for FanWarning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text(System::Si))
    }
}

impl FanWarning {
    /// The warning in the reader's units.
    #[must_use]
    pub fn text(&self, system: System) -> String {
        let flow = |q: &f64| format_flow(*q, system);
        let fine_flow = |q: &f64| format!("{:.1} {}", system.flow(*q), system.flow_unit());
        let pressure = |p: &f64| format_pressure(*p, system);
        match self {
            Self::SmallOpening {
                pressure_Pa,
                flow_m3_per_s,
                add_m2,
            } => format!(
                "make-up opening too small: at {} the shell alone takes {}; add about {} of free area low in the chamber (`machine.vent`)",
                flow(flow_m3_per_s),
                pressure(pressure_Pa),
                match system {
                    System::Si => format!("{:.0} cm²", add_m2 * 1e4),
                    System::Us => format!("{:.1} in²", add_m2 / (0.0254 * 0.0254)),
                }
            ),
            Self::Unstable { fan } => format!(
                "{fan} works in the unstable part of its curve: its flow may hunt and hum; take a fan with more pressure or lower the system's"
            ),
            Self::BeyondCurve { fan } => format!(
                "{fan} works beyond the last point of its curve: the flow is a guess; add points up to free delivery"
            ),
            Self::NextToInlet { distance_m } => format!(
                "the extraction point lies only {} in height from a vent: fresh air may be drawn off before it has cooled anything; extract high and let air in low (`machine.extraction_height`, `machine.vent`)",
                format_length(*distance_m, system)
            ),
            Self::Burner { pressure_Pa } => format!(
                "a burner draws its air from this room: the fan pulls the chamber {} below the room and takes air from the room as well, which can draw flue gas back; have fresh air let in and the flue checked before it runs (`system.burner_in_room`)",
                pressure(pressure_Pa)
            ),
            Self::Draught { speed_m_per_s } => format!(
                "the jet of make-up air can pass the hot part at about {}, if the vent points at it: turn it aside with a baffle or make the opening larger",
                match system {
                    System::Si => format!("{speed_m_per_s:.1} m/s"),
                    System::Us => format!("{:.0} ft/min", speed_m_per_s * 60.0 / 0.3048),
                }
            ),
            Self::Fumes { into_room: true } => {
                "the filter is not rated for fumes and the air goes back into the room: lead it outdoors or take a filter rated for fumes too (`system.filter_stops`)".to_owned()
},
            Self::Fumes { into_room: false } => {
                "the filter is not rated for fumes: they go outdoors as they are; ask what local codes say (`system.filter_stops`)".to_owned()
},
            Self::TooCool {
                needed_m3_per_s,
                most_m3_per_s,
            } => format!(
                "at least {} are needed to keep the filament solid, but above {} the chamber falls below its lowest useful temperature: no flow does both",
                fine_flow(needed_m3_per_s),
                fine_flow(most_m3_per_s)
            ),
            Self::CoolWhenClosed => {
                "even closed the chamber falls below its lowest useful temperature (`require.chamber_min`)".to_owned()
},
            Self::TooTight { fan } => format!(
                "{fan} moves hardly any air: the system is too tight; open vents or take a wider duct or filter"
            ),
        }
    }
}

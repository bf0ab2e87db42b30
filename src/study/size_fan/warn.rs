//! What practice warns of in fans, filters and openings, in words.

use super::candidates::AIR_RESERVE_K;
use crate::quantity::{
    System, format_count, format_difference, format_flow, format_length, format_pressure,
    format_temperature,
};
use crate::run::FilterKind;
use std::fmt;

/// A warning about an extraction fan, in the order in which they are told: what can hurt somebody first.
#[derive(Debug, Clone, PartialEq)]
pub enum FanWarning {
    /// What the hot polymer gives off is not all held back, or stays in the room.
    Fumes {
        /// Whether it stays in the room.
        into_room: bool,
        /// What the filter stops.
        filter: FilterKind,
        /// Whether it takes too little pressure to stop anything fine.
        is_coarse: bool,
        /// The material.
        material: String,
        /// What it is known to give off beyond what every polymer does.
        gives_off: Option<String>,
    },
    /// A filter that stops fumes is spent before anybody sees it.
    SpentFilter,
    /// The chamber, and with it the room, is pulled below the pressure outdoors.
    Burner {
        /// Pressure of the chamber below the room, Pa.
        pressure_Pa: f64,
    },
    /// The fan holds the door shut.
    DoorForce {
        /// Pressure of the chamber below the room, Pa.
        pressure_Pa: f64,
        /// Force on the door, N.
        force_N: f64,
    },
    /// The fan presses through a duct indoors.
    DuctUnderPressure,
    /// What holds the filament solid makes the chamber too cool.
    TooCool {
        /// Least flow, m3/s.
        needed_m3_per_s: f64,
        /// Most flow, m3/s.
        most_m3_per_s: f64,
    },
    /// Even closed, the chamber stays too cool.
    CoolWhenClosed,
    /// The chamber's openings throttle the fan.
    SmallOpening {
        /// Shell pressure at the flow, Pa.
        pressure_Pa: f64,
        /// Flow, m3/s.
        flow_m3_per_s: f64,
        /// Free area to add, m2.
        add_m2: f64,
    },
    /// Fresh air is drawn off before it has cooled anything.
    NextToInlet {
        /// Distance in height, m.
        distance_m: f64,
    },
    /// The jet of make-up air may reach the part.
    Draught {
        /// Speed at the part, m/s.
        speed_m_per_s: f64,
    },
    /// Wind presses back through a fan.
    FlowsBack {
        /// The fan.
        fan: String,
    },
    /// A fan is not made for the air that passes it.
    WarmAir {
        /// The fan.
        fan: String,
        /// What it is made for, K.
        air_max_K: f64,
        /// What passes it, K.
        warmest_K: f64,
    },
    /// A thermostat starts the fan more often than is good for it.
    StartsTooOften {
        /// The fan.
        fan: String,
        /// Starts over the run.
        starts: usize,
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
    /// Whether it stands in the first lines, before any fan: somebody may come to harm.
    #[must_use]
    pub const fn comes_first(&self) -> bool {
        match self {
            Self::Fumes {
                into_room,
                filter,
                is_coarse,
                ..
            } => *into_room && (*is_coarse || !matches!(filter, FilterKind::ParticlesAndFumes)),
            Self::Burner { .. } | Self::DoorForce { .. } => true,
            _ => false,
        }
    }

    /// The warning in the reader's units.
    #[must_use]
    pub fn text(&self, system: System) -> String {
        let flow = |q: &f64| format_flow(*q, system);
        let fine_flow = |q: &f64| format!("{:.1} {}", system.flow(*q), system.flow_unit());
        let pressure = |p: &f64| format_pressure(*p, system);
        match self {
            Self::Fumes {
                into_room,
                filter,
                is_coarse,
                material,
                gives_off,
            } => {
                let passes = if *is_coarse {
                    "a filter that takes so little pressure is a coarse mat, which stops neither fine particles nor fumes"
                } else {
                    passes(*filter)
                };
                fumes(*into_room, passes, material, gives_off.as_deref())
            }
            Self::SpentFilter => {
                "what holds fumes back is spent long before a gauge across the filter shows it: change it by the hours that its maker states for such vapours, and let fresh air into the room".to_owned()
            }
            Self::Burner { pressure_Pa } => format!(
                "a burner draws its air from this room: the fan pulls the chamber {} below the room and takes air from the room as well, which can draw flue gas back; have fresh air let in and the flue checked before it runs (`system.burner_in_room`)",
                pressure(pressure_Pa)
            ),
            Self::DoorForce {
                pressure_Pa,
                force_N,
            } => format!(
                "the fan pulls the chamber {} below the room: {force_N:.0} N on the door, which then opens hard and slams, and seals and panels bend; let more air in (`machine.vent`) or move less",
                pressure(pressure_Pa)
            ),
            Self::DuctUnderPressure => {
                "with the fan at the machine the duct is under pressure, and every joint leaks what it carries into the room: fit the fan at the duct's far end, where it draws, or seal the joints (`system.fan_at`)".to_owned()
            }
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
            }
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
            Self::NextToInlet { distance_m } => format!(
                "the extraction point lies only {} in height from a vent: fresh air may be drawn off before it has cooled anything; extract high and let air in low (`machine.extraction_height`, `machine.vent`)",
                format_length(*distance_m, system)
            ),
            Self::Draught { speed_m_per_s } => format!(
                "the jet of make-up air can pass the hot part at about {}, if the vent points at it: turn it aside with a baffle or make the opening larger",
                match system {
                    System::Si => format!("{speed_m_per_s:.1} m/s"),
                    System::Us => format!("{:.0} ft/min", speed_m_per_s * 60.0 / 0.3048),
                }
            ),
            Self::FlowsBack { fan } => format!(
                "the wind on the outlet presses air back through {fan}: shelter the outlet or turn it away from the wind (`system.wind`)"
            ),
            Self::WarmAir {
                fan,
                air_max_K,
                warmest_K,
            } => format!(
                "{fan} is made for air of {} at most, and air of up to {} would pass it: {} in hand are asked for",
                format_temperature(*air_max_K, system),
                format_temperature(*warmest_K, system),
                format_difference(AIR_RESERVE_K, system)
            ),
            Self::StartsTooOften { fan, starts } => format!(
                "the thermostat starts {fan} {} times over the run: widen its band (`arrangement.thermostat.on_above`, `off_below`) or control the fan's speed",
                format_count(*starts)
            ),
            Self::Unstable { fan } => format!(
                "{fan} works in the unstable part of its curve: its flow may hunt and hum; take a fan with more pressure or lower the system's"
            ),
            Self::BeyondCurve { fan } => format!(
                "{fan} works beyond the last point of its curve: the flow is a guess; add points up to free delivery"
            ),
            Self::TooTight { fan } => format!(
                "{fan} moves hardly any air: the system is too tight; open vents or take a wider duct or filter"
            ),
        }
    }
}

/// What of the filter lets things pass.
const fn passes(filter: FilterKind) -> &'static str {
    match filter {
        FilterKind::None => "there is no filter",
        FilterKind::NotSaid => "the run file does not say what the filter stops",
        FilterKind::Particles => "the filter stops no fumes",
        FilterKind::ParticlesAndFumes => "a filter holds fumes back only until it is full",
    }
}

/// What is not held back, and who breathes it.
fn fumes(into_room: bool, passes: &str, material: &str, gives_off: Option<&str>) -> String {
    let what = match gives_off {
        Some(known) => format!("fine particles and vapours, {known} among them"),
        None => "fine particles and vapours".to_owned(),
    };
    let all = "`system.filter_stops`";
    match (into_room, gives_off) {
        (true, None) => format!(
            "{passes}, and the air goes back into the room: whoever is there breathes what hot {material} gives off, {what}; lead it outdoors (`system.led_to`) or through a filter for particles and fumes ({all})"
        ),
        (true, Some(_)) => format!(
            "{passes}, and the air goes back into the room: hot {material} gives off {what}, and nobody should stay in that room while it runs; lead the air outdoors (`system.led_to`), and ask what local rules for such vapours say ({all})"
        ),
        (false, _) => format!(
            "{passes}: {what} go outdoors as they are; keep the outlet away from windows and air intakes and ask what local codes say ({all})"
        ),
    }
}

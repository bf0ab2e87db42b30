//! What practice knows about fans, filters and openings.

use std::fmt;

use super::Sizing;
use super::flow::{Flows, shell_pressure_Pa};
use crate::physics::duct::jet_speed_m_per_s;
use crate::quantity::{System, format_flow, format_length, format_pressure};
use crate::run::FilterKind;
use crate::run::Run;

/// Shell pressure above which the make-up opening is called too small, Pa (common practice: a
/// few pascals for small cabinets, no source).
const LARGE_SHELL_PA: f64 = 10.0;
/// Shell pressure for which an opening is suggested, Pa.
const WANTED_SHELL_PA: f64 = 3.0;
/// Speed past a hot part that may warp it or lift its corners, m/s (common practice, no source).
const DRAUGHT_M_PER_S: f64 = 1.0;
/// An inlet within this share of the chamber's height from the extraction point is next to it.
const NEAR_SHARE: f64 = 0.25;
/// Less flow than this is as good as none, m3/s (0.5 m3/h).
const NO_FLOW_M3_PER_S: f64 = 0.5 / 3600.0;

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

pub(super) fn warnings(run: &Run, flows: &Flows<'_>, sizing: &Sizing) -> Vec<FanWarning> {
    let mut found = Vec::new();
    let chosen = sizing.recommended.map(|k| &sizing.candidates[k]);
    // The flow that will blow: the recommended fan's, or else the needed one.
    let flow_m3_per_s = chosen
        .map(|c| c.clean.flow_m3_per_s)
        .or(sizing.needed_m3_per_s)
        .unwrap_or(0.0);
    let (extracted_K, room_K) = flows.temperatures_K(flow_m3_per_s);
    let opening_m2 = flows.opening_m2();
    let pressure_Pa = shell_pressure_Pa(run, flow_m3_per_s, extracted_K, room_K, opening_m2);
    if pressure_Pa > LARGE_SHELL_PA {
        // dp goes with the inverse square of the area; sharp edges pass 0.6 of theirs.
        let wanted_m2 = opening_m2 * (pressure_Pa / WANTED_SHELL_PA).sqrt();
        found.push(FanWarning::SmallOpening {
            pressure_Pa,
            flow_m3_per_s,
            add_m2: (wanted_m2 - opening_m2) / 0.6,
        });
    }
    for c in &sizing.candidates {
        let fan = c.label();
        if c.loaded.flow_m3_per_s < NO_FLOW_M3_PER_S {
            found.push(FanWarning::TooTight { fan });
        } else if c.loaded.unstable || c.clean.unstable {
            found.push(FanWarning::Unstable { fan });
        } else if c.clean.beyond_curve {
            found.push(FanWarning::BeyondCurve { fan });
        }
    }
    place_and_surroundings(run, flow_m3_per_s, pressure_Pa, opening_m2, &mut found);
    match (sizing.needed_m3_per_s, sizing.most_m3_per_s) {
        (_, Some(most)) if most <= 0.0 => found.push(FanWarning::CoolWhenClosed),
        (Some(needed_m3_per_s), Some(most_m3_per_s)) if needed_m3_per_s > most_m3_per_s => {
            found.push(FanWarning::TooCool {
                needed_m3_per_s,
                most_m3_per_s,
            });
        }
        _ => {}
    }
    found
}

fn place_and_surroundings(
    run: &Run,
    flow_m3_per_s: f64,
    pressure_Pa: f64,
    opening_m2: f64,
    found: &mut Vec<FanWarning>,
) {
    let m = &run.machine;
    let nearest = m
        .vents
        .iter()
        .map(|v| (v.height_m - m.extraction_height_m).abs())
        .reduce(f64::min);
    if let Some(distance_m) = nearest
        && distance_m < NEAR_SHARE * m.height_m
    {
        found.push(FanWarning::NextToInlet { distance_m });
    }
    if run.system.burner_in_room && run.system.led_outdoors {
        found.push(FanWarning::Burner { pressure_Pa });
    }
    // The largest vent's jet, from the back to the nearer side of a part in the middle.
    let vent_m2 = m
        .vents
        .iter()
        .map(|v| v.area_m2 * v.discharge)
        .fold(0.0, f64::max);
    let distance_m = 0.5 * (m.depth_m - run.part.footprint_m2.sqrt()).max(0.02);
    let speed_m_per_s = jet_speed_m_per_s(flow_m3_per_s / opening_m2, vent_m2, distance_m);
    if speed_m_per_s > DRAUGHT_M_PER_S && vent_m2 > 0.0 {
        found.push(FanWarning::Draught { speed_m_per_s });
    }
    if run.system.filter != FilterKind::ParticlesAndFumes {
        found.push(FanWarning::Fumes {
            into_room: !run.system.led_outdoors,
        });
    }
}

//! Leaks, vents, an open door or lid, and the fan: the paths of air through the shell.

use super::thing::{Thing, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::course::Course;
use crate::network::{
    AirPaths, Builder, Configuration, Direction, Draught, Index, LedgerId, Opening, Shape, Source,
    StirredOpening,
};
use crate::physics::air::Air;
use crate::run::Coefficient as K;
use crate::run::{ArrangementKind, Run};

/// Discharge coefficient of cracks and doors (sharp-edged openings: 0.6, common in ventilation
/// handbooks, from memory).
const LEAK_DISCHARGE: f64 = 0.6;
/// Least leak area of any machine, m2.
const TIGHTEST_M2: f64 = 1e-6;
/// Strips that stand for an open door in each air layer.
const DOOR_STRIPS: usize = 8;
/// Thickness of the rim around an open lid, m.
const LID_RIM_M: f64 = 0.01;
/// Temperature of air that leaves through a fan that stands still, K.
const WARM_AIR_K: f64 = 313.15;
/// Heights of the leaks as shares of the chamber's: seams at floor and lid, holes between.
const LEAK_HEIGHTS: [f64; 4] = [0.02, 0.35, 0.65, 0.98];

/// What air passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WayOut {
    /// A seam or a hole that nobody meant.
    Leak,
    /// An opening meant for air.
    Vent,
    /// A strip of the open door.
    Door,
    /// The open lid.
    Lid,
    /// The way out of a fan that stands still.
    StoppedFan,
    /// A fan that runs.
    Fan,
}

/// What each opening of a chamber is, in the order in which they are made.
#[must_use]
pub fn ways(run: &Run, openings: &[Opening]) -> Vec<WayOut> {
    let m = &run.machine;
    let leaks = LEAK_HEIGHTS.len();
    let vents = leaks + m.vents.iter().filter(|v| v.area_m2 > 0.0).count();
    let strips = openings.len().saturating_sub(vents) / DOOR_STRIPS * DOOR_STRIPS;
    let each = openings.iter().enumerate();
    each.map(|(k, o)| match k {
        _ if k < leaks => WayOut::Leak,
        _ if k < vents => WayOut::Vent,
        _ if k < vents + strips => WayOut::Door,
        _ if o.area_m2 == m.lid_opening_m2 && o.height_m == m.height_m => WayOut::Lid,
        _ => WayOut::StoppedFan,
    })
    .collect()
}

/// Everything that air passes.
pub struct Openings {
    exchange: LedgerId,
    /// What is radiated through an open side.
    pub open_side: LedgerId,
    filter_fan: LedgerId,
    blowing_fan: LedgerId,
}

/// Area of all leaks, m2. Even the tightest shell lets some air through; without any, a fan would move none.
fn leak_m2(run: &Run) -> f64 {
    (run.machine.leak_area_m2 * run.coefficients.get(K::Leakage)).max(TIGHTEST_M2)
}

/// Sum of discharge coefficient times area over all vents and leaks of the machine with lid and door shut, m2: what
/// make-up air comes in through.
#[must_use]
pub fn shut_opening_m2(run: &Run) -> f64 {
    let vents = run.machine.vents.iter().map(|v| v.area_m2 * v.discharge);
    leak_m2(run) * LEAK_DISCHARGE + vents.sum::<f64>()
}

/// Height of an open door, m, and the strips that stand for it: height of their middles, m, and area, m2.
fn door_strips(site: &Site<'_>) -> (f64, impl Iterator<Item = (f64, f64)>) {
    let m = &site.run.machine;
    let height = m.door_opening_height_m.min(m.height_m);
    let sill = 0.5 * (m.height_m - height);
    let strips = DOOR_STRIPS * site.layers();
    let strip_m2 = m.door_opening_m2 / strips as f64;
    let middle = move |k: usize| sill + height * (k as f64 + 0.5) / strips as f64;
    (height, (0..strips).map(move |k| (middle(k), strip_m2)))
}

impl Openings {
    pub fn new(b: &mut Builder) -> Self {
        Self {
            exchange: ledger(b, "air exchange", Direction::Out, 50),
            open_side: ledger(b, "radiation through the opening", Direction::Out, 60),
            filter_fan: ledger(b, "filter fan", Direction::In, 60),
            blowing_fan: ledger(b, "blowing fan", Direction::In, 65),
        }
    }

    fn openings(site: &Site<'_>, layer_at: impl Fn(f64) -> usize) -> Vec<Opening> {
        let m = &site.run.machine;
        let opening = |height_m: f64, area_m2: f64, discharge: f64| Opening {
            height_m,
            area_m2,
            discharge,
            layer: layer_at(height_m),
        };
        let leak = leak_m2(site.run) / LEAK_HEIGHTS.len() as f64;
        let mut all: Vec<Opening> = LEAK_HEIGHTS
            .iter()
            .map(|share| opening(share * m.height_m, leak, LEAK_DISCHARGE))
            .collect();
        let vents = m.vents.iter().filter(|v| v.area_m2 > 0.0);
        all.extend(
            vents.map(|v| opening(v.height_m.clamp(0.0, m.height_m), v.area_m2, v.discharge)),
        );
        if site.open.door_open {
            let (_, strips) = door_strips(site);
            all.extend(strips.map(|(middle_m, m2)| opening(middle_m, m2, LEAK_DISCHARGE)));
        }
        if site.open.lid_off {
            all.push(opening(m.height_m, m.lid_opening_m2, LEAK_DISCHARGE));
        }
        let system = &site.run.system;
        if site.recipe.arrangement.stopped_fan && !system.flap {
            // In the warm air that leaves; a few per cent do not matter here.
            let air = Air::at(WARM_AIR_K, site.network.air().pressure_Pa());
            let area_m2 = system.standing_m2(air.density_kg_per_m3, air.viscosity_Pa_s);
            all.push(opening(
                m.extraction_height_m.clamp(0.0, m.height_m),
                area_m2,
                1.0,
            ));
        }
        all
    }
}

impl Openings {
    /// What the jet of a fan inside adds to the exchange through an open lid or door.
    fn stirred(&self, site: &Site<'_>, layer_at: impl Fn(f64) -> usize, c: &mut Configuration) {
        let (m, p) = (&site.run.machine, site.p);
        let speed_m_per_s = site.jet_speed();
        if speed_m_per_s <= 0.0 {
            return;
        }
        let before = |layer: usize, area_m2: f64, shape: Shape| StirredOpening {
            layer: p.air[layer],
            room: p.room,
            area_m2,
            shape,
            speed_m_per_s,
            factor: site.k(K::OpeningStirring),
            ledger: self.exchange,
        };
        if site.open.lid_off {
            let shape = Shape::Horizontal { rim_m: LID_RIM_M };
            let top = site.layers() - 1;
            c.stirred_openings
                .push(before(top, m.lid_opening_m2, shape));
        }
        if site.open.door_open {
            let mut areas_m2 = vec![0.0; site.layers()];
            let (height_m, strips) = door_strips(site);
            for (middle_m, area_m2) in strips {
                areas_m2[layer_at(middle_m)] += area_m2;
            }
            let discharge = LEAK_DISCHARGE;
            let shape = Shape::Vertical {
                height_m,
                discharge,
            };
            let open = areas_m2.into_iter().enumerate().filter(|(_, a)| *a > 0.0);
            c.stirred_openings
                .extend(open.map(|(layer, area_m2)| before(layer, area_m2, shape)));
        }
    }
}

impl Thing for Openings {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let (m, p) = (&site.run.machine, site.p);
        let layer_at = |z: f64| site.layer_at(z);
        let draught = |height_m: f64, outward_m3_per_s: f64| Draught {
            layer: layer_at(height_m),
            outward_m3_per_s,
        };
        let mut draughts = Vec::new();
        let mut inner_m3_per_s = 0.0;
        let mut fan_heat = |layer: Index, fan_power_W: f64, booked: LedgerId| {
            if fan_power_W != 0.0 {
                let power_W = Course::Constant(fan_power_W);
                c.sources.push(Source::new(layer, power_W, booked));
            }
        };
        match site.recipe.arrangement.kind {
            ArrangementKind::Extracting { flow_m3_per_s } => {
                draughts.push(draught(m.extraction_height_m, flow_m3_per_s));
            }
            ArrangementKind::BlowingIn {
                flow_m3_per_s,
                fan_power_W,
            } => {
                draughts.push(draught(m.inlet_height_m, -flow_m3_per_s));
                // All of it, though some of the air bypasses the chamber: on the warm side.
                let layer = p.air[layer_at(m.inlet_height_m)];
                fan_heat(layer, fan_power_W, self.blowing_fan);
            }
            ArrangementKind::Recirculating {
                flow_m3_per_s,
                fan_power_W,
            } => {
                inner_m3_per_s = flow_m3_per_s;
                fan_heat(p.air[0], fan_power_W, self.filter_fan);
            }
            ArrangementKind::Closed | ArrangementKind::LidOff | ArrangementKind::DoorOpen => {}
        }
        c.air_paths.push(AirPaths {
            layers: p.air.clone(),
            tops_m: p.tops_m.clone(),
            room: p.room,
            pressure_Pa: site.network.air().pressure_Pa(),
            openings: Self::openings(site, layer_at),
            draughts,
            open_top: site.open.lid_off.then_some((m.lid_opening_m2, LID_RIM_M)),
            inner_m3_per_s,
            short_circuit: site.k(K::ShortCircuit),
            led_to: p.outdoors.filter(|_| site.run.system.led_outdoors),
            ledger: self.exchange,
        });
        self.stirred(site, layer_at, c);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use crate::chamber::{Chamber, IntegratorKind, Simulation};
    use crate::network::Shape;
    use crate::run::{Arrangement, ArrangementKind, OpenSide, Run};
    use std::f64::consts::PI;

    /// By definition: what the network's openings pass together.
    #[test]
    fn what_is_open_in_a_shut_machine_is_what_the_network_has() {
        let run = demo(Arrangement::of(ArrangementKind::Closed));
        let chamber = Chamber::new(&run).unwrap();
        let paths = &chamber.schedule.configurations()[0].air_paths[0];
        let all_m2: f64 = paths.openings.iter().map(|o| o.area_m2 * o.discharge).sum();
        assert!((super::shut_opening_m2(&run) / all_m2 - 1.0).abs() < 1e-12);
    }

    /// A way out without friction, grille or filter is a duct that loses K + 10 times the speed's pressure, K of its
    /// entry, bends and exit: an opening of its section over the root of that. And a stopped fan opens it only
    /// without a flap.
    #[test]
    fn a_fan_that_stands_still_leaves_its_way_open_without_a_flap() {
        let mut run = demo(Arrangement {
            stopped_fan: true,
            ..Arrangement::of(ArrangementKind::Closed)
        });
        let area_m2 = |run: &Run| {
            let chamber = Chamber::new(run).unwrap();
            let paths = &chamber.schedule.configurations()[0].air_paths[0];
            let all = paths.openings.iter();
            all.map(|o| o.area_m2 * o.discharge).sum::<f64>()
        };
        let shut_m2 = area_m2(&run);
        run.system.flap = false;
        for screen in [&mut run.system.grille, &mut run.system.filter_loaded] {
            screen.rated_Pa = 0.0;
        }
        run.system.duct.length_m = 1e-6;
        let duct = run.system.duct;
        let by_hand_m2 =
            0.25 * PI * duct.diameter_m * duct.diameter_m / (duct.fittings + 10.0).sqrt();
        let added_m2 = area_m2(&run) - shut_m2;
        assert!((added_m2 / by_hand_m2 - 1.0).abs() < 1e-3, "{added_m2}");
        // A filter takes most of it.
        let with_filter = demo(run.arrangement.clone());
        let mut with_filter = with_filter;
        with_filter.system.flap = false;
        assert!(area_m2(&with_filter) - shut_m2 < 0.5 * added_m2);
        // Nothing of a fan that was never there.
        run.arrangement.stopped_fan = false;
        assert_eq!(area_m2(&run), shut_m2);
    }

    /// A thermostat's fan at rest, a closed stretch of a run that extracts: both leave it standing still. What
    /// leaves through it cools the chamber, so that a flap is the warmer side.
    #[test]
    fn without_a_flap_a_resting_fan_lets_the_chamber_cool() {
        let with = |flap: bool| {
            let extracting = Arrangement::of(ArrangementKind::Extracting {
                flow_m3_per_s: 0.01,
            });
            let mut run = demo(extracting.at_rest());
            assert!(run.arrangement.stopped_fan);
            run.system.flap = flap;
            // A short way out without a filter, such as a fan in the lid.
            for screen in [&mut run.system.grille, &mut run.system.filter_loaded] {
                screen.rated_Pa = 0.0;
            }
            run.system.duct.length_m = 0.005;
            let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Default::default()).unwrap();
            let top = *s.chamber.points.air.last().unwrap();
            s.temperature_K(top, 60.0 * 3600.0)
        };
        let cooler_K = with(true) - with(false);
        assert!((0.5..8.0).contains(&cooler_K), "{cooler_K} K");
    }

    fn demo(arrangement: Arrangement) -> Run {
        let mut run = crate::runfile::demo().run;
        run.arrangement = arrangement;
        run
    }

    /// 9 W of a blowing fan for 121 h are 3.92 MJ, in the ledger of what came in; and 9 W in 30 m3/h of air, of
    /// which a tenth bypasses the chamber, 1.14 * 1005 * 0.9 * 30/3600 = 8.6 W/K, beside a shell that loses some
    /// 100 W at 13 K when closed, 7.7 W/K, warm it by 9/16.3 = 0.55 K; the shell's share is not sharper
    /// than a fourth.
    #[test]
    fn a_blowing_fan_warms_the_chamber() {
        let with = |fan_power_W: f64| {
            let run = demo(Arrangement::of(ArrangementKind::BlowingIn {
                flow_m3_per_s: 30.0 / 3600.0,
                fan_power_W,
            }));
            let options = Default::default();
            Simulation::of(&run, IntegratorKind::Rosenbrock, &options).unwrap()
        };
        let (still, warm) = (with(0.0), with(9.0));
        let booked = |s: &Simulation| {
            let found = s.heat().in_J.into_iter().find(|(n, _)| n == "blowing fan");
            found.map_or(0.0, |(_, joules)| joules)
        };
        assert_eq!(booked(&still), 0.0);
        assert!((booked(&warm) / (9.0 * 121.0 * 3600.0) - 1.0).abs() < 1e-9);
        let mean_K = |s: &Simulation| {
            let air = &s.chamber.points.air;
            let at = air.iter().map(|k| s.temperature_K(*k, 60.0 * 3600.0));
            at.sum::<f64>() / air.len() as f64
        };
        let rise_K = mean_K(&warm) - mean_K(&still);
        assert!((rise_K / 0.55 - 1.0).abs() < 0.25, "{rise_K} K");
    }

    /// Only a fan inside stirs an opening, only an open one, and a door in the layers it reaches: by its area.
    #[test]
    fn a_fan_inside_stirs_what_is_open() {
        let flow_m3_per_s = 0.01;
        let inside = ArrangementKind::Recirculating {
            flow_m3_per_s,
            fan_power_W: 5.0,
        };
        let out = ArrangementKind::Extracting { flow_m3_per_s };
        let stirred = |kind: &ArrangementKind, open: Option<OpenSide>| {
            let run = demo(Arrangement {
                open,
                ..Arrangement::of(kind.clone())
            });
            let chamber = Chamber::new(&run).unwrap();
            let openings = chamber.schedule.configurations()[0]
                .stirred_openings
                .clone();
            let area_m2: f64 = openings.iter().map(|o| o.area_m2).sum();
            (run.machine, area_m2, openings)
        };
        assert!(stirred(&inside, None).2.is_empty());
        assert!(stirred(&out, Some(OpenSide::Lid)).2.is_empty());
        let (m, area_m2, lid) = stirred(&inside, Some(OpenSide::Lid));
        assert_eq!(lid.len(), 1);
        assert!((area_m2 - m.lid_opening_m2).abs() < 1e-12);
        let (m, area_m2, door) = stirred(&inside, Some(OpenSide::Door));
        assert!((area_m2 - m.door_opening_m2).abs() < 1e-12);
        assert!(
            door.iter()
                .all(|o| matches!(o.shape, Shape::Vertical { .. }))
        );
    }

    /// Where a fan blows at bed or part, the air there is as fast as it was said to be, and no slower than
    /// elsewhere.
    #[test]
    fn a_fan_blows_where_it_is_said_to() {
        let mut arrangement = Arrangement::of(ArrangementKind::Recirculating {
            flow_m3_per_s: 0.01,
            fan_power_W: 5.0,
        });
        arrangement.jet.at_bed_m_per_s = 1.5;
        arrangement.jet.at_part_m_per_s = 1e-3;
        let chamber = Chamber::new(&demo(arrangement)).unwrap();
        let c = &chamber.schedule.configurations()[0];
        let faces = &c.plumes[0].faces;
        assert_eq!(faces[0].face.speed_m_per_s, 1.5);
        let of_walls = c.convectors.iter().map(|f| f.face.speed_m_per_s);
        assert_eq!(faces[1].face.speed_m_per_s, of_walls.fold(0.0, f64::max));
    }
}

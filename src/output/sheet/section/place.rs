//! Where everything is in the section, in metres from the inside corner of front and floor, and how warm.

use crate::chamber::air_flows::AirFlow;
use crate::chamber::points::Chain;
use crate::chamber::things::{WayOut, layer_name};
use crate::chamber::{Simulation, StationKind};
use crate::quantity::{System, format_flow};
use crate::run::{BedMotion, OpenSide, Panel, Place as Where, Run};

/// Depth from the front and height above the floor, m.
pub type Spot = (f64, f64);

/// Radius of a spool, m (common practice, no source: spools of a kilogram are about 200 mm across), and the largest
/// share of the chamber that one takes in the drawing.
const SPOOL_M: (f64, f64) = (0.1, 0.17);
/// Flows below this are not drawn, m3/s: half of 0.1 m3/h.
const LEAST_M3_PER_S: f64 = 0.05 / 3600.0;

/// A layer of air.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    pub name: String,
    pub from_m: f64,
    pub to_m: f64,
    pub temperature_K: f64,
}

/// Which side of the box a panel closes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    Front,
    Back,
    Top,
    Bottom,
}

/// A stretch of the shell.
#[derive(Debug, Clone, PartialEq)]
pub struct Shell {
    pub name: &'static str,
    pub side: Edge,
    pub from: Spot,
    pub to: Spot,
    pub thickness_m: f64,
    pub inside_K: f64,
    pub outside_K: f64,
    pub is_open: bool,
}

/// A box that stands inside.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    pub name: &'static str,
    pub low: Spot,
    pub high: Spot,
    pub temperature_K: f64,
    /// Whether it is named at the side.
    pub is_named: bool,
}

/// The spool.
#[derive(Debug, Clone, PartialEq)]
pub struct Spool {
    pub at: Spot,
    pub radius_m: f64,
    pub temperature_K: f64,
}

/// Air through the shell, at one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Flow {
    pub way: WayOut,
    pub at: Spot,
    /// Negative: in.
    pub out_m3_per_s: f64,
    /// What a fan moves in all, of which some bypasses the chamber, m3/s.
    pub of_m3_per_s: Option<f64>,
    /// Whether it is an opening in the back wall, and how wide, m.
    pub opens: bool,
    pub size_m: Option<f64>,
}

impl Flow {
    pub const fn name(&self) -> &'static str {
        match self.way {
            WayOut::Leak => "leaks",
            WayOut::Vent => "vent",
            WayOut::Door => "door",
            WayOut::Lid => "lid",
            WayOut::StoppedFan => "stopped fan",
            WayOut::Fan => "fan",
        }
    }

    /// The flow; of a fan also what it moves in all.
    pub fn amount(&self, units: System) -> String {
        let through = format_flow(self.out_m3_per_s.abs(), units);
        match self.of_m3_per_s {
            Some(all) if (all - self.out_m3_per_s.abs()).abs() > LEAST_M3_PER_S => {
                format!("{through} of {}", format_flow(all, units))
            }
            _ => through,
        }
    }

    pub fn words(&self, units: System) -> String {
        let way = if self.out_m3_per_s > 0.0 { "out" } else { "in" };
        format!("{} {} {way}", self.name(), self.amount(units))
    }
}

/// Everything in the section at one moment.
#[derive(Debug, Clone)]
pub struct Place {
    pub depth_m: f64,
    pub height_m: f64,
    /// Corners of all that is drawn.
    pub low: Spot,
    pub high: Spot,
    pub air: Vec<Layer>,
    pub panels: Vec<Shell>,
    pub bodies: Vec<Body>,
    /// Outline that the part will fill.
    pub part_when_done: Option<(Spot, Spot)>,
    pub spool: Spool,
    pub tube: Vec<Spot>,
    pub tube_K: f64,
    pub gear: Spot,
    pub gear_radius_m: f64,
    pub gear_K: f64,
    pub filament: Vec<Spot>,
    pub nozzle: Spot,
    /// Filament at each station, K.
    pub stations: [(StationKind, f64); 4],
    pub deciding: StationKind,
    pub cold_end: Spot,
    pub room_K: f64,
    pub flows: Vec<Flow>,
    /// Air that a fan drives around inside, m3/s.
    pub inner_m3_per_s: f64,
}

impl Place {
    pub fn of(run: &Run, s: &Simulation, at_s: f64) -> Self {
        let m = &run.machine;
        let points = &s.chamber.points;
        let (piece, x) = s.trajectory.locate(at_s);
        let mut t = Vec::new();
        s.points_at(piece, x, &mut t);
        let (depth, height) = (m.depth_m, m.height_m);
        let largest = depth.max(height);
        let share = s.part_share(at_s);
        let plate = plate_m(run, share);
        let bed_depth = m.bed.depth_m.min(depth);
        let middle = 0.5 * depth;
        let wide = run.part.footprint_m2.sqrt().min(bed_depth);
        let grown = share * run.part.height_m;
        let nozzle = (middle, (plate + grown).min(0.96 * height));
        let outside_spool = m.spool == Where::Room;
        let radius = SPOOL_M.0.min(SPOOL_M.1 * depth.min(height));
        let symbol = 0.05 * depth.min(height).min(0.6);
        let hotend = (nozzle.1 + 0.012, nozzle.1 + 0.012 + 0.5 * symbol);
        let cold_end = (hotend.1, hotend.1 + 1.1 * symbol);
        let gear_z = match m.feeder.motor.place {
            Where::ChamberBottom => 0.12 * height,
            Where::ChamberTop | Where::Room => (m.head_height_m)
                .clamp(cold_end.1.min(0.9 * height), 0.96 * height)
                .min(height - symbol),
        };
        let gear = match m.feeder.motor.place {
            Where::Room => (depth + 2.4 * symbol, 0.9 * height),
            Where::ChamberTop | Where::ChamberBottom => (0.72 * depth, gear_z),
        };
        let spool_at = match m.spool {
            Where::Room => {
                let beside = if m.extraction_height_m > 0.5 * height {
                    0.30
                } else {
                    0.75
                };
                (
                    depth + 0.10 * largest + radius,
                    (beside * height).max(radius),
                )
            }
            Where::ChamberTop => (depth - 1.15 * radius, height - 1.2 * radius),
            Where::ChamberBottom => (depth - 1.15 * radius, (0.5 * plate).max(1.05 * radius)),
        };
        let flows = flows(run, s, at_s);
        let has_fan = flows.iter().any(|f| f.way == WayOut::Fan);
        let right = if outside_spool {
            0.10 * largest + 2.1 * radius
        } else if has_fan || flows.iter().any(|f| f.opens) {
            0.16 * largest
        } else {
            0.06 * largest
        };
        let bodies = bodies(
            run,
            s,
            &t,
            &Heights {
                plate,
                grown,
                hotend,
                cold_end,
                symbol,
                gear,
                wide,
            },
        );
        let stations = StationKind::ALL.map(|station| (station, s.filament_K(station, at_s)));
        let opens_lid = stretch_opens(run, at_s, OpenSide::Lid);
        let head = (middle, cold_end.1);
        let spool_top = (spool_at.0, spool_at.1 + radius);
        Self {
            depth_m: depth,
            height_m: height,
            low: (-0.13 * largest, -0.05 * largest),
            high: (
                depth + right,
                height + if opens_lid { 0.14 } else { 0.06 } * largest,
            ),
            air: layers(s, &t, height),
            panels: panels(run, s, &t, at_s),
            bodies,
            part_when_done: (share < 0.98 && run.part.height_m > 0.0).then(|| {
                // A bed that goes down takes the part with it: it ends below, not above.
                let from = plate_m(run, 1.0);
                let top = (from + run.part.height_m).min(height);
                ((middle - 0.5 * wide, from), (middle + 0.5 * wide, top))
            }),
            spool: Spool {
                at: spool_at,
                radius_m: radius,
                temperature_K: stations[0].1,
            },
            tube: curve(spool_top, gear),
            tube_K: stations[1].1,
            gear,
            gear_radius_m: 0.16 * symbol,
            gear_K: t[points.gear],
            filament: curve(gear, head).into_iter().chain([nozzle]).collect(),
            nozzle,
            stations,
            deciding: deciding(run, s, at_s),
            cold_end: (middle, 0.5 * (cold_end.0 + cold_end.1)),
            room_K: t[points.room],
            inner_m3_per_s: inner_m3_per_s(s, at_s),
            flows,
        }
    }
}

/// A bow from one place up and over to another.
fn curve(from: Spot, to: Spot) -> Vec<Spot> {
    let top = from.1.max(to.1) + 0.06 * (from.0 - to.0).abs();
    let pull = (0.5 * (from.0 + to.0), 2.0 * top - 0.5 * (from.1 + to.1));
    let pull = (pull.0, pull.1.min(top));
    (0..=16)
        .map(|k| {
            let (u, v) = (f64::from(k) / 16.0, 1.0 - f64::from(k) / 16.0);
            (
                v * v * from.0 + 2.0 * u * v * pull.0 + u * u * to.0,
                v * v * from.1 + 2.0 * u * v * pull.1 + u * u * to.1,
            )
        })
        .collect()
}

fn layers(s: &Simulation, t: &[f64], height_m: f64) -> Vec<Layer> {
    let points = &s.chamber.points;
    let count = points.air.len();
    let mut from_m = 0.0;
    let mut found = Vec::new();
    for (k, (point, top_m)) in points.air.iter().zip(&points.tops_m).enumerate() {
        let to_m = if k + 1 == count { height_m } else { *top_m };
        found.push(Layer {
            name: layer_name(k, count),
            from_m,
            to_m,
            temperature_K: t[*point],
        });
        from_m = to_m;
    }
    found
}

fn thickness_m(panel: &Panel) -> f64 {
    panel.layers.iter().map(|layer| layer.thickness_m).sum()
}

/// Whether a side stands open at a time.
fn stretch_opens(run: &Run, at_s: f64, side: OpenSide) -> bool {
    let scheduled = run
        .schedule
        .iter()
        .find(|c| c.begin_s <= at_s && at_s < c.end_s);
    let arrangement = scheduled.map_or(&run.arrangement, |c| &c.arrangement);
    arrangement.opens(side)
}

fn panels(run: &Run, s: &Simulation, t: &[f64], at_s: f64) -> Vec<Shell> {
    let m = &run.machine;
    let points = &s.chamber.points;
    let (depth, height) = (m.depth_m, m.height_m);
    let shell = |name, side, from, to, panel: &Panel, chain: &Chain, is_open| Shell {
        name,
        side,
        from,
        to,
        thickness_m: thickness_m(panel),
        inside_K: t[chain.inner],
        outside_K: t[chain.outer],
        is_open,
    };
    let (lid, door) = (
        stretch_opens(run, at_s, OpenSide::Lid),
        stretch_opens(run, at_s, OpenSide::Door),
    );
    let mut all = vec![
        shell(
            "lid",
            Edge::Top,
            (0.0, height),
            (depth, height),
            &m.lid,
            &points.lid,
            lid,
        ),
        shell(
            "door",
            Edge::Front,
            (0.0, 0.0),
            (0.0, height),
            &m.door,
            &points.door,
            door,
        ),
        shell(
            "floor",
            Edge::Bottom,
            (0.0, 0.0),
            (depth, 0.0),
            &m.floor,
            &points.floor,
            false,
        ),
    ];
    let mut from_m = 0.0;
    let count = points.walls.len();
    for (k, (chain, top_m)) in points.walls.iter().zip(&points.tops_m).enumerate() {
        let to_m = if k + 1 == count { height } else { *top_m };
        all.push(shell(
            if k + 1 == count {
                "walls, top"
            } else {
                "walls"
            },
            Edge::Back,
            (depth, from_m),
            (depth, to_m),
            &m.walls,
            chain,
            false,
        ));
        from_m = to_m;
    }
    all
}

struct Heights {
    plate: f64,
    grown: f64,
    hotend: Spot,
    cold_end: Spot,
    symbol: f64,
    gear: Spot,
    wide: f64,
}

fn bodies(run: &Run, s: &Simulation, t: &[f64], h: &Heights) -> Vec<Body> {
    let m = &run.machine;
    let points = &s.chamber.points;
    let middle = 0.5 * m.depth_m;
    let bed = 0.5 * m.bed.depth_m.min(m.depth_m);
    // Aluminium of its mass is as thick as this; thinner ones could not be seen.
    let plate_m = (m.bed.mass_kg / (2700.0 * m.bed.width_m * m.bed.depth_m)).clamp(0.008, 0.03);
    let body = |name, low: Spot, high: Spot, point: usize, is_named| Body {
        name,
        low,
        high,
        temperature_K: t[point],
        is_named,
    };
    let mut all = vec![body(
        "bed",
        (middle - bed, (h.plate - plate_m).max(0.0)),
        (middle + bed, h.plate.max(0.5 * plate_m)),
        points.bed,
        true,
    )];
    if h.grown > 0.0 {
        let top = h.plate + h.grown;
        all.push(body(
            "part",
            (middle - 0.5 * h.wide, h.plate),
            (middle + 0.5 * h.wide, top),
            points.part,
            true,
        ));
    }
    let half = 0.28 * h.symbol;
    all.push(body(
        "hotend",
        (middle - half, h.hotend.0),
        (middle + half, h.hotend.1),
        points.hotend,
        true,
    ));
    all.push(body(
        "cold end",
        (middle - 0.8 * half, h.cold_end.0),
        (middle + 0.8 * half, h.cold_end.1),
        points.cold_end,
        false,
    ));
    let motor = 0.45 * h.symbol;
    all.push(body(
        "feeder motor",
        (h.gear.0 + 0.3 * motor, h.gear.1 - 0.6 * motor),
        (h.gear.0 + 1.9 * motor, h.gear.1 + 0.9 * motor),
        points.feeder,
        true,
    ));
    if m.motion.heat_W > 0.0 {
        let z = match m.motion.place {
            Where::ChamberTop => Some(m.height_m - 1.6 * h.symbol),
            Where::ChamberBottom => Some(0.02 * m.height_m),
            Where::Room => None,
        };
        if let Some(z) = z {
            all.push(body(
                "motion motors",
                (0.03 * m.depth_m, z),
                (0.03 * m.depth_m + 0.9 * h.symbol, z + 0.9 * h.symbol),
                points.motion,
                true,
            ));
        }
    }
    all
}

/// Flows of air: leaks by height, and each strip of a door with its neighbours of the same direction.
fn flows(run: &Run, s: &Simulation, at_s: f64) -> Vec<Flow> {
    let m = &run.machine;
    let all = s.air_flows(at_s);
    let mut found: Vec<Flow> = Vec::new();
    let mut add = |way: WayOut, x_m: f64, is_it: &dyn Fn(&AirFlow) -> bool| {
        let of: Vec<&AirFlow> = all.iter().filter(|f| f.way == way && is_it(f)).collect();
        let sum: f64 = of.iter().map(|f| f.out_m3_per_s).sum();
        let weight: f64 = of.iter().map(|f| f.out_m3_per_s.abs()).sum();
        if of.is_empty() || sum.abs() < LEAST_M3_PER_S {
            return;
        }
        let height = of
            .iter()
            .map(|f| f.height_m * f.out_m3_per_s.abs())
            .sum::<f64>()
            / weight;
        found.push(Flow {
            way,
            at: (x_m, height),
            out_m3_per_s: sum,
            of_m3_per_s: of.iter().map(|f| f.at_fan_m3_per_s).sum(),
            opens: way == WayOut::Vent,
            size_m: (way == WayOut::Vent).then(|| {
                let area: f64 = of.iter().filter_map(|f| f.area_m2).sum();
                area.sqrt()
            }),
        });
    };
    for outward in [false, true] {
        let is_so = move |f: &AirFlow| (f.out_m3_per_s > 0.0) == outward;
        add(WayOut::Leak, 0.0, &is_so);
        add(WayOut::Door, 0.0, &is_so);
        add(WayOut::Lid, 0.3 * m.depth_m, &is_so);
        add(WayOut::StoppedFan, m.depth_m, &is_so);
        add(WayOut::Fan, m.depth_m, &is_so);
        for vent in &m.vents {
            let height = vent.height_m.clamp(0.0, m.height_m);
            add(WayOut::Vent, m.depth_m, &|f| {
                is_so(f) && f.height_m == height
            });
        }
    }
    found
}

/// What a fan drives around inside at a moment, whether it does so all the time or is scheduled.
fn inner_m3_per_s(s: &Simulation, at_s: f64) -> f64 {
    let (piece, _) = s.trajectory.locate(at_s);
    let paths = s.elements_of(piece).air_paths.iter();
    paths.map(|p| p.inner_m3_per_s).fold(0.0, f64::max)
}

/// Height of the plate's upper face when so much of the part is there, m.
pub fn plate_m(run: &Run, share: f64) -> f64 {
    let bed = &run.machine.bed;
    match bed.moves {
        BedMotion::Stays => bed.height_m,
        BedMotion::Down => (bed.height_m - share * run.part.height_m).max(0.0),
    }
}

/// The station whose limit is nearest at a moment.
fn deciding(run: &Run, s: &Simulation, at_s: f64) -> StationKind {
    let margin_K = |station: &StationKind| station.limit_K(run) - s.filament_K(*station, at_s);
    let mut all = StationKind::ALL.to_vec();
    all.sort_by(|a, b| margin_K(a).total_cmp(&margin_K(b)));
    all[0]
}

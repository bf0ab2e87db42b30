//! From the findings of a run to its chart: temperatures along the feed path, in the air and in
//! the room above; where heat comes from and goes below.

use super::chart::{
    Between, Chart, ChartError, Format, Hottest, Limit, Line, Lines, Mark, MarkKind, Measure, Role,
    Size, draw,
};
use super::failures;
use super::report::verdict_sentence_in;
use super::words::{date_and_time, hours};
use crate::chamber::things::layer_name;
use crate::chamber::{Simulation, StationKind};
use crate::network::{Direction, Index};
use crate::quantity::{System, format_temperature};
use crate::run::PhaseKind;
use crate::run::Run;
use crate::study::Findings;

/// Points along each line; the chart thins them to what its pixels can show.
const POINTS: usize = 1500;
/// Sources and sinks with less than this share of all heat are left out of the lower panel.
const SMALL_SHARE: f64 = 0.03;

/// Draws a run.
///
/// # Errors
/// See [`ChartError`].
pub fn draw_run(
    run: &Run,
    f: &Findings,
    format: Format,
    size: Size,
    system: System,
) -> Result<Vec<u8>, ChartError> {
    draw(&chart(run, f, system), format, size, system)
}

/// The chart of a run; its words in the reader's units.
#[must_use]
pub fn chart(run: &Run, f: &Findings, system: System) -> Chart {
    chart_of(run, f, system, POINTS)
}

/// The same with so many points along each line: fewer where a picture has to be there at once.
#[must_use]
pub fn chart_of(run: &Run, f: &Findings, system: System, points: usize) -> Chart {
    let s = &f.simulation;
    let times = times(s, points);
    Chart {
        title: verdict_sentence_in(run, f, system),
        subtitle: format!(
            "{} · {} · {} · {}",
            run.name,
            run.machine.name,
            run.material.name,
            run.arrangement.name()
        ),
        start: run.start,
        duration_s: run.duration_s,
        upper: Lines {
            title: "temperature of filament, air and room".to_owned(),
            measure: Measure::Temperature,
            lines: temperatures(f, s, &times, system),
        },
        band: band(f),
        limit: Some(Limit {
            value: f.outcome.limit_K - 273.15,
            margin_K: run.requirements.margin_K,
            label: "softening limit".to_owned(),
        }),
        lower: Lines {
            title: "heat flow".to_owned(),
            measure: Measure::Heat,
            lines: flows(f, &times, points),
        },
        marks: marks(run, s),
        hottest: Some(Hottest {
            at_s: f.outcome.peak_at_s,
            value: f.outcome.peak_K - 273.15,
            label: f.outcome.station.name().to_owned(),
        }),
        note: format!(
            "{} from {}. An estimate, not a permit: measure the first run.",
            hours(run.duration_s / 3600.0),
            date_and_time(run.start, 0.0)
        ),
    }
}

/// Between what the filament at the station that decides lies in nine runs of ten.
fn band(f: &Findings) -> Option<Between> {
    let certainty = f.certainty.as_ref()?;
    let band = &certainty.over_time;
    let ends = band.low_K.iter().zip(&band.high_K);
    let points = band.at_s.iter().zip(ends);
    Some(Between {
        label: "nine runs of ten".to_owned(),
        role: role(certainty.station),
        points: points
            .map(|(at_s, (low_K, high_K))| (*at_s, low_K - 273.15, high_K - 273.15))
            .collect(),
    })
    .filter(|band| !band.points.is_empty())
}

pub(super) const fn role(station: StationKind) -> Role {
    match station {
        StationKind::Spool => Role::Spool,
        StationKind::GuideTube => Role::GuideTube,
        StationKind::DriveGear => Role::DriveGear,
        StationKind::ColdEnd => Role::ColdEnd,
    }
}

/// Even steps, and both ends of every piece shorter than a step, so that openings of minutes show.
fn times(s: &Simulation, points: usize) -> Vec<f64> {
    let (begin, end) = (s.trajectory.begin_s(), s.trajectory.end_s());
    let step = (end - begin) / points as f64;
    let mut times: Vec<f64> = (0..=points).map(|k| begin + step * k as f64).collect();
    times.extend(
        s.trajectory
            .pieces
            .iter()
            .filter(|p| p.length_s < step)
            .map(|p| p.end_s()),
    );
    times.retain(|t| *t <= end);
    times.sort_by(f64::total_cmp);
    times.dedup();
    times
}

fn temperatures(f: &Findings, s: &Simulation, times: &[f64], system: System) -> Vec<Line> {
    let line = |label: String, tail: String, role: Role, value: &dyn Fn(f64) -> f64| Line {
        label,
        tail,
        role,
        points: times.iter().map(|t| (*t, value(*t) - 273.15)).collect(),
    };
    let mut stations = vec![
        StationKind::DriveGear,
        StationKind::ColdEnd,
        StationKind::GuideTube,
    ];
    // The spool has the temperature of the air or the room, which have lines of their own.
    if f.outcome.station == StationKind::Spool {
        stations.push(StationKind::Spool);
    }
    let mut lines: Vec<Line> = stations
        .into_iter()
        .map(|station| {
            // One limit is drawn, that of the station which decides; the others say theirs.
            let own_K = station.limit_K(s.chamber.run());
            let is_drawn = (own_K - f.outcome.limit_K).abs() <= 0.05;
            let tail = if is_drawn {
                String::new()
            } else {
                format!(" (limit {})", format_temperature(own_K, system))
            };
            line(station.name().to_owned(), tail, role(station), &|t| {
                s.filament_K(station, t)
            })
        })
        .collect();
    if let Some(of) = failures::told(f) {
        let label = match of.failures[..] {
            [one] => one.kind.name().to_owned(),
            _ => "all failures".to_owned(),
        };
        lines.push(Line {
            label: format!("{}, {label}", of.hottest.station.name()),
            tail: String::new(),
            role: Role::Failing,
            points: of
                .course
                .iter()
                .map(|(t_s, K)| (*t_s, K - 273.15))
                .collect(),
        });
    }
    let layers = &s.chamber.points.air;
    // Between top and bottom the layers lie so close that lines would only hide each other.
    let ends = |k: usize| layers.len() <= 3 || k == 0 || k + 1 == layers.len();
    for (k, point) in layers.iter().enumerate().filter(|(k, _)| ends(*k)) {
        let role = Role::AirLayer(k, layers.len());
        let name = layer_name(k, layers.len());
        lines.push(line(name, String::new(), role, &|t| {
            s.temperature_K(*point, t)
        }));
    }
    for (name, role, point) in surroundings(s) {
        lines.push(line(name.to_owned(), String::new(), role, &|t| {
            s.temperature_K(point, t)
        }));
    }
    lines
}

/// The room, and outdoors where that is another temperature.
pub(super) fn surroundings(s: &Simulation) -> Vec<(&'static str, Role, Index)> {
    let points = &s.chamber.points;
    let mut found = vec![("room", Role::Room, points.room)];
    found.extend(points.outdoors.map(|p| ("outdoors", Role::Outdoors, p)));
    found
}

/// Mean power between neighbouring times, from the ledgers.
fn flows(f: &Findings, times: &[f64], points: usize) -> Vec<Line> {
    let s = &f.simulation;
    let n = s.trajectory.unknowns;
    let total: f64 = f.heat.in_J.iter().map(|(_, q)| q.abs()).sum();
    // Over less than a few minutes the difference of two ledgers is a heater's switching, which
    // would hide everything else.
    let span = s.trajectory.end_s() - s.trajectory.begin_s();
    let shortest = span / points as f64;
    let mut places: Vec<f64> = Vec::with_capacity(times.len());
    for t in times {
        if places.last().is_none_or(|last| t - last >= 0.99 * shortest) {
            places.push(*t);
        }
    }
    let mut lines = Vec::new();
    let (mut sources, mut sinks) = (0, 0);
    for (id, entry) in s.chamber.network.reported() {
        let k = id.position();
        let sum = s.trajectory.totals[k];
        if sum.abs() < SMALL_SHARE * total {
            continue;
        }
        let (sign, role) = match entry.direction {
            Direction::In => {
                sources += 1;
                (1.0, Role::Source(sources - 1))
            }
            Direction::Out => {
                sinks += 1;
                (-1.0, Role::Sink(sinks - 1))
            }
        };
        let ledger = |t: f64| {
            let (piece, x) = s.trajectory.locate(t);
            piece.value(n + k, x)
        };
        let points = places
            .windows(2)
            .map(|w| {
                (
                    0.5 * (w[0] + w[1]),
                    sign * (ledger(w[1]) - ledger(w[0])) / (w[1] - w[0]),
                )
            })
            .collect();
        let label = match entry.direction {
            Direction::In => format!("from {}", entry.name),
            Direction::Out => format!("out by {}", entry.name),
        };
        lines.push(Line {
            label,
            tail: String::new(),
            role,
            points,
        });
    }
    lines
}

fn marks(run: &Run, s: &Simulation) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    let of_phases = run.phases.iter().filter_map(|p| {
        let (label, kind) = match p.kind {
            PhaseKind::HeatUp => ("heating up", MarkKind::HeatUp),
            PhaseKind::Soak => ("soaking", MarkKind::HeatUp),
            PhaseKind::Pause => ("pause", MarkKind::Pause),
            PhaseKind::SpoolChange => ("spool change", MarkKind::SpoolChange),
            PhaseKind::CoolDown => ("cooling down", MarkKind::CoolDown),
            PhaseKind::Print => return None,
        };
        Some(Mark {
            begin_s: p.begin_s,
            end_s: p.end_s,
            label: label.to_owned(),
            kind,
        })
    });
    for mark in of_phases {
        // A job's own course may cut one pause into many.
        match marks.last_mut() {
            Some(m) if m.label == mark.label && (m.end_s - mark.begin_s).abs() < 1e-6 => {
                m.end_s = mark.end_s;
            }
            _ => marks.push(mark),
        }
    }
    for change in &run.schedule {
        let arrangement = &change.arrangement;
        let kind = if !arrangement.stays_closed() {
            MarkKind::DoorOpen
        } else if arrangement.kind.has_fan() {
            MarkKind::FanOn
        } else {
            MarkKind::Pause
        };
        let label = change.arrangement.name().to_owned();
        marks.push(Mark {
            begin_s: change.begin_s,
            end_s: change.end_s,
            label,
            kind,
        });
    }
    marks.extend(run.failures.iter().map(|failure| Mark {
        begin_s: failure.begin_s,
        end_s: failure.end_s,
        label: format!("if: {}", failure.kind.name()),
        kind: MarkKind::Failure,
    }));
    marks.extend(fan_times(s));
    marks.sort_by(|a, b| a.begin_s.total_cmp(&b.begin_s));
    marks
}

/// When a thermostat's fan ran.
fn fan_times(s: &Simulation) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    for piece in &s.trajectory.pieces {
        let runs =
            s.stretch_of(piece).thermostat.is_some() && s.reading().working_share(piece) > 0.0;
        if !runs {
            continue;
        }
        match marks.last_mut() {
            Some(m) if (piece.begin_s - m.end_s).abs() < 1e-6 => m.end_s = piece.end_s(),
            _ => marks.push(Mark {
                begin_s: piece.begin_s,
                end_s: piece.end_s(),
                label: "fan".to_owned(),
                kind: MarkKind::FanOn,
            }),
        }
    }
    marks
}

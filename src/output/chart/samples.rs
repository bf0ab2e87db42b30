//! Invented charts for the tests: shapes like those of real runs, computed from simple waves.

use std::f64::consts::TAU;

use jiff::civil::{DateTime, date};

use super::{Chart, Hottest, Limit, Line, Lines, Mark, MarkKind, Measure, Role};

const HOUR_S: f64 = 3600.0;

/// 13 July 2026 is a Monday.
pub fn start() -> DateTime {
    date(2026, 7, 13).at(6, 0, 0, 0)
}

/// A day's swing: coolest at 04:00, hottest at 16:00, a little warmer every day of a week.
fn room(hour: f64) -> f64 {
    let clock = hour + 6.0;
    let week = 1.5 * (TAU * clock / 170.0).sin();
    28.5 + week - 4.5 * (TAU * (clock - 4.0) / 24.0).cos()
}

fn rising(hour: f64, rate_h: f64) -> f64 {
    1.0 - (-hour / rate_h).exp()
}

fn line(label: &str, role: Role, hours: f64, value: impl Fn(f64) -> f64) -> Line {
    let steps = (hours * 12.0).clamp(60.0, 20_000.0) as usize;
    let points = (0..=steps)
        .map(|step| {
            let hour = hours * step as f64 / steps as f64;
            (hour * HOUR_S, value(hour))
        })
        .collect();
    Line {
        label: label.to_owned(),
        tail: String::new(),
        role,
        points,
    }
}

fn mark(kind: MarkKind, label: &str, begin_h: f64, minutes: f64) -> Mark {
    Mark {
        begin_s: begin_h * HOUR_S,
        end_s: begin_h * HOUR_S + minutes * 60.0,
        label: label.to_owned(),
        kind,
    }
}

/// A whole run with everything on it.
pub fn run(hours: f64) -> Chart {
    let dip = move |hour: f64| {
        let at = 0.51 * hours;
        if hour > at {
            -5.0 * (-(hour - at) / 0.7).exp()
        } else {
            0.0
        }
    };
    let top = move |hour: f64| room(hour - 1.0) + 13.5 * rising(hour, 1.6) + dip(hour);
    let gear = move |hour: f64| room(hour - 0.5) + 22.5 * rising(hour, 0.9) + 0.6 * dip(hour);
    let temperatures = vec![
        line("drive gear", Role::DriveGear, hours, gear),
        line("cold end", Role::ColdEnd, hours, move |h| gear(h) - 3.6),
        line("guide tube", Role::GuideTube, hours, move |h| top(h) - 0.5),
        line("spool", Role::Spool, hours, move |h| room(h - 3.0) + 1.1),
        line("top layer", Role::AirLayer(1, 2), hours, top),
        line("bottom layer", Role::AirLayer(0, 2), hours, move |h| {
            room(h - 1.0) + 8.0 * rising(h, 2.0) + 0.8 * dip(h)
        }),
        line("room", Role::Room, hours, room),
        line("nozzle", Role::Nozzle, hours, |h| {
            28.0 + 187.0 * rising(h, 0.05)
        }),
        line("bed", Role::Bed, hours, |h| (28.0 + 400.0 * h).min(60.0)),
    ];
    let peak = temperatures[0]
        .points
        .iter()
        .copied()
        .fold(
            (0.0, f64::MIN),
            |best, p| if p.1 > best.1 { p } else { best },
        );
    let flows = vec![
        line("bed", Role::Source(0), hours, |h| {
            62.0 + 90.0 * (-h / 0.4).exp() - (room(h) - 28.0)
        }),
        line("motors", Role::Source(1), hours, |_| 24.0),
        line("hotend", Role::Source(2), hours, |_| 17.0),
        line("electronics", Role::Source(3), hours, |_| 9.0),
        line("walls", Role::Sink(0), hours, |h| {
            -78.0 * rising(h, 1.2) + 2.0 * (room(h) - 28.0)
        }),
        line("leakage", Role::Sink(1), hours, |h| -21.0 * rising(h, 1.0)),
        line("floor", Role::Sink(2), hours, |h| -9.0 * rising(h, 3.0)),
        line("part", Role::Sink(3), hours, |_| -2.0),
    ];
    let mut marks = vec![
        mark(MarkKind::HeatUp, "heating up", 0.0, 12.0 + hours * 0.3),
        mark(MarkKind::DoorOpen, "door open", 0.51 * hours, 4.0),
        mark(MarkKind::SpoolChange, "spool change", 0.51 * hours, 4.0),
        mark(
            MarkKind::CoolDown,
            "cooling down",
            0.985 * hours,
            0.015 * hours * 60.0,
        ),
    ];
    if hours > 200.0 {
        for change in 1..9 {
            let at = f64::from(change) * hours / 9.3;
            marks.push(mark(MarkKind::SpoolChange, "spool change", at, 5.0));
        }
    }
    Chart {
        title: "softens: the drive gear comes 1.4 K above its limit".to_owned(),
        subtitle: "Housing, lower half · Heron 550 (invented) · PLA · chamber closed".to_owned(),
        start: start(),
        duration_s: hours * HOUR_S,
        upper: Lines {
            title: "temperature".to_owned(),
            measure: Measure::Temperature,
            lines: temperatures,
        },
        band: None,
        limit: Some(Limit {
            value: 55.0,
            margin_K: 3.0,
            label: "softening limit".to_owned(),
        }),
        lower: Lines {
            title: "heat flow".to_owned(),
            measure: Measure::Heat,
            lines: flows,
        },
        marks,
        hottest: Some(Hottest {
            at_s: peak.0,
            value: peak.1,
            label: "drive gear".to_owned(),
        }),
        note: "An estimate from an invented shop and invented weather; measure the first run."
            .to_owned(),
    }
}

/// Six arrangements in one panel.
pub fn comparison(hours: f64) -> Chart {
    let names = [
        "closed",
        "lid off",
        "door open",
        "extracting 40 m³/h",
        "blowing in",
        "recirculating",
    ];
    let rises = [22.5, 12.2, 13.1, 14.4, 15.2, 23.3];
    let temperatures = names
        .iter()
        .zip(rises)
        .enumerate()
        .map(|(number, (name, rise))| {
            line(name, Role::Arrangement(number), hours, |h| {
                room(h - 0.4) + rise * rising(h, 0.9 - 0.1 * number as f64)
            })
        })
        .collect();
    let run = run(hours);
    Chart {
        title: "Feed path in six arrangements".to_owned(),
        lower: Lines {
            lines: Vec::new(),
            ..run.lower
        },
        upper: Lines {
            lines: temperatures,
            ..run.upper
        },
        hottest: None,
        marks: Vec::new(),
        ..run
    }
}

/// The same as margins to a limit of 55 °C, with the room below.
pub fn margins(hours: f64) -> Chart {
    let mut chart = comparison(hours);
    for line in &mut chart.upper.lines {
        line.tail = ": holds".to_owned();
        for point in &mut line.points {
            point.1 = 55.0 - point.1;
        }
    }
    let lowest = chart.upper.lines[0].points.iter().copied();
    let (at_s, value) = lowest.fold((0.0, f64::MAX), |a, p| if p.1 < a.1 { p } else { a });
    chart.upper.measure = Measure::Margin;
    chart.upper.title = "margin".to_owned();
    chart.limit = Some(Limit {
        value: 0.0,
        margin_K: 3.0,
        label: "softens below".to_owned(),
    });
    chart.hottest = Some(Hottest {
        at_s,
        value,
        label: "closed".to_owned(),
    });
    chart.lower = Lines {
        title: "room".to_owned(),
        measure: Measure::Temperature,
        lines: vec![line("room", Role::Room, hours, room)],
    };
    chart
}

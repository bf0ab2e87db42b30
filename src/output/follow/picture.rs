//! The picture of `follow`: what was measured, what is to come, and how surely.

use super::verdict_sentence;
use crate::output::chart::{
    Between, Chart, ChartError, Format, Hottest, Limit, Line, Lines, Mark, MarkKind, Measure, Role,
    Size, draw,
};
use crate::output::run_picture::role;
use crate::output::words::{date_and_time, hours};
use crate::quantity::System;
use crate::run::Run;
use crate::study::follow::Following;

/// Draws the run with what was measured, what is to come, and how surely.
///
/// # Errors
/// See [`ChartError`].
pub fn draw_follow(
    f: &Following,
    format: Format,
    size: Size,
    system: System,
) -> Result<Vec<u8>, ChartError> {
    draw(&chart(f, system), format, size, system)
}

fn chart(f: &Following, system: System) -> Chart {
    /// More thermometers than these make a picture of lines. None has a station's colour.
    const ROLES: [Role; 3] = [Role::Measured(1), Role::Measured(4), Role::Measured(5)];
    let run: &Run = &f.run;
    let station = f.hottest.station;
    let degC = |(t_s, K): &(f64, f64)| (*t_s, K - 273.15);
    let mut lines = vec![Line {
        label: format!("{}'s filament", station.name()),
        tail: String::new(),
        role: role(station),
        points: f.course.iter().map(degC).collect(),
    }];
    let columns = f.calibration.columns.iter().zip(&f.thermometers);
    for ((c, later), role) in columns.zip(ROLES) {
        let rows = c.times_s.iter().copied().zip(c.measured_K.iter().copied());
        lines.push(Line {
            label: format!("thermometer, {}", c.sensor),
            tail: String::new(),
            role,
            points: rows
                .chain(later.iter().copied())
                .map(|row| degC(&row))
                .collect(),
        });
    }
    let band = &f.ahead.certainty.over_time;
    let ends = band.low_K.iter().zip(&band.high_K);
    let from_now = band
        .at_s
        .iter()
        .zip(ends)
        .filter(|(at_s, _)| **at_s >= f.now_s);
    let points: Vec<(f64, f64, f64)> = from_now
        .map(|(at_s, (low_K, high_K))| (*at_s, low_K - 273.15, high_K - 273.15))
        .collect();
    Chart {
        title: verdict_sentence(f, system),
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
            title: "temperature of filament and thermometers".to_owned(),
            measure: Measure::Temperature,
            lines,
        },
        band: (!points.is_empty()).then(|| Between {
            label: "nine runs of ten".to_owned(),
            role: role(station),
            points,
        }),
        limit: Some(Limit {
            value: f.hottest.limit_K - 273.15,
            margin_K: run.requirements.margin_K,
            label: "softening limit".to_owned(),
        }),
        lower: Lines {
            title: String::new(),
            measure: Measure::Heat,
            lines: Vec::new(),
        },
        marks: vec![Mark {
            begin_s: f.now_s,
            end_s: f.now_s,
            label: "now".to_owned(),
            kind: MarkKind::Pause,
        }],
        hottest: Some(Hottest {
            at_s: f.hottest.max_at_s,
            value: f.hottest.max_K - 273.15,
            label: station.name().to_owned(),
        }),
        note: format!(
            "{} from {}. Thermometers: measured until now, foretold from then on. An estimate, not a permit: watch them.",
            hours(run.duration_s / 3600.0),
            date_and_time(run.start, 0.0)
        ),
    }
}

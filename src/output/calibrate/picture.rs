//! What thermometers showed beside what the model says, before and now.

use crate::output::chart::{Chart, ChartError, Format, Line, Lines, Measure, Role, Size, draw};
use crate::output::words::{date_and_time, hours};
use crate::quantity::{System, format_difference};
use crate::run::Run;
use crate::study::calibrate::{Calibration, Followed};

/// More thermometers than these can't be told apart: those that the model was off most are drawn.
const MOST: usize = 4;

/// Draws the logs of the first run that has any.
///
/// # Errors
/// See [`ChartError`].
pub fn draw_logs(
    runs: &[&Run],
    c: &Calibration,
    format: Format,
    size: Size,
    system: System,
) -> Result<Vec<u8>, ChartError> {
    draw(&chart(runs, c, system), format, size, system)
}

pub(in crate::output) fn chart(runs: &[&Run], c: &Calibration, system: System) -> Chart {
    let session = c.columns.first().map_or(0, |c| c.session);
    let run = runs[session];
    let mut shown: Vec<&Followed> = c.columns.iter().filter(|c| c.session == session).collect();
    shown.sort_by(|a, b| b.rms_before_K().total_cmp(&a.rms_before_K()));
    let left_out = shown.len().saturating_sub(MOST);
    shown.truncate(MOST);
    let off = |K| format_difference(K, system);
    let mut upper = Vec::new();
    let mut lower = Vec::new();
    for (k, column) in shown.iter().enumerate() {
        let degC = |values: &[f64]| points(column, values, |_, K| K - 273.15);
        let less = |values: &[f64]| points(column, values, |k, K| K - column.measured_K[k]);
        let line = |label: String, role, points| Line {
            label,
            tail: String::new(),
            role,
            points,
        };
        let name = &column.sensor;
        upper.push(line(
            format!("{name}, measured"),
            Role::Measured(k),
            degC(&column.measured_K),
        ));
        upper.push(line(
            format!("{name}, model now"),
            Role::Modelled(k),
            degC(&column.after_K),
        ));
        lower.push(line(
            format!("{name}, before"),
            Role::Before(k),
            less(&column.before_K),
        ));
        lower.push(line(
            format!("{name}, now"),
            Role::Modelled(k),
            less(&column.after_K),
        ));
    }
    let more = match left_out {
        0 => String::new(),
        n => format!(" {n} more thermometers were logged."),
    };
    Chart {
        title: format!(
            "The model was {} off before the fit and is {} off now",
            off(c.rms_before_K()),
            off(c.rms_after_K())
        ),
        subtitle: format!("{} · {}", run.name, run.machine.name),
        start: run.start,
        duration_s: shown
            .iter()
            .flat_map(|c| c.times_s.last())
            .fold(60.0, |last, t| f64::max(last, *t)),
        upper: Lines {
            title: "temperature, measured and by the model".to_owned(),
            measure: Measure::Temperature,
            lines: upper,
        },
        band: None,
        limit: None,
        lower: Lines {
            title: "model less measured".to_owned(),
            measure: Measure::Margin,
            lines: lower,
        },
        marks: Vec::new(),
        hottest: None,
        note: format!(
            "{} logged, from {}.{more} \"Now\" has what each thermometer is off in it.",
            hours(
                shown
                    .iter()
                    .flat_map(|c| c.times_s.last())
                    .fold(0.0, |last, t| f64::max(last, *t))
                    / 3600.0
            ),
            date_and_time(run.start, 0.0)
        ),
    }
}

fn points(column: &Followed, values: &[f64], shown: impl Fn(usize, f64) -> f64) -> Vec<(f64, f64)> {
    let each = column.times_s.iter().zip(values).enumerate();
    each.map(|(k, (t_s, K))| (*t_s, shown(k, *K))).collect()
}

//! What became of logs, on a screen.

use crate::output::columns::{Column, Columns};
use crate::quantity::{System, format_count, format_difference, format_duration, format_number};
use crate::study::calibrate::mixed::apart;
use crate::study::calibrate::{Calibration, Followed, Heated};

/// Columns of logs on a screen of 24 lines.
pub(super) const COLUMNS: usize = 5;
/// A thermometer that lags behind by more than this is told, s.
const SLOW_S: f64 = 180.0;
/// Temperatures at the start that are named; more of them are counted.
const NAMED: usize = 3;

/// ", 0.4 K in the last third of the log, which it was not shown"; empty where nothing was held out.
pub(super) fn held_out(c: &Calibration, system: System) -> String {
    c.held_out.map_or_else(String::new, |h| {
        format!(
            ", {} in the last third of the log when that is kept from it",
            format_difference(h.after_K, system)
        )
    })
}

/// A line for each thermometer.
pub(in crate::output) fn table(columns: &[Followed], system: System) -> Columns {
    let K = |value: f64| format_number(system.difference(value), 2);
    let cells = |of: &dyn Fn(&Followed) -> String| columns.iter().map(of).collect();
    let unit = system.difference_unit();
    let runs = columns.iter().any(|c| c.session > 0);
    let is_alone = |c: &Followed| {
        let others = columns.iter().filter(|other| other.sensor == c.sensor);
        others.filter(|other| other.session == c.session).count() == 1
    };
    let name = |c: &Followed| {
        let place = match is_alone(c) {
            true => c.sensor.clone(),
            false => format!("{}, {}", c.sensor, c.header),
        };
        match runs {
            true => format!("  {place} (run {})", c.session + 1),
            false => format!("  {place}"),
        }
    };
    Columns {
        head: format!("Thermometer, {unit}"),
        names: columns.iter().map(name).collect(),
        columns: vec![
            Column::numbers(&["rows"], 2, cells(&|c| format_count(c.rows))),
            Column::numbers(&["off before"], 0, cells(&|c| K(c.rms_before_K()))),
            Column::numbers(&["off now"], 0, cells(&|c| K(c.rms_after_K()))),
            Column::numbers(
                &["shows too much"],
                1,
                cells(&|c| format!("{} ± {}", K(c.offset_K), K(1.96 * c.offset_std_K))),
            ),
            Column::numbers(
                &["lags"],
                2,
                cells(&|c| match c.lag_is_known {
                    true => format_duration(c.lag_s.round()),
                    false => "-".to_owned(),
                }),
            ),
        ],
    }
}

/// A line for each column that says what the bed's heater took.
pub(in crate::output) fn powers(powers: &[Heated]) -> Columns {
    let runs = powers.iter().any(|p| p.session > 0);
    let name = |p: &Heated| match runs {
        true => format!("  {} (run {})", p.header, p.session + 1),
        false => format!("  {}", p.header),
    };
    let cells = |of: &dyn Fn(&Heated) -> String| powers.iter().map(of).collect();
    let W = |value: f64| format_number(value, 1);
    Columns {
        head: "Bed heater, W".to_owned(),
        names: powers.iter().map(name).collect(),
        columns: vec![
            Column::numbers(&["means"], 2, cells(&|p| format_count(p.times_s.len()))),
            Column::numbers(&["measured"], 1, cells(&|p| W(p.mean_W()))),
            Column::numbers(&["off before"], 0, cells(&|p| W(p.rms_before_W()))),
            Column::numbers(&["off now"], 0, cells(&|p| W(p.rms_after_W()))),
            Column::numbers(&["shows too much"], 1, cells(&|p| W(p.offset_W))),
        ],
    }
}

/// Why the log as a whole may not be what it is taken for.
pub(in crate::output) fn doubts(c: &Calibration, system: System) -> Vec<String> {
    let mut found = Vec::new();
    if !c.is_trusted() {
        found.push(
            "no likely values make the model fit what was measured: is it of this run, and does each thermometer show its own place? Don't trust what is found"
                .to_owned(),
        );
    }
    for (session, hours) in &c.moved_h {
        let which = match c.columns.iter().any(|c| c.session > 0) {
            true => format!("the log of run {}", session + 1),
            false => "the log".to_owned(),
        };
        found.push(format!(
            "{which} would fit much better moved by {hours:+} h: was the logger's clock right? Compare its first rows with when the run began"
        ));
    }
    for mixed in &c.mixed {
        let ([a, b], [at_a, at_b]) = (&mixed.headers, &mixed.sensors);
        found.push(format!(
            "'{a}' ({at_a}) and '{b}' ({at_b}) would fit much better the other way round: are these columns, or their probes, mixed up?"
        ));
    }
    for apart in apart(&c.columns) {
        let [a, b] = &apart.headers;
        found.push(format!(
            "two thermometers at {} differ by {}, '{a}' and '{b}': one is off, or shows another place",
            apart.sensor,
            format_difference(apart.by_K.abs(), system)
        ));
    }
    for column in c.columns.iter().filter(|c| c.is_far_off()) {
        found.push(format!(
            "the thermometer at {} ('{}') seems to be {} off, and is said to be within {}: look at how it is fixed, or say how well it shows",
            column.sensor,
            column.header,
            format_difference(column.offset_K.abs(), system),
            format_difference(column.within_K, system)
        ));
    }
    for cold in &c.cold {
        found.push(format!(
            "the thermometer at {} begins {} colder than the room, which nothing is that nobody cools: it is off, or shows another place",
            cold.sensor,
            format_difference(cold.by_K, system)
        ));
    }
    found
}

/// What whoever reads the numbers should know.
pub(super) fn warnings(c: &Calibration, system: System) -> Vec<String> {
    let mut found = doubts(c, system);
    if c.foretells_nothing() {
        let off = c.held_out.map_or(0.0, |h| h.after_K);
        found.push(format!(
            "what the first part of the log teaches does not foretell its last third ({} off): did something change on the way, or does a thermometer show something else? Don't build on these values",
            format_difference(off, system)
        ));
    }
    if !c.starts.is_empty() {
        let each = c.starts.iter().take(NAMED);
        let named: Vec<String> = each
            .map(|start| format!("{} {:.0} °C", start.key, start.is_K - 273.15))
            .collect();
        let more = match c.starts.len().saturating_sub(NAMED) {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        found.push(format!(
            "the machine was not at the room's temperature when the run began; taken from the log's first rows: {}{more}",
            named.join(", ")
        ));
    }
    for column in &c.columns {
        if column.lag_is_known && column.lag_s > SLOW_S {
            found.push(format!(
                "the thermometer at {} lags {} behind: fix it better, or take a lighter one",
                column.sensor,
                format_duration((column.lag_s / 60.0).round() * 60.0)
            ));
        }
        if column.strays > 0 {
            let stretches = match column.strays {
                1 => "one stretch of rows".to_owned(),
                n => format!("{} stretches of rows", format_count(n)),
            };
            found.push(format!(
                "at {}, {stretches} did not fit the others and counted for less",
                column.sensor
            ));
        }
    }
    for p in c.powers.iter().filter(|p| p.is_another()) {
        found.push(format!(
            "the bed's heater takes {:.0} W on average by '{}', and no likely values make it take that in such a course: is it this heater alone, in that unit, is machine.bed.max_power right, and is it on and off as the run file says?",
            p.mean_W(),
            p.header
        ));
    }
    let restless = c.columns.iter().filter(|c| c.is_restless());
    let coloured: Vec<&Followed> = restless.collect();
    if let Some(first) = coloured.first() {
        let more = match coloured.len() - 1 {
            0 => String::new(),
            n => format!(" (and {n} more)"),
        };
        found.push(format!(
            "what is left at {}{more} is not mere noise: the run differs from its description in something that comes and goes; values may be off by more than they say",
            first.sensor
        ));
    }
    found
}

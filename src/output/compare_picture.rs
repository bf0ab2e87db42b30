//! The picture of a comparison: what is nearest to softening in every arrangement, over time.
//!
//! Rows with one limit are drawn as temperatures against it. Rows with limits of their own, such as other
//! materials, are drawn as margins: in one picture of temperatures a hot line that holds would lie above a cool one
//! that softens.

use super::chart::{
    Chart, ChartError, Format, Hottest, Limit, Line, Lines, MOST_ARRANGEMENTS, Measure, Role, Size,
    draw as draw_chart,
};
use super::compare::break_even_sentence;
use super::run_picture::surroundings;
use super::words::{date_and_time, hours};
use crate::chamber::{Simulation, StationKind};
use crate::quantity::System;
use crate::study::compare::Row;

/// Points along each line; the chart thins them to what its pixels can show.
const POINTS: usize = 1500;

/// Draws a comparison.
///
/// # Errors
/// See [`ChartError`].
pub fn draw(
    rows: &[Row],
    format: Format,
    size: Size,
    system: System,
) -> Result<Vec<u8>, ChartError> {
    let Some(chart) = chart(rows, system) else {
        return Err(ChartError::NoData);
    };
    draw_chart(&chart, format, size, system)
}

/// The chart; none without rows.
pub(super) fn chart(rows: &[Row], system: System) -> Option<Chart> {
    let first = rows.first()?;
    // Rows may be longer than others; the axis takes the longest.
    let duration_s = rows.iter().map(|r| r.run.duration_s).fold(0.0, f64::max);
    let o = &first.findings.outcome;
    let margin_K = first.run.requirements.margin_K;
    let is_shared = rows.iter().all(|r| {
        r.findings.limit_K == first.findings.limit_K && r.run.requirements.margin_K == margin_K
    });
    let drawn = rows.iter().take(MOST_ARRANGEMENTS).enumerate();
    let (upper, lower, limit, hottest) = if is_shared {
        let lines = drawn.map(|(k, r)| temperature(k, r, o.limit_K));
        let lines = lines.chain(around(first)).collect();
        let title = format!(
            "hottest filament, held to the limit at the {}",
            o.station.name()
        );
        let (value, label) = (o.limit_K - 273.15, "softening limit");
        let upper = (title, Measure::Temperature, lines);
        (upper, Vec::new(), (value, label), o.peak_K - 273.15)
    } else {
        let lines = drawn.map(|(k, r)| margin(k, r)).collect();
        let title = "margin of the filament to its own softening limit".to_owned();
        let upper = (title, Measure::Margin, lines);
        (upper, around(first), (0.0, "softens below"), o.margin_K)
    };
    // The band shows what is required where all require the same.
    let same_margin = rows.iter().all(|r| r.run.requirements.margin_K == margin_K);
    let (title, measure, lines) = upper;
    let (value, label) = limit;
    Some(Chart {
        title: break_even_sentence(first, system),
        subtitle: format!(
            "{} · {} · {}",
            first.run.name, first.run.machine.name, first.run.material.name
        ),
        start: first.run.start,
        duration_s,
        upper: Lines {
            title,
            measure,
            lines,
        },
        band: None,
        limit: Some(Limit {
            value,
            margin_K: if same_margin { margin_K } else { 0.0 },
            label: label.to_owned(),
        }),
        lower: Lines {
            title: around_title(first).to_owned(),
            measure: Measure::Temperature,
            lines: lower,
        },
        marks: Vec::new(),
        hottest: Some(Hottest {
            at_s: o.peak_at_s,
            value: hottest,
            label: format!("{}, {}", first.name, o.station.name()),
        }),
        note: note(rows),
    })
}

fn note(rows: &[Row]) -> String {
    let mut note = String::new();
    let Some(first) = rows.first() else {
        return note;
    };
    let left_out = rows.len().saturating_sub(MOST_ARRANGEMENTS);
    if left_out > 0 {
        note.push_str(&format!(
            "The first {MOST_ARRANGEMENTS} rows; {left_out} more stand in the table. "
        ));
    }
    if rows.iter().any(|r| !r.is_allowed) {
        note.push_str("* Not allowed: it opens the machine. ");
    }
    if rows.iter().any(|r| r.run.start != first.run.start) {
        note.push_str("Other starts are laid over the first. ");
    }
    note.push_str(&format!(
        "{} from {}. An estimate, not a permit: measure the first run.",
        hours(first.run.duration_s / 3600.0),
        date_and_time(first.run.start, 0.0)
    ));
    note
}

/// Values at even steps over a run.
fn points(s: &Simulation, value: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let (begin, end) = (s.trajectory.begin_s(), s.trajectory.end_s());
    (0..=POINTS)
        .map(|k| (begin + (end - begin) * k as f64 / POINTS as f64).min(end))
        .map(|t_s| (t_s, value(t_s)))
        .collect()
}

/// The room of the first row, and outdoors where the room is another: what "afternoons" are told of.
fn around(row: &Row) -> Vec<Line> {
    let s = &row.findings.simulation;
    surroundings(s)
        .into_iter()
        .map(|(label, role, point)| Line {
            label: label.to_owned(),
            tail: String::new(),
            role,
            points: points(s, |t_s| s.temperature_K(point, t_s) - 273.15),
        })
        .collect()
}

const fn around_title(row: &Row) -> &'static str {
    if row.run.room.building.is_some() {
        "room and outdoors"
    } else {
        "room"
    }
}

/// The filament that is nearest to its limit, K below it.
fn margin_K(row: &Row, t_s: f64) -> f64 {
    let s = &row.findings.simulation;
    StationKind::ALL
        .iter()
        .map(|station| station.limit_K(&row.run) - s.filament_K(*station, t_s))
        .fold(f64::INFINITY, f64::min)
}

fn margin(k: usize, row: &Row) -> Line {
    line(k, row, &|t_s| margin_K(row, t_s))
}

/// As a temperature against one limit: filament at a station with another limit is moved by the difference.
fn temperature(k: usize, row: &Row, limit_K: f64) -> Line {
    line(k, row, &|t_s| limit_K - margin_K(row, t_s) - 273.15)
}

/// The line of a row, named with what becomes of it.
fn line(k: usize, row: &Row, value: &dyn Fn(f64) -> f64) -> Line {
    let mark = if row.is_allowed { "" } else { " *" };
    let verdict = row.findings.outcome.verdict.name();
    Line {
        label: row.name.clone(),
        tail: format!("{mark}: {verdict}"),
        role: Role::Arrangement(k),
        points: points(&row.findings.simulation, value),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::integrate::Options;
    use crate::quantity::System::Si;
    use crate::run::Inputs;
    use crate::study::compare::{Candidate, compare};

    /// A row's name, and what it changes.
    type Change<'a> = (&'a str, &'a dyn Fn(&mut Inputs));

    /// Rows of the demo with changes.
    fn rows(changes: &[Change]) -> Vec<Row> {
        let inputs = crate::runfile::demo().inputs;
        let candidates = changes.iter().map(|(name, change)| {
            let mut inputs = inputs.clone();
            change(&mut inputs);
            let name = (*name).to_owned();
            Candidate { name, inputs }
        });
        compare(candidates.collect(), None, &Options::default()).expect("compared")
    }

    fn petg(inputs: &mut Inputs) {
        let catalogue = crate::catalogue::Catalogue::embedded();
        let material = catalogue.materials().into_iter().find(|m| m.name == "petg");
        inputs.take_material(&material.expect("in the catalogue"));
    }

    /// A hot line that holds would lie above a cool one that softens: margins can be read.
    #[test]
    fn rows_with_limits_of_their_own_are_drawn_as_margins() {
        let rows = rows(&[("closed", &|_| ()), ("petg", &petg)]);
        let chart = chart(&rows, Si).expect("a chart");
        assert_eq!(chart.upper.measure, Measure::Margin);
        assert_eq!(chart.limit.as_ref().map(|l| l.value), Some(0.0));
        for (line, row) in chart.upper.lines.iter().zip(&rows) {
            let lowest = line
                .points
                .iter()
                .map(|p| p.1)
                .fold(f64::INFINITY, f64::min);
            let margin_K = row.findings.outcome.margin_K;
            // Points stand five minutes apart.
            assert!((lowest - margin_K).abs() < 0.05, "{}: {lowest}", line.label);
            assert_eq!(
                lowest < 0.0,
                line.tail.ends_with("softens"),
                "{}",
                line.label
            );
        }
        // The room can't stand among margins.
        assert_eq!(chart.lower.measure, Measure::Temperature);
        assert_eq!(chart.lower.lines.len(), 1);
    }

    #[test]
    fn outdoors_is_drawn_where_it_is_spoken_of() {
        let mut loaded = crate::runfile::demo();
        let building = "[room.building]\nvolume = \"120 m3\"\nenvelope = \"40 W/K\"\n";
        let folder = tempfile::tempdir().expect("a folder");
        let demo = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
        for name in ["run.toml", "weather.csv"] {
            std::fs::copy(demo.join(name), folder.path().join(name)).expect("copied");
        }
        let path = folder.path().join("run.toml");
        let text = std::fs::read_to_string(&path).expect("read");
        let text = text.replace("[arrangement]", &format!("{building}\n[arrangement]"));
        std::fs::write(&path, text).expect("written");
        let has = |loaded: &crate::runfile::Loaded| {
            let own = crate::study::compare::own(&loaded.run, &loaded.inputs);
            let rows = compare(vec![own], None, &Options::default()).expect("compared");
            let chart = chart(&rows, Si).expect("a chart");
            let lines = chart.upper.lines.iter();
            let drawn = lines.filter(|l| l.role == Role::Outdoors).count();
            (chart.title.contains("outdoors"), drawn)
        };
        assert_eq!(has(&loaded), (false, 0));
        loaded = crate::runfile::load(&path, None).expect("good");
        assert_eq!(has(&loaded), (true, 1));
    }

    /// More lines than looks: what is left out is said.
    #[test]
    fn what_can_not_be_told_apart_is_not_drawn_and_said() {
        let nothing: &dyn Fn(&mut Inputs) = &|_| ();
        let mut rows = rows(&[("closed", nothing)]);
        let mut chart_of = |count: usize| {
            while rows.len() < count {
                let row = rows[0].clone();
                rows.push(row);
            }
            chart(&rows, Si).expect("a chart")
        };
        let all = chart_of(16);
        assert_eq!(all.upper.lines.len(), 17, "and the room");
        assert!(!all.note.contains("more"), "{}", all.note);
        let cut = chart_of(18);
        assert_eq!(cut.upper.lines.len(), 17);
        assert!(
            cut.note.contains("The first 16 rows; 2 more"),
            "{}",
            cut.note
        );
    }
}

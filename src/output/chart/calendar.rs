//! Lays out calendars of starts: days along x, hours of the day down, margins as colours, one scale for all.

use super::axis::{Axis, Label};
use super::calendar_cells::{Look, draw_border, draw_cells};
use super::calendar_data::{Calendar, ComesTo, Starts};
use super::calendar_grid::{Grid, Span};
use super::calendar_key::Key;
use super::calendar_ticks::{DAY_S, ticks};
use super::colour_scale::Scale;
use super::data::{ChartError, Size, drawable};
use super::panel::{self, Measures, Panel};
use super::scene::{Align, Area, Colour, Scene, Stroke};
use super::time_axis::TimeTicks;
use crate::quantity::System;

/// Said above the calendars.
const HOW_TO_READ: &str = "Each cell is a start: its day below, its hour on the left, its colour the least margin of the whole job.";
/// Widest a day is drawn, px at `k` = 1: a calendar of few days is no wall of colour.
const WIDEST_DAY: f64 = 90.0;
/// Least size of a calendar among several, px at `k` = 1.
const LEAST: (f64, f64) = (180.0, 72.0);

/// Turns calendars into shapes.
pub fn lay_out(chart: &Calendar, size: Size, units: System) -> Result<Scene, ChartError> {
    check(chart)?;
    let measures = Measures::of(size);
    let k = measures.k;
    let panels = &chart.panels[..chart.panels.len().min(most(size))];
    let span = Span::of(panels).ok_or(ChartError::NoData)?;
    let scale = Scale::of(
        panels.iter().flat_map(margins_K),
        chart.required_K.unwrap_or(0.0),
    );
    let grids: Vec<Grid> = panels.iter().map(|p| Grid::of(p, span)).collect();

    let mut scene = Scene::new(size, &chart.title, HOW_TO_READ)?;
    let head = panel::head(&mut scene, &chart.title, &chart.subtitle, measures);
    let foot = panel::foot(&mut scene, &note(chart, panels.len()), measures) - 8.0 * k;
    let key = Key::new(
        &scene,
        scale,
        chart.required_K,
        &looks(panels),
        measures,
        units,
    );
    let key_top = foot - key.height();
    let mut top = head;
    let width = f64::from(size.width) - 2.0 * measures.pad();
    // In a low picture the cells come first.
    let lines = if key_top - top > 150.0 * k { 2 } else { 0 };
    for line in (lines > 0)
        .then(|| scene.wrapped(HOW_TO_READ, measures.small(), width, lines))
        .into_iter()
        .flatten()
    {
        top += 1.35 * measures.small().size;
        let at = (measures.pad(), top);
        scene.text(&line, at, Align::Left, measures.small());
    }
    let all = Area {
        left: measures.pad(),
        top: top + 7.0 * k,
        width,
        height: key_top - 10.0 * k - top - 7.0 * k,
    };
    let table = Table::of(&scene, panels.len(), span, all, measures);
    for (number, (starts, grid)) in panels.iter().zip(&grids).enumerate() {
        let panel = Panel {
            area: table.area(number),
            x: table.days(),
            y: table.hours(),
        };
        let is_alone = panels.len() == 1;
        draw_panel(&mut scene, &panel, grid, span, &scale, measures)?;
        if !is_alone {
            name(&mut scene, starts, panel.area, measures);
        }
        if table.is_lowest(number) {
            table
                .ticks
                .draw_days_and_dates(&mut scene, &panel, measures)?;
        }
    }
    key.draw(&mut scene, key_top);
    Ok(scene)
}

/// How many calendars a picture has room for.
fn most(size: Size) -> usize {
    let k = Measures::of(size).k;
    let fit = |side: u32, share: f64, least: f64| (share * f64::from(side) / (least * k)) as usize;
    let (columns, rows) = (
        fit(size.width, 0.95, LEAST.0).clamp(1, MOST_COLUMNS),
        fit(size.height, 0.6, LEAST.1).max(1),
    );
    (columns * rows).min(12)
}

/// More columns than these are too narrow for their dates.
const MOST_COLUMNS: usize = 3;

fn check(chart: &Calendar) -> Result<(), ChartError> {
    for panel in &chart.panels {
        let is_wrong = margins_K(panel).any(|margin_K| !drawable(margin_K));
        if is_wrong || !drawable(panel.every_s) || panel.every_s <= 0.0 {
            return Err(ChartError::NotFinite(panel.name.clone()));
        }
        if panel.starts.windows(2).any(|pair| pair[0].0 > pair[1].0) {
            return Err(ChartError::OutOfOrder(panel.name.clone()));
        }
    }
    match chart.required_K {
        Some(required_K) if !drawable(required_K) || required_K < 0.0 => {
            Err(ChartError::Margin(required_K))
        }
        _ => Ok(()),
    }
}

fn margins_K(panel: &Starts) -> impl Iterator<Item = f64> {
    panel
        .starts
        .iter()
        .filter_map(|(_, comes_to)| match comes_to {
            ComesTo::Margin(margin_K, _) => Some(*margin_K),
            ComesTo::CannotRun | ComesTo::Outlasts => None,
        })
}

/// The looks without a margin that occur.
fn looks(panels: &[Starts]) -> Vec<Look> {
    let has = |what: ComesTo| {
        let mut all = panels.iter().flat_map(|p| &p.starts);
        all.any(|(_, comes_to)| *comes_to == what)
    };
    [
        (ComesTo::CannotRun, Look::CannotRun),
        (ComesTo::Outlasts, Look::Outlasts),
    ]
    .into_iter()
    .filter(|(what, _)| has(*what))
    .map(|(_, look)| look)
    .collect()
}

fn note(chart: &Calendar, drawn: usize) -> String {
    match chart.panels.len() - drawn {
        0 => chart.note.clone(),
        more => format!("{more} more stand in the table. {}", chart.note),
    }
}

/// The cells of one calendar, its frame, and what is written at its sides but the dates.
fn draw_panel(
    scene: &mut Scene,
    panel: &Panel,
    grid: &Grid,
    span: Span,
    scale: &Scale,
    measures: Measures,
) -> Result<(), ChartError> {
    let k = measures.k;
    panel.axes(scene, measures, Colour::GRID)?;
    let corner = |(day, row): (usize, usize)| {
        let area = panel.area;
        (
            area.left + area.width * day as f64 / span.days as f64,
            area.top + area.height * row as f64 / span.rows as f64,
        )
    };
    draw_cells(scene, grid, scale, k, &|days, rows| {
        let (left, top) = corner((days.0, rows.0));
        let (right, bottom) = corner((days.1, rows.1));
        Area {
            left,
            top,
            width: right - left,
            height: bottom - top,
        }
    });
    // Where cells are a pixel or two, thick lines would hide them.
    let cell = (panel.area.width / span.days as f64).min(panel.area.height / span.rows as f64);
    let fine = k * (cell / (5.0 * k)).clamp(0.45, 1.0);
    for (border, lines) in grid.borders() {
        for line in lines {
            let points: Vec<(f64, f64)> = line.into_iter().map(corner).collect();
            draw_border(scene, &points, border, fine);
        }
    }
    let rule = || Stroke::solid(Colour::RULE, 1.0);
    let area = panel.area;
    for y in [area.top, area.bottom()] {
        scene.level(y, area.left, area.right(), rule());
    }
    for x in [area.left, area.right()] {
        scene.upright(x, area.top, area.bottom(), rule());
    }
    Ok(())
}

/// The name of one calendar among several, above it.
fn name(scene: &mut Scene, starts: &Starts, area: Area, measures: Measures) {
    let kind = measures.axis_title();
    let text = scene.shortened(&starts.name, &starts.tail, kind, area.width);
    let at = (area.left, area.top - 5.0 * measures.k);
    scene.text(&text, at, Align::Left, kind);
}

/// Where calendars stand: in columns, dates under the lowest of each.
struct Table {
    count: usize,
    columns: usize,
    span: Span,
    /// Of the first.
    first: Area,
    /// From one to the next, across and down, px.
    step: (f64, f64),
    ticks: TimeTicks,
    hours: Vec<Label>,
}

impl Table {
    fn of(scene: &Scene, count: usize, span: Span, all: Area, measures: Measures) -> Table {
        let k = measures.k;
        let label = scene.width("00:00", measures.tick()) + 10.0 * k;
        let above = if count == 1 { 0.0 } else { 19.0 * k };
        let gap = 16.0 * k;
        let size = |columns: usize| {
            let rows = count.div_ceil(columns);
            let width = (all.width + gap) / columns as f64 - gap - label;
            let height = (all.height - 42.0 * k) / rows as f64 - above;
            (width.min(WIDEST_DAY * k * span.days as f64), height)
        };
        // As few columns as leave every cell room, else those that leave it most.
        let worth = |columns: usize| {
            let (width, height) = size(columns);
            let day = width / span.days as f64 / (2.5 * k);
            let hour = height / 24.0 / (7.0 * k);
            let fits = if width < 0.6 * LEAST.0 * k { 0.1 } else { 1.0 };
            fits * day.min(hour).min(1.0)
        };
        let columns = (1..=MOST_COLUMNS.min(count))
            .rev()
            .max_by(|a, b| worth(*a).total_cmp(&worth(*b)))
            .unwrap_or(1);
        let (width, height) = size(columns);
        let measure = |text: &str| scene.width(text, measures.tick());
        let apart = height / 24.0;
        let every = [1, 2, 3, 6, 12, 24]
            .into_iter()
            .find(|every| f64::from(*every) * apart >= 17.0 * k)
            .unwrap_or(24);
        // The lowest of a row of a day is the last: a label names the row beside it.
        let half = 12.0 / span.rows as f64;
        let shown = if height > 17.0 * k { 24 } else { 0 };
        let hours = (0..shown).step_by(every as usize).map(|hour| Label {
            at: 24.0 - f64::from(hour) - half,
            text: format!("{hour:02}:00"),
        });
        Table {
            count,
            columns,
            span,
            first: Area {
                left: all.left + label,
                top: all.top + above,
                width,
                height: height.max(1.0),
            },
            step: (width + gap + label, height + above),
            ticks: ticks(span, width, &measure, 8.0 * k),
            hours: hours.collect(),
        }
    }

    fn area(&self, number: usize) -> Area {
        let (column, row) = (number % self.columns, number / self.columns);
        Area {
            left: self.first.left + self.step.0 * column as f64,
            top: self.first.top + self.step.1 * row as f64,
            ..self.first
        }
    }

    fn is_lowest(&self, number: usize) -> bool {
        number + self.columns >= self.count
    }

    /// Days in seconds, as the ticks of time are counted.
    fn days(&self) -> Axis {
        Axis {
            low: 0.0,
            high: DAY_S * self.span.days as f64,
            ticks: self.ticks.fine.clone(),
            lines: Vec::new(),
        }
    }

    /// Hours from the end of the day: the morning stands above the evening.
    fn hours(&self) -> Axis {
        Axis {
            low: 0.0,
            high: 24.0,
            ticks: self.hours.clone(),
            lines: Vec::new(),
        }
    }
}

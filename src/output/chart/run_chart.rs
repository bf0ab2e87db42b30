//! Lays out the chart of a run: temperatures above, heat flows below, one time axis.
//!
//! From the outside in: what it says (`run_data`) decides the room for texts, and the panels take
//! what is left; then everything is drawn from the back to the front.

use plotters::element::{Polygon, Rectangle};
use plotters::series::LineSeries;

use super::axis::Axis;
use super::data::{Chart, ChartError, Lines, Measure, Role, Size};
use super::ink::{failed, pen, wash};
use super::labels::{self, Name, Sample, SideLabel, Space};
use super::marks::{self, Strip};
use super::panel::{self, Measures, Panel};
use super::run_data::{Content, Drawn, content, hottest_text};
use super::scene::{Align, Area, Colour, Scene, Stroke};
use super::style;
use super::time_axis::{self, TimeTicks};
use crate::quantity::System;

/// Where everything goes.
struct Plan {
    measures: Measures,
    /// Below title and subtitle, px.
    top: f64,
    upper: Panel,
    /// `None` without heat flows.
    lower: Option<Panel>,
    strip: Strip,
    ticks: TimeTicks,
    /// Width of the column of names, px.
    side: f64,
}

impl Plan {
    fn panels(&self) -> impl Iterator<Item = &Panel> {
        [Some(&self.upper), self.lower.as_ref()]
            .into_iter()
            .flatten()
    }
}

/// Turns a chart into shapes.
pub fn lay_out(chart: &Chart, size: Size, units: System) -> Result<Scene, ChartError> {
    let content = content(chart, units, Measures::of(size).is_small)?;
    let mut scene = Scene::new(size, &chart.title, &content.description)?;
    let plan = plan(&mut scene, chart, &content);
    draw_ground(&mut scene, chart, &content, &plan)?;
    draw_axes(&mut scene, chart, &content, &plan, units)?;
    let paths = draw_data(&mut scene, chart, &content, &plan)?;
    hottest(&mut scene, chart, &plan.upper, paths, units, plan.measures);
    Ok(scene)
}

/// Writes heading and small print, and shares out the room between them.
fn plan(scene: &mut Scene, chart: &Chart, content: &Content) -> Plan {
    let size = scene.size;
    let measures = Measures::of(size);
    let k = measures.k;
    let top = panel::head(scene, &chart.title, &chart.subtitle, measures);
    let bottom = panel::foot(scene, &content.note, measures) - 6.0 * k;
    // However long the names are, most of the width belongs to the lines.
    let side = labels::side_width(scene, &content.names.all(), measures.name(), k)
        .min(measures.names_share() * f64::from(size.width));
    let values_width = [content.upper_range, content.lower_range]
        .iter()
        .map(|&range| {
            let axis = panel::y_axis(range, 0.3 * f64::from(size.height), k);
            panel::widest(scene, &axis, measures)
        })
        .fold(0.0, f64::max);
    let left = measures.pad() + values_width + 8.0 * k;
    let width = f64::from(size.width) - measures.pad() - side - left;
    let at = |at_s: f64| left + at_s / chart.duration_s * width;
    let edges = (left, left + width);
    let strip = marks::plan(scene, &chart.marks, &at, edges, measures.small());

    let measure = |text: &str| scene.width(text, measures.tick());
    let ticks = time_axis::ticks(chart.start, chart.duration_s, width, &measure, 14.0 * k);
    let title_row = 1.75 * measures.axis_title().size;
    let strip_row = strip.height.max(0.3 * title_row);
    let (between, rows) = match content.lower.len() {
        0 => (0.0, 0.0),
        lines => (10.0 * k + 1.6 * title_row, lines as f64),
    };
    let free = bottom - ticks.height() * k - top - title_row - strip_row - between;
    // The lower panel is as high as its names need, within bounds.
    let names = rows * labels::SIDE_LINE_EM * measures.name();
    let lower_height = if rows > 0.0 {
        names.max(0.28 * free).min(0.45 * free)
    } else {
        0.0
    };
    let upper_area = Area {
        left,
        top: top + title_row + strip_row,
        width,
        height: free - lower_height,
    };
    let lower_area = Area {
        top: upper_area.bottom() + between,
        height: lower_height,
        ..upper_area
    };
    // Only the lowest panel has ticks; the lines of the dates run through both.
    let panel = |area: Area, range: (f64, f64), is_lowest: bool| Panel {
        area,
        x: Axis {
            low: 0.0,
            high: chart.duration_s,
            ticks: if is_lowest {
                ticks.fine.clone()
            } else {
                Vec::new()
            },
            lines: ticks.date_ticks.clone(),
        },
        y: panel::y_axis(range, area.height, k),
    };
    // What is hottest is marked at the top among temperatures, at the bottom among margins.
    let room = if chart.hottest.is_some() { 46.0 } else { 10.0 };
    let (above, below) = match chart.upper.measure {
        Measure::Temperature | Measure::Heat => (room, 8.0),
        Measure::Margin => (8.0, room),
    };
    let range = content.upper_range;
    let y = with_air(range, upper_area.height, above * k, below * k);
    let upper = panel(upper_area, y, rows == 0.0);
    let lower = (rows > 0.0).then(|| {
        let y = with_air(content.lower_range, lower_height, 6.0 * k, 4.0 * k);
        panel(lower_area, y, true)
    });
    Plan {
        measures,
        top,
        upper,
        lower,
        strip,
        ticks,
        side,
    }
}

/// Nights, the margin band, grids, openings and axes.
fn draw_ground(
    scene: &mut Scene,
    chart: &Chart,
    content: &Content,
    plan: &Plan,
) -> Result<(), ChartError> {
    let k = plan.measures.k;
    for panel in plan.panels() {
        let (x, y) = (&panel.x, &panel.y);
        let mut ground = panel.chart(scene, &[])?;
        let night = |&(from_s, to_s): &(f64, f64)| {
            let style = wash(style::NIGHT, style::NIGHT_OPACITY);
            Rectangle::new([(from_s, y.low), (to_s, y.high)], style)
        };
        ground
            .draw_series(content.nights.iter().map(night))
            .map_err(failed)?;
        if let (Some((value, far)), true) = (content.limit, std::ptr::eq(panel, &plan.upper)) {
            let style = wash(style::MARGIN, style::MARGIN_OPACITY);
            let band = Rectangle::new([(x.low, far), (x.high, value)], style);
            ground.draw_series([band]).map_err(failed)?;
            if chart.upper.measure == Measure::Margin {
                let style = wash(style::SOFT, style::SOFT_OPACITY);
                let below = Rectangle::new([(x.low, y.low), (x.high, value)], style);
                ground.draw_series([below]).map_err(failed)?;
            }
        }
        drop(ground);
        panel.axes(scene, plan.measures, Colour(0xc9, 0xce, 0xd5))?;
        let at = |s: f64| panel.at((s, y.low)).0;
        marks::draw_bands(scene, &chart.marks, &at, panel.area, k);
    }
    Ok(())
}

/// Titles of the axes, the strip of marks, and the time axis under the lowest panel.
fn draw_axes(
    scene: &mut Scene,
    chart: &Chart,
    content: &Content,
    plan: &Plan,
    units: System,
) -> Result<(), ChartError> {
    let measures = plan.measures;
    let kind = measures.axis_title();
    let width = f64::from(scene.size.width) - 2.0 * measures.pad();
    let title = |lines: &Lines| format!("{}, {}", lines.title, lines.measure.unit(units));
    let text = scene.fitted(&title(&chart.upper), kind, width);
    let at = (measures.pad(), plan.top + 1.2 * kind.size);
    scene.text(&text, at, Align::Left, kind);
    if let Some(lower) = &plan.lower {
        let at = (measures.pad(), lower.area.top - 0.75 * kind.size);
        let mut text = title(&chart.lower);
        if let Some(burst_W) = content.burst_W {
            text.push_str(&format!(" (for a short time up to {burst_W:.0} W)"));
        }
        let text = scene.fitted(&text, kind, width);
        scene.text(&text, at, Align::Left, kind);
    }
    let at = |s: f64| plan.upper.at((s, plan.upper.y.low)).0;
    let area = plan.upper.area;
    plan.strip
        .draw(scene, &chart.marks, &at, area, measures.small());
    let lowest = plan.lower.as_ref().unwrap_or(&plan.upper);
    plan.ticks.draw_days_and_dates(scene, lowest, measures)
}

/// The limit, the lines and their names; returns the paths of the upper panel.
fn draw_data(
    scene: &mut Scene,
    chart: &Chart,
    content: &Content,
    plan: &Plan,
) -> Result<Vec<Vec<(f64, f64)>>, ChartError> {
    let k = plan.measures.k;
    let name = plan.measures.name();
    let upper = &plan.upper;
    let names = &content.names;
    draw_band(scene, chart, content, upper)?;
    if let Some((value, _)) = content.limit {
        let style = pen(style::LIMIT, (1.6 * k).round().max(1.0));
        let level = LineSeries::new([(upper.x.low, value), (upper.x.high, value)], style);
        let mut drawing = upper.chart(scene, &[])?;
        drawing.draw_series(level).map_err(failed)?;
    }
    let mut ends = limit_labels(content, upper);
    ends.extend(band_label(chart, content, upper));
    let paths = draw_lines(scene, upper, &content.upper, &names.upper, &mut ends, k)?;
    labels::write_side(scene, ends, upper.area, plan.side, name, k);
    if let Some(lower) = &plan.lower {
        let mut ends = Vec::new();
        draw_lines(scene, lower, &content.lower, &names.lower, &mut ends, k)?;
        labels::write_side(scene, ends, lower.area, plan.side, name, k);
    }
    Ok(paths)
}

/// What a line lies between, behind all lines.
fn draw_band(
    scene: &mut Scene,
    chart: &Chart,
    content: &Content,
    panel: &Panel,
) -> Result<(), ChartError> {
    let Some(band) = &chart.band else {
        return Ok(());
    };
    let colour = style::stroke(band.role, 1.0).colour;
    let lows = content.band.iter().map(|&(s, low, _)| (s, low));
    let highs = content.band.iter().map(|&(s, _, high)| (s, high)).rev();
    let outline: Vec<(f64, f64)> = lows.chain(highs).collect();
    let region = Polygon::new(outline, wash(colour, style::BAND_OPACITY));
    let mut drawing = panel.chart(scene, &[])?;
    drawing.draw_series([region]).map_err(failed)?;
    Ok(())
}

/// The label of what a line lies between, at its upper end.
fn band_label(chart: &Chart, content: &Content, panel: &Panel) -> Option<SideLabel> {
    let (band, name) = (chart.band.as_ref()?, content.names.band.as_ref()?);
    let (_, _, high) = content.band.last()?;
    let colour = style::stroke(band.role, 1.0).colour;
    Some(SideLabel {
        end: (panel.area.right(), panel.at((panel.x.high, *high)).1),
        name: name.clone(),
        sample: Sample::Patch(colour, style::BAND_OPACITY),
    })
}

/// The labels of limit and margin.
fn limit_labels(content: &Content, panel: &Panel) -> Vec<SideLabel> {
    let (Some((name, margin)), Some((value, low))) = (&content.names.limit, content.limit) else {
        return Vec::new();
    };
    let right = panel.area.right();
    let label = |value: f64, name: &Name, sample: Sample| SideLabel {
        end: (right, panel.at((panel.x.high, value)).1),
        name: name.clone(),
        sample,
    };
    let line = Sample::Stroke(Stroke::solid(style::LIMIT, 1.6));
    let mut fixed = vec![label(value, name, line)];
    if let Some(margin) = margin {
        let patch = Sample::Patch(style::MARGIN, style::MARGIN_OPACITY);
        fixed.push(label(f64::midpoint(value, low), margin, patch));
    }
    fixed
}

/// Widens a range so that so many pixels above and below it stay free.
fn with_air((low, high): (f64, f64), height: f64, above: f64, below: f64) -> (f64, f64) {
    let inner = (height - above - below).max(0.6 * height);
    let per_pixel = (high - low) / inner;
    (low - below * per_pixel, high + above * per_pixel)
}

/// Draws the lines, adds their names to `ends` and returns their paths. Dashed ones over whole ones and strong ones over
/// thin ones, so that none is hidden; the one that decides comes last.
fn draw_lines(
    scene: &mut Scene,
    panel: &Panel,
    lines: &[Drawn],
    names: &[Name],
    ends: &mut Vec<SideLabel>,
    k: f64,
) -> Result<Vec<Vec<(f64, f64)>>, ChartError> {
    let mut order: Vec<usize> = (0..lines.len()).collect();
    let rank = |index: usize| {
        let role = lines[index].line.role;
        let stroke = style::stroke(role, k);
        (
            role == Role::DriveGear,
            !stroke.dash.is_empty(),
            stroke.width,
        )
    };
    order.sort_by(|&a, &b| {
        let ((a_last, a_dashed, a), (b_last, b_dashed, b)) = (rank(a), rank(b));
        let kinds = (a_last, a_dashed).cmp(&(b_last, b_dashed));
        kinds.then(a.total_cmp(&b))
    });
    let mut paths = Vec::new();
    for index in order {
        let role = lines[index].line.role;
        let stroke = style::stroke(role, k);
        let pieces = panel.series(scene, &lines[index].points, &stroke)?;
        let last = pieces.last().and_then(|piece| piece.last()).copied();
        let edge = (panel.area.right(), panel.area.top);
        let end = if lines[index].off_scale {
            edge
        } else {
            last.unwrap_or(edge)
        };
        ends.push(SideLabel {
            end,
            name: names[index].clone(),
            sample: Sample::Stroke(stroke),
        });
        paths.extend(pieces);
    }
    Ok(paths)
}

/// Marks the hottest moment with a ring, its value and its date.
fn hottest(
    scene: &mut Scene,
    chart: &Chart,
    panel: &Panel,
    lines: Vec<Vec<(f64, f64)>>,
    units: System,
    measures: Measures,
) {
    let Some(hottest) = &chart.hottest else {
        return;
    };
    let k = measures.k;
    let measure = chart.upper.measure;
    let value = measure.shown(hottest.value, units);
    let centre = panel.at((
        hottest.at_s.clamp(0.0, chart.duration_s),
        value.clamp(panel.y.low, panel.y.high),
    ));
    let first = hottest_text(chart, hottest, units);
    let second = time_axis::moment_text(chart.start, hottest.at_s);
    let (bold, plain) = (measures.value(), measures.small());
    let first = scene.fitted(first.trim(), bold, 0.9 * panel.area.width);
    let width = scene.width(&first, bold).max(scene.width(&second, plain));
    let size = (width + 6.0 * k, 1.05 * bold.size + 1.65 * plain.size);
    let mut taken = scene.text_areas();
    taken.push(Area::around(centre, 5.0 * k));
    let space = Space {
        bounds: panel.area.grown(-2.0),
        taken,
        lines: {
            let mut all = lines;
            if let Some(limit) = &chart.limit {
                let (_, y) = panel.at((0.0, measure.shown(limit.value, units)));
                all.push(vec![(panel.area.left, y), (panel.area.right(), y)]);
            }
            all
        },
        grounds: {
            let at = |s: f64| panel.at((s, panel.y.low)).0;
            let bands = marks::bands(&chart.marks, &at, panel.area, k);
            bands.into_iter().map(|(_, area, _)| area).collect()
        },
    };
    let reach = [
        8.0, 14.0, 24.0, 40.0, 60.0, 90.0, 130.0, 180.0, 240.0, 320.0,
    ];
    let reach = reach.map(|step| step * k);
    if let Some(place) = space.best(&[(centre, 0.0)], size, &reach) {
        let Area { left, top, .. } = place.area;
        let corner = place.corner;
        if (corner.0 - centre.0).hypot(corner.1 - centre.1) > 7.0 * k {
            scene.line(vec![centre, corner], Stroke::solid(Colour::INK, 0.9 * k));
        }
        if place.crossings > 0 {
            scene.fill(place.area, Colour::WHITE, 0.82);
        }
        let middle = left + size.0 / 2.0;
        let baseline = top + 0.95 * bold.size;
        scene.text(&first, (middle, baseline), Align::Centre, bold);
        let at = (middle, baseline + 1.3 * plain.size);
        scene.text(&second, at, Align::Centre, plain);
    }
    scene.disc(centre, 5.0 * k, Colour::INK);
    scene.disc(centre, 3.2 * k, Colour::WHITE);
}

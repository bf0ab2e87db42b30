//! Lays out the chart of a run: temperatures above, heat flows below, one time axis.

use super::axis::{self, Scale};
use super::labels::{self, Sample, SideLabel, Space};
use super::marks;
use super::panel::{self, Measures, Panel};
use super::scene::{Align, Area, Colour, Scene, Stroke};
use super::style;
use super::time_axis::{self, TimeTicks};
use super::{Chart, ChartError, Line, Role, Size, Units};
use crate::output::font::Weight;

/// Temperatures span at least this much, so that a flat line is not blown up to noise, K or °F.
const LEAST_SPAN_K: f64 = 2.0;
const LEAST_SPAN_W: f64 = 1.0;
/// Beyond so many days nights would be a mere pattern of stripes.
const NIGHTS_UP_TO_S: f64 = 62.0 * 86_400.0;

/// A line in the units of the picture.
struct Drawn<'a> {
    line: &'a Line,
    points: Vec<(f64, f64)>,
    /// Too far up to share a scale with the rest.
    off_scale: bool,
}

/// Turns a chart into shapes.
pub fn lay_out(chart: &Chart, size: Size, units: Units) -> Result<Scene, ChartError> {
    check(chart)?;
    let measures = Measures::of(size);
    let k = measures.k;
    let mut scene = Scene::new(size, &chart.title, &description(chart))?;

    let upper = temperatures(chart, units);
    let lower: Vec<Drawn> = chart
        .flows
        .iter()
        .filter(|line| !line.points.is_empty())
        .map(|line| Drawn {
            line,
            points: line.points.clone(),
            off_scale: false,
        })
        .collect();
    if upper.is_empty() && lower.is_empty() {
        return Err(ChartError::NoData);
    }
    let limit = chart.limit.as_ref().map(|limit| {
        let value = units.temperature(limit.limit_degC);
        (value, value - units.difference(limit.margin_K))
    });
    let names = names(chart, &upper, &lower, units);

    // From the outside in: texts first, the panels take what is left.
    let top = panel::head(&mut scene, &chart.title, &chart.subtitle, measures);
    let nights = if chart.duration_s <= NIGHTS_UP_TO_S {
        time_axis::nights(chart.start, chart.duration_s)
    } else {
        Vec::new()
    };
    let note = note(chart, !nights.is_empty());
    let bottom = panel::foot(&mut scene, &note, measures) - 6.0 * k;
    let axis_height = 40.0 * k;
    let side = labels::side_width(&scene, &names.widest, measures.name(), k)
        .min(0.34 * f64::from(size.width));
    let temperature_range = temperature_range(&upper, limit);
    let flow_range = axis::range(values(&lower).chain([0.0]), LEAST_SPAN_W).unwrap_or((0.0, 1.0));
    let values_width = [temperature_range, flow_range]
        .iter()
        .map(|&(low, high)| {
            let scale = Scale {
                low,
                high,
                from: 0.3 * f64::from(size.height),
                to: 0.0,
            };
            panel::y_label_width(&scene, scale, measures)
        })
        .fold(0.0, f64::max);
    let left = measures.pad() + values_width + 8.0 * k;
    let right = f64::from(size.width) - measures.pad() - side;
    let time = Scale {
        low: 0.0,
        high: chart.duration_s,
        from: left,
        to: right,
    };
    let strip = marks::plan(
        &scene,
        &chart.marks,
        &|at_s| time.at(at_s),
        (left, right),
        measures.small(),
    );

    let title_row = 1.75 * measures.axis_title().size;
    let strip_row = if strip.height > 0.0 {
        strip.height
    } else {
        0.3 * title_row
    };
    let between = if lower.is_empty() {
        0.0
    } else {
        10.0 * k + 1.6 * title_row
    };
    let free = bottom - axis_height - top - title_row - strip_row - between;
    let lower_height = if lower.is_empty() {
        0.0
    } else {
        let wanted = lower.len() as f64 * labels::SIDE_LINE_EM * measures.name();
        wanted.max(0.28 * free).min(0.45 * free)
    };
    let upper_area = Area {
        left,
        top: top + title_row + strip_row,
        width: right - left,
        height: free - lower_height,
    };
    let lower_area = Area {
        left,
        top: upper_area.bottom() + between,
        width: right - left,
        height: lower_height,
    };

    let headroom = if chart.hottest.is_some() {
        46.0 * k
    } else {
        10.0 * k
    };
    let y = with_air(temperature_range, upper_area.height, headroom, 8.0 * k);
    let upper_panel = Panel::new(upper_area, (0.0, chart.duration_s), y);
    let y = with_air(flow_range, lower_area.height.max(1.0), 6.0 * k, 4.0 * k);
    let lower_panel = Panel::new(lower_area, (0.0, chart.duration_s), y);
    let mut panels = vec![upper_panel];
    if !lower.is_empty() {
        panels.push(lower_panel);
    }
    let ticks = time_axis::ticks(
        chart.start,
        chart.duration_s,
        right - left,
        &|text| scene.width(text, measures.tick()),
        14.0 * k,
    );

    for panel in &panels {
        background(&mut scene, panel, &ticks, &nights);
    }
    if let Some((value, low)) = limit {
        margin_band(&mut scene, &upper_panel, value, low);
    }
    for panel in &panels {
        panel.y_axis(&mut scene, measures);
        marks::bands(&mut scene, &chart.marks, &|s| time.at(s), panel.area, k);
        panel.frame(&mut scene);
    }
    let title = |scene: &mut Scene, text: &str, above: f64| {
        let at = (measures.pad(), above);
        scene.text(text, at, Align::Left, measures.axis_title());
    };
    let text = format!("temperature, {}", units.temperature_unit());
    title(&mut scene, &text, top + 1.2 * measures.axis_title().size);
    if !lower.is_empty() {
        title(
            &mut scene,
            "heat flow, W",
            lower_area.top - 0.75 * measures.axis_title().size,
        );
    }
    strip.draw(
        &mut scene,
        &chart.marks,
        &|s| time.at(s),
        upper_area,
        measures.small(),
    );
    time_labels(
        &mut scene,
        panels[panels.len() - 1].area,
        &time,
        &ticks,
        measures,
    );

    if let Some((value, _)) = limit {
        let y = upper_panel.y.at(value);
        scene.level(
            y,
            left,
            right,
            Stroke::solid(style::LIMIT, (1.6 * k).round().max(1.0)),
        );
    }
    let mut ends = names.fixed(&upper_panel, limit);
    let lines = draw_lines(&mut scene, &upper_panel, &upper, &names.upper, &mut ends, k);
    labels::write_side(&mut scene, ends, upper_area, side, measures.name(), k);
    if !lower.is_empty() {
        let mut ends = Vec::new();
        draw_lines(&mut scene, &lower_panel, &lower, &names.lower, &mut ends, k);
        labels::write_side(&mut scene, ends, lower_area, side, measures.name(), k);
    }
    hottest(&mut scene, chart, &upper_panel, lines, units, measures);
    Ok(scene)
}

fn check(chart: &Chart) -> Result<(), ChartError> {
    let duration_s = chart.duration_s;
    if !(duration_s.is_finite() && duration_s > 0.0)
        || time_axis::moment(chart.start, duration_s).is_none()
    {
        return Err(ChartError::Duration(duration_s));
    }
    for line in chart.temperatures.iter().chain(&chart.flows) {
        if line
            .points
            .iter()
            .any(|p| !p.0.is_finite() || !p.1.is_finite())
        {
            return Err(ChartError::NotFinite(line.label.clone()));
        }
        if line.points.windows(2).any(|pair| pair[1].0 < pair[0].0) {
            return Err(ChartError::OutOfOrder(line.label.clone()));
        }
    }
    if let Some(limit) = &chart.limit {
        if !limit.limit_degC.is_finite() || !limit.margin_K.is_finite() {
            return Err(ChartError::NotFinite(limit.label.clone()));
        }
        if limit.margin_K < 0.0 {
            return Err(ChartError::Margin(limit.margin_K));
        }
    }
    for mark in &chart.marks {
        if !mark.begin_s.is_finite() || !mark.end_s.is_finite() {
            return Err(ChartError::NotFinite(mark.label.clone()));
        }
        if mark.end_s < mark.begin_s {
            return Err(ChartError::MarkBackwards(mark.label.clone()));
        }
    }
    match &chart.hottest {
        Some(hottest) if !hottest.at_s.is_finite() || !hottest.degC.is_finite() => {
            Err(ChartError::NotFinite(hottest.label.clone()))
        }
        _ => Ok(()),
    }
}

/// For screen readers: what the picture shows, in words.
fn description(chart: &Chart) -> String {
    let mut text = format!("{}. Lines over time:", chart.subtitle.trim_end_matches('.'));
    let lines = chart.temperatures.iter().chain(&chart.flows);
    for (position, line) in lines.enumerate() {
        text.push_str(if position == 0 { " " } else { ", " });
        text.push_str(&line.label);
    }
    if let Some(hottest) = &chart.hottest {
        let when = time_axis::moment_text(chart.start, hottest.at_s);
        let degC = axis::number(hottest.degC, 1);
        text.push_str(&format!(". Hottest: {} {degC} °C, {when}", hottest.label));
    }
    text.push('.');
    text
}

fn note(chart: &Chart, nights: bool) -> String {
    let first = chart.start.year();
    let last = time_axis::moment(chart.start, chart.duration_s).map_or(first, |end| end.year());
    let mut note = if first == last {
        format!("Local time, {first}.")
    } else {
        format!("Local time, {first} to {last}.")
    };
    if nights {
        note.push_str(" Shaded: night, 20:00 to 06:00.");
    }
    if !chart.note.is_empty() {
        note.push(' ');
        note.push_str(&chart.note);
    }
    note
}

/// The lines of the upper panel. A nozzle some 200 K above the rest would press them all flat: it is
/// named at the top edge instead.
fn temperatures(chart: &Chart, units: Units) -> Vec<Drawn<'_>> {
    let others = axis::range(
        chart
            .temperatures
            .iter()
            .filter(|line| line.role != Role::Nozzle)
            .flat_map(|line| line.points.iter().map(|point| point.1))
            .chain(chart.limit.iter().map(|limit| limit.limit_degC)),
        20.0,
    );
    chart
        .temperatures
        .iter()
        .filter(|line| !line.points.is_empty())
        .map(|line| {
            let highest = line.points.iter().map(|p| p.1).fold(f64::MIN, f64::max);
            Drawn {
                line,
                points: line
                    .points
                    .iter()
                    .map(|&(s, degC)| (s, units.temperature(degC)))
                    .collect(),
                off_scale: line.role == Role::Nozzle
                    && others.is_some_and(|(low, high)| highest > high + (high - low)),
            }
        })
        .collect()
}

fn values<'a>(lines: &'a [Drawn<'a>]) -> impl Iterator<Item = f64> + 'a {
    lines
        .iter()
        .filter(|line| !line.off_scale)
        .flat_map(|line| line.points.iter().map(|point| point.1))
}

fn temperature_range(lines: &[Drawn], limit: Option<(f64, f64)>) -> (f64, f64) {
    let limits = limit.into_iter().flat_map(|(value, low)| [value, low]);
    axis::range(values(lines).chain(limits), LEAST_SPAN_K).unwrap_or((0.0, 1.0))
}

/// Widens a range so that so many pixels above and below it stay free.
fn with_air((low, high): (f64, f64), height: f64, above: f64, below: f64) -> (f64, f64) {
    let inner = (height - above - below).max(0.3 * height);
    let per_pixel = (high - low) / inner;
    (low - below * per_pixel, high + above * per_pixel)
}

/// Everything that will be written at the right edge.
struct Names {
    upper: Vec<String>,
    lower: Vec<String>,
    limit: Option<(String, Option<String>)>,
    widest: Vec<(String, Weight)>,
}

fn weight(role: Role) -> Weight {
    if role == Role::DriveGear {
        Weight::Semibold
    } else {
        Weight::Regular
    }
}

fn names(chart: &Chart, upper: &[Drawn], lower: &[Drawn], units: Units) -> Names {
    let name = |drawn: &Drawn| {
        if drawn.off_scale {
            let highest = drawn.points.iter().map(|p| p.1).fold(f64::MIN, f64::max);
            let unit = units.temperature_unit();
            format!(
                "{} to {} {unit} ↑",
                drawn.line.label,
                axis::number(highest, 0)
            )
        } else {
            drawn.line.label.clone()
        }
    };
    let limit = chart.limit.as_ref().map(|limit| {
        let value = axis::number(units.temperature(limit.limit_degC), 1);
        let margin = axis::number(units.difference(limit.margin_K), 1);
        (
            format!("{} {value} {}", limit.label, units.temperature_unit()),
            (limit.margin_K > 0.0).then(|| format!("margin {margin} {}", units.difference_unit())),
        )
    });
    let upper_names: Vec<String> = upper.iter().map(name).collect();
    let lower_names: Vec<String> = lower.iter().map(name).collect();
    let mut widest: Vec<(String, Weight)> = upper
        .iter()
        .zip(&upper_names)
        .chain(lower.iter().zip(&lower_names))
        .map(|(drawn, name)| (name.clone(), weight(drawn.line.role)))
        .collect();
    if let Some((value, margin)) = &limit {
        widest.push((value.clone(), Weight::Semibold));
        widest.extend(margin.iter().map(|text| (text.clone(), Weight::Regular)));
    }
    Names {
        upper: upper_names,
        lower: lower_names,
        limit,
        widest,
    }
}

impl Names {
    /// The labels of limit and margin.
    fn fixed(&self, panel: &Panel, limit: Option<(f64, f64)>) -> Vec<SideLabel> {
        let (Some((name, margin)), Some((value, low))) = (&self.limit, limit) else {
            return Vec::new();
        };
        let right = panel.area.right();
        let label = |value: f64, text: &str, sample: Sample, weight: Weight| SideLabel {
            end: (right, panel.y.at(value)),
            text: text.to_owned(),
            sample,
            weight,
        };
        let line = Sample::Stroke(Stroke::solid(style::LIMIT, 1.6));
        let mut fixed = vec![label(value, name, line, Weight::Semibold)];
        if let Some(margin) = margin {
            let patch = Sample::Patch(style::MARGIN, style::MARGIN_OPACITY);
            fixed.push(label(
                f64::midpoint(value, low),
                margin,
                patch,
                Weight::Regular,
            ));
        }
        fixed
    }
}

fn background(scene: &mut Scene, panel: &Panel, ticks: &TimeTicks, nights: &[(f64, f64)]) {
    let Area { top, height, .. } = panel.area;
    for &(from_s, to_s) in nights {
        let (left, right) = (panel.x.at(from_s), panel.x.at(to_s));
        let area = Area {
            left,
            top,
            width: right - left,
            height,
        };
        scene.fill(area, style::NIGHT, style::NIGHT_OPACITY);
    }
    for &at_s in &ticks.date_ticks {
        let stroke = Stroke::solid(Colour(0xc9, 0xce, 0xd5), 1.0);
        scene.upright(panel.x.at(at_s), top, panel.area.bottom(), stroke);
    }
}

fn margin_band(scene: &mut Scene, panel: &Panel, value: f64, low: f64) {
    let (top, bottom) = (panel.y.at(value), panel.y.at(low));
    let area = Area {
        top,
        height: bottom - top,
        ..panel.area
    };
    scene.fill(area, style::MARGIN, style::MARGIN_OPACITY);
}

fn time_labels(scene: &mut Scene, area: Area, time: &Scale, ticks: &TimeTicks, measures: Measures) {
    let k = measures.k;
    let kind = measures.tick();
    let bottom = area.bottom();
    let rule = || Stroke::solid(Colour::RULE, 1.0);
    for &at_s in &ticks.fine_ticks {
        scene.upright(time.at(at_s), bottom, bottom + 4.0 * k, rule());
    }
    for &at_s in &ticks.date_ticks {
        let long = if ticks.fine.is_empty() { 20.0 } else { 36.0 };
        // The label of the hour 00:00 stands on the long tick: it starts below.
        let hours = ticks.fine.iter().any(|label| label.at_s == at_s);
        let from = if hours { bottom + 20.0 * k } else { bottom };
        scene.upright(time.at(at_s), bottom, bottom + 4.0 * k, rule());
        scene.upright(time.at(at_s), from, bottom + long * k, rule());
    }
    for label in &ticks.fine {
        let at = (time.at(label.at_s), bottom + 16.0 * k);
        scene.text(&label.text, at, Align::Centre, kind);
    }
    let row = if ticks.fine.is_empty() { 17.0 } else { 33.0 };
    let ink = super::scene::Type {
        colour: Colour::INK,
        ..kind
    };
    for label in &ticks.dates {
        let at_midnight = ticks.date_ticks.contains(&label.at_s);
        let indent = if at_midnight { 5.0 * k } else { 0.0 };
        let at = (time.at(label.at_s) + indent, bottom + row * k);
        scene.text(&label.text, at, Align::Left, ink);
    }
}

/// Draws the lines, thin ones first, adds their names to `ends` and returns their paths.
fn draw_lines(
    scene: &mut Scene,
    panel: &Panel,
    lines: &[Drawn],
    names: &[String],
    ends: &mut Vec<SideLabel>,
    k: f64,
) -> Vec<Vec<(f64, f64)>> {
    let mut order: Vec<usize> = (0..lines.len()).collect();
    let width = |index: usize| style::stroke(lines[index].line.role, k).width;
    order.sort_by(|&a, &b| width(a).total_cmp(&width(b)));
    let mut paths = Vec::new();
    for index in order {
        let role = lines[index].line.role;
        let stroke = style::stroke(role, k);
        let pieces = panel.path(&lines[index].points);
        panel.draw(scene, &pieces, &stroke);
        let last = pieces.last().and_then(|piece| piece.last()).copied();
        let edge = (panel.area.right(), panel.area.top);
        let end = if lines[index].off_scale {
            edge
        } else {
            last.unwrap_or(edge)
        };
        ends.push(SideLabel {
            end,
            text: names[index].clone(),
            sample: Sample::Stroke(stroke),
            weight: weight(role),
        });
        paths.extend(pieces);
    }
    paths
}

/// Marks the hottest moment with a ring, its value and its date.
fn hottest(
    scene: &mut Scene,
    chart: &Chart,
    panel: &Panel,
    lines: Vec<Vec<(f64, f64)>>,
    units: Units,
    measures: Measures,
) {
    let Some(hottest) = &chart.hottest else {
        return;
    };
    let k = measures.k;
    let value = units.temperature(hottest.degC);
    let centre = panel.at((
        hottest.at_s.clamp(0.0, chart.duration_s),
        value.clamp(panel.y.low, panel.y.high),
    ));
    let first = format!(
        "{} {} {}",
        hottest.label,
        axis::number(value, 1),
        units.temperature_unit()
    );
    let second = time_axis::moment_text(chart.start, hottest.at_s);
    let (bold, plain) = (measures.value(), measures.small());
    let first = scene.fitted(first.trim(), bold, 0.9 * panel.area.width);
    let width = scene.width(&first, bold).max(scene.width(&second, plain));
    let size = (width + 6.0 * k, 1.05 * bold.size + 1.65 * plain.size);
    let ring = Area {
        left: centre.0,
        top: centre.1,
        width: 0.0,
        height: 0.0,
    };
    let mut taken = scene.text_areas();
    taken.push(ring.grown(5.0 * k));
    let space = Space {
        bounds: panel.area.grown(-2.0),
        taken,
        lines: {
            let mut all = lines;
            if let Some(limit) = &chart.limit {
                let y = panel.y.at(units.temperature(limit.limit_degC));
                all.push(vec![(panel.area.left, y), (panel.area.right(), y)]);
            }
            all
        },
    };
    let reach = [8.0, 14.0, 24.0, 40.0, 60.0, 90.0, 130.0].map(|step| step * k);
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

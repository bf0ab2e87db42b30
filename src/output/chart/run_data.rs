//! What the chart of a run will say: lines in the picture's units, names, ranges, small print.

use super::axis;
use super::data::{Chart, ChartError, Hottest, Line, Lines, Measure, Role, drawable};
use super::labels::Name;
use super::time_axis;
use crate::output::font::Weight;
use crate::quantity::System;

/// Temperatures span at least this much, so that a flat line is not blown up to noise, K or °F.
const LEAST_SPAN_K: f64 = 2.0;
const LEAST_SPAN_W: f64 = 1.0;
/// Beyond so many days nights would be a mere pattern of stripes.
const NIGHTS_UP_TO_S: f64 = 62.0 * 86_400.0;

/// A line in the units of the picture.
pub struct Drawn<'a> {
    pub line: &'a Line,
    pub points: Vec<(f64, f64)>,
    /// Too far up to share a scale with the rest.
    pub off_scale: bool,
}

/// Everything a chart says, checked and ready to be placed.
pub struct Content<'a> {
    pub upper: Vec<Drawn<'a>>,
    pub lower: Vec<Drawn<'a>>,
    /// Time and both ends of what a line lies between.
    pub band: Vec<(f64, f64, f64)>,
    /// The limit and the far end of its margin band.
    pub limit: Option<(f64, f64)>,
    pub names: Names,
    pub nights: Vec<(f64, f64)>,
    pub note: String,
    /// For screen readers.
    pub description: String,
    pub upper_range: (f64, f64),
    pub lower_range: (f64, f64),
    /// The highest flow, where a short burst leaves the picture at the top.
    pub burst_W: Option<f64>,
}

/// Checks a chart and brings it into the picture's units. Two panels of a small picture would be two stripes: there the
/// lower one is left out, which the small print says.
pub fn content(chart: &Chart, units: System, is_small: bool) -> Result<Content<'_>, ChartError> {
    check(chart)?;
    let upper = drawn(&chart.upper, off_scale_above(chart), units);
    let mut lower = drawn(&chart.lower, f64::INFINITY, units);
    if upper.is_empty() && lower.is_empty() {
        return Err(ChartError::NoData);
    }
    let left_out = !lower.is_empty() && is_small && !upper.is_empty();
    if left_out {
        lower.clear();
    }
    let limit = chart.limit.as_ref().map(|limit| {
        let measure = chart.upper.measure;
        // The margin lies on the cool side: below a temperature, above a distance to it.
        let far = match measure {
            Measure::Temperature | Measure::Heat => limit.value - limit.margin_K,
            Measure::Margin => limit.value + limit.margin_K,
        };
        (measure.shown(limit.value, units), measure.shown(far, units))
    });
    let measure = chart.upper.measure;
    let band = chart.band.iter().flat_map(|band| &band.points);
    let band: Vec<(f64, f64, f64)> = band
        .map(|&(s, low, high)| (s, measure.shown(low, units), measure.shown(high, units)))
        .collect();
    let nights = if chart.duration_s <= NIGHTS_UP_TO_S {
        time_axis::nights(chart.start, chart.duration_s)
    } else {
        Vec::new()
    };
    let limits = limit.into_iter().flat_map(|(value, far)| [value, far]);
    let highest = match chart.upper.measure {
        Measure::Margin => usual(&upper, START_SHARE),
        Measure::Temperature | Measure::Heat => f64::INFINITY,
    };
    let ends = band.iter().flat_map(|&(_, low, high)| [low, high]);
    let upper_values = values(&upper).map(|v| v.min(highest)).chain(limits);
    let upper_values = upper_values.chain(ends);
    let upper_range = axis::range(upper_values, LEAST_SPAN_K).unwrap_or((0.0, 1.0));
    let (lower_range, burst_W) = match chart.lower.measure {
        Measure::Heat => flow_range(&lower),
        Measure::Temperature | Measure::Margin => {
            let range = axis::range(values(&lower), LEAST_SPAN_K);
            (range.unwrap_or((0.0, 1.0)), None)
        }
    };
    let mut notes: Vec<String> = Vec::new();
    if left_out {
        let title = capital(&chart.lower.title);
        notes.push(format!("{title}: in a larger picture."));
    }
    notes.extend(lying_on_each_other(&upper, upper_range));
    Ok(Content {
        band,
        limit,
        names: names(chart, &upper, &lower, units),
        note: note(chart, !nights.is_empty(), is_small, &notes),
        nights,
        description: description(chart, units),
        upper_range,
        lower_range,
        burst_W,
        upper,
        lower,
    })
}

/// Lines in the units of the picture.
fn drawn(lines: &Lines, off_scale_above: f64, units: System) -> Vec<Drawn<'_>> {
    let shown = |line: &Line| -> Vec<(f64, f64)> {
        let points = line.points.iter();
        points
            .map(|&(s, v)| (s, lines.measure.shown(v, units)))
            .collect()
    };
    lines
        .lines
        .iter()
        .filter(|line| !line.points.is_empty())
        .map(|line| Drawn {
            line,
            points: shown(line),
            off_scale: line.role == Role::Nozzle && highest(&line.points) > off_scale_above,
        })
        .collect()
}

/// A nozzle some 200 K above the rest would press all lines flat: above this it is named at the top edge instead.
fn off_scale_above(chart: &Chart) -> f64 {
    let others = chart
        .upper
        .lines
        .iter()
        .filter(|line| line.role != Role::Nozzle)
        .flat_map(|line| line.points.iter().map(|point| point.1))
        .chain(chart.limit.iter().map(|limit| limit.value));
    axis::range(others, 20.0).map_or(f64::INFINITY, |(low, high)| high + (high - low))
}

fn highest(points: &[(f64, f64)]) -> f64 {
    points.iter().map(|p| p.1).fold(f64::MIN, f64::max)
}

/// Says which lines of the upper panel can't be told apart because they run on top of each other.
fn lying_on_each_other(lines: &[Drawn], (low, high): (f64, f64)) -> Option<String> {
    /// Share of the panel's height that a line is wide.
    const WIDTH: f64 = 0.005;
    let near = WIDTH * (high - low);
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for k in (0..lines.len()).filter(|k| !lines[*k].off_scale) {
        let same =
            |group: &&mut Vec<usize>| coincide(&lines[group[0]].points, &lines[k].points, near);
        match groups.iter_mut().find(same) {
            Some(group) => group.push(k),
            None => groups.push(vec![k]),
        }
    }
    let groups: Vec<String> = groups
        .iter()
        .filter(|group| group.len() > 1)
        .map(|group| {
            let names: Vec<&str> = group
                .iter()
                .map(|k| lines[*k].line.label.as_str())
                .collect();
            let (last, others) = names.split_last().unwrap_or((&"", &[]));
            format!("{} and {last}", others.join(", "))
        })
        .collect();
    (!groups.is_empty()).then(|| format!("One line on another: {}.", groups.join("; ")))
}

/// Whether two lines are as good as one nearly everywhere.
fn coincide(one: &[(f64, f64)], other: &[(f64, f64)], near: f64) -> bool {
    const LOOKS: u32 = 200;
    const SHARE: f64 = 0.95;
    let (Some(first), Some(last)) = (one.first(), one.last()) else {
        return false;
    };
    let is_near = |look: &u32| {
        let at_s = first.0 + (last.0 - first.0) * f64::from(*look) / f64::from(LOOKS);
        (value_at(one, at_s) - value_at(other, at_s)).abs() <= near
    };
    let found = (0..=LOOKS).filter(is_near).count();
    found as f64 >= SHARE * f64::from(LOOKS + 1)
}

/// The value of a line at a time; beyond its ends none that is near anything.
fn value_at(points: &[(f64, f64)], at_s: f64) -> f64 {
    let after = points.partition_point(|p| p.0 < at_s);
    match (after.checked_sub(1).map(|k| points[k]), points.get(after)) {
        (Some(a), Some(&b)) => a.1 + (b.1 - a.1) * (at_s - a.0) / (b.0 - a.0),
        (None, Some(b)) if b.0 <= at_s => b.1,
        _ => f64::NAN,
    }
}

/// How bursts are told from what is usual: a share of a line's points that a burst may take at most, and how many
/// times the usual it must be. The bed's full power while it heats up would flatten everything else; it is over
/// within minutes of days, or within a tenth of a short run.
const BURSTS: [(f64, f64); 2] = [(0.02, 2.0), (0.25, 4.0)];

/// What a line stays below but for so large a share of its points.
fn usual_highest(points: &[(f64, f64)], share: f64) -> f64 {
    let mut sorted: Vec<f64> = points.iter().map(|p| p.1).collect();
    sorted.sort_by(f64::total_cmp);
    let kept = (sorted.len() as f64 * (1.0 - share)) as usize;
    sorted
        .get(kept.min(sorted.len().saturating_sub(1)))
        .copied()
        .unwrap_or(0.0)
}

/// What all lines stay below but for so large a share of their points.
fn usual(lines: &[Drawn], share: f64) -> f64 {
    let usual = lines.iter().map(|d| usual_highest(&d.points, share));
    usual.fold(0.0, f64::max)
}

/// Margins begin with a cold chamber, far from any limit: this share of their highest points may leave the picture.
const START_SHARE: f64 = 0.05;

/// The range of flows, and the highest one if it is a burst that leaves the range.
fn flow_range(lines: &[Drawn]) -> ((f64, f64), Option<f64>) {
    let top = values(lines).fold(0.0, f64::max);
    let usual = BURSTS.iter().find_map(|&(share, times)| {
        let usual = usual(lines, share);
        (usual > 0.0 && top > times * usual).then_some(usual)
    });
    let most = usual.map_or(f64::INFINITY, |usual| 1.15 * usual);
    let shown = values(lines).map(|v| v.min(most)).chain([0.0]);
    let range = axis::range(shown, LEAST_SPAN_W).unwrap_or((0.0, 1.0));
    (range, usual.map(|_| top))
}

fn check(chart: &Chart) -> Result<(), ChartError> {
    let duration_s = chart.duration_s;
    if !(drawable(duration_s) && duration_s >= 1.0)
        || time_axis::moment(chart.start, duration_s).is_none()
    {
        return Err(ChartError::Duration(duration_s));
    }
    for line in chart.upper.lines.iter().chain(&chart.lower.lines) {
        if line.points.iter().any(|p| !drawable(p.0) || !drawable(p.1)) {
            return Err(ChartError::NotFinite(line.label.clone()));
        }
        if line.points.windows(2).any(|pair| pair[1].0 < pair[0].0) {
            return Err(ChartError::OutOfOrder(line.label.clone()));
        }
    }
    if let Some(band) = &chart.band {
        let is_drawable = |p: &(f64, f64, f64)| drawable(p.0) && drawable(p.1) && drawable(p.2);
        if !band.points.iter().all(is_drawable) {
            return Err(ChartError::NotFinite(band.label.clone()));
        }
        if band.points.windows(2).any(|pair| pair[1].0 < pair[0].0) {
            return Err(ChartError::OutOfOrder(band.label.clone()));
        }
    }
    if let Some(limit) = &chart.limit {
        if !drawable(limit.value) || !drawable(limit.margin_K) {
            return Err(ChartError::NotFinite(limit.label.clone()));
        }
        if limit.margin_K < 0.0 {
            return Err(ChartError::Margin(limit.margin_K));
        }
    }
    for mark in &chart.marks {
        if !drawable(mark.begin_s) || !drawable(mark.end_s) {
            return Err(ChartError::NotFinite(mark.label.clone()));
        }
        if mark.end_s < mark.begin_s {
            return Err(ChartError::MarkBackwards(mark.label.clone()));
        }
    }
    match &chart.hottest {
        Some(hottest) if !drawable(hottest.at_s) || !drawable(hottest.value) => {
            Err(ChartError::NotFinite(hottest.label.clone()))
        }
        _ => Ok(()),
    }
}

/// For screen readers: what the picture shows, in words.
fn description(chart: &Chart, units: System) -> String {
    let mut text = format!("{}. Lines over time:", chart.subtitle.trim_end_matches('.'));
    let lines = chart.upper.lines.iter().chain(&chart.lower.lines);
    for (position, line) in lines.enumerate() {
        text.push_str(if position == 0 { " " } else { ", " });
        text.push_str(&line.label);
        text.push_str(&line.tail);
    }
    if let Some(band) = &chart.band {
        text.push_str(&format!(". Shaded: {}", band.label));
    }
    if let Some(hottest) = &chart.hottest {
        let when = time_axis::moment_text(chart.start, hottest.at_s);
        let value = hottest_text(chart, hottest, units);
        text.push_str(&format!(". Hottest: {value}, {when}"));
    }
    text.push('.');
    text
}

/// Where it is hottest and how hot, or how much is left.
pub fn hottest_text(chart: &Chart, hottest: &Hottest, units: System) -> String {
    let measure = chart.upper.measure;
    let value = axis::fixed(measure.shown(hottest.value, units), 1);
    format!("{} {value} {}", hottest.label, measure.unit(units))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

fn note(chart: &Chart, nights: bool, is_small: bool, more: &[String]) -> String {
    let more = more.iter().chain([&chart.note]).filter(|t| !t.is_empty());
    if is_small {
        // Dates stand at the axis, and nights are dark.
        return more.cloned().collect::<Vec<_>>().join(" ");
    }
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
    for text in more {
        note.push(' ');
        note.push_str(text);
    }
    note
}

fn values<'a>(lines: &'a [Drawn<'a>]) -> impl Iterator<Item = f64> + 'a {
    lines
        .iter()
        .filter(|line| !line.off_scale)
        .flat_map(|line| line.points.iter().map(|point| point.1))
}

/// Everything that will be written at the right edge.
pub struct Names {
    pub upper: Vec<Name>,
    pub lower: Vec<Name>,
    /// Name of what a line lies between.
    pub band: Option<Name>,
    /// Name of the limit, and of the margin if there is one.
    pub limit: Option<(Name, Option<Name>)>,
}

impl Names {
    /// All of them, to measure the widest.
    pub fn all(&self) -> Vec<Name> {
        let limit = self
            .limit
            .iter()
            .flat_map(|(limit, margin)| [Some(limit), margin.as_ref()]);
        let lines = self.upper.iter().chain(&self.lower);
        let lines = lines.chain(&self.band);
        lines.chain(limit.flatten()).cloned().collect()
    }
}

/// The line that decides is written in bold.
fn weight(role: Role) -> Weight {
    if role == Role::DriveGear {
        Weight::Semibold
    } else {
        Weight::Regular
    }
}

fn names(chart: &Chart, upper: &[Drawn], lower: &[Drawn], units: System) -> Names {
    let measure = chart.upper.measure;
    let unit = measure.unit(units);
    let name = |drawn: &Drawn| Name {
        label: drawn.line.label.clone(),
        tail: if drawn.off_scale {
            format!(" to {} {unit} ↑", axis::number(highest(&drawn.points), 0))
        } else {
            drawn.line.tail.clone()
        },
        weight: weight(drawn.line.role),
    };
    let limit = chart.limit.as_ref().map(|limit| {
        let value = match measure {
            Measure::Temperature | Measure::Heat => {
                axis::fixed(measure.shown(limit.value, units), 1)
            }
            Measure::Margin => axis::number(units.difference(limit.value), 1),
        };
        let margin = axis::fixed(units.difference(limit.margin_K), 1);
        let difference = units.difference_unit();
        let name = Name {
            label: limit.label.clone(),
            tail: format!(" {value} {unit}"),
            weight: Weight::Semibold,
        };
        let margin = Name {
            label: "margin".to_owned(),
            tail: format!(" {margin} {difference}"),
            weight: Weight::Regular,
        };
        (name, (limit.margin_K > 0.0).then_some(margin))
    });
    Names {
        upper: upper.iter().map(name).collect(),
        lower: lower.iter().map(name).collect(),
        band: chart.band.as_ref().map(|band| Name {
            label: band.label.clone(),
            tail: String::new(),
            weight: Weight::Regular,
        }),
        limit,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
        points.to_vec()
    }

    #[test]
    fn lines_coincide_where_they_are_near_nearly_everywhere() {
        let one = line(&[(0.0, 20.0), (50.0, 40.0), (100.0, 20.0)]);
        // Other times, the same course.
        let same = line(&[(0.0, 20.1), (25.0, 30.1), (50.0, 40.1), (100.0, 20.1)]);
        let crossing = line(&[(0.0, 40.0), (100.0, 20.0)]);
        let shorter = line(&[(0.0, 20.0), (50.0, 40.0)]);
        assert!(coincide(&one, &same, 0.2));
        assert!(!coincide(&one, &same, 0.05));
        assert!(!coincide(&one, &crossing, 1.0));
        assert!(!coincide(&one, &shorter, 1.0));
        assert!(!coincide(&[], &one, 1.0));
    }

    /// By hand: of a hundred points at 50 W and ten at 600 W, or two, those at 600 W leave the picture; where
    /// half of the points are there, nothing does.
    #[test]
    fn a_burst_leaves_the_range_and_a_long_load_does_not() {
        let range = |bursts: usize| {
            let value = |k: usize| if k < bursts { 600.0 } else { 50.0 };
            let points = (0..110).map(|k| (k as f64, value(k))).collect();
            let line = Line {
                label: "bed".to_owned(),
                tail: String::new(),
                role: Role::Source(0),
                points,
            };
            let drawn = Drawn {
                points: line.points.clone(),
                line: &line,
                off_scale: false,
            };
            flow_range(&[drawn])
        };
        for bursts in [1, 2, 10, 20] {
            let ((low, high), burst) = range(bursts);
            assert_eq!((low, burst), (0.0, Some(600.0)), "{bursts}");
            assert!((high - 57.5).abs() < 1e-9, "{bursts}: {high}");
        }
        assert_eq!(range(55), ((0.0, 600.0), None));
        assert_eq!(range(0), ((0.0, 50.0), None));
    }
}

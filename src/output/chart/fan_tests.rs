//! What the picture of fans promises.

use super::fan_chart::lay_out;
use super::fan_samples::{self, CURVE, margin_at};
use super::scene::{Area, Colour, Scene, Shape};
use super::scene_checks::{assert_texts_apart, texts};
use super::*;

const LARGE: Size = size(1200, 800);
const SMALL: Size = size(700, 500);
const LEAST: Size = size(400, 300);

const fn size(width: u32, height: u32) -> Size {
    Size { width, height }
}

/// Draws samples into a folder to be looked at:
/// `DOGDAYS_SAMPLES=folder cargo test --lib fans_to_look_at -- --ignored`.
#[test]
#[ignore = "writes pictures for the eye"]
fn fans_to_look_at() {
    let Ok(folder) = std::env::var("DOGDAYS_SAMPLES") else {
        return;
    };
    let folder = std::path::Path::new(&folder);
    for (name, chart) in cases() {
        for (size, tag) in [
            (LARGE, "large"),
            (SMALL, "small"),
            (LEAST, "least"),
            (size(3000, 2000), "print"),
            (size(500, 1200), "tall"),
            (size(900, 600), "middle"),
        ] {
            let bytes = draw_fans(&chart, Format::Png, size).expect("chart");
            std::fs::write(folder.join(format!("{name}-{tag}.png")), bytes).expect("written");
        }
    }
}

/// Everything there can be, and what may be missing.
fn cases() -> Vec<(String, FanChart)> {
    let mut cases: Vec<(String, FanChart)> = [0, 1, 2, 4, 6]
        .map(|count| (format!("fans {count}"), fan_samples::fans(count)))
        .to_vec();
    let full = fan_samples::fans(4);
    let mut bare = full.clone();
    bare.margin.band.clear();
    bare.margin.gains.clear();
    bare.margin.needed = None;
    bare.margin.required = None;
    bare.margin.bound = None;
    bare.split = None;
    bare.curves.vertical = None;
    cases.push(("bare".to_owned(), bare));
    let mut alone = full.clone();
    alone.split = None;
    alone.curves.curves.clear();
    alone.curves.points.clear();
    alone.margin.band.clear();
    cases.push(("margin alone".to_owned(), alone));
    cases.push(("crowd".to_owned(), crowd()));
    // No flow is enough: no pick, nothing needed, in inches of water and with a wind that helps.
    let mut out_of_reach = fan_samples::fans(6);
    let lower = |y: f64| 3.0 * y - 19.3;
    let margin = &mut out_of_reach.margin;
    margin.curve.iter_mut().for_each(|p| p.1 = lower(p.1));
    for fan in &mut margin.fans {
        (fan.clean.1, fan.loaded.1) = (lower(fan.clean.1), lower(fan.loaded.1));
        (fan.strong, fan.label) = (false, String::new());
    }
    let band = |&(x, y): &(f64, f64)| (x, y - 6.0 + 0.02 * x, y + 5.0 - 0.02 * x);
    margin.band = margin.curve.iter().map(band).collect();
    margin.gains.clear();
    (margin.needed, out_of_reach.curves.vertical) = (None, None);
    margin.bound = Some((2.4, "no flow brings more than 2.4 K".to_owned()));
    let split = out_of_reach.split.as_mut().expect("split");
    split.unit = "inH2O".to_owned();
    for column in &mut split.columns {
        column.parts.push(("wind".to_owned(), -3.0));
        column.parts.iter_mut().for_each(|part| part.1 /= 249.1);
    }
    cases.push(("out of reach".to_owned(), out_of_reach));
    cases
}

/// Six fans at one flow, long names, a long title.
fn crowd() -> FanChart {
    let mut chart = fan_samples::fans(6);
    for (number, fan) in chart.margin.fans.iter_mut().enumerate() {
        let flow = 50.0 + 0.3 * number as f64;
        fan.loaded = (flow, margin_at(flow));
        fan.clean = (flow + 1.0, margin_at(flow + 1.0));
        fan.name = format!("a fan with a name that goes on and on {number}");
    }
    chart.title = "a title that is far too long for a single line ".repeat(5);
    chart.subtitle = chart.title.clone();
    chart.note = chart.title.clone();
    chart.margin.heading = chart.title.clone();
    chart.curves.heading = chart.title.clone();
    let split = chart.split.as_mut().expect("split");
    split.heading = chart.title.clone();
    for column in &mut split.columns {
        column.label = chart.title.clone();
        for part in &mut column.parts {
            part.0 = format!("{} of a long name", part.0);
        }
    }
    chart
}

#[test]
fn fan_texts_never_touch() {
    for size in [
        LARGE,
        SMALL,
        LEAST,
        size(2400, 1000),
        size(500, 1200),
        size(4000, 300),
    ] {
        for (name, chart) in cases() {
            let scene = lay_out(&chart, size).expect("chart");
            assert_texts_apart(&scene, &format!("{name} {size:?}"));
        }
    }
}

/// The margin alone, so that a tick's text stands for one axis.
fn margin_alone() -> FanChart {
    let mut chart = fan_samples::fans(4);
    chart.split = None;
    chart.curves.curves.clear();
    chart.margin.band.clear();
    chart.margin.gains.clear();
    chart
}

fn text<'a>(scene: &'a Scene, wanted: &str) -> &'a super::scene::Text {
    let found: Vec<_> = texts(scene)
        .into_iter()
        .filter(|text| text.text == wanted)
        .collect();
    assert_eq!(found.len(), 1, "{wanted}");
    found[0]
}

/// Where a value lies by the ticks: halfway between two named ones is halfway between their texts.
fn by_ticks(scene: &Scene, (x, y): (f64, f64)) -> (f64, f64) {
    let across = |name| {
        let tick = text(scene, name);
        tick.x + tick.width / 2.0
    };
    // Digits are 0.7 em high and stand with their middle at the tick.
    let up = |name| {
        let tick = text(scene, name);
        tick.baseline - 0.35 * tick.size
    };
    let (x20, x80, y2, y6) = (across("20"), across("80"), up("2"), up("6"));
    (
        x20 + (x - 20.0) / 60.0 * (x80 - x20),
        y2 + (y - 2.0) / 4.0 * (y6 - y2),
    )
}

fn assert_near(place: (f64, f64), wanted: (f64, f64), what: &str) {
    let off = (place.0 - wanted.0).hypot(place.1 - wanted.1);
    assert!(off < 0.1, "{what}: {place:?} and not {wanted:?}");
}

/// Discs of a colour, from the back to the front.
fn discs(scene: &Scene, colour: Colour) -> Vec<((f64, f64), f64)> {
    let disc = |shape: &Shape| match shape {
        Shape::Disc {
            centre,
            radius,
            fill,
        } if *fill == colour => Some((*centre, *radius)),
        _ => None,
    };
    scene.shapes.iter().filter_map(disc).collect()
}

/// Lines of a colour.
fn strokes(scene: &Scene, colour: Colour) -> Vec<Vec<(f64, f64)>> {
    let line = |shape: &Shape| match shape {
        Shape::Line { points, stroke } if stroke.colour == colour => Some(points.clone()),
        _ => None,
    };
    scene.shapes.iter().filter_map(line).collect()
}

/// By hand, from the curve's points (40, 4.7) and (60, 5.9): 5.612 K at 55.2 m³/h and 5.696 K at 56.6 m³/h.
#[test]
fn marks_and_lines_lie_where_the_axes_say() {
    let scene = lay_out(&margin_alone(), LARGE).expect("chart");
    let found = discs(&scene, style::curve(CurveKind::Main(1), 1.0).colour);
    let clean = by_ticks(&scene, (56.6, 5.696));
    let loaded = by_ticks(&scene, (55.2, 5.612));
    assert_eq!(found.len(), 2);
    assert_near(found[0].0, clean, "clean filter");
    assert_near(found[1].0, loaded, "loaded filter");
    // The one is open, the other is not; the pick's are larger than another's.
    let holes = discs(&scene, Colour::WHITE);
    let is_open = |centre| holes.iter().any(|hole| hole.0 == centre && hole.1 > 2.0);
    assert!(is_open(found[0].0) && !is_open(found[1].0));
    let other = discs(&scene, style::curve(CurveKind::Main(0), 1.0).colour);
    assert!(other[0].1 < found[0].1);

    let lines = strokes(&scene, style::NEEDED);
    let [required, needed] = lines.as_slice() else {
        panic!("{lines:?}");
    };
    // Level and upright lines are two pixels wide and sharp: up to half a pixel off.
    let (x, y) = by_ticks(&scene, (22.5, 3.0));
    assert!(required.iter().all(|p| (p.1 - y).abs() <= 0.51), "{y}");
    assert!(needed.iter().all(|p| (p.0 - x).abs() <= 0.51), "{x}");
    let zero = strokes(&scene, style::LIMIT).concat();
    let (_, y) = by_ticks(&scene, (0.0, 0.0));
    assert!(zero.len() == 2 && zero.iter().all(|p| (p.1 - y).abs() <= 0.51));
    let name = text(&scene, "softens below").area();
    assert!(name.top > y, "below the line it is named for");
    assert!(text(&scene, "required: 3.0 K").area().bottom() < required[0].1);
}

#[test]
fn the_band_lies_behind_the_curve_and_reaches_as_far_as_it_says() {
    let mut chart = margin_alone();
    chart.margin.band = CURVE.iter().map(|&(x, y)| (x, y - 1.0, y + 0.5)).collect();
    let scene = lay_out(&chart, LARGE).expect("chart");
    let band = scene.shapes.iter().position(
        |shape| matches!(shape, Shape::Region { outline, .. } if outline.len() == 2 * CURVE.len()),
    );
    let curve = scene.shapes.iter().position(|shape| {
        matches!(shape, Shape::Line { points, stroke }
            if points.len() == CURVE.len() && stroke.colour == style::BEST)
    });
    let mark = scene
        .shapes
        .iter()
        .position(|shape| matches!(shape, Shape::Disc { radius, .. } if *radius > 5.0));
    let (band, curve) = (band.expect("band"), curve.expect("curve"));
    assert!(band < curve && curve < mark.expect("mark"));
    let Shape::Region { outline, .. } = &scene.shapes[band] else {
        panic!("a region");
    };
    // The third point is (10, 1.2): 0.2 K below it, on the way back 1.7 K.
    assert_near(outline[2], by_ticks(&scene, (10.0, 0.2)), "low");
    assert_near(outline[15], by_ticks(&scene, (10.0, 1.7)), "high");
    text(&scene, "nine of ten samples");
}

/// From 0 to 20 m³/h the curve's points bring 2.7 − (−1.3) = 4.0 K: a tread at −1.3 K, a rise at 20 m³/h.
#[test]
fn steps_of_flow_lie_under_the_curve() {
    let mut chart = margin_alone();
    chart.margin.gains = fan_samples::fans(4).margin.gains;
    let scene = lay_out(&chart, LARGE).expect("chart");
    let quiet = strokes(&scene, Colour::QUIET);
    let steps: Vec<_> = quiet.into_iter().filter(|line| line.len() == 3).collect();
    assert_eq!(steps.len(), 5);
    for (place, wanted) in steps[0]
        .iter()
        .zip([(0.0, -1.3), (20.0, -1.3), (20.0, 2.7)])
    {
        assert_near(*place, by_ticks(&scene, wanted), "step");
    }
    for brought in ["+4.0 K", "+2.0 K", "+1.2 K", "+0.8 K", "+0.5 K"] {
        text(&scene, brought);
    }
}

/// The boxes of parts, column after column.
fn boxes(scene: &Scene) -> Vec<Area> {
    let colours: Vec<Colour> = (0..6).map(style::part).collect();
    let part = |shape: &Shape| match shape {
        Shape::Box { area, fill, .. } if colours.contains(fill) => Some(*area),
        _ => None,
    };
    scene.shapes.iter().filter_map(part).collect()
}

/// 1.4 + 0.6 + 18.4 + 14.3 = 34.7 Pa and 1.3 + 0.6 + 32.0 + 13.2 = 47.1 Pa.
#[test]
fn parts_are_as_high_as_their_values_and_add_up() {
    for size in [LARGE, SMALL] {
        let scene = lay_out(&fan_samples::fans(4), size).expect("chart");
        let boxes = boxes(&scene);
        let values = [1.4, 0.6, 18.4, 14.3, 1.3, 0.6, 32.0, 13.2];
        assert_eq!(boxes.len(), values.len());
        let per_Pa = boxes[6].height / 32.0;
        assert!(per_Pa > 3.0, "{per_Pa} px");
        for (area, value) in boxes.iter().zip(values) {
            assert!((area.height - value * per_Pa).abs() < 1e-6, "{value} Pa");
        }
        for (column, total) in [(&boxes[..4], 34.7), (&boxes[4..], 47.1)] {
            for pair in column.windows(2) {
                assert!((pair[0].top - pair[1].bottom()).abs() < 1e-6);
                assert_eq!(pair[0].left, pair[1].left);
            }
            let height = column[0].bottom() - column[3].top;
            assert!((height - total * per_Pa).abs() < 1e-6, "{total} Pa");
            assert!((column[0].bottom() - boxes[0].bottom()).abs() < 1e-6);
            // It stands on a line.
            let line = strokes(&scene, Colour::QUIET).into_iter().find(|line| {
                line.len() == 2 && line[0].0 <= column[0].left && line[1].0 >= column[0].right()
            });
            let line = line.expect("a line below");
            assert!((line[0].1 - column[0].bottom()).abs() <= 0.51 && line[0].1 == line[1].1);
            // The total stands above the column and nothing of it in the column.
            let name = text(&scene, &format!("{total:.1} Pa"));
            assert!(name.baseline < column[3].top && name.baseline > column[3].top - 20.0);
        }
        for name in ["filter 18.4", "filter 32.0", "duct 13.2", "shell 1.4"] {
            text(&scene, name);
        }
        for text in texts(&scene) {
            let is_hidden = boxes.iter().any(|part| part.overlaps(text.area()));
            assert!(!is_hidden, "{}", text.text);
        }
    }
}

/// A wind that helps is below the line: 10 − 4 = 6 Pa. What is nothing is not named.
#[test]
fn a_part_below_zero_hangs_from_the_line() {
    let mut chart = fan_samples::fans(2);
    let parts = [("duct", 10.0), ("wind", -4.0), ("grille", 0.0)];
    chart.split.as_mut().expect("split").columns = vec![SplitColumn {
        label: "clean filter".to_owned(),
        parts: parts.map(|(name, value)| (name.to_owned(), value)).to_vec(),
    }];
    let scene = lay_out(&chart, LARGE).expect("chart");
    let boxes = boxes(&scene);
    assert_eq!(boxes.len(), 2);
    assert!((boxes[0].bottom() - boxes[1].top).abs() < 1e-6);
    assert!((boxes[1].height / boxes[0].height - 0.4).abs() < 1e-6);
    text(&scene, "6.00 Pa");
    text(&scene, "wind −4.00");
    assert!(!texts(&scene).iter().any(|t| t.text.starts_with("grille")));
}

/// axial-120-strong can't be relied on below 40 m³/h; the others can everywhere.
#[test]
fn what_is_unstable_is_dotted_and_named_once() {
    let mut chart = fan_samples::fans(4);
    chart.margin.needed = None;
    chart.curves.vertical = None;
    chart.curves.points.clear();
    let scene = lay_out(&chart, LARGE).expect("chart");
    let (thin, whole) = (
        style::unstable(CurveKind::Main(3), 1.0),
        style::curve(CurveKind::Main(3), 1.0),
    );
    let like = |wanted: &super::scene::Stroke| {
        let lines = scene.shapes.iter().filter_map(|shape| match shape {
            Shape::Line { points, stroke } if stroke.dash == wanted.dash => {
                (stroke.colour == wanted.colour).then_some(points)
            }
            _ => None,
        });
        lines.flatten().copied().collect::<Vec<_>>()
    };
    let (unstable, stable) = (like(&thin), like(&whole));
    let right = unstable.iter().map(|p| p.0).fold(0.0, f64::max);
    let left = stable.iter().map(|p| p.0).fold(f64::MAX, f64::min);
    // Under the lowest panel: no other "40" stands lower.
    let tick = texts(&scene)
        .into_iter()
        .filter(|text| text.text == "40")
        .max_by(|a, b| a.baseline.total_cmp(&b.baseline))
        .expect("tick");
    let wanted = tick.x + tick.width / 2.0;
    assert!((right - wanted).abs() < 0.1, "{right} and not {wanted}");
    assert!((left - wanted).abs() < 0.1, "{left} and not {wanted}");
    text(&scene, "unstable");
    let stable = lay_out(&fan_samples::fans(2), LARGE).expect("chart");
    assert!(!texts(&stable).iter().any(|t| t.text == "unstable"));
}

/// However many there are at one flow, every fan has its two marks.
#[test]
fn all_fans_of_a_crowd_are_marked() {
    let scene = lay_out(&crowd(), LEAST).expect("chart");
    for number in 0..6 {
        let colour = style::curve(CurveKind::Main(number), 1.0).colour;
        let marks = discs(&scene, colour).len();
        // Black is the colour of nothing else; the key's are grey.
        assert_eq!(marks, 2, "fan {number}");
    }
    let names = texts(&scene)
        .into_iter()
        .filter(|text| text.text.starts_with("a fan"))
        .count();
    assert!((1..6).contains(&names), "{names} of six have room");
}

#[test]
fn what_has_no_room_is_told() {
    let chart = fan_samples::fans(4);
    let said = |size: Size| {
        let scene = lay_out(&chart, size).expect("chart");
        let all: Vec<String> = texts(&scene).iter().map(|t| t.text.clone()).collect();
        all.join(" ")
    };
    let large = said(LARGE);
    assert!(large.contains("system, clean filter") && large.contains("47.1 Pa"));
    assert!(!large.contains("In a larger picture"));
    let small = said(SMALL);
    assert!(small.contains("In a larger picture: fan curves.") && small.contains("47.1 Pa"));
    assert!(!small.contains("system, clean filter") && small.contains("nine of ten samples"));
    let least = said(LEAST);
    assert!(least.contains("In a larger picture: where the pressure goes, fan curves."));
    assert!(least.contains("blower-97") && least.contains("needed: 23 m³/h"));
    assert!(least.contains("nine of ten samples") && !least.contains("47.1 Pa"));
}

#[test]
fn fans_that_cannot_be_drawn_are_an_error() {
    type Spoil = fn(&mut FanChart, f64);
    let spoils: [(&str, Spoil); 13] = [
        ("margin, K", |c, bad| c.margin.curve[2].1 = bad),
        ("nine of ten samples", |c, bad| c.margin.band[1].2 = bad),
        ("required: 3.0 K", |c, bad| {
            c.margin.required.as_mut().expect("line").0 = bad;
        }),
        ("no flow brings more than 8.9 K", |c, bad| {
            c.margin.bound.as_mut().expect("line").0 = bad;
        }),
        ("needed: 23 m³/h", |c, bad| {
            c.margin.needed.as_mut().expect("line").x = bad;
        }),
        ("+4.0 K", |c, bad| c.margin.gains[0].x.1 = bad),
        ("blower-97", |c, bad| c.margin.fans[1].clean.1 = bad),
        ("inline-100", |c, bad| c.margin.fans[2].loaded.0 = bad),
        ("filter", |c, bad| {
            c.split.as_mut().expect("split").columns[1].parts[2].1 = bad;
        }),
        ("system, clean filter", |c, bad| {
            c.curves.curves[0].points[3].0 = bad;
        }),
        ("axial-120-strong", |c, bad| {
            c.curves.curves[5].unstable_below = Some(bad);
        }),
        ("55 m³/h at 47 Pa", |c, bad| c.curves.points[3].y = bad),
        ("needed: 23 m³/h", |c, bad| {
            c.curves.vertical.as_mut().expect("line").x = bad;
        }),
    ];
    let good = fan_samples::fans(4);
    for size in [LARGE, LEAST] {
        for (name, spoil) in spoils {
            for bad in [f64::NAN, f64::INFINITY, -1e300] {
                let mut chart = good.clone();
                spoil(&mut chart, bad);
                let wanted = Err(ChartError::NotFinite(name.to_owned()));
                assert_eq!(draw_fans(&chart, Format::Svg, size), wanted, "{name}");
            }
        }
    }
    let mut chart = good.clone();
    chart.margin.curve.clear();
    assert_eq!(
        draw_fans(&chart, Format::Svg, LARGE),
        Err(ChartError::NoData)
    );
    let (width, height) = (399, 300);
    assert_eq!(
        draw_fans(&good, Format::Png, size(width, height)),
        Err(ChartError::Size { width, height })
    );
}

/// The widest, narrowest and farthest values that are accepted still give finite places.
#[test]
fn extreme_fans_stay_in_the_picture() {
    for (low, high) in [(-1e12, 1e12), (1e12, 1e12), (0.0, 1e-300), (0.0, 0.0)] {
        let mut chart = fan_samples::fans(4);
        chart.margin.curve = vec![(0.0, low), (high, high)];
        chart.margin.band = vec![(low, low, high), (high, low, high)];
        chart.margin.fans[0].clean = (low, high);
        chart.margin.gains[0].y = (low, high);
        chart.curves.curves[2].points = vec![(low, low), (high, high)];
        chart.curves.curves[2].unstable_below = Some(high);
        for column in &mut chart.split.as_mut().expect("split").columns {
            for (part, value) in column.parts.iter_mut().zip([low, high, low, 0.0]) {
                part.1 = value;
            }
        }
        for size in [LARGE, LEAST] {
            let svg = draw_fans(&chart, Format::Svg, size).expect("chart");
            let svg = String::from_utf8(svg).expect("UTF-8");
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{low} {high}");
            draw_fans(&chart, Format::Png, size).expect("chart");
        }
    }
}

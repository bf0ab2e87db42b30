//! What every chart promises: no two texts touch, nothing leaves the picture, equal charts give
//! equal bytes, and bad data gives a typed error.

use std::path::Path;

use super::scene::{Scene, Shape, Text};
use super::*;
use super::{run_chart, samples, xy_chart};

const LARGE: Size = size(1200, 800);
const SMALL: Size = size(700, 500);
const LEAST: Size = size(400, 300);

const fn size(width: u32, height: u32) -> Size {
    Size { width, height }
}

fn texts(scene: &Scene) -> Vec<&Text> {
    scene
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Text(text) => Some(text),
            _ => None,
        })
        .collect()
}

fn assert_texts_apart(scene: &Scene, what: &str) {
    let texts = texts(scene);
    assert!(texts.len() > 5, "{what}");
    let (width, height) = (f64::from(scene.size.width), f64::from(scene.size.height));
    for (position, one) in texts.iter().enumerate() {
        let area = one.area();
        assert!(
            area.left >= 0.0 && area.top >= 0.0 && area.right() <= width && area.bottom() <= height,
            "{what}: \"{}\" leaves the picture",
            one.text
        );
        for other in &texts[position + 1..] {
            assert!(
                !area.overlaps(other.area()),
                "{what}: \"{}\" touches \"{}\"",
                one.text,
                other.text
            );
        }
    }
}

fn all_runs() -> Vec<(String, Chart)> {
    let mut charts = Vec::new();
    for hours in [0.1, 1.0, 7.0, 30.0, 121.0, 240.0, 720.0, 5000.0] {
        charts.push((format!("run of {hours} h"), samples::run(hours)));
        charts.push((
            format!("comparison of {hours} h"),
            samples::comparison(hours),
        ));
    }
    charts
}

#[test]
fn texts_never_touch() {
    for size in [LARGE, SMALL, LEAST, size(2400, 1000)] {
        for (name, chart) in all_runs() {
            for units in [System::Si, System::Us] {
                let scene = run_chart::lay_out(&chart, size, units).expect("chart");
                assert_texts_apart(&scene, &format!("{name} {size:?} {units:?}"));
            }
        }
        for count in [1, 3, 10] {
            let scene = xy_chart::lay_out(&samples::fans(count), size).expect("chart");
            assert_texts_apart(&scene, &format!("{count} fans {size:?}"));
        }
    }
}

/// All the lines end at one place, names are long, marks crowd: the worst for labels.
#[test]
fn texts_never_touch_in_a_crowd() {
    let mut chart = samples::run(121.0);
    for line in chart.temperatures.iter_mut().chain(&mut chart.flows) {
        line.points = vec![(0.0, 50.0), (chart.duration_s, 50.0)];
        line.label = format!("{} with a name that goes on and on and on", line.label);
    }
    chart.title = "a title that is far too long for a single line ".repeat(5);
    chart.subtitle = chart.title.repeat(3);
    chart.note = chart.title.repeat(3);
    for number in 0..60 {
        chart.marks.push(Mark {
            begin_s: f64::from(number) * 6000.0,
            end_s: f64::from(number) * 6000.0 + 900.0,
            label: format!("mark {}", number % 9),
            kind: MarkKind::FanOn,
        });
    }
    for size in [LARGE, SMALL] {
        let scene = run_chart::lay_out(&chart, size, System::Si).expect("chart");
        assert_texts_apart(&scene, &format!("crowd {size:?}"));
    }
}

/// All that has to be said is said, on every run and at both sizes.
#[test]
fn names_values_and_dates_are_written() {
    for size in [LARGE, SMALL] {
        for hours in [1.0, 121.0, 720.0] {
            let scene = run_chart::lay_out(&samples::run(hours), size, System::Si).expect("chart");
            let written: Vec<&str> = texts(&scene).iter().map(|t| t.text.as_str()).collect();
            for expected in [
                "drive gear",
                "cold end",
                "guide tube",
                "spool",
                "top layer",
                "bottom layer",
                "room",
                "nozzle to 215 °C ↑",
                "motors",
                "leakage",
                "softening limit 55 °C",
                "margin 3 K",
                "temperature, °C",
                "door open",
                "heating up",
            ] {
                assert!(
                    written.contains(&expected),
                    "{expected} at {hours} h, {size:?}: {written:?}"
                );
            }
            // Where the bed's full power leaves the picture at the top, the axis says how high.
            assert!(written.iter().any(|text| text.starts_with("heat flow, W")));
            assert!(written.iter().any(|text| text.starts_with("Mon 13 Jul")));
            assert!(written.iter().any(|text| text.starts_with("spool change")));
            assert!(
                written
                    .iter()
                    .any(|text| text.starts_with("drive gear ") && text.ends_with("°C"))
            );
        }
    }
}

/// 55 °C is 131 °F and 3 K are 5.4 °F (exact: °F = 1.8 °C + 32).
#[test]
fn us_units_show_fahrenheit() {
    let scene = run_chart::lay_out(&samples::run(121.0), LARGE, System::Us).expect("chart");
    let written: Vec<&str> = texts(&scene).iter().map(|t| t.text.as_str()).collect();
    for expected in ["softening limit 131 °F", "margin 5.4 °F", "temperature, °F"] {
        assert!(written.contains(&expected), "{expected}: {written:?}");
    }
    assert!(!written.iter().any(|text| text.contains("°C")));
}

/// A door opened for four minutes in a month is far less than a pixel, and still two wide.
#[test]
fn a_short_opening_is_seen_in_a_month() {
    let mut chart = samples::run(720.0);
    let colour = style::mark(MarkKind::DoorOpen);
    chart.marks.retain(|mark| mark.kind == MarkKind::DoorOpen);
    let scene = run_chart::lay_out(&chart, SMALL, System::Si).expect("chart");
    let bands = scene.shapes.iter().filter(|shape| {
        matches!(shape, Shape::Box { area, fill, .. }
            if *fill == colour && area.width >= 2.0 && area.height > 50.0)
    });
    assert_eq!(bands.count(), 2, "one band a panel");
}

/// Pixels of a PNG, RGB, decoded by the `png` crate.
fn decoded(bytes: &[u8]) -> (u32, u32, Vec<u8>) {
    let mut reader = ::png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .expect("PNG");
    let mut pixels = vec![0; reader.output_buffer_size().expect("size")];
    let info = reader.next_frame(&mut pixels).expect("frame");
    (info.width, info.height, pixels)
}

#[test]
fn a_png_has_the_size_asked_for_and_a_white_ground() {
    let bytes = draw(&samples::run(121.0), Format::Png, SMALL, System::Si).expect("chart");
    let (width, height, pixels) = decoded(&bytes);
    assert_eq!((width, height), (700, 500));
    assert_eq!(pixels[..3], [255, 255, 255]);
    let dark = pixels
        .chunks_exact(3)
        .filter(|p| p.iter().all(|&c| c < 80))
        .count();
    assert!(dark > 2000, "letters and lines: {dark} dark pixels");
}

#[test]
fn an_svg_is_well_formed_and_needs_no_font() {
    let mut chart = samples::run(1.0);
    chart.title = "a < b & \"c\"\u{1}\n".to_owned();
    let bytes = draw(&chart, Format::Svg, LARGE, System::Si).expect("chart");
    let text = String::from_utf8(bytes).expect("UTF-8");
    assert!(text.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\""));
    assert!(text.contains("<title>a &lt; b &amp; &quot;c&quot;  </title>"));
    assert!(!text.contains("font") && !text.contains("<text"));
    assert!(!text.contains("NaN") && !text.contains("inf"));
    // Each tag that is opened is closed.
    for tag in ["svg", "defs", "g", "title", "desc"] {
        let opened =
            text.matches(&format!("<{tag}>")).count() + text.matches(&format!("<{tag} ")).count();
        assert_eq!(opened, text.matches(&format!("</{tag}>")).count(), "{tag}");
    }
}

#[test]
fn equal_charts_give_equal_bytes() {
    let chart = samples::run(121.0);
    for format in [Format::Svg, Format::Png] {
        let first = draw(&chart, format, SMALL, System::Si).expect("chart");
        assert!(first == draw(&chart.clone(), format, SMALL, System::Si).expect("chart"));
    }
}

/// A line of 20,000 points stays small: a page loads it at once.
#[test]
fn long_runs_give_small_files() {
    for hours in [1.0, 121.0, 720.0, 5000.0] {
        let chart = samples::run(hours);
        let svg = draw(&chart, Format::Svg, LARGE, System::Si)
            .expect("chart")
            .len();
        assert!(svg < 400_000, "{svg} bytes for {hours} h");
        let png = draw(&chart, Format::Png, LARGE, System::Si)
            .expect("chart")
            .len();
        assert!(png < 400_000, "{png} bytes for {hours} h");
    }
}

#[test]
fn flat_and_single_points_are_drawn() {
    let mut chart = samples::run(121.0);
    chart.limit = None;
    chart.marks.clear();
    for line in chart.temperatures.iter_mut().chain(&mut chart.flows) {
        line.points.truncate(1);
    }
    run_chart::lay_out(&chart, LARGE, System::Si).expect("single points");
    for line in chart.temperatures.iter_mut().chain(&mut chart.flows) {
        line.points = vec![(0.0, 31.0), (1e9, 31.0)];
    }
    let scene = run_chart::lay_out(&chart, LARGE, System::Si).expect("flat, beyond the end");
    for shape in &scene.shapes {
        if let Shape::Line { points, .. } = shape {
            assert!(
                points
                    .iter()
                    .all(|p| p.0.is_finite() && (0.0..=1200.0).contains(&p.0))
            );
        }
    }
}

#[test]
fn what_cannot_be_drawn_is_an_error() {
    let draw = |chart: &Chart| draw(chart, Format::Svg, LARGE, System::Si);
    let good = samples::run(1.0);

    let mut chart = good.clone();
    chart.temperatures.clear();
    chart.flows.clear();
    assert_eq!(draw(&chart), Err(ChartError::NoData));
    let mut chart = good.clone();
    for line in chart.temperatures.iter_mut().chain(&mut chart.flows) {
        line.points.clear();
    }
    assert_eq!(draw(&chart), Err(ChartError::NoData));
    for bad in [f64::NAN, f64::INFINITY, -1e300] {
        let mut chart = good.clone();
        chart.flows[1].points[3].1 = bad;
        assert_eq!(
            draw(&chart),
            Err(ChartError::NotFinite("motors".to_owned()))
        );
        let mut chart = good.clone();
        chart.hottest.as_mut().expect("hottest").degC = bad;
        assert!(matches!(draw(&chart), Err(ChartError::NotFinite(_))));
    }
    let mut chart = good.clone();
    chart.temperatures[0].points.swap(4, 5);
    assert_eq!(
        draw(&chart),
        Err(ChartError::OutOfOrder("drive gear".to_owned()))
    );
    for bad in [0.0, -1.0, 1e-9, f64::NAN, 1e12, 1e18] {
        let chart = Chart {
            duration_s: bad,
            ..good.clone()
        };
        assert!(
            matches!(draw(&chart), Err(ChartError::Duration(_))),
            "{bad}"
        );
    }
    let mut chart = good.clone();
    chart.limit.as_mut().expect("limit").margin_K = -1.0;
    assert_eq!(draw(&chart), Err(ChartError::Margin(-1.0)));
    let mut chart = good.clone();
    chart.marks[1].end_s = 0.0;
    assert_eq!(
        draw(&chart),
        Err(ChartError::MarkBackwards("door open".to_owned()))
    );
    for (width, height) in [(0, 0), (399, 800), (1200, 5000), (u32::MAX, u32::MAX)] {
        let size = Size { width, height };
        assert_eq!(
            super::draw(&good, Format::Png, size, System::Si),
            Err(ChartError::Size { width, height })
        );
    }
    let mut empty = samples::fans(2);
    empty.curves.clear();
    empty.points.clear();
    assert_eq!(draw_xy(&empty, Format::Svg, LARGE), Err(ChartError::NoData));
}

#[test]
fn the_extension_decides_the_format() {
    for (name, format) in [
        ("a.svg", Some(Format::Svg)),
        ("b/c.PNG", Some(Format::Png)),
        ("d.Svg", Some(Format::Svg)),
        ("svg", None),
        ("e.jpg", None),
        ("f.svg.gz", None),
    ] {
        assert_eq!(Format::from_path(Path::new(name)), format, "{name}");
    }
}

/// Draws samples into a folder to be looked at:
/// `DOGDAYS_SAMPLES=folder cargo test --lib charts_to_look_at -- --ignored`.
#[test]
#[ignore = "writes pictures for the eye"]
fn charts_to_look_at() {
    let Ok(folder) = std::env::var("DOGDAYS_SAMPLES") else {
        return;
    };
    let folder = Path::new(&folder);
    let save =
        |name: String, bytes: Vec<u8>| std::fs::write(folder.join(name), bytes).expect("written");
    let print = size(3000, 2000);
    for (size, tag) in [
        (LARGE, "large"),
        (SMALL, "small"),
        (LEAST, "least"),
        (print, "print"),
    ] {
        for (format, ending) in [(Format::Svg, "svg"), (Format::Png, "png")] {
            for hours in [1.0, 121.0, 720.0] {
                let bytes = draw(&samples::run(hours), format, size, System::Si).expect("chart");
                save(format!("run-{hours}h-{tag}.{ending}"), bytes);
                let chart = samples::comparison(hours);
                let bytes = draw_comparison(&chart, format, size, System::Us).expect("chart");
                save(format!("comparison-{hours}h-{tag}.{ending}"), bytes);
            }
            for count in [3, 10] {
                let bytes = draw_xy(&samples::fans(count), format, size).expect("chart");
                save(format!("fans-{count}-{tag}.{ending}"), bytes);
            }
        }
    }
}

/// The widest, narrowest and farthest values that are accepted still give finite places.
#[test]
fn extreme_values_stay_in_the_picture() {
    for (low, high) in [
        (-1e12, 1e12),
        (1e12, 1e12),
        (0.0, 1e-300),
        (999_999.0, 999_999.000_1),
    ] {
        let mut chart = samples::run(1.0);
        chart.limit = None;
        chart.hottest = None;
        for line in chart.temperatures.iter_mut().chain(&mut chart.flows) {
            line.points = vec![(0.0, low), (1800.0, high), (3600.0, low)];
        }
        let svg = draw(&chart, Format::Svg, SMALL, System::Si).expect("chart");
        let svg = String::from_utf8(svg).expect("UTF-8");
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{low} {high}");
        assert!(svg.len() < 400_000, "{low} {high}: {} bytes", svg.len());
    }
}

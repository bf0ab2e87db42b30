//! What every chart promises: no two texts touch, nothing leaves the picture, equal charts give
//! equal bytes, and bad data gives a typed error.

use std::path::Path;

use super::data::SizeError;
use super::scene::Shape;
use super::scene_checks::{assert_texts_apart, decoded, texts};
use super::*;
use super::{fan_chart, run_chart, samples};
use crate::catalogue::{Catalogue, Kind};
use crate::chamber::IntegratorKind;
use crate::integrate::Options;
use crate::output::font::{Font, Weight};
use crate::output::{compare_picture, run_picture, size_fan};
use crate::study;

const LARGE: Size = size(1200, 800);
const SMALL: Size = size(700, 500);
const LEAST: Size = size(400, 300);

const fn size(width: u32, height: u32) -> Size {
    Size { width, height }
}

/// The lines of both panels.
fn lines(chart: &mut Chart) -> impl Iterator<Item = &mut Line> {
    chart.upper.lines.iter_mut().chain(&mut chart.lower.lines)
}

fn all_runs() -> Vec<(String, Chart)> {
    let mut charts = Vec::new();
    for hours in [0.1, 1.0, 7.0, 30.0, 121.0, 240.0, 720.0, 5000.0] {
        charts.push((format!("run of {hours} h"), samples::run(hours)));
        charts.push((
            format!("comparison of {hours} h"),
            samples::comparison(hours),
        ));
        charts.push((format!("margins of {hours} h"), samples::margins(hours)));
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
    }
}

/// All the lines end at one place, names are long, marks crowd: the worst for labels.
#[test]
fn texts_never_touch_in_a_crowd() {
    let mut chart = samples::run(121.0);
    let end_s = chart.duration_s;
    for line in lines(&mut chart) {
        line.points = vec![(0.0, 50.0), (end_s, 50.0)];
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
                "softening limit 55.0 °C",
                "margin 3.0 K",
                "temperature, °C",
                "door open",
                "heating up",
            ] {
                assert!(
                    written.contains(&expected),
                    "{expected} at {hours} h, {size:?}: {written:?}"
                );
            }
            if size == LARGE {
                assert!(written.contains(&"motors") && written.contains(&"leakage"));
                // Where the bed's full power leaves the picture at the top, the axis says how high.
                assert!(written.iter().any(|text| text.starts_with("heat flow, W")));
            } else {
                // A picture for a phone has no room for two panels, and says so.
                let note = "Heat flow: in a larger picture.";
                assert!(written.join(" ").contains(note), "{written:?}");
            }
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
    for expected in [
        "softening limit 131.0 °F",
        "margin 5.4 °F",
        "temperature, °F",
    ] {
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
    assert_eq!(bands.count(), 1);
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
    for line in lines(&mut chart) {
        line.points.truncate(1);
    }
    run_chart::lay_out(&chart, LARGE, System::Si).expect("single points");
    for line in lines(&mut chart) {
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
    chart.upper.lines.clear();
    chart.lower.lines.clear();
    assert_eq!(draw(&chart), Err(ChartError::NoData));
    let mut chart = good.clone();
    for line in lines(&mut chart) {
        line.points.clear();
    }
    assert_eq!(draw(&chart), Err(ChartError::NoData));
    for bad in [f64::NAN, f64::INFINITY, -1e300] {
        let mut chart = good.clone();
        chart.lower.lines[1].points[3].1 = bad;
        assert_eq!(
            draw(&chart),
            Err(ChartError::NotFinite("motors".to_owned()))
        );
        let mut chart = good.clone();
        chart.hottest.as_mut().expect("hottest").value = bad;
        assert!(matches!(draw(&chart), Err(ChartError::NotFinite(_))));
    }
    let mut chart = good.clone();
    chart.upper.lines[0].points.swap(4, 5);
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

/// Two lines in one place are said to be so; a name is cut, what it is told with is not; letters of a picture for a
/// phone, which is shown at some 390 pixels wide, are large enough there.
#[test]
fn what_a_small_picture_says() {
    let mut chart = samples::run(121.0);
    let top = chart.upper.lines[4].points.clone();
    chart.upper.lines[2].points = top;
    chart.upper.lines[0].label = "a name that goes on and on and on".to_owned();
    chart.upper.lines[0].tail = ": softens".to_owned();
    for size in [SMALL, LEAST] {
        let scene = run_chart::lay_out(&chart, size, System::Si).expect("chart");
        let texts = texts(&scene);
        let all: Vec<&str> = texts.iter().map(|t| t.text.as_str()).collect();
        let all = all.join(" ");
        assert!(
            all.contains("One line on another: guide tube and top layer."),
            "{all}"
        );
        let cut = texts
            .iter()
            .find(|t| t.text.contains('…'))
            .expect("a cut name");
        assert!(
            cut.text.starts_with("a n") && cut.text.ends_with("on: softens"),
            "{}",
            cut.text
        );
        let on_a_phone = 390.0 / f64::from(size.width);
        for text in &texts {
            assert!(
                text.size * on_a_phone.min(1.0) > 6.9,
                "{}: {}",
                text.text,
                text.size
            );
        }
        let name = texts.iter().find(|t| t.text == "cold end").expect("a name");
        // Eleven names share the height; fewer are larger.
        assert!(name.size * on_a_phone >= 7.5, "{}", name.size);
    }
}

/// A margin below zero is drawn below the line at zero, in the shaded part.
#[test]
fn margins_below_zero_lie_in_the_shade() {
    let scene = run_chart::lay_out(&samples::margins(121.0), LARGE, System::Si).expect("chart");
    let shade = scene.shapes.iter().find_map(|shape| match shape {
        Shape::Box { area, fill, .. } if *fill == style::SOFT => Some(*area),
        _ => None,
    });
    let shade = shade.expect("what softens is shaded");
    let ring = scene.shapes.iter().find_map(|shape| match shape {
        Shape::Disc { centre, .. } => Some(*centre),
        _ => None,
    });
    let ring = ring.expect("the hottest moment");
    // The sample's closed chamber is 2 K or so above 55 °C at its hottest.
    assert!(
        ring.1 > shade.top && ring.1 < shade.bottom(),
        "{ring:?} {shade:?}"
    );
    let written: Vec<&str> = texts(&scene).iter().map(|t| t.text.as_str()).collect();
    for expected in ["softens below 0 K", "margin 3.0 K", "margin, K", "room, °C"] {
        assert!(written.contains(&expected), "{expected}: {written:?}");
    }
}

#[test]
fn a_size_is_read_as_it_is_written() {
    for (text, wanted) in [
        ("700x500", SMALL),
        ("1200 × 800", LARGE),
        ("400X300", LEAST),
    ] {
        assert_eq!(text.parse(), Ok(wanted), "{text}");
    }
    assert_eq!(SMALL.to_string(), "700x500");
    for text in [
        "",
        "700",
        "700x",
        "x",
        "399x300",
        "4001x300",
        "-700x500",
        "7e2x500",
        "700x500x2",
    ] {
        assert_eq!(text.parse::<Size>(), Err(SizeError), "{text}");
    }
}

/// Letters of a text that the built-in font lacks.
fn missing(text: &str) -> String {
    let fonts = [Weight::Regular, Weight::Semibold].map(|w| Font::of(w).expect("embedded font"));
    let lacks = |c: &char| fonts.iter().any(|font| font.glyph(*c).id == 0);
    text.chars().filter(lacks).collect()
}

/// Everything that the program itself writes into a picture has letters in the built-in font: units, words, names of
/// the catalogue, and whole pictures of the demo.
#[test]
fn no_letter_of_ours_is_missing_in_a_picture() {
    let (demo, options) = (crate::runfile::demo(), Options::default());
    let catalogue = Catalogue::embedded();
    let findings = study::check(&demo.run, IntegratorKind::Rosenbrock, &options).expect("checked");
    let usual = study::compare::usual(&demo.inputs, &options)
        .expect("usual")
        .candidates;
    let rows = study::compare::compare(usual, None, &options).expect("compared");
    let fans = catalogue.fans().expect("fans");
    let sizing = study::size_fan::size_fan(&demo.inputs, &fans, None, &options).expect("sized");
    for units in [System::Si, System::Us] {
        let run = run_picture::chart(&demo.run, &findings, units);
        let rows = compare_picture::chart(&rows, units).expect("rows");
        let fans = size_fan::chart(&demo.run, &sizing, units);
        let scenes = [
            run_chart::lay_out(&run, LARGE, units),
            run_chart::lay_out(&rows, LARGE, units),
            fan_chart::lay_out(&fans, LARGE),
        ];
        for scene in scenes {
            let scene = scene.expect("laid out");
            for text in texts(&scene) {
                assert_eq!(missing(&text.text), "", "{}", text.text);
            }
        }
        let units = [
            units.temperature_unit(),
            units.difference_unit(),
            units.flow_unit(),
            units.pressure_unit(),
        ];
        assert_eq!(missing(&units.join(" ")), "");
    }
    for kind in Kind::ALL {
        for entry in catalogue.list(kind) {
            assert_eq!(missing(&entry.name), "", "{}", entry.name);
        }
    }
    assert_eq!(missing("−0.5 K ≤ ≥ ± × … · “” ‘’ – — ↑"), "");
    assert_eq!(missing("H₂O"), "₂");
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
                let bytes = draw(&chart, format, size, System::Us).expect("chart");
                save(format!("comparison-{hours}h-{tag}.{ending}"), bytes);
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
        for line in lines(&mut chart) {
            line.points = vec![(0.0, low), (1800.0, high), (3600.0, low)];
        }
        let svg = draw(&chart, Format::Svg, SMALL, System::Si).expect("chart");
        let svg = String::from_utf8(svg).expect("UTF-8");
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{low} {high}");
        assert!(svg.len() < 400_000, "{low} {high}: {} bytes", svg.len());
    }
}

//! What calendars promise: every start at its place in its colour, borders where verdicts change, no text on another.

use jiff::civil::{Date, DateTime, date};

use super::calendar::lay_out;
use super::colour_scale::Scale;
use super::scene::{Area, Colour, Scene, Shape};
use super::scene_checks::{assert_texts_apart, decoded};
use super::{Calendar, ChartError, ComesTo, Format, Size, Starts, Zone, draw_calendar};
use crate::quantity::System;

const LARGE: Size = size(1200, 800);
const SMALL: Size = size(700, 500);
const LEAST: Size = size(400, 300);

const fn size(width: u32, height: u32) -> Size {
    Size { width, height }
}

const REQUIRED_K: f64 = 3.0;

fn comes_to(margin_K: f64) -> ComesTo {
    let zone = if margin_K < 0.0 {
        Zone::Softens
    } else if margin_K < REQUIRED_K {
        Zone::Tight
    } else {
        Zone::Holds
    };
    ComesTo::Margin(margin_K, zone)
}

/// A margin that falls towards high summer and in the afternoon, and changes with the weather.
fn wave(day: f64, hour: f64) -> f64 {
    let turn = std::f64::consts::TAU;
    let season = -4.0 * (turn * (day - 200.0) / 365.0).cos();
    let clock = -1.5 * (turn * (hour - 15.0) / 24.0).cos();
    let weather = 1.7 * (day / 1.9).sin() + 1.2 * (day / 0.7).sin() * (turn * hour / 24.0).sin();
    3.0 + season + clock + weather
}

fn starts(first: Date, days: usize, of: impl Fn(usize, usize) -> ComesTo) -> Starts {
    let begin: DateTime = first.at(0, 0, 0, 0);
    let at = |k: usize| begin.saturating_add(jiff::SignedDuration::from_hours(k as i64));
    Starts {
        name: "extracting through a filter".to_owned(),
        tail: ": 62 % hold".to_owned(),
        every_s: 3600.0,
        starts: (0..days * 24)
            .map(|k| (at(k), of(k / 24, k % 24)))
            .collect(),
    }
}

fn year(first: Date, days: usize) -> Starts {
    let before = first.day_of_year() as f64;
    starts(first, days, |day, hour| {
        if day + 5 >= days && days > 5 {
            ComesTo::Outlasts
        } else if (20..30).contains(&day) && hour < 8 {
            ComesTo::CannotRun
        } else {
            comes_to(wave(before + day as f64, hour as f64))
        }
    })
}

fn calendar(panels: Vec<Starts>) -> Calendar {
    Calendar {
        title: "closed: 41 % of 8,640 starts hold, 39 % are tight, 20 % soften".to_owned(),
        subtitle: "Pump housing · bench-220 · pla · weather of Orvelsby · 1 Jan to 26 Dec 2026".to_owned(),
        required_K: Some(REQUIRED_K),
        panels,
        note: "The job takes 121 h. An estimate, not a permit: measure the first run. Mind: unattended heat: fire rules."
            .to_owned(),
    }
}

fn scene(calendar: &Calendar, size: Size) -> Scene {
    lay_out(calendar, size, System::Si).expect("laid out")
}

/// The colour on top at a place, of all that is drawn as cells.
fn cell_at(scene: &Scene, (x, y): (f64, f64)) -> Option<Colour> {
    let holds =
        |area: &Area| area.left <= x && x < area.right() && area.top <= y && y < area.bottom();
    scene.shapes.iter().rev().find_map(|shape| match shape {
        Shape::Cells { areas, fill } if areas.iter().any(holds) => Some(*fill),
        _ => None,
    })
}

/// Where the calendar's frame lies: the widest level line's ends, and the highest and lowest of such.
fn frame(scene: &Scene) -> Area {
    let mut lines: Vec<((f64, f64), (f64, f64))> = Vec::new();
    for shape in &scene.shapes {
        if let Shape::Line { points, stroke } = shape
            && let [from, to] = points.as_slice()
            && from.1 == to.1
            && stroke.colour == Colour::RULE
        {
            lines.push((*from, *to));
        }
    }
    let long = |l: &&((f64, f64), (f64, f64))| l.1.0 - l.0.0;
    let widest = lines.iter().map(|l| long(&l)).fold(0.0, f64::max);
    let framing: Vec<_> = lines.iter().filter(|l| long(l) > widest - 2.0).collect();
    let top = framing.iter().map(|l| l.0.1).fold(f64::INFINITY, f64::min);
    let bottom = framing.iter().map(|l| l.0.1).fold(0.0, f64::max);
    Area {
        left: framing[0].0.0,
        top,
        width: widest,
        height: bottom - top,
    }
}

/// Every start is found at its day and hour, in the colour of its margin, from a day to leap years.
#[test]
fn every_start_lies_at_its_place_in_its_colour() {
    for (first, days) in [
        (date(2026, 7, 13), 1),
        (date(2026, 6, 1), 100),
        (date(2026, 1, 1), 365),
        (date(2028, 1, 1), 366),
    ] {
        let panel = year(first, days);
        let margins = panel.starts.iter().filter_map(|s| match s.1 {
            ComesTo::Margin(margin_K, _) => Some(margin_K),
            _ => None,
        });
        let scale = Scale::of(margins, REQUIRED_K);
        let scene = scene(&calendar(vec![panel.clone()]), LARGE);
        let frame = frame(&scene);
        for (k, (at, comes_to)) in panel.starts.iter().enumerate() {
            let x = frame.left + frame.width * ((k / 24) as f64 + 0.5) / days as f64;
            let y = frame.top + frame.height * ((k % 24) as f64 + 0.5) / 24.0;
            let drawn = cell_at(&scene, (x, y));
            match comes_to {
                ComesTo::Margin(margin_K, _) => {
                    let colour = scale.colour(scale.class(*margin_K));
                    assert_eq!(drawn, Some(colour), "{at}: {margin_K} K of {days} days");
                }
                ComesTo::CannotRun | ComesTo::Outlasts => {
                    let drawn = drawn.expect("a ground");
                    let has = |class| scale.colour(class) == drawn;
                    assert!(!(scale.classes.0..scale.classes.1).any(has), "{at}");
                }
            }
        }
    }
}

/// One start of another colour, read from the pixels of the PNG itself: noon of 8 June, the eighth of ten days.
#[test]
fn a_start_has_its_colour_in_the_png() {
    let odd = |day, hour| comes_to(if (day, hour) == (7, 12) { -4.0 } else { 6.0 });
    let calendar = calendar(vec![starts(date(2026, 6, 1), 10, odd)]);
    let scene = scene(&calendar, LARGE);
    let frame = frame(&scene);
    let bytes = draw_calendar(&calendar, Format::Png, LARGE, System::Si).expect("drawn");
    let (_, _, pixels) = decoded(&bytes);
    let at = |day: f64, hour: f64| {
        let x = (frame.left + frame.width * day / 10.0) as usize;
        let y = (frame.top + frame.height * hour / 24.0) as usize;
        let first = 3 * (y * LARGE.width as usize + x);
        Colour(pixels[first], pixels[first + 1], pixels[first + 2])
    };
    let scale = Scale::of([-4.0, 6.0].into_iter(), REQUIRED_K);
    assert_eq!(at(7.5, 12.5), scale.colour(scale.class(-4.0)));
    for (day, hour) in [
        (6.5, 12.5),
        (8.5, 12.5),
        (7.5, 11.5),
        (7.5, 13.5),
        (0.5, 0.5),
    ] {
        assert_eq!(
            at(day, hour),
            scale.colour(scale.class(6.0)),
            "{day} {hour}"
        );
    }
    // The border runs between: ink at the left edge of the cell.
    assert_eq!(at(7.0, 12.5), Colour::INK);
}

/// Lines of ink within the frame: borders and nothing else.
fn borders(scene: &Scene) -> usize {
    let frame = frame(scene).grown(0.5);
    let inside = |p: &(f64, f64)| {
        frame.left <= p.0 && p.0 <= frame.right() && frame.top <= p.1 && p.1 <= frame.bottom()
    };
    let lines = scene.shapes.iter().filter(|shape| match shape {
        Shape::Line { points, stroke } => stroke.colour == Colour::INK && points.iter().all(inside),
        _ => false,
    });
    lines.count()
}

#[test]
fn borders_are_drawn_where_verdicts_change_and_nowhere_else() {
    for margin_K in [-20.0, 1.0, 60.0] {
        let all = starts(date(2026, 6, 1), 100, |_, hour| {
            comes_to(margin_K + 0.01 * hour as f64)
        });
        assert_eq!(
            borders(&scene(&calendar(vec![all]), LARGE)),
            0,
            "{margin_K}"
        );
    }
    let nights = starts(date(2026, 6, 1), 100, |_, hour| {
        comes_to(if hour < 6 { 5.0 } else { -2.0 })
    });
    assert_eq!(borders(&scene(&calendar(vec![nights]), LARGE)), 1);
    let three = starts(date(2026, 6, 1), 100, |_, hour| {
        comes_to(hour as f64 / 4.0 - 1.0)
    });
    assert_eq!(borders(&scene(&calendar(vec![three]), LARGE)), 2);
}

#[test]
fn texts_never_touch_and_months_are_named() {
    let dates = [
        (date(2026, 7, 13), 1),
        (date(2026, 7, 28), 12),
        (date(2026, 6, 1), 100),
        (date(2026, 1, 1), 365),
        (date(2027, 9, 20), 366),
        (date(2020, 1, 1), 2000),
    ];
    for at in [LARGE, SMALL, LEAST, size(2480, 3508), size(4000, 600)] {
        for (first, days) in dates {
            for count in [1, 2, 3, 6, 12, 17] {
                let panels = vec![year(first, days); if days > 400 { count.min(2) } else { count }];
                let scene = scene(&calendar(panels), at);
                assert_texts_apart(&scene, &format!("{days} days, {count} calendars, {at:?}"));
                if days == 100 {
                    for month in ["June", "July", "August"] {
                        let has = scene.shapes.iter().any(|shape| match shape {
                            Shape::Text(text) => text.text.starts_with(&month[..3]),
                            _ => false,
                        });
                        assert!(has, "{month}, {count} calendars, {at:?}");
                    }
                }
            }
        }
    }
}

/// Titles of any length, units of either kind, and a margin that differs from calendar to calendar.
#[test]
fn long_titles_break_and_texts_stay_apart() {
    let mut long = calendar(vec![year(date(2026, 6, 1), 100)]);
    long.title = "a title that is far too long for a single line ".repeat(5);
    long.subtitle = long.title.clone();
    long.note = long.title.repeat(3);
    for required_K in [None, Some(0.0), Some(0.2), Some(3.0), Some(40.0)] {
        long.required_K = required_K;
        for at in [LARGE, SMALL] {
            for units in [System::Si, System::Us] {
                let scene = lay_out(&long, at, units).expect("laid out");
                assert_texts_apart(&scene, &format!("{required_K:?} {at:?} {units:?}"));
            }
        }
    }
}

/// What can't be started is explained where it occurs, and only there; every place in the picture is a number.
#[test]
fn the_key_explains_what_is_there() {
    let written = |panel: Starts, word: &str| {
        let scene = scene(&calendar(vec![panel]), LARGE);
        for shape in &scene.shapes {
            let places: Vec<f64> = match shape {
                Shape::Box { area, .. } => vec![area.left, area.top, area.width, area.height],
                Shape::Cells { areas, .. } => {
                    let all = areas.iter();
                    all.flat_map(|a| [a.left, a.top, a.width, a.height])
                        .collect()
                }
                Shape::Line { points, .. } => points.iter().flat_map(|p| [p.0, p.1]).collect(),
                Shape::Region { outline, .. } => outline.iter().flat_map(|p| [p.0, p.1]).collect(),
                Shape::Disc { centre, radius, .. } => vec![centre.0, centre.1, *radius],
                Shape::Text(text) => vec![text.x, text.baseline],
            };
            assert!(places.iter().all(|p| p.is_finite()), "{shape:?}");
        }
        scene.shapes.iter().any(|shape| match shape {
            Shape::Text(text) => text.text.contains(word),
            _ => false,
        })
    };
    let first = date(2026, 6, 1);
    let plain = || starts(first, 100, |_, _| comes_to(1.0));
    assert!(!written(plain(), "outlast"));
    assert!(!written(plain(), "heater"));
    assert!(written(year(first, 100), "outlast"));
    assert!(written(year(first, 100), "heater"));
    let none = starts(first, 100, |_, _| ComesTo::CannotRun);
    assert!(
        written(none, "heater"),
        "a year without a margin has a picture"
    );
}

#[test]
fn a_years_svg_stays_small() {
    for count in [1, 4] {
        let calendar = calendar(vec![year(date(2026, 1, 1), 365); count]);
        let bytes = draw_calendar(&calendar, Format::Svg, LARGE, System::Si).expect("drawn");
        assert!(
            bytes.len() < 400_000 * count,
            "{count}: {} bytes",
            bytes.len()
        );
        let again = draw_calendar(&calendar, Format::Svg, LARGE, System::Si).expect("drawn");
        assert!(bytes == again, "equal calendars give equal bytes");
    }
    // The worst there can be: no two neighbours alike.
    let noise = starts(date(2026, 1, 1), 365, |day, hour| {
        comes_to(((day * 7 + hour * 11) % 40) as f64 - 20.0)
    });
    let bytes = draw_calendar(&calendar(vec![noise]), Format::Svg, LARGE, System::Si);
    let bytes = bytes.expect("drawn").len();
    assert!(bytes < 800_000, "{bytes} bytes");
}

#[test]
fn more_calendars_than_have_room_are_told_of() {
    let panels = vec![year(date(2026, 6, 1), 30); 17];
    for at in [LARGE, LEAST] {
        let scene = scene(&calendar(panels.clone()), at);
        let text = |shape: &Shape| match shape {
            Shape::Text(text) => text.text.clone(),
            _ => String::new(),
        };
        let texts: Vec<String> = scene.shapes.iter().map(text).collect();
        let drawn = texts.iter().filter(|t| t.contains("62 % hold")).count();
        let told = format!("{} more stand in the table.", 17 - drawn);
        assert!(
            drawn > 0 && texts.iter().any(|t| t.starts_with(&told)),
            "{drawn} {texts:?}"
        );
    }
}

#[test]
fn what_can_not_be_drawn_is_an_error() {
    let draw = |calendar: &Calendar| draw_calendar(calendar, Format::Svg, LARGE, System::Si);
    assert_eq!(draw(&calendar(vec![])), Err(ChartError::NoData));
    let empty = starts(date(2026, 6, 1), 0, |_, _| ComesTo::Outlasts);
    assert_eq!(draw(&calendar(vec![empty])), Err(ChartError::NoData));
    let nan = starts(date(2026, 6, 1), 3, |_, _| {
        ComesTo::Margin(f64::NAN, Zone::Holds)
    });
    assert!(matches!(
        draw(&calendar(vec![nan])),
        Err(ChartError::NotFinite(_))
    ));
    let mut back = starts(date(2026, 6, 1), 3, |_, _| comes_to(1.0));
    back.starts.swap(3, 40);
    assert!(matches!(
        draw(&calendar(vec![back])),
        Err(ChartError::OutOfOrder(_))
    ));
    let mut never = starts(date(2026, 6, 1), 3, |_, _| comes_to(1.0));
    never.every_s = 0.0;
    assert!(draw(&calendar(vec![never])).is_err());
    let mut negative = calendar(vec![year(date(2026, 6, 1), 3)]);
    negative.required_K = Some(-1.0);
    assert_eq!(draw(&negative), Err(ChartError::Margin(-1.0)));
}

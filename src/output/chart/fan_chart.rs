//! Lays out what decides on a fan: margin over flow, where the pressure goes, fan and system curves.

use super::data::{ChartError, Size};
use super::fan_data::FanChart;
use super::panel::{self, Measures};
use super::scene::{Area, Scene};
use super::{margin_panel, split_panel, xy_panel};

/// Least height of what lies between heading and foot for two rows of panels, and least width of a picture with two
/// panels side by side, in units of `k`. Below, labels would crowd out what they name.
const TWO_ROWS: f64 = 500.0;
const TWO_COLUMNS: f64 = 560.0;
/// Between panels side by side and below each other, in units of `k`.
const ACROSS: f64 = 26.0;
const DOWN: f64 = 14.0;

/// Turns a chart into shapes.
pub fn lay_out(chart: &FanChart, size: Size) -> Result<Scene, ChartError> {
    margin_panel::check(&chart.margin)?;
    xy_panel::check(&chart.curves)?;
    let split = chart.split.as_ref().filter(|s| !s.columns.is_empty());
    if let Some(split) = split {
        split_panel::check(split)?;
    }
    let measures = Measures::of(size);
    let k = measures.k;
    let mut scene = Scene::new(size, &chart.title, &description(chart))?;
    let top = panel::head(&mut scene, &chart.title, &chart.subtitle, measures);

    let (width, height) = (f64::from(size.width), f64::from(size.height));
    let has_curves = xy_panel::has_curves(&chart.curves);
    let two_rows = has_curves && height - top >= TWO_ROWS * k;
    let two_columns = split.is_some() && width >= TWO_COLUMNS * k;
    let mut left_out = Vec::new();
    if split.is_some() && !two_columns {
        left_out.push("where the pressure goes");
    }
    if has_curves && !two_rows {
        left_out.push("fan curves");
    }
    let mut note = chart.note.clone();
    if !left_out.is_empty() {
        // First, for where the small print is cut.
        note = format!("In a larger picture: {}. {note}", left_out.join(", "));
    }
    let bottom = panel::foot(&mut scene, &note, measures) - 6.0 * k;

    let whole = Area {
        left: measures.pad(),
        top,
        width: width - 2.0 * measures.pad(),
        height: bottom - top,
    };
    let upper_height = if two_rows {
        0.6 * (whole.height - DOWN * k)
    } else {
        whole.height
    };
    let side = match split.filter(|_| two_columns) {
        Some(split) => {
            let names = split_panel::width(&scene, split, measures);
            (0.28 * whole.width)
                .min(340.0 * k)
                .max(names)
                .min(0.4 * whole.width)
        }
        None => 0.0,
    };
    let upper = Area {
        width: whole.width - side - if two_columns { ACROSS * k } else { 0.0 },
        height: upper_height,
        ..whole
    };
    let lower = Area {
        top: upper.bottom() + DOWN * k,
        height: whole.height - upper_height - DOWN * k,
        ..whole
    };

    // Panels that stand below each other begin at one line.
    let is_alone = measures.is_small && !two_rows && !two_columns;
    let margin = margin_panel::frame(&chart.margin, is_alone)?;
    let mut gutter = margin.gutter(&scene, upper.height, measures);
    if two_rows {
        let curves = xy_panel::frame(&chart.curves)?;
        gutter = gutter.max(curves.gutter(&scene, lower.height, measures));
    }
    let area = margin_panel::draw(&mut scene, &chart.margin, &margin, upper, gutter, measures)?;
    if let (Some(split), true) = (split, two_columns) {
        let region = Area {
            left: whole.right() - side,
            top: upper.top,
            width: side,
            height: area.bottom() - upper.top,
        };
        split_panel::draw(&mut scene, split, region, measures);
    }
    if two_rows {
        xy_panel::draw(&mut scene, &chart.curves, lower, gutter, measures)?;
    }
    Ok(scene)
}

/// For people who cannot see the picture.
fn description(chart: &FanChart) -> String {
    let over = |y: &str, x: &str| format!("{y} over {x}");
    let mut parts = vec![over(&chart.margin.y_label, &chart.margin.x_label)];
    if let Some(split) = &chart.split {
        parts.push(split.heading.clone());
    }
    if xy_panel::has_curves(&chart.curves) {
        parts.push(over(&chart.curves.y_label, &chart.curves.x_label));
    }
    format!("{}.", parts.join("; "))
}

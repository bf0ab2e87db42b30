//! The picture of a run, as SVG or PNG.
//!
//! Finished numbers in, bytes out: nothing here knows a chamber, a material or a run file, and
//! nothing is computed but where ink goes. A chart is first laid out as a list of shapes and texts
//! (`scene`), on which plotters draws axes, bands and lines (`ink`), and that list is written by one of
//! two small writers (`svg`, `png`), so both formats show the same picture. Letters are drawn from the
//! built-in font in both, so it also looks the same on a machine without fonts. Equal charts give equal
//! bytes.
//!
//! `run_chart` lays out temperatures and heat flows over local dates, `fan_chart` what decides on a fan: a margin over
//! the flow (`margin_panel`), what a pressure is made of (`split_panel`) and curves (`xy_panel`). Both stand on `panel`,
//! `axis`, `labels` and `style`. `calendar` lays out starts by day and hour, their margins as colours of `colour_scale`.

mod axis;
mod calendar;
mod calendar_cells;
mod calendar_data;
mod calendar_grid;
mod calendar_key;
#[cfg(test)]
mod calendar_tests;
mod calendar_ticks;
pub(super) mod colour_scale;
mod data;
mod decimate;
mod fan_chart;
mod fan_data;
#[cfg(test)]
mod fan_samples;
#[cfg(test)]
mod fan_tests;
mod frame;
mod free_label;
mod ink;
mod inline;
mod labels;
mod margin_labels;
mod margin_panel;
mod marks;
mod panel;
mod png;
mod run_chart;
mod run_data;
#[cfg(test)]
mod samples;
pub(super) mod scene;
#[cfg(test)]
mod scene_checks;
mod split_panel;
mod srgb;
pub(super) mod style;
mod svg;
#[cfg(test)]
mod tests;
mod theme;
mod time_axis;
mod xy_panel;

use maud::Markup;

use crate::quantity::System;

pub use calendar_data::{Calendar, ComesTo, Starts, Zone};
pub use data::{
    Between, Chart, ChartError, Format, Hottest, Limit, Line, Lines, Mark, MarkKind, Measure, Role,
    Size,
};
pub use fan_data::{
    CurveKind, FanChart, FanMark, Gain, MarginPanel, PanelCurve, PanelPoint, SplitColumn,
    SplitPanel, VerticalLine, XyPanel,
};
pub(super) use inline::write as inline_scene;
pub use style::MOST_ARRANGEMENTS;

use scene::Scene;

/// Draws the chart of a run, or of several: one or two panels of lines over local dates.
///
/// # Errors
/// [`ChartError`] when there is nothing to draw, a value is not finite, times run backwards, or the
/// size is out of range.
pub fn draw(
    chart: &Chart,
    format: Format,
    size: Size,
    units: System,
) -> Result<Vec<u8>, ChartError> {
    check_size(size)?;
    write(&run_chart::lay_out(chart, size, units)?, format)
}

/// Draws what decides on a fan: the margin over the flow with the fans on it, what the pressure is made of, and fan
/// and system curves.
///
/// # Errors
/// As [`draw`].
pub fn draw_fans(chart: &FanChart, format: Format, size: Size) -> Result<Vec<u8>, ChartError> {
    check_size(size)?;
    write(&fan_chart::lay_out(chart, size)?, format)
}

/// Draws starts by day and hour, their margins as colours: one calendar, or several with one scale.
///
/// # Errors
/// As [`draw`].
pub fn draw_calendar(
    chart: &Calendar,
    format: Format,
    size: Size,
    units: System,
) -> Result<Vec<u8>, ChartError> {
    check_size(size)?;
    write(&calendar::lay_out(chart, size, units)?, format)
}

/// The chart of a run as a part of a web page; `id` tells it from every other picture there.
///
/// # Errors
/// As [`draw`].
pub fn inline(chart: &Chart, size: Size, units: System, id: &str) -> Result<Markup, ChartError> {
    check_size(size)?;
    Ok(inline::write(&run_chart::lay_out(chart, size, units)?, id))
}

/// What decides on a fan, as a part of a web page.
///
/// # Errors
/// As [`draw`].
pub fn inline_fans(chart: &FanChart, size: Size, id: &str) -> Result<Markup, ChartError> {
    check_size(size)?;
    Ok(inline::write(&fan_chart::lay_out(chart, size)?, id))
}

/// A calendar of starts as a part of a web page.
///
/// # Errors
/// As [`draw`].
pub fn inline_calendar(
    chart: &Calendar,
    size: Size,
    units: System,
    id: &str,
) -> Result<Markup, ChartError> {
    check_size(size)?;
    Ok(inline::write(&calendar::lay_out(chart, size, units)?, id))
}

fn check_size(size: Size) -> Result<(), ChartError> {
    let Size { width, height } = size;
    if size.can_be_drawn() {
        Ok(())
    } else {
        Err(ChartError::Size { width, height })
    }
}

fn write(scene: &Scene, format: Format) -> Result<Vec<u8>, ChartError> {
    match format {
        Format::Svg => Ok(svg::write(scene)),
        Format::Png => png::write(scene),
    }
}

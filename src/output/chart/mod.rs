//! The picture of a run, as SVG or PNG.
//!
//! Finished numbers in, bytes out: nothing here knows a chamber, a material or a run file, and
//! nothing is computed but where ink goes. A chart is first laid out as a list of shapes and texts
//! (`scene`), on which plotters draws axes, bands and lines (`ink`), and that list is written by one of
//! two small writers (`svg`, `png`), so both formats show the same picture. Letters are drawn from the
//! built-in font in both, so it also looks the same on a machine without fonts. Equal charts give equal
//! bytes.
//!
//! `run_chart` lays out temperatures and heat flows over local dates, `xy_chart` curves over any
//! quantity; both stand on `panel`, `axis`, `labels` and `style`. `calendar` lays out starts by day and hour, their
//! margins as colours of `colour_scale`.

mod axis;
mod calendar;
mod calendar_cells;
mod calendar_data;
mod calendar_grid;
mod calendar_key;
#[cfg(test)]
mod calendar_tests;
mod calendar_ticks;
mod colour_scale;
mod data;
mod decimate;
mod ink;
mod labels;
mod marks;
mod panel;
mod png;
mod run_chart;
mod run_data;
#[cfg(test)]
mod samples;
mod scene;
#[cfg(test)]
mod scene_checks;
mod style;
mod svg;
#[cfg(test)]
mod tests;
mod time_axis;
mod xy_chart;
mod xy_data;

use crate::quantity::System;

pub use calendar_data::{Calendar, ComesTo, Starts, Zone};
pub use data::{
    Between, Chart, ChartError, Format, Hottest, Limit, Line, Lines, Mark, MarkKind, Measure, Role,
    Size,
};
pub use style::MOST_ARRANGEMENTS;
pub use xy_data::{Curve, CurveKind, VerticalLine, XyChart, XyPoint};

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

/// Draws labelled curves over any quantity, such as fan and system curves over flow.
///
/// # Errors
/// As [`draw`].
pub fn draw_xy(chart: &XyChart, format: Format, size: Size) -> Result<Vec<u8>, ChartError> {
    check_size(size)?;
    write(&xy_chart::lay_out(chart, size)?, format)
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

/// Whether a file that begins so is a picture of this program's.
#[must_use]
pub fn is_ours(head: &[u8]) -> bool {
    svg::begins(head) || png::begins(head)
}

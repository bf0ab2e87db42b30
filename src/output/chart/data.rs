//! What a chart shows, and why one can't be drawn.

use std::path::Path;
use std::str::FromStr;

use jiff::civil::DateTime;

use crate::quantity::System;

/// What the chart of a run shows. Temperatures are in °C, margins in K and heat flows in W, whatever units
/// the picture is drawn in; times are seconds from `start`.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Large, at the top; the verdict in a few words.
    pub title: String,
    /// Smaller, under the title; the run, the machine, the material.
    pub subtitle: String,
    /// Local date and time at the left end of the time axis.
    pub start: DateTime,
    /// Length of the time axis, s; 1 at least.
    pub duration_s: f64,
    /// The upper panel.
    pub upper: Lines,
    /// Between what one of its lines lies, where that is known.
    pub band: Option<Between>,
    /// The softening limit in the upper panel, if it is to be shown.
    pub limit: Option<Limit>,
    /// The lower panel. Where it has no lines, or the picture is too small for both, the upper panel takes
    /// its space.
    pub lower: Lines,
    /// What happened when: openings, pauses, fan times.
    pub marks: Vec<Mark>,
    /// The hottest moment, marked with its value and date.
    pub hottest: Option<Hottest>,
    /// Small print at the bottom.
    pub note: String,
}

/// The lines of one panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Lines {
    /// What is drawn, in words; the unit is added.
    pub title: String,
    /// What is drawn.
    pub measure: Measure,
    /// The lines.
    pub lines: Vec<Line>,
}

/// What a panel measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Temperatures, °C.
    Temperature,
    /// Distances to a softening limit, K; below zero it softens.
    Margin,
    /// Heat flows, W.
    Heat,
}

impl Measure {
    /// A value in the reader's units.
    #[must_use]
    pub fn shown(self, value: f64, units: System) -> f64 {
        match self {
            Self::Temperature => units.temperature_of_degC(value),
            Self::Margin => units.difference(value),
            Self::Heat => value,
        }
    }

    /// Their unit.
    #[must_use]
    pub const fn unit(self, units: System) -> &'static str {
        match self {
            Self::Temperature => units.temperature_unit(),
            Self::Margin => units.difference_unit(),
            Self::Heat => "W",
        }
    }
}

/// One labelled line over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Written at the line's right end; shortened where there is no room.
    pub label: String,
    /// Written behind the label and never shortened: a verdict, a limit. May be empty.
    pub tail: String,
    /// What it stands for; decides colour, width and dashes.
    pub role: Role,
    /// Time in s from the start, rising, and value in the panel's measure. A single point becomes a dot.
    pub points: Vec<(f64, f64)>,
}

/// Between what a line lies, drawn behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Between {
    /// Written at its right end.
    pub label: String,
    /// The line's; decides the colour.
    pub role: Role,
    /// Time in s from the start, rising, and the lower and upper end in the panel's measure.
    pub points: Vec<(f64, f64, f64)>,
}

/// What a line stands for. Each has its own colour, lightness, width and dash pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Filament in the drive gear, as a rule the hottest station.
    DriveGear,
    /// Filament in the cold end.
    ColdEnd,
    /// Filament in the guide tube.
    GuideTube,
    /// Filament on the spool.
    Spool,
    /// Filament at the station that decides, if something fails.
    Failing,
    /// The nozzle; left out of the temperature scale when it is far above everything else.
    Nozzle,
    /// Air layer: index from the bottom (0), number of layers. The higher the darker.
    AirLayer(usize, usize),
    /// The room.
    Room,
    /// Outdoors, where the room is warmed by its machines.
    Outdoors,
    /// The bed.
    Bed,
    /// The part being printed.
    Part,
    /// A heat source, numbered.
    Source(usize),
    /// A way heat leaves, numbered.
    Sink(usize),
    /// An arrangement of a comparison, numbered.
    Arrangement(usize),
    /// What a thermometer showed, numbered.
    Measured(usize),
    /// What the model says that it shows, with the same number.
    Modelled(usize),
    /// What the model said before it was fitted, with the same number.
    Before(usize),
}

/// The softening limit and the margin asked for on its cool side.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// The limit, °C; among margins 0.
    pub value: f64,
    /// The required margin, K; 0 draws no band.
    pub margin_K: f64,
    /// Name of the limit; its value is added.
    pub label: String,
}

/// Something that happened at a known time.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Begin, s from the start.
    pub begin_s: f64,
    /// End, s from the start; not before the begin. Minutes in a month still get 2 pixels.
    pub end_s: f64,
    /// Short name, written above the panel.
    pub label: String,
    /// What happened.
    pub kind: MarkKind,
}

/// What happened; decides how a [`Mark`] is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkKind {
    /// The door or lid was open.
    DoorOpen,
    /// A spool was changed.
    SpoolChange,
    /// The machine stood still.
    Pause,
    /// Warming up and soaking.
    HeatUp,
    /// Cooling down.
    CoolDown,
    /// A fan ran.
    FanOn,
    /// What if something fails: not what happened.
    Failure,
}

/// The hottest moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Hottest {
    /// When, s from the start.
    pub at_s: f64,
    /// How hot, °C; among margins how much is left, K.
    pub value: f64,
    /// Where, in a word or two.
    pub label: String,
}

/// A picture format.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Scalable Vector Graphics 1.1; letters as outlines.
    Svg,
    /// Portable Network Graphics, 8-bit RGB.
    Png,
}

impl Format {
    /// The format a file name asks for by its extension, in any case; `None` for any other.
    pub fn from_path(path: &Path) -> Option<Format> {
        let extension = path.extension()?.to_str()?.to_ascii_lowercase();
        match extension.as_str() {
            "svg" => Some(Format::Svg),
            "png" => Some(Format::Png),
            _ => None,
        }
    }
}

/// Size of the picture in pixels, 400 × 300 to 4000 × 4000.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Width, px.
    pub width: u32,
    /// Height, px.
    pub height: u32,
}

impl Default for Size {
    fn default() -> Self {
        Size {
            width: 1200,
            height: 800,
        }
    }
}

/// Why a text is not the size of a picture.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("write width x height in pixels, 400x300 to 4000x4000, for example 700x500")]
pub struct SizeError;

impl Size {
    /// Whether a picture of this size has room for its texts and a machine has room for it.
    #[must_use]
    pub fn can_be_drawn(self) -> bool {
        (400..=4000).contains(&self.width) && (300..=4000).contains(&self.height)
    }
}

/// Width and height in pixels: "700x500".
impl FromStr for Size {
    type Err = SizeError;

    fn from_str(text: &str) -> Result<Self, SizeError> {
        let (width, height) = text.split_once(['x', 'X', '×']).ok_or(SizeError)?;
        let pixels = |side: &str| side.trim().parse().map_err(|_| SizeError);
        let size = Self {
            width: pixels(width)?,
            height: pixels(height)?,
        };
        size.can_be_drawn().then_some(size).ok_or(SizeError)
    }
}

/// As it is read: "700x500".
impl std::fmt::Display for Size {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}x{}", self.width, self.height)
    }
}

/// Why a chart could not be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ChartError {
    /// Not a single point to draw.
    #[error("there is nothing to draw: no line of the chart has a point")]
    NoData,
    /// A value is not a number, infinite, or beyond 10^12 either way.
    #[error("`{0}` has a value that is not a number within 10^12, so it cannot be drawn")]
    NotFinite(String),
    /// Times of a line go backwards.
    #[error("the times of `{0}` go backwards; a line's points must be in order of time")]
    OutOfOrder(String),
    /// The time axis is shorter than a second, or leaves the calendar.
    #[error(
        "a time axis of {0} s cannot be drawn; it must be 1 s at least and end before year 9999"
    )]
    Duration(f64),
    /// The margin below the limit is negative.
    #[error("a margin of {0} K cannot be drawn; it must be 0 or more")]
    Margin(f64),
    /// A mark ends before it begins.
    #[error("`{0}` ends before it begins")]
    MarkBackwards(String),
    /// The picture is too small for its text or too large for memory.
    #[error("a picture of {width} x {height} pixels cannot be drawn; 400 x 300 to 4000 x 4000 can")]
    Size {
        /// Width asked for, px.
        width: u32,
        /// Height asked for, px.
        height: u32,
    },
    /// The embedded font could not be read: a fault of the program.
    #[error("the built-in font cannot be read; please report this")]
    Font,
    /// The axes could not be laid out: a fault of the program.
    #[error("the picture cannot be laid out: {0}; please report this")]
    Layout(String),
    /// The picture could not be encoded.
    #[error("the picture cannot be encoded: {0}")]
    Encode(String),
}

/// Whether a value can be drawn. The bound is far beyond any temperature or flow; without one,
/// differences of huge numbers would overflow.
pub(super) fn drawable(value: f64) -> bool {
    value.abs() <= 1e12
}

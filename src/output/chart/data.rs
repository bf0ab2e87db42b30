//! What a chart shows, and why one can't be drawn.

use std::path::Path;

use jiff::civil::DateTime;

/// What the chart of a run shows. Temperatures are in °C and heat flows in W, whatever units the
/// picture is drawn in; times are seconds from `start`.
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
    /// Lines of the upper panel, °C.
    pub temperatures: Vec<Line>,
    /// The softening limit, if it is to be shown.
    pub limit: Option<Limit>,
    /// Lines of the lower panel, W. When empty, the upper panel takes its space.
    pub flows: Vec<Line>,
    /// What happened when: openings, pauses, fan times.
    pub marks: Vec<Mark>,
    /// The hottest moment, marked with its value and date.
    pub hottest: Option<Hottest>,
    /// Small print at the bottom.
    pub note: String,
}

/// One labelled line over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Written at the line's right end.
    pub label: String,
    /// What it stands for; decides colour, width and dashes.
    pub role: Role,
    /// Time in s from the start, rising, and value in °C or W. A single point becomes a dot.
    pub points: Vec<(f64, f64)>,
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
    /// The nozzle; left out of the temperature scale when it is far above everything else.
    Nozzle,
    /// Air layer: index from the bottom (0), number of layers. The higher the darker.
    AirLayer(usize, usize),
    /// The room.
    Room,
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
}

/// The softening limit and the margin asked for below it.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// The limit, °C.
    pub limit_degC: f64,
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
}

/// The hottest moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Hottest {
    /// When, s from the start.
    pub at_s: f64,
    /// How hot, °C.
    pub degC: f64,
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

/// Why a chart could not be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
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

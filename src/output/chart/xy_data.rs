//! What a chart of curves over any quantity shows.

/// Curves y(x) with points and a line of their own. Values are in the units the axes name.
#[derive(Debug, Clone, PartialEq)]
pub struct XyChart {
    /// Large, at the top.
    pub title: String,
    /// Smaller, under the title.
    pub subtitle: String,
    /// Name and unit of x, as in "flow, m³/h".
    pub x_label: String,
    /// Name and unit of y, as in "pressure, Pa".
    pub y_label: String,
    /// The curves. A scale with no negative value begins at 0.
    pub curves: Vec<Curve>,
    /// Marked points, such as duty points.
    pub points: Vec<XyPoint>,
    /// An upright line, such as the needed flow.
    pub vertical: Option<VerticalLine>,
    /// Small print at the bottom.
    pub note: String,
}

/// A labelled curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Written beside the curve.
    pub label: String,
    /// Decides colour, width and dashes.
    pub kind: CurveKind,
    /// The curve's points in drawing order.
    pub points: Vec<(f64, f64)>,
}

/// Two families of curves that cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CurveKind {
    /// One of those compared, numbered; in colour.
    Main(usize),
    /// What they are held against, numbered; black, from solid to dotted.
    Against(usize),
}

/// A marked point.
#[derive(Debug, Clone, PartialEq)]
pub struct XyPoint {
    /// Place along x.
    pub x: f64,
    /// Place along y.
    pub y: f64,
    /// Written beside the point; may be empty.
    pub label: String,
    /// Larger and in bold, for the one that matters.
    pub strong: bool,
}

/// A labelled upright line.
#[derive(Debug, Clone, PartialEq)]
pub struct VerticalLine {
    /// Place along x.
    pub x: f64,
    /// Written at its upper end.
    pub label: String,
}

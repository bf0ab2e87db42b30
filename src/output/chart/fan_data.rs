//! What the picture of fans shows: how much flow is enough, which fan gives it, and where the pressure goes.
//!
//! Values are in the units the axes name.

/// Three panels under one title. A picture too small for all shows the first ones and says so in its small print.
#[derive(Debug, Clone, PartialEq)]
pub struct FanChart {
    /// Large, at the top.
    pub title: String,
    /// Smaller, under the title.
    pub subtitle: String,
    /// The margin over the flow.
    pub margin: MarginPanel,
    /// Where the pressure goes; without it the margin has the full width.
    pub split: Option<SplitPanel>,
    /// Fan curves and system curves; without a point the others have the full height.
    pub curves: XyPanel,
    /// Small print at the bottom.
    pub note: String,
}

/// A margin over a flow, and where fans are on it.
#[derive(Debug, Clone, PartialEq)]
pub struct MarginPanel {
    /// What the panel answers.
    pub heading: String,
    /// Name and unit of x, as in "flow, m³/h".
    pub x_label: String,
    /// Name and unit of y, as in "margin, K".
    pub y_label: String,
    /// The best estimate, x rising.
    pub curve: Vec<(f64, f64)>,
    /// Written beside the curve; may be empty.
    pub curve_label: String,
    /// Between what the curve lies: x (rising), low, high. Empty where that is not known.
    pub band: Vec<(f64, f64, f64)>,
    /// Written in the band; may be empty.
    pub band_label: String,
    /// What is asked for, and how its line is called.
    pub required: Option<(f64, String)>,
    /// How the line at 0 is called, below which it softens.
    pub zero: Option<String>,
    /// What no flow passes, from below or from above, and how its line is called.
    pub bound: Option<(f64, String)>,
    /// The flow that is needed.
    pub needed: Option<VerticalLine>,
    /// What the curve brings at rising flows, drawn as steps below it; empty for none.
    pub gains: Vec<Gain>,
    /// The fans.
    pub fans: Vec<FanMark>,
    /// What an open and a filled mark stand for, written below the panel.
    pub mark_labels: [String; 2],
}

/// What a step of flow brings.
#[derive(Debug, Clone, PartialEq)]
pub struct Gain {
    /// The step along x.
    pub x: (f64, f64),
    /// The margin at its two ends.
    pub y: (f64, f64),
    /// Written at the step, as in "+1.2 K".
    pub label: String,
}

/// A fan at its flow with a clean and with a loaded filter.
#[derive(Debug, Clone, PartialEq)]
pub struct FanMark {
    /// Written beside it.
    pub name: String,
    /// Decides its colour: that of the fan's curve.
    pub kind: CurveKind,
    /// Where it is with a clean filter: an open mark.
    pub clean: (f64, f64),
    /// Where it is with a loaded filter: a filled mark.
    pub loaded: (f64, f64),
    /// Larger and in bold, for the one that is recommended.
    pub strong: bool,
    /// Written under the name; may be empty.
    pub label: String,
}

/// How a pressure is made up, as columns on one scale.
#[derive(Debug, Clone, PartialEq)]
pub struct SplitPanel {
    /// What the panel answers.
    pub heading: String,
    /// Unit of all values.
    pub unit: String,
    /// The columns from left to right.
    pub columns: Vec<SplitColumn>,
}

/// A pressure and its parts.
#[derive(Debug, Clone, PartialEq)]
pub struct SplitColumn {
    /// Written below.
    pub label: String,
    /// Names and values from the bottom to the top. Parts below zero, such as a wind that helps, hang below the
    /// line; parts of nothing are left out.
    pub parts: Vec<(String, f64)>,
}

/// Curves over any quantity with points and an upright line.
#[derive(Debug, Clone, PartialEq)]
pub struct XyPanel {
    /// What the panel answers; may be empty.
    pub heading: String,
    /// Name and unit of x.
    pub x_label: String,
    /// Name and unit of y.
    pub y_label: String,
    /// The curves. A scale with no negative value begins at 0.
    pub curves: Vec<PanelCurve>,
    /// How the unstable parts of curves are called: written once.
    pub unstable_label: String,
    /// Marked points, such as duty points.
    pub points: Vec<PanelPoint>,
    /// An upright line, such as the needed flow.
    pub vertical: Option<VerticalLine>,
}

/// A labelled curve.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelCurve {
    /// Written beside the curve.
    pub label: String,
    /// Decides colour, width and dashes.
    pub kind: CurveKind,
    /// The curve's points in drawing order.
    pub points: Vec<(f64, f64)>,
    /// Left of this x nobody can rely on it: dotted and thin.
    pub unstable_below: Option<f64>,
}

/// A marked point.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelPoint {
    /// Place along x.
    pub x: f64,
    /// Place along y.
    pub y: f64,
    /// Written beside the point; may be empty.
    pub label: String,
    /// Decides its colour: that of a curve, or black.
    pub kind: Option<CurveKind>,
    /// Filled, not open.
    pub filled: bool,
    /// Larger and in bold, for the one that matters.
    pub strong: bool,
}

/// Two families of curves that cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CurveKind {
    /// One of those compared, numbered; in colour.
    Main(usize),
    /// What they are held against, numbered; black, from solid to dotted.
    Against(usize),
}

/// A labelled upright line.
#[derive(Debug, Clone, PartialEq)]
pub struct VerticalLine {
    /// Place along x.
    pub x: f64,
    /// Written at its upper end.
    pub label: String,
}

//! Pictures of invented fans.

use super::fan_data::{CurveKind, VerticalLine};
use super::fan_data::{
    FanChart, FanMark, Gain, MarginPanel, PanelCurve, PanelPoint, SplitColumn, SplitPanel, XyPanel,
};

/// Margins at flows, K over m³/h.
pub const CURVE: [(f64, f64); 9] = [
    (0.0, -1.3),
    (5.0, 0.2),
    (10.0, 1.2),
    (20.0, 2.7),
    (30.0, 3.9),
    (40.0, 4.7),
    (60.0, 5.9),
    (80.0, 6.7),
    (100.0, 7.2),
];

/// The margin at a flow, K.
pub fn margin_at(flow: f64) -> f64 {
    let after = CURVE
        .iter()
        .position(|p| p.0 >= flow)
        .unwrap_or(CURVE.len() - 1);
    let (a, b) = (CURVE[after.max(1) - 1], CURVE[after.max(1)]);
    a.1 + (b.1 - a.1) * (flow - a.0) / (b.0 - a.0)
}

/// An invented fan: its name, its flows against a loaded and a clean filter, its pressure in still air, and up to
/// which flow it is unstable.
pub type Fan = (&'static str, f64, f64, f64, Option<f64>);

pub const FANS: [Fan; 6] = [
    ("blower-75", 33.9, 35.2, 260.0, None),
    ("blower-97", 55.2, 56.6, 420.0, None),
    ("inline-100", 63.5, 69.8, 150.0, None),
    ("axial-120-strong", 47.0, 58.1, 95.0, Some(40.0)),
    ("axial-80", 21.5, 28.0, 42.0, Some(18.0)),
    ("radial-63", 26.2, 27.9, 120.0, None),
];

/// What the duct takes, Pa.
fn system(loaded: bool, flow: f64) -> f64 {
    if loaded {
        0.55 * flow + 0.0055 * flow * flow
    } else {
        0.33 * flow + 0.0050 * flow * flow
    }
}

/// A fan's pressure falls from that in still air and meets the system at its two flows.
fn fan_curve(fan: &Fan) -> Vec<(f64, f64)> {
    let &(_, loaded, clean, still, dip) = fan;
    let (a, b) = (system(true, loaded), system(false, clean));
    let slope = (a - b) / (clean - loaded);
    let free = clean + b / slope;
    (0..=60)
        .map(|step| free * f64::from(step) / 60.0)
        .map(|q| {
            let near = a - slope * (q - loaded);
            let bow = (still - a - slope * loaded) * ((loaded - q).max(0.0) / loaded).powi(2);
            let stall = dip.map_or(0.0, |d| {
                0.15 * still * (-((q - 0.8 * d) / (0.25 * d)).powi(2)).exp()
            });
            (q, (near + bow - stall).max(0.0))
        })
        .collect()
}

/// So many fans with the second as the pick, and everything else there can be.
pub fn fans(count: usize) -> FanChart {
    let fans = &FANS[..count];
    let mark = |(number, fan): (usize, &Fan)| FanMark {
        name: fan.0.to_owned(),
        kind: CurveKind::Main(number),
        clean: (fan.2, margin_at(fan.2)),
        loaded: (fan.1, margin_at(fan.1)),
        strong: number == 1,
        label: if number == 1 {
            "55 to 57 m³/h, margin 5.6 K".to_owned()
        } else {
            String::new()
        },
    };
    let needed = Some(VerticalLine {
        x: 22.5,
        label: "needed: 23 m³/h".to_owned(),
    });
    let gains = [
        (0.0, 20.0),
        (20.0, 40.0),
        (40.0, 60.0),
        (60.0, 80.0),
        (80.0, 100.0),
    ];
    let gain = |x: (f64, f64)| Gain {
        x,
        y: (margin_at(x.0), margin_at(x.1)),
        label: format!("+{:.1} K", margin_at(x.1) - margin_at(x.0)),
    };
    let margin = MarginPanel {
        heading: "How much flow is enough".to_owned(),
        x_label: "flow, m³/h".to_owned(),
        y_label: "margin, K".to_owned(),
        curve: CURVE.to_vec(),
        curve_label: "best estimate".to_owned(),
        band: CURVE.iter().map(|&(x, y)| (x, y - 4.0, y + 4.0)).collect(),
        band_label: "nine of ten samples".to_owned(),
        required: Some((3.0, "required: 3.0 K".to_owned())),
        zero: Some("softens below".to_owned()),
        bound: Some((8.9, "no flow brings more than 8.9 K".to_owned())),
        needed: needed.clone(),
        gains: gains.map(gain).to_vec(),
        fans: fans.iter().enumerate().map(mark).collect(),
        mark_labels: ["clean filter".to_owned(), "loaded filter".to_owned()],
    };
    FanChart {
        title: "blower-97 holds with 2.6 K to spare: 55 m³/h where 23 m³/h are needed".to_owned(),
        subtitle: "tall lattice · bench machine 500 · PLA, extracting through a filter".to_owned(),
        margin,
        split: Some(split()),
        curves: curves(fans, needed),
        note: "Fans with clean and with loaded filter, in the chamber's warm air. An estimate, not a permit: \
               measure the first run."
            .to_owned(),
    }
}

pub fn split() -> SplitPanel {
    let column = |label: &str, parts: [f64; 4]| SplitColumn {
        label: label.to_owned(),
        parts: ["shell", "grille", "filter", "duct"]
            .iter()
            .zip(parts)
            .map(|(name, value)| ((*name).to_owned(), value))
            .collect(),
    };
    SplitPanel {
        heading: "Where the pressure goes: blower-97".to_owned(),
        unit: "Pa".to_owned(),
        columns: vec![
            column("clean filter", [1.4, 0.6, 18.4, 14.3]),
            column("loaded filter", [1.3, 0.6, 32.0, 13.2]),
        ],
    }
}

fn curves(fans: &[Fan], vertical: Option<VerticalLine>) -> XyPanel {
    let mut curves = Vec::new();
    let mut points = Vec::new();
    for (number, name) in ["system, clean filter", "system, loaded filter"]
        .iter()
        .enumerate()
    {
        curves.push(PanelCurve {
            label: (*name).to_owned(),
            kind: CurveKind::Against(number),
            points: (0..=55)
                .map(|s| f64::from(s) * 2.0)
                .map(|q| (q, system(number == 1, q)))
                .collect(),
            unstable_below: None,
        });
    }
    for (number, fan) in fans.iter().enumerate() {
        curves.push(PanelCurve {
            label: fan.0.to_owned(),
            kind: CurveKind::Main(number),
            points: fan_curve(fan)
                .into_iter()
                .filter(|p| p.0 <= 110.0 && p.1 <= 130.0)
                .collect(),
            unstable_below: fan.4,
        });
        for (flow, filled) in [(fan.2, false), (fan.1, true)] {
            let strong = number == 1;
            points.push(PanelPoint {
                x: flow,
                y: system(filled, flow),
                label: if strong && filled {
                    "55 m³/h at 47 Pa".to_owned()
                } else {
                    String::new()
                },
                kind: Some(CurveKind::Main(number)),
                filled,
                strong,
            });
        }
    }
    XyPanel {
        heading: "Fans against the duct".to_owned(),
        x_label: "flow, m³/h".to_owned(),
        y_label: "pressure, Pa".to_owned(),
        curves,
        unstable_label: "unstable".to_owned(),
        points,
        vertical,
    }
}

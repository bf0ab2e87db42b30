//! The picture that decides: margin over flow with the fans on it, where the pressure goes, and fans against the system.

use super::sentence::headline;
use super::{fine_flow, first};
use crate::output::chart::{
    ChartError, CurveKind, FanChart, FanMark, Format, Gain, MarginPanel, PanelCurve, PanelPoint,
    Size, SplitColumn, SplitPanel, VerticalLine, XyPanel, draw_fans,
};
use crate::quantity::{System, format_difference};
use crate::run::Run;
use crate::study::Verdict;
use crate::study::size_fan::{Candidate, Duty, Sizing, Split, Standing};

/// Fans in the picture: more would hide each other.
const MOST_FANS: usize = 5;
/// Steps of flow of which is told what they bring.
const MOST_GAINS: u32 = 5;

/// Draws the margin over the flow, what takes the pressure, and the fans' curves.
///
/// # Errors
/// See [`ChartError`].
pub fn draw(
    run: &Run,
    s: &Sizing,
    format: Format,
    size: Size,
    system: System,
) -> Result<Vec<u8>, ChartError> {
    draw_fans(&chart(run, s, system), format, size)
}

pub(in crate::output) fn chart(run: &Run, s: &Sizing, system: System) -> FanChart {
    let shown = shown(s);
    let right = right(s, &shown, system);
    let needed = s.needed_m3_per_s.filter(|q| *q > 0.0);
    let vertical = needed.map(|q| system.flow(q)).filter(|q| *q <= right);
    let vertical = vertical.zip(needed).map(|(x, q)| VerticalLine {
        x,
        label: format!("needed: {}", fine_flow(q, system)),
    });
    let mut note = "An estimate, not a permit: measure the first run.".to_owned();
    if !shown.is_empty() {
        note.push_str(" Fans in the chamber's warm air.");
    }
    if shown.iter().any(|(_, c)| c.fan.invented) {
        note.push_str(
            " Those of the catalogue are invented: put a real one's curve in their place.",
        );
    }
    // What can hurt somebody goes with the picture too.
    for line in first(s, system) {
        note = format!("Safety first: {line}. {note}");
    }
    FanChart {
        title: headline(run, s, system),
        subtitle: format!(
            "{} · {} · {}",
            run.name, run.machine.name, run.material.name
        ),
        margin: margin(run, s, &shown, right, vertical.clone(), system),
        split: s.chosen().map(|c| split(c, system)),
        curves: curves(s, &shown, right, vertical, system),
        note,
    }
}

/// The end of the axis of flow, in the reader's unit.
fn right(s: &Sizing, shown: &[(usize, &Candidate)], system: System) -> f64 {
    let fans = shown
        .iter()
        .map(|(_, c)| c.clean.flow_m3_per_s)
        .fold(0.0, f64::max);
    // A need out of all proportion to the fans is told in words.
    let needed = s
        .needed_m3_per_s
        .filter(|q| *q < 5.0 * fans.max(20.0 / 3600.0));
    let widest = needed
        .into_iter()
        .chain(s.sure_m3_per_s)
        .fold(fans, f64::max);
    let widest = if widest > 0.0 { widest } else { 60.0 / 3600.0 };
    system.flow(widest) * 1.25
}

fn margin(
    run: &Run,
    s: &Sizing,
    shown: &[(usize, &Candidate)],
    right: f64,
    needed: Option<VerticalLine>,
    system: System,
) -> MarginPanel {
    let K = |K: f64| system.difference(K);
    let drawn = s.samples.iter().filter(|sample| {
        sample.outcome.verdict != Verdict::CannotRun
            && system.flow(sample.flow_m3_per_s) <= right * 1.001
    });
    let curve: Vec<(f64, f64)> = drawn
        .clone()
        .map(|sample| {
            (
                system.flow(sample.flow_m3_per_s),
                K(sample.outcome.margin_K),
            )
        })
        .collect();
    let band = drawn.filter_map(|sample| {
        let band = s.chances.as_ref()?.band_K(sample.flow_m3_per_s)?;
        Some((system.flow(sample.flow_m3_per_s), K(band.p05), K(band.p95)))
    });
    let required_K = run.requirements.margin_K;
    MarginPanel {
        heading: match s.most_m3_per_s {
            Some(most) => format!(
                "Above {} the chamber gets too cool",
                fine_flow(most, system)
            ),
            None => "More flow gains ever less".to_owned(),
        },
        x_label: format!("flow, {}", system.flow_unit()),
        y_label: format!("margin, {}", system.difference_unit()),
        gains: gains(&curve, system),
        curve,
        curve_label: "best estimate".to_owned(),
        band: band.collect(),
        band_label: "nine such runs of ten".to_owned(),
        required: Some((
            K(required_K),
            format!("required: {}", format_difference(required_K, system)),
        )),
        zero: Some("softens below".to_owned()),
        bound: Some((
            K(s.most_margin_K),
            format!(
                "no flow brings more than {}",
                format_difference(s.most_margin_K, system)
            ),
        )),
        needed,
        fans: shown
            .iter()
            .enumerate()
            .map(|(place, (k, c))| mark(s, place, *k, c, system))
            .collect(),
        mark_labels: ["clean filter".to_owned(), "loaded filter".to_owned()],
    }
}

fn mark(s: &Sizing, place: usize, k: usize, c: &Candidate, system: System) -> FanMark {
    let at = |d: &Duty| {
        (
            system.flow(d.flow_m3_per_s),
            system.difference(d.outcome.margin_K),
        )
    };
    let strong = s.recommended == Some(k);
    let word = match c.standing {
        Standing::Robust => "robust",
        Standing::Marginal => "marginal",
        Standing::Not(_) => "",
    };
    FanMark {
        name: c.label(),
        kind: CurveKind::Main(place),
        clean: at(&c.clean),
        loaded: at(&c.loaded),
        strong,
        label: if strong {
            format!(
                "{}, margin {}: {word}",
                fine_flow(c.loaded.flow_m3_per_s, system),
                format_difference(c.loaded.outcome.margin_K, system)
            )
        } else {
            String::new()
        },
    }
}

/// What each of some equal steps of flow brings.
fn gains(curve: &[(f64, f64)], system: System) -> Vec<Gain> {
    let (Some(first), Some(last)) = (curve.first(), curve.last()) else {
        return Vec::new();
    };
    // Steps of 1, 2 or 5 times a power of ten.
    let least = (last.0 - first.0) / f64::from(MOST_GAINS);
    if least <= 0.0 {
        return Vec::new();
    }
    let magnitude = 10f64.powf(least.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|m| m * magnitude);
    let step = steps
        .into_iter()
        .find(|step| *step >= least)
        .unwrap_or(least);
    let at = |x: f64| {
        let after = curve.partition_point(|p| p.0 < x).clamp(1, curve.len() - 1);
        let (a, b) = (curve[after - 1], curve[after]);
        a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0)
    };
    (0..MOST_GAINS)
        .map(|k| (step * f64::from(k), step * f64::from(k + 1)))
        .filter(|x| x.1 <= last.0 && curve.len() > 1)
        .map(|x| {
            let y = (at(x.0), at(x.1));
            let gain = y.1 - y.0;
            Gain {
                x,
                y,
                label: format!("{gain:+.1} {}", system.difference_unit()),
            }
        })
        .collect()
}

fn split(c: &Candidate, system: System) -> SplitPanel {
    let column = |label: &str, d: &Duty| {
        let Split {
            shell_Pa,
            grille_Pa,
            filter_Pa,
            duct_Pa,
            wind_Pa,
        } = d.split;
        let parts = [
            ("shell", shell_Pa),
            ("grille", grille_Pa),
            ("filter", filter_Pa),
            ("duct", duct_Pa),
            ("wind", wind_Pa),
            ("damper", d.damper_Pa),
        ];
        SplitColumn {
            label: label.to_owned(),
            parts: parts
                .map(|(name, Pa)| (name.to_owned(), system.pressure(Pa)))
                .into(),
        }
    };
    SplitPanel {
        heading: format!("What {} works against", c.label()),
        unit: system.pressure_unit().to_owned(),
        columns: vec![column("clean", &c.clean), column("loaded", &c.loaded)],
    }
}

fn curves(
    s: &Sizing,
    shown: &[(usize, &Candidate)],
    right: f64,
    vertical: Option<VerticalLine>,
    system: System,
) -> XyPanel {
    // A blower's still-air pressure would press everything else to the bottom: curves run off.
    let top = shown
        .iter()
        .map(|(_, c)| system.pressure(c.loaded.pressure_Pa))
        .fold(system.pressure(1.0), f64::max)
        * 1.6;
    let inside = |p: &(f64, f64)| p.1 <= top && p.0 <= right;
    let system_curve = |label: &str, number: usize, pick: fn(&(f64, f64, f64)) -> f64| PanelCurve {
        label: label.to_owned(),
        kind: CurveKind::Against(number),
        points: s
            .system_Pa
            .iter()
            .map(|p| (system.flow(p.0), system.pressure(pick(p))))
            .filter(inside)
            .collect(),
        unstable_below: None,
    };
    // Without a fan there is nothing to hold the system against.
    let mut curves = Vec::new();
    if !shown.is_empty() {
        curves.push(system_curve("system, clean filter", 0, |p| p.1));
        curves.push(system_curve("system, loaded filter", 1, |p| p.2));
    }
    let mut points = Vec::new();
    for (place, (k, c)) in shown.iter().enumerate() {
        let kind = CurveKind::Main(place);
        curves.push(PanelCurve {
            label: c.label(),
            kind,
            points: c
                .curve
                .iter()
                .map(|p| (system.flow(p.0), system.pressure(p.1)))
                .filter(inside)
                .collect(),
            unstable_below: c.unstable_below_m3_per_s.map(|q| system.flow(q)),
        });
        let strong = s.recommended == Some(*k);
        for (d, filled) in [(&c.clean, false), (&c.loaded, true)] {
            // What a damper takes does not come to the system.
            points.push(PanelPoint {
                x: system.flow(d.flow_m3_per_s),
                y: system.pressure(d.pressure_Pa),
                label: String::new(),
                kind: Some(kind),
                filled,
                strong: strong && filled,
            });
        }
    }
    XyPanel {
        heading: "Fans against the system".to_owned(),
        x_label: format!("flow, {}", system.flow_unit()),
        y_label: format!("pressure, {}", system.pressure_unit()),
        curves,
        unstable_label: "unstable".to_owned(),
        points,
        vertical,
    }
}

/// The recommended one and those nearest to what is needed, in the order of the table. Where no fan is needed none is
/// shown.
fn shown(s: &Sizing) -> Vec<(usize, &Candidate)> {
    if s.needed_m3_per_s == Some(0.0) && s.recommended.is_none() {
        return Vec::new();
    }
    let wanted = s.sure_m3_per_s.or(s.needed_m3_per_s).unwrap_or(0.0);
    let mut order: Vec<(usize, &Candidate)> = s.candidates.iter().enumerate().collect();
    // Fans that can be taken before those that can't.
    let rank = |(k, c): &(usize, &Candidate)| {
        let class = match (s.recommended == Some(*k), c.is_enough()) {
            (true, _) => 0,
            (false, true) => 1,
            (false, false) => 2,
        };
        (class, (c.loaded.flow_m3_per_s - wanted).abs())
    };
    order.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    order.truncate(MOST_FANS);
    order.sort_by_key(|(k, _)| *k);
    order
}

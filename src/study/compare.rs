//! Arrangements side by side: the run as it is, and variants of it.

use rayon::prelude::*;

use super::StudyError;
use super::band::Sampling;
use super::breakeven::{BreakEven, break_evens};
use super::certainty::certainty;
use super::check::{Findings, check};
use super::size_fan::least_flow_m3_per_s;
use crate::chamber::IntegratorKind;
use crate::integrate::Options;
use crate::run::arrangement::{RECIRCULATING_FAN_W, assumed_fan_power_W};
use crate::run::{ArrangementKind, Control, Inputs, Machine, Run};

/// Air changes a minute that a fan is taken to give when the run names no flow: 40 m3/h for a
/// chamber of 220 litres, what one quiet fan with a filter moves (common practice, no source).
const CHANGES_PER_MINUTE: f64 = 3.0;

/// What a run is called whose arrangement changes on the way: no single word says what it is.
pub const AS_IN_THE_FILE: &str = "as in the run file";

/// A run to be compared, under a name.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Name in tables and pictures.
    pub name: String,
    /// What the run is made from.
    pub inputs: Inputs,
}

/// The usual six, the run's own arrangement first.
#[derive(Debug, Clone, PartialEq)]
pub struct Usual {
    /// The runs to compare.
    pub candidates: Vec<Candidate>,
    /// Flow of the fans, m3/s.
    pub flow_m3_per_s: f64,
    /// Where it comes from.
    pub flow_basis: FlowBasis,
}

/// Where the flow of the usual arrangements' fans comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FlowBasis {
    /// The run names it.
    Run,
    /// The least extraction that keeps the required margin.
    Sized,
    /// Three changes of the chamber's air a minute, where none is needed or none is enough.
    ChamberSize,
}

/// One row of a comparison.
#[derive(Debug, Clone)]
pub struct Row {
    /// Name.
    pub name: String,
    /// The run.
    pub run: Run,
    /// What a check of it finds.
    pub findings: Findings,
    /// Up to which room temperature it holds.
    pub break_even: BreakEven,
    /// Margin less the first row's, K: positive is better.
    pub change_K: f64,
    /// Electrical energy of bed and hotend over the run, J.
    pub heaters_J: f64,
    /// Electrical energy of a fan that recirculates or blows in over the run, J. None for one that extracts:
    /// it stands outside the heat balance.
    pub fan_J: Option<f64>,
    /// Whether the machine stays closed, apart from openings on the run's schedule.
    pub stays_closed: bool,
    /// False when the run must stay closed and this opens the machine.
    pub is_allowed: bool,
}

/// A flow for a chamber of this size, m3/s, to two figures of m3/h.
#[must_use]
pub fn assumed_flow_m3_per_s(machine: &Machine) -> f64 {
    let volume_m3 = machine.width_m * machine.depth_m * machine.height_m;
    let flow_m3_per_h = volume_m3 * CHANGES_PER_MINUTE * 60.0;
    let unit = 10f64.powf(flow_m3_per_h.log10().floor() - 1.0);
    (flow_m3_per_h / unit).round() * unit / 3600.0
}

/// The run as it is, then the other kinds of arrangement, each for the whole run: a schedule or thermostat of the
/// run file is the first row's alone. Fans move the run's
/// flow, or else the least that holds, or else one that fits the chamber's size.
///
/// # Errors
/// When the run cannot be simulated.
pub fn usual(inputs: &Inputs, options: &Options) -> Result<Usual, StudyError> {
    let run = inputs.to_run()?;
    let mut throughout = inputs.clone();
    throughout.drop_schedule();
    let (flow_m3_per_s, flow_basis) = match run.arrangement.kind.flow_m3_per_s() {
        Some(flow) => (flow, FlowBasis::Run),
        None => match least_flow_m3_per_s(&throughout, options)? {
            Some(least) if least > 0.0 => (least, FlowBasis::Sized),
            _ => (assumed_flow_m3_per_s(&run.machine), FlowBasis::ChamberSize),
        },
    };
    let fan_power_W = match run.arrangement.kind {
        ArrangementKind::Recirculating { fan_power_W, .. } => fan_power_W,
        _ => RECIRCULATING_FAN_W,
    };
    let kinds = [
        ArrangementKind::Closed,
        ArrangementKind::LidOff,
        ArrangementKind::DoorOpen,
        ArrangementKind::Extracting { flow_m3_per_s },
        ArrangementKind::BlowingIn {
            flow_m3_per_s,
            fan_power_W: match run.arrangement.kind {
                ArrangementKind::BlowingIn { fan_power_W, .. } => fan_power_W,
                _ => (run.system.fan_power_W).unwrap_or_else(|| assumed_fan_power_W(flow_m3_per_s)),
            },
        },
        ArrangementKind::Recirculating {
            flow_m3_per_s,
            fan_power_W,
        },
    ];
    let mut candidates = vec![own(&run, inputs)];
    for kind in kinds {
        let name = kind.name();
        if name == candidates[0].name {
            continue;
        }
        let mut inputs = throughout.clone();
        inputs.arrange(&kind, &Control::Constant);
        candidates.push(Candidate {
            name: name.to_owned(),
            inputs,
        });
    }
    Ok(Usual {
        candidates,
        flow_m3_per_s,
        flow_basis,
    })
}

/// The run as it is, named by its arrangement where one holds throughout.
#[must_use]
pub fn own(run: &Run, inputs: &Inputs) -> Candidate {
    Candidate {
        name: if inputs.changes_arrangement() {
            AS_IN_THE_FILE.to_owned()
        } else {
            run.arrangement.name().to_owned()
        },
        inputs: inputs.clone(),
    }
}

/// Checks every candidate, finds its break-even, and how sure all that is where `sampling` says how.
///
/// # Errors
/// When one of the runs cannot be simulated.
pub fn compare(
    candidates: Vec<Candidate>,
    sampling: Option<Sampling>,
    options: &Options,
) -> Result<Vec<Row>, StudyError> {
    let mut checked = candidates
        .into_par_iter()
        .map(|candidate| checked(candidate, options))
        .collect::<Result<Vec<_>, _>>()?;
    let each: Vec<_> = checked
        .iter()
        .map(|(c, _, findings)| (&c.inputs, &findings.outcome))
        .collect();
    let break_evens = break_evens(&each, options)?;
    if let Some(sampling) = sampling {
        for (candidate, _, findings) in &mut checked {
            let station = findings.outcome.station;
            findings.certainty = Some(certainty(&candidate.inputs, station, sampling));
        }
    }
    let mut rows: Vec<Row> = checked
        .into_iter()
        .zip(break_evens)
        .map(|((candidate, run, findings), break_even)| {
            row(candidate.name, run, findings, break_even)
        })
        .collect();
    let first_K = rows.first().map_or(0.0, |r| r.findings.outcome.margin_K);
    for row in &mut rows {
        row.change_K = row.findings.outcome.margin_K - first_K;
    }
    Ok(rows)
}

fn checked(
    candidate: Candidate,
    options: &Options,
) -> Result<(Candidate, Run, Findings), StudyError> {
    let run = candidate.inputs.to_run()?;
    let findings = check(&run, IntegratorKind::Rosenbrock, options)?;
    Ok((candidate, run, findings))
}

fn row(name: String, run: Run, findings: Findings, break_even: BreakEven) -> Row {
    let energy = |source: &str| {
        let entries = findings.heat.in_J.iter();
        entries
            .filter(|(name, _)| name == source)
            .map(|(_, q)| q)
            .sum::<f64>()
    };
    let stays_closed = run.arrangement.stays_closed();
    let has_unknown_fan = std::iter::once(&run.arrangement)
        .chain(run.schedule.iter().map(|s| &s.arrangement))
        .any(|a| matches!(a.kind, ArrangementKind::Extracting { .. }));
    Row {
        name,
        break_even,
        change_K: 0.0,
        heaters_J: energy("bed heater") + energy("hotend heater"),
        fan_J: (!has_unknown_fan).then(|| energy("filter fan") + energy("blowing fan")),
        stays_closed,
        is_allowed: stays_closed || !run.requirements.must_stay_closed,
        findings,
        run,
    }
}

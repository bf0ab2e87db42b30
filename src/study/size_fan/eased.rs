//! The way out made easier: the make-up opening that is advised, and what would let a flow pass that no fan presses
//! through the system as it is.

use super::answer::{Eased, LargerOpening, Sizing};
use super::candidates::{Asked, Candidate, recommend, single};
use super::flow::{Flows, WayOut};
use super::practice::advised_opening_m2;
use super::warn::FanWarning;
use crate::integrate::Options;
use crate::physics::duct::{Duct, Screen};
use crate::run::change::SHARP_EDGED;
use crate::run::{ExtractionSystem, Fan, Inputs};
use crate::study::StudyError;

/// Air speed for which ducts are laid out, m/s (common practice, no source).
const DUCT_M_PER_S: f64 = 4.0;
/// Ducts come in these inside diameters, m (ISO 7807, from memory).
const DUCTS_M: [f64; 9] = [0.08, 0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5];

/// A system through which a flow passes, m3/s: an opening, a duct and filters made for it.
pub(super) fn eased(flows: &Flows<'_>, flow_m3_per_s: f64) -> Eased {
    let way_out = flows.way_out(flow_m3_per_s);
    let shell_Pa = way_out.split(flow_m3_per_s, true).shell_Pa;
    let add_m2 = advised_opening_m2(shell_Pa, way_out.opening_m2).unwrap_or(0.0);
    let now = &flows.run.system;
    let fits = |d: &f64| {
        let duct = Duct {
            diameter_m: *d,
            ..now.duct
        };
        duct.speed_m_per_s(flow_m3_per_s) <= DUCT_M_PER_S
    };
    let wide_m = DUCTS_M
        .iter()
        .copied()
        .find(fits)
        .unwrap_or(DUCTS_M[DUCTS_M.len() - 1]);
    let duct_m = wide_m.max(now.duct.diameter_m);
    let filters = (flow_m3_per_s / now.filter_loaded.rated_flow_m3_per_s)
        .ceil()
        .max(1.0);
    let beside = |screen: Screen| Screen {
        rated_flow_m3_per_s: screen.rated_flow_m3_per_s * filters,
        ..screen
    };
    let system = ExtractionSystem {
        grille: beside(now.grille),
        filter_loaded: beside(now.filter_loaded),
        duct: Duct {
            diameter_m: duct_m,
            ..now.duct
        },
        ..now.clone()
    };
    let wider = WayOut {
        system: &system,
        opening_m2: way_out.opening_m2 + SHARP_EDGED * add_m2,
        ..way_out
    };
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "some tens"
    )]
    let filters = filters as u32;
    Eased {
        add_m2,
        duct_m,
        filters,
        pressure_Pa: wider.split(flow_m3_per_s, true).total_Pa(),
    }
}

/// The sizing once more with as much make-up opening as is advised; none where none is.
pub(super) fn larger_opening(
    inputs: &Inputs,
    fans: &[Fan],
    sizing: &Sizing,
    options: &Options,
) -> Result<Option<LargerOpening>, StudyError> {
    let advised = sizing.warnings.iter().find_map(|w| match w {
        FanWarning::SmallOpening { add_m2, .. } => Some(*add_m2),
        _ => None,
    });
    let (Some(add_m2), Some(_)) = (advised, sizing.needed_m3_per_s) else {
        return Ok(None);
    };
    let mut opened = inputs.clone();
    opened.add_vent(add_m2, 0.0);
    let run = opened.to_run()?;
    let mut flows = Flows::new(&run, &opened, options)?;
    let needed_m3_per_s = flows.least()?;
    let mut candidates = single(&flows, fans)?;
    let asked = Asked {
        needed_m3_per_s,
        most_m3_per_s: sizing.most_m3_per_s,
        chance: run.requirements.chance,
    };
    for c in &mut candidates {
        // What the samples do at a flow, the opening changes little; what flow they get, much.
        let sure = sizing.chances.as_ref().map(|chances| {
            let way_out = flows.way_out(c.loaded.flow_m3_per_s);
            let air_K = (way_out.extracted_K, way_out.room_K);
            chances.with(c, air_K, SHARP_EDGED * add_m2, sizing.most_m3_per_s)
        });
        c.stands(&asked, sure);
    }
    let chosen = recommend(&candidates, needed_m3_per_s.unwrap_or(f64::INFINITY));
    Ok(Some(LargerOpening {
        add_m2,
        needed_m3_per_s,
        candidate: chosen.map(|k| -> Candidate { candidates.swap_remove(k) }),
    }))
}

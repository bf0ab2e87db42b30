//! Probes that froze on the way: the same value, to the last digit, for hours.
//!
//! A frozen row says that nothing warms up, which is the dangerous side. A fine thermometer moves by its last digit
//! within minutes, a coarse one may stand still for hours; so a coarse one is given longer.

use super::probes::{counted, may_stay};
use super::rows::{Column, Rows};
use crate::quantity::{Quantity, format_duration};
use crate::run::Run;
use crate::weather::understood::stamp;
use std::ops::Range;

const HOUR_S: f64 = 3_600.0;
/// No working thermometer shows the same for longer, s: a fine one, and a coarse one.
const FINE_S: f64 = 3.0 * HOUR_S;
const COARSE_S: f64 = 8.0 * HOUR_S;
/// One whose smallest step is so large is coarse, K.
const COARSE_K: f64 = 0.5;
/// What is lost when half a degree is turned into kelvins and back, K.
const DUST_K: f64 = 1e-6;
/// Fewer rows show nothing: a value may come back.
const ROWS: usize = 20;
/// So many stretches of a column are told by their times.
const TOLD: usize = 3;

/// Leaves out all rows of a frozen stretch but its first.
pub(super) fn without(rows: &mut Rows, run: &Run, note: &mut dyn FnMut(String)) {
    for at in 0..rows.columns.len() {
        let column = &rows.columns[at];
        let stretches = stretches(column, run);
        for stretch in stretches.iter().take(TOLD) {
            note(told(rows, column, stretch));
        }
        if let Some(more @ [_, ..]) = stretches.get(TOLD..) {
            let left_out = more.iter().map(|stretch| stretch.len() - 1).sum();
            note(format!(
                "{} has not changed for hours {} times more: {} left out",
                column.words(),
                more.len(),
                counted(left_out)
            ));
        }
        let shown = &mut rows.columns[at].rows;
        // From the last to the first, so that the others stay where they are.
        for stretch in stretches.into_iter().rev() {
            shown.drain(stretch.start + 1..stretch.end);
        }
    }
}

/// Where a column stands still for too long. One that never changes has been judged as a whole.
fn stretches(column: &Column, run: &Run) -> Vec<Range<usize>> {
    let shown = &column.rows;
    let Some(step_K) = smallest_step_K(column) else {
        return Vec::new();
    };
    let longest_s = if step_K >= COARSE_K - DUST_K {
        COARSE_S
    } else {
        FINE_S
    };
    let mut begin = 0;
    shown
        .chunk_by(|row, next| row.1 == next.1)
        .filter_map(|same| {
            let stretch = begin..begin + same.len();
            begin = stretch.end;
            let lasts_s = same.last()?.0 - same.first()?.0;
            let is_stuck = same.len() >= ROWS
                && lasts_s > longest_s
                && !may_stay(&column.holds, *same.first()?, run);
            is_stuck.then_some(stretch)
        })
        .collect()
}

/// The resolution, as far as the rows show it, K; none where nothing changes.
fn smallest_step_K(column: &Column) -> Option<f64> {
    let pairs = column.rows.windows(2);
    let steps_K = pairs.map(|pair| (pair[1].1 - pair[0].1).abs());
    steps_K.filter(|step_K| *step_K > 0.0).reduce(f64::min)
}

fn told(rows: &Rows, column: &Column, stretch: &Range<usize>) -> String {
    let (from_s, shown_K) = column.rows[stretch.start];
    let (to_s, _) = column.rows[stretch.end - 1];
    let (from, to) = (stamp(rows.time(from_s)), stamp(rows.time(to_s)));
    let when = if stretch.end == column.rows.len() {
        format!("from {from} on")
    } else {
        format!("between {from} and {to}")
    };
    format!(
        "{when} {} has not changed ({}) for {}: is the probe stuck? {} left out",
        column.words(),
        Quantity::Temperature.to_text(shown_K, column.unit.symbol),
        format_duration(to_s - from_s),
        counted(stretch.len() - 1)
    )
}
